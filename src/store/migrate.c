/* SPDX-License-Identifier: MIT */
/*
 * Migrations.
 *
 * To add one: put schema/NNN-WORDS.sql beside the others, NNN being the next number. It is built
 * into the program and run when a library of an earlier step is opened; nothing else needs to be
 * changed. Put the functions for its tables into a .c of their own, their statements into
 * statements.h and statements.c. Rules for the SQL:
 *
 *   - a step that has shipped is never edited again: change tables by another step;
 *   - no BEGIN, COMMIT or PRAGMA: all steps run in one transaction with foreign keys off, and
 *     foreign_key_check and quick_check must pass before it is committed;
 *   - comment every table and column; STRICT; CHECK ranges; explicit keys; for rows that must not
 *     change, triggers before UPDATE, DELETE and INSERT of an existing key;
 *   - a column `checksum INTEGER NOT NULL` at the end of a table makes verify check its rows; fill
 *     it with pm_checksum('table', columns...), which steps may call too, as they may
 * pm_fold(name);
 *   - a column added to a table of an earlier step must be NULL in the rows that are there, else
 *     their checksums must be made anew;
 *   - append-only triggers also stop a migration: drop and re-create them around a change;
 *   - keep a library of the step in tests/store/samples (tests/store/test_steps.c).
 */
#include "migrate.h"
#include "backup.h"
#include "connection.h"
#include "embedded.h"

#include "permille/base/text.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

/* Number at the start of "NNN-WORDS.sql"; 0 for any other file. */
static int step_of(const struct pm_embedded *file)
{
    const char *name = file->name;
    int number = 0;
    size_t digits = strspn(name, "0123456789");
    size_t length = strlen(name);
    if (digits == 0 || digits > 6 || name[digits] != '-' || length < 5 ||
        strcmp(name + length - 4, ".sql") != 0)
        return 0;
    for (size_t i = 0; i < digits; i++)
        number = number * 10 + (name[i] - '0');
    return number;
}

static const struct pm_embedded *find_step(const struct pm_store_options *options, int number)
{
    for (size_t i = 0; i < options->file_count; i++)
        if (step_of(&options->files[i]) == number)
            return &options->files[i];
    return NULL;
}

int pm_migrate_newest(const struct pm_store_options *options)
{
    int newest = 0;
    while (find_step(options, newest + 1) != NULL)
        newest++;
    return newest;
}

static enum pm_status run_step(sqlite3 *db, const struct pm_embedded *file, struct pm_error *err)
{
    const char *sql = (const char *)file->data;
    const char *end = sql + file->length;
    int rc = SQLITE_OK;
    while (rc == SQLITE_OK && sql < end) {
        sqlite3_stmt *statement = NULL;
        rc = sqlite3_prepare_v2(db, sql, (int)(end - sql), &statement, &sql);
        while (rc == SQLITE_OK && statement != NULL) {
            rc = sqlite3_step(statement);
            if (rc == SQLITE_ROW) {
                rc = SQLITE_OK;
                continue;
            }
            break;
        }
        if (rc == SQLITE_DONE)
            rc = SQLITE_OK;
        if (rc == SQLITE_OK) {
            sqlite3_finalize(statement);
            continue;
        }
        enum pm_status status = pm_store_fail(db, rc, "preparing the library's tables", err);
        sqlite3_finalize(statement);
        return status;
    }
    return PM_OK;
}

/* "library.db" -> "library.before-2.db", numbered when that name is taken. */
static enum pm_status name_backup(const char *path, int step, struct pm_text *out,
                                  struct pm_error *err)
{
    size_t stem = strlen(path);
    if (stem > 3 && strcmp(path + stem - 3, ".db") == 0 && path[stem - 4] != '/')
        stem -= 3;
    for (int attempt = 1; attempt <= 99; attempt++) {
        pm_text_clear(out);
        pm_text_add_bytes(out, path, stem);
        pm_text_addf(out, ".before-%d", step);
        if (attempt > 1)
            pm_text_addf(out, "-%d", attempt);
        pm_text_add(out, ".db");
        if (!pm_text_ok(out))
            return pm_fail_memory(err);
        if (access(pm_text_get(out), F_OK) != 0)
            return PM_OK;
    }
    return pm_fail(err, PM_REFUSED, "There are too many old backups beside %s; remove some.", path);
}

/* A second connection copies: SQLite refuses to copy through the one that holds the write lock. */
static enum pm_status save_before(const char *path, const struct pm_store_options *options,
                                  const char *backup, struct pm_error *err)
{
    sqlite3 *reader = NULL;
    enum pm_status status =
        pm_connect(path, SQLITE_OPEN_READONLY, options->vfs, options->wait_ms, &reader, err);
    if (status == PM_OK)
        status = pm_backup_copy(reader, backup, false, options->vfs, options->watch, err);
    sqlite3_close(reader);
    return status;
}

enum pm_status pm_migrate_steps(sqlite3 *db, const struct pm_store_options *options, int from,
                                int to, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    /* A table made anew takes the old one's name while triggers of others already speak of it. */
    sqlite3_db_config(db, SQLITE_DBCONFIG_LEGACY_ALTER_TABLE, 1, NULL);
    for (int step = from; status == PM_OK && step <= to; step++) {
        status = pm_watch_go_on(options->watch, "bringing the library up to date", step - from,
                                to - from + 1, err);
        if (status == PM_OK)
            status = run_step(db, find_step(options, step), err);
    }
    sqlite3_db_config(db, SQLITE_DBCONFIG_LEGACY_ALTER_TABLE, 0, NULL);
    char pragma[96];
    snprintf(pragma, sizeof pragma, "PRAGMA application_id = %d; PRAGMA user_version = %d",
             PM_APPLICATION_ID, to);
    if (status == PM_OK)
        status = pm_execute(db, pragma, "preparing the library's tables", err);
    return status;
}

static enum pm_status run_steps(sqlite3 *db, int from, const struct pm_store_options *options,
                                struct pm_error *err)
{
    enum pm_status status = pm_migrate_steps(db, options, from, pm_migrate_newest(options), err);
    if (status == PM_OK)
        status = pm_watch_go_on(options->watch, "checking the library", 0, 0, err);
    if (status == PM_OK)
        status = pm_connection_check(db, false, err);
    return status;
}

/* ---- whether the tables are of the step that the file says ---- */

/* Names of a table's columns, in their order; NULL: there is no such table. */
#define COLUMNS_OF(table)                                                                          \
    "(SELECT group_concat(name) FROM (SELECT name FROM pragma_table_info(" table ") ORDER BY "     \
    "cid))"

static enum pm_status make_model(const struct pm_store_options *options, int step, sqlite3 **out,
                                 struct pm_error *err)
{
    enum pm_status status =
        pm_connect(":memory:", SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, NULL, 0, out, err);
    return status == PM_OK ? pm_migrate_steps(*out, options, 1, step, err) : status;
}

/* The columns of a table of the model, in the file's table of that name. */
static enum pm_status same_columns(sqlite3_stmt *wanted, sqlite3 *db, sqlite3_stmt *have,
                                   bool *same, struct pm_error *err)
{
    const char *names = (const char *)sqlite3_column_text(wanted, 1);
    if (names == NULL)
        return pm_fail_memory(err);
    int rc = sqlite3_bind_value(have, 1, sqlite3_column_value(wanted, 0));
    if (rc == SQLITE_OK)
        rc = sqlite3_step(have);
    const char *found = rc == SQLITE_ROW ? (const char *)sqlite3_column_text(have, 0) : NULL;
    if (rc == SQLITE_ROW && found == NULL && sqlite3_errcode(db) == SQLITE_NOMEM)
        rc = SQLITE_NOMEM;
    *same = found != NULL && strcmp(names, found) == 0;
    sqlite3_reset(have);
    return rc == SQLITE_ROW ? PM_OK : pm_store_fail(db, rc, "looking at the tables", err);
}

static enum pm_status compare_tables(sqlite3 *model, sqlite3 *db, bool *same, struct pm_error *err)
{
    sqlite3_stmt *wanted = NULL, *have = NULL;
    enum pm_status status = PM_OK;
    int rc = sqlite3_prepare_v2(model,
                                "SELECT t.name, " COLUMNS_OF("t.name") " FROM sqlite_schema t "
                                                                       "WHERE t.type = 'table'",
                                -1, &wanted, NULL);
    if (rc != SQLITE_OK)
        status = pm_store_fail(model, rc, "looking at the tables", err);
    if (status == PM_OK &&
        (rc = sqlite3_prepare_v2(db, "SELECT " COLUMNS_OF("?1"), -1, &have, NULL)) != SQLITE_OK)
        status = pm_store_fail(db, rc, "looking at the tables", err);
    while (status == PM_OK && *same && (rc = sqlite3_step(wanted)) == SQLITE_ROW)
        status = same_columns(wanted, db, have, same, err);
    if (status == PM_OK && rc != SQLITE_ROW && rc != SQLITE_DONE)
        status = pm_store_fail(model, rc, "looking at the tables", err);
    sqlite3_finalize(wanted);
    sqlite3_finalize(have);
    return status;
}

/* One flipped bit in the header's number would have a step done twice, and what it moved lost. */
static enum pm_status refuse_other_step(sqlite3 *db, const char *path,
                                        const struct pm_store_options *options, int step,
                                        struct pm_error *err)
{
    sqlite3 *model = NULL;
    bool same = true;
    enum pm_status status = make_model(options, step, &model, err);
    if (status == PM_OK)
        status = compare_tables(model, db, &same, err);
    sqlite3_close(model);
    if (status != PM_OK || same)
        return status;
    return pm_fail(err, PM_DAMAGED,
                   "%s is damaged: it says that its tables are at step %d, and they are not; a "
                   "backup or \"salvage\" helps.",
                   path, step);
}

/* Inside the write transaction. */
static enum pm_status migrate_locked(sqlite3 *db, const char *path,
                                     const struct pm_store_options *options, struct pm_text *backup,
                                     struct pm_error *err)
{
    int64_t version = 0;
    enum pm_status status =
        pm_ask(db, "PRAGMA user_version", "looking at the library", &version, err);
    if (status != PM_OK || version >= pm_migrate_newest(options))
        return status; /* another process was faster */
    int from = (int)version + 1;
    if (version > 0) {
        status = refuse_other_step(db, path, options, (int)version, err);
        if (status == PM_OK)
            status = name_backup(path, from, backup, err);
        if (status == PM_OK)
            status = save_before(path, options, pm_text_get(backup), err);
        if (status != PM_OK) {
            pm_text_clear(backup);
            return status;
        }
    }
    return run_steps(db, from, options, err);
}

enum pm_status pm_migrate(sqlite3 *db, const char *path, const struct pm_store_options *options,
                          struct pm_error *err)
{
    struct pm_text backup = PM_TEXT_EMPTY;
    enum pm_status status =
        pm_execute(db, "PRAGMA foreign_keys = OFF", "preparing the library's tables", err);
    if (status == PM_OK)
        status = pm_execute(db, "BEGIN IMMEDIATE", "preparing the library's tables", err);
    if (status == PM_OK) {
        pm_connection_watch(db, options->watch);
        status = migrate_locked(db, path, options, &backup, err);
        pm_connection_watch(db, NULL); /* ending it is never stopped */
        if (status == PM_OK) {
            status = pm_execute(db, "COMMIT", "saving the library's tables", err);
        } else if (backup.length > 0) {
            /* The steps are undone, so the copy is one of what is still there. After a commit that
             * failed it stays: nobody knows what the disk holds. */
            unlink(pm_text_get(&backup));
        }
        if (status != PM_OK && !sqlite3_get_autocommit(db))
            sqlite3_exec(db, "ROLLBACK", NULL, NULL, NULL);
    }
    pm_text_release(&backup);
    return status;
}

enum pm_status pm_migrate_copy(sqlite3 *db, const char *path,
                               const struct pm_store_options *options, int step,
                               struct pm_error *err)
{
    enum pm_status status = refuse_other_step(db, path, options, step, err);
    if (status == PM_OK)
        status = pm_execute(db, "PRAGMA foreign_keys = OFF; BEGIN", "reading the library", err);
    if (status == PM_OK)
        status = run_steps(db, step + 1, options, err);
    return status == PM_OK
               ? pm_execute(db, "COMMIT; PRAGMA foreign_keys = ON", "reading the library", err)
               : status;
}

enum pm_status pm_migrate_model(const struct pm_store_options *options, sqlite3 **out,
                                struct pm_error *err)
{
    *out = NULL;
    enum pm_status status =
        pm_connect(":memory:", SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, NULL, 0, out, err);
    return status == PM_OK ? run_steps(*out, 1, options, err) : status;
}

/* ---- what is not ours ---- */

static bool stands_in_a_step(const struct pm_store_options *options, const char *sql)
{
    for (size_t i = 0; i < options->file_count; i++)
        if (step_of(&options->files[i]) > 0 &&
            memmem(options->files[i].data, options->files[i].length, sql, strlen(sql)) != NULL)
            return true;
    return false;
}

/* SQLite rewords what it keeps when tables are renamed: then only the steps themselves can tell. */
static enum pm_status made_by_steps(const struct pm_store_options *options, int step,
                                    sqlite3_stmt *found, bool *out, struct pm_error *err)
{
    sqlite3 *model = NULL;
    sqlite3_stmt *same = NULL;
    int rc = SQLITE_OK;
    enum pm_status status = make_model(options, step, &model, err);
    if (status == PM_OK)
        rc = sqlite3_prepare_v2(model,
                                "SELECT 1 FROM sqlite_schema WHERE type = ?1 AND name = ?2 AND "
                                "sql = ?3",
                                -1, &same, NULL);
    for (int i = 0; status == PM_OK && rc == SQLITE_OK && i < 3; i++)
        rc = sqlite3_bind_value(same, i + 1, sqlite3_column_value(found, i));
    if (status == PM_OK && rc == SQLITE_OK)
        rc = sqlite3_step(same);
    *out = rc == SQLITE_ROW;
    if (status == PM_OK && rc != SQLITE_ROW && rc != SQLITE_DONE)
        status = pm_store_fail(model, rc, "looking at the tables", err);
    sqlite3_finalize(same);
    sqlite3_close(model);
    return status;
}

static enum pm_status refuse_stranger(const char *path, const struct pm_store_options *options,
                                      int step, sqlite3_stmt *found, struct pm_error *err)
{
    const char *type = (const char *)sqlite3_column_text(found, 0);
    const char *name = (const char *)sqlite3_column_text(found, 1);
    const char *sql = (const char *)sqlite3_column_text(found, 2);
    bool ours = false;
    if (type == NULL || name == NULL || sql == NULL)
        return pm_fail_memory(err);
    /* Views come with no step. */
    if (strcmp(type, "trigger") == 0 && stands_in_a_step(options, sql))
        return PM_OK;
    const enum pm_status status = made_by_steps(options, step, found, &ours, err);
    if (status != PM_OK || ours)
        return status;
    return pm_fail(err, PM_DAMAGED,
                   "%s holds the %s \"%s\", which is none of this program's, so it is not opened; "
                   "\"salvage\" takes over what is.",
                   path, strcmp(type, "table") == 0 ? "virtual table" : type, name);
}

enum pm_status pm_migrate_refuse_strangers(sqlite3 *db, const char *path,
                                           const struct pm_store_options *options, int step,
                                           struct pm_error *err)
{
    sqlite3_stmt *found = NULL;
    enum pm_status status = PM_OK;
    int rc = sqlite3_prepare_v2(db,
                                "SELECT type, name, ifnull(sql, '') FROM sqlite_schema WHERE type "
                                "IN ('view', 'trigger') OR sql LIKE 'CREATE VIRTUAL%'",
                                -1, &found, NULL);
    while (status == PM_OK && rc == SQLITE_OK && (rc = sqlite3_step(found)) == SQLITE_ROW) {
        rc = SQLITE_OK;
        status = refuse_stranger(path, options, step, found, err);
    }
    if (status == PM_OK && rc != SQLITE_DONE)
        status = pm_store_fail(db, rc, "looking at the tables", err);
    sqlite3_finalize(found);
    return status;
}
