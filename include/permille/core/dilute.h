/* SPDX-License-Identifier: MIT */
/*
 * Dilution arithmetic by mass: what to weigh for a strength, what strength came out, alligation.
 */
#ifndef PERMILLE_CORE_DILUTE_H
#define PERMILLE_CORE_DILUTE_H

#include "permille/base/amount.h"
#include "permille/base/status.h"

#include <stddef.h>

/* To make `target` of strength `wanted` from a stock of strength `stock`: mass of stock and
 * solvent. They add up to target exactly. PM_REFUSED when wanted > stock, naming the most that can
 * be had. */
enum pm_status pm_dilute_plan(pm_mass target, pm_strength wanted, pm_strength stock,
                              pm_mass *of_stock, pm_mass *of_solvent, struct pm_error *err);
/* True strength of stock_mass at `stock` made up with solvent_mass. */
enum pm_status pm_dilute_result(pm_mass stock_mass, pm_strength stock, pm_mass solvent_mass,
                                pm_strength *out, struct pm_error *err);
/* Alligation medial: mean strength of `count` masses; 0 strengths (pure solvent) allowed. */
enum pm_status pm_alligate_mean(const pm_mass *masses, const pm_strength *strengths, size_t count,
                                pm_strength *out, struct pm_error *err);
/* Alligation alternate: how `target` divides over a high and a low strength (low may be 0) to give
 * `wanted`. PM_REFUSED when wanted lies outside them. */
enum pm_status pm_alligate_split(pm_mass target, pm_strength wanted, pm_strength high,
                                 pm_strength low, pm_mass *of_high, pm_mass *of_low,
                                 struct pm_error *err);

#endif
