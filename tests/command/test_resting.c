/* SPDX-License-Identifier: MIT */
/* A resting line is what it is wherever it is read: resting, with what it had; never nothing, less
 * or gone. */
#include "program.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* F/1: 500, 300, 200; F/2: the second rests; F/3: it is back. */
static void make(struct program *p)
{
    program_fill_shelf(p);
    program_does(p, WORDS("new", "F"));
    program_does(p, WORDS("add", "F", "Alpha", "500"));
    program_does(p, WORDS("add", "F", "Beta", "300"));
    program_does(p, WORDS("add", "F", "Gamma", "200"));
    program_does(p, WORDS("keep", "F"));
    program_does(p, WORDS("rest", "F", "Beta"));
    program_does(p, WORDS("keep", "F"));
}

static void assert_said(struct program *p, const char *what)
{
    if (strstr(p->out, what) == NULL)
        fail_msg("\"%s\" is not in: %s", what, p->out);
}

static void assert_not_said(struct program *p, const char *what)
{
    if (strstr(p->out, what) != NULL)
        fail_msg("\"%s\" is in: %s", what, p->out);
}

static void shown(void **state)
{
    struct program *p = *state;
    make(p);
    program_does(p, WORDS("show", "F"));
    assert_said(p, "resting (300)");
    program_does(p, WORDS("show", "F", "--flat"));
    assert_said(p, "resting");
    program_asks(p, WORDS("show", "F", "--flat"));
    program_says(p, "$.materials[0].resting", "false");
    program_says(p, "$.materials[2].material", "\"Beta\"");
    program_says(p, "$.materials[2].resting", "true");
    program_does(p, WORDS("history", "F"));
    assert_said(p, "Rested Beta (300)");
}

static void compared(void **state)
{
    struct program *p = *state;
    make(p);
    program_does(p, WORDS("compare", "F/1", "F/2"));
    assert_said(p, "resting");
    assert_not_said(p, "less");
    program_asks(p, WORDS("compare", "F/1", "F/2"));
    program_says(p, "$.sentence", "\"F/1 to F/2: Beta rests; 2 others\"");
    program_says(p, "$.lines[1].resting[0]", "false");
    program_says(p, "$.lines[1].resting[1]", "true");
    program_asks(p, WORDS("compare", "F/1", "F/2", "--by", "flat"));
    program_says(p, "$.lines[1].resting[1]", "true");
    program_does(p, WORDS("trials", "F"));
    assert_said(p, "Beta rests");
    program_does(p, WORDS("stance", "F", "Beta", "free"));
    program_does(p, WORDS("keep", "F"));
    program_does(p, WORDS("compare", "F/2", "F/3"));
    assert_said(p, "back");
    program_asks(p, WORDS("compare", "F/2", "F/3"));
    program_says(p, "$.sentence", "\"F/2 to F/3: Beta back, 0 -> 300; 2 others\"");
}

/* Nothing of it is poured, so nothing of it is needed. */
static void not_poured(void **state)
{
    struct program *p = *state;
    make(p);
    program_asks(p, WORDS("needs", "F", "10g"));
    assert_int_equal(program_count(p, "$.needs"), 2);
    program_does(p, WORDS("cost", "F", "--batch", "10g"));
    assert_said(p, "resting");
    program_asks(p, WORDS("weigh", "F", "10g"));
    assert_int_equal(program_count(p, "$.lines"), 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(shown, program_set_up, program_tear_down),
        cmocka_unit_test_setup_teardown(compared, program_set_up, program_tear_down),
        cmocka_unit_test_setup_teardown(not_poured, program_set_up, program_tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
