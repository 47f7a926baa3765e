/* SPDX-License-Identifier: MIT */
/*
 * Weighing: what a balance can do, and which bottles to weigh a trial from.
 */
#ifndef PERMILLE_CORE_WEIGHING_H
#define PERMILLE_CORE_WEIGHING_H

#include "permille/base/amount.h"
#include "permille/base/status.h"

#include <stdbool.h>
#include <stddef.h>

/* ---- a balance ------------------------------------------------------------------------------- */

struct pm_balance {
    pm_mass readability;   /* d, one step of its display; > 0 */
    pm_mass repeatability; /* s, standard deviation of repeated weighings; 0: not measured */
    pm_mass least;         /* the smallest amount the person trusts it with; 0: as the rule says */
    pm_mass capacity;      /* 0: unknown */
};

/*
 * Standard uncertainty of one net weight in micrograms: s, but never less than 0.41 d, which the
 * rounding of two readings brings alone (d / sqrt 6: GUM, JCGM 100:2008, 4.3.7 and 5.1.2).
 */
double pm_balance_uncertainty(const struct pm_balance *balance);
/* Twice that over the mass: the relative error that a weighing of `mass` stays within, k = 2 (GUM
 * 6.2.1). 1e9 for a mass of 0. */
double pm_balance_error(const struct pm_balance *balance, pm_mass mass);
/*
 * The smallest net weight within `tolerance` (1e-9, > 0): m >= 2 s / tolerance, s never below
 * 0.41 d. At 0.10 % it is the minimum weight of USP general chapter <41>, never below 820 d; other
 * tolerances are the person's own. Rounded up to a microgram; never below `least`.
 */
pm_mass pm_balance_minimum(const struct pm_balance *balance, pm_strength tolerance);
/* What the display shows of a mass: the nearest step, half away from zero. */
pm_mass pm_balance_reads(const struct pm_balance *balance, pm_mass mass);
/* The same as text, with the digits of the step, in grams: "1.20 g". buf[PM_AMOUNT_TEXT]. */
const char *pm_balance_text(const struct pm_balance *balance, pm_mass mass, char sign, char *buf);
/* Those digits: decimals of a gram that the step has, 0..6. */
int pm_balance_places(const struct pm_balance *balance);
/* The same, or as many as a mass needs that was not read from it: nothing is rounded away. */
int pm_balance_places_of(const struct pm_balance *balance, pm_mass mass);
/* A mass in grams with those digits, or as many as it needs: "0.95 g", "0.0175 g". */
const char *pm_balance_exact(const struct pm_balance *balance, pm_mass mass, char sign, char *buf);
/* The sign at what is too little to be weighed within the tolerance, and its words: the same on
 * screens, in answers and on paper. */
#define PM_TOO_LITTLE       "<"
#define PM_TOO_LITTLE_WORDS "too little to weigh"
/*
 * Reading cumulatively, the display after each of the masses: each nearest to the true sum, so that
 * roundings do not add up and the last shows the whole. out[count].
 */
void pm_balance_cumulative(const struct pm_balance *balance, const pm_mass *masses, size_t count,
                           pm_mass *out);

/* ---- what a balance does to a formula -------------------------------------------------------- */

/* Each line's share of the squared relative uncertainty of all weights, adding up to 1: what this
 * balance does to this formula. Lines of mass 0 have none. out[count]. */
void pm_uncertainty_shares(const struct pm_balance *balance, const pm_mass *masses, size_t count,
                           double *out);

/* ---- which bottles to weigh from ------------------------------------------------------------- */

/*
 * A line (or all lines of one material) can be poured from several bottles or dilutions. A weaker
 * one is weighed more easily but brings more solvent, and all the solvent brought has to fit into
 * what the formula holds of it: so the lines are chosen together. What is not brought of a solvent
 * is poured neat at the end, one more weight, which may be a speck that cannot be weighed.
 */
#define PM_WEIGH_SOLVENTS 6

struct pm_weigh_choice {
    int solvent;     /* which of the budgets it draws on; -1: it brings no solvent */
    pm_mass carried; /* how much of it */
    pm_mass mass;    /* the smallest weight it asks for: the larger, the smaller its error */
    int unweighable; /* weights below the minimum it asks for; >= 0 */
    int made;        /* dilutions that have to be made first; >= 0 */
    int age;         /* 0: the bottle to use up first; no two choices of an item have the same */
};
struct pm_weigh_item {
    const struct pm_weigh_choice *choices; /* borrowed; at least one */
    size_t count;
    size_t chosen; /* out */
};
struct pm_weigh_budget {
    pm_mass most;    /* of the solvent that may be carried */
    pm_mass whole;   /* from here up to `most` nothing of it is poured neat */
    pm_mass amount;  /* below it amount - carried is poured neat ... */
    pm_mass minimum; /* ... and is too small below this. 0 <= whole <= amount <= most */
};
struct pm_weigh_outcome {
    int unweighable, made; /* with the rests of the solvents */
    pm_mass smallest;      /* the smallest weight of all: it has the largest error */
    bool proven; /* nothing better exists; false where so many solvents play together that only
                    the most promising ways were followed */
};
/*
 * Chooses for every item so that no solvent is carried beyond its budget, and, in this order:
 * fewest weights that are too small, the rests of solvents among them; fewest dilutions to make
 * first; the largest smallest weight of an item (the smallest largest relative error); the oldest
 * bottles, item by item. By dynamic programming over the items with what is carried as its state,
 * once for every way in which the rests can be avoided: exact unless several scarce solvents
 * compete in a long formula, which `proven` tells. PM_REFUSED: the budgets allow no choice (which
 * cannot happen where every item has one that brings nothing). PM_INVALID, PM_NOMEM.
 */
enum pm_status pm_weigh_choose(struct pm_weigh_item *items, size_t count,
                               const struct pm_weigh_budget *budgets, size_t solvents,
                               struct pm_weigh_outcome *out, struct pm_error *err);
/* The largest smallest weight that any choice reaches, rests of solvents among them, without
 * dilutions to be made unless `made_too`: everything scales with the batch, so the least batch that
 * works is this batch times the minimum weight over it. PM_MASS_MAX: nothing is weighed. Same
 * errors. */
enum pm_status pm_weigh_smallest(const struct pm_weigh_item *items, size_t count,
                                 const struct pm_weigh_budget *budgets, size_t solvents,
                                 bool made_too, pm_mass *out, struct pm_error *err);

#endif
