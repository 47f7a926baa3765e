/* SPDX-License-Identifier: MIT */
/*
 * A room: one screen of the application, as a const struct of functions over state of its own.
 *
 * Handlers change state and answer with flags; they never paint. The application paints from state
 * afterwards. A room reaches the application through app.h.
 */
#ifndef PERMILLE_TUI_ROOM_H
#define PERMILLE_TUI_ROOM_H

#include "action.h"
#include "grid.h"
#include "permille/base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct pm_app;

/* What a handler answers, combined. */
enum pm_answer {
    PM_UNHANDLED = 0, /* not mine */
    PM_HANDLED = 1,   /* done; the screen stays as it is */
    PM_REDRAW = 2,    /* done; paint again */
    PM_QUIT = 4       /* leave the program (the application asks if something is half typed) */
};

/* Where a room paints. The heading pane is the rest of the first row, right of the room's name. */
struct pm_canvas {
    struct pm_pane heading;
    struct pm_pane sheet;
    struct pm_pane details; /* 0 columns when the terminal is narrower than PM_DETAILS_FROM */
    int covered;            /* rows at the bottom of the sheet that an overlay lies over just now */
};

struct pm_room {
    const char *id;   /* "bench" */
    const char *name; /* "Bench" */
    const char *keys; /* keys that lead here, from every room: "B f2" */
    const char *help; /* one sentence: what one does here */
    bool details;     /* it uses a details pane where there is room for one */
    /* Whether its sheet takes the whole width just now, details or not. May be NULL. */
    bool (*whole)(const void *state);

    /* Makes the state when the room is first entered. */
    enum pm_status (*open)(struct pm_app *app, void **state, struct pm_error *err);
    void (*enter)(void *state); /* came to the front, and is read; may be NULL */
    /* The library may hold something else than when it was last read, or nothing was read yet:
     * reads it; what was selected and half typed stays where it can. Called before the room is
     * shown, given a key or handed to another room. When what is under the hand (what the next key
     * would act on) is not what it was, *what says what changed ("this formula"). A failure changes
     * nothing; then it is called again with the next key. NULL for a room that shows nothing of the
     * library. */
    enum pm_status (*read)(void *state, const char **what, struct pm_error *err);
    /* Called before the state is painted: reads what is to be shown and was not read yet, for panes
     * of that size. May be NULL. */
    void (*prepare)(void *state, const struct pm_canvas *canvas);
    /* Paints from state alone, and places the cursor on the focused item with pm_pane_cursor.
     * Called after every event; must not fail and must cope with any size of its panes. */
    void (*draw)(void *state, const struct pm_canvas *canvas);
    /* One bit of enum pm_input_mode; NULL means always PM_MODE_SHEET. */
    unsigned (*mode)(const void *state);
    const char *mode_heading; /* above what works in PM_MODE_ROOM, in help; NULL: no such mode */
    /* What can be done here; the functions of the rows get the room's state. */
    const struct pm_action_table *actions; /* NULL: nothing of its own */
    /* One of the toolkit's general actions or of typing (enum pm_act) that no row of the table
     * takes. */
    unsigned (*act)(void *state, int code);
    /* Typed characters no action claimed, or pasted text. May be NULL. */
    unsigned (*text)(void *state, const char *text, bool pasted);
    /* What the key line offers: lists of the ids of actions, most useful first, separated by
     * blanks (NULL ends the lists), and which of them suits now. NULL: none; the first one. */
    const char *const *hints;
    size_t (*hint)(const void *state);
    /* What the message row says while there is no message: the verdict on what is being typed, or
     * more about the selected item, unless the details pane says it (`details`: it is shown).
     * Writes it into `out` and returns its role. May be NULL. */
    enum pm_role (*remark)(const void *state, bool details, struct pm_text *out);
    /* What would be lost by leaving now, as the start of a sentence ("A half-typed number"), or
     * NULL. May be NULL. */
    const char *(*unsaved)(const void *state);
    /* When it wants to be woken (Unix seconds; INT64_MAX: never), and the waking, also while
     * another room is in front. Both may be NULL. */
    int64_t (*wake)(const void *state);
    unsigned (*tick)(void *state, int64_t now);
    void (*close)(void *state);
};

#endif
