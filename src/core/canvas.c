/* SPDX-License-Identifier: MIT */
/* Cells that a picture is drawn into, and its rows of text. */
#include "canvas.h"

#include "permille/base/mem.h"
#include "permille/base/rounded.h"
#include "permille/base/utf8.h"

#include <math.h>
#include <string.h>

/* Told apart by shape, and ASCII: no font draws them two cells wide. */
static const char marks[PM_PLOT_SERIES_MAX] = {'o', 'x', '+', '#', '*', '%', '@', '='};

static const struct {
    uint32_t code;
    char ascii;
} plain[] = {
    {PM_CANVAS_ACROSS, '-'}, {PM_CANVAS_DOWN, '|'},   {PM_CANVAS_CORNER, '+'},
    {PM_CANVAS_TICK_X, '+'}, {PM_CANVAS_TICK_Y, '+'}, {PM_CANVAS_UPRIGHT, ':'},
    {PM_CANVAS_DOT, '.'},    {PM_CANVAS_SHADE, '~'},
};

char pm_plot_mark(size_t place)
{
    return place < PM_PLOT_SERIES_MAX ? marks[place] : ' ';
}

bool pm_canvas_begin(struct pm_canvas_cells *canvas, size_t width, size_t height, bool ascii)
{
    *canvas = (struct pm_canvas_cells){width, height, ascii,
                                       pm_alloc_array(width * height, sizeof *canvas->cells)};
    if (canvas->cells == NULL)
        return false;
    for (size_t at = 0; at < width * height; at++)
        canvas->cells[at] = ' ';
    return true;
}

void pm_canvas_end(struct pm_canvas_cells *canvas)
{
    pm_free(canvas->cells);
    canvas->cells = NULL;
}

uint32_t *pm_canvas_cell(const struct pm_canvas_cells *canvas, size_t row, size_t column)
{
    return &canvas->cells[row * canvas->width + column];
}

void pm_canvas_write(const struct pm_canvas_cells *canvas, size_t row, size_t column,
                     const char *text)
{
    for (size_t left = strlen(text); left > 0 && column < canvas->width; column++) {
        size_t used = pm_utf8_decode(text, left, pm_canvas_cell(canvas, row, column));
        text += used;
        left -= used;
    }
}

static uint32_t shown(const struct pm_canvas_cells *canvas, uint32_t code)
{
    if (!canvas->ascii || code < 0x80)
        return code;
    for (size_t i = 0; i < sizeof plain / sizeof *plain; i++)
        if (plain[i].code == code)
            return (unsigned char)plain[i].ascii;
    return '?';
}

static char *row_text(const struct pm_canvas_cells *canvas, size_t row)
{
    struct pm_text text = PM_TEXT_EMPTY;
    size_t width = canvas->width;
    while (width > 0 && *pm_canvas_cell(canvas, row, width - 1) == ' ')
        width--;
    for (size_t column = 0; column < width; column++) {
        char bytes[4];
        uint32_t code = shown(canvas, *pm_canvas_cell(canvas, row, column));
        pm_text_add_bytes(&text, bytes, pm_utf8_encode(code, bytes));
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

static size_t lines_of(const struct pm_text *text)
{
    size_t count = 0;
    for (size_t i = 0; i < text->length; i++)
        count += text->data[i] == '\n';
    return count;
}

static bool take_lines(struct pm_plot *plot, const struct pm_text *text)
{
    const char *at = pm_text_get(text);
    for (size_t length; *at; at += length + 1) {
        length = strcspn(at, "\n");
        plot->rows[plot->count] = pm_strndup(at, length);
        if (plot->rows[plot->count++] == NULL)
            return false;
    }
    return true;
}

static bool take_rows(struct pm_plot *plot, const struct pm_canvas_cells *canvas)
{
    for (size_t row = 0; row < canvas->height; row++) {
        plot->rows[plot->count] = row_text(canvas, row);
        if (plot->rows[plot->count++] == NULL)
            return false;
    }
    return true;
}

enum pm_status pm_canvas_rows(const struct pm_canvas_cells *canvas, const struct pm_text *above,
                              const struct pm_text *below, struct pm_plot *out,
                              struct pm_error *err)
{
    struct pm_plot plot = {NULL, 0};
    if (!pm_text_ok(above) || !pm_text_ok(below))
        return pm_fail_memory(err);
    plot.rows =
        pm_alloc_array(canvas->height + lines_of(above) + lines_of(below), sizeof *plot.rows);
    if (plot.rows == NULL)
        return pm_fail_memory(err);
    if (!take_lines(&plot, above) || !take_rows(&plot, canvas) || !take_lines(&plot, below)) {
        pm_plot_release(&plot);
        return pm_fail_memory(err);
    }
    *out = plot;
    return PM_OK;
}

char *pm_plot_number(double value, char sign, char buf[PM_PLOT_NUMBER])
{
    const double size = fabs(value);
    const bool whole = size >= 1e4 && size < 1e7;
    return pm_print(buf, PM_PLOT_NUMBER, "%s",
                    (whole ? pm_rounded_places(value, 0, sign) : pm_rounded(value, 4, sign)).text);
}
