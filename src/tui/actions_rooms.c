/* SPDX-License-Identifier: MIT */
/* What can be done in the rooms. The ids are stable: people's key files name them. */
#include "rooms.h"

#define BENCH  (UINT32_C(1) << PM_ROOM_BENCH)
#define TRIALS (UINT32_C(1) << PM_ROOM_TRIALS)
#define BOTH   (BENCH | TRIALS)

#define LINES   "Lines"
#define BALANCE "How the total is kept"
#define ACCORDS "Cores and accords"
#define BACK    "Back and forth"
#define FORMULA "Formulas and trials"

#define COMPARE "Side by side"

#define SHEET PM_MODE_SHEET
#define SIDE  PM_MODE_ROOM /* trials side by side */

const struct pm_action pm_room_actions[] = {
    {PM_ACT_ADD, "tuck-in", "tuck in",
     "Adds a line: type part of a name, a synonym or a CAS number, then the parts.", LINES,
     "a Insert", BENCH, SHEET, false},
    {PM_ACT_ADD_ACCORD, "tuck-in-accord", "tuck in accord",
     "Adds a kept trial of an accord as a line.", LINES, "A", BENCH, SHEET, false},
    {PM_ACT_EDIT, "edit", "edit parts",
     "Opens the parts of the line; a digit, = * or / begins typing at once.", LINES, "Enter", BENCH,
     SHEET, false},
    {PM_ACT_MORE, "more", "a little more", "Raises the line by one step of its second digit.",
     LINES, "+", BENCH, SHEET, false},
    {PM_ACT_LESS, "less", "a little less", "Lowers the line by one step of its second digit.",
     LINES, "-", BENCH, SHEET, false},
    {PM_ACT_SCALE, "scale", "scale line", "Multiplies the parts of the line: 1.5, 2/3, 110%.",
     LINES, "z", BENCH, SHEET, false},
    {PM_ACT_RESTRENGTH, "restrength", "restrength",
     "Uses the line's material at another strength; its neat parts stay.", LINES, "s", BENCH, SHEET,
     false},
    {PM_ACT_SWAP, "swap", "swap material", "Puts another material in the line's place.", LINES, "x",
     BENCH, SHEET, false},
    {PM_ACT_DROP, "drop", "drop line", "Takes the line out; the others grow or stay as told.",
     LINES, "d Delete", BENCH, SHEET, false},
    {PM_ACT_RAISE, "raise", "line up", "Moves the line one place up.", LINES, "<", BENCH, SHEET,
     false},
    {PM_ACT_LOWER, "lower", "line down", "Moves the line one place down.", LINES, ">", BENCH, SHEET,
     false},
    {PM_ACT_COMMENT, "comment", "comment", "Writes a comment beside the line.", LINES, "t", BENCH,
     SHEET, false},
    {PM_ACT_MARK, "mark", "mark line", "Marks the line, or takes the mark away.", LINES, "Space",
     BENCH, SHEET, false},
    {PM_ACT_MARK_ALL, "mark-all", "mark all or none",
     "Marks every line; when some are marked, takes all marks away.", LINES, "v", BENCH, SHEET,
     false},

    {PM_ACT_HOLD, "hold", "hold or free", "A held line stands still when others change.", BALANCE,
     "h", BENCH, SHEET, false},
    {PM_ACT_CARRY, "carrier", "make carrier",
     "In carrier mode this line alone takes what the others leave.", BALANCE, "c", BENCH, SHEET,
     false},
    {PM_ACT_MODE, "mode", "next mode",
     "Share: all free lines give way. Carrier: one line does. Open: none does.", BALANCE, "m",
     BENCH, SHEET, false},
    {PM_ACT_SETTLE, "settle", "settle total", "Brings the total to the base.", BALANCE, "e", BENCH,
     SHEET, false},
    {PM_ACT_BASE, "base", "change base", "Rescales everything: 100, 1000, any total.", BALANCE, "b",
     BENCH, SHEET, false},

    {PM_ACT_CORE, "core", "core",
     "Keeps the ratio of the marked lines from now on; on a line of a core, lets it go.", ACCORDS,
     "k", BENCH, SHEET, false},
    {PM_ACT_FOLD, "fold", "fold into accord",
     "Makes an accord of the marked lines and puts it in their place.", ACCORDS, "f", BENCH, SHEET,
     false},
    {PM_ACT_UNFOLD, "unfold", "unfold accord", "Puts an accord's lines in its place.", ACCORDS, "n",
     BENCH, SHEET, false},
    {PM_ACT_FLAT, "flat", "flat view",
     "Lists every material once: neat, as solvent, share of the whole.", ACCORDS, "i", BENCH, SHEET,
     false},

    {PM_ACT_UNDO, "undo", "undo", "Takes the last change back; also after a restart.", BACK,
     "u Ctrl-Z", BENCH, SHEET, false},
    {PM_ACT_REDO, "redo", "redo", "Brings back what was undone.", BACK, "r Ctrl-Y", BENCH, SHEET,
     false},
    {PM_ACT_RETRY, "save-again", "save again", "Writes the change again that could not be saved.",
     BACK, "!", BENCH, SHEET, false},

    {PM_ACT_FORMULAS, "formulas", "formulas", "Lists the formulas; opens one or makes a new one.",
     FORMULA, "o", BOTH, SHEET, false},
    {PM_ACT_NEW_FORMULA, "new-formula", "new formula", "Makes a new, empty formula.", FORMULA, "N",
     BOTH, SHEET, false},
    {PM_ACT_THIS_FORMULA, "this-formula", "this formula",
     "Copies, renames or sets aside the open formula; says whether it is an accord.", FORMULA, "O",
     BOTH, SHEET, false},
    {PM_ACT_KEEP, "keep", "keep trial", "Seals the draft as the next trial, with a note.", FORMULA,
     "w", BOTH, SHEET | SIDE, false},
    {PM_ACT_BRANCH, "branch", "branch from here",
     "Makes the kept trial or revision that is shown the draft.", FORMULA, "g", BOTH, SHEET, false},
    {PM_ACT_DRAFT, "draft", "back to the draft", "Shows the draft again.", FORMULA, "p", BENCH,
     SHEET, false},
    {PM_ACT_REVISIONS, "revisions", "revisions",
     "Lists every change ever made; Enter shows the formula as it was then.", FORMULA, "y", BOTH,
     SHEET, false},
    {PM_ACT_LABEL, "label", "label", "Gives the kept trial a short label.", FORMULA, "l", TRIALS,
     SHEET, false},
    {PM_ACT_LOOK, "look", "look at it", "Shows the trial in the Bench; a kept one read-only.",
     FORMULA, "Enter", TRIALS, SHEET | SIDE, false},
    {PM_ACT_TRIAL_ASIDE, "set-trial-aside", "set aside",
     "Sets the kept trial aside, out of sight, or brings it back; nothing is deleted.", FORMULA,
     "x Delete", TRIALS, SHEET, false},
    {PM_ACT_SHOW_ASIDE, "show-aside", "show set aside", "Lists what was set aside as well, or not.",
     FORMULA, "h", TRIALS, SHEET, false},
    {PM_ACT_ABOUT, "about-trial", "about this trial",
     "Shows everything that is known of the trial, its note in full.", FORMULA, "i", TRIALS, SHEET,
     false},

    {PM_ACT_MARK_TRIAL, "mark-trial", "mark",
     "Marks the trial to be compared, or takes the mark away.", COMPARE, "Space", TRIALS, SHEET,
     false},
    {PM_ACT_MARK_ANY, "mark-any-trial", "mark of any formula",
     "Marks a trial of any formula to be compared.", COMPARE, "a Insert", TRIALS, SHEET, false},
    {PM_ACT_SIDE, "side-by-side", "side by side",
     "Shows the marked trials side by side; without marks the trial and the one it came from.",
     COMPARE, "s", TRIALS, SHEET, false},
    {PM_ACT_SIDE_BY, "side-measure", "poured, neat, flat",
     "Compares parts as poured, neat parts, or materials with everything resolved.", COMPARE, "v",
     TRIALS, SIDE, false},
    {PM_ACT_SIDE_ONLY, "side-only", "all or differing",
     "Shows all lines, those that differ, or those that did more than give way.", COMPARE, "d",
     TRIALS, SIDE, false},
    {PM_ACT_SIDE_SORT, "side-sort", "sort",
     "Sorts as written, by the change in parts, or by the factor.", COMPARE, "s", TRIALS, SIDE,
     false},
    {PM_ACT_SIDE_COPY, "copy-change", "copy sentence",
     "Copies what changed as a sentence, for the clipboard and the next note.", COMPARE, "c",
     TRIALS, SIDE, false},
    {PM_ACT_SIDE_FIRST, "side-first", "make first", "Judges the others against the selected trial.",
     COMPARE, "f", TRIALS, SIDE, false},
    {PM_ACT_SIDE_OUT, "side-out", "take out", "Takes the selected trial out of the comparison.",
     COMPARE, "x Delete", TRIALS, SIDE, false},
};

const size_t pm_room_action_count = sizeof pm_room_actions / sizeof *pm_room_actions;
