/* SPDX-License-Identifier: MIT */
/*
 * A person's own dose response of a material: how strong it was noted at which dose.
 *
 * Two models, both straight lines by least squares:
 *
 *   intensity against log10(dose)          (Fechner's form; noted intensities as they are)
 *   log10(intensity) against log10(dose)   (the power law of Stevens; its slope is the exponent)
 *
 * In the second a note of 0 says only that nothing was smelled and is left out, counted. A dose for
 * a wanted intensity is read off the line backwards, with the interval of Fieller (1954). A slope
 * that is not told from none supports neither, and nothing is drawn from it.
 */
#ifndef PERMILLE_CORE_DOSE_H
#define PERMILLE_CORE_DOSE_H

#include "permille/base/status.h"
#include "permille/core/fit.h"

#include <stdbool.h>
#include <stddef.h>

enum pm_dose_model { PM_DOSE_LOG, PM_DOSE_POWER };

struct pm_dose_note {
    double dose;      /* > 0, any unit, the same for all */
    double intensity; /* >= 0 */
};
struct pm_dose {
    enum pm_dose_model model;
    struct pm_fit fit;                   /* terms: 1, log10(dose) */
    size_t left_out;                     /* notes of nothing, in the power law */
    double slope, slope_low, slope_high; /* with its interval */
    double confidence;                   /* of the intervals: 0.95 */
    bool supported;                      /* the interval of the slope does not reach 0 */
    double least, most;                  /* doses noted */
};

/* PM_REFUSED: fewer than three usable notes, or all at one dose; PM_INVALID: a dose that is not
 * above 0, an intensity below 0, one that is no number. */
enum pm_status pm_dose_fit(enum pm_dose_model model, const struct pm_dose_note *notes, size_t count,
                           struct pm_dose *out, struct pm_error *err);
/* The intensity expected at a dose, with the interval of its mean; never below 0. */
void pm_dose_at(const struct pm_dose *dose, double at, double *value, double *low, double *high);
/* The dose for an intensity (> 0 in the power law). PM_REFUSED where the notes do not support it:
 * no told slope, or an interval without an end. */
enum pm_status pm_dose_for(const struct pm_dose *dose, double intensity, double *value, double *low,
                           double *high, struct pm_error *err);

#endif
