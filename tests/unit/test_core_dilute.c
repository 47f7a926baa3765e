/* SPDX-License-Identifier: MIT */
/*
 * Dilutions by mass against pharmacy textbooks and worked examples. Each check names its row of
 * tests/data/check-vectors.csv, which names the source; rows from memory say so there and here.
 */
#include "permille/core/dilute.h"
#include "trials.h"
#include "vectors.h"

#include <gmp.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define PERCENT (PM_NEAT / 100)

static pm_strength percent(double value)
{
    return (pm_strength)(value * (double)PERCENT + 0.5);
}

static pm_mass grams(double value)
{
    return (pm_mass)(value * (double)PM_GRAM + 0.5);
}

/* What a number's text says, the first or the one after a colon. */
static double shown(const char *text, bool second)
{
    const char *colon = strchr(text, ':');
    return strtod(second && colon != NULL ? colon + 1 : text, NULL);
}

/* DIL-1, DIL-2, DIL-3 and DIL-4 are from memory of a textbook of pharmaceutical calculations; the
 * others from published worked examples. */
static void alligation_alternate(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    vectors_open(&vectors, "alligation_alternate");
    while ((row = vectors_next(&vectors)) != NULL) {
        const char *strengths = vector_text(row[INPUT], "strengths");
        pm_strength high = percent(strtod(strengths, NULL));
        pm_strength low = percent(strtod(strchr(strengths, ',') + 1, NULL));
        pm_strength wanted = percent(vector_number(row[INPUT], "target"));
        pm_mass of_high = 0, of_low = 0;
        double expected_high = shown(row[EXPECTED], false);
        double expected_low = shown(row[EXPECTED], true);
        if (strstr(row[INPUT], "have_low_g") != NULL) /* solved for the high part alone */
            expected_low = vector_number(row[INPUT], "have_low_g");
        pm_mass target = grams(expected_high + expected_low);
        assert_int_equal(pm_alligate_split(target, wanted, high, low, &of_high, &of_low, NULL),
                         PM_OK);
        if (of_high != grams(expected_high) || of_low != grams(expected_low)) {
            fail_msg("%s: %lld and %lld micrograms", row[ID], (long long)of_high,
                     (long long)of_low);
        }
        const pm_mass masses[] = {of_high, of_low};
        const pm_strength both[] = {high, low};
        pm_strength mean = 0;
        assert_int_equal(pm_alligate_mean(masses, both, 2, &mean, NULL), PM_OK);
        assert_int_equal(mean, wanted);
    }
    vectors_close(&vectors, 5);
}

static void alligation_medial(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    vectors_open(&vectors, "alligation_medial");
    while ((row = vectors_next(&vectors)) != NULL) {
        pm_mass masses[4];
        pm_strength strengths[4], mean = 0;
        const char *amount = vector_text(row[INPUT], "amounts");
        const char *strength = vector_text(row[INPUT], "strengths");
        size_t count = 0;
        for (bool more = true; more; count++) {
            char *end_amount, *end_strength;
            masses[count] = grams(strtod(amount, &end_amount));
            strengths[count] = percent(strtod(strength, &end_strength));
            more = *end_amount == ',';
            amount = end_amount + 1;
            strength = end_strength + 1;
        }
        assert_int_equal(pm_alligate_mean(masses, strengths, count, &mean, NULL), PM_OK);
        assert_true(llabs(mean - percent(shown(row[EXPECTED], false))) <= 1);
    }
    vectors_close(&vectors, 3);
}

/* C1 V1 = C2 V2, by volume in the rows and by mass here, which is the same arithmetic. DIL-1 and
 * the volumes of the pharmacopoeia's dilute ethanols but the 20 % are from memory. */
static void check_product(char **row)
{
    const pm_strength strong = percent(vector_number(row[INPUT], "c1_percent"));
    const pm_mass whole = grams(vector_number(row[INPUT], "v2_mL"));
    const double wanted = strtod(row[EXPECTED], NULL);
    if (strcmp(vector_text(row[INPUT], "solve"), "c2") == 0) {
        const pm_mass stock = grams(vector_number(row[INPUT], "v1_mL"));
        pm_strength out = 0;
        assert_int_equal(pm_dilute_result(stock, strong, whole - stock, &out, NULL), PM_OK);
        if (llabs(out - percent(wanted)) > PERCENT / 20000) /* four decimals are given */
            fail_msg("%s: %lld", row[ID], (long long)out);
    } else {
        const pm_strength weak = percent(vector_number(row[INPUT], "c2_percent"));
        pm_mass stock = 0, solvent = 0;
        assert_int_equal(pm_dilute_plan(whole, weak, strong, &stock, &solvent, NULL), PM_OK);
        if (llabs(stock - grams(wanted)) > 1)
            fail_msg("%s: %lld", row[ID], (long long)stock);
    }
}

/* QUAL-3, a published pharmacy example: 100 g of 33.27 % from 94.10 % takes 35.36 g of it. */
static void check_from_stock(char **row)
{
    const pm_mass whole = grams(vector_number(row[INPUT], "final_g"));
    pm_mass stock = 0, solvent = 0;
    assert_int_equal(pm_dilute_plan(whole,
                                    percent(vector_number(row[INPUT], "target_mass_percent")),
                                    percent(vector_number(row[INPUT], "stock_mass_percent")),
                                    &stock, &solvent, NULL),
                     PM_OK);
    assert_true(llabs(stock - grams(strtod(row[EXPECTED], NULL))) <= 1);
    assert_int_equal(stock + solvent, whole);
}

/* DIL-19, computed: 30 g of 10 % is 3 g and 27 g. */
static void check_from_neat(char **row)
{
    pm_mass stock = 0, solvent = 0;
    assert_int_equal(pm_dilute_plan(grams(vector_number(row[INPUT], "target_g")),
                                    percent(100 * vector_number(row[INPUT], "strength")), PM_NEAT,
                                    &stock, &solvent, NULL),
                     PM_OK);
    assert_int_equal(stock, grams(vector_number(row[EXPECTED], "solute_g")));
    assert_int_equal(solvent, grams(vector_number(row[EXPECTED], "carrier_g")));
}

static void made_up(void **state)
{
    (void)state;
    vectors_each("c1v1", 11, check_product);
    vectors_each("dilution_by_mass", 1, check_from_stock);
    vectors_each("make_dilution", 1, check_from_neat);
}

/* DIL-12, DIL-13, DIL-14, computed: strengths of dilutions of dilutions multiply. */
static void nested(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    vectors_open(&vectors, "nested_dilution");
    while ((row = vectors_next(&vectors)) != NULL) {
        const char *step = vector_text(row[INPUT], "steps");
        pm_strength strength = PM_NEAT;
        for (bool more = true; more;) {
            char *end;
            double factor = strtod(step, &end);
            pm_mass stock = grams(20 * factor);
            assert_int_equal(pm_dilute_result(stock, strength, grams(20) - stock, &strength, NULL),
                             PM_OK);
            more = *end == ',';
            step = end + 1;
        }
        assert_int_equal(strength, (pm_strength)(strtod(row[EXPECTED], NULL) * 1e9 + 0.5));
    }
    vectors_close(&vectors, 3);
}

/* What is planned and then made has the strength wanted, to the microgram, against GMP. */
static void plans_against_rationals(void **state)
{
    (void)state;
    struct tr_random random = {11};
    mpq_t made, exact;
    mpq_inits(made, exact, NULL);
    for (int turn = 0; turn < 5000; turn++) {
        pm_mass target = tr_random_below(&random, PM_MASS_MAX) >> tr_random_below(&random, 40);
        pm_strength stock = tr_random_below(&random, PM_NEAT) + 1;
        pm_strength wanted = tr_random_below(&random, stock) + 1;
        pm_mass of_stock = -1, of_solvent = -1;
        assert_int_equal(pm_dilute_plan(target, wanted, stock, &of_stock, &of_solvent, NULL),
                         PM_OK);
        assert_int_equal(of_stock + of_solvent, target);
        assert_true(of_stock >= 0 && of_solvent >= 0);
        mpq_set_si(exact, wanted, (unsigned long)stock);
        mpq_canonicalize(exact);
        mpq_set_si(made, target, 1);
        mpq_mul(exact, exact, made);
        mpq_set_si(made, of_stock, 1);
        mpq_sub(exact, exact, made);
        mpq_abs(exact, exact);
        assert_true(mpq_cmp_ui(exact, 1, 2) <= 0);
    }
    mpq_clears(made, exact, NULL);
}

static void refusals(void **state)
{
    (void)state;
    struct pm_error err;
    pm_mass a = 5, b = 6;
    pm_strength s = 7;
    assert_int_equal(pm_dilute_plan(grams(10), percent(20), percent(10), &a, &b, &err), PM_REFUSED);
    assert_non_null(strstr(err.text, "10 %"));
    assert_int_equal(pm_dilute_plan(-1, percent(1), percent(10), &a, &b, &err), PM_INVALID);
    assert_int_equal(pm_dilute_plan(1, 0, percent(10), &a, &b, &err), PM_INVALID);
    assert_int_equal(pm_dilute_plan(1, 1, PM_NEAT + 1, &a, &b, &err), PM_INVALID);
    assert_int_equal(pm_dilute_result(0, percent(10), 0, &s, &err), PM_INVALID);
    assert_int_equal(pm_alligate_split(1, percent(5), percent(4), percent(1), &a, &b, &err),
                     PM_REFUSED);
    assert_non_null(strstr(err.text, "from 1 % to 4 %"));
    assert_int_equal(pm_alligate_split(1, percent(5), percent(1), percent(9), &a, &b, &err),
                     PM_INVALID);
    assert_int_equal(a, 5);
    assert_int_equal(b, 6);
    assert_int_equal(s, 7);
    assert_int_equal(pm_alligate_split(9, percent(5), percent(5), percent(5), &a, &b, &err), PM_OK);
    assert_int_equal(a + b, 9);
}

/* 0.01 % of neat material on a balance of 0.01 g: 50 g come out twice as strong. */
static void weighed_in_steps(void **state)
{
    (void)state;
    struct pm_dilute_weights weights;
    assert_int_equal(
        pm_dilute_weigh(grams(50), percent(0.01), PM_NEAT, grams(0.01), &weights, NULL), PM_OK);
    assert_int_equal(weights.of_stock, grams(0.01));
    assert_int_equal(weights.of_solvent, grams(49.99));
    assert_int_equal(weights.comes_out, percent(0.02));
    assert_true(weights.off);
    assert_int_equal(weights.least, grams(98.04)); /* 0.01 / 98.04 is 1.98 % above 0.0001 */
    assert_int_equal(pm_dilute_grade(&weights, grams(0.01)), 0);
    assert_int_equal(
        pm_dilute_weigh(grams(49), percent(0.01), PM_NEAT, grams(0.01), &weights, NULL), PM_OK);
    assert_int_equal(weights.of_stock, 0); /* the balance reads none */
    assert_true(weights.off && weights.comes_out == 0);
    /* 1 % of 50 g: 10 % is weighed better than neat, and far better than 1.05 %. */
    const double stocks[] = {1.05, 100, 10};
    int last = 0;
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(
            pm_dilute_weigh(grams(50), percent(1), percent(stocks[i]), grams(0.01), &weights, NULL),
            PM_OK);
        assert_false(weights.off);
        int grade = pm_dilute_grade(&weights, grams(0.01));
        assert_true(i == 0 || grade > last || i == 1);
        last = i == 1 ? last : grade;
    }
    assert_int_equal(
        pm_dilute_weigh(grams(50), percent(20), percent(10), grams(0.01), &weights, NULL),
        PM_REFUSED);
}

/* The target that is named is the least from the one asked for on: each between them is off. */
static void least_is_the_least(void **state)
{
    (void)state;
    struct tr_random random = {14};
    for (int turn = 0; turn < 400; turn++) {
        pm_strength stock = tr_random_below(&random, PM_NEAT - 1000) + 1000;
        pm_strength wanted = stock / (2 + tr_random_below(&random, 300));
        const pm_mass step = 10000;
        const pm_mass asked =
            (1 + tr_random_below(&random, 4) * tr_random_below(&random, 900)) * step;
        struct pm_dilute_weights weights;
        assert_int_equal(pm_dilute_weigh(asked, wanted, stock, step, &weights, NULL), PM_OK);
        pm_mass least = weights.least;
        assert_true(least > 0 && (weights.off || least == asked));
        for (pm_mass target = asked; target < least; target += step) {
            assert_int_equal(pm_dilute_weigh(target, wanted, stock, step, &weights, NULL), PM_OK);
            assert_true(weights.off);
        }
        assert_int_equal(pm_dilute_weigh(least, wanted, stock, step, &weights, NULL), PM_OK);
        assert_false(weights.off);
        assert_int_equal(weights.of_stock + weights.of_solvent, least);
    }
}

/* What a bottle weighed to this strength is written at. */
static void strengths_are_written_round(void **state)
{
    (void)state;
    static const struct {
        const char *bottle, *written;
    } cases[] = {
        {"10%", "10%"},       {"9.953%", "10%"},
        {"10.03%", "10%"},    {"0.983%", "1%"},
        {"1.061%", "1.061%"}, {"25.1%", "25%"},
        {"12.5%", "12.5%"},   {"10.53%", "10.53%"}, /* 10.5 would be three digits */
        {"0.1002%", "0.1%"},  {"neat", "neat"},
        {"99.9%", "99.9%"},   {"0.0000001%", "0.0000001%"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        pm_strength bottle, written;
        assert_int_equal(pm_strength_read(cases[i].bottle, &bottle, NULL), PM_OK);
        assert_int_equal(pm_strength_read(cases[i].written, &written, NULL), PM_OK);
        assert_int_equal(pm_strength_written(bottle), written);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(strengths_are_written_round),
        cmocka_unit_test(alligation_alternate),
        cmocka_unit_test(alligation_medial),
        cmocka_unit_test(made_up),
        cmocka_unit_test(nested),
        cmocka_unit_test(plans_against_rationals),
        cmocka_unit_test(refusals),
        cmocka_unit_test(weighed_in_steps),
        cmocka_unit_test(least_is_the_least),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
