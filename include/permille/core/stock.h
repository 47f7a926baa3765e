/* SPDX-License-Identifier: MIT */
/*
 * What a batch pours, and which bottles it is poured from.
 */
#ifndef PERMILLE_CORE_STOCK_H
#define PERMILLE_CORE_STOCK_H

#include "permille/core/bottle.h"
#include "permille/core/flatten.h"

/* ---- what is poured ---- */

/* One material at one strength in one solvent, as it is poured. */
struct pm_pour {
    int64_t line; /* of the trial at the top: id of the line that brings it */
    int64_t material;
    pm_strength strength;
    int64_t solvent; /* 0 when neat */
    pm_mass mass;
};
struct pm_pours {
    struct pm_pour *items; /* owned; in the order of the lines, an accord's in its own order */
    size_t count, capacity;
};
/*
 * Divides `mass` over the trial's lines in proportion to their parts, and what an accord gets over
 * its own lines, at any depth; largest remainder at each step, so all of them add up to mass
 * exactly. What rests is not poured. Within one line of the trial the same thing met twice is one
 * pour. PM_REFUSED for a trial without parts, and for more than a million accord lines met on the
 * way.
 */
enum pm_status pm_pours_of(const struct pm_trial *trial, const struct pm_trial_source *source,
                           pm_mass mass, struct pm_pours *out, struct pm_error *err);
void pm_pours_release(struct pm_pours *pours);

/* ---- which bottle ---- */

/* Whether a bottle of this true strength serves for a line written at `wanted`: within a fiftieth
 * of it (our own choice). A dilution weighed to 10.03 % is the line's 10 %; at the balance its true
 * strength counts. */
bool pm_stock_serves(pm_strength bottle, pm_strength wanted);

struct pm_stock_bottle {
    int64_t id;
    bool chosen;        /* by the person: before all others */
    pm_day opened;      /* PM_NO_DAY: not yet, or unknown */
    pm_day since;       /* bought, or else entered */
    pm_day best_before; /* PM_NO_DAY: unknown */
    int grade;          /* how well it can be weighed from it (pm_dilute_grade), or 0 for all */
    pm_mass left;
    pm_mass take; /* out: by pm_stock_draw */
};
/* Whether less is there than the level, neat. Strengths are rounded, so a millionth less is not. */
bool pm_stock_low(pm_mass level, pm_mass neat);
/* Whether the day is over; the day itself still counts. */
bool pm_stock_past(pm_day best_before, pm_day today);
/* A bottle's part in the order of pouring; not chosen. */
struct pm_stock_bottle pm_stock_bottle_of(const struct pm_bottle *bottle);
/* The order to pour in: chosen ones; then those within their date before those past it; the larger
 * grade; opened ones before unopened, the longest opened first; then the oldest; then by number. */
void pm_stock_order(struct pm_stock_bottle *bottles, size_t count, pm_day today);
/* Takes `need` from the bottles in their order, none below zero. Returns what is missing. */
pm_mass pm_stock_draw(struct pm_stock_bottle *bottles, size_t count, pm_mass need);

#endif
