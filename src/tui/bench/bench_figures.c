/* SPDX-License-Identifier: MIT */
/* The Bench: figures of a sheet as they are printed. */
#include "bench.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/column.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define CORE_CELLS 7 /* "A:12345" */
#define DECADES    6 /* 1 ppm to the whole */
#define WHOLE      INT64_C(1000000000000)

/* ---- figures ---- */

void bench_figures_release(struct bench_figures *figures)
{
    pm_free(figures->parts.values);
    pm_free(figures->neat.values);
    pm_free(figures->becomes.values);
    *figures = (struct bench_figures){0};
}

enum pm_status bench_figures_reserve(struct bench_figures *figures, size_t count,
                                     struct pm_error *err)
{
    if (count <= figures->capacity)
        return PM_OK;
    struct bench_column *columns[] = {&figures->parts, &figures->neat, &figures->becomes};
    for (size_t i = 0; i < sizeof columns / sizeof *columns; i++) {
        int64_t *grown = pm_resize_array(columns[i]->values, count, sizeof *grown);
        if (!grown)
            return pm_fail_memory(err);
        columns[i]->values = grown;
    }
    figures->capacity = count;
    return PM_OK;
}

static void column_read(struct bench_column *column, size_t count)
{
    column->total = pm_column_measure(column->values, count, 6, PM_LEAST_PLACES);
    /* In place: without memory the numbers stay as they are, right but for the last digit's sum. */
    pm_round_column(column->values, count, 6, PM_LEAST_PLACES, column->values, &column->total,
                    NULL);
    column->cells = pm_column_cells(&column->total);
}

/* The total counts all lines, only dilutions show theirs. */
static void neat_read(struct bench_column *column, const struct pm_sheet *sheet, int scale)
{
    size_t count = sheet->trial.count;
    struct pm_column_total all = pm_column_measure(column->values, count, scale, PM_LEAST_PLACES);
    for (size_t i = 0; i < count; i++)
        if (!sheet->lines[i].solvent)
            column->values[i] = 0;
    column->total = pm_column_measure(column->values, count, scale, PM_LEAST_PLACES);
    column->total.value = all.value;
    column->total.places = all.places;
    if (column->total.aligned < all.places)
        column->total.aligned = all.places;
    column->cells = pm_column_cells(&column->total);
}

static void widen(int *cells, const char *text)
{
    int needed = (int)pm_utf8_cells(text);
    *cells = needed > *cells ? needed : *cells;
}

const char *bench_stance_text(const struct pm_line *line)
{
    return line->stance == PM_FREE ? "" : pm_stance_word(line->stance);
}

char *bench_core_text(const struct pm_line *line, char *buf)
{
    char letter[4];
    if (line->core == 0) {
        *buf = '\0';
        return buf;
    }
    pm_core_letter(line->core, letter);
    int length = snprintf(buf, BENCH_CORE_TEXT, "%s:%lld", letter, (long long)line->weight);
    if (length > CORE_CELLS)
        snprintf(buf, BENCH_CORE_TEXT, "%s:\xE2\x80\xA6", letter);
    return buf;
}

char *bench_tie_text(const struct pm_line *line, char *buf)
{
    bench_core_text(line, buf);
    size_t length = strlen(buf);
    snprintf(buf + length, BENCH_CORE_TEXT - length, "%s%s",
             length > 0 && line->stance != PM_FREE ? " " : "", bench_stance_text(line));
    return buf;
}

void bench_figures_read(struct bench_figures *figures, const struct pm_sheet *sheet, char sign)
{
    size_t count = sheet->trial.count;
    /* Neat traces are finer than a micro-part; beyond a million parts in all, an open sheet, their
     * sum would not fit so fine. */
    bool fine = pm_trial_total(&sheet->trial) <= PM_PARTS_MAX;
    figures->count = count;
    figures->stance_cells = figures->core_cells = figures->tie_cells = 0;
    figures->name_cells = 0;
    figures->strength_cells = figures->solvent_cells = 0;
    for (size_t i = 0; i < count; i++) {
        const struct pm_sheet_line *line = &sheet->lines[i];
        char text[BENCH_CORE_TEXT], strength[PM_AMOUNT_TEXT];
        figures->parts.values[i] = line->line->parts;
        figures->neat.values[i] = fine ? pm_line_neat_fine(line->line) : line->neat;
        widen(&figures->stance_cells, bench_stance_text(line->line));
        widen(&figures->core_cells, bench_core_text(line->line, text));
        widen(&figures->tie_cells, bench_tie_text(line->line, text));
        widen(&figures->name_cells, line->title);
        if (line->solvent) {
            widen(&figures->strength_cells,
                  pm_strength_format(line->line->strength, sign, strength));
            widen(&figures->solvent_cells, line->solvent);
        }
    }
    column_read(&figures->parts, count);
    neat_read(&figures->neat, sheet, fine ? 12 : 6);
}

void bench_figures_preview(struct bench_figures *figures, const pm_parts *preview)
{
    if (figures->count > 0)
        memcpy(figures->becomes.values, preview, figures->count * sizeof *preview);
    column_read(&figures->becomes, figures->count);
}

/* ---- shares ---- */

int bench_bar_eighths(int64_t share, int cells)
{
    if (share <= 0)
        return 0;
    /* Only a picture: nothing is stored or summed, so a double may do. */
    double decades = log10((double)share) - 6.0;
    int eighths = (int)(decades * 8.0 * cells / DECADES + 0.5);
    return eighths < 1 ? 1 : eighths > 8 * cells ? 8 * cells : eighths;
}

char *bench_share_text(int64_t share, char sign, char *buf)
{
    char number[PM_AMOUNT_TEXT];
    *buf = '\0';
    if (share >= INT64_C(100000000)) { /* 0.01 % */
        int places = share == WHOLE ? 0 : pm_decimal_places(share, 10, 1);
        pm_decimal_format(share, 10, places, sign, number);
        snprintf(buf, PM_AMOUNT_TEXT + 8, "%s %%", number);
    } else if (share > 0) {
        pm_decimal_format(share, 6, pm_decimal_places(share, 6, 0), sign, number);
        snprintf(buf, PM_AMOUNT_TEXT + 8, "%s ppm", number);
    }
    return buf;
}
