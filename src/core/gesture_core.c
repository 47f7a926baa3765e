/* SPDX-License-Identifier: MIT */
/*
 * Gestures on how lines behave: stances, and cores formed, broken and left.
 */
#include "gesture_parts.h"

#include "permille/base/mem.h"

static size_t core_size(const struct pm_trial *trial, int core)
{
    size_t lines = 0;
    for (size_t i = 0; i < trial->count; i++)
        lines += trial->lines[i].core == core;
    return lines;
}

static void release_line(struct pm_line *line)
{
    line->core = 0;
    line->weight = 0;
}

static void release_core(struct pm_trial *trial, int core)
{
    for (size_t i = 0; i < trial->count; i++)
        if (trial->lines[i].core == core)
            release_line(&trial->lines[i]);
}

size_t pm_core_leave(struct pm_trial *trial, size_t place)
{
    int core = trial->lines[place].core;
    if (core == 0)
        return PM_NO_PLACE;
    release_line(&trial->lines[place]);
    if (core_size(trial, core) < 2)
        release_core(trial, core);
    for (size_t i = 0; i < trial->count; i++)
        if (trial->lines[i].core == core)
            return i;
    return PM_NO_PLACE;
}

int pm_core_unused(const struct pm_trial *trial, int least)
{
    bool taken[PM_CORE_MAX + 1] = {false};
    for (size_t i = 0; i < trial->count; i++)
        taken[trial->lines[i].core] = true;
    for (int core = least + 1; core <= PM_CORE_MAX; core++)
        if (!taken[core])
            return core;
    return 0;
}

enum pm_status pm_do_stance(const struct pm_work *work)
{
    struct pm_trial *after = work->after;
    enum pm_stance stance = work->gesture->stance;
    size_t place = 0;
    enum pm_status status = pm_work_line(work, work->gesture->line, &place);
    if (status != PM_OK)
        return status;
    if (stance != PM_FREE && stance != PM_HELD && stance != PM_CARRIER)
        return pm_fail(work->err, PM_INVALID, "There is no such stance.");
    int core = after->lines[place].core;
    if (stance == PM_CARRIER && core != 0) {
        return pm_fail(work->err, PM_REFUSED,
                       "A line of a core cannot be the carrier; let it leave its core first.");
    }
    for (size_t i = 0; i < after->count; i++) {
        struct pm_line *line = &after->lines[i];
        if (i == place || (core != 0 && line->core == core))
            line->stance = stance;
        else if (stance == PM_CARRIER && line->stance == PM_CARRIER)
            line->stance = PM_FREE;
    }
    work->effect->line = work->gesture->line;
    return PM_OK;
}

/* ---- forming a core ---- */

static enum pm_status check_member(const struct pm_line *line, size_t place, bool captured,
                                   struct pm_error *err)
{
    char letter[4];
    if (line->core != 0) {
        return pm_fail(err, PM_REFUSED, "Line %zu stands in core %s already; break that first.",
                       place + 1, pm_core_letter(line->core, letter));
    }
    if (line->stance == PM_CARRIER) {
        return pm_fail(err, PM_REFUSED, "Line %zu is the carrier and cannot stand in a core.",
                       place + 1);
    }
    if (captured && line->parts == 0) {
        return pm_fail(err, PM_REFUSED,
                       "Line %zu has no parts to take a ratio from; name the ratio instead.",
                       place + 1);
    }
    return PM_OK;
}

static enum pm_status check_members(const struct pm_work *work, const bool *chosen)
{
    const struct pm_gesture *gesture = work->gesture;
    for (size_t i = 0; i < work->after->count; i++) {
        if (!chosen[i])
            continue;
        enum pm_status status =
            check_member(&work->after->lines[i], i, gesture->weights == NULL, work->err);
        if (status != PM_OK)
            return status;
    }
    for (size_t i = 0; gesture->weights != NULL && i < gesture->line_count; i++) {
        if (gesture->weights[i] < 1 || gesture->weights[i] > PM_WEIGHT_MAX) {
            return pm_fail(work->err, PM_INVALID,
                           "A core's ratio is made of whole numbers from 1 to 1000000000000.");
        }
    }
    return PM_OK;
}

static void join(const struct pm_work *work, const bool *chosen, int core)
{
    const struct pm_gesture *gesture = work->gesture;
    struct pm_trial *after = work->after;
    enum pm_stance stance = PM_FREE;
    int64_t common = 0;
    for (size_t i = 0; i < after->count; i++) {
        if (chosen[i]) {
            common = pm_gcd(common, after->lines[i].parts);
            stance = after->lines[i].stance == PM_HELD ? PM_HELD : stance;
        }
    }
    for (size_t i = 0; i < gesture->line_count; i++) {
        struct pm_line *line = &after->lines[pm_trial_find(after, gesture->lines[i])];
        line->core = core;
        line->stance = stance;
        line->weight = gesture->weights != NULL ? gesture->weights[i] : line->parts / common;
    }
}

/* An operation: the core of the line at the place context points to follows its weights. */
static enum pm_status run_reweigh(struct pm_balance *sheet, void *context,
                                  struct pm_outcome *outcome, struct pm_error *err)
{
    const size_t *member = context;
    return pm_balance_reweigh(sheet, *member, outcome, err);
}

enum pm_status pm_do_form_core(const struct pm_work *work)
{
    struct pm_trial *after = work->after;
    const struct pm_gesture *gesture = work->gesture;
    if (gesture->line_count < 2)
        return pm_fail(work->err, PM_INVALID, "A core is made of two lines or more.");
    int core = pm_core_unused(after, 0);
    if (core == 0)
        return pm_fail(work->err, PM_REFUSED, "There is no letter left for another core.");
    bool *chosen = pm_alloc_array(after->count, sizeof *chosen);
    if (chosen == NULL)
        return pm_fail_memory(work->err);
    enum pm_status status =
        pm_choose_lines(after, gesture->lines, gesture->line_count, chosen, work->err);
    if (status == PM_OK)
        status = check_members(work, chosen);
    if (status == PM_OK) {
        join(work, chosen, core);
        size_t member = (size_t)pm_trial_find(after, gesture->lines[0]);
        status = pm_work_balance(work, PM_NO_PLACE, run_reweigh, &member);
        work->effect->line = gesture->lines[0];
    }
    pm_free(chosen);
    return status;
}

/* The line of the gesture, which must stand in a core. */
static enum pm_status find_member(const struct pm_work *work, size_t *place)
{
    enum pm_status status = pm_work_line(work, work->gesture->line, place);
    if (status == PM_OK && work->after->lines[*place].core == 0)
        status = pm_fail(work->err, PM_REFUSED, "Line %zu stands in no core.", *place + 1);
    return status;
}

enum pm_status pm_do_break_core(const struct pm_work *work)
{
    size_t place = 0;
    enum pm_status status = find_member(work, &place);
    if (status != PM_OK)
        return status;
    release_core(work->after, work->after->lines[place].core);
    work->effect->line = work->gesture->line;
    return PM_OK;
}

enum pm_status pm_do_leave_core(const struct pm_work *work)
{
    size_t place = 0;
    enum pm_status status = find_member(work, &place);
    if (status != PM_OK)
        return status;
    size_t rest = pm_core_leave(work->after, place);
    work->effect->line = work->gesture->line;
    return rest == PM_NO_PLACE ? PM_OK : pm_work_balance(work, PM_NO_PLACE, run_reweigh, &rest);
}
