/* SPDX-License-Identifier: MIT */
/* A shelf for the tests of screens (shelf_world.h). */
#include "shelf_world.h"

int64_t shelf_world_bottle(struct bench_world *world, const char *material, double grams,
                           const char *const *form)
{
    struct hand *hand = world->hand;
    int64_t id, material_id = hand_material(hand, material);
    hand_ok(hand, pm_bottle_add(hand->studio, material_id, (pm_mass)(grams * PM_GRAM), form, 0, &id,
                                &hand->err));
    return id;
}

int64_t shelf_world_material(struct bench_world *world, const char *name, const char *family)
{
    struct hand *hand = world->hand;
    int64_t id = hand_material(hand, name);
    hand_ok(hand, pm_shelf_edit(
                      hand->studio, id,
                      (const char *const[PM_MATERIAL_ATTRIBUTES]){[PM_MATERIAL_FAMILY] = family},
                      &hand->err));
    return id;
}

/* A few materials, some of them in bottles: one past its date, one nearly empty, one diluted. */
void shelf_world_stock(struct bench_world *world)
{
    struct hand *hand = world->hand;
    const char *const cedar[PM_BOTTLE_ATTRIBUTES] = {[PM_BOTTLE_SUPPLIER] = "supplier A",
                                                     [PM_BOTTLE_LOT] = "C-17",
                                                     [PM_BOTTLE_BOUGHT] = "2025-11-03",
                                                     [PM_BOTTLE_OPENED] = "2025-11-10",
                                                     [PM_BOTTLE_BEST_BEFORE] = "2028-11-03",
                                                     [PM_BOTTLE_PLACE] = "shelf 1",
                                                     [PM_BOTTLE_TARE] = "31.4 g",
                                                     [PM_BOTTLE_PRICE] = "19.20 EUR"};
    const char *const peel[PM_BOTTLE_ATTRIBUTES] = {[PM_BOTTLE_SUPPLIER] = "supplier B",
                                                    [PM_BOTTLE_BEST_BEFORE] = "2025-06-30",
                                                    [PM_BOTTLE_PLACE] = "cold box",
                                                    [PM_BOTTLE_PRICE] = "7 EUR",
                                                    [PM_BOTTLE_PRICED_MASS] = "50 g"};
    const char *const weak[PM_BOTTLE_ATTRIBUTES] = {
        [PM_BOTTLE_STRENGTH] = "10%", [PM_BOTTLE_SOLVENT] = "Ethanol", [PM_BOTTLE_PLACE] = "rack"};
    hand_solvent(hand, "Ethanol");
    hand_solvent(hand, "Triethyl citrate");
    shelf_world_material(world, "Dry cedar oil", "woody");
    shelf_world_material(world, "Breeze salicylate", "floral");
    shelf_world_material(world, "Fern base", "woody");
    shelf_world_material(world, "Sour peel oil", "citrus");
    hand_material(hand, "\xE9\xA6\x99\xE6\xB0\xB4\xE3\x81\xAE\xE7\xB4\xA0 wide");
    shelf_world_bottle(world, "Dry cedar oil", 25, cedar);
    shelf_world_bottle(world, "Dry cedar oil", 8, weak);
    shelf_world_bottle(world, "Sour peel oil", 50, peel);
    int64_t poured = shelf_world_bottle(world, "Fern base", 100, NULL);
    const struct pm_movement taking = {.kind = PM_POURED, .mass = 95 * PM_GRAM};
    hand_ok(hand, pm_bottle_take(hand->studio, poured, &taking, false, NULL, &hand->err));
    shelf_world_bottle(world, "Ethanol", 900,
                       (const char *const[PM_BOTTLE_ATTRIBUTES]){
                           [PM_BOTTLE_SUPPLIER] = "supplier A", [PM_BOTTLE_PRICE] = "46 EUR"});
}

void shelf_world_open(struct bench_world *world, int rows, int columns)
{
    shelf_world_stock(world);
    bench_world_open(world, rows, columns);
    play_keys(&world->play, "S");
}

/* Of a bottle, as the file has it. */
pm_mass shelf_world_left_in(struct bench_world *world, const char *label)
{
    struct pm_bottle card;
    int64_t id;
    struct hand *hand = world->hand;
    hand_ok(hand, pm_bottle_find(hand->studio, label, &id, &hand->err));
    hand_ok(hand, pm_bottle_show(hand->studio, id, &hand->arena, &card, &hand->err));
    pm_mass left = card.left;
    return left;
}

struct pm_bottle shelf_world_card(struct bench_world *world, const char *label)
{
    struct pm_bottle card;
    int64_t id;
    struct hand *hand = world->hand;
    hand_ok(hand, pm_bottle_find(hand->studio, label, &id, &hand->err));
    hand_ok(hand, pm_bottle_show(hand->studio, id, &hand->arena, &card, &hand->err));
    return card;
}

void shelf_world_find(struct bench_world *world, const char *part)
{
    play_keys(&world->play, "/");
    play_type(&world->play, part);
    play_keys(&world->play, "Enter");
}

void shelf_world_formula(struct bench_world *world)
{
    struct hand *hand = world->hand;
    int64_t id = hand_formula(hand, "Harbour", 1000);
    hand_add(hand, id, "Dry cedar oil", 500);
    hand_add(hand, id, "Sour peel oil", 100);
    hand_add(hand, id, "Breeze salicylate", 150);
    hand_add_at(hand, id, "Fern base", 50, "10%", "Ethanol");
    hand_add_at(hand, id, "Dry cedar oil", 200, "10%", "Ethanol");
}
