/* SPDX-License-Identifier: MIT */
/*
 * The shelf's history: undo and redo over restarts, the starter set beside one's own values,
 * merging, tables in and out. Names are invented.
 */
#include "hand.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/store/bottles.h"
#include "permille/store/facts.h"
#include "permille/store/library.h"
#include "permille/studio/bottles.h"
#include "permille/studio/paper.h"
#include "permille/studio/stock.h"
#include "permille/studio/whole.h"

#include <sqlite3.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void print_finding(void *context, const char *sentence)
{
    (void)context;
    print_error("%s\n", sentence);
}

static void sound(struct hand *hand)
{
    hand_ok(hand, pm_studio_verify(hand->studio, print_finding, NULL, &hand->err));
}

/* Everything of the shelf as text: what undo must bring back. A bottle that was undone stands
 * there, set aside, and is left out. */
static char *whole(struct hand *hand)
{
    static const char aside[] = ",yes\r\n";
    struct pm_text text = PM_TEXT_EMPTY;
    hand_ok(hand, pm_shelf_export(hand->studio, "materials", &text, &hand->err));
    hand_ok(hand, pm_shelf_export(hand->studio, "bottles", &text, &hand->err));
    char *all = pm_text_take(&text), *end;
    while ((end = strstr(all, aside))) {
        char *start = end;
        while (start > all && start[-1] != '\n')
            start--;
        memmove(start, end + sizeof aside - 1, strlen(end + sizeof aside - 1) + 1);
    }
    return all;
}

static void set_fact(struct hand *hand, const char *name, const char *property, const char *text)
{
    hand_ok(hand, pm_shelf_set_fact(hand->studio, hand_material(hand, name), property, text, NULL,
                                    &hand->err));
}

/* The value that stands; "" when none does. */
static void stands(struct hand *hand, const char *name, const char *property, const char *wanted,
                   const char *confidence)
{
    struct pm_fact_entries facts;
    hand_ok(hand, pm_shelf_facts(hand->studio, hand_material(hand, name), &facts, &hand->err));
    const char *found = "", *known = "";
    for (size_t i = 0; i < facts.count; i++) {
        if (facts.items[i].stands && strcmp(facts.items[i].property, property) == 0) {
            found = facts.items[i].text;
            known = facts.items[i].confidence;
        }
    }
    assert_string_equal(found, wanted);
    assert_string_equal(known, confidence);
    pm_list_release(&facts);
}

static void add_bottle(struct hand *hand, const char *name)
{
    hand_ok(hand, pm_bottle_add(hand->studio, hand_material(hand, name), 5 * PM_GRAM, NULL, 0, NULL,
                                &hand->err));
}

/* A random walk of edits, then all the way back and all the way forth, with restarts between. */
static void every_edit_can_be_undone_and_done_again(void **state)
{
    enum { STEPS = 60 };
    struct hand *hand = *state;
    static const char *const names[] = {"Cedrol", "Linalool", "Vetiver", "Ambrette"};
    char *states[STEPS + 1];
    uint64_t seed = 11;
    for (size_t i = 0; i < 4; i++)
        hand_material(hand, names[i]);
    add_bottle(hand, "Cedrol");
    states[0] = whole(hand);
    for (int i = 1; i <= STEPS; i++) {
        const char *name = names[hand_random(&seed) % 4];
        char text[32];
        snprintf(text, sizeof text, "0.%d", 100 + i);
        switch (hand_random(&seed) % 6) {
        case 0:
            set_fact(hand, name, "density", text);
            break;
        case 1:
            hand_ok(hand, pm_shelf_edit(hand->studio, hand_material(hand, name),
                                        (const char *const[PM_MATERIAL_ATTRIBUTES]){
                                            [PM_MATERIAL_NOTE] = text},
                                        &hand->err));
            break;
        case 2:
            add_bottle(hand, name);
            break;
        case 3:
            hand_ok(hand, pm_bottle_count(hand->studio, 1, i * 1000, NULL, 0, &hand->err));
            break;
        case 4:
            hand_ok(hand, pm_bottle_edit(
                              hand->studio, 1,
                              (const char *const[PM_BOTTLE_ATTRIBUTES]){[PM_BOTTLE_PLACE] = text},
                              &hand->err));
            break;
        default:
            hand_ok(hand, pm_shelf_set_constituent(hand->studio, hand_material(hand, name),
                                                   (const char *const[PM_CONSTITUENT_ATTRIBUTES]){
                                                       [PM_CONSTITUENT_NAME] = text,
                                                       [PM_CONSTITUENT_LEAST] = "1",
                                                       [PM_CONSTITUENT_MOST] = "2"},
                                                   &hand->err));
            break;
        }
        states[i] = whole(hand);
    }
    for (int i = STEPS; i > 0; i--) {
        hand_ok(hand, pm_shelf_undo(hand->studio, NULL, &hand->err));
        char *now = whole(hand);
        assert_string_equal(now, states[i - 1]);
        pm_free(now);
        if (i % 16 == 0)
            hand_reopen(hand);
    }
    sound(hand);
    for (int i = 1; i <= STEPS; i++) {
        hand_ok(hand, pm_shelf_redo(hand->studio, NULL, &hand->err));
        char *now = whole(hand);
        assert_string_equal(now, states[i]);
        pm_free(now);
    }
    hand_refused(hand, pm_shelf_redo(hand->studio, NULL, &hand->err), PM_REFUSED, "nothing");
    sound(hand);
    for (int i = 0; i <= STEPS; i++)
        pm_free(states[i]);
}

static void a_removed_material_comes_back_whole(void **state)
{
    struct hand *hand = *state;
    struct pm_import_result result;
    static const char *const names[] = {"Lavender oil"};
    hand_ok(hand, pm_shelf_import_named(hand->studio, names, 1, &result, &hand->err));
    set_fact(hand, "Lavender oil", "rating", "5");
    int64_t id = hand_material(hand, "Lavender oil");
    struct pm_fact_entries before, after;
    struct pm_constituents holds;
    hand_ok(hand, pm_shelf_facts(hand->studio, id, &before, &hand->err));
    hand_ok(hand, pm_shelf_remove(hand->studio, id, NULL, &hand->err));
    hand_ok(hand, pm_shelf_undo(hand->studio, NULL, &hand->err));
    hand_ok(hand, pm_shelf_facts(hand->studio, id, &after, &hand->err));
    assert_int_equal(before.count, after.count);
    hand_ok(hand, pm_shelf_constituents(hand->studio, id, &holds, &hand->err));
    assert_true(holds.count > 3);
    pm_list_release(&holds);
    pm_list_release(&before);
    pm_list_release(&after);
    sound(hand);
}

/* An undo that would take away what was used since says so and changes nothing. */
static void undo_does_not_empty_a_bottle_below_zero(void **state)
{
    struct hand *hand = *state;
    const struct pm_movement poured = {
        .bottle = 1, .kind = PM_POURED, .mass = -4 * PM_GRAM, .at = 1800000000};
    struct pm_library *library;
    add_bottle(hand, "Cedrol");
    /* What is poured at the scale stands beside the line of history. */
    hand_ok(hand, pm_library_open(hand->path, 0, &hand->clock, NULL, &library, &hand->err));
    hand_ok(hand, pm_movement_insert(library, &poured, NULL, &hand->err));
    pm_library_close(library);
    char *before = whole(hand);
    hand_refused(hand, pm_shelf_undo(hand->studio, NULL, &hand->err), PM_REFUSED, "4.00 g");
    char *after = whole(hand);
    assert_string_equal(before, after);
    pm_free(before);
    pm_free(after);
    sound(hand);
}

/* ---- the starter set ---- */

static void own_values_stand_over_shipped_ones(void **state)
{
    struct hand *hand = *state;
    struct pm_import_result result;
    hand_ok(hand, pm_shelf_import_starter(hand->studio, &result, &hand->err));
    assert_int_equal(result.added, 179);
    stands(hand, "Linalool", "density", "0.863 g/ml", "checked");
    set_fact(hand, "Linalool", "density", "0.87");
    stands(hand, "Linalool", "density", "0.87 g/ml", "own");
    hand_ok(hand, pm_shelf_edit(hand->studio, hand_material(hand, "Linalool"),
                                (const char *const[PM_MATERIAL_ATTRIBUTES]){
                                    [PM_MATERIAL_FAMILY] = "my own", [PM_MATERIAL_NOTE] = "mine"},
                                &hand->err));
    hand_ok(hand, pm_shelf_import_starter(hand->studio, &result, &hand->err));
    assert_int_equal(result.added, 0);
    assert_int_equal(result.same, 179);
    stands(hand, "Linalool", "density", "0.87 g/ml", "own");
    struct pm_material card;
    hand_ok(hand, pm_shelf_card(hand->studio, hand_material(hand, "Linalool"), &card, &hand->err));
    assert_string_equal(card.family, "my own");
    assert_string_equal(card.note, "mine");
    pm_material_release(&card);
    set_fact(hand, "Linalool", "density", "");
    stands(hand, "Linalool", "density", "0.863 g/ml", "checked");
    sound(hand);
}

/* Makes the library one of an earlier starter set: another shipped value, one that is no longer
 * shipped, another constituent, and the mark of another edition. */
static void make_earlier(struct hand *hand)
{
    struct pm_library *library;
    int64_t linalool, myrcenol, lavender;
    const struct pm_fact density = {.property = "density",
                                    .origin = PM_STARTER,
                                    .is_number = true,
                                    .value = 800000000,
                                    .source = "earlier"};
    const struct pm_fact gone = {.property = "vapour_pressure_basis",
                                 .origin = PM_STARTER,
                                 .words = "earlier",
                                 .source = "earlier"};
    const struct pm_constituent constituent = {.origin = PM_STARTER,
                                               .name = "earlier",
                                               .least = -1,
                                               .typical = -1,
                                               .most = -1,
                                               .source = "earlier"};
    pm_studio_close(hand->studio);
    hand->studio = NULL;
    hand_ok(hand, pm_library_open(hand->path, 0, &hand->clock, NULL, &library, &hand->err));
    hand_ok(hand, pm_starter_find(library, "Linalool", &linalool, &hand->err));
    hand_ok(hand, pm_starter_find(library, "Dihydromyrcenol", &myrcenol, &hand->err));
    hand_ok(hand, pm_starter_find(library, "Lavender oil", &lavender, &hand->err));
    hand_ok(hand, pm_fact_put(library, linalool, &density, &hand->err));
    hand_ok(hand, pm_starter_clear(library, myrcenol, &hand->err));
    hand_ok(hand, pm_fact_put(library, myrcenol, &gone, &hand->err));
    hand_ok(hand, pm_constituents_put(library, lavender, PM_STARTER, &constituent, 1, &hand->err));
    hand_ok(hand, pm_setting_put(library, "starter.edition", "earlier", &hand->err));
    pm_library_close(library);
    hand_reopen(hand);
}

/* A newer program opens it: shipped values follow, predicted ones are called so, and what is the
 * person's own stays, a new name as well. */
static void earlier_libraries_follow_the_starter_set(void **state)
{
    struct hand *hand = *state;
    struct pm_import_result result;
    static const char *const names[] = {"Linalool", "Dihydromyrcenol", "Lavender oil"};
    hand_ok(hand, pm_shelf_import_named(hand->studio, names, 3, &result, &hand->err));
    set_fact(hand, "Dihydromyrcenol", "density", "0.9");
    set_fact(hand, "Linalool", "rating", "4");
    hand_ok(hand,
            pm_shelf_edit(hand->studio, hand_material(hand, "Linalool"),
                          (const char *const[PM_MATERIAL_ATTRIBUTES]){
                              [PM_MATERIAL_NAME] = "My linalool", [PM_MATERIAL_NOTE] = "mine"},
                          &hand->err));
    make_earlier(hand);
    stands(hand, "My linalool", "density", "0.863 g/ml", "checked");
    stands(hand, "My linalool", "rating", "4", "own");
    stands(hand, "Dihydromyrcenol", "density", "0.9 g/ml", "own");
    stands(hand, "Dihydromyrcenol", "vapour_pressure", "22.1 Pa", "predicted");
    stands(hand, "Dihydromyrcenol", "vapour_pressure_least", "7.37 Pa", "predicted");
    stands(hand, "Dihydromyrcenol", "vapour_pressure_basis", "predicted", "predicted");
    struct pm_constituents holds;
    hand_ok(hand, pm_shelf_constituents(hand->studio, hand_material(hand, "Lavender oil"), &holds,
                                        &hand->err));
    assert_true(holds.count > 3);
    pm_list_release(&holds);
    struct pm_shelf_entries events;
    hand_ok(hand, pm_shelf_history(hand->studio, 1, &events, &hand->err));
    assert_non_null(strstr(events.items[0].sentence, "newer starter set"));
    pm_list_release(&events);
    /* Only once, and undo still takes back what the person did last: the new name. */
    char *before = whole(hand);
    hand_reopen(hand);
    char *after = whole(hand);
    assert_string_equal(before, after);
    pm_free(before);
    pm_free(after);
    hand_ok(hand, pm_shelf_undo(hand->studio, NULL, &hand->err));
    stands(hand, "Linalool", "density", "0.863 g/ml", "checked");
    sound(hand);
}

static void cautions_are_shown_and_unknown_stays_unknown(void **state)
{
    struct hand *hand = *state;
    struct pm_import_result result;
    struct pm_cautions cautions;
    hand_ok(hand, pm_shelf_import_starter(hand->studio, &result, &hand->err));
    hand_ok(hand, pm_shelf_cautions(hand->studio, hand_material(hand, "Bergamot oil"), &cautions,
                                    &hand->err));
    assert_string_equal(cautions.items[0].topic, "phototoxic");
    assert_true(cautions.items[0].known);
    pm_cautions_release(&cautions);
    hand_ok(hand, pm_shelf_cautions(hand->studio, hand_material(hand, "Home-made thing"), &cautions,
                                    &hand->err));
    assert_int_equal(cautions.count, 3);
    assert_false(cautions.items[0].known);
    assert_non_null(strstr(cautions.items[0].sentence, "unknown, not safe"));
    assert_false(cautions.items[1].known); /* flash point */
    assert_non_null(strstr(cautions.items[2].sentence, "assessor"));
    pm_cautions_release(&cautions);
}

/* ---- merging ---- */

static void formulas_follow_a_merge_and_kept_trials_stay(void **state)
{
    struct hand *hand = *state;
    hand_material(hand, "Cedrol");
    hand_material(hand, "Cedar camphor");
    add_bottle(hand, "Cedar camphor");
    set_fact(hand, "Cedar camphor", "rating", "4");
    int64_t formula = hand_formula(hand, "Quay", 100);
    hand_add(hand, formula, "Cedar camphor", 60);
    hand_add(hand, formula, "Cedrol", 40);
    hand_keep(hand, formula, NULL);
    hand_ok(hand, pm_shelf_merge(hand->studio, hand_material(hand, "Cedar camphor"),
                                 hand_material(hand, "Cedrol"), &hand->err));
    for (int round = 0; round < 2; round++) {
        struct pm_sheet *sheet;
        struct pm_flat_sheet flat;
        hand_ok(hand, pm_sheet_open(hand->studio, hand_trial(hand, "Quay/1"), &sheet, &hand->err));
        assert_string_equal(sheet->lines[0].name, "Cedrol");
        hand_ok(hand, pm_sheet_flatten(hand->studio, sheet, &flat, &hand->err));
        assert_int_equal(flat.count, 1);
        pm_flat_sheet_release(&flat);
        pm_sheet_free(sheet);
        hand_reopen(hand);
    }
    /* The draft says in its own history what happened; the old name still finds it. */
    struct pm_revision_entries all;
    hand_ok(hand, pm_history_list(hand->studio, formula, 0, NULL, &all, &hand->err));
    assert_non_null(strstr(all.items[all.count - 1].row.sentence, "turned out to be Cedrol"));
    pm_list_release(&all);
    int64_t id = 0;
    hand_ok(hand, pm_shelf_find(hand->studio, "cedar camphor", &id, &hand->err));
    assert_int_equal(id, hand_material(hand, "Cedrol"));
    stands(hand, "Cedrol", "rating", "4", "own");
    struct pm_bottle card;
    hand_ok(hand, pm_bottle_show(hand->studio, 1, &hand->arena, &card, &hand->err));
    assert_string_equal(card.name, "Cedrol");
    sound(hand); /* checksums of the kept trial too */
    hand_refused(hand, pm_shelf_merge(hand->studio, id, id, &hand->err), PM_REFUSED, "already");
    hand_ok(hand, pm_shelf_undo(hand->studio, NULL, &hand->err));
    struct pm_sheet *sheet;
    hand_ok(hand, pm_sheet_open(hand->studio, hand_trial(hand, "Quay/1"), &sheet, &hand->err));
    assert_string_equal(sheet->lines[0].name, "Cedar camphor");
    pm_sheet_free(sheet);
    sound(hand);
}

/* An own value stands over a shipped one also when it comes from the other material. */
static void what_was_noted_of_either_stays_after_a_merge(void **state)
{
    struct hand *hand = *state;
    struct pm_import_result result;
    struct pm_material card;
    static const char *const names[] = {"Linalool"};
    hand_ok(hand, pm_shelf_import_named(hand->studio, names, 1, &result, &hand->err));
    int64_t linalool = hand_material(hand, "Linalool"), mine = hand_material(hand, "Linalol mine");
    set_fact(hand, "Linalol mine", "density", "0.87");
    set_fact(hand, "Linalol mine", "descriptors", "wet wood");
    set_fact(hand, "Linalol mine", "rating", "2");
    set_fact(hand, "Linalool", "rating", "4");
    hand_ok(hand,
            pm_shelf_edit(hand->studio, linalool,
                          (const char *const[PM_MATERIAL_ATTRIBUTES]){[PM_MATERIAL_NOTE] = "one"},
                          &hand->err));
    hand_ok(hand,
            pm_shelf_edit(hand->studio, mine,
                          (const char *const[PM_MATERIAL_ATTRIBUTES]){[PM_MATERIAL_NOTE] = "two"},
                          &hand->err));
    hand_ok(hand, pm_shelf_merge(hand->studio, mine, linalool, &hand->err));
    stands(hand, "Linalool", "density", "0.87 g/ml", "own");
    stands(hand, "Linalool", "descriptors", "wet wood", "own");
    stands(hand, "Linalool", "rating", "4", "own");
    hand_ok(hand, pm_shelf_card(hand->studio, linalool, &card, &hand->err));
    assert_string_equal(card.note, "one\ntwo");
    pm_material_release(&card);
    hand_ok(hand, pm_shelf_undo(hand->studio, NULL, &hand->err));
    stands(hand, "Linalool", "density", "0.863 g/ml", "checked");
    sound(hand);
}

/* What the first line of the formula's draft is. */
static void first_line_is(struct hand *hand, const char *formula, const char *name)
{
    struct pm_sheet *sheet;
    hand_ok(hand, pm_sheet_open(hand->studio, hand_trial(hand, formula), &sheet, &hand->err));
    assert_string_equal(sheet->lines[0].name, name);
    pm_sheet_free(sheet);
}

static void drafts_go_back_with_a_merge_unless_they_went_on(void **state)
{
    struct hand *hand = *state;
    const int64_t cedrol = hand_material(hand, "Cedrol");
    const int64_t camphor = hand_material(hand, "Cedar camphor");
    const int64_t quay = hand_formula(hand, "Quay", 100), pier = hand_formula(hand, "Pier", 100);
    char *sentence = NULL;
    hand_add(hand, quay, "Cedar camphor", 60);
    hand_add(hand, pier, "Cedar camphor", 50);
    hand_ok(hand, pm_shelf_merge(hand->studio, camphor, cedrol, &hand->err));
    first_line_is(hand, "Quay", "Cedrol");
    hand_ok(hand, pm_shelf_undo(hand->studio, NULL, &hand->err));
    hand_reopen(hand);
    first_line_is(hand, "Quay", "Cedar camphor");
    first_line_is(hand, "Pier", "Cedar camphor");
    hand_ok(hand, pm_shelf_redo(hand->studio, NULL, &hand->err));
    first_line_is(hand, "Quay", "Cedrol");
    sound(hand);
    /* One that was edited since stays, and the sentence names it alone. */
    hand_add(hand, pier, "Cedrol", 10);
    hand_ok(hand, pm_shelf_undo(hand->studio, &sentence, &hand->err));
    first_line_is(hand, "Quay", "Cedar camphor");
    first_line_is(hand, "Pier", "Cedrol");
    assert_non_null(strstr(sentence, "left as it is: the draft of Pier"));
    pm_free(sentence);
    sound(hand);
}

/* ---- the list ---- */

static size_t count_rows(struct hand *hand, struct pm_shelf_filter filter)
{
    struct pm_shelf_rows_found rows;
    filter.limit = filter.limit != 0 ? filter.limit : 100;
    hand_ok(hand, pm_shelf_list(hand->studio, &filter, &rows, &hand->err));
    size_t count = rows.count;
    pm_list_release(&rows);
    return count;
}

static void the_list_is_filtered(void **state)
{
    struct hand *hand = *state;
    const char *const past[PM_BOTTLE_ATTRIBUTES] = {[PM_BOTTLE_BEST_BEFORE] = "2001-01-01"};
    static const char *const names[] = {"Cedrol", "Cedar oil", "Linalool", "Vetiver"};
    for (size_t i = 0; i < 4; i++)
        hand_material(hand, names[i]);
    add_bottle(hand, "Cedrol");
    hand_ok(hand, pm_bottle_add(hand->studio, hand_material(hand, "Vetiver"), PM_GRAM, past, 0,
                                NULL, &hand->err));
    hand_ok(hand, pm_shelf_edit(
                      hand->studio, hand_material(hand, "Cedrol"),
                      (const char *const[PM_MATERIAL_ATTRIBUTES]){[PM_MATERIAL_FAMILY] = "woods"},
                      &hand->err));
    set_fact(hand, "Linalool", "low", "2");
    set_fact(hand, "Cedrol", "low", "5"); /* 5 g are there: not below */
    set_fact(hand, "Cedrol", "maximum", "30");
    int64_t formula = hand_formula(hand, "Quay", 100);
    hand_add(hand, formula, "Cedrol", 40);
    hand_add(hand, formula, "Linalool", 60);
    assert_int_equal(count_rows(hand, (struct pm_shelf_filter){.text = NULL}), 4);
    assert_int_equal(count_rows(hand, (struct pm_shelf_filter){.limit = 2}), 2);
    assert_int_equal(count_rows(hand, (struct pm_shelf_filter){.have = true}), 2);
    assert_int_equal(count_rows(hand, (struct pm_shelf_filter){.have = true, .text = "ced"}), 1);
    assert_int_equal(count_rows(hand, (struct pm_shelf_filter){.low = true}), 1);
    assert_int_equal(count_rows(hand, (struct pm_shelf_filter){.old = true}), 1);
    assert_int_equal(count_rows(hand, (struct pm_shelf_filter){.over = true}), 1);
    assert_int_equal(count_rows(hand, (struct pm_shelf_filter){.family = "woods"}), 1);
    assert_int_equal(count_rows(hand, (struct pm_shelf_filter){.family = "W\xc3\xb4ods"}), 1);
    assert_int_equal(count_rows(hand, (struct pm_shelf_filter){.family = "wood"}), 0);
    assert_int_equal(count_rows(hand, (struct pm_shelf_filter){.family = "woods", .low = true}), 0);
    set_fact(hand, "Cedrol", "maximum", "40"); /* may be reached */
    assert_int_equal(count_rows(hand, (struct pm_shelf_filter){.over = true}), 0);
}

/* ---- tables ---- */

static void refuse_table(struct hand *hand, const char *table, const char *piece)
{
    struct pm_import_result result;
    char *before = whole(hand);
    enum pm_status status =
        pm_shelf_import(hand->studio, table, strlen(table), &result, &hand->err);
    char *after = whole(hand);
    assert_true(status == PM_INVALID || status == PM_MISSING || status == PM_REFUSED ||
                status == PM_EXISTS || status == PM_NEWER);
    if (strstr(hand->err.text, piece) == NULL)
        fail_msg("\"%s\" is not in \"%s\"", piece, hand->err.text);
    assert_string_equal(before, after);
    pm_free(before);
    pm_free(after);
}

static void a_bad_table_is_refused_whole_with_line_and_column(void **state)
{
    struct hand *hand = *state;
    hand_material(hand, "Cedrol");
    refuse_table(hand, "name,cas\r\nAmbrette,8015-62-1\r\nVetiver,8016-96-3\r\n",
                 "Line 3, column 2 (cas)");
    refuse_table(hand, "name,density\r\nAmbrette,900\r\n", "Line 2, column 2 (density)");
    refuse_table(hand, "name,colour\r\nAmbrette,green\r\n", "column 2");
    refuse_table(hand, "# label\r\nname,kind\r\nAmbrette,plant\r\n", "Line 3, column 2 (kind)");
    refuse_table(hand, "name,kind\r\nAmbrette\r\n", "Line 2 has 1 field, the header has 2");
    refuse_table(hand, "name,note,Name\r\nAmbrette,x,Cedrol\r\n",
                 "column 3: there are two columns \"Name\"");
    refuse_table(hand, "material,received\r\nCedrol,5g\r\nNothing,5g\r\n",
                 "Line 3, column 1 (material)");
    refuse_table(hand, "material,price\r\nCedrol,5\r\n", "Line 2, column 2 (price): ");
    refuse_table(hand, "colour\r\ngreen\r\n", "no table");
    refuse_table(hand, "", "empty");
    refuse_table(hand, "name\r\n\"Ambr", "Line 2");
}

/* What is exported comes in again as it was. */
static void tables_go_out_and_in_again(void **state)
{
    struct hand *hand = *state;
    struct pm_import_result result;
    struct pm_text materials = PM_TEXT_EMPTY, bottles = PM_TEXT_EMPTY;
    static const char table[] =
        "name;kind;synonyms;low_g;rating\nEthanol;solvent;alcohol;;\nV\xc3\xa9tiver, Java;natural;"
        "khus;2,5;4\n";
    hand_ok(hand, pm_shelf_import(hand->studio, table, sizeof table - 1, &result, &hand->err));
    assert_int_equal(result.added, 2);
    const char *const form[PM_BOTTLE_ATTRIBUTES] = {[PM_BOTTLE_STRENGTH] = "9.95%",
                                                    [PM_BOTTLE_SOLVENT] = "Ethanol",
                                                    [PM_BOTTLE_PRICE] = "3.75 GBP",
                                                    [PM_BOTTLE_NOTE] = "two\nlines, \"quoted\"",
                                                    [PM_BOTTLE_BEST_BEFORE] = "2030-01-31"};
    hand_ok(hand, pm_bottle_add(hand->studio, hand_material(hand, "khus"), 12345678, form, 0, NULL,
                                &hand->err));
    hand_ok(hand, pm_shelf_export(hand->studio, "materials", &materials, &hand->err));
    hand_ok(hand, pm_shelf_export(hand->studio, "bottles", &bottles, &hand->err));
    char *before = whole(hand);
    hand_teardown(state);
    hand_setup(state);
    hand = *state;
    hand_ok(hand, pm_shelf_import(hand->studio, pm_text_get(&materials), materials.length, &result,
                                  &hand->err));
    hand_ok(hand, pm_shelf_import(hand->studio, pm_text_get(&bottles), bottles.length, &result,
                                  &hand->err));
    char *after = whole(hand);
    assert_string_equal(before, after);
    pm_free(before);
    pm_free(after);
    pm_text_release(&materials);
    pm_text_release(&bottles);
}

static void read_table(struct hand *hand, const char *text, const char *counts)
{
    struct pm_import_result result;
    char buf[64];
    hand_ok(hand, pm_shelf_import(hand->studio, text, strlen(text), &result, &hand->err));
    snprintf(buf, sizeof buf, "%lld %lld %lld", (long long)result.added, (long long)result.updated,
             (long long)result.same);
    assert_string_equal(buf, counts);
}

/* Past the program, as a failing disk or another program would. */
static void write_past(struct hand *hand, const char *sql)
{
    sqlite3 *db;
    assert_int_equal(sqlite3_open(hand->path, &db), SQLITE_OK);
    if (sqlite3_exec(db, sql, NULL, NULL, NULL) != SQLITE_OK)
        fail_msg("%s: %s", sql, sqlite3_errmsg(db));
    sqlite3_close(db);
    hand_reopen(hand);
}

/* A checksum that tells of damage goes on telling of it. */
static void undo_does_not_make_damage_sound(void **state)
{
    struct hand *hand = *state;
    read_table(hand, "name\nAmbrette\nVetiver\nHay\n", "3 0 0");
    write_past(hand, "UPDATE material SET note = 'rot' WHERE id IN (SELECT material FROM "
                     "material_name WHERE name = 'Vetiver')");
    hand_refused(hand, pm_shelf_undo(hand->studio, NULL, &hand->err), PM_DAMAGED, "stays as it is");
    assert_true(hand_on_shelf(hand, "Ambrette"));
    assert_int_equal(pm_studio_verify(hand->studio, NULL, NULL, &hand->err), PM_DAMAGED);
}

static void no_number_follows_the_largest(void **state)
{
    struct hand *hand = *state;
    struct pm_import_result result;
    static const char table[] = "name\nAmbrette\n";
    write_past(hand, "INSERT INTO material (id, kind, set_aside, made_at, checksum) VALUES "
                     "(9223372036854775807, 'natural', 0, 0, 0)");
    hand_refused(hand, pm_shelf_import(hand->studio, table, strlen(table), &result, &hand->err),
                 PM_DAMAGED, "largest number");
    assert_false(hand_on_shelf(hand, "Ambrette"));
}

/* All of what tables brought, back and again; what was there already is as it was. */
static void tables_are_taken_back(void **state)
{
    struct hand *hand = *state;
    char *sentence = NULL;
    const int64_t cedrol = hand_material(hand, "Cedrol");
    set_fact(hand, "Cedrol", "density", "0.9");
    read_table(hand, "name,family,density\nAmbrette,seed,0.92\nCedrol,wood,0.95\nVetiver,root,\n",
               "2 1 0");
    stands(hand, "Cedrol", "density", "0.95 g/ml", "own");
    stands(hand, "Ambrette", "density", "0.92 g/ml", "own");
    read_table(hand, "name,family,density\nAmbrette,seed,0.92\nCedrol,wood,0.95\nVetiver,,\n",
               "0 0 3");
    read_table(hand, "material,received\nAmbrette,5 g\n", "1 0 0");
    hand_ok(hand, pm_shelf_undo(hand->studio, &sentence, &hand->err));
    assert_string_equal(sentence, "Read a table of 1 bottle");
    pm_free(sentence);
    hand_ok(hand, pm_shelf_undo(hand->studio, &sentence, &hand->err));
    assert_string_equal(sentence, "Read a table of 3 materials"); /* what changed nothing is none */
    pm_free(sentence);
    assert_false(hand_on_shelf(hand, "Ambrette"));
    assert_false(hand_on_shelf(hand, "Vetiver"));
    assert_true(hand_on_shelf(hand, "Cedrol"));
    stands(hand, "Cedrol", "density", "0.9 g/ml", "own");
    sound(hand);
    hand_reopen(hand);
    hand_ok(hand, pm_shelf_redo(hand->studio, NULL, &hand->err));
    hand_ok(hand, pm_shelf_redo(hand->studio, NULL, &hand->err));
    stands(hand, "Cedrol", "density", "0.95 g/ml", "own");
    stands(hand, "Ambrette", "density", "0.92 g/ml", "own");
    assert_int_equal(hand_material(hand, "Cedrol"), cedrol);
    /* Out of sight the names are kept, and the table brings them back. */
    hand_ok(hand, pm_shelf_undo(hand->studio, NULL, &hand->err));
    hand_ok(hand, pm_shelf_undo(hand->studio, NULL, &hand->err));
    read_table(hand, "name,family,density\nAmbrette,seed,0.92\n", "0 1 0");
    stands(hand, "Ambrette", "density", "0.92 g/ml", "own");
    assert_true(hand_on_shelf(hand, "Ambrette"));
    assert_false(hand_on_shelf(hand, "Vetiver"));
    sound(hand);
}

/* A ledger, row for row, is corrected row for row. */
static void a_ledger_is_taken_back(void **state)
{
    struct hand *hand = *state;
    add_bottle(hand, "Cedrol");
    char *before = whole(hand);
    read_table(
        hand,
        "movement,at,bottle,kind,mass_g,found_g,corrects\n1,2026-01-02 10:00,B001,received,9,,\n"
        "2,2026-01-03 10:00,B001,poured,-3,,\n3,2026-01-04 10:00,B001,corrected,1,,2\n",
        "3 0 0");
    hand_ok(hand, pm_shelf_undo(hand->studio, NULL, &hand->err));
    char *after = whole(hand);
    assert_string_equal(before, after);
    sound(hand);
    hand_ok(hand, pm_shelf_redo(hand->studio, NULL, &hand->err));
    sound(hand);
    pm_free(before);
    pm_free(after);
}

static void try_rows(struct hand *hand, const char *text, enum pm_status expected, size_t fault,
                     const char *rows)
{
    struct pm_import_rows tried;
    struct pm_text said = PM_TEXT_EMPTY;
    static const char *const words[] = {"new", "changed", "same"};
    char *before = whole(hand);
    assert_int_equal(pm_shelf_import_try(hand->studio, text, strlen(text), &tried, &hand->err),
                     expected);
    assert_int_equal(tried.fault, fault);
    for (size_t i = 0; i < tried.count; i++)
        pm_text_addf(&said, "%s|%s|%s%s%s\n", tried.items[i].what, tried.items[i].name,
                     words[tried.items[i].outcome], tried.items[i].changes != NULL ? "|" : "",
                     tried.items[i].changes != NULL ? tried.items[i].changes : "");
    assert_string_equal(pm_text_get(&said), rows);
    pm_text_release(&said);
    pm_list_release(&tried);
    char *after = whole(hand);
    assert_string_equal(before, after);
    pm_free(before);
    pm_free(after);
}

/* Nothing is written, and each row says what would become of it. */
static void tables_are_tried(void **state)
{
    struct hand *hand = *state;
    hand_material(hand, "Cedrol");
    set_fact(hand, "Cedrol", "density", "0.9");
    try_rows(hand, "name,family,density,note\nAmbrette,seed,,\nCedrol,wood,0.95,dry\ncedrol,,,\n",
             PM_OK, SIZE_MAX,
             "materials|Ambrette|new\nmaterials|Cedrol|changed|family, note, density\n"
             "materials|Cedrol|changed|name\n");
    try_rows(hand, "name,kind\nAmbrette,\nVetiver,plant\nMoss,\n", PM_INVALID, 1,
             "materials|Ambrette|new\n");
    try_rows(hand, "material,made_from\nCedrol,\nCedrol,B009\n", PM_MISSING, 1,
             "bottles|B001|new\nbottles|B002|new\n");
    try_rows(hand,
             "{\"materials\":[{\"name\":\"Fog\",\"density\":0.9}],\"bottles\":[{\"material\":"
             "\"Fog\",\"received\":\"3 g\"}]}",
             PM_OK, SIZE_MAX, "materials|Fog|new\nbottles|B001|new\n");
    try_rows(hand, "{\"materials\":[{\"name\":\"Fog\"}],\"bottles\":[{\"material\":\"Mist\"}]}",
             PM_MISSING, 1, "materials|Fog|new\n");
    assert_string_equal(
        hand->err.text,
        "Row 1 of the bottles, column 1 (material): There is no material \"Mist\".");
    sound(hand);
}

/* The shelf as a JSON document, there and back. */
static void a_document_of_the_shelf_comes_in_again(void **state)
{
    struct hand *hand = *state;
    struct pm_text document = PM_TEXT_EMPTY;
    struct pm_import_result result;
    add_bottle(hand, "Cedrol");
    set_fact(hand, "Cedrol", "density", "0.9");
    hand_ok(hand, pm_shelf_paper(hand->studio, "shelf", PM_PAPER_JSON, '.', &document, &hand->err));
    char *before = whole(hand);
    hand_teardown(state);
    hand_setup(state);
    hand = *state;
    assert_int_equal(pm_source_of(pm_text_get(&document), document.length), PM_SOURCE_TABLE);
    hand_ok(hand, pm_shelf_import(hand->studio, pm_text_get(&document), document.length, &result,
                                  &hand->err));
    char *after = whole(hand);
    assert_string_equal(before, after);
    sound(hand);
    pm_free(before);
    pm_free(after);
    pm_text_release(&document);
    refuse_table(hand, "{\"permille\":{\"document\":\"shelf\",\"version\":2},\"materials\":[]}",
                 "newer version");
    refuse_table(hand, "{\"permille\":{\"document\":\"formulas\",\"version\":1}}", "\"formulas\"");
    refuse_table(hand, "{\"permille\":{\"document\":\"shelf\"},\"materials\":[]}", "understood");
    refuse_table(hand, "{\"materials\":[{\"name\":\"A\"}],\"vials\":[]}", "no \"vials\"");
    refuse_table(hand, "{\"materials\":[{\"name\":[]}]}", "Row 1 of the materials: \"name\"");
    refuse_table(hand, "{\"materials\":[3]}", "Row 1 of the materials is no object");
    refuse_table(hand, "{\"materials\":{}}", "no list");
    refuse_table(hand, "{\"materials\":[]}", "no row");
    refuse_table(hand, "{\"materials\":[}", "Line 1, column");
}

/* ---- lost memory ---- */

enum { CEDROL = 1, CAMPHOR = 2 }; /* ids, which need no memory to look up */

static enum pm_status do_merge(struct hand *hand)
{
    return pm_shelf_merge(hand->studio, CAMPHOR, CEDROL, &hand->err);
}

static enum pm_status do_table(struct hand *hand)
{
    static const char table[] = "material,received,price\r\nCedrol,5g,3 EUR\r\nCedrol,2g,\r\n";
    struct pm_import_result result;
    return pm_shelf_import(hand->studio, table, sizeof table - 1, &result, &hand->err);
}

static enum pm_status do_starter(struct hand *hand)
{
    static const char *const names[] = {"Lavender oil"};
    struct pm_import_result result;
    return pm_shelf_import_named(hand->studio, names, 1, &result, &hand->err);
}

static enum pm_status do_constituent(struct hand *hand)
{
    return pm_shelf_set_constituent(
        hand->studio, CEDROL,
        (const char *const[PM_CONSTITUENT_ATTRIBUTES]){[PM_CONSTITUENT_NAME] = "cedrene",
                                                       [PM_CONSTITUENT_LEAST] = "1",
                                                       [PM_CONSTITUENT_MOST] = "2",
                                                       [PM_CONSTITUENT_SOURCE] = "my own"},
        &hand->err);
}

static enum pm_status do_undo(struct hand *hand)
{
    return pm_shelf_undo(hand->studio, NULL, &hand->err);
}

static enum pm_status do_questions(struct hand *hand)
{
    const struct pm_shelf_filter filter = {.have = true, .limit = 10};
    const struct pm_cost_wish wish = {.batch = PM_GRAM};
    struct pm_shelf_rows_found rows;
    struct pm_cautions cautions;
    struct pm_possibles possible;
    struct pm_offers offers;
    struct pm_shopping shopping;
    struct pm_sheet *sheet;
    struct pm_cost cost;
    enum pm_status status = pm_shelf_list(hand->studio, &filter, &rows, &hand->err);
    if (status != PM_OK)
        return status;
    pm_list_release(&rows);
    status = pm_shelf_cautions(hand->studio, CEDROL, &cautions, &hand->err);
    if (status != PM_OK)
        return status;
    pm_cautions_release(&cautions);
    status = pm_stock_possible(hand->studio, PM_GRAM, &possible, &hand->err);
    if (status != PM_OK)
        return status;
    pm_possibles_release(&possible);
    status = pm_stock_offers(hand->studio, CEDROL, 10, &offers, &hand->err);
    if (status != PM_OK)
        return status;
    pm_list_release(&offers);
    status = pm_stock_shopping(hand->studio, true, &shopping, &hand->err);
    if (status != PM_OK)
        return status;
    pm_shopping_release(&shopping);
    status = pm_sheet_open_draft(hand->studio, 1, &sheet, &hand->err);
    if (status != PM_OK)
        return status;
    status = pm_stock_cost(hand->studio, sheet, &wish, &cost, &hand->err);
    pm_sheet_free(sheet);
    if (status == PM_OK)
        pm_cost_release(&cost);
    return status;
}

/* Whatever request fails: the shelf is as it was, and the same works in the end. */
static void lost_memory_changes_nothing(void **state)
{
    static enum pm_status (*const deeds[])(struct hand *) = {
        do_table, do_constituent, do_merge, do_undo, do_starter, do_questions};
    struct hand *hand = *state;
    hand_material(hand, "Cedrol");
    hand_material(hand, "Cedar camphor");
    add_bottle(hand, "Cedar camphor");
    int64_t formula = hand_formula(hand, "Quay", 100);
    hand_add(hand, formula, "Cedar camphor", 100);
    hand_keep(hand, formula, NULL);
    hand_plan(hand, "Quay/1", "90 g", NULL, NULL);
    for (size_t i = 0; i < sizeof deeds / sizeof deeds[0]; i++) {
        char *before = whole(hand);
        for (long n = 1;; n++) {
            pm_mem_fail_at(n, false);
            enum pm_status status = deeds[i](hand);
            bool met = pm_mem_fail_at(0, false) >= n;
            if (status == PM_OK || !met) {
                hand_ok(hand, status);
                break;
            }
            assert_int_equal(status, PM_NOMEM);
            char *after = whole(hand);
            assert_string_equal(before, after);
            pm_free(after);
        }
        pm_free(before);
    }
    sound(hand);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, hand_setup, hand_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(every_edit_can_be_undone_and_done_again),
        TEST(a_removed_material_comes_back_whole),
        TEST(undo_does_not_empty_a_bottle_below_zero),
        TEST(own_values_stand_over_shipped_ones),
        TEST(earlier_libraries_follow_the_starter_set),
        TEST(cautions_are_shown_and_unknown_stays_unknown),
        TEST(formulas_follow_a_merge_and_kept_trials_stay),
        TEST(what_was_noted_of_either_stays_after_a_merge),
        TEST(drafts_go_back_with_a_merge_unless_they_went_on),
        TEST(the_list_is_filtered),
        TEST(a_bad_table_is_refused_whole_with_line_and_column),
        TEST(tables_go_out_and_in_again),
        TEST(tables_are_taken_back),
        TEST(undo_does_not_make_damage_sound),
        TEST(no_number_follows_the_largest),
        TEST(a_ledger_is_taken_back),
        TEST(tables_are_tried),
        TEST(a_document_of_the_shelf_comes_in_again),
        TEST(lost_memory_changes_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
