/* SPDX-License-Identifier: MIT */
/*
 * In and out by command: formulas as they are understood, the whole library there and back, and
 * what must not come in.
 */
#include "program.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static char *write_text(struct program *p, const char *name, const char *text, size_t length)
{
    char *path = program_path(p, name);
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(text, 1, length, file), length);
    assert_int_equal(fclose(file), 0);
    return path;
}

static void a_text_is_shown_and_comes_in(void **state)
{
    struct program *p = *state;
    static const char text[] = "Quay\nAlpha 60%\nBeta 10% in Carrier 30%\nWet rope 10%\n";
    program_fill_shelf(p);
    char *path = write_text(p, "quay.txt", text, sizeof text - 1);
    program_asks(p, WORDS("import", path, "--dry-run"));
    program_says(p, "$.formulas[0].formula", "\"Quay\"");
    program_says(p, "$.formulas[0].base_parts", "1000");
    program_says(p, "$.formulas[0].lines[0].text", "\"Alpha 60%\"");
    program_says(p, "$.formulas[0].lines[0].match", "\"exact\"");
    program_says(p, "$.formulas[0].lines[0].parts", "600");
    program_says(p, "$.formulas[0].lines[0].doubt", "null");
    program_says(p, "$.formulas[0].lines[1].strength_percent", "10");
    program_says(p, "$.formulas[0].lines[1].solvent", "\"Carrier\"");
    program_says(p, "$.formulas[0].lines[2].match", "\"new\"");
    program_asks(p, WORDS("formulas"));
    program_says(p, "$.formulas", "[]");
    program_does(p, WORDS("import", path));
    program_asks(p, WORDS("show", "Quay"));
    program_says(p, "$.total_parts", "1000");
    program_says(p, "$.lines[1].neat_parts", "30");
    program_does(p, WORDS("shelf", "undo"));
    program_asks(p, WORDS("formulas"));
    program_says(p, "$.formulas", "[]");
    program_does(p, WORDS("shelf", "redo"));
    program_does(p, WORDS("verify"));
    program_asks(p, WORDS("import", path, "--base", "100", "--dry-run"));
    program_says(p, "$.formulas[0].formula", "\"Quay 2\"");
    program_says(p, "$.formulas[0].lines[0].parts", "60");
    free(path);
}

/* What show tells of a formula is what import reads. */
static void a_formula_shown_as_json_comes_in(void **state)
{
    struct program *p = *state;
    program_fill_shelf(p);
    program_does(p, WORDS("new", "Heart"));
    program_does(p, WORDS("add", "Heart", "Alpha", "600"));
    program_does(p, WORDS("add", "Heart", "Beta", "250", "--at", "10%", "--in", "Carrier"));
    program_does(p, WORDS("add", "Heart", "Gamma", "150", "--held"));
    program_does(p, WORDS("core", "Heart", "Alpha", "Beta"));
    program_asks(p, WORDS("show", "Heart"));
    char *before = strdup(program_value(p, "$.lines"));
    char *path = write_text(p, "heart.json", p->out, p->out_length);
    program_does(p, WORDS("rename", "Heart", "Old heart"));
    program_does(p, WORDS("import", path));
    program_asks(p, WORDS("show", "Heart"));
    assert_string_equal(program_value(p, "$.lines"), before);
    free(before);
    free(path);
}

/* Everything there is, of every kind, into an empty file: the same library. */
static void the_whole_library_there_and_back(void **state)
{
    struct program *p = *state;
    struct program other = *p; /* its answers are its own from its first run on */
    other.out = other.err = NULL;
    program_fill_shelf(p);
    program_does(p, WORDS("new", "Heart"));
    program_does(p, WORDS("add", "Heart", "Alpha", "600"));
    program_does(p, WORDS("add", "Heart", "Beta", "400"));
    program_does(p, WORDS("keep", "Heart", "--note", "first \xC3\xA9t\xC3\xA9"));
    program_does(p, WORDS("set", "Heart", "Alpha", "610"));
    program_does(p, WORDS("undo", "Heart"));
    program_does(p, WORDS("bottle", "add", "Alpha", "10g", "--price", "20 EUR"));
    program_does(p, WORDS("smell", "Heart/1", "--at", "15min", "--intensity", "6"));
    program_does(p, WORDS("export", "--all"));
    char *path = write_text(p, "all.json", p->out, p->out_length);
    char *whole = strndup(p->out, p->out_length);

    other.library = program_path(p, "other.db");
    program_does(&other, WORDS("import", path));
    program_does(&other, WORDS("verify"));
    program_does(&other, WORDS("export", "--all"));
    assert_string_equal(other.out, whole);
    free(other.library);
    other.library = program_path(p, "from-file.db"); /* the file itself does as well */
    program_does(&other, WORDS("import", p->library));
    program_does(&other, WORDS("export", "--all"));
    assert_string_equal(other.out, whole);
    program_refuses(&other, "All of that library is here already.",
                    WORDS("import", path)); /* all of it is here */

    /* A copy that was changed by hand, or cut, does not come in at all. */
    char *number = strstr(whole, "\"parts\":600000000");
    assert_non_null(number);
    number[8] = '7';
    free(path);
    path = write_text(p, "false.json", whole, strlen(whole));
    free(other.library);
    other.library = program_path(p, "third.db");
    program_refuses(&other, "contradicts itself", WORDS("import", path));
    free(path);
    path = write_text(p, "cut.json", whole, strlen(whole) / 2);
    program_refuses(&other, "not JSON", WORDS("import", path));
    free(path);
    pm_free(other.out);
    pm_free(other.err);
    free(whole);
    free(other.library);
}

static void what_is_no_import(void **state)
{
    struct program *p = *state;
    program_fill_shelf(p);
    static const char newer[] =
        "{\"permille\":{\"document\":\"library\",\"version\":1,\"step\":9999},\"tables\":{}}";
    char *path = write_text(p, "newer.json", newer, sizeof newer - 1);
    program_refuses(p, "newer", WORDS("import", path));
    free(path);
    path = write_text(p, "nul.txt", "Alpha\0 3\n", 9);
    program_refuses(p, "Line 1", WORDS("import", path));
    free(path);
    path = write_text(p, "words.txt", "nothing here\n", 13);
    program_refuses(p, "No line", WORDS("import", path));
    char *folder = program_path(p, ".");
    program_refuses(p, "cannot be read: Is a directory", WORDS("import", folder));
    free(folder);
    program_refuses(p, "is this library itself", WORDS("import", p->library));
    program_misused(p, "--all", WORDS("export", "bottles", "--all"));
    free(path);
}

/* A formula leaves with its cores, what rests and what is held, and comes in as it was. */
static void formulas_there_and_back(void **state)
{
    static const char *const forms[] = {"json", "csv"};
    struct program *p = *state;
    program_fill_shelf(p);
    program_does(p, WORDS("new", "Root <b>", "--accord"));
    program_does(p, WORDS("add", "Root <b>", "Delta", "1000"));
    program_does(p, WORDS("keep", "Root <b>"));
    program_does(p, WORDS("new", "Heart"));
    program_does(p, WORDS("add", "Heart", "Alpha", "500"));
    program_does(p, WORDS("add", "Heart", "Beta", "250", "--at", "10%", "--in", "Carrier"));
    program_does(p, WORDS("add", "Heart", "Gamma", "150", "--held"));
    program_does(p, WORDS("add", "Heart", "--accord", "Root <b>/1", "100"));
    for (size_t i = 0; i < 2; i++) {
        program_does(p, WORDS("export", "Heart", "--as", forms[i]));
        char *path = write_text(p, forms[i], p->out, p->out_length);
        program_does(p, WORDS("rename", "Heart", i == 0 ? "First" : "Second"));
        program_does(p, WORDS("import", path));
        program_asks(p, WORDS("show", "Heart"));
        program_says(p, "$.total_parts", "1000");
        program_says(p, "$.lines[1].strength_percent", "10");
        program_says(p, "$.lines[1].neat_parts", "25");
        program_says(p, "$.lines[2].stance", i == 0 ? "\"held\"" : "\"free\"");
        program_says(p, "$.lines[3].parts", "100");
        program_says(p, "$.lines[3].accord", "\"Root <b>/1\"");
        free(path);
    }
    program_does(p, WORDS("core", "Heart", "Alpha", "Beta"));
    program_does(p, WORDS("rest", "Heart", "Gamma"));
    program_asks(p, WORDS("show", "Heart"));
    char *lines = strdup(program_value(p, "$.lines"));
    program_does(p, WORDS("export", "Heart"));
    char *path = write_text(p, "rest.json", p->out, p->out_length);
    program_does(p, WORDS("rename", "Heart", "Third"));
    program_does(p, WORDS("import", path));
    program_asks(p, WORDS("show", "Heart"));
    assert_string_equal(program_value(p, "$.lines"), lines);
    free(lines);
    free(path);
    static const char stranger[] = "{\"formulas\":[{\"formula\":\"Far\",\"lines\":[{\"accord\":"
                                   "\"Elsewhere/2\",\"parts\":5}]}]}";
    path = write_text(p, "far.json", stranger, sizeof stranger - 1);
    program_refuses(p, "no accord Elsewhere/2", WORDS("import", path));
    free(path);
    program_does(p, WORDS("export", "Heart", "--as", "html"));
    assert_non_null(strstr(p->out, "Root &lt;b&gt;/1"));
    assert_null(strstr(p->out, "<script"));
    assert_null(strstr(p->out, "http"));
    assert_non_null(strstr(p->out, "not approval"));
    program_does(p, WORDS("export", "Heart", "--as", "markdown"));
    assert_non_null(strstr(p->out, "Root \\<b\\>/1"));
    program_does(p, WORDS("export", "--formulas", "--as", "csv"));
    program_does(p, WORDS("export", "First", "Heart", "--compare"));
    program_misused(p, "two to", WORDS("export", "Heart", "--compare"));
    program_does(p, WORDS("verify"));
}

/* ---- pages ---- */

static bool is_void(const char *name, size_t length)
{
    return (length == 4 && strncmp(name, "meta", 4) == 0) ||
           (length == 8 && strncmp(name, "!DOCTYPE", 8) == 0);
}

/* Every tag that opens is closed, in order; attributes are quoted; nothing is fetched or run. */
static void assert_page(const char *html)
{
    const char *open[64];
    size_t lengths[64], depth = 0;
    assert_null(strstr(html, "<script"));
    assert_null(strstr(html, "http"));
    assert_null(strstr(html, "url("));
    for (const char *at = html; (at = strchr(at, '<')) != NULL; at++) {
        const char *end = strchr(at, '>'), *name = at + 1 + (at[1] == '/');
        assert_non_null(end);
        const size_t length =
            strspn(name, "!ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz123456");
        if (length == 0)
            fail_msg("a bare '<': %.40s", at);
        size_t quotes = 0;
        for (const char *c = at; c < end; c++)
            quotes += *c == '"';
        assert_int_equal(quotes % 2, 0);
        if (at[1] == '/') {
            if (depth == 0 || length != lengths[depth - 1] ||
                strncmp(name, open[depth - 1], length) != 0)
                fail_msg("closes what is not open: %.40s", at);
            depth--;
        } else if (end[-1] != '/' && !is_void(name, length)) {
            assert_true(depth < 64);
            open[depth] = name;
            lengths[depth++] = length;
        }
    }
    assert_int_equal(depth, 0);
}

/* A sheet of each kind: a page of HTML that stands alone, and Markdown; whatever a name holds stays
 * text. */
static void sheets_leave_as_pages(void **state)
{
    struct program *p = *state;
    program_fill_shelf(p);
    program_does(p, WORDS("material", "edit", "Alpha", "--name", "Al<b>\"pha&| *x*"));
    program_does(p, WORDS("new", "Quay <i>"));
    program_does(p, WORDS("add", "Quay <i>", "Al<b>\"pha&| *x*", "600"));
    program_does(p, WORDS("add", "Quay <i>", "Beta", "400"));
    program_does(p, WORDS("keep", "Quay <i>", "--note", "first </td> of <all>"));
    program_does(p, WORDS("set", "Quay <i>", "Beta", "300"));
    program_does(p, WORDS("keep", "Quay <i>"));
    program_does(p, WORDS("batch", "start", "Quay <i>/1", "20g", "--as-it-is"));
    const char *const sheets[][5] = {
        {"export", "Quay <i>/1", NULL},
        {"export", "Quay <i>/1", "--weigh", "20g", NULL},
        {"export", "1", "--record", NULL},
        {"export", "Quay <i>/1", "--label", NULL},
        {"export", "Quay <i>/1", "Quay <i>/2", "--compare", NULL},
        {"export", "materials", NULL},
        {"export", "shelf", NULL},
    };
    for (size_t i = 0; i < sizeof sheets / sizeof sheets[0]; i++) {
        const char *words[10];
        size_t count = 0;
        while (sheets[i][count] != NULL) {
            words[count] = sheets[i][count];
            count++;
        }
        words[count] = "--as";
        words[count + 1] = "html";
        words[count + 2] = NULL;
        program_does(p, words);
        assert_page(p->out);
        assert_non_null(strstr(p->out, "Al&lt;b&gt;&quot;pha&amp;| *x*"));
        assert_non_null(strstr(p->out, "font-size:10.0pt"));
        assert_int_equal(strstr(p->out, "<svg") != NULL, i < 5);
        words[count + 1] = "markdown";
        program_does(p, words);
        assert_null(strstr(p->out, "<"
                                   "b>"));
        assert_non_null(strstr(p->out, "Al\\<b\\>\"pha&\\| \\*x\\*"));
    }
    program_does(p, WORDS("weigh", "Quay <i>/1", "20g", "--print", "markdown"));
    assert_non_null(strstr(p->out, "# Weigh sheet: Quay"));
    program_misused(p, "One thing", WORDS("export", "1", "--record", "--label"));
    program_misused(p, "Sheets are HTML, Markdown or text",
                    WORDS("export", "1", "--record", "--as", "csv"));
    program_refuses(p, "one by one", WORDS("export", "shelf", "--as", "csv"));
}

/* What is much is set smaller; what a label is made from stands on a sheet of its own. */
static void sheets_fit_their_paper(void **state)
{
    struct program *p = *state;
    char note[6001], *turn;
    for (size_t i = 0; i < sizeof note - 1; i++)
        note[i] = i % 6 == 5 ? ' ' : 'a';
    note[sizeof note - 1] = '\0';
    program_fill_shelf(p);
    program_does(p, WORDS("new", "Quay"));
    program_does(p, WORDS("add", "Quay", "Alpha", "1000"));
    program_does(p, WORDS("keep", "Quay", "--note", note));
    program_does(p, WORDS("export", "Quay/1", "--as", "html"));
    assert_null(strstr(p->out, "font-size:10.0pt"));
    program_does(p, WORDS("export", "Quay/1", "--label"));
    turn = strstr(p->out, "class=\"turn\"");
    assert_non_null(turn);
    assert_true(strstr(p->out, "Label text") < turn);
    assert_non_null(strstr(turn, "Quay/1: limits"));
}

/* The shelf as JSON says what its CSV says. */
static void the_shelf_leaves_as_json(void **state)
{
    struct program *p = *state;
    program_fill_shelf(p);
    program_does(p, WORDS("bottle", "add", "Alpha", "50g", "--lot", "=1+1"));
    program_does(p, WORDS("export", "shelf", "--as", "json"));
    program_says(p, "$.materials[0].name", "\"Alpha\"");
    program_says(p, "$.bottles[0].lot", "\"=1+1\"");
    program_says(p, "$.movements[0].mass_g", "\"50\"");
    /* In a spreadsheet it would be worked out: there it stands behind an apostrophe. */
    program_does(p, WORDS("export", "bottles"));
    assert_non_null(strstr(p->out, ",'=1+1,"));
}

/* ---- what cannot be read ---- */

/* Each is one clear sentence that says where, and nothing comes in. */
static void bad_files_say_where(void **state)
{
    static const struct {
        const char *file, *bytes;
        size_t length;
        const char *sentence;
    } bad[] = {
#define BAD(file, bytes, sentence) {file, bytes, sizeof bytes - 1, sentence}
        BAD("utf8.txt", "Alpha 500\nBe\xFFta 3\n", "Line 2, column 3: the bytes are not UTF-8"),
        BAD("utf16.txt",
            "\xFF\xFE"
            "A\0 \0"
            "3\0",
            "Line 1, column 1: the bytes are not UTF-8 text, but"),
        BAD("nul.txt", "Alpha 500\nBe\0ta 3\n", "Line 2, column 3: a NUL byte stands in the text"),
        BAD("utf8.csv", "name,kind\nOne,chemical\nT\xC3(wo,chemical\n",
            "Line 3, column 2: the bytes are not UTF-8 text"),
        BAD("nul.csv", "name,kind\nO\0ne,chemical\n", "Line 2, column 2: a NUL byte"),
        BAD("return.csv", "name,kind\rOne,chemical\r",
            "Line 1, column 10: a carriage return stands alone"),
        BAD("quote.csv", "name,kind\nOne,\"chemical\nTwo,chemical\n",
            "Line 2, column 5: a quote opens here and is never closed"),
        BAD("parts.csv", "name,parts\nAlpha,3\n\"Beta,3\n",
            "Line 3, column 1: a quote opens here and is never closed"),
        BAD("column.csv", "name,kind,wind\nOne,chemical,3\n",
            "Line 1, column 3: there is no column"),
        BAD("wide.csv", "name,kind\nOne,chemical,3\n", "Line 2 has 3 fields, the header has 2"),
        BAD("late.csv", "name,kind\nOne,chemical\nTwo,gaseous\n", "Line 3, column 2 (kind)"),
        BAD("utf8.json", "{\"formulas\":[{\"formula\":\"Q\xFF\"}]}", "Line 1, column"),
        BAD("nul.json", "{\"formulas\":[{\"formula\":\"Q\0\"}]}", "Line 1, column"),
        BAD("escape.txt", "Sea\nAlpha 10\n\x1B[31mBeta 5\n", "Line 3: The material's name holds"),
        BAD("comma.json", "{\"formulas\":[\n{\"formula\":\"Q\",}]}", "Line 2, column 16"),
        BAD("huge.json", "{\"formulas\":[{\"formula\":\"Q\",\"lines\":[{\"parts\":1e999}]}]}",
            "Line 1, column"),
        BAD("newer.json",
            "{\"permille\":{\"document\":\"library\",\"version\":99,\"step\":3},\"tables\":{}}",
            "newer version"),
#undef BAD
    };
    struct program *p = *state;
    program_fill_shelf(p);
    program_does(p, WORDS("export", "--all"));
    char *before = strdup(p->out);
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        char *path = write_text(p, bad[i].file, bad[i].bytes, bad[i].length);
        program_refuses(p, bad[i].sentence, WORDS("import", path));
        free(path);
    }
    struct pm_text endless = PM_TEXT_EMPTY;
    pm_text_add(&endless, "formula,material,parts\nQ,Alpha,1\nQ,");
    for (int i = 0; i < 1000; i++)
        pm_text_add(&endless, "long name ");
    pm_text_add(&endless, ",3\n");
    char *longer = write_text(p, "long.csv", pm_text_get(&endless), endless.length);
    program_refuses(p, "Line 3: The material's name is too long", WORDS("import", longer));
    pm_text_release(&endless);
    free(longer);
    char deep[20100] = "{\"formulas\":";
    memset(deep + strlen(deep), '[', 10000);
    memset(deep + strlen(deep), ']', 10000);
    char *path = write_text(p, "deep.json", deep, strlen(deep));
    program_refuses(p, "Line 1, column", WORDS("import", path));
    free(path);
    program_does(p, WORDS("export", "--all"));
    assert_string_equal(p->out, before);
    free(before);
}

/* A byte order mark and line ends of both kinds are read over. */
static void marks_and_line_ends_are_read_over(void **state)
{
    static const char *const good[] = {
        "\xEF\xBB\xBF"
        "name,kind\r\nOne,chemical\nTwo,chemical\r\n",
        "\xEF\xBB\xBF"
        "Hedge\r\nAlpha 500\nBeta 300\rGamma 200\n",
        "\xEF\xBB\xBF"
        "{\"formulas\":[{\"formula\":\"Quay\",\"lines\":[{\"material\":\"Alpha\",\"parts\":5}]}]}",
    };
    struct program *p = *state;
    program_fill_shelf(p);
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        char *path = write_text(p, "good", good[i], strlen(good[i]));
        program_does(p, WORDS("import", path));
        free(path);
    }
    program_asks(p, WORDS("show", "Hedge"));
    program_says(p, "$.total_parts", "1000");
    program_asks(p, WORDS("material", "show", "Two"));
    program_asks(p, WORDS("show", "Quay"));
}

#define PROGRAM(test) cmocka_unit_test_setup_teardown(test, program_set_up, program_tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PROGRAM(a_text_is_shown_and_comes_in),
        PROGRAM(a_formula_shown_as_json_comes_in),
        PROGRAM(the_whole_library_there_and_back),
        PROGRAM(formulas_there_and_back),
        PROGRAM(bad_files_say_where),
        PROGRAM(marks_and_line_ends_are_read_over),
        PROGRAM(sheets_leave_as_pages),
        PROGRAM(sheets_fit_their_paper),
        PROGRAM(the_shelf_leaves_as_json),
        PROGRAM(what_is_no_import),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
