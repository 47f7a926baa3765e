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

static enum pm_status copy_pages(sqlite3 *from, sqlite3 *to, struct pm_error *err)
{
    sqlite3_backup *backup = sqlite3_backup_init(to, "main", from, "main");
    if (backup == NULL)
        return pm_store_fail(to, sqlite3_extended_errcode(to), "starting the copy", err);
    /* All pages in one step: a reader's lock is held for milliseconds, and the copy is of one
     * moment. */
    int rc = sqlite3_backup_step(backup, -1);
    int end = sqlite3_backup_finish(backup);
    if (rc == SQLITE_DONE)
        rc = end;
    return rc == SQLITE_OK ? PM_OK : pm_store_fail(to, rc, "copying the library", err);
}

static enum pm_status write_copy(sqlite3 *db, const char *temporary, const char *vfs,
                                 struct pm_error *err)
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
        status = copy_pages(db, copy, err);
    if (status == PM_OK)
        status = pm_connection_check(copy, true, err);
    sqlite3_close(copy);
    return status;
}

enum pm_status pm_backup_copy(sqlite3 *db, const char *path, bool replace, const char *vfs,
                              struct pm_error *err)
{
    struct pm_placing placing;
    enum pm_status status = pm_placing_begin(&placing, path, replace, err);
    if (status == PM_OK)
        status = write_copy(db, pm_text_get(&placing.temporary), vfs, err);
    return pm_placing_end(&placing, status, err);
}

enum pm_status pm_library_backup(struct pm_library *library, const char *path, bool replace,
                                 struct pm_error *err)
{
    if (library->depth > 0)
        return pm_fail(err, PM_REFUSED, "A backup cannot be made in the middle of a change.");
    struct stat ours, theirs;
    if (stat(library->path, &ours) == 0 && stat(path, &theirs) == 0) {
        if (ours.st_dev == theirs.st_dev && ours.st_ino == theirs.st_ino) {
            return pm_fail(err, PM_REFUSED,
                           "%s is the library itself; a backup needs another name.", path);
        }
        if (!S_ISREG(theirs.st_mode))
            return pm_fail(err, PM_REFUSED, "%s is not a file that a backup could replace.", path);
    }
    char *place = NULL;
    enum pm_status status = pm_path_absolute(path, &place, err);
    if (status == PM_OK)
        status = pm_backup_copy(library->db, place, replace, NULL, err);
    pm_free(place);
    return status;
}
