/* SPDX-License-Identifier: MIT */
/*
 * The flat view: every accord and dilution resolved, each material once. Amounts are pico-parts
 * (pm_fine), so a trace of a trace keeps its digits; sums are exact: neat and solvent amounts of
 * all rows together are the trial's total.
 */
#ifndef PERMILLE_CORE_FLATTEN_H
#define PERMILLE_CORE_FLATTEN_H

#include "permille/base/amount.h"
#include "permille/base/status.h"
#include "permille/core/trial.h"

/* Where nested accords come from. Returned trials are borrowed and must stay valid during the call;
 * NULL means it could not be had, and the source has set err. */
struct pm_trial_source {
    const struct pm_trial *(*trial)(void *context, int64_t trial_id, struct pm_error *err);
    void *context;
};

struct pm_flat_row {
    int64_t material;
    pm_fine neat;       /* what all its lines bring of it, neat */
    pm_fine as_solvent; /* what dilutions bring of it as their solvent */
    int64_t share;      /* (neat + as_solvent) of the total, 1e-12; rows add up to exactly 1e12 */
};

struct pm_flat {
    struct pm_flat_row *rows; /* owned; in order of first appearance */
    size_t count;
    pm_fine total; /* the trial's total in pico-parts */
};

/*
 * Accords contribute their lines in proportion, at any depth; an accord used in many places is
 * worked out once (linear in distinct accords). An accord trial that is empty, or that contains
 * itself, is PM_DAMAGED; depth is limited only by memory, recursion is not used.
 */
enum pm_status pm_flatten(const struct pm_trial *trial, const struct pm_trial_source *source,
                          struct pm_flat *out, struct pm_error *err);
void pm_flat_release(struct pm_flat *flat);

/* Sum of everything that is solvent: as_solvent of all rows plus the neat amount of materials for
 * which is_solvent() holds. Overall strength of the formula = 1 - solvent / total. */
pm_fine pm_flat_solvent(const struct pm_flat *flat,
                        bool (*is_solvent)(void *context, int64_t material), void *context);

#endif
