/* SPDX-License-Identifier: MIT */
/*
 * Dose response: known laws are found again (ratios of the power law in check-vectors.csv), the
 * fit agrees with GSL, and what the notes do not support is not drawn.
 */
#include "permille/core/dose.h"
#include "vectors.h"

#include <gsl/gsl_fit.h>
#include <gsl/gsl_rng.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void near(double got, double wanted, double room)
{
    if (!(fabs(got - wanted) <= room * (1 + fabs(wanted))))
        fail_msg("%.12g is not %.12g", got, wanted);
}

/* Notes that follow an exponent exactly give it back, and the ratio that it means. */
static void power_law(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    vectors_open(&vectors, "stevens_ratio");
    while ((row = vectors_next(&vectors)) != NULL) {
        double exponent = vector_number(row[INPUT], "exponent"), value[2], low, high;
        struct pm_dose_note notes[6];
        struct pm_dose dose;
        for (int i = 0; i < 6; i++)
            notes[i] = (struct pm_dose_note){pow(3, i), 1.3 * pow(pow(3, i), exponent)};
        assert_int_equal(pm_dose_fit(PM_DOSE_POWER, notes, 6, &dose, NULL), PM_OK);
        near(dose.slope, exponent, 1e-12);
        assert_true(dose.supported);
        pm_dose_at(&dose, 2, &value[0], &low, &high);
        pm_dose_at(&dose, 2 * vector_number(row[INPUT], "concentration_ratio"), &value[1], &low,
                   &high);
        near(value[1] / value[0], strtod(row[EXPECTED], NULL), 1e-9);
    }
    vectors_close(&vectors, 3);
}

/* Slope and its error as GSL's straight line has them; the dose for an intensity lies on the line,
 * and at the ends of its interval the line is just not told from the wanted intensity. */
static void against_gsl(void **state)
{
    (void)state;
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    for (int run = 0; run < 300; run++) {
        enum { COUNT = 9 };
        struct pm_dose_note notes[COUNT];
        struct pm_dose dose;
        double x[COUNT], y[COUNT], c0, c1, v00, v01, v11, squares, value, low, high;
        for (size_t i = 0; i < COUNT; i++) {
            notes[i].dose = pow(10, gsl_rng_uniform(random) * 3 - 1);
            notes[i].intensity = 4 + 2 * log10(notes[i].dose) + gsl_rng_uniform(random) * 1.5;
            x[i] = log10(notes[i].dose);
            y[i] = notes[i].intensity;
        }
        gsl_fit_linear(x, 1, y, 1, COUNT, &c0, &c1, &v00, &v01, &v11, &squares);
        assert_int_equal(pm_dose_fit(PM_DOSE_LOG, notes, COUNT, &dose, NULL), PM_OK);
        near(dose.slope, c1, 1e-9);
        near(dose.fit.error[1], sqrt(v11), 1e-9);
        if (pm_dose_for(&dose, 5, &value, &low, &high, NULL) != PM_OK) {
            assert_false(dose.supported);
            continue;
        }
        near(c0 + c1 * log10(value), 5, 1e-9);
        assert_true(low < value && value < high);
        const double ends[] = {log10(low), log10(high)};
        double t = pm_student_limit(0.05, COUNT - 2);
        for (int i = 0; i < 2; i++) {
            double error = sqrt(v00 + 2 * v01 * ends[i] + v11 * ends[i] * ends[i]);
            near(fabs(c0 + c1 * ends[i] - 5), t * error, 1e-6);
        }
    }
    gsl_rng_free(random);
}

static void what_is_not_supported(void **state)
{
    (void)state;
    struct pm_error err = {0};
    struct pm_dose dose;
    double value, low, high;
    const struct pm_dose_note flat[] = {{1, 5}, {10, 6}, {100, 5}, {1000, 6}, {10000, 5}};
    const struct pm_dose_note one[] = {{1, 5}, {1, 6}, {1, 5}};
    const struct pm_dose_note nothing[] = {{1, 0}, {2, 0}, {3, 4}, {4, 5}};
    const struct pm_dose_note bad[] = {{0, 5}, {1, 6}, {1, 5}};
    assert_int_equal(pm_dose_fit(PM_DOSE_LOG, flat, 5, &dose, NULL), PM_OK);
    assert_false(dose.supported);
    assert_int_equal(pm_dose_for(&dose, 5, &value, &low, &high, &err), PM_REFUSED);
    assert_int_equal(pm_dose_fit(PM_DOSE_LOG, one, 3, &dose, &err), PM_REFUSED);
    assert_non_null(strstr(err.text, "one dose"));
    assert_int_equal(pm_dose_fit(PM_DOSE_LOG, one, 2, &dose, &err), PM_REFUSED);
    assert_int_equal(pm_dose_fit(PM_DOSE_POWER, nothing, 4, &dose, &err), PM_REFUSED);
    assert_int_equal(pm_dose_fit(PM_DOSE_LOG, nothing, 4, &dose, &err), PM_OK);
    assert_int_equal(pm_dose_fit(PM_DOSE_LOG, bad, 3, &dose, &err), PM_INVALID);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(power_law),
        cmocka_unit_test(against_gsl),
        cmocka_unit_test(what_is_not_supported),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
