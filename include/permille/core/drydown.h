/* SPDX-License-Identifier: MIT */
/*
 * Drydown: what leaves a formula first and what stays, told against the fraction evaporated.
 *
 * The model is that of evaporation.h (ideal mixture, or with the person's own coefficients). What
 * is said of a material carries a band from the low to the high end of its own vapour pressure, the
 * others kept as they are. Nothing here knows hours: a clock comes from the person's own note that
 * something was gone (pm_drydown_rate), and holds for the same film, surface and air only.
 *
 * Odour values (air over threshold) compare one material with itself; `air` is for that.
 */
#ifndef PERMILLE_CORE_DRYDOWN_H
#define PERMILLE_CORE_DRYDOWN_H

#include "permille/core/evaporation.h"
#include "permille/core/smell.h"

#include <stdbool.h>
#include <stddef.h>

/* ---- top, heart, base by vapour pressure ----------------------------------------------------- */

/*
 * Borders between the stages at 25 °C in Pa: half way, on the logarithm, between the medians of the
 * reference table's chemicals that common practice calls top (49 Pa), heart (4 Pa) and base (0.16
 * Pa). The groups overlap, so this is a mark, not a definition.
 */
#define PM_TOP_FROM   14.0
#define PM_HEART_FROM 0.8

enum pm_stage pm_stage_by_pressure(double pressure);
/* Whether a label disagrees with the vapour pressure by a decade or more: the whole band low..high
 * lies at least that far outside what the borders give to the label. */
bool pm_stage_is_odd(enum pm_stage label, double low, double high);

/* Amounts by stage, for a whole formula or what a gesture would make of it. */
struct pm_stage_profile {
    double
        share[PM_STAGES]; /* of what has a vapour pressure and is no solvent; adds up to 1, or 0 */
    double unknown;       /* share of all that is no solvent whose pressure nobody knows */
};

/* ---- the curve ------------------------------------------------------------------------------- */

/* Parallel arrays of `count`; items are changed during a call and put back. */
struct pm_dry_mix {
    struct pm_volatile *items; /* pressure: times activity and transfer coefficient */
    const double *low, *high;  /* the ends of that pressure: low <= pressure <= high */
    const double *vapour;      /* Pa over the pure liquid, times activity: what is in the air */
    const double *molar_mass;  /* g/mol */
    size_t count;
};
struct pm_dry_state {
    double left, low, high; /* of its own start, 0..1; low <= left <= high */
    double share;           /* of the vapour, by mole */
    double air;             /* g/m3 in the air right above the liquid, 25 °C */
};
/* The state when `gone` (0..1) of all moles has evaporated, into out[count]; `tau` holds the tau of
 * an earlier point (or 0) and receives this one's. Without `bands` low and high are `left`. */
void pm_drydown_at(const struct pm_dry_mix *mix, double gone, bool bands, double *tau,
                   struct pm_dry_state *out);
/* The band of one of them, into the state that pm_drydown_at gave it. */
void pm_drydown_band(const struct pm_dry_mix *mix, size_t which, double gone,
                     struct pm_dry_state *state);
/* The gone at which item `which` is down to `left` (0 < left < 1) of its start, with its band; 1
 * where it never is. */
double pm_drydown_reaches(const struct pm_dry_mix *mix, size_t which, double left, double *low,
                          double *high);

/* ---- a clock, from the person's own note ----------------------------------------------------- */

/* K in moles per Pa and second, from: item `which` was down to `left` after `seconds`. 0 when it
 * never gets there. */
double pm_drydown_rate(const struct pm_dry_mix *mix, size_t which, double left, double seconds);
/* Seconds until `gone` has evaporated, at a rate K > 0; infinite when it never does. */
double pm_drydown_seconds(const struct pm_dry_mix *mix, double gone, double rate);

/* A vapour pressure for reading: three digits, without an exponent where it is large: "7900",
 * "86.7". buf holds PM_PRESSURE_TEXT bytes; returns it. */
#define PM_PRESSURE_TEXT 32
char *pm_pressure_format(double pascal, char sign, char *buf);

#endif
