/* SPDX-License-Identifier: MIT */
/* Weigh-out plans against looking at every choice there is and against exact sums (GMP). */
#include "permille/base/mem.h"
#include "permille/core/weigh_plan.h"

#include <gmp.h>
#include <gsl/gsl_rng.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define ALCOHOL 90
#define GLYCOL  91

static const struct pm_balance centigram = {.readability = 10000};

/* ---- plans ---- */

static struct pm_weigh_need need_of(int64_t material, pm_fine neat)
{
    return (struct pm_weigh_need){.line = material,
                                  .material = material,
                                  .neat = neat,
                                  .written = PM_NEAT,
                                  .volatility = NAN};
}

static struct pm_weigh_bottle bottle_of(int64_t id, int64_t material, pm_strength strength,
                                        int64_t solvent, pm_mass left)
{
    return (struct pm_weigh_bottle){.stock = {.id = id,
                                              .left = left,
                                              .opened = PM_NO_DAY,
                                              .since = id,
                                              .best_before = PM_NO_DAY},
                                    .material = material,
                                    .strength = strength,
                                    .solvent = solvent};
}

static struct pm_weigh_wish wish_of(pm_mass mass, bool dilute)
{
    return (struct pm_weigh_wish){.mass = mass,
                                  .balance = centigram,
                                  .tolerance = PM_WEIGH_TOLERANCE,
                                  .order = PM_WEIGH_TRACES,
                                  .dilute = dilute,
                                  .today = 20000};
}

static void assert_adds_up(const struct pm_weigh_plan *plan, pm_mass mass)
{
    mpz_t sum;
    mpz_init(sum);
    for (size_t i = 0; i < plan->count; i++)
        mpz_add_ui(sum, sum, (unsigned long)plan->pours[i].target);
    assert_int_equal(mpz_cmp_ui(sum, (unsigned long)mass), 0);
    mpz_clear(sum);
}

/* 400 parts, 0.2 parts and the rest solvent, 10 g on a balance of 0.01 g: 2 mg cannot be weighed.
 */
static void plans_dilutions_for_traces(void **state)
{
    (void)state;
    struct pm_error err = {0};
    struct pm_weigh_plan plan;
    struct pm_weigh_need needs[] = {need_of(1, 400 * INT64_C(1000000000000)),
                                    need_of(2, INT64_C(200000000000)),
                                    need_of(GLYCOL, INT64_C(599800000000000))};
    needs[2].is_solvent = true;
    struct pm_weigh_bottle bottles[4] = {bottle_of(1, 1, PM_NEAT, 0, 50 * PM_GRAM),
                                         bottle_of(2, 2, PM_NEAT, 0, 5 * PM_GRAM),
                                         bottle_of(3, GLYCOL, PM_NEAT, 0, 500 * PM_GRAM)};
    struct pm_weigh_wish wish = wish_of(10 * PM_GRAM, true);
    assert_int_equal(pm_weigh_plan(needs, 3, bottles, 3, &wish, &plan, &err), PM_OK);
    assert_adds_up(&plan, wish.mass);
    /* 2 x 0.41 x 0.01 g / 2 % = 0.41 g */
    assert_int_equal(plan.minimum, 410000);
    assert_int_equal(plan.unweighable, 0);
    assert_int_equal(plan.making_count, 3);
    assert_int_equal(plan.makings[0].strength, PM_NEAT / 10);
    assert_int_equal(plan.makings[0].from, 2);
    assert_int_equal(plan.makings[2].strength, PM_NEAT / 1000);
    for (size_t i = 0; i < 3; i++) {
        assert_true(plan.makings[i].of_stock >= plan.minimum);
        if (i > 0)
            assert_true(plan.makings[i - 1].target >= plan.makings[i].of_stock);
    }
    /* 2 mg at 0.1 % are 2 g; 1.998 g of them are solvent. */
    assert_int_equal(plan.pours[0].target, 2 * PM_GRAM);
    assert_int_equal(plan.pours[0].strength, PM_NEAT / 1000);
    assert_int_equal(plan.pours[1].target, 4 * PM_GRAM);
    assert_int_equal(plan.pours[2].target, 4 * PM_GRAM);
    /* As the shelf is, 2 mg are to be 0.41 g: 205 times the batch. */
    assert_int_equal(plan.least, 2050 * PM_GRAM);
    pm_weigh_plan_release(&plan);

    wish.dilute = false;
    assert_int_equal(pm_weigh_plan(needs, 3, bottles, 3, &wish, &plan, &err), PM_OK);
    assert_adds_up(&plan, wish.mass);
    assert_int_equal(plan.unweighable, 1);
    assert_int_equal(plan.pours[0].target, 2000);
    assert_false(plan.pours[0].weighable);
    pm_weigh_plan_release(&plan);

    /* Made: a bottle of 0.0997 %, then nothing is to be made any more. Its solvent fits. */
    bottles[3] = bottle_of(4, 2, 997000, GLYCOL, 4 * PM_GRAM);
    wish.dilute = true;
    assert_int_equal(pm_weigh_plan(needs, 3, bottles, 4, &wish, &plan, &err), PM_OK);
    assert_adds_up(&plan, wish.mass);
    assert_int_equal(plan.making_count, 0);
    assert_int_equal(plan.pours[0].bottle, 4);
    assert_int_equal(plan.pours[0].target, 2006018); /* 2 mg / 0.000997, half up */
    pm_weigh_plan_release(&plan);
}

/* A line written at 10 % with no other solvent: a bottle of 9.97 % brings a little too much of it,
 * which comes off everything; one of 9 % brings more than the tolerance. */
static void slack_of_the_tolerance(void **state)
{
    (void)state;
    struct pm_error err = {0};
    struct pm_weigh_plan plan;
    struct pm_weigh_need needs[] = {need_of(1, 900000000), need_of(2, 10000000),
                                    need_of(GLYCOL, 0)};
    needs[1].written = PM_NEAT / 10;
    needs[1].written_in = GLYCOL;
    needs[2].as_solvent = 90000000;
    struct pm_weigh_bottle bottles[] = {bottle_of(1, 1, PM_NEAT, 0, 50 * PM_GRAM),
                                        bottle_of(2, 2, 99700000, GLYCOL, 5 * PM_GRAM)};
    struct pm_weigh_wish wish = wish_of(10 * PM_GRAM, false);
    assert_int_equal(pm_weigh_plan(needs, 3, bottles, 2, &wish, &plan, &err), PM_OK);
    assert_adds_up(&plan, wish.mass);
    assert_int_equal(plan.count, 2);
    assert_int_equal(plan.missing, 0);
    pm_weigh_plan_release(&plan);
    bottles[1].strength = 90000000;
    assert_int_equal(pm_weigh_plan(needs, 3, bottles, 2, &wish, &plan, &err), PM_OK);
    assert_adds_up(&plan, wish.mass);
    assert_int_equal(plan.missing, 1);
    pm_weigh_plan_release(&plan);
}

/* How many of the pours are of a need, and what they weigh. */
static size_t pours_of(const struct pm_weigh_plan *plan, size_t need, pm_mass *sum)
{
    size_t count = 0;
    *sum = 0;
    for (size_t i = 0; i < plan->count; i++)
        if (plan->pours[i].need == need) {
            *sum += plan->pours[i].target;
            count++;
        }
    return count;
}

/* 10 g of one material at 10 % in its solvent, and 50 mg of the solvent: 0.5 % of it. The bottle of
 * 10 % brings all but a speck that this balance cannot weigh (0.41 g on), and which the tolerance
 * of 2 % leaves out: 10 g of the bottle, 1.005 g of the material in place of 1 g. */
static void a_speck_of_solvent(void **state)
{
    (void)state;
    struct pm_error err = {0};
    struct pm_weigh_plan plan;
    pm_mass sum;
    struct pm_weigh_need needs[] = {need_of(1, 995000), need_of(GLYCOL, 8955000 + 50000)};
    needs[1].is_solvent = true;
    struct pm_weigh_bottle bottles[] = {bottle_of(1, 1, PM_NEAT / 10, GLYCOL, 50 * PM_GRAM),
                                        bottle_of(2, GLYCOL, PM_NEAT, 0, 500 * PM_GRAM),
                                        bottle_of(3, 1, PM_NEAT, 0, 50 * PM_GRAM)};
    struct pm_weigh_wish wish = wish_of(10 * PM_GRAM, false);
    assert_int_equal(pm_weigh_plan(needs, 2, bottles, 2, &wish, &plan, &err), PM_OK);
    assert_int_equal(plan.count, 1);
    assert_int_equal(plan.pours[0].target, 10 * PM_GRAM);
    assert_int_equal(plan.unweighable, 0);
    pm_weigh_plan_release(&plan);

    /* The bottle ends before what is added: then it is emptied, and nothing else is to be had. */
    bottles[0].stock.left = 9960000;
    assert_int_equal(pm_weigh_plan(needs, 2, bottles, 2, &wish, &plan, &err), PM_OK);
    assert_adds_up(&plan, wish.mass);
    pm_weigh_plan_release(&plan);
    bottles[0].stock.left = 50 * PM_GRAM;

    /* 0.3 g of 9.03 g are no speck of the tolerance: neat the material can be weighed and so can
     * the solvent. */
    needs[0] = need_of(1, 970000);
    needs[1].neat = 8730000 + 300000;
    assert_int_equal(pm_weigh_plan(needs, 2, bottles, 3, &wish, &plan, &err), PM_OK);
    assert_int_equal(plan.unweighable, 0);
    assert_int_equal(pours_of(&plan, 0, &sum), 1);
    assert_int_equal(sum, 970000);
    pm_weigh_plan_release(&plan);

    /* Without the neat bottle it is counted as what it is: one that cannot be weighed. */
    assert_int_equal(pm_weigh_plan(needs, 2, bottles, 2, &wish, &plan, &err), PM_OK);
    assert_int_equal(plan.unweighable, 1);
    assert_int_equal(pours_of(&plan, 1, &sum), 1);
    assert_int_equal(sum, 300000);
    /* 0.3 g are to become 0.41 g: 13.666667 g */
    assert_int_equal(plan.least, 13666667);
    pm_weigh_plan_release(&plan);
}

/* What weighs the least that may be weighed can be weighed; a microgram less cannot. The rest of a
 * mass that its older bottle nearly holds is never less. */
static void the_least_weight_is_weighable(void **state)
{
    (void)state;
    struct pm_error err = {0};
    struct pm_weigh_plan plan;
    const pm_mass least = pm_balance_minimum(&centigram, PM_WEIGH_TOLERANCE);
    for (pm_mass less = 0; less <= 1; less++) {
        const struct pm_weigh_need needs[] = {need_of(1, least - less), need_of(2, 5 * PM_GRAM)};
        const struct pm_weigh_bottle bottles[] = {
            bottle_of(1, 1, PM_NEAT, 0, 50 * PM_GRAM),
            bottle_of(2, 2, PM_NEAT, 0, 5 * PM_GRAM - (least - less)),
            bottle_of(3, 2, PM_NEAT, 0, 50 * PM_GRAM)};
        const struct pm_weigh_wish wish = wish_of(5 * PM_GRAM + least - less, false);
        assert_int_equal(pm_weigh_plan(needs, 2, bottles, 3, &wish, &plan, &err), PM_OK);
        assert_int_equal(plan.count, 3);
        assert_int_equal(plan.unweighable, less == 0 ? 0 : 1);
        for (size_t i = 0; i < plan.count; i++)
            assert_int_equal(plan.pours[i].weighable, plan.pours[i].target >= least);
        pm_weigh_plan_release(&plan);
    }
}

/* Nor is anything made for it first. */
static void nothing_is_made_for_the_least_weight(void **state)
{
    (void)state;
    struct pm_error err = {0};
    struct pm_weigh_plan plan;
    const pm_mass least = pm_balance_minimum(&centigram, PM_WEIGH_TOLERANCE), whole = 20 * PM_GRAM;
    for (pm_mass less = 0; less <= 1; less++) {
        struct pm_weigh_need needs[] = {need_of(1, least - less),
                                        need_of(GLYCOL, whole - least + less)};
        needs[1].is_solvent = true;
        const struct pm_weigh_bottle bottles[] = {bottle_of(1, 1, PM_NEAT, 0, 50 * PM_GRAM),
                                                  bottle_of(2, GLYCOL, PM_NEAT, 0, 500 * PM_GRAM)};
        const struct pm_weigh_wish wish = wish_of(whole, true);
        assert_int_equal(pm_weigh_plan(needs, 2, bottles, 2, &wish, &plan, &err), PM_OK);
        assert_int_equal(plan.making_count, less == 0 ? 0 : 1);
        assert_int_equal(plan.unweighable, 0);
        pm_weigh_plan_release(&plan);
    }
}

/* A tenth of the least weight is the least weight at 10 %; a microgram less goes to 1 %. */
static void a_dilution_may_weigh_the_least(void **state)
{
    (void)state;
    struct pm_error err = {0};
    struct pm_weigh_plan plan;
    const pm_mass least = pm_balance_minimum(&centigram, PM_WEIGH_TOLERANCE), whole = 20 * PM_GRAM;
    for (pm_mass less = 0; less <= 1; less++) {
        struct pm_weigh_need needs[] = {need_of(1, least / 10 - less),
                                        need_of(GLYCOL, whole - least / 10 + less)};
        needs[1].is_solvent = true;
        const struct pm_weigh_bottle bottles[] = {
            bottle_of(1, 1, PM_NEAT / 10, GLYCOL, 400000), /* not enough, but to make more of */
            bottle_of(2, 1, PM_NEAT, 0, 50 * PM_GRAM),
            bottle_of(3, GLYCOL, PM_NEAT, 0, 500 * PM_GRAM)};
        const struct pm_weigh_wish wish = wish_of(whole, true);
        assert_int_equal(pm_weigh_plan(needs, 2, bottles, 3, &wish, &plan, &err), PM_OK);
        assert_true(plan.making_count > 0);
        assert_int_equal(plan.makings[plan.making_count - 1].strength,
                         less == 0 ? PM_NEAT / 10 : PM_NEAT / 100);
        pm_weigh_plan_release(&plan);
    }
}

/* Whoever takes any weight is planned for. */
static void any_tolerance(void **state)
{
    (void)state;
    struct pm_error err = {0};
    struct pm_weigh_plan plan;
    struct pm_weigh_need needs[] = {need_of(1, 9000), need_of(GLYCOL, 1000)};
    needs[1].is_solvent = true;
    const struct pm_weigh_bottle bottles[] = {bottle_of(1, 1, PM_NEAT, 0, 50 * PM_GRAM),
                                              bottle_of(2, GLYCOL, PM_NEAT, 0, 50 * PM_GRAM)};
    struct pm_weigh_wish wish = wish_of(10 * PM_GRAM, false);
    wish.tolerance = 2 * PM_NEAT;
    assert_int_equal(pm_weigh_plan(needs, 2, bottles, 2, &wish, &plan, &err), PM_OK);
    assert_int_equal(plan.count, 2);
    assert_adds_up(&plan, wish.mass);
    pm_weigh_plan_release(&plan);
}

/* A bottle of 10.03 % is one of 10 %: from it 1 % is one dilution, not one to 10 % before. */
static void no_dilution_to_what_is_there(void **state)
{
    (void)state;
    struct pm_error err = {0};
    struct pm_weigh_plan plan;
    const pm_fine whole = 10 * PM_GRAM, trace = 5000;
    struct pm_weigh_need needs[] = {need_of(2, trace), need_of(GLYCOL, whole - trace)};
    needs[1].is_solvent = true;
    const struct pm_weigh_bottle bottles[] = {bottle_of(1, 2, 100300000, GLYCOL, 50 * PM_GRAM),
                                              bottle_of(2, GLYCOL, PM_NEAT, 0, 500 * PM_GRAM)};
    const struct pm_weigh_wish wish = wish_of(whole, true);
    assert_int_equal(pm_weigh_plan(needs, 2, bottles, 2, &wish, &plan, &err), PM_OK);
    assert_int_equal(plan.making_count, 1);
    assert_int_equal(plan.makings[0].strength, PM_NEAT / 100);
    assert_int_equal(plan.makings[0].from, 1);
    assert_int_equal(plan.unweighable, 0);
    pm_weigh_plan_release(&plan);
}

/* Of two bottles that a dilution can be made from as well, the one that is poured first. */
static void a_dilution_is_made_from_the_oldest(void **state)
{
    (void)state;
    struct pm_error err = {0};
    struct pm_weigh_plan plan;
    const pm_fine whole = 20 * PM_GRAM, trace = 200000;
    struct pm_weigh_need needs[] = {need_of(1, trace), need_of(GLYCOL, whole - trace)};
    needs[1].is_solvent = true;
    const struct pm_weigh_wish wish = wish_of(whole, true);
    for (int64_t oldest = 1; oldest <= 2; oldest++) {
        struct pm_weigh_bottle bottles[] = {bottle_of(1, 1, PM_NEAT, 0, 50 * PM_GRAM),
                                            bottle_of(2, 1, PM_NEAT, 0, 50 * PM_GRAM),
                                            bottle_of(3, GLYCOL, PM_NEAT, 0, 500 * PM_GRAM)};
        bottles[oldest - 1].stock.since = 0;
        assert_int_equal(pm_weigh_plan(needs, 2, bottles, 3, &wish, &plan, &err), PM_OK);
        assert_int_equal(plan.making_count, 1);
        assert_int_equal(plan.makings[0].from, oldest);
        pm_weigh_plan_release(&plan);
    }
}

/* 10 % and 10.03 % go together only where neither holds enough, be the lesser one the older; the
 * trace beside them bounds the smallest weight. */
static void one_kind_of_bottle_before_two(void **state)
{
    (void)state;
    struct pm_error err = {0};
    struct pm_weigh_plan plan;
    pm_mass sum;
    struct pm_weigh_need needs[] = {need_of(1, 500000), need_of(2, 500000),
                                    need_of(GLYCOL, 9 * PM_GRAM)};
    needs[2].is_solvent = true;
    struct pm_weigh_bottle bottles[] = {bottle_of(1, 1, 100300000, GLYCOL, PM_GRAM),
                                        bottle_of(2, 1, PM_NEAT / 10, GLYCOL, 50 * PM_GRAM),
                                        bottle_of(3, 2, PM_NEAT, 0, 50 * PM_GRAM),
                                        bottle_of(4, GLYCOL, PM_NEAT, 0, 500 * PM_GRAM)};
    const struct pm_weigh_wish wish = wish_of(10 * PM_GRAM, false);
    assert_int_equal(pm_weigh_plan(needs, 3, bottles, 4, &wish, &plan, &err), PM_OK);
    assert_int_equal(pours_of(&plan, 0, &sum), 1);
    assert_int_equal(sum, 5 * PM_GRAM);
    pm_weigh_plan_release(&plan);
    bottles[1].stock.left = 4500000;
    assert_int_equal(pm_weigh_plan(needs, 3, bottles, 4, &wish, &plan, &err), PM_OK);
    assert_int_equal(pours_of(&plan, 0, &sum), 2);
    pm_weigh_plan_release(&plan);
}

/* Bottles that end: the rest comes from the next one, and what none holds is told. */
static void bottles_end(void **state)
{
    (void)state;
    struct pm_error err = {0};
    struct pm_weigh_plan plan;
    const struct pm_weigh_need needs[] = {need_of(1, 1000)};
    struct pm_weigh_bottle bottles[] = {bottle_of(5, 1, PM_NEAT, 0, 3 * PM_GRAM),
                                        bottle_of(6, 1, PM_NEAT, 0, 9 * PM_GRAM)};
    struct pm_weigh_wish wish = wish_of(10 * PM_GRAM, true);
    wish.order = PM_WEIGH_WRITTEN;
    assert_int_equal(pm_weigh_plan(needs, 1, bottles, 2, &wish, &plan, &err), PM_OK);
    assert_int_equal(plan.count, 2);
    assert_int_equal(plan.pours[0].bottle, 5);
    assert_int_equal(plan.pours[0].target, 3 * PM_GRAM);
    assert_int_equal(plan.pours[1].bottle, 6);
    pm_weigh_plan_release(&plan);
    bottles[1].stock.left = PM_GRAM;
    assert_int_equal(pm_weigh_plan(needs, 1, bottles, 2, &wish, &plan, &err), PM_OK);
    assert_int_equal(plan.missing, 1);
    assert_adds_up(&plan, wish.mass);
    pm_weigh_plan_release(&plan);
    wish.mass = 0;
    assert_int_equal(pm_weigh_plan(needs, 1, bottles, 2, &wish, &plan, &err), PM_REFUSED);
}

/* ---- against looking at everything ---- */

#define NEEDS 5

/* Five materials, each neat and in some strengths in one of two solvents. */
struct shelf {
    struct pm_weigh_need needs[NEEDS + 2]; /* then the solvents */
    struct pm_weigh_bottle bottles[32];
    size_t bottle_count;
    pm_fine whole;
    pm_mass mass, minimum, amount[2], slack[2]; /* of the solvents */
};

static int solvent_at(const struct pm_weigh_bottle *bottle)
{
    return bottle->solvent == ALCOHOL ? 1 : 0;
}

static pm_mass exactly(const struct shelf *shelf, size_t need)
{
    return (pm_mass)((pm_int128)shelf->needs[need].neat * shelf->mass / shelf->whole);
}

/* How many weights are too small in the best of all choices, what is left of the solvents among
 * them. */
static size_t every_choice(const struct shelf *shelf, size_t at, const pm_mass carried[2])
{
    size_t best = SIZE_MAX;
    if (at == NEEDS) {
        best = 0;
        for (size_t x = 0; x < 2; x++) {
            const pm_mass rest = shelf->amount[x] - carried[x];
            best += rest > shelf->slack[x] && rest < shelf->minimum;
        }
        return best;
    }
    for (size_t i = 0; i < shelf->bottle_count; i++) {
        const struct pm_weigh_bottle *bottle = &shelf->bottles[i];
        if (bottle->material != shelf->needs[at].material)
            continue;
        const pm_mass neat = exactly(shelf, at);
        const pm_mass poured = (pm_mass)((pm_int128)neat * PM_NEAT / bottle->strength);
        pm_mass then[2] = {carried[0], carried[1]};
        const int x = solvent_at(bottle);
        then[x] += poured - neat;
        if (then[x] > shelf->amount[x] + shelf->slack[x] || poured > bottle->stock.left)
            continue;
        const size_t rest = every_choice(shelf, at + 1, then);
        if (rest != SIZE_MAX && rest + (poured < shelf->minimum) < best)
            best = rest + (poured < shelf->minimum);
    }
    return best;
}

static void make_shelf(gsl_rng *rng, struct shelf *shelf)
{
    shelf->bottle_count = 0;
    shelf->whole = 0;
    for (size_t i = 0; i < NEEDS; i++) {
        shelf->needs[i] =
            need_of((int64_t)i + 1, 1000 * (1 + (int64_t)gsl_rng_uniform_int(rng, 900)));
        for (pm_strength s = PM_NEAT; s >= PM_NEAT / 1000; s /= 10) {
            const int64_t solvent = gsl_rng_uniform_int(rng, 2) != 0 ? ALCOHOL : GLYCOL;
            if (s != PM_NEAT && gsl_rng_uniform_int(rng, 2) == 0)
                continue;
            shelf->bottles[shelf->bottle_count] =
                bottle_of((int64_t)shelf->bottle_count + 1, shelf->needs[i].material, s,
                          s == PM_NEAT ? 0 : solvent, 100 * PM_GRAM);
            shelf->bottle_count++;
        }
        shelf->whole += shelf->needs[i].neat;
    }
    for (size_t x = 0; x < 2; x++) {
        struct pm_weigh_need *need = &shelf->needs[NEEDS + x];
        *need = need_of(x == 0 ? GLYCOL : ALCOHOL,
                        1000 * (1 + (int64_t)gsl_rng_uniform_int(rng, 5000)));
        need->is_solvent = true;
        shelf->whole += need->neat;
    }
}

static void as_good_as_every_choice(void **state)
{
    (void)state;
    static const pm_mass nothing[2] = {0, 0};
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
    int specks = 0;
    for (int round = 0; round < 1000; round++) {
        struct pm_error err = {0};
        struct pm_weigh_plan plan;
        struct shelf shelf;
        make_shelf(rng, &shelf);
        struct pm_weigh_wish wish = wish_of(5 * PM_GRAM, false);
        wish.tolerance = 1000000 + (pm_strength)gsl_rng_uniform_int(rng, 1000000);
        shelf.mass = wish.mass;
        assert_int_equal(pm_weigh_plan(shelf.needs, NEEDS + 2, shelf.bottles, shelf.bottle_count,
                                       &wish, &plan, &err),
                         PM_OK);
        assert_adds_up(&plan, wish.mass);
        assert_true(plan.proven);
        shelf.minimum = plan.minimum;
        size_t small = 0;
        for (size_t i = 0; i < plan.count; i++) {
            const bool solvent = plan.pours[i].need >= NEEDS; /* no bottle of it is there */
            small += !plan.pours[i].weighable;
            specks += solvent && !plan.pours[i].weighable;
        }
        for (size_t x = 0; x < 2; x++) {
            shelf.amount[x] = exactly(&shelf, NEEDS + x);
            shelf.slack[x] = (pm_mass)((pm_int128)shelf.amount[x] * wish.tolerance / PM_NEAT);
        }
        assert_true(small <= every_choice(&shelf, 0, nothing));
        assert_int_equal(small, plan.unweighable);
        pm_weigh_plan_release(&plan);
    }
    assert_true(specks > 0);
    gsl_rng_free(rng);
}

/* ---- bottles that end, against every way to divide a mass among them ---- */

#define GRAIN    (410000 / 24) /* of the grid that is looked through; the smallest weight is 24 */
#define BOTTLES  3
#define SMALLEST (24 * GRAIN)

struct division {
    pm_mass takes[BOTTLES]; /* in grains */
    int small;
    pm_mass smallest; /* other weights among them */
};

static struct division divided(const pm_mass takes[BOTTLES], pm_mass other)
{
    struct division out = {.smallest = other};
    for (size_t i = 0; i < BOTTLES; i++) {
        out.takes[i] = takes[i];
        out.small += takes[i] > 0 && takes[i] < 24;
        if (takes[i] > 0 && takes[i] < out.smallest)
            out.smallest = takes[i];
    }
    return out;
}

/* The order of the planner: weights that are too small, the smallest, what is older. */
static bool is_better(const struct division *one, const struct division *best)
{
    if (one->small != best->small)
        return one->small < best->small;
    if (one->smallest != best->smallest)
        return one->smallest > best->smallest;
    for (size_t i = 0; i < BOTTLES; i++)
        if (one->takes[i] != best->takes[i])
            return one->takes[i] > best->takes[i];
    return false;
}

static bool every_division(const pm_mass left[BOTTLES], pm_mass mass, pm_mass other,
                           struct division *best)
{
    bool found = false;
    for (pm_mass a = 0; a <= left[0] && a <= mass; a++)
        for (pm_mass b = 0; b <= left[1] && a + b <= mass; b++) {
            const pm_mass takes[BOTTLES] = {a, b, mass - a - b};
            if (takes[2] > left[2])
                continue;
            const struct division one = divided(takes, other);
            if (!found || is_better(&one, best))
                *best = one;
            found = true;
        }
    return found;
}

static void rests_of_bottles(void **state)
{
    (void)state;
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
    int several = 0, spared = 0;
    for (int round = 0; round < 3000; round++) {
        struct pm_error err = {0};
        struct pm_weigh_plan plan;
        struct division best = {.small = 0};
        struct pm_weigh_bottle bottles[BOTTLES + 1];
        pm_mass left[BOTTLES];
        /* Whole sixths of the smallest weight's quarter, so that halves and thirds are grains. */
        const pm_mass mass = 6 * (4 + (pm_mass)gsl_rng_uniform_int(rng, 16));
        /* Beside a smallest weight what is older decides; beside a large one the largest of the
         * smallest weights does. */
        const pm_mass other = round % 2 == 0 ? 24 : 240;
        for (size_t i = 0; i < BOTTLES; i++) {
            left[i] = 6 * (1 + (pm_mass)gsl_rng_uniform_int(rng, 12));
            bottles[i] = bottle_of((int64_t)i + 1, 1, PM_NEAT, 0, left[i] * GRAIN);
        }
        bottles[BOTTLES] = bottle_of(9, 2, PM_NEAT, 0, PM_GRAM * 100);
        const struct pm_weigh_need needs[] = {need_of(1, mass), need_of(2, other)};
        struct pm_weigh_wish wish = wish_of((mass + other) * GRAIN, false);
        wish.balance = (struct pm_balance){.readability = 1000, .least = SMALLEST};
        wish.tolerance = PM_NEAT / 1000 * 3; /* a little more than the smallest is taken */
        if (!every_division(left, mass, other, &best))
            continue;
        assert_int_equal(pm_weigh_plan(needs, 2, bottles, BOTTLES + 1, &wish, &plan, &err), PM_OK);
        assert_adds_up(&plan, wish.mass);
        assert_int_equal(plan.missing, 0);
        assert_int_equal(plan.unweighable, best.small);
        pm_mass takes[BOTTLES] = {0};
        for (size_t i = 0; i < plan.count; i++)
            if (plan.pours[i].need == 0)
                takes[plan.pours[i].bottle - 1] = plan.pours[i].target;
        for (size_t i = 0; i < BOTTLES; i++) {
            const pm_mass away = llabs(takes[i] - best.takes[i] * GRAIN);
            assert_true(takes[i] <= left[i] * GRAIN);
            assert_true(best.small > 0 || other > 24 || away <= GRAIN / 4);
            assert_true(best.small > 0 || takes[i] == 0 || takes[i] >= best.smallest * GRAIN);
        }
        const pm_mass old = left[0] < mass ? left[0] : mass;
        several += best.takes[0] > 0 && best.takes[0] < mass;
        spared += best.small == 0 && best.takes[0] > 0 && best.takes[0] < old;
        pm_weigh_plan_release(&plan);
    }
    assert_true(several > 100 && spared > 100);
    gsl_rng_free(rng);
}

/* A solvent's bottles are poured from in the same way. */
static void rests_of_solvent(void **state)
{
    (void)state;
    struct pm_error err = {0};
    struct pm_weigh_plan plan;
    struct pm_weigh_need needs[] = {need_of(1, 5), need_of(GLYCOL, 5)};
    needs[1].is_solvent = true;
    const struct pm_weigh_bottle bottles[] = {
        bottle_of(1, 1, PM_NEAT, 0, 50 * PM_GRAM), bottle_of(2, GLYCOL, PM_NEAT, 0, 4900000),
        bottle_of(3, GLYCOL, PM_NEAT, 0, 300000), bottle_of(4, GLYCOL, PM_NEAT, 0, 500 * PM_GRAM)};
    const struct pm_weigh_wish wish = wish_of(10 * PM_GRAM, false);
    assert_int_equal(pm_weigh_plan(needs, 2, bottles, 4, &wish, &plan, &err), PM_OK);
    assert_adds_up(&plan, wish.mass);
    assert_int_equal(plan.unweighable, 0);
    assert_int_equal(plan.count, 3);
    for (size_t i = 0; i < plan.count; i++)
        assert_int_not_equal(plan.pours[i].bottle, 3); /* a drop */
    pm_weigh_plan_release(&plan);
}

static void plan_without_memory(void **state)
{
    (void)state;
    const struct pm_weigh_need needs[] = {need_of(1, 1000), need_of(2, 1)};
    const struct pm_weigh_bottle bottles[] = {bottle_of(5, 1, PM_NEAT, 0, 30 * PM_GRAM)};
    const struct pm_weigh_wish wish = wish_of(10 * PM_GRAM, true);
    for (long at = 1;; at++) {
        struct pm_error err = {0};
        struct pm_weigh_plan plan;
        pm_mem_fail_at(at, false);
        enum pm_status status = pm_weigh_plan(needs, 2, bottles, 1, &wish, &plan, &err);
        pm_mem_fail_at(0, false);
        if (status == PM_OK) {
            pm_weigh_plan_release(&plan);
            break;
        }
        assert_int_equal(status, PM_NOMEM);
    }
}

static void strength_for(void **state)
{
    (void)state;
    assert_int_equal(pm_weigh_strength_for(410000, 410000), PM_NEAT);
    assert_int_equal(pm_weigh_strength_for(41000, 410000), PM_NEAT / 10);
    assert_int_equal(pm_weigh_strength_for(40999, 410000), PM_NEAT / 100);
    assert_int_equal(pm_weigh_strength_for(410, 410000), PM_NEAT / 1000);
    assert_int_equal(pm_weigh_strength_for(409, 410000), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plans_dilutions_for_traces),
        cmocka_unit_test(slack_of_the_tolerance),
        cmocka_unit_test(a_speck_of_solvent),
        cmocka_unit_test(the_least_weight_is_weighable),
        cmocka_unit_test(nothing_is_made_for_the_least_weight),
        cmocka_unit_test(a_dilution_may_weigh_the_least),
        cmocka_unit_test(any_tolerance),
        cmocka_unit_test(no_dilution_to_what_is_there),
        cmocka_unit_test(a_dilution_is_made_from_the_oldest),
        cmocka_unit_test(one_kind_of_bottle_before_two),
        cmocka_unit_test(bottles_end),
        cmocka_unit_test(as_good_as_every_choice),
        cmocka_unit_test(rests_of_bottles),
        cmocka_unit_test(rests_of_solvent),
        cmocka_unit_test(plan_without_memory),
        cmocka_unit_test(strength_for),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
