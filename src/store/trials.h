/* SPDX-License-Identifier: MIT */
/*
 * Inside the store: content of trials between the file and struct pm_trial.
 */
#ifndef PERMILLE_STORE_TRIALS_H
#define PERMILLE_STORE_TRIALS_H

#include "permille/store/formulas.h"
#include "store.h"

/* What a trial's row says beside struct pm_trial. */
struct pm_trial_head {
    int64_t formula;
    int64_t number; /* 0: the draft */
    int64_t head;   /* 0: before the first revision */
};

/* Loads and verifies; call inside a transaction, so that row and lines belong together. */
enum pm_status pm_trial_read(struct pm_library *library, int64_t trial, struct pm_trial *out,
                             struct pm_trial_head *head, struct pm_error *err);
/* Adds a draft row that describes `content` (the lines are not written). */
enum pm_status pm_trial_row_insert(struct pm_library *library, int64_t formula,
                                   const struct pm_trial *content, int64_t head, int64_t *id,
                                   struct pm_error *err);
/* Makes the row and lines of the formula's draft those of `after`; `before` is what they are. Only
 * what differs is written, and which materials the formula has held. */
enum pm_status pm_trial_rewrite(struct pm_library *library, int64_t formula, int64_t draft,
                                const struct pm_trial *before, const struct pm_trial *after,
                                int64_t head, struct pm_error *err);
/* Rows of trial and count of an open query, which is closed. */
enum pm_status pm_trial_counts_read(struct pm_query *query, struct pm_trial_counts *out,
                                    struct pm_error *err);
/* For salvage: loads what is there, in order, numbering places anew; *sound tells whether
 * pm_trial_read would have accepted it. */
enum pm_status pm_trial_read_as_is(struct pm_library *library, int64_t trial, struct pm_trial *out,
                                   struct pm_trial_head *head, bool *sound, struct pm_error *err);
/* For salvage: writes all of a trial, draft or kept; its row's checksum is left to the caller. */
enum pm_status pm_trial_write_as_is(struct pm_library *library, int64_t trial,
                                    const struct pm_trial *content, int64_t head,
                                    struct pm_error *err);

#endif
