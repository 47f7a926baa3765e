/* SPDX-License-Identifier: MIT */
/*
 * What never changes: kept trials, their lines, revisions, labels, tried with raw SQL as another
 * program would.
 */
#include "permille/store/bottles.h"
#include "permille/store/shelf.h"
#include "tests/store/world.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

/* Bottles 1 and 2 of the first material, one movement, an entry of the shelf's history, a rate. */
static void fill_shelf(struct world *world)
{
    struct pm_movement movement = {.bottle = 1, .kind = PM_RECEIVED, .mass = PM_GRAM, .at = 1};
    const struct pm_rate rate = {.currency = "EUR", .other = "CHF", .rate = 950000000, .day = 1};
    struct pm_shelf_log log;
    for (int i = 0; i < 2; i++) {
        struct pm_bottle bottle = {.material = 1,
                                   .strength = PM_NEAT,
                                   .bought = PM_NO_DAY,
                                   .opened = PM_NO_DAY,
                                   .best_before = PM_NO_DAY};
        assert_status(PM_OK, pm_bottle_insert(world->library, &bottle, &world->err));
    }
    assert_status(PM_OK, pm_movement_insert(world->library, &movement, NULL, &world->err));
    assert_status(PM_OK, pm_rate_insert(world->library, &rate, &world->err));
    pm_shelf_log_init(&log, world->library);
    assert_status(PM_OK, pm_library_begin(world->library, &world->err));
    assert_status(PM_OK, pm_shelf_log_moved(&log, 1, &world->err));
    assert_status(PM_OK, pm_shelf_log_write(&log, "ledger", "1 g came", true, NULL, &world->err));
    assert_status(PM_OK, pm_library_commit(world->library, &world->err));
    pm_shelf_log_release(&log);
}

static int setup(void **state)
{
    world_setup_filled(state);
    fill_shelf(*state);
    return 0;
}

/* World: formula 1 has the kept trial 1 and the draft 2; formula 2 the kept trials 3 and 4 and the
 * draft 5. */
static const char *const forbidden[] = {
    "UPDATE trial SET note = 'changed' WHERE id = 3",
    "UPDATE trial SET base = 1 WHERE id = 3",
    "UPDATE trial SET kept_at = NULL, number = NULL WHERE id = 4",
    "UPDATE trial SET formula = 1 WHERE id = 5",
    "UPDATE trial SET id = 50 WHERE id = 5",
    "UPDATE OR REPLACE trial SET number = 1, kept_at = 1 WHERE id = 5",
    "DELETE FROM trial WHERE id = 3",
    "DELETE FROM trial WHERE id = 5",
    "INSERT OR REPLACE INTO trial SELECT * FROM trial WHERE id = 3",
    ("REPLACE INTO trial SELECT 99, formula, number, parent, head, mode, base, settled, next_line, "
     "line_count, total, content, made_at, kept_at, 'other', scale_digits, scale_power, checksum "
     "FROM trial WHERE id = 3"),
    ("REPLACE INTO trial SELECT 99, formula, number, parent, head, mode, base, settled, next_line, "
     "line_count, total, content, made_at, kept_at, 'other', scale_digits, scale_power, checksum "
     "FROM trial WHERE id = 5"),
    ("INSERT INTO trial SELECT 99, formula, 9, parent, head, mode, base, settled, next_line, "
     "line_count, total, content, made_at, kept_at, 'forged', scale_digits, scale_power, checksum "
     "FROM trial WHERE id = 3"),
    ("INSERT INTO trial SELECT id, formula, number, parent, head, mode, base, settled, next_line, "
     "line_count, total, content, made_at, kept_at, note, scale_digits, scale_power, checksum FROM "
     "trial WHERE id = 3 "
     "ON CONFLICT DO UPDATE SET note = 'upsert'"),
    "UPDATE line SET parts = parts + 1 WHERE trial = 3",
    "UPDATE line SET trial = 5 WHERE trial = 3 AND line = 1",
    "UPDATE line SET trial = 3, line = 77 WHERE trial = 5 AND line = 1",
    "UPDATE OR REPLACE line SET trial = 3 WHERE trial = 5",
    "DELETE FROM line WHERE trial = 3",
    ("INSERT INTO line SELECT 3, 9, 9, material, accord, strength, solvent, parts, stance, core, "
     "weight, comment, share_digits, share_power, rested, rested_as FROM line WHERE trial = 3 AND "
     "line = 1"),
    "INSERT OR REPLACE INTO line SELECT * FROM line WHERE trial = 3",
    "UPDATE revision SET sentence = 'It was never so'",
    "DELETE FROM revision WHERE id = 2",
    "INSERT OR REPLACE INTO revision SELECT * FROM revision WHERE id = 2",
    ("REPLACE INTO revision SELECT 99, formula, number, trial, parent, target, at, gesture, "
     "'other', "
     "change, previous, checksum FROM revision WHERE id = 2"),
    "UPDATE trial_mark SET label = 'changed'",
    "DELETE FROM trial_mark",
    "INSERT OR REPLACE INTO trial_mark SELECT id, trial, 'other', 0, 0, 0 FROM trial_mark",
    "INSERT INTO trial_mark VALUES (9, 5, 'a draft', 0, 0, 0)",
    "DELETE FROM bottle",
    "UPDATE bottle SET id = 9 WHERE id = 1",
    "UPDATE movement SET mass = 1 WHERE id = 1",
    "DELETE FROM movement",
    "INSERT OR REPLACE INTO movement SELECT * FROM movement WHERE id = 1",
    ("INSERT INTO movement (id, bottle, kind, mass, corrects, at, checksum) "
     "VALUES (9, 2, 'corrected', 1, 1, 0, 0)"), /* of another bottle */
    "UPDATE shelf_entry SET sentence = 'It was never so'",
    "DELETE FROM shelf_entry",
    "INSERT OR REPLACE INTO shelf_entry SELECT * FROM shelf_entry WHERE id = 1",
    "UPDATE currency_rate SET rate = 1",
    "DELETE FROM currency_rate",
    "INSERT OR REPLACE INTO currency_rate SELECT * FROM currency_rate WHERE id = 1",
};

static void raw_sql_cannot_change_what_is_kept(void **state)
{
    struct world *world = *state;
    sqlite3 *db = world_raw(world);
    for (size_t i = 0; i < sizeof forbidden / sizeof forbidden[0]; i++) {
        int rc = world_sql(db, forbidden[i]);
        if (rc != SQLITE_CONSTRAINT_TRIGGER)
            fail_msg("%s: %s", forbidden[i], rc == SQLITE_OK ? "done" : sqlite3_errmsg(db));
    }
    sqlite3_close(db);
    world_verify(world);
}

/* Values out of range, references to nothing, rules between columns. */
static const char *const impossible[] = {
    "UPDATE line SET parts = -1 WHERE trial = 5",
    "UPDATE line SET parts = 1000000000001 WHERE trial = 5",
    "UPDATE line SET strength = 0 WHERE trial = 5",
    "UPDATE line SET strength = 1000000000 WHERE trial = 5 AND solvent IS NOT NULL",
    "UPDATE line SET solvent = NULL WHERE trial = 5 AND solvent IS NOT NULL",
    "UPDATE line SET material = 1, accord = 1 WHERE trial = 5",
    "UPDATE line SET material = NULL, accord = NULL WHERE trial = 5",
    "UPDATE line SET material = 99 WHERE trial = 5 AND material IS NOT NULL",
    "UPDATE line SET accord = 2 WHERE trial = 5 AND accord IS NOT NULL",
    "UPDATE line SET stance = 'lazy' WHERE trial = 5",
    "UPDATE line SET parts = 'many' WHERE trial = 5",
    "UPDATE line SET parts = 3.5 WHERE trial = 5",
    "UPDATE line SET core = 1 WHERE trial = 5",
    "UPDATE trial SET mode = 'odd' WHERE id = 5",
    "UPDATE trial SET base = 0 WHERE id = 5",
    "UPDATE trial SET number = 7 WHERE id = 5",
    "UPDATE trial SET parent = 99 WHERE id = 5",
    "UPDATE formula SET name = 'a/b' WHERE id = 1",
    "UPDATE formula SET folded = 'quarry after rain' WHERE id = 1",
    "DELETE FROM formula WHERE id = 1",
    "DELETE FROM material WHERE id = 1",
    "UPDATE material SET kind = 'magic' WHERE id = 1",
    "UPDATE material SET merged_into = 1 WHERE id = 1",
    "UPDATE material_name SET folded = 'fern acetate' WHERE material = 1",
    "UPDATE bottle SET strength = 1000000001 WHERE id = 1",
    "UPDATE bottle SET strength = 5 WHERE id = 1", /* without a solvent */
    "UPDATE bottle SET price = 5 WHERE id = 1",    /* without a currency */
    "UPDATE bottle SET material = 99 WHERE id = 1",
    "UPDATE bottle SET made_from = 1 WHERE id = 1",
    "INSERT INTO movement VALUES (9, 1, 'poured', 5, NULL, NULL, NULL, NULL, NULL, 0, 0, NULL, "
    "NULL)",
    "INSERT INTO movement VALUES (9, 1, 'received', -5, NULL, NULL, NULL, NULL, NULL, 0, 0, NULL, "
    "NULL)",
    "INSERT INTO movement VALUES (9, 1, 'counted', 5, NULL, NULL, NULL, NULL, NULL, 0, 0, NULL, "
    "NULL)",
    "INSERT INTO movement VALUES (9, 1, 'lost', -5, NULL, NULL, NULL, NULL, NULL, 0, 0, NULL, "
    "NULL)",
    "INSERT INTO movement VALUES (9, 77, 'poured', -5, NULL, NULL, NULL, NULL, NULL, 0, 0, NULL, "
    "NULL)",
    ("INSERT INTO trial SELECT 99, formula, NULL, parent, head, mode, base, settled, next_line, "
     "line_count, total, content, made_at, NULL, NULL, scale_digits, scale_power, checksum FROM "
     "trial WHERE id = 5"),
};

static void raw_sql_cannot_write_what_is_impossible(void **state)
{
    struct world *world = *state;
    sqlite3 *db = world_raw(world);
    assert_int_equal(SQLITE_OK, world_sql(db, "PRAGMA foreign_keys = ON"));
    for (size_t i = 0; i < sizeof impossible / sizeof impossible[0]; i++) {
        int rc = world_sql(db, impossible[i]);
        if ((rc & 0xFF) != SQLITE_CONSTRAINT)
            fail_msg("%s: %s", impossible[i], rc == SQLITE_OK ? "done" : sqlite3_errmsg(db));
    }
    sqlite3_close(db);
    world_verify(world);
}

static void count_finding(void *context, const char *sentence)
{
    int *count = context;
    assert_true(sentence[0] != '\0');
    (*count)++;
}

/* Changes that get past the triggers, because they go first: found by verify all the same. */
static const char *const forced[] = {
    ("DROP TRIGGER revision_never_changed; UPDATE revision SET sentence = 'x' WHERE id = 2;"
     "CREATE TRIGGER revision_never_changed BEFORE UPDATE ON revision BEGIN\n"
     "    SELECT raise(ABORT, 'a revision never changes');\nEND"),
    "DROP TRIGGER revision_never_deleted",
    ("DROP TRIGGER line_sealed_update; CREATE TRIGGER line_sealed_update BEFORE UPDATE ON line "
     "WHEN 0 BEGIN SELECT 1; END"),
    "CREATE TRIGGER spy AFTER INSERT ON line BEGIN SELECT 1; END",
    "UPDATE line SET parts = parts + 1 WHERE trial = 5 AND line = 1",
    "UPDATE line SET comment = 'other' WHERE trial = 5 AND line = 3",
    "DELETE FROM line WHERE trial = 5 AND line = 3",
    "UPDATE trial SET settled = 1 WHERE id = 5",
    "UPDATE material SET note = 'other' WHERE id = 1",
    "UPDATE material_name SET name = 'other' WHERE material = 1 AND place = 0",
    "UPDATE formula SET accord = 1 WHERE id = 2",
    "UPDATE material_search SET entries = x'00'",
    "DELETE FROM material_search",
    "DELETE FROM material_use",
    "DROP TABLE setting",
    "INSERT INTO setting VALUES ('by hand', 'x', 0)",
    ("DROP TRIGGER revision_never_deleted; UPDATE trial SET head = NULL WHERE id = 5; "
     "DELETE FROM revision WHERE formula = 2"),
    "DROP INDEX trial_draft",
    "UPDATE bottle_left SET mass = mass + 1 WHERE bottle = 1",
    "DELETE FROM bottle_left WHERE bottle = 2",
    "UPDATE bottle SET note = 'other' WHERE id = 1",
    "UPDATE shelf_head SET entry = NULL; DROP TRIGGER shelf_entry_never_deleted",
};

static void verify_finds_what_was_forced(void **state)
{
    struct world *world = *state;
    world_close(world);
    for (size_t i = 0; i < sizeof forced / sizeof forced[0]; i++) {
        int count = 0;
        world_remove(world);
        world_make(world);
        world_open(world);
        world_fill(world);
        fill_shelf(world);
        sqlite3 *db = world_raw(world);
        if (world_sql(db, forced[i]) != SQLITE_OK)
            fail_msg("%s: %s", forced[i], sqlite3_errmsg(db));
        sqlite3_close(db);
        enum pm_status status =
            pm_library_verify(world->library, count_finding, &count, &world->err);
        if (status != PM_DAMAGED || count == 0)
            fail_msg("%s: %s, %d findings", forced[i], pm_status_word(status), count);
    }
}

/* A trial that was tampered with is not shown as if it were what was kept. */
static void a_tampered_trial_is_not_loaded(void **state)
{
    struct world *world = *state;
    struct pm_trial trial;
    int64_t revision = 0;
    sqlite3 *db = world_raw(world);
    assert_int_equal(SQLITE_OK, world_sql(db, "UPDATE line SET parts = parts + 1 "
                                              "WHERE trial = 5 AND line = 1"));
    sqlite3_close(db);
    assert_status(PM_DAMAGED, pm_trial_load(world->library, 5, &trial, &world->err));
    assert_status(PM_OK, pm_trial_load(world->library, 4, &trial, &world->err));
    assert_status(PM_DAMAGED, pm_draft_write(world->library, 5, world_head(world, 5), &trial, "set",
                                             "s", "c", &revision, &world->err));
    pm_trial_release(&trial);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(raw_sql_cannot_change_what_is_kept, setup, world_teardown),
        cmocka_unit_test_setup_teardown(raw_sql_cannot_write_what_is_impossible, setup,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(verify_finds_what_was_forced, setup, world_teardown),
        cmocka_unit_test_setup_teardown(a_tampered_trial_is_not_loaded, setup, world_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
