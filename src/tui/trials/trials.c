/* SPDX-License-Identifier: MIT */
/* The Trials room: the trials of the formula that is open, as a tree, and side by side. */
#include "trials.h"

#include "kit/list.h"

#include "permille/base/mem.h"

#include <stdio.h>
#include <string.h>

/* ---- reading ---- */

void trials_forget(struct trials *trials)
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
    trials_forget(trials);
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
        trials_forget(&read);
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
    pm_app_read(trials->app, PM_ROOM_TRIALS);
}

enum pm_status trials_read_again(void *state, const char **what, struct pm_error *err)
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

/* ---- the room ---- */

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
