/* SPDX-License-Identifier: MIT */
/*
 * Undo and redo: every gesture there and back bit for bit over a restart, long random walks, keeps
 * in between, branches of the history.
 */
#include "tests/studio/hand.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

/* A settled trial with a core, a held line, a carrier, dilutions, a comment and an accord. */
static int64_t rich_formula(struct hand *hand)
{
    int64_t accord = hand_formula(hand, "Inner", 100);
    hand_add(hand, accord, "Salt note", 30);
    hand_add_at(hand, accord, "Foam", 70, "10%", "Clear carrier");
    hand_keep(hand, accord, NULL);

    int64_t formula = hand_formula(hand, "Outer", 1000);
    hand_add(hand, formula, "Tar note", 200);
    hand_add(hand, formula, "Sea moss", 100);
    hand_add_at(hand, formula, "Cold iron", 50, "1%", "Clear carrier");
    hand_add(hand, formula, "Wet stone", 40);
    hand_ok(hand, hand_add_accord(hand, formula, "Inner/1", 110));
    hand_add(hand, formula, "Clear carrier", 500);
    return formula;
}

static void there_and_back(struct hand *hand, int64_t formula, const struct pm_gesture *gesture)
{
    struct pm_sheet *before = hand_draft(hand, formula);
    hand_do(hand, formula, gesture);
    struct pm_sheet *after = hand_draft(hand, formula);
    assert_int_not_equal(after->revision, before->revision);

    hand_reopen(hand);
    hand_undo(hand, formula);
    struct pm_sheet *now = hand_draft(hand, formula);
    if (!hand_same(&now->trial, &before->trial))
        fail_msg("%s does not undo exactly", pm_gesture_word(gesture->kind));
    assert_int_equal(now->revision, before->revision);
    pm_sheet_free(now);

    hand_reopen(hand);
    hand_redo(hand, formula);
    now = hand_draft(hand, formula);
    if (!pm_trial_equal(&now->trial, &after->trial))
        fail_msg("%s does not redo exactly", pm_gesture_word(gesture->kind));
    assert_int_equal(now->revision, after->revision);
    pm_sheet_free(now);
    pm_sheet_free(before);
    pm_sheet_free(after);
}

static void test_every_gesture_there_and_back(void **state)
{
    struct hand *hand = *state;
    int64_t formula = rich_formula(hand);
    struct pm_sheet *sheet = hand_draft(hand, formula);
    int64_t tar = hand_line(hand, sheet, "Tar"), moss = hand_line(hand, sheet, "Sea moss");
    int64_t iron = hand_line(hand, sheet, "Cold"), stone = hand_line(hand, sheet, "Wet");
    int64_t inner = hand_line(hand, sheet, "Inner"), clear = hand_line(hand, sheet, "Clear");
    pm_sheet_free(sheet);
    const int64_t pair[2] = {tar, moss};
    const int64_t weights[2] = {2, 1};
    struct pm_line fresh = {.ref = hand_material(hand, "Dry sail"), .strength = PM_NEAT};
    const struct pm_gesture all[] = {
        {.kind = PM_SET, .line = tar, .parts = parts_of(212.5)},
        {.kind = PM_NUDGE, .line = moss, .steps = -2},
        {.kind = PM_SCALE, .line = moss, .numerator = 3, .denominator = 2},
        {.kind = PM_ADD, .fresh = fresh, .parts = parts_of(3), .place = 1},
        {.kind = PM_SET_STANCE, .line = stone, .stance = PM_HELD},
        {.kind = PM_SET_STANCE, .line = clear, .stance = PM_CARRIER},
        {.kind = PM_SET_MODE, .mode = PM_CARRIER_MODE},
        {.kind = PM_RESTRENGTH, .line = iron, .strength = PM_NEAT / 10},
        {.kind = PM_FORM_CORE, .lines = pair, .weights = weights, .line_count = 2},
        {.kind = PM_SET, .line = tar, .parts = parts_of(100)},
        {.kind = PM_LEAVE_CORE, .line = moss},
        {.kind = PM_FORM_CORE, .lines = pair, .line_count = 2},
        {.kind = PM_BREAK_CORE, .line = moss},
        {.kind = PM_COMMENT,
         .line = iron,
         .text = "smells of\tthe \"quay\"\nat night \xE2\x9A\x93"},
        {.kind = PM_MOVE, .line = iron, .place = 0},
        {.kind = PM_SET_MODE, .mode = PM_OPEN},
        {.kind = PM_SET, .line = iron, .parts = parts_of(77)},
        {.kind = PM_SETTLE},
        {.kind = PM_SET_MODE, .mode = PM_SHARE},
        {.kind = PM_SET_BASE, .parts = parts_of(100)},
        {.kind = PM_UNFOLD, .line = inner},
        {.kind = PM_SWAP,
         .line = tar,
         .fresh = {.ref = hand_material(hand, "Pine tar"), .strength = PM_NEAT},
         .same_neat = false},
        {.kind = PM_DROP, .line = moss},
        {.kind = PM_BRANCH, .parent = 0},
    };
    for (size_t i = 0; i < sizeof all / sizeof *all; i++) {
        struct pm_gesture gesture = all[i];
        if (gesture.kind == PM_BRANCH) {
            hand_keep(hand, formula, NULL);
            hand_set(hand, formula, "Wet", 1);
            gesture.parent = hand_trial(hand, "Outer/1");
        }
        there_and_back(hand, formula, &gesture);
    }
}

/* The accord made by a fold stays, so the fold is redone onto the same accord. */
static void test_fold_there_and_back(void **state)
{
    struct hand *hand = *state;
    int64_t formula = rich_formula(hand);
    struct pm_sheet *before = hand_draft(hand, formula), *after;
    struct pm_plan *plan;
    int64_t lines[2] = {hand_line(hand, before, "Tar"), hand_line(hand, before, "Wet")};
    hand_ok(hand, pm_plan_fold(hand->studio, before, "Quay", lines, 2, &plan, &hand->err));
    hand_ok(hand, pm_plan_commit(hand->studio, plan, &after, &hand->err));
    pm_plan_free(plan);
    hand_reopen(hand);
    hand_undo(hand, formula);
    struct pm_sheet *now = hand_draft(hand, formula);
    assert_true(hand_same(&now->trial, &before->trial));
    pm_sheet_free(now);
    hand_redo(hand, formula);
    now = hand_draft(hand, formula);
    assert_true(pm_trial_equal(&now->trial, &after->trial));
    pm_sheet_free(now);
    pm_sheet_free(before);
    pm_sheet_free(after);
}

static void test_sentences_name_what_was_undone(void **state)
{
    struct hand *hand = *state;
    int64_t formula = rich_formula(hand);
    hand_set(hand, formula, "Sea moss", 120);
    struct pm_sheet *sheet = hand_draft(hand, formula), *back;
    struct pm_plan *plan;
    hand_ok(hand, pm_plan_undo(hand->studio, sheet, &plan, &hand->err));
    assert_string_equal(pm_plan_sheet(plan)->name, "Outer");
    assert_ptr_equal(strstr(pm_plan_sentence(plan), "Undid: Set Sea moss from 100 to 120"),
                     pm_plan_sentence(plan));
    assert_int_equal(pm_plan_effect(plan)->line, hand_line(hand, sheet, "Sea moss"));
    assert_int_equal(pm_plan_effect(plan)->now, parts_of(100));
    hand_ok(hand, pm_plan_commit(hand->studio, plan, &back, &hand->err));
    pm_plan_free(plan);
    hand_ok(hand, pm_plan_redo(hand->studio, back, &plan, &hand->err));
    assert_ptr_equal(strstr(pm_plan_sentence(plan), "Redid: Set Sea moss"), pm_plan_sentence(plan));
    pm_plan_free(plan);
    pm_sheet_free(back);
    pm_sheet_free(sheet);
}

static void test_nothing_to_undo_or_redo(void **state)
{
    struct hand *hand = *state;
    struct pm_plan *plan;
    int64_t formula = hand_formula(hand, "Blank", 1000);
    struct pm_sheet *sheet = hand_draft(hand, formula);
    assert_false(sheet->can_undo || sheet->can_redo);
    hand_refused(hand, pm_plan_undo(hand->studio, sheet, &plan, &hand->err), PM_REFUSED,
                 "Nothing to undo");
    hand_refused(hand, pm_plan_redo(hand->studio, sheet, &plan, &hand->err), PM_REFUSED,
                 "Nothing to redo");
    pm_sheet_free(sheet);
}

/* Undo, then something new: redo follows the newest way, the older one stays in the history. */
static void test_redo_follows_the_newest_way(void **state)
{
    struct hand *hand = *state;
    int64_t formula = rich_formula(hand);
    hand_set(hand, formula, "Sea moss", 120);
    hand_undo(hand, formula);
    hand_set(hand, formula, "Sea moss", 80);
    hand_undo(hand, formula);
    hand_redo(hand, formula);
    assert_int_equal(hand_parts(hand, formula, "Sea moss"), parts_of(80));
    struct pm_revision_entries history;
    hand_ok(hand, pm_history_list(hand->studio, formula, -1, "to 120", &history, &hand->err));
    assert_int_equal(history.count, 2); /* the gesture and its undoing */
    assert_true(history.items[0].row.undone);
    struct pm_sheet *past;
    hand_ok(hand, pm_history_sheet(hand->studio, history.items[0].row.id, &past, &hand->err));
    int64_t moss = hand_line(hand, past, "Sea moss");
    assert_int_equal(past->trial.lines[pm_trial_find(&past->trial, moss)].parts, parts_of(120));
    pm_sheet_free(past);
    pm_list_release(&history);
}

static void test_nothing_changed_writes_nothing(void **state)
{
    struct hand *hand = *state;
    int64_t formula = rich_formula(hand);
    struct pm_sheet *before = hand_draft(hand, formula);
    hand_set(hand, formula, "Sea moss", 100);
    struct pm_sheet *after = hand_draft(hand, formula);
    assert_int_equal(before->revision, after->revision);
    pm_sheet_free(before);
    pm_sheet_free(after);
}

/* ---- random walks ---- */

static int64_t any_line(const struct pm_sheet *sheet, uint64_t *seed)
{
    if (sheet->trial.count == 0)
        return 0;
    return sheet->trial.lines[hand_random(seed) % sheet->trial.count].id;
}

/* Some gesture, sensible or not: refusals are part of the walk. Storage is the caller's. */
static struct pm_gesture any_gesture(struct hand *hand, const struct pm_sheet *sheet,
                                     uint64_t *seed, int64_t lines[3])
{
    static const char *const names[] = {"Tar note",     "Sea moss", "Wet stone", "Salt note",
                                        "Foam",         "Kelp",     "Dry sail",  "Pine tar",
                                        "Gull feather", "Rope"};
    struct pm_gesture gesture = {.line = any_line(sheet, seed)};
    uint64_t random = hand_random(seed);
    gesture.kind = (enum pm_gesture_kind)(random % PM_BRANCH);
    if (sheet->trial.count < 4 && hand_random(seed) % 2 == 0)
        gesture.kind = PM_ADD;
    gesture.parts = (pm_parts)(hand_random(seed) % 200000000) + 1;
    gesture.steps = (int)(random % 7) - 3;
    gesture.numerator = (int64_t)(random % 5) + 1;
    gesture.denominator = (int64_t)(random / 8 % 5) + 1;
    gesture.fresh.ref = hand_material(hand, names[random / 64 % 10]);
    gesture.fresh.strength = random & 4096 ? PM_NEAT : PM_NEAT / 10;
    gesture.fresh.solvent = random & 4096 ? 0 : hand_solvent(hand, "Clear carrier");
    gesture.place = (size_t)(random / 512 % 12);
    gesture.same_neat = random & 8192;
    gesture.move_held = random & 16384;
    gesture.stance = (enum pm_stance)(random / 32768 % 3);
    gesture.mode = (enum pm_mode)(random / 131072 % 3);
    gesture.strength = random & 8192 ? PM_NEAT / 100 : PM_NEAT;
    gesture.solvent = hand_solvent(hand, "Clear carrier");
    for (int i = 0; i < 3; i++)
        lines[i] = any_line(sheet, seed);
    gesture.lines = lines;
    gesture.line_count = 2 + random / 262144 % 2;
    gesture.text = random & 1 ? "a word" : NULL;
    gesture.parent = sheet->trial.parent;
    if (gesture.kind == PM_SET_BASE)
        gesture.parts = random & 2 ? parts_of(1000) : parts_of(100);
    return gesture;
}

/* A fold takes a name of its own, so that accords come to stand in the formula and go again. */
static enum pm_status plan_any(struct hand *hand, const struct pm_sheet *sheet,
                               const struct pm_gesture *gesture, int step, struct pm_plan **plan)
{
    char name[40];
    if (gesture->kind != PM_FOLD)
        return pm_plan_gesture(hand->studio, sheet, gesture, plan, &hand->err);
    snprintf(name, sizeof name, "Part %d", step);
    return pm_plan_fold(hand->studio, sheet, name, gesture->lines, gesture->line_count, plan,
                        &hand->err);
}

static void walk(struct hand *hand, uint64_t seed, int gestures)
{
    int64_t formula = rich_formula(hand), lines[3];
    struct pm_sheet *start = hand_draft(hand, formula), *sheet = hand_draft(hand, formula);
    int written = 0, keeps = 0;
    for (int i = 0; written < gestures && i < 20 * gestures; i++) {
        struct pm_gesture gesture = any_gesture(hand, sheet, &seed, lines);
        struct pm_plan *plan;
        if (plan_any(hand, sheet, &gesture, i, &plan) != PM_OK) {
            assert_true(hand->err.text[0] != '\0');
            continue;
        }
        hand_check(pm_plan_sheet(plan));
        struct pm_sheet *next;
        hand_ok(hand, pm_plan_commit(hand->studio, plan, &next, &hand->err));
        pm_plan_free(plan);
        written += next->revision != sheet->revision;
        pm_sheet_free(sheet);
        sheet = next;
        if (i % 61 == 60 && pm_trial_keep(hand->studio, sheet, NULL, NULL, &hand->err) == PM_OK) {
            keeps++;
            pm_sheet_free(sheet);
            sheet = hand_draft(hand, formula);
        }
    }
    assert_int_equal(written, gestures);
    assert_true(keeps > 0);
    struct pm_sheet *end = hand_draft(hand, formula);
    assert_true(pm_trial_equal(&end->trial, &sheet->trial));
    pm_sheet_free(sheet);

    hand_reopen(hand);
    for (int i = 0; i < written; i++)
        hand_undo(hand, formula);
    struct pm_sheet *back = hand_draft(hand, formula);
    assert_int_equal(back->revision, start->revision);
    back->trial.parent = start->trial.parent; /* the keeps stay */
    assert_true(hand_same(&back->trial, &start->trial));
    pm_sheet_free(back);
    for (int i = 0; i < written; i++)
        hand_redo(hand, formula);
    struct pm_sheet *again = hand_draft(hand, formula);
    again->trial.parent = end->trial.parent;
    assert_true(hand_same(&again->trial, &end->trial));
    assert_false(again->can_redo);
    pm_sheet_free(again);
    pm_sheet_free(end);
    pm_sheet_free(start);
}

static void test_random_walk_and_all_the_way_back(void **state)
{
    walk(*state, UINT64_C(0x5EA5A17), 500);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_every_gesture_there_and_back, hand_setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(test_fold_there_and_back, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_sentences_name_what_was_undone, hand_setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(test_nothing_to_undo_or_redo, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_redo_follows_the_newest_way, hand_setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(test_nothing_changed_writes_nothing, hand_setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(test_random_walk_and_all_the_way_back, hand_setup,
                                        hand_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
