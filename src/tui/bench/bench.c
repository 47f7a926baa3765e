/* SPDX-License-Identifier: MIT */
/* The Bench: a formula as a sheet of lines, edited. What is open, what is selected, dispatch. */
#include "bench.h"

#include "kit/list.h"

#include "permille/base/mem.h"

#include <string.h>

#define TYPED_LIMIT 200

/* ---- selection and what is open ---- */

void bench_refresh(struct bench *bench)
{
    const struct pm_sheet *sheet = bench_sheet(bench);
    bench->previewing = bench->has_fresh = false;
    bench_limits_forget(bench);
    bench_profile_forget(bench);
    bench_drydown_refresh(bench);
    bench->cost.stale = bench->writing;
    pm_table_changed(&bench->list);
    bench->figures.count = 0;
    if (sheet == NULL)
        return;
    bench_forget_marks(bench, sheet);
    bench->figures.least = bench->house->settings.decimals;
    bench_figures_read(&bench->figures, sheet, bench->house);
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

/* The sheet against the shelf and the balance, and what it costs. */
static void stock_read(struct bench *bench)
{
    const bool look = pm_studio_look_begin(bench->house->studio, NULL) == PM_OK;
    bench_stock_read(bench);
    bench_weigh_read(bench);
    bench_cost_forget(bench);
    bench_cost_read(bench, bench->list.cells);
    if (look)
        pm_studio_look_end(bench->house->studio);
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
    stock_read(bench);
    bench_refresh(bench);
    return PM_OK;
}

void bench_past_release(struct bench *bench)
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
    bench_past_release(bench);
    if (bench->sheet == NULL || bench->sheet->read_only ||
        pm_history_list(bench->house->studio, bench->sheet->formula, 0, NULL, &entries, NULL) !=
            PM_OK)
        return;
    for (size_t i = 0; i < BENCH_PAST && i < entries.count; i++)
        bench->past[i] = pm_strdup(entries.items[entries.count - 1 - i].row.sentence);
    pm_list_release(&entries);
}

/* What was done and what was smelled, as one look into the file. */
static void story_read(struct bench *bench)
{
    if (pm_studio_look_begin(bench->house->studio, NULL) != PM_OK)
        return;
    past_read(bench);
    bench_smell_read(bench);
    bench_before_read(bench);
    pm_studio_look_end(bench->house->studio);
}

/* The other rooms show what belongs to the formula that is open, or to the trial that is shown. */
static void open_formula(struct bench *bench, int64_t formula, bool another)
{
    if (bench->house->formula == formula && !another)
        return;
    bench->house->formula = formula;
    pm_app_changed(bench->app, PM_ROOM_BENCH);
}

/* Another thing is shown: nothing of the one before stays selected, marked or half done. */
enum pm_status bench_show(struct bench *bench, struct pm_sheet *sheet, int64_t looked_at,
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
    open_formula(bench, sheet->formula, !same);
    status = bench_take_sheet(bench, sheet, err);
    story_read(bench);
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
    open_formula(bench, 0, false);
    stock_read(bench);
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
    story_read(bench);
    return status;
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
    status = bench_show(bench, sheet, looked_at, err);
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
