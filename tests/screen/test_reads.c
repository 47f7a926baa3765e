/* SPDX-License-Identifier: MIT */
/*
 * How often the rooms read the file: what a person sees as one thing is read as one, so that it is
 * quick and another instance cannot change the file in the middle of it.
 */
#include "bench_world.h"

#include "tests/store/fault_vfs.h"

#include <stdio.h>

enum { LINES = 300 };

static int setup(void **state)
{
    fault_register_for_all();
    return bench_world_setup(state);
}

static void long_formula(struct bench_world *world)
{
    char name[40];
    int64_t id = hand_formula(world->hand, "Headland", 3000);
    for (int i = 0; i < LINES; i++) {
        snprintf(name, sizeof name, "Material %03d", i);
        hand_material(world->hand, name);
    }
    for (int i = 0; i < LINES; i++) {
        snprintf(name, sizeof name, "Material %03d", i);
        hand_add(world->hand, id, name, 10);
    }
}

/* Fails unless `most` views or fewer began since the last look. */
static void few(const char *what, long most)
{
    long views = fault_views();
    if (views > most)
        fail_msg("%s: the file was read %ld times; %ld would do", what, views, most);
}

static void a_gesture_on_a_long_formula(void **state)
{
    struct bench_world *world = *state;
    struct play *play = &world->play;
    long_formula(world);
    hand_reopen(world->hand);
    fault_views();
    bench_world_open(world, 50, 200);
    play_sees(play, "Headland");
    few("opening", 12);
    play_keys(play, "Down");
    few("a step down", 2);
    play_type(play, "12");
    few("typing", 0);
    play_keys(play, "Enter");
    play_sees(play, "Saved.");
    few("Enter", 5);
    play_keys(play, "u");
    play_sees(play, "Saved.");
    few("undo", 7);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_gesture_on_a_long_formula, setup, bench_world_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
