/* SPDX-License-Identifier: MIT */
/*
 * One sentence for every way in which SQLite can fail.
 */
#include "store.h"

#include "permille/base/watch.h"

#include <errno.h>
#include <string.h>

/* A rule of the schema was broken: the triggers' own words are the best sentence there is. */
static enum pm_status broken_rule(sqlite3 *db, int rc, const char *doing, struct pm_error *err)
{
    const char *said = db == NULL ? "a rule of the library" : sqlite3_errmsg(db);
    switch (rc) {
    case SQLITE_CONSTRAINT_TRIGGER:
        return pm_fail(err, PM_REFUSED, "Refused while %s: %s.", doing, said);
    case SQLITE_CONSTRAINT_UNIQUE:
    case SQLITE_CONSTRAINT_PRIMARYKEY:
    case SQLITE_CONSTRAINT_ROWID:
        return pm_fail(err, PM_EXISTS, "Refused while %s: it is there already (%s).", doing, said);
    case SQLITE_CONSTRAINT_FOREIGNKEY:
        return pm_fail(err, PM_MISSING,
                       "Refused while %s: something that is referred to does not exist.", doing);
    default:
        return pm_fail(err, PM_INVALID, "Refused while %s: a value is out of its range (%s).",
                       doing, said);
    }
}

/* What the system said last of the library's file; 0: nothing, or it is not known. */
static int error_of_file(sqlite3 *db)
{
    int number = 0;
    if (db != NULL)
        sqlite3_file_control(db, "main", SQLITE_FCNTL_LAST_ERRNO, &number);
    return number;
}

/* Of a commit that fails SQLite keeps it at the file only. */
static int system_error(sqlite3 *db)
{
    const int number = db == NULL ? 0 : sqlite3_system_errno(db);
    return number != 0 ? number : error_of_file(db);
}

/* What cannot be read SQLite calls corrupt: a statement turns the code of a failed read
 * (SQLITE_IOERR_CORRUPTFS) into that. */
static bool could_not_be_read(sqlite3 *db)
{
    const int number = error_of_file(db);
    return number == EIO || number == ENXIO || number == ERANGE;
}

/* Then no statement can be prepared, not even those that check; SQLite has no code of its own for
 * it, and its sentence names the table. */
static bool tables_unreadable(sqlite3 *db)
{
    static const char begins[] = "malformed database schema";
    return db != NULL && strncmp(sqlite3_errmsg(db), begins, strlen(begins)) == 0;
}

/* What the system said of a file operation that failed: not every failure to write is a fault of
 * the disk. */
static enum pm_status broken_disk(sqlite3 *db, int rc, const char *doing, struct pm_error *err)
{
    switch (system_error(db)) {
    case EFBIG:
        return pm_fail(err, PM_FULL,
                       "Files may not grow any further here: a limit on their size is set (while "
                       "%s).",
                       doing);
    case EDQUOT:
    case ENOSPC:
        return pm_fail(err, PM_FULL, "No space is left on the disk (while %s).", doing);
    default:
        return pm_fail(err, PM_IO, "The disk failed while %s (code %d).", doing, rc);
    }
}

enum pm_status pm_store_fail(sqlite3 *db, int rc, const char *doing, struct pm_error *err)
{
    switch (rc) {
    case SQLITE_IOERR_NOMEM:
        return pm_fail_memory(err);
    case SQLITE_READONLY_ROLLBACK:
    case SQLITE_READONLY_RECOVERY:
        return pm_fail(err, PM_IO,
                       "The library was left in the middle of a change and cannot be written, so "
                       "the change cannot be undone; open it where it can be written.");
    case SQLITE_READONLY_DBMOVED:
        return pm_fail(err, PM_IO, "The library's file was moved or removed while it was open.");
    default:
        break;
    }
    switch (rc & 0xFF) {
    case SQLITE_NOMEM:
        return pm_fail_memory(err);
    case SQLITE_FULL:
        return pm_fail(err, PM_FULL, "No space is left on the disk (while %s).", doing);
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return pm_fail(err, PM_BUSY,
                       "Another program is using the library (while %s); "
                       "try again when it is done.",
                       doing);
    case SQLITE_READONLY:
        return pm_fail(err, PM_IO, "The library can only be read (while %s).", doing);
    case SQLITE_CANTOPEN:
        return pm_fail(err, PM_IO,
                       "The library's file, or its journal beside it, cannot be opened (while %s).",
                       doing);
    case SQLITE_PERM:
    case SQLITE_AUTH:
        return pm_fail(err, PM_IO, "Access to the library is not allowed (while %s).", doing);
    case SQLITE_IOERR:
    case SQLITE_PROTOCOL:
    case SQLITE_NOLFS:
        return broken_disk(db, rc, doing, err);
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
        if (could_not_be_read(db))
            return broken_disk(db, rc, doing, err);
        if (tables_unreadable(db))
            return pm_fail(
                err, PM_DAMAGED,
                "The library's list of tables is damaged, so none of them can be read the "
                "usual way (SQLite: %s); a backup or \"salvage\" helps.",
                sqlite3_errmsg(db));
        return pm_fail(err, PM_DAMAGED,
                       "The library's file is damaged (found while %s); \"verify\" says where, a "
                       "backup or \"salvage\" helps.",
                       doing);
    case SQLITE_TOOBIG:
        return pm_fail(err, PM_INVALID, "A text is too long (while %s).", doing);
    case SQLITE_CONSTRAINT:
        return broken_rule(db, rc, doing, err);
    case SQLITE_INTERRUPT: /* the watch said no */
        return pm_fail_stopped(err);
    case SQLITE_ABORT:
        return pm_fail(err, PM_IO, "The change was given up before it ended (while %s).", doing);
    default:
        return pm_fail(err, PM_DAMAGED,
                       "The library's tables are not as expected (while %s: %s); a backup or "
                       "\"salvage\" helps.",
                       doing, db == NULL ? sqlite3_errstr(rc) : sqlite3_errmsg(db));
    }
}
