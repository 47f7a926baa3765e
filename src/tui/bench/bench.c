/* SPDX-License-Identifier: MIT */
/* The Bench: a formula as a sheet of lines, edited. What is open, what is selected, dispatch. */
#include "bench.h"

#include "kit/list.h"

#include "permille/base/mem.h"

#include <string.h>

#define TYPED_LIMIT 200

const struct pm_sheet *bench_sheet(const struct bench *bench)
{
    return bench->writing ? pm_plan_sheet(bench->plan) : bench->sheet;
}

const struct pm_sheet_line *bench_line(const struct bench *bench)
{
    const struct pm_sheet *sheet = bench_sheet(bench);
    return sheet != NULL && bench->at < sheet->trial.count ? &sheet->lines[bench->at] : NULL;
}

char *bench_parts_text(const struct bench *bench, pm_parts parts, char *buf)
{
    return pm_decimal_exact(parts, 6, bench->house->sign, buf);
}

/* ---- marks ---- */

static size_t mark_place(const struct bench *bench, int64_t line)
{
    size_t i = 0;
    while (i < bench->mark_count && bench->marks[i] != line)
        i++;
    return i;
}

bool bench_is_marked(const struct bench *bench, int64_t line)
{
    return mark_place(bench, line) < bench->mark_count;
}

void bench_unmark_all(struct bench *bench)
{
    bench->mark_count = 0;
}

static bool mark(struct bench *bench, int64_t line)
{
    void *marks = bench->marks;
    if (!pm_grow(&marks, &bench->mark_capacity, bench->mark_count + 1, sizeof *bench->marks)) {
        pm_app_warn(bench->app, "No memory is left to mark more lines.");
        return false;
    }
    bench->marks = marks;
    bench->marks[bench->mark_count++] = line;
    return true;
}

void bench_mark(void *state)
{
    struct bench *bench = state;
    const struct pm_sheet_line *line = bench_line(bench);
    if (line == NULL)
        return;
    size_t place = mark_place(bench, line->line->id);
    if (place < bench->mark_count)
        bench->marks[place] = bench->marks[--bench->mark_count];
    else
        mark(bench, line->line->id);
    bench_select(bench, bench->at + 1);
}

void bench_mark_all(void *state)
{
    struct bench *bench = state;
    const struct pm_sheet *sheet = bench_sheet(bench);
    bool none = bench->mark_count == 0;
    bench_unmark_all(bench);
    for (size_t i = 0; sheet != NULL && none && i < sheet->trial.count; i++)
        if (!mark(bench, sheet->trial.lines[i].id))
            break;
}

/* Lines that are gone are not marked any more. */
static void forget_marks(struct bench *bench, const struct pm_sheet *sheet)
{
    size_t kept = 0;
    for (size_t i = 0; i < bench->mark_count; i++)
        if (pm_trial_find(&sheet->trial, bench->marks[i]) >= 0)
            bench->marks[kept++] = bench->marks[i];
    bench->mark_count = kept;
}

/* ---- selection and what is open ---- */

void bench_select(struct bench *bench, size_t at)
{
    const struct pm_sheet *sheet = bench_sheet(bench);
    size_t count = sheet != NULL ? sheet->trial.count : 0;
    bench->at = count == 0 ? 0 : at < count ? at : count - 1;
    bench->line = count == 0 ? 0 : sheet->trial.lines[bench->at].id;
    bench_card_read(bench);
}

void bench_select_line(struct bench *bench, int64_t line)
{
    const struct pm_sheet *sheet = bench_sheet(bench);
    long place = sheet != NULL ? pm_trial_find(&sheet->trial, line) : -1;
    bench_select(bench, place >= 0 ? (size_t)place : bench->at);
}

void bench_refresh(struct bench *bench)
{
    const struct pm_sheet *sheet = bench_sheet(bench);
    bench->previewing = bench->has_fresh = false;
    bench_limits_forget(bench);
    bench_drydown_refresh(bench);
    bench->figures.count = 0;
    if (sheet == NULL)
        return;
    forget_marks(bench, sheet);
    bench_figures_read(&bench->figures, sheet, bench->house->sign);
    bench_weigh_masses(bench);
    bench_weigh_refresh(bench);
    bench->figures.sign_cells = bench_weighs(bench) ? 1 : 0;
    bench_stock_widen(bench);
    bench_weigh_widen(bench);
    const int64_t meant = bench->line;
    bench_select_line(bench, meant);
    /* A number half typed for a line that is gone must not pass to the next one. */
    if (bench->typing && bench->line != meant)
        bench_edit_stop(bench);
    else if (bench->typing)
        bench_edit_judge(bench);
}

enum pm_status bench_take_sheet(struct bench *bench, struct pm_sheet *sheet, struct pm_error *err)
{
    enum pm_status status = bench_figures_reserve(&bench->figures, sheet->trial.count, err);
    if (status != PM_OK) {
        pm_sheet_free(sheet);
        return status;
    }
    pm_sheet_free(bench->sheet);
    bench->sheet = sheet;
    bench_stock_read(bench);
    bench_weigh_read(bench);
    bench_refresh(bench);
    return PM_OK;
}

static void past_release(struct bench *bench)
{
    for (size_t i = 0; i < BENCH_PAST; i++) {
        pm_free(bench->past[i]);
        bench->past[i] = NULL;
    }
}

/* The draft's last revisions, for the details pane. Not having them is no reason to complain. */
static void past_read(struct bench *bench)
{
    struct pm_revision_entries entries;
    past_release(bench);
    if (bench->sheet == NULL || bench->sheet->read_only ||
        pm_history_list(bench->house->studio, bench->sheet->formula, 0, NULL, &entries, NULL) !=
            PM_OK)
        return;
    for (size_t i = 0; i < BENCH_PAST && i < entries.count; i++)
        bench->past[i] = pm_strdup(entries.items[entries.count - 1 - i].row.sentence);
    pm_list_release(&entries);
}

/* The other rooms show what belongs to the formula that is open. */
static void open_formula(struct bench *bench, int64_t formula)
{
    if (bench->house->formula == formula)
        return;
    bench->house->formula = formula;
    pm_app_changed(bench->app, PM_ROOM_BENCH);
}

/* Another thing is shown: nothing of the one before stays selected, marked or half done. */
static enum pm_status show(struct bench *bench, struct pm_sheet *sheet, int64_t looked_at,
                           struct pm_error *err)
{
    bool same = bench->sheet != NULL && bench->sheet->trial_id == sheet->trial_id &&
                bench->looked_at == looked_at;
    enum pm_status status = bench_figures_reserve(&bench->figures, sheet->trial.count, err);
    if (status != PM_OK) {
        pm_sheet_free(sheet);
        return status;
    }
    if (!same) {
        bench_edit_stop(bench);
        bench_unmark_all(bench);
        pm_plan_free(bench->plan);
        bench->plan = NULL;
        bench->at = bench->list.first = 0;
        bench->line = sheet->trial.count > 0 ? sheet->trial.lines[0].id : 0;
    }
    bench->looked_at = looked_at;
    open_formula(bench, sheet->formula);
    status = bench_take_sheet(bench, sheet, err);
    past_read(bench);
    return status;
}

static void close_sheet(struct bench *bench)
{
    bench_edit_stop(bench);
    bench_unmark_all(bench);
    pm_plan_free(bench->plan);
    bench->plan = NULL;
    pm_sheet_free(bench->sheet);
    bench->sheet = NULL;
    open_formula(bench, 0);
    bench_stock_read(bench);
    bench_weigh_read(bench);
    bench_card_release(&bench->card);
    bench_refresh(bench);
}

enum pm_status bench_reload(struct bench *bench, struct pm_error *err)
{
    struct pm_sheet *sheet;
    struct pm_studio *studio = bench->house->studio;
    enum pm_status status;
    bench_card_release(&bench->card); /* materials and bottles may have changed as well */
    if (bench->sheet == NULL)
        return PM_OK;
    if (bench->looked_at)
        status = pm_history_sheet(studio, bench->looked_at, &sheet, err);
    else if (bench->sheet->number > 0)
        status = pm_sheet_open(studio, bench->sheet->trial_id, &sheet, err);
    else
        status = pm_sheet_open_draft(studio, bench->sheet->formula, &sheet, err);
    if (status != PM_OK)
        return status;
    status = bench_take_sheet(bench, sheet, err);
    past_read(bench);
    return status;
}

bool bench_editable(void *state)
{
    struct bench *bench = state;
    char key[PM_KEY_TEXT];
    const struct pm_sheet *sheet = bench_sheet(bench);
    const struct pm_keymap *keys = pm_app_keymap(bench->app);
    if (sheet == NULL) {
        pm_app_say(bench->app, "No formula is open: %s begins a new one.",
                   pm_keymap_key(keys, "new-formula", PM_MODE_SHEET, key));
        return false;
    }
    if (pm_studio_read_only(bench->house->studio)) {
        pm_app_say(bench->app, "The library's file is read only: nothing can be changed in it.");
        return false;
    }
    if (bench_unwritten(bench)) {
        bench_ask_unwritten(bench);
        return false;
    }
    if (sheet->read_only) {
        pm_app_say(bench->app, "This is read only: %s branches from it, Esc shows the draft.",
                   pm_keymap_key(keys, "branch", PM_MODE_SHEET, key));
        return false;
    }
    return true;
}

/* ---- for other rooms ---- */

static struct bench *bench_of(struct pm_app *app, struct pm_error *err)
{
    struct bench *bench = pm_app_room_state(app, PM_ROOM_BENCH);
    if (bench == NULL)
        pm_fail(err, PM_NOMEM, "The Bench could not be opened.");
    return bench;
}

static enum pm_status show_in_front(struct pm_app *app, enum pm_status status,
                                    struct pm_sheet *sheet, int64_t looked_at, struct pm_error *err)
{
    struct bench *bench = bench_of(app, err);
    if (status != PM_OK)
        return status;
    if (bench == NULL) {
        pm_sheet_free(sheet);
        return PM_NOMEM;
    }
    if (bench_unwritten(bench)) {
        pm_sheet_free(sheet);
        return bench_refuse(bench, err);
    }
    status = show(bench, sheet, looked_at, err);
    if (status == PM_OK && pm_app_room(app) != PM_ROOM_BENCH)
        pm_app_go(app, PM_ROOM_BENCH);
    return status;
}

enum pm_status pm_bench_show_draft(struct pm_app *app, int64_t formula, struct pm_error *err)
{
    struct pm_house *house = pm_app_host(app);
    struct pm_sheet *sheet = NULL;
    if (formula == 0) {
        struct bench *bench = bench_of(app, err);
        if (bench == NULL)
            return PM_NOMEM;
        if (bench_unwritten(bench))
            return bench_refuse(bench, err);
        close_sheet(bench);
        return PM_OK;
    }
    enum pm_status status = pm_sheet_open_draft(house->studio, formula, &sheet, err);
    return show_in_front(app, status, sheet, 0, err);
}

enum pm_status pm_bench_show_trial(struct pm_app *app, int64_t trial, struct pm_error *err)
{
    struct pm_house *house = pm_app_host(app);
    struct pm_sheet *sheet = NULL;
    enum pm_status status = pm_sheet_open(house->studio, trial, &sheet, err);
    return show_in_front(app, status, sheet, 0, err);
}

enum pm_status pm_bench_show_revision(struct pm_app *app, const struct pm_revision_entry *revision,
                                      struct pm_error *err)
{
    struct pm_house *house = pm_app_host(app);
    struct pm_sheet *sheet = NULL;
    struct bench *bench = bench_of(app, err);
    int64_t id = revision->row.id, number = revision->row.number, time = revision->row.at;
    if (bench == NULL)
        return PM_NOMEM;
    enum pm_status status = pm_history_sheet(house->studio, id, &sheet, err);
    status = show_in_front(app, status, sheet, id, err);
    if (status == PM_OK) {
        bench->looked_number = number;
        bench->looked_time = time;
    }
    return status;
}

const struct pm_sheet *pm_bench_shown(struct pm_app *app)
{
    const struct bench *bench = pm_app_room_state(app, PM_ROOM_BENCH);
    return bench != NULL ? bench_sheet(bench) : NULL;
}

/* ---- the room ---- */

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
            status = show(bench, sheet, 0, err);
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
    pm_text_release(&bench->fresh.title);
    pm_text_release(&bench->fresh.solvent);
    bench_drydown_forget(bench);
    past_release(bench);
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

void bench_edit(void *state)
{
    struct bench *bench = state;
    char text[PM_AMOUNT_TEXT];
    if (bench_editable(bench) && bench_line(bench) != NULL)
        bench_edit_start(bench, bench_parts_text(bench, bench_line(bench)->line->parts, text),
                         true);
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

enum { HINT_USUAL, HINT_TYPING, HINT_LOOKING, HINT_NOTHING, HINT_EMPTY, HINT_MARKED };

static const char *const hints[] = {
    [HINT_USUAL] = "edit tuck-in hold undo keep find-action",
    [HINT_TYPING] = "accept back down",
    [HINT_LOOKING] = "draft branch flat revisions",
    [HINT_NOTHING] = "new-formula formulas find-action quit",
    [HINT_EMPTY] = "tuck-in tuck-in-accord formulas undo find-action",
    [HINT_MARKED] = "core fold mark mark-all",
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
                                     : HINT_USUAL;
}

static enum pm_role bench_remark(const void *state, struct pm_text *out)
{
    const struct bench *bench = state;
    if (bench->check.length > 0) {
        pm_text_add(out, pm_text_get(&bench->check));
        return bench->check_role;
    }
    if (!bench->details)
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
    (void)canvas;
    bench_limits_read(state);
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
