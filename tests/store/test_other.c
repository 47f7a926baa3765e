/* SPDX-License-Identifier: MIT */
/*
 * Another library beside the open one: libraries of every step come in whole and are known again;
 * their files are only read; what is a stranger's is refused; every table of the schema is thought
 * of; whoever looks on may stop it at any moment, and everything is as it was.
 */
#include "src/store/embedded.h"
#include "src/store/other_inside.h"
#include "tests/store/world.h"

#include "permille/store/shelf.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include <cmocka.h>

static int newest_step(void)
{
    struct pm_store_options options;
    int count = 0;
    pm_store_defaults(&options);
    for (size_t i = 0; i < options.file_count; i++)
        count += strstr(options.files[i].name, ".sql") != NULL;
    return count;
}

/* The sample of a step under another name than the library's. */
static bool sample_at(struct world *world, int step, char path[128])
{
    struct world other = *world;
    char name[32];
    snprintf(name, sizeof name, "other-%d.db", step);
    world_path(world, name, other.path);
    snprintf(path, 128, "%s", other.path);
    return world_sample(&other, step);
}

/* Chooses all that can be taken, and what has a name that is taken as a second one. */
static struct pm_other_choice *choose_all(struct world *world, struct pm_other *other,
                                          const struct pm_other_items *items,
                                          struct pm_arena *arena, size_t *count)
{
    struct pm_other_choice *choices = calloc(items->count + 1, sizeof *choices);
    assert_non_null(choices);
    *count = 0;
    for (size_t i = 0; i < items->count; i++) {
        const struct pm_other_item *item = &items->items[i];
        struct pm_other_choice choice = {.kind = item->kind, .id = item->id};
        if (item->state == PM_OTHER_TAKEN) {
            choice.second = true;
            assert_status(PM_OK, pm_other_free_name(other, item, arena, &choice.name, &world->err));
        } else if (pm_other_usual(item) == PM_OTHER_LEAVE) {
            continue;
        }
        choices[(*count)++] = choice;
    }
    return choices;
}

static enum pm_status bring(struct world *world, struct pm_other *other,
                            const struct pm_other_choice *choices, size_t count)
{
    struct pm_shelf_log log;
    enum pm_status status = pm_library_begin(world->library, &world->err);
    if (status != PM_OK)
        return status;
    pm_shelf_log_init(&log, world->library);
    status = pm_other_bring(other, choices, count, &log, &world->err);
    if (status == PM_OK)
        status = pm_shelf_log_write(&log, "import", "Brought in", true, NULL, &world->err);
    pm_shelf_log_release(&log);
    if (status == PM_OK)
        return pm_library_commit(world->library, &world->err);
    pm_library_abort(world->library);
    return status;
}

static void step_comes_in(struct world *world, int step)
{
    char path[128];
    unsigned char *before = NULL, *after = NULL;
    struct pm_other *other;
    struct pm_other_items items;
    struct pm_arena arena = {0};
    size_t count;
    if (!sample_at(world, step, path))
        return;
    const size_t length = world_load(path, &before);
    assert_status(PM_OK, pm_other_open(world->library, path, &other, &world->err));
    assert_status(PM_OK, pm_other_items(other, &items, &world->err));
    assert_true(items.count > 0);
    struct pm_other_choice *choices = choose_all(world, other, &items, &arena, &count);
    assert_status(PM_OK, bring(world, other, choices, count));
    world_verify(world);
    pm_list_release(&items);
    assert_status(PM_OK, pm_other_items(other, &items, &world->err)); /* known again */
    for (size_t i = 0; i < items.count; i++)
        if (pm_other_usual(&items.items[i]) != PM_OTHER_LEAVE ||
            items.items[i].state == PM_OTHER_TAKEN || items.items[i].state == PM_OTHER_FORKED)
            fail_msg("step %d: the %s %s is not known again: %s", step,
                     pm_other_kind_word(items.items[i].kind, false), items.items[i].name,
                     pm_other_state_word(items.items[i].state));
    pm_list_release(&items);
    pm_other_close(other);
    free(choices);
    pm_arena_release(&arena);
    assert_int_equal(length, world_load(path, &after));
    assert_memory_equal(before, after, length); /* only read */
    free(before);
    free(after);
}

static void libraries_of_every_step_come_in(void **state)
{
    struct world *world = *state;
    for (int step = 1; step <= newest_step(); step++)
        step_comes_in(world, step);
    world_close(world);
    world_open(world);
    world_verify(world);
}

/* Tables that never come: the file's own, what is made from others, what stays there. */
static bool stays_there(const char *table)
{
    static const char *const stay[] = {"library",     "setting",    "material_search",
                                       "shelf_entry", "shelf_head", "material_use",
                                       "bottle_left"};
    for (size_t i = 0; i < sizeof stay / sizeof stay[0]; i++)
        if (strcmp(stay[i], table) == 0)
            return true;
    return false;
}

/* A later step that adds a table has to say what becomes of it. */
static void every_table_is_thought_of(void **state)
{
    struct world *world = *state;
    struct pm_shapes shapes;
    assert_status(PM_OK, pm_shapes_load(world->library->db, &shapes, &world->err));
    for (size_t i = 0; i < shapes.count; i++)
        if (pm_other_brings(shapes.items[i].table) == stays_there(shapes.items[i].table))
            fail_msg("table %s: does it come in from another library?", shapes.items[i].table);
    pm_shapes_release(&shapes);
}

static void strangers_are_refused(void **state)
{
    struct world *world = *state;
    struct pm_other *other;
    char path[128];
    const int step = newest_step();
    assert_true(sample_at(world, step - 1, path) || sample_at(world, step, path));
    sqlite3 *db;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(world_sql(db, "CREATE TRIGGER t AFTER INSERT ON material BEGIN SELECT 1; END"),
                     SQLITE_OK);
    assert_status(PM_DAMAGED, pm_other_open(world->library, path, &other, &world->err));
    assert_int_equal(world_sql(db, "DROP TRIGGER t; CREATE VIEW v AS SELECT 1"), SQLITE_OK);
    assert_status(PM_DAMAGED, pm_other_open(world->library, path, &other, &world->err));
    /* Pages of another size are no stranger's. */
    assert_int_equal(world_sql(db, "DROP VIEW v; PRAGMA page_size = 1024; VACUUM"), SQLITE_OK);
    assert_status(PM_OK, pm_other_open(world->library, path, &other, &world->err));
    pm_other_close(other);
    assert_int_equal(world_sql(db, "DELETE FROM material_name WHERE place = 0"), SQLITE_OK);
    assert_status(PM_DAMAGED, pm_other_open(world->library, path, &other, &world->err));
    sqlite3_close(db);
    assert_status(PM_MISSING, pm_other_open(world->library, "/nowhere.db", &other, &world->err));
}

/* ---- giving up ---- */

struct person {
    long asked, stop_at;
};

static bool go_on(void *context, const char *doing, int64_t done, int64_t all)
{
    struct person *person = context;
    (void)doing, (void)done, (void)all;
    return ++person->asked != person->stop_at;
}

static enum pm_status all_of_it(struct world *world, const char *path)
{
    struct pm_other *other = NULL;
    struct pm_other_items items;
    struct pm_arena arena = {0};
    size_t count;
    enum pm_status status = pm_other_open(world->library, path, &other, &world->err);
    if (status == PM_OK)
        status = pm_other_items(other, &items, &world->err);
    if (status == PM_OK) {
        struct pm_other_choice *choices = choose_all(world, other, &items, &arena, &count);
        status = bring(world, other, choices, count);
        free(choices);
        pm_list_release(&items);
    }
    pm_arena_release(&arena);
    pm_other_close(other);
    return status;
}

static void it_is_given_up_at_any_moment(void **state)
{
    struct world *world = *state;
    char path[128];
    bool whole = false;
    struct person person = {0};
    const struct pm_watch watch = {go_on, NULL, &person};
    assert_true(sample_at(world, newest_step() - 1, path) || sample_at(world, newest_step(), path));
    world_at_once(world); /* verified a hundred times */
    const uint64_t content = world_content(world->path, &whole);
    pm_library_watch(world->library, &watch);
    enum pm_status status = PM_STOPPED;
    for (long k = 1; status == PM_STOPPED; k += 1 + k / 8) {
        person = (struct person){.stop_at = k};
        status = all_of_it(world, path);
        if (status == PM_STOPPED) {
            assert_string_equal(world->err.text, "Given up; nothing was changed.");
            assert_int_equal(content, world_content(world->path, &whole));
        }
    }
    assert_status(PM_OK, status);
    assert_true(person.asked > 50);
    assert_int_not_equal(content, world_content(world->path, &whole));
    pm_library_watch(world->library, NULL);
    world_all_steps(world);
    world_verify(world);
}

#define WORLD(name) cmocka_unit_test_setup_teardown(name, world_setup_filled, world_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        WORLD(libraries_of_every_step_come_in),
        WORLD(every_table_is_thought_of),
        WORLD(strangers_are_refused),
        WORLD(it_is_given_up_at_any_moment),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
