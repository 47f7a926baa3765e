/* SPDX-License-Identifier: MIT */
/*
 * Formulas as people jot them down: scribbles of our own, each with what has to be understood of
 * it. A line reads "name|amount unit|strength|solvent|doubt", a formula "= title total".
 */
#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/core/jotting.h"

#include <gsl/gsl_rng.h>
#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

static const char *const unit_words[] = {
    [PM_JOTTED_PARTS] = "parts", [PM_JOTTED_PERCENT] = "%", [PM_JOTTED_PERMILLE] = "\xE2\x80\xB0",
    [PM_JOTTED_PPM] = "ppm",     [PM_JOTTED_MASS] = "g",    [PM_JOTTED_DROPS] = "drops",
};

static void tell_amount(struct pm_text *out, bool has, int64_t amount, enum pm_jotted_unit unit)
{
    char buf[PM_AMOUNT_TEXT];
    if (has)
        pm_text_addf(out, "%s %s", pm_decimal_exact(amount, 6, '.', buf), unit_words[unit]);
}

static void tell(const struct pm_jotting *jotting, struct pm_text *out)
{
    char buf[PM_AMOUNT_TEXT];
    for (size_t f = 0; f < jotting->formula_count; f++) {
        const struct pm_jotted_formula *formula = &jotting->formulas[f];
        pm_text_addf(out, "= %s", formula->title != NULL ? formula->title : "-");
        if (formula->has_total)
            pm_text_add(out, " total ");
        tell_amount(out, formula->has_total, formula->total, formula->total_unit);
        pm_text_add(out, "\n");
        for (size_t i = formula->first; i < formula->first + formula->count; i++) {
            const struct pm_jotted_line *line = &jotting->lines[i];
            pm_text_addf(out, "%s|", line->name != NULL ? line->name : "");
            tell_amount(out, line->has_amount, line->amount, line->unit);
            pm_text_addf(out, "|%s|%s|%s",
                         line->strength ? pm_strength_format(line->strength, '.', buf) : "",
                         line->solvent != NULL ? line->solvent : "",
                         line->doubt != NULL ? "?" : "");
            if (line->comment != NULL)
                pm_text_addf(out, " \"%s\"", line->comment);
            pm_text_add(out, "\n");
        }
    }
}

static const struct scribble {
    const char *text, *understood;
} scribbles[] = {
    /* 1: name, blanks, number */
    {"Linalool  120\nJasmine base  300\n",
     "= -\nLinalool|120 parts|||\nJasmine base|300 parts|||\n"},
    /* 2: number first */
    {"120 Linalool\n30 cis-3-Hexenol\n5 2-Isobutyl-3-methoxypyrazine\n",
     "= -\nLinalool|120 parts|||\ncis-3-Hexenol|30 parts|||\n"
     "2-Isobutyl-3-methoxypyrazine|5 parts|||\n"},
    /* 3: dotted leaders, decimal comma */
    {"Coumarin........ 12,5\nVanillin ....... 0,75\n",
     "= -\nCoumarin|12.5 parts|||\nVanillin|0.75 parts|||\n"},
    /* 4: tabs */
    {"Coumarin\t40\nVanillin\t20\n", "= -\nCoumarin|40 parts|||\nVanillin|20 parts|||\n"},
    /* 5: dilutions in words */
    {"Indole 10% in DPG  4\nSkatole 0.1 % in ethanol 2\n",
     "= -\nIndole|4 parts|10 %|DPG|\nSkatole|2 parts|0.1 %|ethanol|\n"},
    /* 6: dilutions in brackets */
    {"Indole (10%)   4\nSkatole (0.1 % in ethanol)   2\nCivet base [1% DPG] 3\n",
     "= -\nIndole|4 parts|10 %||\nSkatole|2 parts|0.1 %|ethanol|\nCivet base|3 parts|1 %|DPG|\n"},
    /* 7: percentages as amounts */
    {"Linalool 12.5%\nBergamot oil 30 %\n", "= -\nLinalool|12.5 %|||\nBergamot oil|30 %|||\n"},
    /* 8: a strength beside a percentage is told by its place */
    {"Aldehyde C-12 10% in TEC   1.5 %\n", "= -\nAldehyde C-12|1.5 %|10 %|TEC|\n"},
    /* 9: grams */
    {"Linalool 1.25 g\nVanillin 250mg\n", "= -\nLinalool|1.25 g|||\nVanillin|0.25 g|||\n"},
    /* 10: title, rule, total */
    {"Hedge, first try\n----------------\nLinalool 700\nVanillin 300\n-----\nTotal 1000\n",
     "= Hedge, first try total 1000 parts\nLinalool|700 parts|||\nVanillin|300 parts|||\n"},
    /* 11: bullets and numbering */
    {"- Linalool 7\n* Vanillin 2\n3. Coumarin 1\n4) Indole 1% 1\n",
     "= -\nLinalool|7 parts|||\nVanillin|2 parts|||\nCoumarin|1 parts|||\nIndole|1 parts|1 %||\n"},
    /* 12: comments */
    {"# from the blue notebook\nLinalool 70 // fresh lot\nVanillin 30 ; sticky\n",
     "= -\nLinalool|70 parts||| \"fresh lot\"\nVanillin|30 parts||| \"sticky\"\n"},
    /* 13: two formulas */
    {"Moss\nOakmoss 40\nCedar 60\n\nCloud\nMusk 80\nIris 20\n",
     "= Moss\nOakmoss|40 parts|||\nCedar|60 parts|||\n= Cloud\nMusk|80 parts|||\nIris|20 "
     "parts|||\n"},
    /* 14: two formulas told apart by totals only */
    {"Oakmoss 40\nCedar 60\nTotal 100\nMusk 80\nIris 20\nTotal 100\n",
     "= - total 100 parts\nOakmoss|40 parts|||\nCedar|60 parts|||\n= - total 100 "
     "parts\nMusk|80 parts|||\nIris|20 parts|||\n"},
    /* 15: a colon */
    {"Base accord:\nLabdanum: 20\nBenzoin = 30\n",
     "= Base accord\nLabdanum|20 parts|||\nBenzoin|30 parts|||\n"},
    /* 16: parts of */
    {"3 parts of Linalool\n1 part Vanillin\n", "= -\nLinalool|3 parts|||\nVanillin|1 parts|||\n"},
    /* 17: at */
    {"Civet @ 1%   12\nIndole at 10 %   3\n", "= -\nCivet|12 parts|1 %||\nIndole|3 parts|10 %||\n"},
    /* 18: what is in doubt */
    {"Linalool 1,000\nVanillin trace\nOrris 3 drops\nIndole 12 40\n",
     "= -\nLinalool|1 parts|||?\nVanillin||||?\nOrris|3 drops|||?\nIndole 12|40 parts|||?\n"},
    /* 19: columns drawn with bars */
    {"Linalool | 70\nVanillin | 30\n", "= -\nLinalool|70 parts|||\nVanillin|30 parts|||\n"},
    /* 20: per mille, ppm, fractions, neat */
    {"Linalool 12\xE2\x80\xB0\nIndole 40 ppm\nVanillin 1/2\nMusk neat 3\n",
     "= -\nLinalool|12 \xE2\x80\xB0|||\nIndole|40 ppm|||\nVanillin|0.5 parts|||\nMusk|3 "
     "parts|neat||\n"},
    /* 21: words behind the amount */
    {"Linalool 70 g from the new bottle\nVanillin 30 g\n",
     "= -\nLinalool|70 g||| \"from the new bottle\"\nVanillin|30 g|||\n"},
    /* 22: a numbered title is no line */
    {"Trial 3\n\n70 Linalool\n30 Vanillin\n",
     "= Trial 3\nLinalool|70 parts|||\nVanillin|30 parts|||\n"},
    /* 23: byte order mark, Windows line ends, typographic leaders */
    {"\xEF\xBB\xBFLinalool \xE2\x80\xA6\xE2\x80\xA6 70\r\nVanillin \xC2\xB7\xC2\xB7\xC2\xB7 30\r\n",
     "= -\nLinalool|70 parts|||\nVanillin|30 parts|||\n"},
    /* 24: numbers within names stay there */
    {"Iris 10 EP base   4\nTonka abs. 50% sol. in EtOH  6\n",
     "= -\nIris 10 EP base|4 parts|||?\nTonka abs.|6 parts|50 %|EtOH|\n"},
    /* 25: a strength that is none */
    {"Indole 120% in DPG 4\n", "= -\nIndole|4 parts||DPG|?\n"},
};

static void understood(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof scribbles / sizeof *scribbles; i++) {
        struct pm_text got = PM_TEXT_EMPTY;
        struct pm_jotting jotting;
        struct pm_error err = {0};
        if (pm_jotting_read(scribbles[i].text, strlen(scribbles[i].text), &jotting, &err) != PM_OK)
            fail_msg("scribble %zu: %s", i + 1, err.text);
        tell(&jotting, &got);
        if (strcmp(scribbles[i].understood, pm_text_get(&got)) != 0)
            fail_msg("scribble %zu is understood as\n%s", i + 1, pm_text_get(&got));
        pm_text_release(&got);
        pm_jotting_release(&jotting);
    }
}

static void refused(void **state)
{
    (void)state;
    struct pm_jotting jotting;
    struct pm_error err = {0};
    assert_int_equal(pm_jotting_read("Hello there\n", 12, &jotting, &err), PM_REFUSED);
    assert_int_equal(pm_jotting_read("", 0, &jotting, &err), PM_REFUSED);
    assert_int_equal(pm_jotting_read("a 1\nb\xFF 2\n", 9, &jotting, &err), PM_INVALID);
    assert_string_equal(err.text, "Line 2, column 2: the bytes are not UTF-8 text.");
    assert_int_equal(pm_jotting_read("\xC3\xA9 1\r\xC3\xA9\0 1", 9, &jotting, &err), PM_INVALID);
    assert_string_equal(err.text, "Line 2, column 2: a NUL byte stands in the text.");
    assert_int_equal(pm_jotting_read("\xFF\xFE"
                                     "a\0",
                                     4, &jotting, &err),
                     PM_INVALID);
    assert_string_equal(err.text,
                        "Line 1, column 1: the bytes are not UTF-8 text, but UTF-16: save "
                        "it as UTF-8.");
}

/* Whatever is typed, reading ends and nothing but the arena is held. */
static void anything(void **state)
{
    (void)state;
    static const char *const pieces[] = {"Linalool",  " ",
                                         "  ",        "\t",
                                         "1",         "10",
                                         "%",         ".",
                                         ",",         "..",
                                         "(",         ")",
                                         "in",        "DPG",
                                         "\n",        "\n\n",
                                         "Total",     ":",
                                         "-",         "---",
                                         "#",         "//",
                                         ";",         "g",
                                         "mg",        "1/0",
                                         "1/2",       "neat",
                                         "@",         "99999999999999999999",
                                         "0.0000001", "\xE2\x80\xA6",
                                         "|",         "=",
                                         "[",         "]",
                                         "1,000",     "ppm"};
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    for (int run = 0; run < 20000; run++) {
        struct pm_text text = PM_TEXT_EMPTY;
        struct pm_jotting jotting;
        for (unsigned long k = gsl_rng_uniform_int(random, 60); k > 0; k--)
            pm_text_add(&text, pieces[gsl_rng_uniform_int(random, sizeof pieces / sizeof *pieces)]);
        if (pm_jotting_read(pm_text_get(&text), text.length, &jotting, NULL) == PM_OK) {
            size_t lines = 0;
            for (size_t i = 0; i < jotting.formula_count; i++) {
                assert_int_equal(jotting.formulas[i].first, lines);
                lines += jotting.formulas[i].count;
            }
            assert_int_equal(lines, jotting.line_count);
            for (size_t i = 0; i < jotting.line_count; i++) {
                assert_true(jotting.lines[i].amount >= 0);
                assert_true(jotting.lines[i].strength >= 0 && jotting.lines[i].strength <= PM_NEAT);
                assert_true(jotting.lines[i].doubt ||
                            (jotting.lines[i].name && jotting.lines[i].has_amount));
            }
            pm_jotting_release(&jotting);
        }
        pm_text_release(&text);
    }
    gsl_rng_free(random);
}

static void without_memory(void **state)
{
    (void)state;
    const char *text = "Moss\nOakmoss 10% in DPG 40\nCedar 60 // old\n";
    enum pm_status status = PM_NOMEM;
    for (long at = 1; status == PM_NOMEM && at < 1000; at++) {
        struct pm_jotting jotting;
        pm_mem_fail_at(at, false);
        status = pm_jotting_read(text, strlen(text), &jotting, NULL);
        pm_mem_fail_at(0, false);
        if (status == PM_OK)
            pm_jotting_release(&jotting);
    }
    assert_int_equal(status, PM_OK);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(understood),
        cmocka_unit_test(refused),
        cmocka_unit_test(anything),
        cmocka_unit_test(without_memory),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
