/* SPDX-License-Identifier: MIT */
/*
 * The room where things are brought in: what was pasted or read from a file as it was understood,
 * line by line, to be put right and then brought in as one step. It holds formulas, or tables of
 * the shelf, or another library.
 *
 *   bringing_room.c     the room as the application sees it
 *   bringing.c          what there is
 *   bringing_table.c    the table: a row for each formula, its lines below
 *   bringing_actions.c  what can be done, and the table of actions
 *   shelf_rows.c        tables of the shelf, row by row
 *   shelf_rows_actions.c what can be done with them
 *   guest.c             another library, item by item: its table
 *   guest_actions.c     what can be done with its rows
 */
#ifndef PERMILLE_TUI_BRINGING_ROOM_H
#define PERMILLE_TUI_BRINGING_ROOM_H

#include "guest.h"
#include "kit/overlay.h"
#include "kit/room.h"
#include "kit/table.h"
#include "permille/studio/bringing.h"
#include "rooms.h"
#include "shelf_rows.h"

struct bringing_room {
    struct pm_app *app; /* first: rooms.h */
    struct pm_house *house;
    struct pm_bringing bringing;
    bool some; /* there are formulas to bring in */
    struct pm_table_view view;
    struct shelf_rows rows; /* tables of the shelf; then nothing else is there */
    struct guest guest;     /* another library; then that is in front, and nothing else is there */
    int taking;             /* the key that takes what was typed, while it is written */
};

enum bringing_column {
    BRINGING_AT,
    BRINGING_NAME,
    BRINGING_MATCH,
    BRINGING_PARTS,
    BRINGING_STRENGTH,
    BRINGING_SOLVENT,
    BRINGING_WRITTEN,
    BRINGING_DOUBT,
    BRINGING_COLUMNS
};

/* A row of the table: a formula, or a line of it. */
struct bringing_row {
    size_t formula;
    bool is_line;
    size_t line;
};
size_t bringing_rows(const struct bringing_room *room);
struct bringing_row bringing_row_at(const struct bringing_room *room, size_t row);
bool bringing_doubtful(const struct bringing_room *room, size_t row);

/* The line as it stood there, tabs as blanks. */
void bringing_written(const struct pm_brought_line *line, struct pm_text *out);

struct pm_table bringing_table(struct bringing_room *room);

/* Takes another text, formulas or tables, in the place of what is there; on failure all stays. */
enum pm_status bringing_take(struct bringing_room *room, const char *text, size_t length,
                             struct pm_error *err);
void bringing_forget(struct bringing_room *room);
/* There is something that was not brought in. */
bool bringing_holds(const struct bringing_room *room);
/* The same of a text that was pasted: asks before it takes the place of what is there. */
void bringing_paste(struct bringing_room *room, const char *text);
/* Whatever the file at path is: formulas, or another library. */
enum pm_status bringing_open(struct bringing_room *room, const char *path, struct pm_error *err);

#define BRINGING_GUEST PM_MODE_ROOM /* another library is in front */

/* shelf_rows_actions.c */
void shelf_rows_edit(struct bringing_room *room);
void shelf_rows_leave(struct bringing_room *room);
void shelf_rows_next(struct bringing_room *room);
enum pm_status shelf_rows_bring(struct bringing_room *room, struct pm_error *err);

/* guest_actions.c */
void guest_mark(void *state);
void guest_second(void *state);
void guest_mark_all(void *state);
void guest_call(void *state);
void guest_look(void *state);
void guest_all(void *state);
void guest_only(void *state);
enum pm_status guest_bring(void *state, struct pm_error *err);

extern const struct pm_action_table bringing_actions;

#endif
