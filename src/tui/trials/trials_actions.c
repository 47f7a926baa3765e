/* SPDX-License-Identifier: MIT */
/* What can be done in the Trials room. The ids are stable: people's key files name them. */
#include "trials.h"

#define FORMULA "Formulas and trials"
#define COMPARE "Side by side"

#define SHEET PM_MODE_SHEET
#define SIDE  MODE_SIDE

static const struct pm_action rows[] = {
    {.verb = PM_VERB_FORMULAS, .modes = SHEET, .run = pm_formulas_list_here},
    {.verb = PM_VERB_NEW_FORMULA, .modes = SHEET, .run = pm_formulas_new_here},
    {.verb = PM_VERB_THIS_FORMULA, .modes = SHEET, .run = pm_formulas_this_here},
    {.verb = PM_VERB_KEEP, .modes = SHEET | SIDE, .run = pm_bench_keep_here},
    {.verb = PM_VERB_BRANCH, .modes = SHEET, .run = trials_branch},
    {.verb = PM_VERB_HISTORY, .modes = SHEET, .run = trials_revisions},
    {.verb = PM_VERB_UNDO,
     .help = "Says what can be taken back here, and where.",
     .group = FORMULA,
     .modes = SHEET | SIDE,
     .run = trials_no_undo},
    {"find-trial", "find a trial", "Goes to a trial: type part of its number, label or note.",
     FORMULA, NULL, SHEET, .verb = PM_VERB_SEARCH, .run = trials_find},
    {"label", "label", "Gives the kept trial a short label.", FORMULA, NULL, SHEET,
     .verb = PM_VERB_WORDS, .ready = trials_on_kept, .run = trials_label},
    {"look", "look at it", "Shows the trial in the Bench; a kept one read-only.", FORMULA, NULL,
     SHEET | SIDE, .verb = PM_VERB_OPEN, .run = trials_look},
    {"set-trial-aside", "set aside",
     "Sets the kept trial aside, out of sight, or brings it back; nothing is deleted.", FORMULA,
     NULL, SHEET, .verb = PM_VERB_DROP, .ready = trials_on_kept, .write = trials_set_aside},
    {"show-aside", "show set aside", "Lists what was set aside as well, or not.", FORMULA, NULL,
     SHEET, .verb = PM_VERB_HIDDEN, .run = trials_show_aside},
    {"about-trial", "about this trial",
     "Shows everything that is known of the trial, its note in full.", FORMULA, NULL, SHEET,
     .verb = PM_VERB_ABOUT, .run = trials_about},
    {"print-trial", "export",
     "Writes the trial, or the comparison, into a file: a page to print, Markdown, text; a trial "
     "also as CSV and JSON.",
     FORMULA, NULL, SHEET | SIDE, .verb = PM_VERB_PRINT, .run = trials_print},
    {"mark-trial", "mark",
     "Marks the trial to be compared or tested blind, or takes the mark away.", COMPARE, NULL,
     SHEET, .verb = PM_VERB_MARK, .run = trials_mark_selected, .also = "choose blind compare"},
    {"mark-any-trial", "mark of any formula", "Marks a trial of any formula to be compared.",
     COMPARE, NULL, SHEET, .verb = PM_VERB_ADD, .run = trials_mark_any},
    {"side-by-side", "side by side",
     "Shows the marked trials, those that are typed (1,3), or this one and the one it came from.",
     COMPARE, NULL, SHEET, .verb = PM_VERB_COMPARE, .run = trials_side,
     .also = "difference versus changes"},
    {"side-measure", "poured, neat, flat",
     "Compares parts as poured, neat parts, or materials with everything resolved.", COMPARE, NULL,
     SIDE, .verb = PM_VERB_VIEW, .run = trials_side_by},
    {"side-only", "all or differing",
     "Shows all lines, those that differ, or those that did more than give way.", COMPARE, NULL,
     SIDE, .verb = PM_VERB_FILTER, .run = trials_side_only},
    {"side-sort", "sort", "Sorts as written, by the change in parts, or by the factor.", COMPARE,
     NULL, SIDE, .verb = PM_VERB_SORT, .run = trials_side_sort},
    {"copy-change", "copy sentence",
     "Copies what changed as a sentence, for the clipboard and the next note.", COMPARE, "\"", SIDE,
     .run = trials_side_copy},
    {"find-compared", "find a line", "Goes to a line: type part of its name.", COMPARE, NULL, SIDE,
     .verb = PM_VERB_SEARCH, .run = trials_side_find},
    {"side-first", "make first", "Judges the others against the selected trial.", COMPARE, NULL,
     SIDE, .verb = PM_VERB_RAISE, .run = trials_side_first},
    {"side-out", "take out", "Takes the selected trial out of the comparison.", COMPARE, NULL, SIDE,
     .verb = PM_VERB_DROP, .run = trials_side_out},
};

const struct pm_action_table trials_actions = {rows, sizeof rows / sizeof *rows};
