/* SPDX-License-Identifier: MIT */
/*
 * Difference tests and ranking against the world outside: every published cell of
 * tests/data/check-vectors.csv that concerns them (ids and sources stand there), GSL's
 * distributions, exact binomials with GMP, printed tables of Friedman's statistic, and complete
 * enumeration.
 */
#include "permille/base/mem.h"
#include "permille/core/panel.h"
#include "tests/unit/vectors.h"

#include <gmp.h>
#include <gsl/gsl_cdf.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static const double third = 1.0 / 3.0;

static void assert_close(double value, double expected, double relative, const char *what)
{
    if (!(fabs(value - expected) <= relative * fabs(expected)))
        fail_msg("%s: %.17g instead of %.17g", what, value, expected);
}

static void assert_near(double value, double expected, double tolerance)
{
    if (!(fabs(value - expected) <= tolerance))
        fail_msg("%.17g instead of %.17g", value, expected);
}

/* ---- difference tests ------------------------------------------------------------------------ */

static void check_least(const char *topic, enum pm_panel_kind kind, size_t rows)
{
    struct vectors vectors;
    char **row;

    vectors_open(&vectors, topic);
    while ((row = vectors_next(&vectors)) != NULL) {
        int n = (int)vector_number(row[INPUT], "n");
        double alpha = vector_number(row[INPUT], "alpha");
        int expected = strcmp(row[EXPECTED], "none") == 0 ? 0 : atoi(row[EXPECTED]);
        assert_close(pm_panel_chance(kind), vector_number(row[INPUT], "p0"), 1e-15, row[ID]);
        if (pm_panel_least_correct(kind, n, alpha) != expected) {
            fail_msg("%s (%s): %d instead of %d", row[ID], row[SOURCE],
                     pm_panel_least_correct(kind, n, alpha), expected);
        }
    }
    vectors_close(&vectors, rows);
}

static void test_published_least_numbers(void **state)
{
    (void)state;
    check_least("triangle_min_correct", PM_TRIANGLE, 142);
    check_least("duo_trio_min_correct", PM_DUO_TRIO, 151);
    check_least("paired_one_sided_min", PM_PAIRED, 93);
    check_least("paired_two_sided_min", PM_PAIRED_TWO_SIDED, 31);
}

static void test_least_number_is_the_least(void **state)
{
    static const enum pm_panel_kind kinds[] = {PM_TRIANGLE, PM_DUO_TRIO, PM_PAIRED,
                                               PM_PAIRED_TWO_SIDED};
    static const double alphas[] = {0.2, 0.1, 0.05, 0.01, 0.001};

    (void)state;
    for (size_t kind = 0; kind < 4; kind++) {
        for (size_t a = 0; a < 5; a++) {
            for (int n = 1; n <= 150; n++) {
                int least = pm_panel_least_correct(kinds[kind], n, alphas[a]);
                if (least == 0) {
                    assert_true(pm_panel_p_value(kinds[kind], n, n) > alphas[a]);
                } else {
                    assert_true(pm_panel_p_value(kinds[kind], n, least) <= alphas[a]);
                    assert_true(pm_panel_p_value(kinds[kind], n, least - 1) > alphas[a]);
                }
            }
        }
    }
    /* A level that is met exactly counts as met: tails of a fair coin are whole numbers over 2^n.
     */
    assert_int_equal(pm_panel_least_correct(PM_PAIRED, 3, 0.125), 3);
    assert_int_equal(pm_panel_least_correct(PM_PAIRED_TWO_SIDED, 3, 0.25), 3);
    for (int n = 1; n <= 30; n++) {
        double ways = 1;
        double tail = 1;
        for (int k = n; k > 0; k--) {
            assert_int_equal(pm_panel_least_correct(PM_PAIRED, n, ldexp(tail, -n)), k);
            ways = ways * k / (n - k + 1);
            tail += ways;
        }
    }
    assert_int_equal(pm_panel_least_correct(PM_PAIRED, 10000, 0.05), 5083);
}

static void test_upper_tail_vectors(void **state)
{
    struct vectors vectors;
    char **row;

    (void)state;
    vectors_open(&vectors, "binomial_upper_tail");
    while ((row = vectors_next(&vectors)) != NULL) {
        int n = (int)vector_number(row[INPUT], "n");
        int k = (int)vector_number(row[INPUT], "k");
        /* The rows print 15 digits: half a unit of the last adds to the tolerance. */
        assert_close(pm_panel_upper_tail(n, k, vector_number(row[INPUT], "p")),
                     strtod(row[EXPECTED], NULL), 6e-12, row[ID]);
    }
    vectors_close(&vectors, 18);
}

/* P(X >= k) for p = numerator/denominator in whole numbers, rounded once at the end. */
static double exact_tail(unsigned n, unsigned k, unsigned numerator, unsigned denominator)
{
    mpz_t term, sum, whole;
    mpf_t top, bottom;

    mpz_inits(term, sum, whole, NULL);
    mpf_init2(top, 256);
    mpf_init2(bottom, 256);
    mpz_ui_pow_ui(term, numerator, n); /* i = n: C = 1 */
    for (unsigned i = n;; i--) {
        mpz_add(sum, sum, term);
        if (i == k)
            break;
        mpz_mul_ui(term, term, (unsigned long)i * (denominator - numerator));
        mpz_divexact_ui(term, term, (unsigned long)(n - i + 1) * numerator);
    }
    mpz_ui_pow_ui(whole, denominator, n);
    mpf_set_z(top, sum);
    mpf_set_z(bottom, whole);
    mpf_div(top, top, bottom);
    double result = mpf_get_d(top);
    mpz_clears(term, sum, whole, NULL);
    mpf_clear(top);
    mpf_clear(bottom);
    return result;
}

static void test_upper_tail_against_gmp(void **state)
{
    static const unsigned sizes[] = {1, 2, 3, 7, 24, 60, 333, 2000, 10000};

    (void)state;
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        unsigned n = sizes[i];
        for (unsigned k = 1; k <= n; k += n / 24 + 1) {
            double thirds = exact_tail(n, k, 1, 3);
            double halves = exact_tail(n, k, 1, 2);
            double eighths = exact_tail(n, k, 5, 8);
            if (thirds > 1e-300)
                assert_close(pm_panel_upper_tail((int)n, (int)k, third), thirds, 1e-12, "thirds");
            if (halves > 1e-300)
                assert_close(pm_panel_upper_tail((int)n, (int)k, 0.5), halves, 1e-12, "halves");
            if (eighths > 1e-300)
                assert_close(pm_panel_upper_tail((int)n, (int)k, 0.625), eighths, 1e-12, "eighths");
        }
    }
}

static void test_upper_tail_against_gsl(void **state)
{
    static const double chances[] = {0.001, 0.1, 1.0 / 3.0, 0.5, 0.625, 0.9, 0.999};

    (void)state;
    for (size_t c = 0; c < sizeof chances / sizeof *chances; c++) {
        for (int n = 1; n <= PM_PANEL_ANSWERS_MAX; n = n * 3 / 2 + 1) {
            for (int k = 1; k <= n; k += n / 40 + 1) {
                double expected = gsl_cdf_binomial_Q((unsigned)k - 1, chances[c], (unsigned)n);
                if (expected > 1e-200)
                    assert_close(pm_panel_upper_tail(n, k, chances[c]), expected, 1e-9, "tail");
            }
        }
    }
}

static void test_upper_tail_ends(void **state)
{
    (void)state;
    assert_true(pm_panel_upper_tail(10, 0, 0.5) >= 1);
    assert_true(pm_panel_upper_tail(10, -3, 0.5) >= 1);
    assert_true(pm_panel_upper_tail(10, 11, 0.5) <= 0);
    assert_true(pm_panel_upper_tail(10, 1, 0) <= 0);
    assert_true(pm_panel_upper_tail(10, 10, 1) >= 1);
    assert_true(isnan(pm_panel_upper_tail(-1, 0, 0.5)));
    assert_true(isnan(pm_panel_upper_tail(PM_PANEL_ANSWERS_MAX + 1, 5, 0.5)));
    assert_true(isnan(pm_panel_upper_tail(10, 5, 1.5)));
    assert_true(isnan(pm_panel_upper_tail(10, 5, (double)NAN)));
    assert_true(isnan(pm_panel_p_value(PM_TRIANGLE, 10, 11)));
    assert_true(isnan(pm_panel_p_value(PM_RANKING, 10, 5)));
    assert_true(isnan(pm_panel_p_value(PM_TRIANGLE, 0, 0)));
    assert_int_equal(pm_panel_least_correct(PM_RANKING, 10, 0.05), 0);
    assert_int_equal(pm_panel_least_correct(PM_TRIANGLE, 0, 0.05), 0);
    assert_int_equal(pm_panel_least_correct(PM_TRIANGLE, 10, 0), 0);
    assert_int_equal(pm_panel_least_correct(PM_TRIANGLE, 10, 1), 0);
    /* Even splits say nothing, whichever way they are read. */
    assert_true(pm_panel_p_value(PM_PAIRED_TWO_SIDED, 10, 5) >= 1);
    assert_close(pm_panel_p_value(PM_PAIRED_TWO_SIDED, 10, 1),
                 pm_panel_p_value(PM_PAIRED_TWO_SIDED, 10, 9), 0, "mirror");
}

static void test_discriminators_vectors(void **state)
{
    struct vectors vectors;
    char **row;

    (void)state;
    vectors_open(&vectors, "discriminator_share");
    while ((row = vectors_next(&vectors)) != NULL) {
        struct pm_panel_share share;
        enum pm_panel_kind kind = vector_number(row[INPUT], "p0") < 0.4 ? PM_TRIANGLE : PM_PAIRED;
        double confidence = gsl_cdf_ugaussian_P(vector_number(row[INPUT], "z"));
        assert_true(pm_panel_discriminators(kind, (int)vector_number(row[INPUT], "n"),
                                            (int)vector_number(row[INPUT], "x"), confidence,
                                            &share));
        assert_near(share.share, vector_number(row[EXPECTED], "pd"), 1e-9);
        /* The standards' interval leans on the normal distribution, and is a little too short. */
        assert_near(share.low, vector_number(row[EXPECTED], "lower"), 0.06);
        assert_near(share.high, vector_number(row[EXPECTED], "upper"), 0.06);
        assert_true(share.low < vector_number(row[EXPECTED], "lower"));
    }
    vectors_close(&vectors, 4);
    struct pm_panel_share untouched = {7, 7, 7};
    assert_false(pm_panel_discriminators(PM_RANKING, 10, 5, 0.95, &untouched));
    assert_false(pm_panel_discriminators(PM_TRIANGLE, 10, 11, 0.95, &untouched));
    assert_false(pm_panel_discriminators(PM_TRIANGLE, 0, 0, 0.95, &untouched));
    assert_true(untouched.share >= 7);
}

/* Clopper and Pearson's limits are quantiles of the beta distribution, which GSL has (its own
 * quantiles are good to some eight digits). */
static void test_discriminators_against_gsl(void **state)
{
    (void)state;
    for (int n = 1; n < 200; n += n < 20 ? 1 : 13) {
        for (int x = 0; x <= n; x++) {
            struct pm_panel_share share;
            assert_true(pm_panel_discriminators(PM_DUO_TRIO, n, x, 0.95, &share));
            double low = x > 0 ? gsl_cdf_beta_Pinv(0.05, x, n - x + 1) : 0;
            double high = x < n ? gsl_cdf_beta_Pinv(0.95, x + 1, n - x) : 1;
            assert_near(share.low, 2 * low - 1, 1e-7);
            assert_near(share.high, 2 * high - 1, 1e-7);
        }
    }
    /* All of twelve right: the lower limit of right answers is the twelfth root of 0.05. */
    struct pm_panel_share all;
    assert_true(pm_panel_discriminators(PM_TRIANGLE, 12, 12, 0.95, &all));
    assert_near(all.low, 1.5 * pow(0.05, 1.0 / 12) - 0.5, 1e-12);
    assert_near(all.low, 0.6686, 5e-5);
    assert_near(all.high, 1, 1e-12);
}

static void test_power(void **state)
{
    (void)state;
    /* Nobody tells them apart: a difference is "found" just as often as the level lets it. */
    double blind = pm_panel_power(PM_TRIANGLE, 24, 0.05, 0);
    assert_close(blind, pm_panel_p_value(PM_TRIANGLE, 24, 13), 1e-14, "blind");
    /* Everybody does: certain. */
    assert_close(pm_panel_power(PM_TRIANGLE, 24, 0.05, 1), 1, 0, "all");
    /* In between against GSL: 13 of 24 needed, right with 1/3 + 0.3 * 2/3. */
    assert_close(pm_panel_power(PM_TRIANGLE, 24, 0.05, 0.3),
                 gsl_cdf_binomial_Q(12, third + 0.3 * 2 / 3, 24), 1e-10, "triangle");
    assert_close(pm_panel_power(PM_PAIRED_TWO_SIDED, 30, 0.05, 0.4),
                 gsl_cdf_binomial_Q(20, 0.7, 30) + gsl_cdf_binomial_P(9, 0.7, 30), 1e-10,
                 "two-sided");
    /* Three triangle answers can never reach 1 %. */
    assert_true(pm_panel_power(PM_TRIANGLE, 3, 0.01, 1) <= 0);
    assert_true(isnan(pm_panel_power(PM_TRIANGLE, 24, 0.05, 1.1)));
    assert_true(isnan(pm_panel_power(PM_RANKING, 24, 0.05, 0.5)));
}

static void test_words(void **state)
{
    struct pm_error error;
    enum pm_panel_kind kind = PM_RANKING;

    (void)state;
    for (int i = PM_TRIANGLE; i <= PM_RANKING; i++) {
        assert_int_equal(pm_panel_read(pm_panel_word((enum pm_panel_kind)i), &kind, &error), PM_OK);
        assert_int_equal(kind, i);
    }
    assert_int_equal(pm_panel_read("square", &kind, &error), PM_INVALID);
    assert_non_null(strstr(error.text, "square"));
    assert_int_equal(kind, PM_RANKING);
}

/* ---- chi-square and ranking ------------------------------------------------------------------ */

static void test_chi_square_against_gsl(void **state)
{
    (void)state;
    for (int degrees = 1; degrees <= PM_CHI_SQUARE_DEGREES_MAX; degrees += degrees < 15 ? 1 : 7) {
        for (double x = 1e-6; x < 1400; x *= 1.31) {
            double expected = gsl_cdf_chisq_Q(x, degrees);
            if (expected > 1e-290)
                assert_close(pm_chi_square_upper(x, degrees), expected, 1e-10, "chi-square");
        }
    }
    /* Printed 5 % points (any table of chi-square, from memory): 3.841, 5.991, 7.815. */
    assert_near(pm_chi_square_upper(3.841, 1), 0.05, 1e-4);
    assert_near(pm_chi_square_upper(5.991, 2), 0.05, 1e-4);
    assert_near(pm_chi_square_upper(7.815, 3), 0.05, 1e-4);
    assert_true(pm_chi_square_upper(0, 3) >= 1);
    assert_true(pm_chi_square_upper((double)INFINITY, 3) <= 0);
    assert_true(pm_chi_square_upper(5000, PM_CHI_SQUARE_DEGREES_MAX) <= 0);
    assert_true(isnan(pm_chi_square_upper(1, 0)));
    assert_true(isnan(pm_chi_square_upper((double)NAN, 2)));
}

static void test_rank_difference(void **state)
{
    (void)state;
    /* 1.96 sqrt(10 * 4 * 5 / 6), worked by hand: 11.316. */
    assert_near(pm_panel_rank_difference(10, 4), 11.316, 5e-4);
}

/* Times of 22 runners rounding a base in three ways: Hollander & Wolfe, Nonparametric Statistical
 * Methods (1973), p. 140 ff., with ties. Data and printed result (11.143 on 2 degrees of freedom,
 * p = 0.003805) from memory; they agree with each other. */
static void test_friedman_worked_example(void **state)
{
    static const double times[22][3] = {
        {5.40, 5.50, 5.55}, {5.85, 5.70, 5.75}, {5.20, 5.60, 5.50}, {5.55, 5.50, 5.40},
        {5.90, 5.85, 5.70}, {5.45, 5.55, 5.60}, {5.40, 5.40, 5.35}, {5.45, 5.50, 5.35},
        {5.25, 5.15, 5.00}, {5.85, 5.80, 5.70}, {5.25, 5.20, 5.10}, {5.65, 5.55, 5.45},
        {5.60, 5.35, 5.45}, {5.05, 5.00, 4.95}, {5.50, 5.50, 5.40}, {5.45, 5.55, 5.50},
        {5.55, 5.55, 5.35}, {5.45, 5.50, 5.55}, {5.50, 5.45, 5.25}, {5.65, 5.60, 5.40},
        {5.70, 5.65, 5.55}, {6.30, 6.30, 6.25},
    };
    double ranks[22][3];
    struct pm_friedman result;

    (void)state;
    for (size_t row = 0; row < 22; row++) {
        for (size_t i = 0; i < 3; i++) {
            ranks[row][i] = 0.5;
            for (size_t j = 0; j < 3; j++) {
                ranks[row][i] += times[row][j] < times[row][i]   ? 1
                                 : times[row][j] > times[row][i] ? 0
                                                                 : 0.5;
            }
        }
    }
    assert_int_equal(pm_panel_friedman(&ranks[0][0], 22, 3, 1, &result, NULL), PM_OK);
    assert_near(result.statistic, 11.143, 5e-4);
    assert_int_equal(result.degrees, 2);
    assert_near(pm_chi_square_upper(result.statistic, result.degrees), 0.003805, 5e-7);
    assert_int_equal(result.by, PM_BY_COUNTING);
    assert_near(result.p, 0.0038, 0.0015);
}

static const double orders3[6][3] = {{1, 2, 3}, {1, 3, 2}, {2, 1, 3},
                                     {2, 3, 1}, {3, 1, 2}, {3, 2, 1}};

#define TABLES_MAX 331776 /* 24^4 */

/* Every way in which `answers` rows can be put in order, one after the other: the way's number, in
 * base `orders`, picks each row's order. */
static void fill_ranks(size_t way, size_t answers, size_t samples, const double *orders,
                       size_t order_count, double *ranks)
{
    for (size_t i = 0; i < answers; i++, way /= order_count)
        memcpy(ranks + i * samples, orders + way % order_count * samples, samples * sizeof *ranks);
}

/* The textbook form for rankings without ties. */
static double plain_statistic(const double *ranks, size_t answers, size_t samples)
{
    double n = (double)answers;
    double k = (double)samples;
    double squares = 0;

    for (size_t sample = 0; sample < samples; sample++) {
        double sum = 0;
        for (size_t i = 0; i < answers; i++)
            sum += ranks[i * samples + sample];
        squares += sum * sum;
    }
    return 12 / (n * k * (k + 1)) * squares - 3 * n * (k + 1);
}

/* Compares p with the count over all equally likely ways, for one way of each statistic, and hands
 * the probabilities to `printed`: pairs of statistic and printed p, ended by a negative one. */
static void check_by_enumeration(size_t answers, size_t samples, const double *orders,
                                 size_t order_count, const double (*printed)[2])
{
    double *all = malloc(TABLES_MAX * sizeof *all);
    double ranks[32];
    size_t ways = 1;

    assert_non_null(all);
    for (size_t i = 0; i < answers; i++)
        ways *= order_count;
    assert_true(ways <= TABLES_MAX);
    for (size_t way = 0; way < ways; way++) {
        fill_ranks(way, answers, samples, orders, order_count, ranks);
        all[way] = plain_statistic(ranks, answers, samples);
    }
    double seen[200];
    size_t seen_count = 0;
    size_t printed_met = 0;
    for (size_t way = 0; way < ways; way++) {
        bool known = false;
        for (size_t i = 0; i < seen_count && !known; i++)
            known = fabs(seen[i] - all[way]) < 1e-9;
        if (known)
            continue;
        assert_true(seen_count < 200);
        seen[seen_count++] = all[way];
        size_t as_large = 0;
        for (size_t i = 0; i < ways; i++)
            as_large += all[i] > all[way] - 1e-9;
        struct pm_friedman result;
        fill_ranks(way, answers, samples, orders, order_count, ranks);
        assert_int_equal(pm_panel_friedman(ranks, answers, samples, 1, &result, NULL), PM_OK);
        assert_int_equal(result.by, PM_BY_COUNTING);
        assert_near(result.statistic, all[way], 1e-9);
        assert_close(result.p, (double)as_large / (double)ways, 1e-12, "exact p");
        for (size_t i = 0; printed[i][0] >= 0; i++) {
            if (fabs(printed[i][0] - result.statistic) < 6e-4) {
                assert_near(result.p, printed[i][1], printed[i][1] < 0.01 ? 6e-5 : 1e-3);
                printed_met++;
            }
        }
    }
    size_t printed_count = 0;
    while (printed[printed_count][0] >= 0)
        printed_count++;
    assert_int_equal(printed_met, printed_count);
    free(all);
}

/* Printed probabilities: Friedman's tables of 1937 as reprinted in Siegel, Nonparametric Statistics
 * for the Behavioral Sciences (1956), Table N; from memory. Held to one unit of the last digit: for
 * four samples, two answers and a statistic of 1.2 the remembered 0.834 is exactly 20/24. */
static void test_friedman_exact(void **state)
{
    static const double three_by_three[][2] = {{0, 1.000},     {0.667, 0.944}, {2.000, 0.528},
                                               {2.667, 0.361}, {4.667, 0.194}, {6.000, 0.028},
                                               {-1, 0}};
    static const double three_by_four[][2] = {
        {0, 1.000},   {0.5, 0.931}, {1.5, 0.653}, {2.0, 0.431},  {3.5, 0.273},
        {4.5, 0.125}, {6.0, 0.069}, {6.5, 0.042}, {8.0, 0.0046}, {-1, 0}};
    static const double four_by_two[][2] = {{0, 1.000},   {0.6, 0.958}, {1.2, 0.834}, {1.8, 0.792},
                                            {2.4, 0.625}, {3.0, 0.542}, {3.6, 0.458}, {4.2, 0.375},
                                            {4.8, 0.208}, {5.4, 0.167}, {6.0, 0.042}, {-1, 0}};
    static const double none[][2] = {{-1, 0}};
    double orders4[24][4];
    size_t count = 0;

    (void)state;
    for (int way = 0; way < 256; way++) {
        int order[4] = {way & 3, way >> 2 & 3, way >> 4 & 3, way >> 6};
        int places = 1 << order[0] | 1 << order[1] | 1 << order[2] | 1 << order[3];
        for (size_t i = 0; places == 15 && i < 4; i++)
            orders4[count][i] = order[i] + 1;
        count += places == 15;
    }
    assert_int_equal(count, 24);
    check_by_enumeration(3, 3, &orders3[0][0], 6, three_by_three);
    check_by_enumeration(4, 3, &orders3[0][0], 6, three_by_four);
    check_by_enumeration(7, 3, &orders3[0][0], 6, none);
    check_by_enumeration(2, 4, &orders4[0][0], 24, four_by_two);
    check_by_enumeration(4, 4, &orders4[0][0], 24, none);
}

/* With ties: each row may have come in any order of the ranks it has. */
static void test_friedman_exact_with_ties(void **state)
{
    static const double rows[4][3] = {{1, 2, 3}, {1.5, 1.5, 3}, {2, 2, 2}, {1, 2.5, 2.5}};
    static const size_t order[6][3] = {{0, 1, 2}, {0, 2, 1}, {1, 0, 2},
                                       {1, 2, 0}, {2, 0, 1}, {2, 1, 0}};
    double observed[4][3];
    struct pm_friedman result;
    int as_large = 0;

    (void)state;
    memcpy(observed, rows, sizeof observed);
    assert_int_equal(pm_panel_friedman(&observed[0][0], 4, 3, 1, &result, NULL), PM_OK);
    double least = plain_statistic(&observed[0][0], 4, 3) - 1e-9;
    for (size_t way = 0; way < 1296; way++) {
        double ranks[4][3];
        size_t rest = way;
        for (size_t i = 0; i < 4; i++, rest /= 6)
            for (size_t j = 0; j < 3; j++)
                ranks[i][j] = rows[i][order[rest % 6][j]];
        as_large += plain_statistic(&ranks[0][0], 4, 3) >= least;
    }
    assert_int_equal(result.by, PM_BY_COUNTING);
    assert_close(result.p, as_large / 1296.0, 1e-12, "tied p");
}

/* Two assessors in full agreement, or in full disagreement: one order of all there are. */
static void test_friedman_two_answers(void **state)
{
    double orders = 1;
    struct pm_friedman result;

    (void)state;
    for (size_t samples = 2; samples <= PM_PANEL_SAMPLES_MAX; samples++) {
        orders *= (double)samples;
        double rows[2 * PM_PANEL_SAMPLES_MAX];
        for (size_t i = 0; i < samples; i++)
            rows[i] = rows[samples + i] = (double)i + 1;
        assert_int_equal(pm_panel_friedman(rows, 2, samples, 1, &result, NULL), PM_OK);
        assert_int_equal(result.by, PM_BY_COUNTING);
        assert_close(result.p, 1 / orders, 1e-12, "agreement");
        for (size_t i = 0; i < samples; i++)
            rows[samples + i] = (double)(samples - i);
        assert_int_equal(pm_panel_friedman(rows, 2, samples, 1, &result, NULL), PM_OK);
        assert_close(result.p, 1, 1e-12, "disagreement");
    }
    /* Three of eight share the first place: their 3! orders are one ranking. */
    double tied[16];
    for (size_t i = 0; i < 16; i++)
        tied[i] = i % 8 < 3 ? 2 : (double)(i % 8) + 1;
    assert_int_equal(pm_panel_friedman(tied, 2, 8, 1, &result, NULL), PM_OK);
    assert_close(result.p, 6.0 / 40320, 1e-12, "tied agreement");
}

/* Seven samples, three assessors: full agreement is met by each of the others by chance
 * once in all orders. */
static void test_friedman_many_samples(void **state)
{
    double ranks[21];
    struct pm_friedman result;

    (void)state;
    for (size_t i = 0; i < 21; i++)
        ranks[i] = (double)(i % 7) + 1;
    assert_int_equal(pm_panel_friedman(ranks, 3, 7, 1, &result, NULL), PM_OK);
    assert_int_equal(result.by, PM_BY_COUNTING);
    assert_close(result.p, 1.0 / 5040 / 5040, 1e-9, "three agree");
}

/* Beyond counting: the same seed says the same, another one as much within the error told, and
 * where chi-square is good both agree. */
static void test_friedman_permutations(void **state)
{
    static double ranks[150 * 10];
    struct pm_friedman result, other;
    struct pm_random random;

    (void)state;
    pm_random_seed(&random, 5);
    for (size_t row = 0; row < 150; row++) {
        uint8_t order[10] = {1, 2, 3, 4, 5, 6, 7, 8, 9, 10};
        pm_random_shuffle(&random, order, 10);
        for (size_t i = 0; i < 10; i++)
            ranks[row * 10 + i] = order[i];
    }
    assert_int_equal(pm_panel_friedman(ranks, 150, 10, 7, &result, NULL), PM_OK);
    assert_int_equal(result.by, PM_BY_PERMUTATIONS);
    assert_true(result.permutations >= 10000 && result.error > 0 && result.error < 0.01);
    assert_near(result.p, gsl_cdf_chisq_Q(result.statistic, 9), result.error + 0.01);
    assert_int_equal(pm_panel_friedman(ranks, 150, 10, 7, &other, NULL), PM_OK);
    assert_close(other.p, result.p, 0, "same seed");
    assert_int_equal(pm_panel_friedman(ranks, 150, 10, 8, &other, NULL), PM_OK);
    assert_near(other.p, result.p, 2 * result.error);
    /* Ten assessors agree about nine: no p of 0, never smaller than what was drawn can say. */
    for (size_t i = 0; i < 90; i++)
        ranks[i] = (double)(i % 9) + 1;
    assert_int_equal(pm_panel_friedman(ranks, 10, 9, 1, &result, NULL), PM_OK);
    assert_int_equal(result.by, PM_BY_PERMUTATIONS);
    assert_close(result.p, 1 / (double)result.permutations, 1e-12, "least p");
}

static void test_friedman_large_and_even(void **state)
{
    double *ranks = malloc(2000 * 8 * sizeof *ranks);
    struct pm_friedman result;
    struct pm_random random;

    (void)state;
    assert_non_null(ranks);
    pm_random_seed(&random, 11);
    for (size_t row = 0; row < 2000; row++) {
        uint8_t order[8] = {1, 2, 3, 4, 5, 6, 7, 8};
        pm_random_shuffle(&random, order, 8);
        for (size_t i = 0; i < 8; i++)
            ranks[row * 8 + i] = order[i];
    }
    assert_int_equal(pm_panel_friedman(ranks, 2000, 8, 1, &result, NULL), PM_OK);
    assert_int_equal(result.by, PM_BY_CHI_SQUARE);
    assert_close(result.p, gsl_cdf_chisq_Q(result.statistic, 7), 1e-10, "approximation");

    /* Where both are affordable they say much the same: 60 answers about three samples. */
    for (size_t row = 0; row < 60; row++)
        memcpy(ranks + row * 3, orders3[row * row % 5], sizeof orders3[0]);
    assert_int_equal(pm_panel_friedman(ranks, 60, 3, 1, &result, NULL), PM_OK);
    assert_int_equal(result.by, PM_BY_COUNTING);
    assert_close(result.p, gsl_cdf_chisq_Q(result.statistic, 2), 0.1, "both");

    /* Nobody told anything apart: no evidence at all. */
    for (size_t i = 0; i < 30; i++)
        ranks[i] = 2;
    assert_int_equal(pm_panel_friedman(ranks, 10, 3, 1, &result, NULL), PM_OK);
    assert_true(result.statistic <= 0 && result.p >= 1);
    free(ranks);
}

static void test_friedman_refusals(void **state)
{
    double ranks[9] = {1, 2, 3, 3, 1, 2, 1, 1, 4};
    struct pm_friedman result = {.degrees = 77};
    struct pm_error error;

    (void)state;
    assert_int_equal(pm_panel_friedman(ranks, 1, 3, 1, &result, &error), PM_REFUSED);
    assert_int_equal(pm_panel_friedman(ranks, 3, 1, 1, &result, &error), PM_REFUSED);
    assert_int_equal(pm_panel_friedman(ranks, 3, 13, 1, &result, &error), PM_REFUSED);
    assert_int_equal(pm_panel_friedman(ranks, 3, 3, 1, &result, &error), PM_INVALID);
    assert_non_null(strstr(error.text, "Answer 3 "));
    ranks[8] = (double)NAN;
    assert_int_equal(pm_panel_friedman(ranks, 3, 3, 1, &result, &error), PM_INVALID);
    assert_int_equal(result.degrees, 77);
}

static void test_friedman_without_memory(void **state)
{
    double ranks[24][3];
    struct pm_friedman result = {.degrees = 77};

    (void)state;
    for (size_t row = 0; row < 24; row++)
        memcpy(ranks[row], orders3[row % 6], sizeof ranks[row]);
    for (long n = 1;; n++) {
        pm_mem_fail_at(n, false);
        enum pm_status status = pm_panel_friedman(&ranks[0][0], 24, 3, 1, &result, NULL);
        long asked = pm_mem_fail_at(0, false);
        if (status == PM_OK) {
            assert_true(n > 2 && asked < n);
            break;
        }
        assert_int_equal(status, PM_NOMEM);
        assert_int_equal(result.degrees, 77);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_published_least_numbers),
        cmocka_unit_test(test_least_number_is_the_least),
        cmocka_unit_test(test_upper_tail_vectors),
        cmocka_unit_test(test_upper_tail_against_gmp),
        cmocka_unit_test(test_upper_tail_against_gsl),
        cmocka_unit_test(test_upper_tail_ends),
        cmocka_unit_test(test_discriminators_vectors),
        cmocka_unit_test(test_discriminators_against_gsl),
        cmocka_unit_test(test_power),
        cmocka_unit_test(test_words),
        cmocka_unit_test(test_chi_square_against_gsl),
        cmocka_unit_test(test_rank_difference),
        cmocka_unit_test(test_friedman_worked_example),
        cmocka_unit_test(test_friedman_exact),
        cmocka_unit_test(test_friedman_exact_with_ties),
        cmocka_unit_test(test_friedman_two_answers),
        cmocka_unit_test(test_friedman_many_samples),
        cmocka_unit_test(test_friedman_permutations),
        cmocka_unit_test(test_friedman_large_and_even),
        cmocka_unit_test(test_friedman_refusals),
        cmocka_unit_test(test_friedman_without_memory),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
