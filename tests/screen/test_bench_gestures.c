/* SPDX-License-Identifier: MIT */
/*
 * The Bench: every other gesture by keyboard alone, compared with what the file then holds.
 */
#include "bench_world.h"

#include <string.h>

#define PLAY (&world->play)

static void gestures_on_a_line(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "+");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 510.0);
    play_keys(PLAY, "-");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 500.0);
    play_keys(PLAY, "z");
    play_type(PLAY, "2/5");
    play_sees(PLAY, "200 parts");
    play_keys(PLAY, "Enter");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 200.0);
    play_keys(PLAY, "u t");
    play_type(PLAY, "the backbone");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "the backbone");
    play_keys(PLAY, ">");
    assert_int_equal(play_find(PLAY, "2         Alderwood ketone"), 5);
    play_keys(PLAY, "<");
    assert_int_equal(play_find(PLAY, "1         Alderwood ketone"), 4);
    play_keys(PLAY, "d");
    play_sees(PLAY, "Dropped Alderwood ketone");
    bench_near(bench_parts(world, "Harbour", "Breeze salicylate"), 600, 1e-9);
    play_keys(PLAY, "u");
    bench_near(bench_parts(world, "Harbour", "Breeze salicylate"), 300, 1e-9);
}

static void modes_carrier_base(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "c m Down");
    play_sees(PLAY, "carrier");
    play_type(PLAY, "350");
    play_keys(PLAY, "Enter");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 450.0);
    assert_true(bench_parts(world, "Harbour", "Calm musk") == 200.0);
    play_type(PLAY, "900");
    play_sees(PLAY, "the most this line can take is 800");
    play_keys(PLAY, "Esc m");
    play_type(PLAY, "400");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "off by +50.00");
    play_keys(PLAY, "l");
    play_misses(PLAY, "off by");
    play_keys(PLAY, "Z");
    play_type(PLAY, "100");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "base 100");
    assert_true(bench_total(world, "Harbour") == 100.0);
}

static void cores_form_and_break(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "k");
    play_sees(PLAY, "Mark the lines of the core first");
    play_keys(PLAY, "Space Space");
    play_sees(PLAY, "2 marked");
    play_keys(PLAY, "k");
    play_type(PLAY, "1:2:3");
    play_sees(PLAY, "One number for each of the 2 lines.");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "! ");
    play_keys(PLAY, "Ctrl-U Enter"); /* as it stands: 5:3 */
    play_sees(PLAY, "A:5");
    play_misses(PLAY, "marked");
    play_keys(PLAY, "Home");
    play_type(PLAY, "400");
    play_keys(PLAY, "Enter");
    assert_true(bench_parts(world, "Harbour", "Breeze salicylate") == 240.0);
    play_keys(PLAY, "k b");
    play_misses(PLAY, "A:5");
    play_keys(PLAY, "V");
    play_sees(PLAY, "3 marked");
    play_keys(PLAY, "Esc");
    play_misses(PLAY, "3 marked");
}

static void dilutions(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "a");
    play_type(PLAY, "etesian");
    play_keys(PLAY, "Enter");
    play_type(PLAY, "10");
    play_keys(PLAY, "Tab");
    play_type(PLAY, "10%");
    play_keys(PLAY, "Down");
    play_type(PLAY, "trieth");
    play_keys(PLAY, "Tab");
    play_sees(PLAY, "Triethyl citrate");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Etesian aldehyde at 10 % in Triethyl citrate");
    play_sees(PLAY, "solvent 0.90 %");
    /* The same material again offers the strength it was used at last. */
    play_keys(PLAY, "a");
    play_type(PLAY, "etesian");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Triethyl citrate");
    play_sees(PLAY, "10 %");
    play_keys(PLAY, "Esc %");
    play_type(PLAY, "1%");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "poured from 10 to ");
    play_keys(PLAY, "u");
    assert_true(bench_parts(world, "Harbour", "Etesian aldehyde") == 10.0);
    /* Held lines are in the way of a restrength that scales all others: it offers to move them. */
    play_keys(PLAY, "Home h Down %");
    play_type(PLAY, "1%");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Held lines are in the way");
    play_keys(PLAY, "Enter");
    assert_true(bench_parts(world, "Harbour", "Etesian aldehyde") == 10.0);
    play_keys(PLAY, "%");
    play_type(PLAY, "1%");
    play_keys(PLAY, "Enter m");
    assert_true(bench_parts(world, "Harbour", "Etesian aldehyde") > 50.0);
    assert_true(bench_total(world, "Harbour") == 1000.0);
}

static void swapping(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "x");
    play_type(PLAY, "dry");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Swap for Dry cedar oil");
    play_keys(PLAY, "Enter");
    assert_true(bench_parts(world, "Harbour", "Dry cedar oil") == 500.0);
    play_misses(PLAY, "Alderwood ketone  ");
}

static void a_material_that_is_not_there_is_made(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "a");
    play_type(PLAY, "Gale oxide");
    play_sees(PLAY, "Not on the shelf.");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "A new material for the shelf");
    play_keys(PLAY, "Tab Tab");
    play_type(PLAY, "78-70-7");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "! "); /* the check digit of 78-70-6, linalool, is 6 */
    play_keys(PLAY, "Ctrl-U");
    play_misses(PLAY, "Tuck in Gale oxide");
    play_keys(PLAY, "Down Down");
    play_keys(PLAY, "Ctrl-U");
    play_type(PLAY, "78-70-6");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Tuck in Gale oxide");
    play_type(PLAY, "12");
    play_keys(PLAY, "Enter");
    assert_true(bench_parts(world, "Harbour", "Gale oxide") == 12.0);
}

static void accords_fold_and_unfold(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "Down Space Space j");
    play_type(PLAY, "Quiet pair");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Quiet pair/1");
    assert_true(bench_parts(world, "Harbour", "Quiet pair/1") == 500.0);
    play_keys(PLAY, "i");
    play_sees(PLAY, "every accord and dilution resolved");
    play_sees(PLAY, "Calm musk");
    play_keys(PLAY, "q Down J");
    play_misses(PLAY, "Quiet pair/1  ");
    assert_true(bench_parts(world, "Harbour", "Calm musk") == 200.0);
    play_keys(PLAY, "A");
    play_sees(PLAY, "Quiet pair/1");
    play_keys(PLAY, "Enter");
    play_type(PLAY, "5%");
    play_keys(PLAY, "Enter");
    assert_true(bench_parts(world, "Harbour", "Quiet pair/1") == 50.0);
}

static void long_comments_are_not_cut(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    char comment[4001];
    memset(comment, 'x', sizeof comment - 1);
    comment[sizeof comment - 1] = '\0';
    int64_t id;
    hand_ok(world->hand,
            pm_formula_find(world->hand->studio, "Harbour", &id, NULL, NULL, &world->hand->err));
    struct pm_sheet *sheet = hand_draft(world->hand, id);
    const int64_t line = hand_line(world->hand, sheet, "Alderwood ketone");
    pm_sheet_free(sheet);
    hand_do(world->hand, id,
            &(struct pm_gesture){.kind = PM_COMMENT, .line = line, .text = comment});
    bench_world_restart(world);
    play_keys(PLAY, "t");
    play_type(PLAY, "y");
    play_keys(PLAY, "Enter");
    sheet = hand_draft(world->hand, id);
    assert_int_equal(strlen(sheet->trial.lines[0].comment), 4001);
    assert_string_equal(sheet->trial.lines[0].comment + 3999, "xy");
    pm_sheet_free(sheet);
}

/* One key leaves a line out and brings it back, with what it had. */
static void a_line_rests(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "R");
    play_sees(PLAY, "resting Alderwood ketone");
    play_sees(PLAY, "(500.00)");
    bench_near(bench_parts(world, "Harbour", "Alderwood ketone"), 0, 1e-9);
    bench_near(bench_parts(world, "Harbour", "Breeze salicylate"), 600, 1e-9);
    play_keys(PLAY, "R");
    bench_near(bench_parts(world, "Harbour", "Alderwood ketone"), 500, 1e-9);
    bench_near(bench_parts(world, "Harbour", "Breeze salicylate"), 300, 1e-9);
    play_misses(PLAY, "resting");
}

static void a_line_is_found_by_typing(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "/");
    play_type(PLAY, "musk");
    play_sees(PLAY, "1 of 1");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "\xE2\x80\xBA  3         Calm musk");
}

/* The draft beside the trial it came from, in one key; what cannot be kept or folded is said before
 * anything is asked for. */
static void compared_with_the_last_in_one_key(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "C");
    play_sees(PLAY, "started from nothing");
    play_keys(PLAY, "w");
    play_type(PLAY, "first");
    play_keys(PLAY, "Enter w");
    play_sees(PLAY, "Nothing has changed since Harbour/1 was kept.");
    play_misses(PLAY, "Note");
    play_keys(PLAY, "C"); /* the first, just kept: nothing is before it */
    play_sees(PLAY, "started from nothing");
    play_type(PLAY, "600");
    play_keys(PLAY, "Enter C");
    play_sees(PLAY, "Harbour/1");
    play_sees(PLAY, "600.00");
    play_sees(PLAY, "Harbour/1  Harbour");
    play_keys(PLAY, "Esc B w");
    play_type(PLAY, "second");
    play_keys(PLAY, "Enter C"); /* the second, just kept, beside the first */
    play_sees(PLAY, "Harbour/1  Harbour/2");
    play_sees(PLAY, "600.00");
    play_keys(PLAY, "Esc End C"); /* the draft's row of the tree means the same */
    play_sees(PLAY, "Harbour/1  Harbour/2");
    play_keys(PLAY, "Esc B Home Space Space k Enter Home Space j");
    play_sees(PLAY, "A:");
    play_misses(PLAY, "Name of the accord");
}

/* A 1 % line swapped for what is there only neat never pours a hundred times as much unseen. */
static void a_swap_keeps_the_neat_amount(void **state)
{
    struct bench_world *world = *state;
    const int64_t id = hand_formula(world->hand, "Swap", 1000);
    hand_add(world->hand, id, "Fir base", 990);
    hand_add_at(world->hand, id, "Tar", 10, "1%", "Ethanol");
    hand_material(world->hand, "Smoke");
    bench_world_open(world, 24, 80);
    play_keys(PLAY, "End x");
    play_type(PLAY, "smoke");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "neat stays 0.10");
    play_keys(PLAY, "Tab Tab Right");
    play_sees(PLAY, "neat 0.10 \xE2\x86\x92 10.00");
    play_sees(PLAY, "x100");
    play_keys(PLAY, "Left Enter");
    bench_near(bench_parts(world, "Swap", "Smoke"), 0.1, 0.001);
}

static void the_carrier_says_what_it_needs(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "h c");
    play_sees(PLAY, "Made Alderwood ketone the carrier, no longer held");
    play_sees(PLAY, "It counts in carrier mode");
}

/* The finder knows sentences and the other rooms, and goes there. */
static void the_finder_knows_every_room(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, ";");
    play_type(PLAY, "synonym");
    play_sees(PLAY, "tuck in");
    play_keys(PLAY, "Esc ;");
    play_type(PLAY, "low stock");
    play_sees(PLAY, "In the Shelf");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Shelf  ");
    play_sees(PLAY, "low");
    /* What only a list within another room offers: the way to it is said. */
    play_keys(PLAY, "Esc B ;");
    play_type(PLAY, "close test");
    play_sees(PLAY, "In the Blotter");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Blotter  ");
    play_sees(PLAY, "While blind tests are shown");
}

/* What people call it, words in any order, and that nothing says so. */
static void the_finder_knows_other_words(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, ";");
    play_type(PLAY, "remove");
    play_sees(PLAY, "drop line");
    play_keys(PLAY, "Esc ;");
    play_type(PLAY, "density");
    play_sees(PLAY, "what is known");
    play_sees(PLAY, "own value");
    play_keys(PLAY, "Esc ;");
    play_type(PLAY, "lowest purchase");
    play_sees(PLAY, "No action says so.");
    play_keys(PLAY, "Esc ;");
    play_type(PLAY, "line multiply");
    play_sees(PLAY, "scale line");
    /* All that the cut sentence says stands below. */
    play_sees(PLAY, "Multiplies the parts of the line: 1.5, 2/3, 110%.");
}

/* The largest share first, solvents last; the key that opened it closes it. */
static void the_flat_view_is_sorted(void **state)
{
    struct bench_world *world = *state;
    const int64_t id = hand_formula(world->hand, "Flat", 1000);
    hand_add_at(world->hand, id, "Tar", 900, "1%", "Ethanol");
    hand_add(world->hand, id, "Fir base", 20);
    hand_add(world->hand, id, "Larch", 80);
    bench_world_open(world, 24, 80);
    play_keys(PLAY, "i");
    play_sees(PLAY, "every accord and dilution resolved");
    const int larch = play_find(PLAY, "Larch  "), fir = play_find(PLAY, "Fir base  ");
    const int tar = play_find(PLAY, "Tar  "), ethanol = play_find(PLAY, "Ethanol  ");
    assert_true(larch < fir && fir < tar && tar < ethanol);
    play_keys(PLAY, "i");
    play_misses(PLAY, "every accord and dilution resolved");
}

/* The mark of a line, and what a change makes of top, heart and base, while it is typed. */
static void what_leaves_first_is_marked(void **state)
{
    struct bench_world *world = *state;
    struct hand *hand = world->hand;
    static const char *const facts[][2] = {{"Alderwood ketone", "100"},
                                           {"Breeze salicylate", "0.1"}};
    for (size_t i = 0; i < 2; i++)
        hand_ok(hand, pm_shelf_set_fact(hand->studio, hand_material(hand, facts[i][0]),
                                        "vapour_pressure", facts[i][1], NULL, &hand->err));
    bench_harbour(world, 24, 80);
    play_sees(PLAY, "^ top");
    /* 500 and 300 of 800: 62.5 %; 300 of 300 + 300 x 700 / 500 = 720: 41.7 %. */
    play_type(PLAY, "300");
    play_sees(PLAY, "top 62.5 to 41.7 %");
    play_keys(PLAY, "Enter");
    play_type(PLAY, "500");
    play_sees(PLAY, "top 41.7 to 62.5 %");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH(the_finder_knows_every_room),
        BENCH(the_finder_knows_other_words),
        BENCH(the_flat_view_is_sorted),
        BENCH(a_swap_keeps_the_neat_amount),
        BENCH(the_carrier_says_what_it_needs),
        BENCH(a_line_rests),
        BENCH(a_line_is_found_by_typing),
        BENCH(compared_with_the_last_in_one_key),
        BENCH(what_leaves_first_is_marked),
        BENCH(gestures_on_a_line),
        BENCH(modes_carrier_base),
        BENCH(cores_form_and_break),
        BENCH(dilutions),
        BENCH(swapping),
        BENCH(a_material_that_is_not_there_is_made),
        BENCH(accords_fold_and_unfold),
        BENCH(long_comments_are_not_cut),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
