/* SPDX-License-Identifier: MIT */
/*
 * The rules a gesture must meet that need the library: materials on the shelf, solvents, accords
 * that are kept, settled and do not lead back to the formula; and the names in core's refusals.
 */
#include "inside.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

#define COMMENT_BYTES 4096
#define SUBJECT_CELLS 60 /* of a name before a refusal: the reason must not be cut off */

/* ---- materials and solvents ---- */

static enum pm_status check_on_shelf(const struct pm_card *card, struct pm_error *err)
{
    if (!card->set_aside)
        return PM_OK;
    return pm_fail(err, PM_REFUSED, "%s is set aside: bring it back to the shelf before using it.",
                   card->name);
}

static enum pm_status check_solvent(struct pm_studio *studio, int64_t material, int64_t solvent,
                                    struct pm_error *err)
{
    struct pm_card *card;
    enum pm_status status = pm_studio_material(studio, solvent, &card, err);
    if (status != PM_OK)
        return status;
    if (!card->is_solvent)
        return pm_fail(
            err, PM_REFUSED,
            "%s is not a solvent on the shelf: make its kind \"solvent\", or name another.",
            card->name);
    if (material == solvent)
        return pm_fail(err, PM_REFUSED, "%s cannot be diluted in itself.", card->name);
    return check_on_shelf(card, err);
}

static enum pm_status check_material(struct pm_studio *studio, const struct pm_line *fresh,
                                     struct pm_error *err)
{
    struct pm_card *card;
    enum pm_status status = pm_studio_material(studio, fresh->ref, &card, err);
    if (status == PM_OK)
        status = check_on_shelf(card, err);
    if (status != PM_OK)
        return status;
    if (fresh->solvent != 0)
        return check_solvent(studio, fresh->ref, fresh->solvent, err);
    if (fresh->strength < PM_NEAT)
        return pm_fail(err, PM_INVALID, "Name the solvent this dilution of %s is made with.",
                       card->name);
    return PM_OK;
}

/* ---- accords and cycles ---- */

/* A trial met on the way down, and where it was met: the path is read back from the end. */
struct step {
    int64_t trial;
    size_t from; /* index of the step that uses it; its own index for the first */
};
struct descent {
    struct step *steps;
    size_t count, capacity;
    struct pm_map seen; /* trial id -> the map itself, as a mere mark */
};

static enum pm_status descend_to(struct descent *descent, int64_t trial, size_t from,
                                 struct pm_error *err)
{
    if (pm_map_get(&descent->seen, trial) != NULL)
        return PM_OK;
    if (!pm_grow(&descent->steps, &descent->capacity, descent->count + 1, sizeof *descent->steps))
        return pm_fail_memory(err);
    if (!pm_map_put(&descent->seen, trial, &descent->seen))
        return pm_fail_memory(err);
    descent->steps[descent->count++] = (struct step){trial, from};
    return PM_OK;
}

/* "Salt/2 uses Mist/1, which uses Dune/1: Dune would contain itself". */
static enum pm_status fail_cycle(struct pm_studio *studio, const struct descent *descent,
                                 size_t last, const char *name, struct pm_error *err)
{
    struct pm_text path = PM_TEXT_EMPTY;
    for (size_t i = last;; i = descent->steps[i].from) {
        struct pm_kept *kept;
        char *title = NULL;
        enum pm_status status = pm_studio_kept(studio, descent->steps[i].trial, false, &kept, err);
        if (status == PM_OK)
            status = pm_kept_title(studio, kept, &title, err);
        if (status != PM_OK) {
            pm_text_release(&path);
            return status;
        }
        /* Read from the end, so each step goes before what is there. */
        struct pm_text longer = PM_TEXT_EMPTY;
        pm_text_add(&longer, title);
        pm_free(title);
        if (i != last) {
            pm_text_add(&longer, descent->steps[i].from == i ? " uses " : ", which uses ");
            pm_text_add(&longer, pm_text_get(&path));
        }
        pm_text_release(&path);
        path = longer;
        if (descent->steps[i].from == i)
            break;
    }
    enum pm_status status =
        pm_fail(err, PM_REFUSED, "%s: %s would contain itself.", pm_text_get(&path), name);
    pm_text_release(&path);
    return status;
}

/* Looks through everything the accord is made of, each trial once, for a trial of the formula. */
static enum pm_status search_cycle(struct pm_studio *studio, struct descent *descent,
                                   const struct pm_sheet *sheet, struct pm_error *err)
{
    for (size_t next = 0; next < descent->count; next++) {
        struct pm_kept *kept;
        enum pm_status status =
            pm_studio_kept(studio, descent->steps[next].trial, true, &kept, err);
        if (status != PM_OK)
            return status;
        if (kept->formula == sheet->formula)
            return fail_cycle(studio, descent, next, sheet->name, err);
        for (size_t i = 0; i < kept->trial.count; i++) {
            const struct pm_line *line = &kept->trial.lines[i];
            if (line->kind != PM_LINE_ACCORD)
                continue;
            status = descend_to(descent, line->ref, next, err);
            if (status != PM_OK)
                return status;
        }
    }
    return PM_OK;
}

static enum pm_status check_accord(struct pm_studio *studio, const struct pm_sheet *sheet,
                                   const struct pm_line *fresh, struct pm_error *err)
{
    struct pm_kept *kept;
    char *title;
    enum pm_status status = pm_studio_kept(studio, fresh->ref, true, &kept, err);
    if (status != PM_OK)
        return status;
    if (kept->formula == sheet->formula)
        return pm_fail(err, PM_REFUSED, "%s cannot use itself: %s/%lld is one of its own trials.",
                       sheet->name, sheet->name, (long long)kept->number);
    if (pm_trial_total(&kept->trial) != kept->trial.base) {
        status = pm_kept_title(studio, kept, &title, err);
        if (status != PM_OK)
            return status;
        status =
            pm_fail(err, PM_REFUSED,
                    "%s does not add up to its base: settle its formula and keep it again.", title);
        pm_free(title);
        return status;
    }
    struct descent descent = {NULL, 0, 0, {NULL, 0, 0}};
    status = descend_to(&descent, fresh->ref, 0, err);
    if (status == PM_OK)
        status = search_cycle(studio, &descent, sheet, err);
    pm_free(descent.steps);
    pm_map_release(&descent.seen);
    return status;
}

/* ---- one gesture ---- */

static const struct pm_sheet_line *line_of(const struct pm_sheet *sheet, int64_t id)
{
    long place = pm_trial_find(&sheet->trial, id);
    return place < 0 ? NULL : &sheet->lines[place];
}

/* What a dilution is made with when nobody said: the line's solvent so far, else the carrier when
 * that is a solvent. 0 when neither tells. line may be NULL. */
static int64_t usual_solvent(const struct pm_sheet *sheet, const struct pm_sheet_line *line)
{
    if (line != NULL && line->line->solvent != 0)
        return line->line->solvent;
    for (size_t i = 0; i < sheet->trial.count; i++)
        if (sheet->trial.lines[i].stance == PM_CARRIER && sheet->lines[i].is_solvent)
            return sheet->trial.lines[i].ref;
    return 0;
}

/* Add and swap: what comes in. */
static enum pm_status complete_fresh(struct pm_studio *studio, const struct pm_sheet *sheet,
                                     struct pm_gesture *gesture, struct pm_error *err)
{
    struct pm_line *fresh = &gesture->fresh;
    if (fresh->kind == PM_LINE_ACCORD)
        return check_accord(studio, sheet, fresh, err);
    if (fresh->strength < PM_NEAT && fresh->solvent == 0)
        fresh->solvent =
            usual_solvent(sheet, gesture->kind == PM_SWAP ? line_of(sheet, gesture->line) : NULL);
    return check_material(studio, fresh, err);
}

static enum pm_status complete_restrength(struct pm_studio *studio, const struct pm_sheet *sheet,
                                          struct pm_gesture *gesture, struct pm_error *err)
{
    const struct pm_sheet_line *line = line_of(sheet, gesture->line);
    if (line == NULL)
        return PM_OK; /* the core says so */
    if (line->line->kind == PM_LINE_ACCORD)
        return pm_fail(err, PM_REFUSED,
                       "%s is an accord: change the strengths inside it, or unfold it.",
                       line->title);
    if (gesture->strength >= PM_NEAT) {
        gesture->solvent = 0;
        return PM_OK;
    }
    if (gesture->solvent == 0)
        gesture->solvent = usual_solvent(sheet, line);
    if (gesture->solvent == 0)
        return pm_fail(err, PM_INVALID, "Name the solvent this dilution of %s is made with.",
                       line->title);
    return check_solvent(studio, line->line->ref, gesture->solvent, err);
}

static enum pm_status complete_unfold(struct pm_studio *studio, const struct pm_sheet *sheet,
                                      struct pm_gesture *gesture, struct pm_error *err)
{
    struct pm_kept *kept;
    const struct pm_sheet_line *line = line_of(sheet, gesture->line);
    if (line == NULL)
        return PM_OK;
    if (line->line->kind != PM_LINE_ACCORD)
        return pm_fail(err, PM_REFUSED, "%s is a material: only an accord can be unfolded.",
                       line->title);
    enum pm_status status = pm_studio_kept(studio, line->line->ref, true, &kept, err);
    if (status == PM_OK)
        gesture->content = &kept->trial;
    return status;
}

static enum pm_status complete_branch(struct pm_studio *studio, const struct pm_sheet *sheet,
                                      struct pm_gesture *gesture, struct pm_error *err)
{
    struct pm_kept *kept;
    enum pm_status status = pm_studio_kept(studio, gesture->parent, true, &kept, err);
    if (status != PM_OK)
        return status;
    if (kept->formula != sheet->formula)
        return pm_fail(
            err, PM_REFUSED,
            "%s can only be branched from its own trials; copy the other formula instead.",
            sheet->name);
    gesture->content = &kept->trial;
    return PM_OK;
}

enum pm_status pm_rules_comment(struct pm_gesture *gesture, char **owned, struct pm_error *err)
{
    const char **text = gesture->kind == PM_COMMENT ? &gesture->text : NULL;
    const char *comment = text != NULL ? *text : gesture->fresh.comment;
    *owned = NULL;
    if (comment == NULL || comment[0] == '\0')
        return PM_OK;
    enum pm_status status = pm_note_clean(comment, "The comment", COMMENT_BYTES, owned, err);
    if (status != PM_OK)
        return status;
    if (text != NULL)
        *text = *owned;
    else
        gesture->fresh.comment = *owned;
    return PM_OK;
}

enum pm_status pm_rules_complete(struct pm_studio *studio, const struct pm_sheet *sheet,
                                 struct pm_gesture *gesture, struct pm_error *err)
{
    switch (gesture->kind) {
    case PM_ADD:
    case PM_SWAP:
        return complete_fresh(studio, sheet, gesture, err);
    case PM_RESTRENGTH:
        return complete_restrength(studio, sheet, gesture, err);
    case PM_UNFOLD:
        return complete_unfold(studio, sheet, gesture, err);
    case PM_BRANCH:
        return complete_branch(studio, sheet, gesture, err);
    case PM_FOLD:
        return pm_fail(err, PM_INVALID, "Folding needs a name for the new accord.");
    case PM_SET:
    case PM_NUDGE:
    case PM_SCALE:
    case PM_DROP:
    case PM_SET_STANCE:
    case PM_FORM_CORE:
    case PM_BREAK_CORE:
    case PM_LEAVE_CORE:
    case PM_SET_MODE:
    case PM_SET_BASE:
    case PM_SETTLE:
    case PM_MOVE:
    case PM_COMMENT:
        break;
    }
    return PM_OK;
}

/* ---- names in refusals ---- */

/* What a gesture is about, as the person calls it; "" for the formula as a whole. */
static const char *subject(struct pm_studio *studio, const struct pm_sheet *sheet,
                           const struct pm_gesture *gesture)
{
    struct pm_card *card;
    if (gesture->kind == PM_ADD) {
        if (gesture->fresh.kind == PM_LINE_MATERIAL &&
            pm_studio_material(studio, gesture->fresh.ref, &card, NULL) == PM_OK)
            return card->name;
        return "";
    }
    const struct pm_sheet_line *line = line_of(sheet, gesture->line);
    return line != NULL ? line->title : "";
}

void pm_rules_name_refusal(struct pm_studio *studio, const struct pm_sheet *sheet,
                           const struct pm_gesture *gesture, struct pm_error *err)
{
    if (err == NULL || (err->status != PM_REFUSED && err->status != PM_INVALID))
        return;
    const char *name = subject(studio, sheet, gesture);
    if (name[0] == '\0' || strstr(err->text, name) != NULL)
        return;
    char sentence[PM_ERROR_TEXT];
    snprintf(sentence, sizeof sentence, "%s", err->text);
    const size_t shown = pm_utf8_fit(name, SUBJECT_CELLS);
    const char *more = name[shown] != '\0' ? "\u2026" : "";
    /* A capital that only began the sentence goes; one of an abbreviation stays. */
    if (isupper((unsigned char)sentence[0]) && !isupper((unsigned char)sentence[1]))
        sentence[0] = (char)tolower((unsigned char)sentence[0]);
    pm_fail(err, err->status, "%.*s%s: %s", (int)shown, name, more, sentence);
}
