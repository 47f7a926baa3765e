/* SPDX-License-Identifier: MIT */
/*
 * Rows of bottles and their ledger. The amount left is the sum of the ledger, which the file keeps
 * beside it; movements are append-only. That nothing goes below zero unasked is the studio's rule.
 */
#ifndef PERMILLE_STORE_BOTTLES_H
#define PERMILLE_STORE_BOTTLES_H

#include "permille/core/bottle.h"
#include "permille/core/formula.h"
#include "permille/store/library.h"

/* Fills id (unless one is given that is free) and made_at. A bottle begins empty: its content is a
 * movement. PM_EXISTS when the number given is taken. */
enum pm_status pm_bottle_insert(struct pm_library *library, struct pm_bottle *bottle,
                                struct pm_error *err);
/* All but id and made_at. PM_MISSING. */
enum pm_status pm_bottle_update(struct pm_library *library, const struct pm_bottle *bottle,
                                struct pm_error *err);
/* Strings go into the arena; with NULL they are left out. PM_MISSING. */
enum pm_status pm_bottle_get(struct pm_library *library, int64_t id, struct pm_arena *arena,
                             struct pm_bottle *out, struct pm_error *err);
/* By id; material 0: all. */
enum pm_status pm_bottle_list(struct pm_library *library, int64_t material, bool set_aside_too,
                              struct pm_bottles *out, struct pm_error *err);

/* Added to the ledger under a number of its own, *id (may be NULL). */
enum pm_status pm_movement_insert(struct pm_library *library, const struct pm_movement *movement,
                                  int64_t *id, struct pm_error *err);
/* Of one bottle, oldest first; each with what was left right after it. PM_DAMAGED. */
enum pm_status pm_movement_list(struct pm_library *library, int64_t bottle,
                                struct pm_movements *out, struct pm_error *err);
/* Bottle and mass (micrograms) of one movement. PM_MISSING. */
enum pm_status pm_movement_get(struct pm_library *library, int64_t id, int64_t *bottle,
                               pm_mass *mass, struct pm_error *err);

/* What the ledger showed right after the movement, or right before it. */
enum pm_status pm_movement_level(struct pm_library *library, int64_t bottle, int64_t movement,
                                 bool before, pm_mass *out, struct pm_error *err);

/* How often each kept trial of a formula was weighed: on how many days something was poured for it
 * that is in force. Trials never weighed are not told. */
enum pm_status pm_weighed_counts(struct pm_library *library, int64_t formula,
                                 struct pm_trial_counts *out, struct pm_error *err);

#endif
