/* SPDX-License-Identifier: MIT */
/* The Bench's view of volatility: a mark per line, and how a formula divides into top, heart and
 * base by vapour pressure. */
#include "permille/studio/drydown.h"
#include "volatility.h"

#include <string.h>

static void add_scaled(struct pm_stage_split *out, const struct pm_stage_split *from, double factor)
{
    for (int i = 0; i < PM_SPLIT; i++)
        out->of[i] += from->of[i] * factor;
    out->predicted += from->predicted * factor;
}

static enum pm_status accord_vector(struct pm_studio *studio, int64_t trial,
                                    struct pm_stage_split *out, struct pm_error *err)
{
    struct pm_sheet *sheet;
    struct pm_flat_sheet flat;
    *out = (struct pm_stage_split){.predicted = 0};
    enum pm_status status = pm_sheet_open(studio, trial, &sheet, err);
    if (status != PM_OK)
        return status;
    status = pm_sheet_flatten(studio, sheet, &flat, err);
    pm_sheet_free(sheet);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; status == PM_OK && i < flat.count; i++) {
        struct pm_stage_split one;
        if (flat.lines[i].is_solvent || flat.total == 0)
            continue;
        status = pm_stage_split_of(studio, flat.lines[i].material, &one, err);
        if (status == PM_OK)
            add_scaled(out, &one, (double)flat.lines[i].neat / (double)flat.total);
    }
    pm_flat_sheet_release(&flat);
    return status;
}

static enum pm_status line_vector(struct pm_studio *studio, const struct pm_sheet_line *line,
                                  struct pm_stage_split *out, struct pm_error *err)
{
    *out = (struct pm_stage_split){.predicted = 0};
    if (line->line->kind == PM_LINE_ACCORD)
        return accord_vector(studio, line->line->ref, out, err);
    if (line->is_solvent)
        return PM_OK;
    struct pm_stage_split neat;
    enum pm_status status = pm_stage_split_of(studio, line->line->ref, &neat, err);
    if (status == PM_OK)
        add_scaled(out, &neat, (double)line->line->strength / (double)PM_NEAT);
    return status;
}

/* What the mark says of a line. */
static int stage_of(const double *of)
{
    int stages = 0, last = -1;
    for (int s = 0; s < PM_STAGES; s++)
        if (of[s] > 0) {
            stages++;
            last = s;
        }
    if (stages == 0)
        return of[PM_STAGES] > 0 ? -1 : -2;
    return stages == 1 ? last : -3;
}

static void profile_of(const double *sums, struct pm_stage_profile *out)
{
    const double known = sums[0] + sums[1] + sums[2];
    for (int s = 0; s < PM_STAGES; s++)
        out->share[s] = known > 0 ? sums[s] / known : 0;
    out->unknown = known + sums[PM_STAGES] > 0 ? sums[PM_STAGES] / (known + sums[PM_STAGES]) : 0;
}

static void sum_lines(const struct pm_dry_lines *lines, const pm_parts *parts, double *sums)
{
    memset(sums, 0, PM_SPLIT * sizeof *sums);
    for (size_t i = 0; i < lines->count; i++)
        for (int v = 0; v < PM_SPLIT; v++)
            sums[v] += (double)parts[i] * lines->parts[i * PM_SPLIT + (size_t)v];
}

void pm_drydown_lines_with(const struct pm_dry_lines *lines, const pm_parts *parts,
                           struct pm_stage_profile *out)
{
    double sums[PM_SPLIT];
    sum_lines(lines, parts, sums);
    profile_of(sums, out);
}

void pm_drydown_lines_again(struct pm_dry_lines *lines, const pm_parts *parts)
{
    double sums[PM_SPLIT];
    sum_lines(lines, parts, sums);
    profile_of(sums, &lines->profile);
    for (size_t i = 0; i < lines->count; i++)
        for (int s = 0; s < PM_STAGES; s++)
            lines->items[i].share[s] =
                sums[s] > 0 ? (double)parts[i] * lines->parts[i * PM_SPLIT + (size_t)s] / sums[s]
                            : 0;
}

static enum pm_status fill(struct pm_studio *studio, const struct pm_sheet *sheet,
                           struct pm_dry_lines *out, struct pm_error *err)
{
    const size_t count = sheet->trial.count;
    double known = 0, predicted = 0;
    out->items = pm_arena_array(&out->arena, count, sizeof *out->items);
    out->parts = pm_arena_array(&out->arena, count, PM_SPLIT * sizeof *out->parts);
    pm_parts *parts = pm_arena_array(&out->arena, count, sizeof *parts);
    if (count > 0 && (out->items == NULL || out->parts == NULL || parts == NULL))
        return pm_fail_memory(err);
    for (size_t i = 0; i < count; i++) {
        struct pm_stage_split vector;
        const enum pm_status status = line_vector(studio, &sheet->lines[i], &vector, err);
        if (status != PM_OK)
            return status;
        memcpy(&out->parts[i * PM_SPLIT], vector.of, sizeof vector.of);
        parts[i] = sheet->trial.lines[i].parts;
        predicted += vector.predicted * (double)parts[i];
        known += (vector.of[0] + vector.of[1] + vector.of[2]) * (double)parts[i];
        out->items[i].stage = stage_of(vector.of);
        out->items[i].predicted = vector.predicted > 0;
        out->count++;
    }
    pm_drydown_lines_again(out, parts);
    out->predicted = known > 0 ? predicted / known : 0;
    return PM_OK;
}

enum pm_status pm_drydown_lines(struct pm_studio *studio, const struct pm_sheet *sheet,
                                struct pm_dry_lines *out, struct pm_error *err)
{
    struct pm_dry_lines made = {.count = 0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, fill(studio, sheet, &made, err));
    if (status == PM_OK)
        *out = made;
    else
        pm_arena_release(&made.arena);
    return status;
}

const char *pm_dry_mark(const struct pm_dry_line *line)
{
    static const char *const sure[] = {"^", "~", "_"}, *const predicted[] = {"^?", "~?", "_?"};
    if (line->stage >= 0)
        return line->predicted ? predicted[line->stage] : sure[line->stage];
    return line->stage == -1 ? "?" : line->stage == -3 ? "*" : "";
}
