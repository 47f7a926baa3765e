/* SPDX-License-Identifier: MIT */
/* The inside of the table, for the files that make it up. */
#ifndef PERMILLE_TUI_TABLE_INSIDE_H
#define PERMILLE_TUI_TABLE_INSIDE_H

#include "table.h"

/* Cells before the first column. */
int pm_table_margin(const struct pm_table *table);
/* Byte behind the whole part of the first number in a text, where its decimal point stands; the
 * text's end when there is no number. */
size_t pm_table_point(const char *text);
/* The end of the run of columns that scroll together with this one. */
size_t pm_table_group_end(const struct pm_table *table, size_t column);
/* The column that is typed into. */
size_t pm_table_typed_column(const struct pm_table *table, const struct pm_table_view *view);

#endif
