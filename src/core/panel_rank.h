/* SPDX-License-Identifier: MIT */
/* What the files about ranking share. */
#ifndef PERMILLE_CORE_PANEL_RANK_H
#define PERMILLE_CORE_PANEL_RANK_H

#include "permille/core/panel.h"

/* Doubled ranks: mean ranks are then whole numbers. */
struct pm_ranking {
    const int64_t *doubled; /* answers x samples, borrowed */
    size_t answers, samples;
};

/* Sum of squared distances of doubled rank sums from their mean: Friedman's statistic is
 * proportional to it. Of any sums, and of those that did come out. */
int64_t pm_sums_spread(const struct pm_ranking *ranking, const int64_t *sums);
int64_t pm_ranking_spread(const struct pm_ranking *ranking);

/* Sets *p to the probability of sums that spread as far, when counting them is affordable: *done.
 * PM_NOMEM. */
enum pm_status pm_ranking_exact(const struct pm_ranking *ranking, double *p, bool *done,
                                struct pm_error *err);

#endif
