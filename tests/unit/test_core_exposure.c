/* SPDX-License-Identifier: MIT */
/*
 * Exposure and rules: random formulas against GMP's exact fractions, the edges, and what is not
 * known. The worked examples of published limits are in the tests of the limits themselves.
 */
#include "permille/base/mem.h"
#include "permille/core/exposure.h"

#include <gmp.h>
#include <gsl/gsl_rng.h>
#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

#define PART INT64_C(1000000000000) /* a part in pico-parts */

static struct pm_judgement judge(const struct pm_rule *rule, const struct pm_exposure *exposure,
                                 pm_strength dosage)
{
    struct pm_judgement out;
    pm_rule_judge(rule, exposure, dosage, NULL, NULL, &out);
    return out;
}

static void expose(const struct pm_brought *materials, size_t count, pm_fine total,
                   struct pm_exposure *out)
{
    struct pm_error err = {0};
    if (pm_exposure_of(materials, count, total, PM_BY_MOST, out, &err) != PM_OK)
        fail_msg("%s", err.text);
}

/* 5 % of a substance, dosed at 15 %: 0.75 %; a limit of 0.60 % allows 12 %. */
static void a_limit(void **state)
{
    (void)state;
    const struct pm_content itself[] = {{1, PM_NEAT, PM_NEAT, PM_NEAT}};
    const struct pm_brought materials[] = {{50 * PART, itself, 1}};
    const struct pm_rule_member members[] = {{1, PM_UNKNOWN}};
    const struct pm_rule rule = {PM_RULE_LIMIT, members, 1, 6000000};
    struct pm_exposure exposure;
    expose(materials, 1, 1000 * PART, &exposure);
    struct pm_judgement got = judge(&rule, &exposure, 150000000);
    assert_int_equal(got.percent, INT64_C(7500000000));
    assert_int_equal(got.verdict, PM_OVER);
    assert_int_equal(got.highest_dosage, 120000000);
    assert_true(got.headroom < 0);
    /* Reaching it is allowed, a billionth more is not. */
    assert_int_equal(judge(&rule, &exposure, 120000000).verdict, PM_WITHIN);
    assert_int_equal(judge(&rule, &exposure, 120000001).verdict, PM_OVER);
    pm_exposure_release(&exposure);
}

static void sums_of_all_sources(void **state)
{
    (void)state;
    const struct pm_content oil[] = {{7, PM_NEAT, PM_NEAT, PM_NEAT},
                                     {1, 0, PM_UNKNOWN, 450000000},
                                     {2, 0, PM_UNKNOWN, 350000000}};
    const struct pm_content citral[] = {{1, PM_UNKNOWN, PM_UNKNOWN, PM_NEAT}};
    const struct pm_brought materials[] = {{10 * PART, citral, 1}, {20 * PART, oil, 3}};
    const struct pm_rule_member members[] = {{1, PM_UNKNOWN}, {2, PM_UNKNOWN}, {9, PM_UNKNOWN}};
    const struct pm_rule rule = {PM_RULE_LIMIT, members, 3, 6000000};
    struct pm_exposure exposure;
    size_t count;
    expose(materials, 2, 1000 * PART, &exposure);
    /* 1 % and 2 % x 80 %: 2.6 % of the concentrate. */
    assert_int_equal(judge(&rule, &exposure, 200000000).percent, INT64_C(5200000000));
    assert_int_equal(judge(&rule, &exposure, 200000000).verdict, PM_WITHIN);
    assert_int_equal(judge(&rule, &exposure, 250000000).verdict, PM_OVER);
    size_t first = pm_exposure_find(&exposure, 1, &count);
    assert_int_equal(count, 2);
    assert_int_equal(exposure.parts[first].source, 0);
    pm_exposure_find(&exposure, 3, &count);
    assert_int_equal(count, 0);
    pm_exposure_release(&exposure);
}

/* A content that nobody gave makes "within" impossible, but not "over". */
static void unknown_is_never_within(void **state)
{
    (void)state;
    const struct pm_content known[] = {{1, 0, 0, 100000000}};
    const struct pm_content not_known[] = {{1, 50000000, PM_UNKNOWN, PM_UNKNOWN}};
    const struct pm_brought materials[] = {{100 * PART, known, 1}, {100 * PART, not_known, 1}};
    const struct pm_rule_member members[] = {{1, PM_UNKNOWN}};
    struct pm_rule rule = {PM_RULE_LIMIT, members, 1, 500000000};
    struct pm_exposure exposure;
    expose(materials, 2, 1000 * PART, &exposure);
    struct pm_judgement got = judge(&rule, &exposure, PM_NEAT);
    assert_int_equal(got.verdict, PM_VERDICT_UNKNOWN);
    assert_int_equal(got.highest_dosage, PM_UNKNOWN);
    assert_true(got.unknown_amount);
    rule.limit = 5000000;
    assert_int_equal(judge(&rule, &exposure, PM_NEAT).verdict, PM_OVER);
    rule.limit = PM_UNKNOWN;
    assert_int_equal(judge(&rule, &exposure, PM_NEAT).verdict, PM_VERDICT_UNKNOWN);
    rule.limit = PM_NO_LIMIT;
    assert_int_equal(judge(&rule, &exposure, PM_NEAT).verdict, PM_WITHIN);
    rule.limit = 0;
    assert_int_equal(judge(&rule, &exposure, 1).verdict, PM_OVER);
    /* The label: nothing is declared for an amount that is unknown, nor called below. */
    rule = (struct pm_rule){PM_RULE_DECLARE, members, 1, 500000000};
    got = judge(&rule, &exposure, PM_NEAT);
    assert_false(got.declare);
    assert_int_equal(got.verdict, PM_VERDICT_UNKNOWN);
    pm_exposure_release(&exposure);
}

static void label_thresholds_are_exceeded(void **state)
{
    (void)state;
    const struct pm_content itself[] = {{1, PM_NEAT, PM_NEAT, PM_NEAT}};
    const struct pm_brought exact[] = {{10000000, itself, 1}}, more[] = {{10000001, itself, 1}};
    const struct pm_rule_member members[] = {{1, PM_UNKNOWN}};
    const struct pm_rule rule = {PM_RULE_DECLARE, members, 1, 10000};
    struct pm_exposure exposure;
    expose(exact, 1, PART, &exposure);
    assert_false(judge(&rule, &exposure, PM_NEAT).declare);
    pm_exposure_release(&exposure);
    expose(more, 1, PART, &exposure);
    assert_true(judge(&rule, &exposure, PM_NEAT).declare);
    pm_exposure_release(&exposure);
}

static bool first_is_added(void *context, size_t source, int64_t substance)
{
    (void)context;
    (void)substance;
    return source == 0;
}

static void prohibitions(void **state)
{
    (void)state;
    const struct pm_content itself[] = {{1, PM_NEAT, PM_NEAT, PM_NEAT}},
                            oil[] = {{1, 0, 0, 1000000}};
    const struct pm_brought added[] = {{1, itself, 1}};
    const struct pm_brought natural[] = {{0, itself, 1}, {PART, oil, 1}};
    const struct pm_rule_member members[] = {{1, PM_UNKNOWN}};
    struct pm_rule rule = {PM_RULE_PROHIBIT, members, 1, 100000};
    struct pm_exposure exposure;
    struct pm_judgement got;
    /* The smallest trace, added as such. */
    expose(added, 1, 1000 * PART, &exposure);
    pm_rule_judge(&rule, &exposure, 1, first_is_added, NULL, &got);
    assert_int_equal(got.verdict, PM_PROHIBITED);
    assert_int_equal(got.highest_dosage, 0);
    assert_int_equal(got.percent, 1);
    pm_exposure_release(&exposure);
    /* As what a natural brings, up to the limit; without one, not at all. */
    expose(natural, 2, 10 * PART, &exposure);
    pm_rule_judge(&rule, &exposure, PM_NEAT, first_is_added, NULL, &got);
    assert_int_equal(got.verdict, PM_WITHIN);
    rule.limit = PM_UNKNOWN;
    pm_rule_judge(&rule, &exposure, PM_NEAT, first_is_added, NULL, &got);
    assert_int_equal(got.verdict, PM_PROHIBITED);
    pm_exposure_release(&exposure);
}

/* 50 % and 60 % of two allowances that share one: 110 %. */
static void shared_allowance(void **state)
{
    (void)state;
    const struct pm_content one[] = {{1, PM_NEAT, PM_NEAT, PM_NEAT}},
                            other[] = {{2, PM_NEAT, PM_NEAT, PM_NEAT}};
    const struct pm_brought materials[] = {{2 * PART, one, 1}, {42 * PART / 10, other, 1}};
    const struct pm_rule_member members[] = {{1, 4000000}, {2, 7000000}, {3, PM_UNKNOWN}};
    const struct pm_rule rule = {PM_RULE_SHARES, members, 3, PM_UNKNOWN};
    struct pm_exposure exposure;
    expose(materials, 2, 1000 * PART, &exposure);
    struct pm_judgement got = judge(&rule, &exposure, PM_NEAT);
    assert_int_equal(got.percent, INT64_C(1100000000000));
    assert_int_equal(got.verdict, PM_OVER);
    assert_int_equal(got.highest_dosage, 909090909);
    assert_int_equal(judge(&rule, &exposure, 909090909).verdict, PM_WITHIN);
    pm_exposure_release(&exposure);
}

static pm_strength random_strength(gsl_rng *random)
{
    return gsl_rng_uniform_int(random, 5) == 0
               ? PM_UNKNOWN
               : (pm_strength)gsl_rng_uniform_int(random, 1000000001);
}

/* amount x 1e-9 of a 128-bit integer. */
static void set_wide(mpz_t out, int64_t a, int64_t b)
{
    mpz_set_si(out, a);
    mpz_mul_si(out, out, b);
}

/* Sums, verdicts, percentages and highest dosages of random formulas, with amounts of all sizes. */
static void against_gmp(void **state)
{
    (void)state;
    enum { MATERIALS = 12, SUBSTANCES = 6 };
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    mpz_t sum, term, left, right;
    mpz_inits(sum, term, left, right, NULL);
    for (int run = 0; run < 20000; run++) {
        struct pm_content contents[MATERIALS][SUBSTANCES];
        struct pm_brought materials[MATERIALS];
        struct pm_exposure exposure;
        pm_fine total = 0;
        for (size_t i = 0; i < MATERIALS; i++) {
            int64_t size = 1;
            for (unsigned long k = gsl_rng_uniform_int(random, 17); k > 0; k--)
                size *= 10;
            materials[i] = (struct pm_brought){(int64_t)(gsl_rng_uniform(random) * (double)size),
                                               contents[i], 0};
            total += materials[i].amount;
            for (int64_t k = 0; k < SUBSTANCES; k++)
                if (gsl_rng_uniform_int(random, 2))
                    contents[i][materials[i].count++] =
                        (struct pm_content){k + 1, PM_UNKNOWN, PM_UNKNOWN, random_strength(random)};
        }
        if (total == 0)
            continue;
        expose(materials, MATERIALS, total, &exposure);
        const struct pm_rule_member members[] = {{2, PM_UNKNOWN}, {5, PM_UNKNOWN}};
        const struct pm_rule rule = {PM_RULE_LIMIT, members, 2,
                                     (pm_strength)gsl_rng_uniform_int(random, 300000000)};
        pm_strength dosage = 1 + (pm_strength)gsl_rng_uniform_int(random, 1000000000);
        bool unknown = false;
        mpz_set_ui(sum, 0);
        for (size_t i = 0; i < MATERIALS; i++)
            for (size_t k = 0; k < materials[i].count; k++) {
                const struct pm_content *content = &contents[i][k];
                if ((content->substance != 2 && content->substance != 5) ||
                    materials[i].amount == 0)
                    continue;
                unknown = unknown || content->most == PM_UNKNOWN;
                if (content->most != PM_UNKNOWN) {
                    set_wide(term, materials[i].amount, content->most);
                    mpz_add(sum, sum, term);
                }
            }
        struct pm_judgement got = judge(&rule, &exposure, dosage);
        mpz_mul_si(left, sum, dosage);
        set_wide(right, rule.limit, total);
        mpz_mul_si(right, right, PM_NEAT);
        bool over = mpz_cmp(left, right) > 0;
        assert_int_equal(got.verdict, over ? PM_OVER : unknown ? PM_VERDICT_UNKNOWN : PM_WITHIN);
        /* 2 x sum x dosage + total x 1e6 over 2 x total x 1e6, rounded down. */
        mpz_mul_ui(left, left, 2);
        set_wide(term, total, 1000000);
        mpz_add(left, left, term);
        mpz_mul_ui(term, term, 2);
        mpz_fdiv_q(left, left, term);
        int64_t percent = (int64_t)mpz_get_si(left);
        if (percent == 0 && mpz_sgn(sum) > 0)
            percent = 1;
        assert_int_equal(got.percent, percent);
        if (mpz_sgn(sum) > 0 && !unknown) {
            mpz_fdiv_q(right, right, sum);
            pm_strength highest = mpz_cmp_si(right, PM_NEAT) > 0 ? PM_NEAT : mpz_get_si(right);
            assert_int_equal(got.highest_dosage, highest);
        }
        pm_exposure_release(&exposure);
    }
    mpz_clears(sum, term, left, right, NULL);
    gsl_rng_free(random);
}

static void refusals(void **state)
{
    (void)state;
    const struct pm_content much[] = {{1, 0, 0, PM_NEAT + 1}},
                            twice[] = {{1, 0, 0, 5}, {1, 0, 0, 6}};
    const struct pm_brought a[] = {{PART, much, 1}}, b[] = {{PART, twice, 2}},
                            c[] = {{-1, twice, 1}};
    struct pm_exposure exposure;
    struct pm_error err = {0};
    assert_int_equal(pm_exposure_of(a, 1, PART, PM_BY_MOST, &exposure, &err), PM_INVALID);
    assert_int_equal(pm_exposure_of(b, 1, PART, PM_BY_MOST, &exposure, &err), PM_INVALID);
    assert_int_equal(pm_exposure_of(c, 1, PART, PM_BY_MOST, &exposure, &err), PM_INVALID);
    assert_int_equal(pm_exposure_of(b, 0, 0, PM_BY_MOST, &exposure, &err), PM_INVALID);
    assert_int_equal(pm_exposure_of(b, 1, PART - 1, PM_BY_MOST, &exposure, &err), PM_INVALID);
    pm_mem_fail_at(1, false);
    assert_int_equal(pm_exposure_of(b, 1, PART, PM_BY_MOST, &exposure, &err), PM_NOMEM);
    pm_mem_fail_at(0, false);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_limit),
        cmocka_unit_test(sums_of_all_sources),
        cmocka_unit_test(unknown_is_never_within),
        cmocka_unit_test(label_thresholds_are_exceeded),
        cmocka_unit_test(prohibitions),
        cmocka_unit_test(shared_allowance),
        cmocka_unit_test(against_gmp),
        cmocka_unit_test(refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
