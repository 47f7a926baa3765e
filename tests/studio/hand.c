/* SPDX-License-Identifier: MIT */
/* What the studio tests do and look at; see hand.h. */
#include "tests/studio/hand.h"

#include "permille/base/amount.h"
#include "permille/core/trial.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

static int64_t hand_now(void *context)
{
    const struct hand *hand = context;
    return hand->time;
}

static struct pm_studio *open_one(struct hand *hand, bool create)
{
    struct pm_studio_options options = {.create = create, .clock = &hand->clock};
    struct pm_studio *studio;
    hand_ok(hand, pm_studio_open(hand->path, &options, &studio, &hand->err));
    return studio;
}

int hand_setup(void **state)
{
    struct hand *hand = calloc(1, sizeof *hand);
    if (hand == NULL)
        return -1;
    snprintf(hand->folder, sizeof hand->folder, "/tmp/permille-studio-XXXXXX");
    if (mkdtemp(hand->folder) == NULL)
        return -1;
    snprintf(hand->path, sizeof hand->path, "%s/library.db", hand->folder);
    hand->time = INT64_C(1772460000); /* 2 March 2026, 14:00 UTC */
    hand->clock = (struct pm_clock){hand_now, hand};
    hand->studio = open_one(hand, true);
    *state = hand;
    return 0;
}

int hand_teardown(void **state)
{
    struct hand *hand = *state;
    char journal[sizeof hand->path + 16];
    pm_arena_release(&hand->arena);
    pm_studio_close(hand->studio);
    unlink(hand->path);
    snprintf(journal, sizeof journal, "%s-journal", hand->path);
    unlink(journal);
    int left = rmdir(hand->folder);
    free(hand);
    return left;
}

void hand_reopen(struct hand *hand)
{
    pm_studio_close(hand->studio);
    hand->studio = NULL;
    hand->studio = open_one(hand, false);
}

void hand_plan(struct hand *hand, const char *trial, const char *mass, const char *note,
               int64_t *id)
{
    const char *const values[PM_BATCH_ATTRIBUTES] = {
        [PM_BATCH_OF_TRIAL] = trial, [PM_BATCH_OF_MASS] = mass, [PM_BATCH_OF_NOTE] = note};
    hand_ok(hand, pm_batch_plan(hand->studio, values, id, &hand->err));
}

struct pm_studio *hand_second(struct hand *hand)
{
    return open_one(hand, false);
}

void hand_ok(const struct hand *hand, enum pm_status status)
{
    if (status != PM_OK)
        fail_msg("%s: %s", pm_status_word(status), hand->err.text);
}

void hand_refused(const struct hand *hand, enum pm_status got, enum pm_status wanted,
                  const char *piece)
{
    if (got != wanted)
        fail_msg("expected %s, got %s: %s", pm_status_word(wanted), pm_status_word(got),
                 got == PM_OK ? "" : hand->err.text);
    if (strstr(hand->err.text, piece) == NULL)
        fail_msg("\"%s\" does not say \"%s\"", hand->err.text, piece);
}

pm_parts parts_of(double parts)
{
    return (pm_parts)(parts * (double)PM_PART + 0.5);
}

uint64_t hand_random(uint64_t *state)
{
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    return *state;
}

static int64_t material_of_kind(struct hand *hand, const char *name, const char *kind)
{
    int64_t id;
    if (pm_shelf_find(hand->studio, name, &id, NULL) == PM_OK)
        return id;
    const char *form[PM_MATERIAL_ATTRIBUTES] = {
        [PM_MATERIAL_NAME] = name, [PM_MATERIAL_KIND] = kind};
    hand_ok(hand, pm_shelf_add(hand->studio, form, &id, &hand->err));
    return id;
}

int64_t hand_material(struct hand *hand, const char *name)
{
    return material_of_kind(hand, name, "chemical");
}

bool hand_on_shelf(struct hand *hand, const char *name)
{
    struct pm_material_entries found;
    hand_ok(hand, pm_shelf_search(hand->studio, name, 5, false, &found, &hand->err));
    const bool there = found.count > 0;
    pm_list_release(&found);
    return there;
}

int64_t hand_solvent(struct hand *hand, const char *name)
{
    return material_of_kind(hand, name, "solvent");
}

int64_t hand_formula(struct hand *hand, const char *name, double base)
{
    int64_t id;
    hand_ok(hand,
            pm_formula_new(hand->studio, name, false, parts_of(base), PM_SHARE, &id, &hand->err));
    return id;
}

struct pm_sheet *hand_draft(struct hand *hand, int64_t formula)
{
    struct pm_sheet *sheet;
    hand_ok(hand, pm_sheet_open_draft(hand->studio, formula, &sheet, &hand->err));
    hand_check(sheet);
    return sheet;
}

int64_t hand_line(struct hand *hand, const struct pm_sheet *sheet, const char *name)
{
    int64_t line;
    hand_ok(hand, pm_sheet_find_line(sheet, name, &line, &hand->err));
    return line;
}

pm_parts hand_parts(struct hand *hand, int64_t formula, const char *line)
{
    struct pm_sheet *sheet = hand_draft(hand, formula);
    int64_t id = hand_line(hand, sheet, line);
    pm_parts parts = sheet->trial.lines[pm_trial_find(&sheet->trial, id)].parts;
    pm_sheet_free(sheet);
    return parts;
}

enum pm_status hand_try(struct hand *hand, int64_t formula, const struct pm_gesture *gesture)
{
    struct pm_sheet *sheet = hand_draft(hand, formula), *after = NULL;
    struct pm_plan *plan;
    enum pm_status status = pm_plan_gesture(hand->studio, sheet, gesture, &plan, &hand->err);
    if (status == PM_OK) {
        hand_check(pm_plan_sheet(plan));
        assert_true(pm_plan_sentence(plan)[0] != '\0');
        status = pm_plan_commit(hand->studio, plan, &after, &hand->err);
        pm_plan_free(plan);
    }
    if (status == PM_OK) {
        /* What was painted from the plan is what the file holds. */
        struct pm_sheet *again = hand_draft(hand, formula);
        assert_true(pm_trial_equal(&again->trial, &after->trial));
        assert_int_equal(again->revision, after->revision);
        assert_int_equal(again->can_undo, after->can_undo);
        assert_int_equal(again->can_redo, after->can_redo);
        assert_int_equal(again->solvent_share, after->solvent_share);
        pm_sheet_free(again);
        pm_sheet_free(after);
    }
    pm_sheet_free(sheet);
    hand->time += 60;
    return status;
}

void hand_do(struct hand *hand, int64_t formula, const struct pm_gesture *gesture)
{
    hand_ok(hand, hand_try(hand, formula, gesture));
}

void hand_add(struct hand *hand, int64_t formula, const char *material, double parts)
{
    struct pm_gesture gesture = {.kind = PM_ADD, .parts = parts_of(parts), .place = SIZE_MAX};
    gesture.fresh.ref = hand_material(hand, material);
    gesture.fresh.strength = PM_NEAT;
    hand_do(hand, formula, &gesture);
}

void hand_add_held(struct hand *hand, int64_t formula, const char *material, double parts)
{
    struct pm_gesture gesture = {.kind = PM_ADD, .parts = parts_of(parts), .place = SIZE_MAX};
    gesture.fresh.ref = hand_material(hand, material);
    gesture.fresh.strength = PM_NEAT;
    gesture.fresh.stance = PM_HELD;
    hand_do(hand, formula, &gesture);
}

void hand_add_at(struct hand *hand, int64_t formula, const char *material, double parts,
                 const char *strength, const char *solvent)
{
    struct pm_gesture gesture = {.kind = PM_ADD, .parts = parts_of(parts), .place = SIZE_MAX};
    gesture.fresh.ref = hand_material(hand, material);
    gesture.fresh.solvent = hand_solvent(hand, solvent);
    hand_ok(hand, pm_strength_read(strength, &gesture.fresh.strength, &hand->err));
    hand_do(hand, formula, &gesture);
}

enum pm_status hand_add_accord(struct hand *hand, int64_t formula, const char *title, double parts)
{
    struct pm_gesture gesture = {.kind = PM_ADD, .parts = parts_of(parts), .place = SIZE_MAX};
    gesture.fresh.kind = PM_LINE_ACCORD;
    gesture.fresh.ref = hand_trial(hand, title);
    gesture.fresh.strength = PM_NEAT;
    return hand_try(hand, formula, &gesture);
}

void hand_set(struct hand *hand, int64_t formula, const char *line, double parts)
{
    struct pm_sheet *sheet = hand_draft(hand, formula);
    struct pm_gesture gesture = {.kind = PM_SET, .parts = parts_of(parts)};
    gesture.line = hand_line(hand, sheet, line);
    pm_sheet_free(sheet);
    hand_do(hand, formula, &gesture);
}

static void step(struct hand *hand, int64_t formula,
                 enum pm_status plan_step(struct pm_studio *, const struct pm_sheet *,
                                          struct pm_plan **, struct pm_error *))
{
    struct pm_sheet *sheet = hand_draft(hand, formula), *after;
    struct pm_plan *plan;
    hand_ok(hand, plan_step(hand->studio, sheet, &plan, &hand->err));
    hand_ok(hand, pm_plan_commit(hand->studio, plan, &after, &hand->err));
    pm_plan_free(plan);
    struct pm_sheet *again = hand_draft(hand, formula);
    assert_true(pm_trial_equal(&again->trial, &after->trial));
    assert_int_equal(again->revision, after->revision);
    assert_int_equal(again->can_undo, after->can_undo);
    assert_int_equal(again->can_redo, after->can_redo);
    pm_sheet_free(again);
    pm_sheet_free(after);
    pm_sheet_free(sheet);
    hand->time += 60;
}

void hand_undo(struct hand *hand, int64_t formula)
{
    step(hand, formula, pm_plan_undo);
}

void hand_redo(struct hand *hand, int64_t formula)
{
    step(hand, formula, pm_plan_redo);
}

int64_t hand_keep(struct hand *hand, int64_t formula, const char *note)
{
    struct pm_sheet *sheet = hand_draft(hand, formula);
    int64_t number;
    hand_ok(hand, pm_trial_keep(hand->studio, sheet, note, &number, &hand->err));
    pm_sheet_free(sheet);
    hand->time += 60;
    return number;
}

int64_t hand_trial(struct hand *hand, const char *title)
{
    int64_t trial;
    hand_ok(hand, pm_formula_find(hand->studio, title, NULL, &trial, NULL, &hand->err));
    return trial;
}

bool hand_same(const struct pm_trial *a, const struct pm_trial *b)
{
    struct pm_trial left = *a, right = *b;
    left.next_id = right.next_id = 0;
    return pm_trial_equal(&left, &right);
}

void hand_check(const struct pm_sheet *sheet)
{
    struct pm_error err;
    int64_t share = 0;
    if (pm_trial_check(&sheet->trial, &err) != PM_OK)
        fail_msg("%s", err.text);
    for (size_t i = 0; i < sheet->trial.count; i++) {
        assert_ptr_equal(sheet->lines[i].line, &sheet->trial.lines[i]);
        assert_non_null(sheet->lines[i].name);
        assert_non_null(sheet->lines[i].title);
        share += sheet->lines[i].share;
    }
    assert_int_equal(sheet->total, pm_trial_total(&sheet->trial));
    assert_int_equal(sheet->off, sheet->total - sheet->trial.base);
    if (sheet->total > 0) {
        assert_int_equal(share, INT64_C(1000000000000));
        assert_int_equal(sheet->strength + sheet->solvent_share, INT64_C(1000000000000));
    }
}
