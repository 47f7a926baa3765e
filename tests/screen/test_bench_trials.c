/* SPDX-License-Identifier: MIT */
/*
 * The Bench: formulas, trials and revisions by keyboard alone.
 */
#include "bench_world.h"

#define PLAY (&world->play)

static void formulas_are_opened_copied_renamed_set_aside(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "O c");
    play_type(PLAY, "Quay");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Quay \xC2\xB7 draft");
    assert_true(bench_parts(world, "Quay", "Calm musk") == 200.0);
    play_keys(PLAY, "O r Ctrl-U");
    play_type(PLAY, "harbour"); /* taken, case ignored */
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "! ");
    play_keys(PLAY, "Ctrl-U");
    play_type(PLAY, "Mole");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Mole \xC2\xB7 draft");
    play_keys(PLAY, "O a");
    play_sees(PLAY, "Mole \xC2\xB7 draft \xC2\xB7 accord");
    play_keys(PLAY, "O s");
    play_sees(PLAY, "Harbour \xC2\xB7 draft");
    play_keys(PLAY, "o");
    play_misses(PLAY, "Mole  ");
    play_keys(PLAY, "Esc O b");
    play_sees(PLAY, "Mole  ");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Mole \xC2\xB7 draft");
    play_keys(PLAY, "o");
    play_type(PLAY, "No such name");
    play_sees(PLAY, "Enter makes a new one");
    play_keys(PLAY, "Enter Enter");
    play_sees(PLAY, "No such name \xC2\xB7 draft");
}

static void trials_are_kept_looked_at_branched_from(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "T");
    play_sees(PLAY, "No trial of this formula is kept yet.");
    play_keys(PLAY, "w");
    play_type(PLAY, "the first");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Kept as Harbour/1");
    play_sees(PLAY, "the first");
    play_keys(PLAY, "Esc");
    play_type(PLAY, "700");
    play_keys(PLAY, "Enter w Enter T");
    play_golden(PLAY, "trials-80x24");
    play_keys(PLAY, "Home t");
    play_type(PLAY, "keeper");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "keeper");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "trial 1, kept 2026-03-02, read only");
    play_type(PLAY, "5");
    play_sees(PLAY, "This is read only: g branches from it");
    play_keys(PLAY, "d");
    play_sees(PLAY, "This is read only");
    play_keys(PLAY, "g");
    play_sees(PLAY, "draft after trial 1");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 500.0);
    play_keys(PLAY, "u");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 700.0);
}

static void revisions_are_looked_at_and_brought_back(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_type(PLAY, "700");
    play_keys(PLAY, "Enter d y");
    play_sees(PLAY, "Dropped Alderwood ketone");
    play_type(PLAY, "set alder");
    play_misses(PLAY, "Dropped Alderwood ketone");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "revision 4, 2026-03-02 14:");
    play_sees(PLAY, "700.00");
    play_keys(PLAY, "Esc");
    play_misses(PLAY, "read only");
    play_keys(PLAY, "y");
    play_type(PLAY, "set alder");
    play_keys(PLAY, "Enter g");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 700.0);
    play_keys(PLAY, "u");
    play_misses(PLAY, "Alderwood ketone  ");
}

static void everything_is_there_after_a_restart(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_type(PLAY, "700");
    play_keys(PLAY, "Enter d");
    bench_world_restart(world);
    play_misses(PLAY, "Alderwood ketone");
    play_keys(PLAY, "u");
    play_sees(PLAY, "700.00");
    play_keys(PLAY, "u");
    play_sees(PLAY, "500.00");
    bench_world_restart(world);
    play_keys(PLAY, "r");
    play_sees(PLAY, "700.00");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH(formulas_are_opened_copied_renamed_set_aside),
        BENCH(trials_are_kept_looked_at_branched_from),
        BENCH(revisions_are_looked_at_and_brought_back),
        BENCH(everything_is_there_after_a_restart),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
