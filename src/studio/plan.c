/* SPDX-License-Identifier: MIT */
/*
 * Plans: a gesture, a fold, an undo or a redo worked out on a sheet, then written in one
 * transaction.
 */
#include "inside.h"

#include "permille/base/mem.h"
#include "permille/core/change.h"

#include <string.h>

enum plan_kind { PLAN_CHANGE, PLAN_FOLD, PLAN_HEAD };

struct pm_plan {
    enum plan_kind kind;
    bool nothing;     /* the draft is already so: no revision is written */
    bool spent;       /* written; the sheet has been handed over */
    const char *word; /* the revision's gesture; borrowed from a constant */
    char *sentence;   /* what the history will say */
    char *remark;     /* or NULL */
    char *change;     /* PLAN_CHANGE: from the sheet it was made on */
    struct pm_effect effect;
    struct pm_sheet *sheet;    /* as it will be; its revision is still the head worked on */
    int64_t new_head, target;  /* PLAN_HEAD */
    struct pm_trial before;    /* PLAN_FOLD: the change needs the accord's id first */
    struct pm_pending pending; /* PLAN_FOLD */
    char *origin;              /* PLAN_FOLD: first sentence of the accord's own history */
};

static struct pm_plan *plan_new(enum plan_kind kind, const char *word)
{
    struct pm_plan *plan = pm_alloc_array(1, sizeof *plan);
    if (plan == NULL)
        return NULL;
    plan->kind = kind;
    plan->word = word;
    pm_trial_init(&plan->before, PM_PART, PM_CORE_MODE);
    pm_trial_init(&plan->pending.content, PM_PART, PM_CORE_MODE);
    return plan;
}

void pm_plan_free(struct pm_plan *plan)
{
    if (plan == NULL)
        return;
    pm_sheet_free(plan->sheet);
    pm_trial_release(&plan->before);
    pm_trial_release(&plan->pending.content);
    pm_free(plan->pending.name);
    pm_free(plan->origin);
    pm_free(plan->sentence);
    pm_free(plan->remark);
    pm_free(plan->change);
    pm_free(plan);
}

const struct pm_sheet *pm_plan_sheet(const struct pm_plan *plan)
{
    return plan->sheet;
}

const char *pm_plan_sentence(const struct pm_plan *plan)
{
    return plan->sentence;
}

const char *pm_plan_remark(const struct pm_plan *plan)
{
    return plan->remark;
}

const struct pm_effect *pm_plan_effect(const struct pm_plan *plan)
{
    return &plan->effect;
}

/* ---- remarks ---- */

/* "62.4 %" of a share in 1e-12. */
static void say_percent(struct pm_text *out, int64_t share)
{
    pm_say_amount(out, share, 10, 1);
    pm_text_add(out, " %");
}

static bool may_change_strength(enum pm_gesture_kind kind)
{
    return kind == PM_RESTRENGTH || kind == PM_SWAP || kind == PM_UNFOLD || kind == PM_BRANCH;
}

/* Told when a gesture that is about something else moved the overall strength: a person must not
 * find out at the balance. */
/* A carrier counts in one mode only. */
static enum pm_status remark_carrier(struct pm_plan *plan, const struct pm_sheet *before,
                                     const struct pm_gesture *gesture, struct pm_error *err)
{
    if (gesture->kind != PM_SET_STANCE || gesture->stance != PM_CARRIER ||
        before->trial.mode == PM_CARRIER_MODE)
        return PM_OK;
    struct pm_text text = PM_TEXT_EMPTY;
    pm_text_addf(&text, "It counts in carrier mode; the mode is %s",
                 pm_mode_word(before->trial.mode));
    plan->remark = pm_text_take(&text);
    return plan->remark != NULL ? PM_OK : pm_fail_memory(err);
}

static enum pm_status remark_strength(struct pm_plan *plan, const struct pm_sheet *before,
                                      const struct pm_gesture *gesture, struct pm_error *err)
{
    const struct pm_sheet *after = plan->sheet;
    if (!may_change_strength(gesture->kind) || after->strength == before->strength)
        return PM_OK;
    struct pm_text text = PM_TEXT_EMPTY;
    pm_text_add(&text, "Overall strength ");
    say_percent(&text, after->strength);
    pm_text_add(&text, " (was ");
    say_percent(&text, before->strength);
    pm_text_add(&text, "), solvent ");
    say_percent(&text, after->solvent_share);
    plan->remark = pm_text_take(&text);
    return plan->remark != NULL ? PM_OK : pm_fail_memory(err);
}

/* ---- gestures ---- */

static enum pm_status say_gesture(struct pm_studio *studio, struct pm_plan *plan,
                                  const struct pm_gesture *gesture, const struct pm_trial *before,
                                  struct pm_error *err)
{
    struct pm_sayer sayer;
    struct pm_text text = PM_TEXT_EMPTY;
    pm_sayer_init(&sayer, studio, plan->kind == PLAN_FOLD ? &plan->pending : NULL);
    struct pm_namer namer = pm_sayer_namer(&sayer);
    pm_gesture_say(gesture, before, &plan->sheet->trial, &plan->effect, &namer, &text);
    enum pm_status status = sayer.status;
    pm_sayer_release(&sayer);
    if (status == PM_OK) {
        plan->sentence = pm_text_take(&text);
        if (plan->sentence == NULL)
            status = PM_NOMEM;
    }
    pm_text_release(&text);
    if (status == PM_NOMEM)
        return pm_fail_memory(err);
    return status == PM_OK
               ? PM_OK
               : pm_fail(err, status, "A name in %s cannot be read.", plan->sheet->name);
}

/* A gesture that changes nothing says so, and undo stays with what was done before. */
static enum pm_status say_nothing(struct pm_plan *plan, struct pm_error *err)
{
    pm_free(plan->sentence);
    pm_free(plan->remark);
    plan->remark = NULL;
    plan->sentence = pm_strdup("Nothing is changed: it is so already");
    return plan->sentence != NULL ? PM_OK : pm_fail_memory(err);
}

static enum pm_status note_change(struct pm_plan *plan, const struct pm_trial *before,
                                  struct pm_error *err)
{
    struct pm_text change = PM_TEXT_EMPTY;
    enum pm_status status = pm_change_between(before, &plan->sheet->trial, &change, err);
    if (status == PM_OK) {
        plan->nothing = pm_trial_equal(before, &plan->sheet->trial);
        if (plan->nothing)
            status = say_nothing(plan, err);
    }
    if (status == PM_OK) {
        plan->change = pm_text_take(&change);
        if (plan->change == NULL)
            status = pm_fail_memory(err);
    }
    pm_text_release(&change);
    return status;
}

/* Works the gesture out in core and resolves the sheet. */
static enum pm_status work_out(struct pm_studio *studio, struct pm_plan *plan,
                               const struct pm_sheet *sheet, const struct pm_gesture *gesture,
                               struct pm_error *err)
{
    struct pm_trial after;
    enum pm_status status = pm_gesture_apply(gesture, &sheet->trial, &after, &plan->effect, err);
    if (status != PM_OK) {
        pm_rules_name_refusal(studio, sheet, gesture, err);
        return status;
    }
    const struct pm_pending *pending = plan->kind == PLAN_FOLD ? &plan->pending : NULL;
    status = pm_sheet_with(studio, sheet, &after, pending, &plan->sheet, err);
    pm_trial_release(&after);
    if (status != PM_OK)
        return status;
    status = say_gesture(studio, plan, gesture, &sheet->trial, err);
    if (status == PM_OK)
        status = remark_strength(plan, sheet, gesture, err);
    if (status == PM_OK && plan->remark == NULL)
        status = remark_carrier(plan, sheet, gesture, err);
    return status;
}

/* After a gesture is written there is a way back and none forth. */
static void move_on(struct pm_plan *plan)
{
    if (plan->nothing)
        return;
    plan->sheet->can_undo = true;
    plan->sheet->can_redo = false;
}

static enum pm_status finish_plan(struct pm_plan *plan, enum pm_status status, struct pm_plan **out)
{
    if (status != PM_OK) {
        pm_plan_free(plan);
        return status;
    }
    *out = plan;
    return PM_OK;
}

static enum pm_status plan_change(struct pm_studio *studio, const struct pm_sheet *sheet,
                                  const struct pm_gesture *gesture, const char *word,
                                  struct pm_plan **out, struct pm_error *err)
{
    struct pm_plan *plan = plan_new(PLAN_CHANGE, word);
    if (plan == NULL)
        return pm_fail_memory(err);
    enum pm_status status = work_out(studio, plan, sheet, gesture, err);
    if (status == PM_OK)
        status = note_change(plan, &sheet->trial, err);
    if (status == PM_OK)
        move_on(plan);
    return finish_plan(plan, status, out);
}

enum pm_status pm_plan_gesture(struct pm_studio *studio, const struct pm_sheet *sheet,
                               const struct pm_gesture *gesture, struct pm_plan **out,
                               struct pm_error *err)
{
    struct pm_gesture complete = *gesture;
    char *comment = NULL;
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_sheet_editable(sheet, err);
    if (status == PM_OK)
        status = pm_rules_comment(&complete, &comment, err);
    if (status == PM_OK)
        status = pm_rules_complete(studio, sheet, &complete, err);
    if (status == PM_OK)
        status = plan_change(studio, sheet, &complete, pm_gesture_word(gesture->kind), out, err);
    pm_free(comment);
    return pm_look_over(studio, status);
}

enum pm_status pm_plan_content(struct pm_studio *studio, const struct pm_sheet *sheet,
                               const struct pm_trial *content, int64_t parent, const char *word,
                               const char *sentence, struct pm_plan **out, struct pm_error *err)
{
    struct pm_gesture gesture = {.kind = PM_BRANCH, .content = content, .parent = parent};
    struct pm_plan *plan;
    enum pm_status status = plan_change(studio, sheet, &gesture, word, &plan, err);
    if (status != PM_OK)
        return status;
    if (plan->nothing)
        return finish_plan(plan, PM_OK, out);
    pm_free(plan->sentence);
    plan->sentence = pm_strdup(sentence);
    if (plan->sentence == NULL)
        status = pm_fail_memory(err);
    return finish_plan(plan, status, out);
}

/* ---- preview ---- */

/* What each line of the sheet is in `after`; lines that are gone become 0. Order mostly stays, so
 * the search goes on where the last line was found. */
static void parts_after(const struct pm_trial *before, const struct pm_trial *after,
                        pm_parts *parts)
{
    size_t hint = 0;
    for (size_t i = 0; i < before->count; i++) {
        parts[i] = 0;
        for (size_t tried = 0; tried < after->count; tried++, hint++) {
            hint = hint < after->count ? hint : 0;
            if (after->lines[hint].id == before->lines[i].id) {
                parts[i] = after->lines[hint++].parts;
                break;
            }
        }
    }
}

static enum pm_status preview_any(struct pm_studio *studio, const struct pm_sheet *sheet,
                                  const struct pm_gesture *gesture, pm_parts *parts,
                                  struct pm_preview *out, struct pm_error *err)
{
    struct pm_gesture complete = *gesture;
    struct pm_trial after;
    struct pm_effect effect;
    enum pm_status status = pm_rules_complete(studio, sheet, &complete, err);
    if (status == PM_OK)
        status = pm_gesture_apply(&complete, &sheet->trial, &after, &effect, err);
    if (status != PM_OK)
        return status;
    parts_after(&sheet->trial, &after, parts);
    out->now = effect.now;
    out->total = pm_trial_total(&after);
    if (gesture->kind == PM_ADD)
        out->place = (size_t)pm_trial_find(&after, effect.line);
    pm_trial_release(&after);
    return PM_OK;
}

/* Amounts need nothing of the library. */
static enum pm_status preview_amount(const struct pm_sheet *sheet, const struct pm_gesture *gesture,
                                     pm_parts *parts, struct pm_preview *out, struct pm_error *err)
{
    enum pm_status status = pm_gesture_preview(gesture, &sheet->trial, parts, err);
    for (size_t i = 0; status == PM_OK && i < sheet->trial.count; i++) {
        out->total += parts[i];
        if (sheet->trial.lines[i].id == gesture->line)
            out->now = parts[i];
    }
    return status;
}

enum pm_status pm_plan_preview(struct pm_studio *studio, const struct pm_sheet *sheet,
                               const struct pm_gesture *gesture, pm_parts *parts,
                               struct pm_preview *out, struct pm_error *err)
{
    enum pm_gesture_kind kind = gesture->kind;
    struct pm_preview seen = {0};
    enum pm_status status = pm_sheet_editable(sheet, err);
    if (status == PM_OK && pm_gesture_sets_amount(kind))
        status = preview_amount(sheet, gesture, parts, &seen, err);
    else if (status == PM_OK)
        status = preview_any(studio, sheet, gesture, parts, &seen, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < sheet->trial.count; i++) {
        const struct pm_line *line = &sheet->trial.lines[i];
        seen.gave_way += line->id != gesture->line && parts[i] != line->parts;
    }
    *out = seen;
    return PM_OK;
}

/* ---- fold ---- */

static enum pm_status check_free_name(struct pm_studio *studio, const char *name,
                                      struct pm_error *err)
{
    int64_t id;
    enum pm_status status = pm_formula_by_name(studio->library, name, &id, err);
    if (status == PM_MISSING) {
        if (err != NULL)
            pm_error_clear(err);
        return PM_OK;
    }
    return status == PM_OK
               ? pm_fail(err, PM_EXISTS, "A formula called \"%s\" is there already.", name)
               : status;
}

static enum pm_status prepare_fold(struct pm_studio *studio, struct pm_plan *plan,
                                   const struct pm_sheet *sheet, const char *name,
                                   const int64_t *lines, size_t count, struct pm_error *err)
{
    struct pm_trial content;
    enum pm_status status = pm_rules_formula_name(name, &plan->pending.name, err);
    if (status == PM_OK)
        status = check_free_name(studio, plan->pending.name, err);
    if (status == PM_OK)
        status = pm_fold_content(&sheet->trial, lines, count, sheet->trial.base, &content, err);
    if (status != PM_OK)
        return status;
    pm_trial_release(&plan->pending.content);
    plan->pending.content = content;
    pm_trial_release(&plan->before);
    status = pm_trial_copy(&sheet->trial, &plan->before, err);
    if (status != PM_OK)
        return status;
    struct pm_text text = PM_TEXT_EMPTY;
    pm_text_addf(&text, "Folded from %s", sheet->name);
    plan->origin = pm_text_take(&text);
    pm_text_addf(&text, "%s/1 was made; it stays when this is undone", plan->pending.name);
    plan->remark = pm_text_take(&text);
    return plan->origin != NULL && plan->remark != NULL ? PM_OK : pm_fail_memory(err);
}

static struct pm_gesture fold_gesture(const int64_t *lines, size_t count)
{
    return (struct pm_gesture){
        .kind = PM_FOLD,
        .lines = lines,
        .line_count = count,
        .fresh = {.kind = PM_LINE_ACCORD, .ref = PM_PENDING_REF, .strength = PM_NEAT}};
}

enum pm_status pm_plan_may_fold(const struct pm_sheet *sheet, const int64_t *lines, size_t count,
                                struct pm_error *err)
{
    const struct pm_gesture gesture = fold_gesture(lines, count);
    struct pm_trial after;
    enum pm_status status = pm_sheet_editable(sheet, err);
    if (status != PM_OK)
        return status;
    status = pm_gesture_apply(&gesture, &sheet->trial, &after, NULL, err);
    pm_trial_release(&after);
    return status;
}

enum pm_status pm_plan_fold(struct pm_studio *studio, const struct pm_sheet *sheet,
                            const char *name, const int64_t *lines, size_t count,
                            struct pm_plan **out, struct pm_error *err)
{
    const struct pm_gesture gesture = fold_gesture(lines, count);
    enum pm_status status = pm_sheet_editable(sheet, err);
    if (status != PM_OK)
        return status;
    struct pm_plan *plan = plan_new(PLAN_FOLD, pm_gesture_word(PM_FOLD));
    if (plan == NULL)
        return pm_fail_memory(err);
    status = pm_studio_look_begin(studio, err);
    if (status == PM_OK) {
        status = prepare_fold(studio, plan, sheet, name, lines, count, err);
        if (status == PM_OK)
            status = work_out(studio, plan, sheet, &gesture, err);
        pm_studio_look_end(studio);
    }
    if (status == PM_OK)
        move_on(plan);
    return finish_plan(plan, status, out);
}

/* ---- undo and redo ---- */

/* The line on which a step back or forth shows most: one that came back, else the one whose parts
 * moved furthest. */
static int64_t most_moved(const struct pm_trial *before, const struct pm_trial *after)
{
    int64_t line = 0;
    pm_parts most = -1;
    for (size_t i = 0; i < after->count; i++) {
        const struct pm_line *now = &after->lines[i];
        /* Order mostly stays, so the same place is worth a look before searching. */
        long place = i < before->count && before->lines[i].id == now->id
                         ? (long)i
                         : pm_trial_find(before, now->id);
        if (place < 0)
            return now->id;
        pm_parts moved = now->parts - before->lines[place].parts;
        if (moved < 0)
            moved = -moved;
        if (moved > most) {
            most = moved;
            line = now->id;
        }
    }
    return line;
}

static void note_moves(struct pm_plan *plan, const struct pm_trial *before)
{
    const struct pm_trial *after = &plan->sheet->trial;
    struct pm_effect *effect = &plan->effect;
    effect->line = most_moved(before, after);
    long was = pm_trial_find(before, effect->line);
    long now = pm_trial_find(after, effect->line);
    effect->was = was < 0 ? 0 : before->lines[was].parts;
    effect->now = now < 0 ? 0 : after->lines[now].parts;
}

static enum pm_status say_step(struct pm_plan *plan, const char *what, const char *sentence,
                               struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    pm_text_addf(&text, "%s: %s", what, sentence);
    plan->sentence = pm_text_take(&text);
    return plan->sentence != NULL ? PM_OK : pm_fail_memory(err);
}

/* Applies one stored change to the sheet's content. */
static enum pm_status step(struct pm_studio *studio, const struct pm_sheet *sheet,
                           const struct pm_revision *revision, enum pm_direction direction,
                           struct pm_plan **out, struct pm_error *err)
{
    bool back = direction == PM_BACK;
    struct pm_trial content;
    int64_t child = revision->id;
    struct pm_plan *plan = plan_new(PLAN_HEAD, back ? "undo" : "redo");
    if (plan == NULL)
        return pm_fail_memory(err);
    plan->target = revision->id;
    plan->new_head = back ? revision->parent : revision->id;
    enum pm_status status = pm_trial_copy(&sheet->trial, &content, err);
    if (status == PM_OK) {
        status = revision->change != NULL
                     ? pm_change_apply(revision->change, direction, &content, err)
                     : pm_fail(err, PM_DAMAGED, "Revision %lld of %s has lost what it changed.",
                               (long long)revision->number, sheet->name);
        if (status == PM_OK)
            status = pm_sheet_with(studio, sheet, &content, NULL, &plan->sheet, err);
        pm_trial_release(&content);
    }
    if (status == PM_OK)
        status = say_step(plan, back ? "Undid" : "Redid", revision->sentence, err);
    if (status == PM_OK && !back)
        status =
            pm_revision_newest_child(studio->library, sheet->formula, revision->id, &child, err);
    if (status == PM_OK) {
        plan->sheet->can_undo = plan->new_head != 0;
        plan->sheet->can_redo = child != 0;
        note_moves(plan, &sheet->trial);
    }
    return finish_plan(plan, status, out);
}

static enum pm_status plan_step(struct pm_studio *studio, const struct pm_sheet *sheet,
                                int64_t revision, enum pm_direction direction, struct pm_plan **out,
                                struct pm_error *err)
{
    struct pm_arena arena = {0};
    struct pm_revision row;
    enum pm_status status = pm_revision_get(studio->library, revision, &arena, &row, err);
    if (status == PM_OK)
        status = step(studio, sheet, &row, direction, out, err);
    pm_arena_release(&arena);
    return status;
}

enum pm_status pm_plan_undo(struct pm_studio *studio, const struct pm_sheet *sheet,
                            struct pm_plan **out, struct pm_error *err)
{
    enum pm_status status = pm_sheet_editable(sheet, err);
    if (status != PM_OK)
        return status;
    if (sheet->revision == 0)
        return pm_fail(err, PM_REFUSED, "Nothing to undo: this is where %s began.", sheet->name);
    status = pm_studio_look_begin(studio, err);
    return status == PM_OK
               ? pm_look_over(studio, plan_step(studio, sheet, sheet->revision, PM_BACK, out, err))
               : status;
}

static enum pm_status plan_redo(struct pm_studio *studio, const struct pm_sheet *sheet,
                                struct pm_plan **out, struct pm_error *err)
{
    int64_t child;
    enum pm_status status =
        pm_revision_newest_child(studio->library, sheet->formula, sheet->revision, &child, err);
    if (status != PM_OK)
        return status;
    if (child == 0)
        return pm_fail(err, PM_REFUSED, "Nothing to redo: this is the newest state of %s.",
                       sheet->name);
    return plan_step(studio, sheet, child, PM_FORTH, out, err);
}

enum pm_status pm_plan_redo(struct pm_studio *studio, const struct pm_sheet *sheet,
                            struct pm_plan **out, struct pm_error *err)
{
    enum pm_status status = pm_sheet_editable(sheet, err);
    if (status == PM_OK)
        status = pm_studio_look_begin(studio, err);
    return status == PM_OK ? pm_look_over(studio, plan_redo(studio, sheet, out, err)) : status;
}

/* ---- writing ---- */

static enum pm_status write_change(struct pm_studio *studio, const struct pm_plan *plan,
                                   int64_t *revision, struct pm_error *err)
{
    const struct pm_sheet *sheet = plan->sheet;
    return pm_draft_write(studio->library, sheet->trial_id, sheet->revision, &sheet->trial,
                          plan->word, plan->sentence, plan->change, revision, err);
}

static enum pm_status write_head(struct pm_studio *studio, const struct pm_plan *plan,
                                 struct pm_error *err)
{
    const struct pm_sheet *sheet = plan->sheet;
    return pm_draft_move_head(studio->library, sheet->trial_id, sheet->revision, &sheet->trial,
                              plan->new_head, plan->word, plan->target, plan->sentence, err);
}

/* The new accord with its first kept trial; inside the caller's transaction. */
static enum pm_status write_accord(struct pm_studio *studio, const struct pm_plan *plan,
                                   int64_t *formula, int64_t *trial, struct pm_error *err)
{
    const struct pm_trial *content = &plan->pending.content;
    struct pm_trial empty;
    struct pm_text change = PM_TEXT_EMPTY;
    struct pm_text kept = PM_TEXT_EMPTY;
    int64_t draft, revision, number;
    enum pm_status status = pm_formula_insert(studio->library, plan->pending.name, true,
                                              content->base, content->mode, formula, err);
    if (status == PM_OK)
        status = pm_trial_by_number(studio->library, *formula, 0, &draft, err);
    if (status != PM_OK)
        return status;
    pm_trial_init(&empty, content->base, content->mode);
    status = pm_change_between(&empty, content, &change, err);
    pm_trial_release(&empty);
    pm_text_addf(&kept, "Kept as %s/1", plan->pending.name);
    if (status == PM_OK && !pm_text_ok(&kept))
        status = pm_fail_memory(err);
    if (status == PM_OK)
        status = pm_draft_write(studio->library, draft, 0, content, plan->word, plan->origin,
                                pm_text_get(&change), &revision, err);
    if (status == PM_OK)
        status =
            pm_draft_keep(studio->library, draft, revision, NULL, pm_text_get(&kept), &number, err);
    if (status == PM_OK)
        status = pm_trial_by_number(studio->library, *formula, number, trial, err);
    pm_text_release(&kept);
    pm_text_release(&change);
    return status;
}

/* Exchanges the ref of the accord line that stands for the new accord. */
static struct pm_sheet_line *aim_accord(struct pm_sheet *sheet, int64_t from, int64_t to)
{
    for (size_t i = 0; i < sheet->trial.count; i++) {
        struct pm_line *line = &sheet->trial.lines[i];
        if (line->kind == PM_LINE_ACCORD && line->ref == from) {
            line->ref = to;
            return &sheet->lines[i];
        }
    }
    return NULL;
}

static enum pm_status write_fold(struct pm_studio *studio, struct pm_plan *plan, int64_t *revision,
                                 struct pm_error *err)
{
    struct pm_text change = PM_TEXT_EMPTY;
    struct pm_sheet_line *line = NULL;
    int64_t formula = 0, trial = 0;
    enum pm_status status = pm_library_begin(studio->library, err);
    if (status != PM_OK)
        return status;
    status = write_accord(studio, plan, &formula, &trial, err);
    if (status == PM_OK) {
        line = aim_accord(plan->sheet, PM_PENDING_REF, trial);
        status = pm_change_between(&plan->before, &plan->sheet->trial, &change, err);
    }
    if (status == PM_OK) {
        const struct pm_sheet *sheet = plan->sheet;
        status = pm_draft_write(studio->library, sheet->trial_id, sheet->revision, &sheet->trial,
                                plan->word, plan->sentence, pm_text_get(&change), revision, err);
    }
    pm_text_release(&change);
    if (status == PM_OK)
        status = pm_library_commit(studio->library, err);
    else
        pm_library_abort(studio->library);
    if (status != PM_OK && line != NULL)
        aim_accord(plan->sheet, trial, PM_PENDING_REF);
    else if (line != NULL)
        line->accord_formula = formula;
    return status;
}

enum pm_status pm_plan_commit(struct pm_studio *studio, struct pm_plan *plan,
                              struct pm_sheet **sheet, struct pm_error *err)
{
    int64_t revision = plan->new_head;
    enum pm_status status = PM_OK;
    if (plan->spent)
        return pm_fail(err, PM_STALE, "This has been written already.");
    if (plan->nothing)
        revision = plan->sheet->revision;
    else if (plan->kind == PLAN_CHANGE)
        status = write_change(studio, plan, &revision, err);
    else if (plan->kind == PLAN_FOLD)
        status = write_fold(studio, plan, &revision, err);
    else
        status = write_head(studio, plan, err);
    if (status != PM_OK)
        return status;
    plan->spent = true;
    plan->sheet->revision = revision;
    if (sheet != NULL) {
        *sheet = plan->sheet;
        plan->sheet = NULL;
    }
    return PM_OK;
}
