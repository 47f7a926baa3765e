/* SPDX-License-Identifier: MIT */
/*
 * Pictures in characters: series of points over two axes, and a triangle for mixtures of three.
 *
 * Every picture is rows of text in which each character takes one cell, so that it stands the same
 * on a screen, in a file and on paper. Nothing in it needs colour. For those who do not see it,
 * pm_plot_say and pm_triangle_say tell the same in words.
 */
#ifndef PERMILLE_CORE_PLOT_H
#define PERMILLE_CORE_PLOT_H

#include "permille/base/status.h"

#include <stdbool.h>
#include <stddef.h>

#define PM_PLOT_SERIES_MAX 8
#define PM_PLOT_WIDTH_MIN  24
#define PM_PLOT_HEIGHT_MIN 7
#define PM_PLOT_SIZE_MAX   1000

struct pm_plot {
    char **rows; /* UTF-8, no blanks at the end; owned */
    size_t count;
};
void pm_plot_release(struct pm_plot *plot);

/* The mark of the place-th series, ASCII; for legends. ' ' from PM_PLOT_SERIES_MAX on. */
char pm_plot_mark(size_t place);

/* ---- points over two axes -------------------------------------------------------------------- */

enum pm_plot_scale {
    PM_PLOT_LINEAR,
    PM_PLOT_LOG,  /* a value of 0 or less has no place: it is left out, lines break there */
    PM_PLOT_LOG1P /* log(1 + value / ground): 0 has its place, what is far apart stays in sight.
                     Values below 0 are left out as above */
};

struct pm_plot_tick {
    double at;
    const char *label; /* one cell per character */
};

/* Strings and arrays are borrowed. */
struct pm_plot_axis {
    const char *title; /* "time"; NULL: none */
    const char *unit;  /* "min": stands behind the title and, in words, behind values; or NULL */
    enum pm_plot_scale scale;
    double ground; /* of PM_PLOT_LOG1P, > 0; 0 means 1 */
    /* With `fixed` the axis goes from `from` to `to` (from < to; what lies outside is left out),
     * else as far as the points do, to round numbers. */
    bool fixed;
    double from, to;
    /* NULL: round numbers. Those that would run into each other are left out, the first come
     * first. */
    const struct pm_plot_tick *ticks;
    size_t tick_count;
};

struct pm_plot_point {
    double x, y;      /* NaN: left out, and the line breaks there */
    bool range;       /* the value is uncertain: */
    double low, high; /* low <= y <= high */
};

struct pm_plot_series {
    const char *name;
    const struct pm_plot_point *points; /* any order */
    size_t count;
    bool apart; /* no line leads from point to point; a range is a stroke, not a band */
    bool bare;  /* the line, with one mark near its end where it is clear of the other series: a
                   curve worked out from many points */
};

/* An upright at a place on the x axis, with a word on top from there on as far as there is room. */
struct pm_plot_upright {
    double at;
    const char *label; /* or NULL; one cell per character */
    bool unseen;       /* the word alone */
};

struct pm_plot_spec {
    size_t width, height; /* of the whole picture, in cells */
    struct pm_plot_axis x, y;
    const struct pm_plot_series *series;
    size_t series_count;
    const struct pm_plot_upright *uprights; /* from the left to the right */
    size_t upright_count;
    bool fine;   /* lines in braille dots, eight in a cell, instead of one dot per column */
    bool ascii;  /* nothing but ASCII (lines are never fine then) */
    bool legend; /* mark and name of each series, below */
    char sign;   /* decimal sign of numbers; 0: a point */
};

/*
 * Draws it. Each series has a mark of its own (pm_plot_mark); a digit says how many series meet in
 * a cell. PM_REFUSED for more series than there are marks, a size out of range, or one in which
 * titles and legend leave less than three rows for the drawing; PM_INVALID for an axis that goes
 * nowhere; PM_NOMEM. On failure *out is as before.
 */
enum pm_status pm_plot_draw(const struct pm_plot_spec *spec, struct pm_plot *out,
                            struct pm_error *err);

/*
 * The place-th series in words: "o Trial 2: 8 at 0, 6.5 (5 to 8) at 15 min, 2 at 60 min." One of
 * more than twelve points is told by its ends and by its most and least. *out is a new string
 * (pm_free). PM_NOMEM.
 */
enum pm_status pm_plot_say(const struct pm_plot_spec *spec, size_t place, char **out,
                           struct pm_error *err);

/* ---- mixtures of three ----------------------------------------------------------------------- */

struct pm_triangle_point {
    double share[3]; /* >= 0; their sum is taken as the whole */
    char mark;       /* 0: 'o' */
};

/* A corner is the whole of one component: the first on top, the second at the left, the third at
 * the right. */
struct pm_triangle_spec {
    size_t width, height; /* of the whole picture; the triangle takes what fits with even sides */
    const char *names[3];
    /* What is shown over the triangle: its value for shares that add up to 1; NaN: unknown, left
     * blank. NULL: the triangle is empty. */
    double (*value)(void *context, const double share[3]);
    void *context;
    const char *title, *unit; /* of the value; or NULL */
    const struct pm_triangle_point *points;
    size_t point_count;
    bool ascii;
    char sign;
};

#define PM_TRIANGLE_LEVELS     6 /* the denser the mark, the more */
#define PM_TRIANGLE_HEIGHT_MIN 12

/*
 * Draws it: equal steps between the least and the most value have marks of growing density, which
 * the rows below tell; points stand on top of them. PM_REFUSED for a size out of range, PM_INVALID
 * for a point whose shares are not all >= 0 and finite or are all 0, PM_NOMEM. On failure *out is
 * as before.
 */
enum pm_status pm_triangle_draw(const struct pm_triangle_spec *spec, struct pm_plot *out,
                                struct pm_error *err);
/* In words: where the value is most and least, as far as the picture is fine: "most 8.2 at A 20 %,
 * B 30 %, C 50 %; least 1 at A 100 %." *out is a new string (pm_free). PM_NOMEM, PM_REFUSED as
 * above. */
enum pm_status pm_triangle_say(const struct pm_triangle_spec *spec, char **out,
                               struct pm_error *err);

#endif
