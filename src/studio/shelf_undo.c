/* SPDX-License-Identifier: MIT */
/*
 * Undo and redo of the shelf. An entry's images are put back provided the rows are still as it left
 * them. What is never taken away: movements, which get a correction; bottles, which are set aside;
 * batches, which stand again as before. A draft is undone like any other gesture on it, unless it
 * was edited since: then it stays.
 */
#include "bottle.h"

#include "permille/core/change.h"
#include "permille/store/batches.h"
#include "permille/studio/shelf.h"

/* ---- rows ---- */

/* Bottles and batches are never deleted: undone they are set aside, given up. */
static bool stays(enum pm_shelf_rows rows)
{
    return rows == PM_ROWS_BOTTLE || rows == PM_ROWS_BATCH;
}

static enum pm_status check_current(struct pm_library *library, const struct pm_shelf_change *row,
                                    struct pm_error *err)
{
    bool current = false;
    if (row->what != PM_SHELF_IMAGES || (row->from == NULL && stays(row->rows)))
        return PM_OK; /* what was taken back stands there, out of sight */
    enum pm_status status = pm_shelf_image_current(library, row, &current, err);
    if (status == PM_OK && !current)
        status = pm_fail(err, PM_REFUSED,
                         "What it changed has been changed since in another way, so it stays.");
    return status;
}

/* The masses of the ledger go back by a correction, or come into force again by one. */
static enum pm_status correct(struct pm_library *library, const struct pm_shelf_change *row,
                              bool undo, struct pm_error *err)
{
    struct pm_movement movement = {.kind = PM_CORRECTED, .corrects = row->id};
    pm_mass mass = 0;
    enum pm_status status = pm_movement_get(library, row->id, &movement.bottle, &mass, err);
    if (status != PM_OK)
        return status;
    movement.mass = undo ? -mass : mass;
    movement.at = pm_library_now(library);
    movement.note = undo ? "undone" : "done again";
    return pm_movement_insert(library, &movement, NULL, err);
}

/* A batch stands again as before the event, or as after it. */
static enum pm_status turn_batch(struct pm_library *library, const struct pm_shelf_change *row,
                                 bool undo, struct pm_error *err)
{
    struct pm_batch_event event;
    enum pm_batch_state before;
    enum pm_status status = pm_batch_event_get(library, row->id, &event, &before, err);
    if (status != PM_OK)
        return status;
    event.kind = undo ? before : event.kind;
    event.at = pm_library_now(library);
    event.text = undo ? "undone" : "done again";
    return pm_batch_event_insert(library, &event, NULL, err);
}

/* Below zero only as far as the person had let it fall back then. */
static enum pm_status check_left(struct pm_library *library, const struct pm_shelf_change *row,
                                 bool undo, struct pm_error *err)
{
    int64_t id = 0;
    pm_mass mass = 0, level = 0;
    enum pm_status status = pm_movement_get(library, row->id, &id, &mass, err);
    struct pm_bottle bottle;
    if (status == PM_OK)
        status = pm_movement_level(library, id, row->id, undo, &level, err);
    if (status == PM_OK)
        status = pm_bottle_get(library, id, NULL, &bottle, err);
    if (status != PM_OK)
        return status;
    if (bottle.left < 0 && bottle.left < level && (undo ? mass > 0 : mass < 0)) {
        char short_by[PM_AMOUNT_TEXT];
        status = pm_fail(err, PM_REFUSED,
                         "Bottle B%03lld would be left with %s less than nothing: something was "
                         "poured from it since.",
                         (long long)id, pm_mass_format(-bottle.left, 2, '.', short_by));
    }
    return status;
}

static enum pm_status put_change(struct pm_library *library, const struct pm_shelf_changes *changes,
                                 bool undo, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < changes->count; i++)
        status = check_current(library, &changes->items[i], err);
    if (status == PM_OK)
        status = pm_shelf_images_put(library, changes, err);
    for (size_t i = 0; status == PM_OK && i < changes->count; i++)
        if (changes->items[i].what == PM_SHELF_MOVED)
            status = correct(library, &changes->items[i], undo, err);
        else if (changes->items[i].what == PM_SHELF_HAPPENED)
            status = turn_batch(library, &changes->items[i], undo, err);
        else if (changes->items[i].what == PM_SHELF_SHOWN)
            status =
                pm_shelf_show(library, changes->items[i].id, changes->items[i].last, !undo, err);
    for (size_t i = 0; status == PM_OK && i < changes->count; i++)
        if (changes->items[i].what == PM_SHELF_MOVED)
            status = check_left(library, &changes->items[i], undo, err);
    return status;
}

/* ---- drafts that follow ---- */

/* The draft stands on the revision, or on what that was made on. */
static enum pm_status step_draft(struct pm_library *library, int64_t draft,
                                 const struct pm_revision *revision, bool undo,
                                 struct pm_error *err)
{
    struct pm_trial content;
    struct pm_text sentence = PM_TEXT_EMPTY;
    if (revision->change == NULL) {
        return pm_fail(err, PM_DAMAGED, "Revision %lld has lost what it changed.",
                       (long long)revision->number);
    }
    enum pm_status status = pm_trial_load(library, draft, &content, err);
    if (status != PM_OK)
        return status;
    pm_text_addf(&sentence, "%s: %s", undo ? "Undid" : "Redid", revision->sentence);
    status = pm_text_ok(&sentence)
                 ? pm_change_apply(revision->change, undo ? PM_BACK : PM_FORTH, &content, err)
                 : pm_fail_memory(err);
    if (status == PM_OK) {
        status =
            pm_draft_move_head(library, draft, undo ? revision->id : revision->parent, &content,
                               undo ? revision->parent : revision->id, undo ? "undo" : "redo",
                               revision->id, pm_text_get(&sentence), err);
    }
    pm_text_release(&sentence);
    pm_trial_release(&content);
    return status;
}

/* Takes the draft's revision back or does it again. `stays` receives the formula's name when the
 * draft has gone on since and stays as it is. */
static enum pm_status move_draft(struct pm_library *library, const struct pm_revision *revision,
                                 bool undo, struct pm_text *stays, struct pm_error *err)
{
    struct pm_arena arena = {0};
    struct pm_formula formula;
    struct pm_trial_row row;
    enum pm_status status = pm_formula_get(library, revision->formula, &arena, &formula, err);
    if (status == PM_OK)
        status = pm_trial_row_get(library, formula.draft, NULL, &row, err);
    if (status == PM_OK) {
        if (row.head == (undo ? revision->id : revision->parent))
            status = step_draft(library, formula.draft, revision, undo, err);
        else
            pm_text_addf(stays, "%s%s", stays->length > 0 ? ", " : "", formula.name);
    }
    pm_arena_release(&arena);
    return status;
}

static enum pm_status move_drafts(struct pm_library *library,
                                  const struct pm_shelf_changes *changes, bool undo,
                                  struct pm_text *stays, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < changes->count; i++) {
        struct pm_arena arena = {0};
        struct pm_revision revision;
        if (changes->items[i].what != PM_SHELF_DRAFTED)
            continue;
        status = pm_revision_get(library, changes->items[i].id, &arena, &revision, err);
        if (status == PM_OK)
            status = move_draft(library, &revision, undo, stays, err);
        pm_arena_release(&arena);
    }
    return status;
}

/* ---- undo and redo ---- */

/* *told is what the person is told: the entry's sentence, and what stays. */
static enum pm_status put_entry(struct pm_library *library, const struct pm_shelf_entry *entry,
                                bool undo, struct pm_text *told, struct pm_error *err)
{
    struct pm_shelf_changes changes = {0};
    struct pm_text stays_too = PM_TEXT_EMPTY;
    enum pm_status status = pm_shelf_log_changes(library, entry->change, undo, &changes, err);
    if (status == PM_OK)
        status = put_change(library, &changes, undo, err);
    if (status == PM_OK)
        status = move_drafts(library, &changes, undo, &stays_too, err);
    pm_text_add(told, entry->sentence);
    if (stays_too.length > 0)
        pm_text_addf(told, ". Edited since, so left as it is: the draft of %s",
                     pm_text_get(&stays_too));
    if (status == PM_OK && !(pm_text_ok(told) && pm_text_ok(&stays_too)))
        status = pm_fail_memory(err);
    pm_text_release(&stays_too);
    pm_list_release(&changes);
    return status;
}

static enum pm_status step_once(struct pm_library *library, bool undo, struct pm_text *told,
                                struct pm_error *err)
{
    struct pm_shelf_entry entry;
    struct pm_arena arena = {0};
    struct pm_text sentence = PM_TEXT_EMPTY;
    int64_t id = 0;
    enum pm_status status =
        undo ? pm_shelf_log_head(library, &id, err) : pm_shelf_log_next(library, &id, err);
    if (status == PM_OK && id == 0)
        status = pm_fail(err, PM_REFUSED, "There is nothing on the shelf to %s.",
                         undo ? "undo" : "redo");
    if (status == PM_OK)
        status = pm_shelf_log_get(library, id, &arena, &entry, err);
    if (status == PM_OK)
        status = put_entry(library, &entry, undo, told, err);
    if (status == PM_OK) {
        pm_text_addf(&sentence, "%s: %s", undo ? "Undid" : "Redid", pm_text_get(told));
        status = pm_text_ok(&sentence) ? pm_shelf_log_step(library, id, undo ? entry.parent : id,
                                                           undo, pm_text_get(&sentence), err)
                                       : pm_fail_memory(err);
    }
    pm_text_release(&sentence);
    pm_arena_release(&arena);
    return status;
}

static enum pm_status go(struct pm_studio *studio, bool undo, char **sentence, struct pm_error *err)
{
    struct pm_text told = PM_TEXT_EMPTY;
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = step_once(studio->library, undo, &told, err);
    status = pm_change_end(studio, status, err);
    pm_studio_drop_caches(studio);
    if (status == PM_OK && sentence != NULL)
        *sentence = pm_text_take(&told);
    pm_text_release(&told);
    return status;
}

enum pm_status pm_shelf_undo(struct pm_studio *studio, char **sentence, struct pm_error *err)
{
    return go(studio, true, sentence, err);
}

enum pm_status pm_shelf_redo(struct pm_studio *studio, char **sentence, struct pm_error *err)
{
    return go(studio, false, sentence, err);
}
