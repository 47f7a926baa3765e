/* SPDX-License-Identifier: MIT */
/* What can be done in the Bench. The ids are stable: people's key files name them. */
#include "bench.h"

#define LINES   "Lines"
#define BALANCE "How the total is kept"
#define ACCORDS "Cores and accords"
#define FORMULA "Formulas and trials"

#define SHEET PM_MODE_SHEET

static const struct pm_action rows[] = {
    {"tuck-in", "tuck in",
     "Adds a line: type part of a name, a synonym or a CAS number, then the parts.", LINES, NULL,
     SHEET, .verb = PM_VERB_ADD, .ready = bench_editable, .run = bench_add},
    {"tuck-in-accord", "tuck in accord", "Adds a kept trial of an accord as a line.", LINES, "A",
     SHEET, .ready = bench_editable, .run = bench_add_accord},
    {"edit", "edit parts", "Opens the parts of the line; a digit, = * or / begins typing at once.",
     LINES, NULL, SHEET, .verb = PM_VERB_OPEN, .run = bench_edit},
    {"more", "a little more", "Raises the line by one step of its second digit.", LINES, "+", SHEET,
     .ready = bench_on_line, .run = bench_more},
    {"less", "a little less", "Lowers the line by one step of its second digit.", LINES, "-", SHEET,
     .ready = bench_on_line, .run = bench_less},
    {"scale", "scale line", "Multiplies the parts of the line: 1.5, 2/3, 110%.", LINES, "z", SHEET,
     .ready = bench_on_line, .run = bench_scale},
    {"restrength", "restrength",
     "Uses the line's material at another strength; its neat parts stay.", LINES, "s", SHEET,
     .ready = bench_on_line, .run = bench_restrength},
    {"swap", "swap material", "Puts another material in the line's place.", LINES, "x", SHEET,
     .ready = bench_on_line, .run = bench_swap},
    {"drop", "drop line", "Takes the line out; the others grow or stay as told.", LINES, NULL,
     SHEET, .verb = PM_VERB_DROP, .ready = bench_on_line, .run = bench_drop},
    {"raise", "line up", "Moves the line one place up.", LINES, "<", SHEET, .ready = bench_on_line,
     .run = bench_raise},
    {"lower", "line down", "Moves the line one place down.", LINES, ">", SHEET,
     .ready = bench_on_line, .run = bench_lower},
    {"comment", "comment", "Writes a comment beside the line.", LINES, "t", SHEET,
     .ready = bench_on_line, .run = bench_comment},
    {"mark", "mark line", "Marks the line, or takes the mark away.", LINES, NULL, SHEET,
     .verb = PM_VERB_MARK, .run = bench_mark},
    {"mark-all", "mark all or none",
     "Marks every line; when some are marked, takes all marks away.", LINES, "v", SHEET,
     .run = bench_mark_all},
    {"hold", "hold or free", "A held line stands still when others change.", BALANCE, "h", SHEET,
     .ready = bench_on_line, .run = bench_hold},
    {"carrier", "make carrier", "In carrier mode this line alone takes what the others leave.",
     BALANCE, "c", SHEET, .ready = bench_on_line, .run = bench_carry},
    {"mode", "next mode",
     "Share: all free lines give way. Carrier: one line does. Open: none does.", BALANCE, "m",
     SHEET, .ready = bench_editable, .run = bench_next_mode},
    {"settle", "settle total", "Brings the total to the base.", BALANCE, "e", SHEET,
     .ready = bench_editable, .run = bench_settle},
    {"base", "change base", "Rescales everything: 100, 1000, any total.", BALANCE, "b", SHEET,
     .ready = bench_editable, .run = bench_base},
    {"core", "core",
     "Keeps the ratio of the marked lines from now on; on a line of a core, lets it go.", ACCORDS,
     "k", SHEET, .ready = bench_on_line, .run = bench_core},
    {"fold", "fold into accord", "Makes an accord of the marked lines and puts it in their place.",
     ACCORDS, "f", SHEET, .ready = bench_on_line, .run = bench_fold},
    {"unfold", "unfold accord", "Puts an accord's lines in its place.", ACCORDS, "n", SHEET,
     .ready = bench_on_line, .run = bench_unfold},
    {"flat", "flat view", "Lists every material once: neat, as solvent, share of the whole.",
     ACCORDS, NULL, SHEET, .verb = PM_VERB_ABOUT, .run = bench_flat},
    {.verb = PM_VERB_UNDO, .modes = SHEET, .ready = bench_editable, .run = bench_undo},
    {.verb = PM_VERB_REDO, .modes = SHEET, .ready = bench_editable, .run = bench_redo},
    {.verb = PM_VERB_RETRY, .modes = SHEET, .run = bench_retry},
    {.verb = PM_VERB_FORMULAS, .modes = SHEET, .run = pm_formulas_list_here},
    {.verb = PM_VERB_NEW_FORMULA, .modes = SHEET, .run = pm_formulas_new_here},
    {.verb = PM_VERB_THIS_FORMULA, .modes = SHEET, .run = pm_formulas_this_here},
    {.verb = PM_VERB_KEEP, .modes = SHEET, .run = pm_bench_keep_here},
    {.verb = PM_VERB_BRANCH, .modes = SHEET, .run = bench_branch},
    {"draft", "back to the draft", "Shows the draft again.", FORMULA, "p", SHEET,
     .run = bench_draft},
    {.verb = PM_VERB_HISTORY, .modes = SHEET, .run = bench_revisions},
    {.verb = PM_VERB_COST, .modes = SHEET, .run = pm_shelf_cost_here},
};

const struct pm_action_table bench_actions = {rows, sizeof rows / sizeof *rows};
