/* SPDX-License-Identifier: MIT */
/*
 * Tables of the shelf in the room where things are brought in: a row for each of theirs, with what
 * would become of it.
 */
#ifndef PERMILLE_TUI_SHELF_ROWS_H
#define PERMILLE_TUI_SHELF_ROWS_H

#include "kit/room.h"
#include "kit/table.h"
#include "permille/studio/shelf_tables.h"

/* Begins as zeros. */
struct shelf_rows {
    struct pm_shelf_tables tables;
    bool some; /* there are some */
    struct pm_table_view view;
};

/* Takes `tables` over. */
void shelf_rows_take(struct shelf_rows *rows, const struct pm_shelf_tables *tables);
void shelf_rows_forget(struct shelf_rows *rows);

struct pm_table shelf_rows_table(struct shelf_rows *rows);
void shelf_rows_draw(struct shelf_rows *rows, const struct pm_canvas *canvas);
/* All of what the selected row says. */
enum pm_role shelf_rows_remark(const struct shelf_rows *rows, struct pm_text *out);
/* Whether that row cannot come in as it is. */
bool shelf_rows_faulty(const struct shelf_rows *rows, size_t row);

#endif
