/* SPDX-License-Identifier: MIT */
/*
 * The shelf by command: a bought bottle is entered, diluted twice, used in a formula, counted,
 * priced and ordered again. Names, lots and prices are invented.
 */
#include "program.h"

#include "permille/base/mem.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void make_shelf(struct program *p)
{
    program_fill_shelf(p);
    program_does(p, WORDS("bottle", "add", "Alpha", "10g", "--price", "20 EUR", "--lot", "K7",
                          "--supplier", "supplier A", "--bought", "2026-01-05"));
    program_does(p, WORDS("bottle", "add", "Carrier", "1kg", "--price", "10 EUR"));
}

static void a_bottle_from_buying_to_buying_again(void **state)
{
    struct program *p = *state;

    make_shelf(p);
    program_asks(p, WORDS("dilute", "Alpha", "10%", "30g", "--in", "Carrier", "--try"));
    program_says(p, "$.stock_g", "3");
    program_says(p, "$.solvent_g", "27");
    program_says(p, "$.from", "\"B001\"");
    program_says(p, "$.stock_ml", "null"); /* no densities: by mass only */
    program_asks(p, WORDS("dilute", "Alpha", "10%", "30g", "--in", "Carrier", "--stock-weighed",
                          "3.01g", "--solvent-weighed", "27g"));
    program_says(p, "$.bottle", "\"B003\"");
    program_says(p, "$.strength_percent", "10.02999");
    program_says(p, "$.made_from", "\"B001\"");
    program_asks(p, WORDS("dilute", "Alpha", "1%", "20g", "--from", "B003"));
    program_says(p, "$.bottle", "\"B004\"");
    program_says(p, "$.solvent", "\"Carrier\"");

    program_does(p, WORDS("new", "Quay"));
    program_does(p, WORDS("add", "Quay", "Alpha", "200", "--at", "10%", "--in", "Carrier"));
    program_does(p, WORDS("add", "Quay", "Carrier", "800"));
    program_does(p, WORDS("keep", "Quay"));
    program_asks(p, WORDS("needs", "Quay/1", "50g"));
    program_says(p, "$.needs[0].bottle", "\"B003\"");
    program_says(p, "$.needs[0].need_g", "10");
    program_says(p, "$.needs[0].state", "\"ok\"");
    program_asks(p, WORDS("possible", "50g"));
    program_says(p, "$.possible[0].lacking", "0");
    program_says(p, "$.possible[0].what", "null");

    program_misused(p, "What is to be changed?", WORDS("bottle", "edit", "b1", "--json"));
    program_misused(p, "What is to be changed?", WORDS("bottle", "edit", "b1"));
    program_asks(p, WORDS("bottle", "count", "b1", "6.5g"));
    program_says(p, "$.left_g", "6.5");
    program_asks(p, WORDS("bottle", "show", "B001"));
    program_says(p, "$.movements[1].kind", "\"moved\"");
    program_says(p, "$.movements[1].mass_g", "-3.01");
    program_says(p, "$.movements[2].kind", "\"counted\"");
    program_says(p, "$.movements[2].left_g", "6.5");

    /* 10 g of the dilution hold 10 x 3.01 / 30.01 g at 2 EUR, the rest costs 0.01 EUR a gram. */
    program_asks(p, WORDS("cost", "Quay/1", "--batch", "50g"));
    program_says(p, "$.lines[0].cost[0].currency", "\"EUR\"");
    assert_int_equal(program_number(p, "$.lines[0].cost[0].amount", 6), 2095968);
    assert_int_equal(program_number(p, "$.cost[0].amount", 6), 2495968);
    program_says(p, "$.unknown", "0");

    program_does(p, WORDS("plan", "add", "Quay/1", "2kg", "--day", "2026-12-01"));
    program_asks(p, WORDS("shopping"));
    program_says(p, "$.shopping[0].supplier", "\"supplier A\"");
    program_says(p, "$.shopping[0].material", "\"Alpha\"");
    program_says(p, "$.shopping[0].last_price", "\"20.00 EUR for 10 g\"");
    program_does(p, WORDS("verify"));
}

static void stock_says_what_is_low(void **state)
{
    struct program *p = *state;

    make_shelf(p);
    program_asks(p, WORDS("stock", "--low"));
    assert_int_equal(program_count(p, "$.stock"), 0);
    program_does(p, WORDS("material", "set", "Alpha", "low", "10.5"));
    program_does(p, WORDS("material", "set", "Beta", "low", "1"));
    program_asks(p, WORDS("stock", "--low"));
    assert_int_equal(program_count(p, "$.stock"), 2);
    program_says(p, "$.stock[0].neat_g", "10");
    program_says(p, "$.stock[0].level_g", "10.5");
    program_asks(p, WORDS("stock"));
    assert_int_equal(program_count(p, "$.stock"), 2);
    program_does(p, WORDS("stock", "--csv"));
    assert_non_null(strstr(p->out, "Carrier,1,1000,1000,,false,false\r\n"));
}

static void what_is_wrong_is_refused_and_nothing_lost(void **state)
{
    struct program *p = *state;

    make_shelf(p);
    program_refuses(p, "check digit", WORDS("material", "edit", "Alpha", "--cas", "106-22-8"));
    program_refuses(p, "100 %",
                    WORDS("bottle", "add", "Alpha", "5g", "--at", "120%", "--in", "Carrier"));
    program_refuses(p, "below zero", WORDS("bottle", "add", "Alpha", "--", "-5g"));
    program_refuses(p, "currency", WORDS("bottle", "add", "Alpha", "5g", "--price", "12"));
    program_refuses(p, "2026-02-30",
                    WORDS("bottle", "add", "Alpha", "5g", "--bought", "2026-02-30"));
    program_refuses(p, "B009", WORDS("bottle", "count", "B009", "5g"));
    program_refuses(p, "solvent", WORDS("dilute", "Alpha", "10%", "5g"));
    program_refuses(p, "No bottle", WORDS("dilute", "Beta", "10%", "5g", "--in", "Carrier"));
    program_refuses(p, "density", WORDS("material", "set", "Alpha", "density", "heavy"));
    program_refuses(p, "\"colour\"", WORDS("material", "set", "Alpha", "colour", "green"));
    program_refuses(p, "nothing", WORDS("shelf", "redo"));
    program_misused(p, "--batch", WORDS("cost", "Quay"));
    program_run(p, WORDS("bottle", "pour", "B001", "20g"));
    assert_int_equal(p->outcome, 1);
    assert_non_null(strstr(p->err, "--even-below"));
    program_asks(p, WORDS("bottle", "pour", "B001", "20g", "--even-below"));
    program_says(p, "$.left_g", "-10");
    program_does(p, WORDS("shelf", "undo"));
    program_asks(p, WORDS("bottle", "show", "B001"));
    program_says(p, "$.left_g", "10");
    /* in use: set aside, not removed */
    program_asks(p, WORDS("material", "remove", "Alpha"));
    program_says(p, "$.set_aside", "true");
}

static void the_starter_set_brings_facts_with_sources(void **state)
{
    struct program *p = *state;

    program_asks(p, WORDS("import", "--starter", "Linalool", "Bergamot oil"));
    program_says(p, "$.added", "2");
    program_refuses(p, "no material \"Nonsense\"", WORDS("import", "--starter", "Nonsense"));
    program_does(p,
                 WORDS("material", "set", "Linalool", "density", "0.87", "--source", "my scale"));
    program_asks(p, WORDS("import", "--starter", "Linalool", "Bergamot oil"));
    program_says(p, "$.same", "2");
    program_asks(p, WORDS("material", "show", "Linalool"));
    for (int64_t i = 0; i < program_count(p, "$.facts"); i++) {
        char path[64], property[64];
        snprintf(path, sizeof path, "$.facts[%d].property", (int)i);
        snprintf(property, sizeof property, "%s", program_value(p, path));
        snprintf(path, sizeof path, "$.facts[%d].source", (int)i);
        assert_string_not_equal(program_value(p, path), "null");
        if (strcmp(property, "\"density\"") != 0)
            continue;
        snprintf(path, sizeof path, "$.facts[%d].stands", (int)i);
        char stands[8];
        snprintf(stands, sizeof stands, "%s", program_value(p, path));
        snprintf(path, sizeof path, "$.facts[%d].own", (int)i);
        assert_string_equal(program_value(p, path), stands); /* one's own stands */
    }
    program_asks(p, WORDS("material", "show", "Bergamot oil"));
    program_says(p, "$.cautions[0].topic", "\"phototoxic\"");
    assert_true(program_count(p, "$.constituents") >= 5);
}

static void a_table_goes_in_whole_or_not_at_all(void **state)
{
    struct program *p = *state;
    char *path = program_path(p, "table.csv");

    program_fill_shelf(p);
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    fputs("material,strength,solvent,received,price\r\nAlpha,,,5g,3 EUR\r\nBeta,10%,Water,5g,\r\n",
          file);
    assert_int_equal(fclose(file), 0);
    program_refuses(p, "Line 3", WORDS("import", path));
    program_asks(p, WORDS("bottle", "list"));
    assert_int_equal(program_count(p, "$.bottles"), 0);
    program_does(p, WORDS("material", "add", "Water", "--kind", "solvent"));
    program_asks(p, WORDS("import", path));
    program_says(p, "$.added", "2");
    program_does(p, WORDS("export", "bottles"));
    assert_non_null(strstr(p->out, "B002,Beta,10 %,Water,"));
    program_refuses(p, "No such file", WORDS("import", "/nowhere.csv"));
    program_misused(p, "--starter", WORDS("import"));
    pm_free(path);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, program_set_up, program_tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(a_bottle_from_buying_to_buying_again),
        TEST(stock_says_what_is_low),
        TEST(what_is_wrong_is_refused_and_nothing_lost),
        TEST(the_starter_set_brings_facts_with_sources),
        TEST(a_table_goes_in_whole_or_not_at_all),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
