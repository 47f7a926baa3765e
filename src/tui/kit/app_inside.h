/* SPDX-License-Identifier: MIT */
/*
 * The inside of the application, for the files that make it up. Each calls those above it:
 *
 *   app_base.c   what it knows; messages
 *   overlay.c    the stack of overlays
 *   app_rooms.c  rooms: opening, reading again, going
 *   app_waits.c  what takes long, and may be given up
 *   app_jobs.c   what is done once the screen has been painted, and what is due
 *   field.c, choice.c, form.c, page.c, picker.c   the overlays
 *   panels.c     the application's own: all keys, finding an action, past messages, leaving
 *   app.c        made, freed; events
 *   draw.c       painting
 */
#ifndef PERMILLE_TUI_APP_INSIDE_H
#define PERMILLE_TUI_APP_INSIDE_H

#include "app.h"

#define PM_ROOMS_MOST    32
#define PM_MESSAGE_BYTES 1024 /* a longer one is cut */

struct pm_overlay;

struct pm_overlay_kind {
    unsigned mode; /* one bit of enum pm_mode */
    /* Rows it would like for its content, so many columns wide, its title rule not counted. */
    int (*rows)(const struct pm_overlay *overlay, int most, int columns);
    /* Paints the content and places the cursor. */
    void (*draw)(struct pm_overlay *overlay, const struct pm_pane *pane);
    unsigned (*act)(struct pm_overlay *overlay, const struct pm_action *action);
    unsigned (*text)(struct pm_overlay *overlay, const char *text); /* may be NULL */
    /* Calls the spec's accept(); NULL where nothing is accepted. */
    enum pm_status (*accept)(struct pm_overlay *overlay, struct pm_error *err);
    /* Something was typed that closing would lose; may be NULL. */
    bool (*half_typed)(const struct pm_overlay *overlay);
    void (*free)(struct pm_overlay *overlay); /* calls the spec's closed() */
    const char *hints;                        /* ids of actions, separated by blanks */
};

/* Every kind of overlay begins with this. */
struct pm_overlay {
    const struct pm_overlay_kind *kind;
    struct pm_app *app;
    struct pm_overlay *below;
    char *title;  /* owned */
    bool closed;  /* on its way out: takes no more keys, freed after the event */
    bool writing; /* accepted, and out of sight until that is written */
};

/* Puts a finished overlay on top; takes it over. */
void pm_overlay_push(struct pm_app *app, struct pm_overlay *overlay, const char *title);
/* Marks it as closed. */
void pm_overlay_close(struct pm_overlay *overlay);
/* The person says yes: has the kind accept, at once or, when that writes, after the screen has been
 * painted. Then closes, or shows the reason. */
unsigned pm_overlay_accept(struct pm_overlay *overlay, bool writes);
/* What an overlay hands out as its context: the one given, or where a size is a copy of it. False
 * when memory ran out; then *out is the one given. */
bool pm_overlay_context_keep(void *context, size_t size, void **out);
/* When the overlay goes: calls closed (may be NULL), then frees the copy. */
void pm_overlay_context_free(void *context, bool owned, void (*closed)(void *context));
/* Says that memory ran out and frees what was made; for the _open calls. Returns false. */
bool pm_overlay_failed(struct pm_app *app, struct pm_overlay *overlay);

struct pm_message {
    enum pm_role role; /* PM_ROLE_NORMAL, _WARNING or _ERROR */
    int64_t time;
    char text[PM_MESSAGE_BYTES]; /* here, so that saying that memory ran out needs none */
};

/* app_waits.c: what takes long. */
struct pm_app_waits {
    struct pm_app_waiting by;
    struct pm_watch watch;
    int64_t began, shown; /* milliseconds */
    const char *doing;    /* what was said last */
    int64_t done, all;    /* how much of how much of that */
    bool busy;            /* a key or a job is being done; painting is not stopped */
    bool written;         /* something was: it goes on to its end */
    bool gave_up;
};
void pm_app_wait_begin(struct pm_app *app);
void pm_app_wait_end(struct pm_app *app);

struct pm_app {
    struct pm_app_spec spec;
    struct pm_app_waits waits;
    void *states[PM_ROOMS_MOST];
    bool opened[PM_ROOMS_MOST];
    int64_t version;             /* grows with every change to the library that is noticed */
    int64_t seen[PM_ROOMS_MOST]; /* version as each room last read it */
    int64_t outside;             /* version of the last change by another instance */
    int64_t look_at;             /* when to look next whether another instance wrote */
    int room;                    /* in front */
    struct pm_keymap keymap;
    struct pm_action go[PM_ROOMS_MOST]; /* the actions that lead to the rooms */
    char *go_words;                     /* what their ids and names are made of; owned */

    struct pm_overlay *top;         /* the stack of overlays, linked downwards */
    const struct pm_action *chosen; /* to be done after the present event, or NULL */

    struct pm_message log[PM_MESSAGES_KEPT]; /* a ring */
    size_t log_count, log_next;
    bool message;      /* the last one in the log stands in the message row */
    bool message_seen; /* it has been painted */
    size_t unread;     /* warnings before it that were not painted */

    const struct pm_action *row; /* of the room in front, done last */
    struct pm_job job;           /* run is NULL when there is none */
    struct pm_wishes wishes;
    bool warning; /* a wish to leave could only be answered by a warning */
    bool warned;  /* and that was the event before this one */
    struct pm_due_here due[PM_DUES];
    int64_t due_at;
    int64_t ticked_at; /* when rooms were last woken; they are woken once a second at most */
    bool stale;
    bool too_small;    /* as of the last paint */
    int rows, columns; /* of the last paint */
    struct pm_text guide_title, guide_text;
    bool guided;           /* the strip is shown */
    int64_t guide_version; /* of the library, and the room it was asked in; -1: not yet */
    int guide_room;
};

/* Frees the overlays that are closed, or all. */
void pm_overlays_sweep(struct pm_app *app, bool all);

/* app_rooms.c: the room in front, its state. */
const struct pm_room *pm_app_in_front(const struct pm_app *app);
void *pm_app_front_state(const struct pm_app *app);
enum pm_status pm_room_open(struct pm_app *app, int room, struct pm_error *err);
/* Lets a room read again what changed since it last did. True when another instance changed what is
 * under the hand: then the person is told. What is being written comes first: it is on the screen
 * already. */
bool pm_room_read(struct pm_app *app, int room, bool typed);
/* The room came to the front. */
void pm_room_enter(struct pm_app *app);
/* Asks whether another instance wrote, and shows it. True when the key or text at hand was meant
 * for something else than what stands there now: then the person is told. */
bool pm_app_catch_up(struct pm_app *app, bool typed);

/* app_jobs.c: does what waits, and says how that went. */
enum pm_status pm_app_work_off(struct pm_app *app);
/* Asks what is due now, and when to ask again. */
void pm_app_remind(struct pm_app *app);

/* The overlay that has the keys, or NULL. */
struct pm_overlay *pm_app_overlay(const struct pm_app *app);
/* One bit of enum pm_mode. */
unsigned pm_app_mode(const struct pm_app *app);
/* The start of a sentence that says what leaving would lose, or NULL. */
const char *pm_app_unsaved(const struct pm_app *app);

/* draw.c: the number of the room whose name stands at that cell, as of the last paint; -1: none. */
int pm_app_room_at(const struct pm_app *app, int row, int column);

/* app_guide.c: has the strip say what is next, where something changed that it hangs on; and shows
 * or leaves it. */
void pm_app_ask_guide(struct pm_app *app);
void pm_app_toggle_guide(struct pm_app *app);

/* app_copy.c: copies the table or page in front, and says where to. */
void pm_app_copy_front(struct pm_app *app);
/* draw.c: has the room in front, or what lies over it, painted without a screen. False when there
 * is nothing to paint yet. */
bool pm_app_draw_front(struct pm_app *app, struct pm_grid *grid);

/* panels.c */
void pm_panel_help(struct pm_app *app);
void pm_panel_find(struct pm_app *app);
/* What stands in the message row; NULL: nothing was said. */
const struct pm_message *pm_app_message_shown(const struct pm_app *app);
void pm_panel_messages(struct pm_app *app);
/* False when there is no memory for the question. */
bool pm_panel_leave(struct pm_app *app, const char *unsaved);

#endif
