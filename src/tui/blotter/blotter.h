/* SPDX-License-Identifier: MIT */
/*
 * The inside of the Blotter room, for the files that make it up.
 *
 *   blotter_room.c     the room as the application sees it
 *   blotter.c          what is read, views
 *   blotter_state.c    what is selected
 *   blotter_actions.c  what can be done
 *   blotter_draw.c     the running session, the log, curves, words, details of one
 *   blotter_find.c     going to a row by typing
 *   blotter_note.c     noting, correcting, putting on, the schedule
 *   blotter_tests.c    blind tests: list, one of them, answers
 */
#ifndef PERMILLE_TUI_ROOM_BLOTTER_H
#define PERMILLE_TUI_ROOM_BLOTTER_H

#include "kit/room.h"
#include "kit/table.h"
#include "rooms.h"

#include "permille/studio/blind.h"
#include "permille/studio/blotter.h"
#include "permille/studio/trials.h"

#define DOT " \xC2\xB7 "

/* Blind tests, shown in place of the log. */
#define MODE_TESTS PM_MODE_ROOM

/* What the lower part of the sheet shows. */
enum blotter_view { VIEW_LOG, VIEW_CURVES, VIEW_WORDS, VIEW_COUNT };

/* What an open form or prompt is about. */
struct blotter_asked {
    int64_t application; /* a running one; 0 */
    int64_t applied_at;  /* its, in seconds */
    int64_t corrects;    /* a note; 0 */
    bool with_words;     /* the form has a field for words */
    char *words;         /* owned; written in the editor instead, or NULL */
    int64_t old;         /* note whose words are being written in the editor; 0: a new one */
};

struct blotter {
    struct pm_app *app;
    struct pm_house *house;
    int64_t formula, read_at; /* what was read, and when */
    char *name;               /* of the formula; NULL: none is open */
    struct pm_session_entries running;
    struct pm_smells notes;
    const char *odd; /* a remark about the clock that goes with them, or NULL */
    int64_t only;    /* number of the trial whose notes alone are shown; 0: of all */
    bool corrected_too;
    int64_t ended; /* the one that was stopped last, to be taken up again; 0 */

    size_t at; /* among the running ones and then the notes */
    struct pm_table_view running_list, note_list;
    enum blotter_view view;

    struct pm_smell_picture picture; /* curves as last drawn */
    int drawn_rows, drawn_columns;   /* for that size; 0: not drawn since the last reading */
    bool left_out;                   /* not all trials fitted into the drawing */
    struct pm_words words[PM_STAGES];
    bool counted;           /* words are those of the notes read last */
    struct pm_error unread; /* why curves or words could not be read */

    struct pm_word_list known; /* for completion */
    struct blotter_asked asked;

    bool testing; /* blind tests are shown */
    struct pm_panel_rows tests;
    struct pm_table_view test_list;
    bool one; /* one test is open */
    struct pm_blind_sheet test;
    struct pm_table_view round_list;
    bool replace; /* the answer asked for takes an earlier one's place */
};

/* blotter.c */
/* The selected running one, or note; NULL when it is the other, or there is none. */
const struct pm_session_entry *blotter_running(const struct blotter *blotter);
const struct pm_smell *blotter_note(const struct blotter *blotter);
/* Reads everything again; what was selected stays so. */
void blotter_read(struct blotter *blotter);
/* The same as the read of a room. */
enum pm_status blotter_read_again(void *blotter, const char **what, struct pm_error *err);
/* What was read goes. */
void blotter_forget(struct blotter *blotter);
/* Blind tests and the one that is open are read; one is opened, or forgotten. */
enum pm_status tests_read(struct blotter *blotter, struct pm_error *err);
enum pm_status tests_read_one(struct blotter *blotter, int64_t id, struct pm_error *err);
void tests_forget_one(struct blotter *blotter);
/* Running ones and notes. */
size_t blotter_rows(const struct blotter *blotter);
/* Says what was written, frees it, and reads again. */
void blotter_done(struct blotter *blotter, struct pm_smell_done *done);
/* "Name/3" for a trial of the formula that is shown. */
void blotter_title(const struct blotter *blotter, int64_t number, struct pm_text *out);

/* blotter_draw.c */
/* Reads curves or words for a pane of that size. */
void blotter_prepare(void *blotter, const struct pm_canvas *canvas);
void blotter_paint(struct blotter *blotter, const struct pm_canvas *canvas);
/* What was drawn or counted from notes that are read anew. */
void blotter_forget_picture(struct blotter *blotter);

/* blotter_note.c */
/* A new note; `typed` is a digit that was typed, or NULL. */
void blotter_smell(struct blotter *blotter, const char *typed);
/* Completes with the kept trials of the formula that is shown, newest first; what stands before the
 * last comma stays. */
bool blotter_complete_trial(void *context, const char *before, size_t round, struct pm_text *out);
void blotter_note_release(struct blotter *blotter);

/* blotter_tests.c */
/* The list of tests, or the rounds of one; and a row of it selected. */
struct pm_table tests_table(struct blotter *blotter);
void tests_go(struct blotter *blotter, size_t row);
void tests_release(struct blotter *blotter);
void tests_paint(struct blotter *blotter, const struct pm_canvas *canvas);
unsigned tests_act(struct blotter *blotter, int code);
unsigned tests_text(struct blotter *blotter, const char *text);
/* Why answers are not taken back. */
void tests_say_no_undo(const struct blotter *blotter);

/* ---- the actions: blotter_actions.c; what they work on is a struct blotter ---- */

extern const struct pm_action_table blotter_actions;

/* There is a test; one is open (the selected one is opened): otherwise says so. */
bool tests_any(void *blotter);
bool tests_one(void *blotter);

void blotter_next_view(void *blotter); /* blotter.c */
void blotter_one_trial(void *blotter);
void blotter_find(void *blotter); /* blotter_find.c */
void blotter_show_corrected(void *blotter);
void blotter_smell_selected(void *blotter); /* blotter_note.c */
void blotter_read_note(void *blotter);
void blotter_write_long(void *blotter);
void blotter_correct(void *blotter);
void blotter_take_away(void *blotter);
void blotter_put_on(void *blotter);
bool blotter_has_stopped(void *blotter); /* one was stopped here; says so otherwise */
enum pm_status blotter_take_up(void *blotter, struct pm_error *err);
void blotter_schedule(void *blotter);
void tests_open(void *blotter); /* blotter_tests.c */
void tests_open_selected(void *blotter);
void tests_new(void *blotter);
void tests_answer(void *blotter);
void tests_codes(void *blotter);
void tests_fill(void *blotter);
void tests_close(void *blotter);

#endif
