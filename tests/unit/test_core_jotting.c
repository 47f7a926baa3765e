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
    /* 26: blank lines between all lines */
    {"Hay\n\nLinalool 12\n\nCoumarin 5\n\nVanillin 3\n",
     "= Hay\nLinalool|12 parts|||\nCoumarin|5 parts|||\nVanillin|3 parts|||\n"},
    /* 27: emoji and pictures as bullets, boxes to tick */
    {"\xF0\x9F\x8C\xBF Linalool \xE2\x80\x93 120\n\xE2\x9C\x93 Coumarin 60\n- [x] Vanillin "
     "5\n1\xEF\xB8\x8F\xE2\x83\xA3 Musk 10\n",
     "= -\nLinalool|120 parts|||\nCoumarin|60 parts|||\nVanillin|5 parts|||\nMusk|10 parts|||\n"},
    /* 28: thousands in the German, French, Swiss and English way */
    {"Hay v7 (12.3.2024)\nLinalool\t1.250,00\nCoumarin : 1\xC2\xA0"
     "250\nMusk 1'250\nIris 2,100.5\nCedar 1.234.567\n",
     "= Hay v7 (12.3.2024)\nLinalool|1250 parts|||\nCoumarin|1250 parts|||\nMusk|1250 "
     "parts|||\nIris|2100.5 parts|||\nCedar|1234567 parts|||\n"},
    /* 29: a point before three digits where commas are decimal signs */
    {"Linalool\t1.200\nVanillin\t12,5\n", "= -\nLinalool|1.2 parts|||?\nVanillin|12.5 parts|||\n"},
    /* 30: ratios, ranges, slips of the finger: the number cannot be read */
    {"rose : geranium 4:2:1\nLinalool 5-10\nCoumarin 2\xE2\x80\x93"
     "3\nIris 12O\nMusk <1\nCedar (120)\nMoss 1e2\n",
     "= -\nrose : "
     "geranium||||?\nLinalool||||?\nCoumarin||||?\nIris||||?\nMusk||||?\nCedar||||?\nMoss||||?\n"},
    /* 31: a one with what lies below it */
    {"Coumarin \xC2\xBD\nVanillin 2\xC2\xBD\nMusk 1/4\nseen 12/04\n",
     "= -\nCoumarin|0.5 parts|||\nVanillin|2.5 parts|||\nMusk|0.25 parts|||\nseen||||?\n"},
    /* 32: what fills up has no amount */
    {"Linalool 12\nDPG q.s. to 100\nEthanol ad 100\nWater qsp 100\nTEC to 100 g\n",
     "= -\nLinalool|12 parts|||\nDPG||||?\nEthanol||||?\nWater||||?\nTEC||||?\n"},
    /* 33: a strength right behind its sign, and the solvent without "in" */
    {"Indole @10% - 0.5\nAmbrette 1% IPM 3\nCivet 5% (DPG) .... 2\nMusk 10% sol. in ethanol - "
     "12\nIris (10 % dans DPG) : 4\n",
     "= -\nIndole|0.5 parts|10 %||\nAmbrette|3 parts|1 %|IPM|\nCivet|2 parts|5 %|DPG|\nMusk|12 "
     "parts|10 %|ethanol|\nIris|4 parts|10 %|DPG|\n"},
    /* 34: words for units and totals of other languages */
    {"Coumarin 10%ig in Alkohol 12 Teile\nLinalool 30 parties\nRose 5 Tropfen\nSumme : 47\n",
     "= - total 47 parts\nCoumarin|12 parts|10 %|Alkohol|\nLinalool|30 parts|||\nRose|5 "
     "drops|||?\n"},
    /* 35: grams and drops as they are shortened */
    {"120gr Linalool\n60 gr. Coumarin\n5 grammes Iris\n3 gtt Rose\n20 \xC2\xB5g Indole\n1 oz "
     "Musk\n",
     "= -\nLinalool|120 g|||\nCoumarin|60 g|||\nIris|5 g|||\nRose|3 drops|||?\nIndole|0.00002 "
     "g|||\nMusk|1 drops|||?\n"},
    /* 36: stress in notes */
    {"**Hedgerow (trial 4)**\n* *Linalool*: 120\n* **Coumarin**: 30\n",
     "= Hedgerow (trial 4)\nLinalool|120 parts|||\nCoumarin|30 parts|||\n"},
    /* 37: trials one below the other */
    {"Trial 1\nLinalool 12\nTrial 2 - softer\nLinalool 10\n",
     "= Trial 1\nLinalool|12 parts|||\n= Trial 2 - softer\nLinalool|10 parts|||\n"},
    /* 38: dates and numbers of trials as titles */
    {"12/04 trial 3 - softer\nLinalool 12\n\n13/04 trial 4\nLinalool 10\n",
     "= 12/04 trial 3 - softer\nLinalool|12 parts|||\n= 13/04 trial 4\nLinalool|10 parts|||\n"},
    /* 39: what is about a formula is no line of it */
    {"Formula: Hay\nDate: 2024-03-02\nBatch: 12\nLinalool 50\n",
     "= Formula: Hay\nLinalool|50 parts|||\n"},
    /* 40: columns of a list without its headings */
    {"Linalool;120,5\nCoumarin,60\n\"Musk\",\"20\"\nN,2-Dimethylaniline,3\n",
     "= -\nLinalool|120.5 parts|||\nCoumarin|60 parts|||\nMusk|20 parts|||\nN,2-Dimethylaniline|3 "
     "parts|||\n"},
    /* 41: nothing between name and number but a sign */
    {"Linalool:120\nCoumarin=60\nMusk -- 5\n4\xC3\x97 Iris\n",
     "= -\nLinalool|120 parts|||\nCoumarin|60 parts|||\nMusk|5 parts|||\nIris|4 parts|||\n"},
    /* 42: several in one line, with semicolons; a comment is not cut */
    {"Linalool 20; Iris 10\nRose 30 ; heart, maybe 40\n",
     "= -\nLinalool|20 parts|||\nIris|10 parts|||\nRose|30 parts||| \"heart, maybe 40\"\n"},
    /* 43: another number that cannot be read beside the amount */
    {"10 Ambrette 1:10 in DPG\nLinalool - 12 (CAS 78-70-6)\n",
     "= -\nAmbrette 1:10 in DPG|10 parts|||?\nLinalool|12 parts||| \"(CAS 78-70-6)\"\n"},
    /* 44: digits as wide as letters */
    {"\xEF\xBC\x92\xEF\xBC\x90 Linalool\nCoumarin \xEF\xBC\x91\xEF\xBC\x90\n",
     "= -\nLinalool||||?\nCoumarin||||?\n"},
    /* 45: the name behind words that are none; numbers that end a sentence */
    {"Linalool 12.\nplus 2 of Vanillin\nMusk 2!!\n",
     "= -\nLinalool|12 parts|||\nVanillin|2 parts|||\nMusk|2 parts|||\n"},
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
