/* SPDX-License-Identifier: MIT */
/*
 * Drydown: shares of the vapour by Raoult's law, the relation of Rayleigh (1902) for what is left
 * of a pair, bands, stages by vapour pressure (medians of the reference table), a clock from a
 * note.
 */
#include "permille/core/drydown.h"
#include "vectors.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void near(double got, double wanted, double room)
{
    if (!(fabs(got - wanted) <= room * (1e-300 + fabs(wanted))))
        fail_msg("%.15g is not %.15g", got, wanted);
}

static struct pm_volatile items[3];
static double low[3], high[3], vapour[3], mass[3];

static struct pm_dry_mix mix_of(size_t count, const double *moles, const double *pressure,
                                double band)
{
    for (size_t i = 0; i < count; i++) {
        items[i] = (struct pm_volatile){moles[i], pressure[i]};
        low[i] = pressure[i] / band;
        high[i] = pressure[i] * band;
        vapour[i] = pressure[i];
        mass[i] = 100;
    }
    return (struct pm_dry_mix){items, low, high, vapour, mass, count};
}

/* Raoult: x1 P1 / (x1 P1 + x2 P2), and what a heavy carrier does: its mole fraction is all. */
static void the_air_follows_raoult(void **state)
{
    (void)state;
    const double moles[] = {1, 3, 4}, pressure[] = {100, 20, 0};
    const struct pm_dry_mix mix = mix_of(3, moles, pressure, 1);
    struct pm_dry_state out[3];
    double tau = 0;
    pm_drydown_at(&mix, 0, true, &tau, out);
    near(out[0].share, 100.0 / 160, 1e-14);
    near(out[1].share, 60.0 / 160, 1e-14);
    near(out[2].share, 0, 0);
    near(out[0].left, 1, 0);
    /* 12.5 Pa of 100 g/mol: P M / (R T) */
    near(out[0].air, 12.5 * 100 / (8.314462618 * 298.15), 1e-12);
    near(out[0].air * 8, pm_saturated_air(100, 100), 1e-12);
}

/* Published shares of the vapour at the start. */
static void published_shares(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    vectors_open(&vectors, "raoult");
    while ((row = vectors_next(&vectors)) != NULL) {
        struct pm_dry_state out[2];
        double tau = 0;
        /* One row asks for the share in the liquid that gives a total pressure. */
        const bool asked = strstr(row[INPUT], "solve=x1") != NULL;
        const double x1 = asked ? strtod(row[EXPECTED], NULL) : vector_number(row[INPUT], "x1");
        const double moles[] = {x1, 1 - x1};
        const double pressure[] = {vector_number(row[INPUT], "P1"),
                                   vector_number(row[INPUT], "P2")};
        const struct pm_dry_mix mix = mix_of(2, moles, pressure, 1);
        pm_drydown_at(&mix, 0, false, &tau, out);
        near(out[0].share,
             asked ? x1 * pressure[0] / vector_number(row[INPUT], "P")
                   : vector_number(row[EXPECTED], "y1"),
             1e-9);
        near(out[0].share + out[1].share, 1, 1e-15);
    }
    vectors_close(&vectors, 4);
}

/* The numbers behind each ':' of "limonene:0.2;geraniol:0.2;..." */
static void four(const char *text, double *out)
{
    for (size_t i = 0; i < 4; i++) {
        text = strchr(text, ':') + 1;
        out[i] = strtod(text, NULL);
    }
}

/* Odour values of a mixture: what is in the air above it over the threshold. */
static void check_odour_values(char **row)
{
    double moles[4], pressure[4], molar[4], threshold[4], wanted[4];
    struct pm_volatile all[4];
    struct pm_dry_state out[4];
    double tau = 0;
    four(vector_text(row[INPUT], "x"), moles);
    four(vector_text(row[INPUT], "P_Pa"), pressure);
    four(vector_text(row[INPUT], "M"), molar);
    four(vector_text(row[INPUT], "threshold_ug_m3"), threshold);
    four(row[EXPECTED], wanted);
    for (size_t i = 0; i < 4; i++)
        all[i] = (struct pm_volatile){moles[i], pressure[i]};
    const struct pm_dry_mix mix = {all, pressure, pressure, pressure, molar, 4};
    pm_drydown_at(&mix, 0, false, &tau, out);
    for (size_t i = 0; i < 4; i++)
        near(out[i].air * 1e6 / threshold[i], wanted[i], 1e-6);
}

static void air_over_thresholds(void **state)
{
    (void)state;
    vectors_each("odour_value_mixture", 1, check_odour_values);
}

/* n1/n10 = (n2/n20)^(P1/P2) at any point. */
static void pairs_follow_rayleigh(void **state)
{
    (void)state;
    const double moles[] = {2, 5}, pressure[] = {30, 7};
    const struct pm_dry_mix mix = mix_of(2, moles, pressure, 3);
    struct pm_dry_state out[2];
    double tau = 0;
    for (double gone = 0.1; gone < 0.95; gone += 0.1) {
        pm_drydown_at(&mix, gone, true, &tau, out);
        near(out[0].left, pow(out[1].left, 30.0 / 7), 1e-9);
        near(2 * (1 - out[0].left) + 5 * (1 - out[1].left), 7 * gone, 1e-12);
        assert_true(out[0].low < out[0].left && out[0].left < out[0].high);
        assert_true(out[1].low < out[1].left && out[1].left < out[1].high);
        near(out[0].share + out[1].share, 1, 1e-12);
    }
    near(items[0].pressure, 30, 0); /* put back */
}

/* The band of a reached fraction holds the fraction itself, and both agree with the curve. */
static void down_to_a_part(void **state)
{
    (void)state;
    const double moles[] = {1, 1, 2}, pressure[] = {50, 5, 0.5};
    const struct pm_dry_mix mix = mix_of(3, moles, pressure, 3);
    struct pm_dry_state out[3];
    double least, most, tau = 0;
    const double gone = pm_drydown_reaches(&mix, 1, 0.1, &least, &most);
    assert_true(least < gone && gone < most);
    pm_drydown_at(&mix, gone, true, &tau, out);
    near(out[1].left, 0.1, 1e-9);
    tau = 0;
    pm_drydown_at(&mix, least, true, &tau, out);
    near(out[1].low, 0.1, 1e-9);
    tau = 0;
    pm_drydown_at(&mix, most, true, &tau, out);
    near(out[1].high, 0.1, 1e-9);
}

/* A clock set by a note tells that note again, and what cannot be reached has no time. */
static void a_note_sets_the_clock(void **state)
{
    (void)state;
    const double moles[] = {1, 2, 3}, pressure[] = {50, 5, 0};
    const struct pm_dry_mix mix = mix_of(3, moles, pressure, 1);
    double least, most;
    const double rate = pm_drydown_rate(&mix, 0, 0.1, 2400);
    assert_true(rate > 0);
    near(pm_drydown_seconds(&mix, pm_drydown_reaches(&mix, 0, 0.1, &least, &most), rate), 2400,
         1e-9);
    near(pm_drydown_rate(&mix, 2, 0.1, 2400), 0, 0);
    assert_true(isinf(pm_drydown_seconds(&mix, 0.75, rate)));
    assert_true(isinf(pm_drydown_seconds(&mix, 0.1, 0)));
}

/* Medians of the reference table: 49, 4 and 0.16 Pa. A label is odd from a decade on. */
static void stages(void **state)
{
    (void)state;
    assert_int_equal(pm_stage_by_pressure(49), PM_STAGE_TOP);
    assert_int_equal(pm_stage_by_pressure(4), PM_STAGE_HEART);
    assert_int_equal(pm_stage_by_pressure(0.16), PM_STAGE_BASE);
    assert_int_equal(pm_stage_by_pressure(PM_TOP_FROM), PM_STAGE_TOP);
    assert_int_equal(pm_stage_by_pressure(nextafter(PM_TOP_FROM, 0)), PM_STAGE_HEART);
    assert_int_equal(pm_stage_by_pressure(PM_HEART_FROM), PM_STAGE_HEART);
    assert_int_equal(pm_stage_by_pressure(nextafter(PM_HEART_FROM, 0)), PM_STAGE_BASE);
    near(PM_TOP_FROM, sqrt(49.0 * 4), 1e-9);
    near(PM_HEART_FROM, sqrt(4 * 0.16), 1e-9);
    assert_true(pm_stage_is_odd(PM_STAGE_TOP, 1, 1.4));
    assert_false(pm_stage_is_odd(PM_STAGE_TOP, 1, 1.5));
    assert_true(pm_stage_is_odd(PM_STAGE_BASE, 8, 9));
    assert_false(pm_stage_is_odd(PM_STAGE_BASE, 3, 27));
    assert_true(pm_stage_is_odd(PM_STAGE_HEART, 140, 150));
    assert_true(pm_stage_is_odd(PM_STAGE_HEART, 0.01, 0.08));
    assert_false(pm_stage_is_odd(PM_STAGE_BASE, 0, 0));
}

/* Ratios of 1e12, nothing that leaves, a single one: numbers everywhere. */
static void no_nonsense_at_the_edges(void **state)
{
    (void)state;
    const double moles[] = {1, 1e-9, 5}, wide[] = {1e9, 1e-3, 1}, none[] = {0, 0, 0};
    for (int run = 0; run < 3; run++) {
        const struct pm_dry_mix mix = mix_of(run == 2 ? 1 : 3, moles, run == 1 ? none : wide, 3);
        struct pm_dry_state out[3];
        double tau = 0;
        for (int step = 0; step <= 10; step++) {
            double shares = 0;
            pm_drydown_at(&mix, step / 10.0, true, &tau, out);
            for (size_t i = 0; i < mix.count; i++) {
                assert_true(out[i].low >= 0 && out[i].low <= out[i].left);
                assert_true(out[i].high <= 1 && out[i].left <= out[i].high);
                assert_true(out[i].share >= 0 && out[i].share <= 1 && isfinite(out[i].air));
                shares += out[i].share;
            }
            if (step < 10) /* at the end nothing may be left */
                near(shares, run == 1 ? 0 : 1, 1e-12);
        }
    }
}

/* Written out as numbers are on the bench: no exponent, three digits. */
static void pressures_are_read_without_an_exponent(void **state)
{
    (void)state;
    char text[PM_PRESSURE_TEXT];
    assert_string_equal(pm_pressure_format(7904, '.', text), "7900");
    assert_string_equal(pm_pressure_format(999.6, '.', text), "1000");
    assert_string_equal(pm_pressure_format(633.4, '.', text), "633");
    assert_string_equal(pm_pressure_format(86.66, '.', text), "86.7");
    assert_string_equal(pm_pressure_format(0.0059, '.', text), "0.0059");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_air_follows_raoult),
        cmocka_unit_test(published_shares),
        cmocka_unit_test(air_over_thresholds),
        cmocka_unit_test(pairs_follow_rayleigh),
        cmocka_unit_test(down_to_a_part),
        cmocka_unit_test(a_note_sets_the_clock),
        cmocka_unit_test(stages),
        cmocka_unit_test(no_nonsense_at_the_edges),
        cmocka_unit_test(pressures_are_read_without_an_exponent),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
