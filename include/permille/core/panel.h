/* SPDX-License-Identifier: MIT */
/*
 * Blind tests: the arithmetic of difference tests and ranking, serving orders and codes.
 * Terms as the ISO sensory standards use them: triangle (ISO 4120), paired comparison (ISO 5495),
 * duo-trio (ISO 10399), ranking (ISO 8587). Probabilities are doubles: this is statistics, nothing
 * here is stored as an amount. All of them assume independent answers: one nose answering twenty
 * times is not twenty noses, and whoever shows a result has to say so.
 */
#ifndef PERMILLE_CORE_PANEL_H
#define PERMILLE_CORE_PANEL_H

#include "permille/base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum pm_panel_kind {
    PM_TRIANGLE, /* which of three is the odd one; chance 1/3 */
    PM_DUO_TRIO, /* which of two matches the reference; chance 1/2 */
    PM_PAIRED,   /* paired comparison, one-sided: the direction was named before; chance 1/2 */
    PM_RANKING,  /* several samples put in order */
    PM_PAIRED_TWO_SIDED /* a paired comparison whose direction was not named: nobody asks for it by
                           name */
};

#define PM_PANEL_ANSWERS_MAX 10000 /* answers of one test the probabilities are made for */
#define PM_PANEL_SAMPLES_MAX 12    /* samples of a ranking */
#define PM_PANEL_CODES_MAX   900   /* three-digit codes there are */

/* "triangle" "duo-trio" "paired" "paired-two-sided" "ranking": for commands, JSON and the library
 * file. Reading refuses other words with PM_INVALID. */
const char *pm_panel_word(enum pm_panel_kind kind);
enum pm_status pm_panel_read(const char *word, enum pm_panel_kind *out, struct pm_error *err);

/* The share of right answers that guessing gives; NaN for a ranking. */
double pm_panel_chance(enum pm_panel_kind kind);

/* P(X >= correct) for `answers` independent answers with chance p0 each: all terms of the binomial
 * relative to its largest, so nothing cancels; relative error below 1e-12 down to 1e-300 (smaller
 * ones may come out as 0). NaN when answers is outside 0..PM_PANEL_ANSWERS_MAX or p0 outside 0..1.
 */
double pm_panel_upper_tail(int answers, int correct, double p0);
/* The test's p value: as above; two-sided paired: 2 P(X >= max(k, n-k)), at most 1. NaN for a
 * ranking (see pm_panel_friedman) and for numbers that cannot be. */
double pm_panel_p_value(enum pm_panel_kind kind, int answers, int correct);
/* The smallest number of correct answers with p <= alpha (alpha itself is allowed for to 1e-12);
 * 0 when no number reaches it, and for alpha outside 0..1.
 * (ISO 4120 Table A.1, ISO 10399 Table A.1, ISO 5495 Tables A.1 and A.2 hold these numbers.) */
int pm_panel_least_correct(enum pm_panel_kind kind, int answers, double alpha);
/* How likely a real difference that a share `discriminators` (0..1) of noses can tell would be
 * found with `answers` answers at alpha: the power, 1 - beta. For "what this test could not have
 * shown". 0 when no number of answers reaches alpha, NaN for numbers that cannot be. */
double pm_panel_power(enum pm_panel_kind kind, int answers, double alpha, double discriminators);

/* The share of noses that really tell the samples apart, those who guess right taken out. */
struct pm_panel_share {
    double share;     /* best estimate; below 0 when fewer were right than guessing gives */
    double low, high; /* confidence limits; below 0 like the share, at most 1 */
};
/* The share of right answers x/n, and its exact limits after Clopper and Pearson (Biometrika 26
 * (1934) 404), turned into shares of noses by c x - (c-1), c = 1 / (1 - chance): 1.5 for the
 * triangle, 2 for the others (ISO 4120 and ISO 5495 annexes). Each limit is a one-sided one at
 * `confidence` (0.95), good for none and for all right as well. False, out untouched, for a ranking
 * or impossible numbers. */
bool pm_panel_discriminators(enum pm_panel_kind kind, int answers, int correct, double confidence,
                             struct pm_panel_share *out);

enum pm_p_by {
    PM_BY_COUNTING,     /* exact: every ranking that could have come out */
    PM_BY_PERMUTATIONS, /* a random part of them, drawn from a seed */
    PM_BY_CHI_SQUARE    /* an approximation, good for very many answers */
};
struct pm_friedman {
    double statistic; /* F, corrected for ties; 0 when nobody told any samples apart */
    int degrees;      /* samples - 1 */
    double p;         /* of a statistic as large by chance */
    enum pm_p_by by;
    int64_t permutations; /* how many were drawn */
    double error;         /* of such a p: in 19 cases of 20 it is off by no more; else 0 */
};
/*
 * Friedman's test on answers x samples ranks, row by row, 1 for the first place, mean ranks for
 * ties ("2.5 2.5 1"). A row that is no such ranking is PM_INVALID and named. p is exact for two
 * answers, and as long as enumerating all rank sums that could have come out stays within some
 * million steps (ties: given the ties that occurred): up to some 200 answers about three samples,
 * 40 about four, 12 about five, 6 about six, 3 about seven. Beyond it is found by permutations
 * drawn from the seed, from 200 answers on by chi-square.
 * PM_REFUSED for fewer than 2 answers or samples, or more than the limits above. PM_NOMEM.
 */
enum pm_status pm_panel_friedman(const double *ranks, size_t answers, size_t samples, uint64_t seed,
                                 struct pm_friedman *out, struct pm_error *err);
/* Least significant difference of two rank sums at 5 %: 1.96 sqrt(n k (k+1) / 6) (ISO 8587). */
double pm_panel_rank_difference(size_t answers, size_t samples);
/* Upper tail of chi-square for 1..PM_CHI_SQUARE_DEGREES_MAX degrees of freedom, NaN otherwise. */
#define PM_CHI_SQUARE_DEGREES_MAX 200
double pm_chi_square_upper(double x, int degrees);

/* Williams design for n samples (2..PM_PANEL_SAMPLES_MAX, else PM_REFUSED): n orders for even n,
 * 2n for odd n, each sample equally often in each position and each ordered pair of neighbours
 * equally often. orders[] receives rows of n sample numbers from 0; *rows their number. orders must
 * hold 2 n n entries. */
enum pm_status pm_williams(size_t n, uint8_t *orders, size_t *rows, struct pm_error *err);

/* A small published generator (splitmix64, Steele, Lea, Flood 2014), so that a stored seed gives
 * the same codes and orders again on any machine. */
struct pm_random {
    uint64_t state;
};
void pm_random_seed(struct pm_random *random, uint64_t seed);
uint64_t pm_random_next(struct pm_random *random);
uint32_t pm_random_below(struct pm_random *random, uint32_t bound); /* uniform, bound > 0 */
/* Fisher-Yates over count items. */
void pm_random_shuffle(struct pm_random *random, uint8_t *items, size_t count);

/*
 * Three-digit codes 100..999, all different among `count` (<= PM_PANEL_CODES_MAX), none easy to
 * remember (222, 345, 876) as long as the others suffice (876 of them do). PM_REFUSED when count is
 * too large; codes and random are then untouched.
 */
enum pm_status pm_panel_codes(struct pm_random *random, size_t count, uint16_t *codes,
                              struct pm_error *err);

/* Samples put before the nose for one answer: 3 for triangle and duo-trio (the reference first), 2
 * for paired, `samples` for a ranking. */
size_t pm_panel_servings(enum pm_panel_kind kind, size_t samples);
/*
 * Serving orders of one test for `answers` answers: samples in the order to be smelled, as sample
 * numbers (0..samples-1), pm_panel_servings() of them per answer into out. Triangle: the six orders
 * AAB ABA BAA BBA BAB ABB balanced over blocks of six; duo-trio: reference A or B balanced with
 * both positions over blocks of four; paired: AB BA over blocks of two; ranking: the rows of the
 * Williams design. Each block is shuffled; a last incomplete block is a random part of one.
 * PM_REFUSED for other than 2 samples (ranking: 2..PM_PANEL_SAMPLES_MAX) and for answers outside
 * 1..PM_PANEL_ANSWERS_MAX.
 */
enum pm_status pm_panel_orders(enum pm_panel_kind kind, size_t samples, size_t answers,
                               struct pm_random *random, uint8_t *out, struct pm_error *err);

#endif
