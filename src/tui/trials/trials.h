/* SPDX-License-Identifier: MIT */
/*
 * The inside of the Trials room, for the files that make it up.
 *
 *   trials_room.c     the room as the application sees it
 *   trials.c          what is read
 *   trials_pick.c     what is selected and marked
 *   trials_actions.c  what can be done
 *   trials_draw.c     the tree of trials and the details of one
 *   trials_mark.c     labels, setting aside, trials of other formulas, the page about a trial
 *   trials_print.c    a trial, or what stands side by side, into a file
 *   trials_side.c     two to four trials side by side; side.h paints them
 */
#ifndef PERMILLE_TUI_ROOM_TRIALS_H
#define PERMILLE_TUI_ROOM_TRIALS_H

#include "kit/room.h"
#include "kit/table.h"
#include "rooms.h"
#include "side.h"

#include "permille/studio/trials.h"

#define DOT " \xC2\xB7 "

/* Trials side by side, shown in place of the tree. */
#define MODE_SIDE PM_MODE_ROOM

/* A trial to stand side by side, of any formula. */
struct trials_pick {
    int64_t id;
    bool kept;
    char *title; /* owned: "Name/3"; of a draft "Name" */
};

struct trials {
    struct pm_app *app;
    struct pm_house *house;
    int64_t formula; /* what was read */
    char *name;      /* of the formula; NULL: none is open */
    struct pm_trial_entries entries;
    bool *told;     /* owned; one per entry: `changed` has been asked for */
    bool aside_too; /* what was set aside is listed as well */
    size_t kept;    /* entries that are no draft */
    struct pm_table_view list;
    bool wide;     /* at the last paint: words in full, notes in a column of their own */
    int64_t asked; /* trial id an open prompt is about */

    struct trials_pick picks[PM_COMPARE_MAX]; /* in the order they were marked */
    size_t pick_count;

    bool beside; /* trials are shown side by side */
    int64_t compared[PM_COMPARE_MAX];
    size_t compared_count;
    enum pm_compare_by by;
    struct side side;
    char *copied; /* owned; the sentence copied last, or NULL */
};

/* trials.c */
struct pm_table trials_table(struct trials *trials);
/* NULL in an empty list. */
const struct pm_trial_entry *trials_selected(const struct trials *trials);
/* Reads the list again; the selection stays on its trial. */
void trials_read(struct trials *trials);
/* The same as the read of a room. */
enum pm_status trials_read_again(void *trials, const char **what, struct pm_error *err);
/* What was read goes. */
void trials_forget(struct trials *trials);
void trials_unmark_all(struct trials *trials);
/* Place among the marked ones from 1; 0: not marked. */
size_t trials_marked(const struct trials *trials, int64_t trial);
/* Marks a trial, or takes its mark away; says why when there are too many. */
bool trials_mark(struct trials *trials, int64_t trial, bool kept, const char *title);
/* What an entry is called: "Name/3", "Name". */
void trials_title(const struct trials *trials, const struct pm_trial_entry *entry,
                  struct pm_text *out);

/* trials_draw.c */
void trials_paint(struct trials *trials, const struct pm_canvas *canvas);
/* "weighed twice, smelled once" */
void trials_used(const struct pm_trial_entry *entry, struct pm_text *out);

/* trials_side.c: a digit asks which trials to compare. */
unsigned trials_side_typed(struct trials *trials, const char *text);

/* ---- the actions: trials_actions.c; what they work on is a struct trials ---- */

extern const struct pm_action_table trials_actions;

void trials_no_undo(void *trials);
void trials_find(void *trials);    /* trials_mark.c */
bool trials_on_kept(void *trials); /* a kept one is selected; says so otherwise */

void trials_look(void *trials); /* trials.c */
void trials_branch(void *trials);
void trials_revisions(void *trials);
void trials_mark_selected(void *trials);
void trials_label(void *trials); /* trials_mark.c */
enum pm_status trials_set_aside(void *trials, struct pm_error *err);
void trials_show_aside(void *trials);
void trials_mark_any(void *trials);
void trials_about(void *trials);
void trials_print(void *trials); /* trials_print.c */
void trials_side(void *trials);  /* trials_side.c */
void trials_side_by(void *trials);
void trials_side_only(void *trials);
void trials_side_sort(void *trials);
void trials_side_copy(void *trials);
void trials_side_first(void *trials);
void trials_side_find(void *trials);
void trials_side_out(void *trials);

/* trials_side.c */
/* Reads the compared trials again. */
enum pm_status trials_side_read(struct trials *trials, struct pm_error *err);
void trials_side_close(struct trials *trials);
/* Up, down, to another trial: PM_UNHANDLED when it is none of that. */
unsigned trials_side_move(struct trials *trials, int code);

#endif
