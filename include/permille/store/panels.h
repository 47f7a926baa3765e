/* SPDX-License-Identifier: MIT */
/*
 * Rows of blind tests. A test, its samples and its codes never change once made; it is closed once.
 * Answers are append-only: a round takes one, and corrections of it until the test is closed.
 */
#ifndef PERMILLE_STORE_PANELS_H
#define PERMILLE_STORE_PANELS_H

#include "permille/core/blind.h"
#include "permille/store/library.h"

/* Writes the test with its samples (trial ids) and servings; *id receives its number. PM_EXISTS
 * when the name is taken. */
enum pm_status pm_panel_insert(struct pm_library *library, const struct pm_panel_row *row,
                               const int64_t *samples, size_t sample_count,
                               const struct pm_serving *servings, size_t serving_count, int64_t *id,
                               struct pm_error *err);
/* The strings go into `arena`; with NULL they are left out. */
enum pm_status pm_panel_get(struct pm_library *library, int64_t id, struct pm_arena *arena,
                            struct pm_panel_row *out, struct pm_error *err);
/* *id is 0 when there is none of that name. */
enum pm_status pm_panel_by_name(struct pm_library *library, const char *name, int64_t *id,
                                struct pm_error *err);
/* PM_REFUSED when it is closed already. */
enum pm_status pm_panel_end(struct pm_library *library, int64_t id, int64_t closed_at,
                            struct pm_error *err);
enum pm_status pm_panel_list(struct pm_library *library, struct pm_panel_rows *out,
                             struct pm_error *err);
enum pm_status pm_panel_samples(struct pm_library *library, int64_t panel, struct pm_samples *out,
                                struct pm_error *err);
enum pm_status pm_panel_servings_list(struct pm_library *library, int64_t panel,
                                      struct pm_servings *out, struct pm_error *err);
/* PM_REFUSED when the test is closed, or the round has an answer that this one does not correct. */
enum pm_status pm_panel_answer_insert(struct pm_library *library, int64_t panel,
                                      const struct pm_panel_answer *answer, int64_t *id,
                                      struct pm_error *err);
enum pm_status pm_panel_answer_list(struct pm_library *library, int64_t panel,
                                    struct pm_panel_answers *out, struct pm_error *err);

#endif
