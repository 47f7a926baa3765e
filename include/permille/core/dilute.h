/* SPDX-License-Identifier: MIT */
/*
 * Dilution arithmetic by mass: what to weigh for a strength, what strength came out, alligation.
 */
#ifndef PERMILLE_CORE_DILUTE_H
#define PERMILLE_CORE_DILUTE_H

#include "permille/base/amount.h"
#include "permille/base/status.h"

#include <stdbool.h>
#include <stddef.h>

/* To make `target` of strength `wanted` from a stock of strength `stock`: mass of stock and
 * solvent. They add up to target exactly. PM_REFUSED when wanted > stock, naming the most that can
 * be had. */
enum pm_status pm_dilute_plan(pm_mass target, pm_strength wanted, pm_strength stock,
                              pm_mass *of_stock, pm_mass *of_solvent, struct pm_error *err);
/* True strength of stock_mass at `stock` made up with solvent_mass. */
enum pm_status pm_dilute_result(pm_mass stock_mass, pm_strength stock, pm_mass solvent_mass,
                                pm_strength *out, struct pm_error *err);

/* ---- as a balance can weigh it ---- */

/* A dilution that comes out within a fiftieth of what was wanted is that dilution (our own choice,
 * the same as pm_stock_serves takes). */
#define PM_DILUTE_TOLERANCE 50

struct pm_dilute_weights {
    pm_mass of_stock, of_solvent; /* whole steps of the balance; together the target, so rounded */
    pm_strength comes_out;        /* true strength of what is weighed so */
    bool off;                     /* that is not within the tolerance of what was wanted */
    pm_mass least;                /* the least target, not below this one, that is; 0: none found */
};
/*
 * What a balance that reads steps of `step` (> 0) weighs for `target` (> 0) of strength `wanted`
 * from a stock of strength `stock`. So little stock that the balance reads none gives a strength of
 * 0, which is off. PM_REFUSED when wanted > stock.
 */
enum pm_status pm_dilute_weigh(pm_mass target, pm_strength wanted, pm_strength stock, pm_mass step,
                               struct pm_dilute_weights *out, struct pm_error *err);
/* How well it can be weighed, for choosing among stocks: 0 when it is off, else the larger, the
 * larger the smaller of the two weights is, by powers of two of the step. */
int pm_dilute_grade(const struct pm_dilute_weights *weights, pm_mass step);

/* What a line poured from a bottle of this true strength is written at: the number of one
 * significant digit, else of two, that the bottle serves for (pm_stock_serves): 9.953 % is a line's
 * 10 %, 25.1 % its 25 %. The strength itself where there is none. */
pm_strength pm_strength_written(pm_strength strength);

/* ---- alligation ---- */

/* Alligation medial: mean strength of `count` masses; 0 strengths (pure solvent) allowed. */
enum pm_status pm_alligate_mean(const pm_mass *masses, const pm_strength *strengths, size_t count,
                                pm_strength *out, struct pm_error *err);
/* Alligation alternate: how `target` divides over a high and a low strength (low may be 0) to give
 * `wanted`. PM_REFUSED when wanted lies outside them. */
enum pm_status pm_alligate_split(pm_mass target, pm_strength wanted, pm_strength high,
                                 pm_strength low, pm_mass *of_high, pm_mass *of_low,
                                 struct pm_error *err);

#endif
