/* SPDX-License-Identifier: MIT */
/*
 * The Bench: how far the sheet on the screen, or what is being previewed, is from limits for skin.
 * The room Limits says more. Where no known limit concerns it, nothing is said: that is not within.
 */
#include "bench.h"

#include "permille/base/mem.h"
#include "permille/studio/limits.h"

#include <stdio.h>
#include <string.h>

void bench_limits_forget(struct bench *bench)
{
    bench->limits.read = false;
}

void bench_limits_release(struct bench *bench)
{
    pm_free(bench->limits.signs);
}

bool bench_is_over(const struct bench *bench, size_t place)
{
    return bench->limits.read && place < bench->limits.count && bench->limits.signs[place];
}

/* "! Citral 129 % of limit at 15 %": the sign beside the colour. */
static void say(struct bench *bench, const struct pm_limits *limits)
{
    const struct pm_limits_row *row = limits->count > 0 ? &limits->items[0] : NULL;
    char used[PM_AMOUNT_TEXT], dosage[PM_AMOUNT_TEXT];
    const char sign = bench->house->sign;
    bool more = limits->unknown + limits->without_rule > 0;
    bench->limits.text[0] = '\0';
    if (limits->prohibited > 0) {
        bench->limits.role = PM_ROLE_ERROR;
        snprintf(bench->limits.text, sizeof bench->limits.text, "! prohibited: %s", row->title);
        return;
    }
    row = limits->tightest;
    if (row == NULL)
        return;
    int64_t share = pm_limits_used(row);
    bench->limits.role = limits->over > 0 ? PM_ROLE_ERROR : PM_ROLE_NORMAL;
    pm_limits_used_format(share, sign, used);
    snprintf(bench->limits.text, sizeof bench->limits.text, "%s%s %s %% of limit at %s%s",
             limits->over > 0 ? "! " : "", row->title, used,
             pm_strength_format(limits->wish.dosage, sign, dosage), more ? ", some unknown" : "");
}

void bench_shown(const struct bench *bench, struct pm_line *lines, struct pm_sheet *out)
{
    const struct pm_sheet *sheet = bench_sheet(bench);
    *out = *sheet;
    if (sheet->trial.count > 0)
        memcpy(lines, sheet->trial.lines, sheet->trial.count * sizeof *lines);
    for (size_t i = 0; bench->previewing && i < sheet->trial.count; i++)
        lines[i].parts = bench->preview[i];
    out->trial.lines = lines;
    if (bench->previewing && bench->has_fresh)
        lines[out->trial.count++] = bench->fresh.line;
}

static enum pm_status judge(struct bench *bench, const struct pm_sheet *sheet)
{
    struct pm_studio *studio = bench->house->studio;
    struct pm_limits limits;
    enum pm_status status = pm_limits_preview(studio, sheet, &bench->limits.wish, &limits, NULL);
    if (status != PM_OK)
        return status;
    say(bench, &limits);
    status = pm_limits_signs(studio, sheet, &limits, bench->limits.signs, NULL);
    pm_limits_release(&limits);
    return status;
}

/* The file is looked at once after it was read anew, then with what was read then. */
static enum pm_status judge_at_once(struct bench *bench, const struct pm_sheet *sheet)
{
    struct pm_studio *studio = bench->house->studio;
    if (bench->limits.wish_of == sheet->formula)
        return judge(bench, sheet);
    enum pm_status status = pm_studio_look_begin(studio, NULL);
    if (status != PM_OK)
        return status;
    status = pm_limits_wish(studio, sheet->formula, &bench->limits.wish, NULL);
    if (status == PM_OK) {
        bench->limits.wish_of = sheet->formula;
        status = judge(bench, sheet);
    }
    pm_studio_look_end(studio);
    return status;
}

/* What cannot be judged just now (nothing in it, lost memory) shows nothing. */
void bench_limits_read(struct bench *bench)
{
    const struct pm_sheet *sheet = bench_sheet(bench);
    struct pm_sheet copy;
    if (bench->limits.read || sheet == NULL)
        return;
    struct pm_line *lines = pm_alloc_array(sheet->trial.count + 1, sizeof *lines);
    bool *signs = pm_alloc_array(sheet->trial.count + 1, sizeof *signs);
    pm_free(bench->limits.signs);
    bench->limits.signs = signs;
    bench->limits.count = 0;
    bench->limits.text[0] = '\0';
    bench->limits.read = true;
    if (lines != NULL && signs != NULL) {
        bench_shown(bench, lines, &copy);
        if (judge_at_once(bench, &copy) == PM_OK)
            bench->limits.count = sheet->trial.count;
    }
    pm_free(lines);
}
