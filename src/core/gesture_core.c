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

/* ---- stances ---- */

/* The place of the next line of the unit that the line at `place` is in, from `from` on; count when
 * there is none. */
static size_t next_of_unit(const struct pm_trial *trial, size_t place, size_t from)
{
    int core = trial->lines[place].core;
    for (size_t i = from; i < trial->count; i++)
        if (i == place || (core != 0 && trial->lines[i].core == core))
            return i;
    return trial->count;
}

/* What the line remembers goes with its stance. */
static void take_stance(struct pm_trial *trial, struct pm_line *line, enum pm_stance stance)
{
    bool had_share = line->stance == PM_FREE || line->stance == PM_CARRIER;
    bool has_share = stance == PM_FREE || stance == PM_CARRIER;
    if (has_share != had_share)
        line->share = pm_trial_worth(trial, has_share ? line->parts : 0);
    line->stance = stance;
}

static void take_stances(struct pm_trial *trial, size_t place, enum pm_stance stance)
{
    for (size_t i = next_of_unit(trial, place, 0); i < trial->count;
         i = next_of_unit(trial, place, i + 1))
        take_stance(trial, &trial->lines[i], stance);
}

/* The unit's parts go, and are remembered. */
static enum pm_status rest_unit(const struct pm_work *work, size_t place)
{
    struct pm_trial *after = work->after;
    if (after->lines[place].stance == PM_CARRIER && after->mode == PM_CARRIER_MODE &&
        after->settled) {
        return pm_fail(work->err, PM_REFUSED,
                       "This line is the carrier; make another line the carrier first.");
    }
    enum pm_stance was = after->lines[place].stance;
    pm_parts *had = pm_alloc_array(after->count, sizeof *had);
    if (had == NULL)
        return pm_fail_memory(work->err);
    struct pm_dropped dropped = {place, PM_NO_PLACE};
    for (size_t i = 0; i < after->count; i++)
        had[i] = after->lines[i].parts;
    for (size_t i = next_of_unit(after, place, 0); i < after->count;
         i = next_of_unit(after, place, i + 1))
        dropped.place = had[i] > 0 ? i : dropped.place;
    enum pm_status status = pm_work_balance(work, dropped.place, pm_run_drop, &dropped);
    if (status == PM_OK) {
        take_stances(after, place, PM_RESTING);
        for (size_t i = next_of_unit(after, place, 0); i < after->count;
             i = next_of_unit(after, place, i + 1)) {
            after->lines[i].rested = had[i];
            after->lines[i].rested_as = was;
        }
    }
    pm_free(had);
    return status;
}

/* The unit comes back to what it had. */
static enum pm_status wake_unit(const struct pm_work *work, size_t place, enum pm_stance stance)
{
    struct pm_trial *after = work->after;
    struct pm_set_to to = {place, 0};
    for (size_t i = next_of_unit(after, place, 0); i < after->count;
         i = next_of_unit(after, place, i + 1)) {
        if (after->lines[i].rested > to.parts)
            to = (struct pm_set_to){i, after->lines[i].rested};
        after->lines[i].rested = 0;
        after->lines[i].rested_as = PM_FREE;
    }
    take_stances(after, place, stance);
    return pm_work_balance(work, to.place, pm_run_set, &to);
}

/* The stance a line comes back with when it is to be as it was. */
static enum pm_stance stance_before(const struct pm_trial *trial, size_t place)
{
    const struct pm_line *line = &trial->lines[place];
    if (line->stance != PM_RESTING)
        return line->stance;
    for (size_t i = 0; i < trial->count; i++)
        if (line->rested_as == PM_CARRIER && trial->lines[i].stance == PM_CARRIER)
            return PM_FREE;
    return line->rested_as;
}

enum pm_status pm_do_stance(const struct pm_work *work)
{
    struct pm_trial *after = work->after;
    enum pm_stance stance = work->gesture->stance;
    size_t place = 0;
    enum pm_status status = pm_work_line(work, work->gesture->line, &place);
    if (status != PM_OK)
        return status;
    if (work->gesture->as_it_was)
        stance = stance_before(after, place);
    if (stance != PM_FREE && stance != PM_HELD && stance != PM_CARRIER && stance != PM_RESTING)
        return pm_fail(work->err, PM_INVALID, "There is no such stance.");
    if (stance == PM_CARRIER && after->lines[place].core != 0) {
        return pm_fail(work->err, PM_REFUSED,
                       "A line of a core cannot be the carrier; let it leave its core first.");
    }
    work->effect->line = work->gesture->line;
    bool rested = after->lines[place].stance == PM_RESTING;
    if (rested && stance == PM_RESTING)
        return PM_OK;
    if (stance == PM_RESTING)
        return rest_unit(work, place);
    for (size_t i = 0; i < after->count && stance == PM_CARRIER; i++)
        if (after->lines[i].stance == PM_CARRIER)
            take_stance(after, &after->lines[i], PM_FREE);
    if (rested)
        return wake_unit(work, place, stance);
    take_stances(after, place, stance);
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
    if (line->stance == PM_RESTING)
        return pm_fail(err, PM_REFUSED, "Line %zu rests; bring it back first.", place + 1);
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
                           "A core's ratio is made of whole numbers from 1 to %lld.",
                           (long long)PM_WEIGHT_MAX);
        }
    }
    return PM_OK;
}

static void join(const struct pm_work *work, const bool *chosen, int core)
{
    const struct pm_gesture *gesture = work->gesture;
    struct pm_trial *after = work->after;
    enum pm_stance stance = PM_FREE;
    for (size_t i = 0; i < after->count; i++)
        if (chosen[i] && after->lines[i].stance == PM_HELD)
            stance = PM_HELD;
    for (size_t i = 0; i < gesture->line_count; i++) {
        struct pm_line *line = &after->lines[pm_trial_find(after, gesture->lines[i])];
        take_stance(after, line, stance);
        line->core = core;
        line->weight = gesture->weights != NULL ? gesture->weights[i] : 0;
    }
    if (gesture->weights == NULL)
        pm_core_capture(after, core);
}

/* An operation: the core of the line at the place context points to follows its weights. */
static enum pm_status run_reweigh(struct pm_balancing *sheet, void *context,
                                  struct pm_outcome *outcome, struct pm_error *err)
{
    const size_t *member = context;
    return pm_balance_reweigh(sheet, *member, outcome, err);
}

static enum pm_status run_form(struct pm_balancing *sheet, void *context,
                               struct pm_outcome *outcome, struct pm_error *err)
{
    const size_t *member = context;
    return pm_balance_form(sheet, *member, outcome, err);
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
        status = pm_work_balance(work, PM_NO_PLACE, run_form, &member);
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
