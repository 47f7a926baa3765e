/* SPDX-License-Identifier: MIT */
/*
 * Plain lines for a screen reader: with --linear no answer aligns anything, draws, or leaves a
 * value to its column's place; all that a table says is said in lines.
 */
#include "program.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static int set_up(void **state)
{
    if (program_set_up(state) != 0)
        return -1;
    struct program *p = *state;
    unsetenv("PERMILLE_LINEAR");
    return setenv("XDG_CONFIG_HOME", p->folder, 1);
}

static void make_library(struct program *p)
{
    program_fill_shelf(p);
    program_does(p, WORDS("material", "edit", "Alpha", "--cas", "106-22-9", "--family", "rose"));
    program_does(p, WORDS("new", "Heart"));
    program_does(p, WORDS("add", "Heart", "Alpha", "600"));
    program_does(p, WORDS("add", "Heart", "Beta", "300", "--at", "10%", "--in", "Carrier"));
    program_does(p, WORDS("add", "Heart", "Gamma", "100"));
    program_does(p, WORDS("keep", "Heart", "--note", "first"));
    program_does(p, WORDS("set", "Heart", "Gamma", "120"));
    program_does(p, WORDS("keep", "Heart"));
    program_does(p, WORDS("bottle", "add", "Alpha", "10g", "--price", "20 EUR"));
    program_does(p,
                 WORDS("smell", "Heart/1", "--at", "15min", "--intensity", "6", "--note", "dry"));
    program_does(p, WORDS("smell", "Heart/1", "--at", "1h", "--intensity", "4"));
    program_does(p, WORDS("session", "start", "Heart/2"));
    program_does(p, WORDS("plan", "add", "Heart/1", "10g"));
    program_does(p, WORDS("rate", "EUR", "1.2", "USD"));
    program_does(p, WORDS("balance", "add", "Fine", "0.001g"));
}

/* Neither aligned (more than two blanks within a line; before it they only set it off), nor drawn
 * (box, block, braille: U+2500 to U+28FF). */
static void is_plain(struct program *p, const char *command)
{
    for (const char *at = p->out; *at != '\0'; at++) {
        const unsigned char *byte = (const unsigned char *)at;
        if (at == p->out || at[-1] == '\n')
            at += strspn(at, " ");
        if (strncmp(at, "   ", 3) == 0)
            fail_msg("%s aligns:\n%s", command, p->out);
        if (byte[0] == 0xE2 && byte[1] >= 0x94 && byte[1] <= 0xA3)
            fail_msg("%s draws:\n%s", command, p->out);
    }
}

static void nothing_is_aligned_or_drawn(void **state)
{
    static const char *const asked[][6] = {
        {"formulas"},
        {"show", "Heart"},
        {"show", "Heart", "--flat"},
        {"trials", "Heart"},
        {"history", "Heart"},
        {"compare", "Heart/1", "Heart/2"},
        {"material", "list"},
        {"material", "show", "Alpha"},
        {"bottle", "list"},
        {"bottle", "show", "B001"},
        {"stock"},
        {"cost", "Heart", "--batch", "10g"},
        {"weigh", "Heart/1", "10g"},
        {"smells", "Heart"},
        {"smells", "Heart/1", "--plot"},
        {"session", "list"},
        {"plan", "list"},
        {"rates"},
        {"balance", "list"},
        {"limits", "Heart", "--dosage", "10%", "--category", "4"},
        {"label", "Heart", "--dosage", "10%", "--category", "4"},
        {"limit", "sets"},
        {"drydown", "Heart"},
        {"settings", "list"},
    };
    struct program *p = *state;
    make_library(p);
    for (size_t i = 0; i < sizeof asked / sizeof asked[0]; i++) {
        const char *words[8] = {"--linear"};
        memcpy(words + 1, asked[i], sizeof asked[i]);
        program_does(p, words);
        assert_true(p->out_length > 0);
        is_plain(p, asked[i][0]);
    }
}

static void a_row_is_lines(void **state)
{
    struct program *p = *state;
    make_library(p);
    program_does(p, WORDS("show", "Heart/1", "--linear"));
    assert_non_null(strstr(p->out, "2 of 3\n"));
    assert_non_null(strstr(p->out, "line: Beta\n") != NULL ? p->out : strstr(p->out, ": Beta\n"));
    assert_non_null(strstr(p->out, "parts: 300.00\n"));
    assert_non_null(strstr(p->out, "total\n"));
    /* The same numbers as in the table. */
    program_does(p, WORDS("show", "Heart/1"));
    assert_non_null(strstr(p->out, "300.00"));
}

static void asked_for_in_three_ways(void **state)
{
    struct program *p = *state;
    program_does(p, WORDS("new", "F"));
    program_does(p, WORDS("formulas"));
    assert_null(strstr(p->out, "formula: F"));
    setenv("PERMILLE_LINEAR", "1", 1);
    program_does(p, WORDS("formulas"));
    assert_non_null(strstr(p->out, "formula: F"));
    unsetenv("PERMILLE_LINEAR");
    program_does(p, WORDS("settings", "set", "linear", "yes"));
    program_does(p, WORDS("formulas"));
    assert_non_null(strstr(p->out, "formula: F"));
    setenv("PERMILLE_LINEAR", "0", 1); /* for once not */
    program_does(p, WORDS("formulas"));
    assert_null(strstr(p->out, "formula: F"));
    unsetenv("PERMILLE_LINEAR");
    program_asks(p, WORDS("formulas", "--linear")); /* JSON is for programs */
    program_says(p, "$.formulas[0].formula", "\"F\"");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(nothing_is_aligned_or_drawn, set_up, program_tear_down),
        cmocka_unit_test_setup_teardown(a_row_is_lines, set_up, program_tear_down),
        cmocka_unit_test_setup_teardown(asked_for_in_three_ways, set_up, program_tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
