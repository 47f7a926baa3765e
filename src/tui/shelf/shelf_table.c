/* SPDX-License-Identifier: MIT */
/* The Shelf: columns of a table, which of them are shown, and where. */
#include "shelf.h"

#include "kit/list.h"

#define MARGIN 2 /* cells before the first column: the mark of the selected row */
#define GAP    2 /* cells between columns */

static int width_of_fixed(const struct shelf_table *table)
{
    int cells = MARGIN;
    for (size_t i = 0; i < table->column_count; i++)
        cells += table->columns[i].fixed ? table->columns[i].cells + GAP : 0;
    return cells;
}

/* Places the scrolling columns from `left` on; returns the cells that stay free. */
static int place(struct shelf_table *table, int cells, size_t left)
{
    int at = MARGIN, free_cells;
    for (size_t i = 0; i < table->column_count; i++) {
        const struct shelf_column *column = &table->columns[i];
        bool shown = column->fixed || i >= left;
        table->spans[i].at = at;
        table->spans[i].cells = 0;
        if (!shown || at + column->cells > cells)
            continue;
        table->spans[i].cells = column->cells;
        at += column->cells + GAP;
    }
    free_cells = cells - (at - GAP);
    return free_cells > 0 ? free_cells : 0;
}

/* A column that does not fit ends the row: those after it would stand out of order. */
static void cut(struct shelf_table *table, size_t left)
{
    bool full = false;
    for (size_t i = 0; i < table->column_count; i++) {
        if (table->columns[i].fixed || i < left)
            continue;
        full = full || table->spans[i].cells == 0;
        if (full)
            table->spans[i].cells = 0;
    }
}

/* The column that takes what is left over: the one that grows where it is shown, else the last
 * unless its text stands at the right. */
static size_t growing(const struct shelf_table *table)
{
    size_t last = table->column_count;
    for (size_t i = 0; i < table->column_count; i++) {
        if (table->spans[i].cells > 0 && table->columns[i].grows)
            return i;
        last = table->spans[i].cells > 0 ? i : last;
    }
    return last < table->column_count && table->columns[last].right ? table->column_count : last;
}

static void widen(struct shelf_table *table, size_t column, int *spare)
{
    int wish = table->columns[column].most - table->spans[column].cells;
    int cells = wish < *spare ? wish : *spare;
    if (table->spans[column].cells == 0 || cells <= 0)
        return;
    table->spans[column].cells += cells;
    *spare -= cells;
}

/* What is left over widens columns whose texts are long, first of all the one that grows, which
 * also takes the rest; those behind them move. */
static void grow(struct shelf_table *table, int cells)
{
    int used = MARGIN;
    for (size_t i = 0; i < table->column_count; i++)
        used += table->spans[i].cells > 0 ? table->spans[i].cells + GAP : 0;
    int spare = cells - (used - GAP);
    if (spare <= 0)
        return;
    size_t grows = growing(table);
    if (grows < table->column_count)
        widen(table, grows, &spare);
    for (size_t i = 0; i < table->column_count; i++)
        widen(table, i, &spare);
    int at = MARGIN;
    for (size_t i = 0; i < table->column_count; i++) {
        if (table->spans[i].cells == 0)
            continue;
        table->spans[i].at = at;
        table->spans[i].cells += i == grows ? spare : 0;
        at += table->spans[i].cells + GAP;
    }
}

void shelf_table_lay_out(struct shelf_table *table, int cells)
{
    size_t column = table->column, first_free = 0;
    while (first_free < table->column_count && table->columns[first_free].fixed)
        first_free++;
    if (table->left < first_free || table->columns[column].fixed)
        table->left = first_free;
    if (!table->columns[column].fixed && column < table->left)
        table->left = column;
    for (;;) {
        place(table, cells, table->left);
        cut(table, table->left);
        if (table->spans[column].cells > 0 || table->left >= column ||
            width_of_fixed(table) >= cells)
            break;
        table->left++;
    }
    grow(table, cells);
}

void shelf_table_scroll(struct shelf_table *table, int rows, size_t count)
{
    table->page = rows > 1 ? rows : 1;
    table->first = pm_list_first(table->first, table->row, count, rows);
}

void shelf_table_cell(const struct shelf_table *table, const struct pm_pane *pane, int row,
                      size_t column, enum pm_role role, const char *text)
{
    int at = table->spans[column].at, cells = table->spans[column].cells;
    if (cells < 1 || !*text)
        return;
    if (table->columns[column].right)
        pm_pane_put_right(pane, row, at, cells, role, text);
    else
        pm_pane_put_left(pane, row, at, cells, role, text);
}

void shelf_table_headings(const struct shelf_table *table, const struct pm_pane *pane, int row)
{
    for (size_t i = 0; i < table->column_count; i++)
        shelf_table_cell(table, pane, row, i, PM_ROLE_FAINT, table->columns[i].heading);
}

bool shelf_table_sideways(struct shelf_table *table, int step)
{
    if (step < 0 ? table->column == 0 : table->column + 1 >= table->column_count)
        return false;
    table->column += step < 0 ? (size_t)-1 : 1;
    return true;
}
