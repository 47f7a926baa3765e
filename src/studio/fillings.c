/* SPDX-License-Identifier: MIT */
/* What was filled, on record, and what reminds of it (studio/scale.h). */
#include "scale.h"

#include "permille/base/mem.h"
#include "permille/store/batches.h"

#include <stdlib.h>
#include <string.h>

enum pm_status pm_filling_note(struct pm_studio *studio, struct pm_filling_row *row,
                               struct pm_error *err)
{
    struct pm_filling_row made = *row;
    struct pm_batch batch;
    char *note = NULL;
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    if (row->batch != 0)
        status = pm_batch_get(studio->library, row->batch, NULL, &batch, err);
    if (status == PM_OK)
        status = pm_clean_text(row->note, "The note", PM_BATCH_NOTE_BYTES, &note, err);
    made.note = note;
    if (status == PM_OK)
        status = pm_filling_insert(studio->library, &made, err);
    status = pm_change_end(studio, status, err);
    pm_free(note);
    if (status == PM_OK)
        row->id = made.id;
    return status;
}

enum pm_status pm_filling_keep(struct pm_studio *studio, const struct pm_filling_wish *wish,
                               const struct pm_filling *made, int64_t batch, int64_t *id,
                               struct pm_error *err)
{
    struct pm_filling_row row = {.batch = batch,
                                 .concentrate = made->concentrate,
                                 .ethanol = made->ethanol,
                                 .water = made->water,
                                 .other = made->other,
                                 .at_hand = wish->at_hand,
                                 .bottles = made->bottles,
                                 .filter_on = wish->filter_on,
                                 .ready_on = wish->ready_on,
                                 .note = wish->note};
    enum pm_status status = pm_filling_note(studio, &row, err);
    if (status == PM_OK)
        *id = row.id;
    return status;
}

static struct pm_filling_row *row_of(const struct pm_filling_rows *rows, int64_t id)
{
    for (size_t i = 0; i < rows->count; i++)
        if (rows->items[i].id == id)
            return &rows->items[i];
    return NULL;
}

static enum pm_status apply_events(struct pm_studio *studio, struct pm_filling_rows *rows,
                                   struct pm_error *err)
{
    struct pm_filling_events events;
    enum pm_status status = pm_filling_event_list(studio->library, &events, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < events.count; i++) {
        struct pm_filling_row *row = row_of(rows, events.items[i].filling);
        if (row != NULL)
            pm_filling_apply(row, &events.items[i]);
    }
    pm_list_release(&events);
    return PM_OK;
}

static enum pm_status list_fillings(struct pm_studio *studio, struct pm_filling_rows *out,
                                    struct pm_error *err)
{
    enum pm_status status = pm_filling_list(studio->library, out, err);
    if (status == PM_OK)
        status = apply_events(studio, out, err);
    for (size_t i = 0; status == PM_OK && i < out->count; i++) {
        struct pm_batch batch;
        if (out->items[i].batch == 0)
            continue;
        status = pm_batch_get(studio->library, out->items[i].batch, NULL, &batch, err);
        if (status == PM_OK)
            status = pm_batch_title(studio, &batch, &out->arena, err);
        out->items[i].title = status == PM_OK ? batch.title : NULL;
    }
    return status;
}

enum pm_status pm_fillings(struct pm_studio *studio, struct pm_filling_rows *out,
                           struct pm_error *err)
{
    struct pm_filling_rows rows = {0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, list_fillings(studio, &rows, err));
    pm_list_give(&rows, status, out);
    return status;
}

/* ---- what is done ---- */

static enum pm_status may_happen(const struct pm_filling_row *row,
                                 const struct pm_filling_event *event, struct pm_error *err)
{
    char at[PM_TIME_TEXT];
    const bool filter = event->kind == PM_FILLING_FILTERED;
    const int64_t done = filter ? row->filtered_at : row->matured_at;
    if (event->kind >= PM_FILLING_FILTER_ON)
        return event->day != PM_NO_DAY ||
                       (event->kind == PM_FILLING_FILTER_ON ? row->filter_on : row->ready_on) !=
                           PM_NO_DAY
                   ? PM_OK
                   : pm_fail(err, PM_REFUSED, "No day is set for it.");
    if (done != 0)
        return pm_fail(err, PM_REFUSED, "Filling %lld has %s already, %s.", (long long)row->id,
                       filter ? "been filtered" : "matured", pm_time_format(done, at));
    return PM_OK;
}

static enum pm_status happen(struct pm_studio *studio, const struct pm_filling_event *event,
                             struct pm_error *err)
{
    struct pm_filling_event made = *event;
    struct pm_filling_rows rows;
    char *note = NULL;
    enum pm_status status = pm_filling_list(studio->library, &rows, err);
    if (status != PM_OK)
        return status;
    status = apply_events(studio, &rows, err);
    const struct pm_filling_row *row = row_of(&rows, event->filling);
    if (status == PM_OK && row == NULL)
        status =
            pm_fail(err, PM_MISSING, "There is no filling number %lld.", (long long)event->filling);
    if (status == PM_OK)
        status = may_happen(row, event, err);
    if (status == PM_OK)
        status = pm_clean_text(event->note, "The note", PM_BATCH_NOTE_BYTES, &note, err);
    made.note = note;
    if (status == PM_OK)
        status = pm_filling_event_insert(studio->library, &made, err);
    pm_free(note);
    pm_list_release(&rows);
    return status;
}

enum pm_status pm_filling_happen(struct pm_studio *studio, const struct pm_filling_event *event,
                                 struct pm_error *err)
{
    enum pm_status status = pm_change_begin(studio, err);
    return status == PM_OK ? pm_change_end(studio, happen(studio, event, err), err) : status;
}

/* ---- reminders ---- */

static int compare_reminders(const void *left, const void *right)
{
    const struct pm_reminder *a = left, *b = right;
    if (a->day != b->day)
        return a->day < b->day ? -1 : 1;
    return (a->filling > b->filling) - (a->filling < b->filling);
}

static bool add_reminder(struct pm_reminders *out, const struct pm_filling_row *row, bool filter,
                         pm_day today)
{
    char title[40];
    const pm_day day = filter ? row->filter_on : row->ready_on;
    if (day == PM_NO_DAY || (filter ? row->filtered_at : row->matured_at) != 0)
        return true;
    struct pm_reminder *item = pm_list_add(out);
    if (item == NULL)
        return false;
    pm_print(title, sizeof title, "filling %lld", (long long)row->id);
    *item = (struct pm_reminder){
        .filling = row->id,
        .filter = filter,
        .day = day,
        .late = today - day,
        .title = pm_arena_text(&out->arena, row->title != NULL ? row->title : title)};
    out->due += day <= today;
    return item->title != NULL;
}

enum pm_status pm_reminders(struct pm_studio *studio, bool due_only, struct pm_reminders *out,
                            struct pm_error *err)
{
    struct pm_reminders list = {0};
    struct pm_filling_rows rows;
    enum pm_status status = pm_fillings(studio, &rows, err);
    if (status != PM_OK)
        return status;
    const pm_day today = pm_studio_today(studio);
    for (size_t i = 0; i < rows.count && status == PM_OK; i++)
        if (!add_reminder(&list, &rows.items[i], true, today) ||
            !add_reminder(&list, &rows.items[i], false, today))
            status = pm_fail_memory(err);
    pm_list_release(&rows);
    if (status == PM_OK && list.count > 1)
        qsort(list.items, list.count, sizeof *list.items, compare_reminders);
    if (due_only)
        list.count = list.due;
    pm_list_give(&list, status, out);
    return status;
}

enum pm_status pm_reminder_due(struct pm_studio *studio, struct pm_due_note *out,
                               struct pm_error *err)
{
    struct pm_reminders list;
    char more[24] = "";
    enum pm_status status = pm_reminders(studio, false, &list, err);
    if (status != PM_OK)
        return status;
    *out = (struct pm_due_note){.now = list.due};
    if (list.due < list.count)
        out->next_at = pm_day_begin(list.items[list.due].day);
    if (list.due > 1)
        pm_print(more, sizeof more, " (+%zu)", list.due - 1);
    if (list.due > 0) {
        const char *what = list.items[0].filter ? "filter now" : "matured";
        pm_print(out->text, sizeof out->text, "%s: %.200s%s", what, list.items[0].title, more);
        pm_print(out->brief, sizeof out->brief, "%s%s", what, more);
    }
    pm_list_release(&list);
    return PM_OK;
}
