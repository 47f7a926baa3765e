/* SPDX-License-Identifier: MIT */
/*
 * The door to all gestures: copy, do, and on refusal throw the copy away, so that a failed gesture
 * cannot change anything. What the gesture_*.c files share is here too.
 */
#include "permille/core/gesture.h"

#include "gesture_parts.h"
#include "permille/base/mem.h"

#include <string.h>

struct kind_entry {
    const char *word;
    pm_gesture_part *act;
};

static const struct kind_entry kinds[] = {
    [PM_SET] = {"set", pm_do_set},
    [PM_NUDGE] = {"nudge", pm_do_set},
    [PM_SCALE] = {"scale", pm_do_set},
    [PM_ADD] = {"add", pm_do_add},
    [PM_DROP] = {"drop", pm_do_drop},
    [PM_SWAP] = {"swap", pm_do_swap},
    [PM_SET_STANCE] = {"set-stance", pm_do_stance},
    [PM_FORM_CORE] = {"form-core", pm_do_form_core},
    [PM_BREAK_CORE] = {"break-core", pm_do_break_core},
    [PM_LEAVE_CORE] = {"leave-core", pm_do_leave_core},
    [PM_SET_MODE] = {"set-mode", pm_do_mode},
    [PM_SET_BASE] = {"set-base", pm_do_base},
    [PM_SETTLE] = {"settle", pm_do_settle},
    [PM_RESTRENGTH] = {"restrength", pm_do_restrength},
    [PM_FOLD] = {"fold", pm_do_fold},
    [PM_UNFOLD] = {"unfold", pm_do_unfold},
    [PM_MOVE] = {"move", pm_do_move},
    [PM_COMMENT] = {"comment", pm_do_comment},
    [PM_BRANCH] = {"branch", pm_do_branch},
};

const char *pm_gesture_word(enum pm_gesture_kind kind)
{
    return kinds[kind].word;
}

static pm_parts parts_of(const struct pm_trial *trial, int64_t id)
{
    long place = id == 0 ? -1 : pm_trial_find(trial, id);
    return place < 0 ? 0 : trial->lines[place].parts;
}

enum pm_status pm_gesture_apply(const struct pm_gesture *gesture, const struct pm_trial *before,
                                struct pm_trial *after, struct pm_effect *effect,
                                struct pm_error *err)
{
    struct pm_effect done;
    memset(&done, 0, sizeof done);
    pm_trial_init(after, before->base, before->mode);
    if ((size_t)gesture->kind >= sizeof kinds / sizeof *kinds)
        return pm_fail(err, PM_INVALID, "There is no such gesture.");
    struct pm_trial made;
    enum pm_status status = pm_trial_copy(before, &made, err);
    if (status != PM_OK)
        return status;
    done.was = parts_of(before, gesture->line);
    struct pm_work work = {gesture, &made, &done, err};
    status = kinds[gesture->kind].act(&work);
    if (status != PM_OK) {
        pm_trial_release(&made);
        return status;
    }
    if (pm_trial_total(&made) == 0)
        made.settled = false; /* an empty sheet is filled anew */
#ifdef PM_CHECK_GESTURES
    status = pm_gesture_check(gesture, before, &made, err);
    if (status != PM_OK) {
        pm_trial_release(&made);
        return status;
    }
#endif
    done.settled_now = made.settled && !before->settled && gesture->kind != PM_BRANCH;
    done.now = parts_of(&made, gesture->kind == PM_ADD ? done.line : gesture->line);
    *after = made;
    if (effect != NULL)
        *effect = done;
    return PM_OK;
}

enum pm_status pm_gesture_preview_set(const struct pm_trial *before, int64_t line, pm_parts parts,
                                      pm_parts *out, struct pm_error *err)
{
    long place = pm_trial_find(before, line);
    if (place < 0)
        return pm_fail(err, PM_MISSING, "There is no such line in this trial.");
    struct pm_balance sheet;
    enum pm_status status = pm_balance_open(&sheet, before, err);
    if (status != PM_OK)
        return status;
    struct pm_outcome outcome;
    status = pm_balance_set(&sheet, (size_t)place, parts, &outcome, err);
    if (status == PM_OK)
        memcpy(out, sheet.parts, before->count * sizeof *out);
    pm_balance_close(&sheet);
    return status;
}

/* ---- shared by the gestures ---- */

enum pm_status pm_work_line(const struct pm_work *work, int64_t id, size_t *place)
{
    long found = pm_trial_find(work->after, id);
    if (found < 0)
        return pm_fail(work->err, PM_MISSING, "There is no such line in this trial.");
    *place = (size_t)found;
    return PM_OK;
}

enum pm_status pm_choose_lines(const struct pm_trial *trial, const int64_t *ids, size_t count,
                               bool *chosen, struct pm_error *err)
{
    if (count == 0)
        return pm_fail(err, PM_INVALID, "No lines are chosen.");
    for (size_t i = 0; i < count; i++) {
        long place = pm_trial_find(trial, ids[i]);
        if (place < 0)
            return pm_fail(err, PM_MISSING, "There is no such line in this trial.");
        if (chosen[place])
            return pm_fail(err, PM_INVALID, "Line %ld is chosen twice.", place + 1);
        chosen[place] = true;
    }
    return PM_OK;
}

enum pm_status pm_work_balance(const struct pm_work *work, size_t subject, pm_operation *operation,
                               void *context)
{
    struct pm_trial *after = work->after;
    struct pm_balance sheet;
    enum pm_status status = pm_balance_open(&sheet, after, work->err);
    if (status != PM_OK)
        return status;
    struct pm_outcome outcome;
    status = operation(&sheet, context, &outcome, work->err);
    if (status == PM_OK) {
        for (size_t i = 0; i < after->count; i++) {
            work->effect->gave_way += i != subject && sheet.parts[i] != after->lines[i].parts;
            after->lines[i].parts = sheet.parts[i];
        }
        after->settled = outcome.settled;
        work->effect->by_carrier = outcome.by_carrier && work->effect->gave_way > 0;
        work->effect->all_scaled = outcome.all_scaled;
    }
    pm_balance_close(&sheet);
    return status;
}

enum pm_status pm_fresh_check(const struct pm_line *fresh, struct pm_error *err)
{
    if ((fresh->kind != PM_LINE_MATERIAL && fresh->kind != PM_LINE_ACCORD) || fresh->ref < 1)
        return pm_fail(err, PM_INVALID, "A line needs a material or an accord.");
    if (fresh->strength < 1 || fresh->strength > PM_NEAT)
        return pm_fail(err, PM_INVALID, "A strength is more than 0 and at most 100 %%.");
    if (fresh->kind == PM_LINE_ACCORD && fresh->strength != PM_NEAT)
        return pm_fail(err, PM_INVALID, "An accord is always used neat.");
    if (fresh->strength < PM_NEAT && fresh->solvent < 1)
        return pm_fail(err, PM_INVALID, "A dilution needs a solvent.");
    if (fresh->strength == PM_NEAT && fresh->solvent != 0)
        return pm_fail(err, PM_INVALID, "What is neat has no solvent.");
    return PM_OK;
}
