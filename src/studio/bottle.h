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

/* Fills the row from what was typed (NULL: nothing said) and inserts it as part of the step; its
 * strings go into the arena. */
enum pm_status pm_bottle_enter(struct pm_shelf_step *step, struct pm_bottle *row,
                               const char *const *values, pm_mass received, struct pm_arena *arena,
                               struct pm_error *err);
/* A new bottle of what a batch has become: the mass, trial and batch of what it receives. Like the
 * pours it is for good, so that the batch's record and the ledger go on saying the same. */
enum pm_status pm_bottle_of_batch(struct pm_studio *studio, int64_t material,
                                  const struct pm_movement *received, const char *const *values,
                                  int64_t *id, struct pm_error *err);
/* A row about which nothing is known yet. */
struct pm_bottle pm_bottle_blank(int64_t material);
/* Writes a movement as part of the step; at 0: now. PM_REFUSED below zero unless even_below;
 * *missing (may be NULL) then says by how much. */
enum pm_status pm_bottle_move(struct pm_shelf_step *step, const struct pm_movement *movement,
                              bool even_below, pm_mass *missing, struct pm_error *err);

/* A taking, or a stock-take, as part of the step. */
enum pm_status pm_bottle_take_one(struct pm_shelf_step *step, int64_t id,
                                  const struct pm_movement *taken, bool even_below,
                                  pm_mass *missing, struct pm_error *err);
enum pm_status pm_bottle_count_one(struct pm_shelf_step *step, int64_t id, pm_mass found,
                                   const char *note, int64_t at, struct pm_error *err);

/* The kept trial that "Name/3" means; 0: the words mean something else. */
enum pm_status pm_poured_for(struct pm_studio *studio, const char *purpose, int64_t *trial,
                             struct pm_error *err);

/* The bottles of a material with something left; empty_too: all of them, also those set aside. */
enum pm_status pm_bottles_of(struct pm_studio *studio, int64_t material, bool empty_too,
                             struct pm_bottles *out, struct pm_error *err);

/* What a batch of the sheet's trial pours, accords worked out. */
enum pm_status pm_sheet_pours(struct pm_studio *studio, const struct pm_sheet *sheet, pm_mass mass,
                              struct pm_pours *out, struct pm_error *err);

#endif
