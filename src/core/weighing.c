/* SPDX-License-Identifier: MIT */
/* What a balance can do, and how its uncertainties combine. */
#include "permille/core/weighing.h"

#include "permille/base/text.h"

#include <math.h>

/* s in hundredths of a microgram: whole, so that the rule's edge is exact. */
static pm_int128 hundredths(const struct pm_balance *balance)
{
    pm_int128 measured = (pm_int128)balance->repeatability * 100;
    pm_int128 rounding = (pm_int128)balance->readability * 41;
    return measured > rounding ? measured : rounding;
}

double pm_balance_uncertainty(const struct pm_balance *balance)
{
    return (double)hundredths(balance) / 100;
}

double pm_balance_error(const struct pm_balance *balance, pm_mass mass)
{
    return mass > 0 ? 2 * pm_balance_uncertainty(balance) / (double)mass : 1e9;
}

pm_mass pm_balance_minimum(const struct pm_balance *balance, pm_strength tolerance)
{
    /* 2 s / tolerance, with s in hundredths and tolerance in 1e-9. */
    pm_int128 over = (pm_int128)tolerance * 100, wanted = hundredths(balance) * 2 * PM_NEAT;
    pm_int128 minimum = over > 0 ? (wanted + over - 1) / over : PM_MASS_MAX;
    if (minimum > PM_MASS_MAX)
        minimum = PM_MASS_MAX;
    return minimum > balance->least ? (pm_mass)minimum : balance->least;
}

pm_mass pm_balance_reads(const struct pm_balance *balance, pm_mass mass)
{
    pm_mass step = balance->readability, away = mass < 0 ? -mass : mass;
    pm_mass read = (away + step / 2) / step * step;
    return mass < 0 ? -read : read;
}

/* Decimals of a gram that a mass has, 0..6. */
static int places_in(pm_mass mass)
{
    int places = 6;
    for (; places > 0 && mass % 10 == 0; mass /= 10)
        places--;
    return places;
}

int pm_balance_places(const struct pm_balance *balance)
{
    return places_in(balance->readability);
}

int pm_balance_places_of(const struct pm_balance *balance, pm_mass mass)
{
    const int shown = pm_balance_places(balance), there = places_in(mass);
    return there > shown ? there : shown;
}

const char *pm_balance_text(const struct pm_balance *balance, pm_mass mass, char sign, char *buf)
{
    char number[PM_AMOUNT_TEXT];
    return pm_print(buf, PM_AMOUNT_TEXT, "%s g",
                    pm_decimal_format(pm_balance_reads(balance, mass), 6,
                                      pm_balance_places(balance), sign, number));
}

const char *pm_balance_exact(const struct pm_balance *balance, pm_mass mass, char sign, char *buf)
{
    char number[PM_AMOUNT_TEXT];
    return pm_print(buf, PM_AMOUNT_TEXT, "%s g",
                    pm_decimal_format(mass, 6, pm_balance_places_of(balance, mass), sign, number));
}

void pm_balance_cumulative(const struct pm_balance *balance, const pm_mass *masses, size_t count,
                           pm_mass *out)
{
    pm_mass sum = 0;
    for (size_t i = 0; i < count; i++) {
        sum += masses[i];
        out[i] = pm_balance_reads(balance, sum);
    }
}

void pm_uncertainty_shares(const struct pm_balance *balance, const pm_mass *masses, size_t count,
                           double *out)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++) {
        double error = masses[i] > 0 ? pm_balance_error(balance, masses[i]) : 0;
        out[i] = error * error;
        sum += out[i];
    }
    for (size_t i = 0; i < count && sum > 0; i++)
        out[i] /= sum;
}
