/* SPDX-License-Identifier: MIT */
/* Side by side: figures of a comparison as they are printed. */
#include "side.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/column.h"

#include <stdio.h>
#include <string.h>

#define SCALE 12 /* of pm_fine */

void side_init(struct side *side)
{
    memset(side, 0, sizeof *side);
    side->least = PM_LEAST_PLACES;
}

void side_release(struct side *side)
{
    pm_side_by_side_release(&side->read);
    pm_free(side->shown);
    pm_free(side->values);
    side_init(side);
}

size_t side_told(const struct side *side)
{
    return side->trial > 0 ? side->trial : side->read.trials - 1;
}

const struct pm_side_line *side_line(const struct side *side)
{
    return side->list.row < side->shown_count ? &side->read.lines[side->shown[side->list.row]]
                                              : NULL;
}

/* ---- figures ---- */

static int64_t *column_of(const struct side *side, size_t trial)
{
    return side->values + trial * side->read.count;
}

static void widen(int *cells, int needed)
{
    *cells = needed > *cells ? needed : *cells;
}

/* Every column is rounded as a whole, over all lines, so that it adds up whatever is shown; decimal
 * points stand alike in all of them. */
static void round_amounts(struct side *side)
{
    int aligned = 0;
    for (size_t t = 0; t < side->read.trials; t++) {
        size_t count = side->read.count;
        int64_t *values = column_of(side, t);
        for (size_t i = 0; i < count; i++)
            values[i] = pm_side_amount(&side->read, &side->read.lines[i], t);
        side->totals[t] = pm_column_measure(values, count, SCALE, side->least);
        /* In place: without memory they stay as they are, right but for the last digit's sum. */
        pm_round_column(values, count, SCALE, side->least, values, &side->totals[t], NULL);
        aligned = side->totals[t].aligned > aligned ? side->totals[t].aligned : aligned;
    }
    for (size_t t = 0; t < side->read.trials; t++) {
        side->totals[t].aligned = aligned;
        widen(&side->amount_cells, pm_column_cells(&side->totals[t]));
    }
}

/* The printed values stand in the order that lines were read in. */
static int64_t printed(const struct side *side, const struct pm_side_line *line, size_t trial)
{
    return column_of(side, trial)[line->place];
}

bool side_is_same(const struct side *side, const struct pm_side_line *line, size_t trial)
{
    const struct pm_compare_row *row = &line->row;
    return row->change[trial] == PM_SAME || (row->there[0] && row->there[trial] &&
                                             printed(side, line, trial) == printed(side, line, 0));
}

int side_change_text(const struct side *side, const struct pm_side_line *line, size_t trial,
                     char *buf)
{
    char digits[PM_AMOUNT_TEXT];
    int64_t now = printed(side, line, trial), before = printed(side, line, 0);
    int64_t change = now - before;
    *buf = '\0';
    if (side_is_same(side, line, trial))
        return 0;
    int places = pm_decimal_places(change, SCALE, side->least);
    pm_decimal_format(change < 0 ? -change : change, SCALE, places, side->sign, digits);
    snprintf(buf, SIDE_CHANGE_TEXT, "%c%s", change < 0 ? '-' : '+', digits);
    return places;
}

char *side_factor_text(const struct side *side, const struct pm_side_line *line, size_t trial,
                       char *buf)
{
    int64_t factor = line->row.factor_ppm[trial];
    buf[0] = factor > 0 && !side_is_same(side, line, trial) ? 'x' : '\0';
    if (buf[0])
        pm_factor_format(factor, side->sign, buf + 1);
    return buf;
}

const char *side_currency(const struct side *side)
{
    const char *currency = NULL;
    for (size_t t = 0; t < side->read.trials; t++) {
        const struct pm_sum *cost = &side->read.cost[t];
        if (cost->count > 1 ||
            (cost->count == 1 && currency != NULL && strcmp(currency, cost->in[0].currency) != 0))
            return NULL;
        if (cost->count == 1)
            currency = cost->in[0].currency;
    }
    return currency;
}

char *side_cost_text(const struct side *side, size_t trial, char *buf)
{
    const struct pm_sum *cost = &side->read.cost[trial];
    char number[PM_AMOUNT_TEXT];
    if (cost->count == 0)
        snprintf(buf, SIDE_CHANGE_TEXT, "-");
    else
        snprintf(buf, SIDE_CHANGE_TEXT, "%s%s", side->read.unpriced[trial] > 0 ? ">" : "",
                 pm_decimal_format(cost->in[0].money, 6, 2, side->sign, number));
    return buf;
}

static void measure_shares(struct side *side)
{
    char text[SIDE_CHANGE_TEXT];
    for (size_t i = 0; i < side->read.count; i++)
        for (size_t t = 0; t < side->read.trials; t++)
            if (side->read.lines[i].row.resting[t])
                widen(&side->amount_cells, (int)strlen(pm_stance_word(PM_RESTING)));
    for (size_t t = 0; t < side->read.trials; t++) {
        pm_share_format(side->read.strength[t], side->sign, text);
        widen(&side->amount_cells, (int)strlen(text));
        pm_share_format(side->read.solvent_share[t], side->sign, text);
        widen(&side->amount_cells, (int)strlen(text));
        if (side_currency(side) != NULL)
            widen(&side->amount_cells, (int)strlen(side_cost_text(side, t, text)));
    }
}

static void measure_changes(struct side *side)
{
    char text[SIDE_CHANGE_TEXT];
    for (size_t i = 0; i < side->read.count; i++) {
        const struct pm_side_line *line = &side->read.lines[i];
        widen(&side->name_cells, (int)pm_utf8_cells(line->name));
        for (size_t t = 1; t < side->read.trials; t++) {
            int places = side_change_text(side, line, t, text);
            widen(&side->change_places, places);
            widen(&side->change_whole, (int)strlen(text) - places - 1);
            widen(&side->factor_cells, (int)strlen(side_factor_text(side, line, t, text)));
        }
    }
}

enum pm_status side_take(struct side *side, struct pm_side_by_side *read, char sign,
                         struct pm_error *err)
{
    size_t *shown = pm_alloc_array(read->count + 1, sizeof *shown);
    int64_t *values = pm_alloc_array(read->count * read->trials + 1, sizeof *values);
    if (shown == NULL || values == NULL) {
        pm_free(shown);
        pm_free(values);
        pm_side_by_side_release(read);
        return pm_fail_memory(err);
    }
    pm_side_by_side_release(&side->read);
    pm_free(side->shown);
    pm_free(side->values);
    side->read = *read;
    side->shown = shown;
    side->values = values;
    side->sign = sign;
    side->amount_cells = side->factor_cells = 0;
    side->name_cells = (int)strlen("strength"); /* in the footing */
    side->change_whole = side->change_places = 0;
    round_amounts(side);
    measure_shares(side);
    measure_changes(side);
    if (side->trial >= read->trials)
        side->trial = read->trials - 1;
    side->shown_count = 0;
    side_arrange(side);
    return PM_OK;
}

void side_arrange(struct side *side)
{
    const struct pm_side_line *line = side_line(side);
    size_t selected = line != NULL ? line->place : 0;
    pm_table_changed(&side->list);
    pm_side_sort(&side->read, side->order, side_told(side));
    side->shown_count = 0;
    for (size_t i = 0; i < side->read.count; i++) {
        if (!pm_side_shown(&side->read, &side->read.lines[i], side->only))
            continue;
        if (line != NULL && side->read.lines[i].place == selected)
            side->list.row = side->shown_count;
        side->shown[side->shown_count++] = i;
    }
    if (side->list.row >= side->shown_count)
        side->list.row = side->shown_count > 0 ? side->shown_count - 1 : 0;
}

/* ---- titles ---- */

char *side_title(const char *title, int cells, char *buf, size_t size)
{
    const char *number = strrchr(title, '/');
    int whole = (int)pm_utf8_cells(title), tail = number != NULL ? (int)strlen(number) : 0;
    if (whole <= cells || tail + 2 > cells) {
        snprintf(buf, size, "%s", title);
        return buf;
    }
    size_t bytes = pm_utf8_fit(title, (size_t)(cells - tail - 1));
    snprintf(buf, size, "%.*s\xE2\x80\xA6%s", (int)bytes, title, number != NULL ? number : "");
    return buf;
}
