/* SPDX-License-Identifier: MIT */
/*
 * Bottles as a perfumer keeps them: entered, diluted twice, counted, priced, used up, bought again.
 * Names, lots and prices are invented.
 */
#include "hand.h"

#include "permille/base/mem.h"
#include "permille/studio/bottles.h"
#include "permille/studio/stock.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

#define PERCENT (PM_NEAT / 100)
#define DAY     INT64_C(86400)

static int64_t bottle(struct hand *hand, const char *material, double grams, const char *price)
{
    const char *const form[PM_BOTTLE_ATTRIBUTES] = {
        [PM_BOTTLE_PRICE] = price, [PM_BOTTLE_LOT] = "L1", [PM_BOTTLE_SUPPLIER] = "supplier A"};
    int64_t id = 0;
    hand_ok(hand, pm_bottle_add(hand->studio, hand_material(hand, material),
                                (pm_mass)(grams * 1e6 + 0.5), form, 0, &id, &hand->err));
    return id;
}

static pm_mass left(struct hand *hand, int64_t id)
{
    struct pm_bottle card;
    hand_ok(hand, pm_bottle_show(hand->studio, id, &hand->arena, &card, &hand->err));
    pm_mass mass = card.left;
    return mass;
}

static enum pm_status take(struct hand *hand, int64_t id, const char *kind, double grams,
                           bool even_below, pm_mass *missing)
{
    struct pm_movement taking = {.mass = (pm_mass)(grams * 1e6 + 0.5)};
    assert_true(pm_move_from_word(kind, &taking.kind));
    return pm_bottle_take(hand->studio, id, &taking, even_below, missing, &hand->err);
}

static void print_finding(void *context, const char *sentence)
{
    (void)context;
    print_error("%s\n", sentence);
}

static void sound(struct hand *hand)
{
    hand_ok(hand, pm_studio_verify(hand->studio, print_finding, NULL, &hand->err));
}

/* ---- the ledger ---- */

static void what_is_left_is_the_sum_of_the_ledger(void **state)
{
    struct hand *hand = *state;
    int64_t id = bottle(hand, "Cedrol", 25, "10 EUR");
    struct pm_movements ledger;
    hand_ok(hand, take(hand, id, "poured", 3.5, false, NULL));
    hand_ok(hand, take(hand, id, "spilled", 0.5, false, NULL));
    hand_ok(hand, pm_bottle_count(hand->studio, id, 20800000, "stock-take", 0, &hand->err));
    hand_ok(hand, take(hand, id, "received", 5, false, NULL));
    assert_int_equal(left(hand, id), 25800000);
    hand_ok(hand, pm_bottle_ledger(hand->studio, id, &ledger, &hand->err));
    assert_int_equal(ledger.count, 5);
    assert_int_equal(ledger.items[3].kind, PM_COUNTED);
    assert_int_equal(ledger.items[3].mass, -200000);
    assert_int_equal(ledger.items[3].found, 20800000);
    assert_string_equal(ledger.items[3].note, "stock-take");
    assert_int_equal(ledger.items[4].left, 25800000);
    pm_list_release(&ledger);
    hand_ok(hand, pm_bottle_empty(hand->studio, id, NULL, &hand->err));
    assert_int_equal(left(hand, id), 0);
    sound(hand);
}

static void nothing_goes_below_zero_unasked(void **state)
{
    struct hand *hand = *state;
    int64_t id = bottle(hand, "Cedrol", 2, NULL);
    pm_mass missing = 0;
    hand_refused(hand, take(hand, id, "poured", 2.5, false, &missing), PM_REFUSED, "500 mg less");
    assert_int_equal(missing, 500000);
    assert_int_equal(left(hand, id), 2000000);
    hand_ok(hand, take(hand, id, "poured", 2.5, true, &missing));
    assert_int_equal(missing, 0);
    assert_int_equal(left(hand, id), -500000);
    hand_ok(hand,
            take(hand, id, "received", 1, false, NULL)); /* coming back up is always allowed */
    sound(hand);
}

/* Below zero with consent, then counted: each of the two can be taken back and done again. */
static void what_fell_below_zero_can_be_undone(void **state)
{
    struct hand *hand = *state;
    int64_t id = bottle(hand, "Cedrol", 2, NULL);
    hand_ok(hand, take(hand, id, "poured", 2.5, true, NULL));
    hand_ok(hand, pm_bottle_count(hand->studio, id, 1500000, NULL, 0, &hand->err));
    hand_ok(hand, pm_shelf_undo(hand->studio, NULL, &hand->err));
    assert_int_equal(left(hand, id), -500000);
    hand_ok(hand, pm_shelf_undo(hand->studio, NULL, &hand->err));
    assert_int_equal(left(hand, id), 2000000);
    hand_ok(hand, pm_shelf_redo(hand->studio, NULL, &hand->err));
    hand_ok(hand, pm_shelf_redo(hand->studio, NULL, &hand->err));
    assert_int_equal(left(hand, id), 1500000);
    sound(hand);
}

/* A price that is entered late was paid for what came in, not for what is left by then. */
static void a_late_price_is_for_what_was_received(void **state)
{
    struct hand *hand = *state;
    struct pm_bottle card;
    int64_t id = bottle(hand, "Cedrol", 10, NULL);
    hand_ok(hand, take(hand, id, "poured", 6, false, NULL));
    hand_ok(hand,
            pm_bottle_edit(hand->studio, id,
                           (const char *const[PM_BOTTLE_ATTRIBUTES]){[PM_BOTTLE_PRICE] = "20 EUR"},
                           &hand->err));
    hand_ok(hand, pm_bottle_show(hand->studio, id, &hand->arena, &card, &hand->err));
    assert_int_equal(card.priced_mass, 10 * PM_GRAM);
}

static void several_takings_are_all_or_none(void **state)
{
    struct hand *hand = *state;
    int64_t ids[] = {bottle(hand, "Cedrol", 5, NULL), bottle(hand, "Linalool", 1, NULL)};
    struct pm_movement takings[] = {{.kind = PM_POURED, .mass = 2000000, .purpose = "Quay/1"},
                                    {.kind = PM_POURED, .mass = 2000000, .purpose = "Quay/1"}};
    hand_refused(
        hand,
        pm_bottles_take(hand->studio, ids, takings, 2, false, "Weighed Quay/1", NULL, &hand->err),
        PM_REFUSED, "B002");
    assert_int_equal(left(hand, ids[0]), 5000000);
    takings[1].mass = 500000;
    hand_ok(hand, pm_bottles_take(hand->studio, ids, takings, 2, false, "Weighed Quay/1", NULL,
                                  &hand->err));
    assert_int_equal(left(hand, ids[0]), 3000000);
    hand_ok(hand, pm_shelf_undo(hand->studio, NULL, &hand->err));
    assert_int_equal(left(hand, ids[0]), 5000000);
    assert_int_equal(left(hand, ids[1]), 1000000);
    sound(hand);
}

/* How often the trial was weighed, as the Trials room and the command tell it. */
static int64_t weighed(struct hand *hand, int64_t formula, size_t entry)
{
    struct pm_trial_entries trials;
    hand_ok(hand, pm_trials_list(hand->studio, formula, 0, &trials, &hand->err));
    assert_true(entry < trials.count);
    int64_t count = trials.items[entry].batches;
    pm_list_release(&trials);
    return count;
}

static void pours_for_a_trial_say_that_it_was_weighed(void **state)
{
    struct hand *hand = *state;
    int64_t formula = hand_formula(hand, "Quay", 1000);
    hand_add(hand, formula, "Cedrol", 600);
    hand_add(hand, formula, "Linalool", 400);
    hand_keep(hand, formula, NULL);
    hand_set(hand, formula, "Cedrol", 500);
    hand_keep(hand, formula, NULL);
    int64_t ids[] = {bottle(hand, "Cedrol", 50, NULL), bottle(hand, "Linalool", 50, NULL)};
    const struct pm_movement takings[] = {
        {.kind = PM_POURED, .mass = PM_GRAM, .purpose = "Quay/2"},
        {.kind = PM_POURED, .mass = PM_GRAM, .purpose = "Quay/2"}};
    const struct pm_movement spilled = {.kind = PM_SPILLED, .mass = PM_GRAM, .purpose = "Quay/1"};

    hand_ok(hand,
            pm_bottles_take(hand->studio, ids, takings, 2, false, "Weighed", NULL, &hand->err));
    hand_ok(hand, pm_bottle_take(hand->studio, ids[0], &spilled, false, NULL, &hand->err));
    assert_int_equal(weighed(hand, formula, 0), 0);
    assert_int_equal(weighed(hand, formula, 1), 1); /* two pours of one sitting */
    hand->time += DAY;
    hand_ok(hand,
            pm_bottles_take(hand->studio, ids, takings, 2, false, "Weighed", NULL, &hand->err));
    assert_int_equal(weighed(hand, formula, 1), 2);
    hand_ok(hand, pm_shelf_undo(hand->studio, NULL, &hand->err));
    assert_int_equal(weighed(hand, formula, 1), 1);
    hand_reopen(hand);
    assert_int_equal(weighed(hand, formula, 1), 1);
    /* The ledger shows the pour in force again. */
    hand_ok(hand, pm_shelf_redo(hand->studio, NULL, &hand->err));
    assert_int_equal(weighed(hand, formula, 1), 2);
}

/* What was poured for a trial is that trial's, whatever is called so later. */
static void a_new_name_does_not_read_weighed(void **state)
{
    struct hand *hand = *state;
    const struct pm_movement taking = {.kind = PM_POURED, .mass = PM_GRAM, .purpose = "Quay/1"};
    int64_t old = hand_formula(hand, "Quay", 1000);
    hand_add(hand, old, "Cedrol", 1000);
    hand_keep(hand, old, NULL);
    int64_t id = bottle(hand, "Cedrol", 50, NULL);
    hand_ok(hand, pm_bottle_take(hand->studio, id, &taking, false, NULL, &hand->err));
    hand_ok(hand, pm_formula_rename(hand->studio, old, "Old quay", &hand->err));
    int64_t fresh = hand_formula(hand, "Quay", 1000);
    hand_add(hand, fresh, "Cedrol", 1000);
    hand_keep(hand, fresh, NULL);
    assert_int_equal(weighed(hand, fresh, 0), 0);
    assert_int_equal(weighed(hand, old, 0), 1);
}

static void zone(const char *name)
{
    setenv("TZ", name, 1);
    tzset();
}

/* Bought on 2 March in Tokyo is bought on 2 March in London, and 1970-01-01 is a day. */
static void a_day_is_the_same_wherever_it_is_read(void **state)
{
    struct hand *hand = *state;
    const char *const said[PM_BOTTLE_ATTRIBUTES] = {
        [PM_BOTTLE_BOUGHT] = "1970-01-01", [PM_BOTTLE_OPENED] = "2026-03-02"};
    struct pm_bottle row;
    char day[PM_TIME_TEXT];
    int64_t id = 0;
    zone("Asia/Tokyo");
    hand_ok(hand, pm_bottle_add(hand->studio, hand_material(hand, "Cedrol"), PM_GRAM, said, 0, &id,
                                &hand->err));
    zone("UTC");
    hand_ok(hand, pm_bottle_show(hand->studio, id, &hand->arena, &row, &hand->err));
    assert_string_equal(pm_day_format(row.bought, day), "1970-01-01");
    assert_string_equal(pm_day_format(row.opened, day), "2026-03-02");
}

/* A count that would change the ledger by more than a bottle can hold says so in our words. */
static void an_absurd_count_is_refused_in_words(void **state)
{
    struct hand *hand = *state;
    const struct pm_movement taking = {.kind = PM_POURED, .mass = 50 * PM_GRAM};
    int64_t id = bottle(hand, "Cedrol", 5, NULL);
    hand_ok(hand, pm_bottle_take(hand->studio, id, &taking, true, NULL, &hand->err));
    hand_refused(hand, pm_bottle_count(hand->studio, id, PM_MASS_MAX, NULL, 0, &hand->err),
                 PM_INVALID, "more than a bottle can hold");
}

/* The ledger, numbers and what was made from what survive going out and coming in. */
static void bottles_and_ledgers_come_in_as_they_went_out(void **state)
{
    struct hand *hand = *state;
    struct pm_text bottles = PM_TEXT_EMPTY, moves = PM_TEXT_EMPTY, again = PM_TEXT_EMPTY;
    struct pm_import_result result;
    struct pm_bottle row;
    hand_solvent(hand, "Ethanol");
    int64_t first = bottle(hand, "Cedrol", 50, "20 EUR"), second = bottle(hand, "Cedrol", 40, NULL);
    const char *const said[PM_BOTTLE_ATTRIBUTES] = {[PM_BOTTLE_STRENGTH] = "10%",
                                                    [PM_BOTTLE_SOLVENT] = "Ethanol",
                                                    [PM_BOTTLE_MADE_FROM] = "B2"};
    int64_t third = 0;
    hand_ok(hand, pm_bottle_add(hand->studio, hand_material(hand, "Cedrol"), 0, said, 0, &third,
                                &hand->err));
    const struct pm_movement over = {.kind = PM_MOVED, .mass = 2 * PM_GRAM, .other = third};
    hand_ok(hand, pm_bottle_take(hand->studio, second, &over, false, NULL, &hand->err));
    hand_ok(hand, pm_bottle_count(hand->studio, first, 49 * PM_GRAM, "a count", 0, &hand->err));
    hand_ok(hand, pm_shelf_undo(hand->studio, NULL, &hand->err));
    hand_ok(hand, pm_bottle_set_aside(hand->studio, second, true, &hand->err));
    hand_ok(hand, pm_shelf_export(hand->studio, "bottles", &bottles, &hand->err));
    hand_ok(hand, pm_shelf_export(hand->studio, "movements", &moves, &hand->err));
    hand_teardown(state);
    hand_setup(state);
    hand = *state;
    hand_material(hand, "Cedrol");
    hand_solvent(hand, "Ethanol");
    hand_ok(hand, pm_shelf_import(hand->studio, pm_text_get(&bottles), bottles.length, &result,
                                  &hand->err));
    hand_ok(hand, pm_shelf_export(hand->studio, "bottles", &again, &hand->err));
    assert_string_equal(pm_text_get(&again), pm_text_get(&bottles));
    hand_ok(hand,
            pm_shelf_import(hand->studio, pm_text_get(&moves), moves.length, &result, &hand->err));
    hand_ok(hand, pm_bottle_show(hand->studio, third, &hand->arena, &row, &hand->err));
    assert_int_equal(row.left, 2 * PM_GRAM);
    assert_int_equal(row.made_from, second);
    hand_ok(hand, pm_bottle_show(hand->studio, first, &hand->arena, &row, &hand->err));
    assert_int_equal(row.left, 50 * PM_GRAM);
    hand_refused(
        hand, pm_shelf_import(hand->studio, pm_text_get(&moves), moves.length, &result, &hand->err),
        PM_REFUSED, "has a ledger already");
    pm_text_release(&bottles);
    pm_text_release(&moves);
    pm_text_release(&again);
}

static void what_cannot_be_is_refused(void **state)
{
    struct hand *hand = *state;
    static const struct {
        const char *form[PM_BOTTLE_ATTRIBUTES];
        const char *piece;
    } cases[] = {
        {{[PM_BOTTLE_PRICE] = "12"}, "currency"},
        {{[PM_BOTTLE_PRICE] = "12 XQZ"}, "XQZ"},
        {{[PM_BOTTLE_STRENGTH] = "101%", [PM_BOTTLE_SOLVENT] = "Ethanol"}, "100 %"},
        {{[PM_BOTTLE_STRENGTH] = "10%"}, "solvent"},
        {{[PM_BOTTLE_SOLVENT] = "Ethanol"}, "neat"},
        {{[PM_BOTTLE_STRENGTH] = "10%", [PM_BOTTLE_SOLVENT] = "Cedrol"}, "not a solvent"},
        {{[PM_BOTTLE_BOUGHT] = "2026-02-30"}, "2026-02-30"},
        {{[PM_BOTTLE_BOUGHT] = "2026-03-02", [PM_BOTTLE_OPENED] = "2026-03-01"},
         "before it was bought"},
        {{[PM_BOTTLE_BOUGHT] = "2026-03-02", [PM_BOTTLE_BEST_BEFORE] = "2025-03-01"},
         "before the day"},
        {{[PM_BOTTLE_BOUGHT] = "2999-03-02"}, "still to come"},
        {{[PM_BOTTLE_OPENED] = "2999-03-02"}, "still to come"},
        {{[PM_BOTTLE_TARE] = "-5g"}, "-5g"},
        {{[PM_BOTTLE_MADE_FROM] = "B900"}, "B900"},
    };
    hand_solvent(hand, "Ethanol");
    int64_t material = hand_material(hand, "Cedrol"), id = 0;
    struct pm_bottles cards;
    const struct pm_bottle_filter all = {.set_aside_too = true};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        enum pm_status status =
            pm_bottle_add(hand->studio, material, PM_GRAM, cases[i].form, 0, &id, &hand->err);
        assert_true(status == PM_INVALID || status == PM_REFUSED || status == PM_MISSING);
        if (strstr(hand->err.text, cases[i].piece) == NULL)
            fail_msg("case %zu: %s", i, hand->err.text);
    }
    hand_refused(hand, pm_bottle_add(hand->studio, material, -1, NULL, 0, &id, &hand->err),
                 PM_INVALID, "mass");
    hand_ok(hand, pm_bottles_list(hand->studio, &all, &cards, &hand->err));
    assert_int_equal(cards.count, 0);
    pm_list_release(&cards);
    hand_refused(hand, pm_bottle_find(hand->studio, "Cedrol", &id, &hand->err), PM_INVALID, "B");
    /* A solvent is one as long as something is diluted with it. */
    const char *const ten[PM_BOTTLE_ATTRIBUTES] = {
        [PM_BOTTLE_STRENGTH] = "10%", [PM_BOTTLE_SOLVENT] = "Ethanol"};
    const char *const chemical[PM_MATERIAL_ATTRIBUTES] = {[PM_MATERIAL_KIND] = "chemical"};
    int64_t ethanol = hand_solvent(hand, "Ethanol"), tec = hand_solvent(hand, "Triethyl citrate");
    hand_ok(hand, pm_bottle_add(hand->studio, material, PM_GRAM, ten, 0, &id, &hand->err));
    hand_refused(hand, pm_shelf_edit(hand->studio, ethanol, chemical, &hand->err), PM_REFUSED,
                 "Ethanol, so it stays a solvent");
    hand_ok(hand, pm_shelf_edit(hand->studio, tec, chemical, &hand->err));
    const struct pm_movement later = {.kind = PM_POURED, .mass = 1, .at = hand->time + 3 * DAY};
    int64_t full = bottle(hand, "Cedrol", 5, NULL);
    hand_refused(hand, pm_bottle_take(hand->studio, full, &later, false, NULL, &hand->err),
                 PM_INVALID, "still to come");
    assert_int_equal(left(hand, full), 5 * PM_GRAM);
    hand_refused(hand, pm_bottle_find(hand->studio, "B3", &id, &hand->err), PM_MISSING, "B003");
    hand_refused(hand,
                 pm_shelf_set_constituent(hand->studio, hand_material(hand, "Cedrol"),
                                          (const char *const[PM_CONSTITUENT_ATTRIBUTES]){
                                              [PM_CONSTITUENT_NAME] = "cedrene"},
                                          &hand->err),
                 PM_REFUSED, "holds no cedrene");
}

static void a_material_in_a_bottle_is_set_aside_not_removed(void **state)
{
    struct hand *hand = *state;
    bool aside = false;
    bottle(hand, "Cedrol", 1, NULL);
    hand_ok(hand, pm_shelf_remove(hand->studio, hand_material(hand, "Cedrol"), &aside, &hand->err));
    assert_true(aside);
    sound(hand);
}

/* ---- dilutions ---- */

static int64_t dilute(struct hand *hand, pm_strength strength, pm_mass target, int64_t from,
                      pm_mass stock, pm_mass solvent)
{
    const struct pm_dilution_wish wish = {.material = hand_material(hand, "Cedrol"),
                                          .strength = strength,
                                          .target = target,
                                          .solvent = hand_solvent(hand, "Ethanol"),
                                          .from = from};
    struct pm_dilution plan;
    int64_t made = 0;
    hand_ok(hand, pm_dilution_plan(hand->studio, &wish, &plan, &hand->err));
    hand_ok(hand, pm_dilution_make(hand->studio, &plan, stock ? stock : plan.of_stock,
                                   solvent ? solvent : plan.of_solvent, NULL, false, 0, &made, NULL,
                                   &hand->err));
    pm_dilution_release(&plan);
    return made;
}

/* The true strength is what was weighed: 3.01 g and 27.00 g make 10.03 %. Both bottles go down, the
 * lots of both stand on the new one; then the same again from it. */
static void a_dilution_carries_its_true_strength(void **state)
{
    struct hand *hand = *state;
    hand_solvent(hand, "Ethanol");
    int64_t neat = bottle(hand, "Cedrol", 10, "20 EUR");
    int64_t ethanol = bottle(hand, "Ethanol", 1000, "10 EUR");
    int64_t ten = dilute(hand, 10 * PERCENT, 30 * PM_GRAM, 0, 3010000, 27000000);
    struct pm_bottle card;
    hand_ok(hand, pm_bottle_show(hand->studio, ten, &hand->arena, &card, &hand->err));
    assert_int_equal(card.strength, 100299900); /* 3.01 / 30.01 */
    assert_int_equal(card.left, 30010000);
    assert_int_equal(card.made_from, neat);
    assert_string_equal(card.lot, "L1 in L1");
    assert_string_equal(card.solvent_name, "Ethanol");
    assert_int_equal(left(hand, neat), 6990000);
    assert_int_equal(left(hand, ethanol), 973000000);
    int64_t one = dilute(hand, PERCENT, 20 * PM_GRAM, ten, 0, 0);
    hand_ok(hand, pm_bottle_show(hand->studio, one, &hand->arena, &card, &hand->err));
    assert_int_equal(card.made_from, ten);
    assert_true(llabs(card.strength - PERCENT) < PERCENT / 200);
    hand_ok(hand, pm_shelf_undo(hand->studio, NULL, &hand->err));
    assert_int_equal(left(hand, ten), 30010000);
    hand_reopen(hand);
    hand_ok(hand, pm_shelf_redo(hand->studio, NULL, &hand->err));
    assert_int_equal(left(hand, one), 20 * PM_GRAM);
    sound(hand);
}

/* An opened dilution in another solvent comes after the neat bottle; asked for, it is taken. */
static void solvents_are_not_mixed_unasked(void **state)
{
    struct hand *hand = *state;
    int64_t ethanol = hand_solvent(hand, "Ethanol"), tec = hand_solvent(hand, "Triethyl citrate");
    int64_t neat = bottle(hand, "Cedrol", 10, NULL);
    bottle(hand, "Ethanol", 100, NULL);
    struct pm_dilution_wish wish = {.material = hand_material(hand, "Cedrol"),
                                    .strength = 10 * PERCENT,
                                    .target = 10 * PM_GRAM,
                                    .solvent = tec};
    struct pm_dilution plan;
    int64_t ten = dilute(hand, 20 * PERCENT, 30 * PM_GRAM, 0, 0, 0);
    hand_ok(hand, pm_dilution_plan(hand->studio, &wish, &plan, &hand->err));
    assert_int_equal(plan.from, neat);
    pm_dilution_release(&plan);
    wish.solvent = ethanol;
    hand_ok(hand, pm_dilution_plan(hand->studio, &wish, &plan, &hand->err));
    assert_int_equal(plan.from, ten);
    pm_dilution_release(&plan);
    hand_ok(hand, pm_bottle_empty(hand->studio, neat, NULL, &hand->err));
    wish.solvent = tec;
    hand_ok(hand, pm_dilution_plan(hand->studio, &wish, &plan, &hand->err));
    assert_int_equal(plan.from, ten);
    assert_non_null(strstr(plan.remark, "mixture"));
    /* 5 g at 20 % bring 4 g of ethanol; with 3 g of the citrate the bottle is one in ethanol. */
    const char *const said[PM_BOTTLE_ATTRIBUTES] = {[PM_BOTTLE_NOTE] = "for the quay"};
    struct pm_bottle card;
    int64_t made = 0;
    hand_ok(hand, pm_dilution_make(hand->studio, &plan, 5 * PM_GRAM, 3 * PM_GRAM, said, false, 0,
                                   &made, NULL, &hand->err));
    hand_ok(hand, pm_bottle_show(hand->studio, made, &hand->arena, &card, &hand->err));
    assert_string_equal(card.solvent_name, "Ethanol");
    assert_string_equal(card.note,
                        "for the quay · solvents: 4.00 g Ethanol, 3.00 g Triethyl citrate");
    pm_dilution_release(&plan);
}

/* What began with 3 g of stock and 27 g of solvent is nearly empty below 3 g. */
static void a_dilution_is_nearly_empty_by_all_it_held(void **state)
{
    struct hand *hand = *state;
    struct pm_bottle card;
    hand_solvent(hand, "Ethanol");
    bottle(hand, "Cedrol", 10, NULL);
    int64_t ten = dilute(hand, 10 * PERCENT, 30 * PM_GRAM, 0, 0, 0);
    hand_ok(hand, take(hand, ten, "poured", 28, false, NULL));
    hand_ok(hand, pm_bottle_show(hand->studio, ten, &hand->arena, &card, &hand->err));
    assert_true(card.nearly_empty);
}

static void a_balance_cannot_read_so_little(void **state)
{
    struct hand *hand = *state;
    hand_solvent(hand, "Ethanol");
    bottle(hand, "Cedrol", 10, NULL);
    struct pm_dilution_wish wish = {.material = hand_material(hand, "Cedrol"),
                                    .strength = PERCENT / 100,
                                    .target = 10 * PM_GRAM,
                                    .solvent = hand_solvent(hand, "Ethanol"),
                                    .readability = 10000};
    struct pm_dilution plan;
    hand_refused(hand, pm_dilution_plan(hand->studio, &wish, &plan, &hand->err), PM_REFUSED,
                 "98.04 g");
    wish.readability = 1000;
    hand_ok(hand, pm_dilution_plan(hand->studio, &wish, &plan, &hand->err));
    assert_int_equal(plan.of_stock, 1000);
    assert_int_equal(plan.of_stock + plan.of_solvent, 10 * PM_GRAM);
    pm_dilution_release(&plan);
    wish.strength = 50 * PERCENT;
    wish.from = bottle(hand, "Ethanol", 5, NULL);
    hand_refused(hand, pm_dilution_plan(hand->studio, &wish, &plan, &hand->err), PM_REFUSED,
                 "does not hold");
}

/* Each where its own density is known, shown and typed; elsewhere a mass is asked for. */
static void volumes_where_a_density_is_known(void **state)
{
    struct hand *hand = *state;
    int64_t ethanol = hand_solvent(hand, "Ethanol"), cedrol = hand_material(hand, "Cedrol");
    bottle(hand, "Cedrol", 10, NULL);
    const struct pm_dilution_wish wish = {
        .material = cedrol, .strength = 10 * PERCENT, .target = 10 * PM_GRAM, .solvent = ethanol};
    struct pm_dilution plan;
    pm_mass stock = 0, solvent = 0;
    hand_ok(hand, pm_shelf_set_fact(hand->studio, ethanol, "density", "0.7893", NULL, &hand->err));
    hand_ok(hand, pm_dilution_plan(hand->studio, &wish, &plan, &hand->err));
    assert_int_equal(plan.stock_ul, -1);
    assert_int_equal(plan.solvent_ul, 11403); /* 9 g / 0.7893 g/ml */
    hand_ok(hand,
            pm_dilution_weighed(hand->studio, &plan, "1 g", "10 ml", &stock, &solvent, &hand->err));
    assert_int_equal(solvent, 7893 * (PM_GRAM / 1000));
    hand_refused(
        hand,
        pm_dilution_weighed(hand->studio, &plan, "1 ml", "10 ml", &stock, &solvent, &hand->err),
        PM_REFUSED, "no density is known");
    assert_string_equal(hand->err.field, "stock");
    pm_dilution_release(&plan);
    hand_ok(hand, pm_shelf_set_fact(hand->studio, cedrol, "density", "0.8", NULL, &hand->err));
    hand_ok(hand, pm_dilution_plan(hand->studio, &wish, &plan, &hand->err));
    assert_int_equal(plan.stock_ul, 1250);
    pm_dilution_release(&plan);
}

/* ---- cost ---- */

/* 50 g of: Cedrol at 10 % from a bottle made here (neat 2 EUR/g, ethanol 0.01 EUR/g), a priced neat
 * material in another currency, one without a price, ethanol. */
static void a_batch_costs_what_its_bottles_cost(void **state)
{
    struct hand *hand = *state;
    hand_solvent(hand, "Ethanol");
    bottle(hand, "Cedrol", 10, "20 EUR");
    bottle(hand, "Ethanol", 1000, "10 EUR");
    bottle(hand, "Vetiver", 10, "5 CHF");
    int64_t ten = dilute(hand, 10 * PERCENT, 30 * PM_GRAM, 0, 3 * PM_GRAM, 27 * PM_GRAM);
    int64_t formula = hand_formula(hand, "Quay", 100);
    hand_add_at(hand, formula, "Cedrol", 20, "10%", "Ethanol");
    hand_add(hand, formula, "Vetiver", 10);
    hand_add(hand, formula, "Linalool", 30);
    hand_add(hand, formula, "Ethanol", 40);
    struct pm_sheet *sheet = hand_draft(hand, formula);
    struct pm_cost_wish wish = {.batch = 50 * PM_GRAM};
    struct pm_cost cost;
    hand_ok(hand, pm_stock_cost(hand->studio, sheet, &wish, &cost, &hand->err));
    assert_int_equal(cost.count, 4);
    /* 10 g of the dilution: 1 g of Cedrol and 9 g of ethanol */
    assert_int_equal(pm_sum_in(&cost.lines[0].sum, "EUR"), 2090000);
    assert_int_equal(cost.lines[0].bottle, ten);
    assert_int_equal(pm_sum_in(&cost.lines[1].sum, "CHF"), 2500000);
    assert_int_equal(cost.lines[2].unknown, 1);
    assert_int_equal(cost.lines[2].sum.count, 0); /* unknown is not zero */
    assert_int_equal(cost.unknown, 1);
    assert_string_equal(cost.unknown_names, "Linalool");
    assert_int_equal(pm_sum_in(&cost.sum, "EUR"), 2290000);
    assert_int_equal(pm_sum_in(&cost.per_kilogram, "EUR"), 45800000);
    assert_int_equal(pm_sum_in(&cost.per_kilogram, "CHF"), 50000000);
    pm_cost_release(&cost);
    hand_ok(hand, pm_stock_set_rate(hand->studio, "EUR", "CHF", "0.95", PM_NO_DAY, &hand->err));
    hand_refused(
        hand,
        pm_stock_set_rate(hand->studio, "EUR", "CHF", "0.9", pm_day_of(hand->time) + 3, &hand->err),
        PM_INVALID, "has come");
    wish.currency = "chf";
    wish.dosage = 20 * PERCENT;
    wish.product = 50 * PM_GRAM;
    hand_ok(hand, pm_stock_cost(hand->studio, sheet, &wish, &cost, &hand->err));
    assert_int_equal(cost.sum.count, 1);
    assert_int_equal(pm_sum_in(&cost.sum, "CHF"), 4675500); /* 2.29 x 0.95 + 2.50 */
    assert_int_equal(cost.rate_day, pm_day_of(hand->time));
    /* a fifth of the batch, and 40 g of ethanol */
    assert_int_equal(cost.product_solvent, 40 * PM_GRAM);
    assert_int_equal(pm_sum_in(&cost.per_bottle, "CHF"), 935100 + 380000);
    pm_cost_release(&cost);
    pm_sheet_free(sheet);
}

/* A trace of a dilution of a dilution. By hand: 4490 ug at 0.1 % hold 4.49 ug of what costs 2
 * USD/g, 8.98e-6 USD; rounded to whole micrograms on the way back it would be 4 ug and 8e-6 USD. */
static void a_trace_costs_what_is_in_it(void **state)
{
    struct hand *hand = *state;
    hand_solvent(hand, "Ethanol");
    bottle(hand, "Cedrol", 10, "20 USD");
    bottle(hand, "Ethanol", 1000, "10 EUR");
    const int64_t ten = dilute(hand, 10 * PERCENT, 30 * PM_GRAM, 0, 3 * PM_GRAM, 27 * PM_GRAM);
    dilute(hand, PERCENT / 10, 100 * PM_GRAM, ten, PM_GRAM, 99 * PM_GRAM);
    const int64_t formula = hand_formula(hand, "Trace", 1000);
    hand_add_at(hand, formula, "Cedrol", 4.49, "0.1%", "Ethanol");
    hand_add(hand, formula, "Ethanol", 995.51);
    struct pm_sheet *sheet = hand_draft(hand, formula);
    const struct pm_cost_wish wish = {.batch = PM_GRAM};
    struct pm_cost cost;
    hand_ok(hand, pm_stock_cost(hand->studio, sheet, &wish, &cost, &hand->err));
    assert_int_equal(cost.lines[0].mass, 4490);
    assert_int_equal(pm_sum_in(&cost.lines[0].sum, "USD"), 9);
    /* 4485.51 ug of ethanol in it at 0.01 EUR/g */
    assert_int_equal(pm_sum_in(&cost.lines[0].sum, "EUR"), 45);
    pm_cost_release(&cost);
    pm_sheet_free(sheet);
}

static void the_oldest_bottle_sets_the_price_unless_one_is_chosen(void **state)
{
    struct hand *hand = *state;
    const char *const opened[PM_BOTTLE_ATTRIBUTES] = {
        [PM_BOTTLE_PRICE] = "30 EUR", [PM_BOTTLE_OPENED] = "2020-01-02"};
    int64_t cheap = bottle(hand, "Vetiver", 10, "10 EUR"), old = 0;
    hand_ok(hand, pm_bottle_add(hand->studio, hand_material(hand, "Vetiver"), 10 * PM_GRAM, opened,
                                0, &old, &hand->err));
    int64_t formula = hand_formula(hand, "Quay", 100);
    hand_add(hand, formula, "Vetiver", 100);
    struct pm_sheet *sheet = hand_draft(hand, formula);
    struct pm_cost_wish wish = {.batch = PM_GRAM};
    struct pm_cost cost;
    hand_ok(hand, pm_stock_cost(hand->studio, sheet, &wish, &cost, &hand->err));
    assert_int_equal(cost.lines[0].bottle, old);
    assert_int_equal(pm_sum_in(&cost.sum, "EUR"), 3000000);
    pm_cost_release(&cost);
    wish.bottles = &cheap;
    wish.bottle_count = 1;
    hand_ok(hand, pm_stock_cost(hand->studio, sheet, &wish, &cost, &hand->err));
    assert_int_equal(pm_sum_in(&cost.sum, "EUR"), 1000000);
    pm_cost_release(&cost);
    pm_sheet_free(sheet);
}

/* ---- what is lacking, what to buy ---- */

static void a_line_says_what_is_wrong_with_its_bottle(void **state)
{
    struct hand *hand = *state;
    hand_solvent(hand, "Ethanol");
    const char *const past[PM_BOTTLE_ATTRIBUTES] = {[PM_BOTTLE_BEST_BEFORE] = "2001-01-01"};
    bottle(hand, "Cedrol", 10, NULL);
    hand_ok(hand, pm_bottle_add(hand->studio, hand_material(hand, "Vetiver"), 100 * PM_GRAM, past,
                                0, NULL, &hand->err));
    bottle(hand, "Linalool", 1, NULL);
    bottle(hand, "Ethanol", 1000, NULL);
    /* The same strength in another solvent does not serve. */
    const char *const other[PM_BOTTLE_ATTRIBUTES] = {
        [PM_BOTTLE_STRENGTH] = "10%", [PM_BOTTLE_SOLVENT] = "Glycol"};
    hand_solvent(hand, "Glycol");
    hand_ok(hand, pm_bottle_add(hand->studio, hand_material(hand, "Cedrol"), 50 * PM_GRAM, other, 0,
                                NULL, &hand->err));
    int64_t formula = hand_formula(hand, "Quay", 100);
    hand_add_at(hand, formula, "Cedrol", 20, "10%", "Ethanol"); /* only a stronger bottle */
    hand_add(hand, formula, "Vetiver", 10);                     /* past its date */
    hand_add(hand, formula, "Linalool", 30);                    /* short */
    hand_add(hand, formula, "Ambrette", 20);                    /* no bottle */
    hand_add(hand, formula, "Ethanol", 20);
    struct pm_sheet *sheet = hand_draft(hand, formula);
    struct pm_needs needs;
    hand_ok(hand, pm_stock_needs(hand->studio, sheet, 50 * PM_GRAM, &needs, &hand->err));
    static const enum pm_stock_state states[] = {PM_STOCK_DILUTE, PM_STOCK_PAST, PM_STOCK_SHORT,
                                                 PM_STOCK_MISSING, PM_STOCK_OK};
    assert_int_equal(needs.count, 5);
    for (size_t i = 0; i < 5; i++) {
        assert_int_equal(needs.items[i].state, states[i]);
        assert_int_equal(needs.lines[i], states[i]);
    }
    assert_int_equal(needs.lacking, 3);
    pm_needs_release(&needs);
    /* 20 g of Cedrol, neat: 10 g can be diluted, the 50 g in a weaker bottle cannot help. */
    const char *const weak[PM_BOTTLE_ATTRIBUTES] = {
        [PM_BOTTLE_STRENGTH] = "1%", [PM_BOTTLE_SOLVENT] = "Ethanol"};
    hand_ok(hand, pm_bottle_add(hand->studio, hand_material(hand, "Cedrol"), 5000 * PM_GRAM, weak,
                                0, NULL, &hand->err));
    hand_ok(hand, pm_stock_needs(hand->studio, sheet, 1000 * PM_GRAM, &needs, &hand->err));
    assert_int_equal(needs.items[0].state, PM_STOCK_SHORT);
    pm_needs_release(&needs);
    pm_sheet_free(sheet);
    struct pm_possibles possible;
    hand_ok(hand, pm_stock_possible(hand->studio, 50 * PM_GRAM, &possible, &hand->err));
    assert_int_equal(possible.count, 1);
    assert_int_equal(possible.items[0].lacking, 3);
    assert_non_null(strstr(possible.items[0].what, "short of Linalool (14.00 g)"));
    assert_non_null(strstr(possible.items[0].what, "no Ambrette"));
    pm_possibles_release(&possible);
}

static void shopping_is_what_plans_need_beyond_stock(void **state)
{
    struct hand *hand = *state;
    int64_t plan = 0;
    bottle(hand, "Vetiver", 10, "5 EUR");
    bottle(hand, "Cedrol", 10, "5 EUR");
    int64_t formula = hand_formula(hand, "Quay", 100);
    hand_add(hand, formula, "Vetiver", 50);
    hand_add(hand, formula, "Cedrol", 10);
    hand_add(hand, formula, "Linalool", 40);
    hand_keep(hand, formula, NULL);
    hand_plan(hand, "Quay/1", "30 g", NULL, NULL);
    hand_plan(hand, "Quay/1", "10 g", "more", &plan);
    struct pm_shopping list;
    hand_ok(hand, pm_stock_shopping(hand->studio, false, &list, &hand->err));
    assert_int_equal(list.count, 2); /* of Cedrol 4 g are needed and 10 g there */
    assert_string_equal(list.lines[0].name, "Vetiver");
    assert_string_equal(list.lines[0].supplier, "supplier A");
    assert_string_equal(list.lines[0].last_price, "5.00 EUR for 10 g");
    assert_int_equal(list.lines[0].buy, 10 * PM_GRAM);
    assert_string_equal(list.lines[1].name, "Linalool");
    assert_null(list.lines[1].supplier);
    assert_int_equal(list.lines[1].buy, 16 * PM_GRAM);
    pm_shopping_release(&list);
    hand_ok(hand, pm_batch_done(hand->studio, plan, &hand->err));
    hand_ok(hand, pm_shelf_set_fact(hand->studio, hand_material(hand, "Cedrol"), "low", "9", NULL,
                                    &hand->err));
    hand_ok(hand, pm_stock_shopping(hand->studio, true, &list, &hand->err));
    assert_int_equal(list.count, 3);
    assert_string_equal(list.lines[0].name, "Cedrol"); /* 10 - 3 leaves 7 of 9 */
    assert_true(list.lines[0].level);
    assert_int_equal(list.lines[0].buy, 2 * PM_GRAM);
    pm_shopping_release(&list);
}

/* ---- faults ---- */

/* Whatever request for memory fails: nothing is half done, and the same works afterwards. */
static void shopping_says(struct hand *hand, const char *name, double grams)
{
    struct pm_shopping list;
    pm_mass buy = 0;
    hand_ok(hand, pm_stock_shopping(hand->studio, false, &list, &hand->err));
    for (size_t i = 0; i < list.count; i++)
        if (strcmp(list.lines[i].name, name) == 0)
            buy = list.lines[i].buy;
    assert_int_equal(buy, (pm_mass)(grams * 1e6 + 0.5));
    pm_shopping_release(&list);
}

/* 100 g of a 10 % dilution: a batch that pours less of it needs no solvent. One that pours 210 g
 * needs 11 g of the material and 99 g of solvent more. A bottle at 1 % helps with neither. */
static void shopping_counts_the_solvent_that_is_in_dilutions(void **state)
{
    struct hand *hand = *state;
    const char *const ten[PM_BOTTLE_ATTRIBUTES] = {
        [PM_BOTTLE_STRENGTH] = "10%", [PM_BOTTLE_SOLVENT] = "Ethanol"};
    const char *const one[PM_BOTTLE_ATTRIBUTES] = {
        [PM_BOTTLE_STRENGTH] = "1%", [PM_BOTTLE_SOLVENT] = "Ethanol"};
    int64_t cedrol = hand_material(hand, "Cedrol"), id = 0;
    hand_solvent(hand, "Ethanol");
    hand_ok(hand, pm_bottle_add(hand->studio, cedrol, 100 * PM_GRAM, ten, 0, &id, &hand->err));
    hand_ok(hand, pm_bottle_add(hand->studio, cedrol, 5000 * PM_GRAM, one, 0, &id, &hand->err));
    int64_t formula = hand_formula(hand, "Quay", 100);
    hand_add_at(hand, formula, "Cedrol", 100, "10%", "Ethanol");
    hand_keep(hand, formula, NULL);
    hand_plan(hand, "Quay/1", "10 g", NULL, NULL);
    shopping_says(hand, "Ethanol", 0);
    shopping_says(hand, "Cedrol", 0);
    hand_plan(hand, "Quay/1", "200 g", NULL, NULL);
    shopping_says(hand, "Ethanol", 99);
    shopping_says(hand, "Cedrol", 11);
    /* 20 g at 50 % give 10 g of it and 10 g of solvent; 12 g of solvent stand there. */
    const char *const half[PM_BOTTLE_ATTRIBUTES] = {
        [PM_BOTTLE_STRENGTH] = "50%", [PM_BOTTLE_SOLVENT] = "Ethanol"};
    hand_ok(hand, pm_bottle_add(hand->studio, cedrol, 20 * PM_GRAM, half, 0, &id, &hand->err));
    bottle(hand, "Ethanol", 12, NULL);
    shopping_says(hand, "Cedrol", 1);
    shopping_says(hand, "Ethanol", 99 - 10 - 12);
}

static void a_dilution_survives_lost_memory(void **state)
{
    struct hand *hand = *state;
    hand_solvent(hand, "Ethanol");
    int64_t neat = bottle(hand, "Cedrol", 10, "20 EUR");
    bottle(hand, "Ethanol", 100, NULL);
    const struct pm_dilution_wish wish = {.material = hand_material(hand, "Cedrol"),
                                          .strength = 10 * PERCENT,
                                          .target = 10 * PM_GRAM,
                                          .solvent = hand_solvent(hand, "Ethanol")};
    for (long n = 1;; n++) {
        struct pm_dilution plan = {.from = 0};
        pm_mem_fail_at(n, false);
        enum pm_status status = pm_dilution_plan(hand->studio, &wish, &plan, &hand->err);
        if (status == PM_OK)
            status = pm_dilution_make(hand->studio, &plan, PM_GRAM, 9 * PM_GRAM, NULL, false, 0,
                                      NULL, NULL, &hand->err);
        bool met = pm_mem_fail_at(0, false) >= n;
        pm_dilution_release(&plan);
        if (!met) {
            hand_ok(hand, status);
            break;
        }
        if (status == PM_OK) /* a fault that cost nothing but a cache */
            hand_ok(hand, pm_shelf_undo(hand->studio, NULL, &hand->err));
        else
            assert_int_equal(status, PM_NOMEM);
        assert_int_equal(left(hand, neat), 10 * PM_GRAM);
    }
    assert_int_equal(left(hand, neat), 9 * PM_GRAM);
    sound(hand);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, hand_setup, hand_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(what_is_left_is_the_sum_of_the_ledger),
        TEST(nothing_goes_below_zero_unasked),
        TEST(what_fell_below_zero_can_be_undone),
        TEST(a_late_price_is_for_what_was_received),
        TEST(several_takings_are_all_or_none),
        TEST(pours_for_a_trial_say_that_it_was_weighed),
        TEST(a_new_name_does_not_read_weighed),
        TEST(a_day_is_the_same_wherever_it_is_read),
        TEST(an_absurd_count_is_refused_in_words),
        TEST(bottles_and_ledgers_come_in_as_they_went_out),
        TEST(what_cannot_be_is_refused),
        TEST(a_material_in_a_bottle_is_set_aside_not_removed),
        TEST(a_dilution_carries_its_true_strength),
        TEST(solvents_are_not_mixed_unasked),
        TEST(a_dilution_is_nearly_empty_by_all_it_held),
        TEST(a_balance_cannot_read_so_little),
        TEST(volumes_where_a_density_is_known),
        TEST(a_batch_costs_what_its_bottles_cost),
        TEST(a_trace_costs_what_is_in_it),
        TEST(the_oldest_bottle_sets_the_price_unless_one_is_chosen),
        TEST(a_line_says_what_is_wrong_with_its_bottle),
        TEST(shopping_is_what_plans_need_beyond_stock),
        TEST(shopping_counts_the_solvent_that_is_in_dilutions),
        TEST(a_dilution_survives_lost_memory),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
