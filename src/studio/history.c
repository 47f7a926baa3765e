/* SPDX-License-Identifier: MIT */
/*
 * History: the revisions as sentences, any of their states rebuilt, and one of them brought back.
 *
 * A state is rebuilt by walking stored changes through the tree of revisions from a state that is
 * known: the content of the trial row the revision belongs to, which for a draft is what it shows
 * and for a kept trial what was sealed.
 */
#include "inside.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/change.h"
#include "permille/studio/trials.h"

#include <stdio.h>
#include <string.h>

/* ---- the list ---- */

struct gather {
    struct pm_studio *studio;
    struct pm_revision_entries entries;
    size_t capacity;
    int64_t head; /* of the draft */
    char *wanted; /* folded filter; NULL for all */
    enum pm_status status;
    struct pm_trial_row *kept;
    size_t kept_count, kept_capacity;
};

static bool passes(struct gather *gather, const char *sentence)
{
    if (!gather->wanted || gather->wanted[0] == '\0')
        return true;
    char *folded = pm_fold(sentence);
    if (!folded)
        gather->status = PM_NOMEM;
    bool found = folded && strstr(folded, gather->wanted);
    pm_free(folded);
    return found;
}

static int64_t number_of(const struct gather *gather, int64_t trial)
{
    for (size_t i = 0; i < gather->kept_count; i++)
        if (gather->kept[i].id == trial)
            return gather->kept[i].number;
    return 0;
}

static bool gather_number(void *context, const struct pm_trial_row *row)
{
    struct gather *gather = context;
    void *kept = gather->kept;
    if (!pm_grow(&kept, &gather->kept_capacity, gather->kept_count + 1, sizeof *gather->kept)) {
        gather->status = PM_NOMEM;
        return false;
    }
    gather->kept = kept;
    gather->kept[gather->kept_count++] =
        (struct pm_trial_row){.id = row->id, .number = row->number};
    return true;
}

static bool gather_one(void *context, const struct pm_revision *revision)
{
    struct gather *gather = context;
    struct pm_revision_entries *entries = &gather->entries;
    if (!passes(gather, revision->sentence))
        return gather->status == PM_OK;
    void *items = entries->items;
    char *gesture = pm_strdup(revision->gesture);
    char *sentence = pm_strdup(revision->sentence);
    if (!gesture || !sentence ||
        !pm_grow(&items, &gather->capacity, entries->count + 1, sizeof *entries->items)) {
        pm_free(gesture);
        pm_free(sentence);
        gather->status = PM_NOMEM;
        return false;
    }
    entries->items = items;
    entries->items[entries->count++] =
        (struct pm_revision_entry){.id = revision->id,
                                   .number = revision->number,
                                   .at = revision->at,
                                   .trial_number = number_of(gather, revision->trial),
                                   .gesture = gesture,
                                   .sentence = sentence,
                                   .undone = revision->undone,
                                   .is_head = revision->id == gather->head};
    return true;
}

static enum pm_status gather_all(struct gather *gather, int64_t formula, int64_t number,
                                 struct pm_error *err)
{
    struct pm_library *library = gather->studio->library;
    struct pm_trial_row row;
    int64_t draft, trial = 0;
    enum pm_status status = pm_trial_by_number(library, formula, 0, &draft, err);
    if (status == PM_OK)
        status = pm_trial_row_get(library, draft, &row, err);
    if (status != PM_OK)
        return status;
    gather->head = row.head;
    pm_trial_row_release(&row);
    if (number >= 0)
        status = pm_trial_by_number(library, formula, number, &trial, err);
    if (status == PM_OK)
        status = pm_trial_list(library, formula, gather_number, gather, err);
    if (status == PM_OK && gather->status == PM_OK)
        status = pm_revision_list(library, formula, trial, gather_one, gather, err);
    if (status == PM_OK && gather->status != PM_OK)
        status = pm_fail_memory(err);
    return status;
}

enum pm_status pm_history_list(struct pm_studio *studio, int64_t formula, int64_t number,
                               const char *text, struct pm_revision_entries *out,
                               struct pm_error *err)
{
    pm_studio_refresh(studio);
    struct gather gather = {.studio = studio, .status = PM_OK};
    if (text && text[0] != '\0') {
        gather.wanted = pm_fold(text);
        if (!gather.wanted)
            return pm_fail_memory(err);
    }
    enum pm_status status = pm_library_begin_read(studio->library, err);
    if (status == PM_OK) {
        status = gather_all(&gather, formula, number, err);
        pm_library_end_read(studio->library);
    }
    pm_free(gather.wanted);
    pm_free(gather.kept);
    if (status != PM_OK) {
        pm_revision_entries_release(&gather.entries);
        return status;
    }
    *out = gather.entries;
    return PM_OK;
}

void pm_revision_entries_release(struct pm_revision_entries *entries)
{
    for (size_t i = 0; i < entries->count; i++) {
        pm_free(entries->items[i].gesture);
        pm_free(entries->items[i].sentence);
    }
    pm_free(entries->items);
    *entries = (struct pm_revision_entries){NULL, 0};
}

/* ---- walking the tree ---- */

/* One change on the way: up from the known state (BACK) or down to the wanted one (FORTH). */
struct way {
    char **changes; /* owned */
    size_t count, capacity;
};

static void way_release(struct way *way)
{
    for (size_t i = 0; i < way->count; i++)
        pm_free(way->changes[i]);
    pm_free(way->changes);
}

/* Takes over the row's change and moves *number and *id to its parent. */
static enum pm_status way_step(struct pm_studio *studio, struct way *way, int64_t *id,
                               struct pm_error *err)
{
    struct pm_revision row;
    void *changes = way->changes;
    enum pm_status status = pm_revision_get(studio->library, *id, &row, err);
    if (status != PM_OK)
        return status;
    if (!row.change || row.parent >= row.id) {
        status = pm_fail(err, PM_DAMAGED, "The history is broken at revision %lld.",
                         (long long)row.number);
    } else if (!pm_grow(&changes, &way->capacity, way->count + 1, sizeof *way->changes)) {
        status = pm_fail_memory(err);
    } else {
        way->changes = changes;
        way->changes[way->count++] = row.change;
        row.change = NULL;
        *id = row.parent;
    }
    pm_revision_release(&row);
    return status;
}

/* Changes the state at revision `from` into the one at revision `to`. A revision is made on an
 * older one, so climbing from whichever is newer meets at the nearest common one. */
static enum pm_status walk(struct pm_studio *studio, int64_t from, int64_t to,
                           struct pm_trial *trial, struct pm_error *err)
{
    struct way back = {NULL, 0, 0}, forth = {NULL, 0, 0};
    enum pm_status status = PM_OK;
    while (status == PM_OK && from != to)
        status =
            from > to ? way_step(studio, &back, &from, err) : way_step(studio, &forth, &to, err);
    for (size_t i = 0; i < back.count && status == PM_OK; i++)
        status = pm_change_apply(back.changes[i], PM_BACK, trial, err);
    for (size_t i = forth.count; i-- > 0 && status == PM_OK;)
        status = pm_change_apply(forth.changes[i], PM_FORTH, trial, err);
    way_release(&back);
    way_release(&forth);
    return status;
}

/* The gesture whose state a row shows: undo leads to what its target was made on. */
static enum pm_status state_after(struct pm_studio *studio, const struct pm_revision *revision,
                                  int64_t *head, struct pm_error *err)
{
    struct pm_revision target;
    if (revision->change) {
        *head = revision->id;
        return PM_OK;
    }
    if (revision->target == 0) { /* keep: the head stayed where it was */
        *head = revision->parent;
        return PM_OK;
    }
    if (strcmp(revision->gesture, "redo") == 0) {
        *head = revision->target;
        return PM_OK;
    }
    enum pm_status status = pm_revision_get(studio->library, revision->target, &target, err);
    if (status != PM_OK)
        return status;
    *head = target.parent;
    pm_revision_release(&target);
    return PM_OK;
}

/* Content and true head of the state right after a revision. */
static enum pm_status read_state(struct pm_studio *studio, const struct pm_revision *revision,
                                 struct pm_trial *out, struct pm_error *err)
{
    struct pm_trial_row row;
    struct pm_trial content;
    int64_t head;
    enum pm_status status = state_after(studio, revision, &head, err);
    if (status == PM_OK)
        status = pm_trial_row_get(studio->library, revision->trial, &row, err);
    if (status != PM_OK)
        return status;
    int64_t known = row.head;
    pm_trial_row_release(&row);
    status = pm_trial_load(studio->library, revision->trial, &content, err);
    if (status != PM_OK)
        return status;
    status = walk(studio, known, head, &content, err);
    if (status != PM_OK) {
        pm_trial_release(&content);
        return status;
    }
    *out = content;
    return PM_OK;
}

/* ---- one state as a sheet ---- */

static enum pm_status fill_past(struct pm_studio *studio, const struct pm_revision *revision,
                                struct pm_sheet *sheet, struct pm_error *err)
{
    struct pm_card *card;
    struct pm_trial content;
    struct pm_trial_row row;
    enum pm_status status = pm_studio_formula(studio, revision->formula, &card, err);
    if (status == PM_OK)
        status = pm_trial_row_get(studio->library, revision->trial, &row, err);
    if (status != PM_OK)
        return status;
    sheet->number = row.number;
    sheet->kept_at = row.kept_at;
    pm_trial_row_release(&row);
    sheet->formula = revision->formula;
    sheet->accord = card->accord;
    sheet->kept = card->kept;
    sheet->trial_id = revision->trial;
    sheet->revision = revision->id;
    sheet->read_only = true;
    sheet->name = pm_strdup(card->name);
    if (!sheet->name)
        return pm_fail_memory(err);
    status = read_state(studio, revision, &content, err);
    if (status != PM_OK)
        return status;
    pm_trial_release(&sheet->trial);
    sheet->trial = content;
    status = pm_studio_follow_lines(studio, &sheet->trial, err);
    return status == PM_OK ? pm_sheet_resolve(studio, sheet, NULL, err) : status;
}

static enum pm_status fill_revision(struct pm_studio *studio, int64_t revision,
                                    struct pm_sheet *sheet, struct pm_error *err)
{
    struct pm_revision row;
    enum pm_status status = pm_revision_get(studio->library, revision, &row, err);
    if (status != PM_OK)
        return status;
    status = fill_past(studio, &row, sheet, err);
    pm_revision_release(&row);
    return status;
}

enum pm_status pm_history_sheet(struct pm_studio *studio, int64_t revision, struct pm_sheet **out,
                                struct pm_error *err)
{
    return pm_sheet_filled(studio, fill_revision, revision, out, err);
}

/* ---- bringing one back ---- */

static enum pm_status plan_restore(struct pm_studio *studio, const struct pm_sheet *draft,
                                   const struct pm_revision *revision, struct pm_plan **out,
                                   struct pm_error *err)
{
    struct pm_trial content;
    struct pm_text sentence = PM_TEXT_EMPTY;
    if (revision->formula != draft->formula)
        return pm_fail(err, PM_REFUSED, "That revision belongs to another formula than %s.",
                       draft->name);
    enum pm_status status = read_state(studio, revision, &content, err);
    if (status != PM_OK)
        return status;
    pm_text_addf(&sentence, "Brought back revision %lld (%s)", (long long)revision->number,
                 revision->sentence);
    status =
        pm_text_ok(&sentence) ? pm_studio_follow_lines(studio, &content, err) : pm_fail_memory(err);
    if (status == PM_OK)
        status =
            pm_plan_content(studio, draft, &content, "restore", pm_text_get(&sentence), out, err);
    pm_text_release(&sentence);
    pm_trial_release(&content);
    return status;
}

enum pm_status pm_plan_restore(struct pm_studio *studio, const struct pm_sheet *draft,
                               int64_t revision, struct pm_plan **out, struct pm_error *err)
{
    pm_studio_refresh(studio);
    struct pm_revision row;
    enum pm_status status = pm_sheet_editable(draft, err);
    if (status == PM_OK)
        status = pm_revision_get(studio->library, revision, &row, err);
    if (status != PM_OK)
        return status;
    status = plan_restore(studio, draft, &row, out, err);
    pm_revision_release(&row);
    return status;
}
