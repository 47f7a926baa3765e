/* SPDX-License-Identifier: MIT */
/* What can be done in the Scale room. The ids are stable: people's key files name them. */
#include "scale_room.h"

#define FORMULA "Formulas and trials"
#define BATCHES "Batches"
#define POURING "Pouring"

#define SHEET PM_MODE_SHEET
#define ROOM  PM_MODE_ROOM

static void no_undo(void *state)
{
    const struct scale_room *room = state;
    char key[PM_KEY_TEXT], away[PM_KEY_TEXT];
    if (room->open != 0)
        pm_app_say(room->app,
                   "What is in the beaker stays in the beaker; %s says what a pour was in truth.",
                   pm_app_key(room->app, "correct-pour", key));
    else
        pm_app_say(room->app, "Batches are a record: nothing is undone here; %s gives one up.",
                   pm_app_key(room->app, "give-up-batch", away));
}

static const struct pm_action rows[] = {
    {.verb = PM_VERB_FORMULAS, .modes = SHEET, .run = pm_formulas_list_here},
    {.verb = PM_VERB_NEW_FORMULA, .modes = SHEET, .run = pm_formulas_new_here},
    {.verb = PM_VERB_THIS_FORMULA, .modes = SHEET, .run = pm_formulas_this_here},
    {.verb = PM_VERB_KEEP, .modes = SHEET, .run = pm_bench_keep_here},
    {.verb = PM_VERB_UNDO,
     .help = "Says what can be taken back here, and how.",
     .group = BATCHES,
     .modes = SHEET | ROOM,
     .run = no_undo},
    {"find-batch", "find", "Goes to a batch, or to a line of one: type part of its row.", BATCHES,
     NULL, SHEET | ROOM, .verb = PM_VERB_SEARCH, .run = scale_find},
    {"open-batch", "pour, look", "Starts a planned batch, goes on with one, shows a finished one.",
     BATCHES, NULL, SHEET, .verb = PM_VERB_OPEN, .ready = scale_any, .run = scale_enter,
     .also = "weigh"},
    {"plan-batch", "plan a batch", "Plans a batch of a kept trial.", BATCHES, NULL, SHEET,
     .verb = PM_VERB_NEW, .run = scale_plan, .also = "weigh make produce"},
    {"give-up-batch", "give up", "Gives a batch up; what was poured stays poured.", BATCHES, NULL,
     SHEET, .verb = PM_VERB_DROP, .ready = scale_any, .run = scale_give_up},
    {"weigh-sheet", "weigh sheet",
     "Shows what to weigh from which bottle and what to dilute first; of a started one its record.",
     BATCHES, NULL, SHEET | ROOM, .verb = PM_VERB_PAPER, .ready = scale_any, .run = scale_sheet,
     .also = "list to weigh"},
    {"dilute-first", "dilute first",
     "Lists what a planned batch asks to be diluted first, and makes it.", BATCHES, NULL, SHEET,
     .verb = PM_VERB_STRENGTH, .ready = scale_any, .run = scale_dilute},
    {"print-batch", "print", "Exports the weigh sheet, or the record, into a file.", BATCHES, NULL,
     SHEET | ROOM, .verb = PM_VERB_PRINT, .ready = scale_any, .run = scale_print},
    {"all-batches", "all batches", "Lists finished and given up ones as well, or not.", BATCHES,
     NULL, SHEET, .verb = PM_VERB_HIDDEN, .run = scale_show_all},
    {"balances", "balances", "Chooses the balance in use; keeps another.", BATCHES, NULL, SHEET,
     .verb = PM_VERB_SETUP, .run = scale_balances},
    {"fill-batch", "fill", "Works out a filling into ethanol and water and puts it on record.",
     BATCHES, NULL, SHEET | ROOM, .verb = PM_VERB_FILL, .run = scale_fill,
     .also = "dilute alcohol ethanol perfume maceration"},
    {"fillings", "fillings",
     "Lists what was filled and when it is to be filtered or has matured; says what was done.",
     BATCHES, NULL, SHEET, .verb = PM_VERB_BESIDE, .run = scale_fillings,
     .also = "maturing maceration age filter"},
    {"pour", "pour", "Notes what the display shows for the selected line.", POURING, NULL, ROOM,
     .verb = PM_VERB_OPEN, .ready = scale_pouring, .run = scale_pour_here},
    {"ways-out", "ways out", "Shows what can be done about what is too much.", POURING, NULL, ROOM,
     .verb = PM_VERB_LEVEL, .ready = scale_pouring, .run = scale_ways,
     .also = "too much overpour rescue mistake save"},
    {"pour-from", "from another", "Pours the selected line from another bottle.", POURING, NULL,
     ROOM, .verb = PM_VERB_SWAP, .ready = scale_pouring, .run = scale_pour_from},
    {"become", "what it becomes",
     "Shows what the trial has become in the beaker so far, by material and against limits.",
     POURING, NULL, ROOM, .verb = PM_VERB_ABOUT, .ready = scale_started, .run = scale_become},
    {"correct-pour", "correct", "Says what a pour of the selected line was in truth.", POURING,
     NULL, ROOM, .verb = PM_VERB_EDIT, .ready = scale_started, .run = scale_correct},
    {"pause-batch", "pause", "Goes on another time; everything poured is saved already.", POURING,
     NULL, ROOM, .verb = PM_VERB_HOLD, .ready = scale_pouring, .write = scale_pause},
    {"finish-batch", "finish", "Ends the batch; it may become a bottle, and a kept trial.", POURING,
     NULL, ROOM, .verb = PM_VERB_KEEP, .ready = scale_pouring, .run = scale_finish},
    {"read-balance", "read a balance", "Listens to a balance that sends what it shows, or stops.",
     POURING, NULL, ROOM, .verb = PM_VERB_SETUP, .ready = scale_pouring, .run = scale_listen},
};

const struct pm_action_table scale_actions = {rows, sizeof rows / sizeof *rows};
