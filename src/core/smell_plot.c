/* SPDX-License-Identifier: MIT */
/*
 * Intensity over time, drawn in characters and told in words.
 */
#include "permille/base/clock.h"
#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/base/utf8.h"
#include "permille/core/smell.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LEFT     3             /* columns of the scale: two digits and the axis */
#define ABOVE    1             /* rows over the drawing: the stages */
#define BELOW    2             /* rows under it: the axis and its times */
#define LEAST_TO INT64_C(3600) /* the axis goes at least this far */

#define LINE_ACROSS 0x2500u /* box drawing */
#define LINE_DOWN   0x2502u
#define CORNER      0x2514u
#define TICK_DOWN   0x252cu
#define TICK_LEFT   0x2524u
#define LINE_STAGE  0x250au
#define PATH        0x00b7u /* middle dot */

/* Told apart by shape, and ASCII: no font draws them two cells wide. */
static const char marks[PM_PLOT_SERIES_MAX] = {'o', 'x', '+', '#', '*', '%', '@', '='};

struct point {
    int64_t since; /* never negative */
    int intensity;
    size_t order; /* as given, for equal times */
};

struct drawing {
    size_t width, height;
    int64_t to;      /* seconds at the right end */
    uint32_t *cells; /* code points, row by row */
    uint8_t *meet;   /* per cell, one bit for each series with a point there */
};

char pm_plot_mark(size_t place)
{
    return place < PM_PLOT_SERIES_MAX ? marks[place] : ' ';
}

/* ---- points ---------------------------------------------------------------------------------- */

static int by_time(const void *left, const void *right)
{
    const struct point *a = left;
    const struct point *b = right;

    if (a->since != b->since)
        return a->since < b->since ? -1 : 1;
    return a->order < b->order ? -1 : a->order > b->order;
}

/* The points of a series by time; *out is new (pm_free). */
static enum pm_status sort_points(const struct pm_smell_series *series, struct point **out,
                                  struct pm_error *err)
{
    for (size_t i = 0; i < series->count; i++) {
        int intensity = series->points[i].intensity;
        if (intensity < 0 || intensity > PM_INTENSITY_MAX) {
            return pm_fail(err, PM_INVALID, "An intensity is 0 to %d, not %d.", PM_INTENSITY_MAX,
                           intensity);
        }
    }
    struct point *points = pm_alloc_array(series->count, sizeof *points);
    if (points == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < series->count; i++) {
        int64_t since = series->points[i].since;
        points[i] = (struct point){since > 0 ? since : 0, series->points[i].intensity, i};
    }
    if (series->count > 1)
        qsort(points, series->count, sizeof *points, by_time);
    *out = points;
    return PM_OK;
}

/* ---- drawing --------------------------------------------------------------------------------- */

static size_t column_of(const struct drawing *drawing, int64_t since)
{
    double share = log1p((double)since / 60) / log1p((double)drawing->to / 60);

    return LEFT + (size_t)lround(share * (double)(drawing->width - LEFT - 1));
}

static size_t row_of(const struct drawing *drawing, int intensity)
{
    double share = (double)(PM_INTENSITY_MAX - intensity) / PM_INTENSITY_MAX;

    return ABOVE + (size_t)lround(share * (double)(drawing->height - ABOVE - BELOW - 1));
}

static uint32_t *cell(const struct drawing *drawing, size_t row, size_t column)
{
    return &drawing->cells[row * drawing->width + column];
}

static void write_at(const struct drawing *drawing, size_t row, size_t column, const char *ascii)
{
    for (; *ascii != '\0' && column < drawing->width; ascii++, column++)
        *cell(drawing, row, column) = (unsigned char)*ascii;
}

static void draw_scale(const struct drawing *drawing)
{
    size_t rows = drawing->height - ABOVE - BELOW;
    int step = rows > PM_INTENSITY_MAX ? 2 : 5;
    size_t axis = drawing->height - BELOW;

    for (size_t row = ABOVE; row < axis; row++)
        *cell(drawing, row, LEFT - 1) = LINE_DOWN;
    for (int intensity = 0; intensity <= PM_INTENSITY_MAX; intensity += step) {
        char label[3] = {intensity < 10 ? ' ' : '1', (char)('0' + intensity % 10), '\0'};
        write_at(drawing, row_of(drawing, intensity), 0, label);
        *cell(drawing, row_of(drawing, intensity), LEFT - 1) = TICK_LEFT;
    }
    *cell(drawing, axis, LEFT - 1) = CORNER;
    for (size_t column = LEFT; column < drawing->width; column++)
        *cell(drawing, axis, column) = LINE_ACROSS;
}

/* As many times as fit, from the left, a blank between them. */
static void draw_times(const struct drawing *drawing)
{
    static const int minutes[] = {0,    1,    5,    15,    30,    60,    120,    240,   480,
                                  1440, 2880, 5760, 10080, 20160, 43200, 129600, 525600};
    size_t axis = drawing->height - BELOW;
    size_t free_from = 0;

    for (size_t i = 0; i < sizeof minutes / sizeof *minutes; i++) {
        int64_t time = (int64_t)minutes[i] * 60;
        char span[PM_TIME_TEXT] = "0";
        if (time > drawing->to)
            break;
        if (time > 0)
            pm_span_format(time, span);
        size_t column = column_of(drawing, time);
        size_t length = strlen(span);
        size_t from = column + length > drawing->width ? drawing->width - length : column;
        if (from < free_from)
            continue;
        write_at(drawing, axis + 1, from, span);
        *cell(drawing, axis, column) = TICK_DOWN;
        free_from = from + length + 1;
    }
}

static void draw_stages(const struct drawing *drawing, const struct pm_stage_bounds *bounds)
{
    int64_t starts[PM_STAGES] = {0, bounds->heart > 0 ? bounds->heart : 0,
                                 bounds->base > 0 ? bounds->base : 0};

    for (size_t stage = 0; stage < PM_STAGES; stage++) {
        if (pm_stage_at(starts[stage], bounds) != (enum pm_stage)stage ||
            starts[stage] > drawing->to)
            continue;
        size_t from = column_of(drawing, starts[stage]);
        size_t end = drawing->width + 1; /* behind the blank that parts the words */
        for (size_t later = stage + 1; later < PM_STAGES; later++) {
            if (starts[later] > starts[stage] && starts[later] <= drawing->to) {
                size_t next = column_of(drawing, starts[later]);
                end = next < end ? next : end;
            }
        }
        const char *word = pm_stage_word((enum pm_stage)stage);
        if (from + strlen(word) + 1 <= end)
            write_at(drawing, 0, from, word);
        for (size_t row = ABOVE; starts[stage] > 0 && row < drawing->height - BELOW; row++)
            *cell(drawing, row, from) = LINE_STAGE;
    }
}

/* Dots between two points, never over a mark: marks are drawn afterwards. */
static void draw_path(const struct drawing *drawing, const struct point *from,
                      const struct point *to)
{
    size_t first = column_of(drawing, from->since);
    size_t last = column_of(drawing, to->since);
    double start = (double)row_of(drawing, from->intensity);
    double rise = (double)row_of(drawing, to->intensity) - start;

    for (size_t column = first + 1; column < last; column++) {
        double share = (double)(column - first) / (double)(last - first);
        *cell(drawing, (size_t)lround(start + share * rise), column) = PATH;
    }
}

static enum pm_status draw_series(const struct drawing *drawing,
                                  const struct pm_smell_series *series, size_t place,
                                  struct pm_error *err)
{
    struct point *points = NULL;

    enum pm_status status = sort_points(series, &points, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < series->count; i++) {
        size_t row = row_of(drawing, points[i].intensity);
        size_t at = row * drawing->width + column_of(drawing, points[i].since);
        drawing->meet[at] = (uint8_t)(drawing->meet[at] | 1u << place);
        if (i > 0)
            draw_path(drawing, &points[i - 1], &points[i]);
    }
    pm_free(points);
    return PM_OK;
}

static void draw_marks(const struct drawing *drawing)
{
    for (size_t at = 0; at < drawing->width * drawing->height; at++) {
        size_t series = 0;
        size_t last = 0;
        for (size_t place = 0; place < PM_PLOT_SERIES_MAX; place++) {
            if ((drawing->meet[at] >> place & 1) != 0) {
                series++;
                last = place;
            }
        }
        if (series > 0)
            drawing->cells[at] = (uint32_t)(series == 1 ? marks[last] : '0' + (int)series);
    }
}

static char *row_text(const struct drawing *drawing, size_t row)
{
    struct pm_text text = PM_TEXT_EMPTY;
    size_t width = drawing->width;

    while (width > 0 && *cell(drawing, row, width - 1) == ' ')
        width--;
    for (size_t column = 0; column < width; column++) {
        char bytes[4];
        pm_text_add_bytes(&text, bytes, pm_utf8_encode(*cell(drawing, row, column), bytes));
    }
    return pm_text_take(&text);
}

void pm_plot_release(struct pm_plot *plot)
{
    for (size_t i = 0; i < plot->count; i++)
        pm_free(plot->rows[i]);
    pm_free(plot->rows);
    *plot = (struct pm_plot){NULL, 0};
}

static enum pm_status drawing_rows(const struct drawing *drawing, struct pm_plot *out,
                                   struct pm_error *err)
{
    struct pm_plot plot = {pm_alloc_array(drawing->height, sizeof *plot.rows), 0};

    if (plot.rows == NULL)
        return pm_fail_memory(err);
    for (size_t row = 0; row < drawing->height; row++) {
        plot.rows[row] = row_text(drawing, row);
        if (plot.rows[row] == NULL) {
            pm_plot_release(&plot);
            return pm_fail_memory(err);
        }
        plot.count++;
    }
    *out = plot;
    return PM_OK;
}

static enum pm_status draw(struct drawing *drawing, const struct pm_smell_series *series,
                           size_t count, const struct pm_stage_bounds *bounds, struct pm_error *err)
{
    if (drawing->cells == NULL || drawing->meet == NULL)
        return pm_fail_memory(err);
    for (size_t at = 0; at < drawing->width * drawing->height; at++)
        drawing->cells[at] = ' ';
    draw_scale(drawing);
    draw_times(drawing);
    draw_stages(drawing, bounds);
    for (size_t i = 0; i < count; i++) {
        enum pm_status status = draw_series(drawing, &series[i], i, err);
        if (status != PM_OK)
            return status;
    }
    draw_marks(drawing);
    return PM_OK;
}

enum pm_status pm_smell_plot(const struct pm_smell_series *series, size_t count, size_t width,
                             size_t height, const struct pm_stage_bounds *bounds,
                             struct pm_plot *out, struct pm_error *err)
{
    static const struct pm_stage_bounds usual = {PM_STAGE_HEART_USUAL, PM_STAGE_BASE_USUAL};
    struct drawing drawing = {.width = width, .height = height, .to = LEAST_TO};

    if (count > PM_PLOT_SERIES_MAX) {
        return pm_fail(err, PM_REFUSED, "Up to %d trials can be drawn at once, not %zu.",
                       PM_PLOT_SERIES_MAX, count);
    }
    if (width < PM_PLOT_WIDTH_MIN || height < PM_PLOT_HEIGHT_MIN || width > PM_PLOT_SIZE_MAX ||
        height > PM_PLOT_SIZE_MAX) {
        return pm_fail(err, PM_REFUSED,
                       "The drawing needs at least %d columns and %d rows, at most %d of each.",
                       PM_PLOT_WIDTH_MIN, PM_PLOT_HEIGHT_MIN, PM_PLOT_SIZE_MAX);
    }
    for (size_t i = 0; i < count; i++) {
        for (size_t j = 0; j < series[i].count; j++) {
            int64_t since = series[i].points[j].since;
            drawing.to = since > drawing.to ? since : drawing.to;
        }
    }
    drawing.cells = pm_alloc_array(width * height, sizeof *drawing.cells);
    drawing.meet = pm_alloc_array(width * height, sizeof *drawing.meet);
    enum pm_status status = draw(&drawing, series, count, bounds != NULL ? bounds : &usual, err);
    if (status == PM_OK)
        status = drawing_rows(&drawing, out, err);
    pm_free(drawing.cells);
    pm_free(drawing.meet);
    return status;
}

/* ---- words ----------------------------------------------------------------------------------- */

/* What was smelled at about one time, from points[from] on; returns where the next time begins. A
 * trial smelled every week at the same times is told as a range, not reading by reading. */
static size_t say_time(struct pm_text *text, const struct point *points, size_t from, size_t count,
                       const struct pm_stage_bounds *bounds)
{
    const enum pm_stage stage = pm_stage_at(points[from].since, bounds);
    char span[PM_TIME_TEXT], other[PM_TIME_TEXT];
    int least = points[from].intensity;
    int most = least;
    size_t to = from + 1;

    (void)pm_span_about(points[from].since, span);
    for (; to < count && pm_stage_at(points[to].since, bounds) == stage &&
           strcmp(pm_span_about(points[to].since, other), span) == 0;
         to++) {
        least = points[to].intensity < least ? points[to].intensity : least;
        most = points[to].intensity > most ? points[to].intensity : most;
    }
    if (from == 0 || stage != pm_stage_at(points[from - 1].since, bounds))
        pm_text_addf(text, "%s %s", from > 0 ? ";" : "", pm_stage_word(stage));
    else
        pm_text_add(text, ",");
    pm_text_addf(text, " %d", least);
    if (most > least)
        pm_text_addf(text, " to %d", most);
    if (points[from].since == 0)
        pm_text_add(text, " at once");
    else
        pm_text_addf(text, " after %s", span);
    if (to - from > 1)
        pm_text_addf(text, " (%zu times)", to - from);
    return to;
}

enum pm_status pm_smell_sentence(const struct pm_smell_series *series, size_t place,
                                 const struct pm_stage_bounds *bounds, char **out,
                                 struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    struct point *points = NULL;

    enum pm_status status = sort_points(series, &points, err);
    if (status != PM_OK)
        return status;
    pm_text_addf(&text, "%c %s:", pm_plot_mark(place), series->name);
    for (size_t i = 0, next; i < series->count; i = next)
        next = say_time(&text, points, i, series->count, bounds);
    pm_text_add(&text, series->count > 0 ? "." : " no intensity noted.");
    char *sentence = pm_text_take(&text);
    pm_free(points);
    if (sentence == NULL)
        return pm_fail_memory(err);
    *out = sentence;
    return PM_OK;
}
