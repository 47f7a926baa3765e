/* SPDX-License-Identifier: MIT */
/*
 * Opening: what is refused and how it is said, migrations, backups, two instances on one file.
 */
#include "src/store/embedded.h"
#include "src/store/store.h"
#include "tests/store/world.h"

#include "permille/base/mem.h"

#include <fcntl.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

static enum pm_status try_open(struct world *world, const char *path, int flags)
{
    struct pm_library *library = NULL;
    enum pm_status status = pm_library_open(path, flags, NULL, NULL, &library, &world->err);
    assert_true((status == PM_OK) == (library != NULL));
    pm_library_close(library);
    return status;
}

static void put_file(const char *path, const void *data, size_t length)
{
    int file = open(path, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    assert_true(file >= 0);
    assert_int_equal((ssize_t)length, write(file, data, length));
    close(file);
}

static off_t file_size(const char *path)
{
    struct stat seen;
    return stat(path, &seen) == 0 ? seen.st_size : -1;
}

static mode_t file_mode(const char *path)
{
    struct stat seen;
    assert_int_equal(0, stat(path, &seen));
    return seen.st_mode & 0777;
}

/* ---- new and foreign files ---- */

static void a_new_library_is_private(void **state)
{
    struct world *world = *state;
    char deep[160], folder[128];
    snprintf(deep, sizeof deep, "%s/a", world_path(world, "sub", folder));
    assert_status(PM_MISSING, try_open(world, world->path, 0));
    assert_int_equal(-1, file_size(world->path));
    assert_status(PM_MISSING,
                  try_open(world, world->path, PM_LIBRARY_CREATE | PM_LIBRARY_READ_ONLY));
    mode_t old = umask(0);
    assert_status(PM_OK, try_open(world, deep, PM_LIBRARY_CREATE));
    umask(old);
    assert_int_equal(0700, file_mode(folder));
    assert_int_equal(0600, file_mode(deep));
    assert_status(PM_OK, try_open(world, deep, 0));
    unlink(deep);
    rmdir(folder);
    assert_status(PM_INVALID, try_open(world, "", PM_LIBRARY_CREATE));
}

/* SQLite takes such names for addresses or for memory. */
static void odd_file_names_are_names(void **state)
{
    struct world *world = *state;
    static const char *const names[] = {"file:x?mode=memory", ":memory:", "it's 100% \"odd\" é.db"};
    char here[512];
    assert_non_null(getcwd(here, sizeof here));
    assert_int_equal(0, chdir(world->folder));
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        assert_status(PM_OK, try_open(world, names[i], PM_LIBRARY_CREATE));
        assert_true(file_size(names[i]) > 0);
    }
    assert_int_equal(0, chdir(here));
}

static void foreign_files_are_refused_and_left_alone(void **state)
{
    struct world *world = *state;
    char path[128];
    static const char text[] = "This is a letter, not a library. It is longer than the hundred "
                               "bytes that a header takes, so that nothing is short about it.";
    world_path(world, "letter.txt", path);
    put_file(path, text, sizeof text);
    assert_status(PM_FOREIGN, try_open(world, path, PM_LIBRARY_CREATE));
    assert_non_null(strstr(world->err.text, "salvage")); /* one flipped bit, and it was a library */
    assert_int_equal(sizeof text, file_size(path));

    sqlite3 *db = NULL;
    world_path(world, "other.db", path);
    assert_int_equal(SQLITE_OK, sqlite3_open(path, &db));
    assert_int_equal(SQLITE_OK, world_sql(db, "CREATE TABLE t (x); INSERT INTO t VALUES (1)"));
    assert_status(PM_FOREIGN, try_open(world, path, PM_LIBRARY_CREATE));
    assert_int_equal(SQLITE_OK, world_sql(db, "PRAGMA application_id = 42"));
    assert_status(PM_FOREIGN, try_open(world, path, PM_LIBRARY_CREATE));
    assert_int_equal(0, world_ask(db, "PRAGMA user_version"));
    assert_int_equal(1, world_ask(db, "SELECT count(*) FROM sqlite_schema"));
    sqlite3_close(db);

    assert_status(PM_FOREIGN, try_open(world, world->folder, PM_LIBRARY_CREATE));
    assert_status(PM_FOREIGN, try_open(world, "/dev/null", PM_LIBRARY_CREATE));
    world_path(world, "pipe", path);
    assert_int_equal(0, mkfifo(path, 0600));
    assert_status(PM_FOREIGN, try_open(world, path, PM_LIBRARY_CREATE));
    world_path(world, "empty.db", path);
    put_file(path, "", 0);
    assert_status(PM_FOREIGN, try_open(world, path, 0));
    assert_status(PM_OK, try_open(world, path, PM_LIBRARY_CREATE));
}

/* A library cut at every kind of place: refused as damaged, never taken for another's or for new,
 * and not touched. */
static void truncated_files_are_damaged(void **state)
{
    struct world *world = *state;
    world_open(world);
    world_fill(world);
    world_close(world);
    off_t whole = file_size(world->path);
    static const off_t cuts[] = {4096 * 3, 4096 + 100, 4096, 1000, 512, 100, 50, 16};
    for (size_t i = 0; i < sizeof cuts / sizeof cuts[0]; i++) {
        assert_true(cuts[i] < whole);
        assert_int_equal(0, truncate(world->path, cuts[i]));
        enum pm_status status = try_open(world, world->path, PM_LIBRARY_CREATE);
        if (status != PM_DAMAGED) {
            print_error("cut at %lld: %s %s\n", (long long)cuts[i], pm_status_word(status),
                        world->err.text);
        }
        assert_int_equal(PM_DAMAGED, status);
        assert_non_null(strstr(world->err.text, "salvage"));
        assert_int_equal(cuts[i], file_size(world->path));
    }
}

static void a_newer_library_is_refused(void **state)
{
    struct world *world = *state;
    world_open(world);
    world_close(world);
    sqlite3 *db = world_raw(world);
    assert_int_equal(SQLITE_OK, world_sql(db, "PRAGMA user_version = 900"));
    assert_status(PM_NEWER, try_open(world, world->path, PM_LIBRARY_CREATE));
    assert_non_null(strstr(world->err.text, "900"));
    assert_status(PM_NEWER, try_open(world, world->path, PM_LIBRARY_READ_ONLY));
    assert_int_equal(900, world_ask(db, "PRAGMA user_version"));
    sqlite3_close(db);
}

/* ---- reading only ---- */

static void a_library_can_be_opened_for_reading_only(void **state)
{
    struct world *world = *state;
    int64_t id = 0;
    world_open(world);
    world_fill(world);
    world_close(world);
    assert_status(PM_OK, pm_library_open(world->path, PM_LIBRARY_READ_ONLY, NULL, NULL,
                                         &world->library, &world->err));
    assert_true(pm_library_read_only(world->library));
    assert_status(PM_OK, pm_formula_by_name(world->library, "damp stone", &id, &world->err));
    assert_status(
        PM_IO, pm_formula_insert(world->library, "New", false, PM_PART, PM_OPEN, &id, &world->err));
    world_verify(world);
}

/* In a child, because the superuser may write everywhere: it becomes nobody. Exit status: 0 when
 * all is as it should be. */
static int look_as_nobody(struct world *world)
{
    struct pm_library *library = NULL;
    int64_t id = 0;
    if (geteuid() == 0 && (setgid(65534) != 0 || setuid(65534) != 0))
        return 2;
    if (pm_library_open(world->path, PM_LIBRARY_CREATE, NULL, NULL, &library, &world->err) != PM_OK)
        return 3;
    if (!pm_library_read_only(library))
        return 4;
    if (pm_formula_by_name(library, "damp stone", &id, &world->err) != PM_OK)
        return 5;
    int result =
        pm_formula_insert(library, "N", false, PM_PART, PM_OPEN, &id, &world->err) == PM_IO ? 0 : 6;
    pm_library_close(library);
    return result;
}

static void assert_read_only_for_nobody(struct world *world)
{
    int status = 0;
    pid_t child = fork();
    if (child == 0)
        _exit(look_as_nobody(world));
    assert_int_equal(child, waitpid(child, &status, 0));
    assert_true(WIFEXITED(status));
    assert_int_equal(0, WEXITSTATUS(status));
}

static void a_file_or_folder_without_leave_to_write_is_read_only(void **state)
{
    struct world *world = *state;
    world_open(world);
    world_fill(world);
    world_close(world);
    assert_int_equal(0, chmod(world->path, 0444));
    assert_int_equal(0, chmod(world->folder, 0777));
    assert_read_only_for_nobody(world);
    assert_int_equal(0, chmod(world->path, 0666));
    assert_int_equal(0, chmod(world->folder, 0555));
    assert_read_only_for_nobody(world);
    assert_int_equal(0, chmod(world->folder, 0700));
}

/* The journal lies beside the file, not beside a link to it. */
static void a_link_does_not_make_a_folder_writable(void **state)
{
    struct world *world = *state;
    struct world linked = *world;
    char folder[128];
    world_open(world);
    world_fill(world);
    world_close(world);
    world_path(world, "links", folder);
    world_path(world, "links/library.db", linked.path);
    assert_int_equal(0, mkdir(folder, 0700));
    assert_int_equal(0, symlink(world->path, linked.path));
    assert_int_equal(0, chmod(folder, 0777));
    assert_int_equal(0, chmod(world->path, 0666));
    assert_int_equal(0, chmod(world->folder, 0555));
    assert_read_only_for_nobody(&linked);
    assert_int_equal(0, chmod(world->folder, 0700));
    assert_int_equal(0, unlink(linked.path));
    assert_int_equal(0, rmdir(folder));
}

/* ---- migrations ---- */

static const char another_step[] = "CREATE TABLE extra (id INTEGER PRIMARY KEY, words TEXT) STRICT;"
                                   "INSERT INTO extra VALUES (1, 'new');";
static const char broken_step[] = "CREATE TABLE extra (id INTEGER PRIMARY KEY) STRICT;"
                                  "INSERT INTO nowhere VALUES (1);";
static const char step_with_orphans[] = "CREATE TABLE extra (id INTEGER PRIMARY KEY, "
                                        "of INTEGER REFERENCES formula (id)) STRICT;"
                                        "INSERT INTO extra VALUES (1, 999);";

/* Opens with the program's steps and then, unless NULL, another one. The library keeps pointing to
 * the files. Returns the number of the program's newest step through *newest. */
static enum pm_status open_steps(struct world *world, const char *another, int *newest)
{
    struct pm_store_options options;
    static struct pm_embedded files[64];
    static char name[32];
    size_t count = 0;
    pm_store_defaults(&options);
    *newest = 0;
    for (; count < options.file_count; count++) {
        files[count] = options.files[count];
        *newest += strstr(files[count].name, ".sql") != NULL;
    }
    snprintf(name, sizeof name, "%03d-extra.sql", *newest + 1);
    files[count] = (struct pm_embedded){name, (const unsigned char *)another,
                                        another == NULL ? 0 : strlen(another)};
    options.files = files;
    options.file_count = count + (another != NULL);
    return pm_library_open_with(world->path, PM_LIBRARY_CREATE, &world->clock, &options,
                                &world->library, &world->err);
}

static void an_older_library_is_backed_up_and_migrated(void **state)
{
    struct world *world = *state;
    char backup[128], name[64];
    int newest = 0;
    struct world before = *world;
    assert_status(PM_OK, open_steps(world, NULL, &newest));
    world_fill(world);
    world_close(world);
    assert_status(PM_OK, open_steps(world, another_step, &newest));
    world_verify(world);
    world_close(world);
    sqlite3 *db = world_raw(world);
    assert_int_equal(newest + 1, world_ask(db, "PRAGMA user_version"));
    assert_int_equal(1, world_ask(db, "SELECT count(*) FROM extra WHERE words = 'new'"));
    assert_int_equal(2, world_ask(db, "SELECT count(*) FROM formula"));
    sqlite3_close(db);
    /* The copy is the library as it was. */
    snprintf(name, sizeof name, "library.before-%d.db", newest + 1);
    strcpy(before.path, world_path(world, name, backup));
    assert_int_equal(0600, file_mode(backup));
    db = world_raw(&before);
    assert_int_equal(newest, world_ask(db, "PRAGMA user_version"));
    assert_int_equal(2, world_ask(db, "SELECT count(*) FROM formula"));
    sqlite3_close(db);
    /* Open again: nothing to do, no other copy. */
    assert_status(PM_OK, open_steps(world, another_step, &newest));
    world_close(world);
    snprintf(name, sizeof name, "library.before-%d-2.db", newest + 1);
    assert_int_equal(-1, file_size(world_path(world, name, backup)));
    assert_status(PM_NEWER, open_steps(world, NULL, &newest));
}

/* One bit of the header, and a step would be done again on tables that have it: what it moved would
 * be lost. */
static void a_library_that_lies_about_its_step_is_damaged(void **state)
{
    struct world *world = *state;
    char backup[128], name[64], pragma[64];
    int newest = 0;
    assert_status(PM_OK, open_steps(world, NULL, &newest));
    world_fill(world);
    world_close(world);
    for (int said = 1; said < newest; said++) {
        sqlite3 *db = world_raw(world);
        snprintf(pragma, sizeof pragma, "PRAGMA user_version = %d", said);
        assert_int_equal(SQLITE_OK, world_sql(db, pragma));
        sqlite3_close(db);
        assert_status(PM_DAMAGED, open_steps(world, NULL, &newest));
        assert_non_null(strstr(world->err.text, "salvage"));
        db = world_raw(world);
        assert_int_equal(said, world_ask(db, "PRAGMA user_version"));
        assert_int_equal(2, world_ask(db, "SELECT count(*) FROM formula"));
        sqlite3_close(db);
        snprintf(name, sizeof name, "library.before-%d.db", said + 1);
        assert_int_equal(-1, file_size(world_path(world, name, backup)));
    }
}

static void a_migration_that_fails_changes_nothing(void **state)
{
    struct world *world = *state;
    static const char *const broken[] = {broken_step, step_with_orphans};
    char backup[128], name[64];
    int newest = 0;
    assert_status(PM_OK, open_steps(world, NULL, &newest));
    world_fill(world);
    world_close(world);
    snprintf(name, sizeof name, "library.before-%d.db", newest + 1);
    for (size_t i = 0; i < 2; i++) {
        assert_status(PM_DAMAGED, open_steps(world, broken[i], &newest));
        sqlite3 *db = world_raw(world);
        assert_int_equal(newest, world_ask(db, "PRAGMA user_version"));
        assert_int_equal(0, world_ask(db, "SELECT count(*) FROM sqlite_schema "
                                          "WHERE name = 'extra'"));
        sqlite3_close(db);
        assert_int_equal(-1, file_size(world_path(world, name, backup)));
        assert_status(PM_OK, open_steps(world, NULL, &newest));
        world_verify(world);
        world_close(world);
    }
}

/* ---- backups ---- */

static void a_backup_is_whole_and_replaces_nothing_unasked(void **state)
{
    struct world *world = *state;
    struct world copy = *world;
    char path[128], journal[160];
    world_open(world);
    world_fill(world);
    world_path(world, "copy.db", copy.path);
    assert_status(PM_OK, pm_library_backup(world->library, copy.path, false, &world->err));
    assert_int_equal(0600, file_mode(copy.path));
    world_open(&copy);
    world_verify(&copy);
    world_close(&copy);
    assert_status(PM_EXISTS, pm_library_backup(world->library, copy.path, false, &world->err));
    world_formula(world, "Later");
    assert_status(PM_OK, pm_library_backup(world->library, copy.path, true, &world->err));
    world_open(&copy);
    int64_t id = 0;
    assert_status(PM_OK, pm_formula_by_name(copy.library, "later", &id, &world->err));
    world_close(&copy);
    assert_status(PM_REFUSED, pm_library_backup(world->library, world->path, true, &world->err));
    assert_status(PM_REFUSED, pm_library_backup(world->library, world->folder, true, &world->err));
    snprintf(path, sizeof path, "%.90s/no/where.db", world->folder);
    assert_status(PM_MISSING, pm_library_backup(world->library, path, false, &world->err));
    /* A library that was left in the middle of a write: its journal would spoil the copy. */
    snprintf(journal, sizeof journal, "%s-journal", copy.path);
    put_file(journal, "x", 1);
    assert_status(PM_BUSY, pm_library_backup(world->library, copy.path, true, &world->err));
    assert_status(PM_OK, pm_library_begin(world->library, &world->err));
    assert_status(PM_REFUSED, pm_library_backup(world->library, world_path(world, "x.db", path),
                                                false, &world->err));
    pm_library_abort(world->library);
    world_verify(world);
}

/* ---- transactions and two instances ---- */

static void nested_transactions_are_steps(void **state)
{
    struct world *world = *state;
    int64_t id = 0;
    world_open(world);
    assert_status(PM_OK, pm_library_begin(world->library, &world->err));
    world_formula(world, "One");
    assert_status(PM_OK, pm_library_begin(world->library, &world->err));
    world_formula(world, "Two");
    pm_library_abort(world->library);
    /* A call that fails inside leaves everything as it was, and no more. */
    assert_status(PM_EXISTS, pm_formula_insert(world->library, "one", false, PM_PART, PM_OPEN, &id,
                                               &world->err));
    world_formula(world, "Four");
    assert_status(PM_OK, pm_library_commit(world->library, &world->err));
    assert_status(PM_OK, pm_formula_by_name(world->library, "One", &id, &world->err));
    assert_status(PM_MISSING, pm_formula_by_name(world->library, "Two", &id, &world->err));
    assert_status(PM_OK, pm_formula_by_name(world->library, "Four", &id, &world->err));
    /* The outermost abort undoes what its steps committed. */
    assert_status(PM_OK, pm_library_begin(world->library, &world->err));
    world_formula(world, "Five");
    pm_library_abort(world->library);
    assert_status(PM_MISSING, pm_formula_by_name(world->library, "Five", &id, &world->err));
    /* Left open: undone. */
    assert_status(PM_OK, pm_library_begin(world->library, &world->err));
    world_formula(world, "Three");
    world_close(world);
    world_open(world);
    assert_status(PM_MISSING, pm_formula_by_name(world->library, "Three", &id, &world->err));
    world_verify(world);
}

static void settings_are_kept(void **state)
{
    struct world *world = *state;
    char *value = NULL;
    world_open(world);
    assert_status(PM_OK, pm_setting_get(world->library, "decimal", &value, &world->err));
    assert_null(value);
    assert_status(PM_OK, pm_setting_put(world->library, "decimal", ",", &world->err));
    assert_status(PM_OK, pm_setting_put(world->library, "decimal", ".", &world->err));
    assert_status(PM_OK, pm_setting_put(world->library, "it's", "", &world->err));
    world_close(world);
    world_open(world);
    assert_status(PM_OK, pm_setting_get(world->library, "decimal", &value, &world->err));
    assert_string_equal(".", value);
    pm_free(value);
    assert_status(PM_OK, pm_setting_get(world->library, "it's", &value, &world->err));
    assert_string_equal("", value);
    pm_free(value);
    world_verify(world);
}

static enum pm_status open_hasty(struct world *world)
{
    struct pm_store_options options;
    pm_store_defaults(&options);
    options.wait_ms = 30;
    return pm_library_open_with(world->path, PM_LIBRARY_CREATE, &world->clock, &options,
                                &world->library, &world->err);
}

/* The second instance sees what the first commits, and its edit of a stale draft is refused. */
static void two_instances_share_a_file(void **state)
{
    struct world *world = *state;
    struct world other = *world;
    struct pm_trial trial;
    world_open(world);
    assert_status(PM_OK, open_hasty(&other));
    int64_t version = pm_library_version(other.library);
    assert_int_equal(version, pm_library_version(other.library));
    int64_t material = world_material(world, "Slate", PM_NATURAL, NULL, NULL);
    int64_t draft = world_draft(world, world_formula(world, "Shared"));
    assert_int_not_equal(version, pm_library_version(other.library));
    version = pm_library_version(world->library);

    pm_trial_init(&trial, 1000 * PM_PART, PM_OPEN);
    world_line(&trial, material, 5);
    int64_t head = world_head(&other, draft);
    world_write(world, draft, &trial, "First");
    assert_int_equal(version, pm_library_version(world->library)); /* its own commit */
    int64_t revision = 0;
    assert_status(PM_STALE, pm_draft_write(other.library, draft, head, &trial, "set", "s", "c",
                                           &revision, &world->err));
    trial.lines[0].parts = 7;
    world_write(&other, draft, &trial, "Second, after reading again");
    pm_trial_release(&trial);

    /* One changes, the other waits, then says so; reading goes on. */
    assert_status(PM_OK, pm_library_begin(world->library, &world->err));
    other.err.text[0] = '\0';
    assert_int_equal(PM_BUSY, pm_library_begin(other.library, &other.err));
    assert_true(other.err.text[0] != '\0');
    world_draft(&other, 1);
    pm_library_abort(world->library);
    assert_status(PM_OK, pm_library_begin(other.library, &world->err));
    assert_status(PM_OK, pm_library_commit(other.library, &world->err));

    /* A view in use by one keeps the other from committing, and nothing is half done. */
    assert_status(PM_OK, pm_library_begin_read(world->library, &world->err));
    int64_t id = 0;
    assert_status(PM_BUSY, pm_formula_insert(other.library, "Waiting", false, PM_PART, PM_OPEN, &id,
                                             &world->err));
    pm_library_end_read(world->library);
    assert_status(PM_OK, pm_formula_insert(other.library, "Waiting", false, PM_PART, PM_OPEN, &id,
                                           &world->err));
    world_verify(world);
    world_close(&other);
}

/* Another process holds the write lock; it lets go when told to through a pipe. */
static void another_process_locks_the_file(void **state)
{
    struct world *world = *state;
    int locked[2], done[2], status = 0;
    char byte = 0;
    world_open(world);
    world_formula(world, "Shared");
    world_close(world);
    assert_int_equal(0, pipe(locked));
    assert_int_equal(0, pipe(done));
    pid_t child = fork();
    if (child == 0) {
        sqlite3 *db = NULL;
        close(done[1]);
        bool good = sqlite3_open(world->path, &db) == SQLITE_OK &&
                    world_sql(db, "BEGIN EXCLUSIVE") == SQLITE_OK &&
                    write(locked[1], "l", 1) == 1 && read(done[0], &byte, 1) == 0;
        _exit(good ? 0 : 1);
    }
    close(locked[1]);
    assert_int_equal(1, read(locked[0], &byte, 1));
    assert_status(PM_BUSY, open_hasty(world));
    assert_null(world->library);
    close(done[1]);
    assert_int_equal(child, waitpid(child, &status, 0));
    assert_int_equal(0, WEXITSTATUS(status));
    assert_status(PM_OK, open_hasty(world));
    world_verify(world);
    close(done[0]);
    close(locked[0]);
}

/* Waiting is bounded in all: an editor that asks for many things is not held up by each. */
static void another_process_is_waited_for_once(void **state)
{
    struct world *world = *state;
    sqlite3 *other = NULL;
    int64_t id = 0;
    world_open(world);
    world_close(world);
    assert_status(PM_OK, open_hasty(world));
    assert_int_equal(SQLITE_OK, sqlite3_open(world->path, &other));
    assert_int_equal(SQLITE_OK, world_sql(other, "BEGIN EXCLUSIVE"));
    pm_library_version(world->library); /* asked all the time, and waits for nobody */
    assert_int_equal(0, world->library->patience.waited_ms);
    for (int i = 0; i < 5; i++) {
        assert_status(PM_BUSY, pm_library_begin(world->library, &world->err));
        assert_status(PM_BUSY, pm_formula_by_name(world->library, "x", &id, &world->err));
        pm_library_version(world->library);
    }
    assert_true(world->library->patience.waited_ms >= 30);
    assert_true(world->library->patience.waited_ms < 60);
    assert_int_equal(SQLITE_OK, world_sql(other, "COMMIT"));
    sqlite3_close(other);
    world_formula(world, "x");
    assert_int_equal(0, world->library->patience.waited_ms);
}

static void a_file_of_two_names_is_refused(void **state)
{
    struct world *world = *state;
    char second[128];
    world_open(world);
    world_close(world);
    world_path(world, "second.db", second);
    assert_int_equal(0, link(world->path, second));
    assert_status(PM_REFUSED, open_hasty(world));
    assert_non_null(strstr(world->err.text, "2 names"));
    assert_int_equal(0, unlink(second));
    assert_int_equal(0, symlink(world->path, second));
    world_open(world);
}

/* A view in the place of a table, that never comes to an end: nothing may read it. */
static void what_a_stranger_wrote_is_not_run(void **state)
{
    static const char *const strangers[] = {
        ("ALTER TABLE formula RENAME TO formula_was; CREATE VIEW formula AS WITH RECURSIVE n (i) "
         "AS "
         "(SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT i AS id, 'x' AS name, 'x' AS folded, 0 "
         "AS "
         "accord, 0 AS set_aside, 0 AS made_at, 0 AS changed_at, 0 AS kept, 0 AS revisions, 0 AS "
         "chain, 0 AS checksum FROM n"),
        ("CREATE TRIGGER endless AFTER INSERT ON formula BEGIN INSERT INTO setting WITH RECURSIVE "
         "n "
         "(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT i, i, 0 FROM n; END"),
        "CREATE VIRTUAL TABLE odd USING fts5 (words)",
    };
    struct world *world = *state;
    unsigned char *data = NULL;
    world_open(world);
    world_fill(world);
    world_close(world);
    const size_t length = world_load(world->path, &data);
    for (size_t i = 0; i < sizeof strangers / sizeof strangers[0]; i++) {
        sqlite3 *db = NULL;
        world_save(world->path, data, length);
        assert_int_equal(SQLITE_OK, sqlite3_open(world->path, &db));
        sqlite3_exec(db, "PRAGMA legacy_alter_table = ON", NULL, NULL, NULL);
        const int made = world_sql(db, strangers[i]);
        sqlite3_close(db);
        if (made != SQLITE_OK && i == 2)
            continue; /* this SQLite has no such module */
        assert_int_equal(SQLITE_OK, made);
        assert_status(PM_DAMAGED, open_hasty(world));
        assert_non_null(strstr(world->err.text, "none of this program's"));
    }
    free(data);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_new_library_is_private, world_setup, world_teardown),
        cmocka_unit_test_setup_teardown(odd_file_names_are_names, world_setup, world_teardown),
        cmocka_unit_test_setup_teardown(foreign_files_are_refused_and_left_alone, world_setup,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(truncated_files_are_damaged, world_setup, world_teardown),
        cmocka_unit_test_setup_teardown(what_a_stranger_wrote_is_not_run, world_setup,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(another_process_is_waited_for_once, world_setup,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(a_file_of_two_names_is_refused, world_setup,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(a_newer_library_is_refused, world_setup, world_teardown),
        cmocka_unit_test_setup_teardown(a_library_can_be_opened_for_reading_only, world_setup,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(a_file_or_folder_without_leave_to_write_is_read_only,
                                        world_setup, world_teardown),
        cmocka_unit_test_setup_teardown(a_link_does_not_make_a_folder_writable, world_setup,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(an_older_library_is_backed_up_and_migrated, world_setup,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(a_library_that_lies_about_its_step_is_damaged, world_setup,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(a_migration_that_fails_changes_nothing, world_setup,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(a_backup_is_whole_and_replaces_nothing_unasked, world_setup,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(nested_transactions_are_steps, world_setup, world_teardown),
        cmocka_unit_test_setup_teardown(settings_are_kept, world_setup, world_teardown),
        cmocka_unit_test_setup_teardown(two_instances_share_a_file, world_setup, world_teardown),
        cmocka_unit_test_setup_teardown(another_process_locks_the_file, world_setup,
                                        world_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
