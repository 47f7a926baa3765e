/* SPDX-License-Identifier: MIT */
/*
 * Cost, stock and dilution: every number can be worked out by hand, and stands so beside its check.
 * Names and prices are invented.
 */
#include "program.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* A formula of 1000 parts: `first` of Alpha at that strength ("": neat), the rest Beta. */
static void formula(struct program *p, const char *name, const char *first, const char *strength,
                    const char *rest)
{
    program_does(p, WORDS("new", name));
    if (strength[0] != '\0')
        program_does(p, WORDS("add", name, "Alpha", first, "--at", strength, "--in", "Carrier"));
    else
        program_does(p, WORDS("add", name, "Alpha", first));
    program_does(p, WORDS("add", name, "Beta", rest));
}

static int64_t cents(struct program *p, const char *path)
{
    return program_number(p, path, 6);
}

/* A line of a dilution that is still to be made: the material counts, the solvent is named. */
static void an_unpriced_solvent_is_named(struct program *p, const char *unknown)
{
    program_asks(p, WORDS("cost", "Quay", "--batch", "50g"));
    assert_int_equal(cents(p, "$.lines[0].cost[0].amount"), 2000000); /* 1 g neat at 2 EUR */
    program_says(p, "$.lines[0].unknown", "1");
    program_says(p, "$.unknown", "1");
    program_says(p, "$.unknown_names", unknown);
}

static void a_priced_material_in_an_unpriced_solvent(void **state)
{
    struct program *p = *state;
    program_fill_shelf(p);
    program_does(p, WORDS("bottle", "add", "Alpha", "10g", "--price", "20 EUR"));
    program_does(p, WORDS("bottle", "add", "Beta", "1kg", "--price", "10 EUR"));
    formula(p, "Quay", "200", "10%", "800");
    an_unpriced_solvent_is_named(p, "\"Carrier\"");
    /* The same when it has been made, from a solvent without a price, or from none on the shelf. */
    program_does(p, WORDS("dilute", "Alpha", "10%", "20g", "--in", "Carrier"));
    an_unpriced_solvent_is_named(p, "\"Carrier\"");
    program_does(p, WORDS("bottle", "add", "Carrier", "1kg"));
    program_does(p, WORDS("dilute", "Alpha", "10%", "20g", "--in", "Carrier"));
    an_unpriced_solvent_is_named(p, "\"Carrier\"");
}

/* 50 g of which the first bottle holds 10 g: 10 x 2 + 40 x 1. What is beyond stock costs what the
 * last bottle cost, and two lines do not pour the same gram. */
static void a_batch_is_priced_across_bottles(void **state)
{
    struct program *p = *state;
    program_fill_shelf(p);
    program_does(
        p, WORDS("bottle", "add", "Alpha", "10g", "--price", "20 EUR", "--bought", "2025-01-05"));
    program_does(
        p, WORDS("bottle", "add", "Alpha", "100g", "--price", "100 EUR", "--bought", "2025-06-05"));
    program_does(p, WORDS("bottle", "add", "Beta", "1kg", "--price", "10 EUR"));
    formula(p, "Quay", "500", "", "500");
    program_asks(p, WORDS("cost", "Quay", "--batch", "100g"));
    assert_int_equal(cents(p, "$.lines[0].cost[0].amount"), 60000000);
    program_says(p, "$.lines[0].bottle", "\"B001\"");
    program_says(p, "$.lines[0].bottles", "2");
    program_does(p, WORDS("new", "Twice"));
    program_does(p, WORDS("add", "Twice", "Alpha", "100"));
    program_does(p, WORDS("add", "Twice", "Alpha", "400"));
    program_does(p, WORDS("add", "Twice", "Beta", "500"));
    program_asks(p, WORDS("cost", "Twice", "--batch", "100g"));
    assert_int_equal(cents(p, "$.lines[0].cost[0].amount"), 20000000);
    assert_int_equal(cents(p, "$.lines[1].cost[0].amount"), 40000000);
    /* What two lines pour is fetched once, and lacks together. */
    program_asks(p, WORDS("needs", "Twice", "100g"));
    assert_int_equal(program_count(p, "$.needs"), 2);
    program_says(p, "$.needs[0].need_g", "50");
    program_says(p, "$.needs[0].state", "\"ok\"");
    program_asks(p, WORDS("needs", "Twice", "400g"));
    program_says(p, "$.needs[0].need_g", "200");
    program_says(p, "$.needs[0].left_g", "110");
    program_says(p, "$.needs[0].state", "\"short\"");
    program_asks(p, WORDS("possible", "400g"));
    program_says(p, "$.possible[1].what", "\"short of Alpha (90.00 g)\"");
    program_asks(p, WORDS("cost", "Quay", "--batch", "400g")); /* 10 x 2 + 100 x 1 + 90 x 2 */
    assert_int_equal(cents(p, "$.lines[0].cost[0].amount"), 300000000);
}

/* 10 g of a 1 % line from a 10 % bottle: 1 g of it at 1 EUR, 9 g of solvent at 0.01 EUR. */
static void a_weak_line_comes_from_a_stronger_bottle(void **state)
{
    struct program *p = *state;
    program_fill_shelf(p);
    program_does(p, WORDS("bottle", "add", "Alpha", "50g", "--at", "10%", "--in", "Carrier",
                          "--price", "50 EUR"));
    program_does(p, WORDS("bottle", "add", "Beta", "1kg", "--price", "10 EUR"));
    formula(p, "Quay", "100", "1%", "900");
    program_does(p, WORDS("keep", "Quay"));
    /* There is no solvent to dilute it with: that is said, and bought. */
    program_asks(p, WORDS("possible", "100g"));
    program_says(p, "$.possible[0].lacking", "2");
    program_says(p, "$.possible[0].what", "\"dilute Alpha to 1 %, no Carrier\"");
    program_does(p, WORDS("needs", "Quay/1", "100g"));
    assert_non_null(strstr(p->err, "Diluting takes 9.00 g of Carrier, and 0.00 g of it is there."));
    program_does(p, WORDS("bottle", "add", "Carrier", "5g", "--price", "0.05 EUR"));
    program_asks(p, WORDS("possible", "100g"));
    program_says(p, "$.possible[0].what", "\"dilute Alpha to 1 %, short of Carrier (4.00 g)\"");
    program_does(p, WORDS("bottle", "add", "Carrier", "1kg", "--price", "10 EUR"));
    program_asks(p, WORDS("possible", "100g"));
    program_says(p, "$.possible[0].lacking", "1");
    program_says(p, "$.possible[0].what", "\"dilute Alpha to 1 %\"");
    program_asks(p, WORDS("needs", "Quay/1", "100g"));
    program_says(p, "$.needs[0].state", "\"dilute first\"");
    program_asks(p, WORDS("cost", "Quay", "--batch", "100g"));
    assert_int_equal(cents(p, "$.lines[0].cost[0].amount"), 1090000);
    program_says(p, "$.unknown", "0");
}

/* Three lines of 0.335 EUR: 0.34 + 0.33 + 0.33 above 1.00, or whatever adds up as printed. */
static void the_printed_column_adds_up(void **state)
{
    struct program *p = *state;
    static const char *const names[] = {"Alpha", "Beta", "Gamma"};
    program_fill_shelf(p);
    program_does(p, WORDS("new", "Quay", "--base", "300"));
    for (int i = 0; i < 3; i++) {
        program_does(p, WORDS("bottle", "add", names[i], "100g", "--price", "3.333 EUR"));
        program_does(p, WORDS("add", "Quay", names[i], "100"));
    }
    program_does(p, WORDS("cost", "Quay", "--batch", "30.1501g"));
    int64_t sum = 0;
    for (const char *at = p->out; (at = strstr(at, " EUR")) != NULL && strstr(at, "costs") != NULL;
         at += 4) {
        const char *number = at;
        while (number[-1] != ' ')
            number--;
        sum += (int64_t)(strtod(number, NULL) * 100 + 0.5);
    }
    const char *costs = strstr(p->out, "costs ");
    assert_non_null(costs);
    assert_int_equal(sum, (int64_t)(strtod(costs + 6, NULL) * 100 + 0.5));
    assert_int_equal(sum, 100); /* 30.1501 g at 0.03333 EUR are 1.0049 EUR; 0.335 each is 1.02 */
}

/* A number that is named works. */
static void refusals_name_numbers_that_work(void **state)
{
    struct program *p = *state;
    program_fill_shelf(p);
    program_does(p, WORDS("bottle", "add", "Alpha", "7.777g"));
    program_run(p, WORDS("bottle", "pour", "B001", "7.78g"));
    assert_int_equal(p->outcome, 1);
    assert_non_null(strstr(p->err, "holds 7.777 g"));
    program_does(p, WORDS("bottle", "pour", "B001", "7.777g"));
}

static void what_comes_out_is_said_beforehand(void **state)
{
    struct program *p = *state;
    program_fill_shelf(p);
    program_does(p, WORDS("bottle", "add", "Alpha", "10g"));
    program_does(p, WORDS("bottle", "add", "Carrier", "5kg"));
    /* 0.01 g is the least the balance reads; in 50 g it is 0.02 %. */
    program_refuses(p, "0.02 %", WORDS("dilute", "Alpha", "0.01%", "50g", "--in", "Carrier"));
    program_refuses(p, "98.04 g", WORDS("dilute", "Alpha", "0.01%", "49g", "--in", "Carrier"));
    program_asks(p, WORDS("dilute", "Alpha", "0.01%", "50g", "--in", "Carrier", "--try"));
    program_says(p, "$.expected_percent", "0.02");
    program_says(p, "$.off", "true");
    program_says(p, "$.least_g", "98.04");
    program_refuses(p, "98.04 g", WORDS("dilute", "Alpha", "0.01%", "98.03g", "--in", "Carrier"));
    program_does(p, WORDS("dilute", "Alpha", "0.01%", "98.04g", "--in", "Carrier"));
    program_does(p, WORDS("dilute", "Alpha", "0.01%", "50g", "--in", "Carrier", "--even-off"));
    /* What was really weighed is what it is. */
    program_does(p, WORDS("dilute", "Alpha", "0.01%", "50g", "--in", "Carrier", "--from", "B001",
                          "--stock-weighed", "0.01g", "--solvent-weighed", "50g"));
}

/* 1 % from 10 % rather than from 1.02 %, which holds it nearly; not from what is 1 % itself. */
static void the_best_stock_is_chosen(void **state)
{
    struct program *p = *state;
    program_fill_shelf(p);
    program_does(p, WORDS("bottle", "add", "Carrier", "5kg"));
    program_does(p, WORDS("bottle", "add", "Alpha", "60g", "--at", "1.03%", "--in", "Carrier",
                          "--opened", "2025-01-01"));
    program_does(p, WORDS("bottle", "add", "Alpha", "60g", "--at", "10%", "--in", "Carrier"));
    program_does(p, WORDS("bottle", "add", "Alpha", "60g"));
    program_asks(p, WORDS("dilute", "Alpha", "1%", "50g", "--try"));
    program_says(p, "$.from", "\"B003\"");
    program_asks(p, WORDS("dilute", "Alpha", "10%", "20g", "--in", "Carrier", "--try"));
    program_says(p, "$.from", "\"B004\"");
    /* Twice the same: the new bottle is no stock for itself. */
    program_does(p, WORDS("dilute", "Alpha", "20%", "20g", "--in", "Carrier"));
    program_asks(p, WORDS("dilute", "Alpha", "20%", "20g", "--in", "Carrier"));
    program_says(p, "$.made_from", "\"B004\"");
    program_does(p, WORDS("bottle", "empty", "B004"));
    program_refuses(p, "stronger than 20 %",
                    WORDS("dilute", "Alpha", "20%", "20g", "--in", "Carrier"));
}

static void an_emptied_bottle_comes_back(void **state)
{
    struct program *p = *state;
    program_fill_shelf(p);
    program_does(p, WORDS("bottle", "add", "Alpha", "10g"));
    program_does(p, WORDS("bottle", "empty", "B001"));
    program_does(p, WORDS("bottle", "fill", "B001", "5g"));
    program_asks(p, WORDS("bottle", "show", "B001"));
    program_says(p, "$.set_aside", "false");
    program_asks(p, WORDS("stock", "Alpha"));
    program_says(p, "$.stock[0].left_g", "5");
    program_does(p, WORDS("shelf", "undo"));
    program_asks(p, WORDS("bottle", "show", "B001"));
    program_says(p, "$.set_aside", "true");
    program_does(p, WORDS("bottle", "count", "B001", "1g"));
    program_asks(p, WORDS("bottle", "show", "B001"));
    program_says(p, "$.set_aside", "false");
}

/* 40 g are 40 g, also when some of it stands in a dilution: 1 g in 3001 g is 0.03332223 %, rounded,
 * and holds 0.999999 g by that. */
static void nothing_used_is_not_low(void **state)
{
    struct program *p = *state;
    program_fill_shelf(p);
    program_does(p, WORDS("bottle", "add", "Alpha", "40g"));
    program_does(p, WORDS("bottle", "add", "Carrier", "5kg"));
    program_does(p, WORDS("material", "set", "Alpha", "low", "40"));
    program_does(p, WORDS("dilute", "Alpha", "0.0333%", "3001g", "--in", "Carrier",
                          "--stock-weighed", "1g", "--solvent-weighed", "3000g"));
    program_asks(p, WORDS("stock", "Alpha"));
    program_says(p, "$.stock[0].low", "false");
    program_asks(p, WORDS("stock", "--low"));
    assert_int_equal(program_count(p, "$.stock"), 0);
    program_does(p, WORDS("bottle", "pour", "B001", "1mg"));
    program_asks(p, WORDS("stock", "--low"));
    assert_int_equal(program_count(p, "$.stock"), 1);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, program_set_up, program_tear_down)

/* A figure that was typed comes out of every command as it was typed. */
static void figures_stay_as_they_were_typed(void **state)
{
    struct program *p = *state;
    program_fill_shelf(p);
    program_does(p, WORDS("material", "set", "Alpha", "vapour_pressure", "7900"));
    program_does(p, WORDS("material", "set", "Alpha", "molar_mass", "136.234"));
    program_does(p, WORDS("new", "Quay"));
    program_does(p, WORDS("add", "Quay", "Alpha", "1000"));
    program_asks(p, WORDS("drydown", "Quay"));
    program_says(p, "$.materials[0].vapour_pressure_pa", "7900");
    program_says(p, "$.materials[0].molar_mass", "136.234");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(a_priced_material_in_an_unpriced_solvent),
        TEST(a_batch_is_priced_across_bottles),
        TEST(a_weak_line_comes_from_a_stronger_bottle),
        TEST(the_printed_column_adds_up),
        TEST(refusals_name_numbers_that_work),
        TEST(what_comes_out_is_said_beforehand),
        TEST(the_best_stock_is_chosen),
        TEST(an_emptied_bottle_comes_back),
        TEST(nothing_used_is_not_low),
        cmocka_unit_test_setup_teardown(figures_stay_as_they_were_typed, program_set_up,
                                        program_tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
