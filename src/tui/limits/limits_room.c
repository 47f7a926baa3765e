/* SPDX-License-Identifier: MIT */
/* The Limits room: how far the formula that is open is from limits for skin. */
#include "limits_room.h"

#include "kit/list.h"

#include "permille/base/mem.h"

#include <string.h>

/* ---- the room ---- */

static enum pm_status room_open(struct pm_app *app, void **state, struct pm_error *err)
{
    struct limits_room *room = pm_alloc_array(1, sizeof *room);
    if (room == NULL)
        return pm_fail_memory(err);
    room->app = app;
    room->house = pm_app_host(app);
    room->lines_of = SIZE_MAX;
    *state = room;
    return PM_OK;
}

static void room_close(void *state)
{
    struct limits_room *room = state;
    if (room == NULL)
        return;
    limits_forget(room);
    pm_limits_fit_release(&room->fit);
    pm_free(room->changed);
    pm_list_release(&room->sets);
    pm_free(room);
}

static void prepare(void *state, const struct pm_canvas *canvas)
{
    (void)canvas;
    limits_prepare_lines(state);
}

static void draw(void *state, const struct pm_canvas *canvas)
{
    struct limits_room *room = state;
    limits_paint(room, canvas);
}

static unsigned act(void *state, int code)
{
    struct limits_room *room = state;
    const struct pm_table table = limits_table(room);
    if (code == PM_ACT_CANCEL)
        pm_app_go(room->app, PM_ROOM_BENCH);
    else if (pm_list_moves(code))
        pm_table_act(&table, &room->list, code, NULL);
    else
        return PM_UNHANDLED;
    return PM_REDRAW;
}

static const char *const hints[] = {
    "limits-for about-limit label-draft fit-within own-limit rule-sets print-limits",
    "formulas new-formula rule-sets find-action", NULL};

static size_t hint(const void *state)
{
    const struct limits_room *room = state;
    return !room->judged;
}

/* Why the selected row is as it is; the details pane says it as well. */
static enum pm_role remark(const void *state, bool details, struct pm_text *out)
{
    const struct limits_room *room = state;
    const struct pm_limits_row *row = limits_selected(room);
    if (room->judged)
        pm_text_add(out, "Arithmetic, not approval: unknown is not safe.");
    if (row == NULL || details)
        return PM_ROLE_FAINT;
    if (row->why[0])
        pm_text_addf(out, "\n%s: %s", row->title, row->why);
    else
        pm_text_addf(out, "\n%s", row->source);
    return PM_ROLE_FAINT;
}

const struct pm_room pm_room_limits = {
    .id = "limits",
    .name = "Limits",
    .keys = "L F7",
    .help = "Skin limits from every source, what a label must name, the nearest formula within.",
    .details = true,
    .open = room_open,
    .read = limits_read_again,
    .prepare = prepare,
    .draw = draw,
    .actions = &limits_actions,
    .act = act,
    .hints = hints,
    .hint = hint,
    .remark = remark,
    .close = room_close,
};
