/* SPDX-License-Identifier: MIT */
/*
 * Scopes and books of rules. Which products a phrase of Annex III of Regulation (EC) 1223/2009
 * takes in is told here product by product, as the entries in schema/reference/limits_eu_law.csv
 * mean it; substances and figures of the books are invented.
 */
#include "permille/core/limits.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* ---- scopes ---- */

/* In the order of the letters below: fine fragrance, eau de toilette, cream; body lotion, baby
 * cream; shampoo; lipstick and toothpaste (category 6); candle. */
static const struct pm_product products[] = {
    {"4", PM_LEAVE_ON, PM_FINE_FRAGRANCE},  {"4", PM_LEAVE_ON, PM_EAU_DE_TOILETTE},
    {"4", PM_LEAVE_ON, PM_FRAGRANCE_CREAM}, {"5A", PM_LEAVE_ON, PM_FINE_FRAGRANCE},
    {"5D", PM_LEAVE_ON, PM_FINE_FRAGRANCE}, {"9", PM_RINSE_OFF, PM_FINE_FRAGRANCE},
    {"6", PM_LEAVE_ON, PM_FINE_FRAGRANCE},  {"12", PM_NO_COSMETIC, PM_FINE_FRAGRANCE},
};

static const struct {
    const char *scope, *covers; /* y: yes, -: no, ?: unclear */
} scopes[] = {
    {"all", "yyyyyyy-"},
    {"finished product", "yyyyyyy-"},
    {"as fragrance ingredient", "yyyyyyy-"},
    {"all but oral products", "yyyyyy--"},
    {"oral products", "------y-"},
    {"toothpaste and mouthwash", "------y-"},
    {"leave-on", "yyyyy---"},
    {"rinse-off", "-----y--"},
    {"no cosmetic", "-------y"},
    {"fine fragrance", "y-------"},
    {"eau de toilette", "-y------"},
    {"fragrance cream", "--y-----"},
    {"hydroalcoholic fragrances", "yy------"},
    {"hydroalcoholic products", "-y------"},
    {"other rinse-off products", "-----y--"},
    {"other leave-on products", "--yyy---"},
    {"other leave-on and oral products", "---yy-y-"},
    {"other products", "--yyyy--"},
    {"leave-on except the next three", "---yy---"},
    {"listed products for children under 3 years", "----?---"},
    {"a phrase that no law has", "????????"},
    {"category 4", "yyy-----"},
    {"category 4 5A 12", "yyyy---y"},
    {"category 5", "--------"},
};

static void phrases_take_in_products(void **state)
{
    (void)state;
    static const char signs[] = {
        [PM_COVERS] = 'y', [PM_COVERS_NOT] = '-', [PM_COVERS_UNCLEAR] = '?'};
    for (size_t s = 0; s < COUNT(scopes); s++) {
        char said[COUNT(products) + 1] = "";
        for (size_t p = 0; p < COUNT(products); p++)
            said[p] = signs[pm_scope_covers(scopes[s].scope, &products[p])];
        if (strcmp(said, scopes[s].covers) != 0)
            fail_msg("\"%s\" covers %s, not %s", scopes[s].scope, said, scopes[s].covers);
    }
}

/* ---- the figure that counts ---- */

#define UNCLEAR "a phrase that no law has"

/* The lowest of what covers it, whatever stands first; a number before "no limit", that before a
 * blank. */
static void the_lowest_figure_counts(void **state)
{
    (void)state;
    static const struct {
        struct pm_figure figures[3];
        pm_strength limit;
    } cases[] = {
        {{{.scope = "all", .limit = 500},
          {.scope = "leave-on", .limit = 300},
          {.scope = "fine fragrance", .limit = 400}},
         300},
        {{{.scope = "leave-on", .limit = 300},
          {.scope = "all", .limit = 500},
          {.scope = "fine fragrance", .limit = 400}},
         300},
        {{{.scope = "rinse-off", .limit = 100},
          {.scope = "all", .limit = 500},
          {.scope = "oral products", .limit = 1}},
         500},
        {{{.scope = "all", .limit = PM_NO_LIMIT},
          {.scope = "leave-on", .limit = 300},
          {.scope = "oral products", .limit = 1}},
         300},
        {{{.scope = "leave-on", .limit = 300},
          {.scope = "all", .limit = PM_NO_LIMIT},
          {.scope = "oral products", .limit = 1}},
         300},
        {{{.scope = "leave-on", .limit = PM_UNKNOWN},
          {.scope = "all", .limit = PM_NO_LIMIT},
          {.scope = "oral products", .limit = 1}},
         PM_NO_LIMIT},
        {{{.scope = "all", .limit = PM_NO_LIMIT},
          {.scope = "leave-on", .limit = PM_UNKNOWN},
          {.scope = "oral products", .limit = 1}},
         PM_NO_LIMIT},
        {{{.scope = "all", .limit = 0},
          {.scope = "leave-on", .limit = 300},
          {.scope = "oral products", .limit = 1}},
         0},
        {{{.scope = "all", .limit = PM_UNKNOWN},
          {.scope = "leave-on", .limit = 300},
          {.scope = "oral products", .limit = 1}},
         300},
        {{{.scope = UNCLEAR, .limit = 100},
          {.scope = "leave-on", .limit = 300},
          {.scope = "oral products", .limit = 1}},
         300},
        {{{.scope = UNCLEAR, .limit = 100},
          {.scope = "rinse-off", .limit = 300},
          {.scope = "oral products", .limit = 1}},
         PM_UNKNOWN},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct pm_figure figures[3];
        memcpy(figures, cases[i].figures, sizeof figures);
        const struct pm_book_rule rule = {.figures = figures, .figure_count = 3};
        pm_strength limit;
        bool speaks;
        assert_non_null(pm_rule_figure(&rule, &products[0], &limit, &speaks));
        assert_true(speaks);
        if (limit != cases[i].limit)
            fail_msg("case %zu: %lld", i, (long long)limit);
    }
    struct pm_figure oral = {"oral products", 1, "", "", "", false};
    struct pm_book_rule rule = {.figures = &oral, .figure_count = 1};
    pm_strength limit;
    bool speaks;
    assert_null(pm_rule_figure(&rule, &products[0], &limit, &speaks));
    assert_false(speaks);
    rule.blank_unknown = true; /* then a product it does not name is not known to be within */
    assert_null(pm_rule_figure(&rule, &products[0], &limit, &speaks));
    assert_true(speaks);
    assert_int_equal(limit, PM_UNKNOWN);
}

/* ---- books ---- */

enum { ROSE = 1, LILY, THORN };

static struct pm_figure figures[] = {{"all", PM_NEAT / 100, "", "", "", false},
                                     {"all", PM_NEAT / 1000, "", "", "", false},
                                     {"all", PM_UNKNOWN, "", "", "", false}};
#define ONE_PERCENT  &figures[0]
#define ONE_PERMILLE &figures[1]
#define BLANK        &figures[2]
static int64_t rose[] = {ROSE}, lily[] = {LILY}, both[] = {ROSE, LILY};

static struct pm_book_rule rule_of(const char *name, enum pm_rule_kind kind, int64_t *members,
                                   size_t count, struct pm_figure *figure)
{
    return (struct pm_book_rule){.set = "Set",
                                 .name = name,
                                 .title = name,
                                 .kind = kind,
                                 .replaces = "",
                                 .note = "",
                                 .source = "",
                                 .figures = figure,
                                 .figure_count = figure != NULL,
                                 .members = members,
                                 .member_count = count};
}

/* A formula of two materials, 5 % and 95 %, judged at 10 %. */
static void judge(struct pm_book_rule *rules, size_t count, int64_t first, int64_t second,
                  struct pm_limits_found *out)
{
    struct pm_error err = {0};
    const struct pm_content one[] = {{first, PM_NEAT, PM_NEAT, PM_NEAT}},
                            other[] = {{second, PM_NEAT, PM_NEAT, PM_NEAT}};
    const struct pm_brought brought[] = {{5, one, 1}, {95, other, 1}};
    const struct pm_book book = {.items = rules, .count = count};
    struct pm_exposure exposure;
    *out = (struct pm_limits_found){.count = 0};
    assert_int_equal(pm_exposure_of(brought, 2, 100, PM_BY_MOST, &exposure, &err), PM_OK);
    assert_int_equal(
        pm_book_judge(&book, &exposure, &products[0], PM_NEAT / 10, NULL, NULL, out, &err), PM_OK);
    pm_exposure_release(&exposure);
}

/* An allowance that several share is none of its own where there is only one of them. */
static void one_alone_shares_nothing(void **state)
{
    (void)state;
    size_t of[] = {0, 1};
    struct pm_book_rule rules[] = {rule_of("Rose", PM_RULE_LIMIT, rose, 1, ONE_PERCENT),
                                   rule_of("Lily", PM_RULE_LIMIT, lily, 1, ONE_PERCENT),
                                   rule_of("Both", PM_RULE_SHARES, both, 2, NULL)};
    struct pm_limits_found found;
    rules[2].of = of;
    rules[2].of_count = 2;
    judge(rules, 3, ROSE, THORN, &found);
    assert_int_equal(found.count, 1);
    assert_ptr_equal(found.items[0].rule, &rules[0]);
    pm_list_release(&found);
    judge(rules, 3, ROSE, LILY, &found);
    assert_int_equal(found.count, 3);
    bool shared = false;
    for (size_t i = 0; i < found.count; i++)
        if (found.items[i].rule == &rules[2]) {
            /* 0.5 % and 9.5 % of 1 % each: ten times the allowance. */
            assert_int_equal(found.items[i].judgement.verdict, PM_OVER);
            assert_int_equal(found.items[i].judgement.percent, 10 * INT64_C(1000000000000));
            shared = true;
        }
    assert_true(shared);
    pm_list_release(&found);
}

/* A figure of one's own replaces the set's only where it says one. */
static void an_own_blank_replaces_nothing(void **state)
{
    (void)state;
    struct pm_book_rule rules[] = {rule_of("Rose", PM_RULE_LIMIT, rose, 1, ONE_PERMILLE),
                                   rule_of("Rose", PM_RULE_LIMIT, rose, 1, ONE_PERCENT)};
    struct pm_limits_found found;
    rules[1].own = true;
    rules[1].set = "Mine";
    rules[1].replaces = "Set";
    judge(rules, 2, ROSE, THORN, &found); /* 0.5 % of the product */
    assert_int_equal(found.count, 2);
    assert_ptr_equal(found.items[0].rule, &rules[1]);
    assert_int_equal(found.items[0].judgement.verdict, PM_WITHIN);
    assert_true(found.items[1].replaced);
    pm_list_release(&found);
    rules[1].figures = BLANK;
    judge(rules, 2, ROSE, THORN, &found);
    assert_int_equal(found.count, 2);
    assert_ptr_equal(found.items[0].rule, &rules[0]); /* the set's decides, and it is over */
    assert_int_equal(found.items[0].judgement.verdict, PM_OVER);
    assert_false(found.items[0].replaced);
    pm_list_release(&found);
}

/* Of two rules that leave it unknown the one with a figure leads: it says what is at stake. */
static void a_figure_leads_among_unknowns(void **state)
{
    (void)state;
    for (int turned = 0; turned <= 1; turned++) {
        struct pm_book_rule rules[] = {rule_of("Rose", PM_RULE_LIMIT, rose, 1, BLANK),
                                       rule_of("Rose too", PM_RULE_LIMIT, rose, 1, ONE_PERCENT)};
        struct pm_limits_found found;
        int64_t doubtful[] = {THORN};
        rules[1].doubtful = doubtful;
        rules[1].doubtful_count = 1; /* else it would be within */
        if (turned) {
            const struct pm_book_rule first = rules[0];
            rules[0] = rules[1];
            rules[1] = first;
        }
        judge(rules, 2, ROSE, THORN, &found);
        assert_int_equal(found.count, 2);
        assert_int_equal(found.items[0].judgement.verdict, PM_VERDICT_UNKNOWN);
        assert_int_equal(found.items[1].judgement.verdict, PM_VERDICT_UNKNOWN);
        assert_true(found.items[0].leads);
        assert_string_equal(found.items[0].rule->name, "Rose too");
        pm_list_release(&found);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(phrases_take_in_products),
        cmocka_unit_test(the_lowest_figure_counts),
        cmocka_unit_test(one_alone_shares_nothing),
        cmocka_unit_test(an_own_blank_replaces_nothing),
        cmocka_unit_test(a_figure_leads_among_unknowns),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
