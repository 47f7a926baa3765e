/* SPDX-License-Identifier: MIT */
/*
 * Profiles against ceilings: judged as exact fractions judge them (GMP), at the edge of a ceiling
 * too, and never "within" what is not known. That ceilings are kept per accord is common practice,
 * no source.
 */
#include "permille/core/profile.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <gmp.h>

static struct pm_ceiling rows[] = {
    {.id = 1, .kind = PM_BY_FAMILY, .name = "Musk", .most = PM_WHOLE / 10},
    {.id = 2, .kind = PM_BY_VOLATILITY, .name = "top", .most = PM_WHOLE / 4},
    {.id = 3, .formula = 7, .kind = PM_BY_FAMILY, .name = "musk", .most = PM_WHOLE / 5},
};
static const struct pm_ceilings ceilings = {.items = rows, .count = 3};

static enum pm_ceiling_verdict judged(int64_t formula, int64_t musk, int64_t wood, int64_t unknown)
{
    struct pm_profile_group groups[] = {{.name = "m\xC3\xBCsk", .amount = musk},
                                        {.name = "wood", .amount = wood},
                                        {.amount = unknown}};
    const size_t over = pm_profile_judge(groups, 3, formula, &ceilings);
    assert_int_equal(over, groups[0].verdict == PM_CEILING_OVER);
    assert_int_equal(groups[1].verdict, PM_CEILING_NONE);
    assert_null(groups[2].ceiling);
    return groups[0].verdict;
}

static void a_ceiling_is_kept_to_its_last_grain(void **state)
{
    (void)state;
    assert_int_equal(judged(1, 100, 900, 0), PM_CEILING_WITHIN);
    assert_int_equal(judged(1, 100000001, 900000000, 0), PM_CEILING_OVER);
    assert_int_equal(judged(1, 99999999, 900000000, 0), PM_CEILING_WITHIN);
    /* its own counts, not the one for every formula */
    assert_int_equal(judged(7, 200, 800, 0), PM_CEILING_WITHIN);
    assert_int_equal(judged(7, 201, 800, 0), PM_CEILING_OVER);
}

static void what_has_no_family_may_be_over(void **state)
{
    (void)state;
    assert_int_equal(judged(1, 50, 900, 50), PM_CEILING_WITHIN);
    assert_int_equal(judged(1, 50, 899, 51), PM_CEILING_UNKNOWN);
    assert_int_equal(judged(1, 0, 0, 0), PM_CEILING_NONE);
}

static int64_t any(unsigned bits)
{
    int64_t value = 0;
    for (unsigned i = 0; i < bits; i++)
        value = value * 2 + (rand() & 1);
    return value;
}

static void set_wide(mpz_t out, pm_int128 value)
{
    mpz_set_ui(out, (unsigned long)(value >> 64));
    mpz_mul_2exp(out, out, 64);
    mpz_add_ui(out, out, (unsigned long)(value & UINT64_MAX));
}

/* The share as exact fractions round it, and whether it is above the ceiling. */
static void exact(const pm_int128 *amounts, size_t count, int64_t most, long *share, int *above)
{
    mpz_t sum, one, half;
    mpz_inits(sum, one, half, NULL);
    for (size_t i = 0; i < count; i++) {
        set_wide(one, amounts[i]);
        mpz_add(sum, sum, one);
    }
    set_wide(one, amounts[0]);
    mpz_mul_ui(one, one, (unsigned long)PM_WHOLE);
    mpz_mul_ui(half, sum, (unsigned long)most);
    *above = mpz_cmp(one, half) > 0;
    mpz_mul_2exp(one, one, 1);
    mpz_add(one, one, sum);
    mpz_mul_2exp(sum, sum, 1);
    mpz_fdiv_q(one, one, sum);
    *share = mpz_get_si(one);
    mpz_clears(sum, one, half, NULL);
}

static void exact_fractions_say_the_same(void **state)
{
    (void)state;
    srand(12);
    for (int round = 0; round < 20000; round++) {
        const unsigned bits = 1 + (unsigned)rand() % 93;
        struct pm_profile_group groups[3] = {{.name = "Musk"}, {.name = "a"}, {.name = "b"}};
        pm_int128 amounts[3];
        long share;
        int above;
        for (int i = 0; i < 3; i++) {
            amounts[i] = (pm_int128)any(bits / 2) << (bits - bits / 2) | any(bits - bits / 2);
            groups[i].amount = amounts[i];
        }
        if (round % 3 == 0) { /* at the edge */
            amounts[1] = amounts[0] * 9 - amounts[2] + round % 2;
            if (amounts[1] < 0 || amounts[1] >> 95 > 0)
                continue;
            groups[1].amount = amounts[1];
        }
        if (amounts[0] + amounts[1] + amounts[2] == 0)
            continue;
        exact(amounts, 3, PM_WHOLE / 10, &share, &above);
        pm_profile_judge(groups, 3, 1, &ceilings);
        assert_int_equal(groups[0].share, share);
        assert_int_equal(groups[0].verdict == PM_CEILING_OVER, above);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_ceiling_is_kept_to_its_last_grain),
        cmocka_unit_test(what_has_no_family_may_be_over),
        cmocka_unit_test(exact_fractions_say_the_same),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
