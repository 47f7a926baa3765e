/* SPDX-License-Identifier: MIT */
/* Tables: moving and typing. */
#include "table.h"

#include "action.h"
#include "list.h"
#include "table_inside.h"

#include <string.h>

bool pm_table_view_init(struct pm_table_view *view, size_t limit)
{
    *view = (struct pm_table_view){0};
    return pm_field_init(&view->field, limit);
}

void pm_table_view_release(struct pm_table_view *view)
{
    pm_field_release(&view->field);
    *view = (struct pm_table_view){0};
}

void pm_table_changed(struct pm_table_view *view)
{
    view->measured = false;
}

/* ---- moving ---- */

static bool is_title(const struct pm_table *table, size_t row)
{
    struct pm_text text = PM_TEXT_EMPTY;
    bool is = table->title != NULL && row < table->rows && table->title(table->context, row, &text);
    pm_text_release(&text);
    return is;
}

/* The nearest row that is no title, on this way if there is one, else back; `row` when all are. */
static size_t pass_titles(const struct pm_table *table, size_t row, bool down)
{
    for (int way = 0; way < 2; way++, down = !down)
        for (size_t at = row; at < table->rows; at = down ? at + 1 : at - 1)
            if (!is_title(table, at))
                return at;
    return row;
}

static unsigned move_row(const struct pm_table *table, struct pm_table_view *view, int code)
{
    const size_t was = view->row;
    size_t count = table->unread ? SIZE_MAX : table->rows;
    size_t row = pm_list_move(was, count, view->page, code);
    bool down = row > was || (row == was && code == PM_ACT_FIRST);
    view->row = pass_titles(table, row, down);
    return view->row == was ? PM_TABLE_DONE : PM_TABLE_DONE | PM_TABLE_MOVED;
}

/* Whether the table has the column on a screen as wide as this. */
static bool there(const struct pm_table *table, const struct pm_table_view *view, size_t column)
{
    const struct pm_column *is = &table->columns[column];
    return !is->hidden && view->cells >= is->from &&
           !(is->optional && view->measured &&
             view->content[column].front + view->content[column].back == 0);
}

static bool move_column(const struct pm_table *table, struct pm_table_view *view, int step,
                        bool edited)
{
    for (size_t at = view->column; step < 0 ? at > 0 : at + 1 < table->column_count;) {
        at = step < 0 ? at - 1 : at + 1;
        if (!there(table, view, at) || (edited && !table->columns[at].edited))
            continue;
        view->column = at;
        return true;
    }
    return false;
}

/* By rows there is no cell cursor: what is out of sight comes in. */
static void move_sideways(const struct pm_table *table, struct pm_table_view *view, int step)
{
    if (table->by_cell)
        move_column(table, view, step, false);
    else if (step > 0 && view->behind)
        view->left = pm_table_group_end(table, view->left);
    else if (step < 0 && view->before)
        view->left--;
}

void pm_table_in_sight(const struct pm_table_view *view, size_t rows, int most, size_t *from,
                       size_t *to)
{
    const size_t seen = most > 1 ? (size_t)most : 1, row = view->row;
    *from = row < view->first ? row : row - view->first < seen ? view->first : row - seen + 1;
    if (*from + seen > rows)
        *from = rows > seen ? rows - seen : 0;
    /* Under an overlay the rows stand higher, down to the selected one as the first. */
    *to = row + seen < rows ? row + seen : rows;
}

/* ---- typing ---- */

void pm_table_stop(struct pm_table_view *view)
{
    view->typing = false;
    view->writing = false;
}

static enum pm_status what_stands_there(const struct pm_table *table,
                                        const struct pm_table_view *view, struct pm_text *out,
                                        struct pm_error *err)
{
    const size_t column = pm_table_typed_column(table, view);
    if (view->row >= table->rows)
        return pm_fail(err, PM_MISSING, "There is nothing to edit yet.");
    if (!table->columns[column].edited)
        return pm_fail(err, PM_REFUSED, "The column \"%s\" is worked out and cannot be typed.",
                       table->columns[column].heading);
    return table->open(table->context, view->row, column, out, err);
}

/* Opens the cell under the cursor, empty for a first character. */
static unsigned open_cell(const struct pm_table *table, struct pm_table_view *view, bool empty,
                          struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    enum pm_status status = what_stands_there(table, view, &text, err);
    if (status == PM_OK && !pm_text_ok(&text))
        status = pm_fail_memory(err);
    if (status == PM_OK) {
        pm_field_offer(&view->field, empty ? "" : pm_text_get(&text));
        view->typing = true;
    }
    pm_text_release(&text);
    return status == PM_OK ? PM_TABLE_DONE : PM_TABLE_DONE | PM_TABLE_REFUSED;
}

unsigned pm_table_open(const struct pm_table *table, struct pm_table_view *view,
                       struct pm_error *err)
{
    return open_cell(table, view, false, err);
}

/* One change. When it was refused, the cell stays open with its text; where nothing was typed,
 * there is none. */
static unsigned commit(const struct pm_table *table, struct pm_table_view *view,
                       struct pm_error *err)
{
    const size_t column = pm_table_typed_column(table, view);
    if (!view->field.whole) {
        if (table->write(table->context, view->row, column, view->field.text, err) != PM_OK)
            return PM_TABLE_DONE | PM_TABLE_REFUSED;
        pm_table_stop(view);
        pm_table_changed(view);
        return PM_TABLE_DONE | PM_TABLE_WROTE;
    }
    pm_table_stop(view);
    return PM_TABLE_DONE;
}

bool pm_table_takes(const struct pm_table_view *view, int code)
{
    return view->typing && !view->field.whole &&
           (code == PM_ACT_ACCEPT || code == PM_ACT_UP || code == PM_ACT_DOWN ||
            code == PM_ACT_NEXT || code == PM_ACT_PREV);
}

static unsigned edit_line(struct pm_table_view *view, int code)
{
    return pm_field_act(&view->field, code) == PM_FIELD_IGNORED ? 0 : PM_TABLE_DONE;
}

static unsigned type_act(const struct pm_table *table, struct pm_table_view *view, int code,
                         struct pm_error *err)
{
    unsigned answer;
    switch (code) {
    case PM_ACT_ACCEPT:
        return commit(table, view, err);
    case PM_ACT_CANCEL:
        pm_table_stop(view);
        return PM_TABLE_DONE;
    case PM_ACT_UP:
    case PM_ACT_DOWN:
        answer = commit(table, view, err);
        return answer & PM_TABLE_REFUSED ? answer : answer | move_row(table, view, code);
    case PM_ACT_NEXT:
    case PM_ACT_PREV:
        answer = commit(table, view, err);
        if (!(answer & PM_TABLE_REFUSED) && table->by_cell)
            move_column(table, view, code == PM_ACT_NEXT ? 1 : -1, true);
        return answer;
    default:
        return edit_line(view, code);
    }
}

unsigned pm_table_act(const struct pm_table *table, struct pm_table_view *view, int code,
                      struct pm_error *err)
{
    view->writing = false;
    if (view->typing)
        return type_act(table, view, code, err);
    if (pm_list_moves(code))
        return move_row(table, view, code);
    switch (code) {
    case PM_ACT_LEFT:
    case PM_ACT_PREV:
        move_sideways(table, view, -1);
        return PM_TABLE_DONE;
    case PM_ACT_RIGHT:
    case PM_ACT_NEXT:
        move_sideways(table, view, 1);
        return PM_TABLE_DONE;
    default:
        return 0;
    }
}

unsigned pm_table_type(const struct pm_table *table, struct pm_table_view *view, const char *text,
                       bool pasted, struct pm_error *err)
{
    if (!view->typing) {
        /* Letters are actions here; a digit begins a number or a date. */
        if (!pasted && (!*text || strchr("0123456789.,", *text) == NULL))
            return 0;
        unsigned answer = open_cell(table, view, true, err);
        if (answer & PM_TABLE_REFUSED)
            return answer;
    }
    const enum pm_field_result result = pm_field_insert(&view->field, text);
    return result == PM_FIELD_FULL ? PM_TABLE_DONE | PM_TABLE_FULL : PM_TABLE_DONE;
}
