/* SPDX-License-Identifier: MIT */
/* Mixtures of three, drawn as a triangle. */
#include "permille/core/plot.h"

#include "canvas.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/base/utf8.h"

#include <math.h>
#include <string.h>

#define WIDTH_MIN  24
#define HEAD_ROWS  1                  /* the name of the upper corner */
#define NAME_ROWS  1                  /* the names of the lower corners */
#define KEY_CELLS  12                 /* a mark, and from which value on */
#define CELL_RATIO 2.0                /* a cell is about twice as high as it is wide */
#define SIDE_RATIO 0.8660254037844386 /* height of an even triangle of side 1: sqrt(3) / 2 */

/* From the least to the most. ASCII: told apart by how much ink they take. */
static const char levels[PM_TRIANGLE_LEVELS] = {'.', ':', '-', '+', '*', '#'};

struct triangle {
    const struct pm_triangle_spec *spec;
    struct pm_canvas_cells canvas;
    size_t rows;        /* of the triangle */
    double side;        /* cells between the lower corners */
    double *values;     /* per cell of the canvas; NaN outside and where unknown */
    double least, most; /* of the values */
    size_t least_at, most_at;
    bool any;
};

/* ---- shares and cells ------------------------------------------------------------------------ */

/* The column that the upper corner is in the middle of. */
static double middle_of(const struct triangle *triangle)
{
    return (double)((triangle->canvas.width - 1) / 2);
}

/* Shares at the middle of a cell; false outside. The sides run through the cells' middles: what is
 * no more than half a cell from a side stands on it. */
static bool shares_at(const struct triangle *triangle, size_t row, size_t column, double share[3])
{
    const double last = (double)(triangle->rows - 1);
    const double from_top = (double)(row - HEAD_ROWS) / last;
    const double middle = middle_of(triangle);
    const double width = from_top * triangle->side;
    const double right = (double)column - (middle - width / 2);
    share[0] = 1 - from_top;
    share[2] = triangle->side > 0 ? right / triangle->side : 0;
    share[1] = 1 - share[0] - share[2];
    const double slack = 0.5 / triangle->side;
    if (share[1] < -slack || share[2] < -slack)
        return false;
    for (int i = 1; i < 3; i++)
        share[i] = share[i] < slack ? 0 : share[i];
    const double sum = share[0] + share[1] + share[2];
    for (int i = 0; i < 3; i++)
        share[i] /= sum;
    return true;
}

static void cell_at(const struct triangle *triangle, const double share[3], size_t *row,
                    size_t *column)
{
    const double sum = share[0] + share[1] + share[2];
    const double middle = middle_of(triangle);
    const double from_top = 1 - share[0] / sum;
    *row = HEAD_ROWS + (size_t)lround(from_top * (double)(triangle->rows - 1));
    *column = (size_t)lround(middle + (share[2] - share[1]) / sum * triangle->side / 2);
}

/* ---- values ---------------------------------------------------------------------------------- */

static void take_value(struct triangle *triangle, size_t at, double value)
{
    triangle->values[at] = value;
    if (!isfinite(value)) {
        triangle->values[at] = NAN;
        return;
    }
    if (!triangle->any || value < triangle->least) {
        triangle->least = value;
        triangle->least_at = at;
    }
    if (!triangle->any || value > triangle->most) {
        triangle->most = value;
        triangle->most_at = at;
    }
    triangle->any = true;
}

static void read_values(struct triangle *triangle)
{
    const struct pm_triangle_spec *spec = triangle->spec;
    for (size_t row = HEAD_ROWS; row < HEAD_ROWS + triangle->rows; row++)
        for (size_t column = 0; column < triangle->canvas.width; column++) {
            const size_t at = row * triangle->canvas.width + column;
            double share[3];
            const bool inside = shares_at(triangle, row, column, share);
            take_value(triangle, at,
                       inside && spec->value != NULL ? spec->value(spec->context, share) : NAN);
        }
}

static size_t level_of(const struct triangle *triangle, double value)
{
    const double span = triangle->most - triangle->least;
    const double share = span > 0 ? (value - triangle->least) / span : 0;
    const size_t level = (size_t)(share * PM_TRIANGLE_LEVELS);
    return level < PM_TRIANGLE_LEVELS ? level : PM_TRIANGLE_LEVELS - 1;
}

/* ---- drawing --------------------------------------------------------------------------------- */

static void draw_values(const struct triangle *triangle)
{
    for (size_t at = 0; at < triangle->canvas.width * (HEAD_ROWS + triangle->rows); at++)
        if (!isnan(triangle->values[at]))
            triangle->canvas.cells[at] =
                (unsigned char)levels[level_of(triangle, triangle->values[at])];
}

/* An empty triangle has its sides drawn. */
static void draw_sides(const struct triangle *triangle)
{
    for (size_t row = HEAD_ROWS; row < HEAD_ROWS + triangle->rows; row++) {
        const double down = (double)(row - HEAD_ROWS) / (double)(triangle->rows - 1);
        const double left[3] = {1 - down, down, 0}, right[3] = {1 - down, 0, down};
        size_t at, from, to;
        cell_at(triangle, left, &at, &from);
        cell_at(triangle, right, &at, &to);
        *pm_canvas_cell(&triangle->canvas, row, from) = '/';
        *pm_canvas_cell(&triangle->canvas, row, to) = '\\';
        for (size_t column = from + 1; row + 1 == HEAD_ROWS + triangle->rows && column < to;
             column++)
            *pm_canvas_cell(&triangle->canvas, row, column) = PM_CANVAS_ACROSS;
    }
}

static void draw_points(const struct triangle *triangle)
{
    const struct pm_triangle_spec *spec = triangle->spec;
    for (size_t i = 0; i < spec->point_count; i++) {
        size_t row, column;
        cell_at(triangle, spec->points[i].share, &row, &column);
        const char mark = spec->points[i].mark;
        *pm_canvas_cell(&triangle->canvas, row, column) = (unsigned char)(mark ? mark : 'o');
    }
}

static void draw_name(const struct triangle *triangle, size_t row, size_t column, size_t cells,
                      bool right, const char *name)
{
    char text[400];
    size_t fit = pm_utf8_fit(name, cells);
    fit = fit < sizeof text ? fit : 0;
    memcpy(text, name, fit);
    text[fit] = '\0';
    const size_t used = pm_utf8_cells(text);
    pm_canvas_write(&triangle->canvas, row, right ? column + cells - used : column, text);
}

static void draw_names(const struct triangle *triangle)
{
    const size_t width = triangle->canvas.width, half = (width - 2) / 2;
    const size_t below = HEAD_ROWS + triangle->rows;
    const size_t top = pm_utf8_cells(triangle->spec->names[0]);
    draw_name(triangle, 0, top < width ? (width - top) / 2 : 0, width, false,
              triangle->spec->names[0]);
    draw_name(triangle, below, 0, half, false, triangle->spec->names[1]);
    draw_name(triangle, below, width - half, half, true, triangle->spec->names[2]);
}

static size_t keys_in_row(const struct pm_triangle_spec *spec)
{
    return spec->width / KEY_CELLS < PM_TRIANGLE_LEVELS ? spec->width / KEY_CELLS
                                                        : PM_TRIANGLE_LEVELS;
}

static size_t key_rows(const struct pm_triangle_spec *spec)
{
    const size_t in_row = keys_in_row(spec);
    return spec->value != NULL ? 1 + (PM_TRIANGLE_LEVELS + in_row - 1) / in_row : 0;
}

/* What is shown, then where each mark begins: ". 1.000  : 2.200  - 3.400". */
static void write_key(const struct triangle *triangle, struct pm_text *out)
{
    const struct pm_triangle_spec *spec = triangle->spec;
    char text[400], number[PM_PLOT_NUMBER];
    const size_t count = triangle->most > triangle->least ? PM_TRIANGLE_LEVELS : 1;
    const double step = (triangle->most - triangle->least) / PM_TRIANGLE_LEVELS;
    if (spec->value == NULL)
        return;
    pm_print(text, sizeof text, "%s%s%s%s", spec->title != NULL ? spec->title : "value",
             spec->unit != NULL ? ", " : "", spec->unit != NULL ? spec->unit : "",
             triangle->any ? ", from:" : ": unknown");
    pm_text_addf(out, "%.*s\n", (int)pm_utf8_fit(text, spec->width), text);
    for (size_t i = 0; triangle->any && i < count; i++) {
        const bool last = i + 1 == count || (i + 1) % keys_in_row(spec) == 0;
        pm_plot_number(triangle->least + step * (double)i, spec->sign, number);
        pm_text_addf(out, "%c %-*s%s", levels[i], last ? 0 : KEY_CELLS - 2, number,
                     last ? "\n" : "");
    }
}

/* ---- together -------------------------------------------------------------------------------- */

static enum pm_status check(const struct pm_triangle_spec *spec, struct pm_error *err)
{
    if (spec->width < WIDTH_MIN || spec->height < PM_TRIANGLE_HEIGHT_MIN ||
        spec->width > PM_PLOT_SIZE_MAX || spec->height > PM_PLOT_SIZE_MAX)
        return pm_fail(err, PM_REFUSED,
                       "The triangle needs at least %d columns and %d rows, at most %d of each.",
                       WIDTH_MIN, PM_TRIANGLE_HEIGHT_MIN, PM_PLOT_SIZE_MAX);
    for (size_t i = 0; i < spec->point_count; i++) {
        const double *share = spec->points[i].share;
        const double sum = share[0] + share[1] + share[2];
        if (!(share[0] >= 0 && share[1] >= 0 && share[2] >= 0 && sum > 0 && isfinite(sum)))
            return pm_fail(err, PM_INVALID,
                           "Point %zu has no place: its shares must be 0 or more, not all 0.",
                           i + 1);
    }
    return PM_OK;
}

static enum pm_status make(struct triangle *triangle, struct pm_error *err)
{
    const struct pm_triangle_spec *spec = triangle->spec;
    const double high = (double)(spec->height - HEAD_ROWS - NAME_ROWS - key_rows(spec));
    const double wide = (double)(spec->width - 1) * SIDE_RATIO / CELL_RATIO + 1;
    triangle->rows = (size_t)fmin(high, wide);
    triangle->side = (double)(triangle->rows - 1) * CELL_RATIO / SIDE_RATIO;
    const size_t height = HEAD_ROWS + triangle->rows + NAME_ROWS;
    triangle->values = pm_alloc_array(spec->width * height, sizeof *triangle->values);
    if (!pm_canvas_begin(&triangle->canvas, spec->width, height, spec->ascii) ||
        triangle->values == NULL)
        return pm_fail_memory(err);
    for (size_t at = 0; at < spec->width * height; at++)
        triangle->values[at] = NAN;
    read_values(triangle);
    return PM_OK;
}

static void release(struct triangle *triangle)
{
    pm_canvas_end(&triangle->canvas);
    pm_free(triangle->values);
}

enum pm_status pm_triangle_draw(const struct pm_triangle_spec *spec, struct pm_plot *out,
                                struct pm_error *err)
{
    struct triangle triangle = {.spec = spec};
    struct pm_text head = PM_TEXT_EMPTY, key = PM_TEXT_EMPTY;
    enum pm_status status = check(spec, err);
    if (status == PM_OK)
        status = make(&triangle, err);
    if (status == PM_OK) {
        draw_values(&triangle);
        if (spec->value == NULL)
            draw_sides(&triangle);
        draw_points(&triangle);
        draw_names(&triangle);
        write_key(&triangle, &key);
        status = pm_canvas_rows(&triangle.canvas, &head, &key, out, err);
    }
    release(&triangle);
    pm_text_release(&key);
    return status;
}

/* ---- in words -------------------------------------------------------------------------------- */

static void say_at(const struct triangle *triangle, const char *word, double value, size_t at,
                   struct pm_text *out)
{
    const struct pm_triangle_spec *spec = triangle->spec;
    double share[3];
    char number[PM_PLOT_NUMBER];
    shares_at(triangle, at / triangle->canvas.width, at % triangle->canvas.width, share);
    pm_text_addf(out, "%s %s%s%s at ", word, pm_plot_number(value, spec->sign, number),
                 spec->unit != NULL ? " " : "", spec->unit != NULL ? spec->unit : "");
    for (int i = 0; i < 3; i++)
        pm_text_addf(out, "%s%s %.0f %%", i > 0 ? ", " : "", spec->names[i], 100 * share[i]);
}

enum pm_status pm_triangle_say(const struct pm_triangle_spec *spec, char **out,
                               struct pm_error *err)
{
    struct triangle triangle = {.spec = spec};
    struct pm_text text = PM_TEXT_EMPTY;
    enum pm_status status = check(spec, err);
    if (status == PM_OK)
        status = make(&triangle, err);
    if (status == PM_OK && triangle.any) {
        say_at(&triangle, "most", triangle.most, triangle.most_at, &text);
        say_at(&triangle, "; least", triangle.least, triangle.least_at, &text);
        pm_text_add(&text, ".");
    } else if (status == PM_OK) {
        pm_text_add(&text, "unknown.");
    }
    release(&triangle);
    char *sentence = status == PM_OK ? pm_text_take(&text) : NULL;
    pm_text_release(&text);
    if (status == PM_OK && sentence == NULL)
        return pm_fail_memory(err);
    if (status == PM_OK)
        *out = sentence;
    return status;
}
