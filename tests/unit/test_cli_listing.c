/* SPDX-License-Identifier: MIT */
/* One table, three forms: aligned text, CSV (RFC 4180), JSON (RFC 8259). */
#include "src/cli/listing.h"

#include "permille/base/amount.h"
#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static const struct pm_listing_column columns[] = {
    {.key = "material", .title = "Material", .kind = PM_LISTING_TEXT},
    {.key = "parts", .title = "Parts", .kind = PM_LISTING_NUMBER, .scale = 6, .least = 1},
    {.title = "Strength", .kind = PM_LISTING_TEXT},
    {.key = "strength_percent", .kind = PM_LISTING_NUMBER, .scale = 7},
    {.key = "solvent", .title = "In it", .kind = PM_LISTING_BOOL},
    {.key = "at", .title = "At", .kind = PM_LISTING_TIME},
};

static void add_row(struct pm_listing *table, const char *name, pm_parts parts,
                    const char *strength, int64_t at)
{
    pm_listing_text(table, name);
    pm_listing_number(table, parts);
    pm_listing_text(table, strength);
    pm_listing_number(table, 100000000);
    pm_listing_bool(table, at > 0);
    if (at > 0)
        pm_listing_time(table, at);
    else
        pm_listing_null(table);
}

static void fill(struct pm_listing *table)
{
    pm_listing_init(table, columns, sizeof columns / sizeof columns[0]);
    add_row(table, "Lime oil", 444 * PM_PART, "neat", 0);
    add_row(table, "\u9999\u6728, \"dry\"", 1234, "0.1 %", 1772460300); /* two wide characters */
    add_row(table, "Re\u0301sine\x1b[2J\nx", 0, NULL, 0);               /* combining; control */
}

static void text_is_aligned_by_cells(void **state)
{
    struct pm_listing table;
    struct pm_text out = PM_TEXT_EMPTY;

    (void)state;
    fill(&table);
    assert_int_equal(pm_listing_as_text(&table, ',', 0, &out, NULL), PM_OK);
    assert_string_equal(pm_text_get(&out),
                        "Material         Parts  Strength  In it  At\n"
                        "Lime oil      444,0     neat             -\n"
                        "\u9999\u6728, \"dry\"     0,0012  0.1 %     yes    2026-03-02 14:05\n"
                        "Re\u0301sine\uFFFD[2J x    0,0     -                -\n");
    pm_text_release(&out);
    pm_listing_release(&table);
}

static const struct pm_listing_column diary_columns[] = {
    {.key = "n", .title = "#", .kind = PM_LISTING_NUMBER},
    {.key = "trial", .title = "trial", .kind = PM_LISTING_TEXT},
    {.key = "left", .title = "left", .kind = PM_LISTING_NUMBER, .scale = 2, .least = 2},
    {.key = "right", .title = "right", .kind = PM_LISTING_NUMBER, .scale = 2, .least = 2},
    {.key = "note", .title = "note", .kind = PM_LISTING_TEXT},
    {.key = "state", .title = "state", .kind = PM_LISTING_TEXT},
};

static void diary(struct pm_listing *table, const char *trial, const char *note)
{
    pm_listing_init(table, diary_columns, sizeof diary_columns / sizeof diary_columns[0]);
    for (int i = 1; i <= 2; i++) {
        pm_listing_number(table, i);
        pm_listing_text(table, i == 1 ? trial : "Quay");
        pm_listing_number(table, 12345 * i);
        pm_listing_number(table, 1000000 * i);
        pm_listing_text(table, i == 1 ? note : "");
        pm_listing_text(table, i == 1 ? "" : "late");
    }
}

static void assert_in_room(const char *trial, const char *note, size_t room, const char *expected)
{
    struct pm_listing table;
    struct pm_text out = PM_TEXT_EMPTY;
    diary(&table, trial, note);
    assert_int_equal(pm_listing_as_text(&table, '.', room, &out, NULL), PM_OK);
    assert_string_equal(pm_text_get(&out), expected);
    pm_text_release(&out);
    pm_listing_release(&table);
}

/* On a terminal no row is broken by the terminal, and nothing but names is ever cut short. */
static void rows_fit_the_room_there_is(void **state)
{
    static const char *const name = "Salt marsh in the morning before rain";
    static const char *const note = "Rind and wet stone, then salt; dry on the second day.";

    (void)state;
    /* Names are cut a little. */
    assert_in_room(name, "dry", 62,
                   "#  trial                           left     right  note  state\n"
                   "1  Salt marsh in the morning b\u2026  123.45  10000.00  dry\n"
                   "2  Quay                          246.90  20000.00        late\n");
    /* A text goes on below its beginning, with what stands behind it still in its row. */
    assert_in_room("Marsh", note, 62,
                   "#  trial    left     right  note                         state\n"
                   "1  Marsh  123.45  10000.00  Rind and wet stone, then\n"
                   "                            salt; dry on the second\n"
                   "                            day.\n"
                   "2  Quay   246.90  20000.00                               late\n");
    /* Without room for that it goes beneath the row. */
    assert_in_room("Marsh", note, 48,
                   "#  trial    left     right  state\n"
                   "1  Marsh  123.45  10000.00\n"
                   "    note: Rind and wet stone, then salt; dry on the second day.\n"
                   "2  Quay   246.90  20000.00  late\n");
    /* Numbers that find no room follow in a table of their own. */
    assert_in_room("Harbour 1/12", "", 24,
                   "#  trial           left\n"
                   "1  Harbour 1/12  123.45\n"
                   "2  Quay          246.90\n"
                   "\n"
                   "trial            right  note  state\n"
                   "Harbour 1/12  10000.00\n"
                   "Quay          20000.00        late\n");
}

static void assert_broken(const char *text, size_t room, const char *expected)
{
    struct pm_text out = PM_TEXT_EMPTY;
    pm_cli_add_broken(&out, text, room);
    assert_string_equal(pm_text_get(&out), expected);
    pm_text_release(&out);
}

static void lines_break_between_words(void **state)
{
    (void)state;
    assert_broken("one two three\n", 0, "one two three\n");
    assert_broken("one two three\n", 13, "one two three\n");
    assert_broken("one two three\nfour\n", 12, "one two\nthree\nfour\n");
    assert_broken("  one two three", 9, "  one two\n  three");
    assert_broken("\u9999\u6728 \u9999\u6728", 7, "\u9999\u6728\n\u9999\u6728");
    assert_broken("extraordinarily", 6, "extrao\nrdinar\nily");
    assert_broken("", 6, "");
}

static void csv_is_exact(void **state)
{
    struct pm_listing table;
    struct pm_text out = PM_TEXT_EMPTY;

    (void)state;
    fill(&table);
    assert_int_equal(pm_listing_as_csv(&table, &out, NULL), PM_OK);
    assert_string_equal(pm_text_get(&out),
                        "material,parts,strength_percent,solvent,at\r\n"
                        "Lime oil,444,10,false,\r\n"
                        "\"\u9999\u6728, \"\"dry\"\"\",0.001234,10,true,2026-03-02T14:05:00Z\r\n"
                        "\"Re\u0301sine\x1b[2J\nx\",0,10,false,\r\n");
    pm_text_release(&out);
    pm_listing_release(&table);
}

static void json_has_the_same_keys(void **state)
{
    struct pm_listing table;
    struct pm_cli_front front = {.err = stderr};
    struct pm_cli cli = {.front = &front, .form = PM_CLI_JSON};

    (void)state;
    fill(&table);
    assert_int_equal(pm_listing_answer(&table, &cli, "lines", "None.", NULL), PM_OK);
    assert_string_equal(
        pm_text_get(&cli.out),
        "{\"lines\":[{\"material\":\"Lime oil\",\"parts\":444,\"strength_percent\":10,"
        "\"solvent\":false,\"at\":null},"
        "{\"material\":\"\u9999\u6728, \\\"dry\\\"\",\"parts\":0.001234,\"strength_percent\":10,"
        "\"solvent\":true,\"at\":\"2026-03-02T14:05:00Z\"},"
        "{\"material\":\"Re\u0301sine\\u001b[2J\\nx\",\"parts\":0,\"strength_percent\":10,"
        "\"solvent\":false,\"at\":null}]}");
    pm_text_release(&cli.out);

    pm_listing_init(&table, columns, sizeof columns / sizeof columns[0]);
    assert_int_equal(pm_listing_answer(&table, &cli, "lines", "None.", NULL), PM_OK);
    assert_string_equal(pm_text_get(&cli.out), "{\"lines\":[]}");
    pm_text_release(&cli.out);
}

/* A core of 4:3:2 in a base of 1000 printed in whole parts reads 445/333/222 and still adds up to
 * 1000 (largest remainder; common practice, no source). */
static void printed_column_adds_up(void **state)
{
    static const struct pm_listing_column parts[] = {{.key = "parts",
                                                      .title = "Parts",
                                                      .kind = PM_LISTING_NUMBER,
                                                      .scale = 6,
                                                      .least = 0,
                                                      .adds_up = true}};
    struct pm_listing table;
    struct pm_text out = PM_TEXT_EMPTY;

    (void)state;
    pm_listing_init(&table, parts, 1);
    pm_listing_number(&table, 444444445);
    pm_listing_number(&table, 333333333);
    pm_listing_number(&table, 222222222);
    assert_int_equal(pm_listing_as_text(&table, '.', 0, &out, NULL), PM_OK);
    assert_string_equal(pm_text_get(&out), "Parts\n  445\n  333\n  222\n");
    pm_text_release(&out);
    pm_listing_release(&table);
}

/* Neat and solvent of a flat view: each column adds up to its sum, and the two sums to the whole;
 * rounded each for itself, half a unit of both could be lost or won. */
static void printed_columns_add_up_together(void **state)
{
    static const struct pm_listing_column pair[] = {
        {.title = "of", .kind = PM_LISTING_TEXT},
        {.title = "neat", .kind = PM_LISTING_NUMBER, .scale = 6, .least = 1, .adds_up = true},
        {.title = "as solvent",
         .kind = PM_LISTING_NUMBER,
         .scale = 6,
         .least = 1,
         .adds_up = true,
         .with_last = true},
    };
    struct pm_listing table;
    struct pm_text out = PM_TEXT_EMPTY;

    (void)state;
    pm_listing_init(&table, pair, 3);
    table.sums = "total";
    pm_listing_text(&table, "a");
    pm_listing_number(&table, 60050000);
    pm_listing_number(&table, 0);
    pm_listing_text(&table, "b");
    pm_listing_number(&table, 0);
    pm_listing_number(&table, 39950000);
    assert_int_equal(pm_listing_as_text(&table, '.', 0, &out, NULL), PM_OK);
    assert_string_equal(pm_text_get(&out), "of     neat  as solvent\n"
                                           "a      60.0         0.0\n"
                                           "b       0.0        40.0\n"
                                           "total  60.0        40.0\n");
    pm_text_release(&out);
    pm_listing_release(&table);
}

/* Every request for memory fails once; the table says so at the end, and nothing leaks. */
static void lost_memory_is_told(void **state)
{
    (void)state;
    for (long n = 1; n < 200; n++) {
        struct pm_listing table;
        struct pm_text out = PM_TEXT_EMPTY;
        pm_mem_fail_at(n, false);
        fill(&table);
        const enum pm_status status = pm_listing_as_text(&table, '.', 0, &out, NULL);
        const long requests = pm_mem_fail_at(0, false);
        pm_text_release(&out);
        pm_listing_release(&table);
        if (requests < n) {
            assert_int_equal(status, PM_OK);
            return;
        }
        assert_int_equal(status, PM_NOMEM);
    }
    fail_msg("it never succeeded");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(text_is_aligned_by_cells),
        cmocka_unit_test(rows_fit_the_room_there_is),
        cmocka_unit_test(lines_break_between_words),
        cmocka_unit_test(csv_is_exact),
        cmocka_unit_test(json_has_the_same_keys),
        cmocka_unit_test(printed_column_adds_up),
        cmocka_unit_test(printed_columns_add_up_together),
        cmocka_unit_test(lost_memory_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
