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
#include "permille/base/clock.h"
#include "permille/base/status.h"
#include "permille/core/entity.h"

/* What one says of a filling that is wished for. */
enum pm_filling_attribute {
    PM_FILLING_CONCENTRATE,
    PM_FILLING_DOSAGE,
    PM_FILLING_ETHANOL,
    PM_FILLING_WANTED,
    PM_FILLING_OTHER,
    PM_FILLING_DENSITY,
    PM_FILLING_BOTTLE,
    PM_FILLING_LOSS,
    PM_FILLING_FILTER,
    PM_FILLING_READY,
    PM_FILLING_NOTE,
    PM_FILLING_ATTRIBUTES
};
extern const struct pm_entity pm_filling_entity; /* of struct pm_filling_wish */

struct pm_filling_wish {
    pm_mass concentrate;
    pm_strength dosage;  /* of the concentrate in the product, by mass */
    pm_strength at_hand; /* strength by volume of the ethanol at hand, 20 °C; where none is said
                            PM_FILLING_GRADE */
    pm_strength wanted;  /* strength by volume of ethanol and water; 0: no water is added */
    pm_strength other;   /* of anything else in the product, by mass */
    int64_t density;     /* of the concentrate, 1e-9 g/ml at 20 °C; 0: unknown */
    int64_t bottle_ul;   /* one bottle, microlitres; 0: none asked for */
    pm_strength loss;    /* share of the volume that stays in filters and vessels */
    pm_day filter_on, ready_on; /* PM_NO_DAY: no reminder */
    const char *note;           /* or NULL */
};
/* The usual grade, 96 % by volume; common practice, no source. */
#define PM_FILLING_GRADE (PM_NEAT / 100 * 96)
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

/* What was typed, values by attribute of pm_filling_entity (NULL: not said), worked out. The note
 * is kept by the arena. Errors as below, and those of reading. */
enum pm_status pm_filling_read(const char *const *values, struct pm_arena *arena,
                               struct pm_filling_wish *wish, struct pm_filling *out,
                               struct pm_error *err);
/* PM_INVALID for shares outside their ranges; PM_REFUSED: nothing is left for ethanol, the ethanol
 * at hand is weaker than what is wanted, more than can be weighed. */
enum pm_status pm_filling_work_out(const struct pm_filling_wish *wish, struct pm_filling *out,
                                   struct pm_error *err);

#endif
