/* SPDX-License-Identifier: MIT */
/*
 * The reference lists that came with the program: what is limited, prohibited, or named on labels.
 * They are read once, when first asked for, and stay as long as the studio.
 */
#ifndef PERMILLE_STUDIO_REFERENCE_H
#define PERMILLE_STUDIO_REFERENCE_H

#include "inside.h"

/* Borrowed; by list, in the order of each. */
enum pm_status pm_studio_reference(struct pm_studio *studio, const struct pm_reference **out,
                                   struct pm_error *err);
/* Whether a row is about what goes by this name or number (either may be NULL). Several substances
 * may share a number: then all their rows are about it, since too much caution is the lesser harm.
 */
bool pm_reference_about(const struct pm_reference_row *row, const char *name, const char *cas);

#endif
