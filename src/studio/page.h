/* SPDX-License-Identifier: MIT */
/*
 * The one writer of what goes on paper: headings, sentences and tables as plain text, Markdown, or
 * a page of HTML that stands alone (nothing fetched, no script). A sheet of it is set as small as
 * it has to be, down to 6 pt, so that it prints on one sheet of A4 up to some seventy rows; more
 * run over several. What is said is put together once.
 */
#ifndef PERMILLE_STUDIO_PAGE_H
#define PERMILLE_STUDIO_PAGE_H

#include "permille/base/arena.h"
#include "permille/studio/paper.h"

enum {
    PM_PAGE_COLUMNS_MAX = 64,
    PM_PAGE_SIZES = 9, /* of type, from 10 pt down to 6 by halves */
    PM_PAGE_CELLS = 78 /* of a line of plain text: a terminal of 80 shows it with a margin */
};

struct pm_page_column {
    const char *title;
    bool number; /* stands to the right */
    bool bar;    /* numbers from 0 to 100, with a point: drawn in HTML, left out elsewhere */
    int least;   /* cells in plain text, to write into by hand */
    bool second; /* stands on a second line of the row where plain text has no room for all */
};

struct pm_page {
    struct pm_text *out; /* borrowed */
    enum pm_paper form;  /* PM_PAPER_TEXT, _MARKDOWN or _HTML */
    char sign;           /* decimal sign */
    size_t cells;        /* of plain text, whose sentences and tables are broken there; 0: never */
    const struct pm_page_column *columns; /* of the table being written */
    size_t column_count;
    bool failed; /* memory ran out */
    struct {
        const char **items;
        size_t count;
        struct pm_arena arena;
    } kept;                       /* cells of a table, whose widths are known at its end */
    size_t size_at;               /* where in `out` the size of the sheet's type stands */
    double points[PM_PAGE_SIZES]; /* how high the sheet is with each size */
};

/* PM_INVALID for JSON and CSV, which a sheet of several parts does not have. */
enum pm_status pm_page_can(enum pm_paper form, struct pm_error *err);
/* Free with pm_page_end, which also tells whether memory sufficed. */
void pm_page_begin(struct pm_page *page, struct pm_text *out, enum pm_paper form, char sign,
                   const char *title);
enum pm_status pm_page_end(struct pm_page *page, struct pm_error *err);

/* A sentence of plain text, broken at blanks; where it goes on it keeps the blanks it begins with.
 */
void pm_page_lines(struct pm_page *page, const char *text);
/* Text within what is written, made harmless for the form; line ends become blanks. */
void pm_page_text(struct pm_page *page, const char *text);
/* A value beside the largest one as a column that is a bar has it: what is larger fills it. */
const char *pm_page_bar(double value, double most, char *buf);
void pm_page_heading(struct pm_page *page, int level, const char *text);
void pm_page_say(struct pm_page *page, const char *sentence);
void pm_page_caution(struct pm_page *page, const char *sentence);
/* What comes next begins another sheet. */
void pm_page_turn(struct pm_page *page);

/* The columns must live until the table ends. */
void pm_page_table(struct pm_page *page, const struct pm_page_column *columns, size_t count);
/* As many cells as there are columns; NULL is an empty one. */
void pm_page_row(struct pm_page *page, const char *const *cells);
void pm_page_table_end(struct pm_page *page);

/* The cells of the table as plain text; `widths`: of the columns, had they all the room there is.
 */
void pm_page_text_table(struct pm_page *page, const size_t *widths);

#endif
