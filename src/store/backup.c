/* SPDX-License-Identifier: MIT */
/*
 * Backups (see backup.h).
 */
#include "backup.h"
#include "connection.h"
#include "files.h"
#include "placing.h"
#include "store.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"

#include <sys/stat.h>

#define PAGES_AT_ONCE 1000 /* between two questions whether to go on */

/* SQLite copies into memory only where the pages are of one size. */
static enum pm_status same_page_size(sqlite3 *from, const char *from_name, sqlite3 *to,
                                     const char *to_name, struct pm_error *err)
{
    int64_t size = 0;
    char *ask = sqlite3_mprintf("PRAGMA \"%w\".page_size", from_name), *set = NULL;
    enum pm_status status =
        ask == NULL ? pm_fail_memory(err) : pm_ask(from, ask, "looking at the library", &size, err);
    if (status == PM_OK)
        set = sqlite3_mprintf("PRAGMA \"%w\".page_size = %lld", to_name, (long long)size);
    if (status == PM_OK)
        status = set == NULL ? pm_fail_memory(err) : pm_execute(to, set, "starting the copy", err);
    sqlite3_free(ask);
    sqlite3_free(set);
    return status;
}

static enum pm_status step_copy(sqlite3_backup *backup, sqlite3 *to, const struct pm_watch *watch,
                                struct pm_error *err)
{
    enum pm_status status = PM_OK;
    int rc = SQLITE_OK;
    while (status == PM_OK &&
           (rc = sqlite3_backup_step(backup, watch == NULL ? -1 : PAGES_AT_ONCE)) == SQLITE_OK) {
        const int all = sqlite3_backup_pagecount(backup);
        status = pm_watch_go_on(watch, "copying the library",
                                all - sqlite3_backup_remaining(backup), all, err);
    }
    const int end = sqlite3_backup_finish(backup);
    if (rc == SQLITE_DONE)
        rc = end;
    return status != PM_OK || rc == SQLITE_OK ? status
                                              : pm_store_fail(to, rc, "copying the library", err);
}

enum pm_status pm_copy_pages(sqlite3 *from, const char *from_name, sqlite3 *to, const char *to_name,
                             const struct pm_watch *watch, struct pm_error *err)
{
    /* What is read goes on being read, so that nobody writes between two pages. */
    const bool view = sqlite3_get_autocommit(from);
    int64_t step = 0;
    enum pm_status status = view ? pm_execute(from, "BEGIN", "starting the copy", err) : PM_OK;
    if (status == PM_OK) /* the view begins with the first read */
        status = pm_ask(from, "PRAGMA user_version", "starting the copy", &step, err);
    sqlite3_backup *backup = NULL;
    if (status == PM_OK)
        status = same_page_size(from, from_name, to, to_name, err);
    if (status == PM_OK) {
        backup = sqlite3_backup_init(to, to_name, from, from_name);
        status = backup == NULL
                     ? pm_store_fail(to, sqlite3_extended_errcode(to), "starting the copy", err)
                     : step_copy(backup, to, watch, err);
    }
    if (view)
        sqlite3_exec(from, "ROLLBACK", NULL, NULL, NULL);
    return status;
}

static enum pm_status write_copy(sqlite3 *db, const char *temporary, const char *vfs,
                                 const struct pm_watch *watch, struct pm_error *err)
{
    sqlite3 *copy = NULL;
    enum pm_status status =
        pm_connect(temporary, SQLITE_OPEN_READWRITE, vfs, PM_BUSY_WAIT_MS, &copy, err);
    if (status == PM_OK) {
        /* Nobody else knows the file: no journal is needed beside it. */
        status = pm_execute(copy, "PRAGMA journal_mode = MEMORY; PRAGMA synchronous = FULL",
                            "preparing the copy", err);
    }
    if (status == PM_OK)
        status = pm_watch_go_on(watch, "copying the library", 0, 0, err);
    if (status == PM_OK)
        status = pm_copy_pages(db, "main", copy, "main", watch, err);
    if (status == PM_OK)
        status = pm_watch_go_on(watch, "checking the copy", 0, 0, err);
    if (status == PM_OK) {
        pm_connection_watch(copy, watch);
        status = pm_connection_check(copy, true, err);
    }
    sqlite3_close(copy);
    return status;
}

enum pm_status pm_backup_copy(sqlite3 *db, const char *path, bool replace, const char *vfs,
                              const struct pm_watch *watch, struct pm_error *err)
{
    struct pm_placing placing;
    enum pm_status status = pm_placing_begin(&placing, path, replace, err);
    if (status == PM_OK)
        status = write_copy(db, pm_text_get(&placing.temporary), vfs, watch, err);
    return pm_placing_end(&placing, status, err);
}

enum pm_status pm_library_backup(struct pm_library *library, const char *path, bool replace,
                                 struct pm_error *err)
{
    if (library->depth > 0)
        return pm_fail(err, PM_REFUSED, "A backup cannot be made in the middle of a change.");
    if (pm_same_file(library->path, path))
        return pm_fail(err, PM_REFUSED, "%s is the library itself; a backup needs another name.",
                       path);
    struct stat theirs;
    if (stat(path, &theirs) == 0 && !S_ISREG(theirs.st_mode))
        return pm_fail(err, PM_REFUSED, "%s is not a file that a backup could replace.", path);
    char *place = NULL;
    enum pm_status status = pm_path_absolute(path, &place, err);
    if (status == PM_OK)
        status = pm_backup_copy(library->db, place, replace, NULL, library->watch, err);
    pm_free(place);
    return status;
}
