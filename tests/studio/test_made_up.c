/* SPDX-License-Identifier: MIT */
/*
 * Accords that stand made up, inside accords: taken from the bottle of that very trial at each
 * depth where there is enough, else by content. What is planned and what was poured are taken apart
 * again in GMP's rationals and compared with the formula's flat content.
 */
#include "hand.h"

#include "permille/base/mem.h"
#include "permille/studio/bottles.h"
#include "permille/studio/scale.h"
#include "permille/studio/stock.h"

#include <gmp.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/*
 * Root/1  = Alpha 600, Beta 400
 * Heart/1 = Root/1 250, Gamma 750
 * Top/1   = Heart/1 500, Root/1 100, Delta 400
 *
 * so Top is, in thousandths: Root 125 + 100, Gamma 375, Delta 400.
 */
static int64_t make_top(struct hand *hand)
{
    const int64_t root = hand_formula(hand, "Root", 1000),
                  heart = hand_formula(hand, "Heart", 1000);
    const int64_t top = hand_formula(hand, "Top", 1000);
    hand_add(hand, root, "Alpha", 600);
    hand_add(hand, root, "Beta", 400);
    hand_keep(hand, root, NULL);
    hand_ok(hand, hand_add_accord(hand, heart, "Root/1", 250));
    hand_add(hand, heart, "Gamma", 750);
    hand_keep(hand, heart, NULL);
    hand_ok(hand, hand_add_accord(hand, top, "Heart/1", 500));
    hand_ok(hand, hand_add_accord(hand, top, "Root/1", 100));
    hand_add(hand, top, "Delta", 400);
    hand_keep(hand, top, NULL);
    static const char *const names[] = {"Alpha", "Beta", "Gamma", "Delta"};
    for (size_t i = 0; i < 4; i++)
        hand_ok(hand, pm_bottle_add(hand->studio, hand_material(hand, names[i]), 500 * PM_GRAM,
                                    NULL, 0, NULL, &hand->err));
    return top;
}

static const struct pm_weigh_how untold = {.tolerance = NULL};

/* Weighs a batch as planned and makes a bottle of it. */
static void make_bottle(struct hand *hand, const char *title, pm_mass mass)
{
    struct pm_batch_record record;
    int64_t id = 0;
    const struct pm_batch_end end = {.bottle = true};
    hand_ok(hand, pm_batch_start(hand->studio, 0, hand_trial(hand, title), mass, &untold, NULL, &id,
                                 &hand->err));
    hand_ok(hand, pm_batch_show(hand->studio, id, &record, &hand->err));
    for (size_t i = 0; i < record.count; i++) {
        const struct pm_pouring pouring = {
            .batch = id, .place = record.items[i].place, .mass = record.items[i].target};
        hand_ok(hand, pm_batch_pour(hand->studio, &pouring, NULL, NULL, &hand->err));
    }
    pm_batch_record_release(&record);
    hand_ok(hand, pm_batch_finish(hand->studio, id, &end, NULL, NULL, &hand->err));
}

static void weigh(struct hand *hand, pm_mass mass, struct pm_weighing *out)
{
    struct pm_sheet *sheet;
    hand_ok(hand, pm_sheet_open(hand->studio, hand_trial(hand, "Top/1"), &sheet, &hand->err));
    hand_ok(hand, pm_weigh(hand->studio, sheet, mass, &untold, out, &hand->err));
    pm_sheet_free(sheet);
}

/* What the plan weighs of a material; 0: none of it. */
static pm_mass weighed(const struct pm_weighing *weighing, const char *name)
{
    pm_mass sum = 0;
    for (size_t i = 0; i < weighing->count; i++)
        if (strcmp(weighing->items[i].name, name) == 0)
            sum += weighing->items[i].target;
    return sum;
}

/* Thousandths of the whole, as rationals: what a made-up bottle brings, at any depth. */
enum { ALPHA, BETA, GAMMA, DELTA, MATERIALS };

static void add_content(const char *name, pm_mass mass, mpq_t *sums)
{
    static const struct {
        const char *name;
        unsigned long thousandths[MATERIALS];
    } contents[] = {
        {"Alpha", {1000, 0, 0, 0}}, {"Beta", {0, 1000, 0, 0}},    {"Gamma", {0, 0, 1000, 0}},
        {"Delta", {0, 0, 0, 1000}}, {"Root 1", {600, 400, 0, 0}}, {"Heart 1", {150, 100, 750, 0}},
    };
    for (size_t i = 0; i < sizeof contents / sizeof contents[0]; i++)
        for (size_t m = 0; m < MATERIALS && strcmp(contents[i].name, name) == 0; m++) {
            mpq_t part;
            mpq_init(part);
            mpq_set_ui(part, contents[i].thousandths[m], 1000);
            mpq_t whole;
            mpq_init(whole);
            mpq_set_si(whole, mass, 1);
            mpq_mul(part, part, whole);
            mpq_add(sums[m], sums[m], part);
            mpq_clears(part, whole, NULL);
        }
}

/* Every material within `room` micrograms of what the flat formula asks for. */
static void assert_flat(mpq_t *sums, pm_mass mass, long room)
{
    static const unsigned long thousandths[MATERIALS] = {135, 90, 375, 400};
    for (size_t m = 0; m < MATERIALS; m++) {
        mpq_t wanted, whole, away;
        mpq_inits(wanted, whole, away, NULL);
        mpq_set_ui(wanted, thousandths[m], 1000);
        mpq_set_si(whole, mass, 1);
        mpq_mul(wanted, wanted, whole);
        mpq_sub(away, sums[m], wanted);
        mpq_abs(away, away);
        if (mpq_cmp_si(away, room, 1) > 0)
            fail_msg("material %zu is %g micrograms off", m, mpq_get_d(away));
        mpq_clears(wanted, whole, away, NULL);
    }
}

/* The line of a name says which accord it is made up of and which ask for it, one after another. */
static void assert_whence(const struct pm_weighing *weighing, const char *name, const char *made_up,
                          const char *accords)
{
    const struct pm_weigh_whence *found = NULL;
    char all[200] = "";
    for (size_t i = 0; i < weighing->count; i++)
        if (strcmp(weighing->items[i].name, name) == 0)
            found = &weighing->items[i].whence;
    assert_non_null(found);
    for (size_t i = 0; i < found->accord_count; i++)
        snprintf(all + strlen(all), sizeof all - strlen(all), "%s%s", i > 0 ? " " : "",
                 found->accords[i]);
    assert_string_equal(all, accords);
    assert_string_equal(found->made_up != NULL ? found->made_up : "none", made_up);
}

static void assert_plan_flat(const struct pm_weighing *weighing, pm_mass mass)
{
    mpq_t sums[MATERIALS];
    pm_mass all = 0;
    for (size_t m = 0; m < MATERIALS; m++)
        mpq_init(sums[m]);
    for (size_t i = 0; i < weighing->count; i++) {
        add_content(weighing->items[i].name, weighing->items[i].target, sums);
        all += weighing->items[i].target;
    }
    assert_int_equal(all, mass);
    assert_flat(sums, mass, (long)weighing->count);
    for (size_t m = 0; m < MATERIALS; m++)
        mpq_clear(sums[m]);
}

static void at_each_depth(void **state)
{
    struct hand *hand = *state;
    struct pm_weighing weighing;
    make_top(hand);
    const pm_mass mass = 37 * PM_GRAM + 123457;
    weigh(hand, mass, &weighing); /* nothing is made up: by content alone */
    assert_int_equal(weighing.count, 4);
    assert_plan_flat(&weighing, mass);
    assert_whence(&weighing, "Alpha", "none", "Root/1");
    assert_whence(&weighing, "Gamma", "none", "Heart/1");
    assert_whence(&weighing, "Delta", "none", "");
    pm_weighing_release(&weighing);

    make_bottle(hand, "Root/1", 20 * PM_GRAM);
    weigh(hand, mass, &weighing); /* 22.5 % of it are 8.35 g, in two depths */
    assert_int_equal(weighing.count, 3);
    assert_int_equal(weighed(&weighing, "Alpha"), 0);
    assert_true(llabs(weighed(&weighing, "Root 1") * 1000 - mass * 225) <= 1000);
    assert_plan_flat(&weighing, mass);
    assert_whence(&weighing, "Root 1", "Root/1", "Heart/1"); /* and of a line of its own */
    pm_weighing_release(&weighing);

    make_bottle(hand, "Heart/1", 30 * PM_GRAM); /* takes 7.5 g of the root's bottle */
    weigh(hand, mass, &weighing);
    assert_int_equal(weighing.count, 3);
    assert_int_equal(weighed(&weighing, "Gamma"), 0);
    assert_true(llabs(weighed(&weighing, "Heart 1") * 1000 - mass * 500) <= 1000);
    assert_true(llabs(weighed(&weighing, "Root 1") * 1000 - mass * 100) <= 1000);
    assert_plan_flat(&weighing, mass);
    assert_whence(&weighing, "Heart 1", "Heart/1", "");
    assert_whence(&weighing, "Root 1", "Root/1", ""); /* what is in the heart is poured with it */
    pm_weighing_release(&weighing);
}

/* The root's bottle does for the line of its own, but not for what the heart, taken apart, asks for
 * besides. */
static void not_half_from_a_bottle(void **state)
{
    struct hand *hand = *state;
    struct pm_weighing weighing;
    make_top(hand);
    make_bottle(hand, "Root/1", 5 * PM_GRAM);
    weigh(hand, 40 * PM_GRAM, &weighing); /* 4 g and 5 g */
    assert_int_equal(weighed(&weighing, "Root 1"), 0);
    assert_plan_flat(&weighing, 40 * PM_GRAM);
    pm_weighing_release(&weighing);
    /* Nor does what is there of it diluted. */
    const char *const form[PM_BOTTLE_ATTRIBUTES] = {
        [PM_BOTTLE_STRENGTH] = "10%", [PM_BOTTLE_SOLVENT] = "Ethanol"};
    hand_solvent(hand, "Ethanol");
    hand_ok(hand, pm_bottle_add(hand->studio, hand_material(hand, "Root 1"), 500 * PM_GRAM, form, 0,
                                NULL, &hand->err));
    weigh(hand, 40 * PM_GRAM, &weighing);
    assert_int_equal(weighed(&weighing, "Root 1"), 0);
    assert_plan_flat(&weighing, 40 * PM_GRAM);
    pm_weighing_release(&weighing);
    weigh(hand, 20 * PM_GRAM, &weighing); /* 2 g and 2.5 g */
    assert_int_equal(weighed(&weighing, "Root 1"), 4500000);
    assert_plan_flat(&weighing, 20 * PM_GRAM);
    pm_weighing_release(&weighing);
}

/* Started, poured, corrected, kept as weighed: record, ledger and trial tell of the bottles. */
static void record_ledger_and_trial(void **state)
{
    struct hand *hand = *state;
    struct pm_batch_record record;
    int64_t id = 0, number = 0;
    mpq_t sums[MATERIALS];
    const int64_t top = make_top(hand);
    make_bottle(hand, "Root/1", 20 * PM_GRAM);
    hand_ok(hand, pm_batch_start(hand->studio, 0, hand_trial(hand, "Top/1"), 10 * PM_GRAM, &untold,
                                 NULL, &id, &hand->err));
    hand_ok(hand, pm_batch_show(hand->studio, id, &record, &hand->err));
    assert_int_equal(record.count, 3);
    for (size_t i = 0; i < record.count; i++) {
        const pm_mass more = strcmp(record.items[i].name, "Root 1") == 0 ? 20001 : 0;
        const struct pm_pouring pouring = {
            .batch = id, .place = record.items[i].place, .mass = record.items[i].target + more};
        hand_ok(hand, pm_batch_pour(hand->studio, &pouring, NULL, NULL, &hand->err));
    }
    pm_batch_record_release(&record);
    hand_ok(hand, pm_batch_show(hand->studio, id, &record, &hand->err));
    assert_int_equal(record.poured, 10 * PM_GRAM + 20001);
    for (size_t i = 0; i < record.count; i++) {
        const struct pm_weigh_whence *whence = &record.items[i].whence;
        const bool root = strcmp(record.items[i].name, "Root 1") == 0;
        const bool heart = root || strcmp(record.items[i].name, "Gamma") == 0;
        assert_string_equal(root ? whence->made_up : "", root ? "Root/1" : "");
        assert_int_equal(whence->accord_count, heart ? 1 : 0);
        assert_string_equal(heart ? whence->accords[0] : "", heart ? "Heart/1" : "");
    }
    for (size_t m = 0; m < MATERIALS; m++)
        mpq_init(sums[m]);
    for (size_t i = 0; i < record.count; i++) {
        add_content(record.items[i].name, record.items[i].poured, sums);
        if (strcmp(record.items[i].name, "Root 1") == 0)
            assert_int_equal(record.items[i].left, 20 * PM_GRAM - 2250000 - 20001);
    }
    const struct pm_batch_end end = {.trial = true};
    hand_ok(hand, pm_batch_finish(hand->studio, id, &end, NULL, &number, &hand->err));

    /* The kept trial holds the accord, not an unknown blend; flat it is what was poured. */
    struct pm_sheet *sheet;
    struct pm_flat_sheet flat;
    static const char *const names[] = {"Alpha", "Beta", "Gamma", "Delta"};
    char title[40];
    snprintf(title, sizeof title, "Top/%d", (int)number);
    hand_ok(hand, pm_sheet_open(hand->studio, hand_trial(hand, title), &sheet, &hand->err));
    bool accord = false;
    for (size_t i = 0; i < sheet->trial.count; i++)
        accord = accord || strcmp(sheet->lines[i].title, "Root/1") == 0;
    assert_true(accord);
    hand_ok(hand, pm_sheet_flatten(hand->studio, sheet, &flat, &hand->err));
    assert_int_equal(flat.count, MATERIALS);
    for (size_t m = 0; m < MATERIALS; m++)
        for (size_t i = 0; i < flat.count; i++)
            if (strcmp(flat.lines[i].name, names[m]) == 0) {
                const double was = mpq_get_d(sums[m]) / (double)record.poured;
                /* to a microgram in ten grams */
                assert_true(was - (double)flat.lines[i].share / 1e12 < 1e-7 &&
                            (double)flat.lines[i].share / 1e12 - was < 1e-7);
            }
    pm_flat_sheet_release(&flat);
    pm_sheet_free(sheet);
    for (size_t m = 0; m < MATERIALS; m++)
        mpq_clear(sums[m]);
    pm_batch_record_release(&record);
    pm_sheet_free(hand_draft(hand, top)); /* the draft is as it was: it can be read */
    assert_int_equal(hand_parts(hand, top, "Delta"), parts_of(400));
}

static void without_memory(void **state)
{
    struct hand *hand = *state;
    struct pm_sheet *sheet;
    make_top(hand);
    make_bottle(hand, "Root/1", 20 * PM_GRAM);
    hand_ok(hand, pm_sheet_open(hand->studio, hand_trial(hand, "Top/1"), &sheet, &hand->err));
    for (long at = 1;; at++) {
        struct pm_weighing weighing;
        pm_mem_fail_at(at, false);
        const enum pm_status status =
            pm_weigh(hand->studio, sheet, 10 * PM_GRAM, &untold, &weighing, &hand->err);
        pm_mem_fail_at(0, false);
        if (status == PM_OK) {
            pm_weighing_release(&weighing);
            break;
        }
        assert_int_equal(status, PM_NOMEM);
    }
    pm_sheet_free(sheet);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, hand_setup, hand_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {TEST(at_each_depth), TEST(not_half_from_a_bottle),
                                       TEST(record_ledger_and_trial), TEST(without_memory)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
