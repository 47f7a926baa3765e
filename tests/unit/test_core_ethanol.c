/* SPDX-License-Identifier: MIT */
/*
 * Ethanol and water against the international alcoholometric tables (OIML R 22, 1975) and the
 * density table of the US National Bureau of Standards; rows of tests/data/check-vectors.csv, each
 * with its source.
 */
#include "permille/core/ethanol.h"
#include "vectors.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void close_to(double got, double wanted, double tolerance, const char *id)
{
    if (fabs(got - wanted) > tolerance)
        fail_msg("%s: %.10f is not %.10f", id, got, wanted);
}

/* OIML rows in kg/m3 by mass fraction; NBS rows in g/cm3 by mass percent, to their last digit. */
static void density_at_20(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    vectors_open(&vectors, "ethanol_density_20C");
    while ((row = vectors_next(&vectors)) != NULL) {
        double wanted = strtod(row[EXPECTED], NULL);
        if (strncmp(row[ID], "OIML", 4) == 0) {
            close_to(pm_ethanol_density(vector_number(row[INPUT], "mass_fraction")), wanted, 1e-4,
                     row[ID]);
        } else {
            close_to(pm_ethanol_density(vector_number(row[INPUT], "mass_percent") / 100) / 1000,
                     wanted, 1e-4, row[ID]);
        }
    }
    vectors_close(&vectors, 16);
}

/* The twelve coefficients of the recommendation as printed: their polynomial is the density. */
static double printed[12];

static void keep_coefficient(char **row)
{
    printed[(size_t)vector_number(row[INPUT], "k") - 1] = strtod(row[EXPECTED], NULL);
}

static void coefficients(void **state)
{
    (void)state;
    vectors_each("oiml_coefficient", 12, keep_coefficient);
    for (int i = 0; i <= 1000; i++) {
        double p = i / 1000.0, rho = 0;
        for (size_t k = 12; k-- > 0;)
            rho = rho * p + printed[k];
        close_to(pm_ethanol_density(p), rho, 1e-9, "coefficients");
    }
}

static void mass_to_volume(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    vectors_open(&vectors, "ethanol_mass_to_volume_fraction");
    while ((row = vectors_next(&vectors)) != NULL) {
        close_to(pm_ethanol_by_volume(vector_number(row[INPUT], "mass_fraction")),
                 strtod(row[EXPECTED], NULL), 1e-7, row[ID]);
    }
    vectors_close(&vectors, 9);
}

static void volume_to_mass(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    vectors_open(&vectors, "ethanol_volume_to_mass_fraction");
    while ((row = vectors_next(&vectors)) != NULL) {
        double q = vector_number(row[INPUT], "volume_percent") / 100;
        close_to(pm_ethanol_by_mass(q) * 100, vector_number(row[EXPECTED], "mass_percent"), 1e-3,
                 row[ID]);
        double density = pm_ethanol_density(pm_ethanol_by_mass(q));
        if (strstr(row[EXPECTED], "density_kg_m3") != NULL)
            close_to(density, vector_number(row[EXPECTED], "density_kg_m3"), 1e-2, row[ID]);
        else
            close_to(density * pm_ethanol_by_mass(q) / 10,
                     vector_number(row[EXPECTED], "g_per_100mL"), 1e-3, row[ID]);
    }
    vectors_close(&vectors, 14);
}

/* Volumes do not add up: 50 ml and 50 ml give less than 100 ml (computed from OIML R 22). */
static void volumes_shrink(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    vectors_open(&vectors, "ethanol_water_contraction");
    while ((row = vectors_next(&vectors)) != NULL) {
        double ethanol = vector_number(row[INPUT], "ethanol_mL") * pm_ethanol_density(1);
        double water = vector_number(row[INPUT], "water_mL") * pm_ethanol_density(0);
        double mixed = (ethanol + water) / pm_ethanol_density(ethanol / (ethanol + water));
        close_to(mixed, strtod(row[EXPECTED], NULL), 1e-3, row[ID]);
    }
    vectors_close(&vectors, 1);
}

/* 96 % by volume let down to 80 %, by mass. */
static void letting_down_by_mass(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    vectors_open(&vectors, "ethanol_dilution_by_mass");
    while ((row = vectors_next(&vectors)) != NULL) {
        double stock = pm_ethanol_by_mass(vector_number(row[INPUT], "stock_vol_percent") / 100);
        double target = pm_ethanol_by_mass(vector_number(row[INPUT], "target_vol_percent") / 100);
        double final = vector_number(row[INPUT], "final_g");
        close_to(final * target / stock, vector_number(row[EXPECTED], "stock_g"), 1e-3, row[ID]);
    }
    vectors_close(&vectors, 1);
}

/* 100 ml with so much ethanol in them, from a stock known by mass (a pharmacy's worked example). */
static void check_by_volume(char **row)
{
    double held = vector_number(row[INPUT], "target_g_ethanol_per_100mL") * 10;
    double p = pm_ethanol_by_mass(held / pm_ethanol_density(1));
    double mass = vector_number(row[INPUT], "final_mL") * pm_ethanol_density(p) / 1000;
    close_to(mass * p / (vector_number(row[INPUT], "stock_mass_percent") / 100),
             strtod(row[EXPECTED], NULL), 1e-3, row[ID]);
}

static void letting_down_by_volume(void **state)
{
    (void)state;
    vectors_each("ethanol_dilution_by_volume", 1, check_by_volume);
}

/* A hydrometer's reading and the mass fraction that belongs to it. */
static void check_reading(char **row)
{
    close_to(pm_ethanol_density_at(strtod(row[EXPECTED], NULL), vector_number(row[INPUT], "t_C")),
             vector_number(row[INPUT], "density_kg_m3"), 1e-3, row[ID]);
}

/* At other temperatures: values printed by independent users of the formula. */
static void density_at_others(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    vectors_open(&vectors, "ethanol_density_t");
    while ((row = vectors_next(&vectors)) != NULL) {
        close_to(pm_ethanol_density_at(vector_number(row[INPUT], "mass_fraction"),
                                       vector_number(row[INPUT], "t_C")),
                 strtod(row[EXPECTED], NULL), 1e-4, row[ID]);
    }
    vectors_close(&vectors, 3);
    vectors_open(&vectors, "ethanol_density_by_volume_t");
    while ((row = vectors_next(&vectors)) != NULL) {
        double t = vector_number(row[INPUT], "t_C");
        double p = pm_ethanol_by_mass_at(vector_number(row[INPUT], "volume_percent") / 100, t);
        close_to(pm_ethanol_density_at(p, t), vector_number(row[EXPECTED], "kg_m3"), 1e-3, row[ID]);
    }
    vectors_close(&vectors, 1);
    vectors_each("ethanol_mass_fraction_from_density", 1, check_reading);
    /* 20 °C is where the temperature terms are nothing. */
    for (int i = 0; i <= 100; i++)
        assert_true(pm_ethanol_density_at(i / 100.0, 20) == pm_ethanol_density(i / 100.0));
}

/* The alcoholometric tables of USP 29, by volume at 15.56 °C (60 °F), to their last digit. */
static void pharmacopoeia(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    vectors_open(&vectors, "ethanol_volume_to_mass_fraction_60F");
    while ((row = vectors_next(&vectors)) != NULL) {
        double q = vector_number(row[INPUT], "volume_percent_at_15.56C") / 100;
        close_to(pm_ethanol_by_mass_at(q, 15.56) * 100, strtod(row[EXPECTED], NULL), 0.01, row[ID]);
    }
    vectors_close(&vectors, 7);
    vectors_open(&vectors, "ethanol_mass_to_volume_fraction_60F");
    while ((row = vectors_next(&vectors)) != NULL) {
        double p = vector_number(row[INPUT], "mass_percent") / 100;
        close_to(pm_ethanol_by_volume_at(p, 15.56) * 100, strtod(row[EXPECTED], NULL), 0.01,
                 row[ID]);
    }
    vectors_close(&vectors, 5);
}

/* The dilution table of Gay-Lussac as printed: water in ml to 100 ml of the stronger, at 15 °C. */
static void dilution_table(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    vectors_open(&vectors, "ethanol_water_to_add");
    while ((row = vectors_next(&vectors)) != NULL) {
        double t = vector_number(row[INPUT], "t_C");
        double stock =
            pm_ethanol_by_mass_at(vector_number(row[INPUT], "stock_vol_percent") / 100, t);
        double target =
            pm_ethanol_by_mass_at(vector_number(row[INPUT], "target_vol_percent") / 100, t);
        double mass = vector_number(row[INPUT], "stock_mL") * pm_ethanol_density_at(stock, t);
        double water = mass * (stock / target - 1) / pm_ethanol_density_at(0, t);
        close_to(water, strtod(row[EXPECTED], NULL), 1e-3, row[ID]);
    }
    vectors_close(&vectors, 98);
}

/* 95 % by volume at 15 °C holds so much ethanol and water (a pharmacopoeia's notice, as printed).
 */
static void contraction_at_15(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    vectors_open(&vectors, "ethanol_volume_to_mass_fraction_t");
    while ((row = vectors_next(&vectors)) != NULL)
        close_to(pm_ethanol_by_mass_at(vector_number(row[INPUT], "volume_percent") / 100,
                                       vector_number(row[INPUT], "t_C")) *
                     100,
                 vector_number(row[EXPECTED], "mass_percent"), 1e-3, row[ID]);
    vectors_close(&vectors, 1);
    vectors_open(&vectors, "ethanol_water_contraction_t");
    while ((row = vectors_next(&vectors)) != NULL) {
        double t = vector_number(row[INPUT], "t_C");
        double p = pm_ethanol_by_mass_at(vector_number(row[INPUT], "ethanol_mL") / 100, t);
        double water = 100 * pm_ethanol_density_at(p, t) * (1 - p) / pm_ethanol_density_at(0, t);
        close_to(water, strtod(row[EXPECTED], NULL), 1e-3, row[ID]);
    }
    vectors_close(&vectors, 1);
}

static void volume_of_a_mass(void **state)
{
    (void)state;
    assert_int_equal(pm_volume_of(PM_GRAM, 1000000000), 1000);
    assert_int_equal(pm_volume_of(789240, 789240000), 1000);
    assert_int_equal(pm_volume_of(PM_GRAM, 0), -1);
    assert_int_equal(pm_volume_of(PM_MASS_MAX, 1), -1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(density_at_20),        cmocka_unit_test(mass_to_volume),
        cmocka_unit_test(volume_to_mass),       cmocka_unit_test(volumes_shrink),
        cmocka_unit_test(letting_down_by_mass), cmocka_unit_test(volume_of_a_mass),
        cmocka_unit_test(density_at_others),    cmocka_unit_test(pharmacopoeia),
        cmocka_unit_test(dilution_table),       cmocka_unit_test(contraction_at_15),
        cmocka_unit_test(coefficients),         cmocka_unit_test(letting_down_by_volume),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
