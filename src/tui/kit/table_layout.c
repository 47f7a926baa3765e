/* SPDX-License-Identifier: MIT */
/* Tables: which columns are shown, where, and how wide. */
#include "table_inside.h"

#include "permille/base/utf8.h"

#include <string.h>

#define MARGIN 2
#define GAP    2

/* One working out. */
struct layout {
    const struct pm_table *table;
    const struct pm_table_view *view;
    int cells;
    size_t cursor; /* column that has to be seen; the number of columns: none */
    size_t left;   /* first scrolling column shown */
    bool in[PM_TABLE_COLUMNS];
    int width[PM_TABLE_COLUMNS];
    struct pm_span spans[PM_TABLE_COLUMNS];
    int end; /* of the last column placed */
};

size_t pm_table_typed_column(const struct pm_table *table, const struct pm_table_view *view)
{
    return table->by_cell ? view->column : table->at;
}

int pm_table_margin(const struct pm_table *table)
{
    return table->margin > 0 ? table->margin : MARGIN;
}

static int gap_before(const struct pm_table *table, size_t column)
{
    if (table->columns[column].gap > 0)
        return table->columns[column].gap;
    return table->gap > 0 ? table->gap : GAP;
}

static int least_of(int a, int b)
{
    return a < b ? a : b;
}

/* ---- measuring ---- */

size_t pm_table_point(const char *text)
{
    size_t at = strcspn(text, "0123456789");
    return text[at] ? at + strspn(text + at, "0123456789") : at;
}

static bool is_measured(const struct pm_column *column)
{
    return column->measured || column->align == PM_ALIGN_POINT;
}

static void measure_cell(const struct pm_table *table, struct pm_table_view *view, size_t column,
                         const char *text)
{
    int all = (int)pm_utf8_cells(text), front = all;
    if (table->columns[column].align == PM_ALIGN_POINT) {
        size_t point = pm_table_point(text);
        front = all - (int)pm_utf8_cells(text + point);
    }
    if (front > view->content[column].front)
        view->content[column].front = front;
    if (all - front > view->content[column].back)
        view->content[column].back = all - front;
}

static void measure_column(const struct pm_table *table, struct pm_table_view *view, size_t column,
                           struct pm_text *text)
{
    view->content[column].front = view->content[column].back = 0;
    if (!is_measured(&table->columns[column]))
        return;
    for (size_t row = 0; row < table->rows; row++) {
        pm_text_clear(text);
        if (table->title != NULL && table->title(table->context, row, text))
            continue;
        pm_text_clear(text);
        table->cell(table->context, row, column, text);
        measure_cell(table, view, column, pm_text_get(text));
    }
    for (size_t row = 0; row < table->foot_rows && table->foot != NULL; row++) {
        pm_text_clear(text);
        table->foot(table->context, row, column, text);
        measure_cell(table, view, column, pm_text_get(text));
    }
}

static void measure(const struct pm_table *table, struct pm_table_view *view)
{
    struct pm_text text = PM_TEXT_EMPTY;
    if (view->measured && view->measured_rows == table->rows)
        return;
    for (size_t i = 0; i < table->column_count; i++)
        measure_column(table, view, i, &text);
    pm_text_release(&text);
    view->measured = true;
    view->measured_rows = table->rows;
}

static int content(const struct layout *at, size_t column)
{
    return at->view->content[column].front + at->view->content[column].back;
}

/* Of a heading that stands over its own column alone. */
static int heading_cells(const struct pm_table *table, size_t column)
{
    bool alone = column + 1 == table->column_count || table->columns[column + 1].heading != NULL;
    const char *heading = table->columns[column].heading;
    return alone && heading != NULL && !table->plain ? (int)pm_utf8_cells(heading) : 0;
}

static int natural(const struct layout *at, size_t column)
{
    const struct pm_column *is = &at->table->columns[column];
    const int needed[] = {content(at, column), heading_cells(at->table, column)};
    int cells = is->wish;
    if (!is_measured(is))
        return cells;
    for (size_t i = 0; i < sizeof needed / sizeof *needed; i++)
        cells = needed[i] > cells ? needed[i] : cells;
    return is->most > 0 ? least_of(cells, is->most) : cells;
}

/* ---- fitting ---- */

static int total(const struct layout *at)
{
    int cells = pm_table_margin(at->table);
    bool first = true;
    for (size_t i = 0; i < at->table->column_count; i++) {
        if (!at->in[i])
            continue;
        cells += at->width[i] + (first ? 0 : gap_before(at->table, i));
        first = false;
    }
    return cells;
}

static int highest(const struct layout *at, int (*number)(const struct pm_column *))
{
    int most = 0;
    for (size_t i = 0; i < at->table->column_count; i++)
        if (at->in[i] && number(&at->table->columns[i]) > most)
            most = number(&at->table->columns[i]);
    return most;
}

static int yields(const struct pm_column *column)
{
    return column->yields;
}

static int rank(const struct pm_column *column)
{
    return column->rank;
}

/* Every column as wide as it likes, then those that yield as narrow as need be. */
static bool shrink(struct layout *at)
{
    for (size_t i = 0; i < at->table->column_count; i++)
        at->width[i] = natural(at, i);
    for (int turn = highest(at, yields); turn > 0; turn--)
        for (size_t i = 0; i < at->table->column_count; i++) {
            const struct pm_column *column = &at->table->columns[i];
            int over = total(at) - at->cells, room = at->width[i] - column->least;
            int step = column->step > 1 ? column->step : 1;
            if (at->in[i] && column->yields == turn && over > 0 && room > 0)
                at->width[i] -= least_of((over + step - 1) / step * step, room);
        }
    return total(at) <= at->cells;
}

size_t pm_table_group_end(const struct pm_table *table, size_t column)
{
    int group = table->columns[column].group;
    size_t end = column + 1;
    while (group != 0 && end < table->column_count && table->columns[end].group == group)
        end++;
    return end;
}

static size_t group_start(const struct pm_table *table, size_t column)
{
    int group = table->columns[column].group;
    while (group != 0 && column > 0 && table->columns[column - 1].group == group)
        column--;
    return column;
}

/* Places columns [from, to) behind what stands already; false when they do not fit: then none. */
static bool put_group(struct layout *at, size_t from, size_t to)
{
    int end = at->end;
    for (size_t i = from; i < to; i++) {
        if (!at->in[i])
            continue;
        int start = end > 0 ? end + gap_before(at->table, i) : pm_table_margin(at->table);
        at->spans[i] = (struct pm_span){start, at->width[i]};
        end = start + at->width[i];
    }
    if (end > at->cells) {
        for (size_t i = from; i < to; i++)
            at->spans[i] = (struct pm_span){0, 0};
        return false;
    }
    at->end = end;
    return true;
}

/* From the left: a column that does not fit ends the row, those after it would stand out of order.
 */
static void place(struct layout *at)
{
    bool full = false;
    memset(at->spans, 0, sizeof at->spans);
    at->end = 0;
    for (size_t i = 0, end; i < at->table->column_count; i = end) {
        end = pm_table_group_end(at->table, i);
        if (at->table->columns[i].fixed)
            put_group(at, i, end);
        else if (i >= at->left && !full)
            full = !put_group(at, i, end);
    }
}

static size_t first_free(const struct pm_table *table)
{
    size_t column = 0;
    while (column < table->column_count && table->columns[column].fixed)
        column++;
    return column;
}

static bool sees_cursor(const struct layout *at)
{
    size_t cursor = at->cursor;
    return cursor >= at->table->column_count || !at->in[cursor] || at->spans[cursor].cells > 0;
}

/* Every column from `left` on is in sight. */
static bool sees_end(const struct layout *at)
{
    for (size_t i = at->left; i < at->table->column_count; i++)
        if (at->in[i] && at->spans[i].cells == 0)
            return false;
    return true;
}

/* Columns that fit come back from the left, so that no room is free that one could fill. */
static void come_back(struct layout *at)
{
    while (at->left > first_free(at->table) && sees_end(at)) {
        struct layout further = *at;
        further.left = group_start(at->table, at->left - 1);
        place(&further);
        if (!sees_end(&further))
            return;
        *at = further;
    }
}

/* The scrolling columns begin where they did before, or as far from there as the cursor needs. */
static void scroll(struct layout *at)
{
    const struct pm_table *table = at->table;
    size_t free_from = first_free(table), cursor = at->cursor;
    size_t start = cursor < table->column_count ? group_start(table, cursor) : free_from;
    if (at->left < free_from || cursor < free_from)
        at->left = free_from;
    if (cursor < table->column_count && cursor >= free_from && start < at->left)
        at->left = start;
    if (at->left < table->column_count)
        at->left = group_start(table, at->left);
    place(at);
    while (!sees_cursor(at) && at->left < start) {
        at->left = pm_table_group_end(table, at->left);
        place(at);
    }
    come_back(at);
}

/* Columns in sight besides those that give way. */
static size_t seen(const struct layout *at)
{
    size_t count = 0;
    struct layout copy = *at;
    scroll(&copy);
    for (size_t i = 0; i < at->table->column_count; i++)
        count += copy.spans[i].cells > 0 && at->table->columns[i].rank == 0;
    return count;
}

/* Columns give way, the highest rank first, until all others fit; where they do not even then, only
 * if another is seen for it. */
static void give_way(struct layout *at)
{
    bool were[PM_TABLE_COLUMNS];
    if (shrink(at))
        return;
    memcpy(were, at->in, sizeof were);
    size_t before = seen(at);
    for (int turn = highest(at, rank); turn > 0; turn--) {
        for (size_t i = 0; i < at->table->column_count; i++)
            at->in[i] = at->in[i] && (at->table->columns[i].rank != turn || i == at->cursor);
        if (shrink(at))
            return;
    }
    if (seen(at) <= before)
        memcpy(at->in, were, sizeof were);
    shrink(at);
}

/* ---- what is left over ---- */

static void widen(struct layout *at, size_t column, int to, int *spare)
{
    int step = at->table->columns[column].step > 1 ? at->table->columns[column].step : 1;
    int cells = least_of(to - at->width[column], *spare) / step * step;
    if (at->spans[column].cells == 0 || cells <= 0)
        return;
    at->width[column] += cells;
    *spare -= cells;
}

/* Which columns take what is left over: those that grow; when none of them is in sight, the last
 * one unless its text stands at the right. Returns how many. */
static int growing(const struct layout *at, bool grows[PM_TABLE_COLUMNS])
{
    const size_t none = at->table->column_count;
    size_t last = none;
    bool any = false;
    int count = 0;
    for (size_t i = 0; i < none; i++) {
        grows[i] = at->table->columns[i].grows && at->spans[i].cells > 0;
        count += grows[i];
        any = any || at->table->columns[i].grows;
        last = at->spans[i].cells > 0 ? i : last;
    }
    if (count > 0 || !any || last == none || at->table->columns[last].align != PM_ALIGN_LEFT)
        return count;
    grows[last] = true;
    return 1;
}

/* To the columns that grow first (`which`), or to the others. */
static void widen_all(struct layout *at, const bool grows[PM_TABLE_COLUMNS], bool which, int *spare)
{
    for (size_t i = 0; i < at->table->column_count; i++)
        if (grows[i] == which && !is_measured(&at->table->columns[i]))
            widen(at, i, at->table->columns[i].most, spare);
}

static void spread(struct layout *at)
{
    const size_t count = at->table->column_count;
    bool grows[PM_TABLE_COLUMNS];
    int spare = at->cells - at->end;
    if (spare <= 0)
        return;
    for (int turn = 1; turn <= highest(at, yields); turn++)
        for (size_t i = 0; i < count; i++)
            if (at->table->columns[i].yields == turn)
                widen(at, i, natural(at, i), &spare);
    int share = growing(at, grows);
    widen_all(at, grows, true, &spare);
    widen_all(at, grows, false, &spare);
    for (size_t i = 0; i < count; i++) {
        if (!grows[i])
            continue;
        at->width[i] += spare / share;
        spare -= spare / share--;
    }
    place(at);
}

/* ---- together ---- */

static void begin(struct layout *at)
{
    for (size_t i = 0; i < at->table->column_count; i++) {
        const struct pm_column *column = &at->table->columns[i];
        at->in[i] = !column->hidden && at->cells >= column->from &&
                    !(column->optional && content(at, i) == 0);
    }
}

static void keep(const struct layout *at, struct pm_table_view *view)
{
    view->left = at->left;
    view->cells = at->cells;
    view->before = view->behind = false;
    memcpy(view->spans, at->spans, sizeof view->spans);
    for (size_t i = 0; i < at->table->column_count; i++) {
        if (!at->in[i] || at->spans[i].cells > 0)
            continue;
        view->before = view->before || i < at->left;
        view->behind = view->behind || i >= at->left;
    }
}

void pm_table_lay_out(const struct pm_table *table, struct pm_table_view *view, int cells)
{
    struct layout at = {.table = table,
                        .view = view,
                        .cells = cells,
                        .cursor =
                            table->by_cell || table->by_column ? view->column : table->column_count,
                        .left = view->left};
    measure(table, view);
    begin(&at);
    give_way(&at);
    if (total(&at) <= cells)
        at.left = 0;
    scroll(&at);
    spread(&at);
    keep(&at, view);
}

struct pm_span pm_table_span(const struct pm_table_view *view, size_t from, size_t to)
{
    struct pm_span span = {0, 0};
    for (size_t i = from; i <= to; i++) {
        if (view->spans[i].cells == 0)
            continue;
        if (span.cells == 0)
            span.at = view->spans[i].at;
        span.cells = view->spans[i].at + view->spans[i].cells - span.at;
    }
    return span;
}
