/* SPDX-License-Identifier: MIT */
/*
 * Intensity over time: which axes and stages the picture has, and the same told in words.
 */
#include "permille/base/clock.h"
#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/core/plot.h"
#include "permille/core/smell.h"

#include <stdlib.h>
#include <string.h>

#define LEAST_TO    INT64_C(3600) /* the axis goes at least this far */
#define AROUND_ROWS 3             /* the stages' names, the time axis and its labels */

struct point {
    int64_t since; /* never negative */
    int intensity;
    size_t order; /* as given, for equal times */
};

/* ---- points ---------------------------------------------------------------------------------- */

static int by_time(const void *left, const void *right)
{
    const struct point *a = left;
    const struct point *b = right;

    if (a->since != b->since)
        return a->since < b->since ? -1 : 1;
    return a->order < b->order ? -1 : a->order > b->order;
}

static enum pm_status check_points(const struct pm_smell_series *series, struct pm_error *err)
{
    for (size_t i = 0; i < series->count; i++) {
        int intensity = series->points[i].intensity;
        if (intensity < 0 || intensity > PM_INTENSITY_MAX) {
            return pm_fail(err, PM_INVALID, "An intensity is 0 to %d, not %d.", PM_INTENSITY_MAX,
                           intensity);
        }
    }
    return PM_OK;
}

/* The points of a series by time; *out is new (pm_free). */
static enum pm_status sort_points(const struct pm_smell_series *series, struct point **out,
                                  struct pm_error *err)
{
    enum pm_status status = check_points(series, err);
    if (status != PM_OK)
        return status;
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

/* ---- the picture ----------------------------------------------------------------------------- */

#define TIMES 17

struct axes {
    struct pm_plot_tick times[TIMES], levels[PM_INTENSITY_MAX + 1];
    char time_labels[TIMES][PM_TIME_TEXT], level_labels[PM_INTENSITY_MAX + 1][12];
    size_t level_count;
    struct pm_plot_upright stages[PM_STAGES];
    size_t stage_count;
};

static void name_times(struct axes *axes)
{
    static const int minutes[TIMES] = {0,    1,    5,    15,    30,    60,    120,    240,   480,
                                       1440, 2880, 5760, 10080, 20160, 43200, 129600, 525600};
    for (size_t i = 0; i < TIMES; i++) {
        char *label = axes->time_labels[i];
        if (minutes[i] > 0)
            pm_span_format((int64_t)minutes[i] * 60, label);
        else
            strcpy(label, "0");
        axes->times[i] = (struct pm_plot_tick){(double)minutes[i] * 60, label};
    }
}

/* Every second one, or every fifth where rows are few. */
static void name_levels(struct axes *axes, size_t height)
{
    const int step = height > PM_INTENSITY_MAX + AROUND_ROWS ? 2 : 5;
    for (int level = 0; level <= PM_INTENSITY_MAX; level += step) {
        char *label = axes->level_labels[axes->level_count];
        pm_print(label, sizeof *axes->level_labels, "%d", level);
        axes->levels[axes->level_count++] = (struct pm_plot_tick){level, label};
    }
}

/* Each stage from where it begins; one that has no time of its own has no place. */
static void name_stages(struct axes *axes, const struct pm_stage_bounds *bounds)
{
    const int64_t starts[PM_STAGES] = {0, bounds->heart > 0 ? bounds->heart : 0,
                                       bounds->base > 0 ? bounds->base : 0};
    for (size_t stage = 0; stage < PM_STAGES; stage++)
        if (pm_stage_at(starts[stage], bounds) == (enum pm_stage)stage)
            axes->stages[axes->stage_count++] =
                (struct pm_plot_upright){.at = (double)starts[stage],
                                         .label = pm_stage_word((enum pm_stage)stage),
                                         .unseen = starts[stage] == 0};
}

/* Points as the plot takes them, one block for all series: *out is new (pm_free). */
static enum pm_status take_points(const struct pm_smell_series *series, size_t count,
                                  struct pm_plot_series *plotted, struct pm_plot_point **out,
                                  struct pm_error *err)
{
    size_t all = 0;
    for (size_t i = 0; i < count; i++)
        all += series[i].count;
    struct pm_plot_point *points = pm_alloc_array(all + 1, sizeof *points), *next = points;
    if (points == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < count; i++) {
        plotted[i] = (struct pm_plot_series){series[i].name, next, series[i].count, false, false};
        for (size_t k = 0; k < series[i].count; k++) {
            const struct pm_smell_point *point = &series[i].points[k];
            *next++ = (struct pm_plot_point){.x = point->since > 0 ? (double)point->since : 0,
                                             .y = point->intensity};
        }
    }
    *out = points;
    return PM_OK;
}

static enum pm_status check(const struct pm_smell_series *series, size_t count,
                            struct pm_error *err)
{
    if (count > PM_PLOT_SERIES_MAX)
        return pm_fail(err, PM_REFUSED, "Up to %d trials can be drawn at once, not %zu.",
                       PM_PLOT_SERIES_MAX, count);
    for (size_t i = 0; i < count; i++) {
        enum pm_status status = check_points(&series[i], err);
        if (status != PM_OK)
            return status;
    }
    return PM_OK;
}

static int64_t last_time(const struct pm_smell_series *series, size_t count)
{
    int64_t to = LEAST_TO;
    for (size_t i = 0; i < count; i++)
        for (size_t k = 0; k < series[i].count; k++)
            to = series[i].points[k].since > to ? series[i].points[k].since : to;
    return to;
}

enum pm_status pm_smell_plot(const struct pm_smell_series *series, size_t count, size_t width,
                             size_t height, const struct pm_stage_bounds *bounds,
                             struct pm_plot *out, struct pm_error *err)
{
    static const struct pm_stage_bounds usual = {PM_STAGE_HEART_USUAL, PM_STAGE_BASE_USUAL};
    struct pm_plot_series plotted[PM_PLOT_SERIES_MAX];
    struct pm_plot_point *points = NULL;
    struct axes axes = {.level_count = 0};
    enum pm_status status = check(series, count, err);
    if (status == PM_OK)
        status = take_points(series, count, plotted, &points, err);
    if (status != PM_OK)
        return status;
    name_times(&axes);
    name_levels(&axes, height);
    name_stages(&axes, bounds != NULL ? bounds : &usual);
    const struct pm_plot_spec spec = {
        .width = width,
        .height = height,
        .x = {.scale = PM_PLOT_LOG1P,
              .ground = 60,
              .fixed = true,
              .to = (double)last_time(series, count),
              .ticks = axes.times,
              .tick_count = TIMES},
        .y = {.fixed = true,
              .to = PM_INTENSITY_MAX,
              .ticks = axes.levels,
              .tick_count = axes.level_count},
        .series = plotted,
        .series_count = count,
        .uprights = axes.stages,
        .upright_count = axes.stage_count,
    };
    status = pm_plot_draw(&spec, out, err);
    pm_free(points);
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
