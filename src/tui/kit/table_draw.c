/* SPDX-License-Identifier: MIT */
/* Tables: painting. */
#include "copy.h"
#include "list.h"
#include "speech.h"
#include "table_inside.h"

#include "permille/base/utf8.h"

#include <string.h>

#define SIGN       "\xE2\x80\xBA" /* U+203A, at the selected row */
#define RULE       "\xE2\x94\x80" /* U+2500 */
#define EMPTY_ROWS 3              /* taken by the sentence in place of the rows */

struct paint {
    const struct pm_table *table;
    struct pm_table_view *view;
    const struct pm_pane *pane;
    struct pm_text text; /* of the cell being painted */
};

/* No wider than the text: some roles can be seen on blanks as well. */
void pm_span_put(const struct pm_pane *pane, int y, struct pm_span span, enum pm_align align,
                 enum pm_role role, const char *text)
{
    const int needed = (int)pm_utf8_cells(text);
    const int cells = needed < span.cells ? needed : span.cells;
    if (cells > 0)
        pm_pane_put_left(pane, y, align == PM_ALIGN_LEFT ? span.at : span.at + span.cells - cells,
                         cells, role, text);
}

static void put(const struct paint *paint, int y, size_t column, enum pm_role role)
{
    struct pm_span span = paint->view->spans[column];
    const char *text = pm_text_get(&paint->text);
    if (paint->table->columns[column].align == PM_ALIGN_POINT) {
        /* What has fewer decimals than the others ends before the end of the column. */
        int behind = (int)pm_utf8_cells(text + pm_table_point(text));
        int blank = paint->view->content[column].back - behind;
        if (blank > 0 && (int)pm_utf8_cells(text) <= span.cells - blank)
            span.cells -= blank;
    }
    pm_span_put(paint->pane, y, span, paint->table->columns[column].align, role, text);
}

/* ---- headings ---- */

/* The cells a heading may take: those of its column and of the columns after it that have none, and
 * what lies free before the next heading when it is longer. */
static void put_heading(const struct paint *paint, size_t column)
{
    const struct pm_table *table = paint->table;
    const char *text = table->columns[column].heading;
    size_t next = column + 1, last = column;
    int free_to = paint->pane->columns;
    for (; next < table->column_count; next++) {
        if (paint->view->spans[next].cells == 0)
            continue;
        if (table->columns[next].heading != NULL) {
            free_to = paint->view->spans[next].at - 1;
            break;
        }
        last = next;
    }
    struct pm_span span = pm_table_span(paint->view, column, last);
    enum pm_align align = last > column ? PM_ALIGN_LEFT : table->columns[column].align;
    int cells = (int)pm_utf8_cells(text);
    if (cells > span.cells && span.cells > 0) {
        align = PM_ALIGN_LEFT;
        span.cells = cells < free_to - span.at ? cells : free_to - span.at;
    }
    pm_span_put(paint->pane, table->above, span, align, PM_ROLE_FAINT, text);
}

static void draw_headings(const struct paint *paint)
{
    for (size_t i = 0; i < paint->table->column_count; i++)
        if (paint->table->columns[i].heading != NULL && paint->view->spans[i].cells > 0)
            put_heading(paint, i);
}

/* ---- rows ---- */

static struct pm_field *typed_field(const struct paint *paint)
{
    if (paint->table->field != NULL)
        return paint->table->field;
    return paint->view->typing ? &paint->view->field : NULL;
}

/* The text that is typed needs not fit the column: it grows to the right, where there is room, else
 * to the left; a number always to the left. */
static void draw_typing(const struct paint *paint, int y, struct pm_field *field)
{
    const size_t column = pm_table_typed_column(paint->table, paint->view);
    const int cells = (int)pm_utf8_cells(field->text), margin = pm_table_margin(paint->table);
    struct pm_span span = paint->view->spans[column];
    if (cells + 1 > span.cells) {
        int end = paint->table->columns[column].align == PM_ALIGN_LEFT ? span.at + cells + 1
                                                                       : span.at + span.cells;
        end = end < paint->pane->columns ? end : paint->pane->columns;
        span.at = end - cells - 1 > margin ? end - cells - 1 : margin;
        span.cells = end - span.at;
    }
    pm_field_draw(field, paint->pane, y, span.at, span.cells, !paint->view->writing);
    if (paint->view->writing)
        pm_pane_cursor(paint->pane, y, span.at);
}

static void place_cursor(const struct paint *paint, int y, size_t column)
{
    struct pm_span span = paint->view->spans[column];
    bool left = paint->table->columns[column].align == PM_ALIGN_LEFT;
    pm_pane_cursor(paint->pane, y, left || span.cells == 0 ? span.at : span.at + span.cells - 1);
}

/* Where a row ends that is shown as selected. */
static int selected_end(const struct paint *paint)
{
    for (size_t i = 0; i < paint->table->column_count; i++)
        if (paint->table->columns[i].bare && paint->view->spans[i].cells > 0)
            return paint->view->spans[i].at;
    return paint->pane->columns;
}

static void draw_selected(const struct paint *paint, int y)
{
    const struct pm_table *table = paint->table;
    struct pm_field *field = typed_field(paint);
    const struct pm_span cell = paint->view->spans[pm_table_typed_column(table, paint->view)];
    pm_pane_put(paint->pane, y, 0, table->idle ? PM_ROLE_FAINT : PM_ROLE_HEADING, SIGN);
    if (field != NULL && !table->idle) {
        pm_pane_overlay(paint->pane, y, 0, 1, selected_end(paint), PM_ROLE_ROW);
        draw_typing(paint, y, field);
        return;
    }
    pm_pane_overlay(paint->pane, y, 0, 1, selected_end(paint),
                    table->by_cell || table->idle ? PM_ROLE_ROW : PM_ROLE_SELECTED);
    if (table->idle)
        return;
    if (table->by_cell)
        pm_pane_overlay(paint->pane, y, cell.at, 1, cell.cells, PM_ROLE_SELECTED);
    place_cursor(paint, y, pm_table_typed_column(table, paint->view));
}

static void draw_mark(struct paint *paint, int y, size_t row)
{
    if (paint->table->mark == NULL)
        return;
    pm_text_clear(&paint->text);
    enum pm_role role = paint->table->mark(paint->table->context, row, &paint->text);
    pm_pane_put(paint->pane, y, 1, role, pm_text_get(&paint->text));
}

static void draw_cells(struct paint *paint, int y, size_t row)
{
    const struct pm_table *table = paint->table;
    for (size_t i = 0; i < table->column_count; i++) {
        if (paint->view->spans[i].cells == 0)
            continue;
        if (table->paint != NULL && table->paint(table->context, paint->pane, y, row, i))
            continue;
        pm_text_clear(&paint->text);
        enum pm_role role = table->cell(table->context, row, i, &paint->text);
        put(paint, y, i, role);
    }
}

static void draw_row(struct paint *paint, int y, size_t row)
{
    const struct pm_table *table = paint->table;
    pm_text_clear(&paint->text);
    if (table->title != NULL && table->title(table->context, row, &paint->text)) {
        pm_pane_put_left(paint->pane, y, 0, paint->pane->columns, PM_ROLE_HEADING,
                         pm_text_get(&paint->text));
        return;
    }
    draw_mark(paint, y, row);
    draw_cells(paint, y, row);
    if (row == paint->view->row && !table->unselected)
        draw_selected(paint, y);
}

static void draw_empty(const struct paint *paint)
{
    if (paint->table->empty == NULL)
        return;
    const int y = paint->view->body + 1;
    pm_pane_put_left(paint->pane, y, 2, paint->pane->columns - 2, PM_ROLE_NORMAL,
                     paint->table->empty);
    if (!paint->table->idle)
        pm_pane_cursor(paint->pane, y, 2);
}

/* ---- the footing ---- */

static void draw_whole_rule(struct paint *paint, int y)
{
    const struct pm_table *table = paint->table;
    pm_text_clear(&paint->text);
    if (table->note != NULL)
        table->note(table->context, paint->view->below, &paint->text);
    else if (paint->view->below > 0)
        pm_text_addf(&paint->text, "%zu below", paint->view->below);
    pm_pane_rule(paint->pane, y, pm_text_get(&paint->text));
}

static void draw_column_rule(const struct paint *paint, int y)
{
    for (size_t i = 0; i < paint->table->column_count; i++)
        if (paint->table->columns[i].summed)
            pm_pane_repeat(paint->pane, y, paint->view->spans[i].at, paint->view->spans[i].cells,
                           PM_ROLE_RULE, RULE);
}

/* A text of the footing may run on over columns that have nothing to say there. */
static struct pm_span foot_span(const struct paint *paint, size_t row, size_t column)
{
    const struct pm_table *table = paint->table;
    struct pm_span span = paint->view->spans[column];
    struct pm_text said = PM_TEXT_EMPTY;
    size_t next = column + 1;
    int end = paint->pane->columns;
    for (; next < table->column_count; next++) {
        if (paint->view->spans[next].cells == 0)
            continue;
        pm_text_clear(&said);
        table->foot(table->context, row, next, &said);
        if (said.length > 0) {
            end = paint->view->spans[next].at - 1;
            break;
        }
    }
    pm_text_release(&said);
    span.cells = end > span.at + span.cells ? end - span.at : span.cells;
    return span;
}

static void put_foot(const struct paint *paint, int y, size_t row, size_t column, enum pm_role role)
{
    const struct pm_span span = paint->view->spans[column];
    const char *text = pm_text_get(&paint->text);
    if (paint->table->columns[column].align != PM_ALIGN_LEFT ||
        (int)pm_utf8_cells(text) <= span.cells)
        put(paint, y, column, role);
    else
        pm_span_put(paint->pane, y, foot_span(paint, row, column), PM_ALIGN_LEFT, role, text);
}

static void draw_foot(struct paint *paint, bool ruled)
{
    const struct pm_table *table = paint->table;
    const int y = paint->view->foot;
    if (ruled && table->rule == PM_RULE_WHOLE)
        draw_whole_rule(paint, y - 1);
    else if (ruled)
        draw_column_rule(paint, y - 1);
    for (size_t row = 0; row < table->foot_rows; row++)
        for (size_t i = 0; i < table->column_count; i++) {
            if (paint->view->spans[i].cells == 0)
                continue;
            pm_text_clear(&paint->text);
            enum pm_role role = table->foot(table->context, row, i, &paint->text);
            put_foot(paint, y + (int)row, row, i, role);
        }
}

/* ---- together ---- */

/* Which rows are in sight: a selected row under an overlay stands higher as long as it is there. */
static void scroll(const struct paint *paint, int rows)
{
    const struct pm_table *table = paint->table;
    struct pm_table_view *view = paint->view;
    const int above = paint->pane->rows - view->body - table->covered;
    const int free_rows = above < rows ? above : rows;
    const size_t at = table->unselected ? view->first : view->row;
    view->page = rows > 1 ? rows : 1;
    view->first = pm_list_first(view->first, at, table->rows, rows);
    view->shown = table->covered > 0 ? pm_list_reach(view->first, at, free_rows) : view->first;
    size_t in_sight = table->rows > view->shown ? table->rows - view->shown : 0;
    view->below = in_sight > (size_t)view->page ? in_sight - (size_t)view->page : 0;
}

/* Sums stand under the last row, in a table that scrolls at the bottom; there the rule between the
 * columns gives way to a row. Returns whether there is a rule. */
static bool place_foot(const struct paint *paint, int rows, int used)
{
    const struct pm_table *table = paint->table;
    struct pm_table_view *view = paint->view;
    const int last = paint->pane->rows - (int)table->foot_rows;
    bool ruled = table->rule == PM_RULE_WHOLE ||
                 (table->rule == PM_RULE_COLUMNS && view->body + used < last);
    view->foot = view->body + (used < rows ? used : rows) + (ruled ? 1 : 0);
    view->foot = view->foot < last ? view->foot : last;
    return ruled;
}

void pm_table_draw(const struct pm_table *table, struct pm_table_view *view,
                   const struct pm_pane *pane)
{
    struct paint paint = {.table = table, .view = view, .pane = pane, .text = PM_TEXT_EMPTY};
    const bool footed = table->foot_rows > 0 || table->rule == PM_RULE_WHOLE;
    if (pane->grid->copy != NULL) {
        pm_copy_table(pane->grid->copy, table);
        return;
    }
    pm_table_lay_out(table, view, pane->columns);
    view->body = table->above + (table->plain ? 0 : 1);
    view->foot = -1;
    int rows =
        pane->rows - view->body - (int)table->foot_rows - (table->rule == PM_RULE_WHOLE ? 1 : 0);
    scroll(&paint, rows);
    if (!table->plain)
        draw_headings(&paint);
    int used = 0;
    for (; used < rows && view->shown + (size_t)used < table->rows; used++)
        draw_row(&paint, view->body + used, view->shown + (size_t)used);
    if (table->rows == 0)
        draw_empty(&paint);
    if (footed) {
        bool ruled = place_foot(&paint, rows, table->rows > 0 ? used : EMPTY_ROWS);
        draw_foot(&paint, ruled);
    }
    if (pane->grid->speech != NULL)
        pm_speech_table(pane->grid->speech, table, view, pane);
    pm_text_release(&paint.text);
}
