/* SPDX-License-Identifier: MIT */
/*
 * The first steps of somebody new: what of the round (materials, a formula, a core, a trace, a kept
 * trial, a note) the library holds already, and whether the person wants to be shown them.
 */
#ifndef PERMILLE_STUDIO_FIRST_STEPS_H
#define PERMILLE_STUDIO_FIRST_STEPS_H

#include "permille/base/status.h"
#include "permille/studio/studio.h"

#include <stdbool.h>
#include <stddef.h>

struct pm_first_steps {
    bool materials, formulas, kept, smelled; /* there is one */
    size_t lines;                            /* of the draft asked about */
    bool core, trace;                        /* it has one; a trace: less than 1 in 1000 */
    bool whole;                              /* its parts add up to its base */
};

/* formula: whose draft is looked at; 0: none. */
enum pm_status pm_first_steps(struct pm_studio *studio, int64_t formula, struct pm_first_steps *out,
                              struct pm_error *err);

/* Whether they are to be shown: until they were left, in a library that was empty when it was
 * opened for the first time. */
enum pm_status pm_first_steps_wanted(struct pm_studio *studio, bool *wanted, struct pm_error *err);
/* Shows or leaves them from now on. */
enum pm_status pm_first_steps_want(struct pm_studio *studio, bool wanted, struct pm_error *err);

#endif
