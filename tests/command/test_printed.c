/* SPDX-License-Identifier: MIT */
/*
 * What the commands print for people and for spreadsheets: columns that add up as printed, traces
 * that do not vanish, decimal signs of the locale; and a formula of 1,000 lines.
 */
#include "program.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"

#include <locale.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* ---- reading a printed table ---- */

/* Where the column ends that is headed by `title`, counted in bytes of its line; all names here are
 * plain ASCII. */
static size_t column_end(const char *table, const char *title)
{
    const char *line_end = strchr(table, '\n');
    const char *found = strstr(table, title);
    assert_non_null(line_end);
    if (found == NULL || found > line_end)
        fail_msg("no column %s in: %s", title, table);
    return (size_t)(found - table) + strlen(title);
}

/* The number that ends at `end` of a line, or before blanks up to there, scaled by 10^places;
 * *decimals as printed, -1 for
 * "-". */
static int64_t number_before(const char *line, size_t end, int places, int *decimals)
{
    int64_t value = 0;
    size_t start = end;

    if (strcspn(line, "\n") < end)
        start = end = strcspn(line, "\n"); /* no blanks stand at the end of a line */
    while (end > 0 && line[end - 1] == ' ')
        start = --end;
    while (start > 0 && line[start - 1] != ' ')
        start--;
    *decimals = -1;
    if (line[start] == '-')
        return 0;
    int after = 0;
    bool point = false;
    for (size_t i = start; i < end; i++) {
        if (line[i] == '.') {
            point = true;
            continue;
        }
        if (line[i] < '0' || line[i] > '9')
            fail_msg("no number: %.*s", (int)(end - start), line + start);
        value = value * 10 + (line[i] - '0');
        after += point ? 1 : 0;
    }
    *decimals = after;
    for (int i = after; i < places; i++)
        value *= 10;
    return value;
}

/* The rows printed under a title must add up to the row of sums, in its last decimal: a trace shows
 * further ones, which lie below it. */
static int64_t column_adds_up(const char *table, const char *title, int places)
{
    const size_t end = column_end(table, title);
    int64_t sum = 0, last = 0;
    int decimals = 0;

    /* An empty line ends the table; what follows it is prose. */
    for (const char *line = strchr(table, '\n') + 1; *line != '\0' && *line != '\n';
         line = strchr(line, '\n') + 1) {
        sum += last;
        last = number_before(line, end, places, &decimals);
    }
    int64_t unit = 1;
    for (int i = decimals; i < places; i++)
        unit *= 10;
    sum = (sum + unit / 2) / unit * unit;
    if (sum != last)
        fail_msg("%s: printed rows make %lld, the printed sum is %lld", title, (long long)sum,
                 (long long)last);
    return sum;
}

static const char *table_of(const struct program *p)
{
    const char *table = strstr(p->out, "\n\n");
    assert_non_null(table);
    return table + 2;
}

/* ---- */

/* Thirds and sevenths, and a trace of a trace. */
static void make_uneven(struct program *p)
{
    program_fill_shelf(p);
    program_does(p, WORDS("new", "Uneven", "--mode", "share"));
    program_does(p, WORDS("add", "Uneven", "Alpha", "1"));
    program_does(p, WORDS("add", "Uneven", "Beta", "1"));
    program_does(p, WORDS("add", "Uneven", "Gamma", "1"));
    program_does(p, WORDS("add", "Uneven", "Epsilon", "4"));
    program_does(p, WORDS("settle", "Uneven"));
    program_does(p, WORDS("add", "Uneven", "Delta", "0.0012", "--at", "0.01%", "--in", "Carrier"));
}

static void printed_columns_add_up(void **state)
{
    struct program *p = *state;

    make_uneven(p);
    program_does(p, WORDS("show", "Uneven"));
    assert_non_null(strstr(p->out, "base 1000, total 1000, mode share"));
    assert_int_equal(column_adds_up(table_of(p), "parts", 6), INT64_C(1000000000));
    assert_int_equal(column_adds_up(table_of(p), "%", 6), INT64_C(100000000));
    program_does(p, WORDS("show", "Uneven", "--flat"));
    column_adds_up(table_of(p), "neat", 12);
    column_adds_up(table_of(p), "as solvent", 12);
    assert_int_equal(column_adds_up(table_of(p), "%", 10), INT64_C(1000000000000));
    program_does(p, WORDS("keep", "Uneven"));
    program_does(p, WORDS("set", "Uneven", "Alpha", "100"));
    program_does(p, WORDS("compare", "Uneven/1", "Uneven"));
    column_adds_up(p->out, "Uneven/1", 12);
}

/* The line of a table or a page that names the material. */
static const char *row_of(const char *text, const char *name)
{
    const char *at = strstr(text, name);
    if (at == NULL)
        fail_msg("no %s in: %s", name, text);
    while (at > text && at[-1] != '\n')
        at--;
    return at;
}

/* Whether the row has this amount, alone in its cell. */
static bool row_has(const char *row, const char *amount)
{
    const size_t length = strcspn(row, "\n"), wanted = strlen(amount);
    for (const char *at = row; (at = strstr(at, amount)) != NULL && at + wanted <= row + length;
         at++)
        if (strchr(" |>", at[-1]) != NULL && strchr(" |<\n", at[wanted]) != NULL)
            return true;
    return false;
}

/* A column that had to be rounded so that it adds up is rounded alike everywhere. */
static void an_amount_prints_the_same_everywhere(void **state)
{
    struct program *p = *state;
    static const char *const names[] = {"Alpha", "Beta", "Gamma", "Epsilon", "Delta"};
    char amounts[5][32];
    make_uneven(p);
    program_does(p, WORDS("keep", "Uneven"));
    program_does(p, WORDS("show", "Uneven"));
    const size_t end = column_end(table_of(p), "parts");
    for (size_t i = 0; i < 5; i++) {
        const char *row = row_of(table_of(p), names[i]);
        size_t to = end, from;
        while (row[to - 1] == ' ') /* after the point they stand under each other */
            to--;
        for (from = to; row[from - 1] != ' ';)
            from--;
        snprintf(amounts[i], sizeof amounts[i], "%.*s", (int)(to - from), row + from);
    }
    assert_string_equal(amounts[3], "571.42"); /* so that 142.86 thrice and it make 1000 */
    assert_string_equal(amounts[4], "0.0012");
    const char *const *const ways[] = {
        WORDS("show", "Uneven/1"),
        WORDS("compare", "Uneven/1", "Uneven"),
        WORDS("export", "Uneven/1", "--as", "markdown"),
        WORDS("export", "Uneven/1", "--as", "html"),
        WORDS("export", "Uneven/1", "--as", "text"),
        WORDS("export", "Uneven/1", "Uneven", "--compare", "--as", "markdown")};
    for (size_t way = 0; way < sizeof ways / sizeof *ways; way++) {
        program_does(p, ways[way]);
        for (size_t i = 0; i < 5; i++)
            if (!row_has(row_of(p->out, names[i]), amounts[i]))
                fail_msg("way %zu has not %s of %s: %s", way, amounts[i], names[i], p->out);
    }
    /* And what changed is told so. */
    program_does(p, WORDS("set", "Uneven", "Epsilon", "400"));
    program_does(p, WORDS("compare", "Uneven/1", "Uneven"));
    assert_non_null(strstr(p->err, "Epsilon 571.42 -> 400"));
}

/* A number that is named for typing it again is the number. */
static void what_is_missing_is_told_exactly(void **state)
{
    struct program *p = *state;

    program_fill_shelf(p);
    program_does(p, WORDS("new", "Short"));
    program_does(p, WORDS("add", "Short", "Alpha", "987.4375"));
    program_refuses(p, "12.5625 parts short of its base of 1000", WORDS("keep", "Short"));
}

/* Common practice, no source: an amount below half a unit must not show as blank or nothing. */
static void traces_are_seen(void **state)
{
    struct program *p = *state;

    make_uneven(p);
    program_does(p, WORDS("show", "Uneven"));
    const char *line = strstr(p->out, "Delta");
    assert_non_null(line);
    const char *end = strchr(line, '\n');
    assert_non_null(end);
    char *row = pm_strndup(line, (size_t)(end - line));
    assert_non_null(strstr(row, "0.0012"));
    assert_non_null(strstr(row, "0.00000012")); /* neat, 0.01 % of it */
    assert_non_null(strstr(row, "0.00012"));    /* percent */
    assert_non_null(strstr(row, "0.01 %"));
    pm_free(row);
    program_asks(p, WORDS("show", "Uneven"));
    program_says(p, "$.lines[4].neat_parts", "0.00000012");
    program_says(p, "$.lines[4].percent", "0.00012");
}

static void spreadsheets_get_exact_numbers(void **state)
{
    struct program *p = *state;

    make_uneven(p);
    program_does(p, WORDS("show", "Uneven", "--csv"));
    assert_int_equal(strncmp(p->out, "line,material,accord,parts,", 27), 0);
    assert_non_null(strstr(p->out, "\r\n5,Delta,,0.0012,0.01,Carrier,0.00000012,0.00012,free,"));
    program_does(p, WORDS("material", "add", "Zeta, \"dry\""));
    program_does(p, WORDS("material", "list", "--csv"));
    assert_non_null(strstr(p->out, "\r\n\"Zeta, \"\"dry\"\"\",chemical,"));
}

/* JSON and CSV are the same everywhere, text has the person's decimal sign. */
static void locales_change_text_only(void **state)
{
    struct program *p = *state;

    make_uneven(p);
    const locale_t german = newlocale(LC_NUMERIC_MASK, "de_DE.UTF-8", (locale_t)0);
    setenv("LC_ALL", "de_DE.UTF-8", 1);
    program_does(p, WORDS("set", "Uneven", "Alpha", "12,5"));
    program_asks(p, WORDS("show", "Uneven"));
    program_says(p, "$.lines[0].parts", "12.5");
    program_does(p, WORDS("show", "Uneven"));
    setenv("LC_ALL", "C.UTF-8", 1);
    assert_non_null(strstr(p->out, german != (locale_t)0 ? " 12,5" : " 12.5"));
    if (german != (locale_t)0)
        freelocale(german);
}

static void materials_are_found_and_told(void **state)
{
    struct program *p = *state;

    program_does(p, WORDS("material", "add", "Ambr\u00e9ine", "--cas", "473-03-0", "--synonym",
                          "second name", "--synonym", "third name", "--family", "warm", "--note",
                          "my own words", "--kind", "natural"));
    program_asks(p, WORDS("material", "show", "third NAME"));
    program_says(p, "$.material", "\"Ambr\u00e9ine\"");
    program_says(p, "$.kind", "\"natural\"");
    program_says(p, "$.cas", "\"473-03-0\"");
    program_says(p, "$.synonyms", "[\"second name\",\"third name\"]");
    program_asks(p, WORDS("material", "list", "ambre"));
    program_says(p, "$.materials[0].material", "\"Ambr\u00e9ine\"");
    program_asks(p, WORDS("material", "list", "473-03"));
    assert_int_equal(program_count(p, "$.materials"), 1);
    program_does(p, WORDS("material", "edit", "473-03-0", "--name", "Other", "--note", "",
                          "--synonym", "only one"));
    program_asks(p, WORDS("material", "show", "other"));
    program_says(p, "$.note", "null");
    program_says(p, "$.synonyms", "[\"only one\"]");
    program_says(p, "$.family", "\"warm\"");
    program_does(p, WORDS("new", "F"));
    program_does(p, WORDS("add", "F", "Other", "1"));
    program_asks(p, WORDS("material", "remove", "Other"));
    program_says(p, "$.set_aside", "true");
    program_asks(p, WORDS("material", "list"));
    assert_int_equal(program_count(p, "$.materials"), 0);
    program_refuses(p, "set aside", WORDS("add", "F", "Other", "1"));
    program_does(p, WORDS("material", "back", "Other"));
    program_does(p, WORDS("material", "add", "Unused"));
    program_asks(p, WORDS("material", "remove", "Unused"));
    program_says(p, "$.set_aside", "false");
    program_asks(p, WORDS("material", "list", "--all"));
    assert_int_equal(program_count(p, "$.materials"), 1);
}

/* ---- 1,000 lines ---- */

#define LEAF_LINES 50
#define LEAVES     20

static void make_long(struct program *p)
{
    static const char *const names[] = {"Alpha", "Beta", "Gamma", "Delta", "Epsilon"};
    char parts[16];

    program_fill_shelf(p);
    program_does(p, WORDS("new", "Leaf", "--accord"));
    for (int i = 0; i < LEAF_LINES; i++) {
        snprintf(parts, sizeof parts, "%d", 1 + i % 17);
        if (i % 2 == 0)
            program_does(p, WORDS("add", "Leaf", names[i % 5], parts));
        else
            program_does(
                p, WORDS("add", "Leaf", names[i % 5], parts, "--at", "10%", "--in", "Carrier"));
    }
    program_does(p, WORDS("settle", "Leaf"));
    program_does(p, WORDS("keep", "Leaf"));
    program_does(p, WORDS("new", "Long"));
    for (int i = 0; i < LEAVES; i++) {
        snprintf(parts, sizeof parts, "%d.37", 40 + i);
        program_does(p, WORDS("add", "Long", "--accord", "Leaf/1", parts));
    }
    for (int i = 0; i < LEAVES; i++) {
        char place[16];
        snprintf(place, sizeof place, "#%d", i * LEAF_LINES + 1);
        program_does(p, WORDS("unfold", "Long", place));
    }
}

static void a_thousand_lines(void **state)
{
    struct program *p = *state;

    make_long(p);
    program_does(p, WORDS("settle", "Long"));
    program_asks(p, WORDS("set", "Long", "#777", "12.345678"));
    program_says(p, "$.lines", "1000");
    program_says(p, "$.total_parts", "1000");
    program_does(p, WORDS("show", "Long"));
    assert_int_equal(column_adds_up(table_of(p), "parts", 9), INT64_C(1000000000000));
    program_does(p, WORDS("show", "Long", "--flat"));
    assert_int_equal(column_adds_up(table_of(p), "%", 10), INT64_C(1000000000000));
    program_asks(p, WORDS("show", "Long", "--flat"));
    assert_int_equal(program_sum(p, "$.materials", "neat_parts", 12) +
                         program_sum(p, "$.materials", "as_solvent_parts", 12),
                     INT64_C(1000000000000000));
    program_does(p, WORDS("keep", "Long"));
    program_does(p, WORDS("base", "Long", "100"));
    program_does(p, WORDS("undo", "Long"));
    program_asks(p, WORDS("compare", "Long", "Long/1"));
    program_says(p, "$.lines[0].change", "\"same\"");
    program_does(p, WORDS("verify"));
}

int main(void)
{
#define job(test) cmocka_unit_test_setup_teardown(test, program_set_up, program_tear_down)
    const struct CMUnitTest tests[] = {
        job(printed_columns_add_up),   job(an_amount_prints_the_same_everywhere),
        job(traces_are_seen),          job(spreadsheets_get_exact_numbers),
        job(locales_change_text_only), job(materials_are_found_and_told),
        job(a_thousand_lines),         job(what_is_missing_is_told_exactly),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
