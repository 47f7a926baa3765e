/* SPDX-License-Identifier: MIT */
/*
 * Another library in the room where things are brought in, played by keyboard: looked at, marked,
 * brought in under another name, given up while it comes in.
 */
#include "bench_world.h"
#include "src/tui/kit/app_inside.h"

#include "permille/base/amount.h"
#include "permille/base/mem.h"
#include "permille/studio/another.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

#define PLAY (&world->play)

static char other_path[128];

/* A second machine went on from this library's copy: a material, a trial, a draft. */
static void other_machine(struct bench_world *world)
{
    struct hand other = *world->hand;
    const struct pm_studio_options options = {.clock = &world->hand->clock};
    int64_t harbour;
    snprintf(other_path, sizeof other_path, "%s/other.db", world->hand->folder);
    hand_ok(world->hand,
            pm_studio_backup(world->hand->studio, other_path, false, &world->hand->err));
    world->hand->time += 60;
    hand_ok(&other, pm_studio_open(other_path, &options, &other.studio, &other.err));
    hand_ok(&other, pm_formula_find(other.studio, "Harbour", &harbour, NULL, NULL, &other.err));
    hand_keep(&other, harbour, "for the quay");
    hand_add(&other, harbour, "Wet rope", 40);
    hand_formula(&other, "Pier", 100);
    pm_studio_close(other.studio);
    world->hand->time += 60;
}

static void guest(struct bench_world *world, int rows, int columns)
{
    bench_harbour(world, rows, columns);
    other_machine(world);
    play_keys(PLAY, "I a");
    play_type(PLAY, other_path);
    play_keys(PLAY, "Enter");
}

static int teardown(void **state)
{
    unlink(other_path);
    return bench_world_teardown(state);
}

static void it_is_shown_before_it_comes_in(void **state)
{
    struct bench_world *world = *state;
    guest(world, 24, 80);
    play_sees(PLAY, "to come in: 2 formulas, 1 material");
    play_sees(PLAY, "Wet rope");
    play_golden(PLAY, "guest-80x24");
    play_keys(PLAY, "Enter"); /* in what it differs */
    play_sees(PLAY, "kept trials");
    play_keys(PLAY, "Esc H");
    play_sees(PLAY, "the same is here");
    play_keys(PLAY, "H f");
    play_sees(PLAY, "formulas alone");
    play_misses(PLAY, "Wet rope");
    play_resize(PLAY, 50, 200);
    play_keys(PLAY, "f");
    play_sees(PLAY, "materials alone");
    play_golden(PLAY, "guest-200x50");
}

static void what_is_marked_comes_in(void **state)
{
    struct bench_world *world = *state;
    guest(world, 24, 80);
    play_keys(PLAY, "Down Down Space"); /* Wet rope is left, but Harbour needs it */
    play_sees(PLAY, "comes along");
    play_keys(PLAY, "Home Down"); /* Pier */
    play_keys(PLAY, "e Ctrl-U");
    play_type(PLAY, "Harbour");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "taken already");
    play_keys(PLAY, "Ctrl-U");
    play_type(PLAY, "Long pier");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "as Long pier");
    play_keys(PLAY, "w");
    play_sees(PLAY, "Brought in: 2 formulas, 1 material");
    bench_near(bench_parts(world, "Harbour", "Wet rope"), 40, 0);
    bench_near(bench_total(world, "Long pier"), 0, 0);
    play_keys(PLAY, "S u"); /* out of sight again */
    play_keys(PLAY, "B o");
    play_misses(PLAY, "Long pier");
}

/* One sentence each, and soon: a device that never ends is given up where a file is too large. */
static void what_is_no_file_is_refused(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "I a");
    play_type(PLAY, "/dev/zero");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "/dev/zero cannot be read: it is too large");
    play_keys(PLAY, "Esc a");
    play_type(PLAY, "/dev");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "/dev cannot be read: Is a directory");
}

/* All of what is shown, or nothing. */
static void all_or_nothing(void **state)
{
    struct bench_world *world = *state;
    guest(world, 24, 80);
    play_keys(PLAY, "Ctrl-T");
    play_sees(PLAY, "to come in: nothing");
    play_keys(PLAY, "w");
    play_sees(PLAY, "Nothing is chosen");
    play_keys(PLAY, "Ctrl-T");
    play_sees(PLAY, "to come in: 2 formulas, 1 material");
    play_keys(PLAY, "D y");
    play_sees(PLAY, "Paste a formula here");
}

/* ---- while it takes long ---- */

struct clock_hand {
    struct bench_world *world;
    int64_t now;
    long asked, stop_at; /* 0: never */
    long shown;
    char line[200];
};

/* Every question finds a second gone by. */
static int64_t a_second_later(void *context)
{
    struct clock_hand *clock = context;
    return clock->now += 1000;
}

static void show_line(void *context, const char *line)
{
    struct clock_hand *clock = context;
    clock->shown++;
    snprintf(clock->line, sizeof clock->line, "%s", line);
    pm_app_draw_waiting(&clock->world->play.grid, line);
}

static bool gave_up(void *context)
{
    struct clock_hand *clock = context;
    return ++clock->asked == clock->stop_at;
}

static void it_can_be_given_up(void **state)
{
    struct bench_world *world = *state;
    guest(world, 24, 80);
    struct clock_hand clock = {.world = world, .now = 1000};
    const struct pm_app_waiting waiting = {a_second_later, show_line, gave_up, &clock};
    pm_app_waits(PLAY->app, &waiting);
    pm_studio_watch(world->hand->studio, pm_app_watch(PLAY->app));
    for (long k = 1; k < 5000; k = k < 4 ? k + 1 : k * 2) {
        clock.asked = 0;
        clock.stop_at = k;
        play_keys(PLAY, "w");
        if (clock.asked < k)
            break; /* it was not asked so often: it came in */
        play_sees(PLAY, "Given up; nothing was changed");
        play_sees(PLAY, "to come in: 2 formulas, 1 material");
        bench_near(bench_total(world, "Harbour"), 1000, 0);
    }
    assert_true(clock.shown > 3);
    assert_non_null(strstr(clock.line, "Esc gives it up"));
    play_sees(PLAY, "Brought in: 2 formulas, 1 material");
    bench_near(bench_parts(world, "Harbour", "Wet rope"), 40, 0);
    pm_studio_watch(world->hand->studio, NULL);
}

/* From the moment on in which it is written it says nothing of giving up, whoever presses Esc. */
static void what_is_written_is_not_given_up(void **state)
{
    struct bench_world *world = *state;
    guest(world, 24, 80);
    struct clock_hand clock = {.world = world, .now = 1000, .stop_at = 1};
    const struct pm_app_waiting waiting = {a_second_later, show_line, gave_up, &clock};
    pm_app_waits(PLAY->app, &waiting);
    const struct pm_watch *watch = pm_app_watch(PLAY->app);
    pm_app_wait_begin(PLAY->app);
    assert_false(watch->go_on(watch->context, "bringing it in", 1, 2));
    assert_int_equal(clock.shown, 1);
    clock.asked = 0;
    pm_app_wait_begin(PLAY->app);
    watch->written(watch->context);
    assert_true(watch->go_on(watch->context, "bringing it in", 2, 2));
    assert_int_equal(clock.shown, 1);
    pm_app_wait_end(PLAY->app);
}

#define GUEST(name) cmocka_unit_test_setup_teardown(name, bench_world_setup, teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        GUEST(it_is_shown_before_it_comes_in),
        GUEST(what_is_marked_comes_in),
        GUEST(what_is_no_file_is_refused),
        GUEST(all_or_nothing),
        GUEST(it_can_be_given_up),
        GUEST(what_is_written_is_not_given_up),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
