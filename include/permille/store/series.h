/* SPDX-License-Identifier: MIT */
/*
 * Rows of series, their trials and ratings, and of the notes that set a drydown's clock. All of
 * them are append-only. What members mean, their units and ranges: core/series.h. A list belongs to
 * the caller (pm_list_release) and is set only with PM_OK; `id` of a row that is added may be NULL
 * where nothing else is said.
 */
#ifndef PERMILLE_STORE_SERIES_H
#define PERMILLE_STORE_SERIES_H

#include "permille/core/series.h"
#include "permille/store/library.h"

/* The series and its trials, in the order given; id, made_at and the counts of row are not read.
 * PM_EXISTS when the name is taken. id not NULL. */
enum pm_status pm_series_insert(struct pm_library *library, const struct pm_series_row *row,
                                const struct pm_series_trial *trials, size_t count, int64_t *id,
                                struct pm_error *err);
/* PM_MISSING. NULL arena: without strings. */
enum pm_status pm_series_get(struct pm_library *library, int64_t id, struct pm_arena *arena,
                             struct pm_series_row *out, struct pm_error *err);
/* *id is 0 when there is none of that name. */
enum pm_status pm_series_by_name(struct pm_library *library, const char *name, int64_t *id,
                                 struct pm_error *err);
/* Newest first; formula 0: of all. */
enum pm_status pm_series_list(struct pm_library *library, int64_t formula,
                              struct pm_series_rows *out, struct pm_error *err);
/* In the order they were laid out; none when there is no such series. */
enum pm_status pm_series_trials_list(struct pm_library *library, int64_t series,
                                     struct pm_series_trials *out, struct pm_error *err);

/* A rating that `corrects` another takes its place, or takes it back (value -1). */
enum pm_status pm_rating_insert(struct pm_library *library, const struct pm_rating *rating,
                                int64_t *id, struct pm_error *err);
/* Those that stand, in the order given. */
enum pm_status pm_rating_list(struct pm_library *library, int64_t series, struct pm_ratings *out,
                              struct pm_error *err);

/* From now on the formula's clock goes by it. */
enum pm_status pm_calibration_insert(struct pm_library *library,
                                     const struct pm_calibration *calibration, int64_t *id,
                                     struct pm_error *err);
/* The newest whose note stands; id 0 when there is none. */
enum pm_status pm_calibration_newest(struct pm_library *library, int64_t formula,
                                     struct pm_calibration *out, struct pm_error *err);

#endif
