/* SPDX-License-Identifier: MIT */
/* Volumes: units, what a volume weighs, three significant digits. */
#include "permille/core/dilute.h"
#include "permille/core/volume.h"
#include "vectors.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* 0.845 g/ml. */
#define DENSITY INT64_C(845000000)

static void a_volume_weighs_what_its_density_says(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        pm_mass mass;
    } cases[] = {
        {"10ml", 8450000},        {"10 mL", 8450000},  {"1 cl", 8450000},
        {"0.01 l", 8450000},      {"0.01L", 8450000},  {"250 \xC2\xB5l", 211250},
        {"250\xCE\xBCl", 211250}, {"250 ul", 211250},  {"1 ul ", 845},
        {"0.001 ul", 1},          {"8.45 g", 8450000}, {"8.45", 8450000},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct pm_error err = {0};
        pm_mass mass = -1;
        if (pm_mass_or_volume_read(cases[i].text, DENSITY, &mass, &err) != PM_OK ||
            mass != cases[i].mass)
            fail_msg("%s: %lld: %s", cases[i].text, (long long)mass, err.text);
    }
}

/* DIL-18, computed: what 100 ml of a dilution hold, its strength being by mass. */
static void check_held(char **row)
{
    const int64_t density =
        (int64_t)(vector_number(row[INPUT], "solution_density_g_mL") * 1e9 + 0.5);
    const double percent = vector_number(row[INPUT], "mass_percent");
    pm_mass whole = 0, held = 0, carrier = 0;
    assert_int_equal(pm_mass_or_volume_read("100 ml", density, &whole, NULL), PM_OK);
    assert_int_equal(
        pm_dilute_plan(whole, (pm_strength)(percent * 1e7), PM_NEAT, &held, &carrier, NULL), PM_OK);
    assert_int_equal(held, (pm_mass)(strtod(row[EXPECTED], NULL) * 1e6 + 0.5));
}

static void what_a_volume_holds(void **state)
{
    (void)state;
    vectors_each("w_w_to_w_v", 1, check_held);
}

static void what_is_refused(void **state)
{
    (void)state;
    struct pm_error err = {0};
    pm_mass mass = 7;
    assert_int_equal(pm_mass_or_volume_read("10 ml", 0, &mass, &err), PM_REFUSED);
    assert_int_equal(pm_mass_or_volume_read("20000000 l", DENSITY, &mass, &err), PM_INVALID);
    assert_int_equal(pm_mass_or_volume_read("-1 ml", DENSITY, &mass, &err), PM_INVALID);
    assert_int_equal(pm_mass_or_volume_read("ml", DENSITY, &mass, &err), PM_INVALID);
    assert_int_equal(mass, 7);
    assert_true(pm_is_volume("10 ml"));
    assert_false(pm_is_volume("10 mg"));
    assert_false(pm_is_volume("ml"));
    assert_false(pm_is_volume("10"));
}

static void three_digits(void **state)
{
    (void)state;
    static const struct {
        int64_t microlitres;
        const char *text;
    } cases[] = {
        {0, "0 \xC2\xB5l"}, {999, "999 \xC2\xB5l"}, {1000, "1.00 ml"},
        {9994, "9.99 ml"},  {9995, "10.0 ml"},      {10000, "10.0 ml"},
        {12740, "12.7 ml"}, {99949, "99.9 ml"},     {99950, "100 ml"},
        {-1, ""},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char text[PM_AMOUNT_TEXT];
        assert_string_equal(pm_volume_format(cases[i].microlitres, '.', text), cases[i].text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_volume_weighs_what_its_density_says),
        cmocka_unit_test(what_a_volume_holds),
        cmocka_unit_test(what_is_refused),
        cmocka_unit_test(three_digits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
