/* SPDX-License-Identifier: MIT */
/* Series of points over two axes, drawn in characters. */
#include "permille/core/plot.h"

#include "canvas.h"
#include "plot_axis.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LEAST_ROWS 3 /* of the drawing itself */
#define BELOW      2 /* rows of the x axis and its labels */
#define BARE_CLEAR 3 /* cells that a bare line's mark keeps from other series */

struct picture {
    const struct pm_plot_spec *spec;
    struct pm_axis_made x, y;
    struct pm_canvas_cells canvas;
    size_t left;          /* columns of the y axis and its labels */
    size_t above;         /* rows of the uprights' words */
    size_t rows, columns; /* of the drawing itself */
    uint8_t *meet;        /* per cell, one bit for each series with a point there */
    struct pm_text head, foot;
};

/* ---- where a value stands -------------------------------------------------------------------- */

static size_t column_of(const struct picture *picture, double share)
{
    return picture->left + (size_t)lround(share * (double)(picture->columns - 1));
}

/* `share` from the top. */
static size_t row_of(const struct picture *picture, double share)
{
    return picture->above + (size_t)lround(share * (double)(picture->rows - 1));
}

/* A point as shares of the axes. */
struct place {
    double x, y; /* from the left, from the top */
    bool there;
};

static struct place place_of(const struct picture *picture, double x, double y)
{
    struct place place = {pm_axis_share(&picture->x, x), pm_axis_share_from_end(&picture->y, y),
                          false};
    place.there = place.x >= 0 && place.x <= 1 && place.y >= 0 && place.y <= 1;
    return place;
}

static double cut(double share)
{
    return share < 0 ? 0 : share > 1 ? 1 : share;
}

/* ---- axes ------------------------------------------------------------------------------------ */

static void draw_y_axis(const struct picture *picture)
{
    const struct pm_canvas_cells *canvas = &picture->canvas;
    const size_t axis = picture->above + picture->rows;
    size_t free_to = axis; /* labels go upwards: the row of the one before */
    for (size_t row = picture->above; row < axis; row++)
        *pm_canvas_cell(canvas, row, picture->left - 1) = PM_CANVAS_DOWN;
    for (size_t i = 0; i < picture->y.tick_count; i++) {
        const struct pm_axis_tick *tick = &picture->y.ticks[i];
        const double share = pm_axis_share_from_end(&picture->y, tick->at);
        if (!(share >= 0 && share <= 1))
            continue;
        const size_t row = row_of(picture, share), cells = pm_utf8_cells(tick->label);
        if (row >= free_to || cells + 1 > picture->left)
            continue;
        pm_canvas_write(canvas, row, picture->left - 1 - cells, tick->label);
        *pm_canvas_cell(canvas, row, picture->left - 1) = PM_CANVAS_TICK_Y;
        free_to = row;
    }
}

/* As many labels as fit, from the left, a blank between them. */
static void draw_x_axis(const struct picture *picture)
{
    const struct pm_canvas_cells *canvas = &picture->canvas;
    const size_t axis = picture->above + picture->rows;
    size_t free_from = 0;
    *pm_canvas_cell(canvas, axis, picture->left - 1) = PM_CANVAS_CORNER;
    for (size_t column = picture->left; column < canvas->width; column++)
        *pm_canvas_cell(canvas, axis, column) = PM_CANVAS_ACROSS;
    for (size_t i = 0; i < picture->x.tick_count; i++) {
        const struct pm_axis_tick *tick = &picture->x.ticks[i];
        const double share = pm_axis_share(&picture->x, tick->at);
        const size_t cells = pm_utf8_cells(tick->label);
        if (!(share >= 0 && share <= 1) || cells > canvas->width)
            continue;
        const size_t column = column_of(picture, share);
        const size_t from = column + cells > canvas->width ? canvas->width - cells : column;
        if (from < free_from)
            continue;
        pm_canvas_write(canvas, axis + 1, from, tick->label);
        *pm_canvas_cell(canvas, axis, column) = PM_CANVAS_TICK_X;
        free_from = from + cells + 1;
    }
}

/* Where the word of an upright has to end: at the next one's column, a blank before it. */
static size_t word_end(const struct picture *picture, size_t place)
{
    const struct pm_plot_spec *spec = picture->spec;
    size_t end = picture->canvas.width + 1;
    for (size_t later = place + 1; later < spec->upright_count; later++) {
        const double share = pm_axis_share(&picture->x, spec->uprights[later].at);
        const size_t next = share >= 0 && share <= 1 ? column_of(picture, share) : end;
        end = next < end ? next : end;
    }
    return end;
}

static void draw_upright(const struct picture *picture, size_t place)
{
    const struct pm_plot_upright *upright = &picture->spec->uprights[place];
    const double share = pm_axis_share(&picture->x, upright->at);
    if (!(share >= 0 && share <= 1))
        return;
    const size_t column = column_of(picture, share);
    if (upright->label != NULL &&
        column + pm_utf8_cells(upright->label) + 1 <= word_end(picture, place))
        pm_canvas_write(&picture->canvas, picture->above - 1, column, upright->label);
    for (size_t row = picture->above; !upright->unseen && row < picture->above + picture->rows;
         row++)
        *pm_canvas_cell(&picture->canvas, row, column) = PM_CANVAS_UPRIGHT;
}

/* ---- series ---------------------------------------------------------------------------------- */

/* A point and its place in the series, for equal x. */
struct sorted {
    struct pm_plot_point point;
    size_t order;
};

static int by_x(const void *left, const void *right)
{
    const struct sorted *a = left;
    const struct sorted *b = right;
    if (a->point.x != b->point.x && !isnan(a->point.x) && !isnan(b->point.x))
        return a->point.x < b->point.x ? -1 : 1;
    return a->order < b->order ? -1 : a->order > b->order;
}

/* Points by x; *out is new (pm_free). Those without an x have no place among the others: they are
 * left out beforehand, so that the order is one. */
static enum pm_status sort_points(const struct pm_plot_series *series, struct sorted **out,
                                  size_t *count, struct pm_error *err)
{
    struct sorted *points = pm_alloc_array(series->count + 1, sizeof *points);
    if (points == NULL)
        return pm_fail_memory(err);
    *count = 0;
    for (size_t i = 0; i < series->count; i++)
        if (!isnan(series->points[i].x))
            points[(*count)++] = (struct sorted){series->points[i], i};
    qsort(points, *count, sizeof *points, by_x);
    *out = points;
    return PM_OK;
}

static void shade(const struct picture *picture, size_t column, double low, double high,
                  uint32_t code)
{
    if (low < 0 || high > 1)
        return;
    for (size_t row = row_of(picture, cut(high)); row <= row_of(picture, cut(low)); row++)
        *pm_canvas_cell(&picture->canvas, row, column) = code;
}

/* The band between the ranges of two points. */
static void draw_band(const struct picture *picture, const struct pm_plot_point *a,
                      const struct pm_plot_point *b)
{
    const struct pm_axis_made *y = &picture->y;
    const double from = pm_axis_share(&picture->x, a->x), to = pm_axis_share(&picture->x, b->x);
    const double low[] = {pm_axis_share_from_end(y, a->low), pm_axis_share_from_end(y, b->low)};
    const double high[] = {pm_axis_share_from_end(y, a->high), pm_axis_share_from_end(y, b->high)};
    if (!a->range || !b->range || !(from >= 0 && to <= 1) || isnan(low[0] + low[1]) ||
        isnan(high[0] + high[1]))
        return;
    const size_t first = column_of(picture, from), last = column_of(picture, to);
    for (size_t column = first; column <= last; column++) {
        double share = last > first ? (double)(column - first) / (double)(last - first) : 0;
        shade(picture, column, low[0] + share * (low[1] - low[0]),
              high[0] + share * (high[1] - high[0]), PM_CANVAS_SHADE);
    }
}

/* The uncertainty of one point, as a stroke. */
static void draw_stroke(const struct picture *picture, const struct pm_plot_point *point)
{
    const double x = pm_axis_share(&picture->x, point->x);
    const double low = pm_axis_share_from_end(&picture->y, point->low);
    const double high = pm_axis_share_from_end(&picture->y, point->high);
    if (point->range && x >= 0 && x <= 1 && !isnan(low) && !isnan(high))
        shade(picture, column_of(picture, x), low, high, PM_CANVAS_DOWN);
}

/* One dot per column between two points, `ends`: in theirs as well. */
static void draw_dots(const struct picture *picture, struct place from, struct place to, bool ends)
{
    const size_t first = column_of(picture, from.x), last = column_of(picture, to.x);
    const double start = (double)row_of(picture, from.y);
    const double rise = (double)row_of(picture, to.y) - start;
    for (size_t column = ends ? first : first + 1; column < last + ends; column++) {
        const double share = last > first ? (double)(column - first) / (double)(last - first) : 0;
        *pm_canvas_cell(&picture->canvas, (size_t)lround(start + share * rise), column) =
            PM_CANVAS_DOT;
    }
}

/* One of the eight dots of a cell; x and y in dots from the drawing's corner. */
static void put_dot(const struct picture *picture, long x, long y)
{
    static const uint32_t bits[4][2] = {{0x01, 0x08}, {0x02, 0x10}, {0x04, 0x20}, {0x40, 0x80}};
    if (x < 0 || y < 0 || x >= 2 * (long)picture->columns || y >= 4 * (long)picture->rows)
        return;
    uint32_t *cell = pm_canvas_cell(&picture->canvas, picture->above + (size_t)y / 4,
                                    picture->left + (size_t)x / 2);
    if ((*cell & ~0xffu) != PM_CANVAS_BRAILLE)
        *cell = PM_CANVAS_BRAILLE;
    *cell |= bits[y % 4][x % 2];
}

/* The middle of a cell is where its mark stands. */
static void draw_fine(const struct picture *picture, struct place from, struct place to)
{
    const double wide = 2.0 * (double)(picture->columns - 1);
    const double high = 4.0 * (double)(picture->rows - 1);
    const double across = (to.x - from.x) * wide, down = (to.y - from.y) * high;
    const long steps = lround(fmax(fabs(across), fabs(down))) + 1;
    for (long i = 0; i <= steps; i++) {
        const double share = (double)i / (double)steps;
        put_dot(picture, lround(from.x * wide + share * across + 0.5),
                lround(from.y * high + share * down + 1.5));
    }
}

static void draw_line(const struct picture *picture, const struct pm_plot_point *a,
                      const struct pm_plot_point *b, bool ends)
{
    struct place from = place_of(picture, a->x, a->y), to = place_of(picture, b->x, b->y);
    if (!from.there || !to.there)
        return;
    if (picture->spec->fine && !picture->spec->ascii)
        draw_fine(picture, from, to);
    else
        draw_dots(picture, from, to, ends);
}

static void mark_point(const struct picture *picture, size_t place, struct place at)
{
    const size_t cell = row_of(picture, at.y) * picture->canvas.width + column_of(picture, at.x);
    picture->meet[cell] = (uint8_t)(picture->meet[cell] | 1u << place);
}

/* How far a place is from what any other series shows, in cells; a row is as high as two cells are
 * wide. */
static long clearance(const struct picture *picture, size_t place, struct place at)
{
    const long row = (long)row_of(picture, at.y), column = (long)column_of(picture, at.x);
    long least = LONG_MAX;
    for (size_t s = 0; s < picture->spec->series_count; s++)
        for (size_t i = 0; s != place && i < picture->spec->series[s].count; i++) {
            const struct pm_plot_point *point = &picture->spec->series[s].points[i];
            const struct place other = place_of(picture, point->x, point->y);
            if (!other.there)
                continue;
            const long down = 2 * labs((long)row_of(picture, other.y) - row);
            const long across = labs((long)column_of(picture, other.x) - column);
            const long far = down > across ? down : across;
            least = far < least ? far : least;
        }
    return least;
}

/* A line without marks has one, so that the legend can be read: as near its end as it stands clear
 * of the others, or, where it never does, where it is clearest. */
static void mark_bare(const struct picture *picture, size_t place, const struct sorted *points,
                      size_t count)
{
    struct place best = {0, 0, false};
    long most = -1;
    for (size_t i = count; i-- > 0 && most < BARE_CLEAR;) {
        const struct place at = place_of(picture, points[i].point.x, points[i].point.y);
        const long clear = at.there ? clearance(picture, place, at) : -1;
        if (clear > most) {
            most = clear;
            best = at;
        }
    }
    if (best.there)
        mark_point(picture, place, best);
}

static void draw_points(const struct picture *picture, size_t place, const struct sorted *points,
                        size_t count)
{
    const struct pm_plot_series *series = &picture->spec->series[place];
    for (size_t i = 0; i < count; i++) {
        const struct place at = place_of(picture, points[i].point.x, points[i].point.y);
        if (i > 0 && !series->apart)
            draw_line(picture, &points[i - 1].point, &points[i].point, series->bare);
        if (at.there && !series->bare)
            mark_point(picture, place, at);
    }
    if (series->bare)
        mark_bare(picture, place, points, count);
}

static void draw_ranges(const struct picture *picture, const struct pm_plot_series *series,
                        const struct sorted *points, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (series->apart)
            draw_stroke(picture, &points[i].point);
        else if (i > 0)
            draw_band(picture, &points[i - 1].point, &points[i].point);
}

/* All ranges first: lines go over the bands of other series. */
static enum pm_status draw_series(const struct picture *picture, bool ranges, struct pm_error *err)
{
    for (size_t place = 0; place < picture->spec->series_count; place++) {
        const struct pm_plot_series *series = &picture->spec->series[place];
        struct sorted *points = NULL;
        size_t count = 0;
        enum pm_status status = sort_points(series, &points, &count, err);
        if (status != PM_OK)
            return status;
        if (ranges)
            draw_ranges(picture, series, points, count);
        else
            draw_points(picture, place, points, count);
        pm_free(points);
    }
    return PM_OK;
}

/* Over everything else; where series meet, how many. */
static void draw_marks(const struct picture *picture)
{
    for (size_t at = 0; at < picture->canvas.width * picture->canvas.height; at++) {
        size_t series = 0, last = 0;
        for (size_t place = 0; place < PM_PLOT_SERIES_MAX; place++)
            if ((picture->meet[at] >> place & 1) != 0) {
                series++;
                last = place;
            }
        if (series > 0)
            picture->canvas.cells[at] =
                (uint32_t)(series == 1 ? pm_plot_mark(last) : '0' + (int)series);
    }
}

/* ---- around it ------------------------------------------------------------------------------- */

static void write_title(const struct pm_plot_axis *axis, size_t cells, struct pm_text *out)
{
    struct pm_text title = PM_TEXT_EMPTY;
    pm_text_addf(&title, "%s%s%s", axis->title, axis->unit != NULL ? ", " : "",
                 axis->unit != NULL ? axis->unit : "");
    const char *text = pm_text_get(&title);
    pm_text_addf(out, "%.*s\n", (int)pm_utf8_fit(text, cells), text);
    out->failed = out->failed || !pm_text_ok(&title);
    pm_text_release(&title);
}

/* Mark and name of each series, as many in a row as fit. */
static void write_legend(const struct pm_plot_spec *spec, struct pm_text *out)
{
    size_t used = 0;
    for (size_t i = 0; i < spec->series_count; i++) {
        const char *name = spec->series[i].name;
        const size_t whole = pm_utf8_cells(name), room = spec->width - 2;
        const size_t cells = 2 + (whole < room ? whole : room);
        if (used > 0 && used + 3 + cells > spec->width) {
            pm_text_add_char(out, '\n');
            used = 0;
        }
        pm_text_addf(out, "%s%c %.*s", used > 0 ? "   " : "", pm_plot_mark(i),
                     (int)pm_utf8_fit(name, cells - 2), name);
        used += cells + (used > 0 ? 3 : 0);
    }
    if (used > 0)
        pm_text_add_char(out, '\n');
}

static size_t lines(const struct pm_text *text)
{
    size_t count = 0;
    for (size_t i = 0; i < text->length; i++)
        count += text->data[i] == '\n';
    return count;
}

/* ---- together -------------------------------------------------------------------------------- */

static enum pm_status check(const struct pm_plot_spec *spec, struct pm_error *err)
{
    if (spec->series_count > PM_PLOT_SERIES_MAX)
        return pm_fail(err, PM_REFUSED, "Up to %d series can be drawn at once, not %zu.",
                       PM_PLOT_SERIES_MAX, spec->series_count);
    if (spec->width < PM_PLOT_WIDTH_MIN || spec->height < PM_PLOT_HEIGHT_MIN ||
        spec->width > PM_PLOT_SIZE_MAX || spec->height > PM_PLOT_SIZE_MAX)
        return pm_fail(err, PM_REFUSED,
                       "The drawing needs at least %d columns and %d rows, at most %d of each.",
                       PM_PLOT_WIDTH_MIN, PM_PLOT_HEIGHT_MIN, PM_PLOT_SIZE_MAX);
    return PM_OK;
}

/* What stands above and below, then the axes for the rows and columns that are left. */
static enum pm_status lay_out(struct picture *picture, struct pm_error *err)
{
    const struct pm_plot_spec *spec = picture->spec;
    for (size_t i = 0; i < spec->upright_count; i++)
        picture->above = spec->uprights[i].label != NULL ? 1 : picture->above;
    if (spec->y.title != NULL)
        write_title(&spec->y, spec->width, &picture->head);
    if (spec->x.title != NULL)
        write_title(&spec->x, spec->width, &picture->foot);
    if (spec->legend)
        write_legend(spec, &picture->foot);
    const size_t around = picture->above + BELOW + lines(&picture->head) + lines(&picture->foot);
    if (spec->height < around + LEAST_ROWS)
        return pm_fail(err, PM_REFUSED,
                       "Titles and legend leave too few rows for the drawing: it needs %zu.",
                       around + LEAST_ROWS);
    picture->rows = spec->height - around;
    enum pm_status status =
        pm_axis_make(&spec->y, spec, true, (picture->rows + 1) / 2, &picture->y, err);
    if (status == PM_OK)
        status = pm_axis_make(&spec->x, spec, false, spec->width / 10, &picture->x, err);
    if (status != PM_OK)
        return status;
    picture->left = 1;
    for (size_t i = 0; i < picture->y.tick_count; i++) {
        const size_t cells = pm_utf8_cells(picture->y.ticks[i].label);
        picture->left = cells + 1 > picture->left ? cells + 1 : picture->left;
    }
    /* Labels that would take more than half go. */
    if (picture->left > spec->width / 2)
        picture->left = 1;
    picture->columns = spec->width - picture->left;
    return PM_OK;
}

static enum pm_status draw(struct picture *picture, struct pm_error *err)
{
    const size_t height = picture->above + picture->rows + BELOW, width = picture->spec->width;
    picture->meet = pm_alloc_array(width * height, sizeof *picture->meet);
    if (!pm_canvas_begin(&picture->canvas, width, height, picture->spec->ascii) ||
        picture->meet == NULL)
        return pm_fail_memory(err);
    draw_y_axis(picture);
    draw_x_axis(picture);
    for (size_t i = 0; i < picture->spec->upright_count; i++)
        draw_upright(picture, i);
    enum pm_status status = draw_series(picture, true, err);
    if (status == PM_OK)
        status = draw_series(picture, false, err);
    if (status == PM_OK)
        draw_marks(picture);
    return status;
}

enum pm_status pm_plot_draw(const struct pm_plot_spec *spec, struct pm_plot *out,
                            struct pm_error *err)
{
    struct picture picture = {.spec = spec};
    enum pm_status status = check(spec, err);
    if (status == PM_OK)
        status = lay_out(&picture, err);
    if (status == PM_OK)
        status = draw(&picture, err);
    if (status == PM_OK)
        status = pm_canvas_rows(&picture.canvas, &picture.head, &picture.foot, out, err);
    pm_canvas_end(&picture.canvas);
    pm_free(picture.meet);
    pm_text_release(&picture.head);
    pm_text_release(&picture.foot);
    return status;
}

/* ---- in words -------------------------------------------------------------------------------- */

#define TOLD_SINGLY 12 /* points */

static void say_value(const struct pm_plot_spec *spec, const struct pm_plot_axis *axis,
                      double value, struct pm_text *out)
{
    char number[PM_PLOT_NUMBER];
    pm_text_add(out, pm_plot_number(value, spec->sign, number));
    if (axis->unit != NULL)
        pm_text_addf(out, " %s", axis->unit);
}

static void say_point(const struct pm_plot_spec *spec, const struct pm_plot_point *point,
                      const char *before, struct pm_text *out)
{
    pm_text_add(out, before);
    say_value(spec, &spec->y, point->y, out);
    if (point->range) {
        char low[PM_PLOT_NUMBER], high[PM_PLOT_NUMBER];
        pm_text_addf(out, " (%s to %s)", pm_plot_number(point->low, spec->sign, low),
                     pm_plot_number(point->high, spec->sign, high));
    }
    pm_text_add(out, " at ");
    say_value(spec, &spec->x, point->x, out);
}

static void say_ends(const struct pm_plot_spec *spec, const struct sorted *points, size_t count,
                     struct pm_text *out)
{
    size_t most = 0, least = 0;
    for (size_t i = 1; i < count; i++) {
        most = points[i].point.y > points[most].point.y ? i : most;
        least = points[i].point.y < points[least].point.y ? i : least;
    }
    say_point(spec, &points[0].point, " from ", out);
    say_point(spec, &points[count - 1].point, " to ", out);
    say_point(spec, &points[most].point, "; most ", out);
    say_point(spec, &points[least].point, ", least ", out);
}

enum pm_status pm_plot_say(const struct pm_plot_spec *spec, size_t place, char **out,
                           struct pm_error *err)
{
    const struct pm_plot_series *series = &spec->series[place];
    struct pm_text text = PM_TEXT_EMPTY;
    struct sorted *points = NULL;
    size_t all = 0, count = 0;
    enum pm_status status = sort_points(series, &points, &all, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < all; i++)
        if (!isnan(points[i].point.y))
            points[count++] = points[i];
    pm_text_addf(&text, "%c %s:", pm_plot_mark(place), series->name);
    if (count > TOLD_SINGLY)
        say_ends(spec, points, count, &text);
    for (size_t i = 0; count <= TOLD_SINGLY && i < count; i++)
        say_point(spec, &points[i].point, i > 0 ? ", " : " ", &text);
    pm_text_add(&text, count > 0 ? "." : " nothing.");
    pm_free(points);
    char *sentence = pm_text_take(&text);
    if (sentence == NULL)
        return pm_fail_memory(err);
    *out = sentence;
    return PM_OK;
}
