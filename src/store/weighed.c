/* SPDX-License-Identifier: MIT */
/* Rows of the scale. */
#include "permille/store/weighed.h"

#include "permille/base/mem.h"
#include "store.h"

/* ---- balances ---- */

static void bind_balance(struct pm_query *query, const struct pm_balance *balance)
{
    pm_query_int(query, balance->readability);
    pm_query_key(query, balance->repeatability);
    pm_query_key(query, balance->least);
    pm_query_key(query, balance->capacity);
}

static struct pm_balance read_balance(struct pm_query *query, int column)
{
    return (struct pm_balance){.readability = pm_query_get_int(query, column),
                               .repeatability = pm_query_get_int(query, column + 1),
                               .least = pm_query_get_int(query, column + 2),
                               .capacity = pm_query_get_int(query, column + 3)};
}

static enum pm_status check_name(struct pm_library *library, const struct pm_balance_row *row,
                                 struct pm_error *err)
{
    int64_t other = 0;
    enum pm_status status = pm_store_named(library, PM_SQL_BALANCE_NAMED, row->name, &other, err);
    if (status == PM_OK && other != 0 && other != row->id)
        status = pm_fail_at(err, "name", PM_EXISTS, "There is a balance called \"%s\" already.",
                            row->name);
    return status;
}

static void bind_balance_row(struct pm_query *query, const void *of)
{
    const struct pm_balance_row *row = of;
    pm_query_text(query, row->name);
    pm_query_folded(query, row->name);
    bind_balance(query, &row->is);
    pm_query_int(query, row->made_at);
}

static enum pm_status update_balance(struct pm_library *library, const struct pm_balance_row *row,
                                     struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_BALANCE_UPDATE);
    pm_query_int(&query, row->id);
    bind_balance_row(&query, row);
    return pm_query_run(&query, err);
}

enum pm_status pm_balance_put(struct pm_library *library, struct pm_balance_row *row,
                              struct pm_error *err)
{
    static const struct pm_addition addition = {PM_SQL_BALANCE_NEXT, PM_SQL_BALANCE_INSERT,
                                                bind_balance_row};
    struct pm_balance_row made = *row;
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    status = check_name(library, row, err);
    if (status == PM_OK && row->id != 0) {
        status = update_balance(library, row, err);
    } else if (status == PM_OK) {
        made.made_at = pm_library_now(library);
        status = pm_store_insert(library, &addition, &made, &made.id, err);
    }
    status = pm_library_finish(library, status, err);
    if (status == PM_OK)
        *row = made;
    return status;
}

enum pm_status pm_balance_delete(struct pm_library *library, int64_t id, struct pm_error *err)
{
    return pm_store_change(library, PM_SQL_BALANCE_DELETE, id, err);
}

enum pm_status pm_balance_list(struct pm_library *library, struct pm_balance_rows *out,
                               struct pm_error *err)
{
    struct pm_query query;
    struct pm_balance_rows list = {0};
    pm_query_open(&query, library, PM_SQL_BALANCE_LIST);
    while (pm_query_row(&query)) {
        struct pm_balance_row *row = pm_query_add(&query, &list);
        if (row != NULL)
            *row = (struct pm_balance_row){.id = pm_query_get_int(&query, 0),
                                           .name = pm_query_get_kept(&query, 1, &list.arena),
                                           .is = read_balance(&query, 2),
                                           .made_at = pm_query_get_int(&query, 6)};
    }
    const enum pm_status status = pm_query_close(&query, err);
    pm_list_give(&list, status, out);
    return status;
}

/* ---- plans ---- */

static enum pm_status insert_line(struct pm_library *library, int64_t plan, int64_t place,
                                  const struct pm_batch_line *line, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_BATCH_LINE_INSERT);
    pm_query_int(&query, plan);
    pm_query_int(&query, place);
    pm_query_int(&query, line->line);
    pm_query_int(&query, line->material);
    pm_query_key(&query, line->bottle);
    pm_query_int(&query, line->strength);
    pm_query_key(&query, line->solvent);
    pm_query_int(&query, line->target);
    return pm_query_run(&query, err);
}

static void bind_plan(struct pm_query *query, const void *row)
{
    const struct pm_batch_plan *plan = row;
    pm_query_int(query, plan->batch);
    pm_query_text(query, plan->balance_name);
    bind_balance(query, &plan->balance);
    pm_query_int(query, plan->tolerance);
    pm_query_int(query, plan->cumulative);
    pm_query_text(query, plan->way);
    pm_query_int(query, plan->at);
}

enum pm_status pm_batch_plan_insert(struct pm_library *library, struct pm_batch_plan *plan,
                                    const struct pm_batch_line *lines, size_t count,
                                    struct pm_error *err)
{
    static const struct pm_addition addition = {PM_SQL_BATCH_PLAN_NEXT, PM_SQL_BATCH_PLAN_INSERT,
                                                bind_plan};
    struct pm_batch_plan made = *plan;
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    made.at = pm_library_now(library);
    status = pm_store_insert(library, &addition, &made, &made.id, err);
    for (size_t i = 0; i < count && status == PM_OK; i++)
        status = insert_line(library, made.id, (int64_t)i + 1, &lines[i], err);
    status = pm_library_finish(library, status, err);
    if (status == PM_OK)
        *plan = made;
    return status;
}

enum pm_status pm_batch_plan_lines(struct pm_library *library, int64_t plan,
                                   struct pm_batch_lines *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_batch_lines list = {0};
    pm_query_open(&query, library, PM_SQL_BATCH_LINE_LIST);
    pm_query_int(&query, plan);
    while (pm_query_row(&query)) {
        struct pm_batch_line *line = pm_query_add(&query, &list);
        if (line != NULL)
            *line = (struct pm_batch_line){.place = pm_query_get_int(&query, 0),
                                           .line = pm_query_get_int(&query, 1),
                                           .material = pm_query_get_int(&query, 2),
                                           .bottle = pm_query_get_int(&query, 3),
                                           .strength = pm_query_get_int(&query, 4),
                                           .solvent = pm_query_get_int(&query, 5),
                                           .target = pm_query_get_int(&query, 6)};
    }
    const enum pm_status status = pm_query_close(&query, err);
    pm_list_give(&list, status, out);
    return status;
}

enum pm_status pm_batch_plan_get(struct pm_library *library, int64_t batch, struct pm_arena *arena,
                                 struct pm_batch_plan *plan, struct pm_batch_lines *lines,
                                 struct pm_error *err)
{
    struct pm_query query;
    struct pm_batch_plan row = {.batch = batch};
    pm_query_open(&query, library, PM_SQL_BATCH_PLAN_GET);
    pm_query_int(&query, batch);
    const bool found = pm_query_row(&query);
    if (found) {
        row.id = pm_query_get_int(&query, 0);
        row.balance_name = pm_query_get_kept(&query, 1, arena);
        row.balance = read_balance(&query, 2);
        row.tolerance = pm_query_get_int(&query, 6);
        row.cumulative = pm_query_get_int(&query, 7) != 0;
        row.way = pm_query_get_kept(&query, 8, arena);
        row.at = pm_query_get_int(&query, 9);
    }
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && !found)
        status = pm_fail(err, PM_MISSING, "Batch %lld was not started yet.", (long long)batch);
    if (status == PM_OK)
        status = pm_batch_plan_lines(library, row.id, lines, err);
    if (status == PM_OK)
        *plan = row;
    return status;
}

enum pm_status pm_batch_plan_list(struct pm_library *library, int64_t batch,
                                  struct pm_batch_plans *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_batch_plans list = {0};
    pm_query_open(&query, library, PM_SQL_BATCH_PLAN_LIST);
    pm_query_int(&query, batch);
    while (pm_query_row(&query)) {
        struct pm_batch_plan *row = pm_query_add(&query, &list);
        if (row != NULL)
            *row = (struct pm_batch_plan){.id = pm_query_get_int(&query, 0),
                                          .batch = batch,
                                          .way = pm_query_get_kept(&query, 1, &list.arena),
                                          .at = pm_query_get_int(&query, 2),
                                          .target = pm_query_get_int(&query, 3)};
    }
    const enum pm_status status = pm_query_close(&query, err);
    pm_list_give(&list, status, out);
    return status;
}

/* ---- pours ---- */

static void bind_pour(struct pm_query *query, const void *row)
{
    const struct pm_batch_pour *pour = row;
    pm_query_int(query, pour->batch);
    pm_query_int(query, pour->place);
    pm_query_key(query, pour->bottle);
    pm_query_int(query, pour->mass);
    pm_query_key(query, pour->movement);
    pm_query_key(query, pour->corrects);
    pm_query_text(query, pour->note);
    pm_query_int(query, pour->at);
}

enum pm_status pm_batch_pour_insert(struct pm_library *library, struct pm_batch_pour *pour,
                                    struct pm_error *err)
{
    static const struct pm_addition addition = {PM_SQL_BATCH_POUR_NEXT, PM_SQL_BATCH_POUR_INSERT,
                                                bind_pour};
    struct pm_batch_pour made = *pour;
    if (made.at == 0)
        made.at = pm_library_now(library);
    const enum pm_status status = pm_store_add(library, &addition, &made, &made.id, err);
    if (status == PM_OK)
        *pour = made;
    return status;
}

enum pm_status pm_batch_pour_list(struct pm_library *library, int64_t batch,
                                  struct pm_batch_pours *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_batch_pours list = {0};
    pm_query_open(&query, library, PM_SQL_BATCH_POUR_LIST);
    pm_query_int(&query, batch);
    while (pm_query_row(&query)) {
        struct pm_batch_pour *pour = pm_query_add(&query, &list);
        if (pour != NULL)
            *pour = (struct pm_batch_pour){.id = pm_query_get_int(&query, 0),
                                           .batch = batch,
                                           .place = pm_query_get_int(&query, 1),
                                           .bottle = pm_query_get_int(&query, 2),
                                           .mass = pm_query_get_int(&query, 3),
                                           .movement = pm_query_get_int(&query, 4),
                                           .corrects = pm_query_get_int(&query, 5),
                                           .note = pm_query_get_kept(&query, 6, &list.arena),
                                           .at = pm_query_get_int(&query, 7),
                                           .in_force = pm_query_get_int(&query, 8) != 0};
    }
    const enum pm_status status = pm_query_close(&query, err);
    pm_list_give(&list, status, out);
    return status;
}

enum pm_status pm_batch_event_list(struct pm_library *library, int64_t batch,
                                   struct pm_batch_events *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_batch_events list = {0};
    pm_query_open(&query, library, PM_SQL_BATCH_EVENT_LIST);
    pm_query_int(&query, batch);
    while (pm_query_row(&query)) {
        struct pm_batch_event *event = pm_query_add(&query, &list);
        if (event == NULL)
            continue;
        const char *kind = pm_query_get_text(&query, 1);
        *event = (struct pm_batch_event){.id = pm_query_get_int(&query, 0),
                                         .batch = batch,
                                         .at = pm_query_get_int(&query, 2),
                                         .text = pm_query_get_kept(&query, 3, &list.arena)};
        if (kind == NULL || !pm_batch_from_word(kind, &event->kind))
            pm_query_damaged(&query, "What happened to a batch");
    }
    const enum pm_status status = pm_query_close(&query, err);
    pm_list_give(&list, status, out);
    return status;
}

enum pm_status pm_batch_received(struct pm_library *library, int64_t batch, struct pm_movement *out,
                                 struct pm_error *err)
{
    struct pm_query query;
    struct pm_movement row = {.kind = PM_RECEIVED, .batch = batch};
    pm_query_open(&query, library, PM_SQL_BATCH_RECEIVED);
    pm_query_int(&query, batch);
    if (pm_query_row(&query)) {
        row.id = pm_query_get_int(&query, 0);
        row.bottle = pm_query_get_int(&query, 1);
        row.mass = pm_query_get_int(&query, 2);
        row.trial = pm_query_get_int(&query, 3);
    }
    const enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK)
        *out = row;
    return status;
}

/* ---- made-up accords ---- */

enum pm_status pm_made_up_get(struct pm_library *library, int64_t trial, int64_t *material,
                              struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_MADE_UP_GET);
    pm_query_int(&query, trial);
    return pm_query_one(&query, material, NULL, err);
}

enum pm_status pm_made_up_put(struct pm_library *library, int64_t trial, int64_t material,
                              struct pm_error *err)
{
    struct pm_query query;
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    pm_query_open(&query, library, PM_SQL_MADE_UP_PUT);
    pm_query_int(&query, trial);
    pm_query_int(&query, material);
    pm_query_int(&query, pm_library_now(library));
    return pm_library_finish(library, pm_query_run(&query, err), err);
}

/* ---- fillings ---- */

static void bind_filling(struct pm_query *query, const void *of)
{
    const struct pm_filling_row *row = of;
    pm_query_key(query, row->batch);
    pm_query_int(query, row->concentrate);
    pm_query_int(query, row->ethanol);
    pm_query_int(query, row->water);
    pm_query_int(query, row->other);
    pm_query_int(query, row->at_hand);
    pm_query_known(query, row->bottles);
    pm_query_day(query, row->filter_on);
    pm_query_day(query, row->ready_on);
    pm_query_text(query, row->note);
    pm_query_int(query, row->at);
}

enum pm_status pm_filling_insert(struct pm_library *library, struct pm_filling_row *row,
                                 struct pm_error *err)
{
    static const struct pm_addition addition = {PM_SQL_FILLING_NEXT, PM_SQL_FILLING_INSERT,
                                                bind_filling};
    struct pm_filling_row made = *row;
    made.at = pm_library_now(library);
    const enum pm_status status = pm_store_add(library, &addition, &made, &made.id, err);
    if (status == PM_OK)
        *row = made;
    return status;
}

enum pm_status pm_filling_list(struct pm_library *library, struct pm_filling_rows *out,
                               struct pm_error *err)
{
    struct pm_query query;
    struct pm_filling_rows list = {0};
    pm_query_open(&query, library, PM_SQL_FILLING_LIST);
    while (pm_query_row(&query)) {
        struct pm_filling_row *row = pm_query_add(&query, &list);
        if (row != NULL)
            *row = (struct pm_filling_row){.id = pm_query_get_int(&query, 0),
                                           .batch = pm_query_get_int(&query, 1),
                                           .concentrate = pm_query_get_int(&query, 2),
                                           .ethanol = pm_query_get_int(&query, 3),
                                           .water = pm_query_get_int(&query, 4),
                                           .other = pm_query_get_int(&query, 5),
                                           .at_hand = pm_query_get_int(&query, 6),
                                           .bottles = pm_query_get_known(&query, 7),
                                           .filter_on = pm_query_get_day(&query, 8),
                                           .ready_on = pm_query_get_day(&query, 9),
                                           .note = pm_query_get_kept(&query, 10, &list.arena),
                                           .at = pm_query_get_int(&query, 11)};
    }
    const enum pm_status status = pm_query_close(&query, err);
    pm_list_give(&list, status, out);
    return status;
}

static void bind_filling_event(struct pm_query *query, const void *row)
{
    const struct pm_filling_event *event = row;
    pm_query_int(query, event->filling);
    pm_query_text(query, pm_filling_event_word(event->kind));
    pm_query_day(query, event->kind >= PM_FILLING_FILTER_ON ? event->day : PM_NO_DAY);
    pm_query_text(query, event->note);
    pm_query_int(query, event->at);
}

enum pm_status pm_filling_event_insert(struct pm_library *library, struct pm_filling_event *event,
                                       struct pm_error *err)
{
    static const struct pm_addition addition = {PM_SQL_FILLING_EVENT_NEXT,
                                                PM_SQL_FILLING_EVENT_INSERT, bind_filling_event};
    struct pm_filling_event made = *event;
    made.at = pm_library_now(library);
    const enum pm_status status = pm_store_add(library, &addition, &made, &made.id, err);
    if (status == PM_OK)
        *event = made;
    return status;
}

static void read_filling_event(struct pm_query *query, struct pm_arena *arena, void *item)
{
    struct pm_filling_event *row = item;
    const char *word = pm_query_get_text(query, 2);
    *row = (struct pm_filling_event){.id = pm_query_get_int(query, 0),
                                     .filling = pm_query_get_int(query, 1),
                                     .day = pm_query_get_day(query, 3),
                                     .note = pm_query_get_kept(query, 4, arena),
                                     .at = pm_query_get_int(query, 5)};
    if (word == NULL || !pm_filling_event_from_word(word, &row->kind))
        pm_query_damaged(query, "What happened to a filling");
}

enum pm_status pm_filling_event_list(struct pm_library *library, struct pm_filling_events *out,
                                     struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_FILLING_EVENT_LIST);
    return pm_query_list(&query, read_filling_event, out, err);
}
