/* SPDX-License-Identifier: MIT */
/*
 * A table described once and shown as text (aligned by cells), as CSV (RFC 4180), or as JSON.
 *
 * The columns are a static const array. Rows are filled cell by cell, in the order of the columns;
 * a row is complete when every column has its cell. Lost memory marks the table (sticky) and is
 * reported when it is shown.
 */
#ifndef PERMILLE_CLI_LISTING_H
#define PERMILLE_CLI_LISTING_H

#include "cli.h"

#include "permille/base/arena.h"
#include "permille/base/json.h"
#include "permille/core/entity.h"

#include <stdint.h>

enum pm_listing_kind {
    PM_LISTING_TEXT,
    PM_LISTING_NUMBER, /* an integer scaled by 10^scale */
    PM_LISTING_BOOL,   /* true, false; in text "yes" or nothing */
    PM_LISTING_TIME    /* Unix seconds; in text local time, in JSON and CSV UTC */
};

struct pm_listing_column {
    const char *key;   /* JSON key and CSV heading; NULL: only in text, or `of` says it */
    const char *title; /* heading in text; NULL: only in JSON and CSV */
    enum pm_listing_kind kind;
    int scale;    /* of numbers, 0..12 */
    int least;    /* decimals that text shows at least; more where small numbers need them */
    bool parts;   /* an amount of parts: `least` may be the person's own (pm_listing_parts) */
    bool adds_up; /* numbers >= 0: what text prints adds up to the printed total, see `sums` */
    const struct pm_entity *of; /* what it says is attribute `which` of this: key, kind and scale */
    int which;                  /* follow; NULL: none */
    bool with_last; /* adds up together with the column before it, of the same scale: what text
                       prints of both adds up to the total of both */
};

struct pm_listing_cell {
    bool null;
    int64_t number; /* also bool and time */
    char *text;     /* owned */
};

struct pm_listing {
    struct pm_listing_column *columns; /* in `made` */
    size_t column_count;
    struct pm_listing_cell *cells; /* owned; row after row */
    size_t cell_count, capacity;
    struct pm_arena made;
    const char *sums; /* borrowed; not NULL: text ends with a row of this name, the sums of all
                         columns that add up. Its first text column holds the name */
    bool failed;
};

/* An array of columns and their count. */
#define PM_LISTING_COLUMNS(array) array, sizeof array / sizeof array[0]

void pm_listing_init(struct pm_listing *table, const struct pm_listing_column *columns,
                     size_t count);
/* Columns of parts show at least so many decimals. */
void pm_listing_parts(struct pm_listing *table, int least);
/* The column of that key holds numbers of `places` decimals, 0..12, and shows all of them. */
void pm_listing_digits(struct pm_listing *table, const char *key, int places);
void pm_listing_release(struct pm_listing *table);

void pm_listing_text(struct pm_listing *table, const char *text); /* copied; NULL is null */
/* The same of a text that was put together; one that lost memory marks the table. */
void pm_listing_made(struct pm_listing *table, const struct pm_text *text);
void pm_listing_number(struct pm_listing *table, int64_t value);
void pm_listing_number_if(struct pm_listing *table, bool known, int64_t value); /* or null */
void pm_listing_bool(struct pm_listing *table, bool value);
void pm_listing_time(struct pm_listing *table, int64_t time);
/* The cells of the columns that come next and are attributes, from the entity's row. */
void pm_listing_attributes(struct pm_listing *table, const void *row);
void pm_listing_null(struct pm_listing *table); /* any kind; "-" in text, null in JSON */

/* The three forms. sign is the decimal sign of the text form; room is how many cells its rows may
 * take, 0 as many as they want. Texts that find no room in a row go beneath it, each on a line of
 * its own. Should that not do, the column that names the rows is cut short, and columns of numbers
 * that still find no room follow in a table below, with the names again. */
enum pm_status pm_listing_as_text(const struct pm_listing *table, char sign, size_t room,
                                  struct pm_text *out, struct pm_error *err);
/* As the text of the answer: lines where those are wished, else aligned for the terminal. */
enum pm_status pm_listing_show(const struct pm_listing *table, struct pm_cli *cli,
                               struct pm_error *err);
enum pm_status pm_listing_as_csv(const struct pm_listing *table, struct pm_text *out,
                                 struct pm_error *err);
/* An array of objects, one per row, as the value of the key just written. */
enum pm_status pm_listing_as_json(const struct pm_listing *table, struct pm_json *json,
                                  struct pm_error *err);

/* The table, which is released, as the whole answer, in the form asked for: JSON as {"key":[...]}.
 * A table without rows has no text form but the sentence `none` on standard error. */
enum pm_status pm_listing_answer(struct pm_listing *table, struct pm_cli *cli, const char *key,
                                 const char *none, struct pm_error *err);

#endif
