/* SPDX-License-Identifier: MIT */
/*
 * What browsing costs in a formula of 500 kept trials of 200 lines: the list as the room reads it,
 * the sentences of one screenful the first time and again, all of them, four trials side by side;
 * against one plain read of the same trials' rows by the store in the same run.
 */
#include "permille/store/formulas.h"
#include "src/studio/inside.h"
#include "tests/studio/hand.h"

#include "permille/base/mem.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <time.h>

#include <cmocka.h>

#define TRIALS 500
#define LINES  200
#define SCREEN 20

static double now_ms(void)
{
    struct timespec time;
    (void)clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec * 1e3 + (double)time.tv_nsec / 1e6;
}

static void fill(struct hand *hand, int64_t formula)
{
    char name[32];
    hand_do(hand, formula, &(struct pm_gesture){.kind = PM_SET_MODE, .mode = PM_OPEN});
    for (int i = 0; i < LINES; i++) {
        snprintf(name, sizeof name, "Material %d", i + 1);
        hand_add(hand, formula, name, 2 + i * 0.01);
    }
    hand_do(hand, formula, &(struct pm_gesture){.kind = PM_SETTLE});
    hand_do(hand, formula, &(struct pm_gesture){.kind = PM_SET_MODE, .mode = PM_SHARE});
}

/* Trials one after the other, every seventh from an earlier one. */
static void keep_all(struct hand *hand, int64_t formula)
{
    char name[32];
    for (int i = 1; i <= TRIALS; i++) {
        if (i % 7 == 0) {
            snprintf(name, sizeof name, "Long story/%d", i - 5);
            struct pm_gesture branch = {.kind = PM_BRANCH, .parent = hand_trial(hand, name)};
            hand_do(hand, formula, &branch);
        }
        snprintf(name, sizeof name, "#%d", i % LINES + 1);
        hand_set(hand, formula, name, 3 + i * 0.001);
        hand_keep(hand, formula, "one more");
    }
}

static void report(const char *what, double ms, double reference)
{
    printf("%-52s %8.2f ms   %5.2f of the plain read\n", what, ms, ms / reference);
}

static double plain_read(struct hand *hand, int64_t formula)
{
    struct pm_trial_rows rows;
    double start = now_ms();
    hand_ok(hand, pm_trial_list(hand->studio->library, formula, &rows, &hand->err));
    for (size_t i = 0; i < rows.count; i++) {
        struct pm_trial content;
        hand_ok(hand, pm_trial_load(hand->studio->library, rows.items[i].id, &content, &hand->err));
        pm_trial_release(&content);
    }
    double took = now_ms() - start;
    pm_list_release(&rows);
    return took;
}

static double read_list(struct hand *hand, int64_t formula, unsigned want,
                        struct pm_trial_entries *trials)
{
    double start = now_ms();
    hand_ok(hand, pm_trials_list(hand->studio, formula, want, trials, &hand->err));
    return now_ms() - start;
}

static double tell_screen(struct hand *hand, const struct pm_trial_entries *trials)
{
    struct pm_arena arena = {0};
    double start = now_ms();
    for (size_t i = trials->count - SCREEN; i < trials->count; i++) {
        const char *changed;
        hand_ok(hand, pm_trial_changed(hand->studio, trials->items[i].row.id, &arena, &changed,
                                       &hand->err));
    }
    double took = now_ms() - start;
    pm_arena_release(&arena);
    return took;
}

static double compare_four(struct hand *hand, const struct pm_trial_entries *trials)
{
    const int64_t four[] = {trials->items[0].row.id, trials->items[100].row.id,
                            trials->items[300].row.id, trials->items[trials->count - 1].row.id};
    struct pm_side_by_side side;
    double start = now_ms();
    hand_ok(hand, pm_compare_open(hand->studio, four, 4, PM_BY_FLAT, &side, &hand->err));
    double took = now_ms() - start;
    pm_side_by_side_release(&side);
    return took;
}

static void browse(void **state)
{
    struct hand *hand = *state;
    struct pm_trial_entries trials;
    int64_t formula = hand_formula(hand, "Long story", 1000);
    fill(hand, formula);
    keep_all(hand, formula);
    hand_reopen(hand);
    double reference = plain_read(hand, formula);
    printf("%d trials of %d lines, read plainly %31.2f ms\n", TRIALS, LINES, reference);
    unsigned tree = PM_TRIALS_TREE | PM_TRIALS_DRAFT | PM_TRIALS_IN_SIGHT;
    report("the tree", read_list(hand, formula, tree, &trials), reference);
    report("what changed in a screenful, the first time", tell_screen(hand, &trials), reference);
    report("what changed in a screenful, again", tell_screen(hand, &trials), reference);
    report("four side by side, flat", compare_four(hand, &trials), reference);
    pm_list_release(&trials);
    report("the list with every change (permille trials)",
           read_list(hand, formula, PM_TRIALS_CHANGED, &trials), reference);
    pm_list_release(&trials);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(browse, hand_setup, hand_teardown),
    };
    cmocka_set_message_output(CM_OUTPUT_TAP);
    return cmocka_run_group_tests(tests, NULL, NULL);
}
