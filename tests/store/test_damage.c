/* SPDX-License-Identifier: MIT */
/*
 * Damage: flipped bits in a library's file are found, and what can be read is salvaged.
 */
#include "tests/store/fault_vfs.h"
#include "tests/store/world.h"

#include "src/store/checksum.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

/* Published check values: CRC-64/XZ of "123456789" in the Catalogue of parametrised CRC algorithms
 * (R. Williams' model; as in the .xz file format specification), from memory. */
static void the_checksum_is_the_published_one(void **state)
{
    (void)state;
    assert_true(pm_crc_add(0, "123456789", 9) == UINT64_C(0x995DC9BBDF1939FA));
    assert_true(pm_crc_add(pm_crc_add(0, "1234", 4), "56789", 5) == UINT64_C(0x995DC9BBDF1939FA));
    assert_true(pm_crc_add(0, "", 0) == 0);
}

/* Whether opening or verifying tells of damage. */
static bool told(struct world *world)
{
    enum pm_status status = pm_library_open_with(world->path, 0, &world->clock, &world->options,
                                                 &world->library, &world->err);
    if (status == PM_OK)
        status = pm_library_verify(world->library, NULL, NULL, &world->err);
    world_close(world);
    return status != PM_OK;
}

/* Enough history that pages are full: half of the bits then matter. */
static void fill_much(struct world *world)
{
    int64_t formula = world_fill(world);
    int64_t draft = world_draft(world, formula);
    struct pm_trial trial;
    assert_status(PM_OK, pm_trial_load(world->library, draft, &trial, &world->err));
    for (int i = 0; i < 150; i++) {
        trial.lines[1].parts += PM_PART;
        world_line(&trial, 1 + i % 3, i);
        world_write(world, draft, &trial, "Changed a number and added a line, as one does");
        int64_t number = 0;
        if (i % 30 == 0) {
            assert_status(PM_OK, pm_draft_keep(world->library, draft, world_head(world, draft),
                                               "kept", "Kept", &number, &world->err));
            draft = world_draft(world, formula);
            trial.parent = draft - 1;
            pm_trial_release(&trial);
            assert_status(PM_OK, pm_trial_load(world->library, draft, &trial, &world->err));
        }
    }
    pm_trial_release(&trial);
}

/* Every flip that changes what any read returns must be told of. */
static void flipped_bits_are_found(void **state)
{
    struct world *world = *state;
    const int flips = (int)(1000 / fault_step());
    unsigned char *data = NULL;
    bool whole = false;
    int changed = 0, silent = 0, harmless_told = 0;
    world_open(world);
    fill_much(world);
    world_verify(world);
    world_close(world);
    world_at_once(world);
    size_t length = world_load(world->path, &data);
    uint64_t sound = world_content(world->path, &whole);
    assert_true(whole);
    assert_false(told(world));
    srand(11);
    for (int i = 0; i < flips; i++) {
        size_t bit = ((size_t)rand() << 8 ^ (size_t)rand()) % (length * 8);
        data[bit / 8] ^= (unsigned char)(1u << (bit % 8));
        world_save(world->path, data, length);
        bool readable = false;
        bool differs = world_content(world->path, &readable) != sound || !readable;
        bool found = told(world);
        changed += differs;
        harmless_told += !differs && found;
        if (differs && !found) {
            print_error("bit %zu (page %zu, byte %zu) changed what is read, silently\n", bit,
                        bit / 8 / 4096 + 1, bit / 8 % 4096);
            silent++;
        }
        data[bit / 8] ^= (unsigned char)(1u << (bit % 8));
    }
    print_message("%d flips in %zu bytes: %d changed a read, %d of them silently; %d others told\n",
                  flips, length, changed, silent, harmless_told);
    free(data);
    assert_true(changed > flips / 8);
    assert_int_equal(0, silent);
}

/* ---- salvage ---- */

static void print_finding(void *context, const char *sentence)
{
    int *count = context;
    (*count)++;
    if (getenv("PERMILLE_TEST_TALK") != NULL)
        print_message("    %s\n", sentence);
}

static void a_sound_library_is_salvaged_whole(void **state)
{
    struct world *world = *state;
    struct world copy = *world;
    int findings = 0;
    bool whole = false;
    world_open(world);
    fill_much(world);
    assert_status(PM_OK, pm_setting_put(world->library, "decimal", ",", &world->err));
    world_close(world);
    world_path(world, "salvaged.db", copy.path);
    assert_status(PM_OK, pm_library_salvage(world->path, copy.path, NULL, print_finding, &findings,
                                            &world->err));
    assert_int_equal(0, findings);
    assert_true(world_content(world->path, &whole) == world_content(copy.path, &whole));
    world_open(&copy);
    world_verify(&copy);
    world_close(&copy);
    assert_status(PM_EXISTS,
                  pm_library_salvage(world->path, copy.path, NULL, NULL, NULL, &world->err));
    assert_status(PM_MISSING, pm_library_salvage("/nowhere.db", world_path(world, "n", copy.path),
                                                 NULL, NULL, NULL, &world->err));
}

static size_t count_rows(const char *path, const char *table)
{
    sqlite3 *db = NULL;
    sqlite3_stmt *count = NULL;
    char *sql = sqlite3_mprintf("SELECT count(*) FROM %s", table);
    assert_int_equal(SQLITE_OK, sqlite3_open_v2(path, &db, SQLITE_OPEN_READONLY, NULL));
    assert_int_equal(SQLITE_OK, sqlite3_prepare_v2(db, sql, -1, &count, NULL));
    assert_int_equal(SQLITE_ROW, sqlite3_step(count));
    const size_t rows = (size_t)sqlite3_column_int64(count, 0);
    sqlite3_finalize(count);
    sqlite3_close(db);
    sqlite3_free(sql);
    return rows;
}

/* Pages overwritten with rubbish, one after the other, the first with the header and the names of
 * the tables among them: what comes back is sound, and what is not there is told. */
static void ruined_pages_are_read_around(void **state)
{
    static const char *const tables[] = {"material_name", "trial", "line", "revision", "formula"};
    struct world *world = *state;
    struct world copy = *world;
    unsigned char *data = NULL, page[4096];
    size_t rows[5], length;
    world_open(world);
    fill_much(world);
    world_close(world);
    length = world_load(world->path, &data);
    for (size_t t = 0; t < 5; t++)
        rows[t] = count_rows(world->path, tables[t]);
    world_path(world, "salvaged.db", copy.path);
    /* Every fourth: each is a whole salvage. */
    const size_t step = fault_all() ? 4096 : 4 * (size_t)fault_step() * 4096;
    for (size_t at = 0; at < length; at += step) {
        int findings = 0;
        memcpy(page, data + at, sizeof page);
        memset(data + at, 0xA5, sizeof page);
        world_save(world->path, data, length);
        unlink(copy.path);
        assert_status(PM_OK, pm_library_salvage(world->path, copy.path, NULL, print_finding,
                                                &findings, &world->err));
        world_open(&copy);
        world_verify(&copy);
        world_close(&copy);
        bool less = false;
        for (size_t t = 0; t < 5; t++)
            less = less || count_rows(copy.path, tables[t]) < rows[t];
        if (less && findings == 0)
            fail_msg("page %zu: rows are missing, and nothing was told", at / 4096 + 1);
        memcpy(data + at, page, sizeof page);
    }
    free(data);
}

static char told_of[4096];

static void remember_finding(void *context, const char *sentence)
{
    (void)context;
    strncat(told_of, sentence, sizeof told_of - strlen(told_of) - 2);
    strcat(told_of, "\n");
}

static void salvages_whole(struct world *world, const unsigned char *data, size_t length,
                           uint64_t content)
{
    char into[128];
    bool whole = false;
    world_save(world->path, data, length);
    unlink(world_path(world, "salvaged.db", into));
    told_of[0] = '\0';
    assert_status(PM_OK,
                  pm_library_salvage(world->path, into, NULL, remember_finding, NULL, &world->err));
    assert_true(world_content(into, &whole) == content);
    assert_true(whole);
}

/* Neither the magic nor the version nor any page of the schema is needed. */
static void a_library_without_header_or_schema_is_salvaged_whole(void **state)
{
    struct world *world = *state;
    unsigned char *data = NULL, first[4096];
    bool whole = false;
    world_open(world);
    fill_much(world);
    world_close(world);
    const size_t length = world_load(world->path, &data);
    const uint64_t content = world_content(world->path, &whole);
    data[3] ^= 1; /* of the magic */
    salvages_whole(world, data, length, content);
    assert_string_equal("", told_of);
    data[3] ^= 1;
    data[17] ^= 0x40; /* of the size of a page */
    data[63] ^= 2;    /* of the version */
    salvages_whole(world, data, length, content);
    assert_string_equal("", told_of);
    memcpy(first, data, sizeof first);
    memset(data, 0, sizeof first);
    salvages_whole(world, data, length, content);
    free(data);
}

/* One bit of a row: it is told, and what kind it is. */
static void a_torn_row_is_told_by_its_kind(void **state)
{
    struct world *world = *state;
    unsigned char *data = NULL;
    char into[128];
    world_open(world);
    fill_much(world);
    assert_status(PM_OK, pm_setting_put(world->library, "view", "Quartermaster", &world->err));
    world_close(world);
    const size_t length = world_load(world->path, &data);
    unsigned char *at = memmem(data, length, "Quartermaster", 13);
    assert_non_null(at);
    at[2] ^= 1;
    world_save(world->path, data, length);
    told_of[0] = '\0';
    assert_status(PM_OK, pm_library_salvage(world->path, world_path(world, "s.db", into), NULL,
                                            remember_finding, NULL, &world->err));
    assert_non_null(strstr(told_of, "Of the settings 1 do not match"));
    /* A journal beside it: what it would have undone may be there. */
    char journal[160];
    snprintf(journal, sizeof journal, "%.120s-journal", world->path);
    world_save(journal, "x", 1);
    unlink(into);
    assert_status(PM_OK,
                  pm_library_salvage(world->path, into, NULL, remember_finding, NULL, &world->err));
    assert_non_null(strstr(told_of, "in the middle of a change"));
    free(data);
}

/* A process that dies while it copies leaves nothing of the name asked for; what it leaves is
 * removed by the next, and what others are busy with is not. */
static void what_a_dead_process_left_is_removed(void **state)
{
    struct world *world = *state;
    char into[128], dead[160], alive[160];
    int status;
    const pid_t child = fork();
    if (child == 0)
        _exit(0);
    assert_int_equal(child, waitpid(child, &status, 0));
    world_open(world);
    world_path(world, "b.db", into);
    snprintf(dead, sizeof dead, "%.100s/a.db.copying-%ld", world->folder, (long)child);
    snprintf(alive, sizeof alive, "%.100s/a.db.copying-%ld", world->folder, (long)getppid());
    world_save(dead, "x", 1);
    world_save(alive, "x", 1);
    assert_status(PM_OK, pm_library_backup(world->library, into, false, &world->err));
    assert_int_equal(-1, access(dead, F_OK));
    assert_int_equal(0, access(alive, F_OK));
    /* And a failed salvage leaves neither name. */
    unlink(into);
    world_close(world);
    assert_int_equal(0, truncate(world->path, 0));
    assert_status(PM_FOREIGN, pm_library_salvage(world->path, into, NULL, NULL, NULL, &world->err));
    assert_int_equal(-1, access(into, F_OK));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_checksum_is_the_published_one),
        cmocka_unit_test_setup_teardown(flipped_bits_are_found, world_setup, world_teardown),
        cmocka_unit_test_setup_teardown(a_sound_library_is_salvaged_whole, world_setup,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(ruined_pages_are_read_around, world_setup, world_teardown),
        cmocka_unit_test_setup_teardown(a_library_without_header_or_schema_is_salvaged_whole,
                                        world_setup, world_teardown),
        cmocka_unit_test_setup_teardown(a_torn_row_is_told_by_its_kind, world_setup,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(what_a_dead_process_left_is_removed, world_setup,
                                        world_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
