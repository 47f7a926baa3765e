/* SPDX-License-Identifier: MIT */
/*
 * The nearest formula within bounds, as a linear program: which amounts, changed the least in all,
 * keep the total, every bound, and what does not give way.
 *
 * Units are what moves as one: a free line, or a core whose ratio is kept. Nearest is the smallest
 * sum of absolute changes, which is the sum of relative changes weighted by parts. Among equally
 * near ones that is taken whose largest relative gain and largest relative loss are smallest, so
 * that what has to grow is shared by many. The solver is somebody else's (struct pm_program is all
 * it sees); its doubles only propose, and the caller checks what is made of them exactly.
 */
#ifndef PERMILLE_CORE_WITHIN_H
#define PERMILLE_CORE_WITHIN_H

#include "permille/base/amount.h"
#include "permille/base/status.h"

#include <stdbool.h>
#include <stddef.h>

/* Minimise cost . x, with least <= x <= most, and rows matrix . x <= right (or = right). */
struct pm_program {
    size_t columns, rows;
    double *cost, *least, *most; /* by column; most may be INFINITY */
    double *matrix;              /* rows x columns, row after row */
    double *right;               /* by row */
    bool *equal;                 /* by row */
};
void pm_program_release(struct pm_program *program);

struct pm_unit {
    double parts;       /* now; > 0 */
    double least, most; /* what it may become */
};
struct pm_within_bound {
    double *per_part; /* by unit: how much of it one part of the unit brings */
    double rest;      /* what does not give way brings */
    double most;      /* for the whole formula, at the wanted dosage */
    bool dosed;       /* a limit: `most` grows as the dosage falls */
};
struct pm_within {
    struct pm_unit *units;
    size_t count;
    struct pm_within_bound *bounds;
    size_t bound_count;
};

/* The program for the nearest; its columns are what each unit gains, then what each loses, as
 * fractions of all units together. */
enum pm_status pm_within_nearest(const struct pm_within *within, struct pm_program *out,
                                 struct pm_error *err);
/* The second one: of those whose changes sum up to `moved` (the cost of the first), the one whose
 * largest relative gain and loss are smallest. Columns as before, and two more. */
enum pm_status pm_within_even(const struct pm_within *within, double moved, struct pm_program *out,
                              struct pm_error *err);
/* The program for the highest dosage that some amounts reach: its last column is wanted dosage /
 * that dosage, at least 1. */
enum pm_status pm_within_highest(const struct pm_within *within, struct pm_program *out,
                                 struct pm_error *err);
/* Parts of each unit by a solution. */
void pm_within_parts(const struct pm_within *within, const double *solution, double *parts);
/* Whether a bound is reached by those parts, within a millionth of it; `ease` as the last column of
 * pm_within_highest, else 1. */
bool pm_within_binds(const struct pm_within *within, const struct pm_within_bound *bound,
                     const double *parts, double ease);

#endif
