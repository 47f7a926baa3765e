/* SPDX-License-Identifier: MIT */
/*
 * Another library in the room where things are brought in: a row for each thing it holds, how it
 * stands to what is here, and what is to become of it.
 */
#ifndef PERMILLE_TUI_GUEST_H
#define PERMILLE_TUI_GUEST_H

#include "kit/room.h"
#include "kit/table.h"
#include "permille/studio/another.h"

#include <stdbool.h>
#include <stddef.h>

/* Begins as zeros. */
struct guest {
    struct pm_another *another; /* NULL: there is none */
    char *from;                 /* the file's name; owned */
    size_t *listed;             /* places of the items that are shown; owned */
    size_t count;
    bool all;  /* also what is the same here */
    int only;  /* kind that is shown alone, from 1; 0: every kind */
    char sign; /* decimal sign */
    struct pm_table_view view;
};

/* Takes over `another`, also when it fails. */
enum pm_status guest_take(struct guest *guest, struct pm_another *another, const char *path,
                          struct pm_error *err);
void guest_forget(struct guest *guest);
/* Lists the items anew, after something was wished or another filter chosen. Stays on its row. */
enum pm_status guest_list(struct guest *guest, struct pm_error *err);
/* Place of the item in the selected row; false: there is none. */
bool guest_here(const struct guest *guest, size_t *at);

struct pm_table guest_table(struct guest *guest);
void guest_draw(struct guest *guest, const struct pm_canvas *canvas);
/* All that the selected row has no room for. */
enum pm_role guest_remark(const struct guest *guest, struct pm_text *out);

#endif
