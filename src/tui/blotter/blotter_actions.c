/* SPDX-License-Identifier: MIT */
/* What can be done in the Blotter room. The ids are stable: people's key files name them. */
#include "blotter.h"

#define SMELLING "Smelling"
#define BLIND    "Blind tests"

#define SHEET PM_MODE_SHEET
#define TESTS MODE_TESTS

static const struct pm_action rows[] = {
    {.verb = PM_VERB_FORMULAS, .modes = SHEET, .run = pm_formulas_list_here},
    {"smell-note", "smell note",
     "Notes what is smelled of the selected one; a digit begins with its intensity.", SMELLING,
     NULL, SHEET, .verb = PM_VERB_ADD, .run = blotter_smell_selected},
    {"read-note", "read note",
     "Shows a note of the log in full; on one that runs, notes what is smelled.", SMELLING, NULL,
     SHEET, .verb = PM_VERB_OPEN, .run = blotter_read_note},
    {"write-note", "write at length", "Writes the words in your own editor ($VISUAL, $EDITOR).",
     SMELLING, "e", SHEET, .run = blotter_write_long},
    {"correct-note", "correct note",
     "Puts another note in the selected one's place; the old one is kept.", SMELLING, "c", SHEET,
     .run = blotter_correct},
    {"take-note-back", "take note back",
     "Takes the selected note back; it stays in the file, but counts no more.", SMELLING, "x",
     SHEET, .run = blotter_take_back},
    {"put-on", "put on",
     "Puts a kept trial on a blotter or on skin, to be smelled by the schedule.", SMELLING, "n",
     SHEET, .run = blotter_put_on},
    {"stop-smelling", "stop", "Stops smelling the selected one.", SMELLING, NULL, SHEET,
     .verb = PM_VERB_DROP, .ready = blotter_on_running, .write = blotter_stop},
    {.verb = PM_VERB_UNDO,
     .help = "Says what takes notes and blotters back here.",
     .group = SMELLING,
     .modes = SHEET,
     .run = blotter_no_undo},
    {"take-up", "take up again", "Takes up again what was stopped last.", SMELLING, "U", SHEET,
     .ready = blotter_has_stopped, .write = blotter_take_up},
    {"schedule", "schedule", "Changes the times at which to smell.", SMELLING, "s", SHEET,
     .run = blotter_schedule},
    {"blotter-view", "log, curves, words",
     "Goes on from the log to intensity over time, then to the words by stage.", SMELLING, "v",
     SHEET, .run = blotter_next_view},
    {"one-trial", "one trial", "Shows the notes of the selected one's trial alone, or all again.",
     SMELLING, "t", SHEET, .run = blotter_one_trial},
    {"show-corrected", "show corrected",
     "Lists notes that were corrected or taken back as well, or not.", SMELLING, "h", SHEET,
     .run = blotter_show_corrected},
    {"blind-tests", "blind tests",
     "Shows the blind tests: can trials be told apart, which one comes first?", BLIND, "b", SHEET,
     .run = tests_open},
    {"open-test", "open", "Opens the test; in an open one answers the round.", BLIND, NULL, TESTS,
     .verb = PM_VERB_OPEN, .ready = tests_any, .run = tests_open_selected},
    {"new-test", "new test", "Plans a blind test of kept trials.", BLIND, "n Insert", TESTS,
     .run = tests_new},
    {"answer-test", "answer", "Answers by the code on the vial; a digit begins at once.", BLIND,
     "a", TESTS, .ready = tests_one, .run = tests_answer},
    {"test-codes", "codes", "Shows the assessor's page: the codes in the order of smelling.", BLIND,
     "k", TESTS, .ready = tests_one, .run = tests_codes},
    {"fill-page", "fill vials", "Shows the page for whoever fills the vials; it holds the key.",
     BLIND, "f", TESTS, .ready = tests_one, .run = tests_fill},
    {"close-test", "close test", "Ends the test for good and shows its key and result.", BLIND, "w",
     TESTS, .ready = tests_one, .run = tests_close},
};

const struct pm_action_table blotter_actions = {rows, sizeof rows / sizeof *rows};
