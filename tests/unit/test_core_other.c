/* SPDX-License-Identifier: MIT */
/*
 * What is wished of another library's things and what follows: what can be, what comes along; and a
 * change told in the numbers of another library.
 */
#include "permille/base/text.h"
#include "permille/core/change.h"
#include "permille/core/other.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

/* ---- wishes ---- */

static void what_can_be_wished(void **state)
{
    static const struct {
        enum pm_other_kind kind;
        enum pm_other_state state;
        int64_t trials_more;
        bool take, second;
        enum pm_other_how usual;
    } rows[] = {
        {PM_OTHER_FORMULA, PM_OTHER_NEW, 0, true, false, PM_OTHER_TAKE},
        {PM_OTHER_FORMULA, PM_OTHER_SAME, 0, false, false, PM_OTHER_LEAVE},
        {PM_OTHER_FORMULA, PM_OTHER_ASIDE, 0, true, true, PM_OTHER_LEAVE},
        {PM_OTHER_FORMULA, PM_OTHER_MORE, 2, true, true, PM_OTHER_TAKE},
        {PM_OTHER_FORMULA, PM_OTHER_LESS, 0, false, true, PM_OTHER_LEAVE},
        {PM_OTHER_FORMULA, PM_OTHER_FORKED, 2, true, true, PM_OTHER_LEAVE},
        {PM_OTHER_FORMULA, PM_OTHER_FORKED, 0, false, true, PM_OTHER_LEAVE},
        {PM_OTHER_FORMULA, PM_OTHER_TAKEN, 0, false, true, PM_OTHER_LEAVE},
        {PM_OTHER_MATERIAL, PM_OTHER_DIFFERS, 0, false, true, PM_OTHER_LEAVE},
        {PM_OTHER_BOTTLE, PM_OTHER_FORKED, 2, false, true, PM_OTHER_LEAVE},
        {PM_OTHER_SMELL, PM_OTHER_DIFFERS, 0, false, false, PM_OTHER_LEAVE},
        {PM_OTHER_RATE, PM_OTHER_DIFFERS, 0, false, false, PM_OTHER_LEAVE},
        {PM_OTHER_CEILING, PM_OTHER_DIFFERS, 0, false, false, PM_OTHER_LEAVE},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct pm_other_item item = {
            .kind = rows[i].kind, .state = rows[i].state, .trials_more = rows[i].trials_more};
        const char *why;
        if (pm_other_can(&item, PM_OTHER_TAKE, &why) != rows[i].take ||
            pm_other_can(&item, PM_OTHER_SECOND, NULL) != rows[i].second ||
            pm_other_usual(&item) != rows[i].usual)
            fail_msg("row %zu", i);
        assert_true(pm_other_can(&item, PM_OTHER_LEAVE, NULL));
        if (!pm_other_can(&item, PM_OTHER_TAKE, &why))
            assert_non_null(why);
    }
}

/* A note needs its formula, that its accord, and that a material; a circle ends. */
static void what_is_needed_comes_along(void **state)
{
    struct pm_other_item rows[] = {
        {.kind = PM_OTHER_FORMULA, .id = 1, .state = PM_OTHER_NEW},
        {.kind = PM_OTHER_FORMULA, .id = 2, .state = PM_OTHER_TAKEN},
        {.kind = PM_OTHER_MATERIAL, .id = 1, .state = PM_OTHER_NEW},
        {.kind = PM_OTHER_MATERIAL, .id = 2, .state = PM_OTHER_NEW},
        {.kind = PM_OTHER_SMELL, .id = 1, .state = PM_OTHER_NEW},
    };
    struct pm_other_need needs[] = {
        {PM_OTHER_FORMULA, PM_OTHER_FORMULA, 1, 2},
        {PM_OTHER_FORMULA, PM_OTHER_MATERIAL, 2, 1},
        {PM_OTHER_FORMULA, PM_OTHER_FORMULA, 2, 1},
        {PM_OTHER_SMELL, PM_OTHER_FORMULA, 1, 1},
    };
    const struct pm_other_items items = {.items = rows, .count = 5};
    const struct pm_other_needs all = {.items = needs, .count = 4};
    struct pm_other_wish wishes[5] = {{.how = PM_OTHER_LEAVE}};
    struct pm_error err;
    (void)state;
    wishes[4].how = PM_OTHER_TAKE;
    assert_int_equal(pm_other_follow(&items, &all, wishes, &err), PM_OK);
    assert_int_equal(wishes[0].comes, PM_OTHER_TAKE);
    assert_int_equal(wishes[0].needed_by, 4);
    assert_int_equal(wishes[1].comes, PM_OTHER_SECOND); /* the one way in which it can */
    assert_int_equal(wishes[1].needed_by, 0);
    assert_int_equal(wishes[2].comes, PM_OTHER_TAKE);
    assert_int_equal(wishes[2].needed_by, 1);
    assert_int_equal(wishes[3].comes, PM_OTHER_LEAVE);
    assert_int_equal(wishes[4].needed_by, SIZE_MAX);
    wishes[4].how = PM_OTHER_LEAVE;
    wishes[2].how = PM_OTHER_TAKE;
    assert_int_equal(pm_other_follow(&items, &all, wishes, &err), PM_OK);
    assert_int_equal(wishes[0].comes, PM_OTHER_LEAVE);
    assert_int_equal(wishes[2].needed_by, SIZE_MAX);
}

/* Store and front ends name kinds by these numbers. */
static void kinds_have_words(void **state)
{
    (void)state;
    for (int kind = 0; kind < PM_OTHER_KINDS; kind++)
        for (int plural = 0; plural <= 1; plural++) {
            const char *word = pm_other_kind_word((enum pm_other_kind)kind, plural == 1);
            enum pm_other_kind found;
            assert_true(pm_other_kind_from_word(word, strlen(word), &found));
            assert_int_equal(found, kind);
        }
    enum pm_other_kind named;
    assert_true(pm_other_kind_from_word("limit rules", 11, &named));
    assert_int_equal(named, PM_OTHER_RULES);
    assert_string_equal(pm_other_kind_code(PM_OTHER_RULES), "limit rules");
    assert_string_equal(pm_other_kind_word(PM_OTHER_RULES, false), "limit set");
    assert_string_equal(pm_other_kind_word(PM_OTHER_RULES, true), "limit sets");
    assert_false(pm_other_kind_from_word("formulary", 9, &(enum pm_other_kind){0}));
    assert_int_equal(PM_OTHER_FORMULA, 0);
    assert_int_equal(PM_OTHER_MATERIAL, 1);
    assert_int_equal(PM_OTHER_BOTTLE, 2);
    assert_int_equal(PM_OTHER_BATCH, 3);
    assert_int_equal(PM_OTHER_FILLING, 4);
    assert_int_equal(PM_OTHER_SESSION, 5);
    assert_int_equal(PM_OTHER_SMELL, 6);
    assert_int_equal(PM_OTHER_PANEL, 7);
    assert_int_equal(PM_OTHER_SERIES, 8);
    assert_int_equal(PM_OTHER_RULES, 9);
    assert_int_equal(PM_OTHER_BALANCE, 10);
    assert_int_equal(PM_OTHER_CEILING, 11);
    assert_int_equal(PM_OTHER_RATE, 12);
    assert_int_equal(PM_OTHER_TAKEN, 7);
}

/* ---- changes ---- */

/* There materials are a hundred more, trials two hundred. */
static int64_t elsewhere(void *context, bool trial, int64_t id)
{
    (void)context;
    return id + (trial ? 200 : 100);
}

struct lines {
    int64_t id[10];
    bool accord[10];
};

static void known(void *context, int64_t line, bool accord, int64_t id)
{
    struct lines *lines = context;
    lines->id[line] = id;
    lines->accord[line] = accord;
}

static int64_t standing(void *context, int64_t line, bool *accord)
{
    const struct lines *lines = context;
    *accord = lines->accord[line];
    return lines->id[line];
}

static void a_change_is_told_in_other_numbers(void **state)
{
    static const struct {
        const char *change, *told;
    } rows[] = {
        {"change 3\nbase 1000 100\nparent 3 0\nscale 5 1 5 2\nnext 2 3\n"
         "new 0 2 material 7 100000000 9 250 free 0 0 0 1 2 free \"as \\\"7 9\\\"\"\n",
         "change 3\nbase 1000 100\nparent 203 0\nscale 5 1 5 2\nnext 2 3\n"
         "new 0 2 material 107 100000000 109 250 free 0 0 0 1 2 free \"as \\\"7 9\\\"\"\n"},
        {"change 1\ngone 1 4 accord 7 1000000000 0 5 free 0 0 -\n",
         "change 1\ngone 1 4 accord 207 1000000000 0 5 free 0 0 -\n"},
        /* Which kind it is says the line, not the change. */
        {"change 3\nline 4 ref 7 8\nline 2 ref 7 8\nline 2 solvent 0 9\nline 2 parts 7 8\n",
         "change 3\nline 4 ref 207 208\nline 2 ref 107 108\nline 2 solvent 0 109\nline 2 parts 7 "
         "8\n"},
        {"change 3\nline 4 kind accord material\nline 4 ref 8 7\n",
         "change 3\nline 4 kind accord material\nline 4 ref 208 107\n"},
        /* An accord and a material of one number here are two there. */
        {"change 3\nline 4 kind material accord\nline 4 parts 1 2\n",
         "change 3\nline 4 kind material accord\nline 4 ref 107 207\nline 4 parts 1 2\n"},
        {"change 3\nline 2 comment - \"line 4 ref 7 8\"\norder 0 2,4 4,2\n",
         "change 3\nline 2 comment - \"line 4 ref 7 8\"\norder 0 2,4 4,2\n"},
        {"nonsense\n\nline\nnew 1\nline 4 ref\n", "nonsense\n\nline\nnew 1\nline 4 ref\n"},
        {"", ""},
    };
    struct lines lines = {{0}, {0}};
    const struct pm_change_teller teller = {elsewhere, known, standing, &lines};
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct pm_text out = PM_TEXT_EMPTY;
        struct pm_error err;
        assert_int_equal(pm_change_tell(rows[i].change, &teller, &out, &err), PM_OK);
        assert_string_equal(pm_text_get(&out), rows[i].told);
        pm_text_release(&out);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_can_be_wished),
        cmocka_unit_test(what_is_needed_comes_along),
        cmocka_unit_test(kinds_have_words),
        cmocka_unit_test(a_change_is_told_in_other_numbers),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
