/* SPDX-License-Identifier: MIT */
/*
 * Largest remainder (Hamilton's method): quota = weight x total / sum of weights; each gets its
 * floor, then one unit more for the largest fractional parts, ties to the earlier entry. Exact in
 * integers.
 */
#ifndef PERMILLE_CORE_APPORTION_H
#define PERMILLE_CORE_APPORTION_H

#include "permille/base/status.h"

#include <stddef.h>
#include <stdint.h>

/*
 * Divides total (>= 0) over count weights (each >= 0) so that out[] sums to exactly total and each
 * is within one unit of its exact share. Linear in count. out may be the same array as weights.
 * PM_REFUSED when total > 0 and all weights are 0; PM_INVALID for a negative weight or total;
 * PM_NOMEM. On failure out[] is untouched.
 */
enum pm_status pm_apportion(const int64_t *weights, size_t count, int64_t total, int64_t *out,
                            struct pm_error *err);

#endif
