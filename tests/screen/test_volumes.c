/* SPDX-License-Identifier: MIT */
/*
 * Volumes on the screen: typed where a density is known, refused with a sentence where not, and
 * shown beside grams; a price typed without a currency.
 */
#include "bench_world.h"

#include "permille/studio/bottles.h"
#include "permille/studio/settings.h"
#include "permille/studio/shelf.h"

#include <string.h>

static void make_shelf(struct bench_world *world)
{
    struct hand *hand = world->hand;
    const int64_t id = hand_material(hand, "Alderwood ketone");
    hand_material(hand, "Breeze salicylate");
    hand_ok(hand, pm_shelf_set_fact(hand->studio, id, "density", "0.9", NULL, &hand->err));
    hand_ok(hand, pm_settings_set(hand->studio, &pm_setting_table[PM_SETTING_CURRENCY], "CHF",
                                  &hand->err));
}

static void a_bottle_by_volume(void **state)
{
    struct bench_world *world = *state;
    struct play *play = &world->play;
    struct pm_bottle bottle;
    struct pm_arena arena = {0};
    make_shelf(world);
    bench_world_open(world, 30, 160);
    play_keys(play, "S a");
    play_type(play, "10 ml");
    play_sees(play, "That is 9.00 g.");
    play_keys(play, "Tab Tab Tab");
    play_type(play, "12.50");
    play_keys(play, "Enter");
    play_sees(play, "stands on the shelf");
    hand_ok(world->hand,
            pm_bottle_show(world->hand->studio, 1, &arena, &bottle, &world->hand->err));
    assert_int_equal(bottle.left, 9 * PM_GRAM);
    assert_int_equal(bottle.left_ul, 10000);
    assert_string_equal(bottle.currency, "CHF");
    pm_arena_release(&arena);
    play_sees(play, "volume");
    play_sees(play, "10.0 ml");
}

static void a_dilution_by_volume(void **state)
{
    struct bench_world *world = *state;
    struct play *play = &world->play;
    make_shelf(world);
    hand_solvent(world->hand, "Ethanol");
    bench_world_open(world, 30, 100);
    play_keys(play, "S a");
    play_type(play, "10 ml");
    play_keys(play, "Enter %");
    play_type(play, "5");
    play_keys(play, "Tab");
    play_type(play, "10");
    play_keys(play, "Tab Tab");
    play_type(play, "Ethanol");
    play_sees(play, "500 mg (556 \xC2\xB5l) of B001 + 4.50 g of Ethanol");
    play_keys(play, "Enter");
    play_type(play, "0.5 ml");
    play_sees(play, "True strength 9.091 %; wanted was 10 %."); /* 0.45 g in 4.95 g */
}

static void without_a_density_it_is_refused(void **state)
{
    struct bench_world *world = *state;
    struct play *play = &world->play;
    make_shelf(world);
    bench_world_open(world, 24, 80);
    play_keys(play, "S Down a");
    play_type(play, "10 ml");
    play_sees(play, "no density is known");
    play_keys(play, "Enter");
    play_sees(play, "A bottle of Breeze salicylate"); /* still open, nothing made */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_bottle_by_volume, bench_world_setup,
                                        bench_world_teardown),
        cmocka_unit_test_setup_teardown(a_dilution_by_volume, bench_world_setup,
                                        bench_world_teardown),
        cmocka_unit_test_setup_teardown(without_a_density_it_is_refused, bench_world_setup,
                                        bench_world_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
