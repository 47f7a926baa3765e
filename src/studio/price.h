/* SPDX-License-Identifier: MIT */
/* What it costs to pour something from the shelf. */
#ifndef PERMILLE_STUDIO_PRICE_H
#define PERMILLE_STUDIO_PRICE_H

#include "bottle.h"
#include "permille/core/cost.h"
#include "permille/core/stock.h"
#include "permille/studio/stock.h"

/* What was poured already: what one line takes is no longer there for the next. */
struct pm_drawn {
    int64_t bottle;
    pm_mass mass;
};
struct pm_pricing {
    struct pm_studio *studio;
    const struct pm_cost_wish *wish; /* bottles the person chose */
    struct pm_drawn *drawn;          /* owned */
    size_t drawn_count, drawn_capacity;
};
void pm_pricing_release(struct pm_pricing *pricing);

struct pm_priced {
    struct pm_sum sum; /* of what has a price */
    int64_t *unknown;  /* owned; materials without one, each once */
    size_t unknown_count, unknown_capacity;
    int64_t bottle; /* the first it is poured from; 0 */
    size_t bottles; /* how many it takes */
};
void pm_priced_release(struct pm_priced *priced);

/*
 * Prices one pour across the bottles it would be poured from, in the order of pouring; what they do
 * not hold across the stronger bottles it would be diluted from, with the solvent that takes. What
 * nothing on the shelf would give costs what was paid for the last bottle of it. A dilution made
 * here costs what went into it, however far back. Adds to *out.
 */
enum pm_status pm_price_pour(struct pm_pricing *pricing, const struct pm_pour *pour,
                             struct pm_priced *out, struct pm_error *err);

#endif
