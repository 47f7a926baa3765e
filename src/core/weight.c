/* SPDX-License-Identifier: MIT */
/* Binary numbers of 62 digits: enough of them to share out a total, no more. */
#include "permille/core/weight.h"

#define LEAST_DIGITS ((pm_wide)1 << (PM_WEIGHT_BITS - 1))
#define MOST_DIGITS  ((pm_wide)1 << PM_WEIGHT_BITS)

static const struct pm_weight nothing = {0, 0};

bool pm_weight_sound(struct pm_weight weight)
{
    if (weight.digits == 0)
        return weight.power == 0;
    return weight.digits >= (int64_t)LEAST_DIGITS && weight.digits < (int64_t)MOST_DIGITS &&
           weight.power >= 0 && weight.power <= PM_POWER_MAX;
}

bool pm_weight_equal(struct pm_weight a, struct pm_weight b)
{
    return a.digits == b.digits && a.power == b.power;
}

static int bits_of(pm_wide value)
{
    uint64_t high = (uint64_t)(value >> 64);
    uint64_t low = (uint64_t)value;
    if (high != 0)
        return 128 - __builtin_clzll(high);
    return low == 0 ? 0 : 64 - __builtin_clzll(low);
}

struct pm_weight pm_weight_make(pm_wide value, int64_t power)
{
    if (value == 0)
        return nothing;
    int over = bits_of(value) - PM_WEIGHT_BITS;
    if (over <= 0) {
        value <<= -over;
    } else {
        pm_wide half = (pm_wide)1 << (over - 1);
        value = (value >> over) + ((value & half) != 0);
        if (value == MOST_DIGITS) {
            value >>= 1;
            over++;
        }
    }
    return (struct pm_weight){(int64_t)value, power + over + PM_POWER_ZERO};
}

struct pm_weight pm_weight_of(int64_t whole)
{
    return pm_weight_make((pm_wide)(uint64_t)whole, 0);
}

static int64_t true_power(struct pm_weight weight)
{
    return weight.power - PM_POWER_ZERO;
}

struct pm_weight pm_weight_plus(struct pm_weight a, struct pm_weight b)
{
    if (a.digits == 0 || b.digits == 0)
        return a.digits == 0 ? b : a;
    struct pm_weight large = a.power >= b.power ? a : b;
    struct pm_weight small = a.power >= b.power ? b : a;
    int64_t apart = large.power - small.power;
    const int room = 64; /* digits kept below the larger one's last */
    pm_wide sum = (pm_wide)(uint64_t)large.digits << room;
    if (apart < 127)
        sum += (pm_wide)(uint64_t)small.digits << room >> apart;
    return pm_weight_make(sum, true_power(large) - room);
}

struct pm_weight pm_weight_times(struct pm_weight a, struct pm_weight b)
{
    if (a.digits == 0 || b.digits == 0)
        return nothing;
    return pm_weight_make((pm_wide)(uint64_t)a.digits * (uint64_t)b.digits,
                          true_power(a) + true_power(b));
}

struct pm_weight pm_weight_over(struct pm_weight a, struct pm_weight b)
{
    if (a.digits == 0)
        return nothing;
    const int room = 65;
    pm_wide dividend = (pm_wide)(uint64_t)a.digits << room;
    pm_wide divisor = (pm_wide)(uint64_t)b.digits;
    pm_wide quotient = dividend / divisor;
    /* What is left counts only where the quotient lies exactly between two: then it is above. */
    quotient = quotient << 1 | (quotient * divisor != dividend);
    return pm_weight_make(quotient, true_power(a) - true_power(b) - room - 1);
}

int pm_weight_compare(struct pm_weight a, struct pm_weight b)
{
    if (a.digits == 0 || b.digits == 0 || a.power == b.power)
        return (a.digits > b.digits) - (a.digits < b.digits);
    return a.power > b.power ? 1 : -1;
}

int64_t pm_weight_round(struct pm_weight weight, int shift)
{
    int64_t power = true_power(weight) + shift;
    if (weight.digits == 0 || power < -PM_WEIGHT_BITS)
        return 0;
    if (power > 0)
        return power == 1 ? weight.digits * 2 : INT64_MAX;
    if (power == 0)
        return weight.digits;
    return ((weight.digits >> (-power - 1)) + 1) >> 1;
}

int64_t pm_weight_ceil(struct pm_weight weight)
{
    int64_t power = true_power(weight);
    if (weight.digits == 0)
        return 0;
    if (power > 0)
        return power == 1 ? weight.digits * 2 : INT64_MAX;
    if (power <= -PM_WEIGHT_BITS)
        return 1;
    int64_t whole = weight.digits >> -power;
    return whole + (whole << -power != weight.digits);
}

static int64_t largest_power(const struct pm_weight *weights, size_t count)
{
    int64_t most = 0;
    for (size_t i = 0; i < count; i++)
        most = weights[i].power > most ? weights[i].power : most;
    return most;
}

/* digits x 2^-down, rounded down. */
static pm_wide moved_down(int64_t digits, int64_t down)
{
    if (down <= 0)
        return (pm_wide)(uint64_t)digits << -down;
    return down < PM_WEIGHT_BITS ? (uint64_t)digits >> down : 0;
}

struct pm_weight pm_weight_sum(const struct pm_weight *weights, size_t count)
{
    int64_t most = largest_power(weights, count);
    int room = 128 - PM_WEIGHT_BITS - bits_of(count);
    pm_wide sum = 0;
    for (size_t i = 0; i < count; i++)
        sum += moved_down(weights[i].digits, most - weights[i].power - room);
    return pm_weight_make(sum, most - PM_POWER_ZERO - room);
}

pm_wide pm_weight_align(const struct pm_weight *weights, size_t count, int64_t total, pm_wide *out,
                        int64_t *unit)
{
    int64_t most = largest_power(weights, count);
    /* Sum x total stays below 2^126. */
    int64_t more = 126 - PM_WEIGHT_BITS - bits_of(count) - bits_of((pm_wide)(uint64_t)total);
    more = more > 24 ? 24 : more;
    pm_wide sum = 0;
    for (size_t i = 0; i < count; i++) {
        out[i] = moved_down(weights[i].digits, most - weights[i].power - more);
        sum += out[i];
    }
    if (unit != NULL)
        *unit = most - PM_POWER_ZERO - more;
    return sum;
}
