/* SPDX-License-Identifier: MIT */
/* What a wide Bench says besides the lines: cost, when they leave, the last smell note, history. */
#include "bench_world.h"

#include "permille/studio/blotter.h"
#include "permille/studio/bottles.h"

#include <stdio.h>
#include <string.h>

#define PLAY (&world->play)

static void bottle(struct bench_world *world, const char *material, const char *price)
{
    struct hand *hand = world->hand;
    const char *values[PM_BOTTLE_ATTRIBUTES] = {0};
    int64_t id;
    values[PM_BOTTLE_PRICE] = price;
    hand_ok(hand, pm_bottle_add(hand->studio, hand_material(hand, material), 10 * PM_GRAM, values,
                                0, &id, &hand->err));
}

static const char *row_of(struct bench_world *world, const char *name)
{
    int row = play_find(PLAY, name);
    assert_true(row >= 0);
    return play_row(PLAY, row);
}

/* 500, 300 and 200 of 1000 in 10 g. */
static void one_currency_stands_in_the_heading(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 50, 200);
    bottle(world, "Alderwood ketone", "20 EUR");
    bottle(world, "Breeze salicylate", "5 EUR");
    bench_world_open(world, 50, 200);
    play_sees(PLAY, "  EUR  ");
    assert_non_null(strstr(row_of(world, "Alderwood ketone   "), " 10.00 "));
    assert_non_null(strstr(row_of(world, "Breeze salicylate   "), " 1.50 "));
    assert_non_null(strstr(row_of(world, "Calm musk"), " ? "));
    play_sees(PLAY, ">11.50"); /* at least: the musk has no price */
    play_sees(PLAY, "10 g cost");
    /* While a number is typed the place is that of what lines become. */
    play_type(PLAY, "4");
    play_sees(PLAY, "becomes");
    play_misses(PLAY, "  EUR  ");
    play_keys(PLAY, "Esc");
    play_sees(PLAY, "  EUR  ");
}

static void two_currencies_stay_apart(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 50, 200);
    bottle(world, "Alderwood ketone", "20 EUR");
    bottle(world, "Breeze salicylate", "5 CHF");
    bench_world_open(world, 50, 200);
    assert_non_null(strstr(row_of(world, "Alderwood ketone   "), " 10.00 EUR "));
    assert_non_null(strstr(row_of(world, "Breeze salicylate   "), " 1.50 CHF "));
    play_sees(PLAY, ">10.00 EUR + 1.50 CHF");
}

static void what_was_smelled_last(void **state)
{
    struct bench_world *world = *state;
    struct hand *hand = world->hand;
    struct pm_smell_done done;
    bench_harbour(world, 50, 200);
    int64_t id = 0, trial = 0;
    hand_ok(hand, pm_formula_find(hand->studio, "Harbour", &id, NULL, NULL, &hand->err));
    hand_keep(hand, id, "first");
    hand_ok(hand, pm_formula_find(hand->studio, "Harbour/1", &id, &trial, NULL, &hand->err));
    const struct pm_smell_form form = {.trial = trial,
                                       .values[PM_SMELL_SINCE] = "15min",
                                       .values[PM_SMELL_INTENSITY] = "6",
                                       .values[PM_SMELL_LIKING] = "7",
                                       .values[PM_SMELL_MEDIUM] = "blotter",
                                       .values[PM_SMELL_NOTE] = "dry, a little too sweet"};
    hand_ok(hand, pm_smells_log(hand->studio, &form, &done, &hand->err));
    pm_smell_done_release(&done);
    bench_world_open(world, 50, 200);
    play_sees(PLAY, "smelled last");
    play_sees(PLAY, "15 min on blotter");
    play_sees(PLAY, "dry, a little too sweet");
    play_resize(PLAY, 24, 80);
    play_misses(PLAY, "smelled last");
}

/* What lines were in the trial that the draft came from: where they are another amount now. */
static void what_lines_were(void **state)
{
    struct bench_world *world = *state;
    struct hand *hand = world->hand;
    int64_t id;
    bench_harbour(world, 50, 200);
    hand_ok(hand, pm_formula_find(hand->studio, "Harbour", &id, NULL, NULL, &hand->err));
    hand_keep(hand, id, "first");
    bench_world_open(world, 50, 200);
    play_misses(PLAY, "  /1  "); /* nothing has changed yet */
    bench_tuck_in(world, "dry", "10");
    play_sees(PLAY, "  /1  ");
    assert_non_null(strstr(row_of(world, "Alderwood ketone  "), " 500.00 "));
    assert_non_null(strstr(row_of(world, "Dry cedar oil    "), " new "));
    play_keys(PLAY, "Home R");
    play_sees(PLAY, "(495.00)");
    assert_non_null(strstr(row_of(world, "(495.00)"), " 500.00 "));
    play_resize(PLAY, 40, 160);
    play_sees(PLAY, "was      500.00 in /1");
}

/* More of the history than before, and whole sentences. */
static void history_is_not_cut(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 50, 200);
    for (int i = 0; i < 7; i++) {
        play_type(PLAY, i % 2 == 0 ? "480.123" : "480.124");
        play_keys(PLAY, "Enter");
    }
    int rows = 0;
    for (int row = 0; row < 50; row++)
        rows += strstr(play_row(PLAY, row), "- Set Alderwood ketone from") != NULL;
    assert_true(rows >= 5);
    play_misses(PLAY, "gave\xE2\x80\xA6");
}

/* A trace in a long formula: its share is never cut, nor how many lines are below. */
static void shares_of_traces_are_whole(void **state)
{
    struct bench_world *world = *state;
    struct hand *hand = world->hand;
    const int64_t id = hand_formula(hand, "Harbour", 1000000);
    char name[16];
    hand_add(hand, id, "Trace", 0.0092);
    for (int i = 0; i < 100; i++) {
        snprintf(name, sizeof name, "Fog %d", i);
        hand_add(hand, id, name, 9600);
    }
    bench_world_open(world, 24, 80);
    static const int sizes[][2] = {{24, 80}, {40, 120}, {50, 200}};
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        play_resize(PLAY, sizes[i][0], sizes[i][1]);
        play_sees(PLAY, "0.0096 ppm"); /* of 960000 so far */
        play_sees(PLAY, " below");
        assert_null(strstr(row_of(world, "total of 101 lines"), "\xE2\x80\xA6"));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH(one_currency_stands_in_the_heading),
        BENCH(two_currencies_stay_apart),
        BENCH(what_was_smelled_last),
        BENCH(what_lines_were),
        BENCH(history_is_not_cut),
        BENCH(shares_of_traces_are_whole),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
