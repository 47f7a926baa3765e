/* SPDX-License-Identifier: MIT */
/*
 * At which strengths a material can be had from the shelf, as a line would be written: a bottle
 * weighed to 10.03 % is offered as 10 % (pm_stock_serves).
 */
#ifndef PERMILLE_STUDIO_STRENGTHS_H
#define PERMILLE_STUDIO_STRENGTHS_H

#include "permille/base/amount.h"
#include "permille/base/arena.h"
#include "permille/studio/studio.h"

struct pm_at_hand {
    pm_strength strength;     /* as written */
    int64_t solvent;          /* 0: neat */
    const char *solvent_name; /* NULL: neat */
    pm_mass left;             /* in all bottles that serve */
    bool past;                /* all of them are past their date */
};
struct pm_at_hand_list {
    struct pm_at_hand *items; /* strongest first */
    size_t count;
    struct pm_arena arena;
};
enum pm_status pm_at_hand_read(struct pm_studio *studio, int64_t material,
                               struct pm_at_hand_list *out, struct pm_error *err);

/* Which of them a dose of `neat` is best poured at, by place: the wanted strength where it is there
 * and the pour is not below `minimum`; else the strongest of those whose pour is not; else the one
 * nearest to the wanted strength, by how many times it is more or less. minimum 0: every pour will
 * do. The count: nothing is offered. */
size_t pm_at_hand_for(const struct pm_at_hand_list *offered, pm_mass neat, pm_strength wanted,
                      pm_mass minimum);
#define PM_ANY_SOLVENT (-1)
/* The place of the one that a line of this strength and solvent is poured from; the count: none. */
size_t pm_at_hand_place(const struct pm_at_hand_list *offered, pm_strength strength,
                        int64_t solvent);

#endif
