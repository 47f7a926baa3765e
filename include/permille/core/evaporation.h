/* SPDX-License-Identifier: MIT */
/*
 * Evaporation of an ideal mixture into moving air.
 *
 * With mole fractions x_i and vapour pressures P_i (Raoult), and one transfer coefficient K for
 * all, dn_i/dt = -K P_i n_i / N, where N is all that is left. In the warped time tau with
 * dtau = K dt / N every amount decays by itself, n_i = n_i0 exp(-P_i tau), and the clock is
 * K t = sum n_i0 (1 - exp(-P_i tau)) / P_i: the whole curve in closed form, so that only the way
 * from a fraction or a time to tau needs a root. Any pair obeys the relation of Rayleigh (1902)
 * n1/n10 = (n2/n20)^(P1/P2). Where transfer or activity differs, pass P_i times the factor.
 *
 * What it may be used for: the order in which materials leave, and how much of each is left when a
 * fraction of the whole has gone. K depends on film, air and temperature, which nobody knows here:
 * without the person's own note of when something was gone there are no hours.
 *
 * Physics, so doubles. Nothing here is ever NaN or infinite where the input keeps its ranges.
 */
#ifndef PERMILLE_CORE_EVAPORATION_H
#define PERMILLE_CORE_EVAPORATION_H

#include <stddef.h>

struct pm_volatile {
    double moles;    /* at the start, any unit, the same for all; 0..1e300, finite */
    double pressure; /* vapour pressure in Pa, times its factors; 0 (never leaves) .. 1e12 */
};

#define PM_TAU_END 1e300 /* stands for "never": all that can leave has left */

/* What is left of one of them at tau, as a fraction of its start. */
double pm_evaporation_left(const struct pm_volatile *item, double tau);
/* The fraction of all moles that is gone at tau. */
double pm_evaporation_gone(const struct pm_volatile *items, size_t count, double tau);
/* K t at tau, in moles per Pa. Where nothing leaves any more it stands still. */
double pm_evaporation_clock(const struct pm_volatile *items, size_t count, double tau);

/*
 * The tau at which `gone` (0..1) of all moles has evaporated; PM_TAU_END when less than that can
 * ever leave, or exactly that in infinite time. `from` is a tau known to be at or before it (0 when
 * none is known): a rising series of fractions costs little each. Relative precision 1e-14.
 */
double pm_evaporation_tau(const struct pm_volatile *items, size_t count, double gone, double from);

/* Concentration in the saturated air over the pure material at 25 °C in g/m3: P M / (R T), ideal
 * gas, R = 8.314462618 J/(mol K): k N_A, both exact since the SI of 2019 (SI Brochure, 9th
 * edition). */
double pm_saturated_air(double pressure, double molar_mass);

#endif
