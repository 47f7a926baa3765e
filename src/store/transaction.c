/* SPDX-License-Identifier: MIT */
/*
 * The one door for transactions: nesting, the outermost commit, and the truth after a commit that
 * failed.
 */
#include "connection.h"
#include "store.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#define SYNC_ATTEMPTS 3 /* of the folder, after its first failed */

static bool within_whole(const struct pm_library *library)
{
    return library->whole != 0 && library->depth >= library->whole;
}

/* What was begun is over: a change of which no part is given up alone ends with its own level. True
 * when a part of it had to be given up. */
static bool leave_whole(struct pm_library *library)
{
    if (library->depth >= library->whole)
        return false;
    const bool broken = library->broken;
    library->whole = 0;
    library->broken = false;
    return broken;
}

static enum pm_status refuse_broken(struct pm_error *err)
{
    return pm_fail(err, PM_REFUSED, "Nothing was saved: a part of the change had to be given up.");
}

/* A savepoint: what is aborted inside is undone, and the outer change may go on. */
static enum pm_status begin_step(struct pm_library *library, struct pm_error *err)
{
    if (sqlite3_get_autocommit(library->db))
        return pm_store_fail(library->db, SQLITE_ABORT, "making a change", err);
    if (within_whole(library)) {
        library->depth++;
        return PM_OK;
    }
    const enum pm_status status = pm_execute(library->db, "SAVEPOINT step", "making a change", err);
    library->depth += status == PM_OK;
    return status;
}

static void undo_savepoint(struct pm_library *library)
{
    library->stale.written = false;
    library->next_material = 0;
    library->ending = true;
    if (sqlite3_exec(library->db, "ROLLBACK TO step; RELEASE step", NULL, NULL, NULL) != SQLITE_OK)
        library->spoiled = true;
    library->ending = false;
}

static enum pm_status end_step(struct pm_library *library, struct pm_error *err)
{
    library->depth--;
    if (within_whole(library))
        return PM_OK;
    if (leave_whole(library)) {
        undo_savepoint(library);
        return refuse_broken(err);
    }
    const enum pm_status status = pm_execute(library->db, "RELEASE step", "making a change", err);
    library->spoiled = library->spoiled || status != PM_OK;
    return status;
}

static void undo_step(struct pm_library *library)
{
    library->depth--;
    if (within_whole(library)) {
        library->broken = true;
        return;
    }
    (void)leave_whole(library);
    undo_savepoint(library);
}

enum pm_status pm_library_begin(struct pm_library *library, struct pm_error *err)
{
    if (library->depth > 0)
        return begin_step(library, err);
    if (library->read_only)
        return pm_fail(err, PM_IO, "The library %s is open for reading only.", library->path);
    if (library->readers > 0)
        return pm_fail(err, PM_REFUSED, "A change cannot begin in the middle of reading.");
    enum pm_status status = pm_library_free_of_change(library, err);
    if (status == PM_OK)
        status = pm_execute(library->db, "BEGIN IMMEDIATE", "waiting to make a change", err);
    if (status == PM_OK) {
        library->depth = 1;
        library->spoiled = false;
        library->changes = sqlite3_total_changes(library->db);
    } else {
        pm_library_roll_back(library);
    }
    return status;
}

enum pm_status pm_library_begin_whole(struct pm_library *library, struct pm_error *err)
{
    const enum pm_status status = pm_library_begin(library, err);
    if (status == PM_OK && library->whole == 0)
        library->whole = library->depth;
    return status;
}

static enum pm_status stamp(struct pm_library *library, int64_t mark, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_LAST_COMMIT_PUT);
    pm_query_int(&query, mark);
    return pm_query_run(&query, err);
}

/* The file itself where path is a link to it: the journal lies beside it. */
static const char *place_of(const struct pm_library *library, char real[PATH_MAX])
{
    return realpath(library->path, real) != NULL ? real : library->path;
}

/* A change counts when its journal is gone; while it is there the next access undoes the change. */
static bool journal_remains(const struct pm_library *library)
{
    char real[PATH_MAX], journal[PATH_MAX + 16];
    snprintf(journal, sizeof journal, "%s-journal", place_of(library, real));
    return access(journal, F_OK) == 0;
}

/* The change is in the file, but the folder's sync after the journal's removal failed: after a
 * power cut the journal might be there again, and would undo the change. Seeing it is not enough.
 */
static enum pm_status confirm(struct pm_library *library, const struct pm_error *why,
                              struct pm_error *err)
{
    library->unconfirmed = true;
    for (int attempt = 0; attempt < SYNC_ATTEMPTS; attempt++)
        if (pm_library_confirm(library, NULL) == PM_OK)
            return PM_OK;
    return pm_fail(err, PM_UNSURE,
                   "The change is written, but it is not certain that it outlasts a power cut: %s "
                   "Keep a backup on another disk.",
                   why->text);
}

enum pm_status pm_library_confirm(struct pm_library *library, struct pm_error *err)
{
    char real[PATH_MAX];
    struct pm_error why;
    if (!library->unconfirmed)
        return PM_OK;
    if (library->options.sync_folder(place_of(library, real), &why) != PM_OK)
        return pm_fail(err, PM_UNSURE,
                       "It is still not certain that what was written outlasts a power cut: %s",
                       why.text);
    library->unconfirmed = false;
    return PM_OK;
}

/* Commits; an error of COMMIT may come after the change has reached the disk, so what counts is
 * what the file says afterwards. */
static enum pm_status commit(struct pm_library *library, int64_t mark, struct pm_error *err)
{
    library->ending = true;
    int rc = sqlite3_exec(library->db, "COMMIT", NULL, NULL, NULL);
    library->ending = false;
    if (rc == SQLITE_OK) {
        if (mark != 0 && library->watch != NULL && library->watch->written != NULL)
            library->watch->written(library->watch->context);
        library->patience.waited_ms = 0;
        library->unconfirmed = library->unconfirmed && mark == 0; /* a commit syncs the folder */
        return PM_OK;
    }
    struct pm_error why;
    enum pm_status status = pm_store_fail(library->db, rc, "saving the change", &why);
    pm_library_roll_back(library);
    int64_t found = 0;
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_LAST_COMMIT_GET);
    if (pm_query_one(&query, &found, NULL, NULL) != PM_OK && !journal_remains(library)) {
        return pm_fail(err, PM_UNSURE,
                       "%s It is not certain whether the change was saved: the file cannot be read "
                       "again.",
                       why.text);
    }
    if (found != mark)
        return pm_fail(err, status, "%s", why.text);
    return confirm(library, &why, err);
}

/* Of the outermost one nothing is remembered any more. */
static void end_change(struct pm_library *library)
{
    library->depth = 0;
    (void)leave_whole(library);
    library->next_material = 0;
    pm_search_forget(library);
}

enum pm_status pm_library_commit(struct pm_library *library, struct pm_error *err)
{
    if (library->depth > 1)
        return end_step(library, err);
    int64_t mark = 0;
    enum pm_status status =
        library->spoiled || library->broken ? refuse_broken(err) : pm_search_settle(library, err);
    if (status == PM_OK && sqlite3_total_changes(library->db) != library->changes) {
        sqlite3_randomness((int)sizeof mark, &mark);
        status = stamp(library, mark, err);
    }
    end_change(library);
    if (status != PM_OK) {
        pm_library_roll_back(library);
        return status;
    }
    return commit(library, mark, err);
}

void pm_library_abort(struct pm_library *library)
{
    if (library->depth > 1) {
        undo_step(library);
        return;
    }
    end_change(library);
    pm_library_roll_back(library);
}

enum pm_status pm_library_finish(struct pm_library *library, enum pm_status status,
                                 struct pm_error *err)
{
    if (status == PM_OK)
        return pm_library_commit(library, err);
    pm_library_abort(library);
    return status;
}

bool pm_library_is_changing(const struct pm_library *library)
{
    return library->depth > 0;
}

enum pm_status pm_library_begin_read(struct pm_library *library, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    if (library->depth == 0 && library->readers == 0) {
        status = pm_library_free_of_change(library, err);
        if (status == PM_OK)
            status = pm_execute(library->db, "BEGIN", "beginning to read", err);
        int64_t ignored = 0;
        if (status == PM_OK) {
            /* BEGIN alone takes no lock: the view begins with the first read. */
            status = pm_ask(library->db, "PRAGMA user_version", "beginning to read", &ignored, err);
        }
        if (status == PM_OK)
            library->patience.waited_ms = 0;
        if (status != PM_OK)
            pm_library_roll_back(library);
    }
    if (status == PM_OK)
        library->readers++;
    return status;
}

void pm_library_end_read(struct pm_library *library)
{
    library->readers--;
    if (library->readers == 0 && library->depth == 0)
        pm_library_roll_back(library);
}
