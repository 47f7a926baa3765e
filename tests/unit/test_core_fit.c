/* SPDX-License-Identifier: MIT */
/*
 * Least squares and its distributions against the GNU Scientific Library, and at the edges.
 */
#include "permille/base/mem.h"
#include "permille/core/fit.h"
#include "vectors.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_multifit.h>
#include <gsl/gsl_rng.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

static void near(double got, double wanted, double room)
{
    if (!(fabs(got - wanted) <= room * (1 + fabs(wanted))))
        fail_msg("%.17g is not %.17g", got, wanted);
}

static void student(void **state)
{
    (void)state;
    const double freedoms[] = {1, 2, 3, 7.5, 19, 100, 4000};
    for (size_t i = 0; i < sizeof freedoms / sizeof *freedoms; i++)
        for (double t = 0; t < 40; t += 0.37)
            near(pm_student_two_sided(t, freedoms[i]), 2 * gsl_cdf_tdist_Q(t, freedoms[i]), 1e-12);
    for (size_t i = 0; i < sizeof freedoms / sizeof *freedoms; i++)
        for (double p = 0.001; p < 1; p += 0.0417)
            near(pm_student_limit(p, freedoms[i]), gsl_cdf_tdist_Qinv(p / 2, freedoms[i]), 1e-9);
}

static void f_distribution(void **state)
{
    (void)state;
    for (double above = 1; above < 30; above += 3)
        for (double below = 1; below < 60; below += 7)
            for (double f = 0; f < 20; f += 0.71)
                near(pm_f_tail(f, above, below), gsl_cdf_fdist_Q(f, above, below), 1e-11);
}

/* Random designs, among them badly scaled ones, against GSL's fit by singular values. */
static void random_designs(void **state)
{
    (void)state;
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    for (int run = 0; run < 200; run++) {
        size_t terms = 1 + gsl_rng_uniform_int(random, 12);
        size_t rows = terms + gsl_rng_uniform_int(random, 40);
        gsl_matrix *x = gsl_matrix_alloc(rows, terms), *covariance = gsl_matrix_alloc(terms, terms);
        gsl_vector *y = gsl_vector_alloc(rows), *c = gsl_vector_alloc(terms);
        gsl_multifit_linear_workspace *work = gsl_multifit_linear_alloc(rows, terms);
        double chisq;
        for (size_t i = 0; i < rows; i++) {
            for (size_t k = 0; k < terms; k++)
                gsl_matrix_set(x, i, k, (gsl_rng_uniform(random) - 0.3) * (k % 3 == 2 ? 1000 : 1));
            gsl_vector_set(y, i, gsl_rng_uniform(random) * 20 - 5);
        }
        gsl_multifit_linear(x, y, c, covariance, &chisq, work);
        struct pm_fit fit;
        assert_int_equal(pm_fit(x->data, y->data, rows, terms, &fit, NULL, NULL), PM_OK);
        double scale = 0;
        for (size_t k = 0; k < terms; k++)
            scale = fmax(scale, fabs(gsl_vector_get(c, k)));
        for (size_t k = 0; k < terms && rows > terms + 1; k++) {
            assert_true(fabs(fit.coefficient[k] - gsl_vector_get(c, k)) <= 1e-8 * (1 + scale));
            near(fit.error[k], sqrt(gsl_matrix_get(covariance, k, k)), 1e-7);
        }
        if (rows > terms)
            assert_true(fabs(fit.error_ss - chisq) <= 1e-8 * (1 + fit.total_ss));
        gsl_multifit_linear_free(work);
        gsl_vector_free(c);
        gsl_vector_free(y);
        gsl_matrix_free(covariance);
        gsl_matrix_free(x);
    }
    gsl_rng_free(random);
}

/* A straight line through replicates; sums worked out by hand: at 0 the two differ by 2 (1 each
 * from their mean), at 1 by 4, at 2 not at all, so 2 + 8 = 10 between replicates on 3 degrees. */
static void replicates(void **state)
{
    (void)state;
    const double x[] = {1, 0, 1, 0, 1, 1, 1, 1, 1, 2, 1, 2}, y[] = {1, 3, 2, 6, 9, 9};
    struct pm_fit fit;
    assert_int_equal(pm_fit(x, y, 6, 2, &fit, NULL, NULL), PM_OK);
    assert_true(fit.replicated);
    assert_int_equal(fit.pure_freedom, 3);
    assert_int_equal(fit.lack_freedom, 1);
    near(fit.pure_ss, 10, 1e-12);
    /* Means 2, 4, 9 lie off their line by 0.5, -1, 0.5: twice each. */
    near(fit.lack_ss, 3, 1e-12);
    near(fit.coefficient[1], 3.5, 1e-12);
    near(fit.lack_p, gsl_cdf_fdist_Q(3.0 / (10.0 / 3), 1, 3), 1e-12);
}

/* Repeated readings of one temperature (GUM 4.4.3, table 1, from memory): their mean, the standard
 * deviation of one and that of the mean. */
static void check_readings(char **row)
{
    double y[40], x[40];
    struct pm_fit fit;
    size_t count = vector_list(vector_text(row[INPUT], "readings"), y, 40);
    for (size_t i = 0; i < count; i++)
        x[i] = 1;
    assert_int_equal(pm_fit(x, y, count, 1, &fit, NULL, NULL), PM_OK);
    near(fit.coefficient[0], vector_number(row[EXPECTED], "mean"), 1e-9);
    near(sqrt(fit.variance), vector_number(row[EXPECTED], "s"), 1e-6);
    near(fit.error[0], vector_number(row[EXPECTED], "u"), 1e-6);
}

static void repeated_readings(void **state)
{
    (void)state;
    vectors_each("mean_and_standard_uncertainty", 1, check_readings);
}

static void refusals(void **state)
{
    (void)state;
    struct pm_error err = {0};
    struct pm_fit fit;
    size_t term = 9;
    const double twice[] = {1, 2, 2, 4, 3, 6, 4, 8}, y[] = {1, 2, 3, 4};
    const double bad[] = {1, 2, (double)NAN, 4};
    assert_int_equal(pm_fit(twice, y, 4, 2, &fit, &term, &err), PM_REFUSED);
    assert_int_equal(term, 1);
    assert_int_equal(pm_fit(twice, y, 1, 2, &fit, NULL, &err), PM_REFUSED);
    assert_int_equal(pm_fit(twice, bad, 4, 1, &fit, NULL, &err), PM_INVALID);
    assert_int_equal(pm_fit(twice, y, 4, 0, &fit, NULL, &err), PM_INVALID);
}

/* Constant ratings: nothing to explain, and no number that is none. */
static void constant(void **state)
{
    (void)state;
    const double x[] = {1, 0, 0.5, 0.5, 0, 1}, y[] = {7, 7, 7};
    struct pm_fit fit;
    double error;
    const double middle[] = {0.5, 0.5};
    assert_int_equal(pm_fit(x, y, 3, 2, &fit, NULL, NULL), PM_OK);
    assert_true(fit.r_squared == 0 && isfinite(fit.adjusted));
    near(pm_fit_at(&fit, middle, &error), 7, 1e-12);
    assert_true(isfinite(error));
}

static void without_memory(void **state)
{
    (void)state;
    const double x[] = {1, 2}, y[] = {1, 2};
    struct pm_fit fit;
    for (long at = 1; at <= 2; at++) {
        pm_mem_fail_at(at, true);
        assert_int_equal(pm_fit(x, y, 2, 1, &fit, NULL, NULL), PM_NOMEM);
    }
    pm_mem_fail_at(0, false);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(student),        cmocka_unit_test(f_distribution),
        cmocka_unit_test(random_designs), cmocka_unit_test(replicates),
        cmocka_unit_test(refusals),       cmocka_unit_test(constant),
        cmocka_unit_test(without_memory), cmocka_unit_test(repeated_readings),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
