/* SPDX-License-Identifier: MIT */
/*
 * Gestures between trials: lines into an accord, an accord into its lines, starting over from
 * another trial.
 */
#include "gesture_parts.h"

#include "permille/base/mem.h"

/* A core goes with all its lines or not at all. */
static enum pm_status check_whole_cores(const struct pm_trial *trial, const bool *chosen,
                                        struct pm_error *err)
{
    bool in[PM_CORE_MAX + 1] = {false};
    bool out[PM_CORE_MAX + 1] = {false};
    char letter[4];
    for (size_t i = 0; i < trial->count; i++) {
        int core = trial->lines[i].core;
        (chosen[i] ? in : out)[core] = true;
        if (core != 0 && in[core] && out[core]) {
            return pm_fail(err, PM_REFUSED,
                           "Core %s is only partly chosen; choose all of it, or break it first.",
                           pm_core_letter(core, letter));
        }
    }
    return PM_OK;
}

/* ---- the accord's own trial ---- */

static enum pm_status copy_chosen(const struct pm_trial *trial, const bool *chosen,
                                  struct pm_trial *accord, struct pm_error *err)
{
    int renamed[PM_CORE_MAX + 1] = {0};
    int cores = 0;
    for (size_t i = 0; i < trial->count; i++) {
        if (!chosen[i])
            continue;
        struct pm_line line = trial->lines[i];
        if (line.core != 0) {
            int *core = &renamed[line.core];
            *core = *core == 0 ? ++cores : *core;
            line.core = *core;
        }
        if (line.stance == PM_RESTING)
            return pm_fail(err, PM_REFUSED, "Line %zu rests; bring it back, or leave it out.",
                           i + 1);
        if (line.stance == PM_HELD)
            line.share = pm_trial_worth(trial, line.parts);
        line.id = 0;
        line.stance = PM_FREE;
        enum pm_status status = pm_trial_insert(accord, accord->count, &line, err);
        if (status != PM_OK)
            return status;
    }
    return PM_OK;
}

/* Brings the lines to sum to `total` in the proportions they have; cores by their ratio. */
static enum pm_status proportion(struct pm_trial *trial, pm_parts total, struct pm_error *err)
{
    struct pm_balancing sheet;
    enum pm_status status = pm_balance_open(&sheet, trial, err);
    if (status != PM_OK)
        return status;
    status = pm_balance_proportion(&sheet, total, err);
    if (status == PM_OK)
        pm_balance_write(&sheet, trial);
    pm_balance_close(&sheet);
    return status;
}

static enum pm_status fold_chosen(const struct pm_trial *trial, const int64_t *lines,
                                  size_t line_count, bool *chosen, struct pm_trial *accord,
                                  struct pm_error *err)
{
    enum pm_status status = pm_choose_lines(trial, lines, line_count, chosen, err);
    if (status == PM_OK)
        status = check_whole_cores(trial, chosen, err);
    accord->scale = trial->scale;
    if (status == PM_OK)
        status = copy_chosen(trial, chosen, accord, err);
    if (status == PM_OK && pm_trial_total(accord) == 0)
        status = pm_fail(err, PM_REFUSED, "The chosen lines have no parts to make an accord of.");
    if (status == PM_OK)
        status = proportion(accord, accord->base, err);
    return status;
}

enum pm_status pm_fold_content(const struct pm_trial *trial, const int64_t *lines,
                               size_t line_count, pm_parts base, struct pm_trial *accord,
                               struct pm_error *err)
{
    pm_trial_init(accord, base, PM_CORE_MODE);
    if (base < 1 || base > PM_PARTS_MAX)
        return pm_fail(err, PM_INVALID, "A base is more than 0 and at most 1000000 parts.");
    bool *chosen = pm_alloc_array(trial->count, sizeof *chosen);
    if (chosen == NULL)
        return pm_fail_memory(err);
    enum pm_status status = fold_chosen(trial, lines, line_count, chosen, accord, err);
    if (status == PM_OK)
        accord->settled = true;
    else
        pm_trial_release(accord);
    pm_free(chosen);
    return status;
}

/* ---- fold ---- */

/* The one line the chosen ones become; *place is the first one's. */
static enum pm_status folded_line(const struct pm_work *work, const bool *chosen,
                                  struct pm_line *line, size_t *place)
{
    const struct pm_trial *after = work->after;
    bool all_held = true;
    *place = PM_NO_PLACE;
    for (size_t i = 0; i < after->count; i++) {
        if (!chosen[i])
            continue;
        *place = *place == PM_NO_PLACE ? i : *place;
        const struct pm_line *from = &after->lines[i];
        if (from->stance == PM_RESTING) {
            return pm_fail(work->err, PM_REFUSED, "Line %zu rests; bring it back, or leave it out.",
                           i + 1);
        }
        line->parts += from->parts;
        line->share =
            pm_weight_plus(line->share, from->stance == PM_HELD ? pm_trial_worth(after, from->parts)
                                                                : from->share);
        all_held = all_held && after->lines[i].stance == PM_HELD;
        if (after->lines[i].stance == PM_CARRIER && after->mode == PM_CARRIER_MODE) {
            return pm_fail(work->err, PM_REFUSED,
                           "The carrier cannot be folded away; make another line the carrier "
                           "first.");
        }
    }
    line->stance = all_held ? PM_HELD : PM_FREE;
    line->share = all_held ? pm_weight_of(0) : line->share;
    if (line->parts == 0) {
        return pm_fail(work->err, PM_REFUSED,
                       "The chosen lines have no parts to make an accord of.");
    }
    if (line->parts > PM_PARTS_MAX)
        return pm_fail(work->err, PM_REFUSED, "Together the lines exceed a million parts.");
    return PM_OK;
}

static enum pm_status fold_work(const struct pm_work *work, bool *chosen)
{
    const struct pm_gesture *gesture = work->gesture;
    struct pm_trial *after = work->after;
    enum pm_status status =
        pm_choose_lines(after, gesture->lines, gesture->line_count, chosen, work->err);
    if (status == PM_OK)
        status = check_whole_cores(after, chosen, work->err);
    struct pm_line line = {.kind = PM_LINE_ACCORD, .ref = gesture->fresh.ref, .strength = PM_NEAT};
    size_t place = 0;
    if (status == PM_OK)
        status = folded_line(work, chosen, &line, &place);
    if (status == PM_OK)
        status = pm_fresh_check(&line, work->err);
    if (status != PM_OK)
        return status;
    for (size_t i = after->count; i-- > 0;)
        if (chosen[i])
            pm_trial_remove(after, i);
    status = pm_trial_insert(after, place, &line, work->err);
    if (status == PM_OK)
        work->effect->line = after->lines[place].id;
    return status;
}

enum pm_status pm_do_fold(const struct pm_work *work)
{
    bool *chosen = pm_alloc_array(work->after->count, sizeof *chosen);
    if (chosen == NULL)
        return pm_fail_memory(work->err);
    enum pm_status status = fold_work(work, chosen);
    pm_free(chosen);
    return status;
}

/* ---- unfold ---- */

/* What a line of the accord weighs where the accord weighed `share` and its lines `sum`. */
static void adapt_share(const struct pm_line *accord, const struct pm_trial *content,
                        struct pm_weight sum, struct pm_line *line)
{
    line->rested_as = line->rested_as == PM_CARRIER ? PM_FREE : line->rested_as;
    if (line->stance == PM_RESTING)
        return;
    struct pm_weight own =
        line->stance == PM_HELD ? pm_trial_worth(content, line->parts) : line->share;
    line->stance = accord->stance == PM_HELD    ? PM_HELD
                   : line->stance == PM_CARRIER ? PM_FREE
                                                : line->stance;
    line->share = line->stance == PM_HELD
                      ? pm_weight_of(0)
                      : pm_weight_over(pm_weight_times(accord->share, own), sum);
}

static struct pm_weight content_weight(const struct pm_trial *content)
{
    struct pm_weight sum = {0, 0};
    for (size_t i = 0; i < content->count; i++) {
        const struct pm_line *line = &content->lines[i];
        bool held = line->stance == PM_HELD;
        sum = pm_weight_plus(sum, held ? pm_trial_worth(content, line->parts) : line->share);
    }
    return sum;
}

/* Makes the accord's lines, brought to its parts, fit for standing in `after` in its place. */
static enum pm_status adapt(const struct pm_work *work, const struct pm_line *accord,
                            struct pm_trial *content)
{
    int renamed[PM_CORE_MAX + 1] = {0};
    int last = 0;
    struct pm_weight sum = content_weight(content);
    for (size_t i = 0; i < content->count; i++) {
        struct pm_line *line = &content->lines[i];
        line->id = 0;
        adapt_share(accord, content, sum, line);
        if (line->core == 0)
            continue;
        int *core = &renamed[line->core];
        if (*core == 0)
            *core = last = pm_core_unused(work->after, last);
        if (*core == 0)
            return pm_fail(work->err, PM_REFUSED, "There are no letters left for so many cores.");
        line->core = *core;
    }
    return PM_OK;
}

static enum pm_status unfold_into(const struct pm_work *work, size_t place,
                                  struct pm_trial *content)
{
    struct pm_trial *after = work->after;
    const struct pm_line *accord = &after->lines[place];
    pm_parts total = pm_trial_total(content);
    enum pm_status status = proportion(content, accord->parts, work->err);
    for (size_t i = 0; status == PM_OK && i < content->count; i++) {
        struct pm_line *line = &content->lines[i];
        if (!pm_muldiv(line->rested, accord->parts, total, &line->rested) ||
            line->rested > PM_PARTS_MAX)
            line->rested = PM_PARTS_MAX;
    }
    if (status == PM_OK)
        status = adapt(work, accord, content);
    if (status != PM_OK)
        return status;
    pm_trial_remove(after, place);
    for (size_t i = 0; i < content->count && status == PM_OK; i++)
        status = pm_trial_insert(after, place + i, &content->lines[i], work->err);
    if (status == PM_OK)
        work->effect->line = after->lines[place].id;
    return status;
}

enum pm_status pm_do_unfold(const struct pm_work *work)
{
    const struct pm_trial *content = work->gesture->content;
    size_t place = 0;
    enum pm_status status = pm_work_line(work, work->gesture->line, &place);
    if (status != PM_OK)
        return status;
    const struct pm_line *line = &work->after->lines[place];
    if (line->kind != PM_LINE_ACCORD)
        return pm_fail(work->err, PM_REFUSED, "Only an accord can be unfolded into its lines.");
    if (line->core != 0)
        return pm_fail(work->err, PM_REFUSED, "A line of a core must leave it before unfolding.");
    if (line->stance == PM_RESTING)
        return pm_fail(work->err, PM_REFUSED, "Line %zu rests; bring it back first.", place + 1);
    if (line->stance == PM_CARRIER && work->after->mode == PM_CARRIER_MODE) {
        return pm_fail(work->err, PM_REFUSED,
                       "The carrier cannot be unfolded; make another line the carrier first.");
    }
    if (content == NULL || pm_trial_total(content) == 0)
        return pm_fail(work->err, PM_REFUSED, "The accord is empty: there is nothing to unfold.");
    struct pm_trial copy;
    status = pm_trial_copy(content, &copy, work->err);
    if (status != PM_OK)
        return status;
    status = unfold_into(work, place, &copy);
    pm_trial_release(&copy);
    return status;
}

/* ---- branch ---- */

enum pm_status pm_do_branch(const struct pm_work *work)
{
    const struct pm_gesture *gesture = work->gesture;
    if (gesture->content == NULL || gesture->parent < 0)
        return pm_fail(work->err, PM_INVALID, "There is no trial to start from.");
    struct pm_trial made;
    enum pm_status status = pm_trial_copy(gesture->content, &made, work->err);
    if (status != PM_OK)
        return status;
    made.parent = gesture->parent != 0 ? gesture->parent : work->after->parent;
    if (made.next_id < work->after->next_id)
        made.next_id = work->after->next_id; /* ids of lines that are gone are never used again */
    pm_trial_release(work->after);
    *work->after = made;
    work->effect->line = made.count > 0 ? made.lines[0].id : 0;
    return PM_OK;
}
