/* SPDX-License-Identifier: MIT */
/*
 * A weigh-out plan: what to put on the balance for a mass of a trial, from which bottles.
 *
 * What is asked for is the neat amount of every material and the amount of every solvent. A
 * material can come from bottles of different strengths; a weaker one weighs more and brings more
 * solvent, and what the dilutions do not bring of a solvent is poured neat. The choice is
 * pm_weigh_choose's, in its fixed order: fewest weights that are too small for the tolerance, what
 * is left of each solvent among them; fewest dilutions to make first; the largest smallest weight;
 * the oldest bottles.
 *
 * Where bottles of one kind are poured one after the other, what is older is emptied first, but no
 * further than leaves the next one a weight within the tolerance, and no larger an error than the
 * plan has anyway; a drop that is too small to be weighed stays in its bottle where others do. How
 * much a set of them takes of what is older is compared as if only the tolerance mattered.
 *
 * Bottles of which no kind holds enough are poured together where a line is written the same from
 * each of them (pm_strength_written): of 10 % and of 10.03 %, each with what is in it.
 *
 * Every target is a whole microgram, and all of them add up to the mass exactly. A bottle of 9.97 %
 * may stand for 10 %: what its solvent then is too much, or too little, as far as the tolerance, is
 * taken off all targets, or added to them, in proportion; so a speck of solvent is not weighed
 * where the dilutions bring all of it but the tolerance.
 */
#ifndef PERMILLE_CORE_WEIGH_PLAN_H
#define PERMILLE_CORE_WEIGH_PLAN_H

#include "permille/core/stock.h"
#include "permille/core/weighing.h"

/* The tolerance where none is said: 2 %, our own choice, the same that a dilution is given. */
#define PM_WEIGH_TOLERANCE (PM_NEAT / 50)

enum pm_weigh_order {
    PM_WEIGH_TRACES,   /* the smallest first; solvents last */
    PM_WEIGH_LARGEST,  /* the largest first, solvents among them */
    PM_WEIGH_VOLATILE, /* the least volatile first, unknown ones as written; solvents last */
    PM_WEIGH_WRITTEN   /* as the formula has them */
};
bool pm_weigh_order_from_word(const char *word, enum pm_weigh_order *out);
#define PM_WEIGH_ORDER_WORDS "traces|largest|volatile|written"

/* One material of the trial: all its lines together. */
struct pm_weigh_need {
    int64_t line; /* the first of them */
    int64_t material;
    pm_fine neat;       /* of the trial, accords and dilutions resolved */
    pm_fine as_solvent; /* what dilutions as written bring of it */
    bool is_solvent;
    pm_strength written; /* as the first line has it */
    int64_t written_in;
    double volatility; /* any measure, larger evaporates sooner; NAN: unknown */
};

/* A bottle of one of them. */
struct pm_weigh_bottle {
    struct pm_stock_bottle stock;
    int64_t material;
    pm_strength strength;
    int64_t solvent; /* 0 when neat */
};

struct pm_weigh_wish {
    pm_mass mass;
    struct pm_balance balance;
    pm_strength tolerance; /* of each weight, k = 2 */
    enum pm_weigh_order order;
    bool dilute; /* dilutions that would have to be made first may be planned */
    pm_day today;
};

#define PM_WEIGH_NONE SIZE_MAX

/* One thing to weigh. */
struct pm_weigh_pour {
    size_t need;    /* place among the needs */
    int64_t bottle; /* 0: none on the shelf, or a dilution still to be made */
    size_t making;  /* the last step of that dilution, or PM_WEIGH_NONE */
    pm_strength strength;
    int64_t solvent; /* 0 when neat */
    pm_mass target;
    double error;   /* relative, k = 2 */
    bool weighable; /* within the tolerance */
};

/* A dilution to be made first; those of one material in the order of making. */
struct pm_weigh_making {
    size_t need;
    int64_t from; /* bottle; 0: the making before it */
    pm_strength from_strength, strength;
    int64_t solvent;
    pm_mass target;   /* to make so much: what is needed, and what its stock asks for */
    pm_mass of_stock; /* of it */
};

struct pm_weigh_plan {
    struct pm_weigh_pour *pours; /* owned; in the order of pouring */
    size_t count;
    struct pm_weigh_making *makings; /* owned */
    size_t making_count;
    size_t unweighable, missing; /* pours too small; pours without a bottle or dilution */
    pm_mass minimum;             /* smallest weight within the tolerance */
    pm_mass least; /* the least batch whose every line can be weighed from the shelf as it is; 0:
                      none */
    pm_mass least_made; /* the same with dilutions made first; 0: none */
    double combined;    /* standard uncertainty of the total, micrograms */
    bool proven;        /* nothing better exists (pm_weigh_choose) */
};

/* PM_REFUSED: no mass, nothing in the trial; PM_INVALID, PM_NOMEM. Bottles are read, and their
 * `stock.take` left as it was. */
enum pm_status pm_weigh_plan(const struct pm_weigh_need *needs, size_t count,
                             const struct pm_weigh_bottle *bottles, size_t bottle_count,
                             const struct pm_weigh_wish *wish, struct pm_weigh_plan *out,
                             struct pm_error *err);
void pm_weigh_plan_release(struct pm_weigh_plan *plan);

/* What strength of dilution a neat mass needs to be weighable: the strongest of 10, 1, 0.1 % that
 * reaches the minimum; PM_NEAT when it is so already, 0 when none does. */
pm_strength pm_weigh_strength_for(pm_mass neat, pm_mass minimum);

#endif
