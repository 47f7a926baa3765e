/* SPDX-License-Identifier: MIT */
/* Rows of batches and of what happened to them. */
#include "permille/store/batches.h"
#include "store.h"

enum pm_status pm_batch_insert(struct pm_library *library, struct pm_batch *batch,
                               struct pm_error *err)
{
    int64_t next = 0;
    const int64_t now = pm_library_now(library);
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    status = pm_store_next_id(library, PM_SQL_BATCH_NEXT, &next, err);
    if (status == PM_OK) {
        struct pm_query query;
        pm_query_open(&query, library, PM_SQL_BATCH_INSERT);
        pm_query_int(&query, next);
        pm_query_int(&query, batch->trial);
        pm_query_int(&query, batch->mass);
        pm_query_day(&query, batch->day);
        pm_query_text(&query, batch->note);
        pm_query_text(&query, batch->made_by);
        pm_query_int(&query, now);
        status = pm_query_run(&query, err);
    }
    status = pm_library_finish(library, status, err);
    if (status == PM_OK) {
        batch->id = next;
        batch->made_at = now;
    }
    return status;
}

/* False when its state is no word of ours. */
static bool read_batch(struct pm_query *query, struct pm_arena *arena, struct pm_batch *out)
{
    *out = (struct pm_batch){
        .id = pm_query_get_int(query, 0),
        .trial = pm_query_get_int(query, 1),
        .mass = pm_query_get_int(query, 2),
        .day = pm_query_get_day(query, 3),
        .note = pm_query_get_kept(query, 4, arena),
        .made_by = pm_query_get_kept(query, 5, arena),
        .made_at = pm_query_get_int(query, 6),
    };
    const char *state = pm_query_get_text(query, 7);
    return state != NULL && pm_batch_from_word(state, &out->state);
}

static enum pm_status damaged(int64_t id, struct pm_error *err)
{
    return pm_fail(err, PM_DAMAGED, "Batch number %lld is damaged in the file.", (long long)id);
}

static enum pm_status missing(int64_t id, struct pm_error *err)
{
    return pm_fail(err, PM_MISSING, "There is no planned batch number %lld.", (long long)id);
}

enum pm_status pm_batch_get(struct pm_library *library, int64_t id, struct pm_arena *arena,
                            struct pm_batch *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_batch batch = {0};
    pm_query_open(&query, library, PM_SQL_BATCH_GET);
    pm_query_int(&query, id);
    const bool found = pm_query_row(&query);
    const bool sound = !found || read_batch(&query, arena, &batch);
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && !found)
        status = missing(id, err);
    if (status == PM_OK && !sound)
        status = damaged(id, err);
    if (status == PM_OK)
        *out = batch;
    return status;
}

enum pm_status pm_batch_list(struct pm_library *library, bool over_too, struct pm_batches *out,
                             struct pm_error *err)
{
    struct pm_query query;
    struct pm_batches list = {0};
    int64_t bad = 0;
    pm_query_open(&query, library, PM_SQL_BATCH_LIST);
    pm_query_int(&query, over_too);
    while (bad == 0 && pm_query_row(&query)) {
        struct pm_batch *batch = pm_query_added(&query, pm_list_add(&list));
        if (batch != NULL && !read_batch(&query, &list.arena, batch))
            bad = batch->id;
    }
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && bad != 0)
        status = damaged(bad, err);
    if (status != PM_OK)
        pm_list_release(&list);
    else
        *out = list;
    return status;
}

/* ---- what happened ---- */

enum pm_status pm_batch_event_insert(struct pm_library *library, const struct pm_batch_event *event,
                                     int64_t *id, struct pm_error *err)
{
    int64_t next = 0;
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    status = pm_store_next_id(library, PM_SQL_BATCH_EVENT_NEXT, &next, err);
    if (status == PM_OK) {
        struct pm_query query;
        pm_query_open(&query, library, PM_SQL_BATCH_EVENT_INSERT);
        pm_query_int(&query, next);
        pm_query_int(&query, event->batch);
        pm_query_text(&query, pm_batch_word(event->kind));
        pm_query_int(&query, event->at);
        pm_query_text(&query, event->text);
        status = pm_query_run(&query, err);
    }
    status = pm_library_finish(library, status, err);
    if (status == PM_OK && id != NULL)
        *id = next;
    return status;
}

enum pm_status pm_batch_event_get(struct pm_library *library, int64_t id,
                                  struct pm_batch_event *out, enum pm_batch_state *before,
                                  struct pm_error *err)
{
    struct pm_query query;
    struct pm_batch_event event = {.id = id};
    enum pm_batch_state stood = PM_BATCH_GIVEN_UP;
    pm_query_open(&query, library, PM_SQL_BATCH_EVENT_GET);
    pm_query_int(&query, id);
    bool sound = pm_query_row(&query);
    if (sound) {
        const char *kind = pm_query_get_text(&query, 1), *earlier = pm_query_get_text(&query, 4);
        event.batch = pm_query_get_int(&query, 0);
        event.at = pm_query_get_int(&query, 2);
        sound = kind != NULL && pm_batch_from_word(kind, &event.kind) &&
                (earlier == NULL || pm_batch_from_word(earlier, &stood));
    }
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && !sound)
        status = pm_fail(err, PM_DAMAGED, "What happened to a batch is damaged in the file.");
    if (status == PM_OK) {
        *out = event;
        *before = stood;
    }
    return status;
}
