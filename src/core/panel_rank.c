/* SPDX-License-Identifier: MIT */
/*
 * Ranking: Friedman's test. Its p value is counted (panel_exact.c) where that is affordable, found
 * by permutations where it is not, and read from chi-square where there are so many answers that
 * this is known to be good.
 */
#include "panel_rank.h"

#include "permille/base/mem.h"

#include <math.h>
#include <string.h>

#define ANSWERS_CHI_SQUARE 200 /* from so many on */
#define PERMUTATIONS_MAX   200000
#define MOVES_MAX          INT64_C(20000000)    /* of ranks, in all: some tenths of a second */
#define STREAM             UINT64_C(0x6e6f7365) /* apart from the codes drawn from the same seed */

/* ---- chi-square ------------------------------------------------------------------------------ */

/* Closed forms (Abramowitz & Stegun 26.4.4 and 26.4.5): every term is positive, so the relative
 * error stays small. exp is applied in two halves: for large x the sum is huge where exp(-x/2)
 * alone is already 0. */
double pm_chi_square_upper(double x, int degrees)
{
    if (degrees < 1 || degrees > PM_CHI_SQUARE_DEGREES_MAX || isnan(x))
        return (double)NAN;
    if (x <= 0)
        return 1;
    double half = x / 2;
    if (half > 1400)
        return 0;
    bool odd = degrees % 2 == 1;
    double term = odd ? 2 * sqrt(half / acos(-1.0)) : 1;
    double at = odd ? 1.5 : 1;
    double sum = 0;
    for (int i = odd ? 3 : 2; i <= degrees; i += 2) {
        sum += term;
        term *= half / at;
        at += 1;
    }
    double shrink = exp(-half / 2);
    return (odd ? erfc(sqrt(half)) : 0) + sum * shrink * shrink;
}

double pm_panel_rank_difference(size_t answers, size_t samples)
{
    double n = (double)answers;
    double k = (double)samples;

    return 1.96 * sqrt(n * k * (k + 1) / 6);
}

/* ---- Friedman -------------------------------------------------------------------------------- */

/* In a ranking with mean ranks, a rank is the number of samples before plus the middle of those
 * that share the place. */
static bool row_is_ranking(const double *row, size_t samples)
{
    for (size_t i = 0; i < samples; i++) {
        double before = 0;
        double same = 0;
        for (size_t j = 0; j < samples; j++) {
            before += row[j] < row[i] ? 1 : 0;
            same += row[j] <= row[i] && row[j] >= row[i] ? 1 : 0;
        }
        if (!(fabs(row[i] - (before + (same + 1) / 2)) < 1e-9))
            return false;
    }
    return true;
}

static enum pm_status check_ranking(const double *ranks, size_t answers, size_t samples,
                                    struct pm_error *err)
{
    if (answers < 2 || samples < 2) {
        return pm_fail(err, PM_REFUSED,
                       "A ranking needs at least two answers about at least two samples.");
    }
    if (answers > PM_PANEL_ANSWERS_MAX || samples > PM_PANEL_SAMPLES_MAX) {
        return pm_fail(err, PM_REFUSED, "A ranking takes up to %d answers about up to %d samples.",
                       PM_PANEL_ANSWERS_MAX, PM_PANEL_SAMPLES_MAX);
    }
    for (size_t i = 0; i < answers; i++) {
        if (!row_is_ranking(ranks + i * samples, samples)) {
            return pm_fail(err, PM_INVALID,
                           "Answer %zu does not rank %zu samples: every place from 1 to %zu once, "
                           "and samples that share places all get their mean.",
                           i + 1, samples, samples);
        }
    }
    return PM_OK;
}

/* F = (k-1) sum (R_j - n(k+1)/2)^2 / (sum r_ij^2 - n k (k+1)^2 / 4): the form of the statistic
 * that corrects for ties without counting them. */
static double statistic(const double *ranks, size_t answers, size_t samples)
{
    double n = (double)answers;
    double k = (double)samples;
    double squares = 0;
    double between = 0;

    for (size_t sample = 0; sample < samples; sample++) {
        double sum = 0;
        for (size_t i = 0; i < answers; i++) {
            double rank = ranks[i * samples + sample];
            sum += rank;
            squares += rank * rank;
        }
        between += (sum - n * (k + 1) / 2) * (sum - n * (k + 1) / 2);
    }
    double within = squares - n * k * (k + 1) * (k + 1) / 4;
    return within > 0 ? (k - 1) * between / within : 0;
}

/* ---- permutations ---------------------------------------------------------------------------- */

/* Orders of every answer drawn at random, each answer's ranks kept: how often the sums spread as
 * far as they did. Counting the ranking itself in keeps the estimate from ever being too small
 * (Phipson and Smyth, Stat. Appl. Genet. Mol. Biol. 9 (2010) 39). */
static void permute(const struct pm_ranking *ranking, uint64_t seed, struct pm_friedman *out)
{
    const size_t samples = ranking->samples, answers = ranking->answers;
    const int64_t observed = pm_ranking_spread(ranking), moves = (int64_t)(samples * answers);
    const int64_t turns =
        MOVES_MAX / moves < PERMUTATIONS_MAX ? MOVES_MAX / moves : PERMUTATIONS_MAX;
    uint8_t order[PM_PANEL_SAMPLES_MAX];
    struct pm_random random;
    int64_t as_large = 1;

    pm_random_seed(&random, seed ^ STREAM);
    for (size_t i = 0; i < samples; i++)
        order[i] = (uint8_t)i;
    for (int64_t turn = 1; turn < turns; turn++) {
        int64_t sums[PM_PANEL_SAMPLES_MAX] = {0};
        for (size_t answer = 0; answer < answers; answer++) {
            const int64_t *row = ranking->doubled + answer * samples;
            pm_random_shuffle(&random, order, samples);
            for (size_t i = 0; i < samples; i++)
                sums[i] += row[order[i]];
        }
        as_large += pm_sums_spread(ranking, sums) >= observed;
    }
    out->by = PM_BY_PERMUTATIONS;
    out->p = (double)as_large / (double)turns;
    out->permutations = turns;
    out->error = 1.96 * sqrt(out->p * (1 - out->p) / (double)turns);
}

/* ---- the test -------------------------------------------------------------------------------- */

static enum pm_status find_p(const struct pm_ranking *ranking, uint64_t seed,
                             struct pm_friedman *out, struct pm_error *err)
{
    bool done;
    enum pm_status status = pm_ranking_exact(ranking, &out->p, &done, err);
    if (status != PM_OK || done)
        return status;
    if (ranking->answers < ANSWERS_CHI_SQUARE) {
        permute(ranking, seed, out);
    } else {
        out->by = PM_BY_CHI_SQUARE;
        out->p = pm_chi_square_upper(out->statistic, out->degrees);
    }
    return PM_OK;
}

enum pm_status pm_panel_friedman(const double *ranks, size_t answers, size_t samples, uint64_t seed,
                                 struct pm_friedman *out, struct pm_error *err)
{
    enum pm_status status = check_ranking(ranks, answers, samples, err);
    if (status != PM_OK)
        return status;
    int64_t *doubled = pm_alloc_array(answers * samples, sizeof *doubled);
    if (doubled == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < answers * samples; i++)
        doubled[i] = (int64_t)lround(2 * ranks[i]);
    const struct pm_ranking ranking = {doubled, answers, samples};
    struct pm_friedman result = {.statistic = statistic(ranks, answers, samples),
                                 .degrees = (int)samples - 1};
    status = find_p(&ranking, seed, &result, err);
    pm_free(doubled);
    if (status == PM_OK)
        *out = result;
    return status;
}
