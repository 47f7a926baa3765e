/* SPDX-License-Identifier: MIT */
/*
 * CAS numbers: the rule, on numbers that are known from outside.
 */
#include "permille/core/cas.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

/*
 * 107-07-3 is the worked example of "Check Digit Verification of CAS Registry Numbers" (Chemical
 * Abstracts Service): (7x1 + 0x2 + 7x3 + 0x4 + 1x5) mod 10 = 3. The others are the registry
 * numbers printed in chemical catalogues and in the CRC Handbook, from memory.
 */
static const char *const known[] = {
    "107-07-3",  /* 2-chloroethanol, the worked example */
    "7732-18-5", /* water */
    "64-17-5",   /* ethanol */
    "58-08-2",   /* caffeine */
    "78-70-6",   /* linalool */
    "121-33-5",  /* vanillin */
    "91-64-5",   /* coumarin */
    "5989-27-5", /* d-limonene */
    "8000-28-0", /* lavender oil */
    "57-55-6",   /* propylene glycol */
};

static void test_known_numbers_are_right(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        char out[PM_CAS_TEXT];
        struct pm_error err;
        assert_int_equal(pm_cas_read(known[i], out, &err), PM_OK);
        assert_string_equal(out, known[i]);
    }
}

/* The weights 1..9 modulo 10 tell every single wrong check digit, and every single wrong digit
 * whose place is prime to 10. */
static void test_one_wrong_check_digit_is_named(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        char wrong[PM_CAS_TEXT], expected[40], out[PM_CAS_TEXT] = "untouched";
        size_t last = strlen(known[i]) - 1;
        memcpy(wrong, known[i], last + 2);
        for (char digit = '0'; digit <= '9'; digit++) {
            struct pm_error err;
            if (digit == known[i][last])
                continue;
            wrong[last] = digit;
            assert_int_equal(pm_cas_read(wrong, out, &err), PM_INVALID);
            snprintf(expected, sizeof expected, "should be %c", known[i][last]);
            assert_non_null(strstr(err.text, expected));
            assert_string_equal(out, "untouched");
        }
    }
}

static void test_swapped_neighbours_are_noticed(void **state)
{
    (void)state;
    char out[PM_CAS_TEXT];
    assert_int_equal(pm_cas_read("78-07-6", out, NULL), PM_INVALID);
    assert_int_equal(pm_cas_read("46-17-5", out, NULL), PM_INVALID);
}

static void test_shape(void **state)
{
    (void)state;
    char out[PM_CAS_TEXT];
    assert_int_equal(pm_cas_read("  64-17-5 \n", out, NULL), PM_OK);
    assert_string_equal(out, "64-17-5");
    assert_true(pm_cas_shaped("64-17-4"));
    static const char *const bad[] = {"",        "-",        "64-17",         "64175",
                                      "4-17-5",  "64-17-5-", "12345678-90-1", "64-1-75",
                                      "64 17 5", "a64-17-5", "64-17-5x",      "64--17-5"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        assert_false(pm_cas_shaped(bad[i]));
        assert_int_equal(pm_cas_read(bad[i], out, NULL), PM_INVALID);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_known_numbers_are_right),
        cmocka_unit_test(test_one_wrong_check_digit_is_named),
        cmocka_unit_test(test_swapped_neighbours_are_noticed),
        cmocka_unit_test(test_shape),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
