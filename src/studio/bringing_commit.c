/* SPDX-License-Identifier: MIT */
/*
 * What was brought in is written: new materials, then one formula after the other with its draft.
 *
 * A formula or a material, once something refers to it, is never deleted. So undoing the step of
 * the shelf's history puts both out of sight and empties the drafts, redoing brings all back. A
 * formula is born out of sight and brought into sight by the step, which has its images of both.
 */
#include "bringing.h"

#include "permille/base/mem.h"
#include "permille/base/text_set.h"
#include "permille/base/utf8.h"
#include "permille/core/change.h"

#include <string.h>

struct commit {
    struct pm_shelf_step *step;
    struct pm_studio *studio;
    struct pm_bringing *bringing;
    int64_t *materials, *solvents; /* of each line; owned */
    struct pm_text_set names;      /* that were not there before */
    int64_t *made;                 /* the material of each; owned */
    size_t made_capacity;
    size_t formulas, fresh;
};

/* ---- materials ---- */

/* Brings it into sight again, so that undo puts it out of sight. */
static enum pm_status show_material(struct commit *commit, int64_t id, struct pm_error *err)
{
    enum pm_status status = pm_shelf_log_touch(&commit->step->log, PM_ROWS_MATERIAL, id, err);
    return status == PM_OK ? pm_material_set_aside(commit->studio->library, id, false, err)
                           : status;
}

static enum pm_status make_material(struct commit *commit, const char *name, bool solvent,
                                    int64_t *id, struct pm_error *err)
{
    struct pm_material row = {.kind = solvent ? PM_SOLVENT : PM_CHEMICAL};
    char *clean = NULL;
    enum pm_status status = pm_name_clean(name, "The material's name", &clean, err);
    row.name = clean;
    if (status == PM_OK)
        status = pm_material_insert(commit->studio->library, &row, err);
    if (status == PM_OK)
        status = pm_shelf_log_shown(&commit->step->log, row.id, err);
    if (status == PM_OK) {
        *id = row.id;
        commit->fresh++;
    }
    pm_free(clean);
    return status;
}

/* One that was put out of sight comes back with the formula. */
static enum pm_status use_material(struct commit *commit, int64_t id, struct pm_error *err)
{
    struct pm_card *card;
    enum pm_status status = pm_studio_material(commit->studio, id, &card, err);
    if (status != PM_OK || !card->set_aside)
        return status;
    status = show_material(commit, id, err);
    pm_studio_drop_caches(commit->studio);
    return status;
}

/* One that was not there; it may have been made for an earlier line, under another spelling. */
static enum pm_status have_new(struct commit *commit, const char *name, bool solvent, int64_t *id,
                               struct pm_error *err)
{
    struct pm_error why;
    const enum pm_status status = pm_material_by_name(commit->studio->library, name, id, &why);
    if (status == PM_OK)
        return use_material(commit, *id, err);
    return status == PM_MISSING || status == PM_REFUSED
               ? make_material(commit, name, solvent, id, err)
               : pm_fail(err, status, "%s", why.text);
}

/* The material as it was matched. */
static enum pm_status have_material(struct commit *commit, int64_t matched, const char *name,
                                    bool solvent, int64_t *id, struct pm_error *err)
{
    *id = matched;
    if (matched != 0)
        return use_material(commit, matched, err);
    size_t place = pm_text_set_place(&commit->names, name);
    if (place != PM_MAP_NONE) {
        *id = commit->made[place];
        return PM_OK;
    }
    const enum pm_status status = have_new(commit, name, solvent, id, err);
    if (status != PM_OK)
        return status;
    if (!pm_grow(&commit->made, &commit->made_capacity, commit->names.count + 1,
                 sizeof *commit->made) ||
        !pm_text_set_add(&commit->names, name, &place))
        return pm_fail_memory(err);
    commit->made[place] = *id;
    return PM_OK;
}

static bool comes_in(const struct commit *commit, size_t formula, size_t line)
{
    return !commit->bringing->formulas[formula].left_out && !commit->bringing->lines[line].left_out;
}

typedef enum pm_status line_fn(struct commit *commit, size_t line, struct pm_error *err);

static enum pm_status each_line(struct commit *commit, line_fn *one, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t f = 0; f < commit->bringing->formula_count; f++) {
        const struct pm_brought_formula *formula = &commit->bringing->formulas[f];
        for (size_t i = formula->first; status == PM_OK && i < formula->first + formula->count;
             i++) {
            status = pm_studio_go_on(commit->studio, "bringing lines in", i,
                                     commit->bringing->line_count, err);
            if (status == PM_OK && comes_in(commit, f, i))
                status = one(commit, i, err);
        }
    }
    return status;
}

/* What is wrong with a name is found when it is written: the sentence then says where it stands. */
static enum pm_status say_line(const struct pm_brought_line *line, enum pm_status status,
                               struct pm_error *err)
{
    char text[sizeof err->text];
    if (status != PM_INVALID || err == NULL)
        return status;
    memcpy(text, err->text, sizeof text);
    return pm_fail(err, status, "Line %zu: %s", line->at, text);
}

/* Solvents first: what is both becomes a solvent. */
static enum pm_status have_solvent_of(struct commit *commit, size_t at, struct pm_error *err)
{
    const struct pm_brought_line *line = &commit->bringing->lines[at];
    if (line->strength == PM_NEAT)
        return PM_OK;
    return say_line(line,
                    have_material(commit, line->solvent_id, line->solvent_matched, true,
                                  &commit->solvents[at], err),
                    err);
}

static enum pm_status have_material_of(struct commit *commit, size_t at, struct pm_error *err)
{
    const struct pm_brought_line *line = &commit->bringing->lines[at];
    if (line->accord != 0)
        return PM_OK;
    if (line->wants_accord)
        return pm_fail(
            err, PM_REFUSED,
            "Line %zu: no accord %s is kept here. Bring it in and keep it first, or give "
            "the line another name.",
            line->at, line->name);
    return say_line(
        line,
        have_material(commit, line->material, line->matched, false, &commit->materials[at], err),
        err);
}

/* ---- formulas ---- */

static enum pm_status check_line(struct commit *commit, size_t at, struct pm_error *err)
{
    const struct pm_brought_line *line = &commit->bringing->lines[at];
    struct pm_card *card;
    if (line->strength == PM_NEAT)
        return PM_OK;
    enum pm_status status = pm_studio_material(commit->studio, commit->solvents[at], &card, err);
    if (status == PM_OK && !card->is_solvent)
        status = pm_fail(err, PM_REFUSED,
                         "Line %zu: %s is no solvent on the shelf: make its kind \"solvent\", or "
                         "name another.",
                         line->at, card->name);
    if (status == PM_OK && commit->solvents[at] == commit->materials[at])
        status = pm_fail(err, PM_REFUSED, "Line %zu: %s cannot be diluted in itself.", line->at,
                         card->name);
    return status;
}

static enum pm_status put_line(struct commit *commit, size_t at, bool cores, struct pm_trial *trial,
                               struct pm_error *err)
{
    const struct pm_brought_line *from = &commit->bringing->lines[at];
    char *comment = NULL;
    enum pm_status status = pm_clean_text(from->comment, "The comment", 4096, &comment, err);
    struct pm_line line = {.kind = from->accord != 0 ? PM_LINE_ACCORD : PM_LINE_MATERIAL,
                           .ref = from->accord != 0 ? from->accord : commit->materials[at],
                           .strength = from->strength,
                           .solvent = from->strength < PM_NEAT ? commit->solvents[at] : 0,
                           .parts = from->parts,
                           .stance = from->stance,
                           .core = cores ? from->core : 0,
                           .weight = cores ? from->weight : 0,
                           .comment = comment};
    if (line.stance == PM_RESTING) {
        line.rested = line.parts;
        line.rested_as = from->rested_as;
        line.parts = 0;
    }
    if (status == PM_OK)
        status = pm_trial_insert(trial, trial->count, &line, err);
    pm_free(comment);
    return status;
}

static enum pm_status fill(struct commit *commit, const struct pm_brought_formula *formula,
                           bool cores, struct pm_trial *trial, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    pm_trial_init(trial, formula->base, formula->mode);
    for (size_t i = formula->first; status == PM_OK && i < formula->first + formula->count; i++)
        if (!commit->bringing->lines[i].left_out)
            status = put_line(commit, i, cores, trial, err);
    if (status == PM_OK) {
        pm_trial_weigh(trial);
        trial->settled = trial->count > 0 && pm_trial_total(trial) == trial->base;
    }
    return status;
}

static bool has_core(const struct pm_trial *trial)
{
    for (size_t i = 0; i < trial->count; i++)
        if (trial->lines[i].core != 0)
            return true;
    return false;
}

/* Ratios that do not agree with the parts beside them are let go. What else is wrong, writing it
 * finds. */
static enum pm_status make_content(struct commit *commit, const struct pm_brought_formula *formula,
                                   struct pm_trial *trial, struct pm_error *err)
{
    enum pm_status status = fill(commit, formula, true, trial, err);
    if (status == PM_OK && has_core(trial))
        status = pm_trial_check(trial, err);
    if (status == PM_DAMAGED) {
        pm_trial_release(trial);
        status = fill(commit, formula, false, trial, err);
    }
    return status;
}

static enum pm_status write_draft(struct commit *commit, int64_t id, const struct pm_trial *after,
                                  const char *sentence, struct pm_error *err)
{
    struct pm_trial before;
    struct pm_text change = PM_TEXT_EMPTY;
    int64_t draft = 0, revision = 0;
    enum pm_status status = pm_trial_by_number(commit->studio->library, id, 0, &draft, err);
    pm_trial_init(&before, after->base, after->mode);
    if (status == PM_OK)
        status = pm_change_between(&before, after, &change, err);
    if (status == PM_OK)
        status = pm_draft_write(commit->studio->library, draft, 0, after, "import", sentence,
                                pm_text_get(&change), &revision, err);
    if (status == PM_OK)
        status = pm_shelf_log_drafted(&commit->step->log, revision, err);
    pm_text_release(&change);
    pm_trial_release(&before);
    return status;
}

static enum pm_status write_formula(struct commit *commit, const struct pm_brought_formula *formula,
                                    const struct pm_trial *content, int64_t *id,
                                    struct pm_error *err)
{
    struct pm_library *library = commit->studio->library;
    char sentence[64];
    enum pm_status status = pm_formula_insert(library, formula->name, formula->accord,
                                              content->base, content->mode, id, err);
    if (status == PM_OK)
        status = pm_formula_update(library, *id, formula->name, formula->accord, true, err);
    if (status == PM_OK)
        status = pm_shelf_log_touch(&commit->step->log, PM_ROWS_FORMULA, *id, err);
    if (status == PM_OK)
        status = pm_formula_update(library, *id, formula->name, formula->accord, false, err);
    if (status == PM_OK && content->count > 0)
        status = write_draft(commit, *id, content,
                             pm_print(sentence, sizeof sentence, "Brought in %zu line%s",
                                      content->count, content->count == 1 ? "" : "s"),
                             err);
    commit->formulas += status == PM_OK;
    return status;
}

static enum pm_status bring_formula(struct commit *commit, size_t at, int64_t *id,
                                    struct pm_error *err)
{
    const struct pm_brought_formula *formula = &commit->bringing->formulas[at];
    struct pm_trial content;
    enum pm_status status = make_content(commit, formula, &content, err);
    if (status == PM_OK)
        status = write_formula(commit, formula, &content, id, err);
    pm_trial_release(&content);
    return status;
}

/* ---- all of it ---- */

static enum pm_status bring_all(struct commit *commit, int64_t *first, struct pm_error *err)
{
    enum pm_status status = each_line(commit, have_solvent_of, err);
    if (status == PM_OK)
        status = each_line(commit, have_material_of, err);
    pm_studio_drop_caches(commit->studio);
    if (status == PM_OK)
        status = each_line(commit, check_line, err);
    for (size_t f = 0; status == PM_OK && f < commit->bringing->formula_count; f++) {
        int64_t id = 0;
        if (commit->bringing->formulas[f].left_out)
            continue;
        status = bring_formula(commit, f, &id, err);
        if (status == PM_OK && *first == 0)
            *first = id;
    }
    if (status == PM_OK && commit->formulas == 0)
        status = pm_fail(err, PM_REFUSED, "Nothing is left to bring in.");
    return status;
}

static void say(struct commit *commit)
{
    const struct pm_bringing *bringing = commit->bringing;
    const char *name = NULL;
    for (size_t f = bringing->formula_count; f-- > 0;)
        name = bringing->formulas[f].left_out ? name : bringing->formulas[f].name;
    if (commit->formulas == 1)
        pm_step_say(commit->step, "Brought in %s", name);
    else
        pm_step_say(commit->step, "Brought in %zu formulas", commit->formulas);
    if (commit->fresh > 0)
        pm_step_say(commit->step, " with %zu new material%s", commit->fresh,
                    commit->fresh == 1 ? "" : "s");
}

enum pm_status pm_bringing_commit(struct pm_studio *studio, struct pm_bringing *bringing,
                                  int64_t *first, struct pm_error *err)
{
    struct pm_shelf_step step;
    struct commit commit = {.step = &step, .studio = studio, .bringing = bringing};
    const size_t room = bringing->line_count + 1;
    int64_t id = 0;
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    commit.materials = pm_alloc_array(room, sizeof *commit.materials);
    commit.solvents = pm_alloc_array(room, sizeof *commit.solvents);
    status = commit.materials != NULL && commit.solvents != NULL ? bring_all(&commit, &id, err)
                                                                 : pm_fail_memory(err);
    if (status == PM_OK)
        say(&commit);
    pm_free(commit.materials);
    pm_free(commit.solvents);
    pm_free(commit.made);
    pm_text_set_release(&commit.names);
    status = pm_step_end(&step, status, "import", err);
    if (status == PM_OK && first != NULL)
        *first = id;
    return status;
}
