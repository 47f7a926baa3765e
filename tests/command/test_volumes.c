/* SPDX-License-Identifier: MIT */
/*
 * Volumes where a density is known, and the currency of a price typed without one. Densities of the
 * checks: water 0.998 203 g/ml and ethanol 0.789 24 g/ml at 20 degrees (OIML R 22, International
 * Alcoholometric Tables, 1975).
 */
#include "program.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void make_shelf(struct program *p)
{
    program_fill_shelf(p);
    program_does(p, WORDS("material", "add", "Water", "--kind", "solvent"));
    program_does(p, WORDS("material", "set", "Water", "density", "0.998203"));
    program_does(p, WORDS("material", "set", "Spirit", "density", "0.78924"));
}

static void volumes_become_masses(void **state)
{
    struct program *p = *state;
    make_shelf(p);
    program_does(p, WORDS("bottle", "add", "Water", "10ml"));
    program_asks(p, WORDS("bottle", "show", "B001"));
    program_says(p, "$.left_g", "9.98203");
    program_says(p, "$.left_ml", "10");
    program_does(p, WORDS("bottle", "add", "Spirit", "0,5 l"));
    program_asks(p, WORDS("bottle", "show", "B002"));
    program_says(p, "$.left_g", "394.62");
    program_says(p, "$.left_ml", "500");
    program_does(p, WORDS("bottle", "pour", "B002", "250 ul"));
    program_asks(p, WORDS("bottle", "show", "B002"));
    program_says(p, "$.left_g", "394.42269");
    program_does(p, WORDS("bottle", "show", "B001"));
    assert_non_null(strstr(p->out, "9.98 g, 10.0 ml"));
}

/* A dilution tells the volumes of what has a density, and takes what was weighed as one. */
static void a_dilution_by_volume(void **state)
{
    struct program *p = *state;
    make_shelf(p);
    program_does(p, WORDS("bottle", "add", "Alpha", "10g"));
    program_asks(p, WORDS("dilute", "Alpha", "10%", "10g", "--in", "Spirit", "--try"));
    program_says(p, "$.stock_ml", "null");
    program_says(p, "$.solvent_ml", "11.403"); /* 9 g / 0.78924 g/ml */
    program_does(p, WORDS("dilute", "Alpha", "10%", "10g", "--in", "Spirit", "--try"));
    assert_non_null(strstr(p->out, "(11.4 ml)"));
    program_does(p, WORDS("dilute", "Alpha", "10%", "10g", "--in", "Spirit", "--solvent-weighed",
                          "11.403ml"));
    program_asks(p, WORDS("bottle", "show", "B002"));
    program_says(p, "$.left_g", "9.999704"); /* 1 g + 11.403 ml x 0.78924 g/ml */
}

static void unknown_densities_are_refused(void **state)
{
    struct program *p = *state;
    make_shelf(p);
    program_refuses(p, "no density is known", WORDS("bottle", "add", "Alpha", "10ml"));
    program_does(p, WORDS("bottle", "add", "Alpha", "10g"));
    program_refuses(p, "no density is known", WORDS("bottle", "pour", "B001", "1ml"));
    program_asks(p, WORDS("bottle", "show", "B001"));
    program_says(p, "$.left_ml", "null");
    /* A dilution has neither its material's density nor its solvent's. */
    program_does(p, WORDS("material", "set", "Alpha", "density", "0.9"));
    program_refuses(p, "no density is known",
                    WORDS("bottle", "add", "Alpha", "5ml", "--at", "10%", "--in", "Spirit"));
    program_does(p, WORDS("bottle", "add", "Alpha", "5ml"));
    program_asks(p, WORDS("bottle", "show", "B002"));
    program_says(p, "$.left_g", "4.5");
}

static void plans_tell_both(void **state)
{
    struct program *p = *state;
    make_shelf(p);
    program_does(p, WORDS("new", "F"));
    program_does(p, WORDS("add", "F", "Alpha", "200"));
    program_does(p, WORDS("add", "F", "Spirit", "800"));
    program_does(p, WORDS("keep", "F"));
    program_does(p, WORDS("bottle", "add", "Alpha", "50g"));
    program_does(p, WORDS("bottle", "add", "Spirit", "500ml"));
    program_asks(p, WORDS("weigh", "F/1", "10g"));
    /* 8 g of ethanol are 8 / 0.78924 = 10.136 ml; of the other nothing is known. */
    program_asks(p, WORDS("weigh", "F/1", "10g"));
    const bool first = strcmp(program_value(p, "$.lines[0].material"), "\"Spirit\"") == 0;
    program_says(p, first ? "$.lines[0].target_ml" : "$.lines[1].target_ml", "10.136");
    program_says(p, first ? "$.lines[1].target_ml" : "$.lines[0].target_ml", "null");
    /* A thousandth of a milligram of it is no volume to pipette, rather than one of 0 ml. */
    program_does(p, WORDS("new", "Trace"));
    program_does(p, WORDS("add", "Trace", "Spirit", "0.0001"));
    program_does(p, WORDS("add", "Trace", "Alpha", "999.9999"));
    program_does(p, WORDS("keep", "Trace"));
    program_asks(p, WORDS("weigh", "Trace/1", "10g"));
    program_says(p, "$.lines[1].material", "\"Spirit\"");
    program_says(p, "$.lines[1].target_g", "0.000001");
    program_says(p, "$.lines[1].target_ml", "null");
    program_does(p, WORDS("batch", "start", "F/1", "10g"));
    program_does(p, WORDS("batch", "pour", "1", first ? "1" : "2", "10ml"));
    program_asks(p, WORDS("batch", "show", "1"));
    program_says(p, first ? "$.lines[0].poured_g" : "$.lines[1].poured_g", "7.8924");
    program_refuses(p, "no density is known",
                    WORDS("batch", "pour", "1", first ? "2" : "1", "2ml"));
}

static void prices_without_a_currency(void **state)
{
    struct program *p = *state;
    make_shelf(p);
    program_refuses(p, "needs an amount and a currency",
                    WORDS("bottle", "add", "Alpha", "10g", "--price", "19.20"));
    program_does(p, WORDS("settings", "set", "currency", "chf"));
    program_does(p, WORDS("bottle", "add", "Alpha", "10g", "--price", "19,20"));
    program_asks(p, WORDS("bottle", "show", "B001"));
    program_says(p, "$.price", "19.2");
    program_says(p, "$.currency", "\"CHF\"");
    program_does(p, WORDS("bottle", "edit", "B001", "--price", "12 EUR"));
    program_asks(p, WORDS("bottle", "show", "B001"));
    program_says(p, "$.currency", "\"EUR\"");
    program_refuses(p, "currency code", WORDS("bottle", "edit", "B001", "--price", "12 XQZ"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(volumes_become_masses, program_set_up, program_tear_down),
        cmocka_unit_test_setup_teardown(a_dilution_by_volume, program_set_up, program_tear_down),
        cmocka_unit_test_setup_teardown(unknown_densities_are_refused, program_set_up,
                                        program_tear_down),
        cmocka_unit_test_setup_teardown(plans_tell_both, program_set_up, program_tear_down),
        cmocka_unit_test_setup_teardown(prices_without_a_currency, program_set_up,
                                        program_tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
