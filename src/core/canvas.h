/* SPDX-License-Identifier: MIT */
/* Private: cells that a picture is drawn into, one character each, and its rows of text. */
#ifndef PERMILLE_CORE_CANVAS_H
#define PERMILLE_CORE_CANVAS_H

#include "permille/base/text.h"
#include "permille/core/plot.h"

#include <stdint.h>

#define PM_CANVAS_ACROSS  0x2500u /* box drawing */
#define PM_CANVAS_DOWN    0x2502u
#define PM_CANVAS_CORNER  0x2514u
#define PM_CANVAS_TICK_X  0x252cu
#define PM_CANVAS_TICK_Y  0x2524u
#define PM_CANVAS_UPRIGHT 0x250au
#define PM_CANVAS_DOT     0x00b7u /* middle dot */
#define PM_CANVAS_SHADE   0x2591u
#define PM_CANVAS_BRAILLE 0x2800u

struct pm_canvas_cells {
    size_t width, height;
    bool ascii;
    uint32_t *cells; /* owned; code points, row by row */
};

/* Blank. False when memory ran out. */
bool pm_canvas_begin(struct pm_canvas_cells *canvas, size_t width, size_t height, bool ascii);
void pm_canvas_end(struct pm_canvas_cells *canvas);
uint32_t *pm_canvas_cell(const struct pm_canvas_cells *canvas, size_t row, size_t column);
/* Text to the right from a cell, cut at the edge; one cell per character. */
void pm_canvas_write(const struct pm_canvas_cells *canvas, size_t row, size_t column,
                     const char *text);
/* The canvas' rows, then the lines of `below` (each ends in a newline), as a picture. */
enum pm_status pm_canvas_rows(const struct pm_canvas_cells *canvas, const struct pm_text *above,
                              const struct pm_text *below, struct pm_plot *out,
                              struct pm_error *err);
/* Four significant digits, without an exponent where it can be read so: "12", "0.052", "1.2e+09".
 * `sign` 0 is a point. */
#define PM_PLOT_NUMBER 40
char *pm_plot_number(double value, char sign, char buf[PM_PLOT_NUMBER]);

#endif
