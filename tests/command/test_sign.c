/* SPDX-License-Identifier: MIT */
/*
 * Where the person's numbers have a comma, no figure of a text answer has a point: statistics and
 * physics, which are doubles, as well as amounts. JSON and CSV keep theirs.
 */
#include "program.h"

#include "permille/base/mem.h"

#include <ctype.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define WORDS_MOST 16

static const char *const story[][WORDS_MOST] = {
    {"material", "add", "Linalool", "--cas", "78-70-6"},
    {"material", "add", "Coumarin", "--cas", "91-64-5"},
    {"material", "add", "Vanillin", "--cas", "121-33-5"},
    {"material", "add", "Unknown"},
    {"new", "Quay"},
    {"add", "Quay", "Linalool", "400"},
    {"add", "Quay", "Coumarin", "300"},
    {"add", "Quay", "Vanillin", "299"},
    {"add", "Quay", "Unknown", "1"},
    {"ladder", "Quay", "Coumarin", "--doses", "12.5; 25; 50"},
    {"smell", "Quay/1", "--at", "15min", "--intensity", "3"},
    {"smell", "Quay/1", "--at", "15min", "--intensity", "4"},
    {"smell", "Quay/2", "--at", "15min", "--intensity", "5"},
    {"smell", "Quay/3", "--at", "15min", "--intensity", "8"},
    {"ratios", "Quay", "Linalool", "Coumarin", "Vanillin", "--name", "Three"},
    {"ratios", "rate", "Three", "Quay/4", "1.5"},
    {"ratios", "rate", "Three", "Quay/5", "4.5"},
    {"ratios", "rate", "Three", "Quay/6", "2.25"},
    {"ratios", "rate", "Three", "Quay/7", "7"},
    {"ratios", "rate", "Three", "Quay/8", "3"},
    {"ratios", "rate", "Three", "Quay/9", "5.5"},
    {"ratios", "rate", "Three", "Quay/10", "6"},
    {"ratios", "rate", "Three", "Quay/10", "6.5"},
    {"panel", "new", "Rank", "Quay/1", "Quay/2", "Quay/3", "--kind", "ranking", "--rounds", "2",
     "--alpha", "2.5%", "--seed", "7"},
};

/* Each with a figure in it that has decimals. */
static const char *const asked[][WORDS_MOST] = {
    {"response", "Coumarin in Quay", "--intensity", "6"},
    {"response", "Coumarin in Quay", "--intensity", "6", "--linear"},
    {"ratios", "fit", "Three"},
    {"ratios", "fit", "Three", "--model", "linear"},
    {"ratios", "fit", "Three", "--linear"},
    {"series", "show", "Coumarin in Quay"},
    {"series", "show", "Three"},
    {"series", "weigh", "Three", "10g"},
    {"panel", "show", "Rank"},
    {"drydown", "Quay"},
    {"drydown", "Quay", "--linear"},
    {"weigh", "Quay/1", "--budget"},
    {"profile", "Quay"},
};

/* The C library finds a locale of our own here, since a bare machine has none with a comma. */
static bool make_comma(const struct program *p)
{
    char command[1200];
    snprintf(command, sizeof command,
             "cd '%s' && printf 'LC_NUMERIC\\ndecimal_point \"<U002C>\"\\nthousands_sep \"\"\\n"
             "grouping -1\\nEND LC_NUMERIC\\n' > source && "
             "{ localedef -c -i source ./comma > /dev/null 2>&1; test -f comma/LC_NUMERIC; }",
             p->folder);
    return system(command) == 0;
}

static void numbers_with(const struct program *p, bool comma)
{
    if (comma) {
        setenv("LOCPATH", p->folder, 1);
        setenv("LC_NUMERIC", "comma", 1);
        unsetenv("LC_ALL");
        return;
    }
    unsetenv("LOCPATH");
    unsetenv("LC_NUMERIC");
    setenv("LC_ALL", "C.UTF-8", 1);
}

/* Where `sign` stands between digits; NULL: nowhere. */
static const char *find_figure(const char *text, char sign)
{
    for (const char *at = text; (at = strchr(at, sign)) != NULL; at++)
        if (at > text && isdigit((unsigned char)at[-1]) && isdigit((unsigned char)at[1]))
            return at;
    return NULL;
}

/* Answers the rounds of the ranking in the order they are smelled, all tied but the first. */
static void rank(struct program *p)
{
    for (int round = 0; round < 2; round++) {
        char codes[3][8];
        program_asks(p, WORDS("panel", "codes", "Rank"));
        for (int i = 0; i < 3; i++) {
            char path[48];
            snprintf(path, sizeof path, "$.rounds[%d].codes[%d]", round, i);
            (void)sscanf(program_value(p, path), "\"%7[0-9]", codes[i]);
        }
        char tied[20];
        snprintf(tied, sizeof tied, "%.7s=%.7s", codes[1], codes[2]);
        program_does(p, WORDS("panel", "answer", "Rank", codes[0], tied));
    }
    program_does(p, WORDS("panel", "close", "Rank"));
}

/* What happened, where a locale with a comma can be made; else the test is skipped. */
static void tell_story(struct program *p)
{
    if (!make_comma(p))
        skip();
    for (size_t i = 0; i < sizeof story / sizeof story[0]; i++)
        program_does(p, story[i]);
}

static void text_answers_have_the_comma(void **state)
{
    struct program *p = *state;
    tell_story(p);
    rank(p);
    for (size_t i = 0; i < sizeof asked / sizeof asked[0]; i++) {
        numbers_with(p, true);
        program_does(p, asked[i]);
        numbers_with(p, false);
        const char *point = find_figure(p->out, '.');
        if (point != NULL)
            fail_msg("%s %s has a point: %.60s", asked[i][0], asked[i][1],
                     point - p->out > 20 ? point - 20 : p->out);
        if (find_figure(p->out, ',') == NULL)
            fail_msg("%s %s has no figure: %s", asked[i][0], asked[i][1], p->out);
    }
}

static void json_keeps_the_point(void **state)
{
    struct program *p = *state;
    tell_story(p);
    numbers_with(p, true);
    program_asks(p, WORDS("ratios", "fit", "Three"));
    assert_true(strtod(program_value(p, "$.terms[0].coefficient"), NULL) > 1);
    assert_non_null(strchr(program_value(p, "$.terms[0].coefficient"), '.'));
    program_does(p, WORDS("series", "show", "Three", "--csv"));
    numbers_with(p, false);
    assert_non_null(strstr(p->out, ",4.5,"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(text_answers_have_the_comma, program_set_up,
                                        program_tear_down),
        cmocka_unit_test_setup_teardown(json_keeps_the_point, program_set_up, program_tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
