/* SPDX-License-Identifier: MIT */
/*
 * Largest remainder. Only which entries have the largest remainders matters, not their order, so
 * the cut is found by selecting on one byte of the remainder after another, from the top.
 */
#include "permille/core/apportion.h"

#include "apportion_wide.h"
#include "permille/base/amount.h"
#include "permille/base/mem.h"

#include <stdbool.h>
#include <string.h>

#define DIGIT_BITS   9U
#define DIGIT_VALUES (1U << DIGIT_BITS)

static unsigned bit_length(pm_wide value)
{
    uint64_t high = (uint64_t)(value >> 64);
    uint64_t low = (uint64_t)value;
    if (high != 0)
        return 128 - (unsigned)__builtin_clzll(high);
    return low == 0 ? 0 : 64 - (unsigned)__builtin_clzll(low);
}

/* One pass of the selection: counts the entries whose digits above `step` low ones are `prefix`, by
 * these low ones. On the first pass every entry counts. */
static void count_digits(const pm_wide *rest, size_t count, unsigned shift, unsigned step,
                         const pm_wide *prefix, uint32_t tally[DIGIT_VALUES])
{
    memset(tally, 0, DIGIT_VALUES * sizeof *tally);
    for (size_t i = 0; i < count; i++) {
        pm_wide digits = rest[i] >> shift;
        if (prefix == NULL || digits >> step == *prefix)
            tally[(size_t)digits & (((size_t)1 << step) - 1)]++;
    }
}

/* The same where all remainders fit a machine word, as with whole numbers: half the work. */
static void count_narrow(const pm_wide *rest, size_t count, unsigned shift, unsigned step,
                         const pm_wide *prefix, uint32_t tally[DIGIT_VALUES])
{
    uint64_t mask = ((uint64_t)1 << step) - 1;
    memset(tally, 0, DIGIT_VALUES * sizeof *tally);
    if (prefix == NULL) {
        for (size_t i = 0; i < count; i++)
            tally[(uint64_t)rest[i] >> shift & mask]++;
        return;
    }
    uint64_t cut = (uint64_t)*prefix << step;
    for (size_t i = 0; i < count; i++) {
        uint64_t digits = (uint64_t)rest[i] >> shift;
        if ((digits & ~mask) == cut)
            tally[digits & mask]++;
    }
}

/* Adds one to out[i] for every rest[i] from `above` on, and to the first `wanted` of those that
 * reach `cut` but not `above`. Which entries lie above cannot be predicted, so no branch asks. */
static void raise_from(const pm_wide *rest, size_t count, pm_wide cut, pm_wide above, size_t wanted,
                       int64_t *out)
{
    for (size_t i = 0; i < count; i++)
        out[i] += rest[i] >= above;
    for (size_t i = 0; wanted > 0; i++) {
        if (rest[i] >= cut && rest[i] < above) {
            out[i]++;
            wanted--;
        }
    }
}

/* The same for remainders of a machine word; `last` is the largest below `above`. */
static void raise_narrow(const pm_wide *rest, size_t count, uint64_t cut, uint64_t last,
                         size_t wanted, int64_t *out)
{
    for (size_t i = 0; i < count; i++)
        out[i] += (uint64_t)rest[i] > last;
    for (size_t i = 0; wanted > 0; i++) {
        uint64_t value = (uint64_t)rest[i];
        if (value - cut <= last - cut) { /* one comparison: below the cut it wraps around */
            out[i]++;
            wanted--;
        }
    }
}

void pm_raise_largest(const pm_wide *rest, size_t count, pm_wide bound, size_t extra, int64_t *out)
{
    uint32_t tally[DIGIT_VALUES];
    unsigned shift = bit_length(bound);
    bool narrow = shift <= 64;
    const pm_wide *known = NULL;
    pm_wide prefix = 0;    /* digits of the cut found so far */
    size_t wanted = extra; /* to be raised among the entries that share the prefix */
    if (extra == 0 || count == 0)
        return;
    while (shift > 0) {
        unsigned step = shift < DIGIT_BITS ? shift : DIGIT_BITS;
        shift -= step;
        (narrow ? count_narrow : count_digits)(rest, count, shift, step, known, tally);
        unsigned digit = (1U << step) - 1;
        while (digit > 0 && tally[digit] < wanted)
            wanted -= tally[digit--];
        prefix = prefix << step | digit;
        known = &prefix;
        if (tally[digit] == wanted)
            break; /* the whole bucket is raised: lower digits cannot matter */
    }
    pm_wide cut = prefix << shift;
    pm_wide above = (prefix + 1) << shift;
    if (narrow)
        raise_narrow(rest, count, (uint64_t)cut, (uint64_t)(above - 1), wanted, out);
    else
        raise_from(rest, count, cut, above, wanted, out);
}

/*
 * total / sum as a multiplier, so that each quota costs a multiplication where a division of 128
 * binary digits costs ten. What is multiplied is the weight's first 64 digits, and the multiplier
 * is rounded down, so the result falls short of the quotient by less than four: less than one each
 * for the digits left out, the sum's, and the two roundings.
 */
struct quota_rate {
    unsigned down;  /* digits of a weight that are left out */
    unsigned shift; /* the multiplier is total / sum x 2^(down + shift) */
    uint64_t multiplier;
};

static struct quota_rate quota_rate(pm_wide sum, int64_t total)
{
    unsigned bits = bit_length(sum), total_bits = bit_length((pm_wide)(uint64_t)total);
    struct quota_rate rate = {.down = bits > 64 ? bits - 64 : 0};
    unsigned shift = 63 + bits - rate.down - total_bits;
    pm_wide divisor = (sum >> rate.down) + (rate.down > 0);
    rate.shift = shift;
    rate.multiplier = (uint64_t)(((pm_wide)(uint64_t)total << shift) / divisor);
    return rate;
}

/* Floors of the quotas into out[], what they leave into rest[]; returns the sum of the floors. */
static int64_t take_floors(const pm_wide *weights, size_t count, pm_wide sum, int64_t total,
                           int64_t *out, pm_wide *rest)
{
    int64_t given = 0;
    struct quota_rate rate = quota_rate(sum, total);
    for (size_t i = 0; i < count; i++) {
        uint64_t weight = (uint64_t)(weights[i] >> rate.down);
        uint64_t quotient = (uint64_t)((pm_wide)weight * rate.multiplier >> rate.shift);
        pm_wide left = weights[i] * (uint64_t)total - sum * quotient;
        while (left >= sum) {
            quotient++;
            left -= sum;
        }
        out[i] = (int64_t)quotient;
        rest[i] = left;
        given += (int64_t)quotient;
    }
    return given;
}

void pm_apportion_wide(const pm_wide *weights, size_t count, pm_wide sum, int64_t total,
                       int64_t *out, pm_wide *rest)
{
    int64_t given = take_floors(weights, count, sum, total, out, rest);
    pm_raise_largest(rest, count, sum, (size_t)(total - given), out);
}

void pm_apportion_wide_fixed(const pm_wide *weights, size_t count, pm_wide sum, int64_t total,
                             size_t fixed, int64_t value, int64_t *out, pm_wide *rest)
{
    int64_t given = take_floors(weights, count, sum, total, out, rest) - out[fixed] + value;
    out[fixed] = value;
    /* What is left to hand out never exceeds the number of other entries with a remainder, so a
     * remainder of nothing is never raised: this keeps the fixed entry where it is. */
    rest[fixed] = 0;
    pm_raise_largest(rest, count, sum, (size_t)(total - given), out);
}

/* The weights as wide numbers with as much scratch behind them, and their sum. */
static enum pm_status widen(const int64_t *weights, size_t count, int64_t total, pm_wide **wide,
                            pm_wide *sum, struct pm_error *err)
{
    if (total < 0)
        return pm_fail(err, PM_INVALID, "A total to be shared out cannot be negative.");
    pm_wide all = 0;
    for (size_t i = 0; i < count; i++) {
        if (weights[i] < 0)
            return pm_fail(err, PM_INVALID, "Share %zu has a negative weight.", i + 1);
        all += (pm_wide)(uint64_t)weights[i];
    }
    if (all == 0 && total > 0)
        return pm_fail(err, PM_REFUSED, "There is nothing that could take a share of the total.");
    pm_wide *block = pm_alloc_array(count, 2 * sizeof *block);
    if (block == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < count; i++)
        block[i] = (pm_wide)(uint64_t)weights[i];
    *wide = block;
    *sum = all;
    return PM_OK;
}

enum pm_status pm_apportion(const int64_t *weights, size_t count, int64_t total, int64_t *out,
                            struct pm_error *err)
{
    pm_wide *wide = NULL;
    pm_wide sum = 0;
    enum pm_status status = widen(weights, count, total, &wide, &sum, err);
    if (status != PM_OK)
        return status;
    if (sum == 0)
        for (size_t i = 0; i < count; i++)
            out[i] = 0;
    else
        pm_apportion_wide(wide, count, sum, total, out, wide + count);
    pm_free(wide);
    return PM_OK;
}
