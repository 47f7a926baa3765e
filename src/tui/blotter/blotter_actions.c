/* SPDX-License-Identifier: MIT */
/* What can be done in the Blotter room. The ids are stable: people's key files name them. */
#include "blotter.h"

#define SMELLING "Smelling"
#define BLIND    "Blind tests"

#define SHEET PM_MODE_SHEET
#define TESTS MODE_TESTS

static bool can_undo(void *state)
{
    struct blotter *blotter = state;
    if (!blotter->testing)
        return blotter_has_stopped(blotter);
    tests_say_no_undo(blotter);
    return false;
}

static const struct pm_action rows[] = {
    {.verb = PM_VERB_FORMULAS, .modes = SHEET, .run = pm_formulas_list_here},
    {.verb = PM_VERB_NEW_FORMULA, .modes = SHEET, .run = pm_formulas_new_here},
    {"find-note", "find", "Goes to one that runs, a note, a blind test: type part of its row.",
     SMELLING, NULL, SHEET | TESTS, .verb = PM_VERB_SEARCH, .run = blotter_find},
    {"smell-note", "smell note",
     "Notes what is smelled of the selected one; a digit begins with its intensity.", SMELLING,
     NULL, SHEET, .verb = PM_VERB_ADD, .run = blotter_smell_selected,
     .also = "rate write intensity impression"},
    {"read-note", "read note",
     "Shows a note of the log in full; on one that runs, notes what is smelled.", SMELLING, NULL,
     SHEET, .verb = PM_VERB_OPEN, .run = blotter_read_note},
    {"write-note", "write at length", "Writes the words in your own editor ($VISUAL, $EDITOR).",
     SMELLING, NULL, SHEET, .verb = PM_VERB_WORDS, .run = blotter_write_long},
    {"correct-note", "correct note",
     "Puts another note in the selected one's place; the old one is kept.", SMELLING, NULL, SHEET,
     .verb = PM_VERB_EDIT, .run = blotter_correct},
    {"take-note-back", "stop, take back",
     "Stops smelling what runs; takes a note back: it stays in the file, but counts no more.",
     SMELLING, NULL, SHEET, .verb = PM_VERB_DROP, .run = blotter_take_away, .also = "finish end"},
    {"put-on", "put on",
     "Puts a kept trial on a blotter or on skin, to be smelled by the schedule.", SMELLING, NULL,
     SHEET, .verb = PM_VERB_NEW, .run = blotter_put_on,
     .also = "strip skin start begin evaluate wear"},
    {.verb = PM_VERB_UNDO,
     .help = "Takes up again what was stopped last; says what takes notes back.",
     .group = SMELLING,
     .modes = SHEET | TESTS,
     .ready = can_undo,
     .write = blotter_take_up},
    {"schedule", "schedule", "Changes the times at which to smell.", SMELLING, NULL, SHEET,
     .verb = PM_VERB_SETUP, .run = blotter_schedule, .also = "when times reminder drydown"},
    {"blotter-view", "log, curves, words",
     "Goes on from the log to intensity over time, then to the words by stage.", SMELLING, NULL,
     SHEET, .verb = PM_VERB_VIEW, .run = blotter_next_view, .also = "graph words tally"},
    {"one-trial", "one trial", "Shows the notes of the selected one's trial alone, or all again.",
     SMELLING, NULL, SHEET, .verb = PM_VERB_FILTER, .run = blotter_one_trial},
    {"show-corrected", "show corrected",
     "Lists notes that were corrected or taken back as well, or not.", SMELLING, NULL, SHEET,
     .verb = PM_VERB_HIDDEN, .run = blotter_show_corrected},
    {"blind-tests", "blind tests",
     "Shows the blind tests: can trials be told apart, which one comes first?", BLIND, NULL, SHEET,
     .verb = PM_VERB_BESIDE, .run = tests_open, .also = "triangle duo nose panel preference rank"},
    {"open-test", "open", "Opens the test; in an open one answers the round.", BLIND, NULL, TESTS,
     .verb = PM_VERB_OPEN, .ready = tests_any, .run = tests_open_selected},
    {"new-test", "new test",
     "Plans a blind test of kept trials; it begins with those marked in Trials.", BLIND, NULL,
     TESTS, .verb = PM_VERB_NEW, .run = tests_new, .also = "triangle nose panel preference rank"},
    {"answer-test", "answer", "Answers by the code on the vial; a digit begins at once.", BLIND,
     NULL, TESTS, .verb = PM_VERB_ADD, .ready = tests_one, .run = tests_answer},
    {"test-codes", "codes", "Shows the assessor's page: the codes in the order of smelling.", BLIND,
     NULL, TESTS, .verb = PM_VERB_PAPER, .ready = tests_one, .run = tests_codes},
    {"fill-page", "fill vials", "Shows the page for whoever fills the vials; it holds the key.",
     BLIND, NULL, TESTS, .verb = PM_VERB_FILL, .ready = tests_one, .run = tests_fill},
    {"close-test", "close test", "Ends the test for good and shows its key and result.", BLIND,
     NULL, TESTS, .verb = PM_VERB_KEEP, .ready = tests_one, .run = tests_close},
};

const struct pm_action_table blotter_actions = {rows, sizeof rows / sizeof *rows};
