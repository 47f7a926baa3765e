/* SPDX-License-Identifier: MIT */
/* What is on the screen, selected and marked, looked up in the state. */
#include "bench.h"

const struct pm_sheet *bench_sheet(const struct bench *bench)
{
    return bench->writing ? pm_plan_sheet(bench->plan) : bench->sheet;
}

const struct pm_sheet_line *bench_line(const struct bench *bench)
{
    const struct pm_sheet *sheet = bench_sheet(bench);
    return sheet != NULL && bench->at < sheet->trial.count ? &sheet->lines[bench->at] : NULL;
}

char *bench_parts_text(const struct bench *bench, pm_parts parts, char *buf)
{
    return pm_decimal_exact(parts, 6, bench->house->sign, buf);
}

char *bench_parts_about(const struct bench *bench, pm_parts parts, char *buf)
{
    return bench_parts_text(bench, pm_amount_rounded(parts, 6, bench->figures.least), buf);
}

size_t bench_mark_place(const struct bench *bench, int64_t line)
{
    size_t i = 0;
    while (i < bench->mark_count && bench->marks[i] != line)
        i++;
    return i;
}

bool bench_is_marked(const struct bench *bench, int64_t line)
{
    return bench_mark_place(bench, line) < bench->mark_count;
}

void bench_unmark_all(struct bench *bench)
{
    bench->mark_count = 0;
}

/* Lines that are gone are not marked any more. */
void bench_forget_marks(struct bench *bench, const struct pm_sheet *sheet)
{
    size_t kept = 0;
    for (size_t i = 0; i < bench->mark_count; i++)
        if (pm_trial_find(&sheet->trial, bench->marks[i]) >= 0)
            bench->marks[kept++] = bench->marks[i];
    bench->mark_count = kept;
}

size_t bench_rows(const struct bench *bench)
{
    return bench->figures.count + (bench->has_fresh ? 1 : 0);
}

bool bench_unwritten(const struct bench *bench)
{
    return bench->plan != NULL && !bench->writing;
}

enum pm_status bench_refuse(const struct bench *bench, struct pm_error *err)
{
    char key[PM_KEY_TEXT];
    return pm_fail(err, PM_REFUSED,
                   "A change to %s is not written yet (%s): %s in the Bench writes it again.",
                   bench->sheet->name, pm_plan_sentence(bench->plan),
                   pm_app_key(bench->app, "save-again", key));
}
