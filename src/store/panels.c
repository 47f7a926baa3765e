/* SPDX-License-Identifier: MIT */
/*
 * Rows of blind tests.
 */
#include "permille/store/panels.h"
#include "store.h"

/* ---- making one ---- */

static void bind_row(struct pm_query *query, const void *of)
{
    const struct pm_panel_row *row = of;
    pm_query_text(query, row->name);
    pm_query_folded(query, row->name);
    pm_query_text(query, pm_panel_word(row->kind));
    pm_query_text(query, row->question);
    pm_query_known(query, row->expected);
    pm_query_int(query, row->alpha);
    pm_query_int(query, row->rounds);
    pm_query_int(query, (int64_t)row->seed);
    pm_query_int(query, pm_library_now(query->library));
}

static enum pm_status insert_samples(struct pm_library *library, int64_t panel,
                                     const int64_t *samples, size_t count, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < count; i++) {
        struct pm_query query;
        pm_query_open(&query, library, PM_SQL_SAMPLE_INSERT);
        pm_query_int(&query, panel);
        pm_query_int(&query, (int64_t)i);
        pm_query_int(&query, samples[i]);
        status = pm_query_run(&query, err);
    }
    return status;
}

static enum pm_status insert_servings(struct pm_library *library, int64_t panel,
                                      const struct pm_serving *servings, size_t count,
                                      struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < count; i++) {
        struct pm_query query;
        pm_query_open(&query, library, PM_SQL_SERVING_INSERT);
        pm_query_int(&query, panel);
        pm_query_int(&query, servings[i].round);
        pm_query_int(&query, servings[i].place);
        pm_query_int(&query, servings[i].sample);
        pm_query_key(&query, servings[i].code);
        status = pm_query_run(&query, err);
    }
    return status;
}

enum pm_status pm_panel_by_name(struct pm_library *library, const char *name, int64_t *id,
                                struct pm_error *err)
{
    return pm_store_named(library, PM_SQL_PANEL_FIND, name, id, err);
}

enum pm_status pm_panel_insert(struct pm_library *library, const struct pm_panel_row *row,
                               const int64_t *samples, size_t sample_count,
                               const struct pm_serving *servings, size_t serving_count, int64_t *id,
                               struct pm_error *err)
{
    static const struct pm_addition addition = {PM_SQL_PANEL_NEXT, PM_SQL_PANEL_INSERT, bind_row};
    int64_t made = 0, taken = 0;
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    status = pm_panel_by_name(library, row->name, &taken, err);
    if (status == PM_OK && taken != 0)
        status = pm_fail(err, PM_EXISTS, "There is a blind test \"%s\" already.", row->name);
    if (status == PM_OK)
        status = pm_store_insert(library, &addition, row, &made, err);
    if (status == PM_OK)
        status = insert_samples(library, made, samples, sample_count, err);
    if (status == PM_OK)
        status = insert_servings(library, made, servings, serving_count, err);
    status = pm_library_finish(library, status, err);
    if (status == PM_OK)
        *id = made;
    return status;
}

/* ---- reading ---- */

static void read_row(struct pm_query *query, struct pm_arena *arena, void *item)
{
    struct pm_panel_row *out = item;
    *out = (struct pm_panel_row){0};
    out->id = pm_query_get_int(query, 0);
    out->name = pm_query_get_kept(query, 1, arena);
    const char *kind = pm_query_get_text(query, 2);
    /* The table's CHECK lets no other word in; a damaged row is for verify to find. */
    if (kind == NULL || pm_panel_read(kind, &out->kind, NULL) != PM_OK)
        out->kind = PM_TRIANGLE;
    out->question = pm_query_get_kept(query, 3, arena);
    out->expected = (int)pm_query_get_known(query, 4);
    out->alpha = pm_query_get_int(query, 5);
    out->rounds = pm_query_get_int(query, 6);
    out->seed = (uint64_t)pm_query_get_int(query, 7);
    out->made_at = pm_query_get_int(query, 8);
    out->closed_at = pm_query_get_int(query, 9);
    out->sample_count = (size_t)pm_query_get_int(query, 10);
    out->answered = pm_query_get_int(query, 11);
}

static enum pm_status no_panel(int64_t id, struct pm_error *err)
{
    return pm_fail(err, PM_MISSING, "There is no blind test number %lld.", (long long)id);
}

enum pm_status pm_panel_get(struct pm_library *library, int64_t id, struct pm_arena *arena,
                            struct pm_panel_row *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_panel_row row;
    pm_query_open(&query, library, PM_SQL_PANEL_GET);
    pm_query_int(&query, id);
    bool found = pm_query_row(&query);
    if (found)
        read_row(&query, arena, &row);
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && !found)
        status = no_panel(id, err);
    if (status == PM_OK)
        *out = row;
    return status;
}

enum pm_status pm_panel_list(struct pm_library *library, struct pm_panel_rows *out,
                             struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_PANEL_LIST);
    return pm_query_list(&query, read_row, out, err);
}

static void read_sample(struct pm_query *query, struct pm_arena *arena, void *item)
{
    (void)arena;
    *(int64_t *)item = pm_query_get_int(query, 1);
}

enum pm_status pm_panel_samples(struct pm_library *library, int64_t panel, struct pm_samples *out,
                                struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_SAMPLE_LIST);
    pm_query_int(&query, panel);
    return pm_query_list(&query, read_sample, out, err);
}

static void read_serving(struct pm_query *query, struct pm_arena *arena, void *item)
{
    (void)arena;
    *(struct pm_serving *)item = (struct pm_serving){
        .round = pm_query_get_int(query, 0),
        .place = pm_query_get_int(query, 1),
        .sample = (int)pm_query_get_int(query, 2),
        .code = (int)pm_query_get_int(query, 3),
    };
}

enum pm_status pm_panel_servings_list(struct pm_library *library, int64_t panel,
                                      struct pm_servings *out, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_SERVING_LIST);
    pm_query_int(&query, panel);
    return pm_query_list(&query, read_serving, out, err);
}

/* ---- closing and answers ---- */

static enum pm_status fail_closed(struct pm_error *err)
{
    return pm_fail(err, PM_REFUSED, "This blind test is closed.");
}

enum pm_status pm_panel_end(struct pm_library *library, int64_t id, int64_t closed_at,
                            struct pm_error *err)
{
    struct pm_panel_row row;
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    status = pm_panel_get(library, id, NULL, &row, err);
    if (status == PM_OK && row.closed_at != 0)
        status = fail_closed(err);
    if (status == PM_OK) {
        struct pm_query query;
        pm_query_open(&query, library, PM_SQL_PANEL_CLOSE);
        pm_query_int(&query, id);
        pm_query_int(&query, closed_at);
        status = pm_query_run(&query, err);
    }
    return pm_library_finish(library, status, err);
}

/* That the test is open and the round either new or corrected where it stands. */
static enum pm_status check_answer(struct pm_library *library, int64_t panel,
                                   const struct pm_panel_answer *answer, struct pm_error *err)
{
    struct pm_panel_row row;
    int64_t latest = 0;
    enum pm_status status = pm_panel_get(library, panel, NULL, &row, err);
    if (status != PM_OK)
        return status;
    if (row.closed_at != 0)
        return fail_closed(err);
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_ANSWER_LATEST);
    pm_query_int(&query, panel);
    pm_query_int(&query, answer->round);
    status = pm_query_one(&query, &latest, NULL, err);
    if (status == PM_OK && latest != answer->corrects) {
        status = pm_fail(err, PM_REFUSED,
                         latest == 0 ? "Round %lld has no answer that could be corrected."
                                     : "Round %lld was answered already.",
                         (long long)answer->round);
    }
    return status;
}

struct given { /* an answer to be added */
    int64_t panel;
    const struct pm_panel_answer *answer;
};

static void bind_answer(struct pm_query *query, const void *row)
{
    const struct given *given = row;
    pm_query_int(query, given->panel);
    pm_query_int(query, given->answer->round);
    pm_query_text(query, given->answer->answer);
    pm_query_text(query, given->answer->assessor);
    pm_query_int(query, given->answer->at);
    pm_query_key(query, given->answer->corrects);
}

enum pm_status pm_panel_answer_insert(struct pm_library *library, int64_t panel,
                                      const struct pm_panel_answer *answer, int64_t *id,
                                      struct pm_error *err)
{
    static const struct pm_addition addition = {PM_SQL_ANSWER_NEXT, PM_SQL_ANSWER_INSERT,
                                                bind_answer};
    int64_t made = 0;
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    status = check_answer(library, panel, answer, err);
    if (status == PM_OK)
        status = pm_store_insert(library, &addition, &(struct given){panel, answer}, &made, err);
    status = pm_library_finish(library, status, err);
    if (status == PM_OK)
        *id = made;
    return status;
}

static void read_answer(struct pm_query *query, struct pm_arena *arena, void *item)
{
    *(struct pm_panel_answer *)item = (struct pm_panel_answer){
        .id = pm_query_get_int(query, 0),
        .round = pm_query_get_int(query, 1),
        .answer = pm_query_get_kept(query, 2, arena),
        .assessor = pm_query_get_kept(query, 3, arena),
        .at = pm_query_get_int(query, 4),
        .corrects = pm_query_get_int(query, 5),
        .corrected = pm_query_get_int(query, 6) != 0,
    };
}

enum pm_status pm_panel_answer_list(struct pm_library *library, int64_t panel,
                                    struct pm_panel_answers *out, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_ANSWER_LIST);
    pm_query_int(&query, panel);
    return pm_query_list(&query, read_answer, out, err);
}
