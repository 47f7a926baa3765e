/* SPDX-License-Identifier: MIT */
/*
 * Weighing: the minimum weight of USP <41>, worked examples of the GUM (JCGM 100:2008) and of QUAM
 * (EURACHEM/CITAC 2012) from tests/data/check-vectors.csv, and the choice of bottles against
 * looking at every choice there is.
 */
#include "permille/base/mem.h"
#include "permille/core/weighing.h"
#include "src/core/weigh_climb.h"
#include "vectors.h"

#include <gsl/gsl_rng.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void near(double got, double wanted, double relative, const char *id)
{
    if (!(fabs(got - wanted) <= relative * fabs(wanted)))
        fail_msg("%s: %.12g is not %.12g", id, got, wanted);
}

static pm_mass grams(double value)
{
    return (pm_mass)llround(value * 1e6);
}

static void minimum_weight(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    size_t met = 0;
    vectors_open(&vectors, "minimum_weight");
    while ((row = vectors_next(&vectors)) != NULL) {
        bool milligrams = strstr(row[INPUT], "s_mg=");
        double unit = milligrams ? 1e-3 : 1;
        struct pm_balance balance = {.readability = 1};
        double s = vector_number(row[INPUT], milligrams ? "s_mg" : "s_g") * unit;
        if (strstr(row[INPUT], "d_") != NULL)
            balance.readability =
                grams(vector_number(row[INPUT], milligrams ? "d_mg" : "d_g") * unit);
        balance.repeatability = grams(s);
        /* Balances finer than a microgram lie outside what is stored. */
        if (balance.readability < 1 || fabs((double)balance.repeatability / 1e6 - s) > 1e-12)
            continue;
        pm_strength limit = (pm_strength)llround(vector_number(row[INPUT], "limit_percent") * 1e7);
        assert_int_equal(pm_balance_minimum(&balance, limit),
                         grams(strtod(row[EXPECTED], NULL) * unit));
        met++;
    }
    assert_int_equal(met, 9);
    vectors_close(&vectors, 10);
}

/* Never below 820 times what the display resolves, at 0.10 %. */
static void minimum_weight_floor(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    vectors_open(&vectors, "minimum_weight_floor");
    while ((row = vectors_next(&vectors)) != NULL) {
        const struct pm_balance balance = {.readability = grams(vector_number(row[INPUT], "d_g"))};
        assert_int_equal(pm_balance_minimum(&balance, 1000000), grams(strtod(row[EXPECTED], NULL)));
    }
    vectors_close(&vectors, 6);
}

/* The minimum is within the tolerance, a microgram less is not; a person's own least counts. */
static void minimum_is_the_edge(void **state)
{
    (void)state;
    const struct pm_balance balance = {.readability = 10000, .repeatability = 7001};
    for (pm_strength tolerance = 1000000; tolerance < 100000000; tolerance += 1234567) {
        pm_mass least = pm_balance_minimum(&balance, tolerance);
        assert_true(pm_balance_error(&balance, least) <= (double)tolerance / 1e9 * (1 + 1e-12));
        assert_true(pm_balance_error(&balance, least - 1) > (double)tolerance / 1e9);
    }
    const struct pm_balance careful = {.readability = 1000, .least = 500000};
    assert_int_equal(pm_balance_minimum(&careful, 500000000), 500000);
}

static void display(void **state)
{
    (void)state;
    const struct pm_balance balance = {.readability = 10000};
    const pm_mass masses[] = {4999, 4999, 4999, 985003};
    pm_mass shown[4];
    assert_int_equal(pm_balance_reads(&balance, 14999), 10000);
    assert_int_equal(pm_balance_reads(&balance, 15000), 20000);
    assert_int_equal(pm_balance_reads(&balance, -15000), -20000);
    pm_balance_cumulative(&balance, masses, 4, shown);
    assert_int_equal(shown[0], 0);
    assert_int_equal(shown[1], 10000);
    assert_int_equal(shown[2], 10000);
    assert_int_equal(shown[3], 1000000);
}

/* ---- the uncertainty of a balance (GUM, QUAM) --------------------------------------------------
 */

/* The relative uncertainties of the factors "...;m=100.28(u=0.05);P=...". */
static size_t relative_parts(const char *input, double *out)
{
    size_t count = 0;
    for (const char *at = strchr(input, ';'); at != NULL; at = strchr(at + 1, ';')) {
        double value, u;
        if (sscanf(strchr(at, '='), "=%lf(u=%lf", &value, &u) == 2)
            out[count++] = u / value;
    }
    return count;
}

/* One reading is rounded to a step, a net weight is the difference of two: 0.41 steps is that,
 * rounded up. */
static void between(double rounded, double exact, const char *id)
{
    if (!(rounded >= exact && rounded < exact * 1.005))
        fail_msg("%s: %.12g is not just above %.12g", id, rounded, exact);
}

static void check_reading(char **row)
{
    const struct pm_balance balance = {.readability = grams(vector_number(row[INPUT], "d"))};
    const double u = strtod(row[EXPECTED], NULL) * 1e6;
    between(pm_balance_uncertainty(&balance), hypot(u, u), row[ID]);
}

static void check_difference(char **row)
{
    const struct pm_balance balance = {.readability = grams(vector_number(row[INPUT], "d"))};
    between(pm_balance_uncertainty(&balance), strtod(row[EXPECTED], NULL) * 1e6, row[ID]);
}

static void check_expanded(char **row)
{
    const struct pm_balance balance = {.readability = 1,
                                       .repeatability = grams(vector_number(row[INPUT], "u_c"))};
    assert_true(vector_number(row[INPUT], "k") == 2);
    near(pm_balance_error(&balance, grams(1000)) * 1000, strtod(row[EXPECTED], NULL), 1e-12,
         row[ID]);
}

/* QUAM A2: the parts that five relative uncertainties have; on one balance the masses that have
 * them are as their inverses. */
static void check_shares(char **row)
{
    static const char *const names[] = {"rep", "m", "P", "M", "V"};
    const struct pm_balance balance = {.readability = 1000000};
    char input[200];
    double parts[8], out[5];
    pm_mass masses[5];
    vectors_find("product_quotient_uncertainty", row[INPUT] + strlen("inputs of "), INPUT, input,
                 sizeof input);
    assert_int_equal(relative_parts(input, parts), 5);
    for (size_t i = 0; i < 5; i++)
        masses[i] = (pm_mass)llround(1e6 / parts[i]);
    pm_uncertainty_shares(&balance, masses, 5, out);
    for (size_t i = 0; i < 5; i++)
        if (!(fabs(out[i] * 100 - vector_number(row[EXPECTED], names[i])) < 0.05))
            fail_msg("%s: %s is %.3f %%", row[ID], names[i], out[i] * 100);
}

static void of_a_balance(void **state)
{
    (void)state;
    vectors_each("resolution_uncertainty", 1, check_reading);
    vectors_each("resolution_uncertainty_difference", 1, check_difference);
    vectors_each("expanded_uncertainty", 1, check_expanded);
    vectors_each("uncertainty_variance_share", 1, check_shares);
}

static void shares(void **state)
{
    (void)state;
    const struct pm_balance balance = {.readability = 10000};
    const pm_mass masses[] = {1000000, 2000000, 0};
    double out[3];
    pm_uncertainty_shares(&balance, masses, 3, out);
    near(out[0], 0.8, 1e-12, "small");
    near(out[1], 0.2, 1e-12, "large");
    assert_true(out[2] == 0);
}

/* ---- choosing -------------------------------------------------------------------------------- */

#define ITEMS   6
#define CHOICES 4

struct puzzle {
    struct pm_weigh_choice choices[ITEMS][CHOICES];
    struct pm_weigh_item items[ITEMS];
    size_t count, solvents;
    struct pm_weigh_budget budgets[PM_WEIGH_SOLVENTS];
};

static int below(gsl_rng *random, int end)
{
    return (int)gsl_rng_uniform_int(random, (unsigned long)end);
}

static void make_puzzle(gsl_rng *random, struct puzzle *puzzle)
{
    puzzle->count = (size_t)below(random, ITEMS + 1);
    puzzle->solvents = (size_t)below(random, 4);
    for (size_t x = 0; x < puzzle->solvents; x++) {
        struct pm_weigh_budget *budget = &puzzle->budgets[x];
        budget->most = below(random, 300);
        budget->amount = budget->most - (budget->most > 0 ? below(random, 20) % budget->most : 0);
        budget->whole = below(random, 3) > 0 && budget->amount > 0
                            ? budget->amount - below(random, 20) % budget->amount
                            : 0;
        budget->minimum = below(random, 60);
    }
    for (size_t i = 0; i < puzzle->count; i++) {
        puzzle->items[i] = (struct pm_weigh_item){.choices = puzzle->choices[i],
                                                  .count = 1 + (size_t)below(random, CHOICES)};
        for (size_t k = 0; k < puzzle->items[i].count; k++) {
            struct pm_weigh_choice *choice = &puzzle->choices[i][k];
            *choice =
                (struct pm_weigh_choice){.solvent = below(random, (int)puzzle->solvents + 1) - 1,
                                         .mass = 1 + below(random, 40),
                                         .made = below(random, 3) == 0,
                                         .age = (int)((k * 3 + i) % CHOICES)};
            choice->carried = choice->solvent < 0 ? 0 : below(random, 150);
            choice->unweighable = choice->mass < 15 ? 1 + below(random, 2) : 0;
        }
    }
}

/* Better before worse, in the order that the header fixes; ages item by item. */
static bool better(const struct puzzle *puzzle, const size_t *one, const struct pm_weigh_outcome *a,
                   const size_t *other, const struct pm_weigh_outcome *b)
{
    if (a->unweighable != b->unweighable)
        return a->unweighable < b->unweighable;
    if (a->made != b->made)
        return a->made < b->made;
    if (a->smallest != b->smallest)
        return a->smallest > b->smallest;
    for (size_t i = 0; i < puzzle->count; i++) {
        int mine = puzzle->choices[i][one[i]].age, its = puzzle->choices[i][other[i]].age;
        if (mine != its)
            return mine < its;
    }
    return false;
}

static bool weigh_up(const struct puzzle *puzzle, const size_t *chosen,
                     struct pm_weigh_outcome *out, pm_mass *least)
{
    pm_mass carried[PM_WEIGH_SOLVENTS] = {0};
    *out = (struct pm_weigh_outcome){.smallest = puzzle->count > 0 ? PM_MASS_MAX : 0};
    *least = PM_MASS_MAX;
    for (size_t i = 0; i < puzzle->count; i++) {
        const struct pm_weigh_choice *choice = &puzzle->choices[i][chosen[i]];
        out->unweighable += choice->unweighable;
        out->made += choice->made;
        out->smallest = choice->mass < out->smallest ? choice->mass : out->smallest;
        *least = out->smallest;
        if (choice->solvent >= 0 &&
            (carried[choice->solvent] += choice->carried) > puzzle->budgets[choice->solvent].most)
            return false;
    }
    for (size_t x = 0; x < puzzle->solvents; x++) {
        const struct pm_weigh_budget *budget = &puzzle->budgets[x];
        const pm_mass rest = budget->amount - carried[x];
        if (carried[x] >= budget->whole)
            continue;
        out->unweighable += rest < budget->minimum;
        *least = rest < *least ? rest : *least;
    }
    return true;
}

/* Every choice there is. */
static bool exhaustive(const struct puzzle *puzzle, size_t *best, struct pm_weigh_outcome *out,
                       pm_mass *smallest)
{
    size_t chosen[ITEMS] = {0};
    bool found = false;
    *smallest = 0;
    for (;;) {
        struct pm_weigh_outcome outcome;
        pm_mass least;
        if (weigh_up(puzzle, chosen, &outcome, &least)) {
            if (!found || better(puzzle, chosen, &outcome, best, out)) {
                memcpy(best, chosen, sizeof chosen);
                *out = outcome;
            }
            if (least > *smallest)
                *smallest = least;
            found = true;
        }
        size_t i = 0;
        while (i < puzzle->count && ++chosen[i] == puzzle->items[i].count)
            chosen[i++] = 0;
        if (i == puzzle->count)
            return found;
    }
}

static void against_every_choice(void **state)
{
    (void)state;
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    int feasible = 0;
    for (int run = 0; run < 20000; run++) {
        struct puzzle puzzle;
        struct pm_weigh_outcome wanted, got;
        size_t best[ITEMS], mine[ITEMS];
        pm_mass smallest, least = -1;
        make_puzzle(random, &puzzle);
        bool found = exhaustive(&puzzle, best, &wanted, &smallest);
        enum pm_status status = pm_weigh_choose(puzzle.items, puzzle.count, puzzle.budgets,
                                                puzzle.solvents, &got, NULL);
        assert_int_equal(status, found ? PM_OK : PM_REFUSED);
        status = pm_weigh_smallest(puzzle.items, puzzle.count, puzzle.budgets, puzzle.solvents,
                                   true, &least, NULL);
        assert_int_equal(status, found ? PM_OK : PM_REFUSED);
        if (!found)
            continue;
        feasible++;
        assert_int_equal(least, smallest);
        assert_true(got.proven);
        assert_int_equal(got.unweighable, wanted.unweighable);
        assert_int_equal(got.made, wanted.made);
        assert_int_equal(got.smallest, wanted.smallest);
        for (size_t i = 0; i < puzzle.count; i++)
            mine[i] = puzzle.items[i].chosen;
        assert_true(weigh_up(&puzzle, mine, &got, &least));
        assert_false(better(&puzzle, best, &wanted, mine, &got));
        /* What long formulas fall back on keeps the budgets too and never claims more. */
        if (!pm_weigh_climb(puzzle.items, puzzle.count, puzzle.budgets, puzzle.solvents, &got))
            continue;
        for (size_t i = 0; i < puzzle.count; i++)
            mine[i] = puzzle.items[i].chosen;
        struct pm_weigh_outcome counted;
        assert_true(weigh_up(&puzzle, mine, &counted, &least));
        assert_int_equal(counted.unweighable, got.unweighable);
        assert_int_equal(counted.smallest, got.smallest);
        assert_false(got.proven || better(&puzzle, mine, &counted, best, &wanted));
    }
    assert_true(feasible > 5000);
    gsl_rng_free(random);
}

/* 300 lines of 20 strengths each in two solvents are chosen, and the budgets kept. */
static void large(void **state)
{
    (void)state;
    enum { LINES = 300, STRENGTHS = 20 };
    static struct pm_weigh_choice choices[LINES][STRENGTHS];
    struct pm_weigh_item items[LINES];
    struct pm_weigh_outcome outcome;
    pm_mass carried[2] = {0};
    const struct pm_weigh_budget budgets[2] = {
        {.most = 40000000, .amount = 40000000, .whole = 39200000, .minimum = 410000},
        {.most = 20000000, .amount = 20000000, .whole = 19600000, .minimum = 410000}};
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    for (size_t i = 0; i < LINES; i++) {
        pm_mass neat = 100 + below(random, 40000);
        items[i] = (struct pm_weigh_item){.choices = choices[i], .count = STRENGTHS};
        for (int k = 0; k < STRENGTHS; k++) {
            pm_mass mass = neat * (k + 1) * (k + 1) / 2;
            choices[i][k] = (struct pm_weigh_choice){.solvent = k == 0 ? -1 : k % 2,
                                                     .carried = mass > neat ? mass - neat : 0,
                                                     .mass = mass,
                                                     .made = k % 3 == 0 && k > 0,
                                                     .unweighable = mass < 200000,
                                                     .age = (k * 7 + (int)i) % STRENGTHS};
            if (k == 0)
                choices[i][k].carried = 0;
        }
    }
    assert_int_equal(pm_weigh_choose(items, LINES, budgets, 2, &outcome, NULL), PM_OK);
    for (size_t i = 0; i < LINES; i++) {
        const struct pm_weigh_choice *choice = &choices[i][items[i].chosen];
        if (choice->solvent >= 0)
            carried[choice->solvent] += choice->carried;
    }
    assert_true(carried[0] <= budgets[0].most && carried[1] <= budgets[1].most);
    gsl_rng_free(random);
}

/* Uphill the order of best is the same: of two that ask for nothing more the older, but not where
 * the smallest weight would shrink, nor where a dilution had to be made. */
static void uphill_to_the_oldest(void **state)
{
    (void)state;
    static const struct {
        struct pm_weigh_choice newer, older;
        size_t chosen;
    } cases[] = {
        {{.solvent = -1, .mass = 500000, .age = 1}, {.solvent = -1, .mass = 500000}, 1},
        {{.solvent = -1, .mass = 500000, .age = 1}, {.solvent = -1, .mass = 499999}, 0},
        {{.solvent = -1, .mass = 500000, .age = 1}, {.solvent = -1, .mass = 500000, .made = 1}, 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const struct pm_weigh_choice choices[] = {cases[i].newer, cases[i].older};
        struct pm_weigh_item item = {.choices = choices, .count = 2};
        struct pm_weigh_outcome outcome;
        assert_true(pm_weigh_climb(&item, 1, NULL, 0, &outcome));
        assert_int_equal(item.chosen, cases[i].chosen);
        assert_int_equal(outcome.smallest, 500000);
        assert_int_equal(outcome.made, 0);
    }
}

static void without_memory(void **state)
{
    (void)state;
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    struct puzzle puzzle;
    struct pm_weigh_outcome out;
    enum pm_status status = PM_NOMEM;
    do
        make_puzzle(random, &puzzle);
    while (puzzle.count < 4);
    for (long at = 1; status == PM_NOMEM; at++) {
        pm_mem_fail_at(at, false);
        status = pm_weigh_choose(puzzle.items, puzzle.count, puzzle.budgets, puzzle.solvents, &out,
                                 NULL);
        assert_true(at < 1000);
    }
    pm_mem_fail_at(0, false);
    gsl_rng_free(random);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(minimum_weight),       cmocka_unit_test(minimum_weight_floor),
        cmocka_unit_test(minimum_is_the_edge),  cmocka_unit_test(display),
        cmocka_unit_test(of_a_balance),         cmocka_unit_test(shares),
        cmocka_unit_test(against_every_choice), cmocka_unit_test(large),
        cmocka_unit_test(uphill_to_the_oldest), cmocka_unit_test(without_memory),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
