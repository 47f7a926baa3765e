/* SPDX-License-Identifier: MIT */
/*
 * What the store's tests share (see world.h).
 */
#include "tests/store/world.h"

#include "src/store/checksum.h"
#include "src/store/embedded.h"

#include <dirent.h>
#include <fcntl.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

static int64_t tell_time(void *context)
{
    const struct world *world = context;
    return world->time;
}

void world_make(struct world *world)
{
    memset(world, 0, sizeof *world);
    strcpy(world->folder, "/tmp/permille-store-XXXXXX");
    assert_non_null(mkdtemp(world->folder));
    world_path(world, "library.db", world->path);
    world->time = 1772460000; /* 2 March 2026 */
    world->clock.now = tell_time;
    world->clock.context = world;
    pm_store_defaults(&world->options);
}

void world_open(struct world *world)
{
    assert_status(PM_OK, pm_library_open_with(world->path, PM_LIBRARY_CREATE, &world->clock,
                                              &world->options, &world->library, &world->err));
}

void world_all_steps(struct world *world)
{
    struct pm_store_options options;
    pm_store_defaults(&options);
    world->options.files = options.files;
    world->options.file_count = options.file_count;
}

/* Tables before what stands on them. */
static const char statements_of_schema[] = "SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL "
                                           "AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\' "
                                           "ORDER BY type <> 'table', rowid";

void world_at_once(struct world *world)
{
    enum { STEPS = 99, NAME = 16 };
    static struct pm_embedded files[STEPS + 1];
    static char names[STEPS][NAME], sql[1 << 18];
    size_t length = 0;
    sqlite3_stmt *rows = NULL;
    sqlite3 *db = world_raw(world);
    const int64_t steps = world_ask(db, "PRAGMA user_version");
    assert_true(steps > 0 && steps <= STEPS);
    assert_int_equal(SQLITE_OK, sqlite3_prepare_v2(db, statements_of_schema, -1, &rows, NULL));
    while (sqlite3_step(rows) == SQLITE_ROW) {
        length += (size_t)snprintf(sql + length, sizeof sql - length, "%s;\n",
                                   (const char *)sqlite3_column_text(rows, 0));
        assert_true(length < sizeof sql);
    }
    sqlite3_finalize(rows);
    sqlite3_close(db);
    for (int64_t i = 0; i < steps; i++) {
        snprintf(names[i], NAME, "%03d-step.sql", (int)(i + 1));
        files[i] = (struct pm_embedded){names[i], (const unsigned char *)"", 0};
    }
    files[steps - 1].data = (const unsigned char *)sql;
    files[steps - 1].length = length;
    world->options.files = files;
    world->options.file_count = (size_t)steps;
}

void world_close(struct world *world)
{
    pm_library_close(world->library);
    world->library = NULL;
}

void world_remove(struct world *world)
{
    char path[512];
    world_close(world);
    DIR *folder = opendir(world->folder);
    for (struct dirent *entry; folder != NULL && (entry = readdir(folder)) != NULL;) {
        snprintf(path, sizeof path, "%s/%s", world->folder, entry->d_name);
        if (entry->d_name[0] != '.' && unlink(path) != 0)
            rmdir(path);
    }
    if (folder != NULL)
        closedir(folder);
    rmdir(world->folder);
}

char *world_path(const struct world *world, const char *name, char *buf)
{
    snprintf(buf, 128, "%s/%s", world->folder, name);
    return buf;
}

void world_assert_status(enum pm_status wanted, enum pm_status got, const struct pm_error *err,
                         const char *call, const char *file, int line)
{
    if (wanted != got) {
        print_error("%s gave %s (\"%s\"), not %s\n", call, pm_status_word(got),
                    got == PM_OK ? "" : err->text, pm_status_word(wanted));
        _fail(file, line);
    }
    if (wanted != PM_OK && (err->text[0] == '\0' || err->status != wanted)) {
        print_error("%s gave no sentence\n", call);
        _fail(file, line);
    }
}

int64_t world_material(struct world *world, const char *name, enum pm_material_kind kind,
                       const char *cas, ...)
{
    const char *synonyms[8];
    size_t count = 0;
    va_list args;
    va_start(args, cas);
    for (char *next = va_arg(args, char *); next != NULL; next = va_arg(args, char *))
        synonyms[count++] = next;
    va_end(args);
    char name_copy[1024], cas_copy[32];
    snprintf(name_copy, sizeof name_copy, "%s", name);
    snprintf(cas_copy, sizeof cas_copy, "%s", cas == NULL ? "" : cas);
    struct pm_material material = {.name = name_copy,
                                   .kind = kind,
                                   .cas = cas == NULL ? NULL : cas_copy,
                                   .synonyms = synonyms,
                                   .synonym_count = count};
    assert_status(PM_OK, pm_material_insert(world->library, &material, &world->err));
    assert_true(material.id > 0);
    return material.id;
}

int64_t world_formula(struct world *world, const char *name)
{
    int64_t id = 0;
    assert_status(PM_OK, pm_formula_insert(world->library, name, false, 1000 * PM_PART, PM_OPEN,
                                           &id, &world->err));
    return id;
}

int64_t world_draft(struct world *world, int64_t formula)
{
    int64_t trial = 0;
    assert_status(PM_OK, pm_trial_by_number(world->library, formula, 0, &trial, &world->err));
    return trial;
}

int64_t world_head(struct world *world, int64_t trial)
{
    struct pm_trial_row row;
    assert_status(PM_OK, pm_trial_row_get(world->library, trial, NULL, &row, &world->err));
    return row.head;
}

int64_t world_line(struct pm_trial *trial, int64_t material, pm_parts parts)
{
    struct pm_line line = {.kind = PM_LINE_MATERIAL,
                           .ref = material,
                           .strength = PM_NEAT,
                           .parts = parts,
                           .stance = PM_FREE};
    assert_int_equal(PM_OK, pm_trial_insert(trial, trial->count, &line, NULL));
    return trial->lines[trial->count - 1].id;
}

int64_t world_write(struct world *world, int64_t draft, const struct pm_trial *after,
                    const char *sentence)
{
    int64_t revision = 0;
    world->time += 60;
    struct pm_trial whole = *after; /* settled or not as its total says */
    whole.settled = pm_trial_total(after) == after->base;
    assert_status(PM_OK, pm_draft_write(world->library, draft, world_head(world, draft), &whole,
                                        "set", sentence, "change 1\n", &revision, &world->err));
    return revision;
}

static int64_t keep(struct world *world, int64_t draft, const char *note)
{
    int64_t number = 0;
    world->time += 60;
    assert_status(PM_OK, pm_draft_keep(world->library, draft, world_head(world, draft), note,
                                       "Kept the trial", &number, &world->err));
    return number;
}

static int64_t fill_accord(struct world *world, int64_t first, int64_t second)
{
    struct pm_trial trial;
    int64_t formula = 0;
    assert_status(PM_OK, pm_formula_insert(world->library, "Damp stone", true, 100 * PM_PART,
                                           PM_OPEN, &formula, &world->err));
    int64_t draft = world_draft(world, formula);
    pm_trial_init(&trial, 100 * PM_PART, PM_OPEN);
    world_line(&trial, first, 60 * PM_PART);
    world_line(&trial, second, 40 * PM_PART);
    world_write(world, draft, &trial, "Set both");
    pm_trial_release(&trial);
    keep(world, draft, NULL);
    return draft;
}

/* The draft's lines: an accord, a material, a trace of a dilution with a comment. */
static void fill_draft(struct pm_trial *trial, int64_t accord, int64_t material, int64_t solvent)
{
    struct pm_line line = {.kind = PM_LINE_ACCORD,
                           .ref = accord,
                           .strength = PM_NEAT,
                           .parts = 300 * PM_PART,
                           .stance = PM_HELD};
    assert_int_equal(PM_OK, pm_trial_insert(trial, 0, &line, NULL));
    char comment[] = "a trace, \"quoted\"";
    line = (struct pm_line){.kind = PM_LINE_MATERIAL,
                            .ref = material,
                            .strength = PM_NEAT / 10,
                            .solvent = solvent,
                            .parts = 1,
                            .stance = PM_FREE,
                            .comment = comment};
    assert_int_equal(PM_OK, pm_trial_insert(trial, 9, &line, NULL));
}

int64_t world_fill(struct world *world)
{
    int64_t a = world_material(world, "Slate absolute", PM_NATURAL, NULL, "Black slate", NULL);
    int64_t b = world_material(world, "Fern acetate", PM_CHEMICAL, "106-22-9", NULL);
    int64_t c =
        world_material(world, "Ash lactone", PM_CHEMICAL, NULL, "Cinder ketone", "AL-1", NULL);
    int64_t solvent = world_material(world, "Plain spirit", PM_SOLVENT, "64-17-5", NULL);
    int64_t accord = fill_accord(world, a, b);
    int64_t formula = world_formula(world, "Quarry after rain");
    int64_t draft = world_draft(world, formula);
    int64_t first = draft;
    struct pm_trial trial;
    pm_trial_init(&trial, 1000 * PM_PART, PM_OPEN);
    world_line(&trial, b, 12 * PM_PART);
    world_write(world, draft, &trial, "Added Fern acetate at 12");
    fill_draft(&trial, accord, c, solvent);
    world_write(world, draft, &trial, "Added Damp stone and Ash lactone");
    assert_int_equal(1, keep(world, draft, "First try"));
    assert_status(PM_OK, pm_trial_mark(world->library, first, "too green", false, &world->err));
    draft = world_draft(world, formula);
    trial.parent = first;
    trial.lines[1].parts = 14 * PM_PART;
    pm_trial_weigh(&trial);
    world_write(world, draft, &trial, "Set Fern acetate from 12 to 14");
    assert_int_equal(2, keep(world, draft, "Second"));
    pm_trial_release(&trial);
    return formula;
}

static void print_finding(void *context, const char *sentence)
{
    (void)context;
    print_error("verify: %s\n", sentence);
}

void world_verify(struct world *world)
{
    assert_status(PM_OK, pm_library_verify(world->library, print_finding, NULL, &world->err));
}

bool world_sample(struct world *world, int step)
{
    static char sql[1 << 20];
    char sample[64];
    snprintf(sample, sizeof sample, "tests/store/samples/library-%d.sql", step);
    FILE *file = fopen(sample, "r");
    if (file == NULL)
        return false;
    const size_t length = fread(sql, 1, sizeof sql - 1, file);
    fclose(file);
    assert_true(length < sizeof sql - 1);
    sql[length] = '\0';
    sqlite3 *db = world_raw(world);
    if (world_sql(db, sql) != SQLITE_OK)
        fail_msg("%s: %s", sample, sqlite3_errmsg(db));
    sqlite3_close(db);
    return true;
}

sqlite3 *world_raw(struct world *world)
{
    sqlite3 *db = NULL;
    assert_int_equal(SQLITE_OK, sqlite3_open(world->path, &db));
    sqlite3_extended_result_codes(db, 1);
    return db;
}

int world_sql(sqlite3 *db, const char *sql)
{
    return sqlite3_exec(db, sql, NULL, NULL, NULL);
}

int64_t world_ask(sqlite3 *db, const char *sql)
{
    sqlite3_stmt *statement = NULL;
    assert_int_equal(SQLITE_OK, sqlite3_prepare_v2(db, sql, -1, &statement, NULL));
    assert_int_equal(SQLITE_ROW, sqlite3_step(statement));
    int64_t value = sqlite3_column_int64(statement, 0);
    sqlite3_finalize(statement);
    return value;
}

/* Everything a read could return, by table and by index. */
static const char *const reads[] = {
    "SELECT * FROM trial ORDER BY id",
    "SELECT * FROM line ORDER BY trial, line",
    "SELECT * FROM revision ORDER BY id",
    "SELECT * FROM trial_mark ORDER BY id",
    "SELECT * FROM formula ORDER BY id",
    "SELECT * FROM material ORDER BY id",
    "SELECT * FROM material_name ORDER BY material, place",
    "SELECT * FROM material_search ORDER BY block",
    "SELECT * FROM setting ORDER BY key",
    "SELECT material, formula FROM material_use ORDER BY 1, 2",
    "SELECT id FROM trial WHERE kept_at IS NULL ORDER BY formula",
    "SELECT formula, number, id FROM trial WHERE formula > 0 AND number > 0 ORDER BY 1, 2",
    "SELECT formula, number, id FROM revision WHERE formula > 0 ORDER BY 1, 2",
    "SELECT folded, material FROM material_name WHERE folded > '' ORDER BY 1",
};

uint64_t world_content_in(sqlite3 *db, bool *whole)
{
    uint64_t crc = 0;
    *whole = true;
    for (size_t i = 0; *whole && i < sizeof reads / sizeof reads[0]; i++) {
        sqlite3_stmt *statement = NULL;
        int rc = sqlite3_prepare_v2(db, reads[i], -1, &statement, NULL);
        while (rc == SQLITE_OK || rc == SQLITE_ROW) {
            rc = sqlite3_step(statement);
            for (int column = 0; rc == SQLITE_ROW && column < sqlite3_column_count(statement);
                 column++)
                crc = pm_crc_value(crc, column, sqlite3_column_value(statement, column));
            crc = pm_crc_add(crc, "row", 3);
        }
        *whole = rc == SQLITE_DONE;
        sqlite3_finalize(statement);
    }
    return crc;
}

uint64_t world_content(const char *path, bool *whole)
{
    sqlite3 *db = NULL;
    uint64_t crc = 0;
    *whole = sqlite3_open_v2(path, &db, SQLITE_OPEN_READWRITE, NULL) == SQLITE_OK;
    if (*whole)
        crc = world_content_in(db, whole);
    sqlite3_close(db);
    return crc;
}

size_t world_load(const char *path, unsigned char **data)
{
    struct stat seen;
    int file = open(path, O_RDONLY);
    assert_true(file >= 0 && fstat(file, &seen) == 0);
    *data = malloc((size_t)seen.st_size);
    assert_int_equal(seen.st_size, read(file, *data, (size_t)seen.st_size));
    close(file);
    return (size_t)seen.st_size;
}

void world_save(const char *path, const void *data, size_t length)
{
    int file = open(path, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    assert_true(file >= 0);
    assert_int_equal((ssize_t)length, write(file, data, length));
    close(file);
}

int world_setup(void **state)
{
    struct world *world = malloc(sizeof *world);
    world_make(world);
    *state = world;
    return 0;
}

int world_setup_open(void **state)
{
    world_setup(state);
    world_open(*state);
    return 0;
}

int world_setup_filled(void **state)
{
    world_setup_open(state);
    world_fill(*state);
    return 0;
}

int world_teardown(void **state)
{
    world_remove(*state);
    free(*state);
    return 0;
}
