/* SPDX-License-Identifier: MIT */
/* Drydown: stages by vapour pressure, the curve with its bands, a clock from a note. */
#include "permille/core/drydown.h"

#include "permille/base/rounded.h"
#include "permille/base/text.h"

#include <math.h>

/* ---- stages ---- */

enum pm_stage pm_stage_by_pressure(double pressure)
{
    if (pressure >= PM_TOP_FROM)
        return PM_STAGE_TOP;
    return pressure >= PM_HEART_FROM ? PM_STAGE_HEART : PM_STAGE_BASE;
}

bool pm_stage_is_odd(enum pm_stage label, double low, double high)
{
    const double from = label == PM_STAGE_TOP     ? PM_TOP_FROM
                        : label == PM_STAGE_HEART ? PM_HEART_FROM
                                                  : 0;
    const double to = label == PM_STAGE_TOP     ? INFINITY
                      : label == PM_STAGE_HEART ? PM_TOP_FROM
                                                : PM_HEART_FROM;
    return (from > 0 && high <= from / 10) || low >= to * 10;
}

/* ---- the curve ---- */

/* What is in the air of each, compared on the logarithm: far down the curve amounts are so small
 * that they would all be 0. */
static void put_air(const struct pm_dry_mix *mix, double tau, struct pm_dry_state *out)
{
    double most = -INFINITY, liquid = -INFINITY, sum = 0, left = 0;
    for (size_t i = 0; i < mix->count; i++) {
        const struct pm_volatile *item = &mix->items[i];
        const double amount =
            item->moles > 0 ? log(item->moles) - (tau > 0 ? item->pressure * tau : 0) : -INFINITY;
        out[i].air = amount;
        out[i].share = mix->vapour[i] > 0 ? amount + log(mix->vapour[i]) : -INFINITY;
        most = fmax(most, out[i].share);
        liquid = fmax(liquid, amount);
    }
    for (size_t i = 0; i < mix->count; i++) {
        out[i].share = isfinite(most) ? exp(out[i].share - most) : 0;
        out[i].air = isfinite(liquid) ? exp(out[i].air - liquid) : 0;
        sum += out[i].share;
        left += out[i].air;
    }
    for (size_t i = 0; i < mix->count; i++) {
        const double fraction = left > 0 ? out[i].air / left : 0; /* of the liquid, by mole */
        out[i].share = sum > 0 ? out[i].share / sum : 0;
        out[i].air = pm_saturated_air(fraction * mix->vapour[i], mix->molar_mass[i]);
    }
}

/* What is left of `which` when it is another pressure that counts. */
static double left_at(const struct pm_dry_mix *mix, size_t which, double pressure, double gone)
{
    const double own = mix->items[which].pressure;
    mix->items[which].pressure = pressure;
    const double tau = pm_evaporation_tau(mix->items, mix->count, gone, 0);
    const double left = pm_evaporation_left(&mix->items[which], tau);
    mix->items[which].pressure = own;
    return left;
}

void pm_drydown_band(const struct pm_dry_mix *mix, size_t which, double gone,
                     struct pm_dry_state *state)
{
    state->low = state->high = state->left;
    if (!(mix->low[which] < mix->high[which]))
        return;
    state->low = fmin(state->left, left_at(mix, which, mix->high[which], gone));
    state->high = fmax(state->left, left_at(mix, which, mix->low[which], gone));
}

void pm_drydown_at(const struct pm_dry_mix *mix, double gone, bool bands, double *tau,
                   struct pm_dry_state *out)
{
    *tau = pm_evaporation_tau(mix->items, mix->count, gone, *tau);
    put_air(mix, *tau, out);
    for (size_t i = 0; i < mix->count; i++) {
        out[i].left = out[i].low = out[i].high = pm_evaporation_left(&mix->items[i], *tau);
        if (bands)
            pm_drydown_band(mix, i, gone, &out[i]);
    }
}

/* The gone at which it is down to `left`, were its pressure another one. */
static double reach(const struct pm_dry_mix *mix, size_t which, double left, double pressure)
{
    const double own = mix->items[which].pressure;
    if (!(pressure > 0))
        return 1;
    mix->items[which].pressure = pressure;
    const double gone = pm_evaporation_gone(mix->items, mix->count, -log(left) / pressure);
    mix->items[which].pressure = own;
    return gone;
}

double pm_drydown_reaches(const struct pm_dry_mix *mix, size_t which, double left, double *low,
                          double *high)
{
    const double gone = reach(mix, which, left, mix->items[which].pressure);
    *low = fmin(gone, reach(mix, which, left, mix->high[which]));
    *high = fmax(gone, reach(mix, which, left, mix->low[which]));
    return gone;
}

/* ---- a clock ---- */

double pm_drydown_rate(const struct pm_dry_mix *mix, size_t which, double left, double seconds)
{
    const double pressure = mix->items[which].pressure;
    if (!(pressure > 0) || !(seconds > 0) || !(left > 0) || !(left < 1))
        return 0;
    return pm_evaporation_clock(mix->items, mix->count, -log(left) / pressure) / seconds;
}

double pm_drydown_seconds(const struct pm_dry_mix *mix, double gone, double rate)
{
    const double tau = pm_evaporation_tau(mix->items, mix->count, gone, 0);
    if (!(tau < PM_TAU_END) || !(rate > 0))
        return INFINITY;
    return pm_evaporation_clock(mix->items, mix->count, tau) / rate;
}

char *pm_pressure_format(double pascal, char sign, char *buf)
{
    double unit = 1;
    while (unit < 1e12 && pascal / unit >= 999.5)
        unit *= 10;
    if (unit > 1)
        return pm_print(buf, PM_PRESSURE_TEXT, "%.0f", round(pascal / unit) * unit);
    return pm_print(buf, PM_PRESSURE_TEXT, "%s", pm_rounded(pascal, 3, sign).text);
}
