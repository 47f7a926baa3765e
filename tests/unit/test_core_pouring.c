/* SPDX-License-Identifier: MIT */
/*
 * At the scale: over-pours against GMP's rationals, what a display shows, readings of a balance,
 * filling against the alcohol tables of OIML R 22 and a printed dilution table.
 */
#include "permille/core/ethanol.h"
#include "permille/core/filling.h"
#include "permille/core/reading.h"
#include "permille/core/rescue.h"
#include "permille/core/weigh_plan.h"
#include "permille/core/weighed.h"

#include <gmp.h>
#include <gsl/gsl_rng.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define GLYCOL 91

static const struct pm_balance centigram = {.readability = 10000};

/* ---- over-pours ---- */

static void restores_the_ratio(void **state)
{
    (void)state;
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
    for (int round = 0; round < 500; round++) {
        struct pm_rescue_line lines[8] = {{0}};
        pm_mass targets[8], sum = 0, total = 0;
        const size_t over = gsl_rng_uniform_int(rng, 8);
        struct pm_error err = {0};
        for (size_t i = 0; i < 8; i++) {
            lines[i].target = 100000 + (pm_mass)gsl_rng_uniform_int(rng, 9000000);
            lines[i].strength = PM_NEAT;
            lines[i].material = (int64_t)i + 1;
            sum += lines[i].target;
        }
        lines[over].poured = lines[over].target * 3 / 2 + (pm_mass)gsl_rng_uniform_int(rng, 999);
        assert_int_equal(pm_rescue_targets(PM_RESCUE_RESTORE, lines, 8, &centigram,
                                           PM_WEIGH_TOLERANCE, targets, NULL, &err),
                         PM_OK);
        assert_int_equal(targets[over], lines[over].poured);
        for (size_t i = 0; i < 8; i++) {
            /* |target' - target x poured / target_over| < 1 ug, exactly */
            mpz_t exact, got;
            mpz_inits(exact, got, NULL);
            mpz_set_si(exact, lines[i].target);
            mpz_mul_si(exact, exact, lines[over].poured);
            mpz_set_si(got, targets[i]);
            mpz_mul_si(got, got, lines[over].target);
            mpz_sub(exact, exact, got);
            assert_true(mpz_cmpabs_ui(exact, (unsigned long)lines[over].target) < 0);
            mpz_clears(exact, got, NULL);
            total += targets[i];
        }
        const pm_int128 wanted = (pm_int128)(sum - lines[over].target) * lines[over].poured;
        assert_int_equal(total, lines[over].poured + (pm_mass)((wanted + lines[over].target / 2) /
                                                               lines[over].target));
    }
    gsl_rng_free(rng);
}

/* A: 1 g and 2 g in core 1, B alone 3 g; 0.5 g too much of the first. */
static void other_ways(void **state)
{
    (void)state;
    struct pm_error err = {0};
    pm_mass targets[4], left;
    struct pm_rescue_line lines[] = {
        {.target = 1000000,
         .poured = 1500000,
         .core = 1,
         .material = 1,
         .strength = PM_NEAT / 10,
         .solvent = GLYCOL},
        {.target = 2000000, .core = 1, .material = 2, .strength = PM_NEAT},
        {.target = 3000000, .material = 1, .strength = PM_NEAT},
        {.target = 400000, .material = GLYCOL, .strength = PM_NEAT},
    };
    assert_int_equal(pm_rescue_targets(PM_RESCUE_CORE, lines, 4, &centigram, PM_WEIGH_TOLERANCE,
                                       targets, NULL, &err),
                     PM_OK);
    assert_int_equal(targets[1], 3000000);
    assert_int_equal(targets[2], 3000000);
    /* 0.05 g of the material and 0.45 g of the solvent too much: 0.4 g of it can be left out. */
    assert_int_equal(pm_rescue_targets(PM_RESCUE_PULL, lines, 4, &centigram, PM_WEIGH_TOLERANCE,
                                       targets, &left, &err),
                     PM_OK);
    assert_int_equal(targets[0], 1500000);
    assert_int_equal(targets[2], 2950000);
    assert_int_equal(targets[3], 0);
    assert_int_equal(left, 50000);
    assert_int_equal(pm_rescue_targets(PM_RESCUE_ACCEPT, lines, 4, &centigram, PM_WEIGH_TOLERANCE,
                                       targets, NULL, &err),
                     PM_OK);
    assert_int_equal(targets[0], 1500000);
    assert_int_equal(targets[1], 2000000);
    /* Two over: the larger ratio leads. */
    lines[2].poured = 6000000;
    assert_int_equal(pm_rescue_targets(PM_RESCUE_RESTORE, lines, 4, &centigram, PM_WEIGH_TOLERANCE,
                                       targets, NULL, &err),
                     PM_OK);
    assert_int_equal(targets[0], 2000000);
    assert_int_equal(targets[1], 4000000);
    assert_int_equal(targets[2], 6000000);
    /* Of a line that is done nothing more is to be poured. */
    lines[2].poured = 0;
    lines[2].done = lines[3].done = true;
    assert_int_equal(pm_rescue_targets(PM_RESCUE_PULL, lines, 4, &centigram, PM_WEIGH_TOLERANCE,
                                       targets, NULL, &err),
                     PM_REFUSED);
    /* Nothing over. */
    lines[0].poured = 1005000;
    assert_int_equal(pm_rescue_targets(PM_RESCUE_ACCEPT, lines, 4, &centigram, PM_WEIGH_TOLERANCE,
                                       targets, NULL, &err),
                     PM_REFUSED);
}

/* 10 g planned, a balance that carries 50 g; the order of what is worth going. */
static void sensible_up_to_the_edge(void **state)
{
    (void)state;
    const pm_mass planned = 10 * PM_GRAM, most = planned * PM_RESCUE_TIMES;
    static const struct {
        pm_mass more, capacity;
        bool in_stock;
        enum pm_rescue_sense sense;
    } cases[] = {
        {0, 0, true, PM_RESCUE_SENSIBLE},
        {1, 0, true, PM_RESCUE_ABSURD},
        {0, 0, false, PM_RESCUE_LACKING},
        {1, 0, false, PM_RESCUE_ABSURD},
        {0, 50 * PM_GRAM, true, PM_RESCUE_SENSIBLE},
        {0, 50 * PM_GRAM - 1, true, PM_RESCUE_HEAVY},
        {0, 50 * PM_GRAM - 1, false, PM_RESCUE_HEAVY},
        {1, 40 * PM_GRAM, true, PM_RESCUE_ABSURD},
        {1, 60 * PM_GRAM, true, PM_RESCUE_ABSURD},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        assert_int_equal(
            pm_rescue_sense(most + cases[i].more, planned, cases[i].capacity, cases[i].in_stock),
            cases[i].sense);
    assert_int_equal(pm_rescue_sense(PM_MASS_MAX, 0, 0, true), PM_RESCUE_SENSIBLE);
    assert_int_equal(pm_rescue_sense(PM_MASS_MAX, PM_MASS_MAX, 0, true), PM_RESCUE_SENSIBLE);
    assert_true(PM_RESCUE_SENSIBLE < PM_RESCUE_LACKING && PM_RESCUE_LACKING < PM_RESCUE_HEAVY &&
                PM_RESCUE_HEAVY < PM_RESCUE_ABSURD);
}

/* More than half a step of the display, and more than the tolerance: each to its last microgram. */
static void what_is_over(void **state)
{
    (void)state;
    static const struct {
        pm_mass target, poured;
        bool over;
    } cases[] = {
        {100000, 105000, false},                             /* half a step; 2 % would be 2 mg */
        {100000, 105001, true},   {1000000, 1020000, false}, /* 2 %; half a step would be 5 mg */
        {1000000, 1020001, true}, {1000000, 999999, false},  {0, 5000, false}, {0, 5001, true}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const struct pm_rescue_line line = {.target = cases[i].target, .poured = cases[i].poured};
        assert_int_equal(pm_rescue_over(&line, &centigram, PM_WEIGH_TOLERANCE), cases[i].over);
    }
}

/* ---- what a display shows ---- */

static void digits_of_the_step(void **state)
{
    (void)state;
    static const struct {
        pm_mass step, mass;
        const char *text;
    } cases[] = {
        {10000, 1234567, "1.23 g"},   {10000, 1235000, "1.24 g"}, {10000, 4999, "0.00 g"},
        {1000, 1234567, "1.235 g"},   {100, 1234567, "1.2346 g"}, {1, 1234567, "1.234567 g"},
        {1000000, 12499999, "12 g"},  {500000, 1300000, "1.5 g"}, {20000, 1230000, "1.24 g"},
        {10000, -1234567, "-1.23 g"}, {100000, 0, "0.0 g"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct pm_balance balance = {.readability = cases[i].step};
        char text[PM_AMOUNT_TEXT];
        assert_string_equal(pm_balance_text(&balance, cases[i].mass, '.', text), cases[i].text);
    }
}

/* ---- what was done about a filling ---- */

static void days_of_a_filling(void **state)
{
    (void)state;
    struct pm_filling_row row = {.filter_on = 20000, .ready_on = PM_NO_DAY};
    struct pm_filling_event event = {.kind = PM_FILLING_FILTERED, .at = 7};
    pm_filling_apply(&row, &event);
    assert_int_equal(row.filtered_at, 7);
    event = (struct pm_filling_event){.kind = PM_FILLING_FILTER_ON, .day = 20010, .at = 8};
    pm_filling_apply(&row, &event); /* once more: it is to be done again */
    assert_int_equal(row.filtered_at, 0);
    assert_int_equal(row.filter_on, 20010);
    event = (struct pm_filling_event){.kind = PM_FILLING_READY_ON, .day = 20100, .at = 9};
    pm_filling_apply(&row, &event);
    event = (struct pm_filling_event){.kind = PM_FILLING_MATURED, .at = 10};
    pm_filling_apply(&row, &event);
    assert_int_equal(row.ready_on, 20100);
    assert_int_equal(row.matured_at, 10);
    assert_int_equal(row.filter_on, 20010);
    for (int kind = 0; kind < PM_FILLING_EVENT_KINDS; kind++) {
        enum pm_filling_event_kind read;
        assert_true(pm_filling_event_from_word(
            pm_filling_event_word((enum pm_filling_event_kind)kind), &read));
        assert_int_equal(read, kind);
    }
}

/* ---- readings ---- */

static void reads_lines(void **state)
{
    (void)state;
    static const struct {
        const char *line;
        enum pm_reading kind;
        pm_mass mass;
    } good[] = {
        {"   12.345 g", PM_READING_MASS, 12345000},
        {"N  +  0.52 g  ok", PM_READING_MASS, 520000},
        {"-  1.00 g", PM_READING_MASS, -1000000},
        {"250 mg", PM_READING_MASS, 250000},
        {"1,5 kg", PM_READING_MASS, 1500000000},
        {"40 \xc2\xb5g", PM_READING_MASS, 40},
        {"12.345", PM_READING_UNSETTLED, 0},
        {"READY", PM_READING_NONE, 0},
        {"", PM_READING_NONE, 0},
    };
    static const char *const bad[] = {"12.3 ct", "5 oz", "99999999999999999999 g",
                                      "0.1234567890123 g"};
    struct pm_error err = {0};
    enum pm_reading kind;
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        pm_mass mass = 0;
        assert_int_equal(pm_reading_line(good[i].line, &kind, &mass, &err), PM_OK);
        assert_int_equal(kind, good[i].kind);
        assert_int_equal(mass, good[i].mass);
    }
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        pm_mass mass = 7;
        assert_int_equal(pm_reading_line(bad[i], &kind, &mass, &err), PM_INVALID);
        assert_int_equal(mass, 7);
    }
}

static enum pm_status feed(struct pm_steady *steady, const char *text)
{
    struct pm_error err = {0};
    return pm_steady_feed(steady, text, strlen(text), &err);
}

static void waits_until_it_is_steady(void **state)
{
    (void)state;
    struct pm_steady steady = {0};
    assert_int_equal(feed(&steady, "0.10 g\r\n0.31 g\r\n0.5"), PM_OK);
    assert_false(steady.stable);
    assert_int_equal(feed(&steady, "2 g\r\n0.52 g\r\n"), PM_OK);
    assert_false(steady.stable);
    assert_int_equal(feed(&steady, "0.52\n0.52 g\n0.52 g\n"), PM_OK); /* one did not settle */
    assert_false(steady.stable);
    assert_int_equal(feed(&steady, "0.52 g\n"), PM_OK);
    assert_true(steady.stable);
    assert_int_equal(steady.mass, 520000);
    assert_int_equal(feed(&steady, "0.53 g\n"), PM_OK); /* it jumps */
    assert_false(steady.stable);
    assert_int_equal(feed(&steady, "3 ct\n"), PM_INVALID);
    for (int i = 0; i < 40; i++)
        feed(&steady, "too long ");
    assert_int_equal(feed(&steady, "\n"), PM_INVALID);
    assert_int_equal(feed(&steady, "1 g\n1 g\n1 g\n"), PM_OK);
    assert_true(steady.stable);
}

/* ---- filling ---- */

/* Gay-Lussac's table, at 15 degrees: to bring 1000 volumes of 90 % to 50 %, 847 of water are added
 * (from memory of the printed table, good to a volume or two; masses hardly care for 5 degrees). */
static void fills(void **state)
{
    (void)state;
    struct pm_error err = {0};
    struct pm_filling out;
    const double p90 = pm_ethanol_by_mass(0.9);
    const double ethanol_g = 1000 * pm_ethanol_density(p90) / 1000;
    /* A concentrate of next to nothing: what is left is ethanol and water. */
    struct pm_filling_wish wish = {.concentrate = 1000,
                                   .dosage = 1000,
                                   .at_hand = PM_NEAT * 9 / 10,
                                   .wanted = PM_NEAT / 2,
                                   .density = PM_NEAT,
                                   .bottle_ul = 50000,
                                   .loss = PM_NEAT / 50};
    assert_int_equal(pm_filling_work_out(&wish, &out, &err), PM_OK);
    assert_int_equal(out.concentrate + out.ethanol + out.water + out.other, out.total);
    const double water_per_litre =
        (double)out.water / (double)out.ethanol * ethanol_g / (pm_ethanol_density(0) / 1000);
    assert_true(fabs(water_per_litre - 847) < 3);
    assert_true(llabs(out.mixed - PM_NEAT / 2) < 1000);
    /* Contraction: 1000 + 847 ml become about 1800: 90 % x 1000 / 50 % by volume. */
    const double before = (double)(out.mix_ul + out.contraction_ul);
    assert_true(fabs((double)out.mix_ul / before - 1800.0 / 1847.0) < 2e-3);
    assert_int_equal(out.bottles, (out.total_ul - llround((double)out.total_ul / 50)) / 50000);

    /* 20 % of a concentrate in ethanol of 96 % as it is. */
    wish = (struct pm_filling_wish){
        .concentrate = 10 * PM_GRAM, .dosage = PM_NEAT / 5, .at_hand = 960000000};
    assert_int_equal(pm_filling_work_out(&wish, &out, &err), PM_OK);
    assert_int_equal(out.total, 50 * PM_GRAM);
    assert_int_equal(out.ethanol, 40 * PM_GRAM);
    assert_int_equal(out.water, 0);
    assert_int_equal(out.total_ul, -1);
    assert_int_equal(out.by_volume, -1);
    /* 96 % vol is 93.84 % by mass (OIML R 22 table) */
    assert_true(fabs((double)out.by_mass / 1e9 - 0.8 * 0.9384) < 1e-4);
    wish.wanted = 960000000; /* as strong as it is */
    assert_int_equal(pm_filling_work_out(&wish, &out, &err), PM_OK);
    assert_int_equal(out.water, 0);
    wish.wanted = 970000000;
    assert_int_equal(pm_filling_work_out(&wish, &out, &err), PM_REFUSED);
    wish.wanted = 0;
    wish.dosage = PM_NEAT;
    assert_int_equal(pm_filling_work_out(&wish, &out, &err), PM_REFUSED);
    wish.dosage = 0;
    assert_int_equal(pm_filling_work_out(&wish, &out, &err), PM_INVALID);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(restores_the_ratio),
        cmocka_unit_test(other_ways),
        cmocka_unit_test(sensible_up_to_the_edge),
        cmocka_unit_test(what_is_over),
        cmocka_unit_test(digits_of_the_step),
        cmocka_unit_test(days_of_a_filling),
        cmocka_unit_test(reads_lines),
        cmocka_unit_test(waits_until_it_is_steady),
        cmocka_unit_test(fills),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
