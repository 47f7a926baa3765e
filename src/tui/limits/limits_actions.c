/* SPDX-License-Identifier: MIT */
/* What can be done in the Limits room. The ids are stable: people's key files name them. */
#include "limits_room.h"

#define FORMULA "Formulas and trials"
#define LIMITS  "Limits and labels"

#define SHEET PM_MODE_SHEET

static const struct pm_action rows[] = {
    {.verb = PM_VERB_FORMULAS, .modes = SHEET, .run = pm_formulas_list_here},
    {.verb = PM_VERB_NEW_FORMULA, .modes = SHEET, .run = pm_formulas_new_here},
    {.verb = PM_VERB_THIS_FORMULA, .modes = SHEET, .run = pm_formulas_this_here},
    {.verb = PM_VERB_KEEP, .modes = SHEET, .run = pm_bench_keep_here},
    {.verb = PM_VERB_UNDO,
     .help = "Says what can be taken back here, and how.",
     .group = LIMITS,
     .modes = SHEET,
     .run = limits_no_undo},
    {"find-limit", "find a substance", "Goes to a substance: type part of its row.", LIMITS, NULL,
     SHEET, .verb = PM_VERB_SEARCH, .run = limits_find},
    {"limits-for", "dosage, category",
     "Says what it is judged for: dosage, product category, what it is sold as.", LIMITS, NULL,
     SHEET, .verb = PM_VERB_EDIT, .run = limits_for, .also = "fine fragrance candle soap percent"},
    {"about-limit", "figures, sources",
     "Shows every figure about it with its source and date, and what each line brings.", LIMITS,
     NULL, SHEET, .verb = PM_VERB_OPEN, .ready = limits_any, .run = limits_about},
    {"label-draft", "label", "Shows the draft of a label: the allergens it must name.", LIMITS,
     NULL, SHEET, .verb = PM_VERB_VIEW, .ready = limits_any, .run = limits_label,
     .also = "allergens declare"},
    {"label-field", "label words", "Adds words of your own to every label: who made it, a batch.",
     LIMITS, NULL, SHEET, .verb = PM_VERB_WORDS, .run = limits_label_field},
    {"fit-within", "fit", "Proposes the nearest formula within every known limit.", LIMITS, NULL,
     SHEET, .verb = PM_VERB_LEVEL, .ready = limits_any, .run = limits_fit, .also = "reduce comply"},
    {"own-limit", "own figure",
     "Notes a figure of your own, with its source; it counts in place of the Standards'.", LIMITS,
     NULL, SHEET, .verb = PM_VERB_OWN, .run = limits_own},
    {"drop-own-limit", "take away own", "Takes your own figure away again.", LIMITS, NULL, SHEET,
     .verb = PM_VERB_DROP, .ready = limits_on_own, .run = limits_drop_own},
    {"rule-sets", "sets of rules", "Chooses the sets of rules to judge by.", LIMITS, NULL, SHEET,
     .verb = PM_VERB_SETUP, .run = limits_sets},
    {"limit-cautions", "cautions", "Shows what to be careful about.", LIMITS, NULL, SHEET,
     .verb = PM_VERB_ABOUT, .ready = limits_any, .run = limits_cautions,
     .also = "safety danger fire"},
    {"print-limits", "print",
     "Exports limits and label into a file: a page to print, Markdown, text.", LIMITS, NULL, SHEET,
     .verb = PM_VERB_PRINT, .ready = limits_any, .run = limits_print},
};

const struct pm_action_table limits_actions = {rows, sizeof rows / sizeof *rows};
