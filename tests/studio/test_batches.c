/* SPDX-License-Identifier: MIT */
/*
 * Batches and fillings as days and pours go by: what the display is to show without taring, what is
 * due and when, what a batch becomes in few words.
 */
#include "hand.h"

#include "permille/base/clock.h"
#include "permille/studio/scale.h"
#include "permille/studio/stock.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

/* ---- without taring ---- */

/* 5 g, 3 g and 2 g; the display goes on from what was poured, not from what was meant. */
static void the_display_goes_on(void **state)
{
    struct hand *hand = *state;
    const int64_t formula = hand_formula(hand, "Quay", 1000);
    const struct pm_weigh_how how = {.order = "written", .as_it_is = true, .cumulative = true};
    struct pm_batch_record record;
    int64_t id = 0;
    hand_add(hand, formula, "Salt", 500);
    hand_add(hand, formula, "Rope", 300);
    hand_add(hand, formula, "Tar", 200);
    hand_keep(hand, formula, NULL);
    hand_ok(hand, pm_batch_start(hand->studio, 0, hand_trial(hand, "Quay/1"), 10 * PM_GRAM, &how,
                                 NULL, &id, &hand->err));
    hand_ok(hand, pm_batch_show(hand->studio, id, &record, &hand->err));
    assert_int_equal(record.count, 3);
    assert_int_equal(record.items[0].reads, 5 * PM_GRAM);
    assert_int_equal(record.items[2].shows, 10 * PM_GRAM);
    pm_batch_record_release(&record);
    static const pm_mass poured[] = {5010000, 3000000};
    static const pm_mass reads[] = {8010000, 10010000};
    for (size_t i = 0; i < 2; i++) {
        const struct pm_pouring pouring = {.batch = id, .place = (int64_t)i + 1, .mass = poured[i]};
        hand_ok(hand, pm_batch_pour(hand->studio, &pouring, NULL, NULL, &hand->err));
        hand_ok(hand, pm_batch_show(hand->studio, id, &record, &hand->err));
        assert_int_equal(record.next, i + 1);
        assert_int_equal(record.items[i + 1].reads, reads[i]);
        assert_int_equal(record.items[i + 1].shows, reads[i]);
        pm_batch_record_release(&record);
    }
    /* Half of the last: what is still to come is shown on top of what is there. */
    const struct pm_pouring half = {.batch = id, .place = 3, .mass = PM_GRAM};
    hand_ok(hand, pm_batch_pour(hand->studio, &half, NULL, NULL, &hand->err));
    hand_ok(hand, pm_batch_show(hand->studio, id, &record, &hand->err));
    assert_int_equal(record.items[2].reads, 10010000);
    pm_batch_record_release(&record);
}

/* What is lacking by half a step of the display is there; by a microgram more it is not. */
static void done_to_half_a_step(void **state)
{
    struct hand *hand = *state;
    const int64_t formula = hand_formula(hand, "Quay", 1000);
    const struct pm_weigh_how how = {.as_it_is = true, .order = "written"};
    hand_add(hand, formula, "Salt", 100);
    hand_add(hand, formula, "Rope", 900);
    hand_keep(hand, formula, NULL);
    for (pm_mass less = 0; less <= 1; less++) {
        struct pm_batch_record record;
        int64_t id = 0;
        hand_ok(hand, pm_batch_start(hand->studio, 0, hand_trial(hand, "Quay/1"), PM_GRAM, &how,
                                     NULL, &id, &hand->err));
        const struct pm_pouring pouring = {.batch = id, .place = 1, .mass = 95000 - less};
        hand_ok(hand, pm_batch_pour(hand->studio, &pouring, NULL, NULL, &hand->err));
        hand_ok(hand, pm_batch_show(hand->studio, id, &record, &hand->err));
        assert_int_equal(record.items[0].target, 100000);
        assert_int_equal(record.plan.balance.readability, 10000);
        assert_int_equal(record.items[0].done, less == 0);
        pm_batch_record_release(&record);
    }
}

/* A plan that is taken back is out of sight, and there again when that is taken back. */
static void a_plan_is_undone_and_done_again(void **state)
{
    struct hand *hand = *state;
    const int64_t formula = hand_formula(hand, "Quay", 1000);
    hand_add(hand, formula, "Salt", 1000);
    hand_keep(hand, formula, NULL);
    hand_plan(hand, "Quay/1", "10g", NULL, NULL);
    for (int again = 0; again < 3; again++) {
        struct pm_batches plans;
        hand_ok(hand, pm_batches_list(hand->studio, false, &plans, &hand->err));
        assert_int_equal(plans.count, again != 1);
        pm_list_release(&plans);
        if (again == 0)
            hand_ok(hand, pm_shelf_undo(hand->studio, NULL, &hand->err));
        if (again == 1)
            hand_ok(hand, pm_shelf_redo(hand->studio, NULL, &hand->err));
    }
}

/* ---- reminders ---- */

static void due_says(struct hand *hand, const char *text, pm_day changes)
{
    struct pm_due_note due;
    hand_ok(hand, pm_reminder_due(hand->studio, &due, &hand->err));
    assert_string_equal(due.text, text);
    assert_int_equal(due.next_at, changes == PM_NO_DAY ? 0 : pm_day_begin(changes));
}

/* A filling is due on its very day, not on the eve; the longest waiting stands first; what is done
 * is not due. */
static void due_on_its_day(void **state)
{
    struct hand *hand = *state;
    const pm_day today = pm_day_of(hand->time);
    struct pm_filling_row rows[] = {
        {.filter_on = today + 1, .ready_on = PM_NO_DAY},
        {.filter_on = PM_NO_DAY, .ready_on = today + 2},
        {.filter_on = today, .ready_on = PM_NO_DAY},
    };
    struct pm_reminders reminders;
    due_says(hand, "", PM_NO_DAY);
    for (size_t i = 0; i < 3; i++) {
        rows[i].concentrate = PM_GRAM;
        rows[i].ethanol = 4 * PM_GRAM;
        rows[i].at_hand = PM_NEAT;
        rows[i].bottles = -1;
        hand_ok(hand, pm_filling_note(hand->studio, &rows[i], &hand->err));
    }
    due_says(hand, "filter now: filling 3", today + 1);
    hand->time += 86400;
    due_says(hand, "filter now: filling 3 (+1)", today + 2);
    hand->time += 86400;
    due_says(hand, "filter now: filling 3 (+2)", PM_NO_DAY);
    hand_ok(hand, pm_reminders(hand->studio, true, &reminders, &hand->err));
    assert_int_equal(reminders.count, 3);
    for (size_t i = 0; i < 3; i++)
        assert_int_equal(reminders.items[i].late, 2 - (int64_t)i);
    pm_list_release(&reminders);
    static const struct pm_filling_event done[] = {{.filling = 3, .kind = PM_FILLING_FILTERED},
                                                   {.filling = 1, .kind = PM_FILLING_FILTERED}};
    for (size_t i = 0; i < 2; i++)
        hand_ok(hand, pm_filling_happen(hand->studio, &done[i], &hand->err));
    due_says(hand, "matured: filling 2", PM_NO_DAY);
    hand_refused(hand, pm_filling_happen(hand->studio, &done[0], &hand->err), PM_REFUSED,
                 "been filtered already");
}

/* ---- in few words ---- */

/* 1 % of itself is said, less is counted; unknown is counted always, and said where it was known.
 */
static void what_changed_little_is_counted(void **state)
{
    (void)state;
    struct pm_become_line lines[] = {{"Salt", INT64_C(100000000000), INT64_C(101010101011)},
                                     {"Rope", INT64_C(100000000000), INT64_C(99000000000)},
                                     {"Tar", INT64_C(100000000000), INT64_C(99000000001)},
                                     {"Iron", 0, 1}};
    struct pm_become_limit limits[] = {
        {"Brine", PM_VERDICT_UNKNOWN, PM_VERDICT_UNKNOWN, 5, 5, PM_UNKNOWN, false, ""},
        {"Resin", PM_WITHIN, PM_VERDICT_UNKNOWN, 5, 5, PM_UNKNOWN, false, ""},
        {"Rust", PM_OVER, PM_OVER, 5, 5, PM_NEAT / 100, false, ""},
        {"Dew", PM_WITHIN, PM_WITHIN, 5, 5, PM_NEAT / 100, false, ""}};
    const struct pm_become become = {.base = 1000 * PM_PART,
                                     .items = lines,
                                     .count = 4,
                                     .limits = limits,
                                     .limit_count = 4,
                                     .over = 1,
                                     .unknown = 2,
                                     .within = 1,
                                     .wish = {.dosage = PM_NEAT / 5, .category = "4"}};
    struct pm_text out = PM_TEXT_EMPTY;
    assert_int_equal(pm_become_text(&become, true, '.', &out, NULL), PM_OK);
    const char *text = pm_text_get(&out);
    assert_non_null(strstr(text, "Salt: 101.01"));
    assert_non_null(strstr(text, "Rope: 99.00 parts, was 100.00"));
    assert_null(strstr(text, "Tar:"));
    assert_non_null(strstr(text, "Iron:"));
    assert_non_null(strstr(text, "\n1 changed by less than 1 % of itself.\n"));
    assert_non_null(strstr(text, "0 prohibited, 1 over, 2 unknown, 1 within"));
    assert_null(strstr(text, "Brine"));
    assert_non_null(strstr(text, "Resin: unknown, was within"));
    assert_non_null(strstr(text, "Rust: over"));
    assert_null(strstr(text, "Dew"));
    pm_text_release(&out);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, hand_setup, hand_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(the_display_goes_on),
        TEST(done_to_half_a_step),
        TEST(a_plan_is_undone_and_done_again),
        TEST(due_on_its_day),
        cmocka_unit_test(what_changed_little_is_counted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
