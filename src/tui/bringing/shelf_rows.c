/* SPDX-License-Identifier: MIT */
/* Tables of the shelf that are to be brought in (see shelf_rows.h). */
#include "shelf_rows.h"

#include <string.h>

#define DOT " \xC2\xB7 "

enum { ROWS_AT, ROWS_WHAT, ROWS_NAME, ROWS_BECOMES, ROWS_WHY, ROWS_COLUMNS };

static const struct pm_column columns[ROWS_COLUMNS] = {
    [ROWS_AT] = {"at", "line", PM_ALIGN_RIGHT, .wish = 6, .fixed = true},
    [ROWS_WHAT] = {"what", "table", .wish = 9},
    [ROWS_NAME] = {"name", "name", .wish = 24, .least = 14, .most = 60, .yields = 2, .fixed = true},
    [ROWS_BECOMES] = {"becomes", "becomes", .wish = 11, .least = 8, .yields = 1},
    [ROWS_WHY] = {"why", "what changes, or why not", .wish = 24, .least = 12, .grows = true},
};

void shelf_rows_take(struct shelf_rows *rows, const struct pm_shelf_tables *tables)
{
    shelf_rows_forget(rows);
    rows->tables = *tables;
    rows->some = true;
}

void shelf_rows_forget(struct shelf_rows *rows)
{
    if (rows->some)
        pm_shelf_tables_release(&rows->tables);
    rows->some = false;
    rows->view.row = rows->view.first = 0;
    pm_table_changed(&rows->view);
}

bool shelf_rows_faulty(const struct shelf_rows *rows, size_t row)
{
    return !rows->tables.rows[row].left_out && rows->tables.rows[row].fault != NULL;
}

/* ---- the table ---- */

static enum pm_role becomes(const struct pm_brought_row *row, struct pm_text *out)
{
    if (row->left_out || row->fault != NULL) {
        pm_text_add(out, row->left_out ? "left out" : "cannot come");
        return row->left_out ? PM_ROLE_FAINT : PM_ROLE_WARNING;
    }
    pm_text_add(out, pm_import_word(row->outcome));
    return row->outcome == PM_IMPORT_SAME ? PM_ROLE_FAINT : PM_ROLE_PREVIEW;
}

/* "cas, family, after line 6" */
static void add_reason(const struct pm_brought_row *row, struct pm_text *out)
{
    const char *reason = row->fault != NULL ? row->fault : row->changes;
    pm_text_add(out, reason != NULL ? reason : "");
    if (row->fault == NULL && row->after > 0)
        pm_text_addf(out, "%s line %zu", reason != NULL ? ", after" : "stands in", row->after);
}

static enum pm_role cell(void *context, size_t at, size_t column, struct pm_text *out)
{
    const struct shelf_rows *rows = context;
    const struct pm_brought_row *row = &rows->tables.rows[at];
    switch (column) {
    case ROWS_AT:
        pm_text_addf(out, "%zu", row->line);
        return PM_ROLE_FAINT;
    case ROWS_WHAT:
        pm_text_add(out, rows->tables.tables[row->table].what);
        return PM_ROLE_FAINT;
    case ROWS_NAME:
        pm_text_add(out, row->name);
        return row->left_out ? PM_ROLE_FAINT : PM_ROLE_NORMAL;
    case ROWS_BECOMES:
        return becomes(row, out);
    default:
        if (!row->left_out)
            add_reason(row, out);
        return row->fault != NULL ? PM_ROLE_WARNING : PM_ROLE_FAINT;
    }
}

/* A sign beside the colour: "?" what cannot come in, "-" what stays outside. */
static enum pm_role mark(void *context, size_t at, struct pm_text *out)
{
    const struct shelf_rows *rows = context;
    if (rows->tables.rows[at].left_out)
        pm_text_add(out, "-");
    else if (shelf_rows_faulty(rows, at))
        pm_text_add(out, "?");
    return PM_ROLE_WARNING;
}

struct pm_table shelf_rows_table(struct shelf_rows *rows)
{
    return (struct pm_table){.columns = columns,
                             .column_count = ROWS_COLUMNS,
                             .rows = rows->tables.row_count,
                             .context = rows,
                             .cell = cell,
                             .mark = mark,
                             .at = ROWS_NAME,
                             .above = 2};
}

/* ---- painting ---- */

static void add_count(struct pm_text *out, size_t count, const char *one, const char *several)
{
    if (count > 0)
        pm_text_addf(out, DOT "%zu %s", count, count == 1 ? one : several);
}

/* What asks for something first: a narrow screen cuts the end. */
static void write_state(const struct pm_shelf_tables *tables, struct pm_text *out)
{
    pm_text_addf(out, "%zu row%s", tables->row_count, tables->row_count == 1 ? "" : "s");
    const char *faults = tables->more_faults ? "or more cannot come in" : "cannot come in";
    add_count(out, tables->faults, faults, faults);
    add_count(out, tables->fresh, "new", "new");
    add_count(out, tables->changed, "brought up to date", "brought up to date");
    add_count(out, tables->same, "as it is", "as they are");
    if (tables->ignored != NULL)
        pm_text_addf(out, DOT "columns that are not known stay outside: %s", tables->ignored);
}

void shelf_rows_draw(struct shelf_rows *rows, const struct pm_canvas *canvas)
{
    struct pm_text text = PM_TEXT_EMPTY;
    struct pm_table table = shelf_rows_table(rows);
    write_state(&rows->tables, &text);
    const struct pm_pane above = pm_pane_part(&canvas->sheet, 0, 0, 2, canvas->sheet.columns);
    pm_pane_wrap(&above, 0, rows->tables.faults > 0 ? PM_ROLE_WARNING : PM_ROLE_NORMAL,
                 pm_text_get(&text));
    pm_text_release(&text);
    table.covered = canvas->covered;
    pm_table_draw(&table, &rows->view, &canvas->sheet);
}

enum pm_role shelf_rows_remark(const struct shelf_rows *rows, struct pm_text *out)
{
    if (rows->view.row >= rows->tables.row_count)
        return PM_ROLE_FAINT;
    const struct pm_brought_row *row = &rows->tables.rows[rows->view.row];
    const struct pm_shelf_table *table = &rows->tables.tables[row->table];
    if (shelf_rows_faulty(rows, rows->view.row)) {
        pm_text_add(out, row->fault);
        return PM_ROLE_WARNING;
    }
    for (size_t c = 0; c < table->columns; c++)
        if (row->cells[c][0] != '\0')
            pm_text_addf(out, "%s%s %s", out->length > 0 ? DOT : "", table->headings[c],
                         row->cells[c]);
    return PM_ROLE_FAINT;
}
