/* SPDX-License-Identifier: MIT */
/* Profiles of formulas worked out by hand: families through accords and dilutions, ceilings. */
#include "hand.h"

#include "permille/base/mem.h"
#include "permille/studio/profile.h"

#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

static void of_family(struct hand *hand, const char *name, const char *family, const char *pressure)
{
    const char *const form[PM_MATERIAL_ATTRIBUTES] = {[PM_MATERIAL_FAMILY] = family};
    const int64_t id = hand_material(hand, name);
    hand_ok(hand, pm_shelf_edit(hand->studio, id, form, &hand->err));
    if (pressure != NULL)
        hand_ok(hand,
                pm_shelf_set_fact(hand->studio, id, "vapour_pressure", pressure, NULL, &hand->err));
}

/* An accord of 3 musk : 1 resin, 400 parts of it (300, 100); musk at 10 % in 500 parts (50);
 * 100 parts of what has no family. 550 parts are no solvent. */
static int64_t perfume(struct hand *hand)
{
    of_family(hand, "Velvet", "musk", "0.001");
    of_family(hand, "Amber gum", "resin", "0.1");
    hand_material(hand, "Stranger");
    hand_solvent(hand, "Carrier");
    const int64_t accord = hand_formula(hand, "Ground", 1000);
    hand_add(hand, accord, "Velvet", 750);
    hand_add(hand, accord, "Amber gum", 250);
    hand_keep(hand, accord, NULL);
    hand_ok(hand, pm_formula_mark_accord(hand->studio, accord, true, &hand->err));
    const int64_t formula = hand_formula(hand, "Perfume", 1000);
    hand_ok(hand, hand_add_accord(hand, formula, "Ground/1", 400));
    hand_add_at(hand, formula, "Velvet", 500, "10%", "Carrier");
    hand_add(hand, formula, "Stranger", 100);
    return formula;
}

static void profile(struct hand *hand, int64_t formula, struct pm_profile_known *known,
                    struct pm_profile *out)
{
    struct pm_sheet *sheet = hand_draft(hand, formula);
    pm_profile_forget(known);
    hand_ok(hand, pm_profile_of(hand->studio, sheet, known, out, &hand->err));
    pm_sheet_free(sheet);
}

static void set(struct hand *hand, int64_t formula, const char *name, const char *most)
{
    char *sentence = NULL;
    hand_ok(hand, pm_ceiling_set(hand->studio, formula, name, most, &sentence, &hand->err));
    assert_non_null(strstr(sentence, "at most"));
    pm_free(sentence);
}

static void families_and_stages_by_hand(void **state)
{
    struct hand *hand = *state;
    struct pm_profile_known known = {.read = false};
    struct pm_profile all;
    profile(hand, perfume(hand), &known, &all);
    assert_int_equal(all.count, 7);
    assert_string_equal(all.groups[0].name, "musk");
    assert_int_equal(all.groups[0].share, (350 * PM_WHOLE + 275) / 550);
    assert_string_equal(all.groups[1].name, "resin");
    assert_int_equal(all.groups[1].share, (100 * PM_WHOLE + 275) / 550);
    assert_null(all.groups[2].name);
    assert_int_equal(all.groups[2].kind, PM_BY_FAMILY);
    assert_string_equal(all.groups[3].name, "top");
    assert_int_equal(all.groups[3].share, 0);
    assert_string_equal(all.groups[5].name, "base");
    assert_int_equal(all.groups[5].share, (450 * PM_WHOLE + 275) / 550);
    assert_null(all.groups[6].name);
    assert_int_equal(all.groups[6].share, (100 * PM_WHOLE + 275) / 550);
    pm_profile_release(&all);
    pm_profile_forget(&known);
}

static void ceilings_are_set_judged_and_taken_away(void **state)
{
    struct hand *hand = *state;
    struct pm_profile_known known = {.read = false};
    struct pm_ceiling_entries entries;
    struct pm_profile all;
    struct pm_text text = PM_TEXT_EMPTY;
    const int64_t formula = perfume(hand);
    set(hand, 0, "Musk", "60%");
    set(hand, 0, "resin", "25%");
    profile(hand, formula, &known, &all);
    assert_int_equal(all.over, 1);
    assert_int_equal(all.unknown, 1); /* 18 % resin, and 18 % that may be */
    pm_profile_say(&all, '.', &text);
    assert_string_equal(pm_text_get(&text), "! musk 63.6 % (at most 60.0 %)");
    pm_profile_release(&all);
    set(hand, formula, "musk", "90");
    set(hand, formula, "musk", "95");
    profile(hand, formula, &known, &all);
    assert_int_equal(all.over, 0);
    assert_int_equal(all.groups[0].verdict, PM_CEILING_WITHIN);
    pm_profile_release(&all);
    hand_ok(hand, pm_ceilings_read(hand->studio, &entries, &hand->err));
    assert_int_equal(entries.count, 3);
    assert_null(entries.items[0].formula);
    assert_string_equal(entries.items[2].formula, "Perfume");
    assert_int_equal(entries.items[2].row.most, PM_WHOLE / 100 * 95);
    pm_list_release(&entries);
    hand_ok(hand, pm_ceiling_remove(hand->studio, formula, "MUSK", NULL, &hand->err));
    hand_refused(hand, pm_ceiling_remove(hand->studio, formula, "musk", NULL, &hand->err),
                 PM_MISSING, "no ceiling on \"musk\" for Perfume");
    hand_refused(hand, pm_ceiling_set(hand->studio, 0, "fern", "5", NULL, &hand->err), PM_MISSING,
                 "No material has the family");
    assert_string_equal(hand->err.field, "name");
    hand_refused(hand, pm_ceiling_set(hand->studio, 0, "base", "0", NULL, &hand->err), PM_INVALID,
                 "0");
    assert_string_equal(hand->err.field, "most");
    pm_text_release(&text);
    pm_profile_forget(&known);
}

static void solvents_alone_have_no_profile(void **state)
{
    struct hand *hand = *state;
    struct pm_profile_known known = {.read = false};
    struct pm_profile all;
    const int64_t formula = hand_formula(hand, "Thin", 1000);
    hand_solvent(hand, "Carrier");
    profile(hand, formula, &known, &all);
    assert_int_equal(all.count, 0);
    hand_add(hand, formula, "Carrier", 1000);
    profile(hand, formula, &known, &all);
    assert_int_equal(all.count, 0);
    pm_profile_release(&all);
    pm_profile_forget(&known);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(families_and_stages_by_hand, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(ceilings_are_set_judged_and_taken_away, hand_setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(solvents_alone_have_no_profile, hand_setup, hand_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
