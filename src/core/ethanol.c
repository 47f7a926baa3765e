/* SPDX-License-Identifier: MIT */
/* The OIML R 22 formula at 20 °C. */
#include "permille/core/ethanol.h"

#include <stddef.h>

static const double A[] = {
    998.20123,   -192.9769495, 389.1238958, -1668.103923, 13522.15441, -88292.78388,
    306287.4042, -613838.1234, 747017.2998, -547846.1354, 223446.0334, -39032.85426,
};

double pm_ethanol_density(double p)
{
    double sum = 0;
    for (size_t k = sizeof A / sizeof A[0]; k-- > 0;)
        sum = sum * p + A[k];
    return sum;
}

double pm_ethanol_by_volume(double p)
{
    return p * pm_ethanol_density(p) / pm_ethanol_density(1);
}

double pm_ethanol_by_mass(double q)
{
    /* q grows with p: halving the interval always works, and 60 steps exhaust a double. */
    double low = 0, high = 1;
    for (int i = 0; i < 60; i++) {
        double middle = (low + high) / 2;
        if (pm_ethanol_by_volume(middle) < q)
            low = middle;
        else
            high = middle;
    }
    return (low + high) / 2;
}

pm_strength pm_ethanol_mass_strength(pm_strength by_volume)
{
    double p = pm_ethanol_by_mass((double)by_volume / (double)PM_NEAT);
    return (pm_strength)(p * (double)PM_NEAT + 0.5);
}

int64_t pm_volume_of(pm_mass mass, int64_t density)
{
    int64_t out;
    /* A microgram at 1 g/ml is a thousandth of a microlitre. */
    if (density <= 0 || !pm_muldiv(mass, 1000000, density, &out))
        return -1;
    return out;
}
