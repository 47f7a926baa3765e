/* SPDX-License-Identifier: MIT */
/*
 * The Drydown room, played by keyboard alone and compared with what the file then holds. The
 * formula and its figures are invented.
 */
#include "bench_world.h"

#include "permille/studio/series.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define PLAY (&world->play)

static int setup(void **state)
{
    setenv("TZ", "UTC", 1);
    tzset();
    return bench_world_setup(state);
}

static void material(struct bench_world *world, const char *name, const char *pressure,
                     const char *label)
{
    struct hand *hand = world->hand;
    const int64_t id = hand_material(hand, name);
    static const char *const mass = "150";
    hand_ok(hand,
            pm_shelf_set_fact(hand->studio, id, "vapour_pressure", pressure, NULL, &hand->err));
    hand_ok(hand, pm_shelf_set_fact(hand->studio, id, "molar_mass", mass, NULL, &hand->err));
    hand_ok(hand, pm_shelf_set_fact(hand->studio, id, "volatility", label, NULL, &hand->err));
}

static void fill(struct bench_world *world)
{
    struct hand *hand = world->hand;
    material(world, "Spray", "100", "top");
    material(world, "Moss", "3", "heart");
    material(world, "Tar", "0.1", "top");
    const int64_t id = hand_formula(hand, "Harbour", 1000);
    hand_add(hand, id, "Spray", 400);
    hand_add(hand, id, "Moss", 300);
    hand_add(hand, id, "Tar", 200);
    hand_add(hand, id, "Fog", 100);
    hand_keep(hand, id, NULL);
    hand_set(hand, id, "Spray", 300);
}

static void open_drydown(struct bench_world *world, int rows, int columns)
{
    fill(world);
    bench_world_open(world, rows, columns);
    play_keys(PLAY, "E");
}

static void table_curves_and_words(void **state)
{
    struct bench_world *world = *state;
    open_drydown(world, 24, 80);
    play_sees(PLAY, "no times");
    play_golden(PLAY, "drydown-80x24");
    play_keys(PLAY, "v");
    play_sees(PLAY, "Spray (top)");
    play_golden(PLAY, "drydown-curves-80x24");
    play_keys(PLAY, "v");
    play_sees(PLAY, "share of the air");
    play_keys(PLAY, "Esc i");
    play_sees(PLAY, "Tar is called top");
    play_keys(PLAY, "PageDown");
    play_sees(PLAY, "down to a tenth");
    play_keys(PLAY, "Esc K");
    play_type(PLAY, "7");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "7"); /* there is no such note, and the form stays */
    play_keys(PLAY, "Esc Esc");
    play_sees(PLAY, "Bench");
}

static void two_trials_on_a_wide_screen(void **state)
{
    struct bench_world *world = *state;
    open_drydown(world, 50, 200);
    play_golden(PLAY, "drydown-200x50");
    play_keys(PLAY, "C Tab");
    play_sees(PLAY, "Harbour/1"); /* goes through the kept trials */
    play_keys(PLAY, "Esc C");
    play_type(PLAY, "1");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Spray (top) Harbour/1");
    play_sees(PLAY, "times that over Harbour/1");
    play_keys(PLAY, "H");
    play_sees(PLAY, "Without the alcohol");
}

static void a_ladder_is_made_rated_and_weighed(void **state)
{
    struct bench_world *world = *state;
    struct pm_series_sheet sheet;
    open_drydown(world, 24, 80);
    play_keys(PLAY, "b n l");
    play_type(PLAY, "Tar");
    play_keys(PLAY, "Down");
    play_type(PLAY, "1");
    play_keys(PLAY, "Down");
    play_type(PLAY, "16");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "5 trials of Harbour. Saved.");
    play_golden(PLAY, "drydown-ladder-80x24");
    play_type(PLAY, "7");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Rated Harbour/2 (1 part) 7. Saved.");
    play_keys(PLAY, "p Enter");
    play_sees(PLAY, "Premix A");
    play_keys(PLAY, "Esc i");
    play_sees(PLAY, "at least 3 notes");
    struct hand *hand = world->hand;
    hand_ok(hand, pm_series_open(hand->studio, 1, &sheet, &hand->err));
    assert_int_equal(sheet.count, 5);
    assert_int_equal(sheet.steps[0].ratings, 1);
    pm_series_sheet_release(&sheet);
    play_keys(PLAY, "Up d Enter"); /* asked first */
    play_misses(PLAY, "taken back");
    play_keys(PLAY, "d y");
    hand_ok(hand, pm_series_open(hand->studio, 1, &sheet, &hand->err));
    assert_int_equal(sheet.steps[0].ratings, 0);
    pm_series_sheet_release(&sheet);
    play_keys(PLAY, "Esc Esc");
    play_sees(PLAY, "modelled");
}

static void nothing_open_and_nothing_known(void **state)
{
    struct bench_world *world = *state;
    bench_world_open(world, 24, 80);
    play_keys(PLAY, "E");
    play_sees(PLAY, "N    begins a new one");
    play_keys(PLAY, "v i Esc Space K m C Enter b n");
    play_sees(PLAY, "No formula is open");
    play_keys(PLAY, "Esc N");
    play_type(PLAY, "Fogbank");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Bench  Fogbank");
}

/* Shares that come to the whole leave nothing over, not even a millionth of a millionth. */
static void nothing_of_it_has_a_figure(void **state)
{
    struct bench_world *world = *state;
    struct hand *hand = world->hand;
    const int64_t id = hand_formula(hand, "Harbour", 1000);
    char name[16];
    for (int i = 0; i < 60; i++) {
        snprintf(name, sizeof name, "Fog %d", i);
        hand_add(hand, id, name, i == 0 ? 900 : 1.6949);
    }
    bench_world_open(world, 24, 80);
    play_keys(PLAY, "E");
    play_sees(PLAY, "nothing modelled");
    play_misses(PLAY, "e-");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(table_curves_and_words, setup, bench_world_teardown),
        cmocka_unit_test_setup_teardown(two_trials_on_a_wide_screen, setup, bench_world_teardown),
        cmocka_unit_test_setup_teardown(a_ladder_is_made_rated_and_weighed, setup,
                                        bench_world_teardown),
        BENCH(nothing_of_it_has_a_figure),
        cmocka_unit_test_setup_teardown(nothing_open_and_nothing_known, setup,
                                        bench_world_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
