/* SPDX-License-Identifier: MIT */
/* At which strength a material is offered when it is tucked in or takes another's place. */
#include "bench_world.h"

#include "permille/studio/bottles.h"
#include "permille/studio/scale.h"
#include "permille/studio/strengths.h"

#include <string.h>

#define PLAY (&world->play)

static void bottle(struct bench_world *world, const char *material, const char *strength,
                   pm_mass left)
{
    struct hand *hand = world->hand;
    const char *values[PM_BOTTLE_ATTRIBUTES] = {0};
    int64_t id;
    values[PM_BOTTLE_STRENGTH] = strength;
    values[PM_BOTTLE_SOLVENT] = strength != NULL ? "Dipropylene glycol" : NULL;
    hand_ok(hand, pm_bottle_add(hand->studio, hand_material(hand, material), left, values, 0, &id,
                                &hand->err));
}

/* 0.41 g is the least that the balance weighs within 2 %. */
static void open_harbour(struct bench_world *world)
{
    const char *values[PM_BALANCE_ATTRIBUTES] = {0};
    int64_t id;
    bench_harbour(world, 24, 80);
    values[PM_BALANCE_NAME] = "Quay balance";
    values[PM_BALANCE_READABILITY] = "0.01g";
    hand_ok(world->hand, pm_balance_add(world->hand->studio, values, &id, &world->hand->err));
    bottle(world, "Etesian aldehyde", NULL, 20 * PM_GRAM);
    bottle(world, "Etesian aldehyde", "9.953%", 12 * PM_GRAM);
    bottle(world, "Etesian aldehyde", "1%", 5 * PM_GRAM);
    bench_world_open(world, 24, 80);
}

static void arrows_go_through_the_bottles(void **state)
{
    struct bench_world *world = *state;
    open_harbour(world);
    play_keys(PLAY, "a");
    play_type(PLAY, "etesian");
    play_keys(PLAY, "Enter");
    play_type(PLAY, "20");
    play_sees(PLAY, "Strength  neat");
    play_keys(PLAY, "Tab");
    play_sees(PLAY, "20.00 g left");
    play_keys(PLAY, "Down"); /* weighed to 9.953 %: a line's 10 % */
    play_sees(PLAY, "Strength  10 % in Dipropylene glycol");
    play_sees(PLAY, "12.00 g left");
    play_sees(PLAY, "neat 2.00");
    play_keys(PLAY, "Down");
    play_sees(PLAY, "Strength  1 % in Dipropylene glycol");
    play_sees(PLAY, "5.00 g left");
    play_keys(PLAY, "Down");
    play_sees(PLAY, "Strength  neat");
    play_keys(PLAY, "Up Up Enter");
    play_sees(PLAY, "Tucked in 20 of Etesian aldehyde at 10 % in Dipropylene glycol");
    /* From then on that is what is offered first. */
    play_keys(PLAY, "a");
    play_type(PLAY, "etesian");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Strength  10 %");
}

/* What cannot be weighed as it is typed: the bottle that would do is named. */
static void a_dose_too_small_names_the_bottle(void **state)
{
    struct bench_world *world = *state;
    open_harbour(world);
    play_keys(PLAY, "a");
    play_type(PLAY, "etesian");
    play_keys(PLAY, "Enter");
    play_type(PLAY, "5"); /* 50 mg neat; 0.5 g at 10 % */
    play_sees(PLAY, "weighable");
    play_sees(PLAY, "at 10 % in Dipropylene glycol");
    play_keys(PLAY, "Ctrl-U");
    play_type(PLAY, "0.5"); /* 5 mg: 0.5 g at 1 % */
    play_sees(PLAY, "at 1 % in Dipropylene glycol");
    play_keys(PLAY, "Ctrl-U");
    play_type(PLAY, "50");
    play_misses(PLAY, "weighable");
}

/* A neat line of 10 mg: at 10 % it is 0.1 g, too little; at 1 % it can be weighed. The neat amount
 * is kept. */
static void a_swap_takes_the_strength_that_can_be_weighed(void **state)
{
    struct bench_world *world = *state;
    open_harbour(world);
    int64_t id;
    hand_ok(world->hand,
            pm_formula_find(world->hand->studio, "Harbour", &id, NULL, NULL, &world->hand->err));
    hand_add(world->hand, id, "Fern base", 1);
    bench_world_open(world, 24, 80);
    play_keys(PLAY, "End x");
    play_type(PLAY, "etesian");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Strength  1 %");
    play_sees(PLAY, "Dipropylene glycol");
    play_sees(PLAY, "neat parts");
    /* All neat amounts keep their ratio; the solvent that comes along takes its share of all. */
    play_sees(PLAY, "neat 1.00 \xE2\x86\x92 0.91");
    play_keys(PLAY, "Enter");
    bench_near(bench_parts(world, "Harbour", "Etesian aldehyde"), 100 / 1.099, 0.01);
}

/* The choice by itself. */
static void the_choice(void **state)
{
    struct bench_world *world = *state;
    struct pm_at_hand_list list;
    open_harbour(world);
    hand_ok(world->hand,
            pm_at_hand_read(world->hand->studio, hand_material(world->hand, "Etesian aldehyde"),
                            &list, &world->hand->err));
    assert_int_equal(list.count, 3);
    assert_int_equal(list.items[1].strength, PM_NEAT / 10);
    const pm_mass minimum = 410000;
    static const struct {
        pm_mass neat;
        pm_strength wanted;
        size_t place;
    } cases[] = {
        {PM_GRAM, PM_NEAT, 0},      /* weighable as wanted */
        {PM_GRAM, PM_NEAT / 10, 1}, /* as wanted, though neat would do as well */
        {100000, PM_NEAT, 1},       /* 0.1 g: 1 g at 10 % */
        {10000, PM_NEAT, 2},        /* 10 mg: 1 g at 1 % */
        {1000, PM_NEAT, 0},         /* 1 mg: none will do, so as wanted */
        {1000, PM_NEAT / 200, 2},   /* none will do: the nearest to 0.5 % */
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        assert_int_equal(pm_at_hand_for(&list, cases[i].neat, cases[i].wanted, minimum),
                         cases[i].place);
    assert_int_equal(pm_at_hand_for(&list, 1000, PM_NEAT / 100, 0), 2);
    pm_list_release(&list);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH(arrows_go_through_the_bottles),
        BENCH(a_dose_too_small_names_the_bottle),
        BENCH(a_swap_takes_the_strength_that_can_be_weighed),
        BENCH(the_choice),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
