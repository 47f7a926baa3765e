/* SPDX-License-Identifier: MIT */
/* What can be done with the rows of tables that are to be brought in. */
#include "bringing_room.h"

#include "permille/base/mem.h"

#include <string.h>

/* ---- putting a row right ---- */

/* The columns that the form asks for; what else the row says stays. */
struct edit {
    struct bringing_room *room;
    size_t row;
    size_t columns[PM_FORM_FIELDS];
    size_t count;
};

/* In their order. There may not be room for every column of a table: empty cells yield, the last
 * first. */
static void choose(struct edit *edit, const struct pm_shelf_table *table,
                   const struct pm_brought_row *row)
{
    size_t filled = 0;
    for (size_t c = 0; c < table->columns; c++)
        filled += table->known[c] && row->cells[c][0] != '\0';
    size_t empty = filled < PM_FORM_FIELDS ? PM_FORM_FIELDS - filled : 0;
    for (size_t c = 0; c < table->columns && edit->count < PM_FORM_FIELDS; c++) {
        if (!table->known[c] || (row->cells[c][0] == '\0' && empty == 0))
            continue;
        empty -= row->cells[c][0] == '\0';
        edit->columns[edit->count++] = c;
    }
}

static enum pm_status edit_accept(void *context, const char *const values[], struct pm_error *err)
{
    const struct edit *edit = context;
    struct shelf_rows *rows = &edit->room->rows;
    const struct pm_brought_row *row = &rows->tables.rows[edit->row];
    const char **cells = pm_alloc_array(rows->tables.tables[row->table].columns + 1, sizeof *cells);
    if (cells == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < edit->count; i++)
        cells[edit->columns[i]] = values[i];
    const enum pm_status status =
        pm_shelf_tables_set(edit->room->house->studio, &rows->tables, edit->row, cells, err);
    pm_free(cells);
    pm_table_changed(&rows->view);
    return status;
}

void shelf_rows_edit(struct bringing_room *room)
{
    struct edit edit = {.room = room, .row = room->rows.view.row};
    const struct pm_brought_row *row = &room->rows.tables.rows[edit.row];
    const struct pm_shelf_table *table = &room->rows.tables.tables[row->table];
    choose(&edit, table, row);
    struct pm_form_spec spec = {.title = row->name,
                                .field_count = edit.count,
                                .accept = edit_accept,
                                .context = &edit,
                                .context_size = sizeof edit};
    for (size_t i = 0; i < edit.count; i++) {
        if (edit.columns[i] + 1 == row->fault_column)
            spec.focus = i;
        spec.fields[i] = (struct pm_form_field){.key = "cell",
                                                .label = table->headings[edit.columns[i]],
                                                .text = row->cells[edit.columns[i]],
                                                .hint = row->fault};
    }
    pm_form_open(room->app, &spec);
}

/* ---- in or out ---- */

void shelf_rows_leave(struct bringing_room *room)
{
    struct pm_error err;
    struct shelf_rows *rows = &room->rows;
    if (pm_shelf_tables_leave(room->house->studio, &rows->tables, rows->view.row, &err) != PM_OK)
        pm_app_error(room->app, &err);
    pm_table_changed(&rows->view);
}

void shelf_rows_next(struct bringing_room *room)
{
    struct shelf_rows *rows = &room->rows;
    const size_t count = rows->tables.row_count;
    for (size_t i = 1; i <= count; i++) {
        const size_t at = (rows->view.row + i) % count;
        if (shelf_rows_faulty(rows, at)) {
            rows->view.row = at;
            return;
        }
    }
    pm_app_say(room->app, "All of them can come in.");
}

enum pm_status shelf_rows_bring(struct bringing_room *room, struct pm_error *err)
{
    struct pm_import_result result;
    char key[PM_KEY_TEXT];
    const enum pm_status status =
        pm_shelf_tables_commit(room->house->studio, &room->rows.tables, &result, err);
    if (status != PM_OK)
        return status;
    bringing_forget(room);
    pm_app_changed(room->app, PM_ROOM_BRINGING);
    pm_app_go(room->app, PM_ROOM_SHELF);
    pm_app_key(room->app, "undo", key);
    if (result.updated > 0)
        pm_app_say(room->app,
                   "Brought in: %lld new, %lld brought up to date. Saved. %s takes it back.",
                   (long long)result.added, (long long)result.updated, key);
    else
        pm_app_say(room->app, "Brought in: %lld new. Saved. %s takes it back.",
                   (long long)result.added, key);
    return PM_OK;
}
