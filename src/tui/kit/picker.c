/* SPDX-License-Identifier: MIT */
/* The picker: one row of a list that may be long; typing narrows it. */
#include "app_inside.h"
#include "field.h"
#include "speech.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <stdio.h>
#include <string.h>

#define FILTER_LIMIT 800 /* the longest name: 200 characters */
#define HEAD_ROWS    2   /* the filter and the column headings */

struct picker {
    struct pm_overlay overlay;  /* must be first */
    struct pm_picker_spec spec; /* its strings point into `words` */
    bool owned;                 /* the context is a copy of its own */
    struct pm_text words;
    struct pm_field field;
    struct pm_pick_row row; /* the one being painted, or measured */
    size_t row_at;          /* which that is, from 1; 0: none */
    struct pm_table_view list;
    size_t *shown; /* items that match, where the spec has all of them; owned */
    size_t count;
    bool more;    /* the filter left some out */
    bool on_list; /* the cursor is on the list, not in the filter */
};

static struct picker *picker_of(const struct pm_overlay *overlay)
{
    return (struct picker *)(uintptr_t)overlay;
}

/* What cannot be folded for want of memory is shown: better too much than nothing. */
static bool matches(const struct picker *picker, size_t item, const char *wanted)
{
    struct pm_text text = PM_TEXT_EMPTY;
    picker->spec.words(picker->spec.context, item, &text);
    char *folded = pm_fold(pm_text_get(&text));
    const bool found = folded == NULL || wanted == NULL || strstr(folded, wanted) != NULL;
    pm_free(folded);
    pm_text_release(&text);
    return found;
}

static size_t narrow(struct picker *picker)
{
    char *wanted = pm_fold(picker->field.text);
    size_t count = 0;
    for (size_t i = 0; i < picker->spec.count; i++)
        if (matches(picker, i, wanted))
            picker->shown[count++] = i;
    pm_free(wanted);
    return count;
}

/* What the spec calls a row of the list. */
static size_t item_of(const struct picker *picker, size_t row)
{
    return picker->shown != NULL ? picker->shown[row] : row;
}

static void refilter(struct picker *picker)
{
    const struct pm_picker_spec *spec = &picker->spec;
    picker->more = false;
    picker->count = picker->shown != NULL
                        ? narrow(picker)
                        : spec->filter(spec->context, picker->field.text, &picker->more);
    picker->list.row = picker->list.first = 0;
    picker->row_at = 0;
    pm_table_changed(&picker->list);
    picker->on_list = false;
}

static int picker_rows(const struct pm_overlay *overlay, int most, int columns)
{
    (void)columns;
    (void)overlay;
    return most < 18 ? most : most * 3 / 4;
}

/* ---- painting -------------------------------------------------------------------------------- */

/* The row is asked for once, when its first cell is painted; measuring goes down the columns. */
static enum pm_role picker_cell(void *context, size_t index, size_t column, struct pm_text *out)
{
    struct picker *picker = context;
    struct pm_pick_row *row = &picker->row;
    if (column == 0 || picker->row_at != index + 1) {
        picker->row_at = index + 1;
        row->role = PM_ROLE_NORMAL;
        for (size_t i = 0; i < PM_PICK_COLUMNS; i++)
            pm_text_clear(&row->cells[i]);
        picker->spec.row(picker->spec.context, item_of(picker, index), row);
    }
    pm_text_add(out, pm_text_get(&row->cells[column]));
    return row->role;
}

static struct pm_table picker_table(struct picker *picker)
{
    return (struct pm_table){.columns = picker->spec.columns,
                             .column_count = picker->spec.column_count,
                             .rows = picker->count,
                             .context = picker,
                             .cell = picker_cell};
}

static void draw_list(struct picker *picker, const struct pm_pane *pane, int whole)
{
    const struct pm_table table = picker_table(picker);
    const struct pm_pane list =
        pm_pane_part(pane, HEAD_ROWS - 1, 0, pane->rows - HEAD_ROWS + 1 - whole, pane->columns);
    const struct pm_pane body =
        pm_pane_part(pane, HEAD_ROWS, 0, pane->rows - HEAD_ROWS - whole, pane->columns);
    pm_table_draw(&table, &picker->list, &list);
    const char *hint = picker->field.length == 0 && picker->spec.none_yet != NULL
                           ? picker->spec.none_yet
                           : picker->spec.none_hint;
    if (picker->count == 0 && hint != NULL)
        pm_pane_wrap(&body, 0, PM_ROLE_NORMAL, hint);
}

static void draw_filter(struct picker *picker, const struct pm_pane *pane)
{
    int label = pm_pane_put(pane, 0, 0, PM_ROLE_HEADING, picker->spec.label);
    pm_field_draw(&picker->field, pane, 0, label + 2, pane->columns - label - 34, true);
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
    struct pm_text text = PM_TEXT_EMPTY;
    picker_cell(picker, picker->list.row, 0, &text);
    pm_text_release(&text);
    pm_pane_wrap(&below, 0, PM_ROLE_FAINT,
                 pm_text_get(&picker->row.cells[picker->spec.column_count - 1]));
}

static void draw_count(const struct picker *picker, const struct pm_pane *pane)
{
    char text[64];
    if (picker->count == 0) /* without a filter the list says what is missing */
        snprintf(text, sizeof text, "%s", picker->field.length > 0 ? "nothing matches" : "");
    else
        snprintf(text, sizeof text, "%zu of %zu%s", picker->list.row + 1, picker->count,
                 picker->more ? " or more" : "");
    pm_pane_put_right(pane, 0, pane->columns - 30, 30, PM_ROLE_FAINT, text);
}

static void picker_draw(struct pm_overlay *overlay, const struct pm_pane *pane)
{
    struct picker *picker = picker_of(overlay);
    int whole = whole_rows(picker, pane);
    if (pane->grid->speech != NULL)
        pm_speech_line(pane->grid->speech, "%s: %s", picker->spec.label,
                       picker->field.length > 0 ? picker->field.text : "everything");
    /* Both place the cursor; the one that has it comes last. */
    if (picker->on_list)
        draw_filter(picker, pane);
    draw_list(picker, pane, whole);
    if (!picker->on_list)
        draw_filter(picker, pane);
    draw_count(picker, pane);
    if (whole > 0 && picker->list.row < picker->count)
        draw_whole(picker, pane, whole);
}

/* ---- keys ------------------------------------------------------------------------------------ */

static enum pm_status picker_accept(struct pm_overlay *overlay, struct pm_error *err)
{
    const struct picker *picker = picker_of(overlay);
    const struct pm_picker_spec *spec = &picker->spec;
    if (picker->count > 0)
        return spec->accept(spec->context, item_of(picker, picker->list.row), picker->field.text,
                            err);
    if (spec->none != NULL)
        return spec->none(spec->context, picker->field.text, err);
    if (picker->field.text[0] == '\0')
        return pm_fail(err, PM_MISSING, "There is nothing to choose here yet.");
    return pm_fail(err, PM_MISSING, "Nothing matches \"%s\".", picker->field.text);
}

static void picker_move(struct picker *picker, int code)
{
    const struct pm_table table = picker_table(picker);
    pm_table_act(&table, &picker->list, code, NULL);
    picker->on_list = picker->count > 0;
}

static unsigned picker_act(struct pm_overlay *overlay, const struct pm_action *action)
{
    struct picker *picker = picker_of(overlay);
    switch (action->code) {
    case PM_ACT_ACCEPT:
        return pm_overlay_accept(overlay, picker->spec.writes && picker->count > 0);
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
        picker_move(picker, (int)action->code);
        break;
    default:
        picker->on_list = false;
        if (pm_field_act(&picker->field, (int)action->code) == PM_FIELD_CHANGED)
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
    pm_free(picker->shown);
    pm_field_release(&picker->field);
    pm_overlay_context_free(picker->spec.context, picker->owned, picker->spec.closed);
    pm_free(picker);
}

static const struct pm_overlay_kind picker_kind = {
    .mode = PM_MODE_PICK,
    .rows = picker_rows,
    .draw = picker_draw,
    .act = picker_act,
    .accept = picker_accept,
    .text = picker_text,
    .free = picker_free,
    .hints = "accept back page-down",
};

/* Copies the strings of the spec one after another, then points the spec at the copies: while the
 * text grows it may move. */
static bool copy_words(struct picker *picker)
{
    struct pm_picker_spec *spec = &picker->spec;
    const char **strings[] = {&spec->label, &spec->none_hint, &spec->none_yet};
    const size_t count = sizeof strings / sizeof *strings;
    size_t at[sizeof strings / sizeof *strings];
    for (size_t i = 0; i < count; i++) {
        at[i] = picker->words.length;
        pm_text_add(&picker->words, *strings[i] != NULL ? *strings[i] : "");
        pm_text_add_char(&picker->words, '\0');
    }
    if (!pm_text_ok(&picker->words))
        return false;
    for (size_t i = 0; i < count; i++)
        *strings[i] = *strings[i] != NULL ? picker->words.data + at[i] : NULL;
    return true;
}

bool pm_picker_open(struct pm_app *app, const struct pm_picker_spec *spec)
{
    struct picker *picker = pm_alloc_array(1, sizeof *picker);
    if (picker == NULL) {
        if (spec->closed != NULL)
            spec->closed(spec->context);
        return pm_overlay_failed(app, NULL);
    }
    picker->overlay.kind = &picker_kind;
    picker->spec = *spec;
    const bool kept =
        pm_overlay_context_keep(spec->context, spec->context_size, &picker->spec.context);
    picker->owned = picker->spec.context != spec->context;
    if (spec->words != NULL)
        picker->shown = pm_alloc_array(spec->count + 1, sizeof *picker->shown);
    if (!kept || !copy_words(picker) || !pm_field_init(&picker->field, FILTER_LIMIT) ||
        (spec->words != NULL && picker->shown == NULL))
        return pm_overlay_failed(app, &picker->overlay);
    pm_field_set(&picker->field, spec->text != NULL ? spec->text : "");
    refilter(picker);
    pm_overlay_push(app, &picker->overlay, spec->title);
    return true;
}
