/* SPDX-License-Identifier: MIT */
/* The Trials room: the trials of the formula that is open, as a tree, and side by side. */
#include "trials.h"

#include "kit/list.h"

#include "permille/base/mem.h"

#include <stdio.h>
#include <string.h>

/* Trials side by side, shown in place of the tree. */
#define MODE_SIDE PM_MODE_ROOM

/* ---- reading ---- */

static void forget(struct trials *trials)
{
    pm_trial_entries_release(&trials->entries);
    pm_free(trials->told);
    pm_free(trials->name);
    trials->told = NULL;
    trials->name = NULL;
    trials->kept = 0;
}

static enum pm_status read_list(struct trials *trials, struct pm_error *err)
{
    unsigned want = PM_TRIALS_TREE | PM_TRIALS_DRAFT | (trials->aside_too ? 0 : PM_TRIALS_IN_SIGHT);
    enum pm_status status = pm_house_name(trials->house, &trials->name, err);
    if (status == PM_OK)
        status =
            pm_trials_list(trials->house->studio, trials->formula, want, &trials->entries, err);
    if (status != PM_OK)
        return status;
    trials->told = pm_alloc_array(trials->entries.count + 1, sizeof *trials->told);
    return trials->told ? PM_OK : pm_fail_memory(err);
}

/* On the trial that was selected, else, or when one has been kept since, on the newest: what one
 * mostly comes for. */
static void select_again(struct trials *trials, int64_t selected)
{
    int64_t newest = 0;
    bool found = false;
    for (size_t i = 0; i < trials->entries.count; i++) {
        const struct pm_trial_entry *entry = &trials->entries.items[i];
        trials->kept += entry->number > 0;
        if (entry->id == selected) {
            trials->at = i;
            found = true;
        } else if (!found && entry->number >= newest) {
            newest = entry->number;
            trials->at = i;
        }
    }
    if (trials->at >= trials->entries.count)
        trials->at = 0;
}

static int64_t newest_of(const struct trials *trials)
{
    int64_t newest = 0;
    for (size_t i = 0; i < trials->entries.count; i++)
        if (trials->entries.items[i].number > newest)
            newest = trials->entries.items[i].number;
    return newest;
}

void trials_read(struct trials *trials)
{
    struct pm_error err = {0};
    const struct pm_trial_entry *entry = trials_selected(trials);
    int64_t selected = entry ? entry->id : 0;
    int64_t newest = newest_of(trials);
    if (trials->formula != trials->house->formula)
        selected = 0;
    forget(trials);
    trials->formula = trials->house->formula;
    trials->version = trials->house->version;
    if (trials->formula != 0 && read_list(trials, &err) != PM_OK) {
        forget(trials);
        pm_app_error(trials->app, &err);
    }
    select_again(trials, newest_of(trials) > newest ? 0 : selected);
    if (trials->beside && trials_side_read(trials, &err) != PM_OK) {
        trials_side_close(trials);
        pm_app_error(trials->app, &err);
    }
}

static void catch_up(struct trials *trials)
{
    pm_house_look(trials->house);
    if (trials->version != trials->house->version || trials->formula != trials->house->formula)
        trials_read(trials);
}

const char *trials_changed(struct trials *trials, size_t place)
{
    struct pm_trial_entry *entry = &trials->entries.items[place];
    if (!trials->told[place] &&
        pm_trial_changed(trials->house->studio, entry->id, &entry->changed, NULL) != PM_OK)
        entry->changed = NULL;
    trials->told[place] = true;
    return entry->changed;
}

/* The remark tells it before the rows are painted. */
static void tell_selected(struct trials *trials)
{
    if (trials_selected(trials))
        trials_changed(trials, trials->at);
}

void trials_title(const struct trials *trials, const struct pm_trial_entry *entry,
                  struct pm_text *out)
{
    pm_text_add(out, trials->name);
    if (entry->number > 0)
        pm_text_addf(out, "/%lld", (long long)entry->number);
}

const struct pm_trial_entry *trials_selected(const struct trials *trials)
{
    return trials->at < trials->entries.count ? &trials->entries.items[trials->at] : NULL;
}

/* ---- marks ---- */

size_t trials_marked(const struct trials *trials, int64_t trial)
{
    for (size_t i = 0; i < trials->pick_count; i++)
        if (trials->picks[i].id == trial)
            return i + 1;
    return 0;
}

static void unmark(struct trials *trials, size_t place)
{
    pm_free(trials->picks[place].title);
    trials->pick_count--;
    memmove(&trials->picks[place], &trials->picks[place + 1],
            (trials->pick_count - place) * sizeof *trials->picks);
}

void trials_mark(struct trials *trials, int64_t trial, const char *title)
{
    size_t marked = trials_marked(trials, trial);
    if (marked) {
        unmark(trials, marked - 1);
        return;
    }
    if (trials->pick_count == PM_COMPARE_MAX) {
        pm_app_say(trials->app, "Up to %d trials can stand side by side; unmark one first.",
                   PM_COMPARE_MAX);
        return;
    }
    char *copy = pm_strdup(title);
    if (!copy) {
        pm_app_warn(trials->app, "Out of memory.");
        return;
    }
    trials->picks[trials->pick_count++] = (struct trials_pick){trial, copy};
}

static void mark_selected(struct trials *trials)
{
    const struct pm_trial_entry *entry = trials_selected(trials);
    struct pm_text title = PM_TEXT_EMPTY;
    if (!entry)
        return;
    trials_title(trials, entry, &title);
    trials_mark(trials, entry->id, pm_text_get(&title));
    pm_text_release(&title);
}

static void unmark_all(struct trials *trials)
{
    while (trials->pick_count > 0)
        unmark(trials, trials->pick_count - 1);
}

/* ---- the room ---- */

static enum pm_status trials_open(struct pm_app *app, void **state, struct pm_error *err)
{
    struct trials *trials = pm_alloc_array(1, sizeof *trials);
    if (!trials)
        return pm_fail_memory(err);
    trials->app = app;
    trials->house = pm_app_host(app);
    trials->version = -1;
    side_init(&trials->side);
    *state = trials;
    return PM_OK;
}

static void trials_close(void *state)
{
    struct trials *trials = state;
    if (!trials)
        return;
    forget(trials);
    unmark_all(trials);
    side_release(&trials->side);
    pm_free(trials->copied);
    pm_free(trials);
}

/* The Bench does not say when it changes the draft, which stands in the tree. */
static void trials_enter(void *state)
{
    struct trials *trials = state;
    pm_house_look(trials->house);
    trials_read(trials);
    tell_selected(trials);
}

const char *pm_trials_copied(struct pm_app *app)
{
    const struct trials *trials = pm_app_room_state(app, PM_ROOM_TRIALS);
    return trials ? trials->copied : NULL;
}

static unsigned trials_mode(const void *state)
{
    const struct trials *trials = state;
    return trials->beside ? MODE_SIDE : PM_MODE_SHEET;
}

static bool trials_whole(const void *state)
{
    const struct trials *trials = state;
    return trials->beside;
}

static void trials_draw(void *state, const struct pm_canvas *canvas)
{
    struct trials *trials = state;
    trials->details = canvas->details.columns > 0;
    if (!trials->beside) {
        trials_paint(trials, canvas);
        return;
    }
    pm_pane_putf(&canvas->heading, 0, 0, PM_ROLE_HEADING, "%zu side by side",
                 trials->compared_count);
    side_draw(&trials->side, &canvas->sheet, trials->house->sign);
}

/* ---- keys ---- */

static void go_on(struct trials *trials, int code)
{
    struct pm_error err = {0};
    const struct pm_trial_entry *entry = trials_selected(trials);
    enum pm_status status = PM_OK;
    if (!entry)
        pm_app_say(trials->app, "No trial is kept yet.");
    else if (code == PM_ACT_BRANCH && entry->number == 0)
        pm_app_say(trials->app, "That is the draft already; a kept trial can be branched from.");
    else if (code == PM_ACT_BRANCH)
        status = pm_bench_branch(trials->app, entry->id, &err);
    else
        status = pm_bench_show_trial(trials->app, entry->id, &err);
    if (status != PM_OK)
        pm_app_error(trials->app, &err);
}

/* Esc: first the marks, then back to the Bench. */
static void leave(struct trials *trials)
{
    if (trials->pick_count > 0)
        unmark_all(trials);
    else
        pm_app_go(trials->app, PM_ROOM_BENCH);
}

static unsigned act_on_list(struct trials *trials, int code)
{
    if (pm_list_moves(code)) {
        trials->at = pm_list_move(trials->at, trials->entries.count, trials->page, code);
        return PM_REDRAW;
    }
    switch (code) {
    case PM_ACT_LOOK:
    case PM_ACT_BRANCH:
        go_on(trials, code);
        return PM_REDRAW;
    case PM_ACT_MARK_TRIAL:
        mark_selected(trials);
        return PM_REDRAW;
    case PM_ACT_REVISIONS:
        pm_bench_revisions(trials->app,
                           trials_selected(trials) ? trials_selected(trials)->number : -1);
        return PM_REDRAW;
    case PM_ACT_FORMULAS:
        pm_formulas_open(trials->app);
        return PM_REDRAW;
    case PM_ACT_NEW_FORMULA:
        pm_formulas_new(trials->app, NULL);
        return PM_REDRAW;
    case PM_ACT_THIS_FORMULA:
        pm_formulas_this(trials->app);
        return PM_REDRAW;
    case PM_ACT_CANCEL:
        leave(trials);
        return PM_REDRAW;
    default:
        return trials_act_mark(trials, code);
    }
}

static unsigned trials_act(void *state, const struct pm_action *action)
{
    struct trials *trials = state;
    unsigned answer = PM_REDRAW;
    catch_up(trials);
    if (action->code == PM_ACT_KEEP)
        pm_bench_keep(trials->app);
    else
        answer = trials_act_side(trials, action->code);
    if (answer == PM_UNHANDLED && !trials->beside)
        answer = act_on_list(trials, action->code);
    catch_up(trials);
    tell_selected(trials);
    return answer;
}

static size_t trials_hints(const void *state, int codes[PM_HINTS])
{
    static const int one[] = {PM_ACT_LOOK,      PM_ACT_MARK_TRIAL, PM_ACT_SIDE,
                              PM_ACT_REVISIONS, PM_ACT_BRANCH,     PM_ACT_LABEL};
    static const int side[] = {PM_ACT_SIDE_BY,   PM_ACT_SIDE_ONLY,  PM_ACT_SIDE_SORT,
                               PM_ACT_SIDE_COPY, PM_ACT_SIDE_FIRST, PM_ACT_CANCEL};
    const struct trials *trials = state;
    memcpy(codes, trials->beside ? side : one, sizeof one);
    return PM_HINTS;
}

/* The whole of what the row has room to begin with; the details pane shows it as well. */
static enum pm_role trials_remark(const void *state, struct pm_text *out)
{
    const struct trials *trials = state;
    const struct pm_trial_entry *entry = trials_selected(trials);
    if (trials->beside) {
        side_describe(&trials->side, trials->house->sign, out);
        return PM_ROLE_FAINT;
    }
    if (!entry || trials->details)
        return PM_ROLE_FAINT;
    if (entry->note)
        pm_text_add(out, entry->note);
    if (entry->changed)
        pm_text_addf(out, "%s%s", out->length > 0 ? DOT : "", entry->changed);
    return PM_ROLE_FAINT;
}

const struct pm_room pm_room_trials = {
    .id = "trials",
    .name = "Trials",
    .keys = "T F3",
    .help = "The trials of the formula as a tree: look, branch, label, compare side by side.",
    .details = true,
    .whole = trials_whole,
    .open = trials_open,
    .enter = trials_enter,
    .draw = trials_draw,
    .mode = trials_mode,
    .mode_heading = "While trials stand side by side",
    .act = trials_act,
    .hints = trials_hints,
    .remark = trials_remark,
    .close = trials_close,
};
