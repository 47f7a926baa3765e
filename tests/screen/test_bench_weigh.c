/* SPDX-License-Identifier: MIT */
/* The Bench against the balance in use: what can be weighed, live, and what would help. */
#include "bench_world.h"

#include "permille/studio/scale.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PLAY (&world->play)

/* 0.41 g is the least within 2 % on a display of 0.01 g: twice 0.41 steps over 2 %. */
static void keep_balance(struct bench_world *world)
{
    const char *values[PM_BALANCE_ATTRIBUTES] = {0};
    int64_t id;
    values[PM_BALANCE_NAME] = "Quay balance";
    values[PM_BALANCE_READABILITY] = "0.01g";
    hand_ok(world->hand, pm_balance_add(world->hand->studio, values, &id, &world->hand->err));
}

/* 500, 300 and 200; Etesian aldehyde is to be tucked in. */
static void harbour_with_balance(struct bench_world *world, int rows, int columns)
{
    bench_harbour(world, rows, columns);
    keep_balance(world);
    bench_world_open(world, rows, columns);
}

static const char *row_of(struct bench_world *world, const char *name)
{
    int row = play_find(PLAY, name);
    assert_true(row >= 0);
    return play_row(PLAY, row);
}

static void assert_signed(struct bench_world *world, const char *name, const char *amount,
                          bool small)
{
    char sign[40];
    const char *at = strstr(row_of(world, name), amount);
    snprintf(sign, sizeof sign, "%s<", amount);
    if (at == NULL || (strncmp(at, sign, strlen(sign)) == 0) != small)
        fail_msg("%s: \"%s\"", small ? "no sign" : "a sign", row_of(world, name));
}

static void lines_bear_a_sign(void **state)
{
    struct bench_world *world = *state;
    harbour_with_balance(world, 24, 80);
    assert_signed(world, "Calm musk", "200.00", false);
    bench_tuck_in(world, "etesian", "2");
    /* 2 of 1000 in 10 g is 20 mg; at 0.1 % it would be 20 g, at 1 % 2 g, at 10 % 0.2 g. */
    assert_signed(world, "Etesian aldehyde", "2.00", true);
    play_sees(PLAY, "4 lines, < 1, all from 205 g");
    play_keys(PLAY, "Up Down");
    play_sees(PLAY, "< weighable at 1 %");
    play_keys(PLAY, "Up");
    play_misses(PLAY, "weighable");
}

static void the_preview_says_it_too(void **state)
{
    struct bench_world *world = *state;
    harbour_with_balance(world, 24, 80);
    play_keys(PLAY, "Down Down");
    play_type(PLAY, "30");
    assert_signed(world, "Calm musk", "30.00", true);
    play_sees(PLAY, "< 1, was 0");
    play_type(PLAY, "0");
    assert_signed(world, "Calm musk", "300.00", false);
    play_misses(PLAY, "was 0");
    play_keys(PLAY, "Esc");
    assert_signed(world, "Calm musk", "200.00", false);
}

/* The line that comes in stands in its place, and the total counts it. */
static void a_line_that_comes_in_is_shown(void **state)
{
    struct bench_world *world = *state;
    harbour_with_balance(world, 50, 200);
    play_keys(PLAY, "a");
    play_type(PLAY, "etesian");
    play_keys(PLAY, "Enter");
    play_misses(PLAY, "Etesian aldehyde     ");
    play_type(PLAY, "4");
    assert_signed(world, "+ ", "4.00", true);
    play_sees(PLAY, "total of 4 lines");
    assert_int_equal(play_find(PLAY, "+ "), play_find(PLAY, "Alderwood ketone   ") + 1);
    assert_non_null(strstr(row_of(world, "+ "), "Etesian aldehyde"));
    /* What gives way makes room: the whole stays. */
    assert_non_null(strstr(row_of(world, "total of 4 lines"), "1000.00"));
    assert_non_null(strstr(row_of(world, "total of 4 lines"), "10.00"));
    play_keys(PLAY, "Esc");
    play_sees(PLAY, "total of 3 lines");
}

/* While it is still being filled the total grows by it. */
static void a_total_includes_it(void **state)
{
    struct bench_world *world = *state;
    bench_stock(world);
    int64_t id = hand_formula(world->hand, "Harbour", 1000);
    hand_add(world->hand, id, "Alderwood ketone", 500);
    bench_world_open(world, 24, 80);
    play_keys(PLAY, "a");
    play_type(PLAY, "etesian");
    play_keys(PLAY, "Enter");
    play_type(PLAY, "120");
    play_sees(PLAY, "total 500.00 \xE2\x86\x92 620.00");
    play_sees(PLAY, "+           Etesian aldehyde");
}

static void what_the_balance_does(void **state)
{
    struct bench_world *world = *state;
    harbour_with_balance(world, 24, 80);
    bench_tuck_in(world, "etesian", "2");
    play_keys(PLAY, "p");
    play_sees(PLAY, "What Quay balance does to 10 g of Harbour");
    play_sees(PLAY, "< 1 of 4 lines cannot be weighed within 2 %: from 410 mg on it can.");
    play_sees(PLAY, "As it is written: all from 205 g on.");
    /* Nearly all of the uncertainty is the trace's: the largest share stands first. */
    assert_true(play_find(PLAY, " Etesian aldehyde") < play_find(PLAY, " Calm musk"));
    assert_non_null(strstr(row_of(world, " Etesian aldehyde"), "41 %"));
    assert_non_null(strstr(row_of(world, " Etesian aldehyde"), "1 %"));
    play_keys(PLAY, "p");
    play_misses(PLAY, "What Quay balance does");
}

static void another_batch(void **state)
{
    struct bench_world *world = *state;
    harbour_with_balance(world, 24, 80);
    bench_tuck_in(world, "etesian", "2");
    play_keys(PLAY, "G");
    play_type(PLAY, "205g");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "total of 4 lines");
    assert_signed(world, "Etesian aldehyde", "2.00", false);
    play_keys(PLAY, "G");
    play_type(PLAY, "0g");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "A batch has more than no mass.");
}

static void without_a_balance_only_its_key(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    bench_tuck_in(world, "etesian", "2");
    play_misses(PLAY, "<");
    play_misses(PLAY, "too little");
    play_keys(PLAY, "p");
    play_sees(PLAY, "Balance: none is kept: W, then m keeps one.");
    play_resize(PLAY, 50, 200);
    play_sees(PLAY, "none is kept: W, then m keeps one");
}

/* An accord is weighed by its materials, unless it stands made up. */
static void accords(void **state)
{
    struct bench_world *world = *state;
    struct hand *hand = world->hand;
    bench_stock(world);
    int64_t accord = hand_formula(hand, "Tidal accord", 100);
    hand_ok(hand, pm_formula_mark_accord(hand->studio, accord, true, &hand->err));
    hand_add(hand, accord, "Breeze salicylate", 98);
    hand_add(hand, accord, "Fern base", 2);
    hand_keep(hand, accord, "first");
    int64_t id = hand_formula(hand, "Harbour", 1000);
    hand_ok(hand, hand_add_accord(hand, id, "Tidal accord/1", 500));
    hand_add(hand, id, "Calm musk", 500);
    keep_balance(world);
    bench_world_open(world, 24, 80);
    assert_signed(world, "Tidal accord/1", "500.00", true);
    play_keys(PLAY, "Down Up");
    play_sees(PLAY, "< weighable made up");
    play_sees(PLAY, "2 lines, < 1, all from 41 g");
}

/* Also while it is being tucked in. */
static void an_accord_that_comes_in(void **state)
{
    struct bench_world *world = *state;
    struct hand *hand = world->hand;
    bench_stock(world);
    int64_t accord = hand_formula(hand, "Tidal accord", 100);
    hand_ok(hand, pm_formula_mark_accord(hand->studio, accord, true, &hand->err));
    hand_add(hand, accord, "Breeze salicylate", 98);
    hand_add(hand, accord, "Fern base", 2);
    hand_keep(hand, accord, "first");
    int64_t id = hand_formula(hand, "Harbour", 1000);
    hand_add(hand, id, "Calm musk", 1000);
    keep_balance(world);
    bench_world_open(world, 24, 80);
    play_keys(PLAY, "A Enter");
    play_sees(PLAY, "Parts");
    play_type(PLAY, "500");
    assert_signed(world, "+ ", "500.00", true);
    play_sees(PLAY, "< 1, was 0");
}

/* Without memory nothing is said, and nothing is lost. */
static void without_memory(void **state)
{
    struct bench_world *world = *state;
    harbour_with_balance(world, 50, 200);
    bench_starve(world, NULL, "p", "Esc", "Harbour");
    bench_starve(world, "2", "5", "Esc", "Harbour");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 500);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH(lines_bear_a_sign),
        BENCH(the_preview_says_it_too),
        BENCH(a_line_that_comes_in_is_shown),
        BENCH(a_total_includes_it),
        BENCH(what_the_balance_does),
        BENCH(another_batch),
        BENCH(without_a_balance_only_its_key),
        BENCH(accords),
        BENCH(an_accord_that_comes_in),
        BENCH(without_memory),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
