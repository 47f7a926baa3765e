/* SPDX-License-Identifier: MIT */
/* The Shelf: painting the heading, what is looked for, the list and the bottles. */
#include "shelf.h"

#include "permille/base/utf8.h"

#include <stdio.h>

#define DOT " \xC2\xB7 "

#define ROW_FILTERS 0
#define ROW_TABLE   1
#define ROW_ROWS    2

#define ALWAYS_BOTH  34 /* rows of the sheet from which the bottles are shown without asking */
#define LIST_LEAST   5  /* rows of the list, its two heads included, while the bottles are shown */
#define BOTTLE_HEADS 2
#define ROWS_LEAST   9 /* painted under an overlay, however high that is */

static int put_fact(const struct pm_pane *pane, int column, enum pm_role role, const char *text)
{
    if (column > 0)
        column += pm_pane_put(pane, ROW_FILTERS, column, PM_ROLE_FAINT, DOT);
    return column + pm_pane_put(pane, ROW_FILTERS, column, role, text);
}

/* ---- the row over the list: the search, the filters, how many ---- */

static int draw_search(struct shelf *shelf, const struct pm_pane *pane)
{
    char key[PM_KEY_TEXT];
    int cells = pane->columns / 3;
    if (!shelf->searching && shelf->search.length == 0) {
        pm_app_key(shelf->app, "search-shelf", key);
        int used = pm_pane_put(pane, ROW_FILTERS, 0, PM_ROLE_KEY, key);
        return used + pm_pane_put(pane, ROW_FILTERS, used, PM_ROLE_FAINT, " search");
    }
    int label = pm_pane_put(pane, ROW_FILTERS, 0, PM_ROLE_HEADING, "search ");
    if (shelf->searching) {
        pm_field_draw(&shelf->search, pane, ROW_FILTERS, label, cells, true);
        return label + cells;
    }
    int text = (int)pm_utf8_cells(shelf->search.text);
    return label + pm_pane_put_left(pane, ROW_FILTERS, label, text < cells ? text : cells,
                                    PM_ROLE_EDITING, shelf->search.text);
}

static void draw_filters(struct shelf *shelf, const struct pm_pane *pane)
{
    char count[64];
    int column = draw_search(shelf, pane);
    if (shelf->family != NULL)
        column = put_fact(pane, column, PM_ROLE_HEADING, shelf->family);
    if (shelf->have)
        column = put_fact(pane, column, PM_ROLE_HEADING, "have it");
    if (shelf->low)
        column = put_fact(pane, column, PM_ROLE_HEADING, "low");
    if (shelf->old)
        column = put_fact(pane, column, PM_ROLE_HEADING, "past date");
    if (shelf->over)
        column = put_fact(pane, column, PM_ROLE_HEADING, "over its maximum");
    if (shelf->aside)
        column = put_fact(pane, column, PM_ROLE_HEADING, "with set aside");
    if (shelf->rows.count == 0)
        snprintf(count, sizeof count, "none");
    else
        snprintf(count, sizeof count, "%zu of %zu%s", shelf->list.row + 1, shelf->rows.count,
                 shelf->rows.more ? " or more" : "");
    int room = pane->columns - column - 2;
    if (room > 6)
        pm_pane_put_right(pane, ROW_FILTERS, column + 2, room, PM_ROLE_FAINT, count);
}

/* ---- both tables ---- */

static void draw_list(struct shelf *shelf, const struct pm_pane *pane)
{
    const struct pm_table table = shelf_list_table(shelf);
    const struct pm_pane part =
        pm_pane_part(pane, ROW_TABLE, 0, pane->rows - ROW_TABLE, pane->columns);
    pm_table_draw(&table, &shelf->list, &part);
}

static void draw_bottle_list(struct shelf *shelf, const struct pm_pane *pane)
{
    const struct pm_table table = shelf_bottle_table(shelf);
    const struct pm_pane part = pm_pane_part(pane, 1, 0, pane->rows - 1, pane->columns);
    pm_table_draw(&table, &shelf->bottles, &part);
}

/* ---- the panes ---- */

static void draw_bottles(struct shelf *shelf, const struct pm_pane *pane)
{
    const struct pm_shelf_row *row = shelf_row(shelf);
    struct pm_text title = PM_TEXT_EMPTY;
    if (row == NULL || pane->rows < 3)
        return;
    size_t count = shelf->about.bottles_read ? shelf->about.bottles.count : 0;
    pm_text_addf(&title, "%s" DOT "%zu bottle%s", row->name, count, count == 1 ? "" : "s");
    pm_pane_rule(pane, 0, pm_text_get(&title));
    pm_text_release(&title);
    if (count > 0) {
        draw_bottle_list(shelf, pane);
        return;
    }
    pm_app_invite(shelf->app, pane, 1, "add-bottle", "puts a bottle of it on the shelf");
    if (shelf->inside)
        pm_pane_cursor(pane, 1, 2);
}

static void draw_empty(const struct shelf *shelf, const struct pm_pane *pane)
{
    pm_pane_put(pane, 1, 2, PM_ROLE_NORMAL, "The shelf is bare: no material is entered yet.");
    pm_app_invite(shelf->app, pane, 3, "starter",
                  "brings in the starter materials, each value with its source");
    pm_app_invite(shelf->app, pane, 4, "new-material", "enters one of your own");
    pm_app_invite(shelf->app, pane, 5, "add-bottle", "then puts a bottle of it on the shelf");
    pm_pane_cursor(pane, 3, 2);
}

static void draw_none(const struct shelf *shelf, const struct pm_pane *pane)
{
    pm_pane_put(pane, ROW_ROWS, 2, PM_ROLE_NORMAL, "No material is like that.");
    if (!shelf->searching) {
        pm_app_invite(shelf->app, pane, ROW_ROWS + 2, "back", "shows all materials again");
        pm_app_invite(shelf->app, pane, ROW_ROWS + 3, "new-material", "enters a new material");
        pm_pane_cursor(pane, ROW_ROWS + 2, 2);
    }
}

/* How many rows of the sheet the bottles take; 0 while they are not shown. */
static int bottle_rows(const struct shelf *shelf, int rows)
{
    int count = (int)(shelf->about.bottles_read ? shelf->about.bottles.count : 0);
    int wanted = BOTTLE_HEADS + (count > 0 ? count : 1);
    int most = rows - LIST_LEAST;
    if (!shelf->inside && rows < ALWAYS_BOTH)
        return 0;
    /* A height that does not jump about while one moves through the list. */
    int least = rows / 3;
    if (!shelf->inside)
        return least;
    wanted = wanted < least ? least : wanted;
    return wanted < most ? wanted : most;
}

static void draw_heading(const struct shelf *shelf, const struct pm_pane *pane)
{
    const struct pm_shelf_row *row = shelf_row(shelf);
    const char *locked =
        pm_studio_read_only(shelf->house->studio) ? DOT "the file is read only" : "";
    int column = 0;
    if (shelf->inside && row != NULL)
        column = pm_pane_put(pane, 0, 0, PM_ROLE_HEADING, row->name);
    else
        column = pm_pane_put(pane, 0, 0, PM_ROLE_FAINT, "materials and bottles");
    pm_pane_put(pane, 0, column, PM_ROLE_FAINT, locked);
}

void shelf_draw(struct shelf *shelf, const struct pm_canvas *canvas)
{
    const struct pm_pane *sheet = &canvas->sheet;
    draw_heading(shelf, &canvas->heading);
    if (shelf->empty) {
        draw_empty(shelf, sheet);
        return;
    }
    /* What an overlay asks about stays in sight above it, as far as there is room. */
    int free_rows = sheet->rows - canvas->covered;
    struct pm_pane open =
        pm_pane_part(sheet, 0, 0, free_rows > ROWS_LEAST ? free_rows : ROWS_LEAST, sheet->columns);
    int bottles = bottle_rows(shelf, open.rows);
    shelf->bottles_shown = bottles > 0;
    struct pm_pane list = pm_pane_part(&open, 0, 0, open.rows - bottles, open.columns);
    if (shelf->rows.count == 0)
        draw_none(shelf, &list);
    else
        draw_list(shelf, &list);
    draw_filters(shelf, &list);
    if (bottles > 0) {
        struct pm_pane lower = pm_pane_part(&open, open.rows - bottles, 0, bottles, open.columns);
        draw_bottles(shelf, &lower);
    }
    shelf_draw_details(shelf, &canvas->details);
}
