/* SPDX-License-Identifier: MIT */
/* What a batch pours, the order of bottles, sums of money, currency codes, prices. */
#include "permille/base/mem.h"
#include "permille/core/cost.h"
#include "permille/core/currency.h"
#include "permille/core/stock.h"
#include "trials.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define PERCENT (PM_NEAT / 100)

/* ---- pours ---- */

/* Accord 100: material 1 three parts, material 2 at 10 % one part. */
static struct pm_trial accord, nested;

static const struct pm_trial *find_trial(void *context, int64_t id, struct pm_error *err)
{
    (void)context;
    if (id == 100)
        return &accord;
    if (id == 200)
        return &nested;
    pm_fail(err, PM_MISSING, "There is no trial %d.", (int)id);
    return NULL;
}

static void put_accord(struct pm_trial *trial, int64_t id, pm_parts parts)
{
    struct pm_line line = {.kind = PM_LINE_ACCORD, .ref = id, .strength = PM_NEAT, .parts = parts};
    assert_int_equal(pm_trial_insert(trial, trial->count, &line, NULL), PM_OK);
}

static int make_accords(void **state)
{
    (void)state;
    pm_trial_init(&accord, P(4), PM_SHARE);
    tr_put(&accord, 1, P(3), PM_FREE);
    tr_put_at(&accord, 2, P(1), 10 * PERCENT, 9);
    pm_trial_init(&nested, P(10), PM_SHARE);
    put_accord(&nested, 100, P(8));
    tr_put(&nested, 1, P(2), PM_FREE);
    return 0;
}

static int free_accords(void **state)
{
    (void)state;
    pm_trial_release(&accord);
    pm_trial_release(&nested);
    return 0;
}

/* An accord's materials in proportion; the same thing twice in one line is one pour. */
static void a_batch_pours_what_its_accords_hold(void **state)
{
    (void)state;
    const struct pm_trial_source source = {find_trial, NULL};
    struct pm_trial trial;
    struct pm_pours pours;
    pm_trial_init(&trial, P(100), PM_SHARE);
    put_accord(&trial, 200, P(50));
    tr_put(&trial, 1, P(50), PM_FREE);
    assert_int_equal(pm_pours_of(&trial, &source, 100 * PM_GRAM, &pours, NULL), PM_OK);
    assert_int_equal(pours.count, 3);
    /* 50 g of the nested accord: 40 g of the inner one (30 g, 10 g) and 10 g more of material 1 */
    assert_int_equal(pours.items[0].material, 1);
    assert_int_equal(pours.items[0].mass, 40 * PM_GRAM);
    assert_int_equal(pours.items[0].line, trial.lines[0].id);
    assert_int_equal(pours.items[1].material, 2);
    assert_int_equal(pours.items[1].strength, 10 * PERCENT);
    assert_int_equal(pours.items[1].mass, 10 * PM_GRAM);
    assert_int_equal(pours.items[2].mass, 50 * PM_GRAM);
    assert_int_equal(pours.items[2].line, trial.lines[1].id);
    pm_pours_release(&pours);
    pm_trial_release(&trial);
}

/* What cannot be divided evenly still adds up to the batch. */
static void pours_add_up_to_the_batch(void **state)
{
    (void)state;
    const struct pm_trial_source source = {find_trial, NULL};
    struct tr_random random = {7};
    for (int round = 0; round < 200; round++) {
        struct pm_trial trial;
        struct pm_pours pours;
        pm_mass mass = 1 + tr_random_below(&random, 50 * PM_GRAM), sum = 0;
        pm_trial_init(&trial, P(1000), PM_OPEN);
        put_accord(&trial, 200, 1 + tr_random_below(&random, P(300)));
        for (int i = 0; i < 5; i++)
            tr_put(&trial, 10 + i, tr_random_parts(&random, P(200)), PM_FREE);
        assert_int_equal(pm_pours_of(&trial, &source, mass, &pours, NULL), PM_OK);
        for (size_t i = 0; i < pours.count; i++) {
            assert_true(pours.items[i].mass >= 0);
            sum += pours.items[i].mass;
        }
        assert_int_equal(sum, mass);
        pm_pours_release(&pours);
        pm_trial_release(&trial);
    }
}

static void nothing_cannot_be_poured(void **state)
{
    (void)state;
    const struct pm_trial_source source = {find_trial, NULL};
    struct pm_trial trial;
    struct pm_pours pours;
    pm_trial_init(&trial, P(100), PM_SHARE);
    assert_int_equal(pm_pours_of(&trial, &source, PM_GRAM, &pours, NULL), PM_REFUSED);
    tr_put(&trial, 1, P(1), PM_FREE);
    assert_int_equal(pm_pours_of(&trial, &source, 0, &pours, NULL), PM_INVALID);
    put_accord(&trial, 300, P(1));
    struct pm_error err;
    assert_int_equal(pm_pours_of(&trial, &source, PM_GRAM, &pours, &err), PM_MISSING);
    pm_trial_release(&trial);
}

static void lost_memory_is_told(void **state)
{
    (void)state;
    const struct pm_trial_source source = {find_trial, NULL};
    struct pm_trial trial;
    struct pm_pours pours;
    pm_trial_init(&trial, P(100), PM_SHARE);
    put_accord(&trial, 200, P(50));
    for (long n = 1;; n++) {
        pm_mem_fail_at(n, false);
        enum pm_status status = pm_pours_of(&trial, &source, PM_GRAM, &pours, NULL);
        if (pm_mem_fail_at(0, false) < n) {
            assert_int_equal(status, PM_OK);
            break;
        }
        assert_int_equal(status, PM_NOMEM);
    }
    pm_pours_release(&pours);
    pm_trial_release(&trial);
}

/* ---- bottles ---- */

static void bottles_are_poured_oldest_opened_first(void **state)
{
    (void)state;
    const pm_day now = 1000, no = PM_NO_DAY;
    struct pm_stock_bottle bottles[] = {
        {.id = 1, .since = 5, .opened = no, .best_before = no, .left = 10}, /* unopened, old */
        {.id = 2, .since = 9, .opened = 20, .best_before = no, .left = 10}, /* opened late */
        {.id = 3, .since = 10, .opened = 0, .best_before = no, .left = 10}, /* on day 0: early */
        {.id = 4, .since = 1, .opened = 1, .best_before = 999, .left = 10}, /* past its date */
        {.id = 5, .since = 900, .chosen = true, .opened = no, .best_before = no, .left = 10},
    };
    const int64_t order[] = {5, 3, 2, 1, 4};
    pm_stock_order(bottles, 5, now);
    for (size_t i = 0; i < 5; i++)
        assert_int_equal(bottles[i].id, order[i]);
    assert_int_equal(pm_stock_draw(bottles, 5, 25), 0);
    assert_int_equal(bottles[0].take, 10);
    assert_int_equal(bottles[2].take, 5);
    assert_int_equal(bottles[3].take, 0);
    assert_int_equal(pm_stock_draw(bottles, 5, 64), 14);
    assert_int_equal(bottles[4].take, 10);
}

/* What dilutes best goes before what was opened first, not before what is in date or was chosen. */
static void the_better_stock_goes_first(void **state)
{
    (void)state;
    const pm_day no = PM_NO_DAY;
    struct pm_stock_bottle bottles[] = {
        {.id = 1, .opened = 1, .best_before = no, .grade = 5},
        {.id = 2, .opened = 2, .best_before = no, .grade = 9},
        {.id = 3, .opened = 3, .best_before = 1, .grade = 10}, /* past its date */
        {.id = 4, .opened = 4, .best_before = no, .grade = 1, .chosen = true},
    };
    const int64_t order[] = {4, 2, 1, 3};
    pm_stock_order(bottles, 4, 1000);
    for (size_t i = 0; i < 4; i++)
        assert_int_equal(bottles[i].id, order[i]);
}

static void low_is_more_than_rounded_away(void **state)
{
    (void)state;
    assert_false(pm_stock_low(40 * PM_GRAM, 40 * PM_GRAM));
    assert_false(pm_stock_low(40 * PM_GRAM, 40 * PM_GRAM - 1));
    assert_true(pm_stock_low(40 * PM_GRAM, 40 * PM_GRAM - 1000));
    assert_true(pm_stock_low(1000, 0));
    assert_false(pm_stock_low(0, 0));
}

static void nothing_is_taken_from_below_zero(void **state)
{
    (void)state;
    struct pm_stock_bottle bottles[] = {{.id = 1, .left = -5}, {.id = 2, .left = 3}};
    assert_int_equal(pm_stock_draw(bottles, 2, 4), 1);
    assert_int_equal(bottles[0].take, 0);
}

static void the_last_day_still_counts(void **state)
{
    (void)state;
    assert_false(pm_stock_past(PM_NO_DAY, INT64_MAX));
    assert_false(pm_stock_past(10, 10));
    assert_true(pm_stock_past(10, 11));
    /* A fiftieth of 10 % is 0.2 %: up to there a bottle serves, no further. */
    assert_true(pm_stock_serves(PM_NEAT / 1000 * 102, PM_NEAT / 10));
    assert_true(pm_stock_serves(PM_NEAT / 1000 * 98, PM_NEAT / 10));
    assert_false(pm_stock_serves(PM_NEAT / 1000 * 102 + 1, PM_NEAT / 10));
    assert_false(pm_stock_serves(PM_NEAT / 1000 * 98 - 1, PM_NEAT / 10));
    assert_true(pm_bottle_nearly_empty(9999, 100000));
    assert_false(pm_bottle_nearly_empty(10000, 100000)); /* a tenth is not less than a tenth */
    assert_false(pm_bottle_nearly_empty(0, 100000));
    assert_true(pm_stock_past(0, 1)); /* 1970-01-01 is a day like any other */
}

/* Three thirds of 1.00 EUR and 2.00 CHF: each currency adds up as it prints. */
static void printed_costs_add_up(void **state)
{
    (void)state;
    struct pm_sum rows[3] = {{.count = 0}}, total = {.count = 0};
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(pm_sum_add(&rows[i], "EUR", 333333 + (i == 2), NULL), PM_OK);
        if (i > 0)
            assert_int_equal(pm_sum_add(&rows[i], "CHF", 1004999, NULL), PM_OK);
        assert_int_equal(pm_sum_add_all(&total, &rows[i], NULL), PM_OK);
    }
    assert_int_equal(pm_sums_round(rows, 3, &total, NULL), PM_OK);
    assert_int_equal(pm_sum_in(&total, "EUR"), 1000000);
    assert_int_equal(pm_sum_in(&total, "CHF"), 2010000);
    const pm_money euros[] = {330000, 330000, 340000}, francs[] = {0, 1000000, 1000000};
    pm_money all = 0;
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(pm_sum_in(&rows[i], "EUR"), euros[i]);
        assert_int_equal(rows[i].count, i > 0 ? 2 : 1);
        assert_true(llabs(pm_sum_in(&rows[i], "CHF") - francs[i]) <= 10000);
        all += pm_sum_in(&rows[i], "CHF");
    }
    assert_int_equal(all, pm_sum_in(&total, "CHF"));
    (void)pm_mem_fail_at(1, false);
    assert_int_equal(pm_sums_round(rows, 3, &total, NULL), PM_NOMEM);
    (void)pm_mem_fail_at(0, false);
}

static void a_bottle_at_about_that_strength_serves(void **state)
{
    (void)state;
    assert_true(pm_stock_serves(10 * PERCENT + 3 * PERCENT / 100, 10 * PERCENT)); /* 10.03 % */
    assert_true(pm_stock_serves(98 * PERCENT / 100, PERCENT));
    assert_false(pm_stock_serves(11 * PERCENT, 10 * PERCENT));
    assert_false(pm_stock_serves(99 * PERCENT, PM_NEAT)); /* neat is neat */
    assert_true(pm_stock_serves(PM_NEAT, PM_NEAT));
}

/* ---- money ---- */

static void prices_are_read_with_their_currency(void **state)
{
    (void)state;
    pm_money money;
    char code[4];
    struct pm_error err;
    assert_int_equal(pm_price_read("19.20 EUR", &money, code, NULL), PM_OK);
    assert_int_equal(money, 19200000);
    assert_string_equal(code, "EUR");
    assert_int_equal(pm_price_read("chf 7,5", &money, code, NULL), PM_OK);
    assert_int_equal(money, 7500000);
    assert_string_equal(code, "CHF");
    assert_int_equal(pm_price_read("0EUR", &money, code, NULL), PM_OK);
    assert_int_equal(money, 0);
    assert_int_equal(pm_price_read("19.20", &money, code, &err), PM_INVALID);
    assert_non_null(strstr(err.text, "currency"));
    assert_int_equal(pm_price_read("-20 EUR", &money, code, &err), PM_INVALID);
    assert_non_null(strstr(err.text, "\"-20\""));
    assert_int_equal(pm_price_read("19.20 EURO", &money, code, NULL), PM_INVALID);
    assert_int_equal(pm_price_read("-3 EUR", &money, code, NULL), PM_INVALID);
    assert_int_equal(pm_price_read("EUR", &money, code, NULL), PM_INVALID);
    assert_int_equal(pm_price_read("", &money, code, NULL), PM_INVALID);
    assert_int_equal(pm_price_read("3 XQQ", &money, code, NULL), PM_INVALID);
}

/* ISO 4217 list one; the codes from memory, as the header says. Withdrawn ones are not in it. */
static void currency_codes_of_the_standard(void **state)
{
    (void)state;
    static const char *const in_use[] = {"EUR", "USD", "GBP", "CHF", "JPY", "INR", "AED", "ZAR"};
    static const char *const gone[] = {"DEM", "FRF", "HRK", "eur", "EU", "EURO", "", "   "};
    for (size_t i = 0; i < 8; i++) {
        assert_true(pm_currency_known(in_use[i]));
        assert_false(pm_currency_known(gone[i]));
    }
}

static void currencies_are_never_mixed_without_a_rate(void **state)
{
    (void)state;
    struct pm_sum sum = {.count = 0};
    struct pm_text text = PM_TEXT_EMPTY;
    assert_int_equal(pm_sum_add(&sum, "EUR", 12400000, NULL), PM_OK);
    assert_int_equal(pm_sum_add(&sum, "CHF", 3000000, NULL), PM_OK);
    assert_int_equal(pm_sum_add(&sum, "EUR", 100000, NULL), PM_OK);
    pm_sum_format(&sum, 2, '.', &text);
    assert_string_equal(pm_text_get(&text), "12.50 EUR + 3.00 CHF");
    assert_int_equal(pm_sum_exchange(&sum, "CHF", "EUR", 1050000000, NULL), PM_OK);
    assert_int_equal(sum.count, 1);
    assert_int_equal(pm_sum_in(&sum, "EUR"), 15650000);
    assert_int_equal(pm_sum_in(&sum, "CHF"), 0);
    pm_text_release(&text);
}

static void costs_that_do_not_fit_are_refused(void **state)
{
    (void)state;
    struct pm_sum sum = {.count = 0};
    pm_money money = 7;
    assert_int_equal(pm_cost_of(PM_MASS_MAX, INT64_MAX, 1, &money, NULL), PM_INVALID);
    assert_int_equal(money, 7);
    assert_int_equal(pm_cost_of(PM_GRAM, 100, 0, &money, NULL), PM_INVALID);
    assert_int_equal(pm_cost_of(5 * PM_GRAM, 12500000, 10 * PM_GRAM, &money, NULL), PM_OK);
    assert_int_equal(money, 6250000);
    assert_int_equal(pm_sum_add(&sum, "EUR", INT64_MAX, NULL), PM_OK);
    assert_int_equal(pm_sum_add(&sum, "EUR", 1, NULL), PM_INVALID);
    assert_int_equal(pm_sum_in(&sum, "EUR"), INT64_MAX);
    for (char code[4] = "AAA"; code[2] < 'A' + PM_CURRENCIES_MAX - 1; code[2]++)
        assert_int_equal(pm_sum_add(&sum, code, 1, NULL), PM_OK);
    assert_int_equal(pm_sum_add(&sum, "ZZZ", 1, NULL), PM_REFUSED);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_batch_pours_what_its_accords_hold),
        cmocka_unit_test(pours_add_up_to_the_batch),
        cmocka_unit_test(nothing_cannot_be_poured),
        cmocka_unit_test(lost_memory_is_told),
        cmocka_unit_test(bottles_are_poured_oldest_opened_first),
        cmocka_unit_test(the_better_stock_goes_first),
        cmocka_unit_test(low_is_more_than_rounded_away),
        cmocka_unit_test(nothing_is_taken_from_below_zero),
        cmocka_unit_test(the_last_day_still_counts),
        cmocka_unit_test(a_bottle_at_about_that_strength_serves),
        cmocka_unit_test(printed_costs_add_up),
        cmocka_unit_test(prices_are_read_with_their_currency),
        cmocka_unit_test(currency_codes_of_the_standard),
        cmocka_unit_test(currencies_are_never_mixed_without_a_rate),
        cmocka_unit_test(costs_that_do_not_fit_are_refused),
    };
    return cmocka_run_group_tests(tests, make_accords, free_accords);
}
