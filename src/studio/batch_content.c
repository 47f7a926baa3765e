/* SPDX-License-Identifier: MIT */
/*
 * What has been weighed, as the content of a trial: one line for each thing poured, in the trial's
 * base. What came from a bottle of a made-up accord is a line of that accord again, so that limits
 * and costs see into it.
 */
#include "scale.h"

#include "permille/base/mem.h"
#include "permille/core/apportion.h"

/* The line that a material poured is in a trial. */
static struct pm_line line_of(const struct pm_held_accords *held,
                              const struct pm_batch_record_line *from, pm_parts parts)
{
    struct pm_line line = {.kind = PM_LINE_MATERIAL,
                           .ref = from->material,
                           .strength = from->strength,
                           .solvent = from->solvent,
                           .parts = parts};
    const int64_t made_up = pm_held_made_up(held, from->material, from->strength);
    if (made_up != 0) {
        line.kind = PM_LINE_ACCORD;
        line.ref = made_up;
    }
    return line;
}

static bool is_same(const struct pm_line *a, const struct pm_line *b)
{
    return a->kind == b->kind && a->ref == b->ref && a->strength == b->strength &&
           a->solvent == b->solvent;
}

/* Bottles one after the other of the same thing are one line. */
static enum pm_status add_line(struct pm_trial *trial, const struct pm_line *line,
                               struct pm_error *err)
{
    for (size_t i = 0; i < trial->count; i++)
        if (is_same(&trial->lines[i], line)) {
            trial->lines[i].parts += line->parts;
            return PM_OK;
        }
    return pm_trial_insert(trial, trial->count, line, err);
}

static enum pm_status add_lines(const struct pm_held_accords *held,
                                const struct pm_batch_record *record, const pm_mass *masses,
                                struct pm_trial *out, struct pm_error *err)
{
    int64_t *parts = pm_alloc_array(record->count + 1, sizeof *parts);
    enum pm_status status = parts != NULL ? PM_OK : pm_fail_memory(err);
    if (status == PM_OK)
        status = pm_apportion(masses, record->count, record->base, parts, err);
    for (size_t i = 0; i < record->count && status == PM_OK; i++) {
        const struct pm_line line = line_of(held, &record->items[i], parts[i]);
        if (line.parts > 0)
            status = add_line(out, &line, err);
    }
    pm_free(parts);
    return status;
}

enum pm_status pm_batch_content(struct pm_studio *studio, const struct pm_batch_record *record,
                                const pm_mass *masses, struct pm_trial *out, struct pm_error *err)
{
    struct pm_held_accords held;
    pm_trial_init(out, record->base, PM_SHARE);
    enum pm_status status = pm_batch_held(studio, record, &held, err);
    if (status == PM_OK) {
        status = add_lines(&held, record, masses, out, err);
        pm_held_release(&held);
    }
    if (status != PM_OK)
        pm_trial_release(out);
    else
        out->settled = true;
    return status;
}
