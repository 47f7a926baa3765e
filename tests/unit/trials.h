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

struct tr_random {
    uint64_t state;
};

uint64_t tr_random_next(struct tr_random *random);
/* 0 .. below - 1 */
int64_t tr_random_below(struct tr_random *random, int64_t below);
/* One chance in `in`. */
bool tr_random_chance(struct tr_random *random, int64_t in);
/* Any parts up to `most`, mostly small, sometimes 0, sometimes a whole number. */
pm_parts tr_random_parts(struct tr_random *random, pm_parts most);

/* ---- building ---- */

/* Adds a neat material as data, without re-balancing. Returns its line's id. */
int64_t tr_put(struct pm_trial *trial, int64_t material, pm_parts parts, enum pm_stance stance);
int64_t tr_put_at(struct pm_trial *trial, int64_t material, pm_parts parts, pm_strength strength,
                  int64_t solvent);
/* A settled trial: base = the sum of its parts, lines 1..count of materials 1..count, all free. */
void tr_settled(struct pm_trial *trial, enum pm_mode mode, const pm_parts *parts, size_t count);
/* The line with this id; fails when there is none. */
struct pm_line *tr_line(const struct pm_trial *trial, int64_t id);
pm_parts tr_parts(const struct pm_trial *trial, int64_t id);
void tr_assert_parts(const struct pm_trial *trial, const pm_parts *parts, size_t count);

/* ---- doing ---- */

/* Applies the gesture, verifies trial and promises, and puts the result in place. */
struct pm_effect tr_done(struct pm_trial *trial, struct pm_gesture gesture);
struct pm_effect tr_set(struct pm_trial *trial, int64_t line, pm_parts parts);
/* The gesture must fail like this, with a sentence containing `words`, and change nothing. The
 * sentence stays readable until the next call. */
const char *tr_refused(const struct pm_trial *trial, struct pm_gesture gesture,
                       enum pm_status status, const char *words);
/* The last number in a sentence, in micro-parts (or 1e-9 for a number followed by " %"). */
int64_t tr_number(const char *sentence);

/* ---- random gestures ---- */

/* Storage behind a random gesture's borrowed pointers. */
struct tr_random_gesture {
    struct pm_gesture gesture;
    int64_t lines[8], weights[8];
    struct pm_trial content; /* an accord to unfold; released by tr_random_gesture_release */
};

/* A random trial of 1..lines lines with cores, held lines, maybe a carrier, any mode, settled or
 * not. */
void tr_random_trial(struct tr_random *random, size_t lines, struct pm_trial *trial);
/* A random gesture of any kind that might, or might not, work on the trial. */
void tr_random_gesture(struct tr_random *random, const struct pm_trial *trial,
                       struct tr_random_gesture *made);
void tr_random_gesture_release(struct tr_random_gesture *made);

#endif
