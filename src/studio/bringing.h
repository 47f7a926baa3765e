/* SPDX-License-Identifier: MIT */
/*
 * What the files that bring formulas in share: bringing_read.c takes a source apart,
 * bringing_match.c looks names up, bringing_reckon.c makes parts of amounts, bringing.c says what
 * is doubtful and corrects, bringing_commit.c writes.
 */
#ifndef PERMILLE_STUDIO_BRINGING_INSIDE_H
#define PERMILLE_STUDIO_BRINGING_INSIDE_H

#include "inside.h"

#include "permille/core/jotting.h"
#include "permille/studio/bringing.h"

/* Formulas and lines as they were written, into an empty `out`. */
enum pm_status pm_bringing_take_apart(const char *text, size_t length, struct pm_bringing *out,
                                      struct pm_error *err);

/* What the lines' names and solvents are in the library: match, material, accord, matched, and the
 * same of the solvent. */
enum pm_status pm_bringing_match(struct pm_studio *studio, struct pm_bringing *bringing,
                                 struct pm_error *err);
/* Whether the library has a material or an accord of exactly this name. */
enum pm_status pm_bringing_is_known(struct pm_studio *studio, struct pm_bringing *bringing,
                                    const char *name, bool *known, struct pm_error *err);

/* The amounts of a formula's lines as parts of its base; base, total, remark and the lines' doubts
 * about it. */
enum pm_status pm_bringing_reckon(struct pm_bringing *bringing, struct pm_brought_formula *formula,
                                  struct pm_error *err);

#endif
