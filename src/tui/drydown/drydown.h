/* SPDX-License-Identifier: MIT */
/*
 * The inside of the Drydown room, for the files that make it up.
 *
 *   drydown_room.c     the room as the application sees it
 *   drydown.c          what is read, views
 *   drydown_actions.c  what can be done
 *   drydown_draw.c     table, curves, details
 *   drydown_series.c   series: list, one of them, ratings, results
 *   drydown_make.c     forms that make a series
 */
#ifndef PERMILLE_TUI_ROOM_DRYDOWN_H
#define PERMILLE_TUI_ROOM_DRYDOWN_H

#include "kit/room.h"
#include "kit/table.h"
#include "rooms.h"

#include "permille/studio/drydown.h"
#include "permille/studio/series.h"

/* Series, shown in place of the drydown. */
#define MODE_SERIES PM_MODE_ROOM

enum drydown_view { DRY_TABLE, DRY_CURVES, DRY_AIR, DRY_VIEWS };

#define DRY_POINTS 5
extern const double drydown_points[DRY_POINTS]; /* fractions evaporated that the table shows */

struct drydown {
    struct pm_app *app;
    struct pm_house *house;
    int64_t formula;       /* that was read; 0: none */
    int64_t trial, beside; /* ids; 0: the draft, none beside it */
    bool without_alcohol, by_time;
    struct pm_drydown dry[2];
    size_t count;                            /* of dry[] */
    struct pm_dry_state *states[DRY_POINTS]; /* of dry[0], in its arena */
    struct pm_error unread;                  /* why there is none */
    enum drydown_view view;
    struct pm_table_view list;
    int64_t marked[PM_PLOT_SERIES_MAX]; /* materials to draw; none: those that tell most */
    size_t marked_count;
    struct pm_plot plot;
    int drawn_rows, drawn_columns; /* for that size; 0: not drawn since the last reading */
    struct pm_error undrawn;

    bool in_series;
    struct pm_series_rows series;
    struct pm_table_view series_list, step_list;
    bool one; /* a series is open */
    struct pm_series_sheet sheet;
};

/* drydown.c */
void drydown_read(struct drydown *drydown);
/* The same as the read of a room. */
enum pm_status drydown_read_again(void *drydown, const char **what, struct pm_error *err);
/* What was read goes. */
void drydown_forget(struct drydown *drydown);
/* Series and the one that is open are read; one is opened, or forgotten. */
enum pm_status series_read(struct drydown *drydown, struct pm_error *err);
enum pm_status series_read_one(struct drydown *drydown, int64_t id, struct pm_error *err);
void series_forget_one(struct drydown *drydown);
const struct pm_dry_material *drydown_selected(const struct drydown *drydown);
bool drydown_marked(const struct drydown *drydown, int64_t material);
/* Forgets the picture: it is drawn anew. */
void drydown_redraw(struct drydown *drydown);

/* drydown_draw.c */
struct pm_table drydown_table(struct drydown *drydown);
void drydown_prepare(void *drydown, const struct pm_canvas *canvas);
void drydown_paint(struct drydown *drydown, const struct pm_canvas *canvas);
enum pm_role drydown_remark(const void *drydown, bool details, struct pm_text *out);

/* drydown_series.c */
void series_release(struct drydown *drydown);
void series_paint(struct drydown *drydown, const struct pm_canvas *canvas);
unsigned series_act(struct drydown *drydown, int code);
/* The list of series, or the trials of one; and a row of it selected. */
struct pm_table series_table(struct drydown *drydown);
void series_go(struct drydown *drydown, size_t row);
unsigned series_text(struct drydown *drydown, const char *text);
/* Opens one that was just made, and says so. */
void series_show(struct drydown *drydown, struct pm_series_made *made);

/* ---- the actions: drydown_actions.c; what they work on is a struct drydown ---- */

extern const struct pm_action_table drydown_actions;

bool drydown_any(void *drydown); /* something is modelled; says so otherwise */
bool series_any(void *drydown);
bool series_one(void *drydown);

void drydown_next_view(void *drydown); /* drydown.c */
void drydown_ask_trial(void *drydown);
void drydown_ask_beside(void *drydown);
void drydown_mark(void *drydown);
void drydown_about(void *drydown);
void drydown_alcohol(void *drydown);
void drydown_minutes(void *drydown);
void drydown_clock(void *drydown);
void drydown_no_undo(void *drydown);
void series_enter(void *drydown); /* drydown_series.c */
void series_open_selected(void *drydown);
void series_rate(void *drydown);
void series_unrate(void *drydown);
void series_weigh(void *drydown);
void series_result(void *drydown);
void series_new(void *drydown); /* drydown_make.c */

#endif
