/* SPDX-License-Identifier: MIT */
/*
 * The editor on a library of its own, played in the process: what the tests of the rooms share.
 */
#ifndef PERMILLE_TESTS_SCREEN_BENCH_WORLD_H
#define PERMILLE_TESTS_SCREEN_BENCH_WORLD_H

#include "harness.h"

#include "src/tui/rooms.h"
#include "tests/studio/hand.h"

struct bench_world {
    struct hand *hand;
    struct pm_house house;
    struct play play;
    bool playing;
};

/* cmocka fixtures; *state is the struct bench_world. The library is empty. */
int bench_world_setup(void **state);
int bench_world_teardown(void **state);
/* Opens the editor on what the library holds now; opens it anew when it was open. */
void bench_world_open(struct bench_world *world, int rows, int columns);
/* Closes the editor and the library and opens both again. */
void bench_world_restart(struct bench_world *world);

/* Plays "a", part of the name, the parts: a line is tucked in by keyboard alone. */
void bench_tuck_in(struct bench_world *world, const char *part_of_name, const char *parts);
/* Six materials and two solvents; with a formula of 1000 and three lines, open in the editor. */
void bench_stock(struct bench_world *world);
void bench_harbour(struct bench_world *world, int rows, int columns);
/* Plays `key` again and again, each time without the memory of one request more, until it gets all
 * it asks for. Before each time plays `before` (or NULL), afterwards `after`, then sees `sees`. */
void bench_starve(struct bench_world *world, const char *before, const char *key, const char *after,
                  const char *sees);

void bench_near(double got, double wanted, double by);
/* Parts of a line of the draft as the file has them. */
double bench_parts(struct bench_world *world, const char *formula, const char *line);
double bench_total(struct bench_world *world, const char *formula);

#define BENCH(name) cmocka_unit_test_setup_teardown(name, bench_world_setup, bench_world_teardown)

#endif
