/* SPDX-License-Identifier: MIT */
/*
 * The inside of the Scale room, for the files that make it up.
 *
 *   scale_room.c      the room as the application sees it, listening to a balance
 *   scale.c           what is read
 *   scale_actions.c   what can be done
 *   scale_paint.c     the list of batches; the line that is poured, and all of a batch
 *   scale_forms.c     planning, starting, giving up
 *   scale_pour.c      pouring, correcting, finishing
 *   scale_ways.c      ways out of an over-pour, what a batch has become
 *   scale_paper.c     the weigh sheet and the record, shown or into a file
 *   scale_balances.c  balances, and the one that sends
 *   scale_dilute.c    what is to be diluted first
 *   scale_fill.c      filling
 */
#ifndef PERMILLE_TUI_SCALE_ROOM_H
#define PERMILLE_TUI_SCALE_ROOM_H

#include "kit/overlay.h"
#include "kit/room.h"
#include "kit/table.h"
#include "rooms.h"

#include "permille/studio/scale.h"

/* How it is weighed, as chosen last; empty: as usual. */
struct scale_how {
    char tolerance[PM_AMOUNT_TEXT], order[16];
    bool cumulative, as_it_is;
};
/* The fields that ask for it, at the beginning of a form. */
enum { SCALE_TOLERANCE, SCALE_ORDER, SCALE_DISPLAY, SCALE_BEGIN, SCALE_HOW_FIELDS };

struct scale_room {
    struct pm_app *app;
    struct pm_house *house;
    struct scale_how how;
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
    pm_mass reading; /* of that balance, when it is stable */
    /* while they are chosen from, or looked at */
    struct pm_rescue_offers ways;
    size_t way; /* the one that is looked at */
    struct pm_become become;
    struct pm_weighing weighing;
    struct pm_bottles bottles;
    struct pm_balance_rows balances;
    struct pm_filling_rows fillings;
};

/* scale.c */
/* The same as the read of a room. */
enum pm_status scale_read_again(void *room, const char **what, struct pm_error *err);
const struct pm_batch *scale_batch(const struct scale_room *room);
const struct pm_batch_record_line *scale_line(const struct scale_room *room);
/* Puts the cursor of the list on a batch, where it is listed. */
void scale_select(struct scale_room *room, int64_t batch);
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
void scale_find(void *room); /* scale_paint.c */
void scale_plan(void *room);
void scale_give_up(void *room);
void scale_sheet(void *room);
void scale_print(void *room);
void scale_show_all(void *room);
void scale_balances(void *room);
void scale_dilute(void *room);
void scale_fill(void *room);
void scale_fillings(void *room);
void scale_pour_here(void *room);
void scale_pour_from(void *room);
void scale_ways(void *room);
void scale_become(void *room);
void scale_correct(void *room);
void scale_finish(void *room);
void scale_listen(void *room);
enum pm_status scale_pause(void *room, struct pm_error *err);
void scale_pour_typed(struct scale_room *room, const char *text);

/* scale_paper.c */
struct pm_weigh_how scale_how(const struct scale_room *room); /* borrows from it */
void scale_how_fields(struct scale_room *room, struct pm_form_field *fields);
enum pm_status scale_how_read(const char *const values[], struct scale_how *out,
                              struct pm_error *err);
/* What a batch weighs, as chosen last. */
enum pm_status scale_weigh(struct scale_room *room, const struct pm_batch *batch,
                           struct pm_weighing *out, struct pm_error *err);
/* A text to read, under a title. */
void scale_show_text(struct scale_room *room, const char *title, const struct pm_text *text);

#endif
