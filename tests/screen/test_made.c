/* SPDX-License-Identifier: MIT */
/* The hand is on what was just made, in each room. Names are invented. */
#include "bench_world.h"

#include <string.h>

#define PLAY (&world->play)

/* The row where the terminal's cursor stands. */
static void hand_on(struct bench_world *world, const char *what, const char *text)
{
    const char *row = play_row(PLAY, world->play.grid.cursor_row);
    if (strstr(row, text) == NULL)
        fail_msg("%s: \"%s\" is not under the hand but \"%s\"", what, text, row);
}

static void on_the_bench(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "Home");
    bench_tuck_in(world, "dry", "12");
    hand_on(world, "a line", "Dry cedar oil");
    play_keys(PLAY, "Home Space Down Space j"); /* folded */
    play_type(PLAY, "Pair");
    play_keys(PLAY, "Enter");
    hand_on(world, "an accord", "Pair/1");
    play_keys(PLAY, "d u");
    hand_on(world, "a line brought back", "Pair/1");
}

static void in_trials(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "w Enter 7 Enter T Home w");
    play_type(PLAY, "second");
    play_keys(PLAY, "Enter");
    hand_on(world, "a kept trial", "second");
    play_keys(PLAY, "B Home 9 Enter w");
    play_type(PLAY, "third");
    play_keys(PLAY, "Enter T");
    hand_on(world, "a trial kept elsewhere", "third");
}

static void on_the_shelf(void **state)
{
    struct bench_world *world = *state;
    bench_stock(world);
    bench_world_open(world, 24, 80);
    play_keys(PLAY, "S n");
    play_type(PLAY, "Moon fern");
    play_keys(PLAY, "Enter");
    hand_on(world, "a material", "Moon fern");
    play_keys(PLAY, "a 5 0 Enter a 2 0 Enter");
    hand_on(world, "a bottle", "20.00 g");
    play_keys(PLAY, "Home % 5 Tab 1 0 % Tab Tab");
    play_type(PLAY, "Dipropylene glycol");
    play_keys(PLAY, "Enter Enter");
    hand_on(world, "a dilution", "10 %");
}

static void on_the_blotter(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    world->play.now = world->hand->time;
    play_keys(PLAY, "w Enter P n Enter n Tab Right Enter");
    hand_on(world, "one put on", "skin");
    play_keys(PLAY, "B 9 Enter w Enter P b n");
    play_type(PLAY, "First");
    play_keys(PLAY, "Tab Tab");
    play_type(PLAY, "1, 2");
    play_keys(PLAY, "Enter Esc n");
    play_type(PLAY, "Second");
    play_keys(PLAY, "Tab Tab");
    play_type(PLAY, "1, 2");
    play_keys(PLAY, "Enter Esc");
    hand_on(world, "a blind test", "Second");
}

static void in_limits(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "L End K Tab Tab");
    play_type(PLAY, "5");
    play_keys(PLAY, "Tab");
    play_type(PLAY, "own trial");
    play_keys(PLAY, "Enter");
    play_misses(PLAY, "! A limit");
    hand_on(world, "a figure of one's own", "Alderwood ketone");
}

static void in_series(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    for (int i = 0; i < 2; i++) {
        play_keys(PLAY, i == 0 ? "E b n o" : "n o"); /* lines left out */
        play_type(PLAY, i == 0 ? "Calm musk, Breeze salicylate" : "Calm musk");
        play_keys(PLAY, "Enter");
        play_sees(PLAY, "Saved.");
        play_keys(PLAY, "Esc");
    }
    hand_on(world, "a series", "  2  ");
}

static void on_the_scale(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "w Enter W n Enter n Tab 7 Enter");
    hand_on(world, "a batch", "7.00 g");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH(on_the_bench), BENCH(in_trials), BENCH(on_the_shelf), BENCH(on_the_blotter),
        BENCH(in_limits),    BENCH(in_series), BENCH(on_the_scale),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
