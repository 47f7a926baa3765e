/* SPDX-License-Identifier: MIT */
/* What can be done in the Drydown room. The ids are stable: people's key files name them. */
#include "drydown.h"

#include "kit/find.h"

#define DRYDOWN "Drydown"
#define SERIES  "Series of trials"

#define SHEET PM_MODE_SHEET

static struct pm_table table_now(void *state)
{
    struct drydown *drydown = state;
    return drydown->in_series ? series_table(drydown) : drydown_table(drydown);
}

static void go(void *state, size_t row)
{
    struct drydown *drydown = state;
    if (drydown->in_series)
        series_go(drydown, row);
    else
        drydown->list.row = row;
}

static void find(void *state)
{
    const struct drydown *drydown = state;
    const bool series = drydown->in_series;
    const struct pm_find_spec spec = {.title = !series        ? "Find a material"
                                               : drydown->one ? "Find a trial"
                                                              : "Find a series",
                                      .label = !series        ? "Material"
                                               : drydown->one ? "Trial"
                                                              : "Series",
                                      .none = series ? "There is no series of this formula yet."
                                                     : "There is nothing to look for.",
                                      .state = state,
                                      .table = table_now,
                                      .go = go};
    pm_find_open(drydown->app, &spec);
}

static const struct pm_action rows[] = {
    {.verb = PM_VERB_FORMULAS, .modes = SHEET | MODE_SERIES, .run = pm_formulas_list_here},
    {.verb = PM_VERB_NEW_FORMULA, .modes = SHEET | MODE_SERIES, .run = pm_formulas_new_here},
    {.verb = PM_VERB_UNDO,
     .help = "Says what can be taken back here, and how.",
     .group = DRYDOWN,
     .modes = SHEET | MODE_SERIES,
     .run = drydown_no_undo},
    {"find-in-drydown", "find", "Goes to a material, or to a series: type part of its row.",
     DRYDOWN, NULL, SHEET | MODE_SERIES, .verb = PM_VERB_SEARCH, .run = find},
    {"drydown-view", "table, curves, air",
     "Goes on from the table to what is left of each, then to shares of the air.", DRYDOWN, NULL,
     SHEET, .verb = PM_VERB_VIEW, .run = drydown_next_view},
    {"drydown-trial", "another trial", "Shows a kept trial, or the draft again.", DRYDOWN, NULL,
     SHEET, .verb = PM_VERB_OPEN, .run = drydown_ask_trial},
    {.id = "draw-beside",
     .name = "beside",
     .help = "Draws another trial over the one shown, or takes it away.",
     .group = DRYDOWN,
     .modes = SHEET,
     .verb = PM_VERB_COMPARE,
     .run = drydown_ask_beside},
    {.id = "mark-material",
     .name = "mark",
     .help = "Marks the material to be drawn; with none marked those that tell most are.",
     .group = DRYDOWN,
     .modes = SHEET,
     .verb = PM_VERB_MARK,
     .ready = drydown_any,
     .run = drydown_mark},
    {.help = "Tells all in words: what is not modelled, what is predicted, odd labels, the curves.",
     .group = DRYDOWN,
     .modes = SHEET,
     .verb = PM_VERB_ABOUT,
     .run = drydown_about},
    {"without-alcohol", "without alcohol", "Leaves the alcohol out, or takes it in again.", DRYDOWN,
     NULL, SHEET, .verb = PM_VERB_HIDDEN, .run = drydown_alcohol},
    {"drydown-minutes", "against time",
     "Draws against time where a smell note set the clock, or against the fraction again.", DRYDOWN,
     NULL, SHEET, .verb = PM_VERB_SETUP, .ready = drydown_any, .run = drydown_minutes},
    {"set-clock", "set the clock",
     "Names a smell note by which a material was gone: from then on there are times.", DRYDOWN,
     NULL, SHEET, .verb = PM_VERB_OWN, .ready = drydown_any, .run = drydown_clock},
    {"series", "series", "Shows dose ladders, leave-out series and designs of ratios.", SERIES,
     NULL, SHEET, .verb = PM_VERB_BESIDE, .run = series_enter,
     .also = "ladder dose threshold experiment"},
    {"open-series", "open", "Opens the series; in an open one rates the trial.", SERIES, NULL,
     MODE_SERIES, .verb = PM_VERB_OPEN, .ready = series_any, .run = series_open_selected},
    {"new-series", "new series",
     "Makes trials to be compared: a ladder, one line left out, ratios.", SERIES, NULL, MODE_SERIES,
     .verb = PM_VERB_NEW, .run = series_new},
    {"rate-trial", "rate", "Rates the trial; a digit begins at once.", SERIES, NULL, MODE_SERIES,
     .verb = PM_VERB_ADD, .ready = series_one, .run = series_rate},
    {"unrate-trial", "take rating back", "Takes the last rating of the trial back.", SERIES, NULL,
     MODE_SERIES, .verb = PM_VERB_DROP, .ready = series_one, .run = series_unrate},
    {"weigh-series", "weigh plan", "One weigh plan for all its trials, with shared premixes.",
     SERIES, NULL, MODE_SERIES, .verb = PM_VERB_PAPER, .ready = series_one, .run = series_weigh},
    {"series-result", "what it tells",
     "Ratios: where the rating is highest and how sure; ladder: your dose response; left out: what "
     "was noticed.",
     SERIES, NULL, MODE_SERIES, .verb = PM_VERB_ABOUT, .ready = series_one, .run = series_result},
};

const struct pm_action_table drydown_actions = {rows, sizeof rows / sizeof *rows};
