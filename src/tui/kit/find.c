/* SPDX-License-Identifier: MIT */
/* Going to a row of a list by typing. */
#include "find.h"

#include "overlay.h"

#include "permille/base/utf8.h"

#define WIDEST 28 /* cells of a column whose width the list measures */

struct finding {
    struct pm_find_spec spec;
    size_t columns[PM_PICK_COLUMNS]; /* places in the list's columns */
    size_t count;
};

static void words(void *context, size_t row, struct pm_text *out)
{
    const struct finding *finding = context;
    const struct pm_table table = finding->spec.table(finding->spec.state);
    for (size_t column = 0; row < table.rows && column < table.column_count; column++) {
        table.cell(table.context, row, column, out);
        pm_text_add(out, " ");
    }
}

static void row_of(void *context, size_t row, struct pm_pick_row *out)
{
    const struct finding *finding = context;
    const struct pm_table table = finding->spec.table(finding->spec.state);
    for (size_t i = 0; row < table.rows && i < finding->count; i++)
        table.cell(table.context, row, finding->columns[i], &out->cells[i]);
}

static enum pm_status accept(void *context, size_t row, const char *text, struct pm_error *err)
{
    const struct finding *finding = context;
    (void)text;
    (void)err;
    if (row < finding->spec.table(finding->spec.state).rows)
        finding->spec.go(finding->spec.state, row);
    return PM_OK;
}

/* The first columns of the list that have a heading, as wide as there. */
static void choose_columns(struct finding *finding, struct pm_picker_spec *out)
{
    const struct pm_table table = finding->spec.table(finding->spec.state);
    for (size_t i = 0; i < table.column_count && finding->count < PM_PICK_COLUMNS; i++) {
        const struct pm_column *column = &table.columns[i];
        if (column->heading == NULL || column->heading[0] == '\0' || column->hidden)
            continue;
        const int heading = (int)pm_utf8_cells(column->heading);
        int wish = column->wish > heading ? column->wish : heading;
        if (column->measured && wish < WIDEST && column->align == PM_ALIGN_LEFT)
            wish = column->most > 0 && column->most < WIDEST ? column->most : WIDEST;
        out->columns[finding->count] = (struct pm_column){
            .heading = column->heading,
            .wish = wish,
            .align = column->align == PM_ALIGN_LEFT ? PM_ALIGN_LEFT : PM_ALIGN_RIGHT,
            .grows = column->grows};
        finding->columns[finding->count++] = i;
    }
    out->column_count = finding->count;
}

void pm_find_open(struct pm_app *app, const struct pm_find_spec *spec)
{
    const size_t rows = spec->table(spec->state).rows;
    struct finding finding = {.spec = *spec};
    if (rows == 0) {
        pm_app_say(app, "%s", spec->none);
        return;
    }
    struct pm_picker_spec picker = {.title = spec->title,
                                    .label = spec->label,
                                    .count = rows,
                                    .words = words,
                                    .row = row_of,
                                    .accept = accept,
                                    .context = &finding,
                                    .context_size = sizeof finding};
    choose_columns(&finding, &picker);
    pm_picker_open(app, &picker);
}
