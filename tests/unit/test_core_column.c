/* SPDX-License-Identifier: MIT */
/*
 * Printed amounts: what a reader may take from a column. The rules are this program's own; that a
 * non-zero amount never reads as nothing and that a column adds up is common practice, no source.
 */
#include "permille/base/amount.h"
#include "permille/base/mem.h"
#include "permille/core/apportion.h"
#include "permille/core/column.h"
#include "trials.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define ROWS 64

/* The texts of a column of amounts given as decimals, and its total behind them. */
static void prints(const char *const *amounts, size_t count, const char *const *rows,
                   const char *sum)
{
    int64_t values[ROWS] = {0};
    struct pm_column_total total;
    char text[PM_AMOUNT_TEXT];
    for (size_t i = 0; i < count; i++)
        assert_int_equal(pm_decimal_read(amounts[i], 6, "amount", &values[i], NULL), PM_OK);
    assert_int_equal(pm_round_column(values, count, 6, 2, values, &total, NULL), PM_OK);
    for (size_t i = 0; i < count; i++)
        assert_string_equal(pm_column_row_text(&total, values[i], '.', text), rows[i]);
    assert_string_equal(pm_column_total_text(&total, '.', text), sum);
}
#define PRINTS(amounts, rows, sum) prints(amounts, sizeof(amounts) / sizeof *(amounts), rows, sum)

/* A trace of 0.083679 reads 0.084 to its last digit, and forces no decimals on the rest. */
static void trace_is_right(void **state)
{
    (void)state;
    static const char *const amounts[] = {"444.401", "333.304", "222.211321", "0.083679"};
    static const char *const rows[] = {"444.41 ", "333.30 ", "222.21 ", "0.084"};
    PRINTS(amounts, rows, "1000.00 ");
    static const char *const fine[] = {"600.333333", "399.663412", "0.003255"};
    static const char *const printed[] = {"600.34  ", "399.66  ", "0.0033"};
    PRINTS(fine, printed, "1000.00  ");
}

/* What was typed stays as typed: the unit left over goes to an amount that is rounded anyway, and
 * the total of amounts that all show in full shows in full. */
static void typed_stays(void **state)
{
    (void)state;
    static const char *const amounts[] = {"900", "33.333333", "33.333333", "33.333334"};
    static const char *const rows[] = {"900.00", "33.33", "33.33", "33.34"};
    PRINTS(amounts, rows, "1000.00");
    static const char *const filling[] = {"20", "0.004"};
    static const char *const filled[] = {"20.00  ", "0.0040"};
    PRINTS(filling, filled, "20.004 ");
    static const char *const nothing[] = {"0", "0"};
    static const char *const zeros[] = {"0.00", "0.00"};
    PRINTS(nothing, zeros, "0.00");
}

/* Common practice, no source: a core of 4:3:2 filling a base of 1000 adds up as it is read. */
static void core_adds_up(void **state)
{
    (void)state;
    static const char *const core[] = {"444.444444", "333.333333", "222.222223"};
    static const char *const rows[] = {"444.45", "333.33", "222.22"};
    PRINTS(core, rows, "1000.00");
}

static void even_traces_add_up(void **state)
{
    (void)state;
    static const char *const thirds[] = {"0.333333", "0.333333", "0.333334"};
    static const char *const rows[] = {"0.33", "0.33", "0.34"};
    PRINTS(thirds, rows, "1.00");
    static const char *const one[] = {"0.000004"};
    static const char *const printed[] = {"0.000004"};
    PRINTS(one, printed, "0.000004");
}

static void aligned(void **state)
{
    (void)state;
    const int64_t values[] = {12345678, 4000, 0};
    char text[PM_AMOUNT_TEXT];
    struct pm_column_total total = pm_column_measure(values, 3, 6, 0);
    assert_string_equal(pm_column_row_text(&total, values[0], ',', text), "12     ");
    assert_string_equal(pm_column_row_text(&total, values[1], ',', text), "0,0040");
    assert_string_equal(pm_column_row_text(&total, 0, ',', text), "0     ");
    assert_int_equal(pm_column_cells(&total), 7);
}

static int64_t unit_of(int64_t value, int least)
{
    int64_t unit = 1;
    for (int i = pm_decimal_places(value, 6, least); i < 6; i++)
        unit *= 10;
    return unit;
}

static int64_t nearest(int64_t value, int64_t unit)
{
    return (value + unit / 2) / unit * unit;
}

/* Every promise of the header, for any column with an amount that can take what is left over. */
static void promises(const int64_t *values, size_t count, int least)
{
    int64_t out[ROWS], sum = 0, printed = 0, unit = unit_of(0, least);
    struct pm_column_total total;
    bool takes = false;
    assert_int_equal(pm_round_column(values, count, 6, least, out, &total, NULL), PM_OK);
    for (size_t i = 0; i < count; i++) {
        sum += values[i];
        printed += out[i];
        takes = takes || (values[i] >= 1000 * unit && values[i] % unit != 0);
    }
    if (!takes)
        return;
    assert_int_equal(total.value, total.places == least ? nearest(sum, unit) : sum);
    if (total.places == least)
        assert_int_equal(nearest(printed, unit), total.value);
    for (size_t i = 0; i < count; i++) {
        int64_t own = nearest(values[i], unit_of(values[i], least));
        assert_true(values[i] == 0 || out[i] > 0);
        assert_true(total.aligned >= pm_decimal_places(out[i], 6, least));
        if (values[i] < 100 * unit || values[i] % unit == 0)
            assert_int_equal(out[i], own);
        for (size_t j = 0; out[i] != own && j < count; j++)
            assert_true(values[j] <= values[i] || values[j] % unit == 0 ||
                        out[j] != nearest(values[j], unit));
    }
}

static void any_column(void **state)
{
    (void)state;
    struct tr_random random = {9};
    for (int turn = 0; turn < 20000; turn++) {
        int64_t values[ROWS];
        size_t count = (size_t)tr_random_below(&random, ROWS) + 1;
        for (size_t i = 0; i < count; i++)
            values[i] = tr_random_chance(&random, 4) ? tr_random_below(&random, P(1) / 10)
                                                     : tr_random_parts(&random, P(1000));
        promises(values, count, (int)tr_random_below(&random, 5));
    }
}

/* The same amount prints the same wherever it stands, whatever it is scaled by. */
static void same_everywhere(void **state)
{
    (void)state;
    struct tr_random random = {10};
    char text[PM_AMOUNT_TEXT], fine[PM_AMOUNT_TEXT];
    for (int turn = 0; turn < 20000; turn++) {
        int64_t value = tr_random_parts(&random, P(1000)), scaled = value * 1000000;
        struct pm_column_total parts = pm_column_measure(&value, 1, 6, 2);
        struct pm_column_total neat = pm_column_measure(&scaled, 1, 12, 2);
        if (pm_decimal_places(value, 12, 2) > 6)
            continue;
        assert_string_equal(pm_column_row_text(&parts, value, '.', text),
                            pm_column_row_text(&neat, scaled, '.', fine));
    }
}

/* Two columns that add up together: 83.33 of the total of 250.00 stands above the one, 166.67 above
 * the other. */
static void columns_together(void **state)
{
    (void)state;
    const int64_t first[] = {41666666, 41666667}, second[] = {100000000, 66666667};
    int64_t both[] = {83333333, 166666667}, out[2];
    struct pm_column_total all, total;
    assert_int_equal(pm_round_column(both, 2, 6, 2, both, &all, NULL), PM_OK);
    assert_int_equal(both[0], 83330000);
    assert_int_equal(both[1], 166670000);
    total = pm_column_measure(&both[0], 1, 6, 2);
    assert_int_equal(pm_round_column_to(first, 2, out, &total, NULL), PM_OK);
    assert_int_equal(out[0] + out[1], both[0]);
    total = pm_column_measure(&both[1], 1, 6, 2);
    assert_int_equal(pm_round_column_to(second, 2, out, &total, NULL), PM_OK);
    assert_int_equal(out[0], 100000000);
    assert_int_equal(out[1], 66670000);
}

/* A share and what is missing to the whole add up to 100 % as printed. */
static void shares_add_up(void **state)
{
    (void)state;
    char text[PM_AMOUNT_TEXT];
    assert_string_equal(pm_share_format(168000000000, '.', text), "16.8 %");
    assert_string_equal(pm_share_format(500000000, '.', text), "0.050 %");
    assert_string_equal(pm_share_format(PM_WHOLE - 500000000, ',', text), "99,950 %");
    assert_string_equal(pm_share_format(0, '.', text), "0.0 %");
    assert_string_equal(pm_share_format(PM_WHOLE, '.', text), "100.0 %");
    assert_string_equal(pm_share_format(1, '.', text), "0.0000000001 %");
    /* Both end in half a unit. */
    assert_string_equal(pm_share_format(123500000000, '.', text), "12.4 %");
    assert_string_equal(pm_share_format(PM_WHOLE - 123500000000, '.', text), "87.6 %");
    struct tr_random random = {12};
    for (int turn = 0; turn < 20000; turn++) {
        int64_t share = tr_random_below(&random, PM_WHOLE), sum = 0;
        share >>= tr_random_below(&random, 40);
        for (int i = 0; i < 2; i++) {
            int64_t value = 0;
            pm_share_format(i == 0 ? share : PM_WHOLE - share, '.', text);
            *strchr(text, ' ') = '\0';
            char *point = strchr(text, '.');
            for (const char *at = text; *at != '\0'; at++)
                value = *at == '.' ? value : value * 10 + (*at - '0');
            for (size_t places = strlen(point + 1); places < 10; places++)
                value *= 10;
            sum += value;
        }
        assert_int_equal(sum, PM_WHOLE);
    }
}

static void refusals(void **state)
{
    (void)state;
    const int64_t values[] = {1, 2}, negative[] = {1, -2}, large[] = {INT64_MAX, INT64_MAX};
    int64_t out[] = {77, 77};
    struct pm_column_total total = {.value = 77};
    assert_int_equal(pm_round_column(negative, 2, 6, 2, out, &total, NULL), PM_INVALID);
    assert_int_equal(pm_round_column(large, 2, 6, 2, out, &total, NULL), PM_INVALID);
    (void)pm_mem_fail_at(1, false);
    assert_int_equal(pm_round_column(values, 2, 6, 0, out, &total, NULL), PM_NOMEM);
    (void)pm_mem_fail_at(0, false);
    assert_int_equal(out[0], 77);
    assert_int_equal(out[1], 77);
    assert_int_equal(total.value, 77);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(trace_is_right),  cmocka_unit_test(typed_stays),
        cmocka_unit_test(core_adds_up),    cmocka_unit_test(even_traces_add_up),
        cmocka_unit_test(aligned),         cmocka_unit_test(any_column),
        cmocka_unit_test(same_everywhere), cmocka_unit_test(columns_together),
        cmocka_unit_test(shares_add_up),   cmocka_unit_test(refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
