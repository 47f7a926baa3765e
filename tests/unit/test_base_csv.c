/* SPDX-License-Identifier: MIT */
/* Comma-separated values. Rule numbers are those of RFC 4180, section 2. */
#include "permille/base/csv.h"
#include "permille/base/mem.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* Everything read, as "[a|b][c]". */
static void reads_as(const char *data, const char *wanted)
{
    struct pm_text all = PM_TEXT_EMPTY;
    struct pm_error err;
    struct pm_csv csv;
    bool more = true;

    pm_csv_init(&csv, data, strlen(data));
    for (;;) {
        if (pm_csv_next(&csv, &more, &err) != PM_OK)
            fail_msg("%s", err.text);
        if (!more)
            break;
        for (size_t i = 0; i < csv.count; i++)
            pm_text_addf(&all, "%s%s", i ? "|" : "[", csv.fields[i]);
        pm_text_add(&all, "]");
    }
    assert_string_equal(pm_text_get(&all), wanted);
    assert_int_equal(pm_csv_next(&csv, &more, &err), PM_OK); /* the end stays the end */
    assert_false(more);
    pm_csv_release(&csv);
    pm_text_release(&all);
}

static void refused(const char *data, size_t length, const char *words)
{
    struct pm_error err;
    struct pm_csv csv;
    enum pm_status status;
    bool more = true;

    pm_csv_init(&csv, data, length);
    while ((status = pm_csv_next(&csv, &more, &err)) == PM_OK && more)
        continue;
    assert_int_equal(status, PM_INVALID);
    assert_int_equal(csv.count, 0);
    if (strstr(err.text, words) == NULL)
        fail_msg("said: %s", err.text);
    assert_int_equal(pm_csv_next(&csv, &more, &err), PM_INVALID); /* it does not skip the record */
    pm_csv_release(&csv);
}

static void rules(void **state)
{
    (void)state;
    reads_as("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", "[aaa|bbb|ccc][zzz|yyy|xxx]"); /* 1 */
    reads_as("aaa,bbb,ccc\r\nzzz,yyy,xxx", "[aaa|bbb|ccc][zzz|yyy|xxx]");     /* 2 */
    reads_as("a, b ,c", "[a| b |c]");                                         /* 4: spaces stay */
    reads_as("\"aaa\",\"bbb\"\r\nzzz,yyy", "[aaa|bbb][zzz|yyy]");             /* 5 */
    reads_as("\"aaa\",\"b\r\nb,b\",\"c\"", "[aaa|b\r\nb,b|c]");               /* 6 */
    reads_as("\"aaa\",\"b\"\"bb\"", "[aaa|b\"bb]");                           /* 7 */
}

static void beyond_the_rules(void **state)
{
    (void)state;
    reads_as("", "");
    reads_as("# from a sheet, 2026\na;b\n#c;d\n", "[a|b][#c|d]");
    reads_as("\xEF\xBB\xBF#\r\na,b", "[a|b]");
    reads_as("#,a\n1,b\n", "[#|a][1|b]"); /* a column of numbers */
    reads_as("\"#\"\n1\n", "[#][1]");
    reads_as("# nothing else", "");
    reads_as("\n\r\n\n", "");
    reads_as("a,b\nc,d\n", "[a|b][c|d]");
    reads_as("a,b\n\n\r\nc,d", "[a|b][c|d]");
    reads_as(",\n", "[|]");
    reads_as("a,\n", "[a|]");
    reads_as("a,", "[a|]");
    reads_as("\"\"\n\"\"", "[][]");
    reads_as("\xef\xbb\xbf"
             "a,b",
             "[a|b]");
    reads_as("a;b\n1,5;2", "[a|b][1,5|2]");
    reads_as("\n\na;b", "[a|b]");
    reads_as("a\tb\n1,5\t2", "[a|b][1,5|2]");
    reads_as("a;b, in g;c\n", "[a|b, in g|c]"); /* what there is most of */
    reads_as("a;b,c\n", "[a;b|c]");
    reads_as("\"a,\";b\n", "[a,|b]"); /* a comma in quotes does not count */
    reads_as("\"a;b\"\n1,2", "[a;b][1|2]");
    reads_as("\xe9\xa6\x99,\xc3\xa9", "[\xe9\xa6\x99|\xc3\xa9]");
}

static void refusals(void **state)
{
    (void)state;
    refused("a,b\nc,d\"e\n", 10, "Line 2, column 4");
    refused("a,\"b\"c\n", 7, "Line 1, column 6");
    refused("a\n\n\"open\nand on", 15, "Line 3, column 1");
    refused("a,\xff\n", 4, "Line 1, column 3");
    refused("\"\xc3\xa9\xc3\xa9\",\xc3", 8, "Line 1, column 6"); /* characters, not bytes */
    refused("a,b\0c", 5, "Line 1, column 4");
    refused("a\rb", 3, "Line 1, column 2");
    refused("a,\"x\ny\"z\n", 9, "Line 2, column 3");
}

static void lines_and_columns(void **state)
{
    static const char data[] = "\nName,Pr\xc3\xa9"
                               "fix, CAS number \n\"a\nb\",1,2\n\nc,3,4\n";
    struct pm_error err;
    struct pm_csv csv;
    bool more;

    (void)state;
    pm_csv_init(&csv, data, sizeof data - 1);
    assert_int_equal(pm_csv_next(&csv, &more, &err), PM_OK);
    assert_int_equal(csv.line, 2);
    assert_int_equal(pm_csv_column(&csv, "name"), 0);
    assert_int_equal(pm_csv_column(&csv, "PREFIX"), 1);
    assert_int_equal(pm_csv_column(&csv, "cas number"), 2);
    assert_int_equal(pm_csv_column(&csv, "cas"), -1);
    assert_int_equal(pm_csv_next(&csv, &more, &err), PM_OK);
    assert_int_equal(csv.line, 3);
    assert_string_equal(csv.fields[0], "a\nb");
    assert_int_equal(pm_csv_next(&csv, &more, &err), PM_OK);
    assert_int_equal(csv.line, 6);
    assert_string_equal(csv.fields[0], "c");
    pm_csv_release(&csv);
}

static void writing(void **state)
{
    struct pm_text out = PM_TEXT_EMPTY;

    (void)state;
    pm_csv_field(&out, "plain", true);
    pm_csv_field(&out, "with, comma", false);
    pm_csv_field(&out, "say \"so\"", false);
    pm_csv_field(&out, "two\nlines", false);
    pm_csv_field(&out, "", false);
    pm_csv_end(&out);
    assert_string_equal(pm_text_get(&out),
                        "plain,\"with, comma\",\"say \"\"so\"\"\",\"two\nlines\",\r\n");
    pm_text_release(&out);
}

/* A spreadsheet must not run what stands in a name; numbers stay numbers. */
static void formulas_are_written_as_text(void **state)
{
    static const char *const fields[] = {"=1+1", "+A1", "@A1", "-A1", "-5.25", "+3", "'=1", "\t=1"};
    struct pm_text out = PM_TEXT_EMPTY;

    (void)state;
    for (size_t i = 0; i < sizeof fields / sizeof fields[0]; i++)
        pm_csv_field(&out, fields[i], i == 0);
    assert_string_equal(pm_text_get(&out), "'=1+1,'+A1,'@A1,'-A1,-5.25,+3,''=1,\"'\t=1\"");
    pm_text_clear(&out);
    pm_csv_field(&out, "=1,2", true);
    assert_string_equal(pm_text_get(&out), "\"'=1,2\"");
    pm_text_release(&out);
}

/* Whatever is written is read back the same: random fields of the characters that matter. */
static void round_trip(void **state)
{
    static const char *const pieces[] = {
        "a", ",", ";", "\"", "\r", "\n", " ", "\xc3\xa9", "\xf0\x9f\x8c\xb9", "\xef\xbb\xbf",
        "'", "=", "-", "+",  "@",  "\t", "5", "#"};
    uint64_t random = 2463534242;

    (void)state;
    for (int round = 0; round < 2000; round++) {
        char fields[20][40];
        size_t columns = 1 + (size_t)round % 4;
        struct pm_text out = PM_TEXT_EMPTY;
        struct pm_csv csv;
        bool more;
        for (size_t i = 0; i < 4 * columns; i++) {
            random = random * 6364136223846793005U + 1442695040888963407U;
            fields[i][0] = '\0';
            for (uint64_t k = (random >> 40) % 7; k > 0; k--) {
                random = random * 6364136223846793005U + 1442695040888963407U;
                strcat(fields[i], pieces[(random >> 40) % (sizeof pieces / sizeof pieces[0])]);
            }
            pm_csv_field(&out, fields[i], i % columns == 0);
            if (i % columns == columns - 1)
                pm_csv_end(&out);
        }
        pm_csv_init(&csv, pm_text_get(&out), out.length);
        for (size_t i = 0; i < 4 * columns; i++) {
            if (i % columns == 0)
                assert_int_equal(pm_csv_next(&csv, &more, NULL), PM_OK);
            assert_true(more);
            assert_int_equal(csv.count, columns);
            assert_string_equal(csv.fields[i % columns], fields[i]);
        }
        assert_int_equal(pm_csv_next(&csv, &more, NULL), PM_OK);
        assert_false(more);
        pm_csv_release(&csv);
        pm_text_release(&out);
    }
}

/* When memory runs out the record can be read again as if nothing had happened. */
static void memory_faults(void **state)
{
    static const char data[] =
        "a,b,c,d,e,f,g,h,i,j\r\n\"a field that is longer than what the buffer begins with\",x\r\n";
    long met = 0;

    (void)state;
    for (long n = 1; n < 100; n++) {
        struct pm_error err;
        struct pm_csv csv;
        bool more = true;
        long records = 0, lost = 0;
        pm_csv_init(&csv, data, sizeof data - 1);
        pm_mem_fail_at(n, false);
        while (more) {
            enum pm_status status = pm_csv_next(&csv, &more, &err);
            if (status == PM_NOMEM) {
                lost++;
                assert_int_equal(csv.count, 0);
                continue;
            }
            assert_int_equal(status, PM_OK);
            records += more;
            if (more)
                assert_int_equal(csv.count, records == 1 ? 10 : 2);
        }
        bool fault = pm_mem_fail_at(0, false) >= n;
        assert_int_equal(records, 2);
        assert_int_equal(lost, fault);
        pm_csv_release(&csv);
        met += fault;
        if (!fault)
            break;
    }
    assert_true(met >= 3 && met < 99);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rules),      cmocka_unit_test(beyond_the_rules),
        cmocka_unit_test(refusals),   cmocka_unit_test(lines_and_columns),
        cmocka_unit_test(writing),    cmocka_unit_test(formulas_are_written_as_text),
        cmocka_unit_test(round_trip), cmocka_unit_test(memory_faults),
    };

    return cmocka_run_group_tests_name("base: comma-separated values", tests, NULL, NULL);
}
