/* SPDX-License-Identifier: MIT */
/* The Trials room: the trials of the formula that is open, as a tree, and side by side. */
#include "trials.h"

#include "kit/list.h"

#include "permille/base/mem.h"

#include <stdio.h>
#include <string.h>

/* ---- reading ---- */

static void forget(struct trials *trials)
{
    pm_list_release(&trials->entries);
    pm_free(trials->told);
    pm_free(trials->name);
    trials->entries = (struct pm_trial_entries){0};
    trials->told = NULL;
    trials->name = NULL;
}

/* Reads name and list of the formula that is open into `out`. */
static enum pm_status read_list(const struct trials *trials, struct trials *out,
                                struct pm_error *err)
{
    const struct pm_house *house = trials->house;
    unsigned want = PM_TRIALS_TREE | PM_TRIALS_DRAFT | (trials->aside_too ? 0 : PM_TRIALS_IN_SIGHT);
    out->formula = house->formula;
    if (house->formula == 0)
        return PM_OK;
    enum pm_status status = pm_house_name(house, &out->name, err);
    if (status == PM_OK)
        status = pm_trials_list(house->studio, house->formula, want, &out->entries, err);
    if (status != PM_OK)
        return status;
    out->told = pm_alloc_array(out->entries.count + 1, sizeof *out->told);
    return out->told != NULL ? PM_OK : pm_fail_memory(err);
}

/* On the trial that was selected, else, or when one has been kept since, on the newest: what one
 * mostly comes for. */
static void select_again(struct trials *trials, int64_t selected)
{
    int64_t newest = 0;
    bool found = false;
    trials->kept = 0;
    pm_table_changed(&trials->list);
    for (size_t i = 0; i < trials->entries.count; i++) {
        const struct pm_trial_entry *entry = &trials->entries.items[i];
        trials->kept += entry->row.number > 0;
        if (entry->row.id == selected) {
            trials->list.row = i;
            found = true;
        } else if (!found && entry->row.number >= newest) {
            newest = entry->row.number;
            trials->list.row = i;
        }
    }
    if (trials->list.row >= trials->entries.count)
        trials->list.row = 0;
}

static int64_t newest_of(const struct trials *trials)
{
    int64_t newest = 0;
    for (size_t i = 0; i < trials->entries.count; i++)
        if (trials->entries.items[i].row.number > newest)
            newest = trials->entries.items[i].row.number;
    return newest;
}

static void take_list(struct trials *trials, const struct trials *read)
{
    const struct pm_trial_entry *entry = trials_selected(trials);
    const int64_t selected = entry != NULL ? entry->row.id : 0, newest = newest_of(trials);
    const bool same = trials->formula == read->formula;
    forget(trials);
    trials->formula = read->formula;
    trials->name = read->name;
    trials->entries = read->entries;
    trials->told = read->told;
    select_again(trials, same && newest_of(trials) <= newest ? selected : 0);
}

static enum pm_status read_all(struct trials *trials, struct pm_error *err)
{
    struct trials read = {0};
    enum pm_status status = read_list(trials, &read, err);
    if (status != PM_OK) {
        forget(&read);
        return status;
    }
    take_list(trials, &read);
    status = trials->beside ? trials_side_read(trials, err) : PM_OK;
    if (status != PM_OK)
        trials_side_close(trials);
    return status;
}

void trials_read(struct trials *trials)
{
    struct pm_error err = {0};
    if (read_all(trials, &err) != PM_OK)
        pm_app_error(trials->app, &err);
}

static enum pm_status trials_read_again(void *state, const char **what, struct pm_error *err)
{
    struct trials *trials = state;
    const struct pm_trial_entry *entry = trials_selected(trials);
    const int64_t selected = entry != NULL ? entry->row.id : 0, formula = trials->formula;
    const enum pm_status status = read_all(trials, err);
    entry = trials_selected(trials);
    if (status == PM_OK && formula == trials->formula &&
        selected != (entry != NULL ? entry->row.id : 0))
        *what = "the list of trials";
    return status;
}

/* Works out what changed in an entry, the first time it comes into sight. */
static void tell_changed(struct trials *trials, size_t place)
{
    struct pm_trial_entry *entry = &trials->entries.items[place];
    if (!trials->told[place] &&
        pm_trial_changed(trials->house->studio, entry->row.id, &trials->entries.arena,
                         &entry->changed, NULL) != PM_OK)
        entry->changed = NULL;
    trials->told[place] = true;
}

void trials_title(const struct trials *trials, const struct pm_trial_entry *entry,
                  struct pm_text *out)
{
    pm_text_add(out, trials->name);
    if (entry->row.number > 0)
        pm_text_addf(out, "/%lld", (long long)entry->row.number);
}

const struct pm_trial_entry *trials_selected(const struct trials *trials)
{
    return trials->list.row < trials->entries.count ? &trials->entries.items[trials->list.row]
                                                    : NULL;
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
    if (copy == NULL) {
        pm_app_warn(trials->app, "Out of memory.");
        return;
    }
    trials->picks[trials->pick_count++] = (struct trials_pick){trial, copy};
}

void trials_mark_selected(void *state)
{
    struct trials *trials = state;
    const struct pm_trial_entry *entry = trials_selected(trials);
    struct pm_text title = PM_TEXT_EMPTY;
    if (entry == NULL)
        return;
    trials_title(trials, entry, &title);
    trials_mark(trials, entry->row.id, pm_text_get(&title));
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
    if (trials == NULL)
        return pm_fail_memory(err);
    trials->app = app;
    trials->house = pm_app_host(app);
    side_init(&trials->side);
    *state = trials;
    return PM_OK;
}

static void trials_close(void *state)
{
    struct trials *trials = state;
    if (trials == NULL)
        return;
    forget(trials);
    unmark_all(trials);
    side_release(&trials->side);
    pm_free(trials->copied);
    pm_free(trials);
}

static void trials_prepare(void *state, const struct pm_canvas *canvas)
{
    struct trials *trials = state;
    size_t place, end;
    pm_table_in_sight(&trials->list, trials->entries.count, canvas->sheet.rows, &place, &end);
    for (; place < end && !trials->beside; place++)
        tell_changed(trials, place);
}

const char *pm_trials_copied(struct pm_app *app)
{
    const struct trials *trials = pm_app_room_state(app, PM_ROOM_TRIALS);
    return trials != NULL ? trials->copied : NULL;
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
    side_draw(&trials->side, &canvas->sheet);
}

/* ---- keys ---- */

void trials_look(void *state)
{
    struct trials *trials = state;
    struct pm_error err = {0};
    const struct pm_trial_entry *entry = trials_selected(trials);
    const int64_t beside = trials->beside ? trials->compared[trials->side.trial] : 0;
    if (!trials->beside && entry == NULL)
        pm_app_say(trials->app, "No trial is kept yet.");
    else if (pm_bench_show_trial(trials->app, trials->beside ? beside : entry->row.id, &err) !=
             PM_OK)
        pm_app_error(trials->app, &err);
}

void trials_branch(void *state)
{
    struct trials *trials = state;
    struct pm_error err = {0};
    const struct pm_trial_entry *entry = trials_selected(trials);
    if (entry == NULL)
        pm_app_say(trials->app, "No trial is kept yet.");
    else if (entry->row.number == 0)
        pm_app_say(trials->app, "That is the draft already; a kept trial can be branched from.");
    else if (pm_bench_branch(trials->app, entry->row.id, &err) != PM_OK)
        pm_app_error(trials->app, &err);
}

void trials_revisions(void *state)
{
    struct trials *trials = state;
    const struct pm_trial_entry *entry = trials_selected(trials);
    pm_bench_revisions(trials->app, entry != NULL ? entry->row.number : -1);
}

/* Esc: first what stands side by side, then the marks, then back to the Bench. */
static void leave(struct trials *trials)
{
    if (trials->beside) {
        trials_side_close(trials);
        return;
    }
    if (trials->pick_count > 0)
        unmark_all(trials);
    else
        pm_app_go(trials->app, PM_ROOM_BENCH);
}

static unsigned move(struct trials *trials, int code)
{
    const struct pm_table table = trials_table(trials);
    pm_table_act(&table, &trials->list, code, NULL);
    return PM_REDRAW;
}

static unsigned trials_act(void *state, int code)
{
    struct trials *trials = state;
    if (code == PM_ACT_CANCEL)
        leave(trials);
    else if (trials->beside)
        return trials_side_move(trials, code);
    else if (pm_list_moves(code))
        return move(trials, code);
    else
        return PM_UNHANDLED;
    return PM_REDRAW;
}

static unsigned trials_type(void *state, const char *text, bool pasted)
{
    (void)pasted;
    return trials_side_typed(state, text);
}

static const char *const hints[] = {
    "look mark-trial side-by-side revisions branch label",
    "side-measure side-only side-sort copy-change side-first back",
    NULL,
};

static size_t trials_hint(const void *state)
{
    const struct trials *trials = state;
    return trials->beside;
}

/* The whole of what the row has room to begin with; the details pane shows it as well. */
static enum pm_role trials_remark(const void *state, struct pm_text *out)
{
    const struct trials *trials = state;
    const struct pm_trial_entry *entry = trials_selected(trials);
    if (trials->beside) {
        side_describe(&trials->side, out);
        return PM_ROLE_FAINT;
    }
    if (entry == NULL || trials->details)
        return PM_ROLE_FAINT;
    if (entry->row.note != NULL)
        pm_text_add(out, entry->row.note);
    if (entry->changed != NULL)
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
    .read = trials_read_again,
    .prepare = trials_prepare,
    .draw = trials_draw,
    .mode = trials_mode,
    .mode_heading = "While trials stand side by side",
    .actions = &trials_actions,
    .act = trials_act,
    .text = trials_type,
    .hints = hints,
    .hint = trials_hint,
    .remark = trials_remark,
    .close = trials_close,
};
