/* SPDX-License-Identifier: MIT */
/*
 * What limits cost in a perfume of 300 lines, one of them an accord of eight levels, whose naturals
 * hold 2,000 constituents: judged the first time, again as after every key, with the signs of
 * lines, and fitted; against resolving the same formula to its materials in the same run.
 */
#include "src/studio/inside.h"
#include "tests/studio/hand.h"

#include "permille/base/mem.h"
#include "permille/store/facts.h"
#include "permille/studio/limits.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <time.h>

#include <cmocka.h>

#define LINES    300
#define NATURALS 100
#define EACH     20 /* constituents of a natural */
#define LEVELS   8

static double now_ms(void)
{
    struct timespec time;
    (void)clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec * 1e3 + (double)time.tv_nsec / 1e6;
}

static void report(const char *what, double ms, double reference)
{
    printf("%-52s %8.2f ms   %5.2f of the flat view\n", what, ms, ms / reference);
}

static void naturals(struct hand *hand)
{
    static const char *const known[] = {"citral", "eugenol", "linalool", "geraniol", "coumarin"};
    char name[32];
    struct pm_constituent items[EACH];
    char names[EACH][32];
    hand_ok(hand, pm_studio_change_begin(hand->studio, &hand->err));
    for (int i = 0; i < NATURALS; i++) {
        const char *const form[PM_MATERIAL_ATTRIBUTES] = {
            [PM_MATERIAL_NAME] = name, [PM_MATERIAL_KIND] = "natural"};
        int64_t id;
        snprintf(name, sizeof name, "Oil %d", i);
        hand_ok(hand, pm_shelf_add(hand->studio, form, &id, &hand->err));
        for (int k = 0; k < EACH; k++) {
            snprintf(names[k], sizeof names[k], "%s", k < 5 ? known[k] : "");
            if (k >= 5)
                snprintf(names[k], sizeof names[k], "Constituent %d of %d", k, i);
            items[k] = (struct pm_constituent){.origin = PM_OWN,
                                               .name = names[k],
                                               .least = -1,
                                               .typical = -1,
                                               .most = 40000000 + k * 1000000,
                                               .confidence = PM_OWN_WORD};
        }
        hand_ok(hand,
                pm_constituents_put(hand->studio->library, id, PM_OWN, items, EACH, &hand->err));
    }
    hand_ok(hand, pm_studio_change_end(hand->studio, PM_OK, &hand->err));
}

static int64_t perfume(struct hand *hand)
{
    char name[40], inner[48] = "";
    naturals(hand);
    for (int level = 0; level < LEVELS; level++) {
        snprintf(name, sizeof name, "Level %d", level);
        int64_t accord = hand_formula(hand, name, 1000);
        for (int i = 0; i < 12; i++) {
            char oil[32];
            snprintf(oil, sizeof oil, "Oil %d", (level * 12 + i) % NATURALS);
            hand_add(hand, accord, oil, 50);
        }
        if (level > 0)
            hand_ok(hand, hand_add_accord(hand, accord, inner, 400));
        else
            hand_add(hand, accord, "Dipropylene glycol", 400);
        hand_keep(hand, accord, NULL);
        snprintf(inner, sizeof inner, "%s/1", name);
    }
    int64_t formula = hand_formula(hand, "Long", 30000);
    for (int i = 0; i < LINES - 1; i++) {
        snprintf(name, sizeof name, i < NATURALS ? "Oil %d" : "Material %d", i);
        hand_add(hand, formula, name, 100);
    }
    hand_ok(hand, hand_add_accord(hand, formula, inner, 100));
    return formula;
}

static void measure(void **state)
{
    struct hand *hand = *state;
    struct pm_limits_wish wish;
    struct pm_limits limits;
    struct pm_limits_fit fit;
    bool signs[LINES];
    int64_t formula = perfume(hand);
    hand_reopen(hand);
    struct pm_sheet *sheet = hand_draft(hand, formula);
    hand_ok(hand, pm_limits_wish(hand->studio, formula, &wish, &hand->err));
    wish.dosage = 900000000; /* so that something is over */
    struct pm_flat_sheet flat;
    hand_ok(hand, pm_sheet_flatten(hand->studio, sheet, &flat, &hand->err));
    pm_flat_sheet_release(&flat);
    double start = now_ms();
    hand_ok(hand, pm_sheet_flatten(hand->studio, sheet, &flat, &hand->err));
    double reference = now_ms() - start;
    pm_flat_sheet_release(&flat);
    report("the flat view, read before", reference, reference);

    start = now_ms();
    hand_ok(hand, pm_limits_of(hand->studio, sheet, &wish, &limits, &hand->err));
    report("judged the first time: rules, materials read", now_ms() - start, reference);
    pm_limits_release(&limits);
    start = now_ms();
    for (int i = 0; i < 20; i++) {
        hand_ok(hand, pm_limits_preview(hand->studio, sheet, &wish, &limits, &hand->err));
        if (i < 19)
            pm_limits_release(&limits);
    }
    double again = (now_ms() - start) / 20;
    report("judged again, as with every key", again, reference);
    start = now_ms();
    hand_ok(hand, pm_limits_signs(hand->studio, sheet, &limits, signs, &hand->err));
    double signing = now_ms() - start;
    report("signs of lines", signing, reference);
    assert_true(limits.over > 0);
    pm_limits_release(&limits);
    assert_true(again + signing < 100); /* a keystroke, on a slow machine */
    start = now_ms();
    hand_ok(hand, pm_limits_fit(hand->studio, sheet, &(struct pm_fit_wish){.limits = wish}, &fit,
                                &hand->err));
    report("the nearest formula within", now_ms() - start, reference);
    pm_limits_fit_release(&fit);
    pm_sheet_free(sheet);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(measure, hand_setup, hand_teardown)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
