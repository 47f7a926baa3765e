/* SPDX-License-Identifier: MIT */
/*
 * The mouse, where it is asked for: clicks go to a row or a room, the wheel moves; nothing needs
 * it, and it never takes what is being typed. Sequences are xterm's SGR ones (ctlseqs, "SGR
 * (1006)").
 */
#include "bench_world.h"

#include "src/tui/kit/input.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void click(struct play *play, int row, int column)
{
    const struct pm_event event = {.kind = PM_EVENT_CLICK, .rows = row, .columns = column};
    play_event(play, &event);
}

static void wheel(struct play *play, int way)
{
    const struct pm_event event = {.kind = PM_EVENT_WHEEL, .rows = way};
    play_event(play, &event);
}

static void sequences(void **state)
{
    static const struct {
        const char *bytes;
        enum pm_event_kind kind;
        int row, column;
    } known[] = {
        {"[<0;12;5M", PM_EVENT_CLICK, 4, 11},
        {"[<64;1;1M", PM_EVENT_WHEEL, -1, 0},
        {"[<65;80;24M", PM_EVENT_WHEEL, 1, 0},
        {"[<0;12;5m", PM_EVENT_NONE, 0, 0},
        {"[<2;12;5M", PM_EVENT_NONE, 0, 0},
        {"[<0;0;5M", PM_EVENT_NONE, 0, 0},
        {"[<0;1;1;1M", PM_EVENT_NONE, 0, 0},
        {"[<0;;M", PM_EVENT_NONE, 0, 0},
        {"[<0;9999999999999;1M", PM_EVENT_CLICK, 0, 0},
    };
    (void)state;
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        struct pm_event event = {.kind = PM_EVENT_NONE};
        const bool is = pm_sequence_mouse(known[i].bytes, strlen(known[i].bytes), &event);
        if (i + 1 == sizeof known / sizeof *known)
            continue; /* whatever it is, it must not harm */
        assert_int_equal(is, known[i].kind != PM_EVENT_NONE);
        assert_int_equal(event.kind, known[i].kind);
        assert_int_equal(event.rows, known[i].row);
        assert_int_equal(event.columns, known[i].column);
    }
}

static void a_click_goes_to_a_row_or_a_room(void **state)
{
    struct bench_world *world = *state;
    struct play *play = &world->play;
    bench_harbour(world, 24, 80);
    const int row = play_find(play, "Calm musk");
    assert_true(row > 0);
    click(play, row, 30);
    assert_int_equal(play->grid.cursor_row, row);
    click(play, play_find(play, "Alderwood ketone"), 30);
    assert_int_equal(play->grid.cursor_row, play_find(play, "Alderwood ketone"));
    click(play, 23, 5); /* on the key line: the last row is as far as it goes */
    assert_int_equal(play->grid.cursor_row, row);
    const char *rooms = play_row(play, 1);
    const char *shelf = strstr(rooms, "Shelf");
    assert_non_null(shelf);
    click(play, 1, (int)(shelf - rooms));
    play_sees(play, "materials and bottles");
}

static void the_wheel_moves_and_takes_nothing(void **state)
{
    struct bench_world *world = *state;
    struct play *play = &world->play;
    bench_harbour(world, 24, 80);
    wheel(play, 1);
    assert_int_equal(play->grid.cursor_row, play_find(play, "Calm musk"));
    wheel(play, -1);
    assert_int_equal(play->grid.cursor_row, play_find(play, "Alderwood ketone"));
    play_type(play, "9");
    wheel(play, 1);
    click(play, play_find(play, "Calm musk"), 30);
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 500.0);
    play_sees(play, "becomes"); /* still being typed */
}

static void asked_for_by_the_setting_alone(void **state)
{
    struct hand *hand = *state;
    static char program[256], file[256], db[] = "--db", config[300], settings[330];
    const char *build = getenv("BUILD");
    char path[700];
    int64_t id = hand_formula(hand, "Harbour", 1000);
    hand_add(hand, id, "Alderwood ketone", 500);
    hand_add(hand, id, "Calm musk", 500);
    pm_studio_close(hand->studio);
    hand->studio = NULL;
    snprintf(program, sizeof program, "%s/permille", build != NULL ? build : "build");
    snprintf(file, sizeof file, "%s", hand->path);
    snprintf(config, sizeof config, "%s/mouse-config", getenv("HOME"));
    snprintf(settings, sizeof settings, "XDG_CONFIG_HOME=%s", config);
    char *argv[] = {program, db, file, NULL};
    const char *const with[] = {settings, NULL};
    struct stage_spec spec = {.rows = 24, .columns = 80, .program = argv, .settings = with};
    struct stage *stage = stage_start(&spec);
    stage_sees(stage, "Harbour");
    assert_int_equal(stage_mouse(stage), 0);
    stage_end(stage);
    snprintf(path, sizeof path,
             "mkdir -p '%s/permille' && echo 'mouse yes' > '%s/permille/settings'", config, config);
    assert_int_equal(system(path), 0);
    stage = stage_start(&spec);
    stage_sees(stage, "Harbour");
    assert_int_not_equal(stage_mouse(stage), 0);
    stage_bytes(stage, "\033[<0;30;6M\033[<0;30;6m", 20);
    stage_taken(stage);
    stage_type(stage, "q");
    stage_status(stage);
    assert_true(stage_wrote(stage, "\033[?1000l")); /* given back */
    stage_end(stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sequences),
        cmocka_unit_test_setup_teardown(a_click_goes_to_a_row_or_a_room, bench_world_setup,
                                        bench_world_teardown),
        cmocka_unit_test_setup_teardown(the_wheel_moves_and_takes_nothing, bench_world_setup,
                                        bench_world_teardown),
        cmocka_unit_test_setup_teardown(asked_for_by_the_setting_alone, hand_setup, hand_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
