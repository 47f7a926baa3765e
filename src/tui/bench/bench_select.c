/* SPDX-License-Identifier: MIT */
/* Selecting and marking lines. */
#include "bench.h"

#include "permille/base/mem.h"

void bench_select(struct bench *bench, size_t at)
{
    const struct pm_sheet *sheet = bench_sheet(bench);
    size_t count = sheet != NULL ? sheet->trial.count : 0;
    bench->at = count == 0 ? 0 : at < count ? at : count - 1;
    bench->line = count == 0 ? 0 : sheet->trial.lines[bench->at].id;
    bench_card_read(bench);
}

void bench_select_line(struct bench *bench, int64_t line)
{
    const struct pm_sheet *sheet = bench_sheet(bench);
    long place = sheet != NULL ? pm_trial_find(&sheet->trial, line) : -1;
    bench_select(bench, place >= 0 ? (size_t)place : bench->at);
}

/* ---- marks ---- */

static bool mark(struct bench *bench, int64_t line)
{
    void *marks = bench->marks;
    if (!pm_grow(&marks, &bench->mark_capacity, bench->mark_count + 1, sizeof *bench->marks)) {
        pm_app_warn(bench->app, "No memory is left to mark more lines.");
        return false;
    }
    bench->marks = marks;
    bench->marks[bench->mark_count++] = line;
    return true;
}

void bench_mark(void *state)
{
    struct bench *bench = state;
    const struct pm_sheet_line *line = bench_line(bench);
    if (line == NULL)
        return;
    size_t place = bench_mark_place(bench, line->line->id);
    if (place < bench->mark_count)
        bench->marks[place] = bench->marks[--bench->mark_count];
    else
        mark(bench, line->line->id);
    bench_select(bench, bench->at + 1);
}

void bench_mark_all(void *state)
{
    struct bench *bench = state;
    const struct pm_sheet *sheet = bench_sheet(bench);
    bool none = bench->mark_count == 0;
    bench_unmark_all(bench);
    for (size_t i = 0; sheet != NULL && none && i < sheet->trial.count; i++)
        if (!mark(bench, sheet->trial.lines[i].id))
            break;
}
