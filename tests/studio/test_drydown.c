/* SPDX-License-Identifier: MIT */
/*
 * Drydown of a formula: what is joined to what, what is left out with its share, and that the
 * figures are those of the closed form for amounts worked out by hand.
 */
#include "hand.h"

#include "permille/studio/drydown.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

static void near(double got, double wanted)
{
    if (!(fabs(got - wanted) <= 1e-9 * (1 + fabs(wanted))))
        fail_msg("%.15g is not %.15g", got, wanted);
}

static int64_t volatile_material(struct hand *hand, const char *name, const char *pressure,
                                 const char *mass)
{
    const int64_t id = hand_material(hand, name);
    if (pressure != NULL)
        hand_ok(hand,
                pm_shelf_set_fact(hand->studio, id, "vapour_pressure", pressure, NULL, &hand->err));
    if (mass != NULL)
        hand_ok(hand, pm_shelf_set_fact(hand->studio, id, "molar_mass", mass, NULL, &hand->err));
    return id;
}

/* 300 of a light one (100 Pa, 150 g/mol), 200 of a heavy one (1 Pa, 200 g/mol), 100 of an oil that
 * holds a fifth of the light one, 100 without a molar mass, 300 of alcohol. */
static int64_t world(struct hand *hand)
{
    const int64_t formula = hand_formula(hand, "Quay", 1000);
    const int64_t alcohol = hand_solvent(hand, "Alcohol");
    const char *const cas[PM_MATERIAL_ATTRIBUTES] = {[PM_MATERIAL_CAS] = "64-17-5"};
    volatile_material(hand, "Light", "100", "150");
    const int64_t heavy = volatile_material(hand, "Heavy", "1", "200");
    volatile_material(hand, "Odd one", "10", NULL);
    hand_ok(hand, pm_shelf_edit(hand->studio, alcohol, cas, &hand->err));
    hand_ok(hand,
            pm_shelf_set_fact(hand->studio, alcohol, "vapour_pressure", "7900", NULL, &hand->err));
    hand_ok(hand,
            pm_shelf_set_fact(hand->studio, alcohol, "molar_mass", "46.069", NULL, &hand->err));
    hand_ok(hand, pm_shelf_set_fact(hand->studio, heavy, "volatility", "top", NULL, &hand->err));
    hand_ok(hand, pm_shelf_set_constituent(
                      hand->studio, hand_material(hand, "Oil"),
                      (const char *const[PM_CONSTITUENT_ATTRIBUTES]){
                          [PM_CONSTITUENT_NAME] = "Light", [PM_CONSTITUENT_TYPICAL] = "20%"},
                      &hand->err));
    hand_add(hand, formula, "Light", 300);
    hand_add(hand, formula, "Heavy", 200);
    hand_add(hand, formula, "Oil", 100);
    hand_add(hand, formula, "Odd one", 100);
    hand_add(hand, formula, "Alcohol", 300);
    return formula;
}

static void open_it(struct hand *hand, int64_t formula, const struct pm_dry_options *options,
                    struct pm_drydown *out)
{
    struct pm_sheet *sheet = hand_draft(hand, formula);
    hand_ok(hand, pm_drydown_of(hand->studio, sheet, options, out, &hand->err));
    pm_sheet_free(sheet);
}

static void what_is_modelled_and_what_not(void **state)
{
    struct hand *hand = *state;
    struct pm_drydown drydown;
    const struct pm_dry_options plain = {.assume = 0},
                                dry = {.without_alcohol = true, .assume = 180};
    const int64_t formula = world(hand);
    open_it(hand, formula, &plain, &drydown);
    assert_int_equal(drydown.count, 3); /* alcohol, light, heavy */
    assert_string_equal(drydown.materials[1].name, "Light");
    assert_string_equal(drydown.materials[1].through, "Oil");
    near(drydown.materials[1].percent, 32);
    assert_int_equal(drydown.missing_count, 2);
    assert_string_equal(drydown.missing[0].name, "Odd one");
    near(drydown.missing[0].percent, 10);
    assert_string_equal(drydown.missing[1].name, "Oil");
    near(drydown.missing[1].percent, 8);
    assert_true(drydown.materials[2].odd); /* 1 Pa is called top */
    assert_true(drydown.ideal);
    near(drydown.clock.rate, 0);
    pm_drydown_release(&drydown);

    open_it(hand, formula, &dry, &drydown);
    assert_int_equal(drydown.count, 3); /* light, the odd one at 180, heavy */
    assert_true(drydown.materials[1].assumed);
    near(drydown.missing_percent, 38);
    /* By mole: 32/150 + 10/180 + 20/200, of which the assumed ones are 10/180. */
    const double moles = 0.32 / 150 + 0.1 / 180 + 0.2 / 200;
    near(drydown.assumed_percent, 100 * (0.1 / 180) / moles);
    struct pm_dry_state states[3];
    double tau = 0;
    pm_drydown_at(&drydown.mix, 0.5, true, &tau, states);
    near(0.32 / 150 * (1 - states[0].left) + 0.1 / 180 * (1 - states[1].left) +
             0.2 / 200 * (1 - states[2].left),
         moles / 2);
    near(log(states[0].left) / log(states[2].left), 100); /* Rayleigh */
    pm_drydown_release(&drydown);
}

/* A coefficient of two is a pressure of twice as much, and is said. */
static void coefficients_count_and_are_told(void **state)
{
    struct hand *hand = *state;
    struct pm_drydown drydown;
    struct pm_text said = PM_TEXT_EMPTY;
    const struct pm_dry_options plain = {.assume = 0};
    const int64_t formula = world(hand);
    hand_ok(hand, pm_shelf_set_fact(hand->studio, hand_material(hand, "Light"), "activity", "2",
                                    "own weighing", &hand->err));
    open_it(hand, formula, &plain, &drydown);
    near(drydown.mix.items[1].pressure, 200);
    assert_false(drydown.ideal);
    pm_drydown_say(&drydown, '.', &said);
    assert_non_null(strstr(pm_text_get(&said), "your own activity"));
    assert_non_null(strstr(pm_text_get(&said), "No times"));
    assert_non_null(strstr(pm_text_get(&said), "Oil 8.0 %"));
    pm_text_release(&said);
    pm_drydown_release(&drydown);
}

static void marks_and_shares_of_lines(void **state)
{
    struct hand *hand = *state;
    struct pm_dry_lines lines;
    struct pm_stage_profile profile;
    const int64_t formula = world(hand);
    struct pm_sheet *sheet = hand_draft(hand, formula);
    hand_ok(hand, pm_drydown_lines(hand->studio, sheet, &lines, &hand->err));
    assert_string_equal(pm_dry_mark(&lines.items[0]), "^");
    assert_string_equal(pm_dry_mark(&lines.items[1]), "~");
    assert_string_equal(pm_dry_mark(&lines.items[4]), "");
    near(lines.items[0].share[PM_STAGE_TOP], 300.0 / 320);
    near(lines.items[2].share[PM_STAGE_TOP], 20.0 / 320);
    /* Top 320, heart 200 and 100, unknown 80; the alcohol is no part of it. */
    near(lines.profile.share[PM_STAGE_TOP], 320.0 / 620);
    near(lines.profile.share[PM_STAGE_HEART], 300.0 / 620);
    near(lines.profile.unknown, 80.0 / 700);
    const pm_parts parts[] = {parts_of(0), parts_of(100), 0, 0, parts_of(900)};
    pm_drydown_lines_with(&lines, parts, &profile);
    near(profile.share[PM_STAGE_HEART], 1);
    pm_arena_release(&lines.arena);
    pm_sheet_free(sheet);
}

static void drawn_and_told(void **state)
{
    struct hand *hand = *state;
    struct pm_drydown drydown;
    struct pm_plot plot;
    struct pm_text words = PM_TEXT_EMPTY, page = PM_TEXT_EMPTY;
    const struct pm_dry_options plain = {.assume = 0};
    int64_t ids[3];
    size_t place;
    open_it(hand, world(hand), &plain, &drydown);
    assert_int_equal(pm_drydown_choose(&drydown, 3, ids), 3);
    struct pm_dry_picture picture = {.drydowns = &drydown,
                                     .count = 1,
                                     .materials = ids,
                                     .material_count = 3,
                                     .width = 60,
                                     .height = 16,
                                     .sign = '.'};
    hand_ok(hand, pm_drydown_plot(&picture, &plot, &words, &hand->err));
    assert_int_equal(plot.count, 16);
    assert_non_null(strstr(pm_text_get(&words), "Heavy (heart): from 100 % at 0 %"));
    pm_plot_release(&plot);
    hand_ok(hand, pm_drydown_html(&picture, &page, &hand->err));
    assert_non_null(strstr(pm_text_get(&page), "<svg"));
    assert_null(strstr(pm_text_get(&page), "nan"));
    picture.by_time = true;
    hand_refused(hand, pm_drydown_plot(&picture, &plot, &words, &hand->err), PM_REFUSED,
                 "no clock");
    hand_ok(hand, pm_drydown_find(&drydown, "lig", &place, &hand->err));
    assert_int_equal(place, 1);
    hand_refused(hand, pm_drydown_find(&drydown, "odd one", &place, &hand->err), PM_MISSING,
                 "not modelled: no molar mass");
    pm_text_release(&words);
    pm_text_release(&page);
    pm_drydown_release(&drydown);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(what_is_modelled_and_what_not, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(coefficients_count_and_are_told, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(marks_and_shares_of_lines, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(drawn_and_told, hand_setup, hand_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
