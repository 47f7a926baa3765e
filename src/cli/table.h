/* SPDX-License-Identifier: MIT */
/*
 * A table described once and shown as text (aligned by cells), as CSV (RFC 4180), or as JSON.
 *
 * The columns are a static const array. Rows are filled cell by cell, in the order of the columns;
 * a row is complete when every column has its cell. Lost memory marks the table (sticky) and is
 * reported when it is shown.
 */
#ifndef PERMILLE_CLI_TABLE_H
#define PERMILLE_CLI_TABLE_H

#include "cli.h"

#include "permille/base/json.h"

#include <stdint.h>

enum pm_cell_kind {
    PM_CELL_TEXT,
    PM_CELL_NUMBER, /* an integer scaled by 10^scale */
    PM_CELL_BOOL,   /* true, false; in text "yes" or nothing */
    PM_CELL_TIME    /* Unix seconds; in text local time, in JSON and CSV UTC */
};

struct pm_column {
    const char *key;   /* JSON key and CSV heading; NULL: only in text */
    const char *title; /* heading in text; NULL: only in JSON and CSV */
    enum pm_cell_kind kind;
    int scale;      /* of numbers, 0..12 */
    int least;      /* decimals that text shows at least; more where small numbers need them */
    bool adds_up;   /* numbers >= 0: what text prints adds up to the printed total, see `sums` */
    bool with_last; /* adds up together with the column before it, of the same scale: what text
                       prints of both adds up to the total of both */
};

struct pm_cell {
    bool null;
    int64_t number; /* also bool and time */
    char *text;     /* owned */
};

struct pm_table {
    const struct pm_column *columns; /* borrowed */
    size_t column_count;
    struct pm_cell *cells; /* owned; row after row */
    size_t cell_count, capacity;
    const char *sums; /* borrowed; not NULL: text ends with a row of this name, the sums of all
                         columns that add up. Its first text column holds the name */
    bool failed;
};

void pm_table_init(struct pm_table *table, const struct pm_column *columns, size_t count);
void pm_table_release(struct pm_table *table);

void pm_table_text(struct pm_table *table, const char *text); /* copied; NULL is null */
/* The same of a text that was put together; one that lost memory marks the table. */
void pm_table_made(struct pm_table *table, const struct pm_text *text);
void pm_table_number(struct pm_table *table, int64_t value);
void pm_table_bool(struct pm_table *table, bool value);
void pm_table_time(struct pm_table *table, int64_t time);
void pm_table_null(struct pm_table *table); /* any kind; "-" in text, null in JSON */

/* The three forms. sign is the decimal sign of the text form; room is how many cells its rows may
 * take, 0 as many as they want. Texts that find no room in a row go beneath it, each on a line of
 * its own. Should that not do, the column that names the rows is cut short, and columns of numbers
 * that still find no room follow in a table below, with the names again. */
enum pm_status pm_table_as_text(const struct pm_table *table, char sign, size_t room,
                                struct pm_text *out, struct pm_error *err);
enum pm_status pm_table_as_csv(const struct pm_table *table, struct pm_text *out,
                               struct pm_error *err);
/* An array of objects, one per row, as the value of the key just written. */
enum pm_status pm_table_as_json(const struct pm_table *table, struct pm_json *json,
                                struct pm_error *err);

/* The table as the whole answer, in the form asked for: JSON as {"key":[...]}. A table without rows
 * has no text form but the sentence `none` on standard error. */
enum pm_status pm_table_answer(const struct pm_table *table, struct pm_cli *cli, const char *key,
                               const char *none, struct pm_error *err);

#endif
