/* SPDX-License-Identifier: MIT */
/*
 * Bottles: what stands on the shelf, its ledger, and dilutions made from it.
 *
 * A bottle is named by the number on its label: "B127", also "127". Nothing falls below zero
 * unasked: such a call is refused with a sentence that says by how much, unless even_below is set;
 * the ledger then shows it, and the next stock-take puts it right.
 */
#ifndef PERMILLE_STUDIO_BOTTLES_H
#define PERMILLE_STUDIO_BOTTLES_H

#include "permille/base/amount.h"
#include "permille/core/bottle.h"
#include "permille/studio/studio.h"

#include <stddef.h>

/* Values are as typed, by attribute of pm_bottle_entity: NULL leaves one as it is, "" takes it
 * away. values may be NULL: nothing said. An error names the attribute it is about. */

/* A new bottle with `received` in it (0: still empty); neat unless a strength is said, and what a
 * price was paid for is the amount received unless said. at 0: now. */
enum pm_status pm_bottle_add(struct pm_studio *studio, int64_t material, pm_mass received,
                             const char *const *values, int64_t at, int64_t *id,
                             struct pm_error *err);
enum pm_status pm_bottle_edit(struct pm_studio *studio, int64_t id, const char *const *values,
                              struct pm_error *err);
/* "B127", "127". PM_MISSING. */
enum pm_status pm_bottle_find(struct pm_studio *studio, const char *text, int64_t *id,
                              struct pm_error *err);
/* Out of sight, its ledger stays; bring back with false. */
enum pm_status pm_bottle_set_aside(struct pm_studio *studio, int64_t id, bool aside,
                                   struct pm_error *err);

/* One bottle with all its names; strings go into the arena. */
enum pm_status pm_bottle_show(struct pm_studio *studio, int64_t id, struct pm_arena *arena,
                              struct pm_bottle *out, struct pm_error *err);

struct pm_bottle_filter {
    int64_t material; /* 0: any */
    const char *text; /* words in material, lot, supplier, place, label, folded; NULL: all */
    bool have;        /* something left */
    bool old;         /* past its date and something left */
    bool set_aside_too;
};
/* By material name, then strength (strongest first), then number. */
enum pm_status pm_bottles_list(struct pm_studio *studio, const struct pm_bottle_filter *filter,
                               struct pm_bottles *out, struct pm_error *err);

/* ---- the ledger ---- */

enum pm_status pm_bottle_ledger(struct pm_studio *studio, int64_t id, struct pm_movements *out,
                                struct pm_error *err);

/* The movement of a bottle that what was typed means, values by attribute of pm_movement_entity;
 * the mass may be a volume (volumes.h). Strings go into the arena. An error names the attribute. */
enum pm_status pm_movement_typed(struct pm_studio *studio, int64_t bottle,
                                 const char *const *values, struct pm_arena *arena,
                                 struct pm_movement *out, struct pm_error *err);
/*
 * Something taken out of a bottle or put into it: poured, spilled, discarded take away, received
 * adds, moved takes from this bottle and puts into `other`, of the same material or its dilution.
 * The mass is above 0; what it was poured for, in words, means with "Name/3" that kept trial, now
 * and whatever it is called later; at 0: now. Unless even_below the ledger does not fall below
 * zero: *missing (may be NULL) receives by how much the bottle falls short when that was the reason
 * of PM_REFUSED, else 0: a front end may then ask, and call again.
 */
enum pm_status pm_bottle_take(struct pm_studio *studio, int64_t id, const struct pm_movement *taken,
                              bool even_below, pm_mass *missing, struct pm_error *err);
/* Several as one entry of the history and one transaction: all or none. */
enum pm_status pm_bottles_take(struct pm_studio *studio, const int64_t *ids,
                               const struct pm_movement *taken, size_t count, bool even_below,
                               const char *sentence, pm_mass *missing, struct pm_error *err);
/* Stock-take: what is really there (without the tare); the ledger takes the difference. */
enum pm_status pm_bottle_count(struct pm_studio *studio, int64_t id, pm_mass found,
                               const char *note, int64_t at, struct pm_error *err);
/* Counted with nothing left and set aside. */
enum pm_status pm_bottle_empty(struct pm_studio *studio, int64_t id, const char *note,
                               struct pm_error *err);

/* ---- dilutions ---- */

struct pm_dilution_wish {
    int64_t material;
    pm_strength strength;
    pm_mass target;
    int64_t solvent; /* 0: the solvent of the stock bottle, if it has one */
    int64_t from;    /* stock bottle; 0: the one that makes the best dilution: stronger, holding
                        enough, mixing no solvents, weighed best, the oldest opened one */
    int64_t solvent_from; /* bottle of solvent; 0: the oldest opened one with enough */
    pm_mass readability;  /* of the balance; 0: 10 mg */
};
struct pm_dilution {
    int64_t material, solvent;
    char *name, *solvent_name;
    int64_t from, solvent_from; /* bottles; solvent_from 0: none on the shelf, weigh any */
    pm_strength from_strength, wanted;
    pm_mass of_stock, of_solvent; /* what to weigh, as the balance reads; they add up */
    pm_strength expected;         /* true strength when weighed so */
    bool off;      /* that is not within a fiftieth of what was wanted (core/dilute.h) */
    pm_mass least; /* the least target from this one on that is, from this stock on this
                      balance; 0: unknown */
    bool even_off; /* set by whoever was told and wants it so: see pm_dilution_make */
    pm_mass stock_left, solvent_left; /* in the two bottles before */
    int64_t stock_ul, solvent_ul;     /* microlitres at 20 °C, for orientation: the balance counts;
                                         -1: no density is known */
    char *remark;                     /* mixed solvents, short, past date; or NULL */
};
/* What to weigh. PM_REFUSED: no bottle strong enough, the balance cannot read so little. */
enum pm_status pm_dilution_plan(struct pm_studio *studio, const struct pm_dilution_wish *wish,
                                struct pm_dilution *out, struct pm_error *err);
void pm_dilution_release(struct pm_dilution *dilution);
#define PM_VOLUMES_ORIENT "Volumes are at 20 °C and for orientation: the balance counts."
/* What was typed as weighed of the two: masses, or volumes where a density is known. On failure
 * err->field is "stock" or "solvent". */
enum pm_status pm_dilution_weighed(struct pm_studio *studio, const struct pm_dilution *dilution,
                                   const char *stock_text, const char *solvent_text, pm_mass *stock,
                                   pm_mass *solvent, struct pm_error *err);
/* What was really weighed, written as one entry: both bottles go down, a new one comes with the
 * true strength, both lots and today's date. PM_REFUSED when a plan that is off is taken as weighed
 * unless even_off. Where the stock brings another solvent along, the new
 * bottle names the one there is more of, and its note tells both. values may be NULL; strength and
 * solvent among them are not read. */
enum pm_status pm_dilution_make(struct pm_studio *studio, const struct pm_dilution *dilution,
                                pm_mass stock_weighed, pm_mass solvent_weighed,
                                const char *const *values, bool even_below, int64_t at,
                                int64_t *bottle, pm_mass *missing, struct pm_error *err);

#endif
