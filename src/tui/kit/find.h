/* SPDX-License-Identifier: MIT */
/* Going to a row of a list by typing part of what stands in it: the same in every room. */
#ifndef PERMILLE_TUI_FIND_H
#define PERMILLE_TUI_FIND_H

#include "app.h"
#include "table.h"

#include <stdbool.h>
#include <stddef.h>

/* Strings are static, `state` is borrowed while the room is open. */
struct pm_find_spec {
    const char *title; /* "Find a batch" */
    const char *label; /* before what is typed: "Batch" */
    const char *none;  /* said when the list is empty */
    void *state;
    /* The list as it is now: it is asked again and again, since it may be read anew meanwhile. */
    struct pm_table (*table)(void *state);
    void (*go)(void *state, size_t row); /* selects a row that the list has now */
};

/* What is typed is looked for in all cells of a row, folded. Says when there is no row, or no
 * memory. */
void pm_find_open(struct pm_app *app, const struct pm_find_spec *spec);

#endif
