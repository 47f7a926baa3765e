/* SPDX-License-Identifier: MIT */
/*
 * Ethanol and water: density, and strength by volume against strength by mass.
 *
 * Source: International Recommendation OIML R 22 (1975), "International alcoholometric tables": the
 * general formula with its coefficients A1 to A12 and, for other temperatures than 20 °C, B1 to B6
 * and Ci,k. The A terms were read; the temperature terms are from memory, and reproduce published
 * values at 0, 15 and 15.5 °C to the last digit and a printed dilution table at 15 °C (see
 * tests/unit/test_core_ethanol.c). Volume strength q (% vol, at the temperature named, 20 °C unless
 * said otherwise) and mass fraction p belong together by q = p rho(p) / rho(1). Volumes of ethanol
 * and water do not add up; masses do, so everything is weighed and volumes are for orientation.
 *
 * Physics, so doubles; results are rounded to the integers of the program.
 */
#ifndef PERMILLE_CORE_ETHANOL_H
#define PERMILLE_CORE_ETHANOL_H

#include "permille/base/amount.h"

/* Density at 20 °C in kg/m3 (= g/l) of a mixture with mass fraction p of ethanol, 0..1. */
double pm_ethanol_density(double p);
/* The same at a temperature in °C, -20..40, which the formula is given for. */
double pm_ethanol_density_at(double p, double celsius);
/* Volume fraction at that temperature of a mass fraction, and back; 0..1. */
double pm_ethanol_by_volume_at(double p, double celsius);
double pm_ethanol_by_mass_at(double q, double celsius);
/* Volume fraction at 20 °C of a mass fraction, and back; 0..1. */
double pm_ethanol_by_volume(double p);
double pm_ethanol_by_mass(double q);

/* The volume of a mass at a density (1e-9 g/ml) in microlitres, rounded; -1 when density <= 0 or
 * the result does not fit. */
int64_t pm_volume_of(pm_mass mass, int64_t density);

#endif
