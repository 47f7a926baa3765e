/* SPDX-License-Identifier: MIT */
/* The Bench: figures of a sheet as they are printed. */
#include "bench.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/column.h"

#include <stdio.h>
#include <string.h>

#define CORE_CELLS 7 /* "A:12345" */

/* ---- figures ---- */

void bench_figures_release(struct bench_figures *figures)
{
    pm_free(figures->parts.values);
    pm_free(figures->neat.values);
    pm_free(figures->becomes.values);
    pm_free(figures->masses.values);
    *figures = (struct bench_figures){0};
}

enum pm_status bench_figures_reserve(struct bench_figures *figures, size_t count,
                                     struct pm_error *err)
{
    const size_t needed = count + 1;
    if (needed <= figures->capacity)
        return PM_OK;
    struct bench_column *columns[] = {&figures->parts, &figures->neat, &figures->becomes,
                                      &figures->masses};
    for (size_t i = 0; i < sizeof columns / sizeof *columns; i++) {
        int64_t *grown = pm_resize_array(columns[i]->values, needed, sizeof *grown);
        if (grown == NULL)
            return pm_fail_memory(err);
        columns[i]->values = grown;
    }
    figures->capacity = needed;
    return PM_OK;
}

static void column_read(struct bench_column *column, size_t count, int least)
{
    column->total = pm_column_measure(column->values, count, 6, least);
    /* In place: without memory the numbers stay as they are, right but for the last digit's sum. */
    pm_round_column(column->values, count, 6, least, column->values, &column->total, NULL);
    column->cells = pm_column_cells(&column->total);
}

/* The total counts all lines, only dilutions show theirs. */
static void neat_read(struct bench_column *column, const struct pm_sheet *sheet, int scale,
                      int least)
{
    size_t count = sheet->trial.count;
    struct pm_column_total all = pm_column_measure(column->values, count, scale, least);
    for (size_t i = 0; i < count; i++)
        if (sheet->lines[i].solvent == NULL)
            column->values[i] = 0;
    column->total = pm_column_measure(column->values, count, scale, least);
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

/* "held", "carrier", "" for a free line. */
static const char *stance_text(const struct pm_line *line)
{
    return line->stance == PM_FREE ? "" : pm_stance_word(line->stance);
}

static char *core_text(const struct pm_line *line, char *buf)
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

char *bench_tie_text(const struct pm_line *line, bool wide, char *buf)
{
    core_text(line, buf);
    const size_t length = strlen(buf);
    const char *stance = stance_text(line);
    if (length == 0)
        snprintf(buf, BENCH_CORE_TEXT, "%s", stance);
    else if (*stance != '\0')
        snprintf(buf + length, BENCH_CORE_TEXT - length, " %.*s", wide ? 8 : 1, stance);
    return buf;
}

void bench_figures_read(struct bench_figures *figures, const struct pm_sheet *sheet,
                        const struct pm_house *house)
{
    const char sign = house->sign;
    size_t count = sheet->trial.count;
    /* Neat traces are finer than a micro-part; beyond a million parts in all, an open sheet, their
     * sum would not fit so fine. */
    bool fine = pm_trial_total(&sheet->trial) <= PM_PARTS_MAX;
    figures->count = count;
    figures->core_cells = figures->name_cells = figures->share_cells = 0;
    figures->diluted_cells = figures->dilution_cells = 0;
    figures->strength_cells = figures->solvent_cells = 0;
    int64_t most = 0;
    char text[PM_AMOUNT_TEXT];
    for (size_t i = 0; i < count; i++) {
        const struct pm_sheet_line *line = &sheet->lines[i];
        char core[BENCH_CORE_TEXT], strength[PM_AMOUNT_TEXT], share[PM_AMOUNT_TEXT + 8];
        figures->parts.values[i] = line->line->parts;
        figures->neat.values[i] = fine ? pm_line_neat_fine(line->line) : line->neat;
        widen(&figures->core_cells, bench_tie_text(line->line, true, core));
        widen(&figures->name_cells, line->title);
        widen(&figures->share_cells, bench_share_cell(house, line->share, share));
        most = line->share > most ? line->share : most;
        if (line->solvent != NULL) {
            widen(&figures->diluted_cells, line->title);
            widen(&figures->strength_cells,
                  pm_strength_format(line->line->strength, sign, strength));
            widen(&figures->solvent_cells, line->solvent);
            const int cells = (int)(pm_utf8_cells(line->title) + pm_utf8_cells(strength) +
                                    pm_utf8_cells(line->solvent)) +
                              2;
            figures->dilution_cells =
                cells > figures->dilution_cells ? cells : figures->dilution_cells;
        }
    }
    column_read(&figures->parts, count, figures->least);
    for (size_t i = 0; i < count; i++)
        if (sheet->lines[i].line->stance == PM_RESTING) {
            pm_column_row_text(&figures->parts.total, sheet->lines[i].line->rested, sign, text);
            const int cells = (int)strlen(text) + 2; /* in brackets */
            figures->parts.cells = cells > figures->parts.cells ? cells : figures->parts.cells;
        }
    neat_read(&figures->neat, sheet, fine ? 12 : 6, figures->least);
    figures->scale = bench_bar_scale(most);
    const bool percent = figures->scale >= BENCH_WHOLE / 100;
    snprintf(figures->scale_text, sizeof figures->scale_text, "%s %s",
             pm_decimal_exact(figures->scale, percent ? 10 : 6, sign, text), percent ? "%" : "ppm");
}

void bench_figures_weigh(struct bench_figures *figures, const pm_parts *parts, size_t count,
                         pm_mass batch, char sign)
{
    char whole[PM_AMOUNT_TEXT];
    pm_parts total = 0;
    figures->masses.cells = 0;
    figures->masses_text[0] = '\0';
    for (size_t i = 0; i < count; i++)
        total += parts[i];
    if (total <= 0 || batch <= 0)
        return;
    for (size_t i = 0; i < count; i++)
        if (!pm_muldiv(parts[i], batch, total, &figures->masses.values[i]))
            return;
    column_read(&figures->masses, count, PM_LEAST_PLACES);
    snprintf(figures->masses_text, sizeof figures->masses_text, "in %s g",
             pm_decimal_exact(batch, 6, sign, whole));
}

void bench_figures_preview(struct bench_figures *figures, const pm_parts *preview, size_t count)
{
    if (count > 0)
        memcpy(figures->becomes.values, preview, count * sizeof *preview);
    column_read(&figures->becomes, count, figures->least);
}

/* ---- shares ---- */

int64_t bench_bar_scale(int64_t most)
{
    static const int64_t steps[] = {10, 15, 20, 25, 30, 40, 50, 60, 80};
    if (most <= 0)
        return BENCH_WHOLE;
    int64_t unit = 1;
    while (most > 100 * unit)
        unit *= 10;
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++)
        if (steps[i] * unit >= most)
            return steps[i] * unit;
    return 100 * unit;
}

int bench_bar_halves(int64_t share, int64_t scale, int cells)
{
    int64_t halves = 0;
    if (share <= 0 || scale <= 0 || !pm_muldiv(share, 2 * (int64_t)cells, scale, &halves))
        return 0;
    return halves > 2 * cells ? 2 * cells : (int)halves;
}

bool bench_is_trace(int64_t share)
{
    return share > 0 && share < BENCH_WHOLE / 1000;
}

/* A share's number and unit. The digits are rounded before the unit is chosen: never "1000 ppm". */
static const char *share_parts(const struct pm_house *house, int64_t share, char *number)
{
    static const struct {
        int scale;
        const char *unit;
    } units[] = {{10, "%"}, {9, "\xE2\x80\xB0"}, {6, "ppm"}};
    const int last = sizeof units / sizeof *units - 1;
    for (int i = 0; i < last; i++) {
        const int scale = units[i].scale;
        if (!house->utf8 && units[i].scale == 9)
            continue; /* the sign for per mille is not ASCII */
        const int places = share == BENCH_WHOLE ? 0 : pm_decimal_places(share, scale, 1);
        pm_decimal_format(share, scale, places, house->sign, number);
        if (*number != '0')
            return units[i].unit;
    }
    pm_decimal_format(share, 6, pm_decimal_places(share, 6, 0), house->sign, number);
    return units[last].unit;
}

char *bench_share_text(const struct pm_house *house, int64_t share, char *buf)
{
    char number[PM_AMOUNT_TEXT];
    *buf = '\0';
    if (share > 0) {
        const char *unit = share_parts(house, share, number);
        snprintf(buf, PM_AMOUNT_TEXT + 8, "%s %s", number, unit);
    }
    return buf;
}

char *bench_share_cell(const struct pm_house *house, int64_t share, char *buf)
{
    char number[PM_AMOUNT_TEXT];
    *buf = '\0';
    if (share > 0) {
        const char *unit = share_parts(house, share, number);
        snprintf(buf, PM_AMOUNT_TEXT + 8, "%4s %s", number, unit);
    }
    return buf;
}
