/* SPDX-License-Identifier: MIT */
/*
 * Two lines of one material at 10 % and at 10.03 % are one material wherever neat amounts are
 * meant, and are poured from one bottle.
 */
#include "hand.h"

#include "permille/studio/bottles.h"
#include "permille/studio/profile.h"
#include "permille/studio/scale.h"
#include "permille/studio/stock.h"

#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

/* 100 at 10 %, 100 at 10.03 %, 800 of another; 15 g of 10.03 % are there. */
static int64_t make(struct hand *hand)
{
    const char *const form[PM_BOTTLE_ATTRIBUTES] = {
        [PM_BOTTLE_STRENGTH] = "10.03%", [PM_BOTTLE_SOLVENT] = "Ethanol"};
    hand_solvent(hand, "Ethanol");
    int64_t id = hand_formula(hand, "Quay", 1000);
    hand_add_at(hand, id, "Cedrol", 100, "10%", "Ethanol");
    hand_add_at(hand, id, "Cedrol", 100, "10.03%", "Ethanol");
    hand_add(hand, id, "Linalool", 800);
    hand_ok(hand, pm_bottle_add(hand->studio, hand_material(hand, "Cedrol"), 15 * PM_GRAM, form, 0,
                                NULL, &hand->err));
    hand_ok(hand, pm_bottle_add(hand->studio, hand_material(hand, "Linalool"), 1000 * PM_GRAM, NULL,
                                0, NULL, &hand->err));
    return id;
}

/* 100 g pour twice 10 g: the second finds 5 g in the bottle that the first was poured from. */
static void a_bottle_is_not_poured_twice(void **state)
{
    struct hand *hand = *state;
    struct pm_sheet *sheet = hand_draft(hand, make(hand));
    struct pm_needs needs;
    hand_ok(hand, pm_stock_needs(hand->studio, sheet, 100 * PM_GRAM, &needs, &hand->err));
    assert_int_equal(needs.count, 3);
    assert_int_equal(needs.items[0].state, PM_STOCK_OK);
    assert_int_equal(needs.items[1].state, PM_STOCK_SHORT);
    assert_int_equal(needs.lacking, 1);
    pm_needs_release(&needs);
    hand_ok(hand, pm_stock_needs(hand->studio, sheet, 70 * PM_GRAM, &needs, &hand->err));
    assert_int_equal(needs.lacking, 0);
    pm_needs_release(&needs);
    pm_sheet_free(sheet);
}

/* 10 and 10.03 parts: 20.03 of it, 179.97 of its solvent. */
static void flat_and_profile_hold_it_once(void **state)
{
    struct hand *hand = *state;
    struct pm_sheet *sheet = hand_draft(hand, make(hand));
    struct pm_flat_sheet flat;
    hand_ok(hand, pm_sheet_flatten(hand->studio, sheet, &flat, &hand->err));
    assert_int_equal(flat.count, 3);
    assert_string_equal(flat.lines[1].name, "Cedrol");
    assert_int_equal(flat.lines[1].neat, INT64_C(20030000000000));
    assert_string_equal(flat.lines[2].name, "Ethanol"); /* solvents last */
    assert_int_equal(flat.lines[2].as_solvent, INT64_C(179970000000000));
    pm_flat_sheet_release(&flat);
    struct pm_profile_known known = {0};
    struct pm_profile profile;
    hand_ok(hand, pm_profile_of(hand->studio, sheet, &known, &profile, &hand->err));
    /* Nothing here has a family or a figure: one group of each kind, 20.03 parts and 800. */
    size_t families = 0;
    for (size_t i = 0; i < profile.count; i++)
        if (profile.groups[i].kind == PM_BY_FAMILY) {
            assert_null(profile.groups[i].name);
            assert_true(profile.groups[i].amount == (pm_int128)820030000 * PM_FINE_PER_MICRO);
            families++;
        }
    assert_int_equal(families, 1);
    pm_profile_release(&profile);
    pm_profile_forget(&known);
    pm_sheet_free(sheet);
}

/* Weighed as what it is, once: 50 g hold 1.0015 g of it neat, from the one bottle. */
static void it_is_weighed_once(void **state)
{
    struct hand *hand = *state;
    struct pm_sheet *sheet = hand_draft(hand, make(hand));
    const struct pm_weigh_how how = {0};
    struct pm_weighing weighing;
    hand_ok(hand, pm_weigh(hand->studio, sheet, 50 * PM_GRAM, &how, &weighing, &hand->err));
    size_t met = 0;
    for (size_t i = 0; i < weighing.count; i++)
        if (strcmp(weighing.items[i].name, "Cedrol") == 0) {
            pm_mass neat = 0;
            assert_true(
                pm_muldiv(weighing.items[i].target, weighing.items[i].strength, PM_NEAT, &neat));
            assert_true(neat > 1000000 && neat < 1003000);
            assert_int_not_equal(weighing.items[i].bottle, 0);
            met++;
        }
    assert_int_equal(met, 1);
    pm_weighing_release(&weighing);
    pm_sheet_free(sheet);
}

/* 100 g take 2.003 g of it neat: neither 15 g of 10 % nor 15 g of 10.03 % will do, both will. */
static void bottles_of_nearly_one_strength_are_poured_together(void **state)
{
    struct hand *hand = *state;
    const char *const form[PM_BOTTLE_ATTRIBUTES] = {
        [PM_BOTTLE_STRENGTH] = "10%", [PM_BOTTLE_SOLVENT] = "Ethanol"};
    struct pm_sheet *sheet = hand_draft(hand, make(hand));
    const struct pm_weigh_how how = {.as_it_is = true};
    struct pm_weighing weighing;
    hand_ok(hand, pm_bottle_add(hand->studio, hand_material(hand, "Cedrol"), 15 * PM_GRAM, form, 0,
                                NULL, &hand->err));
    hand_ok(hand, pm_weigh(hand->studio, sheet, 100 * PM_GRAM, &how, &weighing, &hand->err));
    assert_int_equal(weighing.missing, 0);
    assert_int_equal(weighing.count, 3);
    pm_mass sum = 0, neat = 0;
    for (size_t i = 0; i < weighing.count; i++) {
        pm_mass part = 0;
        sum += weighing.items[i].target;
        assert_true(
            pm_muldiv(weighing.items[i].target, weighing.items[i].strength, PM_NEAT, &part));
        neat += strcmp(weighing.items[i].name, "Cedrol") == 0 ? part : 0;
    }
    assert_int_equal(sum, 100 * PM_GRAM);
    /* The solvent that came along a trace too much is taken off all of them. */
    assert_true(neat > 2002000 && neat < 2004000);
    pm_weighing_release(&weighing);
    pm_sheet_free(sheet);
}

/* 100 g take 2.003 g of it neat; 15 g of 10.03 % hold 1.5045 g. */
static void it_is_bought_once(void **state)
{
    struct hand *hand = *state;
    int64_t id = make(hand);
    struct pm_shopping shopping;
    hand_keep(hand, id, "first");
    hand_plan(hand, "Quay/1", "100g", NULL, NULL);
    hand_ok(hand, pm_stock_shopping(hand->studio, false, &shopping, &hand->err));
    size_t met = 0;
    for (size_t i = 0; i < shopping.count; i++)
        if (strcmp(shopping.lines[i].name, "Cedrol") == 0) {
            assert_true(shopping.lines[i].need >= 2002999 && shopping.lines[i].need <= 2003001);
            assert_true(shopping.lines[i].buy >= 498400 && shopping.lines[i].buy <= 500100);
            met++;
        }
    assert_int_equal(met, 1);
    pm_shopping_release(&shopping);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_bottle_is_not_poured_twice, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(flat_and_profile_hold_it_once, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(it_is_weighed_once, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(bottles_of_nearly_one_strength_are_poured_together,
                                        hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(it_is_bought_once, hand_setup, hand_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
