/* SPDX-License-Identifier: MIT */
/* What is selected, and what is marked to stand side by side. */
#include "trials.h"

#include "permille/base/mem.h"

#include <string.h>

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

size_t trials_marked(const struct trials *trials, int64_t trial)
{
    for (size_t i = 0; i < trials->pick_count; i++)
        if (trials->picks[i].id == trial)
            return i + 1;
    return 0;
}

void pm_trials_marked(struct pm_app *app, struct pm_text *out)
{
    const struct trials *trials = pm_app_room_state(app, PM_ROOM_TRIALS);
    for (size_t i = 0; trials != NULL && i < trials->pick_count; i++)
        if (trials->picks[i].kept) /* a draft cannot be put into a vial */
            pm_text_addf(out, "%s%s", out->length > 0 ? ", " : "", trials->picks[i].title);
}

static void unmark(struct trials *trials, size_t place)
{
    pm_free(trials->picks[place].title);
    trials->pick_count--;
    memmove(&trials->picks[place], &trials->picks[place + 1],
            (trials->pick_count - place) * sizeof *trials->picks);
}

bool trials_mark(struct trials *trials, int64_t trial, bool kept, const char *title)
{
    size_t marked = trials_marked(trials, trial);
    if (marked) {
        unmark(trials, marked - 1);
        return true;
    }
    if (trials->pick_count == PM_COMPARE_MAX) {
        pm_app_say(trials->app, "Up to %d trials can stand side by side; unmark one first.",
                   PM_COMPARE_MAX);
        return false;
    }
    char *copy = pm_strdup(title);
    if (copy == NULL) {
        pm_app_warn(trials->app, "Out of memory.");
        return false;
    }
    trials->picks[trials->pick_count++] = (struct trials_pick){trial, kept, copy};
    return true;
}

void trials_mark_selected(void *state)
{
    struct trials *trials = state;
    const struct pm_trial_entry *entry = trials_selected(trials);
    struct pm_text title = PM_TEXT_EMPTY;
    if (entry == NULL)
        return;
    trials_title(trials, entry, &title);
    if (trials_mark(trials, entry->row.id, entry->row.number > 0, pm_text_get(&title)))
        trials->list.row += trials->list.row + 1 < trials->entries.count;
    pm_text_release(&title);
}

void trials_unmark_all(struct trials *trials)
{
    while (trials->pick_count > 0)
        unmark(trials, trials->pick_count - 1);
}
