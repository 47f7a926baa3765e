/* SPDX-License-Identifier: MIT */
/*
 * The library as a JSON document (see document.h). One that comes in is first put into a library in
 * memory at its own step, which the migrations bring up to date, and goes from there into the file.
 */
#include "permille/store/document.h"

#include "document.h"

#include "connection.h"
#include "migrate.h"
#include "shapes.h"
#include "store.h"

#include "permille/base/json.h"
#include "permille/base/mem.h"

#include <stdlib.h>
#include <string.h>

#define DOCUMENT_VERSION 1
#define EXACT_MOST       (INT64_C(1) << 53) /* beyond it readers that use doubles round */

static bool is_left_out(const struct pm_shape *shape)
{
    return strcmp(shape->table, "library") == 0 || strcmp(shape->table, "material_search") == 0;
}

/* "SELECT "a", "b" FROM "t" ORDER BY its key" or "INSERT INTO "t" ("a", "b") VALUES (?1, ?2)". */
static sqlite3_stmt *prepare(sqlite3 *db, const struct pm_shape *shape, bool insert,
                             enum pm_status *status, struct pm_error *err)
{
    struct pm_text sql = PM_TEXT_EMPTY;
    sqlite3_stmt *statement = NULL;
    pm_text_add(&sql, insert ? "INSERT INTO \"" : "SELECT ");
    if (insert)
        pm_text_addf(&sql, "%s\" (", shape->table);
    for (size_t c = 0; c < shape->count; c++)
        pm_text_addf(&sql, "%s\"%s\"", c > 0 ? ", " : "", shape->columns[c].name);
    if (insert) {
        pm_text_add(&sql, ") VALUES (");
        for (size_t c = 0; c < shape->count; c++)
            pm_text_addf(&sql, "%s?%zu", c > 0 ? ", " : "", c + 1);
        pm_text_add(&sql, ")");
    } else {
        pm_text_addf(&sql, " FROM \"%s\" ORDER BY ", shape->table);
        bool any = false;
        for (int k = 1; k <= (int)shape->count; k++)
            for (size_t c = 0; c < shape->count; c++)
                if (shape->columns[c].key == k) {
                    pm_text_addf(&sql, "%s%zu", any ? ", " : "", c + 1);
                    any = true;
                }
        if (!any)
            pm_text_add(&sql, "1");
    }
    if (!pm_text_ok(&sql)) {
        *status = pm_fail_memory(err);
    } else {
        const int rc = sqlite3_prepare_v2(db, pm_text_get(&sql), -1, &statement, NULL);
        if (rc != SQLITE_OK)
            *status = pm_store_fail(db, rc, "preparing the copy", err);
    }
    pm_text_release(&sql);
    return statement;
}

static int by_name(const void *a, const void *b)
{
    return strcmp(((const struct pm_shape *)a)->table, ((const struct pm_shape *)b)->table);
}

static enum pm_status load_shapes(sqlite3 *db, struct pm_shapes *out, struct pm_error *err)
{
    const enum pm_status status = pm_shapes_load(db, out, err);
    if (status == PM_OK)
        qsort(out->items, out->count, sizeof *out->items, by_name);
    return status;
}

/* ---- out ---- */

static void put_value(struct pm_json *json, sqlite3_stmt *row, int column)
{
    char digits[32];
    switch (sqlite3_column_type(row, column)) {
    case SQLITE_INTEGER: {
        const int64_t value = sqlite3_column_int64(row, column);
        if (value <= EXACT_MOST && value >= -EXACT_MOST)
            pm_json_int(json, value);
        else
            pm_json_string(json, pm_print(digits, sizeof digits, "%lld", (long long)value));
        break;
    }
    case SQLITE_FLOAT:
        pm_json_double(json, sqlite3_column_double(row, column));
        break;
    default:
        pm_json_string(json, (const char *)sqlite3_column_text(row, column));
    }
}

static enum pm_status put_table(struct pm_library *library, const struct pm_shape *shape,
                                struct pm_json *json, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    sqlite3_stmt *row = prepare(library->db, shape, false, &status, err);
    int rc = SQLITE_OK;
    if (status != PM_OK)
        return status;
    pm_json_put_open(json, shape->table, '[');
    while ((rc = sqlite3_step(row)) == SQLITE_ROW && pm_text_ok(json->out)) {
        pm_text_add(json->out, "\n"); /* a row to a line: for reading and comparing */
        pm_json_open(json, '{');
        for (size_t c = 0; c < shape->count; c++) {
            if (sqlite3_column_type(row, (int)c) == SQLITE_NULL)
                continue;
            pm_json_key(json, shape->columns[c].name);
            put_value(json, row, (int)c);
        }
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
    sqlite3_finalize(row);
    if (rc != SQLITE_DONE && rc != SQLITE_ROW)
        return pm_store_fail(library->db, rc, "reading the library", err);
    return pm_text_ok(json->out) ? PM_OK : pm_fail_memory(err);
}

static enum pm_status put_tables(struct pm_library *library, struct pm_text *out,
                                 struct pm_error *err)
{
    struct pm_shapes shapes = {.count = 0};
    struct pm_json json;
    int64_t step = 0; /* of a library that is only read it may be an earlier one */
    enum pm_status status =
        pm_ask(library->db, "PRAGMA user_version", "looking into the library", &step, err);
    if (status == PM_OK)
        status = load_shapes(library->db, &shapes, err);
    pm_json_init(&json, out);
    pm_json_open(&json, '{');
    pm_json_put_open(&json, "permille", '{');
    pm_json_put_string(&json, "document", "library");
    pm_json_put_int(&json, "version", DOCUMENT_VERSION);
    pm_json_put_int(&json, "step", step);
    pm_json_close(&json, '}');
    pm_json_put_open(&json, "tables", '{');
    for (size_t i = 0; status == PM_OK && i < shapes.count; i++) {
        status = pm_library_go_on(library, "writing the library's tables", (int64_t)i,
                                  (int64_t)shapes.count, err);
        if (status == PM_OK && !is_left_out(&shapes.items[i]))
            status = put_table(library, &shapes.items[i], &json, err);
    }
    pm_json_close(&json, '}');
    pm_json_close(&json, '}');
    pm_text_add(out, "\n");
    pm_shapes_release(&shapes);
    return status == PM_OK && !pm_text_ok(out) ? pm_fail_memory(err) : status;
}

enum pm_status pm_library_write_document(struct pm_library *library, struct pm_text *out,
                                         struct pm_error *err)
{
    enum pm_status status = pm_library_begin_read(library, err);
    if (status != PM_OK)
        return status;
    status = put_tables(library, out, err);
    pm_library_end_read(library);
    return status;
}

enum pm_status pm_library_write_other(struct pm_library *beside, const char *path,
                                      struct pm_text *out, struct pm_error *err)
{
    struct pm_library *copy;
    enum pm_status status = pm_library_open_copy(path, beside, &copy, err);
    if (status == PM_OK)
        status = pm_library_write_document(copy, out, err);
    pm_library_close(copy);
    return status;
}

/* ---- in: the document into memory ---- */

/* Whether JSON says that it is such a document. */
static bool is_library_document(const struct pm_json_value *document)
{
    const char *what =
        pm_json_text_of(pm_json_member(pm_json_member(document, "permille"), "document"));
    return what != NULL && strcmp(what, "library") == 0;
}

static enum pm_status read_step(const struct pm_json_value *document,
                                const struct pm_store_options *options, int *step,
                                struct pm_error *err)
{
    const struct pm_json_value *head = pm_json_member(document, "permille");
    int64_t version = 0, number = 0;
    if (!is_library_document(document) ||
        !pm_json_int_of(pm_json_member(head, "version"), &version) ||
        !pm_json_int_of(pm_json_member(head, "step"), &number) || version < 1 || number < 1)
        return pm_fail(err, PM_INVALID, "This document is no library of this program.");
    if (version > DOCUMENT_VERSION || number > pm_migrate_newest(options))
        return pm_fail(err, PM_NEWER, "This document was written by a newer version of permille.");
    *step = (int)number;
    return PM_OK;
}

static int bind_value(sqlite3_stmt *insert, int at, const struct pm_shape_column *column,
                      const struct pm_json_value *value, bool *fits)
{
    int64_t number;
    double real;
    *fits = true;
    if (value == NULL)
        return sqlite3_bind_null(insert, at);
    if (strcmp(column->type, "INTEGER") == 0 && pm_json_int_of(value, &number))
        return sqlite3_bind_int64(insert, at, number);
    if (strcmp(column->type, "REAL") == 0 && pm_json_double_of(value, &real))
        return sqlite3_bind_double(insert, at, real);
    if (strcmp(column->type, "TEXT") == 0 && pm_json_text_of(value) != NULL)
        return sqlite3_bind_text(insert, at, pm_json_text_of(value), -1, SQLITE_STATIC);
    *fits = false;
    return SQLITE_OK;
}

static bool has_column(const struct pm_shape *shape, const char *name)
{
    for (size_t c = 0; c < shape->count; c++)
        if (strcmp(shape->columns[c].name, name) == 0)
            return true;
    return false;
}

static enum pm_status fail_row(const struct pm_shape *shape, size_t row, const char *what,
                               struct pm_error *err)
{
    return pm_fail(err, PM_INVALID, "Table %s, row %zu of the document: %s.", shape->table, row + 1,
                   what);
}

static enum pm_status put_row(sqlite3 *db, sqlite3_stmt *insert, const struct pm_shape *shape,
                              size_t at, const struct pm_json_value *row, struct pm_error *err)
{
    char what[128];
    void *place = NULL;
    const char *key;
    const struct pm_json_value *value;
    bool fits = true;
    int rc = SQLITE_OK;
    if (!pm_json_is_object(row))
        return fail_row(shape, at, "it is no object", err);
    while (pm_json_next(row, &place, &key, &value))
        if (!has_column(shape, key))
            return fail_row(shape, at,
                            pm_print(what, sizeof what, "there is no column \"%.60s\"", key), err);
    for (size_t c = 0; rc == SQLITE_OK && c < shape->count; c++) {
        const char *name = shape->columns[c].name;
        rc = bind_value(insert, (int)c + 1, &shape->columns[c], pm_json_member(row, name), &fits);
        if (!fits)
            return fail_row(shape, at,
                            pm_print(what, sizeof what, "\"%.60s\" is of the wrong kind", name),
                            err);
    }
    if (rc == SQLITE_OK)
        rc = sqlite3_step(insert);
    sqlite3_reset(insert);
    if ((rc & 0xFF) == SQLITE_CONSTRAINT)
        return fail_row(shape, at, "it breaks a rule of the library", err);
    return rc == SQLITE_DONE ? PM_OK : pm_store_fail(db, rc, "reading the document", err);
}

static enum pm_status empty_table(sqlite3 *db, const struct pm_shape *shape, struct pm_error *err)
{
    struct pm_text sql = PM_TEXT_EMPTY;
    pm_text_addf(&sql, "DELETE FROM \"%s\"", shape->table);
    const enum pm_status status =
        pm_text_ok(&sql) ? pm_execute(db, pm_text_get(&sql), "making room for the copy", err)
                         : pm_fail_memory(err);
    pm_text_release(&sql);
    return status;
}

static enum pm_status fill_table(sqlite3 *db, const struct pm_shape *shape,
                                 const struct pm_json_value *tables, struct pm_error *err)
{
    const struct pm_json_value *rows = pm_json_member(tables, shape->table);
    if (!pm_json_is_array(rows))
        return pm_fail(err, PM_INVALID, "The document lacks the table %s: it is not whole.",
                       shape->table);
    enum pm_status status = empty_table(db, shape, err);
    sqlite3_stmt *insert = status == PM_OK ? prepare(db, shape, true, &status, err) : NULL;
    for (size_t i = 0; status == PM_OK && i < pm_json_count(rows); i++)
        status = put_row(db, insert, shape, i, pm_json_item(rows, i), err);
    sqlite3_finalize(insert);
    return status;
}

static enum pm_status check_tables(const struct pm_shapes *shapes,
                                   const struct pm_json_value *tables, struct pm_error *err)
{
    void *place = NULL;
    const char *key;
    const struct pm_json_value *value;
    while (pm_json_next(tables, &place, &key, &value)) {
        bool known = false;
        for (size_t i = 0; i < shapes->count && !known; i++)
            known = !is_left_out(&shapes->items[i]) && strcmp(shapes->items[i].table, key) == 0;
        if (!known)
            return pm_fail(err, PM_INVALID, "The document has a table \"%.60s\" that is unknown.",
                           key);
    }
    return PM_OK;
}

static void switch_off(sqlite3 *db, bool foreign_keys)
{
    sqlite3_db_config(db, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, (int *)NULL);
    if (foreign_keys)
        sqlite3_db_config(db, SQLITE_DBCONFIG_ENABLE_FKEY, 0, (int *)NULL);
}

static enum pm_status fill_model(sqlite3 *db, const struct pm_store_options *options, int step,
                                 const struct pm_json_value *document, struct pm_error *err)
{
    const struct pm_json_value *tables = pm_json_member(document, "tables");
    struct pm_shapes shapes = {.count = 0};
    switch_off(db, true);
    enum pm_status status = pm_execute(db, "BEGIN", "reading the document", err);
    if (status == PM_OK)
        status = pm_migrate_steps(db, options, 1, step, err);
    if (status == PM_OK)
        status = load_shapes(db, &shapes, err);
    if (status == PM_OK)
        status = check_tables(&shapes, tables, err);
    for (size_t i = 0; status == PM_OK && i < shapes.count; i++)
        if (!is_left_out(&shapes.items[i]))
            status = fill_table(db, &shapes.items[i], tables, err);
    pm_shapes_release(&shapes);
    if (status == PM_OK)
        status = pm_migrate_steps(db, options, step + 1, pm_migrate_newest(options), err);
    return status == PM_OK ? pm_execute(db, "COMMIT", "reading the document", err) : status;
}

/* ---- in: from memory into the file ---- */

static enum pm_status copy_table(sqlite3 *from, sqlite3 *to, const struct pm_shape *shape,
                                 struct pm_error *err)
{
    enum pm_status status = empty_table(to, shape, err);
    sqlite3_stmt *read = status == PM_OK ? prepare(from, shape, false, &status, err) : NULL;
    sqlite3_stmt *write = status == PM_OK ? prepare(to, shape, true, &status, err) : NULL;
    int rc = SQLITE_DONE;
    while (status == PM_OK && (rc = sqlite3_step(read)) == SQLITE_ROW) {
        rc = SQLITE_OK;
        for (int c = 0; rc == SQLITE_OK && c < (int)shape->count; c++)
            rc = sqlite3_bind_value(write, c + 1, sqlite3_column_value(read, c));
        if (rc == SQLITE_OK)
            rc = sqlite3_step(write);
        sqlite3_reset(write);
        if (rc != SQLITE_DONE)
            status = pm_store_fail(to, rc, "writing the copy", err);
    }
    if (status == PM_OK && rc != SQLITE_DONE)
        status = pm_store_fail(from, rc, "reading the document", err);
    sqlite3_finalize(read);
    sqlite3_finalize(write);
    return status;
}

static enum pm_status refresh_search(struct pm_library *library, struct pm_error *err)
{
    sqlite3_stmt *blocks = NULL;
    enum pm_status status =
        pm_execute(library->db, "DELETE FROM material_search", "making the search table", err);
    if (status != PM_OK)
        return status;
    int rc = sqlite3_prepare_v2(library->db, "SELECT min(id) FROM material GROUP BY id / 32", -1,
                                &blocks, NULL);
    while (status == PM_OK && rc == SQLITE_OK && (rc = sqlite3_step(blocks)) == SQLITE_ROW) {
        rc = SQLITE_OK;
        status = pm_search_refresh(library, sqlite3_column_int64(blocks, 0), err);
    }
    if (status == PM_OK && rc != SQLITE_DONE)
        status = pm_store_fail(library->db, rc, "making the search table", err);
    sqlite3_finalize(blocks);
    return status;
}

static enum pm_status copy_all(sqlite3 *model, struct pm_library *library, struct pm_error *err)
{
    struct pm_shapes shapes = {.count = 0};
    enum pm_status status = load_shapes(library->db, &shapes, err);
    if (status == PM_OK)
        status = pm_execute(library->db, "PRAGMA defer_foreign_keys = ON", "writing the copy", err);
    switch_off(library->db, false);
    for (size_t i = 0; status == PM_OK && i < shapes.count; i++) {
        status = pm_library_go_on(library, "bringing the tables in", (int64_t)i,
                                  (int64_t)shapes.count, err);
        if (status == PM_OK && !is_left_out(&shapes.items[i]))
            status = copy_table(model, library->db, &shapes.items[i], err);
    }
    sqlite3_db_config(library->db, SQLITE_DBCONFIG_ENABLE_TRIGGER, 1, (int *)NULL);
    pm_shapes_release(&shapes);
    if (status == PM_OK)
        status = refresh_search(library, err);
    return status == PM_OK
               ? pm_library_sound(library, "What was to come in contradicts itself", err)
               : status;
}

/* ---- in ---- */

/* What a new file holds, too. */
static bool is_in_every_library(const struct pm_shape *shape)
{
    return is_left_out(shape) || strcmp(shape->table, "setting") == 0 ||
           strcmp(shape->table, "shelf_head") == 0;
}

enum pm_status pm_library_is_empty(struct pm_library *library, bool *empty, struct pm_error *err)
{
    struct pm_shapes shapes = {.count = 0};
    struct pm_text sql = PM_TEXT_EMPTY;
    int64_t rows = 0;
    enum pm_status status = pm_shapes_load(library->db, &shapes, err);
    pm_text_add(&sql, "SELECT 0");
    for (size_t i = 0; status == PM_OK && i < shapes.count; i++)
        if (!is_in_every_library(&shapes.items[i]))
            pm_text_addf(&sql, " OR EXISTS (SELECT 1 FROM \"%s\")", shapes.items[i].table);
    if (status == PM_OK && !pm_text_ok(&sql))
        status = pm_fail_memory(err);
    if (status == PM_OK)
        status = pm_ask(library->db, pm_text_get(&sql), "looking into the library", &rows, err);
    pm_text_release(&sql);
    pm_shapes_release(&shapes);
    *empty = rows == 0;
    return status;
}

static enum pm_status fill_library(struct pm_library *library, sqlite3 *model, struct pm_error *err)
{
    bool empty = false;
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    status = pm_library_is_empty(library, &empty, err);
    if (status == PM_OK && !empty)
        status = pm_fail(err, PM_REFUSED,
                         "A whole library comes into an empty one: name a new file with --db.");
    if (status == PM_OK)
        status = copy_all(model, library, err);
    return pm_library_finish(library, status, err);
}

static enum pm_status fill_copy(struct pm_library *copy, const struct pm_json_value *document,
                                struct pm_error *err)
{
    int step = 0;
    enum pm_status status = read_step(document, &copy->options, &step, err);
    if (status == PM_OK)
        status = pm_connect(":memory:", SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, NULL, 0,
                            &copy->db, err);
    if (status == PM_OK)
        status = fill_model(copy->db, &copy->options, step, document, err);
    return status == PM_OK ? refresh_search(copy, err) : status;
}

enum pm_status pm_document_open_copy(const struct pm_json_value *document,
                                     const struct pm_library *beside, struct pm_library **out,
                                     struct pm_error *err)
{
    struct pm_library *copy = pm_alloc_array(1, sizeof *copy);
    *out = NULL;
    if (copy == NULL)
        return pm_fail_memory(err);
    copy->clock = beside->clock;
    copy->options = beside->options;
    const enum pm_status status = fill_copy(copy, document, err);
    if (status != PM_OK) {
        pm_library_close(copy);
        return status;
    }
    copy->read_only = true;
    pm_library_watch(copy, beside->watch);
    *out = copy;
    return PM_OK;
}

enum pm_status pm_library_read_document(struct pm_library *library,
                                        const struct pm_json_value *document, struct pm_error *err)
{
    struct pm_library *copy = NULL;
    enum pm_status status = pm_document_open_copy(document, library, &copy, err);
    if (status == PM_OK)
        status = fill_library(library, copy->db, err);
    pm_library_close(copy);
    return status;
}
