/* SPDX-License-Identifier: MIT */
/* The Scale room: batches, and pouring one. */
#include "scale_room.h"

#include "kit/list.h"

#include "permille/base/mem.h"
#include "permille/studio/stock.h"

#include <string.h>

/* ---- reading ---- */

const struct pm_batch *scale_batch(const struct scale_room *room)
{
    return room->list.row < room->batches.count ? &room->batches.items[room->list.row] : NULL;
}

const struct pm_batch_record_line *scale_line(const struct scale_room *room)
{
    return room->open != 0 && room->lines.row < room->record.count
               ? &room->record.items[room->lines.row]
               : NULL;
}

enum pm_status scale_open(struct scale_room *room, int64_t batch, struct pm_error *err)
{
    struct pm_batch_record record;
    enum pm_status status = pm_batch_show(room->house->studio, batch, &record, err);
    if (status != PM_OK)
        return status;
    const bool other = room->open != batch;
    pm_batch_record_release(&room->record);
    room->record = record;
    room->open = batch;
    if (other)
        room->lines.row = record.next < record.count ? record.next : 0;
    if (room->lines.row >= record.count)
        room->lines.row = 0;
    pm_table_changed(&room->lines);
    return PM_OK;
}

static enum pm_status read_again(void *state, const char **what, struct pm_error *err)
{
    struct scale_room *room = state;
    struct pm_batches batches;
    const struct pm_batch *batch = scale_batch(room);
    const int64_t selected = batch != NULL ? batch->id : 0;
    (void)what;
    enum pm_status status = pm_batches_list(room->house->studio, room->all, &batches, err);
    if (status == PM_OK && room->open != 0)
        status = scale_open(room, room->open, err);
    if (status != PM_OK)
        return status;
    pm_list_release(&room->batches);
    room->batches = batches;
    if (room->list.row >= batches.count)
        room->list.row = 0;
    for (size_t i = 0; i < batches.count; i++)
        if (batches.items[i].id == selected)
            room->list.row = i;
    pm_table_changed(&room->list);
    return PM_OK;
}

void scale_written(struct scale_room *room, bool onward)
{
    const char *what = NULL;
    struct pm_error err = {0};
    if (read_again(room, &what, &err) != PM_OK)
        pm_app_error(room->app, &err);
    pm_app_changed(room->app, PM_ROOM_SCALE);
    if (onward && room->open != 0 && room->record.over == 0 &&
        room->record.next < room->record.count)
        room->lines.row = room->record.next;
    room->stable = false;
    if (room->port != NULL)
        pm_balance_port_again(room->port);
}

enum pm_status pm_scale_show(struct pm_app *app, int64_t batch, struct pm_error *err)
{
    struct scale_room *room = pm_app_room_state(app, PM_ROOM_SCALE);
    if (room == NULL)
        return pm_fail_memory(err);
    room->open = 0;
    for (size_t i = 0; i < room->batches.count; i++)
        if (room->batches.items[i].id == batch)
            room->list.row = i;
    pm_app_go(app, PM_ROOM_SCALE);
    return PM_OK;
}

/* ---- a balance that sends ---- */

static int64_t wake(const void *state)
{
    const struct scale_room *room = state;
    return room->port != NULL ? room->listen_at : INT64_MAX;
}

static unsigned tick(void *state, int64_t now)
{
    struct scale_room *room = state;
    struct pm_error err = {0};
    if (room->port == NULL)
        return PM_HANDLED;
    room->listen_at = now + 1;
    const enum pm_status status =
        pm_balance_port_read(room->port, 0, &room->stable, &room->reading, &err);
    if (status == PM_OK)
        return PM_REDRAW;
    pm_app_error(room->app, &err);
    room->stable = false;
    if (status == PM_MISSING) {
        pm_balance_port_close(room->port);
        room->port = NULL;
    } else {
        pm_balance_port_again(room->port);
    }
    return PM_REDRAW;
}

/* ---- the room ---- */

static enum pm_status room_open(struct pm_app *app, void **state, struct pm_error *err)
{
    struct scale_room *room = pm_alloc_array(1, sizeof *room);
    if (room == NULL)
        return pm_fail_memory(err);
    room->app = app;
    room->house = pm_app_host(app);
    *state = room;
    return PM_OK;
}

static void room_close(void *state)
{
    struct scale_room *room = state;
    if (room == NULL)
        return;
    pm_balance_port_close(room->port);
    pm_list_release(&room->batches);
    pm_list_release(&room->balances);
    pm_batch_record_release(&room->record);
    pm_rescue_offers_release(&room->ways);
    pm_free(room);
}

static void draw(void *state, const struct pm_canvas *canvas)
{
    scale_paint(state, canvas);
}

static unsigned mode(const void *state)
{
    const struct scale_room *room = state;
    return room->open != 0 ? PM_MODE_ROOM : PM_MODE_SHEET;
}

static unsigned act(void *state, int code)
{
    struct scale_room *room = state;
    const struct pm_table table =
        room->open != 0 ? scale_lines_table(room) : scale_list_table(room);
    if (code == PM_ACT_CANCEL && room->open != 0)
        room->open = 0;
    else if (code == PM_ACT_CANCEL)
        pm_app_go(room->app, PM_ROOM_BENCH);
    else if (pm_list_moves(code))
        pm_table_act(&table, room->open != 0 ? &room->lines : &room->list, code, NULL);
    else
        return PM_UNHANDLED;
    return PM_REDRAW;
}

/* A number is what the display shows. */
static unsigned text(void *state, const char *typed, bool pasted)
{
    struct scale_room *room = state;
    if (room->open == 0 || (!pasted && (typed[0] < '0' || typed[0] > '9')) || !scale_pouring(room))
        return PM_UNHANDLED;
    scale_pour_typed(room, typed);
    return PM_REDRAW;
}

static const char *const hints[] = {
    "open-batch plan-batch weigh-sheet give-up-batch balances fill-batch all-batches",
    "pour ways-out correct-pour pause-batch finish-batch read-balance weigh-sheet", NULL};

static size_t hint(const void *state)
{
    const struct scale_room *room = state;
    return room->open != 0;
}

static enum pm_role remark(const void *state, struct pm_text *out)
{
    const struct scale_room *room = state;
    const struct pm_batch *batch = scale_batch(room);
    if (room->open != 0 && room->record.over > 0)
        pm_text_addf(out, "%zu too much; there are ways out.", room->record.over);
    else if (room->open != 0 && room->record.next == room->record.count)
        pm_text_add(out, "Everything is poured.");
    else if (room->open == 0 && batch != NULL && batch->note != NULL)
        pm_text_add(out, batch->note);
    else
        pm_text_add(out, "Gloves, eye protection, ventilation; the data sheets decide.");
    return room->open != 0 && room->record.over > 0 ? PM_ROLE_WARNING : PM_ROLE_FAINT;
}

const struct pm_room pm_room_scale = {
    .id = "scale",
    .name = "Scale",
    .keys = "W F6",
    .help = "Batches: what to weigh from which bottle, pouring, saving an over-pour, filling.",
    .mode_heading = "While pouring",
    .open = room_open,
    .read = read_again,
    .draw = draw,
    .mode = mode,
    .actions = &scale_actions,
    .act = act,
    .text = text,
    .hints = hints,
    .hint = hint,
    .remark = remark,
    .wake = wake,
    .tick = tick,
    .close = room_close,
};
