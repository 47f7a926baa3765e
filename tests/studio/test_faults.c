/* SPDX-License-Identifier: MIT */
/*
 * When things go wrong: another instance was faster, the file is locked, the disk is full, memory
 * runs out. The plan stays whole, the file stays as it was.
 */
#include "tests/studio/hand.h"

#include "permille/base/mem.h"
#include "permille/store/library.h"

#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <sys/resource.h>

#include <cmocka.h>

static int64_t simple(struct hand *hand, const char *name)
{
    int64_t formula = hand_formula(hand, name, 100);
    hand_add(hand, formula, "Tar note", 60);
    hand_add(hand, formula, "Sea moss", 40);
    return formula;
}

static struct pm_plan *plan_set(struct hand *hand, const struct pm_sheet *sheet, double parts)
{
    struct pm_plan *plan;
    struct pm_gesture set = {.kind = PM_SET, .parts = parts_of(parts)};
    set.line = hand_line(hand, sheet, "Tar");
    hand_ok(hand, pm_plan_gesture(hand->studio, sheet, &set, &plan, &hand->err));
    return plan;
}

static void test_a_stale_plan_writes_nothing(void **state)
{
    struct hand *hand = *state;
    int64_t formula = simple(hand, "Harbour");
    struct pm_studio *first = hand->studio, *second = hand_second(hand);
    struct pm_sheet *sheet = hand_draft(hand, formula), *after = NULL;
    struct pm_plan *plan = plan_set(hand, sheet, 70);

    hand->studio = second;
    hand_set(hand, formula, "Sea", 45);
    hand->studio = first;
    assert_int_equal(pm_plan_commit(first, plan, &after, &hand->err), PM_STALE);
    assert_null(after);
    assert_int_equal(hand_parts(hand, formula, "Tar"), parts_of(55));
    assert_true(pm_studio_changed_outside(first));
    assert_false(pm_studio_changed_outside(first));
    pm_plan_free(plan);

    /* Keeping elsewhere makes a draft stale too. */
    pm_sheet_free(sheet);
    sheet = hand_draft(hand, formula);
    plan = plan_set(hand, sheet, 70);
    hand->studio = second;
    hand_keep(hand, formula, NULL);
    hand->studio = first;
    assert_int_equal(pm_plan_commit(first, plan, NULL, &hand->err), PM_STALE);
    assert_int_equal(pm_trial_keep(first, sheet, NULL, NULL, &hand->err), PM_STALE);
    pm_plan_free(plan);
    pm_sheet_free(sheet);
    pm_studio_close(second);
}

static void test_names_changed_outside_are_read_again(void **state)
{
    struct hand *hand = *state;
    int64_t formula = simple(hand, "Harbour");
    struct pm_studio *second = hand_second(hand);
    struct pm_sheet *sheet = hand_draft(hand, formula);
    const char *edit[PM_MATERIAL_ATTRIBUTES] = {[PM_MATERIAL_NAME] = "Pine tar"};
    int64_t tar = hand_material(hand, "Tar note");
    hand_ok(hand, pm_shelf_edit(second, tar, edit, &hand->err));
    hand_ok(hand, pm_formula_rename(second, formula, "Quay", &hand->err));
    struct pm_sheet *again = hand_draft(hand, formula);
    assert_string_equal(again->lines[0].name, "Pine tar");
    assert_string_equal(again->name, "Quay");
    pm_sheet_free(again);
    pm_sheet_free(sheet);
    pm_studio_close(second);
}

static void test_a_locked_file_keeps_the_plan(void **state)
{
    struct hand *hand = *state;
    int64_t formula = simple(hand, "Harbour");
    struct pm_sheet *sheet = hand_draft(hand, formula), *after;
    struct pm_plan *plan = plan_set(hand, sheet, 70);
    struct pm_library *other;
    hand_ok(hand, pm_library_open(hand->path, 0, NULL, NULL, &other, &hand->err));
    hand_ok(hand, pm_library_begin(other, &hand->err));
    assert_int_equal(pm_plan_commit(hand->studio, plan, &after, &hand->err), PM_BUSY);
    pm_library_abort(other);
    pm_library_close(other);
    assert_non_null(pm_plan_sheet(plan));
    hand_ok(hand, pm_plan_commit(hand->studio, plan, &after, &hand->err));
    assert_int_equal(after->trial.lines[0].parts, parts_of(70));
    assert_null(pm_plan_sheet(plan));
    assert_int_equal(pm_plan_commit(hand->studio, plan, NULL, &hand->err), PM_STALE);
    pm_plan_free(plan);
    pm_sheet_free(after);
    pm_sheet_free(sheet);
}

/* No file may grow any more: what a full disk looks like without needing one. */
static void limit_files(rlim_t size)
{
    struct rlimit limit;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &limit), 0);
    limit.rlim_cur = size;
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &limit), 0);
}

static void test_a_full_disk_keeps_the_plan(void **state)
{
    struct hand *hand = *state;
    int64_t formula = simple(hand, "Harbour");
    struct pm_sheet *sheet = hand_draft(hand, formula), *after;
    struct pm_plan *plan = plan_set(hand, sheet, 70);
    signal(SIGXFSZ, SIG_IGN);
    limit_files(100);
    enum pm_status status = pm_plan_commit(hand->studio, plan, &after, &hand->err);
    limit_files(RLIM_INFINITY);
    assert_int_equal(status, PM_FULL);
    assert_int_equal(hand_parts(hand, formula, "Tar"), parts_of(60));
    hand_ok(hand, pm_plan_commit(hand->studio, plan, &after, &hand->err));
    assert_int_equal(after->trial.lines[0].parts, parts_of(70));
    pm_plan_free(plan);
    pm_sheet_free(after);
    pm_sheet_free(sheet);
}

/* A fold writes two formulas: both or neither. */
static void test_a_fold_that_fails_leaves_no_accord(void **state)
{
    struct hand *hand = *state;
    int64_t formula = simple(hand, "Harbour"), id;
    struct pm_sheet *sheet = hand_draft(hand, formula), *after;
    struct pm_plan *plan;
    int64_t lines[2] = {sheet->trial.lines[0].id, sheet->trial.lines[1].id};
    hand_ok(hand, pm_plan_fold(hand->studio, sheet, "Quay", lines, 2, &plan, &hand->err));
    signal(SIGXFSZ, SIG_IGN);
    limit_files(100);
    assert_int_not_equal(pm_plan_commit(hand->studio, plan, &after, &hand->err), PM_OK);
    limit_files(RLIM_INFINITY);
    assert_int_equal(pm_formula_find(hand->studio, "Quay", &id, NULL, NULL, NULL), PM_MISSING);
    hand_check(pm_plan_sheet(plan));
    hand_ok(hand, pm_plan_commit(hand->studio, plan, &after, &hand->err));
    hand_ok(hand, pm_formula_find(hand->studio, "Quay/1", &id, NULL, NULL, &hand->err));
    assert_int_equal(after->lines[0].accord_formula, id);
    pm_plan_free(plan);
    pm_sheet_free(after);
    pm_sheet_free(sheet);
}

/* ---- memory ---- */

static void test_a_fold_without_memory_can_be_committed_again(void **state)
{
    struct hand *hand = *state;
    int64_t formula = simple(hand, "Harbour"), id;
    struct pm_sheet *sheet = hand_draft(hand, formula), *after = NULL;
    struct pm_plan *plan;
    int64_t lines[2] = {sheet->trial.lines[0].id, sheet->trial.lines[1].id};
    hand_ok(hand, pm_plan_fold(hand->studio, sheet, "Quay", lines, 2, &plan, &hand->err));
    enum pm_status status = PM_NOMEM;
    for (long n = 1; status != PM_OK && n < 1000; n++) {
        pm_mem_fail_at(n, false);
        status = pm_plan_commit(hand->studio, plan, &after, &hand->err);
        pm_mem_fail_at(0, false);
        if (status == PM_OK)
            break;
        assert_int_equal(status, PM_NOMEM);
        hand_check(pm_plan_sheet(plan));
        assert_int_equal(pm_formula_find(hand->studio, "Quay", &id, NULL, NULL, NULL), PM_MISSING);
    }
    hand_ok(hand, status);
    hand_ok(hand, pm_formula_find(hand->studio, "Quay", &id, NULL, NULL, &hand->err));
    assert_int_equal(after->lines[0].accord_formula, id);
    assert_int_equal(after->trial.lines[0].ref, hand_trial(hand, "Quay/1"));
    pm_plan_free(plan);
    pm_sheet_free(after);
    pm_sheet_free(sheet);
}

static enum pm_status whole_gesture(struct hand *hand, const struct pm_sheet *sheet,
                                    const struct pm_gesture *gesture)
{
    struct pm_plan *plan;
    struct pm_sheet *after;
    enum pm_status status = pm_plan_gesture(hand->studio, sheet, gesture, &plan, &hand->err);
    if (status != PM_OK)
        return status;
    status = pm_plan_commit(hand->studio, plan, &after, &hand->err);
    pm_plan_free(plan);
    if (status == PM_OK)
        pm_sheet_free(after);
    return status;
}

/* The n-th request fails, for n = 1, 2, 3... until a run meets no fault: each failure is an
 * ordinary error and changes nothing. */
static void test_lost_memory_changes_nothing(void **state)
{
    struct hand *hand = *state;
    int64_t formula = simple(hand, "Harbour");
    struct pm_sheet *sheet = hand_draft(hand, formula);
    struct pm_gesture add = {.kind = PM_ADD, .parts = parts_of(5)};
    add.fresh.ref = hand_material(hand, "Kelp");
    add.fresh.strength = PM_NEAT;
    long n = 0;
    enum pm_status status;
    do {
        pm_mem_fail_at(++n, true);
        status = whole_gesture(hand, sheet, &add);
        pm_mem_fail_at(0, false);
        struct pm_sheet *now = hand_draft(hand, formula);
        if (status != PM_OK) {
            assert_int_equal(status, PM_NOMEM);
            assert_true(pm_trial_equal(&now->trial, &sheet->trial));
            assert_int_equal(now->revision, sheet->revision);
        }
        pm_sheet_free(now);
    } while (status != PM_OK && n < 2000);
    assert_int_equal(status, PM_OK);
    assert_true(n > 10);
    pm_sheet_free(sheet);
}

static enum pm_status read_everything(struct hand *hand, int64_t formula, const int64_t pair[2])
{
    struct pm_trial_entries trials;
    struct pm_revision_entries history;
    struct pm_side_by_side side;
    struct pm_formulas formulas;
    struct pm_material_entries hits;
    struct pm_studio *studio = hand->studio;
    enum pm_status status = pm_trials_list(
        studio, formula, PM_TRIALS_TREE | PM_TRIALS_DRAFT | PM_TRIALS_CHANGED, &trials, &hand->err);
    if (status != PM_OK)
        return status;
    pm_list_release(&trials);
    status = pm_history_list(studio, formula, -1, "a", &history, &hand->err);
    if (status != PM_OK)
        return status;
    struct pm_sheet *past;
    status = pm_history_sheet(studio, history.items[0].row.id, &past, &hand->err);
    pm_list_release(&history);
    if (status != PM_OK)
        return status;
    pm_sheet_free(past);
    status = pm_compare_open(studio, pair, 2, PM_BY_FLAT, &side, &hand->err);
    if (status != PM_OK)
        return status;
    pm_side_by_side_release(&side);
    status = pm_formulas_list(studio, "", true, &formulas, &hand->err);
    if (status != PM_OK)
        return status;
    pm_list_release(&formulas);
    status = pm_shelf_search(studio, "a", 10, true, &hits, &hand->err);
    if (status == PM_OK)
        pm_list_release(&hits);
    return status;
}

static void test_reading_without_memory(void **state)
{
    struct hand *hand = *state;
    int64_t formula = simple(hand, "Harbour");
    hand_keep(hand, formula, "note");
    hand_add(hand, formula, "Kelp", 5);
    hand_keep(hand, formula, NULL);
    const int64_t pair[2] = {hand_trial(hand, "Harbour/1"), hand_trial(hand, "Harbour/2")};
    hand_ok(hand, read_everything(hand, formula, pair)); /* fills the caches */
    pm_mem_fail_at(0, false);
    hand_ok(hand, read_everything(hand, formula, pair));
    long requests = pm_mem_fail_at(0, false);
    assert_true(requests > 30);
    /* No failure is swallowed: an answer that lacks something would look right. */
    for (long n = 1; n <= requests; n++) {
        pm_mem_fail_at(n, false);
        enum pm_status status = read_everything(hand, formula, pair);
        pm_mem_fail_at(0, false);
        if (status != PM_NOMEM)
            fail_msg("request %ld of %ld failed, answer %s", n, requests, pm_status_word(status));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_a_stale_plan_writes_nothing, hand_setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(test_names_changed_outside_are_read_again, hand_setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(test_a_locked_file_keeps_the_plan, hand_setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(test_a_full_disk_keeps_the_plan, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_a_fold_that_fails_leaves_no_accord, hand_setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(test_a_fold_without_memory_can_be_committed_again,
                                        hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(test_lost_memory_changes_nothing, hand_setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(test_reading_without_memory, hand_setup, hand_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
