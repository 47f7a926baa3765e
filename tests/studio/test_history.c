/* SPDX-License-Identifier: MIT */
/*
 * Looking back: any revision as it was seen then, one brought back, trials side by side, labels.
 */
#include "tests/studio/hand.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static int64_t simple(struct hand *hand, const char *name)
{
    int64_t formula = hand_formula(hand, name, 100);
    hand_add(hand, formula, "Tar note", 50);
    hand_add(hand, formula, "Sea moss", 30);
    hand_add(hand, formula, "Wet stone", 20);
    return formula;
}

static int64_t newest_revision(struct hand *hand, int64_t formula)
{
    struct pm_revision_entries history;
    hand_ok(hand, pm_history_list(hand->studio, formula, -1, NULL, &history, &hand->err));
    int64_t id = history.count ? history.items[history.count - 1].row.id : 0;
    pm_list_release(&history);
    return id;
}

/* What was seen right after each row of the history, whatever it was: gestures, keeps, undoing,
 * branches. */
enum { SEEN_MAX = 40 };
struct seen {
    int64_t revision[SEEN_MAX];
    struct pm_sheet *sheet[SEEN_MAX];
    size_t count;
};

static void look(struct hand *hand, int64_t formula, struct seen *seen)
{
    assert_true(seen->count < SEEN_MAX);
    seen->revision[seen->count] = newest_revision(hand, formula);
    seen->sheet[seen->count++] = hand_draft(hand, formula);
}

static void keep_and_look(struct hand *hand, int64_t formula, struct seen *seen)
{
    struct pm_sheet *sealed = hand_draft(hand, formula);
    hand_keep(hand, formula, NULL);
    seen->revision[seen->count] = newest_revision(hand, formula);
    seen->sheet[seen->count++] = sealed;
}

static void test_every_revision_as_it_was_seen(void **state)
{
    struct hand *hand = *state;
    struct seen seen = {.count = 0};
    int64_t formula = simple(hand, "Harbour");
    look(hand, formula, &seen);
    hand_set(hand, formula, "Tar", 40);
    look(hand, formula, &seen);
    keep_and_look(hand, formula, &seen);
    hand_add(hand, formula, "Kelp", 5);
    look(hand, formula, &seen);
    hand_undo(hand, formula);
    look(hand, formula, &seen);
    hand_undo(hand, formula); /* behind the keep */
    look(hand, formula, &seen);
    hand_add(hand, formula, "Rope", 7);
    look(hand, formula, &seen);
    keep_and_look(hand, formula, &seen);
    struct pm_gesture branch = {.kind = PM_BRANCH, .parent = hand_trial(hand, "Harbour/1")};
    hand_do(hand, formula, &branch);
    look(hand, formula, &seen);
    hand_set(hand, formula, "Sea", 33);
    look(hand, formula, &seen);
    hand_undo(hand, formula);
    look(hand, formula, &seen);
    hand_undo(hand, formula); /* the branch */
    look(hand, formula, &seen);
    hand_redo(hand, formula);
    look(hand, formula, &seen);
    hand_reopen(hand);

    for (size_t i = 0; i < seen.count; i++) {
        struct pm_sheet *past;
        hand_ok(hand, pm_history_sheet(hand->studio, seen.revision[i], &past, &hand->err));
        hand_check(past);
        assert_true(past->read_only);
        if (!hand_same(&past->trial, &seen.sheet[i]->trial))
            fail_msg("row %zu of the history is not what was seen", i);
        assert_int_equal(past->solvent_share, seen.sheet[i]->solvent_share);
        pm_sheet_free(past);
        pm_sheet_free(seen.sheet[i]);
    }
}

static void test_bringing_a_revision_back(void **state)
{
    struct hand *hand = *state;
    int64_t formula = simple(hand, "Harbour");
    int64_t then = newest_revision(hand, formula);
    struct pm_sheet *before = hand_draft(hand, formula);
    hand_set(hand, formula, "Tar", 40);
    hand_add(hand, formula, "Kelp", 5);
    struct pm_sheet *sheet = hand_draft(hand, formula), *after;
    struct pm_plan *plan;
    hand_ok(hand, pm_plan_restore(hand->studio, sheet, then, &plan, &hand->err));
    assert_non_null(strstr(pm_plan_sentence(plan), "Brought back revision 3"));
    hand_ok(hand, pm_plan_commit(hand->studio, plan, &after, &hand->err));
    pm_plan_free(plan);
    assert_int_equal(after->trial.count, 3);
    for (size_t i = 0; i < 3; i++)
        assert_int_equal(after->trial.lines[i].parts, before->trial.lines[i].parts);
    pm_sheet_free(after);
    hand_undo(hand, formula);
    struct pm_sheet *back = hand_draft(hand, formula);
    assert_true(hand_same(&back->trial, &sheet->trial));
    pm_sheet_free(back);

    int64_t other = simple(hand, "Other");
    struct pm_sheet *foreign = hand_draft(hand, other);
    hand_refused(hand, pm_plan_restore(hand->studio, foreign, then, &plan, &hand->err), PM_REFUSED,
                 "another formula");
    struct pm_sheet *past;
    struct pm_gesture drop = {.kind = PM_DROP, .line = 1};
    hand_ok(hand, pm_history_sheet(hand->studio, then, &past, &hand->err));
    hand_refused(hand, pm_plan_gesture(hand->studio, past, &drop, &plan, &hand->err), PM_REFUSED,
                 "look back");
    pm_sheet_free(past);
    pm_sheet_free(foreign);
    pm_sheet_free(sheet);
    pm_sheet_free(before);
}

static void test_the_list_of_revisions(void **state)
{
    struct hand *hand = *state;
    int64_t formula = simple(hand, "Harbour");
    hand_keep(hand, formula, NULL);
    hand_set(hand, formula, "Tar", 40);
    hand_undo(hand, formula);
    struct pm_revision_entries history;
    hand_ok(hand, pm_history_list(hand->studio, formula, -1, NULL, &history, &hand->err));
    assert_int_equal(history.count, 6);
    for (size_t i = 0; i < history.count; i++)
        assert_int_equal(history.items[i].row.number, (int64_t)i + 1);
    assert_true(history.items[2].is_head);
    assert_int_equal(history.items[2].trial_number, 1);
    assert_string_equal(history.items[3].row.gesture, "keep");
    assert_string_equal(history.items[3].row.sentence, "Kept as Harbour/1");
    assert_true(history.items[4].row.undone);
    assert_int_equal(history.items[4].trial_number, 0);
    assert_string_equal(history.items[5].row.gesture, "undo");
    pm_list_release(&history);
    hand_ok(hand, pm_history_list(hand->studio, formula, 1, "TAR", &history, &hand->err));
    assert_int_equal(history.count, 1);
    pm_list_release(&history);
    hand_ok(hand, pm_history_list(hand->studio, formula, 0, NULL, &history, &hand->err));
    assert_int_equal(history.count, 2);
    pm_list_release(&history);
    assert_int_equal(pm_history_list(hand->studio, formula, 7, NULL, &history, &hand->err),
                     PM_MISSING);
}

/* ---- side by side ---- */

static const struct pm_side_line *row_of(const struct pm_side_by_side *side, const char *name)
{
    for (size_t i = 0; i < side->count; i++)
        if (strcmp(side->lines[i].name, name) == 0)
            return &side->lines[i];
    fail_msg("no row %s", name);
    return NULL;
}

static struct pm_side_by_side side_of(struct hand *hand, const char *a, const char *b,
                                      enum pm_compare_by by)
{
    struct pm_side_by_side side;
    const int64_t trials[2] = {hand_trial(hand, a), hand_trial(hand, b)};
    hand_ok(hand, pm_compare_open(hand->studio, trials, 2, by, &side, &hand->err));
    return side;
}

static void test_side_by_side_finds_reordered_lines(void **state)
{
    struct hand *hand = *state;
    int64_t formula = simple(hand, "Harbour");
    hand_keep(hand, formula, NULL);
    struct pm_sheet *sheet = hand_draft(hand, formula);
    struct pm_gesture move = {.kind = PM_MOVE, .line = hand_line(hand, sheet, "Tar"), .place = 2};
    struct pm_gesture drop = {.kind = PM_DROP, .line = hand_line(hand, sheet, "Wet")};
    pm_sheet_free(sheet);
    hand_do(hand, formula, &move);
    hand_keep(hand, formula, NULL);
    hand_do(hand, formula, &drop);
    hand_add(hand, formula, "Kelp", 20);
    hand_keep(hand, formula, NULL);

    struct pm_side_by_side side = side_of(hand, "Harbour/1", "Harbour/2", PM_BY_POURED);
    assert_int_equal(side.count, 3);
    for (size_t i = 0; i < side.count; i++)
        assert_int_equal(side.lines[i].row.change[1], PM_SAME);
    assert_string_equal(side.sentences[1], "Harbour/1 to Harbour/2: same amounts");
    pm_side_by_side_release(&side);

    side = side_of(hand, "Harbour/1", "Harbour", PM_BY_POURED);
    assert_string_equal(side.titles[1], "Harbour");
    assert_int_equal(row_of(&side, "Tar note")->row.change[1], PM_SAME);
    assert_int_equal(row_of(&side, "Wet stone")->row.change[1], PM_GONE);
    assert_int_equal(row_of(&side, "Kelp")->row.change[1], PM_ADDED);
    assert_non_null(strstr(side.sentences[1], "+Kelp, -Wet stone"));
    pm_side_by_side_release(&side);
}

static void test_side_by_side_sees_through_strength_and_nesting(void **state)
{
    struct hand *hand = *state;
    int64_t formula = hand_formula(hand, "Open", 100);
    struct pm_gesture open = {.kind = PM_SET_MODE, .mode = PM_OPEN};
    hand_do(hand, formula, &open);
    hand_add(hand, formula, "Tar note", 90);
    hand_add_at(hand, formula, "Cold iron", 10, "10%", "Clear carrier");
    hand_keep(hand, formula, NULL);
    struct pm_sheet *sheet = hand_draft(hand, formula);
    struct pm_gesture weaker = {
        .kind = PM_RESTRENGTH, .line = hand_line(hand, sheet, "Cold"), .strength = PM_NEAT / 20};
    pm_sheet_free(sheet);
    hand_do(hand, formula, &weaker);
    hand_keep(hand, formula, NULL);
    struct pm_side_by_side side = side_of(hand, "Open/1", "Open/2", PM_BY_POURED);
    assert_int_equal(row_of(&side, "Cold iron")->row.change[1], PM_MORE);
    pm_side_by_side_release(&side);
    side = side_of(hand, "Open/1", "Open/2", PM_BY_NEAT);
    assert_int_equal(row_of(&side, "Cold iron")->row.change[1], PM_SAME);
    pm_side_by_side_release(&side);

    /* An accord unfolded is the same perfume in the flat view. */
    int64_t inner = simple(hand, "Inner");
    hand_keep(hand, inner, NULL);
    int64_t outer = hand_formula(hand, "Outer", 100);
    hand_add(hand, outer, "Rope", 50);
    hand_ok(hand, hand_add_accord(hand, outer, "Inner/1", 50));
    hand_keep(hand, outer, NULL);
    sheet = hand_draft(hand, outer);
    struct pm_gesture unfold = {.kind = PM_UNFOLD, .line = hand_line(hand, sheet, "Inner")};
    pm_sheet_free(sheet);
    hand_do(hand, outer, &unfold);
    hand_keep(hand, outer, NULL);
    side = side_of(hand, "Outer/1", "Outer/2", PM_BY_FLAT);
    assert_int_equal(side.count, 4);
    for (size_t i = 0; i < side.count; i++)
        assert_int_equal(side.lines[i].row.change[1], PM_SAME);
    pm_side_by_side_release(&side);
    side = side_of(hand, "Outer/1", "Outer/2", PM_BY_POURED);
    assert_int_equal(row_of(&side, "Inner")->row.change[1], PM_GONE);
    assert_int_equal(row_of(&side, "Tar note")->row.change[1], PM_ADDED);
    pm_side_by_side_release(&side);
}

/* One change made on purpose is named, the lines that gave way are counted. */
static void test_what_changed_in_words(void **state)
{
    struct hand *hand = *state;
    int64_t formula = hand_formula(hand, "Harbour", 1000);
    static const char *const names[] = {"Tar note", "Sea moss", "Wet stone", "Rope"};
    for (size_t i = 0; i < 4; i++)
        hand_add(hand, formula, names[i], i < 3 ? 300 : 100);
    hand_keep(hand, formula, NULL);
    hand_set(hand, formula, "Rope", 120);
    hand_keep(hand, formula, NULL);
    struct pm_trial_entries trials;
    hand_ok(hand, pm_trials_list(hand->studio, formula, PM_TRIALS_CHANGED, &trials, &hand->err));
    assert_string_equal(trials.items[1].changed, "Rope 100 -> 120; 3 others");
    pm_list_release(&trials);
    /* A trace that moved by less than two decimals show is still seen to move. */
    hand_set(hand, formula, "Rope", 120.0004);
    struct pm_side_by_side side = side_of(hand, "Harbour/2", "Harbour", PM_BY_POURED);
    assert_non_null(strstr(side.sentences[1], "Rope 120 -> 120.0004"));
    pm_side_by_side_release(&side);
    int64_t two = hand_formula(hand, "Two", 100);
    hand_add(hand, two, "Tar note", 60);
    hand_add(hand, two, "Sea moss", 40);
    hand_keep(hand, two, NULL);
    hand_set(hand, two, "Tar", 70);
    side = side_of(hand, "Two/1", "Two", PM_BY_POURED);
    assert_string_equal(side.sentences[1], "Two/1 to Two: Sea moss 40 -> 30, Tar note 60 -> 70");
    pm_side_by_side_release(&side);
    struct pm_gesture base = {.kind = PM_SET_BASE, .parts = parts_of(100)};
    hand_do(hand, formula, &base);
    side = side_of(hand, "Harbour/2", "Harbour", PM_BY_POURED);
    assert_non_null(strstr(side.sentences[1], "base 1000 -> 100"));
    pm_side_by_side_release(&side);
    int64_t one[1] = {hand_trial(hand, "Harbour/1")};
    hand_refused(hand, pm_compare_open(hand->studio, one, 1, PM_BY_NEAT, &side, &hand->err),
                 PM_INVALID, "Two to 4");
}

static void test_another_trial_of_an_accord_is_told(void **state)
{
    struct hand *hand = *state;
    int64_t inner = simple(hand, "Inner"), outer = hand_formula(hand, "Outer", 100);
    hand_keep(hand, inner, NULL);
    hand_set(hand, inner, "Tar", 10);
    hand_keep(hand, inner, NULL);
    hand_add(hand, outer, "Rope", 50);
    hand_ok(hand, hand_add_accord(hand, outer, "Inner/1", 50));
    hand_keep(hand, outer, NULL);
    struct pm_sheet *sheet = hand_draft(hand, outer);
    struct pm_gesture swap = {.kind = PM_SWAP, .line = hand_line(hand, sheet, "Inner")};
    swap.fresh.kind = PM_LINE_ACCORD;
    swap.fresh.ref = hand_trial(hand, "Inner/2");
    swap.fresh.strength = PM_NEAT;
    pm_sheet_free(sheet);
    hand_do(hand, outer, &swap);
    struct pm_side_by_side side = side_of(hand, "Outer/1", "Outer", PM_BY_POURED);
    assert_int_equal(row_of(&side, "Inner")->row.change[1], PM_SAME);
    assert_string_equal(side.sentences[1], "Outer/1 to Outer: Inner/1 -> Inner/2");
    pm_side_by_side_release(&side);
}

static void test_labels_and_setting_aside(void **state)
{
    struct hand *hand = *state;
    int64_t formula = simple(hand, "Harbour");
    hand_keep(hand, formula, "first");
    int64_t trial = hand_trial(hand, "Harbour/1");
    hand_ok(hand, pm_trial_set_label(hand->studio, trial, "for the show", &hand->err));
    hand_ok(hand, pm_trial_set_aside(hand->studio, trial, true, &hand->err));
    struct pm_sheet *sheet;
    hand_ok(hand, pm_sheet_open(hand->studio, trial, &sheet, &hand->err));
    assert_string_equal(sheet->label, "for the show");
    assert_string_equal(sheet->note, "first");
    pm_sheet_free(sheet);
    hand_ok(hand, pm_trial_set_label(hand->studio, trial, "", &hand->err));
    struct pm_trial_entries trials;
    hand_ok(hand, pm_trials_list(hand->studio, formula, PM_TRIALS_TREE, &trials, &hand->err));
    assert_null(trials.items[0].row.label);
    assert_true(trials.items[0].row.set_aside);
    pm_list_release(&trials);
    hand_refused(hand,
                 pm_trial_set_label(hand->studio, hand_trial(hand, "Harbour"), "x", &hand->err),
                 PM_REFUSED, "kept trials");
}

static void test_a_copy_is_a_formula_of_its_own(void **state)
{
    struct hand *hand = *state;
    int64_t formula = simple(hand, "Harbour"), copy;
    hand_keep(hand, formula, NULL);
    hand_set(hand, formula, "Tar", 10);
    hand_ok(hand, pm_formula_copy(hand->studio, hand_trial(hand, "Harbour/1"), "Quay", &copy,
                                  &hand->err));
    struct pm_sheet *sheet = hand_draft(hand, copy);
    assert_int_equal(sheet->trial.count, 3);
    assert_int_equal(sheet->trial.lines[0].parts, parts_of(50));
    assert_int_equal(sheet->parent_number, 0);
    assert_true(sheet->trial.settled);
    pm_sheet_free(sheet);
    hand_set(hand, copy, "Tar", 20);
    hand_undo(hand, copy);
    hand_undo(hand, copy);
    sheet = hand_draft(hand, copy);
    assert_int_equal(sheet->trial.count, 0);
    pm_sheet_free(sheet);
    assert_int_equal(hand_parts(hand, formula, "Tar"), parts_of(10));
    hand_refused(
        hand, pm_formula_copy(hand->studio, hand_trial(hand, "Harbour"), "QUAY", &copy, &hand->err),
        PM_EXISTS, "Quay");
}

/* With two lines at some millionths only what they weigh tells 31.7 from 18.3. */
static void squeeze(struct hand *hand, int64_t formula)
{
    hand_set(hand, formula, "Tar", 99.99999);
    assert_int_equal(hand_parts(hand, formula, "Sea"), 6);
    assert_int_equal(hand_parts(hand, formula, "Wet"), 4);
}

static void assert_as_typed(struct hand *hand, int64_t formula)
{
    hand_set(hand, formula, "Tar", 50);
    assert_int_equal(hand_parts(hand, formula, "Sea"), parts_of(31.7));
    assert_int_equal(hand_parts(hand, formula, "Wet"), parts_of(18.3));
}

static void test_what_lines_weigh_stays(void **state)
{
    struct hand *hand = *state;
    int64_t formula = hand_formula(hand, "Harbour", 100);
    hand_add(hand, formula, "Tar note", 50);
    hand_add(hand, formula, "Sea moss", 31.7);
    hand_add(hand, formula, "Wet stone", 18.3);
    squeeze(hand, formula);
    hand_reopen(hand);
    assert_as_typed(hand, formula);
    squeeze(hand, formula);
    hand_keep(hand, formula, NULL);
    hand_reopen(hand);
    assert_as_typed(hand, formula);
    hand_undo(hand, formula);
    hand_reopen(hand);
    hand_undo(hand, formula); /* behind the keep */
    hand_redo(hand, formula);
    assert_as_typed(hand, formula);
    hand_set(hand, formula, "Sea", 5);
    struct pm_gesture branch = {.kind = PM_BRANCH, .parent = hand_trial(hand, "Harbour/1")};
    hand_do(hand, formula, &branch);
    hand_reopen(hand);
    assert_as_typed(hand, formula);
}

/* A line that was held comes back held, also where its resting was kept and branched from. */
static void test_what_rests_comes_back_as_it_was(void **state)
{
    struct hand *hand = *state;
    int64_t formula = hand_formula(hand, "Harbour", 100);
    hand_add(hand, formula, "Tar note", 50);
    hand_add(hand, formula, "Sea moss", 30);
    hand_add_held(hand, formula, "Wet stone", 20);
    struct pm_sheet *sheet = hand_draft(hand, formula);
    int64_t line = hand_line(hand, sheet, "Wet");
    pm_sheet_free(sheet);
    const struct pm_gesture rest = {.kind = PM_SET_STANCE, .line = line, .stance = PM_RESTING};
    const struct pm_gesture back = {.kind = PM_SET_STANCE, .line = line, .as_it_was = true};
    hand_do(hand, formula, &rest);
    hand_keep(hand, formula, NULL);
    hand_do(hand, formula, &back);
    hand_set(hand, formula, "Tar", 70);
    struct pm_gesture branch = {.kind = PM_BRANCH, .parent = hand_trial(hand, "Harbour/1")};
    hand_do(hand, formula, &branch);
    hand_reopen(hand);
    hand_do(hand, formula, &back);
    sheet = hand_draft(hand, formula);
    long place = pm_trial_find(&sheet->trial, line);
    assert_int_equal(sheet->trial.lines[place].stance, PM_HELD);
    assert_int_equal(sheet->trial.lines[place].parts, parts_of(20));
    pm_sheet_free(sheet);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_every_revision_as_it_was_seen, hand_setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(test_bringing_a_revision_back, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_the_list_of_revisions, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_side_by_side_finds_reordered_lines, hand_setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(test_side_by_side_sees_through_strength_and_nesting,
                                        hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_what_changed_in_words, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_another_trial_of_an_accord_is_told, hand_setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(test_labels_and_setting_aside, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_what_lines_weigh_stays, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_what_rests_comes_back_as_it_was, hand_setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(test_a_copy_is_a_formula_of_its_own, hand_setup,
                                        hand_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
