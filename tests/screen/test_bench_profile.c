/* SPDX-License-Identifier: MIT */
/*
 * The Bench: what a formula is made of, and ceilings on it, set by keyboard and told while typing.
 */
#include "bench_world.h"

#include "permille/studio/profile.h"

#define PLAY (&world->play)

static void give_family(struct bench_world *world, const char *name, const char *family)
{
    struct hand *hand = world->hand;
    const char *const values[PM_MATERIAL_ATTRIBUTES] = {[PM_MATERIAL_FAMILY] = family};
    hand_ok(hand, pm_shelf_edit(hand->studio, hand_material(hand, name), values, &hand->err));
}

/* 500 of Alderwood ketone, 300 of Breeze salicylate, 200 of Calm musk. */
static void a_ceiling_is_set_told_and_taken_away(void **state)
{
    struct bench_world *world = *state;
    give_family(world, "Alderwood ketone", "wood");
    give_family(world, "Calm musk", "musk");
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "v");
    play_sees(PLAY, "What Harbour is made of");
    play_sees(PLAY, "wood");
    play_sees(PLAY, "50.0 %");
    play_sees(PLAY, "no family");
    play_type(PLAY, "no fam");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "What has no family has no ceiling");
    play_keys(PLAY, "Ctrl-U");
    play_type(PLAY, "musk");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Ceiling on musk");
    play_type(PLAY, "2x");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "2x");
    play_keys(PLAY, "Ctrl-U");
    play_type(PLAY, "60");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "musk: at most 60 % of Harbour");
    play_misses(PLAY, "(at most");
    /* 70 % at 700 parts of 1000; the 30 % without a family are then less */
    play_keys(PLAY, "End");
    play_type(PLAY, "700");
    play_sees(PLAY, "! musk 70.0 % (at most 60.0 %)");
    play_keys(PLAY, "Ctrl-U");
    play_type(PLAY, "550");
    play_sees(PLAY, "? musk 55.0 % (at most 60.0 %)");
    play_keys(PLAY, "Esc Esc");
    play_misses(PLAY, "(at most");
    play_keys(PLAY, "v");
    play_type(PLAY, "musk");
    play_keys(PLAY, "Enter Ctrl-U Enter");
    play_sees(PLAY, "musk: no ceiling for Harbour any more");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH(a_ceiling_is_set_told_and_taken_away),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
