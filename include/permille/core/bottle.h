/* SPDX-License-Identifier: MIT */
/*
 * A bottle: one physical container of a material, by the number on its label; and the ledger of
 * what came into it and went out of it. Plain rows: the store fills them, the studio adds what it
 * works out.
 */
#ifndef PERMILLE_CORE_BOTTLE_H
#define PERMILLE_CORE_BOTTLE_H

#include "permille/base/amount.h"
#include "permille/base/arena.h"
#include "permille/base/clock.h"
#include "permille/core/entity.h"

#define PM_BOTTLE_LABEL 24
/* "B007": what stands on the label. buf holds PM_BOTTLE_LABEL bytes and is returned. */
char *pm_bottle_label(int64_t id, char *buf);

/* Strings belong to the list or arena they were read into. */
struct pm_bottle {
    int64_t id, material;
    char label[PM_BOTTLE_LABEL];
    pm_strength strength; /* true strength */
    int64_t solvent;      /* a material; 0 exactly when neat */
    const char *lot, *supplier, *place, *note;
    pm_day bought, opened, best_before;
    pm_mass tare;        /* 0: unknown */
    pm_money price;      /* paid for priced_mass */
    char currency[4];    /* "" when the price is unknown */
    pm_mass priced_mass; /* 0: unknown */
    int64_t made_from;   /* the stock bottle it was diluted from; 0 */
    const char *stock;   /* its label, or NULL */
    bool set_aside;
    int64_t made_at; /* when it was entered */
    pm_mass left;    /* sum of the ledger; may be below zero */
    pm_mass first;   /* what it was filled with at first; 0 before that */
    int64_t movements;
    /* Filled by the studio. */
    const char *name;         /* of the material */
    const char *solvent_name; /* NULL when neat */
    int64_t left_ul;          /* volume of what is left, microlitres; -1: density unknown */
    bool past;                /* its best-before day is over */
    bool nearly_empty;        /* something is left, but less than a tenth of what it began with */
};
struct pm_bottles {
    struct pm_bottle *items;
    size_t count;
    struct pm_arena arena;
};

/* Whether less than a tenth (our own choice) of what a bottle began with is left, but something. */
bool pm_bottle_nearly_empty(pm_mass left, pm_mass first);

/* What is typed of a bottle; arrays of values are indexed by it. */
enum pm_bottle_attribute {
    PM_BOTTLE_STRENGTH,
    PM_BOTTLE_SOLVENT,
    PM_BOTTLE_LOT,
    PM_BOTTLE_SUPPLIER,
    PM_BOTTLE_BOUGHT,
    PM_BOTTLE_OPENED,
    PM_BOTTLE_BEST_BEFORE,
    PM_BOTTLE_PLACE,
    PM_BOTTLE_TARE,
    PM_BOTTLE_PRICE,
    PM_BOTTLE_PRICED_MASS,
    PM_BOTTLE_MADE_FROM,
    PM_BOTTLE_NOTE,
    PM_BOTTLE_ATTRIBUTES
};
extern const struct pm_entity pm_bottle_entity;

/* ---- the ledger ---- */

enum pm_move_kind {
    PM_RECEIVED, /* bought, given, or made */
    PM_POURED,   /* into a trial or batch */
    PM_COUNTED,  /* a stock-take found another amount */
    PM_MOVED,    /* into another bottle */
    PM_SPILLED,
    PM_DISCARDED,
    PM_CORRECTED /* takes an earlier movement back, or puts it in force again */
};
const char *pm_move_word(enum pm_move_kind kind); /* "received" */
bool pm_move_from_word(const char *word, enum pm_move_kind *out);

struct pm_movement {
    int64_t id, bottle;
    enum pm_move_kind kind;
    pm_mass mass;            /* signed: what it changed */
    pm_mass found;           /* counted only: what was there; of a ledger else -1 */
    int64_t other;           /* bottle it went to or came from; 0 */
    const char *other_label; /* "B007"; of a ledger, or NULL */
    int64_t trial;           /* the kept trial it was poured for; 0 */
    int64_t batch;       /* of that trial: the batch it was poured for, or is what has become of it
                            (received); 0 */
    const char *purpose; /* what it was poured for, in words; or NULL */
    const char *note;    /* or NULL */
    int64_t corrects;    /* corrected only: the movement it is about */
    int64_t at;
    pm_mass left; /* in the bottle after it; of a list */
};
/* What is typed of a movement; arrays of values are indexed by it. */
enum pm_movement_attribute {
    PM_MOVEMENT_AT,
    PM_MOVEMENT_KIND,
    PM_MOVEMENT_MASS,
    PM_MOVEMENT_OTHER,
    PM_MOVEMENT_FOR,
    PM_MOVEMENT_NOTE,
    PM_MOVEMENT_FOUND,
    PM_MOVEMENT_CORRECTS,
    PM_MOVEMENT_ATTRIBUTES
};
extern const struct pm_entity pm_movement_entity;

struct pm_movements {
    struct pm_movement *items; /* in the order entered */
    size_t count;
    struct pm_arena arena;
};

#endif
