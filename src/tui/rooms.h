/* SPDX-License-Identifier: MIT */
/*
 * The rooms of the editor: their numbers, what they share, and the actions they offer.
 *
 * To add a room: give it a number below, declare its struct pm_room, name it in rooms.c, and add
 * its actions to actions_rooms.c.
 */
#ifndef PERMILLE_TUI_ROOMS_H
#define PERMILLE_TUI_ROOMS_H

#include "kit/action.h"
#include "kit/app.h"
#include "permille/base/status.h"
#include "permille/base/text.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct pm_sheet;
struct pm_studio;
struct pm_revision_entry;

enum pm_room_number {
    PM_ROOM_BENCH,
    PM_ROOM_TRIALS,
    PM_ROOM_SHELF,
    PM_ROOM_BLOTTER,
    PM_ROOM_NUMBERS
};

extern const struct pm_room pm_room_bench;
extern const struct pm_room pm_room_trials;
extern const struct pm_room pm_room_blotter;
extern const struct pm_room pm_room_shelf;

/* What the rooms share: the application's host. */
struct pm_house {
    struct pm_studio *studio; /* borrowed */
    char sign;                /* decimal sign shown; both are read */
    bool utf8;                /* the terminal shows more than ASCII */
    int64_t formula;          /* open in the Bench; 0: none */
    int64_t batch;            /* mass that stock is looked at for; 0: pm_house_batch says */
    /* Grows with every change the rooms have not made themselves to what they show: another
     * instance's, or another room's. A room that remembers an older one reads again. */
    int64_t version;
};

/* What the rooms' actions do. */
enum pm_room_act {
    PM_ACT_ADD = PM_ACT_ROOMS,
    PM_ACT_ADD_ACCORD,
    PM_ACT_DROP,
    PM_ACT_SWAP,
    PM_ACT_EDIT, /* opens the parts cell with its value */
    PM_ACT_MORE, /* nudge */
    PM_ACT_LESS,
    PM_ACT_SCALE,
    PM_ACT_HOLD,
    PM_ACT_CARRY,
    PM_ACT_MODE,
    PM_ACT_CORE,
    PM_ACT_MARK,
    PM_ACT_MARK_ALL,
    PM_ACT_RESTRENGTH,
    PM_ACT_BASE,
    PM_ACT_SETTLE,
    PM_ACT_FOLD,
    PM_ACT_UNFOLD,
    PM_ACT_RAISE, /* the line one place up */
    PM_ACT_LOWER,
    PM_ACT_COMMENT,
    PM_ACT_UNDO,
    PM_ACT_REDO,
    PM_ACT_RETRY, /* writes again what could not be written */
    PM_ACT_FLAT,
    PM_ACT_FORMULAS,
    PM_ACT_NEW_FORMULA,
    PM_ACT_THIS_FORMULA, /* copy, rename, accord, set aside, bring back */
    PM_ACT_KEEP,
    PM_ACT_BRANCH, /* what is shown read-only becomes the draft */
    PM_ACT_DRAFT,  /* back to the draft */
    PM_ACT_REVISIONS,
    PM_ACT_LABEL,
    PM_ACT_LOOK,       /* at a trial, in the Bench */
    PM_ACT_MARK_TRIAL, /* for side by side */
    PM_ACT_MARK_ANY,   /* a trial of any formula */
    PM_ACT_TRIAL_ASIDE,
    PM_ACT_SHOW_ASIDE,
    PM_ACT_ABOUT, /* everything about a trial */
    PM_ACT_SIDE,
    PM_ACT_SIDE_BY, /* poured, neat, flat */
    PM_ACT_SIDE_ONLY,
    PM_ACT_SIDE_SORT,
    PM_ACT_SIDE_COPY,
    PM_ACT_SIDE_FIRST,
    PM_ACT_SIDE_OUT,

    PM_ACT_GO_IN, /* from a material to its bottles, from a bottle into the cell */
    PM_ACT_SEARCH,
    PM_ACT_FILTER_FAMILY,
    PM_ACT_FILTER_HAVE,
    PM_ACT_FILTER_LOW,
    PM_ACT_FILTER_OLD,
    PM_ACT_FILTER_OVER,
    PM_ACT_FILTER_ASIDE,
    PM_ACT_NEW_MATERIAL,
    PM_ACT_EDIT_MATERIAL,
    PM_ACT_OWN_VALUE,
    PM_ACT_OWN_CONSTITUENT,
    PM_ACT_JOIN,
    PM_ACT_FACTS,
    PM_ACT_STARTER,
    PM_ACT_ADD_BOTTLE,
    PM_ACT_EDIT_CELL,
    PM_ACT_COUNT,
    PM_ACT_TAKE,
    PM_ACT_DILUTE,
    PM_ACT_MOVE_BOTTLE,
    PM_ACT_OPENED, /* today */
    PM_ACT_EMPTY_BOTTLE,
    PM_ACT_SET_ASIDE, /* a material or a bottle; brings it back as well */
    PM_ACT_LEDGER,
    PM_ACT_PRICE_BY,
    PM_ACT_SHELF_HISTORY,
    PM_ACT_POSSIBLE,
    PM_ACT_PLANNED,
    PM_ACT_SHOPPING,
    PM_ACT_COST,
    PM_ACT_RATE,

    PM_ACT_SMELL, /* a new smell note */
    PM_ACT_READ_NOTE,
    PM_ACT_CORRECT,
    PM_ACT_TAKE_BACK,
    PM_ACT_WRITE_LONG, /* words in the person's own editor */
    PM_ACT_PUT_ON,     /* starts smelling over time */
    PM_ACT_TAKE_OFF,
    PM_ACT_TAKE_UP, /* what was stopped */
    PM_ACT_SCHEDULE,
    PM_ACT_BLOTTER_VIEW, /* log, curves, words */
    PM_ACT_ONE_TRIAL,
    PM_ACT_SHOW_CORRECTED,
    PM_ACT_TESTS, /* blind tests */
    PM_ACT_TEST_NEW,
    PM_ACT_TEST_OPEN,
    PM_ACT_TEST_ANSWER,
    PM_ACT_TEST_CODES,
    PM_ACT_TEST_FILL,
    PM_ACT_TEST_CLOSE
};

extern const struct pm_action pm_room_actions[];
extern const size_t pm_room_action_count;
/* The application that the program is: all rooms with their actions; without host and clock. */
struct pm_app_spec pm_rooms_spec(void);

/* ---- between rooms ---- */

/* What the formula that is open is called, a new string. */
enum pm_status pm_house_name(const struct pm_house *house, char **out, struct pm_error *err);
/* Asks the studio whether another instance wrote; if so the house's version grows. */
void pm_house_look(struct pm_house *house);
/* The batch that the rooms reckon with, in micrograms: the one asked for last, at first 10 g. */
int64_t pm_house_batch(const struct pm_house *house);
/* Shows another formula's draft (0: none), a kept trial, or the state after a revision in the
 * Bench and brings it to the front. */
enum pm_status pm_bench_show_draft(struct pm_app *app, int64_t formula, struct pm_error *err);
enum pm_status pm_bench_show_trial(struct pm_app *app, int64_t trial, struct pm_error *err);
enum pm_status pm_bench_show_revision(struct pm_app *app, const struct pm_revision_entry *revision,
                                      struct pm_error *err);
/* Makes a kept trial the draft (a gesture), seen in the Bench. */
enum pm_status pm_bench_branch(struct pm_app *app, int64_t trial, struct pm_error *err);
/* Asks for a note and keeps the draft of the formula that is open. */
void pm_bench_keep(struct pm_app *app);
/* The revisions of the formula that is open as a picker. number as pm_history_list. */
void pm_bench_revisions(struct pm_app *app, int64_t number);

/* The sentence about a change that was copied last, NULL: none; borrowed. */
const char *pm_trials_copied(struct pm_app *app);
/* Lets the Bench read again what changed, if it is in use. */
void pm_bench_catch_up(struct pm_app *app);
/* The sheet the Bench shows; NULL when none is open. Borrowed until the next event. */
const struct pm_sheet *pm_bench_shown(struct pm_app *app);

/* For forms: the round-th solvent whose name or synonym holds what was typed. */
bool pm_complete_solvent(const struct pm_house *house, const char *before, size_t round,
                         struct pm_text *out);
/* Asks for a batch and shows what the formula that is open costs. */
void pm_shelf_cost(struct pm_app *app);

/* The formulas as a picker; making a new one (`name` to begin with, or NULL); what can be done
 * with the one that is open. */
void pm_formulas_open(struct pm_app *app);
void pm_formulas_new(struct pm_app *app, const char *name);
void pm_formulas_this(struct pm_app *app);

#endif
