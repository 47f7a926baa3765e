/* SPDX-License-Identifier: MIT */
/* Side by side: painting. */
#include "side.h"

#include "kit/list.h"

#include "permille/base/utf8.h"

#include <stdio.h>
#include <string.h>

#define ROW_STATE    0
#define ROW_TITLES   1
#define ROW_HEADINGS 2
#define ROW_LINES    3
#define FOOT_ROWS    4 /* rule, total, strength, solvent; and the cost where it is known */
#define DOT          " \xC2\xB7 "

struct paint {
    const struct side *side;
    const struct pm_pane *pane;
    struct side_layout at;
    char sign;
};

static const char *const measures[] = {[PM_BY_POURED] = "parts as poured",
                                       [PM_BY_NEAT] = "neat parts",
                                       [PM_BY_FLAT] = "flat: all resolved"};
static const char *const choices[] = {[PM_SIDE_ALL] = "all lines",
                                      [PM_SIDE_DIFFERING] = "lines that differ",
                                      [PM_SIDE_OWN] = "without what gave way"};
static const char *const orders[] = {[PM_SIDE_AS_WRITTEN] = "as written",
                                     [PM_SIDE_BY_PARTS] = "most parts changed first",
                                     [PM_SIDE_BY_FACTOR] = "largest factor first"};

static void put(const struct paint *paint, int row, struct side_span span, enum pm_role role,
                const char *text)
{
    if (span.cells > 0)
        pm_pane_put_right(paint->pane, row, span.at, span.cells, role, text);
}

static void put_left(const struct paint *paint, int row, struct side_span span, enum pm_role role,
                     const char *text)
{
    if (span.cells > 0)
        pm_pane_put_left(paint->pane, row, span.at, span.cells, role, text);
}

/* ---- heading rows ---- */

static void draw_state(const struct paint *paint)
{
    const struct side *side = paint->side;
    pm_pane_putf(paint->pane, ROW_STATE, 0, PM_ROLE_NORMAL, "%s" DOT "%s" DOT "%s",
                 measures[side->read.by], choices[side->only], orders[side->order]);
}

static void draw_titles(const struct paint *paint)
{
    const struct side *side = paint->side;
    char text[512];
    for (size_t t = 0; t < side->read.trials; t++) {
        const struct side_group *group = &paint->at.groups[t];
        struct side_span span = group->amount;
        if (span.cells == 0)
            continue;
        if (t > 0)
            span.cells = group->word.at + group->word.cells - span.at;
        else /* there is nothing above the names */
            span = (struct side_span){paint->at.name.at, span.at + span.cells - paint->at.name.at};
        side_title(side->read.titles[t], span.cells, text, sizeof text);
        if (t == 0)
            put(paint, ROW_TITLES, span, PM_ROLE_HEADING, text);
        else
            put_left(paint, ROW_TITLES, span, PM_ROLE_HEADING, text);
        if (t == side->column) {
            int cells = (int)pm_utf8_cells(text);
            cells = cells > span.cells ? span.cells : cells;
            pm_pane_overlay(paint->pane, ROW_TITLES,
                            t == 0 ? span.at + span.cells - cells : span.at, 1, cells,
                            PM_ROLE_SELECTED);
        }
        put(paint, ROW_HEADINGS, group->amount, PM_ROLE_FAINT, "parts");
        struct side_span change = group->change;
        change.cells -= change.cells > 0 ? side->change_places - PM_LEAST_PLACES : 0;
        put(paint, ROW_HEADINGS, change, PM_ROLE_FAINT, "change");
        put(paint, ROW_HEADINGS, group->factor, PM_ROLE_FAINT, "times");
    }
    put_left(paint, ROW_HEADINGS, paint->at.name, PM_ROLE_FAINT, "line");
    const char *more = paint->at.before && paint->at.after ? "< more trials >"
                       : paint->at.before                  ? "< more trials"
                                                           : "more trials >";
    if (paint->at.before || paint->at.after)
        pm_pane_put(paint->pane, ROW_STATE, paint->pane->columns - (int)strlen(more), PM_ROLE_FAINT,
                    more);
}

/* ---- lines ---- */

static enum pm_role word_role(const struct pm_compare_row *row, size_t trial)
{
    if (row->in_step[trial] || (row->change[trial] == PM_SAME && !row->other[trial]))
        return PM_ROLE_FAINT;
    if (row->change[trial] == PM_ADDED)
        return PM_ROLE_GOOD;
    return row->change[trial] == PM_GONE ? PM_ROLE_WARNING : PM_ROLE_NORMAL;
}

/* Decimal points stand below each other, however many decimals follow. */
static void put_change(const struct paint *paint, int row, const struct pm_side_line *line,
                       size_t trial, enum pm_role role)
{
    struct side_span span = paint->at.groups[trial].change;
    char text[SIDE_CHANGE_TEXT];
    if (span.cells == 0)
        return;
    span.cells -=
        paint->side->change_places - side_change_text(paint->side, line, trial, paint->sign, text);
    if (*text)
        put(paint, row, span, role, text);
}

static void draw_amounts(const struct paint *paint, int row, const struct pm_side_line *line)
{
    const struct side *side = paint->side;
    char text[SIDE_CHANGE_TEXT];
    for (size_t t = 0; t < side->read.trials; t++) {
        const struct side_group *group = &paint->at.groups[t];
        if (group->amount.cells == 0)
            continue;
        if (line->row.there[t])
            put(paint, row, group->amount, PM_ROLE_NORMAL,
                pm_column_row_text(&side->totals[t],
                                   side->values[t * side->read.count + line->place], paint->sign,
                                   text));
        else
            put(paint, row, group->amount, PM_ROLE_FAINT, "-");
        if (t == 0)
            continue;
        enum pm_role role = word_role(&line->row, t);
        put_change(paint, row, line, t, role);
        put(paint, row, group->factor, role, side_factor_text(line, t, paint->sign, text));
        put_left(paint, row, group->word, role, pm_side_word(line, t));
    }
}

static void draw_line(const struct paint *paint, int row, size_t place)
{
    const struct side *side = paint->side;
    const struct pm_side_line *line = &side->read.lines[side->shown[place]];
    bool accord = line->row.kind == PM_LINE_ACCORD;
    put_left(paint, row, paint->at.name, accord ? PM_ROLE_ACCORD : PM_ROLE_NORMAL, line->name);
    draw_amounts(paint, row, line);
    if (place == side->at)
        pm_list_select(paint->pane, row, paint->at.name.at);
}

static void scroll(struct side *side, int rows)
{
    side->page = rows;
    side->first = pm_list_first(side->first, side->at, side->shown_count, rows);
}

static void draw_lines(const struct paint *paint, int rows)
{
    const struct side *side = paint->side;
    for (int y = 0; y < rows && side->first + (size_t)y < side->shown_count; y++)
        draw_line(paint, ROW_LINES + y, side->first + (size_t)y);
    if (side->shown_count > 0)
        return;
    pm_pane_put(paint->pane, ROW_LINES + 1, 2, PM_ROLE_NORMAL,
                side->read.count == 0             ? "There are no lines to compare."
                : side->only == PM_SIDE_DIFFERING ? "No line differs."
                                                  : "No line did more than give way.");
    pm_pane_cursor(paint->pane, ROW_LINES + 1, 2);
}

/* ---- foot ---- */

static void draw_rule(const struct paint *paint, int row)
{
    const struct side *side = paint->side;
    char text[64] = "";
    size_t below = side->shown_count - side->first;
    below = below > (size_t)side->page ? below - (size_t)side->page : 0;
    size_t hidden = side->read.count - side->shown_count;
    if (below > 0)
        snprintf(text, sizeof text, "%zu below", below);
    if (hidden > 0)
        snprintf(text + strlen(text), sizeof text - strlen(text), "%s%zu not shown",
                 below > 0 ? DOT : "", hidden);
    pm_pane_rule(paint->pane, row, *text ? text : NULL);
}

/* What most lines moved by, so that "in step" has its number. */
static void put_step(const struct paint *paint, int row, size_t trial)
{
    const struct side_group *group = &paint->at.groups[trial];
    char text[SIDE_CHANGE_TEXT] = "x";
    int64_t step = paint->side->read.step_ppm[trial];
    if (step <= 0 || group->factor.cells == 0)
        return;
    pm_factor_format(step, paint->sign, text + 1);
    put(paint, row, group->factor, PM_ROLE_FAINT, text);
    put_left(paint, row, group->word, PM_ROLE_FAINT, "in step");
}

static void put_base(const struct paint *paint, int row, size_t trial)
{
    const struct side_group *group = &paint->at.groups[trial];
    char text[PM_AMOUNT_TEXT + 8], number[PM_AMOUNT_TEXT];
    if (trial == 0 || paint->side->read.base[trial] == paint->side->read.base[0])
        return;
    snprintf(text, sizeof text, "base %s",
             pm_decimal_exact(paint->side->read.base[trial], 6, paint->sign, number));
    struct side_span span = {group->amount.at + group->amount.cells + 2,
                             group->word.at + group->word.cells - group->amount.at -
                                 group->amount.cells - 2};
    put_left(paint, row, span, PM_ROLE_FAINT, text);
}

static void draw_foot(const struct paint *paint, int row)
{
    const struct side *side = paint->side;
    char text[SIDE_CHANGE_TEXT];
    draw_rule(paint, row);
    put_left(paint, row + 1, paint->at.name, PM_ROLE_HEADING, "total");
    put_left(paint, row + 2, paint->at.name, PM_ROLE_FAINT, "strength");
    put_left(paint, row + 3, paint->at.name, PM_ROLE_FAINT, "solvent");
    const char *currency = side_currency(side);
    if (currency) {
        snprintf(text, sizeof text, "cost/kg, %s", currency);
        put_left(paint, row + 4, paint->at.name, PM_ROLE_FAINT, text);
    }
    for (size_t t = 0; t < side->read.trials; t++) {
        const struct side_group *group = &paint->at.groups[t];
        if (group->amount.cells == 0)
            continue;
        put(paint, row + 1, group->amount, PM_ROLE_HEADING,
            pm_column_total_text(&side->totals[t], paint->sign, text));
        put(paint, row + 2, group->amount, PM_ROLE_NORMAL,
            side_share_text(side->read.strength[t], paint->sign, text));
        put(paint, row + 3, group->amount, PM_ROLE_NORMAL,
            side_share_text(side->read.solvent_share[t], paint->sign, text));
        if (currency)
            put(paint, row + 4, group->amount, PM_ROLE_NORMAL,
                side_cost_text(side, t, paint->sign, text));
        put_step(paint, row + 1, t);
        put_base(paint, row + 2, t);
    }
}

void side_draw(struct side *side, const struct pm_pane *pane, char sign)
{
    struct paint paint = {.side = side, .pane = pane, .sign = sign};
    int foot_rows = FOOT_ROWS + (side_currency(side) ? 1 : 0);
    int rows = pane->rows - ROW_LINES - foot_rows;
    side_lay_out(side, pane->columns, &paint.at);
    scroll(side, rows);
    draw_state(&paint);
    draw_titles(&paint);
    draw_lines(&paint, rows);
    int used = side->shown_count < (size_t)side->page ? (int)side->shown_count : side->page;
    int foot = ROW_LINES + (used > 0 ? used : 3);
    draw_foot(&paint, foot < pane->rows - foot_rows ? foot : pane->rows - foot_rows);
}

/* ---- the selected line in words ---- */

static void say_forms(const struct pm_side_line *line, size_t trials, struct pm_text *out)
{
    const char *last = NULL;
    for (size_t t = 0; t < trials; t++) {
        const char *form = line->form[t];
        if (!form || (last && strcmp(form, last) == 0))
            continue;
        pm_text_addf(out, "%s%s", last ? ", then " : "", form);
        last = form;
    }
}

/* "+2.5, x1.25 from Slack Water/1 to Slack Water/4" */
static void say_change(const struct side *side, const struct pm_side_line *line, char sign,
                       struct pm_text *out)
{
    size_t told = side_told(side);
    char change[SIDE_CHANGE_TEXT], factor[SIDE_CHANGE_TEXT];
    side_change_text(side, line, told, sign, change);
    side_factor_text(line, told, sign, factor);
    if (*change)
        pm_text_addf(out, "%s%s%s%s from %s to %s", out->length > 0 ? DOT : "", change,
                     *factor ? ", " : "", factor, side->read.titles[0], side->read.titles[told]);
}

void side_describe(const struct side *side, char sign, struct pm_text *out)
{
    const struct pm_side_line *line = side_line(side);
    if (!line)
        return;
    pm_text_add(out, line->name);
    if (line->form[0] || line->form[side->read.trials - 1]) {
        pm_text_add(out, ": ");
        say_forms(line, side->read.trials, out);
    }
    for (size_t t = 1; t < side->read.trials; t++)
        if (line->row.other[t]) {
            pm_text_add(out, line->row.kind == PM_LINE_ACCORD
                                 ? " (the same parts of another trial of it)"
                                 : " (the same amount, poured otherwise)");
            break;
        }
    say_change(side, line, sign, out);
}
