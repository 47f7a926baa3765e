/* SPDX-License-Identifier: MIT */
/*
 * One weigh plan for several trials: what they have in common is weighed once, as a premix, and
 * then divided.
 *
 * Ingredients whose amounts stand in the same ratio to one another in every trial (within the
 * rounding of their parts) can be weighed together. The largest such group is premix A, and so on;
 * what stands alone is weighed into each trial. Where such a single amount is too small for the
 * balance, a stock is proposed for those trials: the ingredient in premix A, one in ten, a hundred,
 * a thousand, as far as each trial has room for the premix that comes with it; so nothing foreign
 * gets in.
 */
#ifndef PERMILLE_CORE_PREMIX_H
#define PERMILLE_CORE_PREMIX_H

#include "permille/base/amount.h"
#include "permille/base/arena.h"
#include "permille/base/status.h"

#include <stdbool.h>
#include <stddef.h>

struct pm_premix_spec {
    size_t trials, ingredients;
    const pm_parts *parts; /* [trial * ingredients + ingredient]; every trial has some */
    pm_mass batch;         /* of each trial; > 0 */
    pm_mass least;         /* what the balance weighs well enough; 0: anything */
    pm_strength spare;     /* 1e-9: so much more premix and stock is made, for what sticks */
};
struct pm_premix {
    size_t trials, ingredients, groups;
    int *group;       /* of each ingredient; -1: weighed alone */
    pm_mass *make;    /* of each ingredient: how much goes into its premix; 0 for single ones */
    pm_mass *amount;  /* of each group: premix to be made */
    pm_mass *take;    /* [trial * groups + group]: premix that goes into the trial */
    pm_mass *single;  /* [trial * ingredients + ingredient]: what is weighed into it alone */
    int *tenfold;     /* of each ingredient: 10^n fold stock in premix A; 0: none */
    pm_mass *stock;   /* of each ingredient: how much of that stock is made; it holds its 10^-n */
    bool *from_stock; /* [trial * ingredients + ingredient]: `single` is of the stock */
    bool *too_small;  /* of each ingredient: some amount is below `least`, and no stock helps */
    size_t weighings, without; /* with this plan, and each trial by itself */
    struct pm_arena arena;
};
/* PM_INVALID for an empty trial; PM_NOMEM. Masses of a trial add up to the batch exactly; `take` of
 * premix A already lacks what stocks bring of it. */
enum pm_status pm_premix_plan(const struct pm_premix_spec *spec, struct pm_premix *out,
                              struct pm_error *err);
void pm_premix_release(struct pm_premix *premix);

#endif
