/* SPDX-License-Identifier: MIT */
/* Rows of batches and of what happened to them. */
#include "permille/store/batches.h"
#include "store.h"

static void bind_batch(struct pm_query *query, const void *row)
{
    const struct pm_batch *batch = row;
    pm_query_int(query, batch->trial);
    pm_query_int(query, batch->mass);
    pm_query_day(query, batch->day);
    pm_query_text(query, batch->note);
    pm_query_text(query, batch->made_by);
    pm_query_int(query, batch->made_at);
}

enum pm_status pm_batch_insert(struct pm_library *library, struct pm_batch *batch,
                               struct pm_error *err)
{
    static const struct pm_addition addition = {PM_SQL_BATCH_NEXT, PM_SQL_BATCH_INSERT, bind_batch};
    struct pm_batch made = *batch;
    made.made_at = pm_library_now(library);
    const enum pm_status status = pm_store_add(library, &addition, &made, &made.id, err);
    if (status == PM_OK)
        *batch = made;
    return status;
}

static void read_batch(struct pm_query *query, struct pm_arena *arena, void *item)
{
    struct pm_batch *out = item;
    const char *state = pm_query_get_text(query, 7);
    *out = (struct pm_batch){
        .id = pm_query_get_int(query, 0),
        .trial = pm_query_get_int(query, 1),
        .mass = pm_query_get_int(query, 2),
        .day = pm_query_get_day(query, 3),
        .note = pm_query_get_kept(query, 4, arena),
        .made_by = pm_query_get_kept(query, 5, arena),
        .made_at = pm_query_get_int(query, 6),
    };
    if (state == NULL || !pm_batch_from_word(state, &out->state))
        pm_query_damaged(query, "Batch number %lld", (long long)out->id);
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
    if (found)
        read_batch(&query, arena, &batch);
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && !found)
        status = missing(id, err);
    if (status == PM_OK)
        *out = batch;
    return status;
}

enum pm_status pm_batch_list(struct pm_library *library, bool over_too, struct pm_batches *out,
                             struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_BATCH_LIST);
    pm_query_int(&query, over_too);
    return pm_query_list(&query, read_batch, out, err);
}

/* ---- what happened ---- */

static void bind_event(struct pm_query *query, const void *row)
{
    const struct pm_batch_event *event = row;
    pm_query_int(query, event->batch);
    pm_query_text(query, pm_batch_word(event->kind));
    pm_query_int(query, event->at);
    pm_query_text(query, event->text);
}

enum pm_status pm_batch_event_insert(struct pm_library *library, const struct pm_batch_event *event,
                                     int64_t *id, struct pm_error *err)
{
    static const struct pm_addition addition = {PM_SQL_BATCH_EVENT_NEXT, PM_SQL_BATCH_EVENT_INSERT,
                                                bind_event};
    return pm_store_add(library, &addition, event, id, err);
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
