/* SPDX-License-Identifier: MIT */
/*
 * Weights: what a line counts for when a total is shared out. Parts are rounded to a micro-part, so
 * a share worked out from parts again and again would drift; a weight is kept beside them to 62
 * binary digits, which is 2e-19 of itself, and shares are always worked out from it.
 *
 * A weight is digits x 2^(power - PM_POWER_ZERO). It is normalised: digits are 0 (then power is 0:
 * nothing) or 2^61 .. 2^62 - 1. Powers are biased so that they are never negative where they are
 * written down; in use they stay in 0 .. PM_POWER_MAX.
 *
 * Every call rounds its result to nearest, ties away from zero. Whole numbers below 2^62 are exact,
 * and so are their products and quotients that have no more than 62 digits.
 */
#ifndef PERMILLE_CORE_WEIGHT_H
#define PERMILLE_CORE_WEIGHT_H

#include "permille/base/amount.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

__extension__ typedef unsigned __int128 pm_wide;

struct pm_weight {
    int64_t digits;
    int64_t power;
};

#define PM_WEIGHT_BITS 62
#define PM_POWER_ZERO  2048
#define PM_POWER_MAX   4096

/* Whether it is normalised and its power in range: what may be read from a file. */
bool pm_weight_sound(struct pm_weight weight);
bool pm_weight_equal(struct pm_weight a, struct pm_weight b);
static inline bool pm_weight_none(struct pm_weight weight)
{
    return weight.digits == 0;
}

/* value x 2^power, in the terms of an ordinary power of two. */
struct pm_weight pm_weight_make(pm_wide value, int64_t power);
struct pm_weight pm_weight_of(int64_t whole); /* >= 0 */
struct pm_weight pm_weight_plus(struct pm_weight a, struct pm_weight b);
struct pm_weight pm_weight_times(struct pm_weight a, struct pm_weight b);
/* Of all of them, rounded once; up to 2^24. */
struct pm_weight pm_weight_sum(const struct pm_weight *weights, size_t count);
/* a / b; b is not nothing. */
struct pm_weight pm_weight_over(struct pm_weight a, struct pm_weight b);
int pm_weight_compare(struct pm_weight a, struct pm_weight b); /* <0, 0, >0 */

/* weight x 2^shift as a whole number: rounded half up, or up. INT64_MAX when it is larger. */
int64_t pm_weight_round(struct pm_weight weight, int shift);
int64_t pm_weight_ceil(struct pm_weight weight);

/*
 * Weights side by side as whole numbers, for sharing out `total` exactly: out[i] = weight / 2^unit
 * rounded down, with as many digits as the products with total allow (at least 64 where total is
 * within a million parts: the share of each is then right to 2^-24 of a micro-part, whatever the
 * count up to 2^24). *unit may be NULL. Returns their sum.
 */
pm_wide pm_weight_align(const struct pm_weight *weights, size_t count, int64_t total, pm_wide *out,
                        int64_t *unit);

#endif
