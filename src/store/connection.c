/* SPDX-License-Identifier: MIT */
/*
 * SQLite connections (see connection.h).
 */
#include "connection.h"
#include "checksum.h"
#include "neat.h"
#include "store.h"

#include <stdlib.h>
#include <string.h>

static int set_trust(sqlite3 *db)
{
    static const struct {
        int option;
        int value;
    } switches[] = {
        {SQLITE_DBCONFIG_DEFENSIVE, 1},
        {SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0},
        {SQLITE_DBCONFIG_DQS_DML, 0},
        {SQLITE_DBCONFIG_DQS_DDL, 0},
        {SQLITE_DBCONFIG_ENABLE_LOAD_EXTENSION, 0},
        {SQLITE_DBCONFIG_ENABLE_TRIGGER, 1},
        {SQLITE_DBCONFIG_ENABLE_FKEY, 1},
    };
    for (size_t i = 0; i < sizeof switches / sizeof switches[0]; i++) {
        int rc = sqlite3_db_config(db, switches[i].option, switches[i].value, (int *)NULL);
        if (rc != SQLITE_OK)
            return rc;
    }
    return SQLITE_OK;
}

/* SQLite asks again and again while a lock is not given; `count` begins at 0 with each lock. */
static int wait_a_moment(void *context, int count)
{
    struct pm_patience *patience = context;
    const int left = patience->wait_ms - patience->waited_ms;
    const int moment = count < 10 ? 1 + count * 2 : 25;

    if (left <= 0)
        return 0;
    sqlite3_sleep(moment < left ? moment : left);
    patience->waited_ms += moment;
    return 1;
}

int pm_connection_wait(sqlite3 *db, struct pm_patience *patience)
{
    return sqlite3_busy_handler(db, wait_a_moment, patience);
}

/* Nonzero stops the statement. */
static int ask_watch(void *context)
{
    return pm_watch_go_on(context, NULL, 0, 0, NULL) != PM_OK;
}

void pm_connection_watch(sqlite3 *db, const struct pm_watch *watch)
{
    sqlite3_progress_handler(db, watch != NULL ? PM_STATEMENT_STEPS : 0,
                             watch != NULL ? ask_watch : NULL, (void *)(uintptr_t)watch);
}

enum pm_status pm_connect(const char *path, int sqlite_flags, const char *vfs, int wait_ms,
                          sqlite3 **out, struct pm_error *err)
{
    sqlite3 *db = NULL;
    /* Nobody asks how much memory SQLite has; counting it takes a lock for every piece. Refused,
     * and of no matter, once SQLite is in use. */
    (void)sqlite3_config(SQLITE_CONFIG_MEMSTATUS, 0);
    int rc = sqlite3_open_v2(path, &db, sqlite_flags | SQLITE_OPEN_EXRESCODE, vfs);
    if (rc == SQLITE_OK)
        rc = sqlite3_busy_timeout(db, wait_ms);
    if (rc == SQLITE_OK)
        rc = set_trust(db);
    if (rc == SQLITE_OK)
        rc = pm_checksum_register(db);
    if (rc == SQLITE_OK)
        rc = pm_fold_register(db);
    if (rc == SQLITE_OK)
        rc = pm_neat_register(db);
    *out = NULL;
    if (rc != SQLITE_OK) {
        enum pm_status status = pm_store_fail(db, rc, "opening the file", err);
        sqlite3_close(db);
        return status;
    }
    *out = db;
    return PM_OK;
}

enum pm_status pm_execute(sqlite3 *db, const char *sql, const char *doing, struct pm_error *err)
{
    int rc = sqlite3_exec(db, sql, NULL, NULL, NULL);
    return rc == SQLITE_OK ? PM_OK : pm_store_fail(db, rc, doing, err);
}

enum pm_status pm_ask(sqlite3 *db, const char *sql, const char *doing, int64_t *out,
                      struct pm_error *err)
{
    sqlite3_stmt *statement = NULL;
    int rc = sqlite3_prepare_v2(db, sql, -1, &statement, NULL);
    if (rc == SQLITE_OK)
        rc = sqlite3_step(statement);
    int64_t value = rc == SQLITE_ROW ? sqlite3_column_int64(statement, 0) : 0;
    enum pm_status status = PM_OK;
    if (rc != SQLITE_ROW && rc != SQLITE_DONE)
        status = pm_store_fail(db, rc, doing, err);
    else
        *out = value;
    sqlite3_finalize(statement);
    return status;
}

/* Sets a pragma and makes sure that the setting took: SQLite ignores silently what it does not
 * know or cannot do. */
static enum pm_status insist(sqlite3 *db, const char *set, const char *get, int64_t wanted,
                             struct pm_error *err)
{
    int64_t have = 0;
    enum pm_status status = pm_execute(db, set, "preparing the library", err);
    if (status == PM_OK)
        status = pm_ask(db, get, "preparing the library", &have, err);
    if (status == PM_OK && have != wanted) {
        status = pm_fail(err, PM_IO,
                         "SQLite does not follow \"%s\", which the library's safety "
                         "depends on.",
                         set);
    }
    return status;
}

/* The journal mode is told as a word, and setting it may meet another process's lock. */
static enum pm_status insist_on_journal(sqlite3 *db, struct pm_error *err)
{
    sqlite3_stmt *statement = NULL;
    int rc = sqlite3_prepare_v2(db, "PRAGMA journal_mode = DELETE", -1, &statement, NULL);
    if (rc == SQLITE_OK)
        rc = sqlite3_step(statement);
    enum pm_status status = PM_OK;
    if (rc != SQLITE_ROW) {
        status = pm_store_fail(db, rc, "preparing the library", err);
    } else {
        const char *mode = (const char *)sqlite3_column_text(statement, 0);
        if (mode == NULL) {
            status = pm_fail_memory(err);
        } else if (strcmp(mode, "delete") != 0) {
            status = pm_fail(err, PM_BUSY,
                             "Another program uses the library in a way (journal mode %s) that "
                             "must end first.",
                             mode);
        }
    }
    sqlite3_finalize(statement);
    return status;
}

enum pm_status pm_connection_prepare(sqlite3 *db, bool read_only, struct pm_error *err)
{
    static const struct {
        const char *set, *get;
        int64_t wanted;
    } pragmas[] = {
        {"PRAGMA foreign_keys = ON", "PRAGMA foreign_keys", 1},
        {"PRAGMA recursive_triggers = ON", "PRAGMA recursive_triggers", 1},
        {"PRAGMA cell_size_check = ON", "PRAGMA cell_size_check", 1},
        {"PRAGMA trusted_schema = OFF", "PRAGMA trusted_schema", 0},
        {"PRAGMA temp_store = MEMORY", "PRAGMA temp_store", 2},
        {"PRAGMA cache_size = -16000", "PRAGMA cache_size", -16000},
        {"PRAGMA synchronous = EXTRA", "PRAGMA synchronous", 3},
    };
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < sizeof pragmas / sizeof pragmas[0]; i++)
        status = insist(db, pragmas[i].set, pragmas[i].get, pragmas[i].wanted, err);
    if (status == PM_OK && !read_only)
        status = insist_on_journal(db, err);
    return status;
}

int pm_integrity_code(const char *line)
{
    const char *at = strstr(line, "error code");
    if (at == NULL)
        return SQLITE_OK;
    at += strcspn(at, "0123456789");
    const int rc = (int)strtol(at, NULL, 10);
    switch (rc & 0xFF) {
    case SQLITE_NOMEM:
    case SQLITE_IOERR:
    case SQLITE_FULL:
    case SQLITE_BUSY:
    case SQLITE_CANTOPEN:
    case SQLITE_INTERRUPT:
        return rc;
    default:
        return SQLITE_OK;
    }
}

enum pm_status pm_connection_check(sqlite3 *db, bool thorough, struct pm_error *err)
{
    const char *sql = thorough ? "PRAGMA integrity_check(1)" : "PRAGMA quick_check(1)";
    sqlite3_stmt *statement = NULL;
    int rc = sqlite3_prepare_v2(db, sql, -1, &statement, NULL);
    if (rc == SQLITE_OK)
        rc = sqlite3_step(statement);
    enum pm_status status = PM_OK;
    if (rc != SQLITE_ROW) {
        status = pm_store_fail(db, rc, "checking the file", err);
    } else {
        const char *said = (const char *)sqlite3_column_text(statement, 0);
        const int code = said == NULL ? SQLITE_NOMEM : pm_integrity_code(said);
        if (code != SQLITE_OK)
            status = pm_store_fail(db, code, "checking the file", err);
        else if (strcmp(said, "ok") != 0)
            status = pm_fail(err, PM_DAMAGED, "The file is damaged: %s.", said);
    }
    sqlite3_finalize(statement);
    if (status != PM_OK)
        return status;
    int64_t orphans = 0;
    status = pm_ask(db, "SELECT count(*) FROM pragma_foreign_key_check", "checking the file",
                    &orphans, err);
    if (status == PM_OK && orphans != 0) {
        status = pm_fail(err, PM_DAMAGED, "%lld rows refer to rows that do not exist.",
                         (long long)orphans);
    }
    return status;
}
