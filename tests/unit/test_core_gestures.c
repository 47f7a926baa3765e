/* SPDX-License-Identifier: MIT */
/*
 * The rules of the bench, one by one: who gives way, what is refused, and that the number a refusal
 * names works while one micro-part more does not.
 */
#include "trials.h"
#include "vectors.h"

#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

static struct pm_gesture set(int64_t line, pm_parts parts)
{
    return (struct pm_gesture){.kind = PM_SET, .line = line, .parts = parts};
}

static struct pm_gesture add(int64_t material, pm_parts parts)
{
    return (struct pm_gesture){.kind = PM_ADD,
                               .parts = parts,
                               .place = SIZE_MAX,
                               .fresh = {.ref = material, .strength = PM_NEAT}};
}

static struct pm_gesture on_line(enum pm_gesture_kind kind, int64_t line)
{
    return (struct pm_gesture){.kind = kind, .line = line};
}

static struct pm_gesture stance(int64_t line, enum pm_stance wanted)
{
    return (struct pm_gesture){.kind = PM_SET_STANCE, .line = line, .stance = wanted};
}

static struct pm_gesture mode(enum pm_mode wanted)
{
    return (struct pm_gesture){.kind = PM_SET_MODE, .mode = wanted};
}

static struct pm_gesture restrength(int64_t line, pm_strength strength, int64_t solvent)
{
    return (struct pm_gesture){
        .kind = PM_RESTRENGTH, .line = line, .strength = strength, .solvent = solvent};
}

static const int64_t first_three[] = {1, 2, 3};

static struct pm_gesture core(const int64_t *weights)
{
    return (struct pm_gesture){
        .kind = PM_FORM_CORE, .lines = first_three, .weights = weights, .line_count = 3};
}

/* The number the refusal names works, and a micro-part more is refused again. */
static void names_what_works(const struct pm_trial *trial, struct pm_gesture gesture,
                             const char *words)
{
    struct pm_trial copy;
    gesture.parts = tr_number(tr_refused(trial, gesture, PM_REFUSED, words));
    assert_int_equal(pm_trial_copy(trial, &copy, NULL), PM_OK);
    tr_done(&copy, gesture);
    pm_trial_release(&copy);
    gesture.parts++;
    tr_refused(trial, gesture, PM_REFUSED, "");
}

/* ---- filling ---- */

static void filling_moves_nothing(void **state)
{
    (void)state;
    struct pm_trial trial;
    pm_trial_init(&trial, P(1000), PM_SHARE);
    tr_done(&trial, add(1, P(400)));
    tr_done(&trial, add(2, P(300)));
    tr_done(&trial, set(1, P(500)));
    assert_false(trial.settled);
    tr_assert_parts(&trial, (pm_parts[]){P(500), P(300)}, 2);
    struct pm_effect effect = tr_done(&trial, add(3, P(200)));
    assert_true(effect.settled_now); /* it reached the base */
    assert_int_equal(effect.gave_way, 0);
    effect = tr_done(&trial, add(4, P(100)));
    assert_false(effect.settled_now);
    assert_int_equal(effect.gave_way, 3);
    tr_assert_parts(&trial, (pm_parts[]){P(450), P(270), P(180), P(100)}, 4);
    for (int64_t line = 1; line <= 4; line++)
        tr_done(&trial, on_line(PM_DROP, line));
    assert_int_equal(trial.count, 0);
    assert_false(trial.settled); /* an empty sheet is filled anew */
    pm_trial_release(&trial);
}

static void exceeding_settles(void **state)
{
    (void)state;
    struct pm_trial trial;
    pm_trial_init(&trial, P(1000), PM_SHARE);
    tr_done(&trial, add(1, P(600)));
    tr_done(&trial, add(2, P(200)));
    struct pm_effect effect = tr_done(&trial, add(3, P(600)));
    assert_true(effect.settled_now);
    tr_assert_parts(&trial, (pm_parts[]){P(300), P(100), P(600)}, 3);
    pm_trial_release(&trial);
}

static void settle_scales_up(void **state)
{
    (void)state;
    struct pm_trial trial;
    pm_trial_init(&trial, P(1000), PM_SHARE);
    tr_refused(&trial, on_line(PM_SETTLE, 0), PM_REFUSED, "Nothing is free");
    tr_done(&trial, add(1, P(1)));
    tr_done(&trial, add(2, P(3)));
    tr_done(&trial, add(3, P(200)));
    tr_done(&trial, stance(3, PM_HELD));
    assert_true(tr_done(&trial, on_line(PM_SETTLE, 0)).settled_now);
    tr_assert_parts(&trial, (pm_parts[]){P(200), P(600), P(200)}, 3);
    pm_trial_release(&trial);
}

static void carrier_fills_up(void **state)
{
    (void)state;
    struct pm_trial trial;
    pm_trial_init(&trial, P(1000), PM_CARRIER_MODE);
    tr_done(&trial, add(9, 0));
    tr_done(&trial, stance(1, PM_CARRIER));
    tr_done(&trial, add(1, P(120)));
    tr_done(&trial, set(1, P(100))); /* while filling the carrier is a line like any other */
    tr_done(&trial, set(2, P(150)));
    tr_assert_parts(&trial, (pm_parts[]){P(100), P(150)}, 2);
    assert_true(tr_done(&trial, on_line(PM_SETTLE, 0)).by_carrier);
    tr_assert_parts(&trial, (pm_parts[]){P(850), P(150)}, 2);
    tr_refused(&trial, set(1, P(100)), PM_REFUSED, "what the others leave");
    pm_trial_release(&trial);
}

/* ---- refusals name what works ---- */

static void held_lines_limit(void **state)
{
    (void)state;
    struct pm_trial trial;
    tr_settled(&trial, PM_SHARE, (pm_parts[]){P(400), P(250.5), P(349.5)}, 3);
    tr_done(&trial, stance(2, PM_HELD));
    names_what_works(&trial, set(1, P(749.500001)), "Held lines leave only 749.5");
    names_what_works(&trial, add(9, P(900)), "Held lines leave only 749.5");
    tr_done(&trial, set(2, P(700))); /* setting a held line is a deliberate act */
    assert_int_equal(tr_line(&trial, 2)->stance, PM_HELD);
    names_what_works(&trial, set(2, P(1001)),
                     "The base is 1000, of which each other line needs a millionth; the most");
    tr_done(&trial, stance(3, PM_HELD));
    names_what_works(&trial, set(1, 0), "Nothing is free to take up");
    names_what_works(&trial, set(1, P(900)), "Nothing is free to give");
    tr_refused(&trial, on_line(PM_DROP, 1), PM_REFUSED, "Nothing is free to take up the");
    pm_trial_release(&trial);
}

static void core_member_limit(void **state)
{
    (void)state;
    struct tr_random random = {5};
    for (int turn = 0; turn < 300; turn++) {
        struct pm_trial trial;
        tr_settled(&trial, turn % 2 == 0 ? PM_SHARE : PM_CARRIER_MODE,
                   (pm_parts[]){P(300), P(200), P(100), P(150), P(250)}, 5);
        const int64_t weights[] = {tr_random_below(&random, 50) + 1,
                                   tr_random_below(&random, 5000) + 1,
                                   tr_random_below(&random, 5) + 1};
        tr_done(&trial, core(weights));
        tr_done(&trial, stance(4, PM_HELD));
        tr_done(&trial, stance(5, PM_CARRIER));
        int64_t line = tr_random_below(&random, 3) + 1;
        names_what_works(&trial, set(line, P(1000)), "the most this line can take is");
        pm_trial_release(&trial);
    }
}

/* In open mode only the range of parts bounds a core: the line that is not its largest. */
static void core_range_limit(void **state)
{
    (void)state;
    struct tr_random random = {6};
    for (int turn = 0; turn < 200; turn++) {
        struct pm_trial trial;
        tr_settled(&trial, PM_OPEN, (pm_parts[]){P(500), P(200), P(100), P(200)}, 4);
        const int64_t small = tr_random_below(&random, 5000) + 1;
        const int64_t weights[] = {small, small + tr_random_below(&random, 50) + 1, 5051};
        tr_done(&trial, core(weights));
        names_what_works(&trial, set(1, PM_PARTS_MAX), "the most this line can take is");
        pm_trial_release(&trial);
    }
}

static void carrier_limit(void **state)
{
    (void)state;
    struct pm_trial trial;
    tr_settled(&trial, PM_CARRIER_MODE, (pm_parts[]){P(100), P(200), P(700)}, 3);
    names_what_works(&trial, set(1, P(50)), "No line is the carrier");
    tr_done(&trial, stance(3, PM_CARRIER));
    names_what_works(&trial, set(1, P(800.000001)), "The carrier would fall below zero");
    names_what_works(&trial, add(7, P(701)), "The carrier would fall below zero");
    assert_true(tr_set(&trial, 1, P(150.25)).by_carrier);
    tr_assert_parts(&trial, (pm_parts[]){P(150.25), P(200), P(649.75)}, 3);
    tr_refused(&trial, on_line(PM_DROP, 3), PM_REFUSED, "another line the carrier");
    tr_done(&trial, on_line(PM_DROP, 1));
    tr_assert_parts(&trial, (pm_parts[]){P(200), P(800)}, 2);
    tr_done(&trial, stance(2, PM_CARRIER)); /* frees the former carrier */
    assert_int_equal(tr_line(&trial, 3)->stance, PM_FREE);
    pm_trial_release(&trial);
}

static void out_of_range(void **state)
{
    (void)state;
    struct pm_trial trial;
    tr_settled(&trial, PM_SHARE, (pm_parts[]){P(400), P(600)}, 2);
    tr_refused(&trial, set(1, -1), PM_INVALID, "between 0 and 1000000");
    tr_refused(&trial, set(1, INT64_MAX), PM_INVALID, "between 0 and 1000000");
    tr_refused(&trial, set(17, P(1)), PM_MISSING, "no such line");
    tr_refused(&trial, (struct pm_gesture){.kind = PM_SCALE, .line = 1, .numerator = 1}, PM_INVALID,
               "scaled");
    tr_refused(&trial, (struct pm_gesture){.kind = PM_SET_BASE}, PM_INVALID, "base");
    tr_refused(&trial, restrength(1, PM_NEAT / 10, 0), PM_INVALID, "needs a solvent");
    tr_refused(&trial, restrength(1, PM_NEAT, 5), PM_INVALID, "no solvent");
    tr_refused(&trial, restrength(1, 0, 5), PM_INVALID, "strength");
    struct pm_gesture carrier = add(3, P(1));
    carrier.fresh.stance = PM_CARRIER;
    tr_refused(&trial, carrier, PM_INVALID, "free or held");
    tr_refused(&trial, (struct pm_gesture){.kind = (enum pm_gesture_kind)99}, PM_INVALID,
               "gesture");
    pm_trial_release(&trial);
}

/* ---- modes ---- */

static void open_mode_gives_nothing(void **state)
{
    (void)state;
    struct pm_trial trial;
    tr_settled(&trial, PM_SHARE, (pm_parts[]){P(400), P(500), P(100)}, 3);
    tr_done(&trial, mode(PM_OPEN));
    tr_done(&trial, set(1, P(900)));
    tr_assert_parts(&trial, (pm_parts[]){P(900), P(500), P(100)}, 3);
    tr_done(&trial, stance(3, PM_HELD));
    tr_refused(&trial, mode(PM_CARRIER_MODE), PM_REFUSED, "No line is the carrier");
    struct pm_effect effect = tr_done(&trial, mode(PM_SHARE));
    assert_int_equal(effect.gave_way, 2);
    assert_int_equal(pm_trial_total(&trial), P(1000));
    tr_assert_parts(&trial, (pm_parts[]){P(578.571429), P(321.428571), P(100)}, 3);
    tr_done(&trial, mode(PM_OPEN));
    tr_done(&trial, set(3, P(1200)));
    tr_refused(&trial, on_line(PM_SETTLE, 0), PM_REFUSED, "Held lines exceed the base by 200");
    tr_refused(&trial, mode(PM_SHARE), PM_REFUSED, "Held lines exceed the base by 200");
    tr_done(&trial, set(3, P(50)));
    tr_done(&trial, stance(2, PM_CARRIER));
    tr_done(&trial, mode(PM_CARRIER_MODE)); /* below the base it goes on filling */
    assert_false(trial.settled);
    assert_true(tr_done(&trial, on_line(PM_SETTLE, 0)).by_carrier);
    tr_assert_parts(&trial, (pm_parts[]){P(578.571429), P(371.428571), P(50)}, 3);
    pm_trial_release(&trial);
}

static void open_mode_goes_on_filling(void **state)
{
    (void)state;
    struct pm_trial trial;
    pm_trial_init(&trial, P(1000), PM_OPEN);
    tr_done(&trial, add(1, P(400)));
    tr_done(&trial, mode(PM_SHARE));
    assert_false(trial.settled);
    tr_assert_parts(&trial, (pm_parts[]){P(400)}, 1);
    pm_trial_release(&trial);
}

/* ---- cores ---- */

/* Common practice, no source: formulas total 100 or 1000; a core of 4:3:2 in 1000 reads 444, 333
 * and 222 and totals 1000 exactly; 50 parts of small additions tucked in leave 950 for the core in
 * the same ratio; an amount below half a unit never shows as blank. */
static void core_with_traces(void **state)
{
    (void)state;
    static const int64_t ratio[] = {4, 3, 2};
    static const char *const read[] = {"444", "333", "222"};
    struct pm_trial trial;
    char buf[PM_AMOUNT_TEXT];
    pm_trial_init(&trial, P(1000), PM_SHARE);
    for (int64_t material = 1; material <= 3; material++)
        tr_done(&trial, add(material, P(1)));
    tr_done(&trial, core(ratio));
    tr_done(&trial, on_line(PM_SETTLE, 0));
    assert_int_equal(pm_trial_total(&trial), P(1000));
    for (size_t i = 0; i < 3; i++)
        assert_string_equal(pm_decimal_format(trial.lines[i].parts, 6, 0, '.', buf), read[i]);
    static const pm_parts traces[] = {P(20), P(15), P(10), P(4.6), P(0.4)};
    for (int64_t i = 0; i < 5; i++) {
        struct pm_gesture trace = add(10 + i, traces[i]);
        trace.fresh.stance = PM_HELD;
        tr_done(&trial, trace);
    }
    tr_assert_parts(&trial,
                    (pm_parts[]){P(422.222222), P(316.666667), P(211.111111), P(20), P(15), P(10),
                                 P(4.6), P(0.4)},
                    8);
    int places = pm_decimal_places(P(0.4), 6, 0);
    assert_string_equal(pm_decimal_format(P(0.4), 6, places, '.', buf), "0.40");
    tr_done(&trial, (struct pm_gesture){.kind = PM_SET_BASE, .parts = P(100)});
    assert_int_equal(tr_parts(&trial, 8), P(0.04));
    tr_done(&trial, (struct pm_gesture){.kind = PM_SET_BASE, .parts = P(1000)});
    assert_int_equal(trial.lines[0].weight, 4);
    assert_int_equal(tr_parts(&trial, 8), P(0.4));
    assert_int_equal(tr_parts(&trial, 1), P(422.222222));
    pm_trial_release(&trial);
}

static void whole_core_moves(void **state)
{
    (void)state;
    static const int64_t ratio[] = {4, 3, 2};
    struct pm_trial trial;
    tr_settled(&trial, PM_SHARE, (pm_parts[]){P(400), P(300), P(200), P(100)}, 4);
    tr_done(&trial, core(ratio));
    tr_done(&trial, set(2, P(150)));
    tr_assert_parts(&trial, (pm_parts[]){P(200), P(150), P(100), P(550)}, 4);
    tr_done(&trial, stance(1, PM_HELD)); /* one held line of a core holds it all */
    assert_int_equal(tr_line(&trial, 3)->stance, PM_HELD);
    tr_refused(&trial, stance(2, PM_CARRIER), PM_REFUSED, "leave its core");
    tr_done(&trial, add(9, P(50)));
    tr_assert_parts(&trial, (pm_parts[]){P(200), P(150), P(100), P(500), P(50)}, 5);
    tr_done(&trial, stance(3, PM_FREE));
    tr_done(&trial, on_line(PM_DROP, 2)); /* the core goes on with two */
    assert_int_equal(tr_line(&trial, 1)->core, 1);
    assert_int_equal(tr_parts(&trial, 1), 2 * tr_parts(&trial, 3));
    tr_done(&trial, on_line(PM_DROP, 1)); /* and is let go with one */
    assert_int_equal(tr_line(&trial, 3)->core, 0);
    assert_int_equal(tr_line(&trial, 3)->weight, 0);
    pm_trial_release(&trial);
}

static void forming_and_leaving(void **state)
{
    (void)state;
    static const int64_t ratio[] = {1, 1, 1}, nothing[] = {1, 0, 1};
    struct pm_trial trial;
    tr_settled(&trial, PM_SHARE, (pm_parts[]){P(400), P(300), P(200), P(100)}, 4);
    tr_refused(&trial, core(nothing), PM_INVALID, "whole numbers");
    tr_done(&trial, core(NULL)); /* captured, in lowest terms */
    assert_int_equal(tr_line(&trial, 1)->weight, 4);
    assert_int_equal(tr_line(&trial, 3)->weight, 2);
    tr_refused(&trial, core(ratio), PM_REFUSED, "core A already");
    tr_done(&trial, on_line(PM_LEAVE_CORE, 1));
    assert_int_equal(tr_line(&trial, 1)->core, 0);
    assert_int_equal(tr_line(&trial, 2)->core, 1);
    tr_done(&trial, on_line(PM_BREAK_CORE, 2));
    tr_refused(&trial, on_line(PM_BREAK_CORE, 2), PM_REFUSED, "in no core");
    tr_refused(&trial, on_line(PM_LEAVE_CORE, 2), PM_REFUSED, "in no core");
    tr_assert_parts(&trial, (pm_parts[]){P(400), P(300), P(200), P(100)}, 4);
    tr_done(&trial, stance(2, PM_HELD));
    tr_done(&trial, core(ratio)); /* the sum stays; a held line holds the core */
    tr_assert_parts(&trial, (pm_parts[]){P(300), P(300), P(300), P(100)}, 4);
    assert_int_equal(tr_line(&trial, 1)->stance, PM_HELD);
    tr_done(&trial, on_line(PM_BREAK_CORE, 1));
    tr_done(&trial, stance(3, PM_CARRIER));
    tr_refused(&trial, core(ratio), PM_REFUSED, "is the carrier");
    tr_done(&trial, stance(3, PM_FREE));
    tr_done(&trial, mode(PM_OPEN));
    tr_done(&trial, set(1, 0));
    tr_refused(&trial, core(NULL), PM_REFUSED, "no parts to take a ratio from");
    pm_trial_release(&trial);
}

/* What stays behind is brought back into ratio, whatever the rounding of the line that left. */
static void leaving_keeps_the_rest_in_ratio(void **state)
{
    (void)state;
    static const int64_t lines[] = {1, 2, 3, 4, 5};
    for (pm_parts sum = 1; sum < 2000; sum++) {
        const int64_t weights[] = {100, 90 + sum % 21, 1, 1, 1};
        struct pm_trial trial;
        pm_trial_init(&trial, P(1000), PM_OPEN);
        for (int64_t line = 1; line <= 5; line++)
            tr_put(&trial, line, line == 1 ? sum : 0, PM_FREE);
        tr_done(&trial,
                (struct pm_gesture){
                    .kind = PM_FORM_CORE, .lines = lines, .weights = weights, .line_count = 5});
        tr_done(&trial, on_line(PM_LEAVE_CORE, 1)); /* verifies the ratio of what stays */
        assert_int_equal(pm_trial_total(&trial), sum);
        pm_trial_release(&trial);
    }
}

/* ---- restrength ---- */

static void with_matching_carrier(void **state)
{
    (void)state;
    struct pm_trial trial;
    pm_trial_init(&trial, P(1000), PM_SHARE);
    tr_put(&trial, 1, P(20), PM_FREE);
    tr_put(&trial, 2, P(180), PM_HELD);
    tr_put(&trial, 50, P(800), PM_CARRIER);
    trial.settled = true;
    struct pm_effect effect = tr_done(&trial, restrength(1, PM_NEAT / 10, 50));
    assert_true(effect.by_carrier);
    tr_assert_parts(&trial, (pm_parts[]){P(200), P(180), P(620)}, 3);
    tr_done(&trial, restrength(1, PM_NEAT / 5, 51)); /* the old solvent matches too */
    tr_assert_parts(&trial, (pm_parts[]){P(100), P(180), P(720)}, 3);
    tr_refused(&trial, restrength(1, PM_NEAT, 0), PM_REFUSED, "Held lines would have to");
    tr_done(&trial, restrength(1, PM_NEAT / 5, 50)); /* another solvent alone moves nothing */
    tr_done(&trial, restrength(1, PM_NEAT, 0));
    /* 20 parts neat in 820: no weaker than 2.43902439 % */
    struct pm_gesture weak = restrength(1, PM_NEAT / 100, 50);
    weak.strength =
        tr_number(tr_refused(&trial, weak, PM_REFUSED, "the weakest this line can be is"));
    struct pm_trial copy;
    assert_int_equal(pm_trial_copy(&trial, &copy, NULL), PM_OK);
    tr_done(&copy, weak);
    assert_in_range(tr_parts(&copy, 3), 0, 34); /* what one step of the strength, 1e-9, makes */
    pm_trial_release(&copy);
    weak.strength--;
    tr_refused(&trial, weak, PM_REFUSED, "the weakest this line can be is");
    pm_trial_release(&trial);
}

static void without_matching_carrier(void **state)
{
    (void)state;
    struct pm_trial trial;
    tr_settled(&trial, PM_SHARE, (pm_parts[]){P(20), P(180), P(800)}, 3);
    struct pm_effect effect = tr_done(&trial, restrength(1, PM_NEAT / 10, 50));
    assert_true(effect.all_scaled); /* 200 : 180 : 800 in 1000 */
    tr_assert_parts(&trial, (pm_parts[]){P(169.491525), P(152.542373), P(677.966102)}, 3);
    tr_done(&trial, restrength(1, PM_NEAT, 0));
    tr_done(&trial, stance(2, PM_HELD));
    tr_refused(&trial, restrength(1, PM_NEAT / 10, 50), PM_REFUSED, "Held lines would have to");
    struct pm_gesture moving = restrength(1, PM_NEAT / 10, 50);
    moving.move_held = true;
    tr_done(&trial, moving);
    assert_int_equal(pm_trial_total(&trial), P(1000));
    tr_done(&trial, mode(PM_OPEN));
    tr_done(&trial, restrength(1, PM_NEAT / 20, 50));     /* only the line itself */
    assert_int_equal(tr_parts(&trial, 1), P(338.983051)); /* 400/1180, not twice what was rounded */
    pm_trial_release(&trial);
}

/* DIL-17, computed: 20 parts at 10 % are 200 parts at 1 %. DIL-15 and DIL-16, computed: 50 parts of
 * a 10 % dilution carry 5 neat, 80 parts of a 1 % dilution 0.8. */
static void keeps_the_neat_parts(void **state)
{
    (void)state;
    struct pm_trial trial;
    pm_trial_init(&trial, P(1000), PM_SHARE);
    tr_put_at(&trial, 1, P(20), PM_NEAT / 10, 50);
    tr_done(&trial, restrength(1, PM_NEAT / 100, 50)); /* while filling */
    assert_int_equal(tr_parts(&trial, 1), P(200));
    tr_put_at(&trial, 2, P(50), PM_NEAT / 10, 50);
    tr_put_at(&trial, 3, P(80), PM_NEAT / 100, 50);
    assert_int_equal(pm_line_neat(tr_line(&trial, 2)), P(5));
    assert_int_equal(pm_line_neat(tr_line(&trial, 3)), P(0.8));
    pm_trial_release(&trial);
}

static void in_a_core(void **state)
{
    (void)state;
    static const int64_t ratio[] = {4, 3, 2};
    struct pm_trial trial;
    tr_settled(&trial, PM_SHARE, (pm_parts[]){P(40), P(30), P(20), P(910)}, 4);
    trial.lines[3].stance = PM_CARRIER;
    tr_done(&trial, core(ratio));
    tr_done(&trial, restrength(3, PM_NEAT / 10, 4)); /* the carrier's material is the solvent */
    tr_assert_parts(&trial, (pm_parts[]){P(40), P(30), P(200), P(730)}, 4);
    assert_int_equal(tr_line(&trial, 1)->weight, 4);
    assert_int_equal(tr_line(&trial, 3)->weight, 2); /* 4:3:2 neat is 4:3:20 poured */
    tr_done(&trial, set(1, P(80)));
    assert_int_equal(pm_line_neat(tr_line(&trial, 3)), P(40));
    tr_done(&trial, restrength(3, PM_NEAT, 0));
    assert_int_equal(tr_line(&trial, 3)->weight, 2);
    pm_trial_release(&trial);
}

static void swapping(void **state)
{
    (void)state;
    struct pm_trial trial;
    tr_settled(&trial, PM_SHARE, (pm_parts[]){P(100), P(900)}, 2);
    trial.lines[1].stance = PM_CARRIER;
    tr_done(&trial, (struct pm_gesture){.kind = PM_COMMENT, .line = 1, .text = "bright"});
    struct pm_gesture swap = {
        .kind = PM_SWAP, .line = 1, .fresh = {.ref = 7, .strength = PM_NEAT / 2, .solvent = 2}};
    tr_done(&trial, swap); /* poured parts stay */
    tr_assert_parts(&trial, (pm_parts[]){P(100), P(900)}, 2);
    assert_string_equal(tr_line(&trial, 1)->comment, "bright");
    swap.fresh = (struct pm_line){.ref = 8, .strength = PM_NEAT / 10, .solvent = 2};
    swap.same_neat = true;
    tr_done(&trial, swap); /* 50 neat parts at a tenth */
    tr_assert_parts(&trial, (pm_parts[]){P(500), P(500)}, 2);
    assert_int_equal(tr_line(&trial, 1)->ref, 8);
    swap.fresh = (struct pm_line){.kind = PM_LINE_ACCORD, .ref = 3, .strength = PM_NEAT};
    tr_done(&trial, swap);
    tr_assert_parts(&trial, (pm_parts[]){P(50), P(950)}, 2);
    tr_refused(&trial, restrength(1, PM_NEAT / 10, 2), PM_REFUSED, "accord is always used neat");
    pm_trial_release(&trial);
}

/* ---- fold and unfold ---- */

static void fold_then_unfold(void **state)
{
    (void)state;
    static const int64_t ratio[] = {4, 3, 2};
    static const int64_t chosen[] = {1, 2, 3, 4}, part[] = {1, 2};
    struct pm_trial trial, accord;
    tr_settled(&trial, PM_SHARE, (pm_parts[]){P(40), P(30), P(20), P(9.5), P(900.5)}, 5);
    tr_done(&trial, core(ratio));
    struct pm_gesture fold = {.kind = PM_FOLD, .lines = part, .line_count = 2, .fresh.ref = 77};
    tr_refused(&trial, fold, PM_REFUSED, "Core A is only partly chosen");
    assert_int_equal(pm_fold_content(&trial, part, 2, P(1000), &accord, NULL), PM_REFUSED);
    assert_int_equal(accord.count, 0);
    assert_int_equal(pm_fold_content(&trial, chosen, 4, P(1000), &accord, NULL), PM_OK);
    assert_int_equal(pm_trial_check(&accord, NULL), PM_OK);
    assert_int_equal(pm_trial_total(&accord), P(1000));
    assert_true(accord.settled);
    assert_int_equal(accord.lines[0].weight, 4);
    fold.lines = chosen;
    fold.line_count = 4;
    tr_done(&trial, fold);
    tr_assert_parts(&trial, (pm_parts[]){P(99.5), P(900.5)}, 2);
    tr_done(&trial,
            (struct pm_gesture){.kind = PM_UNFOLD, .line = trial.lines[0].id, .content = &accord});
    tr_assert_parts(&trial, (pm_parts[]){P(40), P(30), P(20), P(9.5), P(900.5)}, 5);
    assert_int_equal(trial.lines[2].weight, 2);
    tr_refused(&trial, on_line(PM_UNFOLD, trial.lines[4].id), PM_REFUSED, "Only an accord");
    pm_trial_release(&accord);
    pm_trial_release(&trial);
}

static void unfold_minds_the_carrier(void **state)
{
    (void)state;
    static const int64_t both[] = {1, 2};
    struct pm_trial trial, accord;
    tr_settled(&accord, PM_CARRIER_MODE, (pm_parts[]){P(10), P(90)}, 2);
    accord.lines[1].stance = PM_CARRIER;
    tr_settled(&trial, PM_CARRIER_MODE, (pm_parts[]){P(300), P(700)}, 2);
    trial.lines[0].kind = PM_LINE_ACCORD;
    trial.lines[1].stance = PM_CARRIER;
    tr_refused(&trial,
               (struct pm_gesture){.kind = PM_FOLD, .lines = both, .line_count = 2, .fresh.ref = 4},
               PM_REFUSED, "The carrier cannot be folded");
    struct pm_gesture unfold = {.kind = PM_UNFOLD, .line = 1, .content = &accord};
    tr_done(&trial, stance(1, PM_HELD));
    tr_done(&trial, unfold);
    tr_assert_parts(&trial, (pm_parts[]){P(30), P(270), P(700)}, 3);
    assert_int_equal(trial.lines[0].stance, PM_HELD);
    assert_int_equal(trial.lines[1].stance, PM_HELD);
    pm_trial_release(&accord);
    pm_trial_release(&trial);
}

/* ---- small ones ---- */

static void nudges(void **state)
{
    (void)state;
    assert_int_equal(pm_nudge_step(P(12)), P(1));
    assert_int_equal(pm_nudge_step(P(0.35)), P(0.01));
    assert_int_equal(pm_nudge_step(P(0.000005)), 1);
    assert_int_equal(pm_nudge_step(0), P(0.1));
    static const struct {
        pm_parts from;
        int steps;
        pm_parts to;
    } cases[] = {
        {P(12), 1, P(13)},
        {P(0.35), 1, P(0.36)},
        {P(9.9), 1, P(10)},
        {P(10), -1, P(9.9)},
        {P(99), 2, P(110)},
        {P(110), -2, P(99)},
        {0, 1, P(0.1)},
        {P(0.000001), -1, 0},
        {P(5), -2000000000, 0},
        {P(12), 0, P(12)},
        /* What giving way has left behind the second digit goes first. */
        {P(19.624713), 1, P(20)},
        {P(19.624713), -1, P(19)},
        {P(19.624713), 2, P(21)},
        {P(0.35004), 1, P(0.36)},
        {P(0.35004), -1, P(0.35)},
        {P(10.07), -1, P(10)},
        {P(9.97), 1, P(10)},
        {P(999.5), 1, P(1000)},
        {P(0.000013), 1, P(0.000014)},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct pm_trial trial;
        pm_trial_init(&trial, P(1000), PM_OPEN);
        tr_put(&trial, 1, cases[i].from, PM_FREE);
        tr_done(&trial, (struct pm_gesture){.kind = PM_NUDGE, .line = 1, .steps = cases[i].steps});
        assert_int_equal(tr_parts(&trial, 1), cases[i].to);
        pm_trial_release(&trial);
    }
}

static void moves_and_branches(void **state)
{
    (void)state;
    struct pm_trial trial, other;
    tr_settled(&trial, PM_SHARE, (pm_parts[]){P(1), P(2), P(3), P(4)}, 4);
    tr_done(&trial, (struct pm_gesture){.kind = PM_MOVE, .line = 1, .place = 2});
    tr_assert_parts(&trial, (pm_parts[]){P(2), P(3), P(1), P(4)}, 4);
    tr_done(&trial, (struct pm_gesture){.kind = PM_MOVE, .line = 4, .place = 0});
    tr_done(&trial, (struct pm_gesture){.kind = PM_MOVE, .line = 2, .place = SIZE_MAX});
    tr_assert_parts(&trial, (pm_parts[]){P(4), P(3), P(1), P(2)}, 4);
    tr_settled(&other, PM_SHARE, (pm_parts[]){P(60), P(40)}, 2);
    tr_done(&trial, (struct pm_gesture){.kind = PM_BRANCH, .content = &other, .parent = 12});
    tr_assert_parts(&trial, (pm_parts[]){P(60), P(40)}, 2);
    assert_int_equal(trial.parent, 12);
    assert_int_equal(trial.next_id, 5); /* ids are never used twice */
    tr_done(&trial, (struct pm_gesture){.kind = PM_BRANCH, .content = &other});
    assert_int_equal(trial.parent, 12);
    pm_trial_release(&other);
    pm_trial_release(&trial);
}

/* Micro-parts of "100,200,300". */
static size_t parts_of(const char *text, pm_parts *out)
{
    double values[8];
    const size_t count = vector_list(text, values, 8);
    for (size_t i = 0; i < count; i++)
        out[i] = P(values[i]);
    return count;
}

/* Three lines brought to another total in their ratio. */
static void check_total(char **row)
{
    struct pm_trial trial;
    pm_parts parts[8], wanted[8];
    const size_t count = parts_of(vector_text(row[INPUT], "parts"), parts);
    assert_int_equal(parts_of(row[EXPECTED], wanted), count);
    tr_settled(&trial, PM_SHARE, parts, count);
    tr_done(&trial, (struct pm_gesture){.kind = PM_SET_BASE,
                                        .parts = P(vector_number(row[INPUT], "total"))});
    tr_assert_parts(&trial, wanted, count);
    pm_trial_release(&trial);
}

/* One line fixed, the others scaled to what it leaves. */
static void check_fixed(char **row)
{
    struct pm_trial trial;
    pm_parts parts[8], wanted[8];
    const size_t count = parts_of(vector_text(row[INPUT], "parts"), parts);
    assert_int_equal(parts_of(row[EXPECTED], wanted), count);
    tr_settled(&trial, PM_SHARE, parts, count);
    tr_done(&trial, set((int64_t)vector_number(row[INPUT], "locked_index"),
                        P(vector_number(row[INPUT], "locked_value"))));
    tr_assert_parts(&trial, wanted, count);
    pm_trial_release(&trial);
}

/* The same of a material at another strength. */
static void check_strength(char **row)
{
    struct pm_trial trial;
    const pm_strength was = (pm_strength)(vector_number(row[INPUT], "old_strength") * 1e9 + 0.5);
    const pm_strength now = (pm_strength)(vector_number(row[INPUT], "new_strength") * 1e9 + 0.5);
    pm_trial_init(&trial, P(1000), PM_OPEN);
    tr_put_at(&trial, 1, P(vector_number(row[INPUT], "line_parts")), was, 50);
    tr_done(&trial, restrength(1, now, 50));
    assert_int_equal(tr_parts(&trial, 1), P(vector_number(row[EXPECTED], "new_line_parts")));
    pm_trial_release(&trial);
}

static void computed_rows(void **state)
{
    (void)state;
    vectors_each("restore_total", 1, check_total);
    vectors_each("lock_one_rescale_rest", 1, check_fixed);
    vectors_each("keep_active_on_strength_change", 1, check_strength);
}

/* A line tucked in among the lines of a core comes behind them; between two cores, or a core and
 * another line, it stands where it was put. */
static void cores_stay_together(void **state)
{
    (void)state;
    struct pm_trial trial;
    const struct pm_line fresh = {.kind = PM_LINE_MATERIAL, .ref = 50, .strength = PM_NEAT};
    struct pm_gesture gesture = {.kind = PM_ADD, .fresh = fresh, .parts = P(1)};
    tr_settled(&trial, PM_CORE_MODE, (const pm_parts[]){P(100), P(200), P(300), P(400), P(500)}, 5);
    tr_done(&trial, (struct pm_gesture){.kind = PM_FORM_CORE,
                                        .lines = (const int64_t[]){2, 3, 4},
                                        .line_count = 3});
    static const size_t wanted[][2] = {{0, 0}, {1, 1}, {2, 4}, {3, 4}, {4, 4}, {5, 5}, {99, 5}};
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
        struct pm_trial after;
        struct pm_effect effect;
        gesture.place = wanted[i][0];
        assert_int_equal(pm_gesture_apply(&gesture, &trial, &after, &effect, NULL), PM_OK);
        assert_int_equal(pm_trial_find(&after, effect.line), wanted[i][1]);
        pm_trial_release(&after);
    }
    pm_trial_release(&trial);
}

/* The check that the other tests lean on finds what is wrong. */
static void check_finds_mistakes(void **state)
{
    (void)state;
    struct pm_trial trial, after;
    struct pm_gesture gesture = set(1, P(250));
    struct pm_error err;
    tr_settled(&trial, PM_SHARE, (pm_parts[]){P(100), P(200), P(300), P(400)}, 4);
    tr_done(&trial, stance(4, PM_HELD));
    assert_int_equal(pm_gesture_apply(&gesture, &trial, &after, NULL, NULL), PM_OK);
    assert_int_equal(pm_gesture_check(&gesture, &trial, &after, &err), PM_OK);
    after.lines[1].parts += 2;
    after.lines[2].parts -= 2;
    assert_int_equal(pm_gesture_check(&gesture, &trial, &after, &err), PM_DAMAGED);
    assert_non_null(strstr(err.text, "off its share"));
    after.lines[1].parts -= 2;
    after.lines[2].parts += 1;
    after.lines[3].parts += 1;
    assert_int_equal(pm_gesture_check(&gesture, &trial, &after, &err), PM_DAMAGED);
    assert_non_null(strstr(err.text, "held"));
    after.lines[3].parts -= 1;
    assert_int_equal(pm_gesture_check(&gesture, &trial, &after, &err), PM_DAMAGED);
    assert_non_null(strstr(err.text, "total"));
    after.lines[2].parts += 1;
    after.lines[1].ref = 99;
    assert_int_equal(pm_gesture_check(&gesture, &trial, &after, &err), PM_DAMAGED);
    pm_trial_release(&after);
    pm_trial_release(&trial);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(filling_moves_nothing),
        cmocka_unit_test(exceeding_settles),
        cmocka_unit_test(settle_scales_up),
        cmocka_unit_test(carrier_fills_up),
        cmocka_unit_test(held_lines_limit),
        cmocka_unit_test(core_member_limit),
        cmocka_unit_test(core_range_limit),
        cmocka_unit_test(carrier_limit),
        cmocka_unit_test(out_of_range),
        cmocka_unit_test(open_mode_gives_nothing),
        cmocka_unit_test(open_mode_goes_on_filling),
        cmocka_unit_test(core_with_traces),
        cmocka_unit_test(whole_core_moves),
        cmocka_unit_test(forming_and_leaving),
        cmocka_unit_test(leaving_keeps_the_rest_in_ratio),
        cmocka_unit_test(with_matching_carrier),
        cmocka_unit_test(without_matching_carrier),
        cmocka_unit_test(keeps_the_neat_parts),
        cmocka_unit_test(in_a_core),
        cmocka_unit_test(swapping),
        cmocka_unit_test(fold_then_unfold),
        cmocka_unit_test(unfold_minds_the_carrier),
        cmocka_unit_test(nudges),
        cmocka_unit_test(moves_and_branches),
        cmocka_unit_test(computed_rows),
        cmocka_unit_test(cores_stay_together),
        cmocka_unit_test(check_finds_mistakes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
