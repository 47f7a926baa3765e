/* SPDX-License-Identifier: MIT */
/* Axes of pictures: scales and ticks. */
#include "plot_axis.h"

#include "canvas.h"

#include "permille/base/text.h"

#include <math.h>
#include <string.h>

/* ---- scales ---------------------------------------------------------------------------------- */

static double scaled(const struct pm_axis_made *axis, double value)
{
    switch (axis->scale) {
    case PM_PLOT_LOG:
        return value > 0 ? log10(value) : NAN;
    case PM_PLOT_LOG1P:
        return value >= 0 ? log1p(value / axis->ground) : NAN;
    default:
        return value;
    }
}

double pm_axis_share(const struct pm_axis_made *axis, double value)
{
    return (scaled(axis, value) - axis->from) / (axis->to - axis->from);
}

double pm_axis_share_from_end(const struct pm_axis_made *axis, double value)
{
    return (axis->to - scaled(axis, value)) / (axis->to - axis->from);
}

/* ---- how far --------------------------------------------------------------------------------- */

struct reach {
    double from, to;
    bool any;
};

static void reach_out(struct reach *reach, const struct pm_axis_made *axis, double value)
{
    if (!isfinite(scaled(axis, value)))
        return;
    if (!reach->any)
        *reach = (struct reach){value, value, true};
    reach->from = fmin(reach->from, value);
    reach->to = fmax(reach->to, value);
}

static struct reach reach_of(const struct pm_plot_spec *spec, const struct pm_axis_made *axis,
                             bool upright)
{
    struct reach reach = {0, 1, false};
    for (size_t s = 0; s < spec->series_count; s++)
        for (size_t i = 0; i < spec->series[s].count; i++) {
            const struct pm_plot_point *point = &spec->series[s].points[i];
            reach_out(&reach, axis, upright ? point->y : point->x);
            if (upright && point->range) {
                reach_out(&reach, axis, point->low);
                reach_out(&reach, axis, point->high);
            }
        }
    if (!reach.any)
        reach =
            axis->scale == PM_PLOT_LOG ? (struct reach){1, 10, true} : (struct reach){0, 1, true};
    return reach;
}

/* ---- ticks ----------------------------------------------------------------------------------- */

static void add_tick(struct pm_axis_made *axis, double at, char sign)
{
    if (axis->tick_count == PM_AXIS_TICKS)
        return;
    struct pm_axis_tick *tick = &axis->ticks[axis->tick_count++];
    tick->at = at;
    pm_plot_number(at, sign, tick->label);
}

/* The least of 1, 2, 5, 10, 20, ... (and 0.5, 0.2, ...) that makes no more than `most` steps. */
static double round_step(double span, size_t most)
{
    static const double digits[] = {1, 2, 5};
    double power = pow(10, floor(log10(span / (double)most)));
    for (;; power *= 10)
        for (size_t i = 0; i < sizeof digits / sizeof *digits; i++)
            if (span / (digits[i] * power) <= (double)most * (1 + 1e-9))
                return digits[i] * power;
}

static void linear_ticks(struct pm_axis_made *axis, struct reach *reach, bool fixed, size_t most,
                         char sign)
{
    /* Too close to be told apart, as one value is. */
    const double size = fmax(fabs(reach->from), fabs(reach->to));
    if (!fixed && reach->to - reach->from <= size * 1e-12 + 1e-290) {
        const double room = size < 1e-280 ? 1 : size / 2;
        reach->from -= room;
        reach->to += room;
    }
    const double step = round_step(reach->to - reach->from, most > 2 ? most - 1 : 1);
    const double first = fixed ? ceil(reach->from / step - 1e-9) : floor(reach->from / step + 1e-9);
    const double last = fixed ? floor(reach->to / step + 1e-9) : ceil(reach->to / step - 1e-9);
    for (double i = first; i <= last && axis->tick_count < PM_AXIS_TICKS; i++)
        add_tick(axis, i * step, sign);
    if (!fixed)
        *reach = (struct reach){first * step, last * step, true};
}

/* Whole decades, as many apart as there is room for; within one or two also 2 and 5. */
static void log_ticks(struct pm_axis_made *axis, struct reach *reach, bool fixed, size_t most,
                      char sign)
{
    double first = floor(log10(reach->from) + 1e-9), last = ceil(log10(reach->to) - 1e-9);
    if (first == last)
        last++;
    const double decades = last - first;
    const double apart = ceil(decades / (double)(most > 2 ? most - 1 : 1));
    for (double i = first; i <= last; i += apart) {
        add_tick(axis, pow(10, i), sign);
        if (apart == 1 && 3 * decades < (double)most && i < last) {
            add_tick(axis, 2 * pow(10, i), sign);
            add_tick(axis, 5 * pow(10, i), sign);
        }
    }
    if (!fixed)
        *reach = (struct reach){pow(10, first), pow(10, last), true};
}

/* 0, then 1, 2, 5, 10, ... grounds as far as the axis goes. */
static void log1p_ticks(struct pm_axis_made *axis, struct reach *reach, bool fixed, char sign)
{
    static const double digits[] = {1, 2, 5};
    if (!fixed)
        reach->from = 0;
    if (reach->to <= reach->from)
        reach->to = reach->from + axis->ground;
    add_tick(axis, 0, sign);
    for (double power = 1; power * axis->ground <= reach->to; power *= 10)
        for (size_t i = 0; i < sizeof digits / sizeof *digits; i++)
            add_tick(axis, digits[i] * power * axis->ground, sign);
}

static void given_ticks(struct pm_axis_made *axis, const struct pm_plot_axis *from)
{
    axis->tick_count = 0;
    for (size_t i = 0; i < from->tick_count && i < PM_AXIS_TICKS; i++) {
        struct pm_axis_tick *tick = &axis->ticks[axis->tick_count++];
        tick->at = from->ticks[i].at;
        pm_print(tick->label, sizeof tick->label, "%s", from->ticks[i].label);
    }
}

/* A fixed axis has two ends that can be told apart. */
static bool goes_somewhere(const struct pm_plot_axis *axis, const struct pm_axis_made *made)
{
    const double from = scaled(made, axis->from), to = scaled(made, axis->to);
    return !axis->fixed || (isfinite(from) && isfinite(to) &&
                            to - from > fmax(fabs(from), fabs(to)) * 1e-12 + 1e-290);
}

enum pm_status pm_axis_make(const struct pm_plot_axis *axis, const struct pm_plot_spec *spec,
                            bool upright, size_t most, struct pm_axis_made *out,
                            struct pm_error *err)
{
    *out =
        (struct pm_axis_made){.scale = axis->scale, .ground = axis->ground > 0 ? axis->ground : 1};
    struct reach reach = {axis->from, axis->to, true};
    if (!axis->fixed)
        reach = reach_of(spec, out, upright);
    if (!isfinite(reach.to - reach.from) || !goes_somewhere(axis, out))
        return pm_fail(err, PM_INVALID, "The axis \"%s\" goes nowhere.",
                       axis->title != NULL ? axis->title
                       : upright           ? "y"
                                           : "x");
    if (axis->scale == PM_PLOT_LOG)
        log_ticks(out, &reach, axis->fixed, most, spec->sign);
    else if (axis->scale == PM_PLOT_LOG1P)
        log1p_ticks(out, &reach, axis->fixed, spec->sign);
    else
        linear_ticks(out, &reach, axis->fixed, most, spec->sign);
    if (axis->ticks != NULL)
        given_ticks(out, axis);
    out->from = scaled(out, reach.from);
    out->to = scaled(out, reach.to);
    return PM_OK;
}
