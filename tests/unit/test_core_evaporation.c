/* SPDX-License-Identifier: MIT */
/*
 * Evaporation against published and computed values (tests/data/check-vectors.csv, each with its
 * source), against the differential equation itself integrated by GSL, and at the edges.
 */
#include "permille/core/evaporation.h"
#include "vectors.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define MOST 200

static void near(double got, double wanted, double relative, const char *id)
{
    double room = fabs(wanted) * relative + 1e-300;
    if (!(fabs(got - wanted) <= room))
        fail_msg("%s: %.17g is not %.17g", id, got, wanted);
}

/* Numbers behind "key=", separated by commas. */
static size_t list(const char *pairs, const char *key, double *out)
{
    return vector_list(vector_text(pairs, key), out, MOST);
}

static size_t mixture(const char *input, struct pm_volatile *items)
{
    double pressure[MOST], moles[MOST];
    size_t count = list(input, "P", pressure);
    assert_int_equal(list(input, "n0", moles), count);
    for (size_t i = 0; i < count; i++)
        items[i] = (struct pm_volatile){moles[i], pressure[i]};
    return count;
}

static void closed_form(void **state)
{
    (void)state;
    struct vectors vectors;
    struct pm_volatile items[MOST];
    double left[MOST];
    char **row;
    vectors_open(&vectors, "evaporation_closed_form");
    while ((row = vectors_next(&vectors)) != NULL) {
        size_t count = mixture(row[INPUT], items);
        double tau = vector_number(row[INPUT], "theta");
        assert_int_equal(list(row[EXPECTED], "n", left), count);
        for (size_t i = 0; i < count; i++)
            near(items[i].moles * pm_evaporation_left(&items[i], tau), left[i], 1e-9, row[ID]);
        near(pm_evaporation_clock(items, count, tau), vector_number(row[EXPECTED], "kt"), 1e-9,
             row[ID]);
    }
    vectors_close(&vectors, 3);
}

static void at_a_fraction(void **state)
{
    (void)state;
    struct vectors vectors;
    struct pm_volatile items[MOST];
    double left[MOST];
    char **row;
    vectors_open(&vectors, "evaporation_at_fraction");
    while ((row = vectors_next(&vectors)) != NULL) {
        size_t count = mixture(row[INPUT], items);
        double gone = vector_number(row[INPUT], "fraction_evaporated");
        double tau = pm_evaporation_tau(items, count, gone, 0);
        near(tau, vector_number(row[EXPECTED], "theta"), 1e-8, row[ID]);
        near(pm_evaporation_gone(items, count, tau), gone, 1e-12, row[ID]);
        list(row[EXPECTED], "n", left);
        for (size_t i = 0; i < count; i++)
            near(items[i].moles * pm_evaporation_left(&items[i], tau), left[i], 1e-7, row[ID]);
        double kt = pm_evaporation_clock(items, count, tau);
        near(kt, vector_number(row[EXPECTED], "kt"), 1e-8, row[ID]);
    }
    vectors_close(&vectors, 4);
}

/* The relation of Rayleigh for pairs: rows give the ratio, the amounts and what is left of one. */
static void rayleigh_pairs(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    size_t met = 0;
    vectors_open(&vectors, "rayleigh");
    while ((row = vectors_next(&vectors)) != NULL) {
        if (strncmp(row[INPUT], "alpha=", 6) != 0 || strstr(row[INPUT], ";n2=") == NULL)
            continue;
        struct pm_volatile items[2] = {
            {vector_number(row[INPUT], "n10"), vector_number(row[INPUT], "alpha")},
            {vector_number(row[INPUT], "n20"), 1},
        };
        double tau = -log(vector_number(row[INPUT], "n2") / items[1].moles);
        near(items[0].moles * pm_evaporation_left(&items[0], tau),
             vector_number(row[EXPECTED], "n1"), 1e-9, row[ID]);
        near(pm_evaporation_gone(items, 2, tau),
             vector_number(row[EXPECTED], "fraction_evaporated"), 1e-9, row[ID]);
        met++;
    }
    assert_true(met >= 4);
    vectors_close(&vectors, vectors.rows);
}

/* Benzene, toluene and p-xylene distilled openly: a published example of three components. */
static void rayleigh_three(void **state)
{
    (void)state;
    const struct pm_volatile items[3] = {{50, 1}, {25, 1 / 2.90}, {25, 1 / 6.94}};
    struct vectors vectors;
    char **row;
    bool met = false;
    vectors_open(&vectors, "rayleigh");
    while ((row = vectors_next(&vectors)) != NULL) {
        if (strcmp(row[ID], "RAY-BTX") != 0)
            continue;
        double tau = log(50 / vector_number(row[INPUT], "n1"));
        near(25 * pm_evaporation_left(&items[1], tau), vector_number(row[EXPECTED], "n2"), 1e-5,
             row[ID]);
        near(25 * pm_evaporation_left(&items[2], tau), vector_number(row[EXPECTED], "n3"), 1e-5,
             row[ID]);
        near(100 * pm_evaporation_gone(items, 3, tau), vector_number(row[EXPECTED], "distilled"),
             1e-5, row[ID]);
        met = true;
    }
    assert_true(met);
    vectors_close(&vectors, vectors.rows);
}

/* The first logarithm of that example, as printed. */
static void check_logarithm(char **row)
{
    const double alpha = vector_number(row[INPUT], "alpha");
    const struct pm_volatile heavy = {25, 1 / alpha};
    double tau = log(vector_number(row[INPUT], "n10") / vector_number(row[INPUT], "n1"));
    near(log(pm_evaporation_left(&heavy, tau)), vector_number(row[EXPECTED], "ln(n2/n20)"), 1e-6,
         row[ID]);
}

/* Three that all obey the relation, and 95 % of the benzene distilled off toluene. */
static void rayleigh_further(void **state)
{
    (void)state;
    char input[200], expected[200];
    struct pm_volatile items[MOST];
    double n;
    vectors_each("rayleigh_pair", 1, check_logarithm);
    vectors_find("rayleigh", "RAY-3C", INPUT, input, sizeof input);
    vectors_find("rayleigh", "RAY-3C", EXPECTED, expected, sizeof expected);
    assert_int_equal(mixture(input, items), 3);
    double tau = log(items[1].moles / vector_number(input, "n2")) / items[1].pressure;
    const char *const names[] = {"n1", "n2", "n3"};
    for (size_t i = 0; i < 3; i++)
        near(items[i].moles * pm_evaporation_left(&items[i], tau),
             vector_number(expected, names[i]), 1e-9, "RAY-3C");
    vectors_find("rayleigh", "RAY-BT95", INPUT, input, sizeof input);
    vectors_find("rayleigh", "RAY-BT95", EXPECTED, expected, sizeof expected);
    items[0] = (struct pm_volatile){vector_number(input, "n10"), vector_number(input, "alpha")};
    items[1] = (struct pm_volatile){vector_number(input, "n20"), 1};
    n = vector_number(expected, "distilled");
    tau = pm_evaporation_tau(items, 2, n / (items[0].moles + items[1].moles), 0);
    near(items[1].moles * pm_evaporation_left(&items[1], tau), vector_number(expected, "n2"), 1e-6,
         "RAY-BT95");
    near((items[0].moles - vector_number(input, "n1")) / n, vector_number(expected, "xD"), 1e-6,
         "RAY-BT95");
    near(items[0].moles * pm_evaporation_left(&items[0], tau), vector_number(input, "n1"), 1e-6,
         "RAY-BT95");
}

static void saturated_air(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    vectors_open(&vectors, "saturated_air_concentration");
    while ((row = vectors_next(&vectors)) != NULL)
        near(pm_saturated_air(vector_number(row[INPUT], "P_Pa"), vector_number(row[INPUT], "M")),
             strtod(row[EXPECTED], NULL), 1e-6, row[ID]);
    vectors_close(&vectors, 5);
}

/* So many millionths of the air's pressure, as published thresholds are given, are so much mass in
 * a cubic metre: the molar volume at 25 °C is 24.465 l. */
static void check_ppm(char **row)
{
    double pressure =
        vector_number(row[INPUT], "ppm") * 1e-6 * vector_number(row[INPUT], "P_kPa") * 1e3;
    near(pm_saturated_air(pressure, vector_number(row[INPUT], "M")) * 1e6,
         strtod(row[EXPECTED], NULL), 1e-5, row[ID]);
}

static void parts_per_million(void **state)
{
    (void)state;
    vectors_each("ppm_to_ug_m3", 4, check_ppm);
}

/* Odour values: saturated air over a threshold. The thresholds spread by powers of ten; only the
 * arithmetic is checked, and one row's inputs are from memory, as its source says. */
static void odour_values(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    vectors_open(&vectors, "odour_value_pure");
    while ((row = vectors_next(&vectors)) != NULL) {
        double air =
            pm_saturated_air(vector_number(row[INPUT], "P_Pa"), vector_number(row[INPUT], "M"));
        double threshold = strstr(row[INPUT], "threshold_g_m3") != NULL
                               ? vector_number(row[INPUT], "threshold_g_m3")
                               : vector_number(row[INPUT], "threshold_ug_m3") * 1e-6;
        near(air / threshold, strtod(row[EXPECTED], NULL), strtod(row[TOLERANCE], NULL), row[ID]);
    }
    vectors_close(&vectors, 11);
}

/* A binary mixture distilled openly, alpha 3, from 30 to 20 mole per cent (an exercise text). */
static void rayleigh_binary(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    vectors_open(&vectors, "rayleigh_binary");
    while ((row = vectors_next(&vectors)) != NULL) {
        double feed = vector_number(row[INPUT], "F"), x = vector_number(row[INPUT], "xF");
        const struct pm_volatile items[2] = {{feed * x, vector_number(row[INPUT], "alpha")},
                                             {feed * (1 - x), 1}};
        double left = vector_number(row[EXPECTED], "W");
        double tau = pm_evaporation_tau(items, 2, 1 - left / feed, 0);
        double light = items[0].moles * pm_evaporation_left(&items[0], tau);
        near(light / left, vector_number(row[INPUT], "xW"), 1e-6, row[ID]);
        near((items[0].moles - light) / (feed - left), vector_number(row[EXPECTED], "xD"), 1e-5,
             row[ID]);
    }
    vectors_close(&vectors, 1);
}

/* ---- against the equation itself ------------------------------------------------------------- */

struct equation {
    const struct pm_volatile *items;
    size_t count;
};

static int decay(double t, const double n[], double dn[], void *context)
{
    (void)t;
    const struct equation *equation = context;
    double all = 0;
    for (size_t i = 0; i < equation->count; i++)
        all += n[i];
    for (size_t i = 0; i < equation->count; i++)
        dn[i] = -equation->items[i].pressure * n[i] / all;
    return GSL_SUCCESS;
}

/* dn_i/dt = -P_i n_i / N, K = 1, by GSL's Runge-Kutta (Prince-Dormand) to a tolerance of 1e-12,
 * against the closed form over the whole curve. */
static void integrated(void **state)
{
    (void)state;
    const struct pm_volatile items[] = {{3, 264},   {4, 21.3}, {3, 4},    {0.5, 0.6},
                                        {1, 0.073}, {2, 11.6}, {0.01, 90}};
    enum { COUNT = sizeof items / sizeof *items };
    struct equation equation = {items, COUNT};
    gsl_odeiv2_system system = {decay, NULL, COUNT, &equation};
    gsl_odeiv2_driver *driver =
        gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1e-9, 1e-14, 1e-12);
    double n[COUNT], t = 0, from = 0;
    for (size_t i = 0; i < COUNT; i++)
        n[i] = items[i].moles;
    for (int percent = 5; percent <= 90; percent += 5) {
        double tau = pm_evaporation_tau(items, COUNT, percent / 100.0, from);
        double until = pm_evaporation_clock(items, COUNT, tau);
        assert_int_equal(gsl_odeiv2_driver_apply(driver, &t, until, n), GSL_SUCCESS);
        for (size_t i = 0; i < COUNT; i++)
            if (n[i] > 1e-6)
                near(items[i].moles * pm_evaporation_left(&items[i], tau), n[i], 1e-8, "integral");
        from = tau;
    }
    gsl_odeiv2_driver_free(driver);
}

/* ---- edges ----------------------------------------------------------------------------------- */

static void extreme_ratios(void **state)
{
    (void)state;
    const struct pm_volatile items[] = {{1, 1e6}, {1e-6, 1}, {1, 1e-6}, {1e-12, 1e-3}};
    double from = 0;
    for (int i = 1; i < 1000; i++) {
        double gone = i / 1000.0, tau = pm_evaporation_tau(items, 4, gone, from);
        near(pm_evaporation_gone(items, 4, tau), gone, 1e-10, "extreme");
        near(pm_evaporation_tau(items, 4, gone, 0), tau, 1e-10, "from nothing");
        assert_true(tau >= from);
        from = tau;
    }
}

static void what_never_leaves(void **state)
{
    (void)state;
    const struct pm_volatile items[] = {{1, 50}, {3, 0}};
    const struct pm_volatile still[] = {{1, 0}};
    near(pm_evaporation_gone(items, 2, pm_evaporation_tau(items, 2, 0.2, 0)), 0.2, 1e-12, "some");
    assert_true(pm_evaporation_tau(items, 2, 0.25, 0) == PM_TAU_END);
    assert_true(pm_evaporation_tau(items, 2, 0.9, 0) == PM_TAU_END);
    near(pm_evaporation_gone(items, 2, PM_TAU_END), 0.25, 1e-15, "end");
    near(pm_evaporation_left(&items[1], PM_TAU_END), 1, 1e-15, "stays");
    assert_true(isfinite(pm_evaporation_clock(items, 2, PM_TAU_END)));
    assert_true(pm_evaporation_tau(still, 1, 0.5, 0) == PM_TAU_END);
    assert_true(pm_evaporation_tau(items, 2, 0, 0) == 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(closed_form),      cmocka_unit_test(at_a_fraction),
        cmocka_unit_test(rayleigh_pairs),   cmocka_unit_test(rayleigh_three),
        cmocka_unit_test(saturated_air),    cmocka_unit_test(integrated),
        cmocka_unit_test(extreme_ratios),   cmocka_unit_test(what_never_leaves),
        cmocka_unit_test(odour_values),     cmocka_unit_test(rayleigh_binary),
        cmocka_unit_test(rayleigh_further), cmocka_unit_test(parts_per_million),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
