/* SPDX-License-Identifier: MIT */
/* The Trials as a room: what the application calls. */
#include "trials.h"

#include "kit/list.h"

#include "permille/base/mem.h"

#include <stdio.h>
#include <string.h>

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
    trials_forget(trials);
    trials_unmark_all(trials);
    side_release(&trials->side);
    trials->house->copied = NULL;
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
    if (!trials->beside) {
        trials_paint(trials, canvas);
        return;
    }
    pm_pane_putf(&canvas->heading, 0, 0, PM_ROLE_HEADING, "%zu side by side",
                 trials->compared_count);
    side_draw(&trials->side, &canvas->sheet);
}

/* Esc: first what stands side by side, then the marks, then back to the Bench. */
static void leave(struct trials *trials)
{
    if (trials->beside) {
        trials_side_close(trials);
        return;
    }
    if (trials->pick_count > 0)
        trials_unmark_all(trials);
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

enum { HINT_USUAL, HINT_BESIDE, HINT_NOTHING };

static const char *const hints[] = {
    [HINT_USUAL] = "look mark-trial side-by-side revisions branch label",
    [HINT_BESIDE] = "side-measure side-only side-sort copy-change side-first back",
    [HINT_NOTHING] = "formulas new-formula find-action",
    NULL,
};

static size_t trials_hint(const void *state)
{
    const struct trials *trials = state;
    return trials->beside ? HINT_BESIDE : trials->formula == 0 ? HINT_NOTHING : HINT_USUAL;
}

/* The whole of what the row has room to begin with; the details pane shows it as well. */
static enum pm_role trials_remark(const void *state, bool details, struct pm_text *out)
{
    const struct trials *trials = state;
    const struct pm_trial_entry *entry = trials_selected(trials);
    if (trials->beside) {
        side_describe(&trials->side, out);
        return PM_ROLE_FAINT;
    }
    if (entry == NULL || details)
        return PM_ROLE_FAINT;
    if (entry->row.note != NULL)
        pm_text_add(out, entry->row.note);
    /* A note may have been taken from what changed. */
    if (entry->changed != NULL && strcmp(pm_text_get(out), entry->changed) != 0)
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
