/* SPDX-License-Identifier: MIT */
/*
 * The whole library as a JSON document and back. SQLite compares the two files table by table, and
 * its own JSON functions read the document; neither knows anything of ours. Every table of the
 * schema is there but those that are made from others: a later step that adds one is caught here
 * when the document does not carry it.
 */
#include "src/store/embedded.h"
#include "src/store/store.h"
#include "tests/store/world.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/store/ceilings.h"
#include "permille/store/document.h"
#include "permille/store/shelf.h"
#include "permille/store/weighed.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static struct pm_text write_out(struct world *world)
{
    struct pm_text text = PM_TEXT_EMPTY;
    struct pm_error err;
    if (pm_library_write_document(world->library, &text, &err) != PM_OK)
        fail_msg("%s", err.text);
    return text;
}

static enum pm_status read_in(struct pm_library *library, const char *text, struct pm_error *err)
{
    struct pm_json_value *document = NULL;
    enum pm_status status = pm_json_read(text, strlen(text), &document, err);
    if (status == PM_OK)
        status = pm_library_read_document(library, document, err);
    pm_json_free(document);
    return status;
}

static int64_t ask(sqlite3 *db, const char *sql)
{
    sqlite3_stmt *row = NULL;
    if (sqlite3_prepare_v2(db, sql, -1, &row, NULL) != SQLITE_OK)
        fail_msg("%s: %s", sql, sqlite3_errmsg(db));
    const int64_t answer = sqlite3_step(row) == SQLITE_ROW ? sqlite3_column_int64(row, 0) : -1;
    sqlite3_finalize(row);
    return answer;
}

static bool is_made_from_others(const char *table)
{
    return strcmp(table, "library") == 0 || strcmp(table, "material_search") == 0;
}

/* Rows of the table that the other file has not, in both directions, and whether the document knows
 * the table. */
static void compare_table(sqlite3 *db, const char *table, bool search_too)
{
    char sql[400];
    snprintf(sql, sizeof sql,
             "SELECT (SELECT count(*) FROM (SELECT * FROM main.\"%s\" EXCEPT SELECT * FROM "
             "copy.\"%s\")) + (SELECT count(*) FROM (SELECT * FROM copy.\"%s\" EXCEPT SELECT * "
             "FROM main.\"%s\"))",
             table, table, table, table);
    if (search_too || !is_made_from_others(table)) {
        if (ask(db, sql) != 0)
            fail_msg("table %s came in otherwise", table);
    }
    snprintf(sql, sizeof sql,
             "SELECT json_type(d.text, '$.tables.%s') = 'array' AND "
             "json_array_length(d.text, '$.tables.%s') = (SELECT count(*) FROM main.\"%s\") "
             "FROM document AS d",
             table, table, table);
    if (!is_made_from_others(table) && ask(db, sql) != 1)
        fail_msg("table %s of the schema is not in the document", table);
}

static void compare(const char *path, const char *copy, const char *text)
{
    sqlite3 *db = NULL;
    sqlite3_stmt *tables = NULL, *put = NULL;
    char attach[400];
    int seen = 0;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    snprintf(attach, sizeof attach, "ATTACH '%s' AS copy; CREATE TEMP TABLE document (text TEXT)",
             copy);
    assert_int_equal(sqlite3_exec(db, attach, NULL, NULL, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_prepare_v2(db, "INSERT INTO document VALUES (?1)", -1, &put, NULL),
                     SQLITE_OK);
    sqlite3_bind_text(put, 1, text, -1, SQLITE_STATIC);
    assert_int_equal(sqlite3_step(put), SQLITE_DONE);
    sqlite3_finalize(put);
    assert_int_equal(ask(db, "SELECT json_valid(text) FROM document"), 1);
    assert_int_equal(sqlite3_prepare_v2(db,
                                        "SELECT name FROM main.sqlite_schema WHERE type = 'table' "
                                        "AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\'",
                                        -1, &tables, NULL),
                     SQLITE_OK);
    for (; sqlite3_step(tables) == SQLITE_ROW; seen++) {
        const char *table = (const char *)sqlite3_column_text(tables, 0);
        compare_table(db, table, strcmp(table, "library") != 0);
    }
    sqlite3_finalize(tables);
    sqlite3_close(db);
    assert_true(seen > 20);
}

/* The library that is open, into an empty file and compared. */
static void there_and_back(struct world *world)
{
    char path[300];
    struct pm_library *copy = NULL;
    struct pm_error err;
    struct pm_text text = write_out(world);
    snprintf(path, sizeof path, "%s.copy", world->path);
    remove(path);
    assert_int_equal(pm_library_open(path, PM_LIBRARY_CREATE, NULL, NULL, &copy, &err), PM_OK);
    if (read_in(copy, pm_text_get(&text), &err) != PM_OK)
        fail_msg("%s", err.text);
    assert_int_equal(pm_library_verify(copy, NULL, NULL, &err), PM_OK);
    pm_library_close(copy);
    compare(world->path, path, pm_text_get(&text));
    pm_text_release(&text);
    remove(path);
}

static void libraries_of_every_step_go_there_and_back(void **state)
{
    struct world *world = *state;
    char name[32];
    int step = 1;
    for (;; step++) {
        snprintf(name, sizeof name, "sample-%d.db", step);
        world_path(world, name, world->path);
        if (!world_sample(world, step))
            break;
        world_open(world);
        there_and_back(world);
        world_close(world);
    }
    assert_true(step > 7);
}

/* The program as it was when the schema had its first steps only. */
static void open_old(struct world *world, struct pm_embedded files[64], int step)
{
    struct pm_store_options options;
    size_t count = 0;
    pm_store_defaults(&options);
    for (size_t i = 0; i < options.file_count && count < 64; i++)
        if (strstr(options.files[i].name, ".sql") == NULL || atoi(options.files[i].name) <= step)
            files[count++] = options.files[i];
    options.files = files;
    options.file_count = count;
    assert_status(PM_OK, pm_library_open_with(world->path, PM_LIBRARY_CREATE, &world->clock,
                                              &options, &world->library, &world->err));
}

static void an_earlier_program_s_document_is_brought_up_to_date(void **state)
{
    struct world *world = *state;
    struct pm_embedded files[64];
    int64_t id = 0;
    assert_true(world_sample(world, 6));
    open_old(world, files, 6);
    struct pm_text text = write_out(world);
    assert_non_null(strstr(pm_text_get(&text), "\"step\":6"));
    world_close(world);
    world_path(world, "new.db", world->path);
    world_open(world);
    assert_status(PM_OK, read_in(world->library, pm_text_get(&text), &world->err));
    assert_status(PM_OK, pm_material_by_name(world->library, "cinder ketone", &id, &world->err));
    world_verify(world);
    pm_text_release(&text);
}

/* `from` is replaced by `to` in the document, which then does not come in, and nothing of it. */
static void refuse(struct world *world, const char *document, const char *from, const char *to,
                   enum pm_status wanted, const char *piece)
{
    const char *at = strstr(document, from);
    struct pm_text text = PM_TEXT_EMPTY;
    bool empty = false;
    assert_non_null(at);
    pm_text_add_bytes(&text, document, (size_t)(at - document));
    pm_text_add(&text, to);
    pm_text_add(&text, at + strlen(from));
    const enum pm_status status = read_in(world->library, pm_text_get(&text), &world->err);
    if (status != wanted || strstr(world->err.text, piece) == NULL)
        fail_msg("%s -> %s: %d, %s", from, to, (int)status, world->err.text);
    assert_status(PM_OK, pm_library_is_empty(world->library, &empty, &world->err));
    assert_true(empty);
    world_verify(world);
    pm_text_release(&text);
}

static void what_is_not_whole_stays_outside(void **state)
{
    struct world *world = *state;
    struct pm_text text = write_out(world);
    const char *whole = pm_text_get(&text);
    assert_status(PM_REFUSED, read_in(world->library, whole, &world->err));
    world_close(world);
    world_path(world, "empty.db", world->path);
    world_open(world);
    refuse(world, whole, "\"version\":1", "\"version\":2", PM_NEWER, "newer");
    refuse(world, whole, "\"document\":\"library\"", "\"document\":\"thing\"", PM_INVALID,
           "no library");
    refuse(world, whole, "\"trial_mark\":", "\"trial_marc\":", PM_INVALID, "trial_marc");
    refuse(world, whole, "\"kind\":\"natural\"", "\"kind\":\"strange\"", PM_INVALID,
           "Table material, row");
    refuse(world, whole, "\"kind\":\"natural\"", "\"kind\":\"blend\"", PM_DAMAGED, "contradicts");
    refuse(world, whole, "\"kind\":\"natural\"", "\"kind\":7", PM_INVALID, "wrong kind");
    refuse(world, whole, "\"kind\":\"natural\"", "\"kinds\":\"natural\"", PM_INVALID, "kinds");
    assert_status(PM_OK, read_in(world->library, whole, &world->err));
    world_verify(world);
    pm_text_release(&text);
}

/* Whatever the person entered themselves stands in the way of a whole library, which would take its
 * place; settings alone do not. */
static void what_is_one_s_own_is_not_overwritten(void **state)
{
    struct world *world = *state;
    struct pm_text text = write_out(world);
    struct pm_ceiling ceiling = {.kind = PM_BY_VOLATILITY, .name = "top", .most = 1000};
    struct pm_balance_row balance = {.name = "Own", .is = {.readability = 1000}};
    const struct pm_rate rate = {"USD", "EUR", 900000000, 20000};
    for (int what = 0; what < 3; what++) {
        char name[32];
        bool empty = false;
        world_close(world);
        snprintf(name, sizeof name, "own-%d.db", what);
        world_path(world, name, world->path);
        world_open(world);
        assert_status(PM_OK, pm_setting_put(world->library, "decimals", "4", &world->err));
        assert_status(PM_OK, pm_library_is_empty(world->library, &empty, &world->err));
        assert_true(empty);
        assert_status(PM_OK, what == 0   ? pm_ceiling_put(world->library, &ceiling, &world->err)
                             : what == 1 ? pm_balance_put(world->library, &balance, &world->err)
                                         : pm_rate_insert(world->library, &rate, &world->err));
        assert_status(PM_REFUSED, read_in(world->library, pm_text_get(&text), &world->err));
        assert_int_equal(ask(world->library->db, "SELECT (SELECT count(*) FROM ceiling) + (SELECT "
                                                 "count(*) FROM balance) + (SELECT count(*) FROM "
                                                 "currency_rate)"),
                         1);
    }
    pm_text_release(&text);
}

static void lost_memory_leaves_it_empty(void **state)
{
    struct world *world = *state;
    struct pm_text text = write_out(world);
    bool empty = false;
    world_close(world);
    world_path(world, "empty.db", world->path);
    world_open(world);
    for (long n = 1;; n += 1 + n / 8) {
        pm_mem_fail_at(n, true);
        const enum pm_status status = read_in(world->library, pm_text_get(&text), &world->err);
        pm_mem_fail_at(0, false);
        if (status == PM_OK)
            break;
        assert_int_equal(status, PM_NOMEM);
        assert_status(PM_OK, pm_library_is_empty(world->library, &empty, &world->err));
        assert_true(empty);
    }
    world_verify(world);
    pm_text_release(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(libraries_of_every_step_go_there_and_back, world_setup,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(an_earlier_program_s_document_is_brought_up_to_date,
                                        world_setup, world_teardown),
        cmocka_unit_test_setup_teardown(what_is_not_whole_stays_outside, world_setup_filled,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(what_is_one_s_own_is_not_overwritten, world_setup_filled,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(lost_memory_leaves_it_empty, world_setup_filled,
                                        world_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
