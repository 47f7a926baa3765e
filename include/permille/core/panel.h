/* SPDX-License-Identifier: MIT */
/*
 * Blind tests: the arithmetic of difference tests and ranking, serving orders and codes.
 * Terms as the ISO sensory standards use them: triangle (ISO 4120), paired comparison (ISO 5495),
 * duo-trio (ISO 10399), ranking (ISO 8587). Probabilities are doubles: this is statistics, nothing
 * here is stored as an amount.
 */
#ifndef PERMILLE_CORE_PANEL_H
#define PERMILLE_CORE_PANEL_H

#include "permille/base/status.h"

#include <stddef.h>
#include <stdint.h>

enum pm_panel_kind {
    PM_TRIANGLE, /* which of three is the odd one; chance 1/3 */
    PM_DUO_TRIO, /* which of two matches the reference; chance 1/2 */
    PM_PAIRED,   /* paired comparison, one-sided: the direction was named before; chance 1/2 */
    PM_PAIRED_TWO_SIDED,
    PM_RANKING /* several samples put in order */
};

#define PM_PANEL_ANSWERS_MAX 10000 /* answers of one test the probabilities are made for */
#define PM_PANEL_SAMPLES_MAX 12    /* samples of a ranking */

/* P(X >= correct) for `answers` independent answers with chance p0 each. Sums the smaller tail's
 * terms from the largest inwards; relative error below 1e-12 over the allowed range. */
double pm_panel_upper_tail(int answers, int correct, double p0);
/* The test's p value: as above; two-sided paired: 2 P(X >= max(k, n-k)), at most 1. */
double pm_panel_p_value(enum pm_panel_kind kind, int answers, int correct);
/* The smallest number of correct answers with p <= alpha; 0 when no number reaches it.
 * (ISO 4120 Table A.1, ISO 10399 Table A.1, ISO 5495 Tables A.1 and A.2 hold these numbers.) */
int pm_panel_least_correct(enum pm_panel_kind kind, int answers, double alpha);
/* How likely a real difference that a share `discriminators` of noses can tell would be found with
 * `answers` answers at alpha: the power, 1 - beta. For "what this test could not have shown". */
double pm_panel_power(enum pm_panel_kind kind, int answers, double alpha, double discriminators);

struct pm_friedman {
    double statistic; /* F, corrected for ties */
    int degrees;      /* samples - 1 */
    double p;         /* of a statistic as large by chance */
    int exact;        /* 1: p by complete enumeration, 0: chi-square approximation */
};
/* Friedman's test on answers x samples ranks (row by row; mean ranks for ties; each row sums to
 * samples (samples + 1) / 2 or the call is PM_INVALID). Exact when enumeration is small enough (no
 * ties, up to about a million distinct sums); PM_REFUSED below 2 answers or 2 samples. PM_NOMEM. */
enum pm_status pm_panel_friedman(const double *ranks, size_t answers, size_t samples,
                                 struct pm_friedman *out, struct pm_error *err);
/* Least significant difference of rank sums at 5 %: 1.96 sqrt(n k (k+1) / 6) (ISO 8587). */
double pm_panel_rank_difference(size_t answers, size_t samples);
/* Upper tail of chi-square. */
double pm_chi_square_upper(double x, int degrees);

/* Williams design for n samples (2..PM_PANEL_SAMPLES_MAX): n orders for even n, 2n for odd n, each
 * sample equally often in each position and each ordered pair of neighbours equally often. orders[]
 * receives rows of n sample numbers from 0; *rows their number. out must hold 2 n n entries. */
enum pm_status pm_williams(size_t n, uint8_t *orders, size_t *rows, struct pm_error *err);

/* A small published generator (splitmix64, Steele, Lea, Flood 2014), so that a stored seed gives
 * the same codes and orders again on any machine. */
struct pm_random {
    uint64_t state;
};
void pm_random_seed(struct pm_random *random, uint64_t seed);
uint64_t pm_random_next(struct pm_random *random);
uint32_t pm_random_below(struct pm_random *random, uint32_t bound); /* uniform, bound > 0 */
/* Fisher-Yates over count items of uint8_t. */
void pm_random_shuffle(struct pm_random *random, uint8_t *items, size_t count);

/*
 * Three-digit codes 100..999, all different among `count` (<= 900), none a repdigit or run when
 * that leaves enough. PM_REFUSED when count is too large.
 */
enum pm_status pm_panel_codes(struct pm_random *random, size_t count, uint16_t *codes,
                              struct pm_error *err);

/*
 * Serving orders of one test for `answers` answers: samples in the order to be smelled, as sample
 * numbers (0..samples-1). Triangle: the six orders AAB ABA BAA BBA BAB ABB balanced over blocks of
 * six (out: 3 per answer, samples 0/1); duo-trio: reference A or B balanced with both positions
 * (out: 3 per answer, the reference first); paired: AB BA balanced (2 per answer); ranking:
 * Williams rows, shuffled per block (samples per answer).
 */
enum pm_status pm_panel_orders(enum pm_panel_kind kind, size_t samples, size_t answers,
                               struct pm_random *random, uint8_t *out, struct pm_error *err);

const char *pm_panel_word(
    enum pm_panel_kind kind); /* "triangle" "duo-trio" "paired" "paired-two-sided" "ranking" */

#endif
