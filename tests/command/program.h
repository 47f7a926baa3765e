/* SPDX-License-Identifier: MIT */
/*
 * Running the real program on a library of the test's own, and reading what it says. JSON is read
 * by SQLite's parser, which knows nothing of ours; numbers are compared as they are written, digit
 * by digit.
 */
#ifndef PERMILLE_TESTS_COMMAND_PROGRAM_H
#define PERMILLE_TESTS_COMMAND_PROGRAM_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sqlite3.h>

struct program {
    char *folder;  /* this test's own */
    char *library; /* a path in it; there is no file yet */
    char *out;     /* what the last run wrote to standard output, and how much */
    size_t out_length;
    char *err; /* and to standard error */
    int outcome;
    sqlite3 *reader; /* in memory, for its JSON functions */
    /* Permissions of files hold for the program, for root as for anyone; where the system does not
     * let root do without its rights, every outcome is PROGRAM_STAYS_ROOT. */
    bool permissions_hold;
};

#define PROGRAM_STAYS_ROOT 122

/* cmocka's set-up and tear-down of one test: *state is a struct program. */
int program_set_up(void **state);
int program_tear_down(void **state);

/* How a run's standard output is opened. */
enum program_output { PROGRAM_OUTPUT_FILE, PROGRAM_OUTPUT_CLOSED, PROGRAM_OUTPUT_FULL };

#define WORDS(...) ((const char *const[]){__VA_ARGS__, NULL})

/* permille --db LIBRARY words... */
void program_run(struct program *program, const char *const *words);
void program_run_into(struct program *program, enum program_output output,
                      const char *const *words);
/* Another file in the test's folder; freed by the caller. */
char *program_path(const struct program *program, const char *name);

/* The run must end with 0. */
void program_does(struct program *program, const char *const *words);
/* The run must end with 1, answer nothing, say one sentence that holds `expected`, and leave the
 * library as it was, byte for byte. */
void program_refuses(struct program *program, const char *expected, const char *const *words);
/* Wrong usage: the same, with 2. */
void program_misused(struct program *program, const char *expected, const char *const *words);

/* ---- what was answered, as JSON ---- */

/* Runs with --json; the answer must be one JSON document. */
void program_asks(struct program *program, const char *const *words);
/* The value at a path of the last answer, as it is written ("12.5", "\"text\"", "null"); "" when
 * there is none. Valid until the program asks again. */
const char *program_value(struct program *program, const char *path);
void program_says(struct program *program, const char *path, const char *expected);
/* The number at a path as an integer scaled by 10^places; fails when it has more decimals. */
int64_t program_number(struct program *program, const char *path, int places);
int64_t program_count(struct program *program, const char *path); /* of an array */
/* The sum of a key over an array of objects, scaled. */
int64_t program_sum(struct program *program, const char *array, const char *key, int places);

/* Materials Alpha, Beta, Gamma, Delta, Epsilon, and the solvents Carrier and Spirit. */
void program_fill_shelf(struct program *program);

#endif
