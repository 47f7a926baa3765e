/* SPDX-License-Identifier: MIT */
/*
 * Evaporation: the closed form beside GSL's integrator (Prince-Dormand 8, tolerance 1e-12) on the
 * same mixture and the same points, to the same 1e-8; and a curve of 200 substances at 1,000
 * points.
 */
#include "permille/core/drydown.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>
#include <math.h>
#include <stdio.h>
#include <time.h>

enum { FEW = 20, MANY = 200, POINTS = 90, TIMES = 1000, ROUNDS = 5 };

struct equation {
    const struct pm_volatile *items;
    size_t count;
};

/* dn_i/dt = -P_i n_i / N, K = 1. */
static int decay(double t, const double n[], double slope[], void *context)
{
    const struct equation *equation = context;
    double all = 0;
    (void)t;
    for (size_t i = 0; i < equation->count; i++)
        all += n[i];
    for (size_t i = 0; i < equation->count; i++)
        slope[i] = -equation->items[i].pressure * n[i] / all;
    return GSL_SUCCESS;
}

static double now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec / 1e6;
}

/* From 1000 Pa down to 0.01, evenly on the logarithm. */
static void fill(struct pm_volatile *items, size_t count)
{
    for (size_t i = 0; i < count; i++)
        items[i] = (struct pm_volatile){1 + (double)(i % 3),
                                        1000 * pow(1e-5, (double)i / (double)(count - 1))};
}

static double closed(const struct pm_volatile *items, double left[POINTS][FEW], double *clock)
{
    const double start = now_ms();
    double tau = 0;
    for (int p = 0; p < POINTS; p++) {
        tau = pm_evaporation_tau(items, FEW, (p + 1) / 100.0, tau);
        clock[p] = pm_evaporation_clock(items, FEW, tau);
        for (size_t i = 0; i < FEW; i++)
            left[p][i] = items[i].moles * pm_evaporation_left(&items[i], tau);
    }
    return now_ms() - start;
}

static double integrated(const struct pm_volatile *items, const double *clock,
                         double left[POINTS][FEW])
{
    const double start = now_ms();
    struct equation equation = {items, FEW};
    gsl_odeiv2_system system = {decay, NULL, FEW, &equation};
    gsl_odeiv2_driver *driver =
        gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1e-9, 1e-14, 1e-12);
    double n[FEW], t = 0;
    for (size_t i = 0; i < FEW; i++)
        n[i] = items[i].moles;
    for (int p = 0; p < POINTS; p++) {
        gsl_odeiv2_driver_apply(driver, &t, clock[p], n);
        for (size_t i = 0; i < FEW; i++)
            left[p][i] = n[i];
    }
    gsl_odeiv2_driver_free(driver);
    return now_ms() - start;
}

static double curve(struct pm_volatile *items)
{
    static double vapour[MANY], mass[MANY];
    static struct pm_dry_state states[MANY];
    for (size_t i = 0; i < MANY; i++) {
        vapour[i] = items[i].pressure;
        mass[i] = 150;
    }
    const struct pm_dry_mix mix = {items, vapour, vapour, vapour, mass, MANY};
    const double start = now_ms();
    double tau = 0;
    for (int p = 0; p < TIMES; p++)
        pm_drydown_at(&mix, (double)p / TIMES, false, &tau, states);
    return now_ms() - start;
}

int main(void)
{
    static double exact[POINTS][FEW], steps[POINTS][FEW];
    struct pm_volatile items[FEW], many[MANY];
    double clock[POINTS], fast = 1e9, slow = 1e9, whole = 1e9, worst = 0;
    fill(items, FEW);
    fill(many, MANY);
    for (int r = 0; r < ROUNDS; r++) {
        fast = fmin(fast, closed(items, exact, clock));
        slow = fmin(slow, integrated(items, clock, steps));
        whole = fmin(whole, curve(many));
    }
    for (int p = 0; p < POINTS; p++)
        for (size_t i = 0; i < FEW; i++)
            if (exact[p][i] > 1e-6)
                worst = fmax(worst, fabs(steps[p][i] / exact[p][i] - 1));
    printf("%-36s %8.3f ms\n", "20 substances, 90 points, integrated", slow);
    printf("%-36s %8.3f ms %6.0f times as fast, apart by %.0e\n", "the same in closed form", fast,
           slow / fast, worst);
    printf("%-36s %8.3f ms\n", "200 substances, 1000 points", whole);
    return worst < 1e-8 ? 0 : 1;
}
