/* SPDX-License-Identifier: MIT */
/* The Scale by keyboard: a batch is planned, poured, over-poured, saved, corrected, finished; a
 * balance behind a pipe is listened to. */
#include "bench_world.h"

#include "permille/studio/scale.h"
#include "permille/studio/shelf.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PLAY (&world->play)

static void stock(struct bench_world *world, const char *name)
{
    int64_t material = 0, bottle = 0;
    struct pm_error err = {0};
    assert_int_equal(pm_shelf_find(world->house.studio, name, &material, &err), PM_OK);
    assert_int_equal(
        pm_bottle_add(world->house.studio, material, 50 * PM_GRAM, NULL, 0, &bottle, &err), PM_OK);
}

/* Harbour is kept, its materials stand on the shelf, the Scale is open. */
static void scale(struct bench_world *world, int rows, int columns)
{
    bench_harbour(world, rows, columns);
    struct pm_sheet *sheet;
    struct pm_error err = {0};
    assert_int_equal(pm_sheet_open_draft(world->house.studio, world->house.formula, &sheet, &err),
                     PM_OK);
    for (size_t i = 0; i < sheet->trial.count; i++)
        stock(world, sheet->lines[i].name);
    pm_sheet_free(sheet);
    play_keys(PLAY, "w Enter W");
    play_sees(PLAY, "No batch is planned");
    play_keys(PLAY, "a");
    play_sees(PLAY, "Harbour/1");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "planned");
}

static void started(struct bench_world *world, int rows, int columns)
{
    scale(world, rows, columns);
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Start pouring");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "pour, tared");
}

static void nothing_goes_by_one_key(void **state)
{
    struct bench_world *world = *state;
    scale(world, 24, 80);
    play_keys(PLAY, "p");
    play_sees(PLAY, "it weighs within 2 %");
    play_keys(PLAY, "Esc x Enter");
    play_sees(PLAY, "planned");
    play_keys(PLAY, "x y");
    play_sees(PLAY, "No batch is planned");
    play_keys(PLAY, "H");
    play_sees(PLAY, "given up");
}

static void poured_and_saved(void **state)
{
    struct bench_world *world = *state;
    struct pm_batch_record record;
    struct pm_error err = {0};
    started(world, 24, 80);
    play_golden(PLAY, "scale-80x24");
    play_keys(PLAY, "Enter Enter"); /* what the plan says */
    play_sees(PLAY, "done");
    play_type(PLAY, "9");
    play_keys(PLAY, "Enter"); /* far too much */
    play_sees(PLAY, "Too much was poured");
    play_sees(PLAY, "restore");
    play_keys(PLAY, "Enter");
    play_misses(PLAY, "! too much");
    assert_int_equal(pm_batch_show(world->house.studio, 1, &record, &err), PM_OK);
    assert_string_equal(record.plan.way, "restore");
    assert_true(record.target > 10 * PM_GRAM);
    const size_t lines = record.count;
    pm_batch_record_release(&record);
    for (size_t i = 1; i < lines; i++)
        play_keys(PLAY, "Enter Enter");
    play_sees(PLAY, "Everything is poured");
    bench_world_restart(world); /* nothing of it is only on the screen */
    play_keys(PLAY, "W Enter");
    play_sees(PLAY, "Everything is poured");
    play_resize(PLAY, 50, 200);
    play_golden(PLAY, "scale-200x50");
    play_keys(PLAY, "f Down Down Right Enter"); /* kept as weighed */
    play_sees(PLAY, "Finished");
    play_keys(PLAY, "Esc");
    play_sees(PLAY, "No batch is planned");
}

static void corrected(void **state)
{
    struct bench_world *world = *state;
    struct pm_batch_record record;
    struct pm_error err = {0};
    started(world, 24, 80);
    play_keys(PLAY, "Enter Enter Up e Ctrl-U");
    play_type(PLAY, "0.9");
    play_keys(PLAY, "Enter");
    assert_int_equal(pm_batch_show(world->house.studio, 1, &record, &err), PM_OK);
    assert_int_equal(record.pours.count, 2);
    assert_int_equal(record.pours.items[1].corrects, record.pours.items[0].id);
    assert_int_equal(record.poured, 900000);
    pm_batch_record_release(&record);
    play_keys(PLAY, "z");
    play_sees(PLAY, "paused");
}

static void listens_to_a_balance(void **state)
{
    struct bench_world *world = *state;
    char path[] = "/tmp/permille-balance-XXXXXX";
    const int fd = mkstemp(path);
    assert_true(fd >= 0);
    FILE *file = fdopen(fd, "w");
    fputs("0.20 g\n1.00 g\n1.00 g\n1.00 g\n", file);
    fclose(file);
    started(world, 24, 80);
    play_keys(PLAY, "m");
    play_type(PLAY, path);
    play_keys(PLAY, "Enter");
    play_wait(PLAY, 2);
    play_sees(PLAY, "stable");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "The display shows");
    remove(path);
}

int main(void)
{
    const struct CMUnitTest tests[] = {BENCH(nothing_goes_by_one_key), BENCH(poured_and_saved),
                                       BENCH(corrected), BENCH(listens_to_a_balance)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
