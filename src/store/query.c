/* SPDX-License-Identifier: MIT */
/*
 * Using the prepared statements (see store.h).
 */
#include "store.h"

#include "permille/base/mem.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

void pm_query_open(struct pm_query *query, struct pm_library *library, enum pm_sql which)
{
    query->library = library;
    query->statement = NULL;
    query->which = which;
    query->bound = 0;
    query->rc = SQLITE_OK;
    query->damaged[0] = '\0';
    if (library->depth > 0 && sqlite3_get_autocommit(library->db)) {
        /* SQLite gave the whole transaction up after a grave error; what came after it must not be
         * written on its own. */
        query->rc = SQLITE_ABORT;
        return;
    }
    if (library->depth == 0 && library->readers == 0 && !sqlite3_get_autocommit(library->db) &&
        pm_library_free_of_change(library, NULL) != PM_OK) {
        query->rc = SQLITE_ABORT;
        return;
    }
    sqlite3_stmt *kept = library->statements[which];
    if (kept != NULL && !sqlite3_stmt_busy(kept)) {
        query->statement = kept;
        return;
    }
    query->rc =
        sqlite3_prepare_v3(library->db, pm_sql_text(which), -1,
                           kept == NULL ? SQLITE_PREPARE_PERSISTENT : 0, &query->statement, NULL);
    if (kept == NULL && query->rc == SQLITE_OK)
        library->statements[which] = query->statement;
}

static void bound(struct pm_query *query, int rc)
{
    if (query->rc == SQLITE_OK)
        query->rc = rc;
}

void pm_query_int(struct pm_query *query, int64_t value)
{
    query->bound++;
    if (query->rc == SQLITE_OK)
        bound(query, sqlite3_bind_int64(query->statement, query->bound, value));
}

void pm_query_key(struct pm_query *query, int64_t id)
{
    if (id != 0)
        pm_query_int(query, id);
    else
        pm_query_text(query, NULL);
}

void pm_query_day(struct pm_query *query, pm_day day)
{
    if (day != PM_NO_DAY)
        pm_query_int(query, day);
    else
        pm_query_text(query, NULL);
}

void pm_query_known(struct pm_query *query, int64_t value)
{
    if (value >= 0)
        pm_query_int(query, value);
    else
        pm_query_text(query, NULL);
}

void pm_query_text(struct pm_query *query, const char *text)
{
    query->bound++;
    if (query->rc != SQLITE_OK)
        return;
    if (text == NULL)
        bound(query, sqlite3_bind_null(query->statement, query->bound));
    else
        bound(query, sqlite3_bind_text(query->statement, query->bound, text, -1, SQLITE_STATIC));
}

void pm_query_folded(struct pm_query *query, const char *text)
{
    query->bound++;
    if (query->rc != SQLITE_OK)
        return;
    char *folded = pm_store_fold(text);
    bound(query, folded == NULL
                     ? SQLITE_NOMEM
                     : sqlite3_bind_text(query->statement, query->bound, folded, -1, pm_free));
}

void pm_query_blob(struct pm_query *query, const void *data, size_t length)
{
    query->bound++;
    if (query->rc == SQLITE_OK) {
        bound(query,
              sqlite3_bind_blob64(query->statement, query->bound, data, length, SQLITE_STATIC));
    }
}

bool pm_query_row(struct pm_query *query)
{
    if ((query->rc != SQLITE_OK && query->rc != SQLITE_ROW) || query->damaged[0] != '\0')
        return false;
    query->rc = sqlite3_step(query->statement);
    if ((query->rc == SQLITE_ROW || query->rc == SQLITE_DONE) && query->library->depth == 0)
        query->library->patience.waited_ms = 0; /* a lock was given */
    return query->rc == SQLITE_ROW;
}

int64_t pm_query_get_int(const struct pm_query *query, int column)
{
    return sqlite3_column_int64(query->statement, column);
}

pm_day pm_query_get_day(const struct pm_query *query, int column)
{
    return sqlite3_column_type(query->statement, column) == SQLITE_NULL
               ? PM_NO_DAY
               : pm_query_get_int(query, column);
}

int64_t pm_query_get_known(const struct pm_query *query, int column)
{
    return sqlite3_column_type(query->statement, column) == SQLITE_NULL
               ? -1
               : pm_query_get_int(query, column);
}

const char *pm_query_get_text(struct pm_query *query, int column)
{
    if (sqlite3_column_type(query->statement, column) == SQLITE_NULL)
        return NULL;
    const char *text = (const char *)sqlite3_column_text(query->statement, column);
    if (text == NULL)
        query->rc = SQLITE_NOMEM;
    return text;
}

char *pm_query_get_copy(struct pm_query *query, int column)
{
    const char *text = pm_query_get_text(query, column);
    char *copy = pm_strdup(text);
    if (text != NULL && copy == NULL)
        query->rc = SQLITE_NOMEM;
    return copy;
}

void pm_query_get_currency(struct pm_query *query, int column, char out[4])
{
    const char *text = pm_query_get_text(query, column);
    out[0] = '\0';
    if (text == NULL)
        return;
    if (strspn(text, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") != 3 || text[3] != '\0')
        query->rc = SQLITE_CORRUPT;
    else
        memcpy(out, text, 4);
}

const char *pm_query_get_kept(struct pm_query *query, int column, struct pm_arena *arena)
{
    const char *text = arena == NULL ? NULL : pm_query_get_text(query, column);
    return text == NULL ? NULL : pm_query_added(query, pm_arena_text(arena, text));
}

void *pm_query_added(struct pm_query *query, void *item)
{
    if (item == NULL)
        query->rc = SQLITE_NOMEM;
    return item;
}

void pm_query_damaged(struct pm_query *query, const char *format, ...)
{
    va_list arguments;
    if (query->damaged[0] != '\0')
        return;
    va_start(arguments, format);
    vsnprintf(query->damaged, sizeof query->damaged, format, arguments);
    va_end(arguments);
}

enum pm_status pm_query_close(struct pm_query *query, struct pm_error *err)
{
    int rc = query->rc;
    enum pm_status status = PM_OK;
    if (rc != SQLITE_OK && rc != SQLITE_ROW && rc != SQLITE_DONE) {
        /* Before the reset: it may replace SQLite's words. */
        status = pm_store_fail(query->library->db, rc, pm_sql_doing(query->which), err);
    } else if (query->damaged[0] != '\0') {
        status = pm_fail(err, PM_DAMAGED, "%s is damaged in the file.", query->damaged);
    }
    if (query->statement == NULL)
        return status;
    if (query->statement == query->library->statements[query->which]) {
        sqlite3_reset(query->statement);
        sqlite3_clear_bindings(query->statement);
    } else {
        sqlite3_finalize(query->statement);
    }
    query->statement = NULL;
    return status;
}

enum pm_status pm_query_run(struct pm_query *query, struct pm_error *err)
{
    pm_query_row(query);
    return pm_query_close(query, err);
}

enum pm_status pm_query_one(struct pm_query *query, int64_t *out, bool *found, struct pm_error *err)
{
    bool row = pm_query_row(query);
    int64_t value = row ? pm_query_get_int(query, 0) : 0;
    enum pm_status status = pm_query_close(query, err);
    if (status == PM_OK) {
        *out = value;
        if (found != NULL)
            *found = row;
    }
    return status;
}

enum pm_status pm_query_fill(struct pm_query *query, pm_query_reader *read,
                             const struct pm_query_items *out, struct pm_error *err)
{
    struct pm_arena arena = {0};
    void *items = NULL, *item;
    size_t count = 0;
    while (pm_query_row(query)) {
        item = pm_query_added(query, pm_arena_push(&arena, &items, &count, out->size));
        if (item != NULL)
            read(query, &arena, item);
    }
    const enum pm_status status = pm_query_close(query, err);
    if (status != PM_OK) {
        pm_arena_release(&arena);
        return status;
    }
    memcpy(out->items, &items, sizeof items);
    *out->count = count;
    *out->arena = arena;
    return PM_OK;
}
