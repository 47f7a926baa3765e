/* SPDX-License-Identifier: MIT */
/* The Shelf: painting the heading, what is looked for, the list and the bottles. */
#include "shelf.h"

#include "permille/base/utf8.h"

#include <stdio.h>

#define DOT " \xC2\xB7 "

#define ROW_FILTERS  0
#define ROW_HEADINGS 1
#define ROW_ROWS     2

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
        pm_keymap_key(pm_app_keymap(shelf->app), PM_ACT_SEARCH, PM_MODE_SHEET, key);
        int used = pm_pane_put(pane, ROW_FILTERS, 0, PM_ROLE_KEY, key);
        return used + pm_pane_put(pane, ROW_FILTERS, used, PM_ROLE_FAINT, " search");
    }
    int label = pm_pane_put(pane, ROW_FILTERS, 0, PM_ROLE_HEADING, "search ");
    if (shelf->searching) {
        pm_field_draw(&shelf->search, pane, ROW_FILTERS, label, cells, true);
        if (shelf->whole)
            pm_pane_overlay(pane, ROW_FILTERS, label, 1, (int)pm_utf8_cells(shelf->search.text),
                            PM_ROLE_SELECTED);
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
    if (shelf->family)
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

/* ---- rows of both tables ---- */

/* The cell cursor: the cell is shown as selected within a row that is only marked, so that one sees
 * what Enter would open. */
static void mark_row(const struct shelf *shelf, const struct shelf_table *table,
                     const struct pm_pane *pane, int row, bool front)
{
    int at = table->spans[table->column].at, cells = table->spans[table->column].cells;
    pm_pane_put(pane, row, 0, front ? PM_ROLE_HEADING : PM_ROLE_FAINT, "\xE2\x80\xBA");
    if (!front || shelf->searching)
        return;
    pm_pane_overlay(pane, row, at, 1, cells, PM_ROLE_SELECTED);
    pm_pane_cursor(pane, row, table->columns[table->column].right ? at + cells - 1 : at);
}

/* The cell being typed into; longer text grows to the right, where there is room, else to the left.
 */
static void draw_typing(struct shelf *shelf, const struct shelf_table *table,
                        const struct pm_pane *pane, int row)
{
    int at = table->spans[table->column].at, cells = table->spans[table->column].cells;
    int needed = (int)pm_utf8_cells(shelf->field.text) + 1;
    if (needed > cells) {
        int end = table->columns[table->column].right ? at + cells : at + needed;
        end = end > pane->columns ? pane->columns : end;
        at = end - needed > 0 ? end - needed : 0;
        cells = end - at;
    }
    pm_field_draw(&shelf->field, pane, row, at, cells, true);
    if (shelf->whole)
        pm_pane_overlay(pane, row, at, 1, (int)pm_utf8_cells(shelf->field.text), PM_ROLE_SELECTED);
}

static void draw_list_rows(struct shelf *shelf, const struct pm_pane *pane)
{
    struct shelf_table *table = &shelf->list;
    struct pm_text text = PM_TEXT_EMPTY;
    shelf_table_lay_out(table, pane->columns);
    shelf_table_headings(table, pane, ROW_HEADINGS);
    shelf_table_scroll(table, pane->rows - ROW_ROWS, shelf->rows.count);
    for (int y = 0; y < table->page && table->first + (size_t)y < shelf->rows.count; y++) {
        size_t row = table->first + (size_t)y;
        for (size_t i = 0; i < table->column_count; i++) {
            if (table->spans[i].cells == 0)
                continue;
            pm_text_clear(&text);
            enum pm_role role = shelf_list_text(shelf, row, i, &text);
            shelf_table_cell(table, pane, ROW_ROWS + y, i, role, pm_text_get(&text));
        }
        if (row != table->row)
            continue;
        mark_row(shelf, table, pane, ROW_ROWS + y, !shelf->inside);
        if (shelf->typing && !shelf->inside)
            draw_typing(shelf, table, pane, ROW_ROWS + y);
    }
    pm_text_release(&text);
}

static void draw_bottle_rows(struct shelf *shelf, const struct pm_pane *pane)
{
    struct shelf_table *table = &shelf->bottles;
    const struct pm_bottle_cards *cards = &shelf->about.bottles;
    struct pm_text text = PM_TEXT_EMPTY;
    shelf_table_lay_out(table, pane->columns);
    shelf_table_headings(table, pane, 1);
    shelf_table_scroll(table, pane->rows - BOTTLE_HEADS, cards->count);
    for (int y = 0; y < table->page && table->first + (size_t)y < cards->count; y++) {
        size_t row = table->first + (size_t)y;
        for (size_t i = 0; i < table->column_count; i++) {
            if (table->spans[i].cells == 0)
                continue;
            pm_text_clear(&text);
            enum pm_role role = shelf_bottle_text(shelf, &cards->items[row], i, &text);
            shelf_table_cell(table, pane, BOTTLE_HEADS + y, i, role, pm_text_get(&text));
        }
        if (shelf_is_chosen(shelf, cards->items[row].id))
            pm_pane_put(pane, BOTTLE_HEADS + y, 1, PM_ROLE_KEY, "*");
        if (row != table->row)
            continue;
        mark_row(shelf, table, pane, BOTTLE_HEADS + y, shelf->inside);
        if (shelf->typing && shelf->inside)
            draw_typing(shelf, table, pane, BOTTLE_HEADS + y);
    }
    pm_text_release(&text);
}

static void put_invitation(const struct shelf *shelf, const struct pm_pane *pane, int row, int act,
                           const char *text)
{
    char key[PM_KEY_TEXT];
    pm_keymap_key(pm_app_keymap(shelf->app), act, PM_MODE_SHEET, key);
    pm_pane_put(pane, row, 2, PM_ROLE_KEY, key);
    pm_pane_put(pane, row, 7, PM_ROLE_NORMAL, text);
}

/* ---- the panes ---- */

static void draw_bottles(struct shelf *shelf, const struct pm_pane *pane)
{
    const struct pm_shelf_row *row = shelf_row(shelf);
    char title[160];
    if (!row || pane->rows < 3)
        return;
    size_t count = shelf->about.bottles_read ? shelf->about.bottles.count : 0;
    snprintf(title, sizeof title, "%.120s" DOT "%zu bottle%s", row->name, count,
             count == 1 ? "" : "s");
    pm_pane_rule(pane, 0, title);
    if (count > 0) {
        draw_bottle_rows(shelf, pane);
        return;
    }
    put_invitation(shelf, pane, 1, PM_ACT_ADD_BOTTLE, "puts a bottle of it on the shelf");
    if (shelf->inside)
        pm_pane_cursor(pane, 1, 2);
}

static void draw_empty(const struct shelf *shelf, const struct pm_pane *pane)
{
    pm_pane_put(pane, 1, 2, PM_ROLE_NORMAL, "The shelf is bare: no material is entered yet.");
    put_invitation(shelf, pane, 3, PM_ACT_STARTER,
                   "brings in the starter materials, each value with its source");
    put_invitation(shelf, pane, 4, PM_ACT_NEW_MATERIAL, "enters one of your own");
    put_invitation(shelf, pane, 5, PM_ACT_ADD_BOTTLE, "then puts a bottle of it on the shelf");
    pm_pane_cursor(pane, 3, 2);
}

static void draw_none(const struct shelf *shelf, const struct pm_pane *pane)
{
    pm_pane_put(pane, ROW_ROWS, 2, PM_ROLE_NORMAL, "No material is like that.");
    if (!shelf->searching) {
        put_invitation(shelf, pane, ROW_ROWS + 2, PM_ACT_CANCEL, "shows all materials again");
        put_invitation(shelf, pane, ROW_ROWS + 3, PM_ACT_NEW_MATERIAL, "enters a new material");
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
    if (shelf->inside && row)
        column = pm_pane_put(pane, 0, 0, PM_ROLE_HEADING, row->name);
    else
        column = pm_pane_put(pane, 0, 0, PM_ROLE_FAINT, "materials and bottles");
    pm_pane_put(pane, 0, column, PM_ROLE_FAINT, locked);
}

void shelf_draw(struct shelf *shelf, const struct pm_canvas *canvas)
{
    const struct pm_pane *sheet = &canvas->sheet;
    shelf->details = canvas->details.columns > 0;
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
        draw_list_rows(shelf, &list);
    draw_filters(shelf, &list);
    if (bottles > 0) {
        struct pm_pane lower = pm_pane_part(&open, open.rows - bottles, 0, bottles, open.columns);
        draw_bottles(shelf, &lower);
    }
    shelf_draw_details(shelf, &canvas->details);
}
