/* SPDX-License-Identifier: MIT */
/*
 * Formulas brought in: thirty-odd scribbles of an invented perfumer come in right or with their
 * doubt marked; what is corrected, committed, taken back. A formula reads "= name base total
 * [remark]", a line "becomes|match|parts|strength|solvent|?" (the last for a doubt).
 */
#include "hand.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/studio/bringing.h"
#include "permille/studio/whole.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void add(struct hand *hand, const char *name, const char *kind, const char *synonym,
                const char *cas)
{
    const char *const form[PM_MATERIAL_ATTRIBUTES] = {[PM_MATERIAL_NAME] = name,
                                                      [PM_MATERIAL_KIND] = kind,
                                                      [PM_MATERIAL_CAS] = cas,
                                                      [PM_MATERIAL_SYNONYMS] = synonym};
    int64_t id;
    hand_ok(hand, pm_shelf_add(hand->studio, form, &id, &hand->err));
}

static void fill_shelf(struct hand *hand)
{
    add(hand, "Linalool", "chemical", NULL, "78-70-6");
    add(hand, "Bergamot oil", "natural", NULL, NULL);
    add(hand, "Coumarin", "chemical", NULL, NULL);
    add(hand, "Vanillin", "chemical", NULL, NULL);
    add(hand, "Indole", "chemical", NULL, NULL);
    add(hand, "Oakmoss absolute", "natural", "Oakmoss", NULL);
    add(hand, "Dipropylene glycol", "solvent", "DPG", NULL);
    add(hand, "Ethanol", "solvent", "EtOH", NULL);
    add(hand, "Aldehyde C-12", "chemical", NULL, NULL);
    add(hand, "Methyl cinnamate", "chemical", NULL, NULL);
}

static void tell_line(const struct pm_brought_line *line, struct pm_text *out)
{
    char buf[PM_AMOUNT_TEXT];
    if (line->left_out) {
        pm_text_add(out, "left out|?\n");
        return;
    }
    pm_text_addf(out, "%s|%s|%s", line->matched, pm_match_word(line->match),
                 pm_decimal_exact(line->parts, 6, '.', buf));
    if (line->strength < PM_NEAT)
        pm_text_addf(out, "|%s|%s", pm_strength_format(line->strength, '.', buf),
                     line->solvent_matched);
    pm_text_addf(out, "%s\n", line->doubt != NULL ? "|?" : "");
}

static void tell(const struct pm_bringing *bringing, struct pm_text *out)
{
    char base[PM_AMOUNT_TEXT], total[PM_AMOUNT_TEXT];
    for (size_t f = 0; f < bringing->formula_count; f++) {
        const struct pm_brought_formula *formula = &bringing->formulas[f];
        pm_text_addf(
            out, "= %s %s %s%s%s%s\n", formula->name, pm_decimal_exact(formula->base, 6, '.', base),
            pm_decimal_exact(formula->total, 6, '.', total), formula->remark != NULL ? " [" : "",
            formula->remark != NULL ? formula->remark : "", formula->remark != NULL ? "]" : "");
        for (size_t i = 0; i < formula->count; i++)
            tell_line(&bringing->lines[formula->first + i], out);
    }
}

static struct pm_bringing read_in(struct hand *hand, const char *text)
{
    struct pm_bringing bringing;
    hand_ok(hand, pm_bringing_read(hand->studio, text, strlen(text), NULL, &bringing, &hand->err));
    return bringing;
}

/* ---- scribbles ---- */

static const struct {
    const char *text, *understood;
} scribbles[] = {
    /* boxes to tick begin no document */
    {"[ ] Linalool 500\n[x] Coumarin 500\n",
     "= Brought in 1000 1000\nLinalool|exact|500\nCoumarin|exact|500\n"},
    /* a message */
    {"Hedge\nLinalool 500\nBergamot oil 300\nCoumarin 200\n", "= Hedge 1000 1000\n"
                                                              "Linalool|exact|500\n"
                                                              "Bergamot oil|exact|300\n"
                                                              "Coumarin|exact|200\n"},
    /* a notebook with dotted leaders and a decimal comma, in hundredths */
    {"Quay\nLinalool ........ 62,5\nCoumarin ........ 25\nVanillin ........ 12,5\n",
     "= Quay 100 100\n"
     "Linalool|exact|62.5\n"
     "Coumarin|exact|25\n"
     "Vanillin|exact|12.5\n"},
    /* arrows */
    {"Linalool -> 500\nCoumarin => 300\nVanillin \xE2\x86\x92 200\n", "= Brought in 1000 1000\n"
                                                                      "Linalool|exact|500\n"
                                                                      "Coumarin|exact|300\n"
                                                                      "Vanillin|exact|200\n"},
    /* not sure yet */
    {"ca. 500 Linalool\nCoumarin ~300\nVanillin 200?\n", "= Brought in 1000 1000\n"
                                                         "Linalool|exact|500|?\n"
                                                         "Coumarin|exact|300|?\n"
                                                         "Vanillin|exact|200|?\n"},
    /* so many times */
    {"Linalool x6\n3x Coumarin\nVanillin x 1\n", "= Brought in 10 10\n"
                                                 "Linalool|exact|6\n"
                                                 "Coumarin|exact|3\n"
                                                 "Vanillin|exact|1\n"},
    /* all in one line of a message */
    {"Linalool 600, Coumarin 300, Indole 10% in DPG 100\n",
     "= Brought in 1000 1000\n"
     "Linalool|exact|600\n"
     "Coumarin|exact|300\n"
     "Indole|exact|100|10 %|Dipropylene glycol\n"},
    /* a comma in a name */
    {"Lime oil, expressed 300\nLinalool 700\n", "= Brought in 1000 1000\n"
                                                "Lime oil, expressed|new|300\n"
                                                "Linalool|exact|700\n"},
    /* numbered lines of a spreadsheet */
    {"1\tLinalool\t600\n2\tCoumarin\t400\n", "= Brought in 1000 1000\n"
                                             "Linalool|exact|600\n"
                                             "Coumarin|exact|400\n"},
    /* a total without its word, under a rule, that does not agree */
    {"Linalool.....600\nCoumarin.....300\n========\n1000\n",
     "= Brought in 1000 900 [the lines add up to 900, not 1000]\n"
     "Linalool|exact|600\n"
     "Coumarin|exact|300\n"},
    /* a table with bars whose first row is a row, and one with headings */
    {"| Linalool | 60% |\n|---|---|\n| Coumarin | 40% |\n", "= Brought in 1000 1000\n"
                                                            "Linalool|exact|600\n"
                                                            "Coumarin|exact|400\n"},
    {"| Material | parts |\n|---|---|\n| Linalool | 60 |\n| Coumarin | 40 |\n",
     "= Brought in 100 100\n"
     "Linalool|exact|60\n"
     "Coumarin|exact|40\n"},
    /* an amount forgotten; comments of more than one line */
    {"Linalool 600\nVanillin ?\nthe old lot\nCoumarin 400\nsweet\nfor the hay\n",
     "= Brought in 1000 1000\n"
     "Linalool|exact|600|?\n"
     "Coumarin|exact|400\n"},
    /* a range is two numbers */
    {"Linalool 600 - 650\nCoumarin 350\n", "= Brought in 1000 1000\n"
                                           "Linalool 600|new|650|?\n"
                                           "Coumarin|exact|350\n"},
    /* numbers first */
    {"400 Linalool\n350 Bergamot oil\n250 Coumarin\n", "= Brought in 1000 1000\n"
                                                       "Linalool|exact|400\n"
                                                       "Bergamot oil|exact|350\n"
                                                       "Coumarin|exact|250\n"},
    /* percentages that add up to 99.9 */
    {"Linalool 33.3%\nCoumarin 33.3 %\nVanillin 33.3%\n",
     "= Brought in 1000 1000 [the lines add up to 99.9 %, brought to 100 %]\n"
     "Linalool|exact|333.333334\n"
     "Coumarin|exact|333.333333\n"
     "Vanillin|exact|333.333333\n"},
    /* percentages that do not */
    {"Linalool 40%\nCoumarin 30%\n", "= Brought in 1000 700 [the lines add up to 70 %, not 100 %]\n"
                                     "Linalool|exact|400\n"
                                     "Coumarin|exact|300\n"},
    /* grams */
    {"Linalool 1.5 g\nCoumarin 250 mg\nVanillin 0,25g\n", "= Brought in 1000 1000\n"
                                                          "Linalool|exact|750\n"
                                                          "Coumarin|exact|125\n"
                                                          "Vanillin|exact|125\n"},
    /* dilutions */
    {"Linalool 900\nIndole 10% in DPG 60\nIndole (1 % EtOH) 40\n",
     "= Brought in 1000 1000\n"
     "Linalool|exact|900\n"
     "Indole|exact|60|10 %|Dipropylene glycol\n"
     "Indole|exact|40|1 %|Ethanol\n"},
    /* a dilution without a solvent, the text has one */
    {"Linalool 900\nIndole 10% in DPG 60\nVanillin 10% 40\n",
     "= Brought in 1000 1000\n"
     "Linalool|exact|900\n"
     "Indole|exact|60|10 %|Dipropylene glycol\n"
     "Vanillin|exact|40|10 %|Dipropylene glycol|?\n"},
    /* and none */
    {"Linalool 900\nIndole 10% 100\n", "= Brought in 1000 1000\n"
                                       "Linalool|exact|900\n"
                                       "Indole|exact|100|10 %|Unnamed solvent|?\n"},
    /* a slip of the pen */
    {"Linalol 700\nCoumarine 300\n", "= Brought in 1000 1000\n"
                                     "Linalool|near|700|?\n"
                                     "Coumarin|near|300|?\n"},
    /* names that differ by a letter or a digit and are not the same */
    {"Aldehyde C-10 500\nEthyl cinnamate 500\n", "= Brought in 1000 1000\n"
                                                 "Aldehyde C-10|new|500\n"
                                                 "Ethyl cinnamate|new|500\n"},
    /* what the trade calls it, though it stands on the shelf by one name alone */
    {"Linalool 500\n1H-indole\t300\nVanillin 10% in ethyl alcohol 200\n",
     "= Brought in 1000 1000\n"
     "Linalool|exact|500\n"
     "Indole|near|300|?\n"
     "Vanillin|exact|200|10 %|Ethanol|?\n"},
    /* synonyms and numbers of the register */
    {"Oakmoss 100\n78-70-6 900\n", "= Brought in 1000 1000\n"
                                   "Oakmoss absolute|exact|100\n"
                                   "Linalool|exact|900\n"},
    /* a total that does not agree */
    {"Linalool 500\nCoumarin 300\nTotal 1000\n",
     "= Brought in 1000 800 [the lines add up to 800, not 1000]\n"
     "Linalool|exact|500\n"
     "Coumarin|exact|300\n"},
    /* one that says more than the base */
    {"Linalool 700\nCoumarin 400\nTotal 1000\n",
     "= Brought in 1000 1000 [the lines add up to 1100, brought to 1000]\n"
     "Linalool|exact|636.363636\n"
     "Coumarin|exact|363.636364\n"},
    /* a trace, drops, a name without a number */
    {"Linalool 990\nIndole trace\nVanillin 3 drops\nCoumarin 10\n", "= Brought in 1000 1000\n"
                                                                    "Linalool|exact|990\n"
                                                                    "Indole|exact|0|?\n"
                                                                    "Vanillin|exact|0|?\n"
                                                                    "Coumarin|exact|10\n"},
    /* two formulas and comments */
    {"Moss\nOakmoss 400 // old lot\nLinalool 600\n\nCloud\n# for the autumn\nVanillin 80\n"
     "Coumarin 20\n",
     "= Moss 1000 1000\n"
     "Oakmoss absolute|exact|400\n"
     "Linalool|exact|600\n"
     "= Cloud 100 100\n"
     "Vanillin|exact|80\n"
     "Coumarin|exact|20\n"},
    /* bullets and numbering, bars between columns */
    {"1. Linalool | 600\n2. Coumarin | 400\n", "= Brought in 1000 1000\n"
                                               "Linalool|exact|600\n"
                                               "Coumarin|exact|400\n"},
    /* tabs, as copied from a spreadsheet */
    {"Linalool\t120\nCoumarin\t80\n", "= Brought in 200 200\n"
                                      "Linalool|exact|120\n"
                                      "Coumarin|exact|80\n"},
    /* one unit among others */
    {"Linalool 60%\nCoumarin 30%\nVanillin 10\n", "= Brought in 1000 1000\n"
                                                  "Linalool|exact|600\n"
                                                  "Coumarin|exact|300\n"
                                                  "Vanillin|exact|100|?\n"},
    /* a number without a name, and one that may be a thousand */
    {"Linalool 1,000\nCoumarin 500\n", "= Brought in 501 501\n"
                                       "Linalool|exact|1|?\n"
                                       "Coumarin|exact|500\n"},
    /* new materials, a strange script */
    {"Sea fog 700\n\xD0\x9C\xD1\x83\xD1\x81\xD0\xBA\xD1\x83\xD1\x81 300\n",
     "= Brought in 1000 1000\n"
     "Sea fog|new|700\n"
     "\xD0\x9C\xD1\x83\xD1\x81\xD0\xBA\xD1\x83\xD1\x81|new|300\n"},
    /* line ends of three kinds */
    {"Hedge\r\nLinalool 500\rCoumarin 300\nVanillin 200\r\n", "= Hedge 1000 1000\n"
                                                              "Linalool|exact|500\n"
                                                              "Coumarin|exact|300\n"
                                                              "Vanillin|exact|200\n"},
    /* quoted from a message, with a greeting */
    {"Hello,\nhere it is:\n\n> Hedge\n> Linalool 600\n> Coumarin 400\n", "= Hedge 1000 1000\n"
                                                                         "Linalool|exact|600\n"
                                                                         "Coumarin|exact|400\n"},
    /* en dashes, an equals sign, colons, a times sign */
    {"Linalool \xE2\x80\x93 500\nCoumarin = 300\nVanillin: 200\n", "= Brought in 1000 1000\n"
                                                                   "Linalool|exact|500\n"
                                                                   "Coumarin|exact|300\n"
                                                                   "Vanillin|exact|200\n"},
    /* full-width digits and a no-break space */
    {"Linalool\xC2\xA0"
     "500\nCoumarin \xEF\xBC\x93\xEF\xBC\x90\xEF\xBC\x90\n",
     "= Brought in 500 500\n"
     "Linalool|exact|500\n"
     "Coumarin|exact|0|?\n"},
    /* digits in names */
    {"Aldehyde C-12 5\n2-Phenylethanol 45\n1,8-Cineole 50\n", "= Brought in 100 100\n"
                                                              "Aldehyde C-12|exact|5\n"
                                                              "2-Phenylethanol|new|45\n"
                                                              "1,8-Cineole|new|50\n"},
    /* a strength before the name, and permille */
    {"10% Indole DPG 20\nLinalool 980\n", "= Brought in 1000 1000\n"
                                          "Indole DPG|new|20|10 %|Unnamed solvent|?\n"
                                          "Linalool|exact|980\n"},
    /* a negative amount, none, and one with two signs */
    {"Linalool 990\nCoumarin -5\nVanillin --\nBergamot oil 10\n", "= Brought in 1000 1000\n"
                                                                  "Linalool|exact|990\n"
                                                                  "Coumarin|exact|0|?\n"
                                                                  "Bergamot oil|exact|10\n"},
    /* the same twice */
    {"Linalool 500\nCoumarin 200\nlinalool 300\n", "= Brought in 1000 1000\n"
                                                   "Linalool|exact|500\n"
                                                   "Coumarin|exact|200\n"
                                                   "Linalool|exact|300\n"},
    /* percent of a percent, grams and a total in grams */
    {"Linalool 8 g\nIndole 1% in DPG 2 g\nTotal 10 g\n",
     "= Brought in 1000 1000\n"
     "Linalool|exact|800\n"
     "Indole|exact|200|1 %|Dipropylene glycol\n"},
    /* a Markdown table */
    {"| Material | Parts |\n|---|---:|\n| Linalool | 700 |\n| Coumarin | 300 |\n",
     "= Brought in 1000 1000\n"
     "Linalool|exact|700\n"
     "Coumarin|exact|300\n"},
    /* numbers no file should hold */
    {"Linalool 99999999999999999999\nCoumarin 1\n", "= Brought in 1 1\n"
                                                    "Linalool|exact|0|?\n"
                                                    "Coumarin|exact|1\n"},
    /* prices beside a name, and a signed one */
    {"Linalool 12.50 EUR\nCoumarin 4\nVanillin 3 \xE2\x82\xAC\nIndole $9\n", "= Brought in 4 4\n"
                                                                             "Linalool|exact|0|?\n"
                                                                             "Coumarin|exact|4\n"
                                                                             "Vanillin|exact|0|?\n"
                                                                             "Indole|exact|0|?\n"},
    /* a title with a number: without it the lines add up to a thousand */
    {"Hay 2\nLinalool 600\nCoumarin 400\n", "= Brought in 1002 1002\n"
                                            "Hay|new|2|?\n"
                                            "Linalool|exact|600\n"
                                            "Coumarin|exact|400\n"},
    /* a new material in the first line */
    {"Hay absolute 50\nLinalool 550\nCoumarin 400\n", "= Brought in 1000 1000\n"
                                                      "Hay absolute|new|50\n"
                                                      "Linalool|exact|550\n"
                                                      "Coumarin|exact|400\n"},
    /* amounts that are none, below a line, and words about it */
    {"Linalool 500\nCoumarin~6\nVanillin n/a\nCoumarin 500\nVanillin lifts it well\n",
     "= Brought in 1000 1000\n"
     "Linalool|exact|500|?\n"
     "Coumarin|exact|500\n"},
    /* a quote that is never closed */
    {"\"Linalool 500\nCoumarin 500\n", "= Brought in 1000 1000\n"
                                       "Linalool|exact|500\n"
                                       "Coumarin|exact|500\n"},
};

/* All of them are named. */
static void test_amounts_that_are_none(void **state)
{
    struct hand *hand = *state;
    fill_shelf(hand);
    struct pm_bringing bringing =
        read_in(hand, "Linalool 500\nCoumarin~6\nthe good one\nVanillin n/a\n");
    assert_string_equal(bringing.lines[0].doubt,
                        "\"Coumarin~6\", \"Vanillin n/a\" stand below it without an amount");
    pm_bringing_release(&bringing);
}

static void test_scribbles(void **state)
{
    struct hand *hand = *state;
    fill_shelf(hand);
    for (size_t i = 0; i < sizeof scribbles / sizeof scribbles[0]; i++) {
        struct pm_bringing bringing = read_in(hand, scribbles[i].text);
        struct pm_text got = PM_TEXT_EMPTY;
        tell(&bringing, &got);
        if (strcmp(pm_text_get(&got), scribbles[i].understood) != 0)
            fail_msg("scribble %zu is understood as\n%s", i + 1, pm_text_get(&got));
        pm_text_release(&got);
        pm_bringing_release(&bringing);
    }
}

/* ---- tables and JSON ---- */

static void is_understood(struct hand *hand, const char *text, const char *source,
                          const char *expected)
{
    struct pm_bringing bringing = read_in(hand, text);
    struct pm_text got = PM_TEXT_EMPTY;
    tell(&bringing, &got);
    assert_string_equal(pm_text_get(&got), expected);
    assert_string_equal(bringing.source, source);
    pm_text_release(&got);
    pm_bringing_release(&bringing);
}

static void test_tables(void **state)
{
    struct hand *hand = *state;
    fill_shelf(hand);
    is_understood(hand, "parts;name\n12,5;Linalool\n87,5;Coumarin\n",
                  "table, separator \";\", decimal sign \",\"",
                  "= Brought in 100 100\nLinalool|exact|12.5\nCoumarin|exact|87.5\n");
    /* a remark before the table; a column of numbers */
    is_understood(hand, "# my sheet\nname,parts\nLinalool,1\nCoumarin,9\n",
                  "table, separator \",\"",
                  "= Brought in 10 10\nLinalool|exact|1\nCoumarin|exact|9\n");
    is_understood(hand, "#,name,parts\n1,Linalool,1\n2,Coumarin,9\n", "table, separator \",\"",
                  "= Brought in 10 10\nLinalool|exact|1\nCoumarin|exact|9\n");
    /* sorted by material, so that rows of one formula stand apart; one names none */
    is_understood(
        hand,
        "formula,material,parts,\nQuay,Coumarin,3,\nHedge,Coumarin,20,\nquay,Linalool,7,,,"
        "\nHedge,Vanillin,80\n,Linalool,900\n",
        "table, separator \",\"",
        "= Quay 10 10\nCoumarin|exact|3\nLinalool|exact|7\n"
        "= Hedge 1000 1000\nCoumarin|exact|20\nVanillin|exact|80\nLinalool|exact|900\n");
    is_understood(hand, "name,parts\n\"Linalool\",\"1,250.5\"\nCoumarin,\"749.5\"\n",
                  "table, separator \",\", decimal sign \".\"",
                  "= Brought in 2000 2000\nLinalool|exact|1250.5\nCoumarin|exact|749.5\n");
    /* Where commas separate, a comma in an amount marks thousands. */
    is_understood(hand, "name,parts\nLinalool,\"1,250\"\nCoumarin,\"3,500\"\n",
                  "table, separator \",\"",
                  "= Brought in 4750 4750\nLinalool|exact|1250\nCoumarin|exact|3500\n");
    /* One amount of two decimals tells what the three digits of another one are. */
    is_understood(hand, "parts;name\n1.250;Linalool\n12,50;Coumarin\n",
                  "table, separator \";\", decimal sign \",\"",
                  "= Brought in 1262.5 1262.5\nLinalool|exact|1250\nCoumarin|exact|12.5\n");
    is_understood(hand, "parts;name\n1,250;Linalool\n12.50;Coumarin\n",
                  "table, separator \";\", decimal sign \".\"",
                  "= Brought in 1262.5 1262.5\nLinalool|exact|1250\nCoumarin|exact|12.5\n");
    is_understood(hand,
                  "\xEF\xBB\xBFIngredient\t%\tDilution\tIn\r\nLinalool\t90\t\t\r\n"
                  "Indole\t10\t10%\tDPG\r\n",
                  "table, separator a tab",
                  "= Brought in 1000 1000\nLinalool|exact|900\nIndole|exact|100|10 %|"
                  "Dipropylene glycol\n");
    is_understood(hand,
                  "formula,material,grams\nQuay,Linalool,1\nQuay,Coumarin,3\nHedge,Vanillin,2\n",
                  "table, separator \",\"",
                  "= Quay 1000 1000\nLinalool|exact|250\nCoumarin|exact|750\n"
                  "= Hedge 1000 1000\nVanillin|exact|1000\n");
}

static void test_json(void **state)
{
    struct hand *hand = *state;
    fill_shelf(hand);
    is_understood(hand,
                  "{\"formulas\":[{\"formula\":\"Quay\",\"base_parts\":100,\"lines\":["
                  "{\"material\":\"Linalool\",\"parts\":62.5},"
                  "{\"material\":\"Indole\",\"parts\":37.5,\"strength_percent\":0.1,"
                  "\"solvent\":\"DPG\"}]}]}",
                  "JSON",
                  "= Quay 100 100\nLinalool|exact|62.5\nIndole|exact|37.5|0.1 %|Dipropylene "
                  "glycol\n");
}

/* What nobody wrote is near nothing; a name that must be an accord's is near no material's; and a
 * document is what its head says, not what stands further down. */
static void test_what_is_not_meant(void **state)
{
    struct hand *hand = *state;
    static const char accord[] = "{\"permille\":{\"document\":\"formulas\",\"version\":1},"
                                 "\"formulas\":[{\"formula\":\"library\",\"lines\":["
                                 "{\"accord\":\"Linalol\",\"parts\":1}]}]}";
    add(hand, "Linalool", "chemical", NULL, NULL);
    add(hand, "Unnamed solvent of the shop", "solvent", NULL, NULL);
    struct pm_bringing bringing = read_in(hand, "Linalol 10% 5\n");
    assert_int_equal(bringing.lines[0].match, PM_MATCH_NEAR);
    assert_int_equal(bringing.lines[0].solvent_match, PM_MATCH_NEW);
    assert_string_equal(bringing.lines[0].solvent_matched, "Unnamed solvent");
    pm_bringing_release(&bringing);
    assert_int_equal(pm_source_of(accord, strlen(accord)), PM_SOURCE_FORMULAS);
    bringing = read_in(hand, accord);
    assert_int_equal(bringing.lines[0].match, PM_MATCH_NEW);
    assert_int_equal(bringing.lines[0].material, 0);
    pm_bringing_release(&bringing);
}

static void refuses(struct hand *hand, const char *text, size_t length, const char *piece)
{
    struct pm_bringing bringing;
    const enum pm_status status =
        pm_bringing_read(hand->studio, text, length, NULL, &bringing, &hand->err);
    assert_true(status == PM_INVALID || status == PM_REFUSED || status == PM_NEWER);
    if (strstr(hand->err.text, piece) == NULL)
        fail_msg("%s", hand->err.text);
}

static void test_what_cannot_be_read(void **state)
{
    struct hand *hand = *state;
    char *deep = malloc(20001);
    assert_non_null(deep);
    memset(deep, '[', 20000);
    deep[0] = '{';
    memcpy(deep, "{\"a\":", 5);
    deep[20000] = '\0';
    refuses(hand, deep, 20000, "Line 1, column");
    free(deep);
    refuses(hand, "{\"formulas\": [\n {\"formula\": tru}]}", 37, "Line 2, column");
    refuses(hand, "{\"formulas\": 1}", 15, "no formulas");
    refuses(hand, "{\"permille\":{\"document\":\"formulas\",\"version\":2},\"formulas\":[]}", 62,
            "newer version");
    refuses(hand, "{\"permille\":{\"document\":\"shelf\",\"version\":1},\"formulas\":[]}", 59,
            "of the kind \"shelf\"");
    refuses(hand, "{\"formulas\": [{\"lines\": [{\"material\": 3}]}]}", 44,
            "Formula 1, line 1 of the document");
    refuses(hand, "{\"a\":1,\"a\":2}", 13, "duplicate");
    refuses(hand, "name,parts\nA,1\n\"B,2\n", 20, "Line 3");
    refuses(hand, "name,parts\nA,1\nB,2,3\n", 21, "Line 3 has 3 fields, the header has 2");
    refuses(hand, "name,parts\nA\xFF,1\n", 16, "Line 2");
    refuses(hand, "Linalool 3\0 4", 13, "Line 1");
    refuses(hand, "only words\n", 11, "No line");
}

/* ---- corrections, committing, taking back ---- */

static size_t formulas_shown(struct hand *hand)
{
    struct pm_formulas formulas;
    hand_ok(hand, pm_formulas_list(hand->studio, NULL, false, &formulas, &hand->err));
    const size_t count = formulas.count;
    pm_list_release(&formulas);
    return count;
}

static void test_one_step_there_and_back(void **state)
{
    struct hand *hand = *state;
    int64_t first = 0, again = 0;
    char *sentence;
    fill_shelf(hand);
    struct pm_bringing bringing =
        read_in(hand, "Moss\nOakmoss 400\nSea fog 600\n\nCloud\nVanillin 10% in rain 100\n");
    assert_int_equal(bringing.fresh, 2); /* with the rain */
    hand_ok(hand, pm_bringing_commit(hand->studio, &bringing, &first, &hand->err));
    assert_int_equal(formulas_shown(hand), 2);
    assert_int_equal(hand_parts(hand, first, "Sea fog"), parts_of(600));
    assert_true(hand_on_shelf(hand, "Sea fog"));

    hand_ok(hand, pm_shelf_undo(hand->studio, &sentence, &hand->err));
    assert_string_equal(sentence, "Brought in 2 formulas with 2 new materials");
    pm_free(sentence);
    assert_int_equal(formulas_shown(hand), 0);
    assert_false(hand_on_shelf(hand, "Sea fog"));
    assert_false(hand_on_shelf(hand, "rain"));

    hand_reopen(hand);
    hand_ok(hand, pm_shelf_redo(hand->studio, NULL, &hand->err));
    assert_int_equal(formulas_shown(hand), 2);
    assert_int_equal(hand_parts(hand, first, "Oakmoss absolute"), parts_of(400));
    assert_true(hand_on_shelf(hand, "Sea fog"));
    hand_undo(hand, first); /* also by the formula's own history */
    struct pm_sheet *sheet = hand_draft(hand, first);
    assert_int_equal(sheet->trial.count, 0);
    pm_sheet_free(sheet);

    /* The name is taken now, so the next one is numbered. */
    hand_ok(hand, pm_shelf_undo(hand->studio, NULL, &hand->err));
    pm_bringing_release(&bringing);
    bringing = read_in(hand, "Moss\nRain 3\nrain 4\n\nmoss\nRain 600\nFog 10% in RAIN 1\n");
    assert_int_equal(bringing.fresh, 1); /* the fog: the rain is there, if out of sight */
    assert_string_equal(bringing.formulas[1].name, "moss 3");
    pm_bringing_release(&bringing);
    bringing = read_in(hand, "Moss\nHail 3\nhail 4\n\nMist\nHail 600\nFog 10% in HAIL 1\n");
    assert_int_equal(bringing.fresh, 2);
    pm_bringing_release(&bringing);
    bringing = read_in(hand, "Moss\nSea fog 600\n");
    assert_string_equal(bringing.formulas[0].name, "Moss 2");
    assert_int_equal(bringing.lines[0].match, PM_MATCH_EXACT);
    hand_ok(hand, pm_bringing_commit(hand->studio, &bringing, &again, &hand->err));
    assert_true(hand_on_shelf(hand, "Sea fog"));
    pm_bringing_release(&bringing);
    hand_ok(hand, pm_studio_verify(hand->studio, NULL, NULL, &hand->err));
}

static void test_corrections(void **state)
{
    struct hand *hand = *state;
    int64_t first = 0;
    fill_shelf(hand);
    struct pm_bringing bringing =
        read_in(hand, "Quay\nLinalol 60%\nIndole 10% 30%\nVanillin trace\n");
    assert_int_equal(bringing.lines[0].match, PM_MATCH_NEAR);
    hand_ok(hand,
            pm_bringing_set(hand->studio, &bringing, 0, PM_BROUGHT_NAME, "Linalool", &hand->err));
    assert_null(bringing.lines[0].doubt);
    hand_ok(hand,
            pm_bringing_set(hand->studio, &bringing, 1, PM_BROUGHT_STRENGTH, "1%", &hand->err));
    hand_ok(hand,
            pm_bringing_set(hand->studio, &bringing, 1, PM_BROUGHT_SOLVENT, "DPG", &hand->err));
    hand_refused(hand,
                 pm_bringing_set(hand->studio, &bringing, 2, PM_BROUGHT_PARTS, "x", &hand->err),
                 PM_INVALID, "x");
    hand_ok(hand, pm_bringing_set(hand->studio, &bringing, 2, PM_BROUGHT_PARTS, "100", &hand->err));
    hand_ok(hand, pm_bringing_title(hand->studio, &bringing, 0, "Pier", &hand->err));
    hand_ok(hand, pm_bringing_commit(hand->studio, &bringing, &first, &hand->err));
    assert_int_equal(hand_parts(hand, first, "Linalool"), parts_of(600));
    assert_int_equal(hand_parts(hand, first, "Indole"), parts_of(300));
    assert_int_equal(hand_parts(hand, first, "Vanillin"), parts_of(100));
    pm_bringing_release(&bringing);
}

/* Whatever fails, nothing is half there. */
static void test_all_or_nothing(void **state)
{
    struct hand *hand = *state;
    fill_shelf(hand);
    struct pm_bringing bringing = read_in(hand, "Moss\nSea fog 600\nOakmoss 10% in Vanillin 400\n");
    hand_refused(hand, pm_bringing_commit(hand->studio, &bringing, NULL, &hand->err), PM_REFUSED,
                 "no solvent");
    assert_int_equal(formulas_shown(hand), 0);
    assert_false(hand_on_shelf(hand, "Sea fog"));
    pm_bringing_release(&bringing);
    for (long n = 1;; n++) {
        bringing = read_in(hand, "Moss\nSea fog 600\nOakmoss 10% in rain 400\n");
        pm_mem_fail_at(n, true);
        const enum pm_status status = pm_bringing_commit(hand->studio, &bringing, NULL, &hand->err);
        pm_mem_fail_at(0, false);
        pm_bringing_release(&bringing);
        if (status == PM_OK)
            break;
        assert_int_equal(status, PM_NOMEM);
        assert_int_equal(formulas_shown(hand), 0);
        assert_false(hand_on_shelf(hand, "Sea fog"));
    }
    assert_int_equal(formulas_shown(hand), 1);
}

#define HAND(test) cmocka_unit_test_setup_teardown(test, hand_setup, hand_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        HAND(test_scribbles),
        HAND(test_amounts_that_are_none),
        HAND(test_tables),
        HAND(test_json),
        HAND(test_what_is_not_meant),
        HAND(test_what_cannot_be_read),
        HAND(test_one_step_there_and_back),
        HAND(test_corrections),
        HAND(test_all_or_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
