/* SPDX-License-Identifier: MIT */
/* The Scale room: batches, and pouring one. */
#include "scale_room.h"

#include "kit/list.h"

#include "permille/base/mem.h"
#include "permille/studio/stock.h"

#include <string.h>

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
    pm_list_release(&room->fillings);
    pm_batch_record_release(&room->record);
    pm_rescue_offers_release(&room->ways);
    pm_become_release(&room->become);
    pm_weighing_release(&room->weighing);
    pm_list_release(&room->bottles);
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

enum { HINT_LIST, HINT_NOTHING, HINT_POURING, HINT_POURED, HINT_OVER };

static const char *const hints[] = {
    [HINT_LIST] = "open-batch plan-batch weigh-sheet dilute-first give-up-batch balances "
                  "fill-batch fillings all-batches print-batch",
    [HINT_NOTHING] = "plan-batch all-batches balances fill-batch fillings find-action",
    [HINT_POURING] = "pour ways-out correct-pour pause-batch finish-batch pour-from become "
                     "read-balance weigh-sheet fill-batch print-batch",
    [HINT_POURED] = "finish-batch become weigh-sheet correct-pour pour pause-batch fill-batch "
                    "print-batch",
    [HINT_OVER] = "weigh-sheet correct-pour become fill-batch print-batch back",
    NULL};

static size_t hint(const void *state)
{
    const struct scale_room *room = state;
    if (room->open == 0)
        return scale_batch(room) != NULL ? HINT_LIST : HINT_NOTHING;
    return pm_batch_over(room->record.batch.state)  ? HINT_OVER
           : room->record.next < room->record.count ? HINT_POURING
                                                    : HINT_POURED;
}

static enum pm_role remark(const void *state, bool details, struct pm_text *out)
{
    (void)details;
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
    .read = scale_read_again,
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
