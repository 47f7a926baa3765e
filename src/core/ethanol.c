/* SPDX-License-Identifier: MIT */
/* The OIML R 22 formula. */
#include "permille/core/ethanol.h"

#include <stddef.h>

static const double A[] = {
    998.20123,   -192.9769495, 389.1238958, -1668.103923, 13522.15441, -88292.78388,
    306287.4042, -613838.1234, 747017.2998, -547846.1354, 223446.0334, -39032.85426,
};

static const double B[] = {
    -2.0618513e-1, -5.2682542e-3, 3.6130013e-5, -3.8957702e-7, 7.1693540e-9, -9.9739231e-11,
};

/* C[i][k] belongs to p^(k+1) (t - 20)^(i+1). */
static const double C[][11] = {
    {1.693443461530087e-1, -1.046914743455169e1, 7.196353469546523e1, -7.047478054272792e2,
     3.924090430035045e3, -1.210164659068747e4, 2.248646550400788e4, -2.605562982188164e4,
     1.852373922069467e4, -7.420201433430137e3, 1.285617841998974e3},
    {-1.193013005057010e-2, 2.517399633803461e-1, -2.170575700536993, 1.353034988843029e1,
     -5.029988758547014e1, 1.096355666577570e2, -1.422753946421155e2, 1.080435942856230e2,
     -4.414153236817392e1, 7.442971530188783},
    {-6.802995733503803e-4, 1.876837790289664e-2, -2.002561813734156e-1, 1.022992966719220,
     -2.895696483903638, 4.810060584300675, -4.672147440794683, 2.458043105903461,
     -5.411227621436812e-1},
    {4.075376675622027e-6, -8.763058573471110e-6, 6.515031360099368e-6, -1.515784836987210e-6},
    {-2.788074354782409e-8, 1.345612883493354e-8},
};

/* The sum of a[k] x^k. */
static double polynomial(const double *a, size_t count, double x)
{
    double sum = 0;
    while (count > 0)
        sum = sum * x + a[--count];
    return sum;
}

double pm_ethanol_density(double p)
{
    return polynomial(A, sizeof A / sizeof A[0], p);
}

double pm_ethanol_density_at(double p, double celsius)
{
    double warmer = celsius - 20;
    double terms[sizeof C / sizeof C[0]];
    for (size_t i = 0; i < sizeof C / sizeof C[0]; i++)
        terms[i] = p * polynomial(C[i], sizeof C[i] / sizeof C[i][0], p);
    return pm_ethanol_density(p) + warmer * polynomial(B, sizeof B / sizeof B[0], warmer) +
           warmer * polynomial(terms, sizeof terms / sizeof terms[0], warmer);
}

double pm_ethanol_by_volume_at(double p, double celsius)
{
    return p * pm_ethanol_density_at(p, celsius) / pm_ethanol_density_at(1, celsius);
}

double pm_ethanol_by_mass_at(double q, double celsius)
{
    /* q grows with p: halving the interval always works, and 60 steps exhaust a double. */
    double low = 0, high = 1;
    for (int i = 0; i < 60; i++) {
        double middle = (low + high) / 2;
        if (pm_ethanol_by_volume_at(middle, celsius) < q)
            low = middle;
        else
            high = middle;
    }
    return (low + high) / 2;
}

double pm_ethanol_by_volume(double p)
{
    return pm_ethanol_by_volume_at(p, 20);
}

double pm_ethanol_by_mass(double q)
{
    return pm_ethanol_by_mass_at(q, 20);
}

int64_t pm_volume_of(pm_mass mass, int64_t density)
{
    int64_t out;
    /* A microgram at 1 g/ml is a thousandth of a microlitre. */
    if (density <= 0 || !pm_muldiv(mass, 1000000, density, &out))
        return -1;
    return out;
}
