/* SPDX-License-Identifier: MIT */
/*
 * Tables of the shelf before they come in: every row with what would become of it, put right or
 * left out, then brought in as one step (pm_shelf_import). Nothing is written before that.
 *
 * A row that cannot come in has a fault, which says why; so many are looked for, the others count
 * as they stand, and more_faults says so. Columns that the shelf does not know are left out, and
 * named.
 */
#ifndef PERMILLE_STUDIO_SHELF_TABLES_H
#define PERMILLE_STUDIO_SHELF_TABLES_H

#include "permille/studio/shelf.h"

struct pm_brought_row {
    size_t table;
    size_t line;        /* of the text; of a document the row, from 1 */
    const char **cells; /* as typed, one for each column; "" where there is none */
    bool left_out;      /* by the person */
    /* Until it is tried anew: */
    const char *name; /* of the material, the bottle's label, or as far as it can be told */
    enum pm_import_outcome outcome;
    const char *changes; /* "cas, density"; or NULL */
    size_t after;        /* the line of the row above it about the same material; 0: none */
    const char *fault;   /* or NULL */
    size_t fault_column; /* the cell at fault, from 1; 0: it is not one cell */
};
struct pm_shelf_table {
    const char *what;      /* "materials" "bottles" "movements" */
    const char **headings; /* as they stand there */
    bool *known;
    size_t columns;
    bool in_document; /* rows are counted, not lines */
};
struct pm_shelf_tables {
    struct pm_shelf_table tables[3];
    size_t table_count;
    struct pm_brought_row *rows;
    size_t row_count;
    const char *ignored; /* columns with cells that are left out: "colour, column 6"; or NULL */
    size_t fresh, changed, same, faults;
    bool more_faults; /* there may be: not all were looked for */
    struct pm_arena arena;
    struct pm_arena tried; /* what the last trying found of each row */
};

/* Reads and tries. PM_INVALID for what is no table of the shelf, with line and column. Release with
 * pm_shelf_tables_release. */
enum pm_status pm_shelf_tables_read(struct pm_studio *studio, const char *text, size_t length,
                                    struct pm_shelf_tables *out, struct pm_error *err);
void pm_shelf_tables_release(struct pm_shelf_tables *tables);
/* Tries again: the library may hold other things than before. What a failed call found is
 * forgotten, and all is as it was. */
enum pm_status pm_shelf_tables_try(struct pm_studio *studio, struct pm_shelf_tables *tables,
                                   struct pm_error *err);

/* Other cells for a row, NULL where one stays. All is tried again. */
enum pm_status pm_shelf_tables_set(struct pm_studio *studio, struct pm_shelf_tables *tables,
                                   size_t row, const char *const *cells, struct pm_error *err);
/* In again, or left out. */
enum pm_status pm_shelf_tables_leave(struct pm_studio *studio, struct pm_shelf_tables *tables,
                                     size_t row, struct pm_error *err);

/* PM_REFUSED, naming the first, while a row has a fault, and when nothing is left. */
enum pm_status pm_shelf_tables_commit(struct pm_studio *studio,
                                      const struct pm_shelf_tables *tables,
                                      struct pm_import_result *out, struct pm_error *err);

#endif
