/* SPDX-License-Identifier: MIT */
/*
 * What a balance does to a formula as it is written: against the shares of pm_uncertainty_shares
 * over weights written out one by one, the minimum weight of USP general chapter <41>, and the root
 * of a sum of squares as GSL has it.
 */
#include "permille/base/mem.h"
#include "permille/core/column.h"
#include "permille/core/weigh_budget.h"
#include "permille/core/weigh_plan.h"
#include "vectors.h"

#include <gsl/gsl_math.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define LINES 5

static const struct pm_balance centigram = {.readability = PM_GRAM / 100};

static struct pm_line material(int64_t ref, pm_strength strength)
{
    return (struct pm_line){.id = ref,
                            .kind = PM_LINE_MATERIAL,
                            .ref = ref,
                            .strength = strength,
                            .solvent = strength < PM_NEAT ? 99 : 0};
}

static struct pm_budget_terms terms_of(pm_mass batch)
{
    return (struct pm_budget_terms){
        .batch = batch, .balance = centigram, .tolerance = PM_NEAT / 1000};
}

/* At 0.10 % the smallest weight on a display of 0.01 g is 8.2 g: 820 steps (USP <41>). */
static void small_lines_and_the_least_batch(void **state)
{
    (void)state;
    const struct pm_line lines[] = {material(1, PM_NEAT), material(2, PM_NEAT / 10),
                                    material(3, PM_NEAT)};
    const struct pm_budget_item items[] = {
        {&lines[0], 700 * PM_PART}, {&lines[1], 290 * PM_PART}, {&lines[2], 10 * PM_PART}};
    struct pm_budget_terms terms = terms_of(100 * PM_GRAM);
    struct pm_budget_line said[3];
    struct pm_budget budget;
    pm_budget_read(&terms, items, 3, said, &budget);
    assert_int_equal(budget.minimum, 8200000);
    assert_int_equal(said[0].mass, 70 * PM_GRAM);
    assert_int_equal(said[2].mass, PM_GRAM);
    assert_false(said[0].small);
    assert_false(said[1].small);
    assert_true(said[2].small);
    assert_int_equal(said[2].dilute, PM_NEAT / 10); /* 10 g of it can be weighed */
    assert_int_equal(budget.small, 1);
    assert_int_equal(budget.weights, 3);
    /* 1 % of it is 8.2 g. */
    assert_int_equal(budget.least, 820 * PM_GRAM);
    terms.batch = budget.least;
    pm_budget_read(&terms, items, 3, said, &budget);
    assert_int_equal(budget.small, 0);
    terms.batch--;
    pm_budget_read(&terms, items, 3, said, &budget);
    assert_int_equal(budget.small, 1);
}

/* Whatever the amounts: the least batch is enough, and a microgram less is not. */
static void least_batch_is_least(void **state)
{
    (void)state;
    uint64_t random = 12345;
    for (int turn = 0; turn < 500; turn++) {
        struct pm_line lines[LINES];
        struct pm_budget_item items[LINES];
        struct pm_budget_line said[LINES];
        struct pm_budget budget;
        for (size_t i = 0; i < LINES; i++) {
            random = random * 6364136223846793005u + 1442695040888963407u;
            lines[i] = material((int64_t)i + 1, PM_NEAT);
            items[i] = (struct pm_budget_item){&lines[i], 1 + (pm_parts)(random >> 34)};
        }
        struct pm_budget_terms terms = terms_of(10 * PM_GRAM);
        pm_budget_read(&terms, items, LINES, said, &budget);
        if (budget.least == 0)
            continue;
        terms.batch = budget.least;
        pm_budget_read(&terms, items, LINES, said, &budget);
        assert_int_equal(budget.small, 0);
        terms.batch--;
        pm_budget_read(&terms, items, LINES, said, &budget);
        assert_true(budget.small > 0);
    }
}

static void shares_add_up(void **state)
{
    (void)state;
    const struct pm_line lines[] = {material(1, PM_NEAT), material(2, PM_NEAT),
                                    material(3, PM_NEAT), material(4, PM_NEAT)};
    /* The third rests: it has no parts. */
    const struct pm_budget_item items[] = {{&lines[0], 600 * PM_PART},
                                           {&lines[1], 399 * PM_PART},
                                           {&lines[2], 0},
                                           {&lines[3], PM_PART}};
    const struct pm_budget_terms terms = terms_of(10 * PM_GRAM);
    const pm_mass masses[] = {6000000, 3990000, 0, 10000};
    double wanted[4], sum = 0;
    struct pm_budget_line said[4];
    struct pm_budget budget;
    pm_budget_read(&terms, items, 4, said, &budget);
    pm_uncertainty_shares(&centigram, masses, 4, wanted);
    for (size_t i = 0; i < 4; i++) {
        assert_true(fabs(said[i].share - wanted[i]) <= 1e-12);
        sum += said[i].share;
    }
    assert_true(fabs(sum - 1) < 1e-12);
    assert_int_equal(said[2].weights, 0);
    assert_false(said[2].small);
    /* Three weights, each with u = 0.41 steps: the total's is the root of the sum of squares. */
    const double unit = 4100;
    assert_true(fabs(budget.combined - gsl_hypot3(unit, unit, unit)) < 1e-6);
    assert_true(fabs(said[3].error - 2 * unit / 10000) < 1e-12);
}

/* Twelve weighings on a display of 0.01 g. */
static void check_total(char **row)
{
    enum { MOST = 20 };
    struct pm_line lines[MOST];
    struct pm_budget_item items[MOST];
    struct pm_budget_line said[MOST];
    struct pm_budget budget;
    const struct pm_budget_terms terms = terms_of(100 * PM_GRAM);
    const size_t count = (size_t)vector_number(row[INPUT], "n_weighings");
    assert_true(count <= MOST);
    for (size_t i = 0; i < count; i++) {
        lines[i] = material((int64_t)i + 1, PM_NEAT);
        items[i] = (struct pm_budget_item){&lines[i], (pm_parts)(i + 1) * PM_PART};
    }
    pm_budget_read(&terms, items, count, said, &budget);
    assert_true(fabs(pm_balance_uncertainty(&centigram) / 1e6 -
                     vector_number(row[INPUT], "u_each_g")) < 1e-12);
    assert_true(fabs(budget.combined / 1e6 - strtod(row[EXPECTED], NULL)) < 1e-9);
}

static void the_total_of_twelve(void **state)
{
    (void)state;
    vectors_each("batch_total_uncertainty", 1, check_total);
}

/* ---- accords ---- */

static struct pm_trial accord, inner;

static const struct pm_trial *trial_of(void *context, int64_t id, struct pm_error *err)
{
    (void)context;
    (void)err;
    return id == 7 ? &accord : &inner;
}

static void add(struct pm_trial *trial, struct pm_line line, pm_parts parts)
{
    trial->lines[trial->count] = line;
    trial->lines[trial->count].id = (int64_t)trial->count + 1;
    trial->lines[trial->count++].parts = parts;
}

/* 60 % of one material, 39 % of another, and 1 % of the first one once more, diluted. */
static void an_accord_is_weighed_by_its_materials(void **state)
{
    (void)state;
    struct pm_line inside[3], deeper[2];
    const struct pm_trial_source source = {trial_of, NULL};
    accord = (struct pm_trial){.base = 100 * PM_PART, .lines = inside};
    inner = (struct pm_trial){.base = 100 * PM_PART, .lines = deeper};
    add(&accord, material(1, PM_NEAT), 20 * PM_PART);
    add(&accord, (struct pm_line){.kind = PM_LINE_ACCORD, .ref = 8, .strength = PM_NEAT},
        80 * PM_PART);
    add(&inner, material(1, PM_NEAT), 50 * PM_PART);
    add(&inner, material(2, PM_NEAT / 10), 50 * PM_PART);
    struct pm_budget_accord read;
    assert_int_equal(pm_budget_accord_read(7, &source, &read, NULL), PM_OK);
    assert_int_equal(read.weights, 2); /* the first material once: 60 %; the second: 40 % */
    assert_true(llabs(read.smallest - PM_WHOLE / 10 * 4) <= 1);
    assert_true(fabs(read.squares - (1 / (0.6 * 0.6) + 1 / (0.4 * 0.4))) < 1e-9);

    const struct pm_line lines[] = {
        {.id = 1, .kind = PM_LINE_ACCORD, .ref = 7, .strength = PM_NEAT}, material(3, PM_NEAT)};
    const struct pm_budget_item items[] = {{&lines[0], 500 * PM_PART}, {&lines[1], 500 * PM_PART}};
    struct pm_budget_terms terms = terms_of(20 * PM_GRAM);
    terms.accords = &read;
    terms.accord_count = 1;
    struct pm_budget_line said[2];
    struct pm_budget budget;
    double wanted[3];
    pm_budget_read(&terms, items, 2, said, &budget);
    pm_uncertainty_shares(&centigram, (const pm_mass[]){6000000, 4000000, 10000000}, 3, wanted);
    assert_true(fabs(said[0].share - wanted[0] - wanted[1]) < 1e-9);
    assert_int_equal(budget.weights, 3);
    assert_true(said[0].small); /* 4 g of the second; 8.2 g is the least */
    assert_true(said[0].make_up);
    assert_false(said[1].small);
    assert_int_equal(said[0].smallest, 4 * PM_GRAM);
    /* Made up, it is one weight of 10 g; a bottle with less than that does not serve. */
    read.made_up = 10 * PM_GRAM - 1;
    pm_budget_read(&terms, items, 2, said, &budget);
    assert_true(said[0].small);
    read.made_up = 10 * PM_GRAM;
    pm_budget_read(&terms, items, 2, said, &budget);
    assert_false(said[0].small);
    assert_int_equal(budget.weights, 2);
    /* Where all of it is less than the least weight, making it up does not help; from there on it
     * does. */
    read.made_up = 0;
    terms.batch = 2 * budget.minimum - 2;
    pm_budget_read(&terms, items, 2, said, &budget);
    assert_true(said[0].small);
    assert_false(said[0].make_up);
    terms.batch = 2 * budget.minimum;
    pm_budget_read(&terms, items, 2, said, &budget);
    assert_true(said[0].make_up);
}

/* A hair below the least weight, which rounds to it: nothing is said of diluting it to what it is.
 */
static void no_dilution_to_the_same(void **state)
{
    (void)state;
    const pm_parts hair = 819999960; /* of a milliard, in 10 g: 8.1999996 g */
    const pm_strength strengths[] = {PM_NEAT, PM_NEAT / 10};
    for (size_t i = 0; i < sizeof strengths / sizeof *strengths; i++) {
        const struct pm_line lines[] = {material(1, strengths[i]), material(2, PM_NEAT)};
        const struct pm_budget_item items[] = {{&lines[0], hair}, {&lines[1], 1000000000 - hair}};
        const struct pm_budget_terms terms = terms_of(10 * PM_GRAM);
        struct pm_budget_line said[2];
        struct pm_budget budget;
        pm_budget_read(&terms, items, 2, said, &budget);
        assert_int_equal(said[0].mass, budget.minimum);
        assert_true(said[0].small);
        assert_int_equal(said[0].dilute, 0);
    }
}

/* Of an accord nothing is known of, nothing is said. */
static void what_is_not_known_is_not_judged(void **state)
{
    (void)state;
    const struct pm_line lines[] = {
        {.id = 1, .kind = PM_LINE_ACCORD, .ref = 5, .strength = PM_NEAT}};
    const struct pm_budget_item items[] = {{&lines[0], PM_PART}};
    struct pm_budget_terms terms = terms_of(PM_GRAM);
    struct pm_budget_line said[1];
    struct pm_budget budget;
    pm_budget_read(&terms, items, 1, said, &budget);
    assert_int_equal(said[0].weights, 0);
    assert_false(said[0].small);
    assert_int_equal(budget.least, 0);
    terms.batch = 0;
    pm_budget_read(&terms, items, 1, said, &budget);
    assert_int_equal(said[0].mass, 0);
}

/* What no batch of the largest mass could make weighable has no least batch. */
static void beyond_all_batches(void **state)
{
    (void)state;
    const struct pm_line lines[] = {material(1, PM_NEAT), material(2, PM_NEAT)};
    const struct pm_budget_item items[] = {{&lines[0], 1000000 * PM_PART - 1}, {&lines[1], 1}};
    const struct pm_budget_terms terms = terms_of(PM_GRAM);
    struct pm_budget_line said[2];
    struct pm_budget budget;
    pm_budget_read(&terms, items, 2, said, &budget);
    assert_true(said[1].small);
    assert_int_equal(said[1].dilute, 0);
    assert_int_equal(budget.least, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(small_lines_and_the_least_batch),
        cmocka_unit_test(least_batch_is_least),
        cmocka_unit_test(shares_add_up),
        cmocka_unit_test(the_total_of_twelve),
        cmocka_unit_test(an_accord_is_weighed_by_its_materials),
        cmocka_unit_test(no_dilution_to_the_same),
        cmocka_unit_test(what_is_not_known_is_not_judged),
        cmocka_unit_test(beyond_all_batches),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
