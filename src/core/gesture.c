/* SPDX-License-Identifier: MIT */
/*
 * The door to all gestures: copy, do, and on refusal throw the copy away, so that a failed gesture
 * cannot change anything.
 */
#include "permille/core/gesture.h"

#include "gesture_parts.h"

#include <string.h>

static pm_gesture_part *const acts[] = {
    [PM_SET] = pm_do_set,
    [PM_NUDGE] = pm_do_set,
    [PM_SCALE] = pm_do_set,
    [PM_ADD] = pm_do_add,
    [PM_DROP] = pm_do_drop,
    [PM_SWAP] = pm_do_swap,
    [PM_SET_STANCE] = pm_do_stance,
    [PM_FORM_CORE] = pm_do_form_core,
    [PM_BREAK_CORE] = pm_do_break_core,
    [PM_LEAVE_CORE] = pm_do_leave_core,
    [PM_SET_MODE] = pm_do_mode,
    [PM_SET_BASE] = pm_do_base,
    [PM_SETTLE] = pm_do_settle,
    [PM_RESTRENGTH] = pm_do_restrength,
    [PM_FOLD] = pm_do_fold,
    [PM_UNFOLD] = pm_do_unfold,
    [PM_MOVE] = pm_do_move,
    [PM_COMMENT] = pm_do_comment,
    [PM_BRANCH] = pm_do_branch,
};

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
    if ((size_t)gesture->kind >= sizeof acts / sizeof *acts)
        return pm_fail(err, PM_INVALID, "There is no such gesture.");
    struct pm_trial made;
    enum pm_status status = pm_trial_copy(before, &made, err);
    if (status != PM_OK)
        return status;
    done.was = parts_of(before, gesture->line);
    struct pm_work work = {gesture, &made, &done, err};
    status = acts[gesture->kind](&work);
    if (status != PM_OK) {
        pm_trial_release(&made);
        return status;
    }
    made.settled = pm_trial_total(&made) == made.base;
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

/* What is poured stays as it is while a resting line is set; whether it can be is seen by doing. */
static enum pm_status preview_rested(const struct pm_gesture *gesture,
                                     const struct pm_trial *before, pm_parts *out,
                                     struct pm_error *err)
{
    struct pm_trial after;
    enum pm_status status = pm_gesture_apply(gesture, before, &after, NULL, err);
    for (size_t i = 0; status == PM_OK && i < before->count; i++)
        out[i] = after.lines[i].parts;
    pm_trial_release(&after);
    return status;
}

enum pm_status pm_gesture_preview(const struct pm_gesture *gesture, const struct pm_trial *before,
                                  pm_parts *out, struct pm_error *err)
{
    if (!pm_gesture_sets_amount(gesture->kind))
        return pm_fail(err, PM_INVALID, "Only amounts are previewed so.");
    long place = pm_trial_find(before, gesture->line);
    if (place < 0)
        return pm_fail(err, PM_MISSING, "There is no such line in this trial.");
    if (before->lines[place].stance == PM_RESTING)
        return preview_rested(gesture, before, out, err);
    pm_parts parts = 0;
    struct pm_balancing sheet;
    enum pm_status status = pm_amount_target(gesture, before->lines[place].parts, &parts, err);
    if (status == PM_OK)
        status = pm_balance_open(&sheet, before, err);
    if (status != PM_OK)
        return status;
    struct pm_outcome outcome;
    status = pm_balance_set(&sheet, (size_t)place, parts, &outcome, err);
    if (status == PM_OK)
        memcpy(out, sheet.parts, before->count * sizeof *out);
    pm_balance_close(&sheet);
    return status;
}
