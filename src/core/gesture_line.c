/* SPDX-License-Identifier: MIT */
/*
 * Gestures on what a line is: swap, restrength, place, comment.
 */
#include "gesture_parts.h"

#include "permille/base/mem.h"

#include <string.h>

static bool carrier_matches(const struct pm_trial *trial, size_t place, int64_t old_solvent,
                            int64_t new_solvent)
{
    for (size_t i = 0; i < trial->count; i++) {
        const struct pm_line *line = &trial->lines[i];
        if (line->stance == PM_CARRIER) {
            return i != place && line->kind == PM_LINE_MATERIAL && line->strength == PM_NEAT &&
                   (line->ref == old_solvent || line->ref == new_solvent);
        }
    }
    return false;
}

static enum pm_status run_restrength(struct pm_balancing *sheet, void *context,
                                     struct pm_outcome *outcome, struct pm_error *err)
{
    const struct pm_restrength *change = context;
    return pm_balance_restrength(sheet, change, outcome, err);
}

/* Puts the line at `place` to another strength in another solvent, its neat parts kept. */
static enum pm_status restrength(const struct pm_work *work, size_t place, pm_strength strength,
                                 int64_t solvent)
{
    struct pm_trial *after = work->after;
    struct pm_line *line = &after->lines[place];
    struct pm_restrength change = {
        .place = place,
        .was = line->strength,
        .now = strength,
        .carrier_matches = carrier_matches(after, place, line->solvent, solvent),
        .move_held = work->gesture->move_held,
    };
    line->strength = strength;
    line->solvent = solvent;
    if (change.was == change.now)
        return PM_OK;
    if (line->stance == PM_RESTING) { /* nothing is poured yet, but will be */
        bool fits = pm_muldiv(line->rested, change.was, change.now, &line->rested);
        return fits && line->rested <= PM_PARTS_MAX
                   ? PM_OK
                   : pm_fail(work->err, PM_REFUSED,
                             "So weak, the line would exceed a million parts.");
    }
    return pm_work_balance(work, place, run_restrength, &change);
}

enum pm_status pm_do_restrength(const struct pm_work *work)
{
    const struct pm_gesture *gesture = work->gesture;
    size_t place = 0;
    enum pm_status status = pm_work_line(work, gesture->line, &place);
    if (status != PM_OK)
        return status;
    struct pm_line fresh = work->after->lines[place];
    if (fresh.kind == PM_LINE_ACCORD)
        return pm_fail(work->err, PM_REFUSED, "An accord is always used neat.");
    fresh.strength = gesture->strength;
    fresh.solvent = gesture->solvent;
    status = pm_fresh_check(&fresh, work->err);
    work->effect->line = gesture->line;
    return status == PM_OK ? restrength(work, place, gesture->strength, gesture->solvent) : status;
}

enum pm_status pm_do_swap(const struct pm_work *work)
{
    const struct pm_gesture *gesture = work->gesture;
    size_t place = 0;
    enum pm_status status = pm_work_line(work, gesture->line, &place);
    if (status == PM_OK)
        status = pm_fresh_check(&gesture->fresh, work->err);
    if (status != PM_OK)
        return status;
    struct pm_line *line = &work->after->lines[place];
    line->kind = gesture->fresh.kind;
    line->ref = gesture->fresh.ref;
    work->effect->line = gesture->line;
    if (gesture->same_neat)
        return restrength(work, place, gesture->fresh.strength, gesture->fresh.solvent);
    line->solvent = gesture->fresh.solvent;
    if (line->core != 0 && line->strength != gesture->fresh.strength)
        pm_core_strength(work->after, place, gesture->fresh.strength);
    line->strength = gesture->fresh.strength;
    return PM_OK;
}

enum pm_status pm_do_move(const struct pm_work *work)
{
    struct pm_trial *after = work->after;
    size_t from = 0;
    enum pm_status status = pm_work_line(work, work->gesture->line, &from);
    if (status != PM_OK)
        return status;
    size_t to = work->gesture->place < after->count ? work->gesture->place : after->count - 1;
    struct pm_line line = after->lines[from];
    if (to > from)
        memmove(&after->lines[from], &after->lines[from + 1], (to - from) * sizeof line);
    else
        memmove(&after->lines[to + 1], &after->lines[to], (from - to) * sizeof line);
    after->lines[to] = line;
    work->effect->line = line.id;
    return PM_OK;
}

enum pm_status pm_do_comment(const struct pm_work *work)
{
    size_t place = 0;
    enum pm_status status = pm_work_line(work, work->gesture->line, &place);
    if (status != PM_OK)
        return status;
    const char *text = work->gesture->text;
    char *comment = NULL;
    if (text != NULL && *text != '\0') {
        comment = pm_strdup(text);
        if (comment == NULL)
            return pm_fail_memory(work->err);
    }
    pm_free(work->after->lines[place].comment);
    work->after->lines[place].comment = comment;
    work->effect->line = work->gesture->line;
    return PM_OK;
}
