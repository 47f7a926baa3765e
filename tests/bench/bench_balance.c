/* SPDX-License-Identifier: MIT */
/*
 * What a keystroke costs: the preview of one line set in a trial of 1,000 lines, against the same
 * re-balancing done with GMP's rationals in the same run.
 */
#include "permille/core/gesture.h"

#include <gmp.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define LINES 1000

static double now_us(void)
{
    struct timespec time;
    (void)clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec * 1e6 + (double)time.tv_nsec / 1e3;
}

/* A settled trial of many free lines, one in ten of them a trace. */
static void make_trial(struct pm_trial *trial)
{
    uint64_t seed = 42;
    pm_trial_init(trial, 1000 * PM_PART, PM_SHARE);
    for (int64_t i = 0; i < LINES; i++) {
        seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
        pm_parts parts = (pm_parts)(seed >> 33) % (i % 10 == 0 ? 5000 : 1900000) + 1;
        struct pm_line line = {.ref = i + 1, .strength = PM_NEAT, .parts = parts};
        if (pm_trial_insert(trial, trial->count, &line, NULL) != PM_OK)
            exit(1);
    }
    struct pm_trial after;
    struct pm_gesture settle = {.kind = PM_SETTLE};
    if (pm_gesture_apply(&settle, trial, &after, NULL, NULL) != PM_OK)
        exit(1);
    pm_trial_release(trial);
    *trial = after;
}

/* ---- the reference ---- */

struct share {
    mpq_t rest;
    size_t place;
};

static int by_rest(const void *left, const void *right)
{
    const struct share *a = left;
    const struct share *b = right;
    int order = mpq_cmp(b->rest, a->rest);
    return order != 0 ? order : (a->place > b->place) - (a->place < b->place);
}

/* A weight as it is kept: digits x 2^power, all with one factor. */
static void set_weight(mpq_t out, struct pm_weight weight)
{
    mpq_set_si(out, weight.digits, 1);
    mpz_mul_2exp(mpq_numref(out), mpq_numref(out),
                 (mp_bitcnt_t)(weight.power - PM_POWER_ZERO + 64));
}

static void set_with_rationals(const struct pm_trial *trial, size_t place, pm_parts parts,
                               pm_parts *out)
{
    static struct share shares[LINES];
    mpq_t factor, quota;
    mpz_t floor;
    mpq_inits(factor, quota, NULL);
    mpz_init(floor);
    mpq_set_si(factor, 0, 1);
    for (size_t i = 0; i < trial->count; i++) {
        set_weight(quota, trial->lines[i].share);
        if (i != place)
            mpq_add(factor, factor, quota);
    }
    mpq_inv(factor, factor);
    mpq_set_si(quota, trial->base - parts, 1);
    mpq_mul(factor, factor, quota);
    pm_parts given = parts;
    size_t count = 0;
    for (size_t i = 0; i < trial->count; i++) {
        if (i == place)
            continue;
        struct share *share = &shares[count++];
        mpq_init(share->rest);
        share->place = i;
        set_weight(quota, trial->lines[i].share);
        mpq_mul(quota, quota, factor);
        mpz_fdiv_q(floor, mpq_numref(quota), mpq_denref(quota));
        out[i] = mpz_get_si(floor);
        given += out[i];
        mpz_submul(mpq_numref(quota), floor, mpq_denref(quota));
        mpq_set(share->rest, quota);
    }
    qsort(shares, count, sizeof *shares, by_rest);
    out[place] = parts;
    for (size_t i = 0; i < count; i++) {
        out[shares[i].place] += (pm_parts)i < trial->base - given;
        mpq_clear(shares[i].rest);
    }
    mpq_clears(factor, quota, NULL);
    mpz_clear(floor);
}

/* ---- measuring ---- */

static int by_size(const void *left, const void *right)
{
    const double *a = left;
    const double *b = right;
    return (*a > *b) - (*a < *b);
}

enum { TURNS = 501 };

static void typed(int turn, size_t *place, pm_parts *parts)
{
    *place = (size_t)turn * 37 % LINES;
    *parts = (turn + 1) * PM_PART / 7;
}

static bool same(const pm_parts *ours, const pm_parts *exact)
{
    for (size_t i = 0; i < LINES; i++) {
        if (ours[i] != exact[i]) {
            fprintf(stderr, "line %zu: %" PRId64 " against %" PRId64 "\n", i + 1, ours[i],
                    exact[i]);
            return false;
        }
    }
    return true;
}

/* Each has its turns on its own, so that neither empties the other's caches. */
int main(void)
{
    static pm_parts preview[LINES], ours[TURNS][LINES], exact[LINES];
    static double our_us[TURNS], exact_us[TURNS];
    struct pm_trial trial;
    size_t place;
    pm_parts parts;
    make_trial(&trial);
    for (int turn = 0; turn < TURNS; turn++) {
        typed(turn, &place, &parts);
        double start = now_us();
        const struct pm_gesture set = {
            .kind = PM_SET, .line = trial.lines[place].id, .parts = parts};
        enum pm_status status = pm_gesture_preview(&set, &trial, preview, NULL);
        our_us[turn] = now_us() - start;
        memcpy(ours[turn], preview, sizeof preview);
        if (status != PM_OK)
            return 1;
    }
    for (int turn = 0; turn < TURNS; turn++) {
        typed(turn, &place, &parts);
        double start = now_us();
        set_with_rationals(&trial, place, parts, exact);
        exact_us[turn] = now_us() - start;
        if (!same(ours[turn], exact))
            return 1;
    }
    qsort(our_us, TURNS, sizeof *our_us, by_size);
    qsort(exact_us, TURNS, sizeof *exact_us, by_size);
    double us = our_us[TURNS / 2];
    double reference = exact_us[TURNS / 2];
    printf("preview of a set, %d lines   %8.1f us   GMP rationals %8.1f us   %5.1f times faster\n",
           LINES, us, reference, reference / us);
    pm_trial_release(&trial);
    return 0;
}
