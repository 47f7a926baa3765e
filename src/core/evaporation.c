/* SPDX-License-Identifier: MIT */
/* Evaporation of an ideal mixture, in closed form. */
#include "permille/core/evaporation.h"

#include <math.h>
#include <stdbool.h>

#define PRECISION    1e-14
#define STEPS_MOST   2000 /* far more than halving alone would take over all exponents */
#define GAS_CONSTANT 8.314462618
#define TEMPERATURE  298.15

double pm_evaporation_left(const struct pm_volatile *item, double tau)
{
    return exp(-item->pressure * tau);
}

/* What has left of one of them: without the loss of digits of 1 - exp(). */
static double lost(const struct pm_volatile *item, double tau)
{
    return item->moles * -expm1(-item->pressure * tau);
}

static double all_moles(const struct pm_volatile *items, size_t count)
{
    double all = 0;
    for (size_t i = 0; i < count; i++)
        all += items[i].moles;
    return all;
}

double pm_evaporation_gone(const struct pm_volatile *items, size_t count, double tau)
{
    double gone = 0, all = all_moles(items, count);
    for (size_t i = 0; i < count; i++)
        gone += lost(&items[i], tau);
    return all > 0 ? gone / all : 0;
}

double pm_evaporation_clock(const struct pm_volatile *items, size_t count, double tau)
{
    double kt = 0;
    for (size_t i = 0; i < count; i++)
        if (items[i].pressure > 0)
            kt += lost(&items[i], tau) / items[i].pressure;
    return kt;
}

/* ---- from a fraction to tau ------------------------------------------------------------------ */

/* The moles gone: what rises with tau towards the wanted value. */
struct rise {
    const struct pm_volatile *items;
    size_t count;
};

static double rise_at(const struct rise *rise, double tau, double *slope)
{
    double value = 0;
    *slope = 0;
    for (size_t i = 0; i < rise->count; i++) {
        const struct pm_volatile *item = &rise->items[i];
        if (!(item->pressure > 0))
            continue;
        const double gone = -expm1(-item->pressure * tau);
        value += item->moles * gone;
        *slope += item->moles * item->pressure * (1 - gone); /* one exponential for both */
    }
    return value;
}

/* As much as it can rise to. */
static double rise_most(const struct rise *rise)
{
    double most = 0;
    for (size_t i = 0; i < rise->count; i++)
        if (rise->items[i].pressure > 0)
            most += rise->items[i].moles;
    return most;
}

/* A tau beyond the wanted one: doubled from the fastest time there is. */
static double beyond(const struct rise *rise, double wanted, double from)
{
    double fastest = 0, slope;
    for (size_t i = 0; i < rise->count; i++)
        if (rise->items[i].moles > 0 && rise->items[i].pressure > fastest)
            fastest = rise->items[i].pressure;
    double tau = from > 0 ? from : 1 / fastest;
    while (tau < PM_TAU_END && rise_at(rise, tau, &slope) < wanted)
        tau *= 2;
    return tau < PM_TAU_END ? tau : PM_TAU_END;
}

/*
 * Newton within a bracket. The sum is concave in tau, so from below a step never passes the root;
 * between amounts that leave at very different speed it is halved on the logarithm instead.
 */
static double rise_to(const struct rise *rise, double wanted, double from)
{
    double most = rise_most(rise), slope;
    if (!(wanted > 0) || rise_at(rise, from, &slope) >= wanted)
        return from;
    if (!(wanted < most))
        return PM_TAU_END;
    double high = beyond(rise, wanted, from), low = from;
    if (high >= PM_TAU_END)
        return PM_TAU_END;
    double tau = low > 0 ? low : high * PRECISION;
    for (int step = 0; step < STEPS_MOST; step++) {
        double value = rise_at(rise, tau, &slope);
        if (value < wanted)
            low = tau;
        else
            high = tau;
        double next = slope > 0 ? tau + (wanted - value) / slope : high;
        if (fabs(next - tau) <= PRECISION * tau || high - low <= PRECISION * high)
            return next > low && next < high ? next : tau;
        bool crawls = next > low && next < high && next < 2 * tau && high > 16 * tau;
        tau = next > low && next < high && !crawls ? next
              : low > 0                            ? sqrt(low) * sqrt(high)
                                                   : high / 1024;
    }
    return tau;
}

double pm_evaporation_tau(const struct pm_volatile *items, size_t count, double gone, double from)
{
    const struct rise rise = {items, count};
    return rise_to(&rise, gone * all_moles(items, count), from);
}

double pm_saturated_air(double pressure, double molar_mass)
{
    return pressure * molar_mass / (GAS_CONSTANT * TEMPERATURE);
}
