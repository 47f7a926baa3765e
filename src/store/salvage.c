/* SPDX-License-Identifier: MIT */
/*
 * Salvage, first half: reading around bad pages, table by table, into a new library. The second
 * half (mend.c) makes what was read fit together again.
 *
 * A table is read in order of its key. Where a page is bad the reader looks for the next key that
 * can be reached: first with steps that double, then by halving. So one bad page costs its own rows
 * and some forty attempts.
 */
#include "connection.h"
#include "files.h"
#include "mend.h"
#include "store.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"

#include <string.h>
#include <unistd.h>

/* One table on its way from the damaged file to the new one. */
struct haul {
    struct mender *mender;
    sqlite3 *from, *to;
    const char *table;
    struct pm_text key;  /* what the rows are ordered by, an integer: rowid or a quoted name */
    struct pm_text list; /* the columns both files have: "a", "b" */
    int columns;
    bool filled; /* the new table has rows already */
    int64_t lost, left_out;
};

static bool memory_ran_out(int rc)
{
    return (rc & 0xFF) == SQLITE_NOMEM || rc == SQLITE_IOERR_NOMEM;
}

/* ---- finding the way ---- */

/* Whether the row at or after `key` can be reached. *end: there is none. */
static int reach(const struct haul *haul, int64_t key, bool *end)
{
    const char *by = pm_text_get(&haul->key);
    char *sql = sqlite3_mprintf("SELECT %s FROM \"%w\" NOT INDEXED WHERE %s >= ?1 ORDER BY %s "
                                "LIMIT 1",
                                by, haul->table, by, by);
    sqlite3_stmt *statement = NULL;
    int rc = sql == NULL ? SQLITE_NOMEM : sqlite3_prepare_v2(haul->from, sql, -1, &statement, NULL);
    sqlite3_free(sql);
    if (rc == SQLITE_OK)
        rc = sqlite3_bind_int64(statement, 1, key);
    if (rc == SQLITE_OK)
        rc = sqlite3_step(statement);
    sqlite3_finalize(statement);
    *end = rc == SQLITE_DONE;
    return rc == SQLITE_ROW || rc == SQLITE_DONE ? SQLITE_OK : rc;
}

/* The smallest key above `bad` from which reading can go on. *end: nothing can be read any more. */
static int find_next(const struct haul *haul, int64_t bad, int64_t *next, bool *end)
{
    const int64_t last = INT64_MAX / 2;
    int64_t below = bad, step = 1;
    int rc = SQLITE_ERROR;
    while (rc != SQLITE_OK) {
        if (bad > last - step) {
            *end = true;
            return SQLITE_OK;
        }
        rc = reach(haul, bad + step, end);
        if (memory_ran_out(rc))
            return rc;
        if (rc != SQLITE_OK) {
            below = bad + step;
            step *= 2;
        }
    }
    int64_t good = bad + step;
    bool good_is_end = *end;
    while (good - below > 1) {
        int64_t middle = below + (good - below) / 2;
        bool here = false;
        rc = reach(haul, middle, &here);
        if (memory_ran_out(rc))
            return rc;
        if (rc == SQLITE_OK) {
            good = middle;
            good_is_end = here;
        } else {
            below = middle;
        }
    }
    *next = good;
    *end = good_is_end;
    return SQLITE_OK;
}

/* ---- copying ---- */

static int put_row(struct haul *haul, sqlite3_stmt *insert, sqlite3_stmt *row)
{
    for (int i = 0; i < haul->columns; i++)
        sqlite3_bind_value(insert, i + 1, sqlite3_column_value(row, i + 1));
    int rc = sqlite3_step(insert);
    sqlite3_reset(insert);
    if ((rc & 0xFF) == SQLITE_CONSTRAINT) {
        haul->left_out++;
        return SQLITE_OK;
    }
    return rc == SQLITE_DONE ? SQLITE_OK : rc;
}

/* Copies from *key on until the end or the first row that cannot be read. *broken says which;
 * *key becomes the last key read, or stays one below the start. Returns what the new file says. */
static int copy_run(struct haul *haul, sqlite3_stmt *select, sqlite3_stmt *insert, int64_t *key,
                    bool *broken)
{
    int written = SQLITE_OK, rc = SQLITE_ROW;
    sqlite3_bind_int64(select, 1, *key);
    *key -= *key > INT64_MIN;
    while (written == SQLITE_OK && (rc = sqlite3_step(select)) == SQLITE_ROW) {
        *key = sqlite3_column_int64(select, 0);
        written = put_row(haul, insert, select);
    }
    sqlite3_reset(select);
    *broken = rc != SQLITE_DONE && rc != SQLITE_ROW;
    return written == SQLITE_OK && memory_ran_out(rc) ? rc : written;
}

static int copy_rows(struct haul *haul, sqlite3_stmt *select, sqlite3_stmt *insert)
{
    int64_t key = 0;
    bool end = false;
    while (!end) {
        int64_t start = key;
        bool broken = false;
        int rc = copy_run(haul, select, insert, &key, &broken);
        if (rc != SQLITE_OK || !broken)
            return rc;
        haul->lost++;
        /* At least one further than where this run began, or it would never end. */
        rc = find_next(haul, key < start ? start : key, &key, &end);
        if (rc != SQLITE_OK)
            return rc;
    }
    return SQLITE_OK;
}

static enum pm_status copy_table(struct haul *haul, struct pm_error *err)
{
    struct pm_text marks = PM_TEXT_EMPTY;
    sqlite3_stmt *select = NULL, *insert = NULL;
    const char *by = pm_text_get(&haul->key);
    for (int i = 0; i < haul->columns; i++)
        pm_text_addf(&marks, i == 0 ? "?%d" : ", ?%d", i + 1);
    char *read = sqlite3_mprintf("SELECT %s, %s FROM \"%w\" NOT INDEXED WHERE %s >= ?1 ORDER BY %s",
                                 by, pm_text_get(&haul->list), haul->table, by, by);
    /* Rows that a migration has put there give way to those that were read. */
    char *write =
        sqlite3_mprintf("INSERT %s INTO \"%w\" (%s) VALUES (%s)", haul->filled ? "OR REPLACE" : "",
                        haul->table, pm_text_get(&haul->list), pm_text_get(&marks));
    enum pm_status status = PM_OK;
    if (read == NULL || write == NULL || !pm_text_ok(&marks)) {
        status = pm_fail_memory(err);
    } else if (sqlite3_prepare_v2(haul->from, read, -1, &select, NULL) != SQLITE_OK) {
        haul->lost++;
    } else {
        int rc = sqlite3_prepare_v2(haul->to, write, -1, &insert, NULL);
        rc = rc == SQLITE_OK ? copy_rows(haul, select, insert) : rc;
        status =
            rc == SQLITE_OK ? PM_OK : pm_store_fail(haul->to, rc, "writing what was read", err);
    }
    sqlite3_finalize(select);
    sqlite3_finalize(insert);
    sqlite3_free(read);
    sqlite3_free(write);
    pm_text_release(&marks);
    return status;
}

/* Which columns both files have, and what to read by: the rowid, or the first column of the key
 * where there is none. */
static enum pm_status plan_table(struct haul *haul, struct pm_error *err)
{
    sqlite3_stmt *columns = NULL;
    pm_text_clear(&haul->list);
    pm_text_clear(&haul->key);
    haul->columns = 0;
    bool rowid = sqlite3_table_column_metadata(haul->to, NULL, haul->table, "rowid", NULL, NULL,
                                               NULL, NULL, NULL) == SQLITE_OK;
    pm_text_add(&haul->key, rowid ? "rowid" : "");
    int rc = sqlite3_prepare_v2(haul->to, "SELECT name, pk FROM pragma_table_info(?1)", -1,
                                &columns, NULL);
    if (rc == SQLITE_OK)
        rc = sqlite3_bind_text(columns, 1, haul->table, -1, SQLITE_STATIC);
    while (rc == SQLITE_OK && (rc = sqlite3_step(columns)) == SQLITE_ROW) {
        rc = SQLITE_OK;
        const char *name = (const char *)sqlite3_column_text(columns, 0);
        if (name != NULL && sqlite3_table_column_metadata(haul->from, NULL, haul->table, name, NULL,
                                                          NULL, NULL, NULL, NULL) == SQLITE_OK) {
            pm_text_addf(&haul->list, "%s\"%s\"", haul->columns == 0 ? "" : ", ", name);
            haul->columns++;
        }
        if (name != NULL && !rowid && sqlite3_column_int(columns, 1) == 1)
            pm_text_addf(&haul->key, "\"%s\"", name);
    }
    sqlite3_finalize(columns);
    if (rc != SQLITE_OK && rc != SQLITE_DONE)
        return pm_store_fail(haul->to, rc, "looking at the tables", err);
    return pm_text_ok(&haul->list) && pm_text_ok(&haul->key) ? PM_OK : pm_fail_memory(err);
}

static enum pm_status haul_table(struct haul *haul, struct pm_error *err)
{
    haul->lost = 0;
    haul->left_out = 0;
    int64_t rows = 0;
    char *count = sqlite3_mprintf("SELECT count(*) FROM \"%w\"", haul->table);
    enum pm_status status = count == NULL
                                ? pm_fail_memory(err)
                                : pm_ask(haul->to, count, "looking at the tables", &rows, err);
    sqlite3_free(count);
    haul->filled = rows > 0;
    if (status == PM_OK)
        status = plan_table(haul, err);
    if (status == PM_OK && haul->columns == 0)
        haul->lost++;
    else if (status == PM_OK)
        status = copy_table(haul, err);
    if (status == PM_OK && haul->lost > 0) {
        pm_mend_tell(haul->mender, "Rows of table %s could not be read (in %lld places).",
                     haul->table, (long long)haul->lost);
    }
    if (status == PM_OK && haul->left_out > 0) {
        pm_mend_tell(haul->mender, "%lld rows of table %s break its rules and were left out.",
                     (long long)haul->left_out, haul->table);
    }
    return status;
}

/* Every table of the new file but those that are made from others. */
static enum pm_status haul_all(struct mender *mender, sqlite3 *from, struct pm_error *err)
{
    struct haul haul = {.mender = mender, .from = from, .to = mender->library->db};
    sqlite3_stmt *tables = NULL;
    /* Its one row comes with the table. */
    enum pm_status status =
        pm_execute(haul.to, "DELETE FROM shelf_head", "looking at the tables", err);
    if (status != PM_OK)
        return status;
    int rc = sqlite3_prepare_v2(haul.to,
                                "SELECT name FROM sqlite_schema WHERE type = 'table' AND "
                                "name NOT LIKE 'sqlite\\_%' ESCAPE '\\' AND "
                                "name NOT IN ('library', 'material_search', 'bottle_left')",
                                -1, &tables, NULL);
    while (status == PM_OK && rc == SQLITE_OK && (rc = sqlite3_step(tables)) == SQLITE_ROW) {
        rc = SQLITE_OK;
        haul.table = (const char *)sqlite3_column_text(tables, 0);
        status = haul.table == NULL ? pm_fail_memory(err) : haul_table(&haul, err);
    }
    if (status == PM_OK && rc != SQLITE_DONE)
        status = pm_store_fail(haul.to, rc, "looking at the tables", err);
    sqlite3_finalize(tables);
    pm_text_release(&haul.key);
    pm_text_release(&haul.list);
    return status;
}

/* ---- the two files ---- */

/* A library whose first page is hurt may have lost its mark, but not all its tables. */
static enum pm_status open_damaged(const char *path, sqlite3 **out, struct pm_error *err)
{
    int64_t tables = 0;
    if (access(path, F_OK) != 0)
        return pm_fail(err, PM_MISSING, "There is no file %s.", path);
    enum pm_status status = pm_connect(path, SQLITE_OPEN_READONLY, NULL, PM_BUSY_WAIT_MS, out, err);
    if (status == PM_OK) {
        sqlite3_db_config(*out, SQLITE_DBCONFIG_DEFENSIVE, 0, (int *)NULL);
        /* With this SQLite passes over table definitions it cannot read. */
        sqlite3_exec(*out, "PRAGMA writable_schema = ON", NULL, NULL, NULL);
        status = pm_ask(*out,
                        "SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND "
                        "name IN ('material', 'formula', 'trial', 'line', 'revision')",
                        "reading the damaged file", &tables, err);
    }
    if (status == PM_OK && tables == 0)
        status = pm_fail(err, PM_FOREIGN, "%s holds no table of a library of this program.", path);
    return status;
}

static enum pm_status fill(struct mender *mender, sqlite3 *from, struct pm_error *err)
{
    sqlite3 *to = mender->library->db;
    /* What was read will not fit together at first. */
    sqlite3_db_config(to, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, (int *)NULL);
    sqlite3_db_config(to, SQLITE_DBCONFIG_ENABLE_FKEY, 0, (int *)NULL);
    enum pm_status status = pm_library_begin(mender->library, err);
    if (status != PM_OK)
        return status;
    status = haul_all(mender, from, err);
    if (status == PM_OK)
        status = pm_mend(mender, err);
    status = pm_library_finish(mender->library, status, err);
    return status == PM_OK
               ? pm_library_verify(mender->library, mender->finding, mender->context, err)
               : status;
}

enum pm_status pm_library_salvage(const char *damaged, const char *into, pm_finding *finding,
                                  void *context, struct pm_error *err)
{
    struct mender mender = {.finding = finding, .context = context};
    sqlite3 *from = NULL;
    char *source = NULL;
    if (access(into, F_OK) == 0)
        return pm_fail(err, PM_EXISTS, "%s exists already.", into);
    enum pm_status status = pm_path_absolute(damaged, &source, err);
    if (status == PM_OK)
        status = open_damaged(source, &from, err);
    if (status == PM_OK)
        status = pm_library_open(into, PM_LIBRARY_CREATE, NULL, &mender.library, err);
    if (status == PM_OK)
        status = fill(&mender, from, err);
    bool made = mender.library != NULL;
    pm_library_close(mender.library);
    sqlite3_close(from);
    if (status != PM_OK && made)
        unlink(into);
    pm_free(source);
    return status;
}
