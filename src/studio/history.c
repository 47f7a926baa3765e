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

#include <string.h>

/* ---- the list ---- */

struct listing {
    struct pm_revisions revisions;
    struct pm_trial_rows kept;
    int64_t head; /* of the draft */
};

static int64_t number_of(const struct listing *listing, int64_t trial)
{
    for (size_t i = 0; i < listing->kept.count; i++)
        if (listing->kept.items[i].id == trial)
            return listing->kept.items[i].number;
    return 0;
}

static enum pm_status read_listing(struct pm_studio *studio, int64_t formula, int64_t number,
                                   struct listing *out, struct pm_error *err)
{
    struct pm_library *library = studio->library;
    struct pm_trial_row row;
    int64_t draft, trial = 0;
    enum pm_status status = pm_trial_by_number(library, formula, 0, &draft, err);
    if (status == PM_OK)
        status = pm_trial_row_get(library, draft, NULL, &row, err);
    if (status == PM_OK && number >= 0)
        status = pm_trial_by_number(library, formula, number, &trial, err);
    if (status == PM_OK)
        status = pm_trial_list(library, formula, &out->kept, err);
    if (status == PM_OK)
        status = pm_revision_list(library, formula, trial, &out->revisions, err);
    if (status == PM_OK)
        out->head = row.head;
    return status;
}

/* *found tells whether the folded text stands in the sentence. */
static enum pm_status look_in(const char *sentence, const char *wanted, bool *found,
                              struct pm_error *err)
{
    char *folded = pm_fold(sentence);
    *found = folded != NULL && strstr(folded, wanted) != NULL;
    pm_free(folded);
    return folded != NULL ? PM_OK : pm_fail_memory(err);
}

/* The entries that pass; their strings stay those of the listing. */
static enum pm_status filter(const struct listing *listing, const char *wanted,
                             struct pm_revision_entries *out, struct pm_error *err)
{
    for (size_t i = 0; i < listing->revisions.count; i++) {
        const struct pm_revision *row = &listing->revisions.items[i];
        bool found = true;
        if (wanted[0] != '\0' && look_in(row->sentence, wanted, &found, err) != PM_OK)
            return PM_NOMEM;
        struct pm_revision_entry *entry = found ? pm_list_add(out) : NULL;
        if (entry != NULL)
            *entry = (struct pm_revision_entry){.row = *row,
                                                .trial_number = number_of(listing, row->trial),
                                                .is_head = row->id == listing->head};
    }
    return pm_arena_status(&out->arena, err);
}

enum pm_status pm_history_list(struct pm_studio *studio, int64_t formula, int64_t number,
                               const char *text, struct pm_revision_entries *out,
                               struct pm_error *err)
{
    struct listing listing = {.head = 0};
    char *wanted = pm_fold(text != NULL ? text : "");
    enum pm_status status =
        wanted != NULL ? pm_studio_look_begin(studio, err) : pm_fail_memory(err);
    if (status == PM_OK)
        status = pm_look_over(studio, read_listing(studio, formula, number, &listing, err));
    /* The entries go on in the arena that holds the strings. */
    struct pm_revision_entries entries = {.arena = listing.revisions.arena};
    if (status == PM_OK)
        status = filter(&listing, wanted, &entries, err);
    pm_free(wanted);
    pm_list_release(&listing.kept);
    pm_list_give(&entries, status, out);
    return status;
}

/* ---- walking the tree ---- */

/* Adds the change of revision *id to the way and moves *id to its parent. */
static enum pm_status way_step(struct pm_studio *studio, struct pm_texts *way, int64_t *id,
                               struct pm_error *err)
{
    struct pm_revision row;
    enum pm_status status = pm_revision_get(studio->library, *id, &way->arena, &row, err);
    if (status != PM_OK)
        return status;
    if (row.change == NULL || row.parent >= row.id)
        return pm_fail(err, PM_DAMAGED, "The history is broken at revision %lld.",
                       (long long)row.number);
    const char **place = pm_list_add(way);
    if (place == NULL)
        return pm_fail_memory(err);
    *place = row.change;
    *id = row.parent;
    return PM_OK;
}

/* Changes the state at revision `from` into the one at revision `to`. A revision is made on an
 * older one, so climbing from whichever is newer meets at the nearest common one: `back` are the
 * changes up from the known state, `forth` those down to the wanted one. */
static enum pm_status walk(struct pm_studio *studio, int64_t from, int64_t to,
                           struct pm_trial *trial, struct pm_error *err)
{
    struct pm_texts back = {0}, forth = {0};
    enum pm_status status = PM_OK;
    while (status == PM_OK && from != to)
        status =
            from > to ? way_step(studio, &back, &from, err) : way_step(studio, &forth, &to, err);
    for (size_t i = 0; i < back.count && status == PM_OK; i++)
        status = pm_change_apply(back.items[i], PM_BACK, trial, err);
    for (size_t i = forth.count; i-- > 0 && status == PM_OK;)
        status = pm_change_apply(forth.items[i], PM_FORTH, trial, err);
    pm_list_release(&back);
    pm_list_release(&forth);
    return status;
}

/* The gesture whose state a row shows: undo leads to what its target was made on. */
static enum pm_status state_after(struct pm_studio *studio, const struct pm_revision *revision,
                                  int64_t *head, struct pm_error *err)
{
    struct pm_revision target;
    if (revision->change != NULL) {
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
    enum pm_status status = pm_revision_get(studio->library, revision->target, NULL, &target, err);
    if (status == PM_OK)
        *head = target.parent;
    return status;
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
        status = pm_trial_row_get(studio->library, revision->trial, NULL, &row, err);
    if (status == PM_OK)
        status = pm_trial_load(studio->library, revision->trial, &content, err);
    if (status != PM_OK)
        return status;
    status = walk(studio, row.head, head, &content, err);
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
        status = pm_trial_row_get(studio->library, revision->trial, NULL, &row, err);
    if (status != PM_OK)
        return status;
    sheet->number = row.number;
    sheet->kept_at = row.kept_at;
    sheet->formula = revision->formula;
    sheet->accord = card->accord;
    sheet->kept = card->kept;
    sheet->trial_id = revision->trial;
    sheet->revision = revision->id;
    sheet->read_only = true;
    sheet->name = pm_arena_text(&sheet->names->arena, card->name);
    if (sheet->name == NULL)
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
    enum pm_status status =
        pm_revision_get(studio->library, revision, &sheet->names->arena, &row, err);
    return status == PM_OK ? fill_past(studio, &row, sheet, err) : status;
}

enum pm_status pm_history_sheet(struct pm_studio *studio, int64_t revision, struct pm_sheet **out,
                                struct pm_error *err)
{
    return pm_sheet_filled(studio, fill_revision, revision, out, err);
}

/* ---- bringing one back ---- */

static enum pm_status restore(struct pm_studio *studio, const struct pm_sheet *draft,
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
        status = pm_plan_content(studio, draft, &content, 0, "restore", pm_text_get(&sentence), out,
                                 err);
    pm_text_release(&sentence);
    pm_trial_release(&content);
    return status;
}

static enum pm_status plan_restore(struct pm_studio *studio, const struct pm_sheet *draft,
                                   int64_t revision, struct pm_plan **out, struct pm_error *err)
{
    struct pm_arena arena = {0};
    struct pm_revision row;
    enum pm_status status = pm_revision_get(studio->library, revision, &arena, &row, err);
    if (status == PM_OK)
        status = restore(studio, draft, &row, out, err);
    pm_arena_release(&arena);
    return status;
}

enum pm_status pm_plan_restore(struct pm_studio *studio, const struct pm_sheet *draft,
                               int64_t revision, struct pm_plan **out, struct pm_error *err)
{
    enum pm_status status = pm_sheet_editable(draft, err);
    if (status == PM_OK)
        status = pm_studio_look_begin(studio, err);
    return status == PM_OK ? pm_look_over(studio, plan_restore(studio, draft, revision, out, err))
                           : status;
}
