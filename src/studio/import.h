/* SPDX-License-Identifier: MIT */
/*
 * A table of the shelf on its way in, for the files that bring it:
 *
 *   tables.c            a table from its header to its end, in one step
 *   import_rows.c       a row's fields, the place for the sentence, what became of it
 *   import_materials.c, import_bottles.c, import_movements.c   a row of each
 */
#ifndef PERMILLE_STUDIO_IMPORT_H
#define PERMILLE_STUDIO_IMPORT_H

#include "tables.h"

#include "permille/core/entity.h"
#include "permille/core/fact.h"

/* The bottle that one of the table was made from; it may stand further down. */
struct pm_import_stock {
    int64_t bottle;
    const char *label;
    size_t line, column, row;
};

/* A movement's number in the table and here. */
struct pm_import_moved {
    int64_t was, is;
};

/* A column whose cells are what is known of a material. */
struct pm_import_fact {
    size_t at;
    const struct pm_fact_property *property;
};

/* One table being read. */
struct pm_import {
    struct pm_studio *studio;
    const char *headings[PM_TABLE_COLUMNS]; /* folded; kept by the arena of stocks */
    const struct pm_attribute *attributes[PM_TABLE_COLUMNS]; /* that the columns hold, or NULL */
    struct pm_import_fact facts[PM_TABLE_COLUMNS];
    size_t fact_count;
    struct {
        struct pm_import_stock *items;
        size_t count;
        struct pm_arena arena;
    } stocks;
    struct {
        struct pm_import_moved *items;
        size_t count;
        struct pm_arena arena;
    } moved;
    size_t lines;  /* of the text, for whoever looks on */
    int64_t begun; /* the bottle whose ledger is being read */
    struct pm_csv csv;
    struct pm_csv header;
    size_t column; /* the field being read, for the sentence */
    const struct pm_table_source *source;
    size_t row;   /* of all tables, from 0 */
    size_t first; /* of this table */
    bool at_row;  /* what goes wrong now, goes wrong with that one */
    struct pm_import_result result;
    struct pm_import_rows *rows; /* NULL: nobody wants to know */
    struct pm_text changes;      /* of the row */
};

/* A kind of table. */
struct pm_import_kind {
    const char *what, *one;         /* "materials", "material" */
    const char *const *columns;     /* beside the attributes; ends with NULL */
    const struct pm_entity *entity; /* its attributes are columns as well */
    bool facts;                     /* so are the properties of materials */
    enum pm_status (*row)(struct pm_import *import, struct pm_shelf_step *step,
                          struct pm_error *err);
    /* Once all rows are there; NULL: nothing more. */
    enum pm_status (*end)(struct pm_import *import, struct pm_error *err);
};
extern const struct pm_import_kind pm_import_materials, pm_import_bottles, pm_import_movements;

/* The number of that column, or -1. The name is folded. */
int pm_import_column(const struct pm_import *import, const char *name);
/* The field of that name; NULL when there is no such column or it is empty. Remembers the place. */
const char *pm_import_field(struct pm_import *import, const char *name);
/* Works out once what every row will ask of the header. */
enum pm_status pm_import_header(struct pm_import *import, struct pm_error *err);
/* Puts line and column before the reason, which the rows that are tried keep bare. */
enum pm_status pm_import_blame(const struct pm_import *import, enum pm_status status,
                               const struct pm_error *why, struct pm_error *err);
/* What became of the row. */
enum pm_status pm_import_count(struct pm_import *import, enum pm_import_outcome outcome,
                               int64_t material, const char *name, struct pm_error *err);
/* A column in which the row changes what is there. */
void pm_import_change(struct pm_import *import, const char *heading);
/* The fields of the row as what was typed; NULL where a cell is empty. */
void pm_import_values(struct pm_import *import, const struct pm_entity *entity,
                      const char **values);
/* Points at the column of the attribute that an error names; else the sentence has to say it. */
void pm_import_point(struct pm_import *import, const struct pm_entity *entity,
                     const struct pm_error *err);

#endif
