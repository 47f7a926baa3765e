/* SPDX-License-Identifier: MIT */
/*
 * What dilutions, stock and cost share with bottles; inside the studio.
 */
#ifndef PERMILLE_STUDIO_BOTTLE_H
#define PERMILLE_STUDIO_BOTTLE_H

#include "inside.h"

#include "permille/core/stock.h"
#include "permille/store/bottles.h"
#include "permille/studio/bottles.h"

/* Fills the row from the form (NULL: nothing said) and inserts it as part of the step. */
enum pm_status pm_bottle_enter(struct pm_shelf_step *step, struct pm_bottle *row,
                               const struct pm_bottle_form *form, pm_mass received,
                               struct pm_error *err);
/* Writes a movement as part of the step; at 0: now. PM_REFUSED below zero unless even_below;
 * *missing (may be NULL) then says by how much. */
enum pm_status pm_bottle_move(struct pm_shelf_step *step, const struct pm_movement *movement,
                              bool even_below, pm_mass *missing, struct pm_error *err);

/* A taking, or a stock-take, as part of the step. */
enum pm_status pm_bottle_take_one(struct pm_shelf_step *step, int64_t id,
                                  const struct pm_taking *taking, pm_mass *missing,
                                  struct pm_error *err);
enum pm_status pm_bottle_count_one(struct pm_shelf_step *step, int64_t id, pm_mass found,
                                   const char *note, int64_t at, struct pm_error *err);

/* The bottles of a material with something left, as the order of pouring wants them. */
struct pm_shelf_bottles {
    struct pm_bottle *rows; /* owned, with their strings */
    size_t count, capacity;
    bool failed;
};
enum pm_status pm_bottles_of(struct pm_studio *studio, int64_t material, bool empty_too,
                             struct pm_shelf_bottles *out, struct pm_error *err);
void pm_shelf_bottles_release(struct pm_shelf_bottles *bottles);

/* What a batch of the sheet's trial pours, accords worked out. */
enum pm_status pm_sheet_pours(struct pm_studio *studio, const struct pm_sheet *sheet, pm_mass mass,
                              struct pm_pours *out, struct pm_error *err);

#endif
