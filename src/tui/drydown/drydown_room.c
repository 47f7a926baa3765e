/* SPDX-License-Identifier: MIT */
/* The Drydown as a room: what the application calls. */
#include "drydown.h"

#include "kit/list.h"
#include "kit/overlay.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/studio/bench.h"
#include "permille/studio/trials.h"

#include <string.h>

static enum pm_status room_open(struct pm_app *app, void **state, struct pm_error *err)
{
    struct drydown *drydown = pm_alloc_array(1, sizeof *drydown);
    if (drydown == NULL)
        return pm_fail_memory(err);
    drydown->app = app;
    drydown->house = pm_app_host(app);
    *state = drydown;
    return PM_OK;
}

static void room_close(void *state)
{
    struct drydown *drydown = state;
    if (drydown == NULL)
        return;
    drydown_forget(drydown);
    series_release(drydown);
    pm_free(drydown);
}

static unsigned room_mode(const void *state)
{
    const struct drydown *drydown = state;
    return drydown->in_series ? MODE_SERIES : PM_MODE_SHEET;
}

static bool room_whole(const void *state)
{
    const struct drydown *drydown = state;
    return drydown->in_series;
}

static void room_draw(void *state, const struct pm_canvas *canvas)
{
    struct drydown *drydown = state;
    if (drydown->in_series)
        series_paint(drydown, canvas);
    else
        drydown_paint(drydown, canvas);
}

static unsigned room_act(void *state, int code)
{
    struct drydown *drydown = state;
    if (drydown->in_series)
        return series_act(drydown, code);
    if (code == PM_ACT_CANCEL && drydown->view != DRY_TABLE) {
        drydown->view = DRY_TABLE;
        return PM_REDRAW;
    }
    if (code == PM_ACT_CANCEL) {
        pm_app_go(drydown->app, PM_ROOM_BENCH);
        return PM_REDRAW;
    }
    const struct pm_table table = drydown_table(drydown);
    return pm_table_act(&table, &drydown->list, code, NULL) != 0 ? PM_REDRAW : PM_UNHANDLED;
}

static unsigned room_text(void *state, const char *text, bool pasted)
{
    struct drydown *drydown = state;
    if (pasted || !drydown->in_series || text[0] < '0' || text[0] > '9' || text[1] != '\0')
        return PM_UNHANDLED;
    return series_text(drydown, text);
}

enum { HINT_TABLE, HINT_LIST, HINT_ONE, HINT_NOTHING };

static const char *const hints[] = {
    [HINT_TABLE] = "drydown-view mark-material draw-beside drydown-trial about set-clock series",
    [HINT_LIST] = "open-series new-series back",
    [HINT_ONE] = "rate-trial weigh-series series-result back",
    [HINT_NOTHING] = "formulas new-formula find-action",
    NULL,
};

static size_t room_hint(const void *state)
{
    const struct drydown *drydown = state;
    if (drydown->in_series)
        return drydown->one ? HINT_ONE : HINT_LIST;
    return drydown->formula != 0 ? HINT_TABLE : HINT_NOTHING;
}

const struct pm_room pm_room_drydown = {
    .id = "drydown",
    .name = "Drydown",
    .keys = "E F8",
    .help = "What leaves first and what stays; dose ladders, leave-out series, designs of ratios.",
    .details = true,
    .whole = room_whole,
    .open = room_open,
    .read = drydown_read_again,
    .prepare = drydown_prepare,
    .draw = room_draw,
    .mode = room_mode,
    .mode_heading = "While series are shown",
    .actions = &drydown_actions,
    .act = room_act,
    .text = room_text,
    .hints = hints,
    .hint = room_hint,
    .remark = drydown_remark,
    .close = room_close,
};
