/* SPDX-License-Identifier: MIT */
/*
 * Shared premixes: what is weighed is what each trial needs, exactly, whatever the groups; and a
 * ladder of five needs few weighings. Doses of ladders; ratios by gestures.
 */
#include "permille/core/premix.h"
#include "permille/core/series.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

enum { TRIALS = 5, LINES = 6 };

/* Line 0 doubles from 1 part; 1 is held at 50; the rest share what is left as 5 : 3 : 2 : 1. */
static void ladder(pm_parts *parts)
{
    static const pm_parts weights[] = {5, 3, 2, 1};
    for (int k = 0; k < TRIALS; k++) {
        pm_parts *row = parts + k * LINES;
        row[0] = (pm_parts)(1 << k) * PM_PART;
        row[1] = 50 * PM_PART;
        const pm_parts left = 1000 * PM_PART - row[0] - row[1];
        for (int i = 0; i < 4; i++)
            row[2 + i] = left * weights[i] / 11;
        row[2] += left - row[2] - row[3] - row[4] - row[5];
    }
}

/* What one trial gets of one ingredient, through premixes and stocks, in micrograms. */
static double gets(const struct pm_premix *plan, size_t k, size_t i)
{
    double stocks = 0, own = (double)plan->single[k * plan->ingredients + i];
    for (int p = 0; plan->from_stock[k * plan->ingredients + i] && p < plan->tenfold[i]; p++)
        own /= 10;
    if (plan->group[i] < 0)
        return own;
    double take = (double)plan->take[k * plan->groups + (size_t)plan->group[i]];
    for (size_t j = 0; plan->group[i] == 0 && j < plan->ingredients; j++) {
        const double mass = (double)plan->single[k * plan->ingredients + j];
        if (plan->from_stock[k * plan->ingredients + j])
            stocks += mass * (1 - pow(10, -plan->tenfold[j]));
    }
    return (take + stocks) * (double)plan->make[i] / (double)plan->amount[plan->group[i]];
}

static void every_trial_gets_what_it_needs(void **state)
{
    (void)state;
    pm_parts parts[TRIALS * LINES];
    struct pm_premix plan;
    ladder(parts);
    const struct pm_premix_spec spec = {.trials = TRIALS,
                                        .ingredients = LINES,
                                        .parts = parts,
                                        .batch = 10 * PM_GRAM,
                                        .least = PM_GRAM / 10,
                                        .spare = PM_NEAT / 20};
    assert_int_equal(pm_premix_plan(&spec, &plan, NULL), PM_OK);
    assert_int_equal(plan.groups, 1);
    assert_int_equal(plan.group[0], -1);
    assert_int_equal(plan.group[1], -1);
    assert_int_equal(plan.tenfold[0], 1); /* 10 mg become 100 mg */
    assert_int_equal(plan.tenfold[1], 0);
    assert_true(plan.from_stock[3 * LINES] && !plan.from_stock[4 * LINES]); /* 80 mg, 160 mg */
    for (size_t k = 0; k < TRIALS; k++) {
        pm_mass sum = 0;
        for (size_t i = 0; i < LINES; i++)
            if (fabs(gets(&plan, k, i) - (double)parts[k * LINES + i] / 100) > 5)
                fail_msg("trial %zu line %zu: %.3f", k, i, gets(&plan, k, i));
        for (size_t g = 0; g < plan.groups; g++)
            sum += plan.take[k * plan.groups + g];
        for (size_t i = 0; i < LINES; i++)
            sum += plan.single[k * LINES + i];
        assert_int_equal(sum, 10 * PM_GRAM);
    }
    /* Four lines once and a stock of two, then premix, stock and the held line in each of five. */
    assert_int_equal(plan.weighings, 4 + 2 + 3 * TRIALS);
    assert_int_equal(plan.without, TRIALS * LINES);
    pm_premix_release(&plan);
}

/* What weighs the least that can be weighed needs no stock, a microgram less does. */
static void the_least_weight_needs_no_stock(void **state)
{
    (void)state;
    const pm_parts parts[] = {10 * PM_PART, 400 * PM_PART, 590 * PM_PART,
                              20 * PM_PART, 400 * PM_PART, 580 * PM_PART};
    struct pm_premix_spec spec = {
        .trials = 2, .ingredients = 3, .parts = parts, .batch = 10 * PM_GRAM};
    struct pm_premix plan;
    for (pm_mass more = 0; more <= 1; more++) {
        spec.least = PM_GRAM / 10 + more;
        assert_int_equal(pm_premix_plan(&spec, &plan, NULL), PM_OK);
        assert_int_equal(plan.single[0], PM_GRAM / 10);
        assert_int_equal(plan.too_small[0], more);
        pm_premix_release(&plan);
    }
}

/* 7 : 3 rounded to a millionth of a part is 7 : 3; ten millionths off is another ratio. */
static void a_ratio_is_one_to_its_rounding(void **state)
{
    (void)state;
    struct pm_premix plan;
    for (pm_parts off = 0; off <= 10; off += 10) {
        const pm_parts parts[] = {70 * PM_PART, 30 * PM_PART,   900 * PM_PART,
                                  33333333,     14285714 + off, 900 * PM_PART,
                                  11111111,     4761905,        800 * PM_PART};
        const struct pm_premix_spec spec = {
            .trials = 3, .ingredients = 3, .parts = parts, .batch = PM_GRAM, .least = 1};
        assert_int_equal(pm_premix_plan(&spec, &plan, NULL), PM_OK);
        assert_int_equal(plan.groups, off == 0);
        pm_premix_release(&plan);
    }
}

/* Without room for the premix that comes with it there is no stock, and it is said. */
static void a_stock_needs_room(void **state)
{
    (void)state;
    const pm_parts parts[] = {PM_PART,     2 * PM_PART, 4 * PM_PART, 899 * PM_PART,
                              3 * PM_PART, 2 * PM_PART, 4 * PM_PART, 897 * PM_PART};
    const struct pm_premix_spec spec = {
        .trials = 2, .ingredients = 4, .parts = parts, .batch = PM_GRAM, .least = PM_GRAM / 10};
    struct pm_premix plan;
    assert_int_equal(pm_premix_plan(&spec, &plan, NULL), PM_OK);
    assert_int_equal(plan.groups, 1);
    assert_int_equal(plan.group[0], -1);
    assert_int_equal(plan.group[1], 0);
    assert_int_equal(plan.group[2], 0);
    assert_int_equal(plan.group[3], -1);
    assert_int_equal(plan.tenfold[0], 0);
    assert_true(plan.too_small[0]);
    assert_false(plan.too_small[3]);
    pm_premix_release(&plan);
    const pm_parts empty[] = {0, 0};
    const struct pm_premix_spec nothing = {
        .trials = 1, .ingredients = 2, .parts = empty, .batch = PM_GRAM};
    assert_int_equal(pm_premix_plan(&nothing, &plan, NULL), PM_INVALID);
}

static void doses(void **state)
{
    (void)state;
    pm_parts out[PM_SERIES_TRIALS_MOST];
    assert_int_equal(pm_ladder_doses(PM_PART / 4, 4 * PM_PART, 5, false, out, NULL), PM_OK);
    for (int i = 0; i < 5; i++)
        assert_int_equal(out[i], (PM_PART / 4) << i);
    assert_int_equal(pm_ladder_doses(PM_PART, 4 * PM_PART, 4, true, out, NULL), PM_OK);
    assert_int_equal(out[1], 2 * PM_PART);
    assert_int_equal(pm_ladder_doses(PM_PART, 10 * PM_PART, 3, false, out, NULL), PM_OK);
    assert_int_equal(out[1], 3160000); /* the root of 10 to three digits */
    assert_int_equal(pm_ladder_doses(PM_PART, PM_PART, 3, false, out, NULL), PM_INVALID);
    assert_int_equal(pm_ladder_doses(1, 2, 5, false, out, NULL), PM_REFUSED);
}

static void ratios_keep_the_rest(void **state)
{
    (void)state;
    struct pm_trial before, after;
    const int64_t lines[] = {1, 2, 3}, ratio[] = {2, 0, 1};
    pm_trial_init(&before, 1000 * PM_PART, PM_SHARE);
    for (int i = 0; i < 4; i++) {
        struct pm_line line = {
            .ref = i + 1, .strength = PM_NEAT, .parts = (i == 3 ? 700 : 100) * PM_PART};
        line.strength = i == 0 ? PM_NEAT / 2 : PM_NEAT;
        line.solvent = i == 0 ? 9 : 0;
        assert_int_equal(pm_trial_insert(&before, 9, &line, NULL), PM_OK);
    }
    before.settled = true;
    assert_int_equal(pm_ratio_content(&before, lines, 3, ratio, &after, NULL), PM_OK);
    assert_int_equal(pm_trial_check(&after, NULL), PM_OK);
    assert_int_equal(after.count, 3);
    assert_int_equal(pm_trial_total(&after), 1000 * PM_PART);
    assert_int_equal(after.lines[2].parts, 700 * PM_PART);
    /* Neat 2 : 1, the first at half strength: poured 4 : 1 of 300. */
    assert_int_equal(after.lines[0].parts, 240 * PM_PART);
    assert_int_equal(after.lines[1].parts, 60 * PM_PART);
    assert_true(after.lines[0].core != 0 && after.mode == PM_SHARE && after.settled);
    pm_trial_release(&after);
    /* A corner: one line has it all, and stands in no core. */
    const int64_t corner[] = {0, 1, 0};
    assert_int_equal(pm_ratio_content(&before, lines, 3, corner, &after, NULL), PM_OK);
    assert_int_equal(after.count, 2);
    assert_int_equal(after.lines[0].parts, 300 * PM_PART);
    assert_int_equal(after.lines[0].core, 0);
    pm_trial_release(&after);
    before.lines[0].stance = PM_RESTING;
    assert_int_equal(pm_ratio_content(&before, lines, 3, ratio, &after, NULL), PM_REFUSED);
    before.lines[0].stance = PM_FREE;
    pm_trial_release(&before);
    struct pm_mix_point point;
    assert_int_equal(pm_mix_point_read("4:0:1", 3, &point, NULL), PM_OK);
    assert_int_equal(point.part[0], 4);
    assert_int_equal(pm_mix_point_read("4:0", 3, &point, NULL), PM_INVALID);
    assert_int_equal(pm_mix_point_read("4:0:1:1", 3, &point, NULL), PM_INVALID);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_trial_gets_what_it_needs),
        cmocka_unit_test(the_least_weight_needs_no_stock),
        cmocka_unit_test(a_ratio_is_one_to_its_rounding),
        cmocka_unit_test(a_stock_needs_room),
        cmocka_unit_test(doses),
        cmocka_unit_test(ratios_keep_the_rest),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
