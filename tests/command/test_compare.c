/* SPDX-License-Identifier: MIT */
/* Trials by command: the tree, what changed, two to four side by side. */
#include "program.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

/* Trial 1; 2 and 3 from it; the draft goes on from 3. "Other" is written to 100. */
static void story(struct program *program)
{
    program_fill_shelf(program);
    program_does(program, WORDS("new", "Story", "--base", "1000"));
    program_does(program, WORDS("add", "Story", "Alpha", "500"));
    program_does(program, WORDS("add", "Story", "Beta", "300"));
    program_does(program, WORDS("add", "Story", "Gamma", "190"));
    program_does(program, WORDS("add", "Story", "Delta", "10", "--at", "1%", "--in", "Carrier"));
    program_does(program, WORDS("keep", "Story", "--note", "bare"));
    program_does(program, WORDS("set", "Story", "Beta", "400"));
    program_does(program, WORDS("keep", "Story", "--note", "More air.", "--changed"));
    program_does(program, WORDS("branch", "Story/1"));
    program_does(program, WORDS("add", "Story", "Epsilon", "50"));
    program_does(program, WORDS("restrength", "Story", "Delta", "10%"));
    program_does(program, WORDS("keep", "Story", "--changed"));
    program_does(program, WORDS("new", "Other", "--base", "100"));
    program_does(program, WORDS("add", "Other", "Alpha", "50"));
    program_does(program, WORDS("add", "Other", "Epsilon", "50"));
    program_does(program, WORDS("keep", "Other"));
}

static void says(const struct program *program, const char *piece)
{
    if (strstr(program->out, piece) == NULL)
        fail_msg("\"%s\" is not in: %s", piece, program->out);
}

static void misses(const struct program *program, const char *piece)
{
    if (strstr(program->out, piece) != NULL)
        fail_msg("\"%s\" is in: %s", piece, program->out);
}

static void trials_as_a_tree(void **state)
{
    struct program *program = *state;
    story(program);
    program_does(program, WORDS("trials", "Story", "--tree"));
    says(program, "Beta 300 -> 400; 3 others");
    program_asks(program, WORDS("trials", "Story", "--tree"));
    program_says(program, "$.trials[0].trial", "1");
    program_says(program, "$.trials[0].changed", "null");
    program_says(program, "$.trials[1].trial", "2"); /* the draft's line goes on below */
    program_says(program, "$.trials[1].parent", "1");
    program_says(program, "$.trials[2].trial", "3");
    program_does(program, WORDS("aside", "Story/2"));
    program_asks(program, WORDS("trials", "Story", "--in-sight"));
    assert_int_equal(program_count(program, "$.trials"), 2);
    program_asks(program, WORDS("trials", "Story"));
    assert_int_equal(program_count(program, "$.trials"), 3);
}

static void notes_say_what_changed(void **state)
{
    struct program *program = *state;
    story(program);
    program_asks(program, WORDS("trials", "Story"));
    program_says(program, "$.trials[1].note", "\"More air. Beta 300 -> 400; 3 others\"");
    program_says(program, "$.trials[2].changed",
                 "\"Delta 10 at 1 % -> 0.96 at 10 %, +Epsilon; 3 others\"");
    program_says(program, "$.trials[2].note",
                 "\"Delta 10 at 1 % -> 0.96 at 10 %, +Epsilon; 3 others\"");
}

static void four_side_by_side(void **state)
{
    struct program *program = *state;
    story(program);
    program_does(program, WORDS("set", "Story", "Alpha", "600"));
    program_asks(program, WORDS("compare", "Story/1", "Story/2", "Story", "Other/1"));
    program_says(program, "$.trials[2]", "\"Story\"");
    program_says(program, "$.bases[3]", "100");
    program_says(program, "$.total_parts[3]", "100");
    assert_int_equal(program_count(program, "$.lines"), 5);
    program_says(program, "$.lines[0].material", "\"Alpha\"");
    program_says(program, "$.lines[0].parts[3]", "500"); /* on the first one's base */
    program_says(program, "$.lines[0].change", "\"same\"");
    program_says(program, "$.lines[0].changes[2]", "\"more\"");
    program_says(program, "$.lines[0].factors[2]", "1.2");
    program_says(program, "$.lines[1].change", "\"gone\"");
    program_says(program, "$.lines[1].changes[1]", "\"more\"");
    program_says(program, "$.lines[1].in_step[1]", "false");
    program_says(program, "$.lines[0].in_step[1]", "true");
    program_says(program, "$.lines[3].poured_as[0]", "\"1 % in Carrier\"");
    program_says(program, "$.lines[4].material", "\"Epsilon\"");
    program_says(program, "$.lines[4].there[0]", "false");
    program_says(program, "$.sentences[0]", "null");
    program_says(program, "$.unpriced[3]", "2");
    /* 10 parts at 1 % bring 9.9 of solvent in 1000. */
    program_says(program, "$.solvent_percent[0]", "0.99");
    program_says(program, "$.strength_percent[0]", "99.01");
    program_misused(program, "compare", WORDS("compare", "Story/1"));
    program_misused(program, "compare",
                    WORDS("compare", "Story/1", "Story/2", "Story/3", "Story", "Other"));
}

static void only_what_differs(void **state)
{
    struct program *program = *state;
    story(program);
    program_asks(program, WORDS("compare", "Story/1", "Story/2", "--only", "own"));
    assert_int_equal(program_count(program, "$.lines"), 1);
    program_says(program, "$.lines[0].material", "\"Beta\"");
    program_says(program, "$.lines[0].factor", "1.333333");
    program_asks(program, WORDS("compare", "Story/1", "Story/2", "--only", "differing"));
    assert_int_equal(program_count(program, "$.lines"), 4);
    program_asks(program, WORDS("compare", "Story/1", "Story/1", "--only", "differing"));
    assert_int_equal(program_count(program, "$.lines"), 0);
    program_asks(program, WORDS("compare", "Story/1", "Other/1", "--sort", "parts"));
    program_says(program, "$.lines[0].material", "\"Epsilon\""); /* 500 of 1000 came */
    program_misused(program, "only", WORDS("compare", "Story/1", "Story/2", "--only", "some"));
}

static void printed_for_people(void **state)
{
    struct program *program = *state;
    story(program);
    program_does(program, WORDS("compare", "Story/1", "Story/2", "Story/3"));
    says(program, "Story/1  Story/2  times   change   Story/3  times   change");
    says(program, "x1.33   more");
    says(program, "in step");
    says(program, "added");
    says(program, "Story/1: 4 lines, total 1000, strength 99.01 %, solvent 0.99 %\n");
    assert_non_null(strstr(program->err, "Story/1 to Story/2: Beta 300 -> 400; 3 others"));
    assert_non_null(strstr(program->err, "Story/1 to Story/3: "));
    program_does(program, WORDS("compare", "Story/1", "Story/2", "--only", "own"));
    misses(program, "Gamma");
    misses(program, "\ntotal");
    program_does(program, WORDS("compare", "Story/1", "Story/2", "Story/3", "--csv"));
    says(program, "material,Story/1,Story/2,factor Story/2,change Story/2,Story/3,factor,change");
    program_does(program, WORDS("bottle", "add", "Alpha", "100g", "--price", "20 EUR"));
    program_does(program, WORDS("compare", "Story/1", "Story/2"));
    /* 500 g of it at 0.20 EUR */
    says(program, "a kilogram costs at least 100.00 EUR (4 without a price)");
}

#define PROGRAM(test) cmocka_unit_test_setup_teardown(test, program_set_up, program_tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PROGRAM(trials_as_a_tree),  PROGRAM(notes_say_what_changed), PROGRAM(four_side_by_side),
        PROGRAM(only_what_differs), PROGRAM(printed_for_people),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
