/* SPDX-License-Identifier: MIT */
/* Trials side by side: where the columns stand, for every width, and how amounts are printed. */
#include "harness.h"

#include "src/tui/trials/side.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FINE(micro) ((int64_t)(micro)*PM_FINE_PER_MICRO)

/* A comparison made by hand: amounts in micro-parts. */
static void compared(struct pm_side_by_side *read, size_t trials, size_t lines,
                     const int64_t *amounts)
{
    memset(read, 0, sizeof *read);
    read->trials = trials;
    read->count = lines;
    read->lines = pm_alloc_array(lines, sizeof *read->lines);
    for (size_t t = 0; t < trials; t++) {
        char title[64];
        snprintf(title, sizeof title, "Harbour of stone/%zu", t + 1);
        read->titles[t] = pm_strdup(title);
    }
    for (size_t i = 0; i < lines; i++) {
        struct pm_side_line *line = &read->lines[i];
        char name[64];
        snprintf(name, sizeof name, "Material %zu with a name that goes on and on", i + 1);
        line->name = pm_strdup(name);
        line->place = i;
        for (size_t t = 0; t < trials; t++) {
            int64_t amount = amounts[i * trials + t], first = amounts[i * trials];
            line->row.there[t] = true;
            line->row.poured[t] = line->row.neat[t] = FINE(amount);
            line->row.change[t] = amount > first ? PM_MORE : amount < first ? PM_LESS : PM_SAME;
            pm_muldiv(amount, 1000000, first, &line->row.factor_ppm[t]);
        }
    }
}

static void take(struct side *side, size_t trials, size_t lines, const int64_t *amounts)
{
    struct pm_side_by_side read;
    side_init(side);
    compared(&read, trials, lines, amounts);
    assert_int_equal(side_take(side, &read, '.', NULL), PM_OK);
}

/* ---- columns ---- */

static void columns_fit(struct side *side, int cells)
{
    const struct pm_table table = side_table(side);
    const struct pm_span *spans = side->list.spans;
    pm_table_lay_out(&table, &side->list, cells);
    int end = 0;
    for (size_t i = 0; i < table.column_count; i++) {
        if (spans[i].cells == 0)
            continue;
        assert_true(spans[i].at > end);
        end = spans[i].at + spans[i].cells;
        assert_true(end <= cells);
    }
    size_t seen = 0;
    for (size_t t = 0; t < side->read.trials; t++) {
        const bool amount = spans[side_column(t, SIDE_AMOUNT)].cells >= side->amount_cells;
        const bool word = spans[side_column(t, SIDE_WORD)].cells > 0;
        assert_true(word == (amount && t > 0)); /* all of a trial or nothing */
        seen += amount;
    }
    /* The first trial and the selected one are in sight. */
    assert_true(spans[side_column(0, SIDE_AMOUNT)].cells > 0);
    assert_true(spans[side_column(side->trial, SIDE_AMOUNT)].cells > 0);
    assert_int_equal(seen == side->read.trials, !side->list.before && !side->list.behind);
    if (cells >= 200)
        assert_int_equal(seen, side->read.trials);
}

static void no_columns_overlap_at_any_width(void **state)
{
    static const int64_t amounts[] = {100000000, 250000000, 1, 40000000, 5000, 5001, 5000, 123456};
    (void)state;
    for (size_t trials = 2; trials <= PM_COMPARE_MAX; trials++) {
        struct side side;
        take(&side, trials, 2, amounts);
        for (int cells = 78; cells <= 240; cells++)
            for (size_t column = 0; column < trials; column++) {
                side.trial = column;
                columns_fit(&side, cells);
            }
        side_release(&side);
    }
}

/* ---- figures ---- */

/* Thirds: the printed column adds up to what is printed below it. */
static void printed_columns_add_up(void **state)
{
    static const int64_t amounts[] = {333333333, 200000000, 333333333,
                                      400000000, 333333334, 400000000};
    struct side side;
    (void)state;
    take(&side, 2, 3, amounts);
    assert_int_equal(side.totals[0].places, 2);
    assert_int_equal(side.totals[0].value, FINE(1000000000));
    int64_t sum = 0;
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(side.values[i] % FINE(10000), 0);
        sum += side.values[i];
    }
    assert_int_equal(sum, side.totals[0].value);
    side_release(&side);
}

/* What differs by less than is shown has not changed for the eye. */
static void changes_show_as_fine_as_amounts(void **state)
{
    static const int64_t amounts[] = {100000000, 100000001, 100000000, 87500000, 5000, 5000};
    static const char *const wanted[] = {"", "-12.50", ""};
    struct side side;
    char text[SIDE_CHANGE_TEXT];
    (void)state;
    take(&side, 2, 3, amounts); /* the trace of 0.0050 asks for four decimals, no other line does */
    assert_int_equal(side.totals[0].aligned, 4);
    for (size_t i = 0; i < 3; i++) {
        side_change_text(&side, &side.read.lines[i], 1, text);
        assert_string_equal(text, wanted[i]);
    }
    assert_string_equal(side_factor_text(&side, &side.read.lines[0], 1, text), "");
    assert_string_equal(side_factor_text(&side, &side.read.lines[1], 1, text), "x0.875");
    assert_string_equal(side_factor_text(&side, &side.read.lines[2], 1, text), "");
    assert_true(side_is_same(&side, &side.read.lines[0], 1));
    assert_false(side_is_same(&side, &side.read.lines[1], 1));
    side_release(&side);
}

static void titles_keep_their_number(void **state)
{
    char text[128];
    (void)state;
    assert_string_equal(side_title("Harbour/12", 10, text, sizeof text), "Harbour/12");
    assert_string_equal(side_title("Harbour of stone/12", 12, text, sizeof text),
                        "Harbour \xE2\x80\xA6/12");
    assert_string_equal(side_title("Harbour of stone", 8, text, sizeof text),
                        "Harbour\xE2\x80\xA6");
    /* A wide glyph is not split. */
    side_title("\xE6\xB8\xAF\xE6\xB8\xAF\xE6\xB8\xAF\xE6\xB8\xAF/3", 6, text, sizeof text);
    assert_true(pm_utf8_cells(text) <= 6);
    assert_non_null(strstr(text, "/3"));
}

static void selection_stays_on_its_line(void **state)
{
    static const int64_t amounts[] = {1000000, 1000000, 2000000, 9000000, 3000000, 1000000};
    struct side side;
    (void)state;
    take(&side, 2, 3, amounts);
    side.list.row = 2;
    side.order = PM_SIDE_BY_PARTS;
    side_arrange(&side);
    assert_int_equal(side_line(&side)->place, 2);
    assert_int_equal(side.list.row, 1); /* +7, then -2, then nothing */
    side_release(&side);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_columns_overlap_at_any_width),
        cmocka_unit_test(printed_columns_add_up),
        cmocka_unit_test(changes_show_as_fine_as_amounts),
        cmocka_unit_test(titles_keep_their_number),
        cmocka_unit_test(selection_stays_on_its_line),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
