/* SPDX-License-Identifier: MIT */
/*
 * The main job through commands alone: an accord from a core in a ratio, traces tucked in,
 * dilutions, a nested accord, trials and branches, everything undone and done again. Each command
 * is a process of its own, so every step is also a restart.
 */
#include "program.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define PART INT64_C(1000000)

/* Alpha, Beta, Gamma as 4:3:2, settled to 1000. */
static void make_core(struct program *p)
{
    program_fill_shelf(p);
    program_does(p, WORDS("new", "Heart", "--accord"));
    program_does(p, WORDS("add", "Heart", "Alpha", "400"));
    program_does(p, WORDS("add", "Heart", "Beta", "300"));
    program_does(p, WORDS("add", "Heart", "Gamma", "200"));
    program_does(p, WORDS("core", "Heart", "Alpha", "Beta", "Gamma", "--ratio", "4:3:2"));
}

static void total_is(struct program *p, const char *name, int64_t total)
{
    program_asks(p, WORDS("show", name));
    assert_int_equal(program_number(p, "$.total_parts", 6), total);
    assert_int_equal(program_sum(p, "$.lines", "parts", 6), total);
    assert_int_equal(program_sum(p, "$.lines", "percent", 10), INT64_C(1000000000000));
}

/* Common practice, no source: a core of 4:3:2 in a base of 1000 reads 444, 333, 222 in whole parts;
 * it must still come to 1000 exactly. */
static void core_settles_to_the_base(void **state)
{
    struct program *p = *state;

    make_core(p);
    program_asks(p, WORDS("show", "Heart"));
    program_says(p, "$.total_parts", "900");
    program_says(p, "$.off_parts", "-100");
    program_says(p, "$.settled", "false");
    program_does(p, WORDS("settle", "Heart"));
    total_is(p, "Heart", 1000 * PART);
    program_says(p, "$.lines[0].parts", "444.444445");
    program_says(p, "$.lines[1].parts", "333.333333");
    program_says(p, "$.lines[2].parts", "222.222222");
    program_says(p, "$.lines[0].core", "\"A\"");
    program_says(p, "$.lines[0].weight", "4");
    program_says(p, "$.lines[2].weight", "2");
}

/* Common practice, no source: 50 parts of small additions leave 950 for the core, in its ratio. */
static void additions_leave_the_core_its_ratio(void **state)
{
    struct program *p = *state;

    make_core(p);
    program_does(p, WORDS("settle", "Heart"));
    program_does(p, WORDS("add", "Heart", "Delta", "50"));
    total_is(p, "Heart", 1000 * PART);
    program_says(p, "$.lines[0].parts", "422.222222");
    program_says(p, "$.lines[1].parts", "316.666667");
    program_says(p, "$.lines[2].parts", "211.111111");
    program_says(p, "$.lines[3].parts", "50");
    program_does(p, WORDS("drop", "Heart", "Delta"));
    program_asks(p, WORDS("show", "Heart"));
    program_says(p, "$.lines[0].parts", "444.444445");
}

static void amounts_are_typed_as_on_paper(void **state)
{
    struct program *p = *state;

    make_core(p);
    program_does(p, WORDS("add", "Heart", "Delta", "1%"));
    program_does(p, WORDS("add", "Heart", "Epsilon", "21+4", "--place", "1"));
    program_asks(p, WORDS("show", "Heart"));
    program_says(p, "$.lines[0].material", "\"Epsilon\"");
    program_says(p, "$.lines[0].parts", "25");
    program_says(p, "$.lines[4].parts", "10");
    program_does(p, WORDS("set", "Heart", "Epsilon", "*0.5"));
    program_does(p, WORDS("set", "Heart", "Delta", "-2"));
    program_asks(p, WORDS("show", "Heart"));
    program_says(p, "$.lines[0].parts", "12.5");
    program_says(p, "$.lines[4].parts", "8");
    program_does(p, WORDS("set", "Heart", "Delta", "300 ppm"));
    program_does(p, WORDS("scale", "Heart", "Epsilon", "150%"));
    program_does(p, WORDS("nudge", "Heart", "Delta", "+2"));
    program_does(p, WORDS("move", "Heart", "Epsilon", "5"));
    program_asks(p, WORDS("show", "Heart"));
    program_says(p, "$.lines[3].parts", "0.32");
    program_says(p, "$.lines[4].parts", "18.75");
    program_says(p, "$.lines[4].material", "\"Epsilon\"");
}

static void dilutions_say_what_they_are_neat(void **state)
{
    struct program *p = *state;

    make_core(p);
    program_does(p, WORDS("settle", "Heart"));
    program_does(p, WORDS("add", "Heart", "Delta", "10", "--at", "10%", "--in", "Carrier"));
    program_does(p, WORDS("add", "Heart", "Epsilon", "0.5", "--at", "0.1%", "--in", "Spirit"));
    program_asks(p, WORDS("show", "Heart"));
    program_says(p, "$.lines[3].strength_percent", "10");
    program_says(p, "$.lines[3].solvent", "\"Carrier\"");
    assert_int_equal(program_number(p, "$.lines[3].neat_parts", 12),
                     program_number(p, "$.lines[3].parts", 6) * PART / 10);
    program_says(p, "$.lines[4].neat_parts", "0.0005");
    program_asks(p, WORDS("restrength", "Heart", "Epsilon", "1%"));
    program_says(p, "$.total_parts", "1000");
    program_asks(p, WORDS("show", "Heart"));
    program_says(p, "$.lines[4].strength_percent", "1");
    program_says(p, "$.lines[4].solvent", "\"Spirit\"");
    total_is(p, "Heart", 1000 * PART);
}

/* With a carrier of the dilution's solvent nothing else moves. */
static void carrier_takes_the_difference(void **state)
{
    struct program *p = *state;

    program_fill_shelf(p);
    program_does(p, WORDS("new", "Base", "--base", "100", "--mode", "carrier"));
    program_does(p, WORDS("add", "Base", "Carrier", "100"));
    program_does(p, WORDS("stance", "Base", "Carrier", "carrier"));
    program_does(p, WORDS("add", "Base", "Alpha", "20"));
    program_does(p, WORDS("add", "Base", "Beta", "24", "--at", "1%", "--in", "Carrier"));
    program_does(p, WORDS("restrength", "Base", "Beta", "10%"));
    program_asks(p, WORDS("show", "Base"));
    program_says(p, "$.mode", "\"carrier\"");
    program_says(p, "$.lines[0].parts", "77.6");
    program_says(p, "$.lines[0].stance", "\"carrier\"");
    program_says(p, "$.lines[1].parts", "20");
    program_says(p, "$.lines[2].parts", "2.4");
    program_says(p, "$.lines[2].neat_parts", "0.24");
    program_refuses(p, "97.6", WORDS("set", "Base", "Alpha", "100"));
    program_does(p, WORDS("base", "Base", "1000"));
    total_is(p, "Base", 1000 * PART);
    program_says(p, "$.lines[0].parts", "776");
}

static void held_lines_stand(void **state)
{
    struct program *p = *state;

    make_core(p);
    program_does(p, WORDS("add", "Heart", "Delta", "7.5", "--held"));
    program_does(p, WORDS("settle", "Heart"));
    program_does(p, WORDS("add", "Heart", "Epsilon", "33.3"));
    program_does(p, WORDS("comment", "Heart", "Delta", "not a drop more"));
    total_is(p, "Heart", 1000 * PART);
    program_says(p, "$.lines[3].parts", "7.5");
    program_says(p, "$.lines[3].stance", "\"held\"");
    program_says(p, "$.lines[3].comment", "\"not a drop more\"");
    program_refuses(p, "992.5", WORDS("set", "Heart", "Epsilon", "995"));
    program_does(p, WORDS("mode", "Heart", "open"));
    program_does(p, WORDS("set", "Heart", "Epsilon", "43.3"));
    program_asks(p, WORDS("show", "Heart"));
    program_says(p, "$.off_parts", "10");
    program_does(p, WORDS("settle", "Heart"));
    total_is(p, "Heart", 1000 * PART);
    program_says(p, "$.lines[3].parts", "7.5");
}

static void perfume_of_an_accord(struct program *p)
{
    make_core(p);
    program_does(p, WORDS("settle", "Heart"));
    program_does(p, WORDS("add", "Heart", "Delta", "50", "--at", "10%", "--in", "Carrier"));
    program_asks(p, WORDS("keep", "Heart", "--note", "as it was on the first evening"));
    program_says(p, "$.sentence", "\"Kept as Heart/1\"");
    program_does(p, WORDS("new", "Whole"));
    program_does(p, WORDS("add", "Whole", "--accord", "Heart/1", "600"));
    program_does(p, WORDS("add", "Whole", "Alpha", "300"));
    program_does(p, WORDS("add", "Whole", "Epsilon", "100", "--at", "1%", "--in", "Spirit"));
}

/* Each material once; neat and solvent together are the total, the percents 100. */
static void flat_view_adds_up(void **state)
{
    struct program *p = *state;

    perfume_of_an_accord(p);
    program_asks(p, WORDS("show", "Whole"));
    program_says(p, "$.lines[0].material", "null");
    program_says(p, "$.lines[0].accord", "\"Heart/1\"");
    program_asks(p, WORDS("show", "Whole", "--flat"));
    program_says(p, "$.trial", "null");
    assert_int_equal(program_count(p, "$.materials"), 7);
    assert_int_equal(program_sum(p, "$.materials", "neat_parts", 12) +
                         program_sum(p, "$.materials", "as_solvent_parts", 12),
                     1000 * PART * PART);
    assert_int_equal(program_sum(p, "$.materials", "percent", 10), INT64_C(1000000000000));
    program_says(p, "$.materials[0].material", "\"Alpha\"");
    /* 300 of its own and 422.222222 of 1000 in 600 of the accord */
    program_says(p, "$.materials[0].neat_parts", "553.3333332");
    program_says(p, "$.materials[3].material", "\"Delta\"");
    program_says(p, "$.materials[3].neat_parts", "3");
    program_says(p, "$.materials[6].material", "\"Carrier\""); /* solvents last */
    program_says(p, "$.materials[6].as_solvent_parts", "27");
}

static void accords_fold_and_unfold(void **state)
{
    struct program *p = *state;

    perfume_of_an_accord(p);
    program_does(p, WORDS("fold", "Whole", "Pair", "Alpha", "Epsilon"));
    program_asks(p, WORDS("show", "Whole"));
    assert_int_equal(program_count(p, "$.lines"), 2);
    program_says(p, "$.lines[1].accord", "\"Pair/1\"");
    program_says(p, "$.lines[1].parts", "400");
    program_does(p, WORDS("unfold", "Whole", "Pair"));
    program_does(p, WORDS("unfold", "Whole", "Heart/1"));
    total_is(p, "Whole", 1000 * PART);
    assert_int_equal(program_count(p, "$.lines"), 6);
    program_refuses(p, "itself", WORDS("add", "Heart", "--accord", "Heart/1", "5"));
}

/* An accord that leads back to the formula, however far down, is refused with the way there. */
static void cycles_are_refused(void **state)
{
    struct program *p = *state;

    perfume_of_an_accord(p);
    program_does(p, WORDS("keep", "Whole"));
    program_refuses(p, "Whole/1 uses Heart/1", WORDS("add", "Heart", "--accord", "Whole/1", "5"));
    program_refuses(p, "draft", WORDS("add", "Whole", "--accord", "Heart", "5"));
}

static void trials_branch(void **state)
{
    struct program *p = *state;

    perfume_of_an_accord(p);
    program_does(p, WORDS("keep", "Whole", "--note", "one"));
    program_does(p, WORDS("set", "Whole", "Alpha", "310"));
    program_does(p, WORDS("keep", "Whole", "--note", "two"));
    program_does(p, WORDS("branch", "Whole/1"));
    program_does(p, WORDS("swap", "Whole", "Alpha", "Beta"));
    program_does(p, WORDS("keep", "Whole"));
    program_does(p, WORDS("mark", "Whole/3", "the one"));
    program_asks(p, WORDS("trials", "Whole"));
    program_says(p, "$.formula", "\"Whole\"");
    assert_int_equal(program_count(p, "$.trials"), 3);
    program_says(p, "$.trials[0].parent", "null");
    program_says(p, "$.trials[1].parent", "1");
    program_says(p, "$.trials[2].parent", "1");
    program_says(p, "$.trials[2].trial", "3");
    program_says(p, "$.trials[1].note", "\"two\"");
    program_says(p, "$.trials[2].note", "null");
    program_says(p, "$.trials[2].label", "\"the one\"");
    program_asks(p, WORDS("show", "Whole/1"));
    program_says(p, "$.trial", "1");
    program_says(p, "$.lines[1].parts", "300");
    program_refuses(p, "kept", WORDS("set", "Whole/1", "Alpha", "5"));
    program_asks(p, WORDS("compare", "Whole/1", "Whole/3"));
    program_says(p, "$.trials[1]", "\"Whole/3\"");
    program_says(p, "$.lines[0].material", "\"Heart\"");
    program_says(p, "$.lines[0].change", "\"same\"");
    program_says(p, "$.lines[1].material", "\"Alpha\"");
    program_says(p, "$.lines[1].change", "\"gone\"");
    program_says(p, "$.lines[1].parts", "[300,0]");
    program_says(p, "$.lines[3].material", "\"Beta\"");
    program_says(p, "$.lines[3].change", "\"added\"");
    program_asks(p, WORDS("compare", "Whole/1", "Whole/2", "--by", "neat"));
    program_says(p, "$.lines[1].change", "\"more\"");
    program_says(p, "$.lines[2].change", "\"less\"");
}

static void formulas_are_listed(void **state)
{
    struct program *p = *state;

    perfume_of_an_accord(p);
    program_asks(p, WORDS("formulas"));
    assert_int_equal(program_count(p, "$.formulas"), 2);
    program_asks(p, WORDS("formulas", "hea"));
    program_says(p, "$.formulas[0].formula", "\"Heart\"");
    program_says(p, "$.formulas[0].accord", "true");
    program_says(p, "$.formulas[0].base_parts", "1000");
    program_says(p, "$.formulas[0].kept_trials", "1");
    program_says(p, "$.formulas[0].total_parts", "1000");
    program_does(p, WORDS("copy", "Heart/1", "Other heart"));
    program_does(p, WORDS("rename", "Other heart", "Lung"));
    program_does(p, WORDS("accord", "Lung", "off"));
    total_is(p, "Lung", 1000 * PART);
    program_does(p, WORDS("aside", "Lung"));
    program_asks(p, WORDS("formulas"));
    assert_int_equal(program_count(p, "$.formulas"), 2);
    program_asks(p, WORDS("formulas", "--all"));
    assert_int_equal(program_count(p, "$.formulas"), 3);
    program_does(p, WORDS("back", "Lung"));
    program_asks(p, WORDS("formulas", "lung"));
    program_says(p, "$.formulas[0].accord", "false");
}

/* ---- undo ---- */

static char *sheet_of(struct program *p, const char *name)
{
    program_does(p, WORDS("show", name, "--csv"));
    char *copy = strdup(p->out);
    assert_non_null(copy);
    return copy;
}

#define STEPS_MOST 40

/* Back through everything to the empty draft and forth again: the same sheets on the way. */
static void everything_is_undone_and_redone(void **state)
{
    struct program *p = *state;
    char *sheets[STEPS_MOST];
    size_t count = 0;

    perfume_of_an_accord(p);
    program_does(p, WORDS("core", "Whole", "Alpha", "Epsilon", "--ratio", "300:1"));
    program_does(p, WORDS("set", "Whole", "Alpha", "200"));
    program_does(p, WORDS("keep", "Whole")); /* undo goes on across it */
    program_does(p, WORDS("core", "Whole", "Alpha", "--break"));
    program_does(p, WORDS("restrength", "Whole", "Epsilon", "2%"));
    program_does(p, WORDS("fold", "Whole", "Pair", "Alpha", "Epsilon"));
    program_does(p, WORDS("unfold", "Whole", "Heart"));
    program_does(p, WORDS("base", "Whole", "100"));
    program_does(p, WORDS("stance", "Whole", "Beta", "held"));
    program_does(p, WORDS("swap", "Whole", "Gamma", "Epsilon", "--at", "50%", "--in", "Spirit"));
    for (; count < STEPS_MOST; count++) {
        sheets[count] = sheet_of(p, "Whole");
        program_run(p, WORDS("undo", "Whole"));
        if (p->outcome != 0)
            break;
    }
    assert_int_equal(count, 12);
    assert_non_null(strstr(p->err, "Nothing to undo"));
    for (size_t i = count; i-- > 0;) {
        program_does(p, WORDS("redo", "Whole"));
        char *again = sheet_of(p, "Whole");
        assert_string_equal(again, sheets[i]);
        free(again);
    }
    program_refuses(p, "Nothing to redo", WORDS("redo", "Whole"));
    for (size_t i = 0; i <= count; i++)
        free(sheets[i]);
    program_does(p, WORDS("verify"));
}

static void history_tells_and_restores(void **state)
{
    struct program *p = *state;

    perfume_of_an_accord(p);
    program_does(p, WORDS("undo", "Whole"));
    program_asks(p, WORDS("history", "Whole"));
    program_says(p, "$.formula", "\"Whole\"");
    program_says(p, "$.revisions[0].revision", "1");
    program_says(p, "$.revisions[0].gesture", "\"add\"");
    program_says(p, "$.revisions[0].undone", "false");
    program_says(p, "$.revisions[1].sentence", "\"Tucked in 300 of Alpha\"");
    program_says(p, "$.revisions[2].undone", "true");
    program_asks(p, WORDS("show", "Whole", "--revision", "1"));
    program_says(p, "$.total_parts", "600");
    program_does(p, WORDS("restore", "Whole", "3"));
    program_asks(p, WORDS("show", "Whole"));
    program_says(p, "$.total_parts", "1000");
    program_does(p, WORDS("undo", "Whole"));
    program_asks(p, WORDS("show", "Whole"));
    program_says(p, "$.total_parts", "900");
    program_asks(p, WORDS("history", "Heart/1", "--find", "ratio"));
    assert_int_equal(program_count(p, "$.revisions"), 1);
}

/* --try shows what would be and writes nothing. */
static void trying_writes_nothing(void **state)
{
    struct program *p = *state;

    make_core(p);
    program_does(p, WORDS("settle", "Heart"));
    char *before = sheet_of(p, "Heart");
    program_asks(p, WORDS("add", "Heart", "Delta", "50", "--try"));
    program_says(p, "$.lines[0].parts", "422.222222");
    program_says(p, "$.lines[3].material", "\"Delta\"");
    char *after = sheet_of(p, "Heart");
    assert_string_equal(before, after);
    free(before);
    free(after);
}

int main(void)
{
#define job(test) cmocka_unit_test_setup_teardown(test, program_set_up, program_tear_down)
    const struct CMUnitTest tests[] = {
        job(core_settles_to_the_base),
        job(additions_leave_the_core_its_ratio),
        job(amounts_are_typed_as_on_paper),
        job(dilutions_say_what_they_are_neat),
        job(carrier_takes_the_difference),
        job(held_lines_stand),
        job(flat_view_adds_up),
        job(accords_fold_and_unfold),
        job(cycles_are_refused),
        job(trials_branch),
        job(formulas_are_listed),
        job(everything_is_undone_and_redone),
        job(history_tells_and_restores),
        job(trying_writes_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
