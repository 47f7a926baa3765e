/* SPDX-License-Identifier: MIT */
/* Found by typing, with the same key in every list of every room. Names and notes are invented. */
#include "bench_world.h"

#include "permille/studio/blotter.h"
#include "permille/studio/shelf.h"

#include <string.h>

#define PLAY (&world->play)

static void material(struct hand *hand, const char *name, const char *pressure)
{
    const int64_t id = hand_material(hand, name);
    hand_ok(hand,
            pm_shelf_set_fact(hand->studio, id, "vapour_pressure", pressure, NULL, &hand->err));
    hand_ok(hand, pm_shelf_set_fact(hand->studio, id, "molar_mass", "150", NULL, &hand->err));
}

static void note(struct hand *hand, const char *title, const char *words)
{
    struct pm_smell_done done;
    const struct pm_smell_form form = {.trial = hand_trial(hand, title),
                                       .values[PM_SMELL_SINCE] = "1h",
                                       .values[PM_SMELL_INTENSITY] = "5",
                                       .values[PM_SMELL_NOTE] = words};
    hand_ok(hand, pm_smells_log(hand->studio, &form, &done, &hand->err));
    pm_smell_done_release(&done);
}

/* Two of everything that can be listed, the second one to be found. */
static void fill(struct bench_world *world)
{
    struct hand *hand = world->hand;
    material(hand, "Spray", "100");
    material(hand, "Moss", "3");
    const int64_t id = hand_formula(hand, "Harbour", 1000);
    hand_add(hand, id, "Spray", 400);
    hand_add(hand, id, "Moss", 600);
    hand_keep(hand, id, "bare");
    hand_set(hand, id, "Spray", 300);
    hand_keep(hand, id, "greener");
    note(hand, "Harbour/1", "salt");
    note(hand, "Harbour/2", "wet rope");
    bench_world_open(world, 24, 80);
    world->play.now = world->hand->time;
    play_keys(PLAY, "W n"); /* two batches */
    play_keys(PLAY, "Enter n Tab 7 Enter");
    play_sees(PLAY, "7.00 g");
    play_keys(PLAY, "P b n"); /* two blind tests */
    play_type(PLAY, "First");
    play_keys(PLAY, "Tab Tab");
    play_type(PLAY, "1, 2");
    play_keys(PLAY, "Enter Esc n");
    play_type(PLAY, "Second");
    play_keys(PLAY, "Tab Tab");
    play_type(PLAY, "1, 2");
    play_keys(PLAY, "Enter Esc");
    play_sees(PLAY, "2 blind tests");
    play_keys(PLAY, "Esc B");
    play_paste(PLAY, "Quay\nSpray 10\nMoss 20\nFog 5\n");
    play_sees(PLAY, "Fog");
}

static const struct {
    const char *there; /* keys that lead to the list, from the Bench */
    const char *typed;
    const char *found; /* in the row under the hand then */
} lists[] = {
    {"B", "moss", "Moss"},     {"T", "greener", "2 "},    {"S", "moss", "Moss"},
    {"T C", "moss", "Moss"},   {"P", "rope", "wet rope"}, {"P b", "second", "Second"},
    {"P b Enter", "11", "11"}, {"L", "spray", "Spray"},   {"W", "7.00", "7.00 g"},
    {"E", "moss", "Moss"},     {"I", "fog", "Fog"},       {"M", "currency", "urrency"},
};

static void found_by_typing_in_every_list(void **state)
{
    struct bench_world *world = *state;
    fill(world);
    for (size_t i = 0; i < sizeof lists / sizeof *lists; i++) {
        play_keys(PLAY, "Esc Esc Esc B");
        play_keys(PLAY, lists[i].there);
        play_keys(PLAY, "Home /");
        play_type(PLAY, lists[i].typed);
        play_keys(PLAY, "Enter");
        const char *row = play_row(PLAY, world->play.grid.cursor_row);
        if (strstr(row, lists[i].found) == NULL)
            fail_msg("%s: \"%s\" leads to \"%s\"", lists[i].there, lists[i].typed, row);
        play_misses(PLAY, "nothing matches");
    }
}

static void an_empty_list_says_so(void **state)
{
    static const char *const there[] = {"P", "P b", "L", "W", "E", "E b", "I"};
    struct bench_world *world = *state;
    bench_world_open(world, 24, 80);
    for (size_t i = 0; i < sizeof there / sizeof *there; i++) {
        play_keys(PLAY, "Esc Esc Esc B");
        play_keys(PLAY, there[i]);
        play_keys(PLAY, "/");
        play_misses(PLAY, "does nothing here");
        assert_string_not_equal(play_row(PLAY, 22), "");
    }
}

static void memory_runs_out_while_looking(void **state)
{
    struct bench_world *world = *state;
    fill(world);
    play_keys(PLAY, "Esc P");
    bench_starve(world, NULL, "/", "Esc Esc P", "Blotter");
    play_sees(PLAY, "wet rope");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH(found_by_typing_in_every_list),
        BENCH(an_empty_list_says_so),
        BENCH(memory_runs_out_while_looking),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
