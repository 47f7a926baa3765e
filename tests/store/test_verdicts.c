/* SPDX-License-Identifier: MIT */
/* No memory and no disk are their own sentences: a request for memory or a read that fails never
 * makes a sound library a damaged or a foreign one. */
#include "src/store/store.h"
#include "tests/store/fault_vfs.h"
#include "tests/store/world.h"

#include "permille/base/mem.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

static struct {
    sqlite3_mem_methods real;
    long asked, fail_at; /* 0: none */
} memory;

static void *memory_get(int bytes)
{
    return ++memory.asked == memory.fail_at ? NULL : memory.real.xMalloc(bytes);
}

static void *memory_resize(void *old, int bytes)
{
    return ++memory.asked == memory.fail_at ? NULL : memory.real.xRealloc(old, bytes);
}

static void watch_memory(void)
{
    assert_int_equal(sqlite3_config(SQLITE_CONFIG_GETMALLOC, &memory.real), SQLITE_OK);
    sqlite3_mem_methods watched = memory.real;
    watched.xMalloc = memory_get;
    watched.xRealloc = memory_resize;
    assert_int_equal(sqlite3_config(SQLITE_CONFIG_MALLOC, &watched), SQLITE_OK);
}

enum fault { OWN, SQLITES, READS };

static void arm(enum fault fault, long k)
{
    memory.asked = 0;
    memory.fail_at = fault == SQLITES ? k : 0;
    pm_mem_fail_at(fault == OWN ? k : 0, false);
    if (fault == READS)
        fault_arm(FAULT_READ, k);
}

/* How often the fault could have happened. */
static long disarm(enum fault fault)
{
    const long own = pm_mem_fail_at(0, false), reads = fault_disarm();
    memory.fail_at = 0;
    return fault == OWN ? own : fault == SQLITES ? memory.asked : reads;
}

static void print_finding(void *context, const char *sentence)
{
    print_error("found: %s\n", sentence);
    ++*(int *)context;
}

static enum pm_status open_and_verify(struct world *world, int *findings)
{
    struct pm_store_options options = world->options;
    options.vfs = fault_vfs();
    options.wait_ms = 0;
    enum pm_status status =
        pm_library_open_with(world->path, 0, &world->clock, &options, &world->library, &world->err);
    if (status == PM_OK)
        status = pm_library_verify(world->library, print_finding, findings, &world->err);
    world_close(world);
    return status;
}

/* The ordinary number of steps is left out where there are very many: a prime stride. */
static void faults_are_no_damage(struct world *world, enum fault fault, long stride)
{
    int findings = 0;
    arm(fault, 1000000000);
    assert_status(PM_OK, open_and_verify(world, &findings));
    const long times = disarm(fault);
    assert_true(times > 10);
    for (long k = 1; k <= times; k += stride) {
        arm(fault, k);
        const enum pm_status status = open_and_verify(world, &findings);
        disarm(fault);
        const enum pm_status fits = fault == READS ? PM_IO : PM_NOMEM;
        if (findings > 0 || (status != PM_OK && status != fits))
            fail_msg("fault %d, %ld of %ld: %s", (int)fault, k, times, world->err.text);
    }
    print_message("%ld moments\n", times);
}

static void verify_and_open_tell_lost_memory(void **state)
{
    struct world *world = *state;
    fault_register();
    world_open(world);
    world_fill(world);
    world_close(world);
    world_at_once(world);
    faults_are_no_damage(world, OWN, 1);
    faults_are_no_damage(world, SQLITES, 37);
}

static void verify_and_open_tell_a_failing_disk(void **state)
{
    struct world *world = *state;
    fault_register();
    world_open(world);
    world_fill(world);
    world_close(world);
    world_at_once(world);
    faults_are_no_damage(world, READS, 1);
}

int main(void)
{
    watch_memory();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(verify_and_open_tell_lost_memory, world_setup,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(verify_and_open_tell_a_failing_disk, world_setup,
                                        world_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
