/* SPDX-License-Identifier: MIT */
/*
 * Rows of the smell log and of blind tests: what is written is read, what is sealed stays so, tried
 * with raw SQL as another program would.
 */
#include "tests/store/world.h"

#include "permille/store/panels.h"
#include "permille/store/smells.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

/* World: formula 1 has the kept trial 1 and the draft 2; formula 2 the kept trials 3 and 4 and the
 * draft 5. */
enum { FORMULA = 2, FIRST = 3, SECOND = 4, DRAFT = 5 };

static int64_t apply(struct world *world, int64_t trial, int64_t at)
{
    char schedule[] = "0, 5 min";
    struct pm_application application = {
        .trial = trial, .medium = PM_ON_SKIN, .applied_at = at, .schedule = schedule};
    int64_t id = 0;
    assert_status(PM_OK, pm_application_insert(world->library, &application, &id, &world->err));
    return id;
}

static int64_t note(struct world *world, int64_t trial, int64_t since, int64_t corrects)
{
    const struct pm_smell smell = {.trial = trial,
                                   .medium = PM_ON_SKIN,
                                   .strength = PM_NEAT / 10,
                                   .since = since,
                                   .intensity = 7,
                                   .liking = -1,
                                   .note = "wet rope",
                                   .at = world->time,
                                   .corrects = corrects};
    int64_t id = 0;
    assert_status(PM_OK, pm_smell_insert(world->library, &smell, &id, &world->err));
    return id;
}

static struct pm_smells list(struct world *world, int64_t number, bool corrected_too)
{
    struct pm_smells list;
    assert_status(
        PM_OK, pm_smell_list(world->library, FORMULA, number, corrected_too, &list, &world->err));
    return list;
}

static size_t count(struct world *world, int64_t number, bool corrected_too)
{
    struct pm_smells smells = list(world, number, corrected_too);
    const size_t count = smells.count;
    pm_list_release(&smells);
    return count;
}

static void notes_are_read_as_written(void **state)
{
    struct world *world = *state;
    note(world, FIRST, 900, 0);
    note(world, SECOND, 0, 0);
    note(world, FIRST, 60, 0);
    struct pm_smells smells = list(world, 0, false);
    assert_int_equal(3, smells.count);
    assert_int_equal(3, smells.items[0].id); /* by trial, then by time */
    assert_int_equal(1, smells.items[1].id);
    assert_int_equal(2, smells.items[2].id);
    pm_list_release(&smells);
    smells = list(world, 1, false);
    assert_int_equal(2, smells.count);
    const struct pm_smell *last = &smells.items[1];
    assert_int_equal(900, last->since);
    assert_int_equal(7, last->intensity);
    assert_int_equal(-1, last->liking);
    assert_int_equal(PM_ON_SKIN, last->medium);
    assert_int_equal(PM_NEAT / 10, last->strength);
    assert_int_equal(world->time, last->entered_at);
    assert_int_equal(1, last->number);
    assert_string_equal("wet rope", last->note);
    pm_list_release(&smells);
    world_verify(world);
}

static void a_correction_takes_the_place_once(void **state)
{
    struct world *world = *state;
    const int64_t old = note(world, FIRST, 900, 0);
    const int64_t new = note(world, SECOND, 960, old);
    assert_int_equal(0, count(world, 1, false));
    assert_int_equal(1, count(world, 2, false));
    struct pm_smells old_ones = list(world, 1, true);
    assert_int_equal(1, old_ones.count);
    assert_int_equal(new, old_ones.items[0].corrected_by);
    pm_list_release(&old_ones);
    const struct pm_smell again = {.trial = FIRST, .intensity = 1, .corrects = old};
    int64_t id = 0;
    assert_status(PM_REFUSED, pm_smell_insert(world->library, &again, &id, &world->err));
    assert_non_null(strstr(world->err.text, "2 stands in its place"));
    const struct pm_smell nothing = {.trial = FIRST, .intensity = 1, .corrects = 99};
    assert_status(PM_MISSING, pm_smell_insert(world->library, &nothing, &id, &world->err));
    const struct pm_smell taken_back = {
        .trial = SECOND, .intensity = -1, .liking = -1, .corrects = new, .withdrawn = true};
    assert_status(PM_OK, pm_smell_insert(world->library, &taken_back, &id, &world->err));
    assert_int_equal(0, count(world, 0, false));
    assert_int_equal(3, count(world, 0, true));
    world_verify(world);
}

/* The only one that runs, or the first of `wanted`. */
static int64_t first_running(struct world *world, size_t wanted)
{
    struct pm_applications running;
    assert_status(PM_OK, pm_application_list(world->library, false, &running, &world->err));
    assert_int_equal(wanted, running.count);
    assert_string_equal(running.items[0].schedule, "0, 5 min");
    assert_int_equal(FORMULA, running.items[0].formula);
    const int64_t first = running.items[0].id;
    pm_list_release(&running);
    return first;
}

static void what_runs_survives_a_restart(void **state)
{
    struct world *world = *state;
    const int64_t late = apply(world, SECOND, world->time);
    const int64_t early = apply(world, FIRST, world->time - 60);
    world_close(world);
    world_open(world);
    assert_int_equal(early, first_running(world, 2));
    assert_status(PM_OK, pm_application_end(world->library, early, world->time, &world->err));
    assert_int_equal(late, first_running(world, 1));
    assert_status(PM_OK, pm_application_end(world->library, early, 0, &world->err));
    assert_status(PM_MISSING, pm_application_end(world->library, 77, 1, &world->err));
    world_verify(world);
}

static int64_t panel(struct world *world, const char *name)
{
    char copy[64];
    strcpy(copy, name);
    struct pm_panel_row row = {
        .name = copy, .kind = PM_DUO_TRIO, .expected = -1, .alpha = 50000000, .rounds = 2};
    const int64_t samples[] = {FIRST, SECOND};
    const struct pm_serving servings[] = {{1, 1, 0, 0}, {1, 2, 0, 417}, {1, 3, 1, 236},
                                          {2, 1, 1, 0}, {2, 2, 0, 902}, {2, 3, 1, 158}};
    int64_t id = 0;
    assert_status(PM_OK,
                  pm_panel_insert(world->library, &row, samples, 2, servings, 6, &id, &world->err));
    return id;
}

static enum pm_status answer(struct world *world, int64_t test, int64_t round, const char *code,
                             int64_t corrects)
{
    const struct pm_panel_answer given = {
        .round = round, .answer = code, .at = world->time, .corrects = corrects};
    int64_t id;
    return pm_panel_answer_insert(world->library, test, &given, &id, &world->err);
}

static void a_round_takes_one_answer_until_the_test_is_closed(void **state)
{
    struct world *world = *state;
    const int64_t test = panel(world, "Is it");
    assert_status(PM_OK, answer(world, test, 1, "417", 0));
    assert_status(PM_REFUSED, answer(world, test, 1, "236", 0));
    assert_status(PM_REFUSED, answer(world, test, 2, "236", 1));
    assert_status(PM_OK, answer(world, test, 1, "236", 1));
    assert_status(PM_REFUSED, answer(world, test, 1, "236", 1));
    assert_status(PM_OK, pm_panel_end(world->library, test, world->time, &world->err));
    assert_status(PM_REFUSED, pm_panel_end(world->library, test, world->time, &world->err));
    assert_status(PM_REFUSED, answer(world, test, 2, "902", 0));
    struct pm_arena arena = {0};
    struct pm_panel_row row;
    int64_t id = 0;
    assert_status(PM_OK, pm_panel_get(world->library, test, &arena, &row, &world->err));
    assert_string_equal(row.name, "Is it");
    assert_int_equal(PM_DUO_TRIO, row.kind);
    assert_int_equal(1, row.answered);
    assert_int_equal(2, row.sample_count);
    pm_arena_release(&arena);
    char copy[] = "IS it";
    row = (struct pm_panel_row){.name = copy, .alpha = 1, .rounds = 1, .expected = -1};
    assert_status(PM_EXISTS,
                  pm_panel_insert(world->library, &row, NULL, 0, NULL, 0, &id, &world->err));
    world_verify(world);
}

static const char *const forbidden[] = {
    "UPDATE smell SET intensity = 1",
    "DELETE FROM smell",
    "INSERT OR REPLACE INTO smell SELECT * FROM smell",
    "REPLACE INTO smell SELECT 9, trial, application, medium, strength, since, 1, liking, note, "
    "assessor, at, entered_at, corrects, withdrawn, checksum FROM smell WHERE corrects = 1",
    "INSERT INTO smell SELECT 9, 5, NULL, medium, strength, since, 1, liking, note, assessor, at, "
    "entered_at, NULL, withdrawn, checksum FROM smell WHERE id = 1",
    "INSERT INTO smell SELECT 9, 3, 1, medium, strength, since, 1, liking, note, assessor, at, "
    "entered_at, NULL, withdrawn, checksum FROM smell WHERE id = 1",
    "UPDATE application SET applied_at = 1",
    "UPDATE application SET trial = 3",
    "DELETE FROM application",
    "REPLACE INTO application SELECT * FROM application",
    "INSERT INTO application SELECT 9, 5, medium, strength, applied_at, schedule, note, ended_at, "
    "made_at, checksum FROM application",
    "UPDATE panel SET alpha = 1",
    "DELETE FROM panel",
    "REPLACE INTO panel SELECT * FROM panel",
    "UPDATE panel SET closed_at = NULL WHERE name = 'shut'",
    "UPDATE panel_sample SET trial = 4 WHERE sample = 0",
    "DELETE FROM panel_sample",
    "REPLACE INTO panel_sample SELECT * FROM panel_sample",
    "UPDATE panel_serving SET sample = 1 - sample",
    "DELETE FROM panel_serving",
    "REPLACE INTO panel_serving SELECT panel, round, place, 1, code, checksum FROM panel_serving",
    "REPLACE INTO panel_serving SELECT panel, 9, place, 1, code, checksum FROM panel_serving "
    "WHERE code IS NOT NULL",
    "UPDATE panel_answer SET answer = '1'",
    "DELETE FROM panel_answer",
    "REPLACE INTO panel_answer SELECT * FROM panel_answer",
    "INSERT INTO panel_answer VALUES (9, 1, 1, '236', NULL, 1, NULL, 0)",
    "INSERT INTO panel_answer VALUES (9, 2, 1, '236', NULL, 1, NULL, 0)",
};

static void another_program_cannot_rewrite_the_log(void **state)
{
    struct world *world = *state;
    note(world, FIRST, 900, note(world, FIRST, 800, 0));
    apply(world, SECOND, world->time);
    const int64_t open = panel(world, "open"), shut = panel(world, "shut");
    assert_status(PM_OK, answer(world, open, 1, "417", 0));
    assert_status(PM_OK, pm_panel_end(world->library, shut, world->time, &world->err));
    world_close(world);
    sqlite3 *db = world_raw(world);
    for (size_t i = 0; i < sizeof forbidden / sizeof forbidden[0]; i++)
        if (world_sql(db, forbidden[i]) == SQLITE_OK)
            fail_msg("%s was allowed", forbidden[i]);
    sqlite3_close(db);
    world_open(world);
    world_verify(world);
}

static void count_findings(void *context, const char *sentence)
{
    *(int *)context += strstr(sentence, "smell") != NULL;
}

static void a_changed_note_is_found(void **state)
{
    struct world *world = *state;
    note(world, FIRST, 900, 0);
    world_close(world);
    sqlite3 *db = world_raw(world);
    assert_int_equal(SQLITE_OK, world_sql(db, "DROP TRIGGER smell_never_changed"));
    assert_int_equal(SQLITE_OK, world_sql(db, "UPDATE smell SET note = 'wet robe'"));
    sqlite3_close(db);
    world_open(world);
    int findings = 0;
    assert_status(PM_DAMAGED,
                  pm_library_verify(world->library, count_findings, &findings, &world->err));
    assert_int_equal(2, findings); /* the trigger and the row */
}

static void count_told(void *context, const char *sentence)
{
    *(int *)context += strstr(sentence, "1 smell notes have lost") != NULL;
}

/* What a note corrects, and what it was smelled on, may be lost; the note is not. */
static void a_salvaged_note_outlives_what_it_corrects(void **state)
{
    struct world *world = *state;
    char saved[128];
    note(world, FIRST, 960, note(world, FIRST, 900, 0));
    const struct pm_smell smell = {.trial = SECOND,
                                   .application = apply(world, SECOND, world->time),
                                   .medium = PM_ON_SKIN,
                                   .intensity = 3,
                                   .liking = -1};
    int64_t id = 0;
    assert_status(PM_OK, pm_smell_insert(world->library, &smell, &id, &world->err));
    world_close(world);
    sqlite3 *db = world_raw(world);
    assert_int_equal(SQLITE_OK,
                     world_sql(db, "DROP TRIGGER smell_never_deleted; "
                                   "DROP TRIGGER application_never_deleted; "
                                   "DELETE FROM smell WHERE id = 1; DELETE FROM application"));
    sqlite3_close(db);
    int told = 0;
    assert_status(PM_OK, pm_library_salvage(world->path, world_path(world, "saved.db", saved), NULL,
                                            count_told, &told, &world->err));
    assert_int_equal(2, told);
    strcpy(world->path, saved);
    world_open(world);
    assert_int_equal(1, count(world, 1, true));
    assert_int_equal(1, count(world, 2, true));
    world_verify(world);
}

static void twenty_thousand_notes_are_read_in_one_go(void **state)
{
    struct world *world = *state;
    assert_status(PM_OK, pm_library_begin(world->library, &world->err));
    for (int i = 0; i < 20000; i++)
        note(world, i % 2 == 0 ? FIRST : SECOND, i, 0);
    assert_status(PM_OK, pm_library_commit(world->library, &world->err));
    assert_int_equal(10000, count(world, 2, false));
    /* Through the index: no step looks at the whole log. */
    world_close(world);
    sqlite3 *db = world_raw(world);
    sqlite3_stmt *plan = NULL;
    assert_int_equal(SQLITE_OK,
                     sqlite3_prepare_v2(db,
                                        "EXPLAIN QUERY PLAN SELECT s.id FROM trial AS t CROSS JOIN "
                                        "smell AS s ON s.trial = t.id LEFT JOIN smell AS c ON "
                                        "c.corrects = s.id WHERE t.formula = 2",
                                        -1, &plan, NULL));
    while (sqlite3_step(plan) == SQLITE_ROW) {
        const char *step = (const char *)sqlite3_column_text(plan, 3);
        assert_null(strstr(step, "SCAN"));
    }
    sqlite3_finalize(plan);
    sqlite3_close(db);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(notes_are_read_as_written, world_setup_filled,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(a_correction_takes_the_place_once, world_setup_filled,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(what_runs_survives_a_restart, world_setup_filled,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(a_round_takes_one_answer_until_the_test_is_closed,
                                        world_setup_filled, world_teardown),
        cmocka_unit_test_setup_teardown(another_program_cannot_rewrite_the_log, world_setup_filled,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(a_changed_note_is_found, world_setup_filled,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(a_salvaged_note_outlives_what_it_corrects,
                                        world_setup_filled, world_teardown),
        cmocka_unit_test_setup_teardown(twenty_thousand_notes_are_read_in_one_go,
                                        world_setup_filled, world_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
