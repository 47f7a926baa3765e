/* SPDX-License-Identifier: MIT */
/* What the tests of the rooms share. */
#include "bench_world.h"

#include <stdlib.h>
#include <string.h>

int bench_world_setup(void **state)
{
    void *hand = NULL;
    struct bench_world *world = calloc(1, sizeof *world);
    if (!world || hand_setup(&hand))
        return -1;
    world->hand = hand;
    *state = world;
    return 0;
}

static void close_editor(struct bench_world *world)
{
    if (world->playing)
        play_end(&world->play);
    world->playing = false;
}

int bench_world_teardown(void **state)
{
    struct bench_world *world = *state;
    void *hand = world->hand;
    close_editor(world);
    free(world);
    return hand_teardown(&hand);
}

void bench_world_open(struct bench_world *world, int rows, int columns)
{
    struct pm_app_spec spec = pm_rooms_spec();
    close_editor(world);
    world->house = (struct pm_house){.studio = world->hand->studio, .sign = '.', .utf8 = true};
    spec.host = &world->house;
    play_start(&world->play, spec, rows, columns);
    world->playing = true;
}

void bench_world_restart(struct bench_world *world)
{
    int rows = world->play.grid.rows, columns = world->play.grid.columns;
    close_editor(world);
    hand_reopen(world->hand);
    bench_world_open(world, rows, columns);
}

void bench_tuck_in(struct bench_world *world, const char *part_of_name, const char *parts)
{
    play_keys(&world->play, "a");
    play_type(&world->play, part_of_name);
    play_keys(&world->play, "Enter");
    play_sees(&world->play, "Parts");
    play_type(&world->play, parts);
    play_keys(&world->play, "Enter");
    play_sees(&world->play, "Saved.");
}

static struct pm_sheet *draft(struct bench_world *world, const char *formula)
{
    int64_t id;
    hand_ok(world->hand,
            pm_formula_find(world->hand->studio, formula, &id, NULL, NULL, &world->hand->err));
    return hand_draft(world->hand, id);
}

double bench_parts(struct bench_world *world, const char *formula, const char *line)
{
    struct pm_sheet *sheet = draft(world, formula);
    int64_t id = hand_line(world->hand, sheet, line);
    pm_parts parts = sheet->trial.lines[pm_trial_find(&sheet->trial, id)].parts;
    pm_sheet_free(sheet);
    return (double)parts / (double)PM_PART;
}

double bench_total(struct bench_world *world, const char *formula)
{
    struct pm_sheet *sheet = draft(world, formula);
    pm_parts total = sheet->total;
    pm_sheet_free(sheet);
    return (double)total / (double)PM_PART;
}
