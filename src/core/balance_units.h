/* SPDX-License-Identifier: MIT */
/*
 * Private to the balance_*.c files: what units come to, pouring them into lines, and who gives way.
 */
#ifndef PERMILLE_SRC_CORE_BALANCE_UNITS_H
#define PERMILLE_SRC_CORE_BALANCE_UNITS_H

#include "balance.h"

/* ---- units (balance.c) ---- */

/* What these parts weigh on the sheet's scale. */
struct pm_weight pm_unit_worth(const struct pm_balancing *sheet, pm_parts parts);
/* The unit of the line at `place`. */
struct pm_free_unit *pm_unit_at(const struct pm_balancing *sheet, size_t place);
bool pm_unit_is_free(const struct pm_free_unit *unit);
/* What the unit is to have is what it was set to, so it weighs that. */
void pm_unit_reshare(struct pm_free_unit *unit, struct pm_weight share);

/* What a core's lines weigh poured; of a single line all are one. */
struct pm_core_ratio {
    struct pm_weight sum, least, most;
};
struct pm_core_ratio pm_unit_ratio(const struct pm_balancing *sheet,
                                   const struct pm_free_unit *unit);
/* What the line at `place` weighs poured, beside the others of its unit. */
struct pm_weight pm_unit_poured_at(const struct pm_balancing *sheet, size_t place);
/* The least a unit can have with a micro-part for each of its lines. */
struct pm_weight pm_unit_least(const struct pm_core_ratio *ratio);
/* The most a core can have without a line beyond a million parts. */
pm_parts pm_unit_limit(const struct pm_balancing *sheet, const struct pm_free_unit *unit);
/* Whether each of its lines has something. */
bool pm_unit_all_there(const struct pm_balancing *sheet, const struct pm_free_unit *unit);

/* What the units are to have into sheet->parts. */
void pm_units_pour(struct pm_balancing *sheet);
/* Whether no line exceeds a million parts. PM_INVALID. */
enum pm_status pm_units_check(const struct pm_balancing *sheet, struct pm_error *err);

/* ---- sharing (balance_give.c) ---- */

/* Whom an apportioning is about. */
struct pm_givers {
    size_t except;   /* a unit that stands apart, or PM_NO_PLACE */
    bool cores_only; /* only cores give way */
    bool held_too;   /* held units move as well */
    bool able;       /* some of them weigh something */
    pm_parts have;   /* what they have together */
};

bool pm_gives(const struct pm_givers *who, const struct pm_balancing *sheet, size_t unit);
/* Who gives way by the trial's mode, which is not carrier, to the unit `except`. */
struct pm_givers pm_givers_choose(const struct pm_balancing *sheet, size_t except);
/* Every unit that does not rest, held ones too. */
struct pm_givers pm_givers_all(const struct pm_balancing *sheet);
/* The givers take `total` among them, and the shares or the scale say so. */
void pm_givers_give(struct pm_balancing *sheet, const struct pm_givers *who, pm_parts total);
/* The least the givers need together so that each line that has something keeps a micro-part. */
pm_parts pm_givers_least(const struct pm_balancing *sheet, const struct pm_givers *who);

/* Parts to the last digit, for a sentence. */
const char *pm_parts_exact(pm_parts parts, char *buf);

#endif
