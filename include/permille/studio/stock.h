/* SPDX-License-Identifier: MIT */
/*
 * The shelf seen from a formula: which bottles a trial would be poured from, what is lacking, what
 * it costs, what must be bought.
 *
 * Which bottle: of the line's material, strength and solvent, opened ones before unopened, the
 * oldest first; past-date ones only when nothing else is there. The person can choose another.
 */
#ifndef PERMILLE_STUDIO_STOCK_H
#define PERMILLE_STUDIO_STOCK_H

#include "permille/core/batch.h"
#include "permille/core/cost.h"
#include "permille/core/currency.h"
#include "permille/studio/bench.h"
#include "permille/studio/bottles.h"

/* ---- strengths on the shelf ---- */

struct pm_shelf_strength {
    pm_strength strength;
    int64_t solvent;    /* 0: neat */
    char *solvent_name; /* NULL: neat */
    int64_t bottles;    /* with something left */
    pm_mass left;
    bool past; /* all of them are past their date */
};
struct pm_shelf_strengths {
    struct pm_shelf_strength *items; /* owned; strongest first */
    size_t count;
};
/* What a line of this material can be poured from. */
enum pm_status pm_stock_strengths(struct pm_studio *studio, int64_t material,
                                  struct pm_shelf_strengths *out, struct pm_error *err);
void pm_shelf_strengths_release(struct pm_shelf_strengths *strengths);

/* ---- a trial against the shelf ---- */

enum pm_stock_state {
    PM_STOCK_OK,
    PM_STOCK_PAST,    /* enough, but past its date */
    PM_STOCK_SHORT,   /* bottles of this strength, and stronger ones, hold less than needed */
    PM_STOCK_DILUTE,  /* not enough at this strength, but in stronger bottles */
    PM_STOCK_MISSING, /* nothing of it that would do */
    PM_STOCK_PARTS    /* an accord some of whose parts are not all right */
};
const char *pm_stock_state_word(enum pm_stock_state state); /* "ok" "past date" "short"... */

/* One thing to be poured; an accord line gives several, in the order of its lines. */
struct pm_need {
    int64_t line; /* of the sheet's trial: line id */
    int64_t material, solvent;
    const char *name, *solvent_name; /* solvent_name NULL when neat */
    pm_strength strength;
    pm_mass mass;           /* for the batch */
    int64_t bottle;         /* first to pour from; 0 */
    pm_mass left;           /* in all bottles of this strength and solvent */
    pm_mass neat_elsewhere; /* in bottles of other strengths or solvents */
    enum pm_stock_state state;
};
/* A solvent that what is to be diluted first would take. */
struct pm_solvent_need {
    int64_t solvent;
    const char *name;
    pm_mass mass; /* for all dilutions */
    pm_mass left; /* in bottles, what the batch itself pours taken off */
};
struct pm_needs {
    struct pm_need *items; /* owned */
    size_t count;
    size_t lacking;                   /* how many are missing, short or to be diluted first */
    size_t solvents_lacking;          /* how many solvents do not suffice for that */
    struct pm_solvent_need *solvents; /* owned */
    size_t solvent_count, solvent_capacity;
    enum pm_stock_state *lines; /* owned; one per line of the sheet's trial */
    size_t line_count;
    struct pm_sheet_names *names;
};
/* What a batch of `mass` pours. The draft may be unsettled; an empty one is PM_REFUSED. */
enum pm_status pm_stock_needs(struct pm_studio *studio, const struct pm_sheet *sheet, pm_mass mass,
                              struct pm_needs *out, struct pm_error *err);
/* Puts together what is the same material, in the same solvent, from bottles that serve for each
 * other (core/stock.h), whatever line asks for it: what one reads before going to the shelf. Masses
 * at another strength count as so much at the first one's; the worst state stands. */
void pm_needs_gather(struct pm_needs *needs);
void pm_needs_release(struct pm_needs *needs);

struct pm_possible {
    int64_t formula, trial, number; /* newest kept trial, or the draft (number 0) when none */
    char *title;                    /* "Name/3", "Name" */
    size_t lacking;
    char *what; /* "short of Vetiver oil (4.2 g), no Ambroxide"; NULL when nothing lacks */
};
struct pm_possibles {
    struct pm_possible *items; /* owned; what lacks least first, then by name */
    size_t count;
};
/* What can be made now: every formula not set aside, for a batch of `mass`. */
enum pm_status pm_stock_possible(struct pm_studio *studio, pm_mass mass, struct pm_possibles *out,
                                 struct pm_error *err);
void pm_possibles_release(struct pm_possibles *possibles);

struct pm_offer {
    int64_t material;
    const char *name, *family;
    pm_mass neat; /* left */
    int64_t rating;
    size_t shared; /* odour words it shares with the material asked about */
};
struct pm_offers {
    struct pm_offer *items; /* most shared words first, then rating, then name */
    size_t count;
    struct pm_arena arena;
};
/* Materials of the same family that are on the shelf: what could take its place. */
enum pm_status pm_stock_offers(struct pm_studio *studio, int64_t material, size_t limit,
                               struct pm_offers *out, struct pm_error *err);

/* ---- cost ---- */

struct pm_cost_line {
    int64_t line;      /* line id of the sheet's trial */
    const char *title; /* as in the sheet */
    pm_mass mass;
    struct pm_sum sum;     /* of what is known */
    struct pm_sum printed; /* the same, rounded so that the printed lines add up */
    size_t unknown;        /* how many materials it takes have no price */
    int64_t bottle;        /* poured from this one first; 0 for accords and what is not there */
    size_t bottles;        /* how many it is poured or diluted from */
    bool resting;          /* it is not poured */
};
struct pm_cost {
    pm_mass batch;
    struct pm_cost_line *lines; /* owned */
    size_t count;
    struct pm_sum sum;          /* the batch */
    struct pm_sum printed;      /* the same as it prints below the lines */
    struct pm_sum per_kilogram; /* of concentrate */
    struct pm_sum per_bottle;   /* of finished product; count 0 unless asked for */
    pm_mass product_solvent;    /* that fills one bottle up */
    size_t unknown;             /* materials without a price: the sums are then a least */
    char *unknown_names;        /* "Ambroxide, Orris concrete"; NULL when none */
    pm_day rate_day;            /* oldest day among the rates used; PM_NO_DAY: none */
    char *remark;               /* rates used or missing; or NULL */
    struct pm_sheet_names *names;
};
struct pm_cost_wish {
    pm_mass batch;           /* of concentrate */
    pm_strength dosage;      /* of the concentrate in the product; 0: no product */
    pm_mass product;         /* in one bottle of product; 0: no product */
    int64_t product_solvent; /* material it is filled up with; 0: a solvent named Ethanol */
    const char *currency;    /* turn everything into this one by the rates given; NULL: leave */
    const int64_t *bottles;  /* chosen instead of the oldest for their material and strength */
    size_t bottle_count;
};
enum pm_status pm_stock_cost(struct pm_studio *studio, const struct pm_sheet *sheet,
                             const struct pm_cost_wish *wish, struct pm_cost *out,
                             struct pm_error *err);
void pm_cost_release(struct pm_cost *cost);

/* One unit of currency is `rate` (as typed: "0.94") of other on that day (PM_NO_DAY: today; none to
 * come).
 */
enum pm_status pm_stock_set_rate(struct pm_studio *studio, const char *currency, const char *other,
                                 const char *rate, pm_day day, struct pm_error *err);
enum pm_status pm_stock_rates(struct pm_studio *studio, struct pm_rates *out, struct pm_error *err);

/* ---- planned batches and shopping ---- */

/* Plans a batch; values by attribute of pm_batch_entity, as typed. An error names the attribute. */
enum pm_status pm_batch_plan(struct pm_studio *studio, const char *const *values, int64_t *id,
                             struct pm_error *err);
/* Weighed or given up: it no longer asks for anything. */
enum pm_status pm_batch_done(struct pm_studio *studio, int64_t id, struct pm_error *err);
/* By day, those without one last, with titles; over_too: also those done with. */
enum pm_status pm_batches_list(struct pm_studio *studio, bool over_too, struct pm_batches *out,
                               struct pm_error *err);

struct pm_shopping_line {
    char *supplier; /* of the newest bottle of the material; NULL: never bought */
    int64_t material;
    char *name;
    /* Neat. need: for all planned batches; of a solvent, what is poured by itself and what the
     * dilutions still to be made take. Lines are poured from bottles of their strength and solvent,
     * else diluted from stronger ones; weaker ones do not help. have: what serves on the shelf, all
     * of it where nothing is lacking. buy: what is lacking. */
    pm_mass need, have, buy;
    bool level;        /* part of `buy` only brings it back to its low-stock level */
    pm_mass low_level; /* that level, where it does; else 0 */
    char *last_price;  /* "19.20 EUR for 250 g"; or NULL */
};
struct pm_shopping {
    struct pm_shopping_line *lines; /* owned; by supplier, unknown ones last, then by name */
    size_t count;
};
/* What the planned batches need beyond stock; with_low also brings low materials to their level. */
enum pm_status pm_stock_shopping(struct pm_studio *studio, bool with_low, struct pm_shopping *out,
                                 struct pm_error *err);
void pm_shopping_release(struct pm_shopping *shopping);

#endif
