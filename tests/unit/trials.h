/* SPDX-License-Identifier: MIT */
/*
 * Trials for the tests of the core: built in a line or two, changed by gestures that must work or
 * must be refused, and random ones from a fixed seed. Everything here fails the running test when
 * something is not as it has to be.
 */
#ifndef PERMILLE_TESTS_TRIALS_H
#define PERMILLE_TESTS_TRIALS_H

#include "permille/core/gesture.h"

/* Parts written as people do: P(12.5) is 12.5 parts in micro-parts, exact to six decimals. */
#define P(parts) ((pm_parts)((parts)*1e6 + 0.5))

/* ---- random numbers, the same in every run ---- */

struct random {
    uint64_t state;
};

uint64_t random_next(struct random *random);
/* 0 .. below - 1 */
int64_t random_below(struct random *random, int64_t below);
/* One chance in `in`. */
bool random_chance(struct random *random, int64_t in);
/* Any parts up to `most`, mostly small, sometimes 0, sometimes a whole number. */
pm_parts random_parts(struct random *random, pm_parts most);

/* ---- building ---- */

/* Adds a neat material as data, without re-balancing. Returns its line's id. */
int64_t put(struct pm_trial *trial, int64_t material, pm_parts parts, enum pm_stance stance);
int64_t put_at(struct pm_trial *trial, int64_t material, pm_parts parts, pm_strength strength,
               int64_t solvent);
/* A settled trial: base = the sum of its parts, lines 1..count of materials 1..count, all free. */
void settled_trial(struct pm_trial *trial, enum pm_mode mode, const pm_parts *parts, size_t count);
/* The line with this id; fails when there is none. */
struct pm_line *line_of(const struct pm_trial *trial, int64_t id);
pm_parts parts_of(const struct pm_trial *trial, int64_t id);
void assert_parts(const struct pm_trial *trial, const pm_parts *parts, size_t count);

/* ---- doing ---- */

/* Applies the gesture, verifies trial and promises, and puts the result in place. */
struct pm_effect done(struct pm_trial *trial, struct pm_gesture gesture);
struct pm_effect done_set(struct pm_trial *trial, int64_t line, pm_parts parts);
/* The gesture must fail like this, with a sentence containing `words`, and change nothing. The
 * sentence stays readable until the next call. */
const char *refused(const struct pm_trial *trial, struct pm_gesture gesture, enum pm_status status,
                    const char *words);
/* The last number in a sentence, in micro-parts (or 1e-9 for a number followed by " %"). */
int64_t number_in(const char *sentence);

/* ---- random gestures ---- */

/* Storage behind a random gesture's borrowed pointers. */
struct random_gesture {
    struct pm_gesture gesture;
    int64_t lines[8], weights[8];
    struct pm_trial content; /* an accord to unfold; released by random_gesture_release */
};

/* A random trial of 1..lines lines with cores, held lines, maybe a carrier, any mode, settled or
 * not. */
void random_trial(struct random *random, size_t lines, struct pm_trial *trial);
/* A random gesture of any kind that might, or might not, work on the trial. */
void random_gesture(struct random *random, const struct pm_trial *trial,
                    struct random_gesture *made);
void random_gesture_release(struct random_gesture *made);

#endif
