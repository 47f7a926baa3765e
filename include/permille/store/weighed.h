/* SPDX-License-Identifier: MIT */
/*
 * Rows of the scale: balances, plans of batches with their lines and pours, made-up accords,
 * fillings. Plans, pours and fillings are append-only.
 */
#ifndef PERMILLE_STORE_WEIGHED_H
#define PERMILLE_STORE_WEIGHED_H

#include "permille/core/batch.h"
#include "permille/core/bottle.h"
#include "permille/core/weighed.h"
#include "permille/store/library.h"

/* id 0: a new one, whose id and made_at are filled; else the row of that id is changed. PM_EXISTS
 * when another has the name. */
enum pm_status pm_balance_put(struct pm_library *library, struct pm_balance_row *row,
                              struct pm_error *err);
enum pm_status pm_balance_delete(struct pm_library *library, int64_t id, struct pm_error *err);
enum pm_status pm_balance_list(struct pm_library *library, struct pm_balance_rows *out,
                               struct pm_error *err);

/* Fills plan->id and at; the lines' places are 1..count. */
enum pm_status pm_batch_plan_insert(struct pm_library *library, struct pm_batch_plan *plan,
                                    const struct pm_batch_line *lines, size_t count,
                                    struct pm_error *err);
/* The newest plan of a batch and its lines. PM_MISSING: it has none. */
enum pm_status pm_batch_plan_get(struct pm_library *library, int64_t batch, struct pm_arena *arena,
                                 struct pm_batch_plan *plan, struct pm_batch_lines *lines,
                                 struct pm_error *err);
/* All plans a batch has had, without their balances. */
enum pm_status pm_batch_plan_list(struct pm_library *library, int64_t batch,
                                  struct pm_batch_plans *out, struct pm_error *err);
/* The lines of one of them. */
enum pm_status pm_batch_plan_lines(struct pm_library *library, int64_t plan,
                                   struct pm_batch_lines *out, struct pm_error *err);
/* Fills id and at (unless given). */
enum pm_status pm_batch_pour_insert(struct pm_library *library, struct pm_batch_pour *pour,
                                    struct pm_error *err);
enum pm_status pm_batch_pour_list(struct pm_library *library, int64_t batch,
                                  struct pm_batch_pours *out, struct pm_error *err);
/* What came into the bottle that a batch was finished into: the movement in force, as it would be
 * written again (its id is that of the old one); id 0: there is none. */
enum pm_status pm_batch_received(struct pm_library *library, int64_t batch, struct pm_movement *out,
                                 struct pm_error *err);
/* What happened to a batch. */
enum pm_status pm_batch_event_list(struct pm_library *library, int64_t batch,
                                   struct pm_batch_events *out, struct pm_error *err);

/* The material of a made-up trial; 0: it was never made up. */
enum pm_status pm_made_up_get(struct pm_library *library, int64_t trial, int64_t *material,
                              struct pm_error *err);
enum pm_status pm_made_up_put(struct pm_library *library, int64_t trial, int64_t material,
                              struct pm_error *err);

enum pm_status pm_filling_insert(struct pm_library *library, struct pm_filling_row *row,
                                 struct pm_error *err);
/* Fills id and at. */
enum pm_status pm_filling_event_insert(struct pm_library *library, struct pm_filling_event *event,
                                       struct pm_error *err);
/* Of all fillings. */
enum pm_status pm_filling_event_list(struct pm_library *library, struct pm_filling_events *out,
                                     struct pm_error *err);
enum pm_status pm_filling_list(struct pm_library *library, struct pm_filling_rows *out,
                               struct pm_error *err);

#endif
