/* SPDX-License-Identifier: MIT */
/*
 * The shelf: adding, editing, removing, finding materials.
 */
#include "tests/studio/hand.h"

#include "permille/studio/bottles.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static int64_t add(struct hand *hand, const char *const *form)
{
    int64_t id;
    hand_ok(hand, pm_shelf_add(hand->studio, form, &id, &hand->err));
    return id;
}

static void test_a_material_with_everything(void **state)
{
    struct hand *hand = *state;
    const char *form[PM_MATERIAL_ATTRIBUTES] = {[PM_MATERIAL_NAME] = "  Phenyl  ethanol ",
                                                [PM_MATERIAL_CAS] = "60-12-8",
                                                [PM_MATERIAL_FAMILY] = "floral",
                                                [PM_MATERIAL_NOTE] = "rosy\nmild",
                                                [PM_MATERIAL_SYNONYMS] =
                                                    "phenethyl alcohol; PEA;pea"};
    int64_t id = add(hand, form), found;
    struct pm_material card;
    hand_reopen(hand);
    hand_ok(hand, pm_shelf_card(hand->studio, id, &card, &hand->err));
    assert_string_equal(card.name, "Phenyl ethanol");
    assert_int_equal(card.kind, PM_CHEMICAL);
    assert_string_equal(card.cas, "60-12-8");
    assert_string_equal(card.note, "rosy\nmild");
    assert_int_equal(card.synonym_count, 2); /* "pea" is the same name as "PEA" */
    pm_material_release(&card);
    static const char *const ways[] = {"phenyl ETHANOL", "Phenethyl alcohol", "60-12-8"};
    for (size_t i = 0; i < 3; i++) {
        hand_ok(hand, pm_shelf_find(hand->studio, ways[i], &found, &hand->err));
        assert_int_equal(found, id);
    }
}

/* As a form gives them: however many, and none takes them away. */
static void test_synonyms_are_typed_as_one_text(void **state)
{
    struct hand *hand = *state;
    const char *form[PM_MATERIAL_ATTRIBUTES] = {[PM_MATERIAL_NAME] = "Dune grass"};
    struct pm_material card;
    const int64_t id = add(hand, form);
    static const struct {
        const char *text;
        size_t count;
    } typed[] = {{"a; b;c", 3},
                 {"b1;b2;b3;b4;b5;b6;b7;b8;b9;b10;b11;b12;b13;b14;b15;b16;b17;b18", 18},
                 {" ; ", 0}};
    for (size_t i = 0; i < sizeof typed / sizeof typed[0]; i++) {
        const char *const edit[PM_MATERIAL_ATTRIBUTES] = {[PM_MATERIAL_SYNONYMS] = typed[i].text};
        hand_ok(hand, pm_shelf_edit(hand->studio, id, edit, &hand->err));
        hand_ok(hand, pm_shelf_card(hand->studio, id, &card, &hand->err));
        assert_int_equal(card.synonym_count, typed[i].count);
        pm_material_release(&card);
    }
    hand_ok(hand, pm_shelf_edit(hand->studio, id,
                                (const char *const[PM_MATERIAL_ATTRIBUTES]){[PM_MATERIAL_NOTE] =
                                                                                "stays out of it"},
                                &hand->err));
}

static void test_what_a_form_leaves_out_stays(void **state)
{
    struct hand *hand = *state;
    const char *form[PM_MATERIAL_ATTRIBUTES] = {[PM_MATERIAL_NAME] = "Foam",
                                                [PM_MATERIAL_CAS] = "64-17-5",
                                                [PM_MATERIAL_FAMILY] = "marine"};
    int64_t id = add(hand, form);
    const char *edit[PM_MATERIAL_ATTRIBUTES] = {
        [PM_MATERIAL_KIND] = "solvent", [PM_MATERIAL_FAMILY] = ""};
    hand_ok(hand, pm_shelf_edit(hand->studio, id, edit, &hand->err));
    struct pm_material card;
    hand_ok(hand, pm_shelf_card(hand->studio, id, &card, &hand->err));
    assert_string_equal(card.name, "Foam");
    assert_int_equal(card.kind, PM_SOLVENT);
    assert_string_equal(card.cas, "64-17-5");
    assert_null(card.family);
    pm_material_release(&card);
}

static void test_refusals(void **state)
{
    struct hand *hand = *state;
    int64_t id;
    const char *form[PM_MATERIAL_ATTRIBUTES] = {
        [PM_MATERIAL_NAME] = "Foam", [PM_MATERIAL_CAS] = "64-17-6"};
    hand_refused(hand, pm_shelf_add(hand->studio, form, &id, &hand->err), PM_INVALID,
                 "should be 5");
    hand_refused(hand,
                 pm_shelf_add(hand->studio,
                              (const char *const[PM_MATERIAL_ATTRIBUTES]){
                                  [PM_MATERIAL_NAME] = "Foam", [PM_MATERIAL_KIND] = "liquid"},
                              &id, &hand->err),
                 PM_INVALID, "chemical, natural, solvent or blend");
    assert_int_equal(
        pm_shelf_add(hand->studio,
                     (const char *const[PM_MATERIAL_ATTRIBUTES]){[PM_MATERIAL_NAME] = "#2"}, &id,
                     &hand->err),
        PM_INVALID);
    assert_int_equal(
        pm_shelf_add(hand->studio,
                     (const char *const[PM_MATERIAL_ATTRIBUTES]){[PM_MATERIAL_NAME] = NULL}, &id,
                     &hand->err),
        PM_INVALID);
    add(hand, (const char *const[PM_MATERIAL_ATTRIBUTES]){[PM_MATERIAL_NAME] = "Foam"});
    hand_refused(hand,
                 pm_shelf_add(hand->studio,
                              (const char *const[PM_MATERIAL_ATTRIBUTES]){[PM_MATERIAL_NAME] =
                                                                              "FO\xC3\x84M"},
                              &id, &hand->err),
                 PM_EXISTS, "Foam");
}

static void test_names_follow_an_edit(void **state)
{
    struct hand *hand = *state;
    int64_t formula = hand_formula(hand, "Harbour", 100);
    hand_add(hand, formula, "Kelp", 100);
    struct pm_sheet *old = hand_draft(hand, formula);
    const char *edit[PM_MATERIAL_ATTRIBUTES] = {[PM_MATERIAL_NAME] = "Giant kelp"};
    hand_ok(hand, pm_shelf_edit(hand->studio, hand_material(hand, "Kelp"), edit, &hand->err));
    struct pm_sheet *sheet = hand_draft(hand, formula);
    assert_string_equal(sheet->lines[0].name, "Giant kelp");
    assert_string_equal(old->lines[0].name, "Kelp"); /* a sheet keeps what it showed */
    pm_sheet_free(sheet);
    pm_sheet_free(old);
}

static void test_removing(void **state)
{
    struct hand *hand = *state;
    int64_t formula = hand_formula(hand, "Harbour", 100), id;
    bool aside;
    hand_add(hand, formula, "Kelp", 100);
    hand_ok(hand, pm_shelf_remove(hand->studio, hand_material(hand, "Rope"), &aside, &hand->err));
    assert_false(aside);
    assert_int_equal(pm_shelf_find(hand->studio, "Rope", &id, &hand->err), PM_MISSING);
    hand_ok(hand, pm_shelf_remove(hand->studio, hand_material(hand, "Kelp"), &aside, &hand->err));
    assert_true(aside);
    struct pm_material_entries hits;
    hand_ok(hand, pm_shelf_search(hand->studio, "kelp", 10, false, &hits, &hand->err));
    assert_int_equal(hits.count, 0);
    pm_list_release(&hits);
    hand_ok(hand, pm_shelf_search(hand->studio, "kelp", 10, true, &hits, &hand->err));
    assert_int_equal(hits.count, 1);
    pm_list_release(&hits);
    assert_int_equal(hand_parts(hand, formula, "Kelp"), parts_of(100));
}

static void test_the_nearest_name_is_suggested(void **state)
{
    struct hand *hand = *state;
    int64_t id;
    hand_material(hand, "Vetiver acetate");
    hand_material(hand, "Cedar leaf");
    const char *form[PM_MATERIAL_ATTRIBUTES] = {
        [PM_MATERIAL_NAME] = "Hexyl acetate", [PM_MATERIAL_SYNONYMS] = "green apple ester"};
    add(hand, form);
    static const struct {
        const char *typed, *meant;
    } pairs[] = {{"Vetivre acetate", "Vetiver acetate"}, /* two letters changed places */
                 {"Vetiver acetat", "Vetiver acetate"},
                 {"Wetiver acetate", "Vetiver acetate"}, /* the beginning is wrong */
                 {"cedar laef", "Cedar leaf"},
                 {"green aple ester", "Hexyl acetate"}, /* a synonym leads to its name */
                 {"cedar", "Cedar leaf"}};
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++)
        hand_refused(hand, pm_shelf_find(hand->studio, pairs[i].typed, &id, &hand->err), PM_MISSING,
                     pairs[i].meant);
    hand_refused(hand, pm_shelf_find(hand->studio, "Quite another", &id, &hand->err), PM_MISSING,
                 "No material is called \"Quite another\".");
    assert_int_equal(pm_shelf_find(hand->studio, "", &id, &hand->err), PM_MISSING);
}

/* Slips are forgiven; of two that are equally near the one on the shelf comes first. */
static void test_near_names(void **state)
{
    struct hand *hand = *state;
    const char *synonym[PM_MATERIAL_ATTRIBUTES] = {
        [PM_MATERIAL_NAME] = "Linalyl acetate", [PM_MATERIAL_SYNONYMS] = "bergamol"};
    struct pm_material_entries near;
    int64_t id;
    hand_material(hand, "Bergamot oil");
    add(hand, synonym);
    hand_refused(hand, pm_shelf_find(hand->studio, "bergmot", &id, &hand->err), PM_MISSING,
                 "did you mean \"Bergamot oil\"?");
    hand_ok(hand, pm_shelf_near(hand->studio, "bergmot", 9, &near, &hand->err));
    assert_true(near.count >= 1);
    assert_string_equal(near.items[0].name, "Bergamot oil");
    assert_int_equal(near.items[0].slips, 1);
    pm_list_release(&near);

    hand_material(hand, "Hexanal");
    const int64_t have = hand_material(hand, "Hexanol");
    const char *const values[PM_BOTTLE_ATTRIBUTES] = {NULL};
    hand_ok(hand, pm_bottle_add(hand->studio, have, 10000000, values, 0, &id, &hand->err));
    hand_ok(hand, pm_shelf_near(hand->studio, "hexanul", 9, &near, &hand->err));
    assert_int_equal(near.count, 2);
    assert_string_equal(near.items[0].name, "Hexanol");
    assert_true(near.items[0].on_shelf);
    assert_false(near.items[1].on_shelf);
    pm_list_release(&near);
    hand_ok(hand, pm_shelf_near(hand->studio, "hexanul", 1, &near, &hand->err));
    assert_int_equal(near.count, 1);
    pm_list_release(&near);
    /* Three times as strong, and not what was begun to be typed: it comes second. */
    hand_material(hand, "Ethyl vanillin");
    hand_material(hand, "Vanillin");
    hand_ok(hand, pm_shelf_near(hand->studio, "vaniln", 9, &near, &hand->err));
    assert_int_equal(near.count, 2);
    assert_string_equal(near.items[0].name, "Vanillin");
    assert_int_equal(near.items[0].slips, near.items[1].slips);
    pm_list_release(&near);
    hand_ok(hand, pm_shelf_near(hand->studio, "qqqqqq", 9, &near, &hand->err));
    assert_int_equal(near.count, 0);
    pm_list_release(&near);
}

static void test_tall_names(void **state)
{
    struct hand *hand = *state;
    struct pm_text text = PM_TEXT_EMPTY;
    struct pm_text alike = PM_TEXT_EMPTY;
    const int64_t id = hand_material(hand, "Geraniol");
    hand_ok(hand, pm_shelf_tall_name(hand->studio, id, &text, &alike, &hand->err));
    assert_string_equal(pm_text_get(&text), "Geraniol");
    assert_int_equal(alike.length, 0);
    pm_text_release(&text);
    const int64_t other = hand_material(hand, "Geranial");
    hand_ok(hand, pm_shelf_tall_name(hand->studio, id, &text, &alike, &hand->err));
    assert_string_equal(pm_text_get(&text), "GeraniOL");
    assert_string_equal(pm_text_get(&alike), "Geranial");
    pm_text_release(&text);
    pm_text_release(&alike);
    hand_ok(hand, pm_shelf_set_aside(hand->studio, other, true, &hand->err));
    hand_ok(hand, pm_shelf_tall_name(hand->studio, id, &text, NULL, &hand->err));
    assert_string_equal(pm_text_get(&text), "Geraniol");
    pm_text_release(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_a_material_with_everything, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_synonyms_are_typed_as_one_text, hand_setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(test_what_a_form_leaves_out_stays, hand_setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(test_refusals, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_names_follow_an_edit, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_removing, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_near_names, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_tall_names, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_the_nearest_name_is_suggested, hand_setup,
                                        hand_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
