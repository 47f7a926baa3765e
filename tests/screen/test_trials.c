/* SPDX-License-Identifier: MIT */
/*
 * The Trials room, played by keyboard alone: the tree, marks, trials side by side. Materials and
 * formulas are invented.
 */
#include "bench_world.h"

#include "permille/studio/bottles.h"

#define PLAY (&world->play)

static void branch(struct hand *hand, int64_t formula, const char *title)
{
    struct pm_gesture gesture = {.kind = PM_BRANCH, .parent = hand_trial(hand, title)};
    hand_do(hand, formula, &gesture);
}

static void restrength(struct hand *hand, int64_t formula, const char *line, pm_strength strength)
{
    struct pm_sheet *sheet = hand_draft(hand, formula);
    struct pm_gesture gesture = {.kind = PM_RESTRENGTH,
                                 .line = hand_line(hand, sheet, line),
                                 .strength = strength,
                                 .solvent = hand_solvent(hand, "Dipropylene glycol")};
    pm_sheet_free(sheet);
    hand_do(hand, formula, &gesture);
}

/* An accord with two trials, a perfume with four and a draft, another perfume on another base. */
static void story(struct bench_world *world, int rows, int columns)
{
    struct hand *hand = world->hand;
    int64_t quay = hand_formula(hand, "Quay", 100);
    hand_add(hand, quay, "Breeze salicylate", 60);
    hand_add(hand, quay, "Calm musk", 40);
    hand_keep(hand, quay, "the other perfume");
    int64_t accord = hand_formula(hand, "Tidal accord", 100);
    hand_add(hand, accord, "Etesian aldehyde", 40);
    hand_add(hand, accord, "Fern base", 60);
    hand_keep(hand, accord, NULL);

    int64_t id = hand_formula(hand, "Harbour", 1000);
    hand_add(hand, id, "Alderwood ketone", 400);
    hand_add(hand, id, "Breeze salicylate", 300);
    hand_add(hand, id, "Calm musk", 145);
    hand_ok(hand, hand_add_accord(hand, id, "Tidal accord/1", 150));
    hand_add_at(hand, id, "Gale pyrazine", 5, "0.1%", "Dipropylene glycol");
    hand_keep(hand, id, "Dry and bare, the musk alone holds it. Nothing of the water yet.");
    hand_set(hand, id, "Breeze salicylate", 330);
    hand_keep(hand, id, "more air");
    branch(hand, id, "Harbour/1");
    hand_add(hand, id, "Dry cedar oil", 40);
    hand_keep(hand, id, "planks");
    branch(hand, id, "Harbour/2");
    hand_set(hand, id, "Calm musk", 90);
    restrength(hand, id, "Gale pyrazine", PM_NEAT / 100);
    hand_keep(hand, id,
              "The musk no longer drowns the accord; the trace comes from a stronger "
              "bottle now.");
    hand_ok(hand, pm_trial_set_label(hand->studio, hand_trial(hand, "Harbour/3"), "with planks",
                                     &hand->err));
    hand_set(hand, id, "Alderwood ketone", 380);
    bench_world_open(world, rows, columns);
    play_keys(PLAY, "T");
}

/* ---- the tree ---- */

static void tree_of_trials(void **state)
{
    struct bench_world *world = *state;
    story(world, 24, 80);
    play_golden(PLAY, "trials-tree-80x24");
    play_keys(PLAY, "Home");
    play_cursor_on(PLAY, "\xE2\x94\x8C 1"); /* the root of the tree */
    play_sees(PLAY, "Nothing of the water yet.");
    play_resize(PLAY, 50, 200);
    play_keys(PLAY, "Space End Space");
    play_golden(PLAY, "trials-tree-200x50");
    play_keys(PLAY, "Esc");
    play_misses(PLAY, "side by side:");
    world->house.utf8 = false;
    play_keys(PLAY, "Down");
    play_sees(PLAY, "+-- 3");
}

static void set_aside_and_brought_back(void **state)
{
    struct bench_world *world = *state;
    story(world, 24, 80);
    play_keys(PLAY, "Home Down");
    play_cursor_on(PLAY, "\xE2\x94\x9C\xE2\x94\x80\xE2\x94\x80 3");
    play_keys(PLAY, "d");
    play_sees(PLAY, "Trial 3 is set aside, never deleted");
    play_keys(PLAY, "Down");
    play_sees(PLAY, "1 set aside, H shows");
    play_misses(PLAY, "with planks");
    play_keys(PLAY, "H");
    play_sees(PLAY, "(set aside)");
    play_keys(PLAY, "Home Down d");
    play_sees(PLAY, "Trial 3 is brought back");
    play_keys(PLAY, "H");
    play_sees(PLAY, "with planks");
    play_keys(PLAY, "End d");
    play_sees(PLAY, "only kept trials are labelled or set aside");
}

static void all_about_a_trial(void **state)
{
    struct bench_world *world = *state;
    story(world, 24, 80);
    play_keys(PLAY, "Home Down i");
    play_sees(PLAY, "Harbour/3");
    play_sees(PLAY, "label     with planks");
    play_sees(PLAY, "from      trial 1");
    play_sees(PLAY, "not weighed yet, not smelled yet");
    play_sees(PLAY, "changed   +Dry cedar oil; 5 others");
    play_sees(PLAY, "planks");
}

static void revisions_of_one_trial(void **state)
{
    struct bench_world *world = *state;
    story(world, 24, 80);
    play_keys(PLAY, "Home Down y");
    play_sees(PLAY, "Revisions of Harbour/3");
    play_sees(PLAY, "1 of 3"); /* branched, tucked in, kept */
    play_type(PLAY, "cedar");
    play_sees(PLAY, "1 of 1");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "read only");
    play_sees(PLAY, "Dry cedar oil");
    play_keys(PLAY, "g");
    assert_true(bench_parts(world, "Harbour", "Dry cedar oil") == 40.0);
    play_keys(PLAY, "u");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 380.0);
}

static void draft_follows_the_bench(void **state)
{
    struct bench_world *world = *state;
    story(world, 24, 80);
    play_keys(PLAY, "B Home");
    play_type(PLAY, "350");
    play_keys(PLAY, "Enter T");
    play_sees(PLAY, "-> 350");
}

/* ---- side by side ---- */

static void without_marks_the_parent(void **state)
{
    struct bench_world *world = *state;
    story(world, 24, 80);
    play_keys(PLAY, "End Up C");
    play_golden(PLAY, "side-two-80x24");
    play_keys(PLAY, "v");
    play_sees(PLAY, "neat parts");
    play_keys(PLAY, "v");
    play_sees(PLAY, "flat: all resolved");
    play_sees(PLAY, "Fern base");
    play_misses(PLAY, "Tidal accord");
    play_keys(PLAY, "Esc Home C");
    play_sees(PLAY, "started from nothing");
}

/* The trial and the accord below stay the same; what merely gave way is left out. */
static void leaving_out_what_gave_way(void **state)
{
    struct bench_world *world = *state;
    story(world, 24, 80);
    play_keys(PLAY, "Home Space Down Space C");
    play_sees(PLAY, "Harbour/2");
    play_sees(PLAY, "in step");
    play_keys(PLAY, "f");
    play_sees(PLAY, "lines that differ");
    play_sees(PLAY, "Calm musk");
    play_keys(PLAY, "f");
    play_sees(PLAY, "without what gave way");
    play_misses(PLAY, "Calm musk");
    play_sees(PLAY, "x1.10  more");
    play_sees(PLAY, "4 not shown");
    play_keys(PLAY, "f");
    play_sees(PLAY, "all lines");
    /* What is left out of one comparison does not stay out of the next. */
    play_keys(PLAY, "f");
    play_sees(PLAY, "lines that differ");
    play_keys(PLAY, "Esc C");
    play_sees(PLAY, "all lines");
}

/* Four trials, one of another formula on another base. */
static void mark_four(struct bench_world *world)
{
    play_keys(PLAY, "Home Space Space End Space a");
    play_type(PLAY, "quay/1");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "C shows side by side: Harbour/1, Harbour/3, Harbour draft, Quay/1");
}

/* Another formula's trials, then its smell notes, without a way round by the Bench. */
static void another_formula_in_the_same_room(void **state)
{
    struct bench_world *world = *state;
    story(world, 24, 80);
    play_keys(PLAY, "o");
    play_type(PLAY, "qua");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Trials  Quay");
    play_sees(PLAY, "the other perfume");
    play_keys(PLAY, "P o");
    play_type(PLAY, "harb");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Blotter  Harbour");
    play_keys(PLAY, "B");
    play_sees(PLAY, "Bench  Harbour");
}

static void four_of_two_formulas(void **state)
{
    struct bench_world *world = *state;
    story(world, 24, 80);
    mark_four(world);
    play_keys(PLAY, "Up Space");
    play_sees(PLAY, "Up to 4 trials");
    play_keys(PLAY, "C");
    play_golden(PLAY, "side-four-80x24");
    play_misses(PLAY, "Harbour/3");
    play_keys(PLAY, "Left Left");
    play_sees(PLAY, "Harbour/3");
    play_misses(PLAY, "Quay/1");
    play_sees(PLAY, "more trials >");
    play_keys(PLAY, "s s Right Right");
    play_sees(PLAY, "largest factor first");
    play_resize(PLAY, 50, 200);
    play_golden(PLAY, "side-four-200x50");
    play_keys(PLAY, "<");
    play_sees(PLAY, "Quay/1 to");
    play_keys(PLAY, "End d d");
    play_sees(PLAY, "2 side by side");
    play_keys(PLAY, "d");
    play_sees(PLAY, "Two trials are the least.");
}

static void priced(struct bench_world *world, const char *material, const char *price)
{
    const char *const form[PM_BOTTLE_ATTRIBUTES] = {[PM_BOTTLE_PRICE] = price};
    struct hand *hand = world->hand;
    int64_t id;
    hand_ok(hand, pm_bottle_add(hand->studio, hand_material(hand, material), 100 * PM_GRAM, form, 0,
                                &id, &hand->err));
}

/* What a kilogram costs stands below, as a least while not everything has a price. */
static void cost_where_it_is_known(void **state)
{
    struct bench_world *world = *state;
    story(world, 24, 80);
    play_keys(PLAY, "Home Space End Up Space C");
    play_misses(PLAY, "cost");
    priced(world, "Alderwood ketone", "20 EUR");
    play_keys(PLAY, "Esc C");
    play_sees(PLAY, "cost/kg, EUR");
    play_sees(PLAY, ">80.00"); /* 400 g of it */
    priced(world, "Calm musk", "9 CHF");
    play_keys(PLAY, "Esc C"); /* two currencies make no column */
    play_misses(PLAY, "cost");
}

static void sentence_becomes_a_note(void **state)
{
    struct bench_world *world = *state;
    story(world, 24, 80);
    play_keys(PLAY, "Home Space Down Space C \"");
    const char *sentence = "Harbour/1 to Harbour/2: Breeze salicylate 300 -> 330; 4 others";
    assert_string_equal(world->play.wishes.copy, sentence);
    play_keys(PLAY, "w");
    play_type(PLAY, "Greyer.");
    play_keys(PLAY, "Tab");
    play_sees(PLAY, "Greyer. Alderwood ketone");
    play_keys(PLAY, "Tab");
    play_sees(PLAY, "300 -> 330; 4 others"); /* the end of it */
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Kept as Harbour/5");
    struct pm_sheet *sheet;
    hand_ok(world->hand, pm_sheet_open(world->hand->studio, hand_trial(world->hand, "Harbour/5"),
                                       &sheet, &world->hand->err));
    assert_string_equal(sheet->note,
                        "Greyer. Harbour/1 to Harbour/2: Breeze salicylate 300 -> 330; 4 others");
    pm_sheet_free(sheet);
}

static void trials_are_typed_or_found(void **state)
{
    struct bench_world *world = *state;
    story(world, 24, 80);
    play_type(PLAY, "1,3");
    play_sees(PLAY, "1,3");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Harbour/3");
    play_sees(PLAY, "2 side by side");
    play_keys(PLAY, "Esc");
    play_type(PLAY, "9");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "no trial 9");
    play_keys(PLAY, "Esc / p l a n k Enter");
    play_cursor_on(PLAY, "\xE2\x94\x9C\xE2\x94\x80\xE2\x94\x80 3");
}

static void looked_at_from_side_by_side(void **state)
{
    struct bench_world *world = *state;
    story(world, 24, 80);
    mark_four(world);
    play_keys(PLAY, "C Enter");
    play_sees(PLAY, "Bench  Quay");
    play_sees(PLAY, "read only");
    play_keys(PLAY, "T");
    play_sees(PLAY, "4 side by side"); /* still there */
}

/* ---- when things go wrong ---- */

static void memory_runs_out(void **state)
{
    static const char *const keys[] = {"C", "Space", "a", "i", "d", "H", "t", "v", "f", "<", "\""};
    struct bench_world *world = *state;
    story(world, 24, 80);
    play_keys(PLAY, "Home Space Space");
    for (size_t k = 0; k < sizeof keys / sizeof *keys; k++) {
        bench_starve(world, k > 6 ? "Home Space Space C" : "Home", keys[k], "Esc Esc Esc Esc T",
                     "Trials  Harbour");
    }
    bench_world_restart(world);
    play_keys(PLAY, "T End C");
    play_sees(PLAY, "2 side by side");
}

/* A formula that two instances edit: what is compared is read again. */
static void another_instance_keeps_a_trial(void **state)
{
    struct bench_world *world = *state;
    story(world, 24, 80);
    play_keys(PLAY, "End C");
    struct pm_studio *mine = world->hand->studio;
    world->hand->studio = hand_second(world->hand);
    int64_t formula;
    hand_ok(world->hand, pm_formula_find(world->hand->studio, "Harbour", &formula, NULL, NULL,
                                         &world->hand->err));
    hand_set(world->hand, formula, "Alderwood ketone", 100);
    pm_studio_close(world->hand->studio);
    world->hand->studio = mine;
    play_keys(PLAY, "Down");
    play_sees(PLAY, "100.00");
}

/* Keys at random, at sizes at random: every paint keeps its cursor, and the room stays usable. */
static void any_keys_at_any_size(void **state)
{
    static const char *const keys[] = {
        "Up", "Down", "Left", "Right", "Home", "End", "PageDown", "Space", "C", "s", "v",
        "d",  "\"",   "<",    "f",     "H",    "i",   "Esc",      "Enter", "T", "a", "y"};
    struct bench_world *world = *state;
    uint64_t random = 20261125;
    story(world, 24, 80);
    for (int i = 0; i < 1500; i++) {
        play_keys(PLAY, keys[hand_random(&random) % (sizeof keys / sizeof *keys)]);
        if (i % 25 == 0)
            play_resize(PLAY, 24 + (int)(hand_random(&random) % 30),
                        80 + (int)(hand_random(&random) % 130));
    }
    assert_false(world->play.wishes.quit);
    play_keys(PLAY, "Esc Esc Esc Esc T");
    play_sees(PLAY, "Trials  ");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH(trials_are_typed_or_found),
        BENCH(tree_of_trials),
        BENCH(set_aside_and_brought_back),
        BENCH(all_about_a_trial),
        BENCH(revisions_of_one_trial),
        BENCH(draft_follows_the_bench),
        BENCH(without_marks_the_parent),
        BENCH(leaving_out_what_gave_way),
        BENCH(another_formula_in_the_same_room),
        BENCH(four_of_two_formulas),
        BENCH(cost_where_it_is_known),
        BENCH(sentence_becomes_a_note),
        BENCH(looked_at_from_side_by_side),
        BENCH(any_keys_at_any_size),
        BENCH(memory_runs_out),
        BENCH(another_instance_keeps_a_trial),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
