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

/* To the next round number: what lies behind the second digit goes first. */
static pm_parts nudge_up(pm_parts parts)
{
    const pm_parts step = pm_nudge_step(parts);
    return parts / step * step + step;
}

/* The same downwards; from a power of ten on by the finer steps below it. */
static pm_parts nudge_down(pm_parts parts)
{
    const pm_parts step = pm_nudge_step(parts), tail = parts % step;
    if (tail > 0)
        return parts - tail;
    if (parts > decade(parts))
        return parts - step;
    return parts - (step > 10 ? step / 10 : 1);
}

static pm_parts nudged(pm_parts parts, int steps)
{
    /* Ends soon whatever `steps` is: a step is a hundredth of the amount or more. */
    while (steps > 0 && parts <= PM_PARTS_MAX) {
        parts = nudge_up(parts);
        steps--;
    }
    while (steps < 0 && parts > 0) {
        parts = nudge_down(parts);
        steps++;
    }
    return parts;
}

enum pm_status pm_amount_target(const struct pm_gesture *gesture, pm_parts was, pm_parts *out,
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
    if (gesture->kind == PM_SCALE && *out == 0 && was > 0) {
        return pm_fail(err, PM_REFUSED,
                       "That comes to less than a millionth of a part; the least is 0.000001.");
    }
    return PM_OK;
}

static enum pm_status run_settle(struct pm_balancing *sheet, void *context,
                                 struct pm_outcome *outcome, struct pm_error *err)
{
    (void)context;
    return pm_balance_settle(sheet, outcome, err);
}

static enum pm_status run_rescale(struct pm_balancing *sheet, void *context,
                                  struct pm_outcome *outcome, struct pm_error *err)
{
    const pm_parts *base = context;
    return pm_balance_rescale(sheet, *base, outcome, err);
}

/* A resting line is set to what it comes back with; a core keeps its ratio. */
static enum pm_status set_rested(const struct pm_work *work, size_t place, pm_parts parts)
{
    struct pm_trial *after = work->after;
    int core = after->lines[place].core;
    struct pm_weight of = core != 0 ? pm_line_poured(&after->lines[place]) : pm_weight_of(1);
    after->lines[place].rested = parts;
    for (size_t i = 0; i < after->count && core != 0; i++) {
        struct pm_line *line = &after->lines[i];
        if (i == place || line->core != core)
            continue;
        struct pm_weight part = pm_weight_times(pm_weight_of(parts), pm_line_poured(line));
        line->rested = pm_weight_round(pm_weight_over(part, of), 0);
        if (line->rested > PM_PARTS_MAX)
            return pm_fail(work->err, PM_REFUSED,
                           "The rest of the core would exceed a million parts.");
    }
    return PM_OK;
}

enum pm_status pm_do_set(const struct pm_work *work)
{
    struct pm_set_to to = {0, 0};
    enum pm_status status = pm_work_line(work, work->gesture->line, &to.place);
    if (status != PM_OK)
        return status;
    const struct pm_line *line = &work->after->lines[to.place];
    bool rests = line->stance == PM_RESTING;
    status =
        pm_amount_target(work->gesture, rests ? line->rested : line->parts, &to.parts, work->err);
    if (status != PM_OK)
        return status;
    work->effect->line = work->gesture->line;
    if (!rests)
        return pm_work_balance(work, to.place, pm_run_set, &to);
    return set_rested(work, to.place, to.parts);
}

/* Members of a core that stand next to each other stay so: what is put among them comes behind the
 * last of them. */
static size_t place_for_new(const struct pm_trial *trial, size_t place)
{
    if (place >= trial->count)
        return trial->count;
    while (place > 0 && place < trial->count && trial->lines[place].core != 0 &&
           trial->lines[place].core == trial->lines[place - 1].core)
        place++;
    return place;
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
    line.rested = 0;
    line.share = pm_weight_of(0);
    struct pm_set_to to = {place_for_new(work->after, gesture->place), gesture->parts};
    status = pm_trial_insert(work->after, to.place, &line, work->err);
    if (status != PM_OK)
        return status;
    work->effect->line = work->after->lines[to.place].id;
    return pm_work_balance(work, to.place, pm_run_set, &to);
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
        struct pm_dropped dropped = {place, pm_core_leave(after, place)};
        status = pm_work_balance(work, place, pm_run_drop, &dropped);
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
    if (mode != PM_CORE_MODE && mode != PM_SHARE && mode != PM_CARRIER_MODE && mode != PM_OPEN)
        return pm_fail(work->err, PM_INVALID, "There is no such mode.");
    after->mode = mode;
    if (mode == PM_OPEN || pm_trial_total(after) <= after->base)
        return PM_OK;
    return pm_work_balance(work, PM_NO_PLACE, run_settle, NULL);
}

/* Whether it is the member that its resting core comes back by: the first of the largest. */
static bool leads_resting_core(const struct pm_trial *trial, size_t place)
{
    const struct pm_line *line = &trial->lines[place];
    if (line->core == 0 || line->stance != PM_RESTING)
        return false;
    for (size_t i = 0; i < trial->count; i++)
        if (trial->lines[i].core == line->core &&
            (trial->lines[i].rested > line->rested ||
             (i < place && trial->lines[i].rested == line->rested)))
            return false;
    return true;
}

/* Each rounded by itself they would not be in the core's ratio any more. */
static enum pm_status keep_resting_cores(const struct pm_work *work)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < work->after->count && status == PM_OK; i++)
        if (leads_resting_core(work->after, i))
            status = set_rested(work, i, work->after->lines[i].rested);
    return status;
}

enum pm_status pm_do_base(const struct pm_work *work)
{
    pm_parts base = work->gesture->parts;
    if (base < 1 || base > PM_PARTS_MAX)
        return pm_fail(work->err, PM_INVALID, "A base is more than 0 and at most 1000000 parts.");
    pm_parts was = work->after->base;
    enum pm_status status = pm_work_balance(work, PM_NO_PLACE, run_rescale, &base);
    if (status != PM_OK)
        return status;
    work->after->base = base;
    for (size_t i = 0; i < work->after->count; i++) {
        struct pm_line *line = &work->after->lines[i];
        if (!pm_muldiv(line->rested, base, was, &line->rested) || line->rested > PM_PARTS_MAX)
            return pm_fail(work->err, PM_INVALID,
                           "On that base a line would exceed a million parts.");
    }
    return keep_resting_cores(work);
}

enum pm_status pm_do_settle(const struct pm_work *work)
{
    return pm_work_balance(work, PM_NO_PLACE, run_settle, NULL);
}
