/* SPDX-License-Identifier: MIT */
/*
 * The main job as a story: an accord from a core in a ratio, traces tucked in, dilutions, a trial
 * kept, a branch, everything undone over a restart, accords inside a perfume.
 */
#include "tests/studio/hand.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static void form_core(struct hand *hand, int64_t formula)
{
    struct pm_sheet *sheet = hand_draft(hand, formula);
    const int64_t lines[3] = {hand_line(hand, sheet, "Driftwood base"),
                              hand_line(hand, sheet, "Sea moss"),
                              hand_line(hand, sheet, "Wet stone")};
    const int64_t weights[3] = {4, 3, 2};
    struct pm_gesture core = {
        .kind = PM_FORM_CORE, .lines = lines, .weights = weights, .line_count = 3};
    pm_sheet_free(sheet);
    hand_do(hand, formula, &core);
}

static void settle(struct hand *hand, int64_t formula)
{
    struct pm_gesture settle = {.kind = PM_SETTLE};
    hand_do(hand, formula, &settle);
}

/* A settled core of 4:3:2 in a base of 1000. */
static int64_t core_accord(struct hand *hand)
{
    int64_t formula = hand_formula(hand, "Low tide", 1000);
    hand_ok(hand, pm_formula_mark_accord(hand->studio, formula, true, &hand->err));
    hand_add(hand, formula, "Driftwood base", 4);
    hand_add(hand, formula, "Sea moss", 3);
    hand_add(hand, formula, "Wet stone", 2);
    form_core(hand, formula);
    settle(hand, formula);
    return formula;
}

static pm_parts core_sum(struct hand *hand, int64_t formula)
{
    return hand_parts(hand, formula, "Driftwood base") + hand_parts(hand, formula, "Sea moss") +
           hand_parts(hand, formula, "Wet stone");
}

/* Trade fact (common practice, no source): 4:3:2 in 1000 reads 444/333/222 in whole parts, totals
 * 1000 exactly, and 50 parts of small additions leave 950 for the core in the same ratio. */
static void test_core_and_traces(void **state)
{
    struct hand *hand = *state;
    int64_t formula = core_accord(hand);
    assert_int_equal(hand_parts(hand, formula, "Driftwood base") / PM_PART, 444);
    assert_int_equal(hand_parts(hand, formula, "Sea moss") / PM_PART, 333);
    assert_int_equal(hand_parts(hand, formula, "Wet stone") / PM_PART, 222);
    assert_int_equal(core_sum(hand, formula), parts_of(1000));

    hand_add_held(hand, formula, "Salt note", 20);
    hand_add_held(hand, formula, "Cold iron", 15);
    hand_add_held(hand, formula, "Kelp trace", 10);
    hand_add_held(hand, formula, "Foam", 4.99);
    hand_add_held(hand, formula, "Ozone trace", 0.01);
    assert_int_equal(core_sum(hand, formula), parts_of(950));
    pm_parts a = hand_parts(hand, formula, "Driftwood base");
    pm_parts c = hand_parts(hand, formula, "Wet stone");
    assert_true(a - 2 * c >= -2 && a - 2 * c <= 2); /* each within a micro-part of 4 : 2 */
    struct pm_sheet *sheet = hand_draft(hand, formula);
    assert_int_equal(sheet->off, 0);
    assert_true(sheet->trial.settled);
    assert_int_equal(sheet->solvent_share, 0);
    pm_sheet_free(sheet);
}

static void restrength(struct hand *hand, int64_t formula, const char *line, const char *strength,
                       const char *solvent, char *remark, size_t size)
{
    struct pm_sheet *sheet = hand_draft(hand, formula);
    struct pm_gesture gesture = {.kind = PM_RESTRENGTH};
    struct pm_plan *plan;
    gesture.line = hand_line(hand, sheet, line);
    gesture.solvent = solvent != NULL ? hand_solvent(hand, solvent) : 0;
    hand_ok(hand, pm_strength_read(strength, &gesture.strength, &hand->err));
    hand_ok(hand, pm_plan_gesture(hand->studio, sheet, &gesture, &plan, &hand->err));
    snprintf(remark, size, "%s", pm_plan_remark(plan) != NULL ? pm_plan_remark(plan) : "");
    hand_ok(hand, pm_plan_commit(hand->studio, plan, NULL, &hand->err));
    pm_plan_free(plan);
    pm_sheet_free(sheet);
}

static void test_dilutions(void **state)
{
    struct hand *hand = *state;
    char remark[200];
    int64_t formula = core_accord(hand);
    hand_add_at(hand, formula, "Cold iron", 20, "10%", "Clear carrier");
    struct pm_sheet *sheet = hand_draft(hand, formula);
    /* 20 parts at 10 %: 18 of 1000 are solvent. */
    assert_int_equal(sheet->solvent_share, INT64_C(18000000000));
    assert_string_equal(sheet->lines[3].solvent, "Clear carrier");
    assert_int_equal(sheet->lines[3].neat, parts_of(2));
    pm_sheet_free(sheet);

    /* No carrier line: all lines are scaled alike, and the new overall strength is told. */
    restrength(hand, formula, "Cold iron", "1%", NULL, remark, sizeof remark);
    assert_non_null(strstr(remark, "Overall strength"));
    assert_non_null(strstr(remark, "98.2 %"));
    sheet = hand_draft(hand, formula);
    assert_string_equal(sheet->lines[3].solvent, "Clear carrier");
    assert_true(sheet->solvent_share > INT64_C(18000000000));
    assert_int_equal(sheet->off, 0);
    pm_sheet_free(sheet);
    hand_undo(hand, formula);
    assert_int_equal(hand_parts(hand, formula, "Cold iron"), parts_of(20));
}

static void test_matching_carrier_takes_the_difference(void **state)
{
    struct hand *hand = *state;
    char remark[200];
    int64_t formula = hand_formula(hand, "Thin air", 1000);
    hand_solvent(hand, "Clear carrier");
    hand_add(hand, formula, "Driftwood base", 300);
    hand_add_at(hand, formula, "Cold iron", 100, "10%", "Clear carrier");
    hand_add(hand, formula, "Clear carrier", 600);
    struct pm_sheet *sheet = hand_draft(hand, formula);
    struct pm_gesture carrier = {.kind = PM_SET_STANCE, .stance = PM_CARRIER};
    carrier.line = hand_line(hand, sheet, "Clear carrier");
    pm_sheet_free(sheet);
    hand_do(hand, formula, &carrier);
    /* 100 at 10 % and 50 at 20 % bring the same neat 10; the carrier makes up the rest. */
    restrength(hand, formula, "Cold iron", "20%", NULL, remark, sizeof remark);
    assert_int_equal(hand_parts(hand, formula, "Cold iron"), parts_of(50));
    assert_int_equal(hand_parts(hand, formula, "Clear carrier"), parts_of(650));
    assert_int_equal(hand_parts(hand, formula, "Driftwood base"), parts_of(300));
    assert_string_equal(remark, ""); /* the overall strength stays: nothing to tell */
}

static void test_keep_branch_and_go_back(void **state)
{
    struct hand *hand = *state;
    int64_t formula = core_accord(hand);
    assert_int_equal(hand_keep(hand, formula, "the bare core"), 1);
    hand_add(hand, formula, "Salt note", 20);
    assert_int_equal(hand_keep(hand, formula, NULL), 2);

    struct pm_gesture branch = {.kind = PM_BRANCH, .parent = hand_trial(hand, "Low tide/1")};
    hand_do(hand, formula, &branch);
    struct pm_sheet *sheet = hand_draft(hand, formula);
    assert_int_equal(sheet->parent_number, 1);
    assert_int_equal(sheet->trial.count, 3);
    pm_sheet_free(sheet);
    hand_add(hand, formula, "Kelp trace", 8);
    assert_int_equal(hand_keep(hand, formula, "kelp instead of salt"), 3);

    struct pm_trial_entries trials;
    hand_ok(hand, pm_trials_list(hand->studio, formula, PM_TRIALS_TREE | PM_TRIALS_CHANGED, &trials,
                                 &hand->err));
    assert_int_equal(trials.count, 3);
    assert_int_equal(trials.draft_parent, 3);
    assert_int_equal(trials.items[0].row.number, 1);
    assert_string_equal(trials.items[0].row.note, "the bare core");
    assert_null(trials.items[0].changed);
    assert_int_equal(trials.items[1].row.number, 2);
    assert_int_equal(trials.items[1].parent_number, 1);
    assert_int_equal(trials.items[1].lane, 1); /* the elder child branches off */
    assert_true(trials.items[1].starts);
    assert_true(trials.items[1].ends);
    assert_non_null(strstr(trials.items[1].changed, "+Salt note"));
    assert_int_equal(trials.items[2].row.number, 3);
    assert_int_equal(trials.items[2].parent_number, 1);
    assert_int_equal(trials.items[2].lane, 0); /* the younger one goes straight on */
    assert_false(trials.items[2].starts);
    assert_non_null(strstr(trials.items[2].changed, "+Kelp trace"));
    pm_list_release(&trials);

    /* Undo goes back through the keeps and the branch, over a restart, to the empty start. */
    hand_reopen(hand);
    hand_undo(hand, formula); /* the kelp */
    hand_undo(hand, formula); /* the branch: trial 2's content again */
    sheet = hand_draft(hand, formula);
    assert_int_equal(sheet->trial.count, 4);
    int64_t line;
    assert_int_equal(pm_sheet_find_line(sheet, "Salt note", &line, NULL), PM_OK);
    pm_sheet_free(sheet);
    for (int i = 0; i < 6; i++)
        hand_undo(hand, formula);
    sheet = hand_draft(hand, formula);
    assert_int_equal(sheet->trial.count, 0);
    assert_false(sheet->can_undo);
    assert_true(sheet->can_redo);
    pm_sheet_free(sheet);
    hand_reopen(hand);
    for (int i = 0; i < 8; i++)
        hand_redo(hand, formula);
    sheet = hand_draft(hand, formula);
    assert_int_equal(sheet->trial.count, 4);
    assert_int_equal(pm_sheet_find_line(sheet, "Kelp trace", &line, NULL), PM_OK);
    assert_false(sheet->can_redo);
    pm_sheet_free(sheet);

    /* What was kept has not moved. */
    hand_ok(hand, pm_sheet_open(hand->studio, hand_trial(hand, "Low tide/2"), &sheet, &hand->err));
    assert_int_equal(sheet->trial.count, 4);
    assert_true(sheet->read_only);
    pm_sheet_free(sheet);
}

static void test_fold_unfold_and_nesting(void **state)
{
    struct hand *hand = *state;
    int64_t formula = core_accord(hand), perfume;
    hand_add_held(hand, formula, "Salt note", 40);
    hand_add_held(hand, formula, "Foam", 10);
    struct pm_sheet *sheet = hand_draft(hand, formula), *after;
    struct pm_plan *plan;
    int64_t lines[2] = {hand_line(hand, sheet, "Salt note"), hand_line(hand, sheet, "Foam")};
    hand_ok(hand, pm_plan_fold(hand->studio, sheet, "Spray accord", lines, 2, &plan, &hand->err));
    hand_check(pm_plan_sheet(plan));
    assert_string_equal(pm_plan_sheet(plan)->lines[3].title, "Spray accord/1");
    assert_non_null(strstr(pm_plan_remark(plan), "Spray accord"));
    hand_ok(hand, pm_plan_commit(hand->studio, plan, &after, &hand->err));
    pm_plan_free(plan);
    assert_int_equal(after->trial.count, 4);
    assert_int_equal(after->trial.lines[3].parts, parts_of(50));
    pm_sheet_free(sheet);
    sheet = hand_draft(hand, formula);
    assert_true(pm_trial_equal(&sheet->trial, &after->trial));
    assert_int_equal(sheet->lines[3].accord_formula, after->lines[3].accord_formula);
    pm_sheet_free(sheet);
    pm_sheet_free(after);

    /* The accord is a formula of its own, 800 : 200. */
    hand_ok(hand,
            pm_sheet_open(hand->studio, hand_trial(hand, "Spray accord/1"), &sheet, &hand->err));
    assert_true(sheet->accord);
    assert_int_equal(sheet->trial.lines[0].parts, parts_of(800));
    assert_int_equal(sheet->trial.lines[1].parts, parts_of(200));
    pm_sheet_free(sheet);

    /* A perfume with an accord that holds an accord: the flat view has materials only. */
    assert_int_equal(hand_keep(hand, formula, NULL), 1);
    perfume = hand_formula(hand, "Harbour", 100);
    hand_add(hand, perfume, "Tar note", 60);
    hand_ok(hand, hand_add_accord(hand, perfume, "Low tide/1", 40));
    sheet = hand_draft(hand, perfume);
    struct pm_flat_sheet flat;
    hand_ok(hand, pm_sheet_flatten(hand->studio, sheet, &flat, &hand->err));
    assert_int_equal(flat.count, 6);
    pm_fine sum = 0;
    for (size_t i = 0; i < flat.count; i++) {
        sum += flat.lines[i].neat;
        if (strcmp(flat.lines[i].name, "Foam") == 0) /* 40 x 1 % */
            assert_int_equal(flat.lines[i].neat, INT64_C(400000000000));
    }
    assert_int_equal(sum, flat.total);
    pm_flat_sheet_release(&flat);
    pm_sheet_free(sheet);

    /* Unfold, undo, and undo of the fold. */
    sheet = hand_draft(hand, formula);
    struct pm_gesture unfold = {.kind = PM_UNFOLD, .line = hand_line(hand, sheet, "Spray")};
    pm_sheet_free(sheet);
    hand_do(hand, formula, &unfold);
    sheet = hand_draft(hand, formula);
    assert_int_equal(sheet->trial.count, 5);
    assert_int_equal(sheet->trial.lines[3].parts, parts_of(40));
    assert_int_equal(sheet->trial.lines[4].parts, parts_of(10));
    pm_sheet_free(sheet);
    hand_undo(hand, formula);
    hand_undo(hand, formula);
    sheet = hand_draft(hand, formula);
    assert_int_equal(sheet->trial.count, 5);
    pm_sheet_free(sheet);
    assert_true(hand_trial(hand, "Spray accord/1") > 0);
}

static void test_a_newer_accord_is_pointed_out(void **state)
{
    struct hand *hand = *state;
    int64_t accord = core_accord(hand);
    hand_keep(hand, accord, NULL);
    int64_t perfume = hand_formula(hand, "Harbour", 100);
    hand_ok(hand, hand_add_accord(hand, perfume, "Low tide/1", 100));
    hand_add(hand, accord, "Salt note", 5);
    hand_keep(hand, accord, NULL);
    struct pm_sheet *sheet = hand_draft(hand, perfume);
    assert_int_equal(sheet->lines[0].accord_number, 1);
    assert_int_equal(sheet->lines[0].accord_newest, 2);
    assert_string_equal(sheet->lines[0].title, "Low tide/1");
    pm_sheet_free(sheet);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_core_and_traces, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_dilutions, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_matching_carrier_takes_the_difference, hand_setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(test_keep_branch_and_go_back, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_fold_unfold_and_nesting, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_a_newer_accord_is_pointed_out, hand_setup,
                                        hand_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
