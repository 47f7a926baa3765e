/* SPDX-License-Identifier: MIT */
/* The Bench as a room: what the application calls. */
#include "bench.h"

#include "kit/list.h"

#include "permille/base/mem.h"

#include <string.h>

#define TYPED_LIMIT 200

/* The formula changed last: what a person most likely goes on with. */
static enum pm_status open_newest(struct bench *bench, struct pm_error *err)
{
    struct pm_formulas entries;
    struct pm_sheet *sheet;
    enum pm_status status = pm_formulas_list(bench->house->studio, NULL, false, &entries, err);
    if (status != PM_OK)
        return status;
    if (entries.count > 0) {
        status = pm_sheet_open_draft(bench->house->studio, entries.items[0].id, &sheet, err);
        if (status == PM_OK)
            status = bench_show(bench, sheet, 0, err);
    }
    pm_list_release(&entries);
    return status;
}

static void bench_close(void *state)
{
    struct bench *bench = state;
    if (bench == NULL)
        return;
    pm_plan_free(bench->plan);
    pm_sheet_free(bench->sheet);
    bench_card_release(&bench->card);
    bench_stock_release(&bench->stock);
    bench_weigh_release(bench);
    bench_limits_release(bench);
    bench_profile_release(bench);
    pm_text_release(&bench->fresh.title);
    pm_text_release(&bench->fresh.solvent);
    bench_drydown_forget(bench);
    bench_past_release(bench);
    bench_cost_forget(bench);
    pm_text_release(&bench->smelled);
    pm_sheet_free(bench->before);
    bench_figures_release(&bench->figures);
    pm_field_release(&bench->field);
    pm_text_release(&bench->check);
    pm_text_release(&bench->saved);
    pm_free(bench->retyped);
    pm_free(bench->preview);
    pm_free(bench->marks);
    pm_free(bench);
}

static enum pm_status bench_open(struct pm_app *app, void **state, struct pm_error *err)
{
    struct bench *bench = pm_alloc_array(1, sizeof *bench);
    if (bench == NULL || !pm_field_init(&bench->field, TYPED_LIMIT)) {
        pm_free(bench);
        return pm_fail_memory(err);
    }
    bench->app = app;
    bench->house = pm_app_host(app);
    *state = bench;
    return PM_OK;
}

/* A half-typed number stays. */
static enum pm_status bench_read(void *state, const char **what, struct pm_error *err)
{
    struct bench *bench = state;
    const int64_t revision = bench->sheet != NULL ? bench->sheet->revision : 0;
    bench->limits.wish_of = 0;
    bench_profile_release(bench);
    bench_drydown_forget(bench);
    /* The newest formula once; one that cannot be read must not keep the others out of reach. */
    const bool first = !bench->begun;
    bench->begun = true;
    const enum pm_status status = first ? open_newest(bench, err) : bench_reload(bench, err);
    if (!first && status == PM_OK && bench->sheet != NULL && bench->sheet->revision != revision)
        *what = "this formula";
    return status;
}

static void bench_paint(void *state, const struct pm_canvas *canvas)
{
    bench_draw(state, canvas);
}

static unsigned bench_mode(const void *state)
{
    const struct bench *bench = state;
    return bench->typing ? PM_MODE_EDIT : PM_MODE_SHEET;
}

static unsigned move(struct bench *bench, int code)
{
    const struct pm_sheet *sheet = bench_sheet(bench);
    const size_t count = sheet != NULL ? sheet->trial.count : 0;
    if (!pm_list_moves(code))
        return PM_UNHANDLED;
    bench_select(bench, pm_list_move(bench->at, count, bench->list.page, code));
    return PM_REDRAW;
}

static unsigned bench_act(void *state, int code)
{
    struct bench *bench = state;
    if (bench->typing)
        return bench_edit_act(bench, code);
    if (code == PM_ACT_CANCEL)
        return bench_go_back(bench);
    return move(bench, code);
}

static unsigned bench_text(void *state, const char *text, bool pasted)
{
    return bench_edit_text(state, text, pasted);
}

enum { HINT_USUAL, HINT_TYPING, HINT_LOOKING, HINT_NOTHING, HINT_EMPTY, HINT_MARKED, HINT_OFF };

static const char *const hints[] = {
    [HINT_USUAL] = "edit tuck-in hold undo keep find-action",
    [HINT_TYPING] = "accept back down",
    [HINT_LOOKING] = "back branch flat revisions compare-parent",
    [HINT_NOTHING] = "new-formula formulas find-action quit",
    [HINT_EMPTY] = "tuck-in tuck-in-accord formulas undo find-action",
    [HINT_MARKED] = "core fold mark mark-all",
    [HINT_OFF] = "edit tuck-in settle keep undo find-action",
    NULL,
};

static size_t bench_hint(const void *state)
{
    const struct bench *bench = state;
    const struct pm_sheet *sheet = bench_sheet(bench);
    return bench->typing             ? HINT_TYPING
           : sheet == NULL           ? HINT_NOTHING
           : sheet->read_only        ? HINT_LOOKING
           : sheet->trial.count == 0 ? HINT_EMPTY
           : bench->mark_count > 0   ? HINT_MARKED
           : sheet->off != 0         ? HINT_OFF
                                     : HINT_USUAL;
}

static enum pm_role bench_remark(const void *state, bool details, struct pm_text *out)
{
    const struct bench *bench = state;
    if (bench->check.length > 0) {
        pm_text_add(out, pm_text_get(&bench->check));
        return bench->check_role;
    }
    if (!details)
        bench_describe(bench, out);
    return PM_ROLE_FAINT;
}

static const char *bench_unsaved(const void *state)
{
    const struct bench *bench = state;
    if (bench->typing && !bench->field.whole && bench->field.length > 0)
        return "A half-typed number";
    return bench_unwritten(bench) ? "A change that could not be written" : NULL;
}

static void bench_prepare(void *state, const struct pm_canvas *canvas)
{
    bench_cost_read(state, canvas->sheet.columns);
    bench_limits_read(state);
    bench_profile_read(state);
    bench_drydown_read(state);
}

const struct pm_room pm_room_bench = {
    .id = "bench",
    .name = "Bench",
    .keys = "B F2",
    .help = "Edit a formula: lines, parts, cores, accords.",
    .details = true,
    .open = bench_open,
    .read = bench_read,
    .prepare = bench_prepare,
    .draw = bench_paint,
    .mode = bench_mode,
    .actions = &bench_actions,
    .act = bench_act,
    .text = bench_text,
    .hints = hints,
    .hint = bench_hint,
    .remark = bench_remark,
    .unsaved = bench_unsaved,
    .close = bench_close,
};
