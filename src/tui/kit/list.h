/* SPDX-License-Identifier: MIT */
/*
 * Lists longer than the rows there are for them: where the selection goes, which rows are seen.
 *
 * `rows` is what was or can be seen of the list at once; less than 1 counts as 1.
 */
#ifndef PERMILLE_TUI_LIST_H
#define PERMILLE_TUI_LIST_H

#include <stdbool.h>
#include <stddef.h>

/* Whether an action moves the selection: up, down, by pages, to an end. */
bool pm_list_moves(int code);
/* Where an action leads that stands at `at` in a list of `count`; other actions than the moving
 * ones lead nowhere. A page is one row less than is seen. */
size_t pm_list_move(size_t at, size_t count, int rows, int code);
/* The first row to show so that `at` is seen: the same one as before where that will do. */
size_t pm_list_reach(size_t first, size_t at, int rows);
/* The same, leaving no row blank at the end that the list could fill. */
size_t pm_list_first(size_t first, size_t at, size_t count, int rows);

#endif
