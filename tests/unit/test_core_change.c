/* SPDX-License-Identifier: MIT */
/*
 * Changes as text: broken, mutated and misplaced ones are refused and leave the trial alone; lost
 * memory too. That sound ones go forth and back over long walks is in test_core_walk.
 */
#include "permille/base/mem.h"
#include "permille/core/change.h"
#include "trials.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void sample(struct pm_trial *trial)
{
    static const int64_t chosen[] = {1, 2}, ratio[] = {2, 1};
    tr_settled(trial, PM_SHARE, (pm_parts[]){P(400), P(200), P(300), P(100)}, 4);
    tr_done(trial, (struct pm_gesture){
                       .kind = PM_FORM_CORE, .lines = chosen, .weights = ratio, .line_count = 2});
    tr_done(trial, (struct pm_gesture){.kind = PM_COMMENT, .line = 3, .text = "x"});
}

/* What each gesture leaves behind reads as one would write it. */
static void reads_well(void **state)
{
    (void)state;
    struct pm_trial before, after;
    struct pm_text text = PM_TEXT_EMPTY;
    sample(&before);
    sample(&after);
    assert_int_equal(pm_change_between(&before, &after, &text, NULL), PM_OK);
    assert_string_equal(pm_text_get(&text), "change 3\n");
    pm_text_clear(&text);
    tr_set(&after, 4, P(200));
    tr_done(&after, (struct pm_gesture){.kind = PM_COMMENT, .line = 3});
    tr_done(&after, (struct pm_gesture){.kind = PM_MOVE, .line = 4, .place = 2});
    tr_done(&after, (struct pm_gesture){.kind = PM_COMMENT, .line = 4, .text = "a \"b\"\n\x02"});
    assert_int_equal(pm_change_between(&before, &after, &text, NULL), PM_OK);
    assert_string_equal(pm_text_get(&text), "change 3\n"
                                            "scale 2305843009213693952 1987 2594073385365405696 "
                                            "1987\n"
                                            "line 1 parts 400000000 355555555\n"
                                            "line 2 parts 200000000 177777778\n"
                                            "line 3 parts 300000000 266666667\n"
                                            "line 3 comment \"x\" -\n"
                                            "line 4 parts 100000000 200000000\n"
                                            "line 4 share 3435973836800000000 "
                                            "3865470566400000000\n"
                                            "line 4 power 2013 2014\n"
                                            "line 4 comment - \"a \\\"b\\\"\\n\\x02\"\n"
                                            "order 2 3,4 4,3\n");
    pm_text_release(&text);
    pm_trial_release(&before);
    pm_trial_release(&after);
}

/* ---- broken texts ---- */

static void replay_broken(void **state)
{
    (void)state;
    static const char *const broken[] = {
        "",
        "\n",
        "change 3",
        "change 4\n",
        " change 3\n",
        "change 3\n\n",
        "change 3\nbase\n",
        "change 3\nbase 1000000000\n",
        "change 3\nbase 1000000000 0\n",
        "change 3\nbase 1000000000 -5\n",
        "change 3\nbase 1000000000 5 \n",
        "change 3\nbase 1000000000  5\n",
        "change 3\nbase 1000000000 007\n",
        "change 3\nbase 1000000000 500000000\n", /* would no longer be settled */
        "change 3\nbase 999 1000000000\n",
        "change 3\nbase 1000000000 99999999999999999999999999\n",
        "change 3\nbase 1000000000 2000000000\nbase 2000000000 1000000000\n",
        "change 3\nmode share\n",
        "change 3\nmode share weird\n",
        "change 3\nmode carrier open\n",
        "change 3\nsettled 1 2\n",
        "change 3\nsettled 0 1\n",
        "change 3\nscale 1 2 3\n",
        "change 3\nscale 1 2 3 4\n",
        "change 3\nscale 2305843009213693952 1987 0 0\n",
        "change 3\nline 4 share 0 5\n",
        "change 3\nline 4 power 2013 5000\n",
        "change 3\nline 4 rested 0 5\n",
        "change 3\nline 4 rest free held\n",
        "change 2\nnew 4 7 material 1 1000000000 0 0 resting 0 0 5 0 0 held -\n",
        "change 1\nline 4 parts 100000000 100000001\n",
        "change 3\nparent 3\n",
        "change 3\nnext 5 0\n",
        "change 3\nnext 5 9223372036854775808\n",
        "change 3\nline 1 parts 400000000 400000001\n", /* the sum would be off */
        "change 3\nline 1 parts 400000001 400000000\n",
        "change 3\nline 9 parts 1 2\n",
        "change 3\nline 0 parts 1 2\n",
        "change 3\nline 1 core 1 703\n",
        "change 3\nline 1 core 1 4294967297\n",
        "change 3\nline 1 stance free carrier\n",
        "change 3\nline 1 stance free 1\n",
        "change 3\nline 1 kind material tin\n",
        "change 3\nline 1 colour red blue\n",
        "change 3\nline 1 strength 1000000000 0\n",
        "change 3\nline 1 strength 1000000000 5\n",
        "change 3\nline 3 comment \"x\" \"\\\n",
        "change 3\nline 3 comment \"x\" \"\\q\"\n",
        "change 3\nline 3 comment \"x\" \"\\x0\"\n",
        "change 3\nline 3 comment \"x\" \"\\x00\"\n",
        "change 3\nline 3 comment \"x\" \"open\n",
        "change 3\nline 3 comment \"x",
        "change 3\nline 3 comment \"y\" -\n",
        "change 3\nline 3 comment - -\n",
        "change 3\nline 3 comment \"x\" - -\n",
        "change 3\norder 0 1,2 2,1",
        "change 3\norder 0 1,2 2\n",
        "change 3\norder 0 1,2 2,2\n",
        "change 3\norder 0 1,2 2,7\n",
        "change 3\norder 0 2,1 1,2\n",
        "change 3\norder 3 4,5 5,4\n",
        "change 3\norder 9223372036854775807 1,2 2,1\n",
        "change 3\norder 4611686018427387903 1,2 2,1\n",
        "change 3\norder 0 , ,\n",
        "change 3\norder 0  \n",
        "change 3\norder 0 1,2 2,1\norder 0 2,1 1,2\n",
        "change 1\ngone 0 1 material 1 1000000000 0 400000000 free 1 2 -\n", /* core of one */
        "change 1\ngone 9 1 material 1 1000000000 0 400000000 free 1 2 -\n",
        "change 1\ngone 2 3 material 3 1000000000 0 300000000 free 0 0 -\n",   /* another comment */
        "change 3\nnew 0 2 material 1 1000000000 0 0 free 0 0 0 0 0 free -\n", /* id stands twice */
        "change 3\nnew 9 7 material 1 1000000000 0 0 free 0 0 0 0 0 free -\n",
        "change 3\nnew 0 7 material 1 1000000000 0 0 free 0 0\n",
        "change 3\nnew 0 7 material 1 1000000000 0 0 free 0 -\n",
        "change 3\nnew 0 0 material 1 1000000000 0 0 free 0 0 0 0 0 free -\n",
        "change 3\nnew 0 9223372036854775807 material 1 1000000000 0 0 free 0 0 0 0 0 free -\n",
        ("change 3\nnew 1 7 material 1 1000000000 0 0 free 0 0 0 0 0 free -\n"
         "new 0 8 material 1 1000000000 0 0 free 0 0 0 0 0 free -\n"),
        "change 3\nnew 0 7 material 0 1000000000 0 0 free 0 0 0 0 0 free -\n",
        "change 3\nnew 0 7 material 1 1000000000 0 1000000000001 free 0 0 0 0 0 free -\n",
        "change 3\nnonsense\n",
        "change 3\naverylongwordindeedthatfitsnowhere 1 2\n",
        "change 3\nbase 1000000000 1000000000000000000000000000000000\n",
    };
    struct pm_trial trial, copy;
    struct pm_error err;
    sample(&trial);
    sample(&copy);
    for (size_t i = 0; i < sizeof broken / sizeof *broken; i++) {
        pm_error_clear(&err);
        if (pm_change_apply(broken[i], PM_FORTH, &trial, &err) != PM_DAMAGED)
            fail_msg("text %zu went through: %s", i, broken[i]);
        assert_int_equal(err.status, PM_DAMAGED);
        assert_true(strlen(err.text) > 10);
        assert_true(pm_trial_equal(&trial, &copy));
    }
    pm_trial_release(&trial);
    pm_trial_release(&copy);
}

/* ---- mutations ---- */

static void mutate(struct tr_random *random, char *text)
{
    static const char signs[] = "0123456789 ,-\"\\\nabcxyz\x80\xff";
    size_t length = strlen(text);
    for (int64_t turns = tr_random_below(random, 4) + 1; turns > 0 && length > 0; turns--) {
        size_t at = (size_t)tr_random_below(random, (int64_t)length);
        size_t other = (size_t)tr_random_below(random, (int64_t)length);
        switch (tr_random_below(random, 5)) {
        case 0:
            text[at] = signs[tr_random_below(random, sizeof signs - 1)];
            break;
        case 1:
            text[at] = '\0'; /* cut short */
            length = at;
            break;
        case 2:
            memmove(text + at, text + at + 1, length - at); /* one byte lost */
            length--;
            break;
        case 3:
            text[at] = (char)(text[at] ^ (1 << tr_random_below(random, 7)));
            length = strlen(text);
            break;
        default:
            text[at] = text[other];
            break;
        }
    }
}

/* Whatever is done to the text, the trial comes out either untouched or whole. */
static void mutations(void **state)
{
    (void)state;
    struct tr_random random = {99};
    size_t refused = 0;
    for (int turn = 0; turn < 4000; turn++) {
        struct random_pair {
            struct pm_trial before, after;
        } pair;
        struct tr_random_gesture made;
        struct pm_text text = PM_TEXT_EMPTY;
        tr_random_trial(&random, 8, &pair.before);
        tr_random_gesture(&random, &pair.before, &made);
        if (pm_gesture_apply(&made.gesture, &pair.before, &pair.after, NULL, NULL) == PM_OK) {
            assert_int_equal(pm_change_between(&pair.before, &pair.after, &text, NULL), PM_OK);
            char *change = pm_text_take(&text);
            enum pm_direction direction = tr_random_chance(&random, 2) ? PM_FORTH : PM_BACK;
            struct pm_trial *start = direction == PM_FORTH ? &pair.before : &pair.after;
            struct pm_trial trial;
            assert_int_equal(pm_trial_copy(start, &trial, NULL), PM_OK);
            mutate(&random, change);
            struct pm_error err;
            if (pm_change_apply(change, direction, &trial, &err) != PM_OK) {
                assert_true(pm_trial_equal(&trial, start));
                refused++;
            } else if (pm_trial_check(&trial, &err) != PM_OK) {
                fail_msg("%s", err.text);
            }
            pm_trial_release(&trial);
            pm_free(change);
        }
        tr_random_gesture_release(&made);
        pm_trial_release(&pair.before);
        pm_trial_release(&pair.after);
    }
    assert_true(refused > 1000);
}

/* ---- memory ---- */

static void memory_runs_out(void **state)
{
    (void)state;
    static const int64_t folded[] = {3, 4};
    struct pm_trial before, after, trial;
    sample(&before);
    sample(&after);
    tr_done(&after, (struct pm_gesture){.kind = PM_COMMENT, .line = 1, .text = "long enough"});
    tr_done(&after, (struct pm_gesture){.kind = PM_MOVE, .line = 4, .place = 0});
    tr_done(&after,
            (struct pm_gesture){.kind = PM_FOLD, .lines = folded, .line_count = 2, .fresh.ref = 7});
    tr_done(&after, (struct pm_gesture){.kind = PM_MOVE, .line = 2, .place = 0});
    struct pm_text text = PM_TEXT_EMPTY;
    enum pm_status status = PM_NOMEM;
    for (long n = 1; status != PM_OK; n++) {
        pm_text_release(&text);
        (void)pm_mem_fail_at(n, n % 2 == 0);
        status = pm_change_between(&before, &after, &text, NULL);
        (void)pm_mem_fail_at(0, false);
        assert_true(status == PM_OK || status == PM_NOMEM);
        assert_true(n < 1000);
    }
    for (int direction = PM_FORTH; direction <= PM_BACK; direction++) {
        const struct pm_trial *start = direction == PM_FORTH ? &before : &after;
        assert_int_equal(pm_trial_copy(start, &trial, NULL), PM_OK);
        status = PM_NOMEM;
        for (long n = 1; status != PM_OK; n++) {
            struct pm_error err;
            (void)pm_mem_fail_at(n, n % 2 == 0);
            status =
                pm_change_apply(pm_text_get(&text), (enum pm_direction)direction, &trial, &err);
            (void)pm_mem_fail_at(0, false);
            assert_true(status == PM_OK || (status == PM_NOMEM && pm_trial_equal(&trial, start)));
            assert_true(n < 1000);
        }
        trial.next_id = direction == PM_FORTH ? after.next_id : before.next_id;
        assert_true(pm_trial_equal(&trial, direction == PM_FORTH ? &after : &before));
        pm_trial_release(&trial);
    }
    pm_text_release(&text);
    pm_trial_release(&before);
    pm_trial_release(&after);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reads_well),
        cmocka_unit_test(replay_broken),
        cmocka_unit_test(mutations),
        cmocka_unit_test(memory_runs_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
