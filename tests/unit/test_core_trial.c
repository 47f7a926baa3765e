/* SPDX-License-Identifier: MIT */
/* The trial as data, what its check finds, gestures when memory runs out, what history says. */
#include "permille/base/mem.h"
#include "trials.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static void lines_in_and_out(void **state)
{
    (void)state;
    struct pm_trial trial, copy;
    pm_trial_init(&trial, P(1000), PM_SHARE);
    char comment[] = "mine";
    struct pm_line line = {.ref = 4, .strength = PM_NEAT, .parts = P(2), .comment = comment};
    assert_int_equal(pm_trial_insert(&trial, 9, &line, NULL), PM_OK);
    line.id = 12;
    line.comment = NULL;
    assert_int_equal(pm_trial_insert(&trial, 0, &line, NULL), PM_OK);
    assert_int_equal(trial.next_id, 13);
    comment[0] = 'x'; /* the trial has its own copy */
    assert_string_equal(tr_line(&trial, 1)->comment, "mine");
    assert_int_equal(pm_trial_find(&trial, 12), 0);
    assert_int_equal(pm_trial_find(&trial, 3), -1);
    assert_int_equal(pm_trial_copy(&trial, &copy, NULL), PM_OK);
    assert_true(pm_trial_equal(&trial, &copy));
    copy.lines[1].comment[0] = 'M';
    assert_false(pm_trial_equal(&trial, &copy));
    assert_int_equal(pm_trial_total(&trial), P(4));
    pm_trial_remove(&trial, 0);
    pm_trial_remove(&trial, 5); /* nothing there */
    assert_int_equal(trial.count, 1);
    pm_trial_release(&copy);
    pm_trial_release(&trial);
}

static void letters_and_words(void **state)
{
    (void)state;
    char buf[4];
    assert_string_equal(pm_core_letter(0, buf), "");
    assert_string_equal(pm_core_letter(1, buf), "A");
    assert_string_equal(pm_core_letter(26, buf), "Z");
    assert_string_equal(pm_core_letter(27, buf), "AA");
    assert_string_equal(pm_core_letter(PM_CORE_MAX, buf), "ZZ");
    assert_string_equal(pm_core_letter(PM_CORE_MAX + 1, buf), "");
    enum pm_stance stance = PM_FREE;
    enum pm_mode mode = PM_SHARE;
    assert_true(pm_stance_from_word(pm_stance_word(PM_CARRIER), &stance) && stance == PM_CARRIER);
    assert_true(pm_mode_from_word(pm_mode_word(PM_OPEN), &mode) && mode == PM_OPEN);
    assert_false(pm_mode_from_word("closed", &mode));
}

/* Each rule of the header, broken once. */
static void check_names_the_rule(void **state)
{
    (void)state;
    static const int64_t chosen[] = {1, 2}, ratio[] = {2, 1};
    static const char *const found[] = {
        "Line 1 of the trial is wrong: its id is out of range.",
        "Line 2 of the trial is wrong: its id stands twice.",
        "Line 1 of the trial is wrong: its parts are out of range.",
        "Line 1 of the trial is wrong: a solvent goes with a dilution, and only with one.",
        "Line 3 of the trial is wrong: an accord is always neat.",
        "Line 4 of the trial is wrong: there is a carrier already.",
        "Line 1 of the trial is wrong: the carrier cannot stand in a core.",
        "Line 1 of the trial (core B) is wrong: it is alone in its core.",
        "Line 3 of the trial is wrong: its weight does not go with its core.",
        "Line 1 of the trial (core A) is wrong: its stance differs from the rest of its core.",
        "Line 1 of the trial (core A) is wrong: its parts are off the ratio of its core.",
        "The trial is settled, yet its total is 1000.000001, not 1000.",
        "The trial's base is out of range.",
        "Line 4 of the trial is wrong: it names nothing.",
    };
    for (size_t rule = 0; rule < sizeof found / sizeof *found; rule++) {
        struct pm_trial trial;
        struct pm_error err;
        tr_settled(&trial, PM_SHARE, (pm_parts[]){P(400), P(200), P(300), P(100)}, 4);
        tr_done(&trial,
                (struct pm_gesture){
                    .kind = PM_FORM_CORE, .lines = chosen, .weights = ratio, .line_count = 2});
        struct pm_line *line = trial.lines;
        switch (rule) {
        case 0:
            line[0].id = trial.next_id;
            break;
        case 1:
            line[1].id = 1;
            break;
        case 2:
            line[0].parts = -1;
            break;
        case 3:
            line[0].strength /= 2;
            break;
        case 4:
            line[2].kind = PM_LINE_ACCORD;
            line[2].strength /= 2;
            line[2].solvent = 1;
            break;
        case 5:
            line[2].stance = line[3].stance = PM_CARRIER;
            break;
        case 6:
            line[0].stance = PM_CARRIER;
            break;
        case 7:
            line[0].core = 2;
            break;
        case 8:
            line[2].weight = 1;
            break;
        case 9:
            line[1].stance = PM_HELD;
            line[1].share = pm_weight_of(0);
            break;
        case 10:
            line[0].parts += 4;
            line[2].parts -= 4;
            break;
        case 11:
            line[3].parts++;
            break;
        case 12:
            trial.base = 0;
            break;
        default:
            line[3].ref = 0;
            break;
        }
        assert_int_equal(pm_trial_check(&trial, &err), PM_DAMAGED);
        if (rule == 9)
            assert_non_null(strstr(err.text, "its stance differs"));
        else
            assert_string_equal(err.text, found[rule]);
        pm_trial_release(&trial);
    }
}

/* Every gesture, every allocation refused in turn: the trial before is as it was, nothing leaks. */
static void memory_runs_out(void **state)
{
    (void)state;
    struct tr_random random = {77};
    size_t worked = 0;
    for (int turn = 0; turn < 400; turn++) {
        struct pm_trial trial, copy, after;
        struct tr_random_gesture made;
        tr_random_trial(&random, 9, &trial);
        tr_random_gesture(&random, &trial, &made);
        assert_int_equal(pm_trial_copy(&trial, &copy, NULL), PM_OK);
        enum pm_status status = PM_NOMEM;
        for (long n = 1; status == PM_NOMEM; n++) {
            (void)pm_mem_fail_at(n, n % 3 == 0);
            status = pm_gesture_apply(&made.gesture, &trial, &after, NULL, NULL);
            (void)pm_mem_fail_at(0, false);
            assert_true(status == PM_OK || after.lines == NULL);
            assert_true(pm_trial_equal(&trial, &copy));
            assert_true(n < 1000);
            pm_trial_release(&after);
        }
        worked += status == PM_OK;
        tr_random_gesture_release(&made);
        pm_trial_release(&trial);
        pm_trial_release(&copy);
    }
    assert_true(worked > 100);
}

static enum pm_status preview(const struct pm_trial *trial, int64_t line, pm_parts parts,
                              pm_parts *out)
{
    const struct pm_gesture set = {.kind = PM_SET, .line = line, .parts = parts};
    return pm_gesture_preview(&set, trial, out, NULL);
}

/* The preview asks for one block, however long the trial. */
static void preview_takes_one_block(void **state)
{
    (void)state;
    static pm_parts out[1000];
    struct pm_trial trial;
    pm_trial_init(&trial, P(1000), PM_SHARE);
    for (int64_t i = 0; i < 1000; i++)
        tr_put(&trial, i + 1, P(1), PM_FREE);
    trial.settled = true;
    (void)pm_mem_fail_at(0, false);
    assert_int_equal(preview(&trial, 500, P(500.5), out), PM_OK);
    assert_int_equal(pm_mem_fail_at(1, false), 1);
    assert_int_equal(out[499], P(500.5));
    assert_int_equal(out[0], P(0.5));
    out[0] = 7;
    assert_int_equal(preview(&trial, 500, P(500.5), out), PM_NOMEM);
    (void)pm_mem_fail_at(0, false);
    assert_int_equal(preview(&trial, 500, P(1001), out), PM_REFUSED);
    assert_int_equal(preview(&trial, 5000, P(1), out), PM_MISSING);
    assert_int_equal(out[0], 7);
    pm_trial_release(&trial);
}

/* ---- sentences ---- */

static const char *name(void *context, enum pm_line_kind kind, int64_t ref)
{
    char *buf = context;
    (void)snprintf(buf, 32, "%s %lld", kind == PM_LINE_ACCORD ? "Accord" : "Moss", (long long)ref);
    return buf;
}

static void say(struct pm_trial *trial, struct pm_gesture gesture, const char *sentence)
{
    char buf[32];
    struct pm_namer namer = {name, buf};
    struct pm_text text = PM_TEXT_EMPTY;
    struct pm_trial after;
    struct pm_effect effect;
    struct pm_error err;
    if (pm_gesture_apply(&gesture, trial, &after, &effect, &err) != PM_OK)
        fail_msg("%s", err.text);
    pm_gesture_say(&gesture, trial, &after, &effect, &namer, &text);
    assert_string_equal(pm_text_get(&text), sentence);
    pm_text_release(&text);
    pm_trial_release(trial);
    *trial = after;
}

static void sentences(void **state)
{
    (void)state;
    static const int64_t three[] = {1, 2, 3}, ratio[] = {4, 3, 2};
    struct pm_trial trial, accord;
    tr_settled(&accord, PM_SHARE, (pm_parts[]){P(60), P(40)}, 2);
    tr_settled(&trial, PM_SHARE, (pm_parts[]){P(400), P(300), P(200), P(100)}, 4);
    say(&trial, (struct pm_gesture){.kind = PM_SET, .line = 4, .parts = P(55)},
        "Set Moss 4 from 100 to 55; 3 lines gave way");
    say(&trial, (struct pm_gesture){.kind = PM_NUDGE, .line = 4, .steps = -5},
        "Nudged Moss 4 from 55 to 50; 3 lines gave way");
    say(&trial, (struct pm_gesture){.kind = PM_SCALE, .line = 4, .numerator = 2, .denominator = 1},
        "Scaled Moss 4 from 50 to 100 (x 2/1); 3 lines gave way");
    say(&trial,
        (struct pm_gesture){
            .kind = PM_FORM_CORE, .lines = three, .weights = ratio, .line_count = 3},
        "Formed core A of Moss 1, Moss 2 and Moss 3 in the ratio 4:3:2");
    say(&trial, (struct pm_gesture){.kind = PM_SET, .line = 1, .parts = P(200)},
        "Set Moss 1 from 400 to 200 with core A; 3 lines gave way");
    say(&trial, (struct pm_gesture){.kind = PM_LEAVE_CORE, .line = 3}, "Took Moss 3 out of core A");
    say(&trial, (struct pm_gesture){.kind = PM_BREAK_CORE, .line = 1},
        "Let core A go: Moss 1 and Moss 2");
    say(&trial, (struct pm_gesture){.kind = PM_SET_STANCE, .line = 4, .stance = PM_CARRIER},
        "Made Moss 4 the carrier");
    say(&trial, (struct pm_gesture){.kind = PM_SET_MODE, .mode = PM_CARRIER_MODE},
        "Changed the mode from share to carrier");
    struct pm_gesture add = {.kind = PM_ADD,
                             .parts = P(20),
                             .place = 9,
                             .fresh = {.ref = 9, .strength = PM_NEAT / 10, .solvent = 4}};
    say(&trial, add, "Tucked in 20 of Moss 9 at 10 % in Moss 4; the carrier took the difference");
    say(&trial, (struct pm_gesture){.kind = PM_RESTRENGTH, .line = 5, .strength = PM_NEAT},
        "Changed Moss 9 from 10 % in Moss 4 to neat: poured from 20 to 2; "
        "the carrier took the difference");
    say(&trial, (struct pm_gesture){.kind = PM_DROP, .line = 5},
        "Dropped Moss 9 (2); the carrier took the difference");
    say(&trial, (struct pm_gesture){.kind = PM_SET_STANCE, .line = 1, .stance = PM_HELD},
        "Held Moss 1 at 200");
    say(&trial, (struct pm_gesture){.kind = PM_SET_STANCE, .line = 1}, "Freed Moss 1");
    say(&trial,
        (struct pm_gesture){.kind = PM_FOLD, .lines = three, .line_count = 3, .fresh.ref = 6},
        "Folded Moss 1, Moss 2 and Moss 3 into Accord 6");
    say(&trial, (struct pm_gesture){.kind = PM_UNFOLD, .line = 6, .content = &accord},
        "Unfolded Accord 6 into 2 lines");
    say(&trial, (struct pm_gesture){.kind = PM_MOVE, .line = 4, .place = 0},
        "Moved Moss 4 from place 3 to 1");
    say(&trial, (struct pm_gesture){.kind = PM_COMMENT, .line = 4, .text = "two\nlines"},
        "Commented Moss 4: two lines");
    say(&trial, (struct pm_gesture){.kind = PM_COMMENT, .line = 4}, "Took the comment off Moss 4");
    say(&trial, (struct pm_gesture){.kind = PM_SET_BASE, .parts = P(100)},
        "Rescaled the base from 1000 to 100");
    say(&trial,
        (struct pm_gesture){.kind = PM_SWAP, .line = 4, .fresh = {.ref = 8, .strength = PM_NEAT}},
        "Swapped Moss 4 for Moss 8");
    say(&trial, (struct pm_gesture){.kind = PM_BRANCH, .content = &accord, .parent = 3},
        "Started again from Accord 3: 2 lines");
    say(&trial, (struct pm_gesture){.kind = PM_SET_MODE, .mode = PM_OPEN},
        "Changed the mode from share to open");
    say(&trial, (struct pm_gesture){.kind = PM_SET, .line = 1, .parts = P(10)},
        "Set Moss 1 from 60 to 10");
    say(&trial, (struct pm_gesture){.kind = PM_SETTLE},
        "Settled the total from 50 to 100; 2 lines moved");
    for (int kind = 0; kind <= PM_BRANCH; kind++)
        assert_true(strlen(pm_gesture_word((enum pm_gesture_kind)kind)) > 2);
    pm_trial_release(&trial);
    pm_trial_release(&accord);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lines_in_and_out),        cmocka_unit_test(letters_and_words),
        cmocka_unit_test(check_names_the_rule),    cmocka_unit_test(memory_runs_out),
        cmocka_unit_test(preview_takes_one_block), cmocka_unit_test(sentences),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
