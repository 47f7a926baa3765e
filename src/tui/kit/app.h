/* SPDX-License-Identifier: MIT */
/*
 * The application: rooms, overlays over them, messages, and the one place where events are
 * handled. It needs no terminal: pm_app_event takes what happened, pm_app_draw paints the state
 * into a grid. loop.h joins it to a terminal.
 *
 * The screen, from top to bottom: heading row, thin rule, sheet (with a details pane at its right
 * from PM_DETAILS_FROM columns), message row, key line. Overlays lie over the lower part of the
 * sheet.
 */
#ifndef PERMILLE_TUI_APP_H
#define PERMILLE_TUI_APP_H

#include "event.h"
#include "overlay.h"
#include "room.h"

#include "permille/base/clock.h"
#include "permille/base/status.h"
#include "permille/base/watch.h"
#include "permille/core/settings.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define PM_LEAST_ROWS    24
#define PM_LEAST_COLUMNS 80
#define PM_DETAILS_FROM  120 /* columns */
#define PM_MESSAGES_KEPT 200

#define PM_DUES      2 /* one is shown always, the others where there is room */
#define PM_DUE_CHARS 80

/* Something that is due, in a few words, and where it is done: the key that leads there is told. */
struct pm_due_here {
    char note[PM_DUE_CHARS];  /* "": nothing */
    char brief[PM_DUE_CHARS]; /* the same in a word or two, where the keys need the room */
    int room;
    const char *action; /* id of what does it there, whose key is told in that room; NULL: none */
};

/* A strip under the rooms that leads somebody new, and takes no key but one. */
struct pm_guide {
    /* What it says now: a title and a few lines of running text; false: it is not shown. Asked when
     * the library or the room in front is another one. */
    bool (*say)(struct pm_app *app, struct pm_text *title, struct pm_text *text);
    /* Shows it, or leaves it for good. */
    enum pm_status (*toggle)(struct pm_app *app, struct pm_error *err);
};

struct pm_app_spec {
    const char *name; /* the program's name, for sentences */
    const struct pm_room *const *rooms;
    size_t room_count; /* 1..32; the first one is opened at the start */
    void *host;        /* the rooms' own context, e.g. the open library; borrowed */
    /* Whether another instance wrote since it was asked last: then the rooms read again. Asked
     * before every action and every few seconds. May be NULL. */
    bool (*changed)(void *host);
    /* What a room reads at once is read between these two, which give it one state of what the host
     * holds, however many calls it makes. Both may be NULL. */
    enum pm_status (*look_begin)(void *host, struct pm_error *err);
    void (*look_end)(void *host);
    const struct pm_clock *clock; /* NULL: the system's */
    const char *user_keys;        /* content of the user's key file, or NULL */
    /* What is due (a smell, say): fills in notes[PM_DUES], handed over empty, for the key line of
     * every room, and returns when to ask again (Unix seconds; INT64_MAX: not by itself). Also
     * asked after every job and when a room is entered. May be NULL. */
    int64_t (*due)(void *host, int64_t now, struct pm_due_here *notes);
    const struct pm_guide *guide; /* NULL: none */
    /* Takes a paste of several lines, which fits no cell, wherever nothing is being typed. NULL:
     * the room in front gets it as any other. */
    void (*paste)(struct pm_app *app, const char *text);
    /* Where a copied text goes that the clipboard is not to have, or not so much of: writes it and
     * appends to `where` how that is said. PM_MISSING without a failure being recorded: it may go
     * to the clipboard. May be NULL: everything goes to the clipboard. */
    enum pm_status (*copy)(void *host, const char *text, struct pm_text *where,
                           struct pm_error *err);
};

/* Opens the first room. Complaints about the user's keys become messages. */
enum pm_status pm_app_new(struct pm_app **out, const struct pm_app_spec *spec,
                          struct pm_error *err);
/* One whose rooms stay closed, for its keymap alone: to be asked, and freed. */
enum pm_status pm_app_closed(struct pm_app **out, const struct pm_app_spec *spec,
                             struct pm_error *err);
void pm_app_free(struct pm_app *app); /* closes overlays and rooms; NULL is allowed */

/* ---- driving it (loop.h and tests) ---- */

/* Lets one thing happen. A job still pending from the event before runs first. */
void pm_app_event(struct pm_app *app, const struct pm_event *event);
/* Paints everything into the grid; the grid's size counts. Every paint places the cursor. */
void pm_app_draw(struct pm_app *app, struct pm_grid *grid);
/* What was typed ahead of the last event is to be dropped. */
bool pm_app_drops(const struct pm_app *app);
bool pm_app_job_pending(const struct pm_app *app);
/* Runs the pending job, if there is one. */
void pm_app_work(struct pm_app *app);
/* The pending job wants the terminal for itself (an external editor). */
bool pm_app_job_is_away(const struct pm_app *app);
/* Milliseconds until something is due; -1: never. */
int pm_app_timeout(const struct pm_app *app);
/* Something on the screen may have changed since the last pm_app_draw. */
bool pm_app_stale(const struct pm_app *app);

struct pm_wishes {
    bool quit;
    bool suspend;
    bool drop;    /* what was typed ahead: it was meant for something else */
    bool repaint; /* everything, also what the terminal is believed to show */
    bool themed;  /* the colours are to be those of `theme` */
    enum pm_theme theme;
    int signal; /* with quit: raise it again after everything is closed; or 0 */
    char *copy; /* put on the terminal's clipboard; owned by the caller, may be NULL */
};
/* Hands over what the loop should do and forgets it (quit stays). */
struct pm_wishes pm_app_wishes(struct pm_app *app);

/*
 * While a key or a job takes long: how far it is stands in the message row, and Esc gives it up.
 * Whoever drives the application says how time passes, shows a line, and tells whether Esc was
 * typed meanwhile (everything else that happens is kept for afterwards).
 */
struct pm_app_waiting {
    int64_t (*milliseconds)(void *context);
    void (*show)(void *context, const char *line);
    bool (*gave_up)(void *context);
    void *context;
};
void pm_app_waits(struct pm_app *app, const struct pm_app_waiting *waiting); /* NULL: nobody */
/* What asks: handed to the library, or to a call that takes a watch. Lives as long as the app. */
const struct pm_watch *pm_app_watch(struct pm_app *app);
/* Paints the line over the message row of a grid that was painted before. */
void pm_app_draw_waiting(struct pm_grid *grid, const char *line);

/* ---- for rooms ---- */

void *pm_app_host(const struct pm_app *app);
int64_t pm_app_now(const struct pm_app *app);
const struct pm_keymap *pm_app_keymap(const struct pm_app *app);
/* The content of the key file as it is now; NULL: there is none. Complaints become messages. */
void pm_app_user_keys(struct pm_app *app, const char *text);
/* The same with complaints told to somebody else. */
void pm_app_read_keys(struct pm_app *app, const char *text,
                      void (*complain)(void *to, const char *sentence), void *to);
/* The first key of an action in a room, as pm_keymap_key writes it. */
const char *pm_app_key(const struct pm_app *app, const char *id, char *buf);
int pm_app_room(const struct pm_app *app); /* number of the room in front */
/* The state of room n, opened if need be; NULL with a message when it cannot be opened. Lets one
 * room hand something to another before pm_app_go. */
void *pm_app_room_state(struct pm_app *app, int room);
/* Brings a room to the front, closing all overlays. */
void pm_app_go(struct pm_app *app, int room);

/* The library was written here; `room` shows it already. The others read again before they are
 * shown or asked. */
void pm_app_changed(struct pm_app *app, int room);
/* Has an open room read again at once what it shows, as one state of the library; a failure is
 * said. */
void pm_app_read(struct pm_app *app, int room);

/* In an empty pane: a key, and what it does, as an invitation. */
void pm_app_invite(const struct pm_app *app, const struct pm_pane *pane, int row, const char *id,
                   const char *text);

/* The message row. A message stays until the first key after it was seen; all are kept in the
 * log. */
void pm_app_say(struct pm_app *app, const char *format, ...) __attribute__((format(printf, 2, 3)));
void pm_app_warn(struct pm_app *app, const char *format, ...) __attribute__((format(printf, 2, 3)));
void pm_app_error(struct pm_app *app, const struct pm_error *err);
/* Copies a text to where the person wants copies: the terminal's clipboard (only terminals that
 * allow it take it), or a file. Appends to `where` how that is said: "to the terminal's clipboard",
 * "to the file x.tsv". On failure nothing was copied. */
enum pm_status pm_app_copy(struct pm_app *app, const char *text, struct pm_text *where,
                           struct pm_error *err);

/* Colours for another background, at once. */
void pm_app_theme(struct pm_app *app, enum pm_theme theme);

/*
 * Paint first, then commit: a job runs after the screen has been painted, at the latest before the
 * next key is handled. On success `saved` is shown (unless NULL), on failure the error. run() is
 * called exactly once for every job handed over, also when the program is told to end.
 */
struct pm_job {
    enum pm_status (*run)(void *context, struct pm_error *err);
    void *context; /* borrowed; the room's state as a rule */
    const char *saved;
    bool away; /* give the terminal back while it runs (external editor) */
};
/* A job already pending runs at once. */
void pm_app_later(struct pm_app *app, const struct pm_job *job);

/* Lets an action happen after the present event, as if its key had been pressed. */
void pm_app_do(struct pm_app *app, const struct pm_action *action);

#endif
