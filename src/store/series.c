/* SPDX-License-Identifier: MIT */
/*
 * Rows of series, ratings and calibrations.
 */
#include "permille/store/series.h"
#include "store.h"

/* ---- series ---- */

static void bind_row(struct pm_query *query, const void *of)
{
    const struct pm_series_row *row = of;
    pm_query_text(query, row->name);
    pm_query_folded(query, row->name);
    pm_query_text(query, pm_series_word(row->kind));
    pm_query_int(query, row->formula);
    pm_query_text(query, row->what);
    pm_query_text(query, row->bounds);
    pm_query_key(query, row->panel);
    pm_query_int(query, pm_library_now(query->library));
}

static enum pm_status insert_trials(struct pm_library *library, int64_t series,
                                    const struct pm_series_trial *trials, size_t count,
                                    struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < count; i++) {
        struct pm_query query;
        pm_query_open(&query, library, PM_SQL_SERIES_TRIAL_INSERT);
        pm_query_int(&query, series);
        pm_query_int(&query, (int64_t)i);
        pm_query_int(&query, trials[i].trial);
        pm_query_known(&query, trials[i].amount);
        pm_query_text(&query, trials[i].ratio);
        pm_query_text(&query, trials[i].omitted);
        pm_query_key(&query, trials[i].panel);
        status = pm_query_run(&query, err);
    }
    return status;
}

enum pm_status pm_series_by_name(struct pm_library *library, const char *name, int64_t *id,
                                 struct pm_error *err)
{
    return pm_store_named(library, PM_SQL_SERIES_FIND, name, id, err);
}

enum pm_status pm_series_insert(struct pm_library *library, const struct pm_series_row *row,
                                const struct pm_series_trial *trials, size_t count, int64_t *id,
                                struct pm_error *err)
{
    static const struct pm_addition addition = {PM_SQL_SERIES_NEXT, PM_SQL_SERIES_INSERT, bind_row};
    int64_t made = 0, taken = 0;
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    status = pm_series_by_name(library, row->name, &taken, err);
    if (status == PM_OK && taken != 0)
        status = pm_fail(err, PM_EXISTS, "There is a series \"%s\" already.", row->name);
    if (status == PM_OK)
        status = pm_store_insert(library, &addition, row, &made, err);
    if (status == PM_OK)
        status = insert_trials(library, made, trials, count, err);
    status = pm_library_finish(library, status, err);
    if (status == PM_OK)
        *id = made;
    return status;
}

static void read_row(struct pm_query *query, struct pm_arena *arena, void *item)
{
    struct pm_series_row *out = item;
    *out = (struct pm_series_row){.id = pm_query_get_int(query, 0)};
    out->name = pm_query_get_kept(query, 1, arena);
    /* The table's CHECK lets no other word in; a damaged row is for verify to find. */
    if (!pm_series_from_word(pm_query_get_text(query, 2), &out->kind))
        out->kind = PM_SERIES_LADDER;
    out->formula = pm_query_get_int(query, 3);
    out->what = pm_query_get_kept(query, 4, arena);
    out->bounds = pm_query_get_kept(query, 5, arena);
    out->panel = pm_query_get_int(query, 6);
    out->made_at = pm_query_get_int(query, 7);
    out->trials = pm_query_get_int(query, 8);
    out->ratings = pm_query_get_int(query, 9);
}

enum pm_status pm_series_get(struct pm_library *library, int64_t id, struct pm_arena *arena,
                             struct pm_series_row *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_series_row row;
    pm_query_open(&query, library, PM_SQL_SERIES_GET);
    pm_query_int(&query, id);
    const bool found = pm_query_row(&query);
    if (found)
        read_row(&query, arena, &row);
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && !found)
        status = pm_fail(err, PM_MISSING, "There is no series number %lld.", (long long)id);
    if (status == PM_OK)
        *out = row;
    return status;
}

enum pm_status pm_series_list(struct pm_library *library, int64_t formula,
                              struct pm_series_rows *out, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_SERIES_LIST);
    pm_query_int(&query, formula);
    return pm_query_list(&query, read_row, out, err);
}

static void read_trial(struct pm_query *query, struct pm_arena *arena, void *item)
{
    *(struct pm_series_trial *)item = (struct pm_series_trial){
        .trial = pm_query_get_int(query, 0),
        .amount = pm_query_get_known(query, 1),
        .ratio = pm_query_get_kept(query, 2, arena),
        .omitted = pm_query_get_kept(query, 3, arena),
        .panel = pm_query_get_int(query, 4),
        .number = pm_query_get_int(query, 5),
    };
}

enum pm_status pm_series_trials_list(struct pm_library *library, int64_t series,
                                     struct pm_series_trials *out, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_SERIES_TRIAL_LIST);
    pm_query_int(&query, series);
    return pm_query_list(&query, read_trial, out, err);
}

/* ---- ratings ---- */

static void bind_rating(struct pm_query *query, const void *row)
{
    const struct pm_rating *rating = row;
    pm_query_int(query, rating->series);
    pm_query_int(query, rating->trial);
    pm_query_known(query, rating->value);
    pm_query_int(query, rating->at);
    pm_query_key(query, rating->corrects);
}

enum pm_status pm_rating_insert(struct pm_library *library, const struct pm_rating *rating,
                                int64_t *id, struct pm_error *err)
{
    static const struct pm_addition addition = {PM_SQL_RATING_NEXT, PM_SQL_RATING_INSERT,
                                                bind_rating};
    return pm_store_add(library, &addition, rating, id, err);
}

enum pm_status pm_rating_list(struct pm_library *library, int64_t series, struct pm_ratings *out,
                              struct pm_error *err)
{
    struct pm_query query;
    struct pm_ratings list = {0};
    pm_query_open(&query, library, PM_SQL_RATING_LIST);
    pm_query_int(&query, series);
    while (pm_query_row(&query)) {
        struct pm_rating *item = pm_query_add(&query, &list);
        if (item != NULL)
            *item = (struct pm_rating){
                .id = pm_query_get_int(&query, 0),
                .series = series,
                .trial = pm_query_get_int(&query, 1),
                .value = pm_query_get_int(&query, 2),
                .at = pm_query_get_int(&query, 3),
                .corrects = pm_query_get_int(&query, 4),
            };
    }
    const enum pm_status status = pm_query_close(&query, err);
    pm_list_give(&list, status, out);
    return status;
}

/* ---- clocks ---- */

static void bind_calibration(struct pm_query *query, const void *row)
{
    const struct pm_calibration *calibration = row;
    pm_query_int(query, calibration->smell);
    pm_query_int(query, calibration->material);
    pm_query_int(query, calibration->remaining);
    pm_query_int(query, calibration->at);
}

enum pm_status pm_calibration_insert(struct pm_library *library,
                                     const struct pm_calibration *calibration, int64_t *id,
                                     struct pm_error *err)
{
    static const struct pm_addition addition = {PM_SQL_CALIBRATION_NEXT, PM_SQL_CALIBRATION_INSERT,
                                                bind_calibration};
    return pm_store_add(library, &addition, calibration, id, err);
}

enum pm_status pm_calibration_newest(struct pm_library *library, int64_t formula,
                                     struct pm_calibration *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_calibration found = {0};
    pm_query_open(&query, library, PM_SQL_CALIBRATION_NEWEST);
    pm_query_int(&query, formula);
    if (pm_query_row(&query))
        found = (struct pm_calibration){
            .id = pm_query_get_int(&query, 0),
            .smell = pm_query_get_int(&query, 1),
            .material = pm_query_get_int(&query, 2),
            .remaining = pm_query_get_int(&query, 3),
            .at = pm_query_get_int(&query, 4),
            .trial = pm_query_get_int(&query, 5),
        };
    const enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK)
        *out = found;
    return status;
}
