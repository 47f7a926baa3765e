/* SPDX-License-Identifier: MIT */
/*
 * A table: rows of cells under headings, whose columns are described once.
 *
 * A room describes a table (struct pm_table: columns, how many rows, what a cell says) and keeps
 * what the person did with it (struct pm_table_view: the row, the column, what is scrolled out of
 * sight, what is being typed). The description is made anew whenever it is needed, before painting
 * and before a key is handled; it owns nothing. The widget does the rest:
 *
 *   widths     from what is in the cells; a column may widen, shrink, give way, scroll, appear on
 *              wide screens
 *   alignment  to the left, to the right, on the decimal point; what is too long ends in an
 *              ellipsis
 *   rows       headings, titles between rows, a footing with sums, "12 below"
 *   cursor     by rows (the whole row is shown as selected) or by cells (the row is underlined, the
 *              cell shown as selected)
 *   typing     into the cell under the cursor
 *
 *   table.c         moving and typing
 *   table_layout.c  which columns are shown, where, how wide
 *   table_draw.c    painting
 */
#ifndef PERMILLE_TUI_TABLE_H
#define PERMILLE_TUI_TABLE_H

#include "field.h"
#include "grid.h"

#include "permille/base/status.h"
#include "permille/base/text.h"

#include <stdbool.h>
#include <stddef.h>

#define PM_TABLE_COLUMNS 32 /* most columns of a table */

/* ---- columns ---- */

enum pm_align {
    PM_ALIGN_LEFT,
    PM_ALIGN_RIGHT,
    PM_ALIGN_POINT /* decimal points, or the ends of whole numbers, below each other; measured */
};

/*
 * What is 0 or false need not be said. A column is `wish` cells wide. When cells are lacking, first
 * those that yield shrink to `least`, then those with a rank go, then the table scrolls sideways.
 * Cells that are left over widen columns to `most`, and the rest goes to those that grow.
 */
struct pm_column {
    const char *key; /* names it in code and tests */
    /* NULL: the heading before it stands over this one as well. */
    const char *heading;
    enum pm_align align;
    int wish;      /* cells; of a measured column: the least it takes */
    int least;     /* shrinks down to this; counts only with `yields` */
    int most;      /* widens up to this; of a measured column: no content makes it wider. 0: does
                      not widen, is as wide as its content */
    int step;      /* widens and shrinks by multiples of this */
    bool measured; /* as wide as its heading and its widest cell, of all rows, seen or not */
    bool optional; /* a measured one: not shown while all its cells are empty */
    bool grows;    /* takes what is left over; those that grow share it */
    bool fixed;    /* never scrolls out of sight; stands before those that do */
    bool hidden;   /* not shown now */
    bool edited;   /* its cells can be typed into */
    bool bare;     /* from here on a row is not shown as selected: bars and what follows them */
    bool summed;   /* the rule over the footing stands under this column (PM_RULE_COLUMNS) */
    int from;      /* shown in panes of at least so many cells */
    int yields;    /* shrinks; the highest first */
    int rank;      /* gives way where that lets another column in; the highest first */
    int gap;       /* blanks before it; 0: as the table says */
    int group;     /* columns of one group (not 0) scroll together; they stand next to each other */
};

/* ---- the table ---- */

enum pm_table_rule {
    PM_RULE_NONE,
    PM_RULE_COLUMNS, /* over the sums, under the columns that have some; left out for want of rows
                      */
    PM_RULE_WHOLE    /* over the whole width, with what `note` says in it */
};

/* All hooks get `context`, rows from 0 and columns as places in `columns`. Those not needed are
 * NULL. */
struct pm_table {
    const struct pm_column *columns;
    size_t column_count; /* <= PM_TABLE_COLUMNS */
    size_t rows;
    bool unread; /* there are more rows than were read: moving may lead beyond the last one */
    void *context;
    /* What a cell says, appended to `out`; returns its role. */
    enum pm_role (*cell)(void *context, size_t row, size_t column, struct pm_text *out);
    /* Paints a cell itself, on the pane's row `y`, where the view says (pm_table_span); false: it
     * shows what `cell` says. What is copied or read aloud is `cell`'s all the same. */
    bool (*paint)(void *context, const struct pm_pane *pane, int y, size_t row, size_t column);
    /* A title between the rows (of a group): true and its text. Moving passes it over. */
    bool (*title)(void *context, size_t row, struct pm_text *out);
    /* A sign left of the row, in one cell: marked. Nothing when it appends nothing. */
    enum pm_role (*mark)(void *context, size_t row, struct pm_text *out);
    /* A cell of the footing; returns its role. */
    enum pm_role (*foot)(void *context, size_t row, size_t column, struct pm_text *out);
    size_t foot_rows;
    enum pm_table_rule rule;
    /* What stands in the whole rule; NULL: "12 below", when there are. */
    void (*note)(void *context, size_t below, struct pm_text *out);
    /* Typing. `open`: what stands in the cell when it is opened, or why it cannot be. `write`:
     * takes what was typed; on failure the cell stays open. */
    enum pm_status (*open)(void *context, size_t row, size_t column, struct pm_text *out,
                           struct pm_error *err);
    enum pm_status (*write)(void *context, size_t row, size_t column, const char *text,
                            struct pm_error *err);

    bool by_cell;      /* the cursor stands on a cell, not on a row */
    bool by_column;    /* by rows, but with view->column in sight: the room says what it means */
    size_t at;         /* by rows: the column where the terminal's cursor stands */
    bool idle;         /* the keys go elsewhere: the row is marked, nothing more */
    bool unselected;   /* no row is the selected one: it is in another list */
    bool plain;        /* without headings */
    int above;         /* rows kept free above the headings */
    int margin;        /* cells before the first column; 0: 2 */
    int gap;           /* blanks between columns; 0: 2 */
    int covered;       /* rows at the bottom of the pane under an overlay */
    const char *empty; /* a sentence in place of the rows when there are none, or NULL */

    /* Typing that the room does itself, in the place of the view's. */
    struct pm_field *field;
};

struct pm_span {
    int at, cells; /* 0 cells: not shown */
};

/* Begins as zeros. */
struct pm_table_view {
    size_t row, first; /* selected row, first row in sight */
    size_t column;     /* the cell cursor */
    size_t left;       /* first scrolling column in sight */
    bool typing;       /* into the cell under the cursor */
    bool writing;      /* what was typed is being written: it stands there as if it were */
    struct pm_field field;

    /* as of the last paint */
    int page;            /* rows in sight */
    int cells;           /* of the pane */
    int body, foot;      /* row of the pane where the rows begin, the footing begins (-1: none) */
    size_t shown;        /* first row painted: another than `first` while an overlay lies there */
    size_t below;        /* rows out of sight below */
    bool before, behind; /* columns are out of sight on the left, on the right */
    struct pm_span spans[PM_TABLE_COLUMNS];

    /* what was measured: cells before and behind the point; the whole width is their sum */
    bool measured;
    size_t measured_rows;
    struct {
        int front, back;
    } content[PM_TABLE_COLUMNS];
};

/* Room for so many bytes to be typed. False when memory ran out. */
bool pm_table_view_init(struct pm_table_view *view, size_t limit);
void pm_table_view_release(struct pm_table_view *view);
/* The rows say something else than before: they are measured again. (Another number of rows is
 * noticed by itself.) */
void pm_table_changed(struct pm_table_view *view);

/* The rows that can come into sight in a pane of `most` rows, from *from up to before *to: what has
 * to be known before it is painted. */
void pm_table_in_sight(const struct pm_table_view *view, size_t rows, int most, size_t *from,
                       size_t *to);

/* ---- keys ---- */

/* What pm_table_act and pm_table_type did, combined; 0: nothing, it is not theirs. */
enum pm_table_answer {
    PM_TABLE_DONE = 1,    /* paint again */
    PM_TABLE_MOVED = 2,   /* view->row is another one (behind the last one only when `unread`) */
    PM_TABLE_WROTE = 4,   /* what was typed was taken; it may have moved as well */
    PM_TABLE_REFUSED = 8, /* the sentence is in err */
    PM_TABLE_FULL = 16    /* there is no room for what was typed: PM_FIELD_FULL_SENTENCE */
};

/* Moving; while something is typed also Enter, Esc, Tab and what edits a line. Enter, Tab and the
 * arrows up and down take what was typed. */
unsigned pm_table_act(const struct pm_table *table, struct pm_table_view *view, int code,
                      struct pm_error *err);
/* Whether the key takes what was typed. Then the room sets `writing`, and lets the key act after
 * the screen has been painted. */
bool pm_table_takes(const struct pm_table_view *view, int code);
/* Opens the cell under the cursor. */
unsigned pm_table_open(const struct pm_table *table, struct pm_table_view *view,
                       struct pm_error *err);
/* Characters: go into the open cell; a digit, or pasted text, opens the one under the cursor. */
unsigned pm_table_type(const struct pm_table *table, struct pm_table_view *view, const char *text,
                       bool pasted, struct pm_error *err);
/* Leaves the cell as it was. */
void pm_table_stop(struct pm_table_view *view);

/* ---- painting ---- */

/* Works out which columns are shown and where, the one under the cursor among them. */
void pm_table_lay_out(const struct pm_table *table, struct pm_table_view *view, int cells);
/* Lays out, scrolls so that the selected row is in sight, paints, places the cursor. */
void pm_table_draw(const struct pm_table *table, struct pm_table_view *view,
                   const struct pm_pane *pane);
/* From the first of two columns to the end of the second, as last laid out: for what a room paints
 * over several of them. */
struct pm_span pm_table_span(const struct pm_table_view *view, size_t from, size_t to);
/* "A text" in a span, aligned; nothing for an empty text. */
void pm_span_put(const struct pm_pane *pane, int y, struct pm_span span, enum pm_align align,
                 enum pm_role role, const char *text);

#endif
