/* SPDX-License-Identifier: MIT */
/* Solving a linear program: the only door to lp_solve. */
#ifndef PERMILLE_STUDIO_LINEAR_H
#define PERMILLE_STUDIO_LINEAR_H

#include "permille/core/within.h"
#include "permille/studio/studio.h"

/* *feasible tells whether there is a solution; then `solution` (one place per column) holds the
 * best and *cost its cost. PM_NOMEM; PM_REFUSED when the solver gave up, PM_STOPPED when the
 * person did, who is asked through the studio (may be NULL). */
enum pm_status pm_linear_solve(struct pm_studio *studio, const struct pm_program *program,
                               double *solution, double *cost, bool *feasible,
                               struct pm_error *err);

#endif
