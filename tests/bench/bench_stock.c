/* SPDX-License-Identifier: MIT */
/*
 * What the shelf's questions cost on 100,000 materials, 20,000 bottles and 500,000 movements:
 * filters, the list of bottles, needs and cost of a formula, what can be made, undo; each as a
 * multiple of one plain search by the store in the same run.
 */
#include "permille/store/bottles.h"
#include "permille/store/materials.h"
#include "permille/studio/bottles.h"
#include "permille/studio/stock.h"
#include "src/studio/inside.h"
#include "tests/studio/hand.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <time.h>

#include <cmocka.h>

#define MATERIALS 100000
#define BOTTLES   20000
#define MOVEMENTS 25 /* per bottle */
#define ROUNDS    5

static double now_ms(void)
{
    struct timespec time;
    (void)clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec * 1e3 + (double)time.tv_nsec / 1e6;
}

/* "Material 7 oil": bottles hold every fifth. */
static void fill(struct hand *hand)
{
    struct pm_library *library = hand->studio->library;
    hand_ok(hand, pm_library_begin(library, &hand->err));
    for (int i = 0; i < MATERIALS; i++) {
        char name[64];
        (void)snprintf(name, sizeof name, "Material %d oil", i);
        struct pm_material material = {
            .name = name, .kind = i == 0 ? PM_SOLVENT : PM_CHEMICAL, .family = (char[]){"woody"}};
        hand_ok(hand, pm_material_insert(library, &material, &hand->err));
    }
    for (int i = 0; i < BOTTLES; i++) {
        struct pm_bottle bottle = {.material = 1 + i * 5,
                                   .strength = PM_NEAT,
                                   .best_before = hand->time + (i % 50 - 1) * 8640000,
                                   .currency = "EUR",
                                   .price = 1000000,
                                   .priced_mass = PM_GRAM};
        hand_ok(hand, pm_bottle_insert(library, &bottle, &hand->err));
        for (int k = 0; k < MOVEMENTS; k++) {
            struct pm_movement movement = {.bottle = bottle.id,
                                           .kind = k ? PM_POURED : PM_RECEIVED,
                                           .mass = k ? -PM_GRAM : 40 * PM_GRAM,
                                           .at = hand->time};
            hand_ok(hand, pm_movement_insert(library, &movement, NULL, &hand->err));
        }
    }
    hand_ok(hand, pm_library_commit(library, &hand->err));
}

/* ---- the questions ---- */

static void search_plain(struct hand *hand)
{
    struct pm_material_entries found;
    hand_ok(hand, pm_material_search(hand->studio->library, "oil 77", 200, false, NULL, &found,
                                     &hand->err));
    pm_list_release(&found);
}

static void list(struct hand *hand, struct pm_shelf_filter filter)
{
    struct pm_shelf_rows_found rows;
    filter.limit = 200;
    hand_ok(hand, pm_shelf_list(hand->studio, &filter, &rows, &hand->err));
    pm_list_release(&rows);
}

static void list_all(struct hand *hand)
{
    list(hand, (struct pm_shelf_filter){.text = ""});
}

static void list_have(struct hand *hand)
{
    list(hand, (struct pm_shelf_filter){.have = true});
}

static void list_have_text(struct hand *hand)
{
    list(hand, (struct pm_shelf_filter){.have = true, .text = "oil 77"});
}

static void list_old(struct hand *hand)
{
    list(hand, (struct pm_shelf_filter){.old = true});
}

static void bottles_of_one(struct hand *hand)
{
    const struct pm_bottle_filter filter = {.material = 1 + 5 * 77};
    struct pm_bottles cards;
    hand_ok(hand, pm_bottles_list(hand->studio, &filter, &cards, &hand->err));
    pm_list_release(&cards);
}

static struct pm_sheet *draft(struct hand *hand)
{
    int64_t formula;
    hand_ok(hand, pm_formula_find(hand->studio, "Quay", &formula, NULL, NULL, &hand->err));
    return hand_draft(hand, formula);
}

static void needs_of_one(struct hand *hand)
{
    struct pm_sheet *sheet = draft(hand);
    struct pm_needs needs;
    hand_ok(hand, pm_stock_needs(hand->studio, sheet, 50 * PM_GRAM, &needs, &hand->err));
    pm_needs_release(&needs);
    pm_sheet_free(sheet);
}

static void cost_of_one(struct hand *hand)
{
    const struct pm_cost_wish wish = {.batch = 50 * PM_GRAM};
    struct pm_sheet *sheet = draft(hand);
    struct pm_cost cost;
    hand_ok(hand, pm_stock_cost(hand->studio, sheet, &wish, &cost, &hand->err));
    pm_cost_release(&cost);
    pm_sheet_free(sheet);
}

static void pour_and_undo(struct hand *hand)
{
    const struct pm_movement taking = {.kind = PM_POURED, .mass = PM_GRAM};
    hand_ok(hand, pm_bottle_take(hand->studio, 77, &taking, false, NULL, &hand->err));
    hand_ok(hand, pm_shelf_undo(hand->studio, NULL, &hand->err));
}

static const struct {
    const char *what;
    void (*ask)(struct hand *hand);
} questions[] = {
    {"list, all", list_all},
    {"list, have it", list_have},
    {"list, have it, by text", list_have_text},
    {"list, past date", list_old},
    {"bottles of one material", bottles_of_one},
    {"needs of a formula of 40 lines", needs_of_one},
    {"cost of a formula of 40 lines", cost_of_one},
    {"pour and undo, two commits", pour_and_undo},
};

static double measure(struct hand *hand, void (*ask)(struct hand *hand))
{
    double best = 1e9;
    for (int i = 0; i < ROUNDS; i++) {
        double start = now_ms();
        ask(hand);
        double took = now_ms() - start;
        best = took < best ? took : best;
    }
    return best;
}

static void questions_on_a_large_shelf(void **state)
{
    struct hand *hand = *state;
    fill(hand);
    int64_t formula = hand_formula(hand, "Quay", 1000);
    for (int i = 0; i < 40; i++) {
        char name[64];
        (void)snprintf(name, sizeof name, "Material %d oil", i * 5 + 5);
        hand_add(hand, formula, name, 25);
    }
    double plain = measure(hand, search_plain);
    printf("%-36s %8.2f ms\n", "one plain search by the store", plain);
    for (size_t i = 0; i < sizeof questions / sizeof questions[0]; i++) {
        double took = measure(hand, questions[i].ask);
        printf("%-36s %8.2f ms %6.2f times that\n", questions[i].what, took, took / plain);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(questions_on_a_large_shelf, hand_setup, hand_teardown)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
