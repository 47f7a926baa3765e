/* SPDX-License-Identifier: MIT */
/*
 * What a balance does to a formula as it is written, line by line.
 *
 * A material is one weight. An accord that stands made up is one as well; any other is weighed
 * material by material. No bottle is chosen (weigh_plan.h does that): this is what a person needs
 * while an amount is being typed, so it takes no memory and nothing of the library.
 *
 * Every weight has the balance's standard uncertainty u (pm_balance_uncertainty). A weight m has
 * the relative variance (u / m)^2; its share of the sum of all of them is its part in the formula's
 * uncertainty budget (GUM, JCGM 100:2008, 5.1.2 and 5.1.6: independent inputs, relative variances
 * add). The total has u times the root of the number of weights.
 */
#ifndef PERMILLE_CORE_WEIGH_BUDGET_H
#define PERMILLE_CORE_WEIGH_BUDGET_H

#include "permille/core/flatten.h"
#include "permille/core/weighing.h"

/* One accord's kept trial on the balance. */
struct pm_budget_accord {
    int64_t trial;
    pm_mass made_up;  /* of it stands on the shelf; as far as that reaches it is one weight */
    size_t weights;   /* materials in it, each at a strength of its own; one too small to be
                         divided any further is not counted */
    int64_t smallest; /* of them, of the accord; 1e-12, rounded down */
    double squares;   /* sum of the squares of accord / weight */
};
/* Reads what a kept trial is made of, accords in it resolved; made_up is left 0. Errors of
 * pm_pours_of. */
enum pm_status pm_budget_accord_read(int64_t trial, const struct pm_trial_source *source,
                                     struct pm_budget_accord *out, struct pm_error *err);

struct pm_budget_terms {
    pm_mass batch;
    struct pm_balance balance;
    pm_strength tolerance;                  /* of each weight, k = 2 */
    const struct pm_budget_accord *accords; /* borrowed */
    size_t accord_count;
};

/* One line, with the parts that it has or would have. */
struct pm_budget_item {
    const struct pm_line *line; /* borrowed: kind, ref, strength count */
    pm_parts parts;
};
struct pm_budget_line {
    pm_mass mass, smallest; /* of the line; of its smallest weight, rounded to nearest */
    size_t weights; /* 0: nothing is weighed, or it is not known of what the accord is made */
    double error;   /* relative, of the smallest weight; k = 2 */
    double share;   /* of the budget, 0..1 */
    bool small;     /* a weight of it is not within the tolerance */
    /* What makes a small one weighable: */
    pm_strength
        dilute;   /* poured at this strength, the strongest of 10, 1, 0.1 %; 0: none of them */
    bool make_up; /* an accord: made up first */
};
struct pm_budget {
    size_t small;    /* lines */
    size_t weights;  /* all of them */
    pm_mass minimum; /* the smallest weight within the tolerance (pm_balance_minimum) */
    pm_mass least; /* the least batch of which every weight is within it; 0: nothing is weighed, or
                      more than can be said */
    double combined; /* standard uncertainty of the total, micrograms */
};
/* lines[count] receives what is said of each item. A batch of nothing weighs nothing. */
void pm_budget_read(const struct pm_budget_terms *terms, const struct pm_budget_item *items,
                    size_t count, struct pm_budget_line *lines, struct pm_budget *out);

#endif
