/* SPDX-License-Identifier: MIT */
/* What the tests of the rooms share. */
#include "bench_world.h"

#include "permille/base/mem.h"

#include <stdlib.h>
#include <string.h>

int bench_world_setup(void **state)
{
    void *hand = NULL;
    struct bench_world *world = calloc(1, sizeof *world);
    if (world == NULL || hand_setup(&hand))
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
    pm_house_read_settings(&world->house);
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

void bench_stock(struct bench_world *world)
{
    static const char *const names[] = {"Alderwood ketone", "Breeze salicylate", "Calm musk",
                                        "Dry cedar oil",    "Etesian aldehyde",  "Fern base"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        hand_material(world->hand, names[i]);
    hand_solvent(world->hand, "Dipropylene glycol");
    hand_solvent(world->hand, "Triethyl citrate");
}

void bench_harbour(struct bench_world *world, int rows, int columns)
{
    bench_stock(world);
    int64_t id = hand_formula(world->hand, "Harbour", 1000);
    hand_add(world->hand, id, "Alderwood ketone", 500);
    hand_add(world->hand, id, "Breeze salicylate", 300);
    hand_add(world->hand, id, "Calm musk", 200);
    bench_world_open(world, rows, columns);
}

void bench_starve(struct bench_world *world, const char *before, const char *key, const char *after,
                  const char *sees)
{
    struct play *play = &world->play;
    struct pm_event event = {.kind = PM_EVENT_KEY};
    long asked = 1;
    assert_true(pm_key_read(key, strlen(key), &event.key));
    for (long n = 1; asked >= n && n < 400; n += n < 40 ? 1 : 7) {
        if (before != NULL)
            play_keys(play, before);
        pm_mem_fail_at(n, n % 2);
        pm_app_event(play->app, &event);
        pm_app_draw(play->app, &play->grid);
        pm_app_work(play->app);
        asked = pm_mem_fail_at(0, false);
        play_keys(play, after);
        play_sees(play, sees);
    }
}

void bench_near(double got, double wanted, double by)
{
    if (got < wanted - by || got > wanted + by)
        fail_msg("%.9g is not %.9g", got, wanted);
}
