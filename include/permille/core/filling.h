/* SPDX-License-Identifier: MIT */
/*
 * Filling: a concentrate into ethanol, water and what else there is, and into bottles.
 *
 * Everything is weighed: masses add up exactly, volumes do not (ethanol and water contract).
 * Volumes are at 20 °C, by the alcohol tables (core/ethanol.h); the concentrate's own volume is
 * added without contraction, since none is known. The strength that is asked for is that of the
 * ethanol and water alone, as a hydrometer would read it before the concentrate comes in.
 */
#ifndef PERMILLE_CORE_FILLING_H
#define PERMILLE_CORE_FILLING_H

#include "permille/base/amount.h"
#include "permille/base/status.h"

struct pm_filling_wish {
    pm_mass concentrate;
    pm_strength dosage;  /* of the concentrate in the product, by mass */
    pm_strength at_hand; /* strength by volume of the ethanol at hand, 20 °C */
    pm_strength wanted;  /* strength by volume of ethanol and water; 0: no water is added */
    pm_strength other;   /* of anything else in the product, by mass */
    int64_t density;     /* of the concentrate, 1e-9 g/ml at 20 °C; 0: unknown */
    int64_t bottle_ul;   /* one bottle, microlitres; 0: none asked for */
    pm_strength loss;    /* share of the volume that stays in filters and vessels */
};
struct pm_filling {
    pm_mass concentrate, ethanol, water, other, total; /* ethanol as it is at hand */
    pm_strength by_mass;                               /* pure ethanol in the product */
    pm_strength mixed;                                 /* by volume, of ethanol and water alone */
    pm_strength by_volume; /* pure ethanol in the product, of its volume; -1: density unknown */
    int64_t mix_ul, contraction_ul; /* of ethanol and water */
    int64_t total_ul; /* -1: the concentrate's density is unknown, or there is something else */
    int64_t bottles;  /* whole ones; -1: unknown */
    int64_t rest_ul;  /* that fills no bottle; -1: unknown */
};

/* PM_INVALID for shares outside their ranges; PM_REFUSED: nothing is left for ethanol, the ethanol
 * at hand is weaker than what is wanted, more than can be weighed. */
enum pm_status pm_filling_work_out(const struct pm_filling_wish *wish, struct pm_filling *out,
                                   struct pm_error *err);

#endif
