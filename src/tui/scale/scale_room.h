/* SPDX-License-Identifier: MIT */
/*
 * The inside of the Scale room, for the files that make it up.
 *
 *   scale_room.c      the room: what is read, moving, listening to a balance
 *   scale_actions.c   what can be done
 *   scale_paint.c     the list of batches; the line that is poured, and all of a batch
 *   scale_forms.c     planning, starting, giving up, the weigh sheet
 *   scale_pour.c      pouring, correcting, ways out, finishing
 *   scale_balances.c  balances, and the one that sends
 *   scale_fill.c      filling
 */
#ifndef PERMILLE_TUI_SCALE_ROOM_H
#define PERMILLE_TUI_SCALE_ROOM_H

#include "kit/room.h"
#include "kit/table.h"
#include "rooms.h"

#include "permille/studio/scale.h"

struct scale_room {
    struct pm_app *app;
    struct pm_house *house;
    bool all; /* finished and given up ones are listed, too */
    struct pm_batches batches;
    struct pm_table_view list;
    int64_t open;                  /* batch that is poured or looked at; 0: the list is shown */
    struct pm_batch_record record; /* of that batch */
    struct pm_table_view lines;
    struct pm_balance_port *port; /* a balance that sends; or NULL */
    char device[256];
    int64_t listen_at; /* when it is read next */
    bool stable;
    pm_mass reading;              /* of that balance, when it is stable */
    struct pm_rescue_offers ways; /* while they are chosen from */
    struct pm_balance_rows balances;
};

/* scale_room.c */
const struct pm_batch *scale_batch(const struct scale_room *room);
const struct pm_batch_record_line *scale_line(const struct scale_room *room);
enum pm_status scale_open(struct scale_room *room, int64_t batch, struct pm_error *err);
/* Reads again after something was written, and goes to the next line when `onward`. */
void scale_written(struct scale_room *room, bool onward);

/* scale_paint.c */
void scale_paint(struct scale_room *room, const struct pm_canvas *canvas);
struct pm_table scale_list_table(struct scale_room *room);
struct pm_table scale_lines_table(struct scale_room *room);

/* ---- the actions ---- */

extern const struct pm_action_table scale_actions;

bool scale_any(void *room);     /* a batch is selected; says so otherwise */
bool scale_started(void *room); /* and it was started */
bool scale_pouring(void *room); /* and something can be poured */
void scale_enter(void *room);
void scale_plan(void *room);
void scale_give_up(void *room);
void scale_sheet(void *room);
void scale_show_all(void *room);
void scale_balances(void *room);
void scale_fill(void *room);
void scale_pour_here(void *room);
void scale_ways(void *room);
void scale_correct(void *room);
void scale_finish(void *room);
void scale_listen(void *room);
enum pm_status scale_pause(void *room, struct pm_error *err);
void scale_pour_typed(struct scale_room *room, const char *text);

#endif
