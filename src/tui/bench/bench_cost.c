/* SPDX-License-Identifier: MIT */
/*
 * The Bench: what the lines cost and were before, what was smelled last, where the screen has room.
 * Read when the sheet on the screen is another one, not while something is typed.
 */
#include "bench.h"

#include "permille/base/utf8.h"
#include "permille/studio/blotter.h"

#include <string.h>

#define DOT " \xC2\xB7 "

/* ---- cost ---- */

void bench_cost_forget(struct bench *bench)
{
    if (bench->cost.known)
        pm_cost_release(&bench->cost.of);
    bench->cost = (struct bench_cost){0};
}

/* Whether any line has a price, and all of them in one currency. */
static void find_currency(struct bench_cost *cost)
{
    const struct pm_sum *sum = &cost->of.sum;
    cost->priced = sum->count > 0;
    memcpy(cost->currency, sum->count == 1 ? sum->in[0].currency : "", sum->count == 1 ? 4 : 1);
}

void bench_cost_read(struct bench *bench, int cells)
{
    struct bench_cost *cost = &bench->cost;
    const struct pm_sheet *sheet = bench->sheet;
    const struct pm_cost_wish wish = {.batch = pm_house_batch(bench->house)};
    if (cost->read || cells < BENCH_COST_FROM || sheet == NULL)
        return;
    cost->read = true;
    /* What cannot be read is not shown. */
    cost->known = sheet->total > 0 &&
                  pm_stock_cost(bench->house->studio, sheet, &wish, &cost->of, NULL) == PM_OK;
    if (cost->known)
        find_currency(cost);
    pm_table_changed(&bench->list);
}

bool bench_costs(const struct bench *bench)
{
    return bench->cost.known && bench->cost.priced;
}

const char *bench_cost_heading(const struct bench *bench)
{
    return bench->cost.currency[0] != '\0' ? bench->cost.currency : "cost";
}

static void add_sum(const struct bench *bench, const struct pm_sum *sum, size_t unknown,
                    struct pm_text *out)
{
    if (sum->count == 0 && unknown > 0)
        pm_text_add(out, "?");
    if (sum->count == 0)
        return;
    pm_text_add(out, unknown > 0 ? ">" : "");
    pm_sum_format(sum, 2, bench->house->sign, out);
}

static const struct pm_cost_line *line_at(const struct bench *bench, size_t place)
{
    const struct pm_cost *cost = &bench->cost.of;
    return bench_costs(bench) && !bench->cost.stale && place < cost->count ? &cost->lines[place]
                                                                           : NULL;
}

void bench_cost_cell(const struct bench *bench, size_t place, struct pm_text *out)
{
    const struct pm_cost_line *line = line_at(bench, place);
    char number[PM_AMOUNT_TEXT];
    if (line == NULL)
        return;
    const struct pm_sum *sum = &line->printed;
    if (sum->count == 0) {
        pm_text_add(out, line->unknown > 0 ? "?" : "");
        return;
    }
    const pm_money money = sum->in[0].money;
    pm_text_addf(
        out, "%s%s", line->unknown > 0 ? ">" : "",
        pm_decimal_format(money, 6, pm_decimal_places(money, 6, 2), bench->house->sign, number));
    if (bench->cost.currency[0] == '\0')
        pm_text_addf(out, " %s%s", sum->in[0].currency, sum->count > 1 ? " +" : "");
}

void bench_cost_say(const struct bench *bench, size_t place, struct pm_text *out)
{
    const struct pm_cost_line *line = line_at(bench, place);
    if (line != NULL)
        add_sum(bench, &line->printed, line->unknown, out);
}

void bench_cost_total(const struct bench *bench, struct pm_text *out)
{
    if (bench_costs(bench) && !bench->cost.stale)
        add_sum(bench, &bench->cost.of.printed, bench->cost.of.unknown, out);
}

/* ---- what was smelled last ---- */

static const struct pm_smell *newest(const struct pm_smells *smells)
{
    const struct pm_smell *found = NULL;
    for (size_t i = 0; i < smells->count; i++)
        if (found == NULL || smells->items[i].at >= found->at)
            found = &smells->items[i];
    return found;
}

static void say_smell(const struct pm_smell *smell, struct pm_text *out)
{
    char span[PM_TIME_TEXT], date[PM_TIME_TEXT];
    pm_text_addf(out, "/%lld, %s, %s on %s", (long long)smell->number,
                 pm_time_date(smell->at, date), pm_span_format(smell->since, span),
                 pm_medium_word(smell->medium));
    if (smell->intensity >= 0)
        pm_text_addf(out, DOT "%d of %d", smell->intensity, PM_INTENSITY_MAX);
    if (smell->liking >= 0)
        pm_text_addf(out, DOT "liked %d", smell->liking);
    if (smell->note != NULL)
        pm_text_addf(out, ": %s", smell->note);
}

void bench_smell_read(struct bench *bench)
{
    struct pm_smells smells;
    pm_text_clear(&bench->smelled);
    if (bench->sheet == NULL || pm_smells_list(bench->house->studio, bench->sheet->formula, 0,
                                               false, &smells, NULL, NULL) != PM_OK)
        return;
    const struct pm_smell *smell = newest(&smells);
    if (smell != NULL)
        say_smell(smell, &bench->smelled);
    pm_list_release(&smells);
}

/* ---- what it was before ---- */

void bench_before_read(struct bench *bench)
{
    const struct pm_sheet *sheet = bench->sheet;
    pm_sheet_free(bench->before);
    bench->before = NULL;
    if (sheet != NULL && sheet->trial.parent != 0 &&
        pm_sheet_open(bench->house->studio, sheet->trial.parent, &bench->before, NULL) != PM_OK)
        bench->before = NULL;
    pm_table_changed(&bench->list);
}

/* The line that it comes from, else the first of the same material or accord. */
static const struct pm_line *line_before(const struct bench *bench, const struct pm_line *line)
{
    const struct pm_trial *trial = &bench->before->trial;
    const long place = pm_trial_find(trial, line->id);
    if (place >= 0 && trial->lines[place].kind == line->kind &&
        trial->lines[place].ref == line->ref)
        return &trial->lines[place];
    for (size_t i = 0; i < trial->count; i++)
        if (trial->lines[i].kind == line->kind && trial->lines[i].ref == line->ref)
            return &trial->lines[i];
    return NULL;
}

const char *bench_before_heading(const struct bench *bench, char *buf)
{
    *buf = '\0';
    if (bench->before != NULL)
        pm_print(buf, PM_AMOUNT_TEXT, "/%lld", (long long)bench->before->number);
    return buf;
}

/* On another base amounts cannot be held against each other. */
void bench_before_say(const struct bench *bench, size_t place, struct pm_text *out)
{
    const struct pm_sheet *sheet = bench_sheet(bench);
    char was[PM_AMOUNT_TEXT], now[PM_AMOUNT_TEXT];
    if (bench->before == NULL || place >= sheet->trial.count ||
        bench->before->trial.base != sheet->trial.base)
        return;
    const struct pm_line *line = &sheet->trial.lines[place];
    const struct pm_line *before = line_before(bench, line);
    const char sign = bench->house->sign;
    if (before == NULL) {
        pm_text_add(out, "new");
        return;
    }
    if (before->stance == PM_RESTING) {
        pm_text_add(out, line->stance == PM_RESTING ? "" : pm_stance_word(PM_RESTING));
        return;
    }
    pm_decimal_format(before->parts, 6, pm_decimal_places(before->parts, 6, PM_LEAST_PLACES), sign,
                      was);
    pm_decimal_format(line->parts, 6, pm_decimal_places(line->parts, 6, PM_LEAST_PLACES), sign,
                      now);
    /* What differs by less than is shown has not changed for the eye. */
    if (strcmp(was, now) != 0 || line->stance == PM_RESTING)
        pm_text_add(out, was);
}
