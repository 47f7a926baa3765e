/* SPDX-License-Identifier: MIT */
/*
 * Which table a row belongs to that was found without its table's name: the tables of one step of
 * the program's own schema, and the rows that fit them. A row with a checksum is known by it, since
 * the table's name is part of it; any other by the number and the types of its values.
 */
#ifndef PERMILLE_STORE_SHAPES_H
#define PERMILLE_STORE_SHAPES_H

#include "pages.h"

#include "permille/base/arena.h"

#include <sqlite3.h>

struct pm_shape_column {
    const char *name, *type; /* "INTEGER", "REAL", "TEXT", "BLOB", "ANY" */
    bool not_null;
    int key; /* place in the primary key, from 1; 0: not in it */
};

struct pm_shape {
    const char *table;
    struct pm_shape_column columns[PM_PAGES_COLUMNS];
    size_t count;
    size_t stored[PM_PAGES_COLUMNS]; /* the column that stands at each place of a row in the file */
    bool has_rowid;
    int rowid;     /* the column that is the rowid; -1: none */
    int checksum;  /* the column of the checksum; -1: none */
    bool derived;  /* made from other tables: its rows are not looked for */
    bool for_good; /* its rows are numbered from 1 and never deleted */
};

struct pm_shapes {
    struct pm_shape *items;
    size_t count;
    struct pm_arena arena;
};

/* The tables of db, which is a library made by the program's own steps. */
enum pm_status pm_shapes_load(sqlite3 *db, struct pm_shapes *out, struct pm_error *err);
void pm_shapes_release(struct pm_shapes *shapes);

/* Whether the row's values can stand in the table. *out receives them in the order of columns. */
bool pm_shape_fits(const struct pm_shape *shape, const struct pm_found_row *row,
                   struct pm_found_value out[PM_PAGES_COLUMNS]);
/* Whether values that fit match their checksum. False where the table has none. */
bool pm_shape_sealed(const struct pm_shape *shape,
                     const struct pm_found_value values[PM_PAGES_COLUMNS]);

#endif
