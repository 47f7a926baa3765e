/* SPDX-License-Identifier: MIT */
/*
 * What a key costs in the Shelf room on 100,000 materials, 20,000 bottles and 500,000 movements:
 * from the key to the painted grid, worst and mean; next to one plain search by the store in the
 * same run.
 */
#include "permille/store/bottles.h"
#include "permille/store/materials.h"
#include "src/studio/inside.h"
#include "tests/screen/bench_world.h"

#include <stdio.h>
#include <time.h>

#define MATERIALS 100000
#define BOTTLES   20000
#define MOVEMENTS 25 /* per bottle */

static double now_ms(void)
{
    struct timespec time;
    (void)clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec * 1e3 + (double)time.tv_nsec / 1e6;
}

static void add_materials(struct hand *hand, struct pm_library *library)
{
    static const char *const heads[] = {"Ald", "Benz", "Cin", "Dec", "Lin", "Meth", "Oct", "Van"};
    static const char *const ends[] = {"acetate", "aldehyde", "ketone", "lactone", "oil"};
    static const char *const families[] = {"woody", "green", "citrus", "amber", "floral"};
    for (int i = 0; i < MATERIALS; i++) {
        char name[64], synonym[64];
        const char *synonyms[] = {synonym};
        unsigned mixed = (unsigned)i * 2654435761u;
        (void)snprintf(name, sizeof name, "%syl %s %d", heads[mixed % 8], ends[mixed / 8 % 5], i);
        (void)snprintf(synonym, sizeof synonym, "No. %d of the %s row", i, ends[mixed / 64 % 5]);
        struct pm_material material = {.name = name,
                                       .kind = i == 0 ? PM_SOLVENT : PM_CHEMICAL,
                                       .family = (char *)(uintptr_t)families[mixed / 512 % 5],
                                       .synonyms = synonyms,
                                       .synonym_count = 1};
        hand_ok(hand, pm_material_insert(library, &material, &hand->err));
    }
}

static void add_bottles(struct hand *hand, struct pm_library *library)
{
    for (int i = 0; i < BOTTLES; i++) {
        struct pm_bottle bottle = {.material = 1 + i * 7 % MATERIALS,
                                   .strength = i % 3 ? PM_NEAT : PM_NEAT / 10,
                                   .solvent = i % 3 ? 0 : 1,
                                   .best_before = hand->time + (i % 5 - 1) * 8640000};
        hand_ok(hand, pm_bottle_insert(library, &bottle, &hand->err));
        for (int k = 0; k < MOVEMENTS; k++) {
            struct pm_movement movement = {.bottle = bottle.id,
                                           .kind = k ? PM_POURED : PM_RECEIVED,
                                           .mass = k ? -PM_GRAM : (20 + i % 10) * PM_GRAM,
                                           .at = hand->time};
            int64_t id;
            hand_ok(hand, pm_movement_insert(library, &movement, &id, &hand->err));
        }
    }
}

/* Every line is in some bottle. */
static void add_formula(struct hand *hand)
{
    int64_t id = hand_formula(hand, "Long", 1000);
    hand_do(hand, id, &(struct pm_gesture){.kind = PM_SET_MODE, .mode = PM_OPEN});
    for (int i = 0; i < 300; i++) {
        struct pm_gesture add = {.kind = PM_ADD, .parts = 3 * PM_PART};
        add.fresh.kind = PM_LINE_MATERIAL;
        add.fresh.ref = 1 + i * 7;
        add.fresh.strength = PM_NEAT;
        hand_do(hand, id, &add);
    }
}

static void reference(struct hand *hand, struct pm_library *library, const char *text)
{
    struct pm_material_entries found;
    double start = now_ms();
    hand_ok(hand, pm_material_search(library, text, 400, false, NULL, &found, &hand->err));
    pm_list_release(&found);
    printf("%-44s %8.2f ms\n", "one search by the store", now_ms() - start);
}

/* Each key by itself, `times` over. */
static void measure(struct bench_world *world, const char *what, const char *key, int times)
{
    double sum = 0, worst = 0;
    for (int i = 0; i < times; i++) {
        double start = now_ms();
        play_keys(&world->play, key);
        double took = now_ms() - start;
        sum += took;
        worst = took > worst ? took : worst;
    }
    printf("%-44s %8.2f ms mean %8.2f ms worst\n", what, sum / times, worst);
}

static void keys_on_a_large_shelf(void **state)
{
    struct bench_world *world = *state;
    struct pm_library *library = world->hand->studio->library;
    hand_ok(world->hand, pm_library_begin(library, &world->hand->err));
    add_materials(world->hand, library);
    add_bottles(world->hand, library);
    hand_ok(world->hand, pm_library_commit(library, &world->hand->err));
    add_formula(world->hand);
    reference(world->hand, library, "");
    reference(world->hand, library, "lin");
    double start = now_ms();
    bench_world_open(world, 50, 200);
    printf("%-44s %8.2f ms\n", "opening the editor", now_ms() - start);
    measure(world, "a gesture in a formula of 300 lines", "+", 10);
    measure(world, "entering the Shelf", "S", 1);
    measure(world, "down", "Down", 200);
    measure(world, "page down", "PageDown", 20);
    measure(world, "into the bottles and back", "Enter Esc", 20);
    play_keys(&world->play, "/");
    measure(world, "search: l", "l", 1);
    measure(world, "search: i", "i", 1);
    measure(world, "search: n", "n", 1);
    measure(world, "search: space, 7", "Space 7", 1);
    measure(world, "search: one character back", "Backspace", 1);
    play_keys(&world->play, "Enter");
    measure(world, "down in what was found", "Down", 50);
    measure(world, "Esc: all again", "Esc", 1);
    measure(world, "only what I have, and all again", "h", 4);
    measure(world, "only past date, and all again", "p", 4);
    measure(world, "only low, and all again", "l", 4);
    measure(world, "families", "f Esc", 2);
    measure(world, "to the end of what was read, and on", "End Down", 3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test_setup_teardown(
        keys_on_a_large_shelf, bench_world_setup, bench_world_teardown)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
