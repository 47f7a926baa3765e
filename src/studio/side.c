/* SPDX-License-Identifier: MIT */
/*
 * Side by side: two to four trials with names, how each line is poured, and what changed in words.
 */
#include "inside.h"

#include "permille/base/mem.h"
#include "permille/studio/trials.h"

#include <stdlib.h>
#include <string.h>

static enum pm_status open_sheets(struct pm_studio *studio, const int64_t *trials, size_t count,
                                  struct pm_sheet **sheets, struct pm_side_by_side *side,
                                  struct pm_error *err)
{
    for (size_t i = 0; i < count; i++) {
        enum pm_status status = pm_sheet_open(studio, trials[i], &sheets[i], err);
        if (status == PM_OK)
            status = pm_sheet_title(sheets[i], &side->titles[i], err);
        if (status != PM_OK)
            return status;
        side->trials = i + 1;
        side->number[i] = sheets[i]->number;
        side->base[i] = sheets[i]->trial.base;
        side->total[i] = sheets[i]->total;
        side->solvent_share[i] = sheets[i]->solvent_share;
        side->strength[i] = sheets[i]->strength;
        side->written[i] = sheets[i]->trial.count;
    }
    return PM_OK;
}

/* What a kilogram costs; of an empty trial nothing is known. */
static enum pm_status price(struct pm_studio *studio, const struct pm_sheet *sheet, size_t trial,
                            struct pm_side_by_side *side, struct pm_error *err)
{
    const struct pm_cost_wish wish = {.batch = 1000 * PM_GRAM};
    struct pm_cost cost;
    if (sheet->total == 0)
        return PM_OK;
    enum pm_status status = pm_stock_cost(studio, sheet, &wish, &cost, err);
    if (status != PM_OK)
        return status;
    side->cost[trial] = cost.per_kilogram;
    side->unpriced[trial] = cost.unknown;
    pm_cost_release(&cost);
    return PM_OK;
}

/* "10 % in Triethyl citrate", "neat", "Brine/2"; NULL where it does not stand. */
static enum pm_status say_form(struct pm_studio *studio, const struct pm_compare_row *row,
                               size_t trial, char **out, struct pm_error *err)
{
    char strength[PM_AMOUNT_TEXT];
    struct pm_text text = PM_TEXT_EMPTY;
    struct pm_card *card;
    struct pm_kept *kept;
    enum pm_status status = PM_OK;
    if (row->strength[trial] == 0)
        return PM_OK;
    if (row->version[trial] > 0) {
        status = pm_studio_kept(studio, row->version[trial], false, &kept, err);
        return status == PM_OK ? pm_kept_title(studio, kept, out, err) : status;
    }
    if (row->strength[trial] == PM_SEVERAL || row->version[trial] == PM_SEVERAL)
        pm_text_add(&text, row->version[trial] ? "several trials of it" : "several strengths");
    else
        pm_text_add(&text, pm_strength_format(row->strength[trial], '.', strength));
    if (row->solvent[trial] > 0)
        status = pm_studio_material(studio, row->solvent[trial], &card, err);
    if (status == PM_OK && row->solvent[trial] > 0)
        pm_text_addf(&text, " in %s", card->name);
    else if (row->solvent[trial] == PM_SEVERAL && row->strength[trial] != PM_SEVERAL)
        pm_text_add(&text, " in several solvents");
    if (status == PM_OK) {
        *out = pm_text_take(&text);
        status = *out != NULL ? PM_OK : pm_fail_memory(err);
    }
    pm_text_release(&text);
    return status;
}

static enum pm_status fill_line(struct pm_studio *studio, const struct pm_compare *rows, size_t at,
                                struct pm_side_line *line, struct pm_error *err)
{
    const char *name;
    line->row = rows->rows[at];
    line->place = at;
    enum pm_status status = pm_side_name(studio, &line->row, &name, err);
    if (status != PM_OK)
        return status;
    line->name = pm_strdup(name);
    if (line->name == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < rows->trials && status == PM_OK; i++)
        status = say_form(studio, &line->row, i, &line->form[i], err);
    return status;
}

static enum pm_status fill_lines(struct pm_studio *studio, const struct pm_compare *rows,
                                 struct pm_side_by_side *side, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    side->lines = pm_alloc_array(rows->count, sizeof *side->lines);
    if (side->lines == NULL)
        return pm_fail_memory(err);
    memcpy(side->step_ppm, rows->step_ppm, sizeof side->step_ppm);
    for (size_t i = 0; i < rows->count && status == PM_OK; i++) {
        side->count = i + 1;
        status = fill_line(studio, rows, i, &side->lines[i], err);
    }
    return status;
}

static enum pm_status say_side(struct pm_studio *studio, struct pm_sheet *const *sheets,
                               size_t trial, struct pm_side_by_side *side, struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    pm_text_addf(&text, "%s to %s: ", side->titles[0], side->titles[trial]);
    enum pm_status status =
        pm_say_difference(studio, &sheets[0]->trial, &sheets[trial]->trial, 6, &text, err);
    if (status == PM_OK) {
        side->sentences[trial] = pm_text_take(&text);
        if (side->sentences[trial] == NULL)
            status = pm_fail_memory(err);
    }
    pm_text_release(&text);
    return status;
}

static enum pm_status fill_side(struct pm_studio *studio, struct pm_sheet *const *sheets,
                                size_t count, enum pm_compare_by by, struct pm_side_by_side *side,
                                struct pm_error *err)
{
    const struct pm_trial *contents[PM_COMPARE_MAX] = {NULL};
    struct pm_compare rows;
    for (size_t i = 0; i < count; i++)
        contents[i] = &sheets[i]->trial;
    enum pm_status status = pm_side_rows(studio, contents, count, by, &rows, err);
    if (status != PM_OK)
        return status;
    status = fill_lines(studio, &rows, side, err);
    pm_compare_release(&rows);
    for (size_t i = 0; i < count && status == PM_OK; i++)
        status = price(studio, sheets[i], i, side, err);
    for (size_t i = 1; i < count && status == PM_OK; i++)
        status = say_side(studio, sheets, i, side, err);
    return status;
}

enum pm_status pm_compare_open(struct pm_studio *studio, const int64_t *trials, size_t count,
                               enum pm_compare_by by, struct pm_side_by_side *out,
                               struct pm_error *err)
{
    struct pm_sheet *sheets[PM_COMPARE_MAX] = {NULL};
    struct pm_side_by_side side;
    memset(&side, 0, sizeof side);
    side.by = by;
    if (count < 2 || count > PM_COMPARE_MAX)
        return pm_fail(err, PM_INVALID, "Two to %d trials can stand side by side.", PM_COMPARE_MAX);
    enum pm_status status = open_sheets(studio, trials, count, sheets, &side, err);
    if (status == PM_OK)
        status = fill_side(studio, sheets, count, by, &side, err);
    for (size_t i = 0; i < count; i++)
        pm_sheet_free(sheets[i]);
    if (status != PM_OK) {
        pm_side_by_side_release(&side);
        return status;
    }
    *out = side;
    return PM_OK;
}

void pm_side_by_side_release(struct pm_side_by_side *side)
{
    for (size_t i = 0; i < PM_COMPARE_MAX; i++) {
        pm_free(side->titles[i]);
        pm_free(side->sentences[i]);
    }
    for (size_t i = 0; i < side->count; i++) {
        pm_free(side->lines[i].name);
        for (size_t k = 0; k < PM_COMPARE_MAX; k++)
            pm_free(side->lines[i].form[k]);
    }
    pm_free(side->lines);
    memset(side, 0, sizeof *side);
}

/* ---- showing ---- */

pm_fine pm_side_amount(const struct pm_side_by_side *side, const struct pm_side_line *line,
                       size_t trial)
{
    return side->by == PM_BY_NEAT ? line->row.neat[trial] : line->row.poured[trial];
}

bool pm_side_shown(const struct pm_side_by_side *side, const struct pm_side_line *line,
                   enum pm_side_only only)
{
    const struct pm_compare_row *row = &line->row;
    if (only != PM_SIDE_OWN)
        return only == PM_SIDE_ALL || row->differs;
    for (size_t i = 1; i < side->trials; i++)
        if ((row->change[i] != PM_SAME || row->other[i]) && !row->in_step[i])
            return true;
    return false;
}

const char *pm_side_word(const struct pm_side_line *line, size_t trial)
{
    const struct pm_compare_row *row = &line->row;
    if (!row->there[0] && !row->there[trial])
        return "";
    if (row->resting[trial])
        return "resting";
    if (row->resting[0] && row->there[trial])
        return "back";
    if (row->other[trial])
        return "other";
    return row->in_step[trial] ? "in step" : pm_change_word_text(row->change[trial]);
}

/* What a line is sorted by; larger comes first. */
static int64_t weight_of(const struct pm_side_by_side *side, const struct pm_side_line *line,
                         enum pm_side_order order, size_t trial)
{
    const struct pm_compare_row *row = &line->row;
    pm_fine was = pm_side_amount(side, line, 0), now = pm_side_amount(side, line, trial);
    int64_t factor = row->factor_ppm[trial];
    if (order == PM_SIDE_BY_PARTS)
        return now > was ? now - was : was - now;
    if (row->change[trial] == PM_ADDED || row->change[trial] == PM_GONE)
        return INT64_MAX;
    if (factor <= 0)
        return row->change[trial] == PM_SAME ? 0 : INT64_MAX;
    return factor >= 1000000 ? factor : INT64_C(1000000000000) / factor;
}

static int by_weight(const void *a, const void *b)
{
    const struct pm_side_line *x = a, *y = b;
    if (x->weight != y->weight)
        return x->weight > y->weight ? -1 : 1;
    return x->place < y->place ? -1 : x->place > y->place;
}

void pm_side_sort(struct pm_side_by_side *side, enum pm_side_order order, size_t trial)
{
    for (size_t i = 0; i < side->count; i++)
        side->lines[i].weight =
            order == PM_SIDE_AS_WRITTEN ? 0 : weight_of(side, &side->lines[i], order, trial);
    if (side->count > 0)
        qsort(side->lines, side->count, sizeof *side->lines, by_weight);
}
