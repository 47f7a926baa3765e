/* SPDX-License-Identifier: MIT */
/*
 * Opening and closing the library. Everything is looked at before anything is written.
 */
#include "backup.h"
#include "checksum.h"
#include "connection.h"
#include "embedded.h"
#include "files.h"
#include "migrate.h"
#include "store.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"

#include <errno.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

void pm_store_defaults(struct pm_store_options *options)
{
    options->vfs = NULL;
    options->wait_ms = PM_BUSY_WAIT_MS;
    options->watch = NULL;
    options->sync_folder = pm_folder_sync;
    options->files = pm_embedded_files;
    options->file_count = pm_embedded_count;
}

/* ---- before SQLite ---- */

/* SQLite's journal goes by the file's name. After a crash under one name, opening under another
 * would take a file in the middle of a change for a whole one. */
static enum pm_status refuse_links(const char *path, const struct stat *seen, struct pm_error *err)
{
    if (seen->st_nlink < 2)
        return PM_OK;
    return pm_fail(
        err, PM_REFUSED,
        "%s has %llu names (hard links): a change cut short under one could not be undone "
        "under another. Remove the other names, or open a copy.",
        path, (unsigned long long)seen->st_nlink);
}

/* Makes sure that there is a plain file to open; makes an empty one when asked to. */
static enum pm_status find_file(const char *path, int flags, bool *made, struct pm_error *err)
{
    struct stat seen;
    if (stat(path, &seen) == 0) {
        if (S_ISDIR(seen.st_mode))
            return pm_fail(err, PM_FOREIGN, "%s is a folder, not a library.", path);
        if (!S_ISREG(seen.st_mode))
            return pm_fail(err, PM_FOREIGN, "%s is not a file.", path);
        if (seen.st_size == 0 && (flags & PM_LIBRARY_CREATE) == 0)
            return pm_fail(err, PM_FOREIGN, "%s is empty.", path);
        return refuse_links(path, &seen, err);
    }
    if (errno != ENOENT && errno != ENOTDIR)
        return pm_file_fail(errno, "Cannot look at", path, err);
    if ((flags & PM_LIBRARY_CREATE) == 0 || (flags & PM_LIBRARY_READ_ONLY) != 0)
        return pm_fail(err, PM_MISSING, "There is no library %s.", path);
    const enum pm_status status = pm_folders_make(path, err);
    return status == PM_OK ? pm_file_make(path, made, err) : status;
}

/* A file that may be written is of no use in a folder that may not: the journal lies beside it,
 * beside the file itself when path is a link to it. */
static enum pm_status may_write(const char *path, bool *out, struct pm_error *err)
{
    char real[PATH_MAX];
    char *folder = pm_path_folder(realpath(path, real) != NULL ? real : path);
    if (folder == NULL)
        return pm_fail_memory(err);
    *out = access(path, W_OK) == 0 && access(folder, W_OK) == 0;
    pm_free(folder);
    return PM_OK;
}

/* ---- the guards ---- */

/* SQLite calls a file that is not its own and one whose first page is ruined by the same name. */
static enum pm_status has_sqlite_header(sqlite3 *db, bool *out, struct pm_error *err)
{
    static const char magic[16] = "SQLite format 3";
    sqlite3_file *file = NULL;
    char head[sizeof magic] = {0};
    *out = false;
    if (sqlite3_file_control(db, "main", SQLITE_FCNTL_FILE_POINTER, &file) != SQLITE_OK ||
        file == NULL || file->pMethods == NULL)
        return PM_OK;
    const int rc = file->pMethods->xRead(file, head, (int)sizeof head, 0);
    if (rc != SQLITE_OK && rc != SQLITE_IOERR_SHORT_READ)
        return pm_store_fail(db, rc, "opening it", err);
    *out = memcmp(head, magic, sizeof magic) == 0;
    return PM_OK;
}

static enum pm_status refuse_foreign(const char *path, struct pm_error *err)
{
    return pm_fail(err, PM_FOREIGN,
                   "%s is not a library of this program. If it was one, a backup or \"salvage\" "
                   "helps.",
                   path);
}

/* Reads the two numbers of the header and the count of tables. *version is 0 for an empty file. */
static enum pm_status look(sqlite3 *db, const char *path, int64_t *version, struct pm_error *err)
{
    int64_t application = 0, tables = 0;
    struct pm_error why;
    enum pm_status status = pm_ask(db, "PRAGMA application_id", "opening it", &application, &why);
    if (status == PM_OK)
        status = pm_ask(db, "PRAGMA user_version", "opening it", version, &why);
    if (status == PM_OK && application != PM_APPLICATION_ID) {
        if (application != 0)
            return refuse_foreign(path, err);
        status = pm_ask(db, "SELECT count(*) FROM sqlite_schema", "opening it", &tables, &why);
        if (status == PM_OK && (tables != 0 || *version != 0))
            return refuse_foreign(path, err);
    }
    if (status != PM_OK) {
        bool sqlites = true;
        if (status == PM_DAMAGED) {
            const enum pm_status looked = has_sqlite_header(db, &sqlites, err);
            if (looked != PM_OK)
                return looked;
        }
        if (!sqlites)
            return refuse_foreign(path, err);
        if (status == PM_DAMAGED)
            return pm_fail(err, status,
                           "%s is damaged at its beginning; a backup or \"salvage\" helps.", path);
        return pm_fail(err, status, "%s", why.text);
    }
    if (application == PM_APPLICATION_ID && *version < 1)
        return pm_fail(err, PM_DAMAGED, "%s does not say which version made it.", path);
    return PM_OK;
}

static enum pm_status refuse_newer(const char *path, int64_t version,
                                   const struct pm_store_options *options, struct pm_error *err)
{
    return pm_fail(err, PM_NEWER,
                   "%s was made by a newer version of this program (its tables are at step "
                   "%lld, this program knows %d).",
                   path, (long long)version, pm_migrate_newest(options));
}

static enum pm_status guard(struct pm_library *library, int flags,
                            const struct pm_store_options *options, struct pm_error *err)
{
    int64_t version = 0;
    int newest = pm_migrate_newest(options);
    enum pm_status status = look(library->db, library->path, &version, err);
    if (status != PM_OK)
        return status;
    if (version > newest)
        return refuse_newer(library->path, version, options, err);
    if (version == 0 && ((flags & PM_LIBRARY_CREATE) == 0 || library->read_only))
        return pm_fail(err, PM_FOREIGN, "%s is empty.", library->path);
    if (version < newest && library->read_only) {
        return pm_fail(err, PM_IO,
                       "%s was made by an older version of this program and cannot be written, so "
                       "it cannot be brought up to date.",
                       library->path);
    }
    status = pm_migrate_refuse_strangers(library->db, library->path, options, (int)version, err);
    if (status == PM_OK)
        status = pm_connection_prepare(library->db, library->read_only, err);
    if (status == PM_OK && version < newest) {
        status = pm_migrate(library->db, library->path, options, err);
        if (status == PM_OK)
            status = pm_connection_prepare(library->db, library->read_only, err);
    }
    return status;
}

/* A sentence about where the file lives, for the person. */
static enum pm_status remark_on(struct pm_library *library, struct pm_error *err)
{
    const char *drive = pm_network_drive(library->path);
    if (drive == NULL)
        return PM_OK;
    struct pm_text text = PM_TEXT_EMPTY;
    pm_text_addf(&text,
                 "The library lies on a network drive (%s): locks may not hold there, so open it "
                 "from one machine at a time and keep backups.",
                 drive);
    library->remark = pm_text_take(&text);
    pm_text_release(&text);
    return library->remark == NULL ? pm_fail_memory(err) : PM_OK;
}

/* ---- a copy in memory ---- */

/* What the file is, before anything of it is used. *step receives its last migration. */
static enum pm_status look_at_source(sqlite3 *db, const char *path,
                                     const struct pm_store_options *options, int *step,
                                     struct pm_error *err)
{
    int64_t version = 0;
    enum pm_status status = look(db, path, &version, err);
    if (status == PM_OK && version == 0)
        return pm_fail(err, PM_FOREIGN, "%s is empty.", path);
    if (status == PM_OK && version > pm_migrate_newest(options))
        return refuse_newer(path, version, options, err);
    *step = (int)version;
    return status == PM_OK ? pm_migrate_refuse_strangers(db, path, options, *step, err) : status;
}

static enum pm_status read_source(const char *path, const struct pm_store_options *options,
                                  const struct pm_watch *watch, sqlite3 *copy, int *step,
                                  struct pm_error *err)
{
    sqlite3 *db = NULL;
    enum pm_status status = pm_connect(path, SQLITE_OPEN_READONLY | SQLITE_OPEN_PRIVATECACHE,
                                       options->vfs, options->wait_ms, &db, err);
    if (status == PM_OK)
        status = look_at_source(db, path, options, step, err);
    if (status == PM_OK)
        status = pm_copy_pages(db, "main", copy, "main", watch, err);
    sqlite3_close(db);
    return status;
}

static bool is_empty_file(const char *path)
{
    struct stat seen;
    return stat(path, &seen) == 0 && seen.st_size == 0;
}

/* Copies the file at the library's path. Where there is none, or an empty one, and `flags` let one
 * be made, the copy is a new library. */
static enum pm_status open_copy(struct pm_library *library, int flags, const struct pm_watch *watch,
                                struct pm_error *err)
{
    const struct pm_store_options *options = &library->options;
    const bool create = (flags & PM_LIBRARY_CREATE) != 0;
    bool made = false;
    int step = 0;
    enum pm_status status = find_file(library->path, flags | PM_LIBRARY_READ_ONLY, &made, err);
    const bool none = create && (status == PM_MISSING || is_empty_file(library->path));
    if (status == PM_OK || none)
        status = pm_connect(":memory:", SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, NULL, 0,
                            &library->db, err);
    if (status == PM_OK && !none)
        status = read_source(library->path, options, watch, library->db, &step, err);
    if (status != PM_OK)
        return status;
    pm_library_watch(library, watch);
    if (step < pm_migrate_newest(options))
        status = pm_migrate_copy(library->db, library->path, options, step, err);
    return status;
}

static enum pm_status open_scratch(struct pm_library *library, int flags,
                                   const struct pm_store_options *options, struct pm_error *err)
{
    enum pm_status status = open_copy(library, flags, options->watch, err);
    if (status == PM_OK) /* what is in memory needs no journal */
        status = pm_connection_prepare(library->db, true, err);
    return status == PM_OK ? remark_on(library, err) : status;
}

/* ---- open and close ---- */

static enum pm_status open_file(struct pm_library *library, int flags,
                                const struct pm_store_options *options, struct pm_error *err)
{
    enum pm_status status = find_file(library->path, flags, &library->made, err);
    bool writable = false;
    if (status == PM_OK)
        status = may_write(library->path, &writable, err);
    if (status != PM_OK)
        return status;
    library->read_only = (flags & PM_LIBRARY_READ_ONLY) != 0 || !writable;
    int mode = library->read_only ? SQLITE_OPEN_READONLY : SQLITE_OPEN_READWRITE;
    /* One thread has the library, so no call needs SQLite's locks between threads. */
    status = pm_connect(library->path, mode | SQLITE_OPEN_PRIVATECACHE | SQLITE_OPEN_NOMUTEX,
                        options->vfs, options->wait_ms, &library->db, err);
    library->patience.wait_ms = options->wait_ms;
    if (status == PM_OK && pm_connection_wait(library->db, &library->patience) != SQLITE_OK)
        status = pm_fail_memory(err);
    if (status == PM_OK && sqlite3_db_readonly(library->db, "main") == 1)
        library->read_only = true;
    if (status == PM_OK)
        status = guard(library, flags, options, err);
    if (status == PM_OK)
        status = remark_on(library, err);
    return status;
}

/* Nobody has committed anything to it: it is empty, or as a new one is. */
static bool is_as_made(sqlite3 *db)
{
    int64_t version = 1, committed = 1;
    if (pm_ask(db, "PRAGMA user_version", "looking at the library", &version, NULL) == PM_OK &&
        version == 0)
        return true;
    return pm_ask(db, "SELECT last_commit FROM library", "looking at the library", &committed,
                  NULL) == PM_OK &&
           committed == 0;
}

void pm_library_unmake(struct pm_library *library)
{
    if (!library->made || library->db == NULL || library->depth > 0 || library->readers > 0)
        return;
    /* Held alone: whoever opened it meanwhile has written nothing, and nobody does now. In an empty
     * file SQLite begins to write with that, for which a full disk may have no room; and whoever
     * wants to write to a file that is gone is refused by SQLite. */
    const int rc = sqlite3_exec(library->db, "BEGIN EXCLUSIVE", NULL, NULL, NULL);
    if (rc == SQLITE_OK ? is_as_made(library->db)
                        : rc != SQLITE_BUSY && is_empty_file(library->path))
        unlink(library->path);
    if (rc == SQLITE_OK)
        sqlite3_exec(library->db, "ROLLBACK", NULL, NULL, NULL);
}

enum pm_status pm_library_open_with(const char *path, int flags, const struct pm_clock *clock,
                                    const struct pm_store_options *options, struct pm_library **out,
                                    struct pm_error *err)
{
    *out = NULL;
    struct pm_library *library = pm_alloc_array(1, sizeof *library);
    if (library == NULL)
        return pm_fail_memory(err);
    library->clock = clock;
    library->options = *options;
    library->options.watch = NULL;
    enum pm_status status = pm_path_absolute(path, &library->path, err);
    if (status == PM_OK)
        status = (flags & PM_LIBRARY_SCRATCH) != 0 ? open_scratch(library, flags, options, err)
                                                   : open_file(library, flags, options, err);
    if (status != PM_OK) {
        pm_library_unmake(library);
        pm_library_close(library);
        return status;
    }
    *out = library;
    return PM_OK;
}

enum pm_status pm_library_open(const char *path, int flags, const struct pm_clock *clock,
                               const struct pm_watch *watch, struct pm_library **out,
                               struct pm_error *err)
{
    struct pm_store_options options;
    pm_store_defaults(&options);
    options.watch = watch;
    return pm_library_open_with(path, flags, clock, &options, out, err);
}

void pm_library_close(struct pm_library *library)
{
    if (library == NULL)
        return;
    pm_library_confirm(library, NULL);
    for (size_t i = 0; i < PM_SQL_COUNT; i++)
        sqlite3_finalize(library->statements[i]);
    sqlite3_finalize(library->rollback);
    sqlite3_close(library->db);
    pm_free(library->stale.blocks);
    pm_free(library->remark);
    pm_free(library->path);
    pm_free(library);
}

/* ---- beside another library ---- */

/* The person has two libraries before them: the sentence says which of them it is. */
static enum pm_status name_other(enum pm_status status, const char *path, struct pm_error *err)
{
    if (status == PM_BUSY)
        return pm_fail(err, status, "Another program is using %s; try again when it is done.",
                       path);
    if (status == PM_DAMAGED && err != NULL && strstr(err->text, path) == NULL)
        return pm_fail(err, status,
                       "%s is damaged, so nothing comes in of it; a backup or \"salvage\" helps.",
                       path);
    return status;
}

enum pm_status pm_library_open_copy(const char *path, const struct pm_library *beside,
                                    struct pm_library **out, struct pm_error *err)
{
    struct pm_library *library = pm_alloc_array(1, sizeof *library);
    *out = NULL;
    if (library == NULL)
        return pm_fail_memory(err);
    library->clock = beside->clock;
    library->options = beside->options;
    enum pm_status status = pm_path_absolute(path, &library->path, err);
    if (status == PM_OK && pm_same_file(library->path, beside->path))
        status = pm_fail(err, PM_REFUSED, "%s is this library itself.", path);
    if (status == PM_OK)
        status = name_other(open_copy(library, 0, beside->watch, err), library->path, err);
    library->read_only = true;
    if (status != PM_OK) {
        pm_library_close(library);
        return status;
    }
    *out = library;
    return PM_OK;
}

/* ---- who looks on ---- */

/* Nonzero stops the statement. */
static int ask_watch(void *context)
{
    const struct pm_library *library = context;
    return !library->ending && pm_watch_go_on(library->watch, NULL, 0, 0, NULL) != PM_OK;
}

void pm_library_watch(struct pm_library *library, const struct pm_watch *watch)
{
    library->watch = watch;
    sqlite3_progress_handler(library->db, watch != NULL ? PM_STATEMENT_STEPS : 0,
                             watch != NULL ? ask_watch : NULL, library);
}

enum pm_status pm_library_go_on(const struct pm_library *library, const char *doing, int64_t done,
                                int64_t all, struct pm_error *err)
{
    return pm_watch_go_on(library->watch, doing, done, all, err);
}

bool pm_library_read_only(const struct pm_library *library)
{
    return library->read_only;
}

const char *pm_library_remark(const struct pm_library *library)
{
    return library->remark;
}

int64_t pm_library_now(const struct pm_library *library)
{
    return pm_clock_now(library->clock);
}

int64_t pm_library_version(struct pm_library *library)
{
    struct pm_query query;
    int64_t version = 0;
    /* Asked all the time: whoever holds the file is not waited for. */
    const int patience = library->patience.wait_ms;
    library->patience.wait_ms = 0;
    pm_query_open(&query, library, PM_SQL_DATA_VERSION);
    if (pm_query_one(&query, &version, NULL, NULL) == PM_OK)
        library->version = version;
    library->patience.wait_ms = patience;
    return library->version;
}

/* ---- settings ---- */

enum pm_status pm_setting_get(struct pm_library *library, const char *key, char **out,
                              struct pm_error *err)
{
    struct pm_query query;
    char *value = NULL;
    pm_query_open(&query, library, PM_SQL_SETTING_GET);
    pm_query_text(&query, key);
    if (pm_query_row(&query))
        value = pm_query_get_copy(&query, 0);
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK)
        *out = value;
    else
        pm_free(value);
    return status;
}

enum pm_status pm_setting_put(struct pm_library *library, const char *key, const char *value,
                              struct pm_error *err)
{
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_SETTING_PUT);
    pm_query_text(&query, key);
    pm_query_text(&query, value);
    return pm_library_finish(library, pm_query_run(&query, err), err);
}

enum pm_status pm_setting_drop(struct pm_library *library, const char *key, struct pm_error *err)
{
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_SETTING_DROP);
    pm_query_text(&query, key);
    return pm_library_finish(library, pm_query_run(&query, err), err);
}

enum pm_status pm_library_held(struct pm_library *library, struct pm_round_held *out,
                               struct pm_error *err)
{
    struct pm_query query;
    struct pm_round_held held = {.materials = false};
    pm_query_open(&query, library, PM_SQL_HELD);
    if (pm_query_row(&query))
        held = (struct pm_round_held){.materials = pm_query_get_int(&query, 0) != 0,
                                      .formulas = pm_query_get_int(&query, 1) != 0,
                                      .kept = pm_query_get_int(&query, 2) != 0,
                                      .smelled = pm_query_get_int(&query, 3) != 0};
    const enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK)
        *out = held;
    return status;
}
