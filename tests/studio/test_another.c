/* SPDX-License-Identifier: MIT */
/*
 * Another library beside this one, made from the same: rows that say the same are paired one to
 * one, and a number alone does not make two bottles one.
 */
#include "hand.h"

#include "permille/studio/another.h"
#include "permille/studio/bottles.h"
#include "permille/studio/scale.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#define THEIRS_PATH 128

/* A copy of the library, opened as another studio. */
static struct pm_studio *theirs_of(struct hand *hand, char path[THEIRS_PATH])
{
    const struct pm_studio_options options = {.clock = &hand->clock};
    struct pm_studio *theirs;
    snprintf(path, THEIRS_PATH, "%s/theirs.db", hand->folder);
    hand_ok(hand, pm_studio_backup(hand->studio, path, false, &hand->err));
    hand_ok(hand, pm_studio_open(path, &options, &theirs, &hand->err));
    return theirs;
}

static size_t in_state(const struct pm_another *another, enum pm_other_kind kind,
                       enum pm_other_state state)
{
    size_t count = 0;
    for (size_t i = 0; i < another->items.count; i++)
        count += another->items.items[i].kind == kind && another->items.items[i].state == state;
    return count;
}

/* Three batches of one trial in one second cannot be told apart; three there are three here. */
static void what_says_the_same_is_paired_one_to_one(void **state)
{
    struct hand *hand = *state;
    const int64_t formula = hand_formula(hand, "Quay", 1000);
    const struct pm_weigh_how how = {.as_it_is = true};
    struct pm_another *another;
    char path[THEIRS_PATH];
    int64_t id;
    hand_add(hand, formula, "Salt", 1000);
    hand_keep(hand, formula, NULL);
    const int64_t trial = hand_trial(hand, "Quay/1");
    for (int i = 0; i < 3; i++)
        hand_ok(hand, pm_batch_start(hand->studio, 0, trial, PM_GRAM, &how, NULL, &id, &hand->err));
    struct pm_studio *theirs = theirs_of(hand, path);
    hand_ok(hand, pm_batch_start(theirs, 0, trial, PM_GRAM, &how, NULL, &id, &hand->err));
    pm_studio_close(theirs);
    hand_ok(hand, pm_another_open(hand->studio, path, &another, &hand->err));
    assert_int_equal(in_state(another, PM_OTHER_BATCH, PM_OTHER_SAME), 3);
    assert_int_equal(in_state(another, PM_OTHER_BATCH, PM_OTHER_NEW), 1);
    pm_another_close(another);
    unlink(path);
}

/* Both put up their first bottle of a material, each a B001: they are two, and both stay. */
static void a_number_alone_does_not_make_one_of_two(void **state)
{
    struct hand *hand = *state;
    const int64_t salt = hand_material(hand, "Salt");
    struct pm_another *another;
    struct pm_bottles bottles;
    char path[THEIRS_PATH];
    struct pm_studio *theirs = theirs_of(hand, path);
    hand_ok(hand, pm_bottle_add(theirs, salt, 7 * PM_GRAM, NULL, 0, NULL, &hand->err));
    pm_studio_close(theirs);
    hand->time += 60;
    hand_ok(hand, pm_bottle_add(hand->studio, salt, 5 * PM_GRAM, NULL, 0, NULL, &hand->err));
    hand_ok(hand, pm_another_open(hand->studio, path, &another, &hand->err));
    assert_int_equal(in_state(another, PM_OTHER_BOTTLE, PM_OTHER_NEW), 1);
    hand_ok(hand, pm_another_bring(hand->studio, another, NULL, &hand->err));
    pm_another_close(another);
    const struct pm_bottle_filter all = {.set_aside_too = true};
    hand_ok(hand, pm_bottles_list(hand->studio, &all, &bottles, &hand->err));
    assert_int_equal(bottles.count, 2);
    assert_int_equal(bottles.items[0].left + bottles.items[1].left, 12 * PM_GRAM);
    pm_list_release(&bottles);
    unlink(path);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, hand_setup, hand_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(what_says_the_same_is_paired_one_to_one),
        TEST(a_number_alone_does_not_make_one_of_two),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
