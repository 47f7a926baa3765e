/* SPDX-License-Identifier: MIT */
/*
 * Smelling and blind tests by command. Every run is a program of its own, so whatever runs over
 * several of them has survived restarts.
 */
#include "program.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* Three kept trials. */
static void story(struct program *program)
{
    program_fill_shelf(program);
    program_does(program, WORDS("new", "Story"));
    program_does(program, WORDS("add", "Story", "Alpha", "600"));
    program_does(program, WORDS("add", "Story", "Beta", "400"));
    program_does(program, WORDS("keep", "Story"));
    program_does(program, WORDS("set", "Story", "Alpha", "500"));
    program_does(program, WORDS("keep", "Story"));
    program_does(program, WORDS("set", "Story", "Alpha", "450"));
    program_does(program, WORDS("keep", "Story"));
}

static void says(const char *text, const char *piece)
{
    if (strstr(text, piece) == NULL)
        fail_msg("\"%s\" is not in: %s", piece, text);
}

static void notes_and_their_corrections(void **state)
{
    struct program *p = *state;
    story(p);
    program_asks(p, WORDS("smell", "Story/1", "--at", "15min", "--intensity", "6", "--on", "skin",
                          "--liking", "7", "--strength", "15%", "--assessor", "Ana", "--note",
                          "salt, wet rope"));
    program_says(p, "$.smell", "1");
    says(p->err, "patch test proves little");
    program_refuses(p, "Liking goes from 0 to 10",
                    WORDS("smell", "Story/1", "--at", "2h", "--liking", "11"));
    program_refuses(p, "Intensity goes from 0 to 10",
                    WORDS("smell", "Story/1", "--at", "2h", "--intensity", "11"));
    program_does(p, WORDS("smell", "Story/1", "--at", "2h", "--intensity", "3", "--note", "rope"));
    program_asks(p, WORDS("smells", "Story"));
    program_says(p, "$.formula", "\"Story\"");
    assert_int_equal(program_count(p, "$.smells"), 2);
    program_says(p, "$.smells[0].smell", "1");
    program_says(p, "$.smells[0].trial", "1");
    program_says(p, "$.smells[0].on", "\"skin\"");
    program_says(p, "$.smells[0].after_s", "900");
    program_says(p, "$.smells[0].stage", "\"heart\"");
    program_says(p, "$.smells[0].intensity", "6");
    program_says(p, "$.smells[0].liking", "7");
    program_says(p, "$.smells[0].strength_percent", "15");
    program_says(p, "$.smells[0].assessor", "\"Ana\"");
    program_says(p, "$.smells[0].note", "\"salt, wet rope\"");
    program_says(p, "$.smells[1].liking", "null");
    program_does(p, WORDS("smell", "--correct", "1", "--intensity", "5"));
    program_asks(p, WORDS("smells", "Story/1"));
    program_says(p, "$.smells[0].smell", "3");
    program_says(p, "$.smells[0].corrects", "1");
    program_says(p, "$.smells[0].intensity", "5");
    program_says(p, "$.smells[0].note", "\"salt, wet rope\"");
    program_does(p, WORDS("smell", "--correct", "3", "--withdraw"));
    program_asks(p, WORDS("smells", "Story", "--all"));
    assert_int_equal(program_count(p, "$.smells"), 4);
    program_asks(p, WORDS("smells", "Story"));
    assert_int_equal(program_count(p, "$.smells"), 1);
    program_asks(p, WORDS("trials", "Story"));
    program_says(p, "$.trials[0].smells", "1");
    program_says(p, "$.trials[1].smells", "0");
}

static void what_cannot_be_noted(void **state)
{
    struct program *p = *state;
    story(p);
    program_refuses(p, "keep the draft first",
                    WORDS("smell", "Story", "--at", "1min", "--intensity", "5"));
    program_refuses(p, "the time must be given", WORDS("smell", "Story/1", "--intensity", "5"));
    program_refuses(p, "says something", WORDS("smell", "Story/1", "--at", "5min"));
    program_refuses(p, "0 to 10", WORDS("smell", "Story/1", "--at", "5min", "--intensity", "12"));
    program_refuses(
        p, "still to come",
        WORDS("smell", "Story/1", "--at", "5min", "--intensity", "1", "--when", "2999-01-01"));
    program_refuses(p, "no smell note 4", WORDS("smell", "--correct", "4", "--intensity", "1"));
    program_misused(p, "Name a kept trial", WORDS("smell", "--at", "5min", "--intensity", "1"));
    program_misused(p, "--on", WORDS("smell", "Story/1", "--at", "1", "--on", "wool"));
    program_misused(p, "Name a formula", WORDS("smells"));
    program_misused(p, "at a time", WORDS("smells", "Story", "--plot", "--words"));
}

static void a_session_over_several_runs(void **state)
{
    struct program *p = *state;
    story(p);
    /* Nothing due: the exit status tells, like a test's. */
    program_run(p, WORDS("smells", "--due"));
    assert_int_equal(p->outcome, 1);
    program_does(p, WORDS("session", "start", "Story/1", "--ago", "20min"));
    program_does(p, WORDS("session", "start", "Story/2", "--on", "skin", "--schedule", "1h, 2h"));
    says(p->err, "sensitise");
    program_does(p, WORDS("smells", "--due"));
    says(p->out, "15 min due");
    program_asks(p, WORDS("smells", "--due"));
    assert_int_equal(program_count(p, "$.due"), 1);
    program_says(p, "$.due[0].trial", "\"Story/1\"");
    program_says(p, "$.due[0].due_after_s", "900");
    /* The same by the list of all that is due: of several times missed the last one. */
    char at[40];
    snprintf(at, sizeof at, "%s", program_value(p, "$.due[0].due_at"));
    program_asks(p, WORDS("due"));
    program_says(p, "$.due[0].due_at", at);
    program_run(p, WORDS("smells", "Story/2", "--due"));
    assert_int_equal(p->outcome, 1);
    program_does(p, WORDS("smell", "Story/1", "--intensity", "7"));
    says(p->err, "on blotter after 20 min");
    program_run(p, WORDS("smells", "--due", "--json"));
    assert_int_equal(p->outcome, 1);
    says(p->out, "{\"due\":[]}");
    program_asks(p, WORDS("session", "list"));
    assert_int_equal(program_count(p, "$.session"), 2);
    program_says(p, "$.session[0].smells", "1");
    program_says(p, "$.session[1].schedule", "\"1 h, 2 h\"");
    program_says(p, "$.session[1].due", "false");
    program_refuses(p, "not in the running session", WORDS("session", "stop", "Story/3"));
    program_does(p, WORDS("session", "stop", "Story/1"));
    program_refuses(p, "stopped already", WORDS("session", "stop", "1"));
    program_asks(p, WORDS("session", "list"));
    assert_int_equal(program_count(p, "$.session"), 1);
    program_does(p, WORDS("session", "resume", "1"));
    program_does(p, WORDS("schedule", "0, 10min"));
    program_asks(p, WORDS("schedule"));
    program_says(p, "$.schedule", "\"0, 10 min\"");
    program_refuses(p, "two ways", WORDS("schedule", "1,5h"));
    program_does(p, WORDS("verify"));
}

static void curves_and_words(void **state)
{
    struct program *p = *state;
    story(p);
    program_does(p, WORDS("smells", "Story", "--plot"));
    says(p->err, "Nothing of it has been smelled yet");
    program_does(p, WORDS("smell", "Story/1", "--at", "0", "--intensity", "8", "--note", "Salt"));
    program_does(p, WORDS("smell", "Story/1", "--at", "4h", "--intensity", "2", "--note", "salt"));
    program_does(p, WORDS("smell", "Story/3", "--at", "1h", "--intensity", "5", "--note", "moss"));
    program_does(p, WORDS("smells", "Story", "--plot"));
    says(p->out, "o Story/1: top 8 at once; base 2 after 4 h.");
    says(p->out, "x Story/3: heart 5 after 1 h.");
    program_asks(p, WORDS("smells", "Story/3", "Story/1", "--plot"));
    program_says(p, "$.sentences[0]", "\"o Story/3: heart 5 after 1 h.\"");
    assert_int_equal(program_count(p, "$.plot"), 16);
    program_asks(p, WORDS("smells", "Story", "--words"));
    program_says(p, "$.words[0].stage", "\"top\"");
    program_says(p, "$.words[0].word", "\"salt\"");
    program_says(p, "$.words[2].stage", "\"base\"");
}

/* Answers a round with the odd one, known from the page for whoever fills the vials. */
static void answer_round(struct program *p, int round)
{
    char path[64], code[3][8], of[3];
    program_asks(p, WORDS("panel", "codes", "Told apart"));
    for (int v = 0; v < 3; v++) {
        snprintf(path, sizeof path, "$.rounds[%d].codes[%d]", round, v);
        snprintf(code[v], sizeof code[v], "%.3s", program_value(p, path) + 1);
    }
    program_asks(p, WORDS("panel", "codes", "Told apart", "--fill"));
    for (int v = 0; v < 3; v++) {
        of[v] = 'B';
        for (int64_t i = 0; i < program_count(p, "$.fill[0].codes"); i++) {
            snprintf(path, sizeof path, "$.fill[0].codes[%d]", (int)i);
            /* Codes are strings everywhere. */
            if (program_value(p, path)[0] == '"' &&
                strncmp(program_value(p, path) + 1, code[v], 3) == 0)
                of[v] = 'A';
        }
    }
    const int odd = of[0] == of[1] ? 2 : of[0] == of[2] ? 1 : 0;
    program_does(p, WORDS("panel", "answer", "told apart", code[odd]));
}

static void a_triangle_test_from_plan_to_result(void **state)
{
    struct program *p = *state;
    story(p);
    program_misused(p, "--kind", WORDS("panel", "new", "Told apart", "Story/1", "Story/2"));
    program_refuses(
        p, "two trials",
        WORDS("panel", "new", "X", "Story/1", "Story/2", "Story/3", "--kind", "duo-trio"));
    program_does(p, WORDS("panel", "new", "Told apart", "Story/1", "Story/2", "--kind", "triangle",
                          "--rounds", "6", "--seed", "417"));
    says(p->err, "6 answers can only show a difference when 5 or more are right");
    for (int round = 0; round < 5; round++)
        answer_round(p, round);
    program_refuses(p, "no three-digit code", WORDS("panel", "answer", "Told apart", "12"));
    program_refuses(p, "bears 100", WORDS("panel", "answer", "Told apart", "100"));
    program_asks(p, WORDS("panel", "show", "Told apart"));
    program_says(p, "$.closed", "false");
    program_says(p, "$.result", "null");
    program_says(p, "$.seed", "null");
    for (int v = 0; v < 3; v++) {
        char path[64];
        snprintf(path, sizeof path, "$.rounds[0].vials[%d].trial", v);
        program_says(p, path, "null");
    }
    program_says(p, "$.rounds[0].correct", "null");
    program_asks(p, WORDS("panel", "close", "Told apart"));
    program_says(p, "$.closed", "true");
    program_says(p, "$.result.answers", "5");
    program_says(p, "$.result.correct", "5");
    program_says(p, "$.result.least_correct", "4"); /* ISO 4120: 5 answers, 5 % */
    program_says(p, "$.result.shown", "true");
    program_says(p, "$.result.exploratory", "true");
    /* All five right: (1/3)^5. */
    assert_true(strncmp(program_value(p, "$.result.p"), "0.00411522633744", 16) == 0);
    program_says(p, "$.rounds[0].correct", "true");
    program_says(p, "$.rounds[5].answer", "null");
    program_refuses(p, "was closed on", WORDS("panel", "close", "Told apart"));
    program_does(p, WORDS("panel", "new", "Either", "Story/1", "Story/2", "--kind", "paired"));
    program_asks(p, WORDS("panel", "show", "Either"));
    program_says(p, "$.kind", "\"paired-two-sided\"");
    program_does(p, WORDS("panel", "new", "Foretold", "Story/1", "Story/2", "--kind", "paired",
                          "--expect", "Story/2"));
    program_asks(p, WORDS("panel", "show", "Foretold"));
    program_says(p, "$.kind", "\"paired\"");
    program_says(p, "$.expected", "\"Story/2\"");
    program_misused(p, "one-sided",
                    WORDS("panel", "new", "Both", "Story/1", "Story/2", "--kind", "paired",
                          "--expect", "Story/2", "--two-sided"));
    program_asks(p, WORDS("panel", "list"));
    program_says(p, "$.panels[2].panel", "\"Told apart\"");
    program_says(p, "$.panels[2].answered", "5");
    program_does(p, WORDS("verify"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(notes_and_their_corrections, program_set_up,
                                        program_tear_down),
        cmocka_unit_test_setup_teardown(what_cannot_be_noted, program_set_up, program_tear_down),
        cmocka_unit_test_setup_teardown(a_session_over_several_runs, program_set_up,
                                        program_tear_down),
        cmocka_unit_test_setup_teardown(curves_and_words, program_set_up, program_tear_down),
        cmocka_unit_test_setup_teardown(a_triangle_test_from_plan_to_result, program_set_up,
                                        program_tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
