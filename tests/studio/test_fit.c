/* SPDX-License-Identifier: MIT */
/*
 * The nearest formula within: the linear programs of random formulas have the optimum that GLPK
 * finds for them, and what is made of a solution keeps every limit exactly, its cores and what is
 * held.
 */
#include "src/studio/linear.h"
#include "tests/studio/hand.h"

#include "permille/base/mem.h"
#include "permille/studio/bottles.h"
#include "permille/studio/limits.h"

#include <glpk.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* ---- against GLPK ---- */

static bool glpk_optimum(const struct pm_program *program, double *cost)
{
    glp_prob *problem = glp_create_prob();
    glp_smcp options;
    int *places = calloc(program->columns + 1, sizeof *places);
    double *values = calloc(program->columns + 1, sizeof *values);
    glp_term_out(GLP_OFF);
    glp_set_obj_dir(problem, GLP_MIN);
    glp_add_cols(problem, (int)program->columns);
    glp_add_rows(problem, (int)program->rows);
    for (size_t i = 0; i < program->columns; i++) {
        double least = program->least[i], most = program->most[i];
        glp_set_obj_coef(problem, (int)i + 1, program->cost[i]);
        glp_set_col_bnds(problem, (int)i + 1,
                         isinf(most)     ? GLP_LO
                         : least == most ? GLP_FX
                                         : GLP_DB,
                         least, most);
    }
    for (size_t r = 0; r < program->rows; r++) {
        int count = 0;
        glp_set_row_bnds(problem, (int)r + 1, program->equal[r] ? GLP_FX : GLP_UP,
                         program->right[r], program->right[r]);
        for (size_t i = 0; i < program->columns; i++) {
            if (program->matrix[r * program->columns + i] == 0)
                continue;
            places[++count] = (int)i + 1;
            values[count] = program->matrix[r * program->columns + i];
        }
        glp_set_mat_row(problem, (int)r + 1, count, places, values);
    }
    glp_init_smcp(&options);
    options.presolve = GLP_ON;
    options.msg_lev = GLP_MSG_OFF;
    glp_simplex(problem, &options);
    bool optimal = glp_get_status(problem) == GLP_OPT;
    *cost = glp_get_obj_val(problem);
    glp_delete_prob(problem);
    free(places);
    free(values);
    return optimal;
}

static double random_of(uint64_t *seed, double most)
{
    return most * (double)(hand_random(seed) % 1000000) / 1000000;
}

static void compare(const struct pm_program *program, size_t *feasible_ones)
{
    struct pm_error err = {0};
    double ours = 0, theirs = 0;
    bool feasible = false;
    double *solution = calloc(program->columns, sizeof *solution);
    if (pm_linear_solve(NULL, program, solution, &ours, &feasible, &err) != PM_OK)
        fail_msg("%s", err.text);
    assert_int_equal(feasible, glpk_optimum(program, &theirs));
    if (feasible)
        assert_true(fabs(ours - theirs) <= 1e-6 * fmax(1, fabs(theirs)));
    *feasible_ones += feasible;
    free(solution);
}

static void random_programs_have_glpks_optimum(void **state)
{
    (void)state;
    uint64_t seed = 12;
    size_t feasible = 0, rounds = 60;
    for (size_t round = 0; round < rounds; round++) {
        size_t units = 2 + hand_random(&seed) % 60, bounds = 1 + hand_random(&seed) % 40;
        struct pm_unit *unit = calloc(units, sizeof *unit);
        struct pm_within_bound *bound = calloc(bounds, sizeof *bound);
        for (size_t i = 0; i < units; i++)
            unit[i] = (struct pm_unit){1e6 + random_of(&seed, 1e8), 1, INFINITY};
        for (size_t b = 0; b < bounds; b++) {
            double now = 0;
            bound[b].per_part = calloc(units, sizeof(double));
            bound[b].dosed = true;
            for (size_t i = 0; i < units; i++) {
                if (hand_random(&seed) % 4 == 0)
                    bound[b].per_part[i] = random_of(&seed, 1);
                now += bound[b].per_part[i] * unit[i].parts;
            }
            bound[b].rest = hand_random(&seed) % 5 == 0 ? random_of(&seed, now / 4) : 0;
            bound[b].most = now * (0.02 + random_of(&seed, 1.2)) + 1;
        }
        const struct pm_within within = {unit, units, bound, bounds};
        struct pm_program program;
        struct pm_error err;
        assert_int_equal(pm_within_nearest(&within, &program, &err), PM_OK);
        compare(&program, &feasible);
        pm_program_release(&program);
        size_t ignored = 0;
        assert_int_equal(pm_within_highest(&within, &program, &err), PM_OK);
        compare(&program, &ignored);
        pm_program_release(&program);
        for (size_t b = 0; b < bounds; b++)
            free(bound[b].per_part);
        free(bound);
        free(unit);
    }
    assert_true(feasible > rounds / 5 && feasible < rounds); /* both kinds were met */
}

/* ---- a formula ---- */

static struct pm_limits_fit fitted(struct hand *hand, int64_t formula, const char *dosage,
                                   const pm_parts *least)
{
    struct pm_fit_wish wish = {.least = least};
    struct pm_limits_fit fit;
    struct pm_sheet *sheet = hand_draft(hand, formula);
    hand_ok(hand, pm_limits_wish(hand->studio, formula, &wish.limits, &hand->err));
    hand_ok(hand,
            pm_limits_read_wish(hand->studio, dosage, NULL, NULL, NULL, &wish.limits, &hand->err));
    hand_ok(hand, pm_limits_fit(hand->studio, sheet, &wish, &fit, &hand->err));
    pm_sheet_free(sheet);
    return fit;
}

static bool binds(const struct pm_limits_fit *fit, const char *name)
{
    for (size_t i = 0; i < fit->binding.count; i++)
        if (strcmp(fit->binding.items[i], name) == 0)
            return true;
    return false;
}

static void take(struct hand *hand, struct pm_limits_fit *fit)
{
    struct pm_sheet *sheet;
    hand_ok(hand, pm_plan_commit(hand->studio, fit->plan, &sheet, &hand->err));
    hand_check(sheet);
    pm_sheet_free(sheet);
}

/* Citral 50 of 1000 at 15 %: 0.75 %; 0.60 % allows 40. What it leaves is shared by those that no
 * limit holds; the smallest sum is 20. */
static void one_limit(void **state)
{
    struct hand *hand = *state;
    int64_t formula = hand_formula(hand, "Fit", 1000);
    hand_add(hand, formula, "Citral", 50);
    hand_add(hand, formula, "Sea note", 350);
    hand_add(hand, formula, "Tar note", 600);
    struct pm_limits_fit fit = fitted(hand, formula, "15%", NULL);
    assert_true(fit.fits);
    assert_int_equal(fit.moved, parts_of(20));
    assert_int_equal(fit.items[0].parts, parts_of(40));
    assert_true(binds(&fit, "Citral"));
    /* The rest in proportion: equal relative changes. */
    assert_true(llabs(fit.items[1].parts - parts_of(350 + 10 * 350.0 / 950)) <= 10);
    take(hand, &fit);
    pm_limits_fit_release(&fit);
    assert_int_equal(hand_parts(hand, formula, "Citral"), parts_of(40));
    fit = fitted(hand, formula, "15%", NULL); /* it fits now */
    assert_true(fit.fits);
    assert_int_equal(fit.moved, 0);
    assert_null(fit.plan);
    pm_limits_fit_release(&fit);
    hand_undo(hand, formula);
    assert_int_equal(hand_parts(hand, formula, "Citral"), parts_of(50));
}

static void cores_and_held_lines_stay(void **state)
{
    struct hand *hand = *state;
    int64_t formula = hand_formula(hand, "Cores", 1000);
    hand_add(hand, formula, "Citral", 70);
    hand_add_at(hand, formula, "Sea note", 130, "30%", "Dipropylene glycol");
    hand_add_held(hand, formula, "Tar note", 300);
    hand_add(hand, formula, "Hay note", 500);
    struct pm_sheet *sheet = hand_draft(hand, formula);
    const int64_t lines[] = {sheet->trial.lines[0].id, sheet->trial.lines[1].id};
    const int64_t ratio[] = {7, 5};
    pm_sheet_free(sheet);
    const struct pm_gesture core = {
        .kind = PM_FORM_CORE, .lines = lines, .weights = ratio, .line_count = 2};
    hand_do(hand, formula, &core);
    struct pm_limits_fit fit = fitted(hand, formula, "20%", NULL);
    assert_true(fit.fits);
    assert_int_equal(fit.items[2].parts, parts_of(300));
    assert_true(fit.items[1].parts < fit.items[1].was); /* with what it is tied to */
    take(hand, &fit);
    pm_limits_fit_release(&fit);
}

static void what_stands_against_each_other_is_named(void **state)
{
    struct hand *hand = *state;
    int64_t formula = hand_formula(hand, "Against", 1000);
    hand_add_held(hand, formula, "Citral", 50);
    hand_add(hand, formula, "Tar note", 950);
    struct pm_limits_fit fit = fitted(hand, formula, "15%", NULL);
    assert_false(fit.fits);
    assert_null(fit.plan);
    assert_true(binds(&fit, "Citral"));
    assert_true(binds(&fit, "Citral, which is held"));
    assert_true(fit.highest <= 120000000 && fit.highest > 119990000);
    pm_limits_fit_release(&fit);
    /* A floor of the person's own holds as well. */
    formula = hand_formula(hand, "Floor", 1000);
    hand_add(hand, formula, "Citral", 50);
    hand_add(hand, formula, "Tar note", 950);
    const pm_parts least[] = {parts_of(45), -1};
    fit = fitted(hand, formula, "15%", least);
    assert_false(fit.fits);
    assert_true(fit.highest < 133400000 && fit.highest > 133300000);
    pm_limits_fit_release(&fit);
    fit = fitted(hand, formula, "13%", least);
    assert_true(fit.fits);
    pm_limits_fit_release(&fit);
}

static void a_prohibited_one_never_fits(void **state)
{
    struct hand *hand = *state;
    int64_t formula = hand_formula(hand, "Never", 1000);
    hand_add(hand, formula, "HICC", 1);
    hand_add(hand, formula, "Tar note", 999);
    struct pm_limits_fit fit = fitted(hand, formula, "1%", NULL);
    assert_false(fit.fits);
    assert_int_equal(fit.highest, 0);
    assert_true(binds(&fit, "HICC"));
    pm_limits_fit_release(&fit);
}

/* 40 g of tar note for a batch of 100 g: 400 of 1000 parts at most; the rest has to take 200. */
static void stock_is_a_bound(void **state)
{
    struct hand *hand = *state;
    int64_t bottle, formula = hand_formula(hand, "Stock", 1000);
    hand_add(hand, formula, "Citral", 20);
    hand_add(hand, formula, "Tar note", 600);
    hand_add(hand, formula, "Sea note", 380);
    const char *const form[PM_BOTTLE_ATTRIBUTES] = {[PM_BOTTLE_STRENGTH] = "neat"};
    static const char *const names[] = {"Citral", "Tar note", "Sea note"};
    static const pm_mass masses[] = {500 * PM_GRAM, 40 * PM_GRAM, 500 * PM_GRAM};
    for (size_t i = 0; i < 3; i++)
        hand_ok(hand, pm_bottle_add(hand->studio, hand_material(hand, names[i]), masses[i], form, 0,
                                    &bottle, &hand->err));
    struct pm_fit_wish wish = {.batch = 100 * PM_GRAM};
    struct pm_limits_fit fit;
    struct pm_sheet *sheet = hand_draft(hand, formula);
    hand_ok(hand, pm_limits_wish(hand->studio, formula, &wish.limits, &hand->err));
    hand_ok(hand, pm_limits_fit(hand->studio, sheet, &wish, &fit, &hand->err));
    assert_true(fit.fits);
    assert_true(binds(&fit, "the stock of Tar note"));
    assert_true(llabs(fit.items[1].parts - parts_of(400)) <= 10);
    assert_true(fit.items[0].parts <= parts_of(40)); /* citral's limit holds as well */
    pm_limits_fit_release(&fit);
    /* What is taken off one goes to others only as far as their bottles reach: 200 parts of the
     * tar, of which the sea takes 70. */
    hand_ok(hand, pm_bottle_count(hand->studio, bottle, 45 * PM_GRAM, NULL, 0, &hand->err));
    pm_sheet_free(sheet);
    formula = hand_formula(hand, "Tide", 1000);
    hand_add(hand, formula, "Tar note", 600);
    hand_add(hand, formula, "Sea note", 380);
    hand_add(hand, formula, "Moss note", 20);
    hand_ok(hand, pm_bottle_add(hand->studio, hand_material(hand, "Moss note"), 500 * PM_GRAM, form,
                                0, NULL, &hand->err));
    sheet = hand_draft(hand, formula);
    hand_ok(hand, pm_limits_fit(hand->studio, sheet, &wish, &fit, &hand->err));
    assert_true(fit.fits);
    assert_true(binds(&fit, "the stock of Sea note"));
    assert_true(llabs(fit.items[0].parts - parts_of(400)) <= 10);
    assert_true(llabs(fit.items[1].parts - parts_of(450)) <= 10);
    pm_limits_fit_release(&fit);
    const pm_parts most[] = {-1, parts_of(400), -1}; /* and no further than is said */
    wish.most = most;
    hand_ok(hand, pm_limits_fit(hand->studio, sheet, &wish, &fit, &hand->err));
    assert_true(fit.fits);
    assert_true(llabs(fit.items[0].parts - parts_of(400)) <= 10);
    assert_true(llabs(fit.items[1].parts - parts_of(400)) <= 10);
    assert_true(llabs(fit.items[2].parts - parts_of(200)) <= 20);
    pm_limits_fit_release(&fit);
    wish.most = NULL;
    wish.batch = 500 * PM_GRAM; /* beyond what all of it holds together */
    wish.limits.dosage = 10000000;
    const pm_parts least[] = {-1, parts_of(300), -1};
    wish.least = least;
    hand_ok(hand, pm_limits_fit(hand->studio, sheet, &wish, &fit, &hand->err));
    assert_false(fit.fits);
    pm_limits_fit_release(&fit);
    pm_sheet_free(sheet);
}

/* Random perfumes: whatever is proposed keeps every limit when it is judged as if it were typed. */
static void random_perfumes_fit_exactly(void **state)
{
    static const char *const names[] = {"Citral",      "Eugenol",  "Isoeugenol", "Coumarin",
                                        "Citronellol", "Geraniol", "Farnesol",   "Cinnamal",
                                        "Sea note",    "Tar note"};
    struct hand *hand = *state;
    uint64_t seed = 77;
    size_t moved = 0;
    for (int round = 0; round < 8; round++) {
        char name[32];
        snprintf(name, sizeof name, "Perfume %d", round);
        int64_t formula = hand_formula(hand, name, 1000);
        pm_parts left = parts_of(1000);
        for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
            pm_parts parts = 1 + (pm_parts)(hand_random(&seed) % 90000000);
            if (i == sizeof names / sizeof *names - 1)
                parts = left;
            left -= parts;
            hand_add(hand, formula, names[i], (double)parts / PM_PART);
        }
        struct pm_limits_fit fit = fitted(hand, formula, "18%", NULL);
        assert_true(fit.fits);
        moved += fit.moved > 0;
        if (fit.plan != NULL) {
            struct pm_limits limits;
            struct pm_limits_wish wish;
            hand_ok(hand, pm_limits_wish(hand->studio, 0, &wish, &hand->err));
            wish.dosage = 180000000;
            hand_ok(hand, pm_limits_of(hand->studio, pm_plan_sheet(fit.plan), &wish, &limits,
                                       &hand->err));
            assert_int_equal(limits.over, 0);
            assert_true(limits.highest >= 180000000);
            pm_limits_release(&limits);
        }
        pm_limits_fit_release(&fit);
    }
    assert_true(moved > 4);
}

#define HAND_TEST(test) cmocka_unit_test_setup_teardown(test, hand_setup, hand_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(random_programs_have_glpks_optimum),
        HAND_TEST(one_limit),
        HAND_TEST(cores_and_held_lines_stay),
        HAND_TEST(what_stands_against_each_other_is_named),
        HAND_TEST(a_prohibited_one_never_fits),
        HAND_TEST(stock_is_a_bound),
        HAND_TEST(random_perfumes_fit_exactly),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
