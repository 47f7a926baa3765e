/* SPDX-License-Identifier: MIT */
/*
 * A shelf for the tests of screens: bottles of invented materials, a formula of them.
 */
#ifndef PERMILLE_TESTS_SHELF_WORLD_H
#define PERMILLE_TESTS_SHELF_WORLD_H

#include "bench_world.h"

#include "permille/studio/bottles.h"

int64_t shelf_world_bottle(struct bench_world *world, const char *material, double grams,
                           const char *const *form);
int64_t shelf_world_material(struct bench_world *world, const char *name, const char *family);
/* A few materials, some of them in bottles: one past its date, one nearly empty, one diluted. */
void shelf_world_stock(struct bench_world *world);
/* A formula of some of them, with dilutions that are not on the shelf. */
void shelf_world_formula(struct bench_world *world);
/* The shelf stocked and in front. */
void shelf_world_open(struct bench_world *world, int rows, int columns);
/* Types the search. */
void shelf_world_find(struct bench_world *world, const char *part);

/* Of a bottle, as the file has it. */
pm_mass shelf_world_left_in(struct bench_world *world, const char *label);
struct pm_bottle shelf_world_card(struct bench_world *world, const char *label);

#endif
