/* SPDX-License-Identifier: MIT */
/* The Trials room: two to four trials side by side. */
#include "trials.h"

#include "kit/find.h"
#include "kit/list.h"
#include "kit/overlay.h"

#include "permille/base/mem.h"

#include <string.h>

enum pm_status trials_side_read(struct trials *trials, struct pm_error *err)
{
    struct pm_side_by_side read;
    trials->side.least = trials->house->settings.decimals;
    enum pm_status status = pm_compare_open(trials->house->studio, trials->compared,
                                            trials->compared_count, trials->by, &read, err);
    return status == PM_OK ? side_take(&trials->side, &read, trials->house->sign, err) : status;
}

void trials_side_close(struct trials *trials)
{
    trials->beside = false;
    /* The next comparison begins with all lines, as they are written: what is left out must not
     * stay so unnoticed. */
    side_release(&trials->side);
}

/* Reads again after what is compared, or how, has changed; failing that, all is as before. */
static void change(struct trials *trials, const int64_t *compared, size_t count,
                   enum pm_compare_by by)
{
    struct pm_error err = {0};
    int64_t before[PM_COMPARE_MAX];
    size_t count_before = trials->compared_count;
    enum pm_compare_by by_before = trials->by;
    memcpy(before, trials->compared, sizeof before);
    memmove(trials->compared, compared, count * sizeof *compared);
    trials->compared_count = count;
    trials->by = by;
    if (trials_side_read(trials, &err) == PM_OK) {
        trials->beside = true;
        return;
    }
    memcpy(trials->compared, before, sizeof before);
    trials->compared_count = count_before;
    trials->by = by_before;
    pm_app_error(trials->app, &err);
}

/* ---- opening ---- */

/* What is marked; with one mark that one and the selected trial; without any the selected trial
 * after the one it was started from. */
static enum pm_status choose(const struct trials *trials, int64_t chosen[PM_COMPARE_MAX],
                             size_t *count, struct pm_error *err)
{
    const struct pm_trial_entry *entry = trials_selected(trials);
    struct pm_beside beside;
    for (*count = 0; *count < trials->pick_count; ++*count)
        chosen[*count] = trials->picks[*count].id;
    if (*count > 1 || entry == NULL)
        return PM_OK;
    if (*count == 1) {
        if (chosen[0] != entry->row.id)
            chosen[(*count)++] = entry->row.id;
        return PM_OK;
    }
    const enum pm_status status =
        pm_trial_beside(trials->house->studio, entry->row.id, &beside, err);
    if (status == PM_OK && beside.before != 0)
        chosen[(*count)++] = beside.before;
    if (status == PM_OK)
        chosen[(*count)++] = beside.after;
    return status;
}

static void open_side(struct trials *trials, const int64_t *chosen, size_t count)
{
    trials->side.list = (struct pm_table_view){.row = 0};
    trials->side.trial = count - 1;
    change(trials, chosen, count, trials->by);
}

void trials_side(void *state)
{
    struct trials *trials = state;
    int64_t chosen[PM_COMPARE_MAX];
    size_t count;
    struct pm_error err = {0};
    if (choose(trials, chosen, &count, &err) != PM_OK) {
        pm_app_error(trials->app, &err);
        return;
    }
    if (count == 0 && trials->name == NULL) {
        pm_app_say(trials->app, "No formula is open.");
        return;
    }
    if (count < 2) {
        pm_app_say(trials->app, "This trial was started from nothing: mark two to four to compare "
                                "them, of other formulas too.");
        return;
    }
    open_side(trials, chosen, count);
}

enum pm_status pm_trials_compare(struct pm_app *app, const int64_t *chosen, size_t count,
                                 struct pm_error *err)
{
    struct trials *trials = pm_app_room_state(app, PM_ROOM_TRIALS);
    if (trials == NULL)
        return pm_fail(err, PM_NOMEM, "The Trials could not be opened.");
    pm_app_go(app, PM_ROOM_TRIALS);
    open_side(trials, chosen, count);
    return PM_OK;
}

/* ---- typed ---- */

static enum pm_status typed_accept(void *context, const char *text, struct pm_error *err)
{
    struct trials *trials = context;
    int64_t chosen[PM_COMPARE_MAX];
    size_t count;
    enum pm_status status = pm_trials_named(trials->house->studio, trials->formula, text, chosen,
                                            PM_COMPARE_MAX, &count, err);
    if (status == PM_OK && count == 1) {
        const struct pm_trial_entry *entry = trials_selected(trials);
        if (entry == NULL || entry->row.id == chosen[0])
            return pm_fail(err, PM_INVALID, "Name at least two trials: 1,3.");
        chosen[count++] = entry->row.id;
    }
    if (status == PM_OK)
        open_side(trials, chosen, count);
    return status;
}

unsigned trials_side_typed(struct trials *trials, const char *text)
{
    if (trials->beside || *text < '0' || *text > '9')
        return PM_UNHANDLED;
    const struct pm_prompt_spec spec = {.title = "Side by side; one alone stands beside the "
                                                 "selected trial",
                                        .label = "Trials",
                                        .text = text,
                                        .limit = 400,
                                        .accept = typed_accept,
                                        .context = trials};
    pm_prompt_open(trials->app, &spec);
    return PM_REDRAW;
}

/* ---- while it is open ---- */

static void select_column(struct side *side, bool right)
{
    if (right && side->trial + 1 < side->read.trials)
        side->trial++;
    else if (!right && side->trial > 0)
        side->trial--;
    if (side->order != PM_SIDE_AS_WRITTEN)
        side_arrange(side);
}

/* The selected trial becomes the one that the others are judged against. */
static struct pm_table table_now(void *state)
{
    struct trials *trials = state;
    return side_table(&trials->side);
}

static void go(void *state, size_t row)
{
    struct trials *trials = state;
    trials->side.list.row = row;
}

void trials_side_find(void *state)
{
    const struct trials *trials = state;
    const struct pm_find_spec spec = {.title = "Find a line",
                                      .label = "Line",
                                      .none = "There is no line to look for.",
                                      .state = state,
                                      .table = table_now,
                                      .go = go};
    pm_find_open(trials->app, &spec);
}

void trials_side_first(void *state)
{
    struct trials *trials = state;
    int64_t compared[PM_COMPARE_MAX];
    size_t column = trials->side.trial;
    if (column == 0) {
        pm_app_say(trials->app, "Left and Right choose another trial to be the first.");
        return;
    }
    memcpy(compared, trials->compared, sizeof compared);
    memmove(compared + 1, compared, column * sizeof *compared);
    compared[0] = trials->compared[column];
    change(trials, compared, trials->compared_count, trials->by);
}

void trials_side_out(void *state)
{
    struct trials *trials = state;
    int64_t compared[PM_COMPARE_MAX];
    size_t column = trials->side.trial, count = trials->compared_count;
    if (count < 3) {
        pm_app_say(trials->app, "Two trials are the least.");
        return;
    }
    memcpy(compared, trials->compared, sizeof compared);
    memmove(compared + column, compared + column + 1, (count - column - 1) * sizeof *compared);
    change(trials, compared, count - 1, trials->by);
}

void trials_side_copy(void *state)
{
    struct trials *trials = state;
    const char *sentence = trials->side.read.sentences[side_told(&trials->side)];
    struct pm_text where = PM_TEXT_EMPTY;
    struct pm_error err = {0};
    char *copy = pm_strdup(sentence);
    if (copy == NULL) {
        pm_app_warn(trials->app, "Out of memory.");
        return;
    }
    pm_free(trials->copied);
    trials->copied = copy;
    trials->house->copied = copy;
    /* The note takes it from here; elsewhere it goes where copies go. */
    if (pm_app_copy(trials->app, sentence, &where, &err) != PM_OK)
        pm_app_error(trials->app, &err);
    else
        pm_app_say(trials->app, "Copied; Tab brings it into the note of a trial: %s", sentence);
    pm_text_release(&where);
}

void trials_side_by(void *state)
{
    struct trials *trials = state;
    change(trials, trials->compared, trials->compared_count,
           trials->by == PM_BY_FLAT ? PM_BY_POURED : (enum pm_compare_by)(trials->by + 1));
}

void trials_side_only(void *state)
{
    struct side *side = &((struct trials *)state)->side;
    side->only = side->only == PM_SIDE_OWN ? PM_SIDE_ALL : (enum pm_side_only)(side->only + 1);
    side_arrange(side);
}

void trials_side_sort(void *state)
{
    struct side *side = &((struct trials *)state)->side;
    side->order = side->order == PM_SIDE_BY_FACTOR ? PM_SIDE_AS_WRITTEN
                                                   : (enum pm_side_order)(side->order + 1);
    side_arrange(side);
}

unsigned trials_side_move(struct trials *trials, int code)
{
    struct side *side = &trials->side;
    const struct pm_table table = side_table(side);
    if (pm_list_moves(code))
        pm_table_act(&table, &side->list, code, NULL);
    else if (code == PM_ACT_LEFT || code == PM_ACT_RIGHT)
        select_column(side, code == PM_ACT_RIGHT);
    else
        return PM_UNHANDLED;
    return PM_REDRAW;
}
