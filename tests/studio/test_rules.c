/* SPDX-License-Identifier: MIT */
/*
 * Refusals: what may not be done, in words that name the material and what would work.
 */
#include "tests/studio/hand.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static int64_t simple(struct hand *hand, const char *name)
{
    int64_t formula = hand_formula(hand, name, 100);
    hand_add(hand, formula, "Tar note", 60);
    hand_add(hand, formula, "Sea moss", 40);
    return formula;
}

static void test_cycles_are_refused_with_the_path(void **state)
{
    struct hand *hand = *state;
    int64_t dune = simple(hand, "Dune accord");
    hand_keep(hand, dune, NULL);
    hand_refused(hand, hand_add_accord(hand, dune, "Dune accord/1", 5), PM_REFUSED,
                 "cannot use itself");

    int64_t mist = simple(hand, "Mist");
    hand_ok(hand, hand_add_accord(hand, mist, "Dune accord/1", 10));
    hand_keep(hand, mist, NULL);
    int64_t salt = simple(hand, "Salt accord");
    hand_ok(hand, hand_add_accord(hand, salt, "Mist/1", 10));
    hand_keep(hand, salt, NULL);

    struct pm_sheet *before = hand_draft(hand, dune);
    hand_refused(
        hand, hand_add_accord(hand, dune, "Salt accord/1", 5), PM_REFUSED,
        "Salt accord/1 uses Mist/1, which uses Dune accord/1: Dune accord would contain itself");
    hand_refused(hand, hand_add_accord(hand, dune, "Mist/1", 5), PM_REFUSED,
                 "Mist/1 uses Dune accord/1");
    struct pm_gesture swap = {.kind = PM_SWAP, .line = before->trial.lines[0].id};
    swap.fresh.kind = PM_LINE_ACCORD;
    swap.fresh.ref = hand_trial(hand, "Salt accord/1");
    swap.fresh.strength = PM_NEAT;
    hand_refused(hand, hand_try(hand, dune, &swap), PM_REFUSED, "would contain itself");
    struct pm_sheet *after = hand_draft(hand, dune);
    assert_int_equal(after->revision, before->revision);
    pm_sheet_free(after);
    pm_sheet_free(before);
}

static void test_an_accord_is_kept_and_settled(void **state)
{
    struct hand *hand = *state;
    int64_t accord = simple(hand, "Loose");
    int64_t perfume = simple(hand, "Harbour");
    hand_refused(hand, hand_add_accord(hand, perfume, "Loose", 5), PM_REFUSED, "draft");

    struct pm_gesture open = {.kind = PM_SET_MODE, .mode = PM_OPEN};
    hand_do(hand, accord, &open);
    hand_set(hand, accord, "Tar", 10);
    hand_keep(hand, accord, NULL);
    hand_refused(hand, hand_add_accord(hand, perfume, "Loose/1", 5), PM_REFUSED,
                 "Loose/1 does not add up");
}

static void test_materials_and_solvents_come_from_the_shelf(void **state)
{
    struct hand *hand = *state;
    int64_t formula = simple(hand, "Harbour");
    struct pm_gesture add = {.kind = PM_ADD, .parts = parts_of(1)};
    add.fresh.ref = hand_material(hand, "Kelp");
    add.fresh.strength = PM_NEAT / 10;
    hand_refused(hand, hand_try(hand, formula, &add), PM_INVALID, "solvent");
    add.fresh.solvent = hand_material(hand, "Tar note");
    hand_refused(hand, hand_try(hand, formula, &add), PM_REFUSED, "Tar note is not a solvent");
    add.fresh.ref = add.fresh.solvent = hand_solvent(hand, "Clear carrier");
    hand_refused(hand, hand_try(hand, formula, &add), PM_REFUSED, "in itself");

    int64_t old = hand_material(hand, "Old stock");
    hand_ok(hand, pm_shelf_set_aside(hand->studio, old, true, &hand->err));
    add.fresh = (struct pm_line){.ref = old, .strength = PM_NEAT};
    hand_refused(hand, hand_try(hand, formula, &add), PM_REFUSED, "Old stock is set aside");
    hand_ok(hand, pm_shelf_set_aside(hand->studio, old, false, &hand->err));
    hand_do(hand, formula, &add);
    /* Neat needs no solvent, whatever was named beside it. */
    struct pm_sheet *sheet = hand_draft(hand, formula);
    struct pm_gesture neat = {.kind = PM_RESTRENGTH,
                              .line = hand_line(hand, sheet, "Old"),
                              .strength = PM_NEAT,
                              .solvent = hand_material(hand, "Tar note")};
    pm_sheet_free(sheet);
    hand_do(hand, formula, &neat);
    add.fresh.ref = 99999;
    assert_int_equal(hand_try(hand, formula, &add), PM_MISSING);
}

/* A dilution nobody named a solvent for takes the one at hand. */
static void test_the_usual_solvent(void **state)
{
    struct hand *hand = *state;
    int64_t formula = simple(hand, "Harbour");
    int64_t water = hand_solvent(hand, "Clear carrier"), oil = hand_solvent(hand, "Oily carrier");
    struct pm_gesture add = {.kind = PM_ADD, .parts = parts_of(1), .place = SIZE_MAX};
    add.fresh.ref = hand_material(hand, "Kelp");
    add.fresh.strength = PM_NEAT / 10;
    hand_add(hand, formula, "Clear carrier", 30);
    struct pm_sheet *sheet = hand_draft(hand, formula);
    struct pm_gesture carrier = {.kind = PM_SET_STANCE, .stance = PM_CARRIER};
    carrier.line = hand_line(hand, sheet, "Clear");
    pm_sheet_free(sheet);
    hand_refused(hand, hand_try(hand, formula, &add), PM_INVALID, "Kelp");
    hand_do(hand, formula, &carrier);
    hand_do(hand, formula, &add);
    add.fresh.ref = hand_material(hand, "Rope");
    add.fresh.solvent = oil;
    hand_do(hand, formula, &add);
    sheet = hand_draft(hand, formula);
    assert_int_equal(sheet->trial.lines[3].solvent, water);
    struct pm_gesture swap = {.kind = PM_SWAP, .line = sheet->trial.lines[4].id};
    swap.fresh.ref = hand_material(hand, "Gull feather");
    swap.fresh.strength = PM_NEAT / 100;
    pm_sheet_free(sheet);
    hand_do(hand, formula, &swap);
    sheet = hand_draft(hand, formula);
    assert_int_equal(sheet->trial.lines[4].solvent, oil);
    assert_int_equal(sheet->trial.lines[4].strength, PM_NEAT / 100);
    pm_sheet_free(sheet);
}

static void test_comments_hold_nothing_a_terminal_obeys(void **state)
{
    struct hand *hand = *state;
    int64_t formula = simple(hand, "Harbour");
    struct pm_sheet *sheet = hand_draft(hand, formula);
    struct pm_gesture comment = {.kind = PM_COMMENT, .line = sheet->trial.lines[0].id};
    pm_sheet_free(sheet);
    comment.text = "red \x1b[31m";
    assert_int_equal(hand_try(hand, formula, &comment), PM_INVALID);
    comment.text = "bad bytes \xff\xfe";
    assert_int_equal(hand_try(hand, formula, &comment), PM_INVALID);
    comment.text = "smoky,\nthen sweet";
    hand_do(hand, formula, &comment);
    struct pm_gesture add = {.kind = PM_ADD, .parts = parts_of(1), .place = SIZE_MAX};
    add.fresh.ref = hand_material(hand, "Kelp");
    add.fresh.strength = PM_NEAT;
    char bell[] = "ding\a";
    add.fresh.comment = bell;
    assert_int_equal(hand_try(hand, formula, &add), PM_INVALID);
    sheet = hand_draft(hand, formula);
    assert_string_equal(sheet->trial.lines[0].comment, "smoky,\nthen sweet");
    assert_int_equal(sheet->trial.count, 2);
    pm_sheet_free(sheet);
}

static void test_refusals_name_the_line(void **state)
{
    struct hand *hand = *state;
    int64_t formula = simple(hand, "Harbour");
    struct pm_sheet *sheet = hand_draft(hand, formula);
    struct pm_gesture hold = {
        .kind = PM_SET_STANCE, .line = hand_line(hand, sheet, "Tar"), .stance = PM_HELD};
    struct pm_gesture set = {
        .kind = PM_SET, .line = hand_line(hand, sheet, "Sea"), .parts = parts_of(70)};
    pm_sheet_free(sheet);
    hand_do(hand, formula, &hold);
    hand_refused(hand, hand_try(hand, formula, &set), PM_REFUSED,
                 "Sea moss: nothing is free to give 30");
}

static void test_kept_trials_never_change(void **state)
{
    struct hand *hand = *state;
    int64_t formula = simple(hand, "Harbour");
    hand_keep(hand, formula, NULL);
    struct pm_sheet *sheet;
    struct pm_plan *plan;
    hand_ok(hand, pm_sheet_open(hand->studio, hand_trial(hand, "Harbour/1"), &sheet, &hand->err));
    struct pm_gesture drop = {.kind = PM_DROP, .line = sheet->trial.lines[0].id};
    int64_t lines[1] = {drop.line};
    hand_refused(hand, pm_plan_gesture(hand->studio, sheet, &drop, &plan, &hand->err), PM_REFUSED,
                 "Harbour/1 is kept");
    hand_refused(hand, pm_plan_undo(hand->studio, sheet, &plan, &hand->err), PM_REFUSED, "kept");
    hand_refused(hand, pm_plan_redo(hand->studio, sheet, &plan, &hand->err), PM_REFUSED, "kept");
    hand_refused(hand, pm_plan_fold(hand->studio, sheet, "Part", lines, 1, &plan, &hand->err),
                 PM_REFUSED, "kept");
    hand_refused(hand, pm_trial_keep(hand->studio, sheet, NULL, NULL, &hand->err), PM_REFUSED,
                 "kept");
    pm_sheet_free(sheet);
}

static void test_what_may_be_kept(void **state)
{
    struct hand *hand = *state;
    int64_t formula = hand_formula(hand, "Harbour", 100);
    struct pm_sheet *sheet = hand_draft(hand, formula);
    hand_refused(hand, pm_trial_keep(hand->studio, sheet, NULL, NULL, &hand->err), PM_REFUSED,
                 "empty");
    pm_sheet_free(sheet);
    hand_add(hand, formula, "Tar note", 60);
    sheet = hand_draft(hand, formula);
    hand_refused(hand, pm_trial_keep(hand->studio, sheet, NULL, NULL, &hand->err), PM_REFUSED,
                 "40 parts short of its base of 100");
    pm_sheet_free(sheet);
    hand_add(hand, formula, "Sea moss", 40);
    hand_keep(hand, formula, NULL);
    sheet = hand_draft(hand, formula);
    hand_refused(hand, pm_trial_keep(hand->studio, sheet, NULL, NULL, &hand->err), PM_REFUSED,
                 "Nothing has changed since Harbour/1");
    pm_sheet_free(sheet);
    /* A stance is content too. */
    struct pm_gesture hold = {.kind = PM_SET_STANCE, .stance = PM_HELD};
    struct pm_gesture branch = {.kind = PM_BRANCH, .parent = hand_trial(hand, "Harbour/1")};
    sheet = hand_draft(hand, formula);
    hold.line = hand_line(hand, sheet, "Sea");
    pm_sheet_free(sheet);
    hand_do(hand, formula, &hold);
    hand_keep(hand, formula, NULL);
    hand_do(hand, formula, &branch);
    sheet = hand_draft(hand, formula);
    hand_refused(hand, pm_trial_keep(hand->studio, sheet, NULL, NULL, &hand->err), PM_REFUSED,
                 "Nothing has changed since Harbour/1");
    pm_sheet_free(sheet);
}

static void test_branches_stay_in_their_formula(void **state)
{
    struct hand *hand = *state;
    int64_t one = simple(hand, "One"), two = simple(hand, "Two");
    hand_keep(hand, one, NULL);
    struct pm_gesture branch = {.kind = PM_BRANCH, .parent = hand_trial(hand, "One/1")};
    hand_refused(hand, hand_try(hand, two, &branch), PM_REFUSED, "copy the other formula");
    branch.parent = hand_trial(hand, "One");
    hand_refused(hand, hand_try(hand, one, &branch), PM_REFUSED, "draft");
}

static void test_formula_names(void **state)
{
    struct hand *hand = *state;
    int64_t id;
    static const char *const bad[] = {"", "   ", "a/b", "#3", "bell\a", "turn\xE2\x80\xAEround"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        assert_int_equal(
            pm_formula_new(hand->studio, bad[i], false, parts_of(100), PM_SHARE, &id, &hand->err),
            PM_INVALID);
    assert_int_equal(pm_formula_new(hand->studio, "Zero", false, 0, PM_SHARE, &id, &hand->err),
                     PM_INVALID);
    int64_t ete = hand_formula(hand, "\xC3\x89t\xC3\xA9 \"tardif\"", 100);
    hand_refused(hand,
                 pm_formula_new(hand->studio, "ete \"tardif\"", false, parts_of(100), PM_SHARE, &id,
                                &hand->err),
                 PM_EXISTS, "");
    hand_ok(hand, pm_formula_find(hand->studio, "ETE \"TARDIF\"", &id, NULL, NULL, &hand->err));
    assert_int_equal(id, ete);
    hand_ok(hand, pm_formula_rename(hand->studio, ete, "Late summer", &hand->err));
    hand_refused(hand, pm_formula_find(hand->studio, "Late sumer", &id, NULL, NULL, &hand->err),
                 PM_MISSING, "did you mean \"Late summer\"?");
    hand_refused(hand, pm_formula_find(hand->studio, "Late summer/3", &id, NULL, NULL, &hand->err),
                 PM_MISSING, "none has been kept");
    hand_refused(hand, pm_formula_find(hand->studio, "Late summer/x", &id, NULL, NULL, &hand->err),
                 PM_INVALID, "NAME/3");
}

static void test_finding_a_line(void **state)
{
    struct hand *hand = *state;
    int64_t formula = simple(hand, "Harbour"), line;
    hand_add_at(hand, formula, "Tar note", 3, "10%", "Clear carrier");
    hand_add(hand, formula, "Sea salt", 2);
    struct pm_sheet *sheet = hand_draft(hand, formula);
    hand_ok(hand, pm_sheet_find_line(sheet, "sea m", &line, &hand->err));
    assert_int_equal(line, sheet->trial.lines[1].id);
    hand_ok(hand, pm_sheet_find_line(sheet, "#3", &line, &hand->err));
    assert_int_equal(line, sheet->trial.lines[2].id);
    hand_refused(hand, pm_sheet_find_line(sheet, "tar note", &line, &hand->err), PM_REFUSED,
                 "#1 Tar note, #3 Tar note at 10 %");
    hand_refused(hand, pm_sheet_find_line(sheet, "sea", &line, &hand->err), PM_REFUSED, "#4");
    hand_refused(hand, pm_sheet_find_line(sheet, "see moss", &line, &hand->err), PM_MISSING,
                 "did you mean \"Sea moss\"?");
    hand_refused(hand, pm_sheet_find_line(sheet, "#5", &line, &hand->err), PM_MISSING, "#5");
    hand_refused(hand, pm_sheet_find_line(sheet, "#0", &line, &hand->err), PM_MISSING, "#0");
    assert_int_equal(pm_sheet_find_line(sheet, "", &line, &hand->err), PM_MISSING);
    assert_int_equal(pm_sheet_find_line(sheet, "#99999999999999999999", &line, &hand->err),
                     PM_MISSING);
    pm_sheet_free(sheet);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_cycles_are_refused_with_the_path, hand_setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(test_an_accord_is_kept_and_settled, hand_setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(test_materials_and_solvents_come_from_the_shelf, hand_setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(test_the_usual_solvent, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_comments_hold_nothing_a_terminal_obeys, hand_setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(test_refusals_name_the_line, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_kept_trials_never_change, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_what_may_be_kept, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_branches_stay_in_their_formula, hand_setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(test_formula_names, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_finding_a_line, hand_setup, hand_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
