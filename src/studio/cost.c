/* SPDX-License-Identifier: MIT */
/*
 * What a trial costs: each thing it pours is priced by the bottles it would be poured from
 * (price.c). What stays without a price is counted and named.
 */
#include "price.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/currency.h"
#include "permille/studio/stock.h"

#include <string.h>

/* ---- several currencies ---- */

struct exchange {
    struct pm_studio *studio;
    const char *into;       /* NULL: leave everything as it is */
    pm_day today, oldest;   /* oldest: of the rates used */
    struct pm_text missing; /* codes without a rate */
};

static enum pm_status find_rate(struct exchange *exchange, const char *currency, int64_t *rate,
                                pm_day *day, struct pm_error *err)
{
    struct pm_library *library = exchange->studio->library;
    struct pm_rate forth, back;
    enum pm_status status =
        pm_rate_get(library, currency, exchange->into, exchange->today, &forth, err);
    if (status == PM_OK)
        status = pm_rate_get(library, exchange->into, currency, exchange->today, &back, err);
    if (status != PM_OK)
        return status;
    *rate = 0;
    if (forth.rate > 0 && (back.rate == 0 || forth.day >= back.day)) {
        *rate = forth.rate;
        *day = forth.day;
    } else if (back.rate > 0 && pm_muldiv(1000000000, 1000000000, back.rate, rate)) {
        *day = back.day;
    }
    return PM_OK;
}

static enum pm_status turn(struct exchange *exchange, struct pm_sum *sum, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; exchange->into != NULL && i < sum->count && status == PM_OK;) {
        char currency[4];
        int64_t rate = 0, day = 0;
        memcpy(currency, sum->in[i].currency, sizeof currency);
        if (strcmp(currency, exchange->into) == 0) {
            i++;
            continue;
        }
        status = find_rate(exchange, currency, &rate, &day, err);
        if (status == PM_OK && rate == 0) {
            if (strstr(pm_text_get(&exchange->missing), currency) == NULL)
                pm_text_addf(&exchange->missing, " %s", currency);
            i++;
        } else if (status == PM_OK) {
            exchange->oldest =
                exchange->oldest == PM_NO_DAY || day < exchange->oldest ? day : exchange->oldest;
            status = pm_sum_exchange(sum, currency, exchange->into, rate, err);
            i = 0; /* the rows have moved up */
        }
    }
    return status;
}

/* ---- the whole ---- */

struct costing {
    struct pm_studio *studio;
    const struct pm_cost_wish *wish;
    struct pm_pricing pricing;
    struct pm_cost cost;
    struct pm_priced whole; /* unknown: of all lines */
    struct exchange exchange;
};

/* Names a material without a price among those of the whole, once. */
static enum pm_status note_unknown(struct costing *costing, int64_t material, struct pm_error *err)
{
    void *unknown = costing->whole.unknown;
    for (size_t i = 0; i < costing->whole.unknown_count; i++)
        if (costing->whole.unknown[i] == material)
            return PM_OK;
    if (!pm_grow(&unknown, &costing->whole.unknown_capacity, costing->whole.unknown_count + 1,
                 sizeof *costing->whole.unknown))
        return pm_fail_memory(err);
    costing->whole.unknown = unknown;
    costing->whole.unknown[costing->whole.unknown_count++] = material;
    return PM_OK;
}

static enum pm_status note_all(struct costing *costing, const struct pm_priced *priced,
                               struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < priced->unknown_count && status == PM_OK; i++)
        status = note_unknown(costing, priced->unknown[i], err);
    return status;
}

static enum pm_status cost_line(struct costing *costing, const struct pm_pours *pours,
                                struct pm_cost_line *line, bool accord, struct pm_error *err)
{
    struct pm_priced priced = {.bottle = 0};
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < pours->count && status == PM_OK; i++) {
        const struct pm_pour *pour = &pours->items[i];
        if (pour->line != line->line)
            continue;
        line->mass += pour->mass;
        if (pour->mass > 0)
            status = pm_price_pour(&costing->pricing, pour, &priced, err);
    }
    if (status == PM_OK)
        status = note_all(costing, &priced, err);
    line->sum = priced.sum;
    line->unknown = priced.unknown_count;
    line->bottle = accord ? 0 : priced.bottle;
    line->bottles = accord ? 0 : priced.bottles;
    pm_priced_release(&priced);
    if (status == PM_OK)
        status = turn(&costing->exchange, &line->sum, err);
    return status == PM_OK ? pm_sum_add_all(&costing->cost.sum, &line->sum, err) : status;
}

/* What fills one bottle of product: concentrate by the dosage, the rest solvent. */
static enum pm_status cost_product(struct costing *costing, struct pm_error *err)
{
    const struct pm_cost_wish *wish = costing->wish;
    struct pm_cost *cost = &costing->cost;
    pm_mass concentrate = 0;
    struct pm_priced priced = {.bottle = 0};
    struct pm_pour rest = {0, wish->product_solvent, PM_NEAT, 0, 0};
    if (wish->dosage <= 0 || wish->product <= 0)
        return PM_OK;
    pm_muldiv(wish->product, wish->dosage, PM_NEAT, &concentrate);
    cost->product_solvent = rest.mass = wish->product - concentrate;
    enum pm_status status =
        pm_sum_scale(&cost->sum, concentrate, cost->batch, &cost->per_bottle, err);
    if (status == PM_OK && rest.material == 0 && rest.mass > 0)
        status = pm_material_by_name(costing->studio->library, "Ethanol", &rest.material, err);
    if (status == PM_OK && rest.mass > 0)
        status = pm_price_pour(&costing->pricing, &rest, &priced, err);
    if (status == PM_OK)
        status = note_all(costing, &priced, err);
    if (status == PM_OK)
        status = turn(&costing->exchange, &priced.sum, err);
    if (status == PM_OK)
        status = pm_sum_add_all(&cost->per_bottle, &priced.sum, err);
    pm_priced_release(&priced);
    return status;
}

static enum pm_status name_unknown(struct costing *costing, struct pm_error *err)
{
    struct pm_text names = PM_TEXT_EMPTY;
    enum pm_status status = PM_OK;
    costing->cost.unknown = costing->whole.unknown_count;
    for (size_t i = 0; i < costing->whole.unknown_count && status == PM_OK; i++) {
        struct pm_card *card;
        status = pm_studio_material(costing->studio, costing->whole.unknown[i], &card, err);
        if (status == PM_OK)
            pm_text_addf(&names, "%s%s", i > 0 ? ", " : "", card->name);
    }
    if (status == PM_OK && costing->whole.unknown_count > 0 &&
        !(costing->cost.unknown_names = pm_text_take(&names)))
        status = pm_fail_memory(err);
    pm_text_release(&names);
    return status;
}

static enum pm_status cost_all(struct costing *costing, const struct pm_sheet *sheet,
                               struct pm_error *err)
{
    struct pm_cost *cost = &costing->cost;
    struct pm_pours pours;
    enum pm_status status =
        pm_sheet_pours(costing->studio, sheet, costing->wish->batch, &pours, err);
    if (status != PM_OK)
        return status;
    cost->batch = costing->wish->batch;
    cost->lines = pm_alloc_array(sheet->trial.count + 1, sizeof *cost->lines);
    cost->names = pm_alloc_array(1, sizeof *cost->names);
    if (cost->lines == NULL || cost->names == NULL)
        status = pm_fail_memory(err);
    for (size_t i = 0; status == PM_OK && i < sheet->trial.count; i++) {
        struct pm_cost_line *line = &cost->lines[cost->count++];
        line->line = sheet->trial.lines[i].id;
        line->resting = sheet->trial.lines[i].stance == PM_RESTING;
        line->title = pm_arena_text(&cost->names->arena, sheet->lines[i].title);
        status = pm_arena_status(&cost->names->arena, err);
        if (status == PM_OK)
            status =
                cost_line(costing, &pours, line, sheet->trial.lines[i].kind == PM_LINE_ACCORD, err);
    }
    pm_pours_release(&pours);
    if (status == PM_OK)
        status = pm_sum_scale(&cost->sum, 1000 * PM_GRAM, cost->batch, &cost->per_kilogram, err);
    if (status == PM_OK)
        status = cost_product(costing, err);
    return status == PM_OK ? name_unknown(costing, err) : status;
}

/* The lines as they print above their total, each currency a column. */
static enum pm_status round_lines(struct pm_cost *cost, struct pm_error *err)
{
    struct pm_sum *rows = pm_alloc_array(cost->count + 1, sizeof *rows);
    if (rows == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < cost->count; i++)
        rows[i] = cost->lines[i].sum;
    cost->printed = cost->sum;
    enum pm_status status = pm_sums_round(rows, cost->count, &cost->printed, err);
    for (size_t i = 0; i < cost->count; i++)
        cost->lines[i].printed = rows[i];
    pm_free(rows);
    return status;
}

static enum pm_status finish(struct costing *costing, struct pm_error *err)
{
    struct pm_cost *cost = &costing->cost;
    struct pm_text text = PM_TEXT_EMPTY;
    char day[PM_TIME_TEXT];
    if (!pm_text_ok(&costing->exchange.missing))
        return pm_fail_memory(err);
    cost->rate_day = costing->exchange.oldest;
    if (cost->rate_day != PM_NO_DAY)
        pm_text_addf(&text, "By the rates you gave, the oldest of %s.",
                     pm_day_format(cost->rate_day, day));
    if (costing->exchange.missing.length > 0)
        pm_text_addf(&text, "%sNo rate into %s for%s.", text.length > 0 ? " " : "",
                     costing->exchange.into, pm_text_get(&costing->exchange.missing));
    bool remarked = text.length > 0 || !pm_text_ok(&text);
    cost->remark = remarked ? pm_text_take(&text) : NULL;
    pm_text_release(&text);
    if (remarked && cost->remark == NULL)
        return pm_fail_memory(err);
    return round_lines(cost, err);
}

enum pm_status pm_stock_cost(struct pm_studio *studio, const struct pm_sheet *sheet,
                             const struct pm_cost_wish *wish, struct pm_cost *out,
                             struct pm_error *err)
{
    struct costing costing = {
        .studio = studio, .wish = wish, .pricing = {.studio = studio, .wish = wish}};
    char into[4] = "";
    enum pm_status status = PM_OK;
    if (wish->currency != NULL)
        status = pm_currency_read(wish->currency, into, err);
    if (status != PM_OK)
        return status;
    costing.exchange = (struct exchange){.studio = studio,
                                         .into = wish->currency != NULL ? into : NULL,
                                         .today = pm_studio_today(studio),
                                         .oldest = PM_NO_DAY};
    status = pm_studio_look_begin(studio, err);
    if (status == PM_OK)
        status = pm_look_over(studio, cost_all(&costing, sheet, err));
    if (status == PM_OK)
        status = finish(&costing, err);
    pm_pricing_release(&costing.pricing);
    pm_priced_release(&costing.whole);
    pm_text_release(&costing.exchange.missing);
    if (status != PM_OK) {
        pm_cost_release(&costing.cost);
        return status;
    }
    *out = costing.cost;
    return PM_OK;
}

void pm_cost_release(struct pm_cost *cost)
{
    pm_free(cost->lines);
    pm_free(cost->unknown_names);
    pm_free(cost->remark);
    pm_sheet_names_free(cost->names);
    memset(cost, 0, sizeof *cost);
}
