/* SPDX-License-Identifier: MIT */
/* The Bench: what leaves first, by vapour pressure: a mark per line, and what a change would make
 * of top, heart and base. */
#include "bench.h"

#include "permille/base/mem.h"
#include "permille/base/rounded.h"

#include <math.h>

#define DOT " \xC2\xB7 "

void bench_drydown_forget(struct bench *bench)
{
    pm_arena_release(&bench->drydown.lines.arena);
    bench->drydown = (struct bench_drydown){.read = false};
}

void bench_drydown_refresh(struct bench *bench)
{
    bench->drydown.read = false;
}

static uint64_t mixed(uint64_t hash, uint64_t value)
{
    return (hash ^ value) * UINT64_C(1099511628211);
}

/* Materials, accords and strengths in their order. */
static uint64_t stands_in(const struct pm_trial *trial)
{
    uint64_t hash = mixed(UINT64_C(14695981039346656037), trial->count);
    for (size_t i = 0; i < trial->count; i++) {
        hash = mixed(hash, (uint64_t)trial->lines[i].kind);
        hash = mixed(hash, (uint64_t)trial->lines[i].ref);
        hash = mixed(hash, (uint64_t)trial->lines[i].strength);
    }
    return hash;
}

/* False when memory ran out. */
static bool parts_anew(struct bench *bench, const struct pm_trial *trial)
{
    pm_parts *parts = pm_alloc_array(trial->count + 1, sizeof *parts);
    for (size_t i = 0; parts != NULL && i < trial->count; i++)
        parts[i] = trial->lines[i].parts;
    if (parts != NULL)
        pm_drydown_lines_again(&bench->drydown.lines, parts);
    pm_free(parts);
    return parts != NULL;
}

/* What cannot be read just now shows nothing. */
void bench_drydown_read(struct bench *bench)
{
    const struct pm_sheet *sheet = bench_sheet(bench);
    if (bench->drydown.read || sheet == NULL)
        return;
    const uint64_t of = stands_in(&sheet->trial);
    if (bench->drydown.known && bench->drydown.of == of && parts_anew(bench, &sheet->trial)) {
        bench->drydown.read = true;
        return;
    }
    bench_drydown_forget(bench);
    bench->drydown.read = true;
    bench->drydown.of = of;
    bench->drydown.known =
        pm_drydown_lines(bench->house->studio, sheet, &bench->drydown.lines, NULL) == PM_OK;
    if (!bench->drydown.known)
        bench->drydown.lines = (struct pm_dry_lines){.count = 0};
}

static const struct pm_dry_line *line_of(const struct bench *bench)
{
    return bench->at < bench->drydown.lines.count ? &bench->drydown.lines.items[bench->at] : NULL;
}

void bench_drydown_say(const struct bench *bench, struct pm_text *out)
{
    const struct pm_dry_line *line = line_of(bench);
    const char *between = "";
    if (line == NULL || line->stage == -2)
        return;
    if (line->stage == -1) {
        pm_text_add(out, "no vapour pressure");
        return;
    }
    pm_text_addf(out, "%s ", pm_dry_mark(line));
    for (int s = 0; s < PM_STAGES; s++)
        if (line->share[s] > 0) {
            pm_text_addf(out, "%s%s %% of the %s", between,
                         pm_rounded(100 * line->share[s], 2, bench->house->sign).text,
                         pm_stage_word((enum pm_stage)s));
            between = ", ";
        }
    if (line->predicted)
        pm_text_add(out, " (predicted)");
}

void bench_drydown_mark(const struct bench *bench, struct pm_text *out)
{
    const struct pm_dry_line *line = line_of(bench);
    if (line != NULL && line->stage >= 0)
        pm_text_addf(out, DOT "%s %s", pm_dry_mark(line),
                     pm_stage_word((enum pm_stage)line->stage));
}

void bench_drydown_cell(const struct bench *bench, size_t place, struct pm_text *out)
{
    const struct pm_dry_line *line =
        place < bench->drydown.lines.count ? &bench->drydown.lines.items[place] : NULL;
    if (line == NULL || line->stage == -2)
        return;
    if (line->stage < 0)
        pm_text_add(out, line->stage == -3 ? "mixed" : "?");
    else
        pm_text_addf(out, "%s%s", pm_stage_word((enum pm_stage)line->stage),
                     line->predicted ? "?" : "");
}

void bench_drydown_preview(const struct bench *bench, struct pm_text *out)
{
    const struct pm_dry_lines *lines = &bench->drydown.lines;
    struct pm_stage_profile after;
    const char *before = DOT;
    /* Of a line that comes in nothing was read. */
    if (lines->count == 0 || lines->count != bench_sheet(bench)->trial.count || bench->has_fresh)
        return;
    pm_drydown_lines_with(lines, bench->preview, &after);
    for (int s = 0; s < PM_STAGES; s++) {
        const double was = 100 * lines->profile.share[s], now = 100 * after.share[s];
        if (fabs(was - now) < 0.1)
            continue;
        pm_text_addf(out, "%s%s %s to %s %%", before, pm_stage_word((enum pm_stage)s),
                     pm_rounded_places(was, 1, bench->house->sign).text,
                     pm_rounded_places(now, 1, bench->house->sign).text);
        before = ", ";
    }
}
