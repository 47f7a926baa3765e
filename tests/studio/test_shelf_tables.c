/* SPDX-License-Identifier: MIT */
/* Tables of the shelf shown before they come in: tried, put right, left out, brought in, taken
 * back. */
#include "hand.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/studio/bottles.h"
#include "permille/studio/shelf_tables.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* "line|name|outcome|what changes or why not", one row below the other. */
static void rows_are(const struct pm_shelf_tables *tables, const char *expected)
{
    static const char *const words[] = {"new", "changed", "same"};
    struct pm_text said = PM_TEXT_EMPTY;
    for (size_t i = 0; i < tables->row_count; i++) {
        const struct pm_brought_row *row = &tables->rows[i];
        pm_text_addf(&said, "%zu|%s|%s", row->line, row->name,
                     row->left_out        ? "out"
                     : row->fault != NULL ? "fault"
                                          : words[row->outcome]);
        if (row->fault != NULL || row->changes != NULL)
            pm_text_addf(&said, "|%s", row->fault != NULL ? row->fault : row->changes);
        pm_text_add_char(&said, '\n');
    }
    assert_string_equal(pm_text_get(&said), expected);
    pm_text_release(&said);
}

static struct pm_shelf_tables read_in(struct hand *hand, const char *text)
{
    struct pm_shelf_tables tables;
    hand_ok(hand, pm_shelf_tables_read(hand->studio, text, strlen(text), &tables, &hand->err));
    return tables;
}

/* From a spreadsheet: tabs, headings as screens call things, columns nobody here knows, rows that
 * end early or late, two faults. */
static void put_right_and_brought_in(void **state)
{
    struct hand *hand = *state;
    struct pm_import_result result;
    hand_material(hand, "Cedrol");
    struct pm_shelf_tables tables = read_in(hand, "Name\tCAS number\tkind\tfamily\tshop\t\n"
                                                  "Ambrette\t8015-62-1\tnatural\tseed\tthe corner\n"
                                                  "Cedrol\t\t\twood\t\t\n"
                                                  "\t\t\t\t\t\n"
                                                  "Vetiver\t8016-96-3\tnatural\troot\n"
                                                  "Moss\t\tplant\n");
    rows_are(&tables,
             "2|Ambrette|new\n3|Cedrol|changed|family\n"
             "5|Vetiver|fault|CAS number 8016-96-3: the check digit should be 4, so a digit "
             "is wrong.\n"
             "6|Moss|fault|kind: \"plant\" is none of chemical, natural, solvent or blend.\n");
    assert_string_equal(tables.ignored, "shop");
    assert_int_equal(tables.rows[2].fault_column, 2);
    assert_int_equal(tables.rows[3].fault_column, 3);
    assert_int_equal(tables.faults, 2);
    assert_int_equal(tables.fresh, 1);
    assert_int_equal(tables.changed, 1);
    hand_refused(hand, pm_shelf_tables_commit(hand->studio, &tables, &result, &hand->err),
                 PM_REFUSED, "Vetiver (line 5) cannot come in");
    assert_false(hand_on_shelf(hand, "Ambrette"));

    const char *cells[6] = {[1] = "8016-96-4"};
    hand_ok(hand, pm_shelf_tables_set(hand->studio, &tables, 2, cells, &hand->err));
    hand_ok(hand, pm_shelf_tables_leave(hand->studio, &tables, 3, &hand->err));
    rows_are(&tables, "2|Ambrette|new\n3|Cedrol|changed|family\n5|Vetiver|new\n6|Moss|out\n");
    hand_ok(hand, pm_shelf_tables_commit(hand->studio, &tables, &result, &hand->err));
    assert_int_equal(result.added, 2);
    assert_int_equal(result.updated, 1);
    assert_true(hand_on_shelf(hand, "8016-96-4"));
    assert_false(hand_on_shelf(hand, "Moss"));
    /* The library holds them now. */
    hand_ok(hand, pm_shelf_tables_try(hand->studio, &tables, &hand->err));
    rows_are(&tables, "2|Ambrette|same\n3|Cedrol|same\n5|Vetiver|same\n6|Moss|out\n");
    pm_shelf_tables_release(&tables);
    hand_ok(hand, pm_shelf_undo(hand->studio, NULL, &hand->err));
    assert_false(hand_on_shelf(hand, "Vetiver"));
    hand_ok(hand, pm_studio_verify(hand->studio, NULL, NULL, &hand->err));
}

/* Rows that need each other: a bottle of a material further up, which is left out. */
static void rows_need_each_other(void **state)
{
    struct hand *hand = *state;
    struct pm_import_result result;
    struct pm_shelf_tables tables = read_in(
        hand, "{\"bottles\":[{\"material\":\"Fog\",\"received\":\"3 g\"},{\"material\":\"Fog\","
              "\"made_from\":\"B001\"}],\"materials\":[{\"name\":\"Fog\",\"density\":0.9}]}");
    rows_are(&tables, "1|Fog|new\n1|B001|new\n2|B002|new\n");
    hand_ok(hand, pm_shelf_tables_leave(hand->studio, &tables, 1, &hand->err));
    rows_are(
        &tables,
        "1|Fog|new\n1|Fog|out\n2|Fog|fault|made_from: Bottle B001 cannot be made from itself.\n");
    hand_ok(hand, pm_shelf_tables_leave(hand->studio, &tables, 1, &hand->err));
    hand_ok(hand, pm_shelf_tables_leave(hand->studio, &tables, 0, &hand->err));
    assert_int_equal(tables.faults, 2);
    hand_ok(hand, pm_shelf_tables_leave(hand->studio, &tables, 0, &hand->err));
    hand_ok(hand, pm_shelf_tables_commit(hand->studio, &tables, &result, &hand->err));
    assert_int_equal(result.added, 3);
    for (size_t i = 0; i < 3; i++)
        hand_ok(hand, pm_shelf_tables_leave(hand->studio, &tables, i, &hand->err));
    hand_refused(hand, pm_shelf_tables_commit(hand->studio, &tables, &result, &hand->err),
                 PM_REFUSED, "Nothing is left");
    pm_shelf_tables_release(&tables);
}

/* The same material twice: the row says where it stands already, left out or with a fault it does
 * not count; what the library held before stands in no line. Columns between are not known. */
static void one_material_in_two_rows(void **state)
{
    struct hand *hand = *state;
    hand_material(hand, "Cedrol");
    struct pm_shelf_tables tables = read_in(hand, "shop,name,colour,synonyms,cas\n"
                                                  "x,Ambrette,red,Musk seed,1-1-1\n"
                                                  "x,Ambrette,red,Musk seed,\n"
                                                  "x,Cedrol,red,,\n"
                                                  "x,musk seed,red,,8015-62-1\n"
                                                  "x,Ambrette,red,,\n");
    const size_t after[] = {0, 0, 0, 3, 3};
    for (size_t i = 0; i < 5; i++)
        assert_int_equal(tables.rows[i].after, after[i]);
    assert_int_equal(tables.rows[0].fault_column, 5);
    assert_int_equal(tables.rows[3].outcome, PM_IMPORT_CHANGED);
    assert_int_equal(tables.rows[4].outcome, PM_IMPORT_SAME);
    hand_ok(hand, pm_shelf_tables_leave(hand->studio, &tables, 1, &hand->err));
    assert_int_equal(tables.rows[3].after, 0);
    assert_int_equal(tables.rows[4].after, 0);
    pm_shelf_tables_release(&tables);
}

static void more_faults_than_are_looked_for(void **state)
{
    struct hand *hand = *state;
    struct pm_import_result result;
    struct pm_text text = PM_TEXT_EMPTY;
    pm_text_add(&text, "name,kind\n");
    for (int i = 0; i < 30; i++)
        pm_text_addf(&text, "Note %d,plant\n", i);
    struct pm_shelf_tables tables = read_in(hand, pm_text_get(&text));
    assert_int_equal(tables.faults, 20);
    assert_true(tables.more_faults);
    hand_refused(hand, pm_shelf_tables_commit(hand->studio, &tables, &result, &hand->err),
                 PM_REFUSED, "Note 0");
    for (size_t i = 0; i < 20; i++)
        tables.rows[i].left_out = true;
    hand_ok(hand, pm_shelf_tables_try(hand->studio, &tables, &hand->err));
    assert_int_equal(tables.faults, 10);
    assert_false(tables.more_faults);
    pm_shelf_tables_release(&tables);
    pm_text_release(&text);
}

/* Sentences say where a row stands in what the person has before them: behind empty lines and what
 * is left out, and in a document counted, whatever its texts hold. */
static void places_are_the_persons(void **state)
{
    struct hand *hand = *state;
    struct pm_import_result result;
    const int64_t cedrol = hand_material(hand, "Cedrol");
    const char *names[PM_MATERIAL_ATTRIBUTES] = {[PM_MATERIAL_NAME] = "Cedrol crystals"};
    struct pm_shelf_tables tables =
        read_in(hand, "material,received\n\nCedrol,5 g\nMoss,1 g\nCedrol,7 g\n");
    rows_are(&tables,
             "3|B001|new\n4|Moss|fault|material: There is no material \"Moss\".\n5|B002|new\n");
    hand_ok(hand, pm_shelf_tables_leave(hand->studio, &tables, 0, &hand->err));
    hand_ok(hand, pm_shelf_tables_leave(hand->studio, &tables, 1, &hand->err));
    hand_ok(hand, pm_shelf_edit(hand->studio, cedrol, names, &hand->err));
    hand_refused(hand, pm_shelf_tables_commit(hand->studio, &tables, &result, &hand->err),
                 PM_MISSING, "Line 5, column 1 (material): There is no material");
    pm_shelf_tables_release(&tables);

    static const char document[] = "{\"materials\":[{\"name\":\"Ambrette\",\"note\":\"one\\ntwo\"},"
                                   "{\"name\":\"Moss\",\"cas\":\"106-22-8\"}]}";
    hand_refused(hand,
                 pm_shelf_import(hand->studio, document, strlen(document), &result, &hand->err),
                 PM_INVALID, "Row 2 of the materials, column 3 (cas): CAS number 106-22-8");
    tables = read_in(hand, document);
    assert_int_equal(tables.rows[1].line, 2);
    assert_non_null(strstr(tables.rows[1].fault, "check digit"));
    pm_shelf_tables_release(&tables);
}

/* A bottle made from another is looked at again when all are there; the table behind goes on where
 * that one ended. */
static void tables_behind_bottles_made_from_others(void **state)
{
    struct hand *hand = *state;
    hand_material(hand, "Cedrol");
    struct pm_shelf_tables tables = read_in(
        hand, "{\"bottles\":[{\"bottle\":\"B002\",\"material\":\"Cedrol\",\"made_from\":\"B001\"},"
              "{\"bottle\":\"B001\",\"material\":\"Cedrol\",\"received\":\"5 g\"}],"
              "\"movements\":[{\"bottle\":\"B001\",\"kind\":\"spilled\",\"mass\":\"1 g\"},"
              "{\"bottle\":\"B001\",\"kind\":\"drunk\",\"mass\":\"1 g\"}]}");
    assert_int_equal(tables.row_count, 4);
    assert_int_equal(tables.faults, 1);
    assert_non_null(tables.rows[3].fault);
    pm_shelf_tables_release(&tables);
}

/* As spreadsheets and JSON write yes and no; what is neither puts no bottle out of sight. */
static void only_yes_sets_aside(void **state)
{
    struct hand *hand = *state;
    struct pm_import_result result;
    struct pm_bottles bottles;
    hand_material(hand, "Cedrol");
    struct pm_shelf_tables tables =
        read_in(hand, "{\"bottles\":[{\"material\":\"Cedrol\",\"set_aside\":false},"
                      "{\"material\":\"Cedrol\",\"set_aside\":\"No\"},"
                      "{\"material\":\"Cedrol\",\"set_aside\":true},"
                      "{\"material\":\"Cedrol\",\"set_aside\":\"0\"}]}");
    assert_int_equal(tables.faults, 1);
    assert_non_null(strstr(tables.rows[3].fault, "neither yes nor no"));
    hand_ok(hand, pm_shelf_tables_leave(hand->studio, &tables, 3, &hand->err));
    hand_ok(hand, pm_shelf_tables_commit(hand->studio, &tables, &result, &hand->err));
    assert_int_equal(result.added, 3);
    hand_ok(hand, pm_bottles_list(hand->studio, &(struct pm_bottle_filter){.material = 0}, &bottles,
                                  &hand->err));
    assert_int_equal(bottles.count, 2);
    pm_list_release(&bottles);
    pm_shelf_tables_release(&tables);
}

static void refuses(struct hand *hand, const char *text, const char *piece)
{
    struct pm_shelf_tables tables;
    assert_int_not_equal(
        pm_shelf_tables_read(hand->studio, text, strlen(text), &tables, &hand->err), PM_OK);
    if (strstr(hand->err.text, piece) == NULL)
        fail_msg("%s", hand->err.text);
}

static void what_is_no_table(void **state)
{
    struct hand *hand = *state;
    refuses(hand, "colour\ngreen\n", "no table of materials");
    refuses(hand, "", "empty");
    refuses(hand, "name\n", "no row");
    refuses(hand, "name\nA,B\n", "Line 2 has 2 fields, the header has 1");
    refuses(hand, "name\n\"A\n", "Line 2");
    refuses(hand, "name\nA\xFF\n", "Line 2");
    refuses(hand, "{\"materials\":[}", "Line 1, column");
    struct pm_text text = PM_TEXT_EMPTY; /* each row with a column of its own */
    for (int i = 0; i < 100; i++)
        pm_text_addf(&text, "%s{\"a%d\":1}", i == 0 ? "{\"materials\":[" : ",", i);
    pm_text_add(&text, "]}");
    refuses(hand, pm_text_get(&text), "Row 65 of the materials");
    pm_text_release(&text);
}

/* Whatever request for memory fails: an error, and all as before. */
static void memory_runs_out(void **state)
{
    struct hand *hand = *state;
    static const char text[] = "name,cas,shop,\nAmbrette,8015-62-1,,x\nMoss,,,y\n";
    struct pm_shelf_tables tables;
    long at = 1;
    enum pm_status status = PM_NOMEM;
    for (; status == PM_NOMEM && at < 100000; at++) {
        pm_mem_fail_at(at, false);
        status = pm_shelf_tables_read(hand->studio, text, sizeof text - 1, &tables, &hand->err);
        pm_mem_fail_at(0, false);
    }
    hand_ok(hand, status);
    assert_true(at > 20);
    rows_are(&tables, "2|Ambrette|new\n3|Moss|new\n");
    assert_string_equal(tables.ignored, "column 4");
    status = PM_NOMEM;
    for (at = 1; status == PM_NOMEM && at < 100000; at++) {
        pm_mem_fail_at(at, false);
        status = pm_shelf_tables_leave(hand->studio, &tables, 1, &hand->err);
        pm_mem_fail_at(0, false);
        assert_int_equal(tables.rows[1].left_out, status == PM_OK);
        rows_are(&tables,
                 status == PM_OK ? "2|Ambrette|new\n3|Moss|out\n" : "2|Ambrette|new\n3|Moss|new\n");
        assert_int_equal(tables.fresh, status == PM_OK ? 1 : 2);
    }
    pm_shelf_tables_release(&tables);
    assert_false(hand_on_shelf(hand, "Ambrette"));
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, hand_setup, hand_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(put_right_and_brought_in), TEST(rows_need_each_other),
        TEST(one_material_in_two_rows), TEST(more_faults_than_are_looked_for),
        TEST(places_are_the_persons),   TEST(tables_behind_bottles_made_from_others),
        TEST(only_yes_sets_aside),      TEST(what_is_no_table),
        TEST(memory_runs_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
