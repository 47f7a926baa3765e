/* SPDX-License-Identifier: MIT */
/*
 * Formulas and the Shelf, played by keyboard alone: what is lacking, what prices, what can be made.
 * Everything is invented.
 */
#include "shelf_world.h"

#include "permille/studio/stock.h"

#define PLAY (&world->play)

static void lines_say_what_is_lacking(void **state)
{
    struct bench_world *world = *state;
    shelf_world_stock(world);
    shelf_world_formula(world);
    bench_world_open(world, 40, 160);
    play_golden(PLAY, "bench-stock-160x40");
    play_sees(PLAY, "25.00 g left of it, enough");
    play_sees(PLAY, "B001 neat, 25.00 g");
    play_keys(PLAY, "Down");
    play_sees(PLAY, "past date: 50.00 g left of it");
    play_keys(PLAY, "Down");
    play_sees(PLAY, "missing: 1.50 g needed");
    play_keys(PLAY, "Down");
    play_sees(PLAY, "dilute first");
    /* A larger batch: more than is there. */
    play_keys(PLAY, "$ 8 0 Enter");
    play_sees(PLAY, "80.00 g of Harbour: what it costs");
    /* 40 g at 19.20 EUR for 25 g. */
    play_sees(PLAY, "30.72 EUR");
    play_sees(PLAY, "Without a price, so not counted: Breeze salicylate");
    play_keys(PLAY, "Esc");
    play_sees(PLAY, "short");
    play_keys(PLAY, "Home");
    play_sees(PLAY, "short: 25.00 g left, 40.00 g needed");
}

/* Cost goes by the oldest opened bottle until another one is chosen. */
static void the_person_chooses_which_bottle_prices(void **state)
{
    struct bench_world *world = *state;
    struct hand *hand = world->hand;
    shelf_world_stock(world);
    shelf_world_bottle(world, "Dry cedar oil", 10,
                       (const char *const[PM_BOTTLE_ATTRIBUTES]){
                           [PM_BOTTLE_PRICE] = "30 EUR", [PM_BOTTLE_BOUGHT] = "2026-02-20"});
    int64_t id = hand_formula(hand, "Quay", 100);
    hand_add(hand, id, "Dry cedar oil", 100);
    bench_world_open(world, 24, 80);
    play_keys(PLAY, "$ 1 0 Enter");
    play_sees(PLAY, "the batch                                  7.68 EUR"); /* 10 of 25 g */
    play_sees(PLAY, "a kilogram of concentrate                  768.00 EUR");
    play_keys(PLAY, "Esc S");
    shelf_world_find(world, "cedar");
    play_keys(PLAY, "Enter Down Space");
    play_sees(PLAY, "B006: cost goes by this bottle's price");
    play_keys(PLAY, "$ Enter");
    play_sees(PLAY, "the batch                                  30.00 EUR");
    play_keys(PLAY, "Esc Up Space $");
    /* A bottle of 50 g at 20 %: 10 g of concentrate and 40 g of ethanol at 46 EUR for 900 g. */
    play_keys(PLAY, "Tab 2 0 % Tab 5 0 Enter");
    play_sees(PLAY, "a bottle of finished product               9.72 EUR");
}

static void the_shelf_offers_strengths_and_swaps(void **state)
{
    struct bench_world *world = *state;
    shelf_world_stock(world);
    shelf_world_formula(world);
    bench_world_open(world, 30, 100);
    play_keys(PLAY, "%");
    play_sees(PLAY, "on the shelf neat 25.00 g, 10 % in Ethanol 8.00 g");
    play_keys(PLAY, "1 Tab");
    play_sees(PLAY, "10 % in Ethanol");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Saved.");
    play_keys(PLAY, "u x");
    /* Fern base is woody as well and on the shelf: it stands first. */
    play_sees(PLAY, "woody         5.00 g");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Swap for Fern base");
}

static void what_is_over_its_maximum_is_found(void **state)
{
    struct bench_world *world = *state;
    struct hand *hand = world->hand;
    shelf_world_stock(world);
    shelf_world_formula(world);
    int64_t fern = hand_material(hand, "Fern base");
    hand_ok(hand, pm_shelf_set_fact(hand->studio, fern, "maximum", "1%", NULL, &hand->err));
    bench_world_open(world, 24, 80);
    play_keys(PLAY, "S f o");
    play_sees(PLAY, "No material is like that."); /* 5 of 1000 neat is half a percent */
    hand_ok(hand, pm_shelf_set_fact(hand->studio, fern, "maximum", "0.4%", NULL, &hand->err));
    play_keys(PLAY, "f o f o");
    play_sees(PLAY, "1 of 1");
    play_sees(PLAY, "Fern base");
}

/* A cell that was typed into stands there at once, and is written after the paint; refused, it is
 * open again with its text. */
static void cells_are_painted_before_they_are_written(void **state)
{
    struct bench_world *world = *state;
    struct pm_event enter = {.kind = PM_EVENT_KEY};
    assert_true(pm_key_read("Enter", 5, &enter.key));
    shelf_world_open(world, 24, 80);
    play_keys(PLAY, "Down Enter");
    for (int refused = 0; refused < 2; refused++) {
        play_type(PLAY, refused ? "7.5 stone" : "7.5");
        pm_app_event(PLAY->app, &enter);
        pm_app_draw(PLAY->app, &PLAY->grid);
        play_sees(PLAY, "7.5");
        play_misses(PLAY, "Saved.");
        pm_app_work(PLAY->app);
        pm_app_draw(PLAY->app, &PLAY->grid);
        if (refused)
            play_sees(PLAY, "7.5 stone");
        else
            play_sees(PLAY, "Saved.");
    }
    play_keys(PLAY, "Esc");
    play_sees(PLAY, "7.50 g");
}

/* What another instance does is seen, and what is half typed does not go into the wrong bottle. */
static void another_window_is_followed(void **state)
{
    struct bench_world *world = *state;
    struct pm_error err = {0};
    shelf_world_open(world, 24, 80);
    play_keys(PLAY, "Down Enter 2 4");
    struct pm_studio *second = hand_second(world->hand);
    assert_int_equal(pm_bottle_set_aside(second, 1, true, &err), PM_OK);
    play_wait(PLAY, 5);
    play_sees(PLAY, "not there any more");
    play_keys(PLAY, "Enter Esc");
    assert_int_equal(shelf_world_left_in(world, "B002"), 8 * PM_GRAM);
    assert_int_equal(pm_bottle_set_aside(second, 1, false, &err), PM_OK);
    play_wait(PLAY, 5);
    play_sees(PLAY, "B001");
    /* The key that meets a change of the bottle under the hand was meant for what stood there. */
    const struct pm_movement taking = {.kind = PM_POURED, .mass = PM_GRAM};
    for (int64_t id = 1; id <= 2; id++)
        assert_int_equal(pm_bottle_take(second, id, &taking, true, NULL, &err), PM_OK);
    play_keys(PLAY, "#");
    play_sees(PLAY, "Another window changed this bottle");
    play_misses(PLAY, "The scale shows");
    play_keys(PLAY, "#");
    play_sees(PLAY, "The scale shows");
    play_keys(PLAY, "Esc");
    pm_studio_close(second);
}

static void what_can_be_made_and_planned(void **state)
{
    struct bench_world *world = *state;
    struct hand *hand = world->hand;
    shelf_world_stock(world);
    shelf_world_formula(world);
    int64_t easy = hand_formula(hand, "Quay", 100);
    hand_add(hand, easy, "Dry cedar oil", 100);
    hand_keep(hand, easy, "only cedar");
    bench_world_open(world, 24, 80);
    play_keys(PLAY, "S ' Enter");
    play_sees(PLAY, "What can be made now, 10.00 g of each");
    play_sees(PLAY, "all of it is on the shelf");
    assert_true(play_find(PLAY, "Quay/1") < play_find(PLAY, "Harbour"));
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Bench  Quay");
    play_keys(PLAY, "W n");
    play_sees(PLAY, "Quay/1");
    play_keys(PLAY, "Tab 1 0 0 Enter");
    play_sees(PLAY, "planned");
    play_keys(PLAY, "S b");
    play_sees(PLAY, "supplier A");
    play_sees(PLAY, "75.00 g");
    play_keys(PLAY, "Esc W");
    play_sees(PLAY, "planned");
    play_keys(PLAY, "d y");
    play_sees(PLAY, "No batch is planned");
    play_keys(PLAY, "S b");
    play_sees(PLAY, "Nothing: the planned batches are covered");
    play_keys(PLAY, "Esc m");
    play_type(PLAY, "CHF");
    play_keys(PLAY, "Tab 0 . 9 4 Enter");
    play_sees(PLAY, "1 CHF is 0.94 EUR. Saved.");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH(lines_say_what_is_lacking),
        BENCH(the_person_chooses_which_bottle_prices),
        BENCH(the_shelf_offers_strengths_and_swaps),
        BENCH(what_is_over_its_maximum_is_found),
        BENCH(cells_are_painted_before_they_are_written),
        BENCH(another_window_is_followed),
        BENCH(what_can_be_made_and_planned),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
