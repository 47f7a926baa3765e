/* SPDX-License-Identifier: MIT */
/*
 * A disk that fails, fills up or loses power at every possible moment, memory that runs out at
 * every request, and a process that is killed: what was confirmed is there, nothing is half there,
 * and what a call says is true.
 *
 * A fixed story of changes is told to a library. Where it stands is known by the content: state i
 * is after i changes.
 */
#include "src/store/store.h"
#include "tests/store/fault_vfs.h"
#include "tests/store/world.h"

#include "permille/base/mem.h"

#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

enum { CHANGES = 7, FORMULA = 2 };

/* The library before the story, and what it reads like after each change. */
static struct {
    unsigned char *data;
    size_t length;
    uint64_t states[CHANGES + 1];
} story;

/* ---- the story ---- */

static enum pm_status write_draft(struct pm_library *library, int fresh_lines, pm_parts parts,
                                  struct pm_error *err)
{
    struct pm_trial trial;
    struct pm_trial_row row;
    int64_t draft = 0, revision = 0;
    enum pm_status status = pm_trial_by_number(library, FORMULA, 0, &draft, err);
    if (status == PM_OK)
        status = pm_trial_row_get(library, draft, NULL, &row, err);
    if (status != PM_OK)
        return status;
    status = pm_trial_load(library, draft, &trial, err);
    if (status != PM_OK)
        return status;
    trial.lines[1].parts = parts;
    for (int i = 0; status == PM_OK && i < fresh_lines; i++) {
        struct pm_line line = {.kind = PM_LINE_MATERIAL,
                               .ref = 1 + i % 3,
                               .strength = PM_NEAT,
                               .parts = i,
                               .stance = PM_FREE};
        status = pm_trial_insert(&trial, 1, &line, err);
    }
    pm_trial_weigh(&trial);
    if (status == PM_OK) {
        status = pm_draft_write(library, draft, row.head, &trial, "set", "Set a number",
                                "change 1\n", &revision, err);
    }
    pm_trial_release(&trial);
    return status;
}

static enum pm_status keep_draft(struct pm_library *library, struct pm_error *err)
{
    struct pm_trial_row row;
    int64_t draft = 0, number = 0;
    enum pm_status status = pm_trial_by_number(library, FORMULA, 0, &draft, err);
    if (status == PM_OK)
        status = pm_trial_row_get(library, draft, NULL, &row, err);
    if (status == PM_OK)
        status = pm_draft_keep(library, draft, row.head, "a note", "Kept it", &number, err);
    return status;
}

/* Change number i, always the same. */
static enum pm_status change(struct pm_library *library, int i, struct pm_error *err)
{
    char name[] = "New material", synonym[] = "Newer material";
    const char *synonyms[] = {synonym};
    struct pm_material material = {
        .name = name, .kind = PM_NATURAL, .synonyms = synonyms, .synonym_count = 1};
    int64_t id = 0;
    switch (i) {
    case 0:
        return write_draft(library, 0, 17 * PM_PART, err);
    case 1:
        return pm_material_insert(library, &material, err);
    case 2:
        return keep_draft(library, err);
    case 3:
        return pm_trial_mark(library, 3, "a label", true, err);
    case 4:
        return write_draft(library, 120, 18 * PM_PART, err);
    case 5:
        return pm_setting_put(library, "decimal", ",", err);
    default:
        return pm_formula_insert(library, "New formula", false, 100 * PM_PART, PM_SHARE, &id, err);
    }
}

static enum pm_status open_story(struct world *world)
{
    struct pm_store_options options = world->options;
    options.vfs = fault_vfs();
    options.wait_ms = 0;
    return pm_library_open_with(world->path, PM_LIBRARY_CREATE, &world->clock, &options,
                                &world->library, &world->err);
}

static uint64_t content_of(const char *path)
{
    bool whole = false;
    uint64_t content = world_content(path, &whole);
    assert_true(whole);
    return content;
}

static int setup_story(void **state)
{
    struct world *world = malloc(sizeof *world);
    fault_register();
    world_make(world);
    world_open(world);
    assert_int_equal(FORMULA, world_fill(world));
    world_close(world);
    world_at_once(world);
    story.length = world_load(world->path, &story.data);
    story.states[0] = content_of(world->path);
    assert_status(PM_OK, open_story(world));
    for (int i = 0; i < CHANGES; i++) {
        assert_status(PM_OK, change(world->library, i, &world->err));
        story.states[i + 1] = content_of(world->path);
        assert_true(story.states[i + 1] != story.states[i]);
    }
    world_verify(world);
    world_close(world);
    *state = world;
    return 0;
}

static int teardown_story(void **state)
{
    world_remove(*state);
    free(*state);
    free(story.data);
    return 0;
}

static void begin_again(struct world *world)
{
    char journal[160];
    snprintf(journal, sizeof journal, "%s-journal", world->path);
    unlink(journal);
    world_save(world->path, story.data, story.length);
}

/* The file as any later program would find it: sound, and in one of the two states. */
static void assert_state(struct world *world, int low, int high)
{
    bool whole = false;
    world_open(world); /* rolls back what was left */
    world_verify(world);
    uint64_t content = world_content_in(world->library->db, &whole);
    world_close(world);
    assert_true(whole);
    if (content != story.states[low] && content != story.states[high]) {
        for (int i = 0; i <= CHANGES; i++)
            if (content == story.states[i])
                print_error("state %d\n", i);
        fail_msg("not in state %d or %d", low, high);
    }
}

/* ---- the disk ---- */

/* Tells the story until a change fails; returns how many were confirmed. */
static int tell(struct world *world)
{
    int done = 0;
    while (done < CHANGES && change(world->library, done, &world->err) == PM_OK)
        done++;
    return done;
}

static void disk_fails(struct world *world, enum fault_kind kind, enum pm_status other)
{
    long k = 1;
    for (bool hit = true; hit; k += fault_step()) {
        begin_again(world);
        fault_disarm();
        assert_status(PM_OK, open_story(world));
        fault_arm(kind, k);
        int done = tell(world);
        hit = fault_hit();
        fault_disarm();
        if (done < CHANGES) {
            assert_true(world->err.status == PM_IO || world->err.status == other);
            /* The call said "not saved", and it is not; and the same change can be made now. */
            assert_true(content_of(world->path) == story.states[done]);
            assert_status(PM_OK, change(world->library, done, &world->err));
            done++;
        }
        assert_true(hit || done == CHANGES);
        world_close(world);
        assert_state(world, done, done);
    }
    print_message("%ld moments\n", k - 1);
    assert_true(k > 50);
}

static void the_disk_fails_once(void **state)
{
    disk_fails(*state, FAULT_ONCE, PM_IO);
}

static void the_disk_is_full(void **state)
{
    disk_fails(*state, FAULT_FULL, PM_FULL);
}

/* The change has reached the disk and an error comes all the same: what the call says is what the
 * file says. Removing the journal, which is when a change counts, is among these moments. */
static void errors_that_come_late_are_seen_through(void **state)
{
    disk_fails(*state, FAULT_LATE, PM_IO);
}

static struct {
    int failures, asked;
} folder;

static enum pm_status sync_folder(const char *path, struct pm_error *err)
{
    assert_string_equal(strrchr(path, '/'), "/library.db");
    return folder.asked++ < folder.failures ? pm_fail(err, PM_IO, "No.") : PM_OK;
}

/* What was not certain is asked about again when told to, and by closing, until the disk confirms
 * it.
 */
static void ask_again(struct world *world)
{
    assert_status(PM_UNSURE, pm_library_confirm(world->library, &world->err));
    assert_non_null(strstr(world->err.text, "still not certain"));
    assert_int_equal(folder.asked, 4);
    folder.failures = 0;
    assert_status(PM_OK, pm_library_confirm(world->library, &world->err));
    assert_status(PM_OK, pm_library_confirm(world->library, &world->err));
    assert_int_equal(folder.asked, 5);
}

/* The journal is gone and the change can be read, but the folder's sync failed: it is tried again,
 * and what the disk never confirms is not called saved. */
static void a_folder_that_is_not_synced_is_told(void **state)
{
    struct world *world = *state;
    int unsure = 0;
    bool hit = true;
    for (long k = 1; hit; k++) {
        for (int failures = 2; failures <= 1000; failures += 998) {
            begin_again(world);
            fault_disarm();
            assert_status(PM_OK, open_story(world));
            world->library->options.sync_folder = sync_folder;
            folder.failures = failures;
            folder.asked = 0;
            fault_arm(FAULT_LATE, k);
            int done = tell(world);
            hit = fault_hit();
            fault_disarm();
            if (folder.asked > 0) {
                assert_int_equal(folder.asked, 3);
                if (failures == 2) {
                    assert_int_equal(done, CHANGES);
                } else {
                    assert_int_equal(world->err.status, PM_UNSURE);
                    assert_non_null(strstr(world->err.text, "not certain"));
                    assert_true(content_of(world->path) == story.states[done + 1]);
                    ask_again(world);
                    unsure++;
                }
            }
            world_close(world);
        }
    }
    assert_int_equal(unsure, CHANGES);
}

/* Nothing works any more, not even rolling back: the next program finds one state or the other. */
static void the_disk_dies(void **state)
{
    struct world *world = *state;
    long k = 1;
    for (bool hit = true; hit; k += fault_step()) {
        begin_again(world);
        fault_disarm();
        assert_status(PM_OK, open_story(world));
        fault_arm(FAULT_LASTING, k);
        int done = tell(world);
        hit = fault_hit();
        world_close(world);
        fault_disarm();
        assert_state(world, done, done < CHANGES ? done + 1 : done);
    }
    assert_true(k > 50);
}

static void the_power_goes(void **state)
{
    struct world *world = *state;
    long k = 1;
    int landed = 0, not_landed = 0;
    for (bool hit = true; hit; k += fault_step()) {
        for (unsigned seed = 1; seed <= 2; seed++) {
            begin_again(world);
            fault_arm(FAULT_POWER, 1000000);
            assert_status(PM_OK, open_story(world));
            fault_arm(FAULT_POWER, k);
            world_close(world);
            assert_status(PM_OK, open_story(world)); /* followed from here on */
            int done = tell(world);
            hit = fault_hit();
            world_close(world);
            fault_disarm();
            fault_power_loss(seed + (unsigned)k * 10);
            assert_state(world, done, done < CHANGES ? done + 1 : done);
            landed += done < CHANGES && content_of(world->path) == story.states[done + 1];
            not_landed += content_of(world->path) == story.states[done];
        }
    }
    print_message("%ld moments; %d unconfirmed changes landed, %d ends as confirmed\n", k - 1,
                  landed, not_landed);
    assert_true(k > 50);
}

/* ---- making and migrating under faults ---- */

static const enum fault_kind making_kinds[] = {FAULT_ONCE, FAULT_LASTING, FAULT_FULL};

/* Whether kind i is tried at moment k: one after the other, unless all are asked for. */
static bool is_tried(size_t i, long k)
{
    return fault_all() || (size_t)k % 3 == i;
}

/* Whether the fault happened. */
static bool makes_a_library(const struct world *world, struct world *fresh, enum fault_kind kind,
                            long k)
{
    char journal[160];
    snprintf(journal, sizeof journal, "%s-journal", fresh->path);
    unlink(fresh->path);
    unlink(journal);
    fault_arm(kind, k);
    enum pm_status status = open_story(fresh);
    const bool hit = fault_hit();
    fault_disarm();
    assert_true(status == PM_OK || status == PM_IO || status == PM_FULL);
    assert_true(hit || status == PM_OK);
    if (status != PM_OK && kind == FAULT_FULL)
        assert_int_equal(-1, access(fresh->path, F_OK)); /* nothing half made is left */
    world_close(fresh);
    /* Trying again helps. */
    world_open(fresh);
    fresh->library->options = world->options;
    world_verify(fresh);
    world_close(fresh);
    return hit;
}

static void making_a_library_fails_cleanly(void **state)
{
    struct world *world = *state;
    char path[128];
    world_path(world, "fresh.db", path);
    struct world fresh = *world;
    strcpy(fresh.path, path);
    world_all_steps(&fresh);
    int since_hit = 0; /* each kind must have got through */
    for (long k = 1; since_hit < 3; k += fault_step())
        for (size_t i = 0; i < 3; i++)
            if (is_tried(i, k))
                since_hit = makes_a_library(world, &fresh, making_kinds[i], k) ? 0 : since_hit + 1;
}

/* A library of the first step, as its file was, and as all steps leave it. */
struct old {
    struct world world;
    unsigned char *data; /* owned */
    size_t length;
    uint64_t before, after;
    char backup[128];
};

/* Whether the fault happened. */
static bool migrates(struct old *old, enum fault_kind kind, long k)
{
    struct world *world = &old->world;
    char journal[160];
    snprintf(journal, sizeof journal, "%s-journal", world->path);
    unlink(journal);
    unlink(old->backup);
    world_save(world->path, old->data, old->length);
    fault_arm(kind, k);
    enum pm_status status = open_story(world);
    const bool hit = fault_hit();
    fault_disarm();
    world_close(world);
    assert_true(status == PM_OK || status == PM_IO || status == PM_FULL);
    assert_true(content_of(world->path) == (status == PM_OK ? old->after : old->before));
    world_open(world);
    world_verify(world);
    world_close(world);
    assert_true(content_of(world->path) == old->after);
    assert_int_equal(0, access(old->backup, F_OK));
    return hit;
}

/* Opened by a program that knows more steps. */
static void migrating_fails_cleanly(void **state)
{
    struct world *world = *state;
    struct old old = {.world = *world};
    world_all_steps(&old.world);
    world_path(world, "old.db", old.world.path);
    world_path(world, "old.before-2.db", old.backup);
    world_sample(&old.world, 1);
    old.length = world_load(old.world.path, &old.data);
    old.before = content_of(old.world.path);
    world_open(&old.world);
    world_close(&old.world);
    old.after = content_of(old.world.path);
    bool hit = true;
    for (long k = 1; hit; k += fault_all() ? 1 : 1 + k / 30) {
        hit = k < 30;
        for (size_t i = 0; i < 3; i++)
            if (is_tried(i, k))
                hit = migrates(&old, making_kinds[i], k) || hit;
    }
    free(old.data);
}

/* ---- memory ---- */

/* SQLite's allocator with a countdown, put in before SQLite starts. */
static struct {
    sqlite3_mem_methods real;
    long countdown;
    bool hit;
} memory;

static bool memory_fails(void)
{
    if (memory.countdown == 0 || --memory.countdown != 0)
        return false;
    memory.hit = true;
    return true;
}

static void *failing_malloc(int size)
{
    return memory_fails() ? NULL : memory.real.xMalloc(size);
}

static void *failing_realloc(void *old, int size)
{
    return memory_fails() ? NULL : memory.real.xRealloc(old, size);
}

static void install_memory(void)
{
    sqlite3_mem_methods methods;
    assert_int_equal(SQLITE_OK, sqlite3_config(SQLITE_CONFIG_GETMALLOC, &memory.real));
    methods = memory.real;
    methods.xMalloc = failing_malloc;
    methods.xRealloc = failing_realloc;
    assert_int_equal(SQLITE_OK, sqlite3_config(SQLITE_CONFIG_MALLOC, &methods));
}

/* Whoever's memory runs out: either the change was made all the same or the call says so, and the
 * library goes on working. */
static void check_after_memory(struct world *world, enum pm_status opened, int done)
{
    if (opened != PM_OK) {
        assert_int_equal(PM_NOMEM, opened);
        assert_state(world, 0, 0);
        return;
    }
    if (done < CHANGES) {
        assert_int_equal(PM_NOMEM, world->err.status);
        assert_true(content_of(world->path) == story.states[done]);
        assert_status(PM_OK, change(world->library, done, &world->err));
        done++;
    }
    world_close(world);
    assert_state(world, done, done);
}

static void sqlite_runs_out_of_memory(void **state)
{
    struct world *world = *state;
    int moments = 0;
    memory.hit = true;
    /* There are thousands of requests: the first ones each, then some of them. */
    for (long k = 1; memory.hit; k += k < 150 ? 1 : 1 + k / 12) {
        begin_again(world);
        memory.hit = false;
        memory.countdown = k;
        enum pm_status opened = open_story(world);
        int done = opened == PM_OK ? tell(world) : 0;
        memory.countdown = 0;
        check_after_memory(world, opened, done);
        moments++;
    }
    print_message("%d moments\n", moments);
    assert_true(moments > 160);
}

static void the_store_runs_out_of_memory(void **state)
{
    struct world *world = *state;
    bool hit = true;
    long k = 1;
    for (; hit; k += k < 100 ? 1 : 7) {
        begin_again(world);
        pm_mem_fail_at(k, false);
        enum pm_status opened = open_story(world);
        int done = opened == PM_OK ? tell(world) : 0;
        hit = pm_mem_fail_at(0, false) >= k;
        check_after_memory(world, opened, done);
    }
    print_message("%ld requests\n", k);
    assert_true(k > 40);
}

/* ---- kill -9 ---- */

/* The child tells the same change over and over and says so after each; the parent kills it after
 * the n-th message. Whatever was said is there. */
static void tell_forever(struct world *world, int to_parent)
{
    struct pm_library *library = NULL;
    if (pm_library_open(world->path, 0, NULL, NULL, &library, &world->err) != PM_OK)
        _exit(2);
    for (int64_t i = 1;; i++) {
        char value[32];
        snprintf(value, sizeof value, "%lld", (long long)i);
        if (pm_library_begin(library, NULL) != PM_OK ||
            pm_setting_put(library, "count", value, NULL) != PM_OK ||
            write_draft(library, 1, i, NULL) != PM_OK ||
            pm_library_commit(library, NULL) != PM_OK || write(to_parent, "c", 1) != 1)
            _exit(3);
    }
}

static void a_killed_process_loses_nothing_confirmed(void **state)
{
    struct world *world = *state;
    int unconfirmed = 0;
    for (int round = 0; round < 40; round++) {
        int told[2], status = 0;
        char byte = 0;
        begin_again(world);
        assert_int_equal(0, pipe(told));
        pid_t child = fork();
        if (child == 0) {
            close(told[0]);
            tell_forever(world, told[1]);
        }
        close(told[1]);
        long confirmed = 0;
        while (confirmed < 1 + round % 9 && read(told[0], &byte, 1) == 1)
            confirmed++;
        kill(child, SIGKILL);
        assert_int_equal(child, waitpid(child, &status, 0));
        assert_true(WIFSIGNALED(status));
        while (read(told[0], &byte, 1) == 1)
            confirmed++;
        close(told[0]);
        world_open(world);
        world_verify(world);
        char *value = NULL;
        struct pm_trial trial;
        int64_t draft = world_draft(world, FORMULA);
        assert_status(PM_OK, pm_setting_get(world->library, "count", &value, &world->err));
        long saved = value == NULL ? 0 : strtol(value, NULL, 10);
        pm_free(value);
        assert_true(saved == confirmed || saved == confirmed + 1);
        assert_status(PM_OK, pm_trial_load(world->library, draft, &trial, &world->err));
        assert_int_equal(3 + saved, trial.count); /* both halves of the change or none */
        pm_trial_release(&trial);
        world_close(world);
        unconfirmed += saved > confirmed;
    }
    print_message("40 kills, %d changes had landed unconfirmed\n", unconfirmed);
}

/* SQLite gives up a whole transaction after some errors. What comes after it belonged to it, and
 * must not be written on its own. */
static void what_follows_a_lost_transaction_is_not_written(void **state)
{
    struct world *world = *state;
    char *value = NULL;
    begin_again(world);
    assert_status(PM_OK, open_story(world));
    assert_status(PM_OK, pm_library_begin(world->library, &world->err));
    assert_status(PM_OK, pm_setting_put(world->library, "first", "1", &world->err));
    assert_int_equal(SQLITE_OK, sqlite3_exec(world->library->db, "ROLLBACK", NULL, NULL, NULL));
    assert_int_not_equal(PM_OK, pm_setting_put(world->library, "second", "2", &world->err));
    assert_int_not_equal(PM_OK, pm_library_begin(world->library, &world->err));
    assert_int_not_equal(PM_OK, pm_library_commit(world->library, &world->err));
    assert_status(PM_OK, pm_setting_get(world->library, "first", &value, &world->err));
    assert_null(value);
    assert_status(PM_OK, pm_setting_get(world->library, "second", &value, &world->err));
    assert_null(value);
    assert_status(PM_OK, pm_setting_put(world->library, "third", "3", &world->err));
    world_verify(world);
    world_close(world);
}

int main(void)
{
    install_memory();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_disk_fails_once),
        cmocka_unit_test(the_disk_is_full),
        cmocka_unit_test(errors_that_come_late_are_seen_through),
        cmocka_unit_test(a_folder_that_is_not_synced_is_told),
        cmocka_unit_test(the_disk_dies),
        cmocka_unit_test(the_power_goes),
        cmocka_unit_test(making_a_library_fails_cleanly),
        cmocka_unit_test(migrating_fails_cleanly),
        cmocka_unit_test(sqlite_runs_out_of_memory),
        cmocka_unit_test(the_store_runs_out_of_memory),
        cmocka_unit_test(a_killed_process_loses_nothing_confirmed),
        cmocka_unit_test(what_follows_a_lost_transaction_is_not_written),
    };
    return cmocka_run_group_tests(tests, setup_story, teardown_story);
}
