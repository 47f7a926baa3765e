/* SPDX-License-Identifier: MIT */
/*
 * The Limits room, played by keyboard alone, and what the Bench says of limits while it is edited.
 * The formula is invented.
 */
#include "bench_world.h"

#include "permille/studio/shelf.h"

#include <stdlib.h>

#define PLAY (&world->play)

/* Citral over, a natural of which nothing is known, isoeugenol over by law alone. */
static void story(struct bench_world *world, int rows, int columns)
{
    struct hand *hand = world->hand;
    const char *const oil[PM_MATERIAL_ATTRIBUTES] = {
        [PM_MATERIAL_NAME] = "Breakwater absolute", [PM_MATERIAL_KIND] = "natural"};
    int64_t id, formula = hand_formula(hand, "Harbour", 1000);
    hand_ok(hand, pm_shelf_add(hand->studio, oil, &id, &hand->err));
    hand_add(hand, formula, "Citral", 50);
    hand_add(hand, formula, "Eugenol", 30);
    hand_add_at(hand, formula, "Isoeugenol", 20, "10%", "Dipropylene glycol");
    hand_add(hand, formula, "Breakwater absolute", 100);
    hand_add(hand, formula, "Calm musk", 800);
    bench_world_open(world, rows, columns);
}

static void the_room_at_three_sizes(void **state)
{
    struct bench_world *world = *state;
    story(world, 24, 80);
    play_keys(PLAY, "L");
    play_sees(PLAY, "2 over");
    play_golden(PLAY, "limits-80x24");
    play_resize(PLAY, 40, 120);
    play_golden(PLAY, "limits-120x40");
    play_resize(PLAY, 50, 200);
    play_keys(PLAY, "Down");
    play_golden(PLAY, "limits-200x50");
    play_keys(PLAY, "Enter"); /* every figure with its source */
    play_sees(PLAY, "What brings it");
    play_sees(PLAY, "not approval");
    play_keys(PLAY, "Esc v");
    play_sees(PLAY, "A draft, not a label");
    play_keys(PLAY, "Esc");
}

static void the_bench_while_it_is_edited(void **state)
{
    struct bench_world *world = *state;
    story(world, 24, 80);
    play_sees(PLAY, "! Isoeugenol 150 % of limit at 15 %, some unknown");
    play_golden(PLAY, "limits-bench-80x24");
    play_keys(PLAY, "Down Down");
    play_type(PLAY, "5"); /* while it is only typed */
    play_sees(PLAY, "! Citral 127 %");
    play_keys(PLAY, "Esc");
    play_sees(PLAY, "! Isoeugenol 150 %");
}

static void a_fit_is_seen_taken_and_undone(void **state)
{
    struct bench_world *world = *state;
    story(world, 24, 80);
    play_keys(PLAY, "L l");
    play_sees(PLAY, "Enter takes it");
    play_golden(PLAY, "limits-fit-80x24");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "0 over");
    assert_true(bench_parts(world, "Harbour", "Citral") <= 40.0);
    play_keys(PLAY, "l"); /* nothing is left to do */
    play_sees(PLAY, "Every known limit is kept as it is.");
    play_keys(PLAY, "B u");
    play_sees(PLAY, "Saved.");
    assert_true(bench_parts(world, "Harbour", "Citral") == 50.0);
}

static void a_lower_dosage_and_a_figure_of_ones_own(void **state)
{
    struct bench_world *world = *state;
    story(world, 24, 80);
    play_keys(PLAY, "L e");
    play_type(PLAY, "9.9%");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "9.9 % in category 4");
    play_sees(PLAY, "0 over");
    play_keys(PLAY, "e");
    play_type(PLAY, "0");
    play_keys(PLAY, "Enter"); /* refused, the form stays */
    play_sees(PLAY, "What it is judged for");
    play_keys(PLAY, "Esc K Tab Tab");
    play_type(PLAY, "0.01");
    play_keys(PLAY, "Tab");
    play_type(PLAY, "certificate");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "1 over");
    play_sees(PLAY, "certificate");
    const int before = play_find(PLAY, "0 over");
    play_keys(PLAY, "d Enter"); /* asked first: no key brings it back */
    assert_int_equal(play_find(PLAY, "0 over"), before);
    play_keys(PLAY, "d y");
    play_sees(PLAY, "0 over");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH(the_room_at_three_sizes),
        BENCH(the_bench_while_it_is_edited),
        BENCH(a_fit_is_seen_taken_and_undone),
        BENCH(a_lower_dosage_and_a_figure_of_ones_own),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
