/* SPDX-License-Identifier: MIT */
/* The Drydown room: the table, the curves, the details of one material. */
#include "drydown.h"

#include "permille/base/rounded.h"
#include "permille/base/utf8.h"
#include "permille/core/column.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#define DOT   " \xC2\xB7 "
#define LABEL 10

/* ---- the table ---- */

/* How much is left after each step, and where there is room how sure that is. */
enum { NAME, STAGE, PRESSURE, FIRST, COLUMNS = FIRST + 2 * DRY_POINTS };

#define LEFT(title)                                                                                \
    {                                                                                              \
        .heading = title, .wish = 5, .align = PM_ALIGN_POINT                                       \
    }
#define BAND                                                                                       \
    {                                                                                              \
        .measured = true, .optional = true, .from = 100, .gap = 1                                  \
    }

static const struct pm_column columns[COLUMNS] = {
    [NAME] =
        {.heading = "material", .wish = 24, .least = 16, .yields = 1, .fixed = true, .most = 40},
    [STAGE] = {.heading = "", .wish = 6},
    [PRESSURE] = {.heading = "Pa", .wish = 7, .align = PM_ALIGN_RIGHT},
    [FIRST] = LEFT("10 %"),
    BAND,
    LEFT("25 %"),
    BAND,
    LEFT("50 %"),
    BAND,
    LEFT("75 %"),
    BAND,
    LEFT("90 %"),
    BAND,
};

/* To one decimal. What was there at the start never looks as if nothing of it were left, though it
 * may be less than a double holds. */
static void add_part(struct pm_text *out, double part, char sign)
{
    char text[PM_AMOUNT_TEXT];
    if (part < 0.0005)
        pm_text_addf(out, "<0%c1", sign);
    else
        pm_text_add(out, pm_decimal_format(llround(part * 1000), 1, 1, sign, text));
}

/* How far it may be off, behind `before`; nothing where that does not show. */
static void add_band(struct pm_text *out, const char *before, const struct pm_dry_state *state,
                     char sign)
{
    struct pm_text low = PM_TEXT_EMPTY, high = PM_TEXT_EMPTY;
    add_part(&low, state->low, sign);
    add_part(&high, state->high, sign);
    if (strcmp(pm_text_get(&low), pm_text_get(&high)) != 0)
        pm_text_addf(out, "%s(%s-%s)", before, pm_text_get(&low), pm_text_get(&high));
    pm_text_release(&low);
    pm_text_release(&high);
}

static enum pm_role cell(void *context, size_t row, size_t column, struct pm_text *out)
{
    const struct drydown *drydown = context;
    const struct pm_dry_material *item = &drydown->dry[0].materials[row];
    if (column == NAME) {
        pm_text_add(out, item->name);
        return item->odd ? PM_ROLE_WARNING : PM_ROLE_NORMAL;
    }
    if (column == STAGE) {
        pm_text_addf(out, "%s%s", pm_stage_word(item->stage), item->odd ? "!" : "");
        return item->odd ? PM_ROLE_WARNING : PM_ROLE_FAINT;
    }
    if (column == PRESSURE) {
        char pascal[PM_PRESSURE_TEXT];
        pm_text_addf(out, "%s%s", pm_pressure_format(item->pressure, drydown->house->sign, pascal),
                     item->predicted ? "?" : "");
        return PM_ROLE_FAINT;
    }
    const struct pm_dry_state *state = &drydown->states[(column - FIRST) / 2][row];
    const char sign = drydown->house->sign;
    if ((column - FIRST) % 2 == 0)
        add_part(out, state->left, sign);
    else
        add_band(out, "", state, sign);
    return PM_ROLE_NORMAL;
}

static enum pm_role mark(void *context, size_t row, struct pm_text *out)
{
    const struct drydown *drydown = context;
    if (drydown_marked(drydown, drydown->dry[0].materials[row].material))
        pm_text_add(out, "*");
    return PM_ROLE_KEY;
}

struct pm_table drydown_table(struct drydown *drydown)
{
    return (struct pm_table){.columns = columns,
                             .column_count = COLUMNS,
                             .rows = drydown->count > 0 ? drydown->dry[0].count : 0,
                             .context = drydown,
                             .cell = cell,
                             .mark = mark,
                             .empty = "Nothing in it has a vapour pressure."};
}

/* ---- the curves ---- */

static void draw_plot(struct drydown *drydown, int rows, int cells)
{
    int64_t chosen[PM_PLOT_SERIES_MAX];
    const bool two = drydown->count == 2;
    struct pm_dry_picture picture = {
        .drydowns = drydown->dry,
        .count = drydown->count,
        .view = drydown->view == DRY_AIR ? PM_DRY_AIR : PM_DRY_LEFT,
        .materials = drydown->marked_count > 0 ? drydown->marked : chosen,
        .material_count = drydown->marked_count,
        .by_time = drydown->by_time,
        .ascii = !drydown->house->utf8,
        .fine = true,
        .width = (size_t)cells,
        .height = (size_t)rows,
        .sign = drydown->house->sign,
    };
    if (drydown->marked_count == 0)
        picture.material_count = pm_drydown_choose(&drydown->dry[0], two ? 3 : 5, chosen);
    drydown->undrawn = (struct pm_error){0};
    drydown->drawn_rows = rows;
    drydown->drawn_columns = cells;
    if (pm_drydown_plot(&picture, &drydown->plot, NULL, &drydown->undrawn) != PM_OK)
        drydown->plot = (struct pm_plot){.count = 0};
}

void drydown_prepare(void *state, const struct pm_canvas *canvas)
{
    struct drydown *drydown = state;
    const int rows = canvas->sheet.rows - 1, cells = canvas->sheet.columns - 1;
    if (drydown->in_series || drydown->view == DRY_TABLE || drydown->count == 0 ||
        drydown->dry[0].count == 0 || rows < PM_PLOT_HEIGHT_MIN || cells < PM_PLOT_WIDTH_MIN)
        return;
    if (drydown->drawn_rows == rows && drydown->drawn_columns == cells)
        return;
    drydown_redraw(drydown);
    draw_plot(drydown, rows, cells);
}

static void draw_curves(const struct drydown *drydown, const struct pm_pane *pane)
{
    if (drydown->undrawn.status != PM_OK)
        pm_pane_wrap(pane, 0, PM_ROLE_WARNING, drydown->undrawn.text);
    for (size_t i = 0; i < drydown->plot.count; i++)
        pm_pane_put(pane, (int)i, 0, PM_ROLE_NORMAL, drydown->plot.rows[i]);
    pm_pane_cursor(pane, 0, 0);
}

/* ---- details ---- */

static int fact(const struct pm_pane *pane, int row, const char *label, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
static int fact(const struct pm_pane *pane, int row, const char *label, const char *format, ...)
{
    struct pm_text text = PM_TEXT_EMPTY;
    va_list args;
    va_start(args, format);
    pm_text_addv(&text, format, args);
    va_end(args);
    row = pm_pane_fact(pane, row, LABEL, label, PM_ROLE_NORMAL, pm_text_get(&text));
    pm_text_release(&text);
    return row;
}

/* Where the other trial holds it as well: the same material's own air, once against the other. The
 * threshold cancels, so it is a comparison that can be made. */
static int beside(const struct drydown *drydown, const struct pm_pane *pane, int row,
                  const struct pm_dry_material *item)
{
    const struct pm_drydown *a = &drydown->dry[0], *b = &drydown->dry[1];
    for (size_t i = 0; drydown->count == 2 && i < b->count; i++) {
        if (b->materials[i].material != item->material)
            continue;
        const size_t at = (size_t)(item - a->materials);
        double share[2] = {0, 0}, all[2] = {0, 0};
        for (size_t j = 0; j < a->count; j++)
            all[0] += a->mix.items[j].moles;
        for (size_t j = 0; j < b->count; j++)
            all[1] += b->mix.items[j].moles;
        share[0] = a->mix.items[at].moles / all[0];
        share[1] = b->mix.items[i].moles / all[1];
        return fact(pane, row, "air", "at the start %s times that over %s",
                    pm_rounded(share[0] / share[1], 3, drydown->house->sign).text, b->title);
    }
    return row;
}

/* What is not modelled, the largest first, as many as there is room for. */
static void draw_missing(const struct drydown *drydown, const struct pm_pane *pane, int row)
{
    enum { MOST = 100, SCALE = 10 };
    const struct pm_drydown *dry = &drydown->dry[0];
    int64_t percent[MOST];
    size_t count = 0;
    for (; count < dry->missing_count && count < MOST && row + 2 + (int)count < pane->rows; count++)
        percent[count] = llround(dry->missing[count].percent * 1e10);
    if (count == 0)
        return;
    const struct pm_column_total column = pm_column_measure(percent, count, SCALE, PM_LEAST_PLACES);
    pm_pane_rule(pane, row + 1, "not modelled");
    for (size_t i = 0; i < count; i++) {
        char text[PM_AMOUNT_TEXT];
        pm_pane_putf(pane, row + 2 + (int)i, 0, PM_ROLE_FAINT, "%*s %%  %s",
                     pm_column_cells(&column),
                     pm_column_row_text(&column, percent[i], drydown->house->sign, text),
                     dry->missing[i].name);
    }
}

static void draw_details(const struct drydown *drydown, const struct pm_pane *pane)
{
    const struct pm_dry_material *item = drydown_selected(drydown);
    double low, high;
    char pascal[PM_PRESSURE_TEXT], most[PM_PRESSURE_TEXT];
    const char sign = drydown->house->sign;
    if (item == NULL || pane->columns < 20)
        return;
    const struct pm_drydown *dry = &drydown->dry[0];
    const double gone = pm_drydown_reaches(&dry->mix, drydown->list.row, 0.1, &low, &high);
    pm_pane_put_left(pane, 0, 0, pane->columns, PM_ROLE_HEADING, item->name);
    int row = fact(pane, 1, "pressure",
                   "%s Pa at 25 \xC2\xB0"
                   "C%s",
                   pm_pressure_format(item->pressure, sign, pascal),
                   item->low < item->high ? "" : ", no band known");
    if (item->low < item->high)
        row = fact(pane, row, "band", "%s to %s Pa", pm_pressure_format(item->low, sign, pascal),
                   pm_pressure_format(item->high, sign, most));
    row = fact(pane, row, "basis", "%s", item->basis);
    row = fact(pane, row, "stage", "%s by pressure; called %s%s", pm_stage_word(item->stage),
               item->label != NULL ? item->label : "nothing", item->odd ? ": odd" : "");
    row = fact(pane, row, "molar", "%s g/mol%s", pm_rounded(item->molar_mass, 4, sign).text,
               item->assumed ? ", assumed" : "");
    row =
        fact(pane, row, "amount", "%s %% of the formula", pm_rounded(item->percent, 3, sign).text);
    if (item->through != NULL)
        row = fact(pane, row, "through", "%s", item->through);
    if (item->activity != 1 || item->transfer != 1)
        row = fact(pane, row, "factors", "activity %s, transfer %s",
                   pm_rounded(item->activity, 3, sign).text,
                   pm_rounded(item->transfer, 3, sign).text);
    row = gone < 1 ? fact(pane, row, "a tenth", "is left at %s %% evaporated (%s to %s)",
                          pm_rounded(100 * gone, 3, sign).text, pm_rounded(100 * low, 3, sign).text,
                          pm_rounded(100 * high, 3, sign).text)
                   : fact(pane, row, "a tenth", "it never comes down to");
    row = beside(drydown, pane, row, item);
    draw_missing(drydown, pane, row);
}

/* More about the selected one where there are no details. */
enum pm_role drydown_remark(const void *state, bool details, struct pm_text *out)
{
    const struct drydown *drydown = state;
    const struct pm_dry_material *item = drydown_selected(drydown);
    if (drydown->in_series || item == NULL || details)
        return PM_ROLE_FAINT;
    pm_text_addf(out, "%s: when half of all is gone, ", item->name);
    add_part(out, drydown->states[2][drydown->list.row].left, drydown->house->sign);
    pm_text_add(out, " % of it is left");
    add_band(out, " ", &drydown->states[2][drydown->list.row], drydown->house->sign);
    pm_text_addf(out, "; %s", item->basis);
    return item->odd ? PM_ROLE_WARNING : PM_ROLE_FAINT;
}

/* ---- together ---- */

static void write_state(const struct drydown *drydown, struct pm_text *out)
{
    const struct pm_drydown *dry = &drydown->dry[0];
    if (dry->mix.count == 0)
        pm_text_add(out, "nothing modelled");
    else
        pm_text_addf(out, "%s %% modelled",
                     pm_rounded(100 - dry->missing_percent, 3, drydown->house->sign).text);
    if (dry->mix.count > 0 && dry->missing_count > 0)
        pm_text_addf(out, DOT "%zu not", dry->missing_count);
    if (dry->predicted_percent > 0 && dry->predicted_percent < 0.01)
        pm_text_add(out, DOT "<0.01 % predicted (?)");
    else if (dry->predicted_percent > 0)
        pm_text_addf(out, DOT "%s %% predicted (?)",
                     pm_rounded(dry->predicted_percent, 3, drydown->house->sign).text);
    if (drydown->without_alcohol)
        pm_text_add(out, DOT "no alcohol");
    pm_text_addf(out, DOT "%s", dry->ideal ? "ideal" : "own coefficients");
    pm_text_addf(out, DOT "%s", dry->clock.rate > 0 ? "clock set" : "no times");
}

static const char *view_word(const struct drydown *drydown)
{
    static const char *const words[DRY_VIEWS] = {
        "left of its own start, %, when so much has evaporated", "left of its own start",
        "shares of the air"};
    return words[drydown->view];
}

void drydown_paint(struct drydown *drydown, const struct pm_canvas *canvas)
{
    const struct pm_pane *sheet = &canvas->sheet;
    struct pm_text text = PM_TEXT_EMPTY;
    pm_pane_cursor(sheet, 0, 0);
    if (drydown->count == 0) {
        if (drydown->formula == 0)
            pm_formulas_invite(drydown->app, sheet, 1);
        else
            pm_pane_wrap(sheet, 1, PM_ROLE_FAINT, drydown->unread.text);
        return;
    }
    pm_text_addf(&text, "%s%s%s", drydown->dry[0].title, drydown->count == 2 ? " and " : "",
                 drydown->count == 2 ? drydown->dry[1].title : "");
    pm_pane_put_left(&canvas->heading, 0, 0, canvas->heading.columns, PM_ROLE_HEADING,
                     pm_text_get(&text));
    pm_text_clear(&text);
    write_state(drydown, &text);
    pm_pane_put_left(sheet, 0, 0, sheet->columns, PM_ROLE_NORMAL, pm_text_get(&text));
    pm_text_release(&text);
    struct pm_pane below = pm_pane_part(sheet, 1, 0, sheet->rows - 1, sheet->columns);
    if (drydown->view == DRY_TABLE) {
        pm_pane_put_left(&below, 0, 2, below.columns - 2, PM_ROLE_FAINT, view_word(drydown));
        below = pm_pane_part(sheet, 2, 0, sheet->rows - 2, sheet->columns);
        const struct pm_table table = drydown_table(drydown);
        pm_table_draw(&table, &drydown->list, &below);
    } else {
        draw_curves(drydown, &below);
    }
    if (canvas->details.columns >= 20)
        draw_details(drydown, &canvas->details);
}
