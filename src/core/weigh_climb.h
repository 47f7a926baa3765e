/* SPDX-License-Identifier: MIT */
/*
 * Which bottles to weigh from, where the exact way is too long: from the choices that carry least
 * uphill, one change at a time.
 */
#ifndef PERMILLE_CORE_WEIGH_CLIMB_H
#define PERMILLE_CORE_WEIGH_CLIMB_H

#include "permille/core/weighing.h"

/* As pm_weigh_choose, never proven; needs no memory. False when even the least that is carried does
 * not fit (which proves nothing where an item could draw on another solvent). */
bool pm_weigh_climb(struct pm_weigh_item *items, size_t count,
                    const struct pm_weigh_budget *budgets, size_t solvents,
                    struct pm_weigh_outcome *out);

/* How many rests of solvents are too small to be weighed, as the items are chosen. */
int pm_weigh_specks(const struct pm_weigh_item *items, size_t count,
                    const struct pm_weigh_budget *budgets, size_t solvents);

#endif
