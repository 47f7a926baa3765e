/* SPDX-License-Identifier: MIT */
/*
 * Copying what is in front. The application has it painted into a grid that carries one of these:
 * then the table with the keys, instead of painting itself, puts all its rows here, seen or not,
 * with all its columns, whether there is room for them or not; and so does a page.
 *
 * The text is what a spreadsheet takes from a clipboard: rows of cells with tabs between them,
 * harmless as base/csv.h says.
 */
#ifndef PERMILLE_TUI_COPY_H
#define PERMILLE_TUI_COPY_H

#include "table.h"

#include "permille/base/text.h"

#include <stdbool.h>
#include <stddef.h>

struct pm_copy {
    struct pm_text text; /* owned */
    bool some;           /* something was in front that can be copied */
    size_t rows;         /* without headings and sums */
    bool unread;         /* the table has more rows than were read */
};

/* All of the table: headings, rows, sums. A second one counts only when nothing came before. */
void pm_copy_table(struct pm_copy *copy, const struct pm_table *table);
/* The line of a page with that number; the longest is 1 KiB. */
typedef const char *pm_copy_line(const void *context, size_t line);
/* A page. Lines that stand together and leave the same places blank, two cells or more, are a
 * table: there their cells end. */
void pm_copy_page(struct pm_copy *copy, size_t count, pm_copy_line *line, const void *context);

#endif
