/* SPDX-License-Identifier: MIT */
/*
 * What the balance in use does to a sheet as it is written (core/weigh_budget.h): read once from
 * the library, worked out again in memory for every amount that is typed.
 */
#ifndef PERMILLE_STUDIO_WEIGH_BUDGET_H
#define PERMILLE_STUDIO_WEIGH_BUDGET_H

#include "permille/core/weigh_budget.h"
#include "permille/studio/bench.h"
#include "permille/studio/scale.h"

struct pm_sheet_budget {
    const char *balance_name;     /* NULL: none is kept */
    struct pm_budget_terms terms; /* of the batch asked for, with the accords of the sheet */
    struct pm_arena arena;        /* holds them */
};
/* Balance, tolerance, and what the sheet's accords are made of and stand made up; accords that
 * cannot be read are left out. Release with pm_sheet_budget_release. */
enum pm_status pm_sheet_budget(struct pm_studio *studio, const struct pm_sheet *sheet,
                               pm_mass batch, const struct pm_weigh_how *how,
                               struct pm_sheet_budget *out, struct pm_error *err);
/* Reads one more accord: a line of it may come in. On failure everything is as it was. */
enum pm_status pm_sheet_budget_accord(struct pm_studio *studio, struct pm_sheet_budget *budget,
                                      int64_t trial, struct pm_error *err);
/* What is said of the sheet's lines as they are, kept by the budget's arena: one per line.
 * PM_NOMEM.
 */
enum pm_status pm_sheet_budget_lines(struct pm_sheet_budget *budget, const struct pm_sheet *sheet,
                                     const struct pm_budget_line **lines, struct pm_budget *out,
                                     struct pm_error *err);
void pm_sheet_budget_release(struct pm_sheet_budget *budget);

#endif
