/* SPDX-License-Identifier: MIT */
/*
 * Stories: command lines with the times they happened at (README.md says the form). Several are
 * read into one, then put in order of time.
 */
#ifndef DEMO_STORY_H
#define DEMO_STORY_H

#include "permille/base/status.h"

#include <stddef.h>
#include <stdint.h>

struct story_line {
    int64_t at;       /* Unix seconds UTC */
    size_t order;     /* as read: settles ties */
    const char *file; /* its name without folders; borrowed */
    size_t number;    /* from 1 */
    char *text;       /* owned; as written, trimmed */
};

struct story {
    struct story_line *lines; /* owned */
    size_t count, capacity;
};

#define STORY_SECONDS 45 /* how long one command takes */

/* The whole file as text; *out is NUL-terminated and the caller's (pm_free). PM_MISSING, PM_IO. */
enum pm_status story_slurp(const char *path, char **out, struct pm_error *err);
/* Appends the lines of folder/file. A line before the first "at", and times that go back, are
 * PM_INVALID naming file and line. */
enum pm_status story_read(struct story *story, const char *folder, const char *file,
                          struct pm_error *err);
void story_sort(struct story *story);
void story_release(struct story *story);

#define STORY_WORDS 40

struct story_words {
    char *text;                         /* owned: where the words stand */
    const char *words[STORY_WORDS + 1]; /* NULL after the last */
    int count;
};

/* Cuts a line into words: blanks separate, double quotes hold together, and inside them \" and \\
 * stand for themselves. words[0] is left free for the program's name. PM_INVALID for an open quote
 * and too many words. */
enum pm_status story_split(const char *line, struct story_words *out, struct pm_error *err);
void story_words_release(struct story_words *words);

#endif
