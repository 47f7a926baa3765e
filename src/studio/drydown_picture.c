/* SPDX-License-Identifier: MIT */
/* Drydown drawn: in characters, in words, and as SVG in a page of HTML. */
#include "inside.h"
#include "permille/studio/drydown.h"

#include "permille/base/mem.h"
#include "permille/base/rounded.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define STEPS 60    /* from nothing evaporated to all of it */
#define LAST  0.995 /* the whole is reached only in infinite time */

struct curve {
    size_t drydown, place;
    char name[192];
    struct pm_plot_point points[STEPS + 1];
};
struct curves {
    struct curve *items; /* owned */
    size_t count;
    struct pm_plot_series series[PM_PLOT_SERIES_MAX];
};

static size_t place_of(const struct pm_drydown *drydown, int64_t material)
{
    for (size_t i = 0; i < drydown->count; i++)
        if (drydown->materials[i].material == material)
            return i;
    return drydown->count;
}

static enum pm_status check(const struct pm_dry_picture *picture, struct pm_error *err)
{
    if (picture->count < 1 || picture->count > 2)
        return pm_fail(err, PM_REFUSED, "One or two trials are drawn over one another, not %zu.",
                       picture->count);
    for (size_t d = 0; d < picture->count; d++) {
        const struct pm_drydown *drydown = &picture->drydowns[d];
        if (drydown->mix.count == 0)
            return pm_fail(err, PM_REFUSED, "Nothing in %s has a vapour pressure to draw.",
                           drydown->title);
        if (picture->by_time && !(drydown->clock.rate > 0))
            return pm_fail(err, PM_REFUSED,
                           "%s has no clock: a smell note that something was gone sets it.",
                           drydown->title);
    }
    return PM_OK;
}

static void name_curve(const struct pm_dry_picture *picture, struct curve *curve)
{
    const struct pm_drydown *drydown = &picture->drydowns[curve->drydown];
    const struct pm_dry_material *item = &drydown->materials[curve->place];
    (void)snprintf(curve->name, sizeof curve->name, "%.100s (%s%s)%s%.60s", item->name,
                   pm_stage_word(item->stage), item->predicted ? ", predicted" : "",
                   picture->count > 1 ? " " : "", picture->count > 1 ? drydown->title : "");
}

static enum pm_status collect(const struct pm_dry_picture *picture, struct curves *out,
                              struct pm_error *err)
{
    out->items = pm_alloc_array(PM_PLOT_SERIES_MAX, sizeof *out->items);
    if (out->items == NULL)
        return pm_fail_memory(err);
    for (size_t m = 0; m < picture->material_count; m++)
        for (size_t d = 0; d < picture->count; d++) {
            const size_t place = place_of(&picture->drydowns[d], picture->materials[m]);
            if (place == picture->drydowns[d].count)
                continue;
            if (out->count == PM_PLOT_SERIES_MAX)
                return pm_fail(err, PM_REFUSED, "At most %d curves can be told apart.",
                               PM_PLOT_SERIES_MAX);
            struct curve *curve = &out->items[out->count++];
            *curve = (struct curve){.drydown = d, .place = place};
            name_curve(picture, curve);
        }
    return out->count > 0
               ? PM_OK
               : pm_fail(err, PM_REFUSED, "None of the materials asked for is modelled.");
}

/* Where a point stands on the axis: percent evaporated, or minutes. */
static double axis_at(const struct pm_dry_picture *picture, const struct pm_drydown *drydown,
                      double gone)
{
    return picture->by_time ? pm_drydown_seconds(&drydown->mix, gone, drydown->clock.rate) / 60
                            : 100 * gone;
}

static void put_point(const struct pm_dry_picture *picture, struct curve *curve, size_t step,
                      double gone, const struct pm_dry_state *states)
{
    const struct pm_drydown *drydown = &picture->drydowns[curve->drydown];
    struct pm_dry_state state = states[curve->place];
    struct pm_plot_point *point = &curve->points[step];
    *point = (struct pm_plot_point){.x = axis_at(picture, drydown, gone)};
    if (!isfinite(point->x))
        point->x = NAN;
    /* To a hundredth of a percent: what is less is nothing in a picture. */
    if (picture->view == PM_DRY_AIR) {
        point->y = round(1e4 * state.share) / 100;
        return;
    }
    pm_drydown_band(&drydown->mix, curve->place, gone, &state);
    point->y = round(1e4 * state.left) / 100;
    point->range = state.low < state.high;
    point->low = round(1e4 * state.low) / 100;
    point->high = round(1e4 * state.high) / 100;
}

static enum pm_status work_out(const struct pm_dry_picture *picture, size_t d,
                               struct curves *curves, struct pm_error *err)
{
    const struct pm_drydown *drydown = &picture->drydowns[d];
    struct pm_dry_state *states = pm_alloc_array(drydown->count, sizeof *states);
    double tau = 0;
    if (states == NULL)
        return pm_fail_memory(err);
    for (size_t step = 0; step <= STEPS; step++) {
        const double gone = LAST * (double)step / STEPS;
        pm_drydown_at(&drydown->mix, gone, false, &tau, states);
        for (size_t c = 0; c < curves->count; c++)
            if (curves->items[c].drydown == d)
                put_point(picture, &curves->items[c], step, gone, states);
    }
    pm_free(states);
    return PM_OK;
}

static enum pm_status curves_of(const struct pm_dry_picture *picture, struct curves *out,
                                struct pm_error *err)
{
    *out = (struct curves){.count = 0};
    enum pm_status status = check(picture, err);
    if (status == PM_OK)
        status = collect(picture, out, err);
    for (size_t d = 0; status == PM_OK && d < picture->count; d++)
        status = work_out(picture, d, out, err);
    for (size_t c = 0; status == PM_OK && c < out->count; c++)
        out->series[c] = (struct pm_plot_series){.name = out->items[c].name,
                                                 .points = out->items[c].points,
                                                 .count = STEPS + 1,
                                                 .bare = true};
    return status;
}

/* ---- in characters ---- */

static struct pm_plot_spec spec_of(const struct pm_dry_picture *picture,
                                   const struct curves *curves)
{
    struct pm_plot_spec spec = {
        .width = picture->width,
        .height = picture->height,
        .x = {.title = "evaporated, of the modelled amount",
              .unit = "%",
              .fixed = true,
              .from = 0,
              .to = 100},
        .y = {.title = picture->view == PM_DRY_LEFT ? "left of its own start" : "share of the air",
              .unit = "%",
              .fixed = true,
              .from = 0,
              .to = 100},
        .series = curves->series,
        .series_count = curves->count,
        .fine = picture->fine && !picture->ascii,
        .ascii = picture->ascii,
        .legend = true,
        .sign = picture->sign,
    };
    if (picture->by_time)
        spec.x = (struct pm_plot_axis){
            .title = "time by your own note", .unit = "min", .scale = PM_PLOT_LOG1P};
    return spec;
}

enum pm_status pm_drydown_plot(const struct pm_dry_picture *picture, struct pm_plot *out,
                               struct pm_text *words, struct pm_error *err)
{
    struct curves curves;
    struct pm_plot plot = {.count = 0};
    enum pm_status status = curves_of(picture, &curves, err);
    const struct pm_plot_spec spec = spec_of(picture, &curves);
    if (status == PM_OK)
        status = pm_plot_draw(&spec, &plot, err);
    for (size_t c = 0; status == PM_OK && words != NULL && c < curves.count; c++) {
        char *sentence;
        status = pm_plot_say(&spec, c, &sentence, err);
        if (status != PM_OK)
            break;
        pm_text_addf(words, "%s\n", sentence);
        pm_free(sentence);
    }
    pm_free(curves.items);
    if (status == PM_OK)
        *out = plot;
    else
        pm_plot_release(&plot);
    return status;
}

/* ---- as a page ---- */

enum { LEFT = 60, TOP = 20, WIDE = 640, HIGH = 360 };

static void add_escaped(struct pm_text *out, const char *text)
{
    for (; *text != '\0'; text++)
        if (*text == '&')
            pm_text_add(out, "&amp;");
        else if (*text == '<')
            pm_text_add(out, "&lt;");
        else if (*text == '>')
            pm_text_add(out, "&gt;");
        else if (*text == '"')
            pm_text_add(out, "&quot;");
        else
            pm_text_add_char(out, *text);
}

/* The largest finite x of all curves; 100 by fraction. */
static double widest(const struct pm_dry_picture *picture, const struct curves *curves)
{
    double most = picture->by_time ? 0 : 100;
    for (size_t c = 0; picture->by_time && c < curves->count; c++)
        for (size_t i = 0; i <= STEPS; i++)
            if (curves->items[c].points[i].x > most)
                most = curves->items[c].points[i].x;
    return most > 0 ? most : 1;
}

/* Minutes go as log(1 + t), as in characters. */
static double across(const struct pm_dry_picture *picture, double x, double most)
{
    const double part = picture->by_time ? log1p(x) / log1p(most) : x / most;
    return LEFT + WIDE * part;
}

static double down(double y)
{
    return TOP + HIGH * (1 - y / 100);
}

static void add_frame(const struct pm_dry_picture *picture, double most, struct pm_text *out)
{
    static const double minutes[] = {0, 1, 5, 15, 60, 240, 1440, 10080, 100000, 1000000};
    pm_text_addf(out, "<rect x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\" class=\"frame\"/>\n",
                 LEFT, TOP, WIDE, HIGH);
    for (int y = 0; y <= 100; y += 25)
        pm_text_addf(out, "<text x=\"%d\" y=\"%.1f\" class=\"y\">%d</text>\n", LEFT - 8,
                     down(y) + 4, y);
    for (size_t i = 0; i < sizeof minutes / sizeof *minutes; i++) {
        const double x = picture->by_time ? minutes[i] : 25.0 * (double)i;
        if (x <= most)
            pm_text_addf(out, "<text x=\"%.1f\" y=\"%d\" class=\"x\">%.0f</text>\n",
                         across(picture, x, most), TOP + HIGH + 18, x);
    }
    pm_text_addf(out, "<text x=\"%d\" y=\"%d\" class=\"x\">%s</text>\n", LEFT + WIDE / 2,
                 TOP + HIGH + 38,
                 picture->by_time ? "minutes, by your own note"
                                  : "evaporated, percent of the modelled amount");
    pm_text_addf(out, "<text x=\"%d\" y=\"14\">%s, percent</text>\n", LEFT,
                 picture->view == PM_DRY_LEFT ? "left of its own start" : "share of the air");
}

static void add_band(const struct pm_dry_picture *picture, const struct curve *curve, double most,
                     struct pm_text *out)
{
    pm_text_add(out, "<polygon class=\"band\" points=\"");
    for (size_t i = 0; i <= STEPS; i++)
        if (isfinite(curve->points[i].x))
            pm_text_addf(out, "%.1f,%.1f ", across(picture, curve->points[i].x, most),
                         down(curve->points[i].range ? curve->points[i].high : curve->points[i].y));
    for (size_t i = STEPS + 1; i-- > 0;)
        if (isfinite(curve->points[i].x))
            pm_text_addf(out, "%.1f,%.1f ", across(picture, curve->points[i].x, most),
                         down(curve->points[i].range ? curve->points[i].low : curve->points[i].y));
    pm_text_add(out, "\"/>\n");
}

/* Curves differ by their strokes and by a number where they end, not by colour. */
static void add_curve(const struct pm_dry_picture *picture, const struct curve *curve, size_t place,
                      double most, struct pm_text *out)
{
    static const char *const dashes[PM_PLOT_SERIES_MAX] = {
        "none", "8 4", "2 3", "12 3 2 3", "1 5", "16 6", "6 2 2 2 2 2", "3 8"};
    size_t middle = STEPS / 8 + place * STEPS / 12;
    if (curve->points[0].range || curve->points[STEPS / 2].range)
        add_band(picture, curve, most, out);
    pm_text_addf(out, "<polyline stroke-dasharray=\"%s\" points=\"", dashes[place]);
    for (size_t i = 0; i <= STEPS; i++)
        if (isfinite(curve->points[i].x))
            pm_text_addf(out, "%.1f,%.1f ", across(picture, curve->points[i].x, most),
                         down(curve->points[i].y));
    pm_text_add(out, "\"/>\n");
    while (middle > 0 && !isfinite(curve->points[middle].x))
        middle--;
    pm_text_addf(out, "<text x=\"%.1f\" y=\"%.1f\">%zu</text>\n",
                 across(picture, curve->points[middle].x, most) + 3,
                 down(curve->points[middle].y) - 4, place + 1);
}

static void add_table(const struct pm_dry_picture *picture, const struct curves *curves,
                      struct pm_text *out)
{
    pm_text_addf(out, "<table><tr><th>curve</th>");
    for (size_t i = 0; i <= STEPS; i += STEPS / 6)
        pm_text_addf(out, "<th>%.0f&nbsp;%%</th>", 100 * LAST * (double)i / STEPS);
    pm_text_add(out, "</tr>\n");
    for (size_t c = 0; c < curves->count; c++) {
        pm_text_addf(out, "<tr><td>%zu ", c + 1);
        add_escaped(out, curves->items[c].name);
        pm_text_add(out, "</td>");
        for (size_t i = 0; i <= STEPS; i += STEPS / 6) {
            const struct pm_plot_point *point = &curves->items[c].points[i];
            pm_text_addf(out, "<td>%s", pm_rounded_places(point->y, 1, picture->sign).text);
            if (point->range && i > 0)
                pm_text_addf(out, " (%s to %s)",
                             pm_rounded_places(point->low, 1, picture->sign).text,
                             pm_rounded_places(point->high, 1, picture->sign).text);
            pm_text_add(out, "</td>");
        }
        pm_text_add(out, "</tr>\n");
    }
    pm_text_addf(out, "</table>\n<p>Columns: percent of the modelled amount evaporated. %s</p>\n",
                 picture->view == PM_DRY_LEFT
                     ? "Left of each material's own start in percent, with its band."
                     : "Shares of the vapour in percent.");
}

static void add_remarks(const struct pm_dry_picture *picture, struct pm_text *out)
{
    struct pm_text said = PM_TEXT_EMPTY;
    for (size_t d = 0; d < picture->count; d++) {
        pm_text_add(out, "<h2>");
        add_escaped(out, picture->drydowns[d].title);
        pm_text_add(out, "</h2>\n<pre>");
        pm_text_clear(&said);
        pm_drydown_say(&picture->drydowns[d], picture->sign, &said);
        pm_drydown_say_odd(&picture->drydowns[d], picture->sign, &said);
        out->failed = out->failed || !pm_text_ok(&said);
        add_escaped(out, pm_text_get(&said));
        pm_text_add(out, "</pre>\n");
    }
    pm_text_release(&said);
}

enum pm_status pm_drydown_html(const struct pm_dry_picture *picture, struct pm_text *out,
                               struct pm_error *err)
{
    struct curves curves;
    enum pm_status status = curves_of(picture, &curves, err);
    if (status == PM_OK) {
        const double most = widest(picture, &curves);
        pm_text_add(out,
                    "<!DOCTYPE html>\n<html lang=\"en\">\n<head><meta charset=\"utf-8\">\n"
                    "<title>Drydown</title>\n<style>body{font-family:sans-serif;max-width:60em;"
                    "margin:1em auto}pre{white-space:pre-wrap}svg{width:100%}polyline,.frame{"
                    "fill:none;stroke:#000;stroke-width:1.5}.band{fill:#000;fill-opacity:.08}"
                    "text{font-size:13px}.x{text-anchor:middle}.y{text-anchor:end}td,th{"
                    "padding:.1em .6em;text-align:left}</style></head>\n<body>\n<h1>Drydown of ");
        for (size_t d = 0; d < picture->count; d++) {
            pm_text_add(out, d > 0 ? " and " : "");
            add_escaped(out, picture->drydowns[d].title);
        }
        pm_text_addf(out, "</h1>\n<svg viewBox=\"0 0 %d %d\" role=\"img\">\n", LEFT + WIDE + 20,
                     TOP + HIGH + 50);
        add_frame(picture, most, out);
        for (size_t c = 0; c < curves.count; c++)
            add_curve(picture, &curves.items[c], c, most, out);
        pm_text_add(out, "</svg>\n");
        add_table(picture, &curves, out);
        add_remarks(picture, out);
        pm_text_add(out, "</body>\n</html>\n");
        if (!pm_text_ok(out))
            status = pm_fail_memory(err);
    }
    pm_free(curves.items);
    return status;
}
