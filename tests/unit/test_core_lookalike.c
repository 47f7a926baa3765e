/* SPDX-License-Identifier: MIT */
/*
 * Names that are taken for each other, tall letters, and slips.
 */
#include "permille/base/utf8.h"
#include "permille/core/lookalike.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static bool alike(const char *a, const char *b)
{
    struct pm_look left, right;
    pm_look_read(a, strlen(a), &left);
    pm_look_read(b, strlen(b), &right);
    const bool one = pm_look_alike(&left, &right);
    assert_int_equal(one, pm_look_alike(&right, &left));
    assert_true(!one || pm_look_may_be(&left, right.text, right.length));
    assert_true(!one || pm_look_may_be(&right, left.text, left.length));
    return one;
}

static void test_the_classic_accidents_are_alike(void **state)
{
    (void)state;
    static const char *const pairs[][2] = {
        {"geraniol", "geranial"},
        {"nonanal", "nonanol"},
        {"hexanal", "heptanal"},
        {"cinnamon leaf oil", "cinnamon bark oil"},
        {"rose oil", "rose absolute"},
        {"alpha-damascone", "beta-damascone"},
        {"cis-3-hexenol", "trans-2-hexenol"},
        {"vanillin", "ethyl vanillin"},
        {"patchouli oil", "patchouli oil light"},
        {"pine oil", "pino oil"}, /* a slip in four letters, two in six */
        {"citral", "cetrel"},
    };
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++)
        assert_true(alike(pairs[i][0], pairs[i][1]));
}

static void test_other_names_stay_quiet(void **state)
{
    (void)state;
    static const char *const pairs[][2] = {
        {"rose oil", "pine oil"},
        {"linalyl acetate", "benzyl acetate"},
        {"benzyl acetate", "benzyl benzoate"},
        {"linalool", "linalool"},
        {"rose oil", "rue oil"},
        {"rue oil", "rua oil"}, /* three letters are too few for a slip, five for two */
        {"lemon", "limen"},
        {"citral", "cetrol acid"},
        {"methyl benzyl acetate", "methyl salicylate"}, /* two words more and one less */
        {"oil", "absolute"},                            /* no stem at all */
        {"", "rose"},
    };
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++)
        assert_false(alike(pairs[i][0], pairs[i][1]));
}

static void assert_tall(const char *name, const char *other, const char *expected)
{
    struct pm_text out = PM_TEXT_EMPTY;
    pm_tall_letters(name, &other, 1, &out);
    assert_string_equal(pm_text_get(&out), expected);
    pm_text_release(&out);
}

/* Two pairs as the lists of look-alike medicine names of the FDA and ISMP (United States) print
 * them, from memory. */
static void test_tall_letters_as_published(void **state)
{
    (void)state;
    assert_tall("chlorpromazine", "chlorpropamide", "chlorproMAZINE");
    assert_tall("chlorpropamide", "chlorpromazine", "chlorproPAMIDE");
    assert_tall("nicardipine", "nifedipine", "niCARdipine");
}

static void test_tall_letters_of_materials(void **state)
{
    (void)state;
    assert_tall("Geraniol", "Geranial", "GeraniOL");
    assert_tall("Geranial", "Geraniol", "GeraniAL");
    assert_tall("Cinnamon leaf oil", "Cinnamon bark oil", "Cinnamon LEAF oil");
    assert_tall("Rose oil", "Rose absolute", "Rose OIL");
    assert_tall("alpha-Ionone", "beta-Ionone", "ALPHA-Ionone");
    assert_tall("Vanillin", "Ethyl vanillin", "VANILLIN");
    assert_tall("Ethyl vanillin", "Vanillin", "ETHYL vanillin");
    assert_tall("Cr\xC3\xA8me", "Cr\xC3\xA9me", "Cr\xC3\x88me");
    assert_tall("alpha-Isomethyl ionone", "alpha-Ionone", "alpha-ISOMETHYL ionone");
    assert_tall("Linalool", "linalool", "Linalool");
    assert_tall("", "Rose", "");
}

/* Several neighbours add up; one that only has more adds nothing where another tells already. */
static void test_several_neighbours(void **state)
{
    (void)state;
    static const char *const others[] = {"beta-Ionone", "alpha-Isomethyl ionone"};
    struct pm_text out = PM_TEXT_EMPTY;
    pm_tall_letters("alpha-Ionone", others, 2, &out);
    assert_string_equal(pm_text_get(&out), "ALPHA-Ionone");
    pm_text_release(&out);
    pm_tall_letters("alpha-Ionone", others, 0, &out);
    assert_string_equal(pm_text_get(&out), "alpha-Ionone");
    pm_text_release(&out);
}

static int slips(const char *typed, const char *name)
{
    return pm_name_slips(typed, strlen(typed), name, strlen(name));
}

static void test_slips(void **state)
{
    (void)state;
    assert_int_equal(slips("bergmot", "bergamot oil"), 1);
    assert_int_equal(slips("patchuli", "patchouli oil"), 1);
    assert_int_equal(slips("lniaool", "linalool"), 2);
    assert_int_equal(slips("bregamot", "bergamot oil"), 1);
    assert_int_equal(slips("linalol acetat", "linalyl acetate"), 1);
    assert_int_equal(slips("linalylacetate", "linalyl acetate"), 1);
    assert_int_equal(slips("bergamot oil", "bergamot oil"), 0);
    assert_int_equal(slips("bergmot", "linalyl acetate"), -1);
    assert_int_equal(slips("bergmot", "geranium oil"), -1);
    assert_int_equal(slips("zq", "zinc"), -1);
    assert_int_equal(slips("", "rose"), -1);
}

/* Whatever is thrown at it: no letters are lost, only their case changes. */
static void test_random_names(void **state)
{
    (void)state;
    static const char *const bits[] = {"a", "o", "l", "-", " ", "\xC3\xA9", "oil", "1", ",", "Z"};
    unsigned seed = 7;
    for (int round = 0; round < 20000; round++) {
        char name[2][40] = {"", ""};
        for (int side = 0; side < 2; side++)
            for (int i = 0; i < 6; i++) {
                seed = seed * 1103515245U + 12345U;
                strcat(name[side], bits[seed >> 16 & 7]);
            }
        struct pm_text out = PM_TEXT_EMPTY;
        const char *other = name[1];
        pm_tall_letters(name[0], &other, 1, &out);
        assert_true(pm_fold_equal(pm_text_get(&out), name[0]));
        pm_text_release(&out);
        alike(name[0], name[1]);
        slips(name[0], name[1]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_the_classic_accidents_are_alike),
        cmocka_unit_test(test_other_names_stay_quiet),
        cmocka_unit_test(test_tall_letters_as_published),
        cmocka_unit_test(test_tall_letters_of_materials),
        cmocka_unit_test(test_several_neighbours),
        cmocka_unit_test(test_slips),
        cmocka_unit_test(test_random_names),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
