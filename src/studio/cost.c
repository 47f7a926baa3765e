/* SPDX-License-Identifier: MIT */
/*
 * What a trial costs: each thing it pours is priced by the bottle it would be poured from.
 *
 * A dilution made here has no price of its own: it costs what went into it, from the bottles it was
 * made from, however far back. Something of which no bottle at that strength is priced costs what
 * it would take to make it: neat material and solvent. What stays without a price is counted and
 * named.
 */
#include "bottle.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/currency.h"
#include "permille/core/dilute.h"
#include "permille/studio/stock.h"

#include <string.h>

#define DEPTH_MAX 32 /* dilutions of dilutions */

/* ---- the price of a bottle's content ---- */

static enum pm_status price_bottle(struct pm_studio *studio, int64_t id, pm_mass mass, int depth,
                                   struct pm_sum *out, bool *known, struct pm_error *err);

/* What went into a dilution: what it received from other bottles, less what was taken back. */
static enum pm_status price_parts(struct pm_studio *studio, const struct pm_movements *ledger,
                                  pm_mass mass, int depth, struct pm_sum *out, bool *known,
                                  struct pm_error *err)
{
    enum pm_status status = PM_OK;
    pm_mass total = 0;
    *known = false;
    for (size_t i = 0; i < ledger->count; i++) {
        const struct pm_movement *part = &ledger->items[i];
        if (part->kind == PM_RECEIVED && part->other == 0)
            return PM_OK; /* something came from elsewhere */
        total += part->kind == PM_RECEIVED ? part->mass : 0;
    }
    *known = total > 0;
    for (size_t i = 0; i < ledger->count && *known && status == PM_OK; i++) {
        const struct pm_movement *part = &ledger->items[i];
        pm_mass share = 0;
        if (part->kind != PM_RECEIVED)
            continue;
        if (!pm_muldiv(mass, part->mass, total, &share))
            return pm_fail(err, PM_INVALID, "The cost is too large to be counted.");
        status = price_bottle(studio, part->other, share, depth + 1, out, known, err);
    }
    return status;
}

/* Adds what `mass` of the bottle's content cost. *known is false, and *out not to be used, when any
 * of it has no price. */
static enum pm_status price_bottle(struct pm_studio *studio, int64_t id, pm_mass mass, int depth,
                                   struct pm_sum *out, bool *known, struct pm_error *err)
{
    struct pm_bottle row;
    *known = false;
    if (depth > DEPTH_MAX)
        return PM_OK;
    enum pm_status status = pm_bottle_get(studio->library, id, NULL, &row, err);
    if (status != PM_OK)
        return status;
    if (row.currency[0] != '\0') {
        pm_money money = 0;
        *known = true;
        status = pm_cost_of(mass, row.price, row.priced_mass, &money, err);
        if (status == PM_OK)
            status = pm_sum_add(out, row.currency, money, err);
    } else if (row.made_from != 0) {
        struct pm_movements ledger = {0};
        status = pm_movement_list(studio->library, id, &ledger, err);
        if (status == PM_OK)
            status = price_parts(studio, &ledger, mass, depth, out, known, err);
        pm_list_release(&ledger);
    }
    return status;
}

/* ---- the price of something poured ---- */

static bool is_chosen(const struct pm_cost_wish *wish, int64_t id)
{
    for (size_t i = 0; i < wish->bottle_count; i++)
        if (wish->bottles[i] == id)
            return true;
    return false;
}

/* Prices by the first bottle of that strength in the order of pouring that has a price; empty ones
 * come last: what was paid for the last bottle tells more than nothing. */
static enum pm_status price_same(struct pm_studio *studio, const struct pm_cost_wish *wish,
                                 const struct pm_pour *pour, struct pm_sum *out, bool *known,
                                 int64_t *bottle, struct pm_error *err)
{
    struct pm_bottles rows;
    enum pm_status status = pm_bottles_of(studio, pour->material, true, &rows, err);
    *known = false;
    if (status != PM_OK)
        return status;
    struct pm_stock_bottle *order = pm_alloc_array(rows.count + 1, sizeof *order);
    size_t count = 0, full = 0;
    const pm_day today = pm_studio_today(studio);
    for (int empty = 0; order && empty < 2; empty++) {
        for (size_t i = 0; i < rows.count; i++) {
            const struct pm_bottle *row = &rows.items[i];
            if (pm_stock_serves(row->strength, pour->strength) && row->solvent == pour->solvent &&
                (row->left <= 0 || row->set_aside) == (empty == 1)) {
                order[count] = pm_stock_bottle_of(row);
                order[count++].chosen = is_chosen(wish, row->id);
            }
        }
        full = empty == 0 ? count : full;
    }
    if (order) {
        pm_stock_order(order, full, today);
        pm_stock_order(order + full, count - full, today);
    }
    for (size_t i = 0; order && i < count && !*known && status == PM_OK; i++) {
        struct pm_sum sum = *out;
        status = price_bottle(studio, order[i].id, pour->mass, 0, &sum, known, err);
        if (status == PM_OK && *known) {
            *out = sum;
            *bottle = order[i].id;
        }
    }
    pm_list_release(&rows);
    if (!order)
        return pm_fail_memory(err);
    pm_free(order);
    return status;
}

static enum pm_status price_pour(struct pm_studio *studio, const struct pm_cost_wish *wish,
                                 const struct pm_pour *pour, struct pm_sum *out, bool *known,
                                 int64_t *bottle, struct pm_error *err)
{
    enum pm_status status = price_same(studio, wish, pour, out, known, bottle, err);
    if (status != PM_OK || *known || pour->solvent == 0)
        return status;
    /* As if it were made now, from neat material and solvent. */
    struct pm_sum sum = *out;
    struct pm_pour neat = {0, pour->material, PM_NEAT, 0, 0};
    struct pm_pour solvent = {0, pour->solvent, PM_NEAT, 0, 0};
    int64_t ignored = 0;
    status = pm_dilute_plan(pour->mass, pour->strength, PM_NEAT, &neat.mass, &solvent.mass, err);
    if (status == PM_OK)
        status = price_same(studio, wish, &neat, &sum, known, bottle, err);
    if (status == PM_OK && *known)
        status = price_same(studio, wish, &solvent, &sum, known, &ignored, err);
    if (status == PM_OK && *known)
        *out = sum;
    else
        *bottle = 0;
    return status;
}

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
    for (size_t i = 0; exchange->into && i < sum->count && status == PM_OK;) {
        char currency[4];
        int64_t rate = 0, day = 0;
        memcpy(currency, sum->in[i].currency, sizeof currency);
        if (strcmp(currency, exchange->into) == 0) {
            i++;
            continue;
        }
        status = find_rate(exchange, currency, &rate, &day, err);
        if (status == PM_OK && rate == 0) {
            if (!strstr(pm_text_get(&exchange->missing), currency))
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
    struct pm_cost cost;
    struct pm_text unknown;
    struct exchange exchange;
};

static enum pm_status note_unknown(struct costing *costing, int64_t material, struct pm_error *err)
{
    struct pm_card *card;
    enum pm_status status = pm_studio_material(costing->studio, material, &card, err);
    if (status == PM_OK) {
        struct pm_text wanted = PM_TEXT_EMPTY;
        pm_text_addf(&wanted, ", %s,", card->name);
        struct pm_text all = PM_TEXT_EMPTY;
        pm_text_addf(&all, ", %s,", pm_text_get(&costing->unknown));
        if (!pm_text_ok(&wanted) || !pm_text_ok(&all)) {
            status = pm_fail_memory(err);
        } else if (!strstr(pm_text_get(&all), pm_text_get(&wanted))) {
            pm_text_addf(&costing->unknown, "%s%s", costing->unknown.length > 0 ? ", " : "",
                         card->name);
            costing->cost.unknown++;
        }
        pm_text_release(&all);
        pm_text_release(&wanted);
    }
    return status;
}

static enum pm_status cost_line(struct costing *costing, const struct pm_pours *pours,
                                struct pm_cost_line *line, bool accord, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < pours->count && status == PM_OK; i++) {
        const struct pm_pour *pour = &pours->items[i];
        bool known = false;
        int64_t bottle = 0;
        if (pour->line != line->line)
            continue;
        line->mass += pour->mass;
        if (pour->mass == 0)
            continue;
        status = price_pour(costing->studio, costing->wish, pour, &line->sum, &known, &bottle, err);
        if (status == PM_OK && !known) {
            line->unknown++;
            status = note_unknown(costing, pour->material, err);
        }
        line->bottle = accord ? 0 : bottle;
    }
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
    bool known = true;
    int64_t bottle = 0;
    struct pm_pour rest = {0, wish->product_solvent, PM_NEAT, 0, 0};
    if (wish->dosage <= 0 || wish->product <= 0)
        return PM_OK;
    pm_muldiv(wish->product, wish->dosage, PM_NEAT, &concentrate);
    cost->product_solvent = rest.mass = wish->product - concentrate;
    enum pm_status status =
        pm_sum_scale(&cost->sum, concentrate, cost->batch, &cost->per_bottle, err);
    if (status == PM_OK && rest.material == 0 && rest.mass > 0)
        status = pm_material_by_name(costing->studio->library, "Ethanol", &rest.material, err);
    if (status == PM_OK && rest.mass > 0) {
        struct pm_sum sum = {.count = 0};
        status = price_pour(costing->studio, wish, &rest, &sum, &known, &bottle, err);
        if (status == PM_OK)
            status = known ? turn(&costing->exchange, &sum, err)
                           : note_unknown(costing, rest.material, err);
        if (status == PM_OK && known)
            status = pm_sum_add_all(&cost->per_bottle, &sum, err);
    }
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
    if (!cost->lines || !cost->names)
        status = pm_fail_memory(err);
    for (size_t i = 0; status == PM_OK && i < sheet->trial.count; i++) {
        struct pm_cost_line *line = &cost->lines[cost->count++];
        line->line = sheet->trial.lines[i].id;
        line->title = pm_arena_text(&cost->names->arena, sheet->lines[i].title);
        status = pm_arena_status(&cost->names->arena, err);
        if (status == PM_OK)
            status =
                cost_line(costing, &pours, line, sheet->trial.lines[i].kind == PM_LINE_ACCORD, err);
    }
    pm_pours_release(&pours);
    if (status == PM_OK)
        status = pm_sum_scale(&cost->sum, 1000 * PM_GRAM, cost->batch, &cost->per_kilogram, err);
    return status == PM_OK ? cost_product(costing, err) : status;
}

static enum pm_status finish(struct costing *costing, struct pm_error *err)
{
    struct pm_cost *cost = &costing->cost;
    struct pm_text text = PM_TEXT_EMPTY;
    char day[PM_TIME_TEXT];
    if (!pm_text_ok(&costing->unknown) || !pm_text_ok(&costing->exchange.missing))
        return pm_fail_memory(err);
    cost->rate_day = costing->exchange.oldest;
    if (cost->rate_day != PM_NO_DAY)
        pm_text_addf(&text, "By the rates you gave, the oldest of %s.",
                     pm_day_format(cost->rate_day, day));
    if (costing->exchange.missing.length > 0)
        pm_text_addf(&text, "%sNo rate into %s for%s.", text.length > 0 ? " " : "",
                     costing->exchange.into, pm_text_get(&costing->exchange.missing));
    bool remarked = text.length > 0 || !pm_text_ok(&text), missing = costing->unknown.length > 0;
    cost->remark = remarked ? pm_text_take(&text) : NULL;
    cost->unknown_names = missing ? pm_text_take(&costing->unknown) : NULL;
    pm_text_release(&text);
    return (remarked && !cost->remark) || (missing && !cost->unknown_names) ? pm_fail_memory(err)
                                                                            : PM_OK;
}

enum pm_status pm_stock_cost(struct pm_studio *studio, const struct pm_sheet *sheet,
                             const struct pm_cost_wish *wish, struct pm_cost *out,
                             struct pm_error *err)
{
    struct costing costing = {.studio = studio, .wish = wish};
    char into[4] = "";
    enum pm_status status = PM_OK;
    if (wish->currency)
        status = pm_currency_read(wish->currency, into, err);
    if (status != PM_OK)
        return status;
    costing.exchange = (struct exchange){.studio = studio,
                                         .into = wish->currency ? into : NULL,
                                         .today = pm_studio_today(studio),
                                         .oldest = PM_NO_DAY};
    status = pm_studio_look_begin(studio, err);
    if (status == PM_OK)
        status = pm_look_over(studio, cost_all(&costing, sheet, err));
    if (status == PM_OK)
        status = finish(&costing, err);
    pm_text_release(&costing.unknown);
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
