/* SPDX-License-Identifier: MIT */
/* Bringing in, played by keyboard: pasted on the Bench, put right, brought in, taken back. */
#include "bench_world.h"

#define PLAY (&world->play)

static const char message[] = "Quay\n"
                              "Alderwod ketone   500\n"
                              "Calm musk 10% in dpg   120\n"
                              "Wet rope ........ 180\n"
                              "Fern base\t200\n"
                              "\n"
                              "Pier\n"
                              "Breeze salicylate 60%\n"
                              "Calm musk 35 %\n";

static void pasted(struct bench_world *world, int rows, int columns)
{
    bench_harbour(world, rows, columns);
    play_paste(PLAY, message);
}

static void a_message_is_shown_before_it_comes_in(void **state)
{
    struct bench_world *world = *state;
    pasted(world, 24, 80);
    play_sees(PLAY, "Bring in");
    play_sees(PLAY, "2 formulas, 6 lines");
    play_golden(PLAY, "bringing-80x24");
    play_keys(PLAY, "Esc");
    play_sees(PLAY, "Harbour");
    play_resize(PLAY, 50, 200);
    play_keys(PLAY, "I");
    play_golden(PLAY, "bringing-200x50");
}

/* How a table was read takes many words; what is doubtful stands before them. */
static void doubts_of_a_table_are_counted_in_sight(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_paste(PLAY, "material;parts\nAlderwod ketone;500,5\nFern base;200,25\n");
    play_sees(PLAY, "1 formula, 2 lines");
    play_sees(PLAY, "1 to look at");
    play_sees(PLAY, "read as table");
}

static void put_right_and_brought_in(void **state)
{
    struct bench_world *world = *state;
    pasted(world, 24, 80);
    play_keys(PLAY, "Q Q Q Enter"); /* round, to the near one */
    play_keys(PLAY, "Ctrl-U");
    play_type(PLAY, "Gale pyrazine");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Gale pyrazine");
    play_keys(PLAY, "Down d"); /* Calm musk stays outside */
    play_sees(PLAY, "left out");
    play_keys(PLAY, "d w");
    play_sees(PLAY, "brought in");
    play_sees(PLAY, "Quay");
    bench_near(bench_parts(world, "Quay", "Gale pyrazine"), 500, 0);
    bench_near(bench_total(world, "Quay"), 1000, 0);
    bench_near(bench_parts(world, "Pier", "Calm musk"), 350, 0);
    play_keys(PLAY, "I");
    play_sees(PLAY, "Paste a formula here");
    play_keys(PLAY, "S u");
    play_keys(PLAY, "B o");
    play_misses(PLAY, "Pier");
}

static void what_holds_no_formula_changes_nothing(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_paste(PLAY, "nothing here\nto be weighed\n");
    play_sees(PLAY, "No line of that text");
    play_sees(PLAY, "Harbour");
    play_paste(PLAY, message);
    play_paste(PLAY, "or here\n");
    play_sees(PLAY, "2 formulas"); /* what was there stays */
    play_keys(PLAY, "D Enter");    /* it cannot be taken back, so it asks first */
    play_sees(PLAY, "2 formulas");
    play_keys(PLAY, "D y");
    play_sees(PLAY, "Paste a formula here");
    play_keys(PLAY, "a");
    play_type(PLAY, "/nowhere.txt");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "cannot be read");
}

/* A list of materials from a spreadsheet: shown, put right, brought in, taken back on the Shelf. */
static void a_table_of_the_shelf_is_shown_before_it_comes_in(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_paste(PLAY, "Name\tkind\tfamily\tshop\n"
                     "Calm musk\t\tmusk\t\n"
                     "Tide absolute\tplant\tsea\tby the pier\n"
                     "Rope tincture\tblend\tsea\t\n");
    play_golden(PLAY, "bringing-table-80x24");
    play_keys(PLAY, "w");
    play_sees(PLAY, "Tide absolute (line 3) cannot come in");
    play_keys(PLAY, "Q Enter Ctrl-U");
    play_type(PLAY, "natural");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "3 rows \xC2\xB7 2 new \xC2\xB7 1 brought up to date \xC2\xB7 columns");
    play_keys(PLAY, "Q");
    play_sees(PLAY, "All of them can come in.");
    play_keys(PLAY, "Down d");
    play_sees(PLAY, "left out");
    play_keys(PLAY, "/");
    play_type(PLAY, "tide");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "shop by the pier");
    play_keys(PLAY, "w");
    play_sees(PLAY, "Brought in: 1 new, 1 brought up to date. Saved. u takes it back.");
    play_sees(PLAY, "Tide absolute");
    play_misses(PLAY, "Rope tincture");
    play_keys(PLAY, "u");
    play_misses(PLAY, "Tide absolute  ");
    play_keys(PLAY, "I");
    play_sees(PLAY, "Paste a formula here");
}

/* Several lines fit no cell: wherever nothing is typed they are shown before they come in, and
 * never become the name of what was selected. */
static void pasted_in_any_room(void **state)
{
    static const char *const rooms[] = {"T", "S", "P", "L", "E", "W", "M", "I", "B"};
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    for (size_t i = 0; i < sizeof rooms / sizeof *rooms; i++) {
        play_keys(PLAY, rooms[i]);
        play_paste(PLAY, "Alderwod ketone 500\nFern base 200\n");
        play_sees(PLAY, "1 formula, 2 lines");
        play_keys(PLAY, "D y");
        play_sees(PLAY, "Paste a formula here");
    }
    play_keys(PLAY, "S /"); /* a name from somewhere, with its line's end, goes on being typed */
    play_paste(PLAY, "Calm\nmusk\n");
    play_sees(PLAY, "Calm musk");
    play_misses(PLAY, "Bring in\n");
    play_misses(PLAY, "1 formula");
}

/* While a cell is typed the key line tells what keys do then; words that came between lines are
 * told before they come in as a comment. */
static void typing_in_a_cell(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_paste(PLAY, "Quay\nFern base 200\n(smells of rain)\nCalm musk 300\n");
    play_sees(PLAY, "Fern base 200 \xC2\xB7 comment: (smells of rain)");
    play_sees(PLAY, "d leave out");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Enter accept   Esc back");
    play_misses(PLAY, "leave out");
    play_keys(PLAY, "Esc");
    play_sees(PLAY, "d leave out");
}

/* What was put right in one text is not lost to the next. */
static void another_text_asks_first(void **state)
{
    struct bench_world *world = *state;
    pasted(world, 24, 80);
    play_keys(PLAY, "Q Q Enter Ctrl-U");
    play_type(PLAY, "Gale pyrazine");
    play_keys(PLAY, "Enter B"); /* from another room, too */
    play_paste(PLAY, "Spray 10\nMoss 20\nFog 5\n");
    play_sees(PLAY, "Forget what was read");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Gale pyrazine");
    play_paste(PLAY, "Spray 10\nMoss 20\nFog 5\n");
    play_keys(PLAY, "y");
    play_misses(PLAY, "Gale pyrazine");
    play_sees(PLAY, "1 formula, 3 lines");
    play_keys(PLAY, "a");
    play_sees(PLAY, "for another file?");
    play_keys(PLAY, "n");
    play_sees(PLAY, "1 formula, 3 lines");
    play_keys(PLAY, "a y");
    play_sees(PLAY, "File");
}

static void take_table(struct bench_world *world)
{
    play_paste(PLAY, "name,kind,note\nFog,plant,x\nCalm musk,,y\nMoss,,\n");
    play_keys(PLAY, "y");
}

static void any_keys_at_any_size(void **state)
{
    static const char *const keys[] = {"Up", "Down", "Left", "Right", "Home", "End", "PageDown",
                                       "d",  "Q",    "Esc",  "Enter", "Tab",  "5",   "I"};
    struct bench_world *world = *state;
    uint64_t random = 20261128;
    pasted(world, 24, 80);
    for (int i = 0; i < 1200; i++) {
        if (i == 600)
            take_table(world);
        play_keys(PLAY, keys[hand_random(&random) % (sizeof keys / sizeof *keys)]);
        if (i % 25 == 0)
            play_resize(PLAY, 24 + (int)(hand_random(&random) % 30),
                        80 + (int)(hand_random(&random) % 130));
    }
    assert_false(world->play.wishes.quit);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH(a_message_is_shown_before_it_comes_in),
        BENCH(doubts_of_a_table_are_counted_in_sight),
        BENCH(put_right_and_brought_in),
        BENCH(pasted_in_any_room),
        BENCH(typing_in_a_cell),
        BENCH(what_holds_no_formula_changes_nothing),
        BENCH(a_table_of_the_shelf_is_shown_before_it_comes_in),
        BENCH(another_text_asks_first),
        BENCH(any_keys_at_any_size),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
