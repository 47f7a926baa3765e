/* SPDX-License-Identifier: MIT */
/*
 * The rooms of the editor: their numbers, what they share, and what they ask of one another.
 *
 * To add a room: give it a number below, declare its struct pm_room, and name it in rooms.c. Its
 * state begins with the application: then what every room offers (the functions called ..._here)
 * can stand in its table of actions.
 */
#ifndef PERMILLE_TUI_ROOMS_H
#define PERMILLE_TUI_ROOMS_H

#include "kit/action.h"
#include "kit/app.h"
#include "permille/base/status.h"
#include "permille/base/text.h"
#include "permille/core/settings.h"

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
    PM_ROOM_BRINGING,
    PM_ROOM_LIMITS,
    PM_ROOM_DRYDOWN,
    PM_ROOM_SCALE,
    PM_ROOM_SETTINGS,
    PM_ROOM_NUMBERS
};

extern const struct pm_room pm_room_bench;
extern const struct pm_room pm_room_trials;
extern const struct pm_room pm_room_blotter;
extern const struct pm_room pm_room_shelf;
extern const struct pm_room pm_room_bringing;
extern const struct pm_room pm_room_limits;
extern const struct pm_room pm_room_drydown;
extern const struct pm_room pm_room_scale;
extern const struct pm_room pm_room_settings;

/* What the rooms share: the application's host. */
struct pm_house {
    struct pm_studio *studio; /* borrowed */
    char sign;                /* decimal sign shown; both are read */
    bool utf8;                /* the terminal shows more than ASCII */
    int64_t formula;          /* open in the Bench; 0: none */
    int64_t batch;            /* mass that stock is looked at for; 0: pm_house_batch says */
    const char *copied;       /* sentence about a change that was copied last in the Trials, which
                                 own it; NULL: none */
    bool guided;              /* the first steps are shown */
    struct pm_settings settings; /* in force; pm_house_read_settings */
};

/* The application that the state of a room begins with. */
static inline struct pm_app *pm_app_of(void *state)
{
    return *(struct pm_app **)state;
}

/* The application that the program is: all rooms with their actions; without host and clock. */
struct pm_app_spec pm_rooms_spec(void);

/* For pm_app_spec.copy: writes the text into a new file of the current folder, "permille-copy.tsv",
 * "permille-copy-2.tsv", unless the settings let it go to the clipboard. */
enum pm_status pm_copies_file(void *host, const char *text, struct pm_text *where,
                              struct pm_error *err);

/* The first steps, for pm_app_spec.guide. */
extern const struct pm_guide pm_first_steps_guide;

/* ---- between rooms ---- */

/* What the formula that is open is called, a new string. */
enum pm_status pm_house_name(const struct pm_house *house, char **out, struct pm_error *err);
/* Reads the settings: before the application is made, and when they may have changed. Those that
 * cannot be read stay as they are, or are as usual. */
void pm_house_read_settings(struct pm_house *house);
/* The batch that the rooms reckon with, in micrograms: the one asked for last, at first what the
 * settings say. */
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
void pm_bench_keep_here(void *state);
/* The revisions of the formula that is open as a picker. number as pm_history_list. */
void pm_bench_revisions(struct pm_app *app, int64_t number);

/* Shows trials side by side, in front. */
enum pm_status pm_trials_compare(struct pm_app *app, const int64_t *chosen, size_t count,
                                 struct pm_error *err);
/* The kept trials marked in Trials, "Harbour/1, Harbour/2"; nothing when none is. */
void pm_trials_marked(struct pm_app *app, struct pm_text *out);
/* The sheet the Bench shows; NULL when none is open. Borrowed until the next event. */
const struct pm_sheet *pm_bench_shown(struct pm_app *app);

/* For forms: the round-th solvent whose name or synonym holds what was typed. */
bool pm_complete_solvent(const struct pm_house *house, const char *before, size_t round,
                         struct pm_text *out);
/* The round-th kept trial of the formula that is open, newest first, that goes on from what stands
 * behind the last comma; those named already are passed over. */
bool pm_complete_trial(const struct pm_house *house, const char *before, size_t round,
                       struct pm_text *out);
/* Asks for a batch and shows what the formula that is open costs. */
void pm_shelf_cost_here(void *state);

/* Shows what a pasted text says, to be brought in; or says why it cannot be read. */
void pm_bringing_paste(struct pm_app *app, const char *text);

/* What a room says that shows the open formula, while there is none; on five rows from `row` on. */
void pm_formulas_invite(const struct pm_app *app, const struct pm_pane *pane, int row);
void pm_formulas_list_here(void *state);
void pm_formulas_new_here(void *state);
void pm_formulas_this_here(void *state);

#endif
