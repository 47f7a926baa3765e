/* SPDX-License-Identifier: MIT */
/*
 * Rows of the person's ceilings on families and classes of volatility. What members mean, their
 * units and ranges: core/profile.h.
 */
#ifndef PERMILLE_STORE_CEILINGS_H
#define PERMILLE_STORE_CEILINGS_H

#include "permille/core/profile.h"
#include "permille/store/library.h"

/* All, those for every formula first, then by formula, kind and name. The caller's
 * (pm_list_release). */
enum pm_status pm_ceiling_list(struct pm_library *library, struct pm_ceilings *out,
                               struct pm_error *err);
/* Fills id; takes the place of one of the same formula, kind and name. */
enum pm_status pm_ceiling_put(struct pm_library *library, struct pm_ceiling *row,
                              struct pm_error *err);
/* That there is none of that id is no failure. */
enum pm_status pm_ceiling_delete(struct pm_library *library, int64_t id, struct pm_error *err);

#endif
