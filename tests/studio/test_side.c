/* SPDX-License-Identifier: MIT */
/* The tree of trials, what changed in each, and trials side by side, as a perfumer meets them. */
#include "hand.h"

#include "permille/base/mem.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static int64_t harbour(struct hand *hand)
{
    int64_t formula = hand_formula(hand, "Harbour", 1000);
    hand_add(hand, formula, "Tar note", 300);
    hand_add(hand, formula, "Sea moss", 300);
    hand_add(hand, formula, "Wet stone", 200);
    hand_add(hand, formula, "Rope", 150);
    hand_add(hand, formula, "Cold iron", 50);
    return formula;
}

static void branch(struct hand *hand, int64_t formula, const char *title)
{
    struct pm_gesture gesture = {.kind = PM_BRANCH, .parent = hand_trial(hand, title)};
    hand_do(hand, formula, &gesture);
}

/* ---- the tree ---- */

/* Trial 1; 2 and 3 from it; 4 from 2; the draft from 3. */
static int64_t branches(struct hand *hand)
{
    int64_t formula = harbour(hand);
    hand_keep(hand, formula, NULL);
    hand_set(hand, formula, "Rope", 160);
    hand_keep(hand, formula, "more rope");
    branch(hand, formula, "Harbour/1");
    hand_set(hand, formula, "Tar", 350);
    hand_keep(hand, formula, NULL);
    branch(hand, formula, "Harbour/2");
    hand_set(hand, formula, "Cold", 60);
    hand_keep(hand, formula, NULL);
    branch(hand, formula, "Harbour/3");
    return formula;
}

static char *drawn(struct hand *hand, int64_t formula, unsigned want, bool utf8)
{
    struct pm_trial_entries trials;
    struct pm_text text = PM_TEXT_EMPTY;
    hand_ok(hand, pm_trials_list(hand->studio, formula, want, &trials, &hand->err));
    for (size_t i = 0; i < trials.count; i++) {
        pm_trial_tree(&trials.items[i], utf8, &text);
        pm_text_addf(&text, " %lld\n", (long long)trials.items[i].row.number);
    }
    pm_list_release(&trials);
    return pm_text_take(&text);
}

static void draws(struct hand *hand, int64_t formula, unsigned want, bool utf8, const char *wanted)
{
    char *tree = drawn(hand, formula, want, utf8);
    assert_string_equal(tree, wanted);
    pm_free(tree);
}

static void test_the_line_of_the_draft_goes_straight_down(void **state)
{
    struct hand *hand = *state;
    int64_t formula = branches(hand);
    unsigned want = PM_TRIALS_TREE | PM_TRIALS_DRAFT;
    draws(hand, formula, want, true, "┌ 1\n├─┬ 2\n│ └ 4\n├ 3\n└ 0\n");
    draws(hand, formula, want, false, ". 1\n+-. 2\n| ' 4\n+ 3\n' 0\n");
    branch(hand, formula, "Harbour/4");
    draws(hand, formula, want, true, "┌ 1\n├── 3\n├ 2\n├ 4\n└ 0\n");
    draws(hand, formula, PM_TRIALS_TREE, true, "┌ 1\n├── 3\n├ 2\n└ 4\n");
    int64_t empty = hand_formula(hand, "Empty", 100);
    draws(hand, empty, want, true, "─ 0\n");
}

static void test_a_long_line_of_trials_stays_at_the_left(void **state)
{
    struct hand *hand = *state;
    int64_t formula = harbour(hand);
    for (int i = 0; i < 30; i++) {
        hand_set(hand, formula, "Rope", 151 + i);
        hand_keep(hand, formula, NULL);
    }
    struct pm_trial_entries trials;
    hand_ok(hand, pm_trials_list(hand->studio, formula, PM_TRIALS_TREE, &trials, &hand->err));
    for (size_t i = 0; i < trials.count; i++) {
        assert_int_equal(trials.items[i].lane, 0);
        assert_int_equal(trials.items[i].row.number, i + 1);
    }
    pm_list_release(&trials);
}

static void test_set_aside_trials_leave_the_tree_whole(void **state)
{
    struct hand *hand = *state;
    int64_t formula = branches(hand);
    unsigned want = PM_TRIALS_TREE | PM_TRIALS_DRAFT | PM_TRIALS_IN_SIGHT;
    hand_ok(hand, pm_trial_set_aside(hand->studio, hand_trial(hand, "Harbour/2"), true, NULL));
    draws(hand, formula, want, true, "┌ 1\n├─┬ 2\n│ └ 4\n├ 3\n└ 0\n"); /* 4 needs it */
    hand_ok(hand, pm_trial_set_aside(hand->studio, hand_trial(hand, "Harbour/4"), true, NULL));
    draws(hand, formula, want, true, "┌ 1\n├ 3\n└ 0\n");
    struct pm_trial_entries trials;
    hand_ok(hand, pm_trials_list(hand->studio, formula, want, &trials, &hand->err));
    assert_int_equal(trials.out_of_sight, 2);
    pm_list_release(&trials);
}

/* ---- what changed ---- */

static void changed_is(struct hand *hand, const char *title, const char *wanted)
{
    struct pm_arena arena = {0};
    const char *changed;
    hand_ok(hand,
            pm_trial_changed(hand->studio, hand_trial(hand, title), &arena, &changed, &hand->err));
    if (wanted != NULL)
        assert_string_equal(changed, wanted);
    else
        assert_null(changed);
    pm_arena_release(&arena);
}

static void test_what_changed_follows_names(void **state)
{
    struct hand *hand = *state;
    int64_t formula = branches(hand);
    changed_is(hand, "Harbour/1", NULL);
    changed_is(hand, "Harbour/2", "Rope 150 -> 160; 4 others");
    changed_is(hand, "Harbour/3", "Tar note 300 -> 350; 4 others");
    changed_is(hand, "Harbour", "same amounts");
    hand_set(hand, formula, "Rope", 100);
    changed_is(hand, "Harbour", "Rope 139.29 -> 100; 4 others");
    /* What is remembered of a kept trial is told with the names of today. */
    const char *form[PM_MATERIAL_ATTRIBUTES] = {
        [PM_MATERIAL_NAME] = "Old rope", [PM_MATERIAL_KIND] = "chemical"};
    hand_ok(hand, pm_shelf_edit(hand->studio, hand_material(hand, "Rope"), form, &hand->err));
    changed_is(hand, "Harbour/2", "Old rope 150 -> 160; 4 others");
}

/* A dilution made weaker is no loss: the strengths are told with the amounts. */
static void test_another_strength_is_told(void **state)
{
    struct hand *hand = *state;
    int64_t formula = hand_formula(hand, "Open", 100);
    struct pm_gesture open = {.kind = PM_SET_MODE, .mode = PM_OPEN};
    hand_do(hand, formula, &open);
    hand_add(hand, formula, "Tar note", 80);
    hand_add_at(hand, formula, "Cold iron", 10, "1%", "Clear carrier");
    hand_add_at(hand, formula, "Wet stone", 10, "10%", "Clear carrier");
    hand_keep(hand, formula, NULL);
    struct pm_sheet *sheet = hand_draft(hand, formula);
    struct pm_gesture stronger = {
        .kind = PM_RESTRENGTH, .line = hand_line(hand, sheet, "Cold"), .strength = PM_NEAT / 10};
    struct pm_gesture moved = {.kind = PM_RESTRENGTH,
                               .line = hand_line(hand, sheet, "Wet"),
                               .strength = PM_NEAT / 10,
                               .solvent = hand_solvent(hand, "Other carrier")};
    pm_sheet_free(sheet);
    hand_do(hand, formula, &stronger);
    hand_do(hand, formula, &moved);
    hand_keep(hand, formula, NULL);
    changed_is(hand, "Open/2",
               "Cold iron 10 at 1 % -> 1 at 10 %, Wet stone 10 -> 10 now in Other carrier");
}

/* ---- side by side ---- */

static const struct pm_side_line *line_of(const struct pm_side_by_side *side, const char *name)
{
    for (size_t i = 0; i < side->count; i++)
        if (strcmp(side->lines[i].name, name) == 0)
            return &side->lines[i];
    fail_msg("no line %s", name);
    return NULL;
}

static size_t shown(const struct pm_side_by_side *side, enum pm_side_only only)
{
    size_t count = 0;
    for (size_t i = 0; i < side->count; i++)
        count += pm_side_shown(side, &side->lines[i], only);
    return count;
}

/* The draft against three trials, one of another formula on another base. */
static void open_four(struct hand *hand, struct pm_side_by_side *side)
{
    int64_t formula = branches(hand);
    hand_add(hand, formula, "Kelp", 30);
    int64_t quay = hand_formula(hand, "Quay", 100);
    hand_add(hand, quay, "Sea moss", 60);
    hand_add_at(hand, quay, "Kelp", 40, "10%", "Clear carrier");
    hand_keep(hand, quay, NULL);
    const int64_t four[] = {hand_trial(hand, "Harbour/1"), hand_trial(hand, "Harbour/3"),
                            hand_trial(hand, "Harbour"), hand_trial(hand, "Quay/1")};
    hand_ok(hand, pm_compare_open(hand->studio, four, 4, PM_BY_POURED, side, &hand->err));
}

static void test_four_trials_of_two_formulas(void **state)
{
    struct hand *hand = *state;
    struct pm_side_by_side side;
    open_four(hand, &side);
    assert_string_equal(side.titles[2], "Harbour");
    assert_string_equal(side.titles[3], "Quay/1");
    assert_int_equal(side.base[3], parts_of(100));
    assert_int_equal(side.total[3], parts_of(100));
    assert_int_equal(side.written[0], 5);
    assert_int_equal(side.written[3], 2);
    assert_int_equal(side.count, 6);
    const struct pm_side_line *moss = line_of(&side, "Sea moss");
    assert_int_equal(moss->row.poured[3], INT64_C(600000000000000)); /* on the base of 1000 */
    assert_string_equal(pm_side_word(moss, 1), "in step");
    assert_string_equal(pm_side_word(moss, 3), "more");
    const struct pm_side_line *kelp = line_of(&side, "Kelp");
    assert_string_equal(pm_side_word(kelp, 1), "");
    assert_string_equal(pm_side_word(kelp, 2), "added");
    assert_string_equal(kelp->form[2], "neat");
    assert_string_equal(kelp->form[3], "10 % in Clear carrier");
    assert_null(kelp->form[0]);
    assert_string_equal(pm_side_word(line_of(&side, "Rope"), 3), "gone");
    /* 40 parts at 10 %: 36 of 100 are solvent. */
    assert_int_equal(side.solvent_share[3], INT64_C(360000000000));
    assert_int_equal(side.strength[3], INT64_C(640000000000));
    assert_null(side.sentences[0]);
    assert_string_equal(side.sentences[1], "Harbour/1 to Harbour/3: Tar note 300 -> 350; 4 others");
    assert_non_null(strstr(side.sentences[2], "+Kelp"));
    assert_non_null(strstr(side.sentences[3], "base 1000 -> 100"));
    pm_side_by_side_release(&side);
}

static void test_sorting_and_leaving_out(void **state)
{
    struct hand *hand = *state;
    struct pm_side_by_side side;
    open_four(hand, &side);
    assert_int_equal(shown(&side, PM_SIDE_ALL), 6);
    pm_side_sort(&side, PM_SIDE_BY_PARTS, 3);
    assert_string_equal(side.lines[0].name, "Kelp"); /* +400 */
    assert_int_equal(side.lines[0].place, 5);
    pm_side_sort(&side, PM_SIDE_BY_FACTOR, 1);
    assert_string_equal(side.lines[0].name, "Tar note"); /* x1.17 against x0.93 */
    pm_side_sort(&side, PM_SIDE_AS_WRITTEN, 1);
    for (size_t i = 0; i < side.count; i++)
        assert_int_equal(side.lines[i].place, i);
    pm_side_by_side_release(&side);

    const int64_t two[] = {hand_trial(hand, "Harbour/1"), hand_trial(hand, "Harbour/2")};
    hand_ok(hand, pm_compare_open(hand->studio, two, 2, PM_BY_FLAT, &side, &hand->err));
    assert_int_equal(shown(&side, PM_SIDE_DIFFERING), 5);
    assert_int_equal(shown(&side, PM_SIDE_OWN), 1);
    assert_true(pm_side_shown(&side, line_of(&side, "Rope"), PM_SIDE_OWN));
    pm_side_by_side_release(&side);
}

#define HAND(test) cmocka_unit_test_setup_teardown(test, hand_setup, hand_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        HAND(test_the_line_of_the_draft_goes_straight_down),
        HAND(test_a_long_line_of_trials_stays_at_the_left),
        HAND(test_set_aside_trials_leave_the_tree_whole),
        HAND(test_what_changed_follows_names),
        HAND(test_another_strength_is_told),
        HAND(test_four_trials_of_two_formulas),
        HAND(test_sorting_and_leaving_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
