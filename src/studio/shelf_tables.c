/* SPDX-License-Identifier: MIT */
/*
 * Tables of the shelf as cells that can be changed. To be tried or brought in they are written as
 * CSV again, without what is left out, so that tables.c is the only one that knows what a row
 * means.
 */
#include "permille/studio/shelf_tables.h"

#include "tables.h"

#include "permille/base/csv.h"
#include "permille/base/map.h"
#include "permille/base/mem.h"

#include <string.h>
#include <strings.h>

#define FAULTS_MOST 20 /* looked for at once: each means trying anew */

/* ---- reading ---- */

static bool has_cells(const struct pm_shelf_tables *tables, size_t t, size_t column)
{
    for (size_t i = 0; i < tables->row_count; i++)
        if (tables->rows[i].table == t && tables->rows[i].cells[column][0] != '\0')
            return true;
    return false;
}

static void name_ignored(struct pm_shelf_tables *tables)
{
    struct pm_text names = PM_TEXT_EMPTY;
    for (size_t t = 0; t < tables->table_count; t++)
        for (size_t c = 0; c < tables->tables[t].columns; c++) {
            const char *heading = tables->tables[t].headings[c];
            if (tables->tables[t].known[c] || !has_cells(tables, t, c))
                continue;
            pm_text_add(&names, names.length > 0 ? ", " : "");
            if (heading[0] != '\0')
                pm_text_add(&names, heading);
            else
                pm_text_addf(&names, "column %zu", c + 1);
        }
    if (names.length > 0)
        tables->ignored = pm_arena_text(&tables->arena, pm_text_get(&names));
    tables->arena.failed = tables->arena.failed || !pm_text_ok(&names);
    pm_text_release(&names);
}

static void take_headings(struct pm_shelf_tables *tables, struct pm_shelf_table *table,
                          const struct pm_csv *csv, const bool *known)
{
    table->columns = csv->count;
    table->headings = pm_arena_array(&tables->arena, csv->count, sizeof *table->headings);
    table->known = pm_arena_array(&tables->arena, csv->count, sizeof *table->known);
    for (size_t c = 0; table->headings != NULL && table->known != NULL && c < csv->count; c++) {
        table->headings[c] = pm_arena_text(&tables->arena, csv->fields[c]);
        table->known[c] = known[c];
    }
}

/* Spreadsheets end rows with too many or too few empty cells; words behind the last column are
 * refused. */
static enum pm_status take_row(struct pm_shelf_tables *tables, size_t t, const struct pm_csv *csv,
                               size_t line, struct pm_error *err)
{
    const size_t columns = tables->tables[t].columns;
    bool any = false;
    for (size_t c = 0; c < csv->count; c++)
        any = any || csv->fields[c][0] != '\0';
    if (!any)
        return PM_OK;
    for (size_t c = columns; c < csv->count; c++)
        if (csv->fields[c][0] != '\0')
            return pm_fail(err, PM_INVALID, "Line %zu has %zu fields, the header has %zu.",
                           csv->line, csv->count, columns);
    struct pm_brought_row *row =
        pm_arena_push(&tables->arena, &tables->rows, &tables->row_count, sizeof *row);
    if (row == NULL)
        return pm_fail_memory(err);
    row->table = t;
    row->line = line;
    row->cells = pm_arena_array(&tables->arena, columns, sizeof *row->cells);
    for (size_t c = 0; row->cells != NULL && c < columns; c++)
        row->cells[c] = pm_arena_text(&tables->arena, c < csv->count ? csv->fields[c] : "");
    return pm_arena_status(&tables->arena, err);
}

static enum pm_status take_source(struct pm_shelf_tables *tables,
                                  const struct pm_table_source *source, struct pm_error *err)
{
    const size_t t = tables->table_count;
    bool known[PM_TABLE_COLUMNS] = {false}, more = true;
    size_t rows = 0;
    struct pm_csv csv;
    enum pm_status status = pm_tables_columns(source, &tables->tables[t].what, known, err);
    if (status != PM_OK)
        return status;
    status = pm_tables_open(&csv, source->text, source->length, err);
    if (status == PM_OK) {
        take_headings(tables, &tables->tables[t], &csv, known);
        tables->tables[t].in_document = source->within != NULL;
        tables->table_count++;
        status = pm_arena_status(&tables->arena, err);
    }
    while (status == PM_OK && (status = pm_csv_next(&csv, &more, err)) == PM_OK && more) {
        rows++;
        status = take_row(tables, t, &csv, source->within != NULL ? rows : csv.line, err);
    }
    pm_csv_release(&csv);
    return status;
}

/* ---- writing ---- */

static bool comes_in(const struct pm_brought_row *row, bool faulty_too)
{
    return !row->left_out && (faulty_too || row->fault == NULL);
}

/* CSV of one table, and where each of its rows stands; *rows counts them. */
static enum pm_status write_table(const struct pm_shelf_tables *tables, size_t t, bool faulty_too,
                                  struct pm_text *out, size_t *places, size_t *rows,
                                  struct pm_error *err)
{
    const struct pm_shelf_table *table = &tables->tables[t];
    bool first = true;
    *rows = 0;
    for (size_t c = 0; c < table->columns; c++)
        if (table->known[c]) {
            pm_csv_field(out, table->headings[c], first);
            first = false;
        }
    pm_csv_end(out);
    for (size_t i = 0; i < tables->row_count; i++) {
        const struct pm_brought_row *row = &tables->rows[i];
        if (row->table != t || !comes_in(row, faulty_too))
            continue;
        places[(*rows)++] = row->line;
        first = true;
        for (size_t c = 0; c < table->columns; c++)
            if (table->known[c]) {
                pm_csv_field(out, row->cells[c], first);
                first = false;
            }
        pm_csv_end(out);
    }
    return pm_text_ok(out) ? PM_OK : pm_fail_memory(err);
}

/* Brings in, or tries to (`tried`), what is not left out. */
static enum pm_status run(struct pm_studio *studio, const struct pm_shelf_tables *tables,
                          struct pm_import_rows *tried, struct pm_import_result *result,
                          struct pm_error *err)
{
    struct pm_text texts[PM_SHELF_TABLES] = {PM_TEXT_EMPTY, PM_TEXT_EMPTY, PM_TEXT_EMPTY};
    struct pm_table_source sources[PM_SHELF_TABLES];
    size_t *places = pm_alloc_array(tables->row_count + 1, sizeof *places);
    size_t count = 0, rows = 0, before = 0;
    enum pm_status status = places != NULL ? PM_OK : pm_fail_memory(err);
    for (size_t t = 0; status == PM_OK && t < tables->table_count; t++, before += rows) {
        const struct pm_shelf_table *table = &tables->tables[t];
        status = write_table(tables, t, tried == NULL, &texts[t], &places[before], &rows, err);
        if (status == PM_OK && rows > 0)
            sources[count++] =
                (struct pm_table_source){.text = pm_text_get(&texts[t]),
                                         .length = texts[t].length,
                                         .within = table->in_document ? table->what : NULL,
                                         .places = &places[before]};
    }
    if (status == PM_OK)
        status = pm_tables_import(studio, sources, count, tried, result, err);
    for (size_t t = 0; t < PM_SHELF_TABLES; t++)
        pm_text_release(&texts[t]);
    pm_free(places);
    return status;
}

/* ---- trying ---- */

/* What a row is called before it was tried. */
static const char *name_of(const struct pm_shelf_tables *tables, const struct pm_brought_row *row)
{
    const struct pm_shelf_table *table = &tables->tables[row->table];
    for (size_t c = 0; c < table->columns; c++)
        if (table->known[c] && row->cells[c][0] != '\0')
            return row->cells[c];
    return "?";
}

/* A column of what was tried, from 1, as one of the table, which may have others between. */
static size_t own_column(const struct pm_shelf_table *table, size_t tried)
{
    for (size_t c = 0; tried > 0 && c < table->columns; c++)
        if (table->known[c] && --tried == 0)
            return c + 1;
    return 0;
}

/* "kind: ..."; many a sentence begins with what the column is called. */
static const char *with_heading(struct pm_arena *arena, const char *heading, const char *reason)
{
    if (strncasecmp(reason, heading, strlen(heading)) == 0)
        return pm_arena_text(arena, reason);
    struct pm_text text = PM_TEXT_EMPTY;
    pm_text_addf(&text, "%s: %s", heading, reason);
    const char *out = pm_arena_text(arena, pm_text_get(&text));
    arena->failed = arena->failed || !pm_text_ok(&text);
    pm_text_release(&text);
    return out;
}

static void take_fault(struct pm_shelf_tables *tables, struct pm_brought_row *row, size_t column,
                       const char *reason)
{
    const struct pm_shelf_table *table = &tables->tables[row->table];
    row->fault_column = own_column(table, column);
    row->fault = row->fault_column > 0
                     ? with_heading(&tables->tried, table->headings[row->fault_column - 1], reason)
                     : pm_arena_text(&tables->tried, reason);
}

/* Whoever enters a thing twice wants to know where it stands already. */
static void take_outcome(struct pm_shelf_tables *tables, struct pm_brought_row *row,
                         const struct pm_import_row *tried, struct pm_map *lines)
{
    const size_t line = pm_map_place(lines, tried->material);
    row->name = pm_arena_text(&tables->tried, tried->name);
    row->outcome = tried->outcome;
    row->changes = pm_arena_text(&tables->tried, tried->changes);
    row->after = line != PM_MAP_NONE && tried->outcome != PM_IMPORT_NEW ? line : 0;
    if (tried->material != 0 && line == PM_MAP_NONE &&
        !pm_map_put_place(lines, tried->material, row->line))
        tables->tried.failed = true;
}

/* Hands out what was found, in the order of the rows that were tried; the one at `fault` gets the
 * reason. */
static void take_outcomes(struct pm_shelf_tables *tables, const struct pm_import_rows *tried)
{
    struct pm_map lines = {.slots = NULL}; /* by material */
    size_t at = 0;
    for (size_t t = 0; t < tables->table_count; t++)
        for (size_t i = 0; i < tables->row_count; i++) {
            struct pm_brought_row *row = &tables->rows[i];
            if (row->table != t || !comes_in(row, false))
                continue;
            if (at == tried->fault)
                take_fault(tables, row, tried->fault_column, tried->reason);
            else if (at < tried->count)
                take_outcome(tables, row, &tried->items[at], &lines);
            at++;
        }
    pm_map_release(&lines);
}

static void count(struct pm_shelf_tables *tables)
{
    tables->fresh = tables->changed = tables->same = tables->faults = 0;
    for (size_t i = 0; i < tables->row_count; i++) {
        const struct pm_brought_row *row = &tables->rows[i];
        if (row->left_out)
            continue;
        tables->faults += row->fault != NULL;
        tables->fresh += row->fault == NULL && row->outcome == PM_IMPORT_NEW;
        tables->changed += row->fault == NULL && row->outcome == PM_IMPORT_CHANGED;
        tables->same += row->fault == NULL && row->outcome == PM_IMPORT_SAME;
    }
}

/* What each row becomes; a row with a fault is tried no more. *more: there may be further ones. */
static enum pm_status try_rows(struct pm_studio *studio, struct pm_shelf_tables *tables, bool *more,
                               struct pm_error *err)
{
    enum pm_status status = PM_INVALID;
    for (size_t i = 0; i < tables->row_count; i++) {
        struct pm_brought_row *row = &tables->rows[i];
        row->fault = row->changes = NULL;
        row->fault_column = row->after = 0;
        row->name = name_of(tables, row);
        row->outcome = PM_IMPORT_NEW;
    }
    for (int turn = 0; status != PM_OK && turn < FAULTS_MOST; turn++) {
        struct pm_import_rows tried = {.fault = SIZE_MAX};
        struct pm_error why = {0};
        status = run(studio, tables, &tried, NULL, &why);
        const bool fault = status != PM_OK && tried.fault != SIZE_MAX;
        if (status == PM_OK || fault)
            take_outcomes(tables, &tried);
        pm_list_release(&tried);
        if (status != PM_OK && !fault)
            return pm_fail(err, status, "%s", why.text);
    }
    *more = status != PM_OK;
    return pm_arena_status(&tables->tried, err);
}

enum pm_status pm_shelf_tables_try(struct pm_studio *studio, struct pm_shelf_tables *tables,
                                   struct pm_error *err)
{
    struct pm_arena tried = tables->tried;
    struct pm_brought_row *before = pm_alloc_array(tables->row_count + 1, sizeof *before);
    if (before == NULL)
        return pm_fail_memory(err);
    memcpy(before, tables->rows, tables->row_count * sizeof *before);
    tables->tried = (struct pm_arena){.failed = false};
    bool more = false;
    const enum pm_status status = try_rows(studio, tables, &more, err);
    if (status != PM_OK) {
        const struct pm_arena found = tables->tried;
        memcpy(tables->rows, before, tables->row_count * sizeof *before);
        tables->tried = tried;
        tried = found;
    } else {
        tables->more_faults = more;
        count(tables);
    }
    pm_arena_release(&tried);
    pm_free(before);
    return status;
}

enum pm_status pm_shelf_tables_read(struct pm_studio *studio, const char *text, size_t length,
                                    struct pm_shelf_tables *out, struct pm_error *err)
{
    struct pm_shelf_tables tables = {.table_count = 0};
    struct pm_shelf_document document;
    enum pm_status status = pm_shelf_document_read(text, length, &document, err);
    for (size_t i = 0; status == PM_OK && i < document.count; i++)
        status = take_source(&tables, &document.sources[i], err);
    pm_shelf_document_release(&document);
    if (status == PM_OK && tables.row_count == 0)
        status = pm_fail(err, PM_REFUSED, "There is no row in that table.");
    if (status == PM_OK) {
        name_ignored(&tables);
        status = pm_arena_status(&tables.arena, err);
    }
    if (status == PM_OK)
        status = pm_shelf_tables_try(studio, &tables, err);
    if (status == PM_OK)
        *out = tables;
    else
        pm_shelf_tables_release(&tables);
    return status;
}

void pm_shelf_tables_release(struct pm_shelf_tables *tables)
{
    pm_arena_release(&tables->arena);
    pm_arena_release(&tables->tried);
    memset(tables, 0, sizeof *tables);
}

/* ---- corrections ---- */

enum pm_status pm_shelf_tables_set(struct pm_studio *studio, struct pm_shelf_tables *tables,
                                   size_t at, const char *const *cells, struct pm_error *err)
{
    struct pm_brought_row *row = &tables->rows[at];
    const size_t columns = tables->tables[row->table].columns;
    const char **before = row->cells;
    const char **now = pm_arena_array(&tables->arena, columns, sizeof *now);
    for (size_t c = 0; now != NULL && c < columns; c++)
        now[c] = cells[c] != NULL ? pm_arena_text(&tables->arena, cells[c]) : before[c];
    enum pm_status status = pm_arena_status(&tables->arena, err);
    if (status != PM_OK)
        return status;
    row->cells = now;
    status = pm_shelf_tables_try(studio, tables, err);
    if (status != PM_OK)
        row->cells = before;
    return status;
}

enum pm_status pm_shelf_tables_leave(struct pm_studio *studio, struct pm_shelf_tables *tables,
                                     size_t row, struct pm_error *err)
{
    tables->rows[row].left_out = !tables->rows[row].left_out;
    const enum pm_status status = pm_shelf_tables_try(studio, tables, err);
    if (status != PM_OK)
        tables->rows[row].left_out = !tables->rows[row].left_out;
    return status;
}

/* ---- bringing in ---- */

enum pm_status pm_shelf_tables_commit(struct pm_studio *studio,
                                      const struct pm_shelf_tables *tables,
                                      struct pm_import_result *out, struct pm_error *err)
{
    bool some = false;
    for (size_t i = 0; i < tables->row_count; i++) {
        const struct pm_brought_row *row = &tables->rows[i];
        if (!row->left_out && row->fault != NULL)
            return pm_fail(err, PM_REFUSED,
                           "%s (%s %zu) cannot come in: put it right, or leave it out. %s",
                           row->name, tables->tables[row->table].in_document ? "row" : "line",
                           row->line, row->fault);
        some = some || !row->left_out;
    }
    if (!some)
        return pm_fail(err, PM_REFUSED, "Nothing is left to bring in.");
    return run(studio, tables, NULL, out, err);
}
