/* SPDX-License-Identifier: MIT */
/*
 * What an exit status promises, for every command that changes the library: whatever fails, 0 and 3
 * mean that the change was written, 1 and 2 that nothing was. Requests for memory, SQLite's own,
 * reads and writes of the file, and the writing of the answer are made to fail one by one.
 */
#ifndef PERMILLE_TESTS_COMMAND_PROMISE_H
#define PERMILLE_TESTS_COMMAND_PROMISE_H

#include "src/cli/parse.h"
#include "tests/store/world.h"

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

#define PROMISE_WORDS 12

/* The command's words; one row for every command that changes, more where it has ways. Done on what
 * `story` in promise.c made, each row has to change something. */
extern const char *const promise_commands[][PROMISE_WORDS];
extern const size_t promise_command_count;

extern struct promise {
    struct world world;
    unsigned char *data; /* the library before each command */
    size_t length;
    bool as_text; /* answers are asked for as text, not as JSON */
} promise;

/* A terminal before which every question finds a second gone by; at one of them Ctrl-C is typed. */
extern struct promise_terminal {
    bool there;
    int64_t now;
    long asked, interrupt_at; /* 0: never */
} promise_terminal;

/* cmocka's set-up and tear-down of a group; nothing of SQLite's may have been called before. */
int promise_set_up(void **state);
int promise_tear_down(void **state);

const struct pm_cli_command *promise_command(const char *const *words);

struct ran {
    int status;
    char *err; /* freed by the caller */
};
/* Runs the words as the program would; `out` is closed. TABLE, OUT, OTHER, LIMITS as the last word
 * stand for files, - for the answer that the blind test waits for. */
struct ran promise_run(const char *const *words, FILE *out);
struct ran promise_answer(const char *const *words, char **out); /* *out: freed by the caller */
FILE *promise_nowhere(void);
/* The run must end with 0. */
void promise_does(const char *const *words);

void promise_put_back(void); /* the library as the story left it */
/* A number that stands for everything in the library but the mark of its last commit. */
uint64_t promise_content(void);
/* Fails when the run did not keep the promise. */
void promise_judge(const char *const *words, const char *fault, long k, const struct ran *ran,
                   uint64_t before);

enum fault { OWN_MEMORY, SQLITE_MEMORY, WRITE_FAILS, WRITE_IS_LATE, READ_FAILS, STOPPED, FAULTS };
extern const char *const promise_fault_names[FAULTS];

/* Makes it happen at the k-th time from now on. */
void promise_arm(enum fault fault, long k);
/* Ends it; how many times it could have happened. */
long promise_disarm(enum fault fault);
/* After time k of `times`: the next one of those spread, then each of the last. */
long promise_next(long k, long times);
/* Every command that changes, with the fault at one time after the other. */
void promise_try_all(enum fault fault);

#endif
