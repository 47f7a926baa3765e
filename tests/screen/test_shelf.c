/* SPDX-License-Identifier: MIT */
/*
 * The Shelf, played by keyboard alone and compared with what the file then holds. Materials,
 * suppliers, lots and prices are invented.
 */
#include "shelf_world.h"

#include "permille/studio/stock.h"

#include <stdlib.h>
#include <string.h>

#define PLAY (&world->play)

/* ---- how it looks ---------------------------------------------------------------------------- */

static void golden_shelves(void **state)
{
    struct bench_world *world = *state;
    bench_world_open(world, 24, 80);
    play_keys(PLAY, "S");
    play_golden(PLAY, "shelf-bare-80x24");
    shelf_world_open(world, 24, 80);
    play_golden(PLAY, "shelf-80x24");
    play_keys(PLAY, "Down Enter");
    play_golden(PLAY, "shelf-bottles-80x24");
    play_keys(PLAY, "% 2 0");
    play_golden(PLAY, "shelf-dilute-80x24");
    play_keys(PLAY, "Esc");
    play_resize(PLAY, 50, 200);
    play_golden(PLAY, "shelf-bottles-200x50");
    play_keys(PLAY, "Esc Down");
    play_golden(PLAY, "shelf-200x50");
}

static void no_size_is_too_much(void **state)
{
    struct bench_world *world = *state;
    shelf_world_open(world, 24, 80);
    play_keys(PLAY, "Down Enter");
    for (int columns = 80; columns < 220; columns += 7) {
        for (int rows = 24; rows < 60; rows += 9) {
            play_resize(PLAY, rows, columns);
            play_sees(PLAY, "Dry cedar oil");
            play_sees(PLAY, "B001");
        }
    }
    /* Every column can be reached; the one with the cursor is always seen. */
    play_resize(PLAY, 24, 80);
    static const char *const headings[] = {
        "in",  "look at", "opened", "best before", "place", "price per g", "supplier",
        "lot", "paid",    "for",    "bought",      "tare",  "made from",   "note"};
    for (size_t i = 0; i < sizeof headings / sizeof *headings; i++) {
        play_keys(PLAY, "Right");
        play_sees(PLAY, headings[i]);
    }
}

/* ---- finding --------------------------------------------------------------------------------- */

static void the_list_narrows(void **state)
{
    struct bench_world *world = *state;
    shelf_world_open(world, 24, 80);
    play_keys(PLAY, "/");
    play_type(PLAY, "CEDAR");
    play_sees(PLAY, "Dry cedar oil");
    play_sees(PLAY, "1 of 1");
    play_misses(PLAY, "Fern base");
    play_keys(PLAY, "Esc");
    play_sees(PLAY, "Fern base");
    play_keys(PLAY, "f h");
    play_sees(PLAY, "1 of 4");
    play_misses(PLAY, "Breeze salicylate");
    play_keys(PLAY, "f p");
    play_sees(PLAY, "1 of 1");
    play_sees(PLAY, "Sour peel oil");
    play_sees(PLAY, "past date");
    play_keys(PLAY, "Esc f f");
    play_sees(PLAY, "any family");
    play_type(PLAY, "woo");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "1 of 2");
    play_misses(PLAY, "Sour peel oil");
    play_keys(PLAY, "Esc");
    play_sees(PLAY, "Sour peel oil");
}

static void what_is_not_there_is_entered(void **state)
{
    struct bench_world *world = *state;
    shelf_world_open(world, 24, 80);
    play_keys(PLAY, "/");
    play_type(PLAY, "Grey musk");
    play_sees(PLAY, "Enter puts it there as a new material.");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "A new material");
    play_keys(PLAY, "Tab Tab");
    play_type(PLAY, "64-17-6"); /* ethanol's number is 64-17-5: its check digit is wrong */
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "5");
    play_sees(PLAY, "A new material");
    play_keys(PLAY, "Backspace 5 Enter");
    play_sees(PLAY, "Grey musk is on the shelf. Saved.");
    int64_t id;
    hand_ok(world->hand, pm_shelf_find(world->hand->studio, "64-17-5", &id, &world->hand->err));
    play_keys(PLAY, "u");
    play_misses(PLAY, "1 of 1");
    assert_int_equal(pm_shelf_find(world->hand->studio, "Grey musk", &id, NULL), PM_MISSING);
}

/* What Enter is refused for stands in the message row and nowhere else; in a form of one field no
 * key leads to another. */
static void a_refusal_is_said_once(void **state)
{
    struct bench_world *world = *state;
    shelf_world_open(world, 24, 80);
    shelf_world_find(world, "breeze");
    play_keys(PLAY, "a x");
    play_sees(PLAY, "Tab next");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "A bottle of Breeze salicylate");
    int times = 0;
    for (int row = 0; row < 24; row++)
        times += strstr(play_row(PLAY, row), "A mass cannot be read") != NULL;
    assert_int_equal(times, 1);
    play_keys(PLAY, "Esc Esc");
    shelf_world_find(world, "cedar");
    play_keys(PLAY, "Enter @");
    play_sees(PLAY, "Enter accept");
    play_misses(PLAY, "Tab next");
}

/* A material without bottles offers what can be done about that, not what needs one. */
static void a_material_without_bottles(void **state)
{
    struct bench_world *world = *state;
    shelf_world_open(world, 24, 80);
    shelf_world_find(world, "breeze");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "add a bottle");
    play_misses(PLAY, "# count");
}

static void an_empty_shelf_takes_the_starter_materials(void **state)
{
    struct bench_world *world = *state;
    int64_t id;
    bench_world_open(world, 24, 80);
    play_keys(PLAY, "S");
    play_sees(PLAY, "The shelf is bare");
    play_keys(PLAY, "&");
    play_sees(PLAY, "Starter materials:");
    play_misses(PLAY, "The shelf is bare");
    hand_ok(world->hand, pm_shelf_find(world->hand->studio, "78-70-6", &id, &world->hand->err));
    shelf_world_find(world, "78-70-6"); /* linalool, by the number everybody publishes it under */
    play_keys(PLAY, "i");
    play_sees(PLAY, "What is known of");
    play_sees(PLAY, "154.25"); /* g/mol of C10H18O from IUPAC's abridged atomic weights */
    play_keys(PLAY, "End");
    play_sees(PLAY, "decide");
}

/* ---- a bottle's life by keyboard alone ------------------------------------------------------- */

static void bought_diluted_counted_ordered_again(void **state)
{
    struct bench_world *world = *state;
    shelf_world_open(world, 30, 80);
    shelf_world_find(world, "breeze");
    play_keys(PLAY, "a");
    play_sees(PLAY, "A bottle of Breeze salicylate");
    play_keys(PLAY, "2 5 Tab Tab Tab");
    play_type(PLAY, "24 EUR");
    play_keys(PLAY, "Tab");
    play_type(PLAY, "supplier B");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "B006 stands on the shelf");
    assert_int_equal(shelf_world_left_in(world, "B006"), 25 * PM_GRAM);

    /* 20 g of 10 %: 2 g of stock, 18 g of ethanol; a little too much of it is poured. */
    play_keys(PLAY, "% 2 0");
    play_keys(PLAY, "Tab Tab Tab");
    play_type(PLAY, "Ethanol");
    play_sees(PLAY, "2.00 g of B006 + 18.00 g of Ethanol B005");
    play_keys(PLAY, "Enter Tab 1 7 . 9 4");
    play_sees(PLAY, "True strength 10.03 %; wanted was 10 %.");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "B007: 10.03 % in Ethanol");
    assert_int_equal(shelf_world_left_in(world, "B006"), 23 * PM_GRAM);
    assert_int_equal(shelf_world_left_in(world, "B005"), 900 * PM_GRAM - 17940000);
    assert_int_equal(shelf_world_left_in(world, "B007"), 19940000);

    /* 5 g of 0.03 % on a balance that reads 0.01 g: asked before anything is weighed; back is the
     * form as it was. */
    play_keys(PLAY, "% 5 Tab");
    play_type(PLAY, "0.03 %");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Another strength than asked for");
    play_sees(PLAY, "It would come out at 0.02006 %, not 0.03 %.");
    play_sees(PLAY, "right is 6.56 g.");
    play_keys(PLAY, "b");
    play_sees(PLAY, "A dilution of Breeze salicylate");
    play_sees(PLAY, "0.03 %");
    play_keys(PLAY, "Enter w");
    play_sees(PLAY, "Weigh 10 mg of B007");
    play_keys(PLAY, "Esc");

    /* A dilution of the dilution. */
    play_keys(PLAY, "% 1 0 Tab 0 . 1 % Enter Enter");
    play_sees(PLAY, "B008: 0.1");
    struct pm_bottle twice = shelf_world_card(world, "B008");
    struct pm_bottle once = shelf_world_card(world, "B007");
    assert_int_equal(twice.made_from, once.id);
    /* By mass, from what the balance reads: 0.10 g of 10.0301 % in 10 g. */
    assert_in_range(twice.strength, PM_NEAT / 1000, PM_NEAT / 1000 + PM_NEAT / 200000);

    /* Counted with the ledger told; taken back. */
    play_keys(PLAY, "Up Up # 2 2 . 5");
    play_sees(PLAY, "22.50 g in it; the ledger says 23.00 g: 500 mg less.");
    play_keys(PLAY, "Enter");
    assert_int_equal(shelf_world_left_in(world, "B006"), 22500000);
    play_keys(PLAY, "u");
    play_sees(PLAY, "Undid: Counted");
    assert_int_equal(shelf_world_left_in(world, "B006"), 23 * PM_GRAM);
    play_keys(PLAY, "r");
    assert_int_equal(shelf_world_left_in(world, "B006"), 22500000);

    /* Used in a formula at the strength that really stands there. */
    play_keys(PLAY, "B N");
    play_type(PLAY, "Quay");
    play_keys(PLAY, "Enter a");
    play_type(PLAY, "breeze");
    play_keys(PLAY, "Enter 1 0 0 Tab 1 0 Tab");
    play_sees(PLAY, "10.03 % in Ethanol");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Saved.");
    bench_tuck_in(world, "dry cedar", "900");
    play_keys(PLAY, "Home");
    play_sees(PLAY, "Breeze salicylate 10.03 % in Ethanol");
    play_misses(PLAY, "missing");
    /* 1 g at 10.03 %: 0.1003 g of what cost 24 EUR for 25 g, the rest ethanol at 46 for 900;
     * 9 g of cedar at 19.20 for 25. */
    play_keys(PLAY, "$ Enter");
    play_sees(PLAY, "6.91 EUR  B001");
    play_sees(PLAY, "0.14 EUR  B007");
    play_sees(PLAY, "a kilogram of concentrate                  705.43 EUR");
    play_keys(PLAY, "Esc S");

    /* Low below 30 g neat: on the list of what to buy, where it came from. */
    play_keys(PLAY, "Esc Right Right Right Right Right Right 3 0 Enter");
    play_sees(PLAY, "low");
    play_keys(PLAY, "b");
    play_sees(PLAY, "supplier B");
    play_sees(PLAY, "24.00 EUR for 25");
    play_sees(PLAY, "Breeze salicylate (low)");
    play_sees(PLAY, "low is below");
    play_keys(PLAY, "Esc y");
    play_sees(PLAY, "Counted 22.50 g in bottle B006");
    play_keys(PLAY, "Esc Esc f l");
    play_sees(PLAY, "1 of 1");
}

static void cells_are_edited_in_place(void **state)
{
    struct bench_world *world = *state;
    shelf_world_open(world, 24, 80);
    play_keys(PLAY, "Down Enter");
    play_sees(PLAY, "B001");
    /* Enter opens the cell with what stands in it; typing takes its place; Esc drops it. */
    play_keys(PLAY, "Enter Enter");
    play_misses(PLAY, "Saved.");
    play_keys(PLAY, "Enter 9 9 Esc");
    assert_int_equal(shelf_world_left_in(world, "B001"), 25 * PM_GRAM);
    play_keys(PLAY, "2 4 . 2");
    play_sees(PLAY, "The ledger says 25.00 g: 800 mg less.");
    play_keys(PLAY, "Enter");
    assert_int_equal(shelf_world_left_in(world, "B001"), 24200000);
    /* Tab writes and goes on to the next cell that can be typed into. */
    play_keys(PLAY, "Right Right Right Enter");
    play_type(PLAY, "2025-12-01");
    play_keys(PLAY, "Tab Enter");
    play_type(PLAY, "2027-12-01");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "2025-12-01");
    play_sees(PLAY, "2027-12-01");
    /* Nonsense is refused, and stays to be put right. */
    play_keys(PLAY, "Enter");
    play_type(PLAY, "2027-02-30");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "2027-02-30");
    play_sees(PLAY, "! ");
    play_keys(PLAY, "Esc");
    play_sees(PLAY, "2027-12-01");
    /* A worked-out cell cannot be typed. */
    play_keys(PLAY, "Right Right Enter");
    play_sees(PLAY, "is worked out");
    play_keys(PLAY, "u u u");
    play_keys(PLAY, "Home Left Left Left Left");
    struct pm_bottle card = shelf_world_card(world, "B001");
    char date[PM_TIME_TEXT];
    assert_int_equal(card.left, 25 * PM_GRAM);
    assert_string_equal(pm_day_format(card.opened, date), "2025-11-10");
    assert_string_equal(pm_day_format(card.best_before, date), "2028-11-03");
}

/* A refused form of a bottle stands on what is wrong in it: typing on puts that right. */
static void large_amounts_and_prices_stand_whole(void **state)
{
    struct bench_world *world = *state;
    const char *form[PM_BOTTLE_ATTRIBUTES] = {[PM_BOTTLE_PRICE] = "1000000000 EUR"};
    shelf_world_bottle(world, "Fog", 250000, form);
    bench_world_open(world, 24, 80);
    play_keys(PLAY, "S Down Enter");
    play_sees(PLAY, "250000.00 g  neat"); /* in the list */
    play_sees(PLAY, "neat  250000.00 g"); /* among the bottles */
    play_resize(PLAY, 50, 200);
    play_misses(PLAY, "0\xE2\x80\xA6");
    for (int i = 0; i < 12; i++) {
        play_keys(PLAY, "Right");
        play_misses(PLAY, "0\xE2\x80\xA6");
    }
    play_sees(PLAY, "1000000000.00 EUR");
}

/* A name is cut between two characters, and the cut shows. */
static void a_long_name_is_cut_visibly(void **state)
{
    struct bench_world *world = *state;
    char name[200] = "";
    for (int i = 0; i < 90; i++)
        strcat(name, "\xC3\xA9");
    shelf_world_bottle(world, name, 5, NULL);
    bench_world_open(world, 24, 80);
    play_keys(PLAY, "S Down Enter");
    play_sees(PLAY, "\xC3\xA9\xE2\x80\xA6 \xE2\x94\x80");
}

static void a_refused_bottle_stands_on_the_wrong_field(void **state)
{
    struct bench_world *world = *state;
    shelf_world_open(world, 24, 80);
    play_keys(PLAY, "Down Enter a");
    play_paste(PLAY, "50");
    play_keys(PLAY, "Tab Tab Tab Ctrl-U");
    play_paste(PLAY, "20");
    play_keys(PLAY, "Tab Tab Tab Ctrl-U");
    play_paste(PLAY, "2027-02-3");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "is not a day");
    play_keys(PLAY, "Ctrl-U Tab Tab Tab Tab Ctrl-U");
    play_paste(PLAY, "heavy");
    play_keys(PLAY, "Tab Tab Tab Enter"); /* a bad tare gets the cursor back from elsewhere */
    play_paste(PLAY, "31 g");
    play_sees(PLAY, "Tare         heavy31 g");
    play_keys(PLAY, "Ctrl-U Enter");
    play_sees(PLAY, "needs an amount and a currency");
    play_keys(PLAY, "End");
    play_paste(PLAY, " EUR");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "write that on its label");
    struct pm_bottle card = shelf_world_card(world, "B006");
    assert_int_equal(card.left, 50 * PM_GRAM);
    assert_int_equal(card.price, 20 * PM_PART);
}

static void what_is_wrong_changes_nothing(void **state)
{
    static const struct {
        const char *moves, *typed;
    } wrong[] = {
        {"Left", "110%"},                                                /* a strength over 100 % */
        {"Left", "0"},                                                   /* none at all */
        {"", "-3"},                                                      /* a negative mass */
        {"", "abc"},                                                     /* no mass */
        {"Right Right Right", "soon"},                                   /* no date */
        {"Right Right Right Right Right Right Right Right Right", "12"}, /* no currency */
    };
    struct bench_world *world = *state;
    shelf_world_open(world, 24, 80);
    play_keys(PLAY, "Down Enter");
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        play_keys(PLAY, wrong[i].moves);
        play_keys(PLAY, "Enter");
        play_paste(PLAY, wrong[i].typed);
        play_keys(PLAY, "Enter");
        play_sees(PLAY, "! ");
        play_sees(PLAY, wrong[i].typed);
        play_keys(PLAY, "Esc Esc Enter");
        for (int k = 0; k < 20; k++)
            play_keys(PLAY, "Left");
        play_keys(PLAY, "Right Right");
    }
    struct pm_bottle card = shelf_world_card(world, "B001");
    assert_int_equal(card.left, 25 * PM_GRAM);
    assert_int_equal(card.strength, PM_NEAT);
    assert_int_equal(card.price, 19200000);
}

static void counting_takes_the_tare_off(void **state)
{
    struct bench_world *world = *state;
    shelf_world_open(world, 24, 80);
    play_keys(PLAY, "Down # 5 6");
    play_sees(PLAY, "24.60 g in it; the ledger says 25.00 g: 400 mg less.");
    play_keys(PLAY, "Enter");
    assert_int_equal(shelf_world_left_in(world, "B001"), 24600000);
    play_keys(PLAY, "# 3 0");
    play_sees(PLAY, "30.00 g is less than the empty bottle");
    play_keys(PLAY, "Tab Right");
    play_sees(PLAY, "30.00 g in it");
    play_keys(PLAY, "Enter");
    assert_int_equal(shelf_world_left_in(world, "B001"), 30 * PM_GRAM);
}

static void nothing_falls_below_zero_unasked(void **state)
{
    struct bench_world *world = *state;
    shelf_world_open(world, 24, 80);
    play_keys(PLAY, "Down - 3 0 Enter");
    play_sees(PLAY, "More than the ledger has");
    play_keys(PLAY, "Enter");
    assert_int_equal(shelf_world_left_in(world, "B001"), 25 * PM_GRAM);
    play_keys(PLAY, "- 3 0 Tab Right Enter w");
    play_sees(PLAY, "below zero");
    assert_int_equal(shelf_world_left_in(world, "B001"), -5 * PM_GRAM);
    play_keys(PLAY, "_");
    play_sees(PLAY, "spilled");
    play_keys(PLAY, "Esc u");
    assert_int_equal(shelf_world_left_in(world, "B001"), 25 * PM_GRAM);
    /* All of it gone, and back. */
    play_keys(PLAY, "D");
    play_sees(PLAY, "is empty and set aside");
    play_misses(PLAY, "25.00 g");
    play_keys(PLAY, "u");
    assert_int_equal(shelf_world_left_in(world, "B001"), 25 * PM_GRAM);
    play_sees(PLAY, "B001");
}

static void bottles_are_moved_and_set_aside(void **state)
{
    struct bench_world *world = *state;
    shelf_world_open(world, 24, 80);
    play_keys(PLAY, "Down @");
    play_type(PLAY, "co");
    play_keys(PLAY, "Tab"); /* completes what other bottles say */
    play_sees(PLAY, "cold box");
    play_keys(PLAY, "Enter");
    struct pm_bottle card = shelf_world_card(world, "B001");
    assert_string_equal(card.place, "cold box");
    play_keys(PLAY, "U");
    play_sees(PLAY, "Opened today, 2026-03-02. Saved.");
    play_keys(PLAY, "d");
    play_sees(PLAY, "B001 is set aside");
    play_keys(PLAY, "H");
    play_sees(PLAY, "set aside");
    play_keys(PLAY, "Up Up d");
    play_sees(PLAY, "B001 is back on the shelf");
}

/* ---- materials ------------------------------------------------------------------------------- */

static void two_materials_become_one(void **state)
{
    struct bench_world *world = *state;
    struct hand *hand = world->hand;
    shelf_world_stock(world);
    int64_t formula = hand_formula(hand, "Harbour", 1000);
    hand_add(hand, formula, "Fern base", 400);
    hand_add(hand, formula, "Breeze salicylate", 600);
    bench_world_open(world, 24, 80);
    play_keys(PLAY, "S");
    shelf_world_find(world, "fern");
    play_keys(PLAY, "j");
    play_type(PLAY, "cedar");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Fern base becomes Dry cedar oil");
    play_keys(PLAY, "Enter"); /* leaves them */
    play_keys(PLAY, "j");
    play_type(PLAY, "cedar");
    play_keys(PLAY, "Enter j");
    play_sees(PLAY, "are one now. Saved.");
    play_keys(PLAY, "B");
    play_sees(PLAY, "Dry cedar oil");
    play_misses(PLAY, "Fern base");
    play_keys(PLAY, "S u");
    play_sees(PLAY, "Undid: Merged");
    /* The draft followed by an entry of its own, which is undone where it stands. */
    play_keys(PLAY, "B u");
    play_sees(PLAY, "Fern base");
}

static void own_values_stand_over_others(void **state)
{
    struct bench_world *world = *state;
    shelf_world_open(world, 24, 80);
    play_keys(PLAY, "Down K");
    play_type(PLAY, "density at");
    play_keys(PLAY, "Enter");
    play_type(PLAY, "0.94");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "your own value counts now. Saved.");
    play_keys(PLAY, "i");
    play_sees(PLAY, "0.94 g/ml");
    play_sees(PLAY, "your own");
    play_sees(PLAY, "unknown: ");
    play_keys(PLAY, "End");
    play_sees(PLAY, "decide");
    play_keys(PLAY, "Esc u i");
    play_misses(PLAY, "0.94 g/ml");
}

static void a_material_is_edited_as_a_whole(void **state)
{
    struct bench_world *world = *state;
    struct pm_material card;
    shelf_world_open(world, 24, 80);
    play_keys(PLAY, "Down e");
    play_sees(PLAY, "Edit Dry cedar oil");
    play_keys(PLAY, "Tab Right Tab Tab");
    play_type(PLAY, "Cedar of the dunes; C-1");
    play_keys(PLAY, "Tab Ctrl-U Tab");
    play_type(PLAY, "pencil and dust");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Dry cedar oil is written. Saved.");
    hand_ok(world->hand,
            pm_shelf_card(world->hand->studio, hand_material(world->hand, "Cedar of the dunes"),
                          &card, &world->hand->err));
    assert_string_equal(card.name, "Dry cedar oil");
    assert_int_equal(card.kind, PM_NATURAL);
    assert_int_equal(card.synonym_count, 2);
    assert_null(card.family);
    assert_string_equal(card.note, "pencil and dust");
    pm_material_release(&card);
    play_keys(PLAY, "u");
    play_sees(PLAY, "woody");
    /* Figures of one's own for what it holds. */
    play_keys(PLAY, ":");
    play_type(PLAY, "Cedrene");
    play_keys(PLAY, "Tab Tab 1 0 Tab 2 0 Tab 3 0 Enter i");
    play_sees(PLAY, "Cedrene");
    play_sees(PLAY, "20 %");
}

static void what_is_in_use_is_set_aside(void **state)
{
    struct bench_world *world = *state;
    shelf_world_open(world, 24, 80);
    play_keys(PLAY, "Down d");
    play_sees(PLAY, "Dry cedar oil is set aside");
    play_keys(PLAY, "Home H");
    shelf_world_find(world, "cedar");
    play_sees(PLAY, "Dry cedar oil");
    play_keys(PLAY, "d");
    play_sees(PLAY, "Dry cedar oil is back");
    play_keys(PLAY, "Esc Home d");
    play_sees(PLAY, "Breeze salicylate is removed");
    play_keys(PLAY, "u");
    play_sees(PLAY, "Breeze salicylate");
}

/* ---- any keys at all ------------------------------------------------------------------------- */

static void any_keys_leave_a_sound_file(void **state)
{
    static const char *const keys[] = {"Down",
                                       "Up",
                                       "Enter",
                                       "Esc",
                                       "Left",
                                       "Right",
                                       "Home",
                                       "End",
                                       "PageDown",
                                       "/ o Enter",
                                       "Esc",
                                       "f h",
                                       "f l",
                                       "f p",
                                       "f o",
                                       "H",
                                       "f Enter",
                                       "f f Down Enter",
                                       "a 5 Enter",
                                       "a Enter",
                                       "# 3 Enter",
                                       "- 1 Enter",
                                       "- 9 9 Enter w",
                                       "d",
                                       "D",
                                       "% 5 Enter",
                                       "% 2 Tab 1 % Tab Tab E t h a n o l Enter Enter",
                                       "@ x Enter",
                                       "U",
                                       "e Enter",
                                       ": x Tab Tab 1 Enter",
                                       "u",
                                       "u",
                                       "r",
                                       "7 Enter",
                                       "e Enter",
                                       "1 2 Enter",
                                       "K Enter 3 Enter",
                                       "j Enter j",
                                       "n Q Enter",
                                       "i Esc",
                                       "y Esc",
                                       "b Esc",
                                       "_ Esc",
                                       "' Enter Esc",
                                       "$ Enter Esc",
                                       "m Esc",
                                       "Space",
                                       "Tab",
                                       "B",
                                       "S",
                                       "?",
                                       "Ctrl-L"};
    struct bench_world *world = *state;
    shelf_world_stock(world);
    shelf_world_formula(world);
    bench_world_open(world, 24, 80);
    play_keys(PLAY, "S");
    srandom(7);
    for (int i = 0; i < 600; i++) {
        if (i % 40 == 39)
            play_resize(PLAY, 22 + (int)(random() % 40), 78 + (int)(random() % 140));
        play_keys(PLAY, keys[random() % (long)(sizeof keys / sizeof *keys)]);
    }
    assert_false(world->play.wishes.quit);
    play_resize(PLAY, 24, 80);
    play_keys(PLAY, "Esc Esc Esc Esc S");
    play_sees(PLAY, "Shelf");
    hand_ok(world->hand, pm_studio_verify(world->hand->studio, NULL, NULL, &world->hand->err));
}

static void memory_runs_out_anywhere(void **state)
{
    static const char *const keys[] = {"Down", "f", "H", "i", "a", "%", "#", "-", "K",
                                       "j",    "@", "y", "_", "b", "'", "m", "$", "/"};
    struct bench_world *world = *state;
    shelf_world_open(world, 24, 80);
    play_keys(PLAY, "Down Enter");
    for (size_t k = 0; k < sizeof keys / sizeof *keys; k++) {
        bench_starve(world, NULL, keys[k], "Esc Esc Esc S", "Shelf");
        assert_false(world->play.wishes.quit);
    }
    bench_world_restart(world);
    play_keys(PLAY, "S");
    play_sees(PLAY, "Dry cedar oil");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH(golden_shelves),
        BENCH(no_size_is_too_much),
        BENCH(the_list_narrows),
        BENCH(what_is_not_there_is_entered),
        BENCH(a_refusal_is_said_once),
        BENCH(a_material_without_bottles),
        BENCH(an_empty_shelf_takes_the_starter_materials),
        BENCH(bought_diluted_counted_ordered_again),
        BENCH(cells_are_edited_in_place),
        BENCH(large_amounts_and_prices_stand_whole),
        BENCH(a_long_name_is_cut_visibly),
        BENCH(a_refused_bottle_stands_on_the_wrong_field),
        BENCH(what_is_wrong_changes_nothing),
        BENCH(counting_takes_the_tare_off),
        BENCH(nothing_falls_below_zero_unasked),
        BENCH(bottles_are_moved_and_set_aside),
        BENCH(two_materials_become_one),
        BENCH(own_values_stand_over_others),
        BENCH(a_material_is_edited_as_a_whole),
        BENCH(what_is_in_use_is_set_aside),
        BENCH(any_keys_leave_a_sound_file),
        BENCH(memory_runs_out_anywhere),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
