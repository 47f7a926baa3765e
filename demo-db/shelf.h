/* SPDX-License-Identifier: MIT */
/*
 * The demo's shelf: the materials of shelf.csv out of the starter set, with the perfumer's own
 * words about them, the bottles of bottles.csv, and what happened to these (movements.csv).
 */
#ifndef DEMO_SHELF_H
#define DEMO_SHELF_H

#include "permille/studio/studio.h"

/* sources is the folder of the demo's sources. A name that is not in the starter set is PM_MISSING,
 * a table that cannot be read PM_INVALID with line and column. */
enum pm_status shelf_fill(struct pm_studio *studio, const char *sources, struct pm_error *err);

#endif
