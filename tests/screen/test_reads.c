/* SPDX-License-Identifier: MIT */
/*
 * How often the rooms read the file: what a person sees as one thing is read as one, so that it is
 * quick and another instance cannot change the file in the middle of it.
 */
#include "bench_world.h"

#include "src/tui/blotter/blotter.h"

#include "permille/studio/blotter.h"
#include "permille/studio/bottles.h"
#include "src/store/store.h"
#include "src/studio/inside.h"
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

/* How often a statement ran since the library was opened. */
static int runs(struct bench_world *world, enum pm_sql which)
{
    sqlite3_stmt *statement = world->hand->studio->library->statements[which];
    return statement != NULL ? sqlite3_stmt_status(statement, SQLITE_STMTSTATUS_RUN, 0) : 0;
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
    /* All names at once, and the card of the selected line. */
    assert_int_equal(1, runs(world, PM_SQL_MATERIAL_OF_TRIAL));
    assert_in_range(runs(world, PM_SQL_MATERIAL_GET), 0, 2);
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

/* What a room shows at once is of one state of the file. */
static void a_room_is_opened(void **state)
{
    struct bench_world *world = *state;
    const struct pm_app_spec spec = pm_rooms_spec();
    long_formula(world);
    bench_world_open(world, 50, 200);
    play_sees(&world->play, "Headland");
    for (int room = 1; room < PM_ROOM_NUMBERS; room++) {
        fault_views();
        pm_app_go(world->play.app, room);
        few(spec.rooms[room]->name, 1);
        play_keys(&world->play, "Esc");
    }
}

/* What is drawn was read before: painting itself reads nothing of the file. */
static void painting_reads_nothing(void **state)
{
    struct bench_world *world = *state;
    struct pm_app_spec spec = pm_rooms_spec();
    struct pm_error err = {0};
    struct pm_grid grid;
    char label[40];
    long_formula(world);
    int64_t id, bottle;
    hand_ok(world->hand, pm_formula_find(world->hand->studio, "Headland", &id, NULL, NULL, &err));
    const struct pm_smell_form note = {.trial = hand_keep(world->hand, id, NULL),
                                       .values[PM_SMELL_INTENSITY] = "5",
                                       .values[PM_SMELL_SINCE] = "10min",
                                       .values[PM_SMELL_MEDIUM] = "blotter",
                                       .values[PM_SMELL_NOTE] = "dry and warm"};
    struct pm_smell_done done;
    hand_ok(world->hand, pm_smells_log(world->hand->studio, &note, &done, &err));
    pm_smell_done_release(&done);
    for (int i = 0; i < 9; i++) {
        const char *const form[PM_BOTTLE_ATTRIBUTES] = {[PM_BOTTLE_STRENGTH] = "neat"};
        snprintf(label, sizeof label, "Material %03d", i);
        hand_ok(world->hand, pm_bottle_add(world->hand->studio, hand_material(world->hand, label),
                                           PM_GRAM, form, 0, &bottle, &err));
    }
    bench_world_open(world, 50, 200);
    assert_true(pm_grid_init(&grid, 50, 200));
    const struct pm_pane all = pm_pane_all(&grid);
    for (int room = 0; room < PM_ROOM_NUMBERS; room++) {
        const struct pm_canvas canvas = {.heading = pm_pane_part(&all, 0, 10, 1, 190),
                                         .sheet = pm_pane_part(&all, 2, 0, 46, 140),
                                         .details = pm_pane_part(&all, 2, 142, 46, 58)};
        void *room_state = pm_app_room_state(world->play.app, room);
        for (int view = VIEW_LOG; view < VIEW_COUNT; view++) {
            if (room == PM_ROOM_BLOTTER)
                ((struct blotter *)room_state)->view = (enum blotter_view)view;
            fault_views();
            spec.rooms[room]->draw(room_state, &canvas);
            few(spec.rooms[room]->name, 0);
        }
    }
    pm_grid_release(&grid);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_gesture_on_a_long_formula, setup, bench_world_teardown),
        cmocka_unit_test_setup_teardown(a_room_is_opened, setup, bench_world_teardown),
        cmocka_unit_test_setup_teardown(painting_reads_nothing, setup, bench_world_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
