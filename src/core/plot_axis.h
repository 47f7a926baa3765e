/* SPDX-License-Identifier: MIT */
/* Private: an axis of a picture: how far it goes, where a value stands on it, its ticks. */
#ifndef PERMILLE_CORE_PLOT_AXIS_H
#define PERMILLE_CORE_PLOT_AXIS_H

#include "permille/core/plot.h"

#define PM_AXIS_TICKS 64
#define PM_AXIS_LABEL 40 /* as long as a number may be */

struct pm_axis_tick {
    double at;
    char label[PM_AXIS_LABEL];
};
struct pm_axis_made {
    enum pm_plot_scale scale;
    double ground;
    double from, to; /* as scaled; from < to */
    struct pm_axis_tick ticks[PM_AXIS_TICKS];
    size_t tick_count;
};

/* `upright`: the y axis of the series, else the x axis; `most`: how many labels there is room for.
 * PM_INVALID for an axis that goes nowhere. */
enum pm_status pm_axis_make(const struct pm_plot_axis *axis, const struct pm_plot_spec *spec,
                            bool upright, size_t most, struct pm_axis_made *out,
                            struct pm_error *err);
/* Where a value stands: 0 at the beginning, 1 at the end of the axis, others outside of it; NaN for
 * one without a place. */
double pm_axis_share(const struct pm_axis_made *axis, double value);
double pm_axis_share_from_end(const struct pm_axis_made *axis, double value);

#endif
