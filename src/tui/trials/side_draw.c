/* SPDX-License-Identifier: MIT */
/* Side by side: painting. */
#include "side.h"

#include "permille/base/utf8.h"

#include <stdio.h>
#include <string.h>

#define ROW_TABLE  1 /* below the state; the titles of the trials stand in the table's first row */
#define FOOT_ROWS  3 /* total, strength, solvent; and the cost where it is known */
#define NAME_LEAST 14
#define WORD_CELLS 7 /* "in step" */
#define DOT        " \xC2\xB7 "

enum { NAME };
enum { FOOT_TOTAL, FOOT_STRENGTH, FOOT_SOLVENT, FOOT_COST };

static const char *const measures[] = {[PM_BY_POURED] = "parts as poured",
                                       [PM_BY_NEAT] = "neat parts",
                                       [PM_BY_FLAT] = "flat: all resolved"};
static const char *const choices[] = {[PM_SIDE_ALL] = "all lines",
                                      [PM_SIDE_DIFFERING] = "lines that differ",
                                      [PM_SIDE_OWN] = "without what gave way"};
static const char *const orders[] = {[PM_SIDE_AS_WRITTEN] = "as written",
                                     [PM_SIDE_BY_PARTS] = "most parts changed first",
                                     [PM_SIDE_BY_FACTOR] = "largest factor first"};

/* ---- columns ---- */

size_t side_column(size_t trial, enum side_part part)
{
    return 1 + trial * SIDE_PARTS + (size_t)part;
}

static size_t trial_of(size_t column)
{
    return (column - 1) / SIDE_PARTS;
}

static enum side_part part_of(size_t column)
{
    return (enum side_part)((column - 1) % SIDE_PARTS);
}

/* All trials have columns of the same widths. The change in parts gives way to another trial that
 * would not fit; the remark tells it. The first trial has only its amounts. */
static void describe_trial(struct side *side, size_t trial)
{
    const int change = side->change_whole + 1 + side->change_places;
    const struct pm_column columns[SIDE_PARTS] = {
        [SIDE_AMOUNT] = {.heading = "parts", .wish = side->amount_cells, .align = PM_ALIGN_RIGHT},
        [SIDE_CHANGE] = {.heading = "change",
                         .wish = change,
                         .align = PM_ALIGN_POINT,
                         .rank = 1,
                         .hidden = trial == 0 || side->change_whole == 0},
        [SIDE_FACTOR] = {.heading = "times",
                         .wish = side->factor_cells,
                         .align = PM_ALIGN_RIGHT,
                         .hidden = trial == 0 || side->factor_cells == 0},
        [SIDE_WORD] = {.heading = "", .wish = WORD_CELLS, .hidden = trial == 0},
    };
    for (int part = 0; part < SIDE_PARTS; part++) {
        struct pm_column *column = &side->columns[side_column(trial, (enum side_part)part)];
        *column = columns[part];
        column->group = (int)trial + 1;
        column->fixed = trial == 0;
    }
}

/* ---- cells ---- */

static enum pm_role word_role(const struct side *side, const struct pm_side_line *line,
                              size_t trial)
{
    const struct pm_compare_row *row = &line->row;
    if (row->in_step[trial] || (side_is_same(side, line, trial) && !row->other[trial]))
        return PM_ROLE_FAINT;
    if (row->change[trial] == PM_ADDED)
        return PM_ROLE_GOOD;
    return row->change[trial] == PM_GONE ? PM_ROLE_WARNING : PM_ROLE_NORMAL;
}

static enum pm_role amount_cell(const struct side *side, const struct pm_side_line *line,
                                size_t trial, char *text)
{
    const int64_t value = side->values[trial * side->read.count + line->place];
    strcpy(text, "-");
    if (!line->row.there[trial])
        return PM_ROLE_FAINT;
    if (line->row.resting[trial]) {
        strcpy(text, pm_stance_word(PM_RESTING));
        return PM_ROLE_FAINT;
    }
    pm_column_row_text(&side->totals[trial], value, side->sign, text);
    return PM_ROLE_NORMAL;
}

static enum pm_role side_cell(void *context, size_t row, size_t column, struct pm_text *out)
{
    const struct side *side = context;
    const struct pm_side_line *line = &side->read.lines[side->shown[row]];
    char text[SIDE_CHANGE_TEXT] = "";
    if (column == NAME) {
        pm_text_add(out, line->name);
        return line->row.kind == PM_LINE_ACCORD ? PM_ROLE_ACCORD : PM_ROLE_NORMAL;
    }
    const size_t trial = trial_of(column);
    enum pm_role role = word_role(side, line, trial);
    switch (part_of(column)) {
    case SIDE_AMOUNT:
        role = amount_cell(side, line, trial, text);
        break;
    case SIDE_CHANGE:
        side_change_text(side, line, trial, text);
        break;
    case SIDE_FACTOR:
        side_factor_text(side, line, trial, text);
        break;
    default:
        /* What differs by less than is shown has not changed for the eye. */
        pm_text_add(out, line->row.change[trial] != PM_SAME && !line->row.other[trial] &&
                                 side_is_same(side, line, trial)
                             ? pm_change_word_text(PM_SAME)
                             : pm_side_word(line, trial));
    }
    pm_text_add(out, text);
    return role;
}

/* ---- the footing ---- */

static enum pm_role foot_name(const struct side *side, size_t row, struct pm_text *out)
{
    static const char *const names[] = {"total", "strength", "solvent"};
    if (row == FOOT_COST)
        pm_text_addf(out, "cost/kg, %s", side_currency(side));
    else
        pm_text_add(out, names[row]);
    return row == FOOT_TOTAL ? PM_ROLE_HEADING : PM_ROLE_FAINT;
}

static enum pm_role foot_amount(const struct side *side, size_t row, size_t trial,
                                struct pm_text *out)
{
    char text[SIDE_CHANGE_TEXT];
    switch (row) {
    case FOOT_TOTAL:
        pm_column_total_text(&side->totals[trial], side->sign, text);
        break;
    case FOOT_STRENGTH:
        pm_share_format(side->read.strength[trial], side->sign, text);
        break;
    case FOOT_SOLVENT:
        pm_share_format(side->read.solvent_share[trial], side->sign, text);
        break;
    default:
        side_cost_text(side, trial, text);
    }
    pm_text_add(out, text);
    return row == FOOT_TOTAL ? PM_ROLE_HEADING : PM_ROLE_NORMAL;
}

static enum pm_role side_foot(void *context, size_t row, size_t column, struct pm_text *out)
{
    const struct side *side = context;
    if (column == NAME)
        return foot_name(side, row, out);
    const size_t trial = trial_of(column);
    return part_of(column) == SIDE_AMOUNT ? foot_amount(side, row, trial, out) : PM_ROLE_FAINT;
}

static void side_note(void *context, size_t below, struct pm_text *out)
{
    const struct side *side = context;
    const size_t hidden = side->read.count - side->shown_count;
    if (below > 0)
        pm_text_addf(out, "%zu below", below);
    if (hidden > 0)
        pm_text_addf(out, "%s%zu not shown", below > 0 ? DOT : "", hidden);
}

/* ---- together ---- */

struct pm_table side_table(struct side *side)
{
    side->columns[NAME] = (struct pm_column){.heading = "line",
                                             .wish = side->name_cells,
                                             .least = NAME_LEAST,
                                             .yields = 1,
                                             .fixed = true};
    for (size_t t = 0; t < side->read.trials; t++)
        describe_trial(side, t);
    side->list.column = side_column(side->trial, SIDE_AMOUNT);
    return (struct pm_table){.columns = side->columns,
                             .column_count = side_column(side->read.trials, SIDE_AMOUNT),
                             .rows = side->shown_count,
                             .context = side,
                             .cell = side_cell,
                             .foot = side_foot,
                             .foot_rows = side_currency(side) != NULL ? FOOT_ROWS + 1 : FOOT_ROWS,
                             .rule = PM_RULE_WHOLE,
                             .note = side_note,
                             .by_column = true,
                             .above = 1,
                             .empty = side->read.count == 0 ? "There are no lines to compare."
                                      : side->only == PM_SIDE_DIFFERING
                                          ? "No line differs."
                                          : "No line did more than give way."};
}

static void draw_state(const struct side *side, const struct pm_pane *pane)
{
    const bool before = side->list.before, behind = side->list.behind;
    const char *more = before && behind ? "< more trials >"
                       : before         ? "< more trials"
                                        : "more trials >";
    const int used =
        pm_pane_putf(pane, 0, 0, PM_ROLE_NORMAL, "%s" DOT "%s" DOT "%s", measures[side->read.by],
                     choices[side->only], orders[side->order]);
    /* What most lines moved by, so that "in step" has its number. */
    const int64_t step = side->read.step_ppm[side_told(side)];
    char factor[PM_AMOUNT_TEXT];
    if (step > 0 && side->factor_cells > 0 && pane->columns - used > 34)
        pm_pane_putf(pane, 0, used, PM_ROLE_FAINT, DOT "in step: x%s",
                     pm_factor_format(step, side->sign, factor));
    if (before || behind)
        pm_pane_put(pane, 0, pane->columns - (int)strlen(more), PM_ROLE_FAINT, more);
}

/* A trial's title over its columns; the first one's over the names as well, where nothing else
 * stands. */
static void draw_title(const struct side *side, const struct pm_pane *pane, size_t trial)
{
    char text[512];
    const size_t from = trial == 0 ? NAME : side_column(trial, SIDE_AMOUNT);
    struct pm_span span = pm_table_span(&side->list, from, side_column(trial, SIDE_WORD));
    if (side->list.spans[side_column(trial, SIDE_AMOUNT)].cells == 0)
        return;
    if (side->read.number[trial] > 0) {
        side_title(side->read.titles[trial], span.cells, text, sizeof text);
    } else {
        char name[400];
        side_title(side->read.titles[trial], span.cells - (int)strlen(" draft"), name, sizeof name);
        snprintf(text, sizeof text, span.cells < 12 ? "draft" : "%s draft", name);
    }
    pm_span_put(pane, ROW_TABLE, span, trial == 0 ? PM_ALIGN_RIGHT : PM_ALIGN_LEFT, PM_ROLE_HEADING,
                text);
    if (trial != side->trial)
        return;
    int cells = (int)pm_utf8_cells(text);
    cells = cells > span.cells ? span.cells : cells;
    pm_pane_overlay(pane, ROW_TABLE, trial == 0 ? span.at + span.cells - cells : span.at, 1, cells,
                    PM_ROLE_SELECTED);
}

/* Another base than the first trial's: beside its strength. */
static void draw_base(const struct side *side, const struct pm_pane *pane, size_t trial)
{
    char text[PM_AMOUNT_TEXT + 8], number[PM_AMOUNT_TEXT];
    const struct pm_span span =
        pm_table_span(&side->list, side_column(trial, SIDE_CHANGE), side_column(trial, SIDE_WORD));
    if (trial == 0 || side->read.base[trial] == side->read.base[0])
        return;
    snprintf(text, sizeof text, "base %s",
             pm_decimal_exact(side->read.base[trial], 6, side->sign, number));
    pm_span_put(pane, ROW_TABLE + side->list.foot + FOOT_STRENGTH, span, PM_ALIGN_LEFT,
                PM_ROLE_FAINT, text);
}

void side_draw(struct side *side, const struct pm_pane *pane)
{
    const struct pm_table table = side_table(side);
    const struct pm_pane part =
        pm_pane_part(pane, ROW_TABLE, 0, pane->rows - ROW_TABLE, pane->columns);
    pm_table_draw(&table, &side->list, &part);
    draw_state(side, pane);
    for (size_t t = 0; t < side->read.trials; t++) {
        draw_title(side, pane, t);
        draw_base(side, pane, t);
    }
}

/* ---- the selected line in words ---- */

static void say_forms(const struct pm_side_line *line, size_t trials, struct pm_text *out)
{
    const char *last = NULL;
    for (size_t t = 0; t < trials; t++) {
        const char *form = line->form[t];
        if (form == NULL || (last != NULL && strcmp(form, last) == 0))
            continue;
        pm_text_addf(out, "%s%s", last != NULL ? ", then " : "", form);
        last = form;
    }
}

/* "+2.5, x1.25 from Slack Water/1 to Slack Water/4" */
static void say_change(const struct side *side, const struct pm_side_line *line,
                       struct pm_text *out)
{
    size_t told = side_told(side);
    char change[SIDE_CHANGE_TEXT], factor[SIDE_CHANGE_TEXT];
    side_change_text(side, line, told, change);
    side_factor_text(side, line, told, factor);
    if (*change)
        pm_text_addf(out, "%s%s%s%s from %s to %s", out->length > 0 ? DOT : "", change,
                     *factor ? ", " : "", factor, side->read.titles[0], side->read.titles[told]);
}

void side_describe(const struct side *side, struct pm_text *out)
{
    const struct pm_side_line *line = side_line(side);
    if (line == NULL)
        return;
    pm_text_add(out, line->name);
    if (line->form[0] != NULL || line->form[side->read.trials - 1] != NULL) {
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
    say_change(side, line, out);
}
