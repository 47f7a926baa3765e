/* SPDX-License-Identifier: MIT */
/*
 * Private to weigh-out plans: for each material the ways to pour it, among which is chosen.
 */
#ifndef PERMILLE_SRC_CORE_WEIGH_WAYS_H
#define PERMILLE_SRC_CORE_WEIGH_WAYS_H

#include "permille/core/weigh_plan.h"

/* Strengths that are made when none of them is there, each from the one before it: a tenth, so that
 * what is weighed of the stock is never too small. Our own choice. */
#define PM_WEIGH_MADE 3
extern const pm_strength pm_weigh_made_at[PM_WEIGH_MADE];

/* Of many bottles of one kind only so many are chosen among (pm_ways_next_set). */
#define PM_WEIGH_SET_BOTTLES 6
#define PM_WEIGH_SETS        (1U << PM_WEIGH_SET_BOTTLES)

/* One way: a group of bottles of one strength, a dilution to make, or nothing that is there. */
struct pm_weigh_way {
    size_t need;
    size_t first, last;                  /* its bottles among the sorted ones; equal: none */
    unsigned set;                        /* which of those; not of mixed ones */
    pm_mass takes[PM_WEIGH_SET_BOTTLES]; /* from the first of them, if nothing else matters */
    bool mixed; /* they are of several true strengths that one line is written at */
    pm_strength strength;
    int64_t solvent;
    size_t stock; /* bottle the dilution is made from, or PM_WEIGH_NONE */
    int steps;    /* dilutions one after the other */
};

struct pm_weigh_planner {
    const struct pm_weigh_need *needs;
    size_t count;
    const struct pm_weigh_wish *wish;
    struct pm_weigh_bottle *bottles; /* owned; by material, strength, solvent, order of pouring */
    size_t bottle_count;
    pm_mass minimum;
    pm_int128 whole;  /* all needs, pico-parts */
    pm_mass *amounts; /* owned; per need: neat and as solvent, adding up to the mass */
    size_t budget_of[PM_WEIGH_SOLVENTS]; /* needs */
    struct pm_weigh_budget budgets[PM_WEIGH_SOLVENTS];
    size_t budget_count;
    struct pm_weigh_way *ways; /* owned; beside choices */
    struct pm_weigh_choice *choices;
    size_t way_count, way_capacity;
    struct pm_weigh_item *items; /* owned; those that are not poured as the rest of a solvent */
    size_t *item_need, *item_first;
    size_t item_count;
};

/* Whether two bottles, as sorted, are poured as one. */
bool pm_ways_same_group(const struct pm_weigh_bottle *a, const struct pm_weigh_bottle *b);
/* Takes copies of the bottles, in the order of the planner. PM_NOMEM. */
enum pm_status pm_ways_sort(struct pm_weigh_planner *planner, const struct pm_weigh_bottle *bottles,
                            size_t count, struct pm_error *err);
/* The neat amount of a need in 1e-9 of a microgram; its weight at a strength, rounded to a
 * microgram; -1 when it is beyond all masses. Worked out from the pico-parts, so that a trace of
 * micrograms keeps its digits in a dilution. */
pm_int128 pm_ways_neat_fine(const struct pm_weigh_planner *planner, size_t need);
/* Whether a need is the rest of a solvent, poured after all else. */
bool pm_ways_is_rest(const struct pm_weigh_planner *planner, size_t need);
/* Budgets: the solvents there is most of. */
void pm_ways_find_budgets(struct pm_weigh_planner *planner);
/* The budget of a solvent; -1 when it has none. */
int pm_ways_budget(const struct pm_weigh_planner *planner, int64_t solvent);
/*
 * Sets of the bottles first..last, all of one kind, that hold a mass and none of which would be
 * poured from in vain; sets with what is used up first before others. A set is a number: *set
 * begins as PM_WEIGH_SETS; false: there is none any more. Bottles behind the first
 * PM_WEIGH_SET_BOTTLES are in all sets.
 */
bool pm_ways_next_set(const struct pm_weigh_planner *planner, size_t first, size_t last,
                      pm_mass mass, unsigned *set);
/*
 * Says what is taken from each bottle of a set, in stock.take of the planner's bottles, 0 from
 * those that are not in it: what is to be used up first is emptied first, but so that from none
 * that holds `level` less is taken, where the mass allows that. Returns what all of them lack.
 */
pm_mass pm_ways_take(struct pm_weigh_planner *planner, size_t first, size_t last, unsigned set,
                     pm_mass mass, pm_mass level);
/* The next bottle of a mixed group: what is poured of it for the neat amount still lacking, which
 * shrinks by that. */
pm_mass pm_ways_draw_mixed(const struct pm_weigh_bottle *bottle, pm_int128 *lacking);
/* The choices of all needs that are no rest; with those for which nothing is there. */
enum pm_status pm_ways_make_items(struct pm_weigh_planner *planner, bool missing_too,
                                  struct pm_error *err);
/* Without dilutions where they may not be made: those ways are asked for to tell the least batch
 * that they allow, and then taken out. */
void pm_ways_drop_made(struct pm_weigh_planner *planner, struct pm_weigh_item *items);
/* The smallest mass for which every line can be weighed. */
enum pm_status pm_ways_least_batch(struct pm_weigh_planner *planner, bool made_too, pm_mass *out,
                                   struct pm_error *err);

#endif
