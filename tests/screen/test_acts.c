/* SPDX-License-Identifier: MIT */
/*
 * The five commonest acts, each with no key to spare, at 80x24: change a line, tuck a trace in,
 * compare with the last, note a smell, keep. What they write is in the file afterwards.
 */
#include "bench_world.h"

#include "permille/studio/blotter.h"

#include <string.h>

#define PLAY (&world->play)

static size_t keys_played;

static void act(struct bench_world *world, const char *keys)
{
    for (const char *at = keys; *at != '\0'; at += strspn(at, " ")) {
        at += strcspn(at, " ");
        keys_played++;
    }
    play_keys(PLAY, keys);
}

static void no_key_to_spare(void **state)
{
    struct bench_world *world = *state;
    struct hand *hand = world->hand;
    bench_harbour(world, 24, 80);
    world->play.now = hand->time;
    play_keys(PLAY, "w Enter P n Enter B Home"); /* kept, and put on */

    keys_played = 0;
    act(world, "4 2 0 Enter");
    assert_int_equal(keys_played, 4);
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 420.0);
    act(world, "+"); /* or by a step of its second digit */
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 430.0);

    keys_played = 0;
    act(world, "a f e r Enter . 5 Enter");
    assert_int_equal(keys_played, 8);
    assert_true(bench_parts(world, "Harbour", "Fern base") == 0.5);

    keys_played = 0;
    act(world, "C");
    assert_int_equal(keys_played, 1);
    play_sees(PLAY, "Harbour draft");
    play_sees(PLAY, "Fern base");

    keys_played = 0;
    act(world, "w Enter");
    assert_int_equal(keys_played, 2);
    play_sees(PLAY, "Kept as Harbour/2");

    keys_played = 0;
    act(world, "P 7 Enter");
    assert_int_equal(keys_played, 3);
    play_sees(PLAY, "Harbour/1 on blotter");
    play_sees(PLAY, "intensity 7. Saved.");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH(no_key_to_spare),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
