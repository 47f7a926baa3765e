/* SPDX-License-Identifier: MIT */
/*
 * The first steps: the real program on an empty library at 80x24. Following what the strip says
 * leads through the whole round; leaving it takes one key, and it stays away.
 */
#include "bench_world.h"

#include "permille/studio/first_steps.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

static struct stage *open_program(struct hand *hand)
{
    static char program[256], file[256], db[] = "--db";
    static char *argv[] = {program, db, file, NULL};
    const char *build = getenv("BUILD");
    pm_studio_close(hand->studio);
    hand->studio = NULL;
    snprintf(program, sizeof program, "%s/permille", build != NULL ? build : "build");
    snprintf(file, sizeof file, "%s", hand->path);
    const struct stage_spec spec = {.rows = 24, .columns = 80, .program = argv};
    return stage_start(&spec);
}

static void tuck_in(struct stage *stage, const char *part, const char *parts, const char *sees)
{
    stage_type(stage, "a");
    stage_sees(stage, "Tuck in");
    stage_type(stage, part);
    stage_keys(stage, "Enter");
    stage_sees(stage, "Parts");
    stage_type(stage, parts);
    stage_keys(stage, "Enter");
    stage_sees(stage, sees);
}

static void leads_through_the_round(void **state)
{
    struct hand *hand = *state;
    struct stage *stage = open_program(hand);
    stage_sees(stage, "First steps, 1 of 6: materials");
    stage_type(stage, "S");
    stage_sees(stage, "materials and bottles");
    stage_type(stage, "&");
    stage_sees(stage, "First steps, 2 of 6: a formula");
    stage_type(stage, "B");
    stage_type(stage, "N");
    stage_sees(stage, "A new formula");
    stage_type(stage, "Hay");
    stage_keys(stage, "Enter");
    stage_sees(stage, "First steps, 3 of 6: a core");
    tuck_in(stage, "linalool", "444", "Tucked in 444");
    tuck_in(stage, "coumarin", "333", "Tucked in 333");
    tuck_in(stage, "benzyl acetate", "222", "Tucked in 222");
    stage_sees(stage, "marks the lines of the heart");
    stage_keys(stage, "Home Space Space Space");
    stage_type(stage, "k");
    stage_sees(stage, "ratio");
    stage_keys(stage, "Enter");
    stage_sees(stage, "First steps, 4 of 6: a trace");
    tuck_in(stage, "vanillin", "0.5", "First steps, 5 of 6: keep");
    stage_sees(stage, "settles the total");
    stage_keys(stage, "Esc");
    stage_type(stage, "l");
    stage_sees(stage, "seals the draft");
    stage_type(stage, "w");
    stage_sees(stage, "ote");
    stage_keys(stage, "Enter");
    stage_sees(stage, "First steps, 6 of 6: smell");
    stage_keys(stage, "Ctrl-G");
    stage_sees(stage, "The first steps are left");
    stage_misses(stage, "First steps,");
    stage_keys(stage, "Ctrl-G");
    stage_sees(stage, "First steps, 6 of 6: smell");
    stage_type(stage, "q");
    assert_int_equal(stage_status(stage), 0);
    stage_end(stage);
}

static void go_on_after_a_restart_and_stay_away_when_left(void **state)
{
    struct hand *hand = *state;
    bool wanted = false;
    struct stage *stage = open_program(hand);
    stage_sees(stage, "First steps, 1 of 6");
    stage_type(stage, "q");
    assert_int_equal(stage_status(stage), 0);
    stage_end(stage);
    hand_reopen(hand);
    hand_material(hand, "Alderwood ketone");
    hand_ok(hand, pm_first_steps_wanted(hand->studio, &wanted, &hand->err));
    assert_true(wanted);
    stage = open_program(hand);
    stage_sees(stage, "First steps, 2 of 6");
    stage_keys(stage, "Ctrl-G");
    stage_sees(stage, "are left");
    stage_type(stage, "q");
    assert_int_equal(stage_status(stage), 0);
    stage_end(stage);
    stage = open_program(hand);
    stage_sees(stage, "The bench is clear");
    stage_taken(stage);
    assert_int_equal(stage_find(stage, "First steps,"), -1);
    stage_end(stage);
}

static void a_library_in_use_is_left_alone(void **state)
{
    struct hand *hand = *state;
    bool wanted = true;
    hand_material(hand, "Alderwood ketone");
    hand_ok(hand, pm_first_steps_wanted(hand->studio, &wanted, &hand->err));
    assert_false(wanted);
    struct stage *stage = open_program(hand);
    stage_sees(stage, "The bench is clear");
    assert_int_equal(stage_find(stage, "First steps,"), -1);
    stage_end(stage);
}

/* Every step fits at 80 columns, and the keys it tells are keys, not ids. */
static void every_step_as_it_looks(void **state)
{
    struct bench_world *world = *state;
    struct play *play = &world->play;
    bench_world_open(world, 24, 80);
    play_misses(play, "First steps,"); /* not asked for */
    play_keys(play, "Ctrl-G");
    play_golden(play, "first-steps-80x24");
    play_keys(play, "S");
    play_sees(play, "First steps, 1 of 6");
    play_keys(play, "Ctrl-G");
    play_misses(play, "First steps,");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(leads_through_the_round, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(go_on_after_a_restart_and_stay_away_when_left, hand_setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(a_library_in_use_is_left_alone, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(every_step_as_it_looks, bench_world_setup,
                                        bench_world_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
