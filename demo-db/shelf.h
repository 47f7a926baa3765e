/* SPDX-License-Identifier: MIT */
/*
 * The demo's shelf: every material of shelf.csv, with what the starter set in schema/reference/
 * knows of it and the perfumer's own note.
 */
#ifndef DEMO_SHELF_H
#define DEMO_SHELF_H

#include "permille/studio/studio.h"

/* Both tables are found from the folder of the demo's sources. A name that is not in the starter
 * set is PM_MISSING. */
enum pm_status shelf_fill(struct pm_studio *studio, const char *sources, struct pm_error *err);

#endif
