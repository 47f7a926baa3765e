/* SPDX-License-Identifier: MIT */
/* The Bench's view of volatility: a mark per line, and how a formula divides into top, heart and
 * base by vapour pressure. */
#include "permille/studio/drydown.h"
#include "volatility.h"

#include <string.h>

enum { UNKNOWN = PM_STAGES, VECTOR }; /* parts of a line: stages, then what has no figure */

struct vector {
    double of[VECTOR];
    double predicted; /* of those with a figure */
};

/* A neat unit of a material by stage. */
static enum pm_status material_vector(struct pm_studio *studio, int64_t material,
                                      struct vector *out, struct pm_error *err)
{
    struct pm_volatility facts;
    struct pm_volatile_parts parts = {.count = 0};
    *out = (struct vector){.predicted = 0};
    enum pm_status status = pm_volatility_of(studio, material, &facts, err);
    if (status != PM_OK)
        return status;
    if (facts.known) {
        out->of[pm_stage_by_pressure(facts.pressure)] = 1;
        out->predicted = facts.predicted;
        return PM_OK;
    }
    status = pm_volatile_parts_of(studio, material, &parts, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < parts.count; i++) {
        const struct pm_volatile_part *part = &parts.items[i];
        out->of[pm_stage_by_pressure(part->facts.pressure)] += part->fraction;
        out->predicted += part->facts.predicted ? part->fraction : 0;
    }
    out->of[UNKNOWN] = parts.known < 1 ? 1 - parts.known : 0;
    pm_list_release(&parts);
    return PM_OK;
}

static void add_scaled(struct vector *out, const struct vector *from, double factor)
{
    for (int i = 0; i < VECTOR; i++)
        out->of[i] += from->of[i] * factor;
    out->predicted += from->predicted * factor;
}

static enum pm_status accord_vector(struct pm_studio *studio, int64_t trial, struct vector *out,
                                    struct pm_error *err)
{
    struct pm_sheet *sheet;
    struct pm_flat_sheet flat;
    *out = (struct vector){.predicted = 0};
    enum pm_status status = pm_sheet_open(studio, trial, &sheet, err);
    if (status != PM_OK)
        return status;
    status = pm_sheet_flatten(studio, sheet, &flat, err);
    pm_sheet_free(sheet);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; status == PM_OK && i < flat.count; i++) {
        struct vector one;
        if (flat.lines[i].is_solvent || flat.total == 0)
            continue;
        status = material_vector(studio, flat.lines[i].material, &one, err);
        if (status == PM_OK)
            add_scaled(out, &one, (double)flat.lines[i].neat / (double)flat.total);
    }
    pm_flat_sheet_release(&flat);
    return status;
}

static enum pm_status line_vector(struct pm_studio *studio, const struct pm_sheet_line *line,
                                  struct vector *out, struct pm_error *err)
{
    *out = (struct vector){.predicted = 0};
    if (line->line->kind == PM_LINE_ACCORD)
        return accord_vector(studio, line->line->ref, out, err);
    if (line->is_solvent)
        return PM_OK;
    struct vector neat;
    enum pm_status status = material_vector(studio, line->line->ref, &neat, err);
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
        return of[UNKNOWN] > 0 ? -1 : -2;
    return stages == 1 ? last : -3;
}

static void profile_of(const double *sums, struct pm_stage_profile *out)
{
    const double known = sums[0] + sums[1] + sums[2];
    for (int s = 0; s < PM_STAGES; s++)
        out->share[s] = known > 0 ? sums[s] / known : 0;
    out->unknown = known + sums[UNKNOWN] > 0 ? sums[UNKNOWN] / (known + sums[UNKNOWN]) : 0;
}

static void sum_lines(const struct pm_dry_lines *lines, const pm_parts *parts, double *sums)
{
    memset(sums, 0, VECTOR * sizeof *sums);
    for (size_t i = 0; i < lines->count; i++)
        for (int v = 0; v < VECTOR; v++)
            sums[v] += (double)parts[i] * lines->parts[i * VECTOR + (size_t)v];
}

void pm_drydown_lines_with(const struct pm_dry_lines *lines, const pm_parts *parts,
                           struct pm_stage_profile *out)
{
    double sums[VECTOR];
    sum_lines(lines, parts, sums);
    profile_of(sums, out);
}

void pm_drydown_lines_again(struct pm_dry_lines *lines, const pm_parts *parts)
{
    double sums[VECTOR];
    sum_lines(lines, parts, sums);
    profile_of(sums, &lines->profile);
    for (size_t i = 0; i < lines->count; i++)
        for (int s = 0; s < PM_STAGES; s++)
            lines->items[i].share[s] =
                sums[s] > 0 ? (double)parts[i] * lines->parts[i * VECTOR + (size_t)s] / sums[s] : 0;
}

static enum pm_status fill(struct pm_studio *studio, const struct pm_sheet *sheet,
                           struct pm_dry_lines *out, struct pm_error *err)
{
    const size_t count = sheet->trial.count;
    double known = 0, predicted = 0;
    out->items = pm_arena_array(&out->arena, count, sizeof *out->items);
    out->parts = pm_arena_array(&out->arena, count, VECTOR * sizeof *out->parts);
    pm_parts *parts = pm_arena_array(&out->arena, count, sizeof *parts);
    if (count > 0 && (out->items == NULL || out->parts == NULL || parts == NULL))
        return pm_fail_memory(err);
    for (size_t i = 0; i < count; i++) {
        struct vector vector;
        const enum pm_status status = line_vector(studio, &sheet->lines[i], &vector, err);
        if (status != PM_OK)
            return status;
        memcpy(&out->parts[i * VECTOR], vector.of, sizeof vector.of);
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
