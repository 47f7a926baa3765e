/* SPDX-License-Identifier: MIT */
/* The picker: one row of a list that may be long; typing narrows it. */
#include "app_inside.h"
#include "field.h"
#include "list.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <stdio.h>

#define FILTER_LIMIT 800 /* the longest name: 200 characters */
#define HEAD_ROWS    2   /* the filter and the column headings */

struct picker {
    struct pm_overlay overlay;  /* must be first */
    struct pm_picker_spec spec; /* its strings point into `words` */
    struct pm_text words;
    struct pm_field field;
    struct pm_pick_row row; /* the one being painted */
    size_t count, selected, first;
    int page;     /* rows of the list seen at the last paint */
    bool more;    /* the filter left some out */
    bool on_list; /* the cursor is on the list, not in the filter */
};

static struct picker *picker_of(const struct pm_overlay *overlay)
{
    return (struct picker *)(uintptr_t)overlay;
}

static void refilter(struct picker *picker)
{
    picker->more = false;
    picker->count = picker->spec.filter(picker->spec.context, picker->field.text, &picker->more);
    picker->selected = picker->first = 0;
    picker->on_list = false;
}

static int picker_rows(const struct pm_overlay *overlay, int most)
{
    (void)overlay;
    return most < 18 ? most : most * 3 / 4;
}

/* ---- painting -------------------------------------------------------------------------------- */

/* Widths of the columns in `cells`, two blanks between them: the one without a width gets what the
 * others leave. */
static void measure(const struct picker *picker, int cells, int widths[PM_PICK_COLUMNS])
{
    int used = 0;
    for (size_t i = 0; i < picker->spec.column_count; i++)
        used += picker->spec.columns[i].cells + (i > 0 ? 2 : 0);
    for (size_t i = 0; i < picker->spec.column_count; i++) {
        int width = picker->spec.columns[i].cells;
        widths[i] = width > 0 ? width : cells - used > 4 ? cells - used : 4;
    }
}

static void put_column(const struct picker *picker, const struct pm_pane *pane, int row, size_t i,
                       const int *widths, enum pm_role role, const char *text)
{
    int column = 2;
    for (size_t k = 0; k < i; k++)
        column += widths[k] + 2;
    if (picker->spec.columns[i].right)
        pm_pane_put_right(pane, row, column, widths[i], role, text);
    else
        pm_pane_put_left(pane, row, column, widths[i], role, text);
}

static void draw_rows(struct picker *picker, const struct pm_pane *list, const int *widths)
{
    struct pm_pick_row *row = &picker->row;
    for (int y = 0; y < list->rows; y++) {
        size_t index = picker->first + (size_t)y;
        if (index >= picker->count)
            return;
        row->role = PM_ROLE_NORMAL;
        for (size_t i = 0; i < PM_PICK_COLUMNS; i++)
            pm_text_clear(&row->cells[i]);
        picker->spec.row(picker->spec.context, index, row);
        for (size_t i = 0; i < picker->spec.column_count; i++)
            put_column(picker, list, y, i, widths, row->role, pm_text_get(&row->cells[i]));
        if (index == picker->selected) {
            pm_pane_put(list, y, 0, PM_ROLE_NORMAL, "\xE2\x80\xBA"); /* U+203A */
            pm_pane_overlay(list, y, 0, 1, list->columns, PM_ROLE_SELECTED);
            if (picker->on_list)
                pm_pane_cursor(list, y, 2);
        }
    }
}

static int whole_rows(const struct picker *picker, const struct pm_pane *pane)
{
    bool room = pane->rows >= HEAD_ROWS + 3 * (picker->spec.whole + 1);
    return picker->spec.whole > 0 && room ? picker->spec.whole + 1 : 0;
}

/* What the list has cut off. */
static void draw_whole(struct picker *picker, const struct pm_pane *pane, int rows)
{
    struct pm_pane below =
        pm_pane_part(pane, pane->rows - rows + 1, 2, rows - 1, pane->columns - 2);
    struct pm_pick_row *row = &picker->row;
    for (size_t i = 0; i < PM_PICK_COLUMNS; i++)
        pm_text_clear(&row->cells[i]);
    picker->spec.row(picker->spec.context, picker->selected, row);
    pm_pane_wrap(&below, 0, PM_ROLE_FAINT, pm_text_get(&row->cells[picker->spec.column_count - 1]));
}

static void draw_count(const struct picker *picker, const struct pm_pane *pane)
{
    char text[64];
    if (picker->count == 0)
        snprintf(text, sizeof text, "nothing matches");
    else
        snprintf(text, sizeof text, "%zu of %zu%s", picker->selected + 1, picker->count,
                 picker->more ? " or more" : "");
    pm_pane_put_right(pane, 0, pane->columns - 30, 30, PM_ROLE_FAINT, text);
}

static void picker_draw(struct pm_overlay *overlay, const struct pm_pane *pane)
{
    struct picker *picker = picker_of(overlay);
    int widths[PM_PICK_COLUMNS];
    int whole = whole_rows(picker, pane);
    struct pm_pane list =
        pm_pane_part(pane, HEAD_ROWS, 0, pane->rows - HEAD_ROWS - whole, pane->columns);
    picker->page = list.rows;
    picker->first = pm_list_reach(picker->first, picker->selected, list.rows);

    int label = pm_pane_put(pane, 0, 0, PM_ROLE_HEADING, picker->spec.label);
    pm_field_draw(&picker->field, pane, 0, label + 2, pane->columns - label - 34, true);
    draw_count(picker, pane);
    measure(picker, pane->columns - 2, widths);
    for (size_t i = 0; i < picker->spec.column_count; i++)
        put_column(picker, pane, 1, i, widths, PM_ROLE_FAINT, picker->spec.columns[i].heading);
    if (picker->count == 0 && picker->spec.none_hint)
        pm_pane_wrap(&list, 0, PM_ROLE_NORMAL, picker->spec.none_hint);
    draw_rows(picker, &list, widths);
    if (whole > 0 && picker->selected < picker->count)
        draw_whole(picker, pane, whole);
}

/* ---- keys ------------------------------------------------------------------------------------ */

static unsigned picker_accept(struct picker *picker)
{
    struct pm_error err = {0};
    const struct pm_picker_spec *spec = &picker->spec;
    enum pm_status status;
    if (picker->count > 0)
        status = spec->accept(spec->context, picker->selected, picker->field.text, &err);
    else if (spec->none)
        status = spec->none(spec->context, picker->field.text, &err);
    else
        status = pm_fail(&err, PM_MISSING, "Nothing matches \"%s\".", picker->field.text);
    return pm_overlay_accepted(&picker->overlay, status, &err);
}

static void picker_move(struct picker *picker, int code)
{
    picker->selected = pm_list_move(picker->selected, picker->count, picker->page, code);
    picker->on_list = picker->count > 0;
}

static unsigned picker_act(struct pm_overlay *overlay, const struct pm_action *action)
{
    struct picker *picker = picker_of(overlay);
    switch (action->code) {
    case PM_ACT_ACCEPT:
        return picker_accept(picker);
    case PM_ACT_CANCEL:
        pm_overlay_close(overlay);
        break;
    case PM_ACT_PREV:
        picker_move(picker, PM_ACT_UP);
        break;
    case PM_ACT_NEXT:
        picker_move(picker, PM_ACT_DOWN);
        break;
    case PM_ACT_UP:
    case PM_ACT_DOWN:
    case PM_ACT_PAGE_UP:
    case PM_ACT_PAGE_DOWN:
    case PM_ACT_FIRST:
    case PM_ACT_LAST:
        picker_move(picker, action->code);
        break;
    default:
        picker->on_list = false;
        if (pm_field_act(&picker->field, action->code) == PM_FIELD_CHANGED)
            refilter(picker);
    }
    return PM_REDRAW;
}

static unsigned picker_text(struct pm_overlay *overlay, const char *text)
{
    struct picker *picker = picker_of(overlay);
    enum pm_field_result result = pm_field_insert(&picker->field, text);
    if (result == PM_FIELD_CHANGED)
        refilter(picker);
    else if (result == PM_FIELD_FULL)
        pm_app_warn(overlay->app, PM_FIELD_FULL_SENTENCE);
    return PM_REDRAW;
}

static void picker_free(struct pm_overlay *overlay)
{
    struct picker *picker = picker_of(overlay);
    for (size_t i = 0; i < PM_PICK_COLUMNS; i++)
        pm_text_release(&picker->row.cells[i]);
    pm_text_release(&picker->words);
    pm_field_release(&picker->field);
    if (picker->spec.closed)
        picker->spec.closed(picker->spec.context);
    pm_free(picker);
}

static const struct pm_overlay_kind picker_kind = {
    .mode = PM_MODE_PICK,
    .rows = picker_rows,
    .draw = picker_draw,
    .act = picker_act,
    .text = picker_text,
    .free = picker_free,
    .hints = {PM_ACT_ACCEPT, PM_ACT_CANCEL, PM_ACT_PAGE_DOWN},
};

/* Copies the strings of the spec one after another, then points the spec at the copies: while the
 * text grows it may move. */
static bool copy_words(struct picker *picker)
{
    struct pm_picker_spec *spec = &picker->spec;
    const char **strings[PM_PICK_COLUMNS + 2];
    size_t offsets[PM_PICK_COLUMNS + 2];
    size_t count = 0;
    strings[count++] = &spec->label;
    if (spec->none_hint)
        strings[count++] = &spec->none_hint;
    for (size_t i = 0; i < spec->column_count; i++)
        strings[count++] = &spec->columns[i].heading;
    for (size_t i = 0; i < count; i++) {
        offsets[i] = picker->words.length;
        pm_text_add(&picker->words, *strings[i]);
        pm_text_add_char(&picker->words, '\0');
    }
    if (!pm_text_ok(&picker->words))
        return false;
    for (size_t i = 0; i < count; i++)
        *strings[i] = picker->words.data + offsets[i];
    return true;
}

bool pm_picker_open(struct pm_app *app, const struct pm_picker_spec *spec)
{
    struct picker *picker = pm_alloc_array(1, sizeof *picker);
    if (!picker) {
        if (spec->closed)
            spec->closed(spec->context);
        return pm_overlay_failed(app, NULL);
    }
    picker->overlay.kind = &picker_kind;
    picker->spec = *spec;
    if (!copy_words(picker) || !pm_field_init(&picker->field, FILTER_LIMIT))
        return pm_overlay_failed(app, &picker->overlay);
    pm_field_set(&picker->field, spec->text ? spec->text : "");
    refilter(picker);
    pm_overlay_push(app, &picker->overlay, spec->title);
    return true;
}
