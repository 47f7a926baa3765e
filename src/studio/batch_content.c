/* SPDX-License-Identifier: MIT */
/*
 * What has been weighed, as the content of a trial: one line for each thing poured, in the trial's
 * base. What came from a bottle of a made-up accord is a line of that accord again, so that limits
 * and costs see into it.
 */
#include "scale.h"

#include "permille/base/map.h"
#include "permille/base/mem.h"
#include "permille/core/apportion.h"

/* The accords a trial holds, at any depth. */
struct holding {
    int64_t *trials; /* owned */
    size_t count, capacity;
    struct pm_map known;
};

static enum pm_status add_accords(struct holding *holding, const struct pm_trial *trial,
                                  struct pm_error *err)
{
    for (size_t i = 0; i < trial->count; i++) {
        const struct pm_line *line = &trial->lines[i];
        if (line->kind != PM_LINE_ACCORD || pm_map_find(&holding->known, line->ref) != NULL)
            continue;
        if (!pm_grow(&holding->trials, &holding->capacity, holding->count + 1,
                     sizeof *holding->trials) ||
            !pm_map_put_place(&holding->known, line->ref, holding->count))
            return pm_fail_memory(err);
        holding->trials[holding->count++] = line->ref;
    }
    return PM_OK;
}

static enum pm_status find_accords(struct pm_studio *studio, int64_t trial, struct holding *out,
                                   struct pm_error *err)
{
    struct pm_kept *kept;
    enum pm_status status = pm_studio_kept(studio, trial, true, &kept, err);
    if (status == PM_OK)
        status = add_accords(out, &kept->trial, err);
    for (size_t i = 0; i < out->count && status == PM_OK; i++) {
        status = pm_studio_kept(studio, out->trials[i], true, &kept, err);
        if (status == PM_OK)
            status = add_accords(out, &kept->trial, err);
    }
    return status;
}

/* The line that a material poured is in a trial. */
static enum pm_status line_of(struct pm_studio *studio, const struct holding *holding,
                              const struct pm_batch_record_line *from, struct pm_line *out,
                              struct pm_error *err)
{
    *out = (struct pm_line){.kind = PM_LINE_MATERIAL,
                            .ref = from->material,
                            .strength = from->strength,
                            .solvent = from->solvent};
    for (size_t i = 0; i < holding->count; i++) {
        int64_t material = 0;
        enum pm_status status = pm_made_up_get(studio->library, holding->trials[i], &material, err);
        if (status == PM_OK && material != 0)
            status = pm_studio_follow(studio, &material, err);
        if (status != PM_OK)
            return status;
        if (material == from->material && from->strength == PM_NEAT) {
            out->kind = PM_LINE_ACCORD;
            out->ref = holding->trials[i];
        }
    }
    return PM_OK;
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

static enum pm_status add_lines(struct pm_studio *studio, const struct pm_batch_record *record,
                                const pm_mass *masses, struct pm_trial *out, struct pm_error *err)
{
    struct holding holding = {.count = 0};
    int64_t *parts = pm_alloc_array(record->count + 1, sizeof *parts);
    enum pm_status status = parts != NULL ? PM_OK : pm_fail_memory(err);
    if (status == PM_OK)
        status = pm_apportion(masses, record->count, record->base, parts, err);
    if (status == PM_OK)
        status = find_accords(studio, record->batch.trial, &holding, err);
    for (size_t i = 0; i < record->count && status == PM_OK; i++) {
        struct pm_line line;
        if (parts[i] == 0)
            continue;
        status = line_of(studio, &holding, &record->items[i], &line, err);
        line.parts = parts[i];
        if (status == PM_OK)
            status = add_line(out, &line, err);
    }
    pm_free(holding.trials);
    pm_map_release(&holding.known);
    pm_free(parts);
    return status;
}

enum pm_status pm_batch_content(struct pm_studio *studio, const struct pm_batch_record *record,
                                const pm_mass *masses, struct pm_trial *out, struct pm_error *err)
{
    pm_trial_init(out, record->base, PM_SHARE);
    enum pm_status status = add_lines(studio, record, masses, out, err);
    if (status != PM_OK)
        pm_trial_release(out);
    else
        out->settled = true;
    return status;
}
