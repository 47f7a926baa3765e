/* SPDX-License-Identifier: MIT */
/*
 * The names of a library, and completing command lines.
 */
#include "program.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

static void make_small(struct program *p)
{
    program_fill_shelf(p);
    program_does(p, WORDS("new", "Heart of hay"));
    program_does(p, WORDS("add", "Heart of hay", "Alpha", "600"));
    program_does(p, WORDS("add", "Heart of hay", "Beta", "400"));
    program_does(p, WORDS("keep", "Heart of hay"));
}

static void names_one_a_line(void **state)
{
    struct program *p = *state;
    make_small(p);
    program_does(p, WORDS("names", "trials"));
    assert_string_equal(p->out, "Heart of hay\nHeart of hay/1\n");
    program_does(p, WORDS("names", "lines", "Heart of hay"));
    assert_string_equal(p->out, "Alpha\nBeta\n");
    program_does(p, WORDS("names", "materials", "--begins", "al"));
    assert_string_equal(p->out, "Alpha\n");
    program_misused(p, "Of which formula", WORDS("names", "lines"));
    program_misused(p, "formulas, trials, lines", WORDS("names", "things"));
}

/* The words behind "permille", the last one being typed, and what may follow. The shells' scripts
 * are tried by tests/screen/test_shells.c. */
static void what_may_follow(void **state)
{
    struct program *p = *state;
    make_small(p);
    program_does(p, WORDS("complete", "--", "show", "he"));
    assert_string_equal(p->out, "Heart of hay\nHeart of hay/1\n");
    program_does(p, WORDS("complete", "--", "add", "Heart of hay", "gam"));
    assert_string_equal(p->out, "Gamma\n");
    program_does(p, WORDS("complete", "--", "set", "Heart of hay", "B"));
    assert_string_equal(p->out, "Beta\n");
    program_does(p, WORDS("complete", "--", "set", "--note", "due", "Heart of hay/1", "B"));
    assert_string_equal(p->out, "Beta\n");
    program_does(p, WORDS("complete", "--", "stance", "Heart of hay", "Beta", "h"));
    assert_string_equal(p->out, "held\n");
    program_does(p, WORDS("complete", "--", "mode", "Heart of hay", ""));
    assert_string_equal(p->out, "core\nshare\ncarrier\nopen\n");
    program_does(p, WORDS("complete", "--", "material", "show", "al"));
    assert_string_equal(p->out, "Alpha\n");
    program_does(p, WORDS("complete", "--", "add", "Heart of hay", "Alpha", "1", "--in", "del"));
    assert_string_equal(p->out, "Delta\n");
    program_does(p, WORDS("complete", "--", "material", "mer"));
    assert_memory_equal(p->out, "merge\t", 6);
    program_does(p, WORDS("complete", "--", "kee"));
    assert_memory_equal(p->out, "keep\t", 5);
    program_does(p, WORDS("complete", "--", "new", "X", "--bas"));
    assert_memory_equal(p->out, "--base\t", 7);
    program_does(p, WORDS("complete", "--", "help", "--completion", "z"));
    assert_string_equal(p->out, "zsh\n");
    program_does(p, WORDS("complete", "--", "--db", ""));
    assert_string_equal(p->out, "\tfiles\n");
    program_does(p, WORDS("complete", "--", "nonsense", "x"));
    assert_string_equal(p->out, "");
}

/* Another library named on the line; one that is not there has no names and is not made. */
static void names_of_the_library_that_is_named(void **state)
{
    struct program *p = *state;
    char *other = program_path(p, "other.db");
    make_small(p);
    program_does(p, WORDS("complete", "--", "--db", other, "show", ""));
    assert_string_equal(p->out, "");
    assert_int_equal(access(other, F_OK), -1);
    program_does(p, WORDS("complete", "--", "--db", p->library, "show", "h"));
    assert_string_equal(p->out, "Heart of hay\nHeart of hay/1\n");
    free(other);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(names_one_a_line, program_set_up, program_tear_down),
        cmocka_unit_test_setup_teardown(what_may_follow, program_set_up, program_tear_down),
        cmocka_unit_test_setup_teardown(names_of_the_library_that_is_named, program_set_up,
                                        program_tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
