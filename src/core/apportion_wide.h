/* SPDX-License-Identifier: MIT */
/*
 * Private: largest remainder on wide weights, without allocating. The re-balancing calls these with
 * scratch of its own, so that a preview on a thousand lines costs one block of memory.
 */
#ifndef PERMILLE_SRC_CORE_APPORTION_WIDE_H
#define PERMILLE_SRC_CORE_APPORTION_WIDE_H

#include "permille/core/weight.h"

#include <stddef.h>
#include <stdint.h>

/* out[i] = weights[i] x total / sum by largest remainder. sum is that of all weights and > 0; every
 * weights[i] x total must fit pm_wide. rest[] is scratch of `count` entries. */
void pm_apportion_wide(const pm_wide *weights, size_t count, pm_wide sum, int64_t total,
                       int64_t *out, pm_wide *rest);

/* Same, but entry `fixed` gets `value`, which lies less than one from its quota. */
void pm_apportion_wide_fixed(const pm_wide *weights, size_t count, pm_wide sum, int64_t total,
                             size_t fixed, int64_t value, int64_t *out, pm_wide *rest);

/* Adds one to out[i] for the `extra` largest of rest[], ties to the earlier. Every rest[i] is below
 * `bound`; extra <= count. Linear: a radix selection, no sorting. */
void pm_raise_largest(const pm_wide *rest, size_t count, pm_wide bound, size_t extra, int64_t *out);

#endif
