/* SPDX-License-Identifier: MIT */
/*
 * Backups (see backup.h).
 */
#include "backup.h"
#include "connection.h"
#include "files.h"
#include "store.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

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

static enum pm_status sync_file(const char *path, struct pm_error *err)
{
    int file = open(path, O_RDWR | O_CLOEXEC);
    enum pm_status status = PM_OK;
    if (file < 0 || fsync(file) != 0)
        status = pm_file_fail(errno, "Cannot save", path, err);
    if (file >= 0)
        close(file);
    return status;
}

/* A journal beside the place belongs to a library there that was left in the middle of a write;
 * SQLite would roll it back into the copy. */
static enum pm_status refuse_journal(const char *path, struct pm_error *err)
{
    static const char *const tails[] = {"-journal", "-wal"};
    struct pm_text name = PM_TEXT_EMPTY;
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < sizeof tails / sizeof tails[0]; i++) {
        pm_text_clear(&name);
        pm_text_addf(&name, "%s%s", path, tails[i]);
        if (!pm_text_ok(&name)) {
            status = pm_fail_memory(err);
        } else if (access(pm_text_get(&name), F_OK) == 0) {
            status = pm_fail(err, PM_BUSY,
                             "%s is in use or was left in the middle of a change (%s is there); "
                             "choose another name.",
                             path, pm_text_get(&name));
        }
    }
    pm_text_release(&name);
    return status;
}

static enum pm_status put_in_place(const char *temporary, const char *path, bool replace,
                                   struct pm_error *err)
{
    /* link() refuses an existing name, rename() does not. File systems without links get the
     * second-best: a look before the rename. */
    int failed = -1;
    if (replace) {
        failed = rename(temporary, path);
    } else {
        failed = link(temporary, path);
        if (failed != 0 && (errno == EPERM || errno == EOPNOTSUPP) && access(path, F_OK) != 0)
            failed = rename(temporary, path);
        else if (failed == 0)
            unlink(temporary);
    }
    if (failed != 0 && errno == EEXIST)
        return pm_fail(err, PM_EXISTS, "%s exists already.", path);
    return failed == 0 ? pm_folder_sync(path, err)
                       : pm_file_fail(errno, "Cannot put the copy at", path, err);
}

enum pm_status pm_backup_copy(sqlite3 *db, const char *path, bool replace, const char *vfs,
                              struct pm_error *err)
{
    if (!replace && access(path, F_OK) == 0)
        return pm_fail(err, PM_EXISTS, "%s exists already.", path);
    enum pm_status status = refuse_journal(path, err);
    if (status != PM_OK)
        return status;
    struct pm_text temporary = PM_TEXT_EMPTY;
    pm_text_addf(&temporary, "%s.copying-%ld", path, (long)getpid());
    if (!pm_text_ok(&temporary))
        return pm_fail_memory(err);
    const char *name = pm_text_get(&temporary);
    bool made = false;
    unlink(name); /* left by a process of the same number that died */
    status = pm_file_make(name, &made, err);
    if (status == PM_OK)
        status = write_copy(db, name, vfs, err);
    if (status == PM_OK)
        status = sync_file(name, err);
    if (status == PM_OK)
        status = put_in_place(name, path, replace, err);
    if (status != PM_OK && made)
        unlink(name);
    pm_text_release(&temporary);
    return status;
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
