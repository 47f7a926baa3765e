/* SPDX-License-Identifier: MIT */
/*
 * Two materials that turn out to be one. The one given up stays in the file and names the other:
 * what kept trials refer to never changes, it is followed when they are read. Drafts are rewritten
 * with an entry in their own history; bottles, names and own facts move over. Undo takes all of it
 * back, also the drafts that have not been edited since.
 */
#include "inside.h"

#include "permille/base/utf8.h"
#include "permille/core/change.h"
#include "permille/store/bottles.h"
#include "permille/store/facts.h"
#include "permille/studio/shelf.h"

#include <string.h>

#define NOTE_BYTES 65536 /* of a material's note, as where it is entered */

struct merging {
    struct pm_shelf_step *step;
    struct pm_material from, into;
    struct pm_text drafts; /* names of formulas whose drafts follow */
    enum pm_status failed;
};

/* ---- what follows ---- */

static enum pm_status move_bottle(struct merging *merging, struct pm_bottle *bottle,
                                  struct pm_error *err)
{
    const int64_t from = merging->from.id, into = merging->into.id;
    if (bottle->material != from && bottle->solvent != from)
        return PM_OK;
    bottle->material = bottle->material == from ? into : bottle->material;
    bottle->solvent = bottle->solvent == from ? into : bottle->solvent;
    if (bottle->material == bottle->solvent)
        return pm_fail(err, PM_REFUSED, "Bottle %s would be %s diluted in itself.", bottle->label,
                       merging->into.name);
    enum pm_status status =
        pm_shelf_log_touch(&merging->step->log, PM_ROWS_BOTTLE, bottle->id, err);
    return status == PM_OK ? pm_bottle_update(merging->step->studio->library, bottle, err) : status;
}

static enum pm_status move_bottles(struct merging *merging, struct pm_error *err)
{
    struct pm_bottles all;
    enum pm_status status = pm_bottle_list(merging->step->studio->library, 0, true, &all, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; status == PM_OK && i < all.count; i++)
        status = move_bottle(merging, &all.items[i], err);
    pm_list_release(&all);
    return status;
}

static bool has_own(const struct pm_facts *facts, const char *property)
{
    for (size_t i = 0; i < facts->count; i++)
        if (facts->items[i].origin == PM_OWN && strcmp(facts->items[i].property, property) == 0)
            return true;
    return false;
}

/* Own facts come over unless there is an own one: a shipped value never hides what was entered. */
static enum pm_status move_facts(struct merging *merging, struct pm_error *err)
{
    struct pm_library *library = merging->step->studio->library;
    struct pm_facts from = {0}, into = {0};
    enum pm_status status =
        pm_shelf_log_touch(&merging->step->log, PM_ROWS_FACTS, merging->into.id, err);
    if (status == PM_OK)
        status = pm_fact_list(library, merging->from.id, &from, err);
    if (status == PM_OK)
        status = pm_fact_list(library, merging->into.id, &into, err);
    for (size_t i = 0; status == PM_OK && i < from.count; i++)
        if (from.items[i].origin == PM_OWN && !has_own(&into, from.items[i].property))
            status = pm_fact_put(library, merging->into.id, &from.items[i], err);
    pm_list_release(&from);
    pm_list_release(&into);
    return status;
}

/* ---- names ---- */

/* Its names as other names of `into`, without those it has; all strings live until the end. */
static enum pm_status add_names(struct pm_material *into, const struct pm_material *from,
                                struct pm_error *err)
{
    const char **names =
        pm_arena_array(&into->arena, into->synonym_count + from->synonym_count + 1, sizeof *names);
    if (names == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < into->synonym_count; i++)
        names[i] = into->synonyms[i];
    into->synonyms = names;
    for (size_t i = 0; i <= from->synonym_count; i++) {
        const char *name = i == 0 ? from->name : from->synonyms[i - 1];
        if (!pm_material_has_name(into, name))
            names[into->synonym_count++] = name;
    }
    return PM_OK;
}

/* Family, and notes of both one after the other, as far as they fit. */
static enum pm_status move_words(struct merging *merging, struct pm_error *err)
{
    struct pm_material *from = &merging->from, *into = &merging->into;
    struct pm_text note = PM_TEXT_EMPTY;
    if (into->family == NULL)
        into->family = from->family;
    if (from->note == NULL)
        return PM_OK;
    pm_text_addf(&note, "%s%s%s", into->note != NULL ? into->note : "",
                 into->note != NULL ? "\n" : "", from->note);
    if (note.length <= NOTE_BYTES)
        into->note = pm_arena_text(&into->arena, pm_text_get(&note));
    const bool whole = pm_text_ok(&note) && !into->arena.failed;
    pm_text_release(&note);
    return whole ? PM_OK : pm_fail_memory(err);
}

static enum pm_status move_names(struct merging *merging, struct pm_error *err)
{
    struct pm_library *library = merging->step->studio->library;
    struct pm_material *from = &merging->from, *into = &merging->into;
    struct pm_text given_up = PM_TEXT_EMPTY;
    enum pm_status status = add_names(into, from, err);
    pm_text_addf(&given_up, "%.150s (merged, number %lld)", from->name, (long long)from->id);
    from->name = pm_arena_text(&from->arena, pm_text_get(&given_up));
    from->synonym_count = 0;
    from->merged_into = into->id;
    if (status == PM_OK && (from->name == NULL || !pm_text_ok(&given_up)))
        status = pm_fail_memory(err);
    pm_text_release(&given_up);
    if (status == PM_OK)
        status = pm_material_update(library, from, err);
    if (into->cas == NULL)
        into->cas = from->cas;
    if (status == PM_OK)
        status = move_words(merging, err);
    return status == PM_OK ? pm_material_update(library, into, err) : status;
}

/* ---- drafts ---- */

/* Puts `into` wherever `from` stands; *some tells whether it stood anywhere. */
static enum pm_status replace_lines(const struct merging *merging, struct pm_trial *trial,
                                    bool *some, struct pm_error *err)
{
    for (size_t i = 0; i < trial->count; i++) {
        struct pm_line *line = &trial->lines[i];
        if (line->kind == PM_LINE_MATERIAL && line->ref == merging->from.id) {
            line->ref = merging->into.id;
            *some = true;
        }
        if (line->solvent == merging->from.id) {
            line->solvent = merging->into.id;
            *some = true;
        }
        if (line->solvent != 0 && line->kind == PM_LINE_MATERIAL && line->solvent == line->ref)
            return pm_fail(err, PM_REFUSED, "A line of a draft would be %s diluted in itself.",
                           merging->into.name);
    }
    return PM_OK;
}

static enum pm_status write_draft(struct merging *merging, const struct pm_formula *formula,
                                  int64_t head, const struct pm_trial *before,
                                  const struct pm_trial *after, struct pm_error *err)
{
    struct pm_text change = PM_TEXT_EMPTY, sentence = PM_TEXT_EMPTY;
    int64_t revision;
    pm_text_addf(&sentence, "%s turned out to be %s", merging->from.name, merging->into.name);
    pm_text_addf(&merging->drafts, "%s%s", merging->drafts.length == 0 ? "" : ", ", formula->name);
    enum pm_status status = pm_change_between(before, after, &change, err);
    if (status == PM_OK && !pm_text_ok(&sentence))
        status = pm_fail_memory(err);
    if (status == PM_OK)
        status =
            pm_draft_write(merging->step->studio->library, formula->draft, head, after, "merge",
                           pm_text_get(&sentence), pm_text_get(&change), &revision, err);
    if (status == PM_OK)
        status = pm_shelf_log_drafted(&merging->step->log, revision, err);
    pm_text_release(&change);
    pm_text_release(&sentence);
    return status;
}

static enum pm_status move_draft(struct merging *merging, const struct pm_formula *formula,
                                 struct pm_error *err)
{
    struct pm_library *library = merging->step->studio->library;
    struct pm_trial_row row;
    struct pm_trial before, after;
    bool some = false;
    enum pm_status status = pm_trial_row_get(library, formula->draft, NULL, &row, err);
    if (status == PM_OK)
        status = pm_trial_load(library, formula->draft, &before, err);
    if (status != PM_OK)
        return status;
    status = pm_trial_copy(&before, &after, err);
    if (status == PM_OK)
        status = replace_lines(merging, &after, &some, err);
    if (status == PM_OK && some)
        status = write_draft(merging, formula, row.head, &before, &after, err);
    pm_trial_release(&after);
    pm_trial_release(&before);
    return status;
}

static enum pm_status move_drafts(struct merging *merging, struct pm_error *err)
{
    struct pm_formulas formulas;
    enum pm_status status =
        pm_formula_list(merging->step->studio->library, NULL, true, &formulas, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; status == PM_OK && i < formulas.count; i++)
        status = move_draft(merging, &formulas.items[i], err);
    pm_list_release(&formulas);
    return status;
}

/* ---- all of it ---- */

static enum pm_status check_pair(const struct merging *merging, struct pm_error *err)
{
    const struct pm_material *from = &merging->from, *into = &merging->into;
    if (from->id == into->id)
        return pm_fail(err, PM_REFUSED, "%s is one material already.", from->name);
    if (from->merged_into != 0 || into->merged_into != 0)
        return pm_fail(err, PM_REFUSED, "%s has been merged into another material before.",
                       from->merged_into != 0 ? from->name : into->name);
    if ((from->kind == PM_SOLVENT) != (into->kind == PM_SOLVENT))
        return pm_fail(err, PM_REFUSED,
                       "Only one of %s and %s is a solvent; make their kinds agree "
                       "first.",
                       from->name, into->name);
    return PM_OK;
}

static enum pm_status merge(struct merging *merging, struct pm_error *err)
{
    struct pm_shelf_log *log = &merging->step->log;
    enum pm_status status = check_pair(merging, err);
    if (status == PM_OK)
        status = pm_shelf_log_touch(log, PM_ROWS_MATERIAL, merging->from.id, err);
    if (status == PM_OK)
        status = pm_shelf_log_touch(log, PM_ROWS_NAMES, merging->from.id, err);
    if (status == PM_OK)
        status = pm_shelf_log_touch(log, PM_ROWS_MATERIAL, merging->into.id, err);
    if (status == PM_OK)
        status = pm_shelf_log_touch(log, PM_ROWS_NAMES, merging->into.id, err);
    if (status != PM_OK)
        return status;
    pm_step_say(merging->step, "Merged %s into %s", merging->from.name, merging->into.name);
    status = move_bottles(merging, err);
    if (status == PM_OK)
        status = move_facts(merging, err);
    if (status == PM_OK)
        status = move_drafts(merging, err);
    if (status == PM_OK)
        status = move_names(merging, err);
    if (status == PM_OK && !pm_text_ok(&merging->drafts))
        status = pm_fail_memory(err);
    if (merging->drafts.length > 0)
        pm_step_say(merging->step, "; the drafts of %s follow", pm_text_get(&merging->drafts));
    return status;
}

static void release(struct merging *merging)
{
    pm_text_release(&merging->drafts);
    pm_material_release(&merging->from);
    pm_material_release(&merging->into);
}

enum pm_status pm_shelf_merge(struct pm_studio *studio, int64_t from, int64_t into,
                              struct pm_error *err)
{
    struct pm_shelf_step step;
    struct merging merging;
    memset(&merging, 0, sizeof merging);
    merging.step = &step;
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    status = pm_material_get(studio->library, from, &merging.from, err);
    if (status == PM_OK)
        status = pm_material_get(studio->library, into, &merging.into, err);
    if (status == PM_OK)
        status = merge(&merging, err);
    status = pm_step_end(&step, status, "merge", err);
    release(&merging);
    return status;
}
