/* SPDX-License-Identifier: MIT */
/* What the gestures share. */
#include "gesture_parts.h"

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
    struct pm_balancing sheet;
    enum pm_status status = pm_balance_open(&sheet, after, work->err);
    if (status != PM_OK)
        return status;
    struct pm_outcome outcome;
    status = operation(&sheet, context, &outcome, work->err);
    if (status == PM_OK) {
        for (size_t i = 0; i < after->count; i++)
            work->effect->gave_way += i != subject && sheet.parts[i] != after->lines[i].parts;
        pm_balance_write(&sheet, after);
        work->effect->by_carrier = outcome.by_carrier && work->effect->gave_way > 0;
        work->effect->by_cores = outcome.by_cores && work->effect->gave_way > 0;
        work->effect->all_scaled = outcome.all_scaled;
        work->effect->lacking = outcome.lacking;
    }
    pm_balance_close(&sheet);
    return status;
}

enum pm_status pm_run_set(struct pm_balancing *sheet, void *context, struct pm_outcome *outcome,
                          struct pm_error *err)
{
    const struct pm_set_to *to = context;
    return pm_balance_set(sheet, to->place, to->parts, outcome, err);
}

enum pm_status pm_run_drop(struct pm_balancing *sheet, void *context, struct pm_outcome *outcome,
                           struct pm_error *err)
{
    const struct pm_dropped *dropped = context;
    return pm_balance_drop(sheet, dropped->place, dropped->rest, outcome, err);
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
