/* SPDX-License-Identifier: MIT */
/* Reading stories (story.h). */
#include "story.h"

#include "permille/base/clock.h"
#include "permille/base/mem.h"
#include "permille/base/text.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum pm_status story_slurp(const char *path, char **out, struct pm_error *err)
{
    struct pm_text content = PM_TEXT_EMPTY;
    char block[4096];
    size_t got;

    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return pm_fail(err, errno == ENOENT ? PM_MISSING : PM_IO, "%s: %s.", path, strerror(errno));
    pm_text_add(&content, "");
    while ((got = fread(block, 1, sizeof block, file)) > 0)
        pm_text_add_bytes(&content, block, got);
    const bool broken = ferror(file) != 0;
    fclose(file);
    if (!broken && pm_text_ok(&content)) {
        *out = content.data != NULL ? pm_text_take(&content) : pm_strdup("");
        return *out != NULL ? PM_OK : pm_fail_memory(err);
    }
    const bool memory = !broken;
    pm_text_release(&content);
    return memory ? pm_fail_memory(err) : pm_fail(err, PM_IO, "%s cannot be read.", path);
}

/* ---- lines ---- */

static char *trim(char *line)
{
    line += strspn(line, " \t");
    size_t length = strlen(line);
    while (length > 0 && strchr(" \t\r", line[length - 1]) != NULL)
        line[--length] = '\0';
    return line;
}

static enum pm_status add_line(struct story *story, const struct story_line *line,
                               struct pm_error *err)
{
    if (!pm_grow(&story->lines, &story->capacity, story->count + 1, sizeof *story->lines))
        return pm_fail_memory(err);
    char *text = pm_strdup(line->text);
    if (text == NULL)
        return pm_fail_memory(err);
    story->lines[story->count] = *line;
    story->lines[story->count].text = text;
    story->lines[story->count].order = story->count;
    story->count++;
    return PM_OK;
}

/* One line of a file; *now is its clock, 0 before the first "at". */
static enum pm_status take_line(struct story *story, struct story_line *line, int64_t *now,
                                struct pm_error *err)
{
    struct pm_error why;
    int64_t at;

    if (line->text[0] == '\0' || line->text[0] == '#')
        return PM_OK;
    if (strncmp(line->text, "at ", 3) == 0) {
        if (pm_time_read(line->text + 3, &at, &why) != PM_OK)
            return pm_fail(err, why.status, "%s:%zu: %s", line->file, line->number, why.text);
        if (at < *now)
            return pm_fail(err, PM_INVALID, "%s:%zu: the clock goes back.", line->file,
                           line->number);
        *now = at;
        return PM_OK;
    }
    if (*now == 0)
        return pm_fail(err, PM_INVALID, "%s:%zu: no \"at\" has set the clock yet.", line->file,
                       line->number);
    *now += STORY_SECONDS;
    line->at = *now;
    return add_line(story, line, err);
}

enum pm_status story_read(struct story *story, const char *folder, const char *file,
                          struct pm_error *err)
{
    struct pm_text path = PM_TEXT_EMPTY;
    struct story_line line = {.file = file};
    int64_t now = 0;
    char *content = NULL;

    pm_text_addf(&path, "%s/%s", folder, file);
    enum pm_status status =
        pm_text_ok(&path) ? story_slurp(pm_text_get(&path), &content, err) : pm_fail_memory(err);
    pm_text_release(&path);
    for (char *rest = content; status == PM_OK && rest != NULL;) {
        line.text = trim(strsep(&rest, "\n"));
        line.number++;
        status = take_line(story, &line, &now, err);
    }
    pm_free(content);
    return status;
}

static int by_time(const void *left, const void *right)
{
    const struct story_line *a = left, *b = right;
    if (a->at != b->at)
        return a->at < b->at ? -1 : 1;
    return a->order < b->order ? -1 : a->order > b->order;
}

void story_sort(struct story *story)
{
    if (story->count > 1)
        qsort(story->lines, story->count, sizeof *story->lines, by_time);
}

void story_release(struct story *story)
{
    for (size_t i = 0; i < story->count; i++)
        pm_free(story->lines[i].text);
    pm_free(story->lines);
    *story = (struct story){.lines = NULL};
}

/* ---- words ---- */

/* Copies one word from *from to *to, both moved on; a NUL ends it. False for an open quote. */
static bool cut_word(const char **from, char **to)
{
    bool quoted = false;

    for (; **from != '\0' && (quoted || (**from != ' ' && **from != '\t')); (*from)++) {
        if (**from == '"') {
            quoted = !quoted;
            continue;
        }
        if (quoted && **from == '\\' && ((*from)[1] == '"' || (*from)[1] == '\\'))
            (*from)++;
        *(*to)++ = **from;
    }
    *(*to)++ = '\0';
    return !quoted;
}

enum pm_status story_split(const char *line, struct story_words *out, struct pm_error *err)
{
    struct story_words words = {.count = 1};

    words.text = pm_alloc(2 * strlen(line) + 1);
    if (words.text == NULL)
        return pm_fail_memory(err);
    char *to = words.text;
    for (line += strspn(line, " \t"); *line != '\0'; line += strspn(line, " \t")) {
        const bool room = words.count < STORY_WORDS;
        if (room)
            words.words[words.count++] = to;
        if (!room || !cut_word(&line, &to)) {
            story_words_release(&words);
            return pm_fail(err, PM_INVALID, room ? "A quote is not closed." : "Too many words.");
        }
    }
    *out = words;
    return PM_OK;
}

void story_words_release(struct story_words *words)
{
    pm_free(words->text);
    *words = (struct story_words){.text = NULL};
}
