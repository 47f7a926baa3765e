/* SPDX-License-Identifier: MIT */
/*
 * Rows of batches and of what happened to them. Neither is ever deleted.
 */
#ifndef PERMILLE_STORE_BATCHES_H
#define PERMILLE_STORE_BATCHES_H

#include "permille/core/batch.h"
#include "permille/store/library.h"

/* Fills id and made_at. It stands as planned only with its first event. */
enum pm_status pm_batch_insert(struct pm_library *library, struct pm_batch *batch,
                               struct pm_error *err);
enum pm_status pm_batch_get(struct pm_library *library, int64_t id, struct pm_arena *arena,
                            struct pm_batch *out, struct pm_error *err);
/* By day, those without one last; over_too: also those finished or given up. */
enum pm_status pm_batch_list(struct pm_library *library, bool over_too, struct pm_batches *out,
                             struct pm_error *err);

/* Appends; *id may be NULL. */
enum pm_status pm_batch_event_insert(struct pm_library *library, const struct pm_batch_event *event,
                                     int64_t *id, struct pm_error *err);
/* The event without its text, and how the batch stood before it (given up, where it was the first).
 */
enum pm_status pm_batch_event_get(struct pm_library *library, int64_t id,
                                  struct pm_batch_event *out, enum pm_batch_state *before,
                                  struct pm_error *err);

#endif
