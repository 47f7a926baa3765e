/* SPDX-License-Identifier: MIT */
/*
 * The inside of the Limits room, for the files that make it up.
 *
 *   limits_room.c     the room as the application sees it
 *   limits.c          what is read
 *   limits_actions.c  what can be done
 *   limits_paint.c    the table, the details of one row
 *   limits_pages.c    everything about a row; the label; cautions
 *   limits_forms.c    what it is judged for, figures of one's own, sets, printing, fitting
 */
#ifndef PERMILLE_TUI_ROOM_LIMITS_H
#define PERMILLE_TUI_ROOM_LIMITS_H

#include "kit/room.h"
#include "kit/table.h"
#include "rooms.h"

#include "permille/studio/limits.h"

#define DOT " \xC2\xB7 "

struct limits_room {
    struct pm_app *app;
    struct pm_house *house;
    bool judged;             /* limits holds something */
    char *title;             /* "Name", "Name/3"; NULL: no formula is open */
    char *refused;           /* why nothing could be judged; NULL */
    struct pm_limits limits; /* of the sheet that the Bench shows */
    int64_t *lines;          /* what each line of it brings to the selected row */
    size_t line_count;
    size_t lines_of; /* the row they are of; SIZE_MAX: none */
    struct pm_table_view list;
    struct pm_limits_fit fit;
    size_t *changed; /* owned; places of the lines that a fit changes */
    size_t changed_count;
    struct pm_rule_sets sets; /* while they are chosen from */
};

/* limits.c */
/* The same as the read of a room. */
enum pm_status limits_read_again(void *room, const char **what, struct pm_error *err);
/* What was read goes. */
void limits_forget(struct limits_room *room);
const struct pm_limits_row *limits_selected(const struct limits_room *room);
struct pm_table limits_table(struct limits_room *room);
/* Reads again, says an error. */
void limits_read(struct limits_room *room);
/* Fills room->lines for the selected row. */
void limits_prepare_lines(struct limits_room *room);

/* limits_paint.c */
void limits_paint(struct limits_room *room, const struct pm_canvas *canvas);
enum pm_role limits_role(enum pm_verdict verdict);

/* ---- the actions ---- */

extern const struct pm_action_table limits_actions;

bool limits_any(void *room); /* something is judged; says so otherwise */
void limits_find(void *room);
void limits_no_undo(void *room);
void limits_about(void *room);
void limits_label(void *room);
void limits_cautions(void *room);
void limits_for(void *room);
void limits_own(void *room);
bool limits_on_own(void *room);
void limits_drop_own(void *room);
void limits_sets(void *room);
void limits_print(void *room);
void limits_fit(void *room);
void limits_label_field(void *room);

#endif
