/* SPDX-License-Identifier: MIT */
/*
 * What gives way and what is remembered: the core first, shares that do not drift, neat ratios at
 * weighed strengths, lines that rest, nudges that return.
 */
#include "trials.h"

#include <gmp.h>
#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

static void tuck_in(struct pm_trial *trial, int64_t material, pm_parts parts)
{
    tr_done(trial, (struct pm_gesture){.kind = PM_ADD,
                                       .parts = parts,
                                       .place = SIZE_MAX,
                                       .fresh = {.ref = material, .strength = PM_NEAT}});
}

static void cored(struct pm_trial *trial, const pm_parts *parts, const int64_t *ratio)
{
    static const int64_t lines[] = {1, 2, 3};
    tr_settled(trial, PM_CORE_MODE, parts, 3);
    tr_done(trial, (struct pm_gesture){
                       .kind = PM_FORM_CORE, .lines = lines, .weights = ratio, .line_count = 3});
    tr_done(trial, (struct pm_gesture){.kind = PM_SET_BASE, .parts = P(1000)});
}

/* Common practice, no source: 50 parts of small additions leave 950 for a core of 4:3:2, which
 * reads 422, 317 and 211 in whole parts, and each addition stays as typed. */
static void additions_stay_as_typed(void **state)
{
    (void)state;
    static const pm_parts traces[] = {P(20), P(12.5), P(10), P(5), P(1.5), P(0.75), P(0.25)};
    struct pm_trial trial;
    cored(&trial, (pm_parts[]){P(400), P(300), P(200)}, (int64_t[]){4, 3, 2});
    for (size_t i = 0; i < 7; i++)
        tuck_in(&trial, (int64_t)i + 10, traces[i]);
    for (size_t i = 0; i < 7; i++)
        assert_int_equal(trial.lines[3 + i].parts, traces[i]);
    assert_int_equal((trial.lines[0].parts + PM_PART / 2) / PM_PART, 422);
    assert_int_equal((trial.lines[1].parts + PM_PART / 2) / PM_PART, 317);
    assert_int_equal((trial.lines[2].parts + PM_PART / 2) / PM_PART, 211);
    pm_trial_release(&trial);
}

/* Common practice, no source: 500 parts tucked in leave 6:2:1 on exactly 500. */
static void half_is_left_to_the_core(void **state)
{
    (void)state;
    struct pm_trial trial;
    cored(&trial, (pm_parts[]){P(600), P(200), P(100)}, (int64_t[]){6, 2, 1});
    for (int64_t i = 0; i < 5; i++)
        tuck_in(&trial, i + 10, P(100));
    assert_int_equal(trial.lines[0].parts + trial.lines[1].parts + trial.lines[2].parts, P(500));
    tr_assert_parts(&trial,
                    (pm_parts[]){P(333.333333), P(111.111111), P(55.555556), P(100), P(100), P(100),
                                 P(100), P(100)},
                    8);
    const char *most =
        tr_refused(&trial, (struct pm_gesture){.kind = PM_SET, .line = 4, .parts = P(900)},
                   PM_REFUSED, "outside the cores leave only");
    tr_set(&trial, 4, tr_number(most));
    tr_refused(&trial,
               (struct pm_gesture){.kind = PM_SET, .line = 4, .parts = tr_parts(&trial, 4) + 1},
               PM_REFUSED, "the most this line can take is");
    pm_trial_release(&trial);
}

/* now = all x was / sum of the two, within a micro-part, in GMP's rationals. */
static void in_ratio(pm_parts a, pm_parts b, long typed_a, long typed_b)
{
    mpq_t off, ratio;
    mpq_inits(off, ratio, NULL);
    mpq_set_si(ratio, typed_a, (unsigned long)(typed_a + typed_b));
    mpq_canonicalize(ratio);
    mpq_set_si(off, a + b, 1);
    mpq_mul(ratio, ratio, off);
    mpq_set_si(off, a, 1);
    mpq_sub(off, off, ratio);
    mpq_abs(off, off);
    assert_true(mpq_cmp_si(off, 1, 1) <= 0);
    mpq_clears(off, ratio, NULL);
}

static void untouched_lines_keep_their_ratio(void **state)
{
    (void)state;
    struct tr_random random = {31};
    struct pm_trial trial;
    size_t worked = 0;
    tr_settled(&trial, PM_SHARE, (pm_parts[]){P(0.004), P(37), P(500), P(300), P(100), P(62.996)},
               6);
    for (int i = 0; i < 10000; i++) {
        struct pm_trial after;
        struct pm_gesture gesture = {.kind = PM_SET,
                                     .line = tr_random_below(&random, 4) + 3,
                                     .parts = tr_random_below(&random, P(240)) + 1};
        if (i % 50 == 0) {
            gesture = (struct pm_gesture){.kind = PM_SET_BASE,
                                          .parts = trial.base == P(1000) ? P(500) : P(1000)};
        } else if (i % 9 == 0) {
            gesture = (struct pm_gesture){.kind = PM_NUDGE, .line = gesture.line, .steps = -1};
        }
        if (pm_gesture_apply(&gesture, &trial, &after, NULL, NULL) != PM_OK)
            continue;
        worked++;
        pm_trial_release(&trial);
        trial = after;
        in_ratio(tr_parts(&trial, 1), tr_parts(&trial, 2), 4, 37000);
    }
    assert_true(worked > 8000);
    pm_trial_release(&trial);
}

/* A slip of one line to nearly all and back leaves the traces as they were; all is refused. */
static void a_slip_and_back(void **state)
{
    (void)state;
    struct pm_trial trial;
    const pm_parts start[] = {P(0.004), P(0.5), P(499.496), P(500)};
    tr_settled(&trial, PM_SHARE, start, 4);
    const char *most =
        tr_refused(&trial, (struct pm_gesture){.kind = PM_SET, .line = 4, .parts = P(999.9999)},
                   PM_REFUSED, "each other line needs a millionth");
    tr_set(&trial, 4, tr_number(most));
    assert_int_equal(tr_parts(&trial, 1), 1);
    tr_set(&trial, 4, P(500));
    tr_assert_parts(&trial, start, 4);
    pm_trial_release(&trial);
}

static void a_base_loses_no_line(void **state)
{
    (void)state;
    struct pm_trial trial;
    const pm_parts start[] = {4, P(1000) - 4};
    tr_settled(&trial, PM_SHARE, start, 2);
    struct pm_gesture base = {.kind = PM_SET_BASE, .parts = P(100)};
    base.parts = tr_number(tr_refused(&trial, base, PM_REFUSED, "the smallest base that works"));
    assert_int_equal(base.parts, P(250));
    tr_done(&trial, base);
    assert_int_equal(tr_parts(&trial, 1), 1);
    tr_done(&trial, (struct pm_gesture){.kind = PM_SET_BASE, .parts = P(1000)});
    tr_assert_parts(&trial, start, 2);
    pm_trial_release(&trial);
}

/* Strengths as they are really weighed leave the ratio typed alone. */
static void a_ratio_stays_neat(void **state)
{
    (void)state;
    struct pm_trial trial;
    cored(&trial, (pm_parts[]){P(400), P(300), P(200)}, (int64_t[]){4, 3, 2});
    for (int i = 0; i < 18; i++) {
        tr_done(&trial, (struct pm_gesture){.kind = PM_RESTRENGTH,
                                            .line = i % 3 + 1,
                                            .strength = 100034786 + i * 1234567,
                                            .solvent = 99});
        assert_int_equal(trial.lines[0].weight, 4);
        assert_int_equal(trial.lines[1].weight, 3);
        assert_int_equal(trial.lines[2].weight, 2);
        assert_int_equal(pm_trial_total(&trial), P(1000));
    }
    for (int64_t line = 1; line <= 3; line++)
        tr_done(&trial,
                (struct pm_gesture){.kind = PM_RESTRENGTH, .line = line, .strength = PM_NEAT});
    tr_assert_parts(&trial, (pm_parts[]){P(444.444445), P(333.333333), P(222.222222)}, 3);
    pm_trial_release(&trial);
}

static void rest_and_come_back(void **state)
{
    (void)state;
    const pm_parts start[] = {P(400), P(300), P(200), P(100)};
    for (int mode = PM_CORE_MODE; mode <= PM_OPEN; mode++) {
        struct pm_trial trial;
        if (mode == PM_CARRIER_MODE)
            continue;
        tr_settled(&trial, (enum pm_mode)mode, start, 4);
        tr_done(&trial,
                (struct pm_gesture){.kind = PM_SET_STANCE, .line = 2, .stance = PM_RESTING});
        assert_int_equal(tr_parts(&trial, 2), 0);
        assert_int_equal(tr_line(&trial, 2)->rested, P(300));
        assert_int_equal(pm_trial_total(&trial), mode == PM_OPEN ? P(700) : P(1000));
        assert_true(trial.settled == (mode != PM_OPEN));
        tr_done(&trial, (struct pm_gesture){.kind = PM_SET_STANCE, .line = 2, .stance = PM_FREE});
        tr_assert_parts(&trial, start, 4);
        assert_true(trial.settled);
        pm_trial_release(&trial);
    }
}

/* Between round numbers; the tail of another is gone with the first nudge. */
static void nudges_return(void **state)
{
    (void)state;
    static const pm_parts starts[] = {P(9.9), P(99), P(0.99), 98, P(12), P(0.1), P(10), 9};
    for (size_t i = 0; i < sizeof starts / sizeof *starts; i++) {
        struct pm_trial trial;
        tr_settled(&trial, PM_OPEN, (pm_parts[]){starts[i], P(500)}, 2);
        tr_done(&trial, (struct pm_gesture){.kind = PM_NUDGE, .line = 1, .steps = 1});
        assert_true(tr_parts(&trial, 1) > starts[i]);
        tr_done(&trial, (struct pm_gesture){.kind = PM_NUDGE, .line = 1, .steps = -1});
        assert_int_equal(tr_parts(&trial, 1), starts[i]);
        pm_trial_release(&trial);
    }
}

static void base_there_and_back(struct pm_trial *trial)
{
    tr_done(trial, (struct pm_gesture){.kind = PM_SET_BASE, .parts = P(1)});
    tr_done(trial, (struct pm_gesture){.kind = PM_SET_BASE, .parts = P(1000)});
}

/* On a base of 1 a held line loses digits for good; no other line pays for it with its own. */
static void a_base_and_back_is_as_typed(void **state)
{
    (void)state;
    struct pm_trial trial;
    cored(&trial, (pm_parts[]){P(400), P(300), P(200)}, (int64_t[]){4, 3, 2});
    tuck_in(&trial, 10, P(39.106671));
    tuck_in(&trial, 11, P(57.3365));
    tr_done(&trial, (struct pm_gesture){.kind = PM_SET_STANCE, .line = 5, .stance = PM_HELD});
    base_there_and_back(&trial);
    assert_int_equal(tr_parts(&trial, 4), P(39.106671));
    assert_int_equal(tr_parts(&trial, 5), P(57.337)); /* half up */
    assert_int_equal(pm_trial_total(&trial), P(1000));

    tr_done(&trial, (struct pm_gesture){.kind = PM_SET_MODE, .mode = PM_OPEN});
    tr_set(&trial, 4, P(71.234567));
    pm_parts core = tr_parts(&trial, 1);
    base_there_and_back(&trial);
    assert_int_equal(tr_parts(&trial, 4), P(71.234567));
    assert_int_equal(tr_parts(&trial, 1), core);
    pm_trial_release(&trial);
}

static enum pm_stance back_as(struct pm_trial *trial, int64_t line)
{
    tr_done(trial, (struct pm_gesture){.kind = PM_SET_STANCE, .line = line, .as_it_was = true});
    return trial->lines[pm_trial_find(trial, line)].stance;
}

static void what_rests_comes_back_as_it_was(void **state)
{
    (void)state;
    struct pm_gesture rest = {.kind = PM_SET_STANCE, .stance = PM_RESTING};
    struct pm_gesture carry = {.kind = PM_SET_STANCE, .stance = PM_CARRIER};
    struct pm_trial trial;
    tr_settled(&trial, PM_SHARE, (pm_parts[]){P(600), P(300), P(60), P(40)}, 4);
    tr_done(&trial, (struct pm_gesture){.kind = PM_SET_STANCE, .line = 4, .stance = PM_HELD});
    carry.line = 3;
    tr_done(&trial, carry);
    for (rest.line = 2; rest.line <= 4; rest.line++)
        tr_done(&trial, rest);
    tr_assert_parts(&trial, (pm_parts[]){P(1000), 0, 0, 0}, 4);
    assert_int_equal(back_as(&trial, 4), PM_HELD);
    assert_int_equal(tr_parts(&trial, 4), P(40));
    assert_int_equal(back_as(&trial, 4), PM_HELD); /* what does not rest stays as it is */
    assert_int_equal(back_as(&trial, 3), PM_CARRIER);
    assert_int_equal(back_as(&trial, 2), PM_FREE);
    tr_assert_parts(&trial, (pm_parts[]){P(600), P(300), P(60), P(40)}, 4);
    /* There is one carrier: who took its place keeps it. */
    rest.line = 3;
    tr_done(&trial, rest);
    carry.line = 1;
    tr_done(&trial, carry);
    assert_int_equal(back_as(&trial, 3), PM_FREE);
    /* Asked for another stance it has that one. */
    rest.line = 4;
    tr_done(&trial, rest);
    tr_done(&trial, (struct pm_gesture){.kind = PM_SET_STANCE, .line = 4, .stance = PM_FREE});
    assert_int_equal(trial.lines[3].stance, PM_FREE);
    pm_trial_release(&trial);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(additions_stay_as_typed),
        cmocka_unit_test(half_is_left_to_the_core),
        cmocka_unit_test(untouched_lines_keep_their_ratio),
        cmocka_unit_test(a_slip_and_back),
        cmocka_unit_test(a_base_loses_no_line),
        cmocka_unit_test(a_base_and_back_is_as_typed),
        cmocka_unit_test(what_rests_comes_back_as_it_was),
        cmocka_unit_test(a_ratio_stays_neat),
        cmocka_unit_test(rest_and_come_back),
        cmocka_unit_test(nudges_return),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
