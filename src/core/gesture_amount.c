/* SPDX-License-Identifier: MIT */
/*
 * Gestures on amounts: set, nudge, scale, add, drop, and those on the whole total: mode, base,
 * settle.
 */
#include "gesture_parts.h"

/* The largest power of ten not above parts (> 0). */
static pm_parts decade(pm_parts parts)
{
    pm_parts power = 1;
    while (parts / power >= 10)
        power *= 10;
    return power;
}

pm_parts pm_nudge_step(pm_parts parts)
{
    if (parts <= 0)
        return PM_PART / 10;
    pm_parts step = decade(parts) / 10;
    return step > 0 ? step : 1;
}

static pm_parts nudge_down(pm_parts parts)
{
    /* Just at a power of ten the step down is that of the amounts below it, so that a nudge up and
     * a nudge down undo each other. */
    pm_parts step = pm_nudge_step(parts > 1 ? parts - 1 : parts);
    return parts > step ? parts - step : 0;
}

static pm_parts nudged(pm_parts parts, int steps)
{
    /* Ends soon whatever `steps` is: a step is a hundredth of the amount or more. */
    while (steps > 0 && parts <= PM_PARTS_MAX) {
        parts += pm_nudge_step(parts);
        steps--;
    }
    while (steps < 0 && parts > 0) {
        parts = nudge_down(parts);
        steps++;
    }
    return parts;
}

/* What a nudge or a scaling comes to. PM_INVALID when it leaves the range. */
static enum pm_status find_target(const struct pm_gesture *gesture, pm_parts was, pm_parts *out,
                                  struct pm_error *err)
{
    *out = gesture->parts;
    if (gesture->kind == PM_NUDGE) {
        *out = nudged(was, gesture->steps);
    } else if (gesture->kind == PM_SCALE) {
        if (gesture->numerator <= 0 || gesture->denominator <= 0)
            return pm_fail(err, PM_INVALID, "A line can only be scaled by more than nothing.");
        if (!pm_muldiv(was, gesture->numerator, gesture->denominator, out))
            *out = PM_PARTS_MAX + 1;
    }
    if (*out < 0 || *out > PM_PARTS_MAX)
        return pm_fail(err, PM_INVALID, "Parts must be between 0 and 1000000.");
    return PM_OK;
}

struct set_to {
    size_t place;
    pm_parts parts;
};

struct dropped {
    size_t place;
    size_t rest; /* some line of the core it was in, or PM_NO_PLACE */
};

static enum pm_status run_set(struct pm_balance *sheet, void *context, struct pm_outcome *outcome,
                              struct pm_error *err)
{
    const struct set_to *to = context;
    return pm_balance_set(sheet, to->place, to->parts, outcome, err);
}

static enum pm_status run_drop(struct pm_balance *sheet, void *context, struct pm_outcome *outcome,
                               struct pm_error *err)
{
    const struct dropped *dropped = context;
    return pm_balance_drop(sheet, dropped->place, dropped->rest, outcome, err);
}

static enum pm_status run_settle(struct pm_balance *sheet, void *context,
                                 struct pm_outcome *outcome, struct pm_error *err)
{
    const bool *by_carrier = context;
    return pm_balance_settle(sheet, *by_carrier, outcome, err);
}

static enum pm_status run_rescale(struct pm_balance *sheet, void *context,
                                  struct pm_outcome *outcome, struct pm_error *err)
{
    const pm_parts *base = context;
    return pm_balance_rescale(sheet, *base, outcome, err);
}

enum pm_status pm_do_set(const struct pm_work *work)
{
    struct set_to to = {0, 0};
    enum pm_status status = pm_work_line(work, work->gesture->line, &to.place);
    if (status == PM_OK) {
        status =
            find_target(work->gesture, work->after->lines[to.place].parts, &to.parts, work->err);
    }
    if (status != PM_OK)
        return status;
    work->effect->line = work->gesture->line;
    return pm_work_balance(work, to.place, run_set, &to);
}

enum pm_status pm_do_add(const struct pm_work *work)
{
    const struct pm_gesture *gesture = work->gesture;
    enum pm_status status = pm_fresh_check(&gesture->fresh, work->err);
    if (status != PM_OK)
        return status;
    if (gesture->fresh.stance != PM_FREE && gesture->fresh.stance != PM_HELD)
        return pm_fail(work->err, PM_INVALID, "A line is added free or held.");
    struct pm_line line = gesture->fresh;
    line.id = 0;
    line.parts = 0;
    line.core = 0;
    line.weight = 0;
    size_t count = work->after->count;
    struct set_to to = {gesture->place < count ? gesture->place : count, gesture->parts};
    status = pm_trial_insert(work->after, to.place, &line, work->err);
    if (status != PM_OK)
        return status;
    work->effect->line = work->after->lines[to.place].id;
    return pm_work_balance(work, to.place, run_set, &to);
}

enum pm_status pm_do_drop(const struct pm_work *work)
{
    struct pm_trial *after = work->after;
    size_t place = 0;
    enum pm_status status = pm_work_line(work, work->gesture->line, &place);
    if (status != PM_OK)
        return status;
    if (after->count > 1) {
        if (after->lines[place].stance == PM_CARRIER && after->mode == PM_CARRIER_MODE &&
            after->settled) {
            return pm_fail(work->err, PM_REFUSED,
                           "This line is the carrier; make another line the carrier first.");
        }
        struct dropped dropped = {place, pm_core_leave(after, place)};
        status = pm_work_balance(work, place, run_drop, &dropped);
    }
    if (status == PM_OK) {
        pm_trial_remove(after, place);
        size_t next = place < after->count ? place : after->count - 1;
        work->effect->line = after->count > 0 ? after->lines[next].id : 0;
    }
    return status;
}

enum pm_status pm_do_mode(const struct pm_work *work)
{
    struct pm_trial *after = work->after;
    enum pm_mode mode = work->gesture->mode;
    if (mode != PM_SHARE && mode != PM_CARRIER_MODE && mode != PM_OPEN)
        return pm_fail(work->err, PM_INVALID, "There is no such mode.");
    bool keeps = after->settled || pm_trial_total(after) >= after->base;
    after->mode = mode;
    if (mode == PM_OPEN || !keeps || after->count == 0)
        return PM_OK;
    bool by_carrier = mode == PM_CARRIER_MODE;
    return pm_work_balance(work, PM_NO_PLACE, run_settle, &by_carrier);
}

enum pm_status pm_do_base(const struct pm_work *work)
{
    pm_parts base = work->gesture->parts;
    if (base < 1 || base > PM_PARTS_MAX)
        return pm_fail(work->err, PM_INVALID, "A base is more than 0 and at most 1000000 parts.");
    enum pm_status status = pm_work_balance(work, PM_NO_PLACE, run_rescale, &base);
    if (status == PM_OK)
        work->after->base = base;
    return status;
}

enum pm_status pm_do_settle(const struct pm_work *work)
{
    bool by_carrier = work->after->mode == PM_CARRIER_MODE;
    return pm_work_balance(work, PM_NO_PLACE, run_settle, &by_carrier);
}
