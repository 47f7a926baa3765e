/* SPDX-License-Identifier: MIT */
#include "permille/base/rounded.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static void digits_count(void **state)
{
    (void)state;
    assert_string_equal(pm_rounded(0.041666, 3, '.').text, "0.0417");
    assert_string_equal(pm_rounded(12, 3, ',').text, "12");
    assert_string_equal(pm_rounded(99.98, 2, ',').text, "100");
    assert_string_equal(pm_rounded(-7912, 2, ',').text, "-7900");
    assert_string_equal(pm_rounded(999600, 3, '.').text, "1e+06");
    assert_string_equal(pm_rounded(-1.2345, 3, ',').text, "-1,23");
    assert_string_equal(pm_rounded(2.5e9, 3, ',').text, "2,5e+09");
}

static void places_count(void **state)
{
    (void)state;
    assert_string_equal(pm_rounded_places(0.05, 3, ',').text, "0,050");
    assert_string_equal(pm_rounded_places(0.0499, 1, '\0').text, "0.0");
}

/* What is nothing has no sign before it. */
static void nothing_is_not_negative(void **state)
{
    (void)state;
    assert_string_equal(pm_rounded(-0.0, 3, '.').text, "0");
    assert_string_equal(pm_rounded_places(-0.0, 2, '.').text, "0.00");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(digits_count),
        cmocka_unit_test(places_count),
        cmocka_unit_test(nothing_is_not_negative),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
