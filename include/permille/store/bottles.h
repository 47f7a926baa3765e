/* SPDX-License-Identifier: MIT */
/*
 * Rows of bottles and their ledger. The amount left is the sum of the ledger, which the file keeps
 * beside it; movements are append-only. That nothing goes below zero unasked is the studio's rule.
 */
#ifndef PERMILLE_STORE_BOTTLES_H
#define PERMILLE_STORE_BOTTLES_H

#include "permille/base/amount.h"
#include "permille/store/library.h"

struct pm_bottle {
    int64_t id;
    int64_t material;
    pm_strength strength;
    int64_t solvent; /* 0 exactly when neat */
    char *lot, *supplier, *place, *note;
    int64_t bought, opened, best_before; /* the second their day begins; 0: unknown */
    pm_mass tare;                        /* 0: unknown */
    char currency[4];                    /* "" when the price is unknown */
    pm_money price;                      /* paid for priced_mass */
    pm_mass priced_mass;
    int64_t made_from; /* the stock bottle it was diluted from; 0 */
    bool set_aside;
    int64_t made_at;
    pm_mass left;      /* read only: sum of the ledger; may be below zero */
    int64_t movements; /* read only: their number */
    pm_mass first;     /* read only: what it was filled with at first; 0 before that */
};
void pm_bottle_release(struct pm_bottle *bottle);

/* Fills id and made_at. A bottle begins empty: its content is a movement. */
enum pm_status pm_bottle_insert(struct pm_library *library, struct pm_bottle *bottle,
                                struct pm_error *err);
enum pm_status pm_bottle_update(struct pm_library *library, const struct pm_bottle *bottle,
                                struct pm_error *err);
enum pm_status pm_bottle_get(struct pm_library *library, int64_t id, struct pm_bottle *out,
                             struct pm_error *err);
/* The visitor borrows the bottle and its strings. material 0: all, by id. */
typedef bool pm_bottle_visit(void *context, const struct pm_bottle *bottle);
enum pm_status pm_bottle_list(struct pm_library *library, int64_t material, bool set_aside_too,
                              pm_bottle_visit *visit, void *context, struct pm_error *err);

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
    pm_mass mass;      /* signed: what it changed */
    pm_mass found;     /* counted only: what was there */
    int64_t other;     /* bottle it went to or came from; 0 */
    const char *batch; /* what it was poured for; or NULL */
    const char *note;  /* or NULL */
    int64_t corrects;  /* corrected only: the movement it is about */
    int64_t at;
};
enum pm_status pm_movement_insert(struct pm_library *library, const struct pm_movement *movement,
                                  int64_t *id, struct pm_error *err);
/* Strings are borrowed during the call. In the order entered. */
typedef bool pm_movement_visit(void *context, const struct pm_movement *movement);
enum pm_status pm_movement_list(struct pm_library *library, int64_t bottle,
                                pm_movement_visit *visit, void *context, struct pm_error *err);
/* Bottle and mass of one movement. */
enum pm_status pm_movement_get(struct pm_library *library, int64_t id, int64_t *bottle,
                               pm_mass *mass, struct pm_error *err);

/* How often each kept trial of a formula was weighed: on how many days (UTC) something was poured
 * for "Name/3", pours taken back not counted. Trials never weighed are not told. A weighing noted
 * under a name the formula no longer has is not found. */
typedef bool pm_weighed_visit(void *context, int64_t trial, int64_t count);
enum pm_status pm_weighed_counts(struct pm_library *library, int64_t formula,
                                 pm_weighed_visit *visit, void *context, struct pm_error *err);

#endif
