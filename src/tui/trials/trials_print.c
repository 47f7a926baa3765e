/* SPDX-License-Identifier: MIT */
/* The Trials room: a trial, or what stands side by side, into a file. */
#include "trials.h"

#include "kit/printing.h"

#include "permille/studio/bench.h"
#include "permille/studio/paper.h"

static enum pm_status print_trial(void *context, enum pm_paper paper, struct pm_text *out,
                                  struct pm_error *err)
{
    const struct trials *trials = context;
    struct pm_sheet *sheet = NULL;
    enum pm_status status = pm_sheet_open(trials->house->studio, trials->asked, &sheet, err);
    if (status != PM_OK)
        return status;
    const struct pm_sheet *one = sheet;
    status = pm_paper_sheets(&one, 1, paper, trials->house->sign, out, err);
    pm_sheet_free(sheet);
    return status;
}

static enum pm_status print_side(void *context, enum pm_paper paper, struct pm_text *out,
                                 struct pm_error *err)
{
    const struct trials *trials = context;
    return pm_paper_comparison(&trials->side.read, paper, trials->house->sign, out, err);
}

void trials_print(void *state)
{
    struct trials *trials = state;
    const struct pm_trial_entry *entry = trials_selected(trials);
    struct pm_text name = PM_TEXT_EMPTY;
    if (!trials->beside && entry == NULL) {
        pm_app_say(trials->app, "No trial is selected.");
        return;
    }
    for (size_t i = 0; trials->beside && i < trials->side.read.trials; i++)
        pm_text_addf(&name, "%s%s", i > 0 ? "-" : "", trials->side.read.titles[i]);
    if (!trials->beside) {
        trials->asked = entry->row.id;
        trials_title(trials, entry, &name);
    }
    const struct pm_print_spec spec = {
        .title = trials->beside ? "The comparison into a file" : "The trial into a file",
        .name = pm_text_get(&name),
        .forms = trials->beside ? PM_PRINT_PAGES : NULL,
        .make = trials->beside ? print_side : print_trial,
        .context = trials,
    };
    pm_print_open(trials->app, &spec);
    pm_text_release(&name);
}
