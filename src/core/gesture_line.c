/* SPDX-License-Identifier: MIT */
/*
 * Gestures on what a line is: swap, restrength, place, comment.
 */
#include "gesture_parts.h"

#include "permille/base/mem.h"

#include <string.h>

static pm_int128 gcd_wide(pm_int128 a, pm_int128 b)
{
    while (b != 0) {
        pm_int128 rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

/* In a core the poured ratio changes with the strength so that the neat one stays: every weight
 * x new strength, the line's own x old strength, in lowest terms. Weights that would leave their
 * range are rounded to it, which moves the parts by less than a micro-part. */
static void follow_strength(struct pm_trial *trial, size_t place, pm_strength was, pm_strength now)
{
    int core = trial->lines[place].core;
    if (core == 0)
        return;
    int64_t common = pm_gcd(was, now);
    const pm_int128 factors[2] = {now / common, was / common}; /* of the others, of the line */
    pm_int128 largest = 0;
    pm_int128 divisor = 0;
    for (size_t i = 0; i < trial->count; i++) {
        if (trial->lines[i].core == core) {
            pm_int128 weight = trial->lines[i].weight * factors[i == place];
            largest = weight > largest ? weight : largest;
            divisor = gcd_wide(divisor, weight);
        }
    }
    largest /= divisor;
    for (size_t i = 0; i < trial->count; i++) {
        struct pm_line *line = &trial->lines[i];
        if (line->core != core)
            continue;
        pm_int128 weight = line->weight * factors[i == place] / divisor;
        if (largest > PM_WEIGHT_MAX)
            weight = (weight * PM_WEIGHT_MAX + largest / 2) / largest;
        line->weight = weight > 0 ? (int64_t)weight : 1;
    }
}

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

static int64_t core_weight(const struct pm_trial *trial, int core)
{
    int64_t sum = 0;
    for (size_t i = 0; i < trial->count; i++)
        sum += trial->lines[i].core == core ? trial->lines[i].weight : 0;
    return sum;
}

static enum pm_status run_restrength(struct pm_balance *sheet, void *context,
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
        .weight = line->core != 0 ? line->weight : 1,
        .core_weight = line->core != 0 ? core_weight(after, line->core) : 1,
    };
    line->strength = strength;
    line->solvent = solvent;
    if (change.was == change.now)
        return PM_OK;
    follow_strength(after, place, change.was, change.now);
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
    line->strength = gesture->fresh.strength;
    line->solvent = gesture->fresh.solvent;
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
