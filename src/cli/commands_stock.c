/* SPDX-License-Identifier: MIT */
/* Commands that look at the shelf from a formula: stock, needs, cost, plans, shopping; tables in
 * and out; the shelf's history. */
#include "bench.h"
#include "cli.h"
#include "listing.h"
#include "shelf.h"

#include "permille/base/amount.h"
#include "permille/base/mem.h"
#include "permille/studio/shelf.h"
#include "permille/studio/stock.h"

#include <string.h>

#define PICKED_MAX 64

/* ---- stock ---- */

static const struct pm_listing_column stock_columns[] = {
    {.key = "material", .title = "material", .kind = PM_LISTING_TEXT},
    {.key = "bottles", .title = "bottles", .kind = PM_LISTING_NUMBER},
    {.key = "left_g", .title = "left g", .kind = PM_LISTING_NUMBER, .scale = 6, .least = 2},
    {.key = "neat_g", .title = "neat g", .kind = PM_LISTING_NUMBER, .scale = 6, .least = 2},
    {.key = "level_g", .title = "level g", .kind = PM_LISTING_NUMBER, .scale = 6},
    {.key = "low", .title = "low", .kind = PM_LISTING_BOOL},
    {.key = "old", .title = "past date", .kind = PM_LISTING_BOOL},
};

static enum pm_status run_stock(struct pm_cli *cli, struct pm_error *err)
{
    const bool low = pm_cli_has(cli, "low"), old = pm_cli_has(cli, "old");
    const struct pm_shelf_filter filter = {
        .text = cli->operand_count > 0 ? cli->operands[0] : NULL,
        .have = !low,
        .low = low,
        .old = old,
        .limit = 10000000,
    };
    struct pm_shelf_rows_found rows;
    struct pm_listing table;

    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_shelf_list(cli->studio, &filter, &rows, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(stock_columns));
    for (size_t i = 0; i < rows.count; i++) {
        const struct pm_shelf_row *row = &rows.items[i];
        pm_listing_text(&table, row->name);
        pm_listing_number(&table, row->bottles);
        pm_listing_number(&table, row->poured);
        pm_listing_number(&table, row->neat);
        pm_listing_number_if(&table, row->level >= 0, row->level);
        pm_listing_bool(&table, row->low);
        pm_listing_bool(&table, row->old);
    }
    pm_list_release(&rows);
    return pm_listing_answer(&table, cli, "stock", low ? "Nothing is low." : "Nothing is there.",
                             err);
}

/* ---- strengths and stand-ins of one material ---- */

static const struct pm_listing_column strength_columns[] = {
    {.key = "strength_percent", .title = "%", .kind = PM_LISTING_NUMBER, .scale = 7, .least = 2},
    {.key = "solvent", .title = "in", .kind = PM_LISTING_TEXT},
    {.key = "bottles", .title = "bottles", .kind = PM_LISTING_NUMBER},
    {.key = "left_g", .title = "left g", .kind = PM_LISTING_NUMBER, .scale = 6, .least = 2},
    {.key = "past_date", .title = "past date", .kind = PM_LISTING_BOOL},
};

static enum pm_status run_strengths(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_shelf_strengths found;
    struct pm_listing table;
    int64_t id;

    enum pm_status status = pm_cli_find_material(cli, cli->operands[0], &id, err);
    if (status == PM_OK)
        status = pm_stock_strengths(cli->studio, id, &found, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(strength_columns));
    for (size_t i = 0; i < found.count; i++) {
        pm_listing_number(&table, found.items[i].strength);
        pm_listing_text(&table, found.items[i].solvent_name);
        pm_listing_number(&table, found.items[i].bottles);
        pm_listing_number(&table, found.items[i].left);
        pm_listing_bool(&table, found.items[i].past);
    }
    pm_shelf_strengths_release(&found);
    return pm_listing_answer(&table, cli, "strengths", "Nothing of it is on the shelf.", err);
}

static const struct pm_listing_column offer_columns[] = {
    {.key = "material", .title = "material", .kind = PM_LISTING_TEXT},
    {.key = "family", .title = "family", .kind = PM_LISTING_TEXT},
    {.key = "shared_words", .title = "shared words", .kind = PM_LISTING_NUMBER},
    {.key = "rating", .title = "rating", .kind = PM_LISTING_NUMBER},
    {.key = "neat_g", .title = "neat g", .kind = PM_LISTING_NUMBER, .scale = 6, .least = 2},
};

static enum pm_status run_standins(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_offers found;
    struct pm_listing table;
    int64_t id;

    enum pm_status status = pm_cli_find_material(cli, cli->operands[0], &id, err);
    if (status == PM_OK)
        status = pm_stock_offers(cli->studio, id, 1000, &found, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(offer_columns));
    for (size_t i = 0; i < found.count; i++) {
        pm_listing_text(&table, found.items[i].name);
        pm_listing_text(&table, found.items[i].family);
        pm_listing_number(&table, (int64_t)found.items[i].shared);
        pm_listing_number_if(&table, found.items[i].rating > 0, found.items[i].rating);
        pm_listing_number(&table, found.items[i].neat);
    }
    pm_list_release(&found);
    return pm_listing_answer(&table, cli, "standins", "Nothing of its family is on the shelf.",
                             err);
}

/* ---- a formula against the shelf ---- */

static const struct pm_listing_column need_columns[] = {
    {.key = "material", .title = "material", .kind = PM_LISTING_TEXT},
    {.key = "strength_percent", .title = "%", .kind = PM_LISTING_NUMBER, .scale = 7},
    {.key = "solvent", .title = "in", .kind = PM_LISTING_TEXT},
    {.key = "need_g", .title = "need g", .kind = PM_LISTING_NUMBER, .scale = 6, .least = 2},
    {.key = "left_g", .title = "left g", .kind = PM_LISTING_NUMBER, .scale = 6, .least = 2},
    {.key = "bottle", .title = "bottle", .kind = PM_LISTING_TEXT},
    {.key = "state", .title = "state", .kind = PM_LISTING_TEXT},
};

/* What diluting takes of a solvent, where it is not there. */
static void say_solvent(struct pm_cli *cli, const struct pm_solvent_need *need)
{
    char mass[PM_AMOUNT_TEXT], left[PM_AMOUNT_TEXT];
    if (need->left < need->mass)
        pm_cli_say(cli, "Diluting takes %s of %s, and %s of it is there.",
                   pm_mass_format(need->mass, 2, pm_decimal_sign(), mass), need->name,
                   pm_mass_format(need->left, 2, pm_decimal_sign(), left));
}

static enum pm_status run_needs(struct pm_cli *cli, struct pm_error *err)
{
    char label[PM_BOTTLE_LABEL];
    struct pm_sheet *sheet;
    struct pm_needs needs;
    struct pm_listing table;
    pm_mass mass = 0;

    enum pm_status status = pm_mass_read(cli->operands[1], &mass, err);
    if (status == PM_OK)
        status = pm_cli_sheet(cli, 0, &sheet, err);
    if (status != PM_OK)
        return status;
    status = pm_stock_needs(cli->studio, sheet, mass, &needs, err);
    pm_sheet_free(sheet);
    if (status != PM_OK)
        return status;
    pm_needs_gather(&needs);
    pm_listing_init(&table, PM_LISTING_COLUMNS(need_columns));
    for (size_t i = 0; i < needs.count; i++) {
        const struct pm_need *need = &needs.items[i];
        pm_listing_text(&table, need->name);
        pm_listing_number(&table, need->strength);
        pm_listing_text(&table, need->solvent_name);
        pm_listing_number(&table, need->mass);
        pm_listing_number(&table, need->left);
        pm_listing_text(&table, need->bottle != 0 ? pm_bottle_label(need->bottle, label) : NULL);
        pm_listing_text(&table, pm_stock_state_word(need->state));
    }
    if (needs.lacking > 0)
        pm_cli_say(cli, "%zu of %zu lacking.", needs.lacking, needs.count);
    for (size_t i = 0; i < needs.solvent_count; i++)
        say_solvent(cli, &needs.solvents[i]);
    pm_needs_release(&needs);
    return pm_listing_answer(&table, cli, "needs", "Nothing is needed.", err);
}

static const struct pm_listing_column possible_columns[] = {
    {.key = "formula", .title = "formula", .kind = PM_LISTING_TEXT},
    {.key = "lacking", .title = "lacking", .kind = PM_LISTING_NUMBER},
    {.key = "what", .kind = PM_LISTING_TEXT},
    {.title = "what", .kind = PM_LISTING_TEXT},
};

static enum pm_status run_possible(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_possibles found;
    struct pm_listing table;
    pm_mass mass = 0;

    enum pm_status status = pm_mass_read(cli->operands[0], &mass, err);
    if (status == PM_OK)
        status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_stock_possible(cli->studio, mass, &found, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(possible_columns));
    for (size_t i = 0; i < found.count; i++) {
        pm_listing_text(&table, found.items[i].title);
        pm_listing_number(&table, (int64_t)found.items[i].lacking);
        pm_listing_text(&table, found.items[i].what);
        pm_listing_text(&table, found.items[i].what != NULL ? found.items[i].what : "");
    }
    pm_possibles_release(&found);
    return pm_listing_answer(&table, cli, "possible", "No formulas.", err);
}

/* ---- cost ---- */

/* "cost":[{"currency","amount"}] */
static void put_sum(struct pm_json *json, const char *key, const struct pm_sum *sum)
{
    pm_json_put_open(json, key, '[');
    for (size_t i = 0; i < sum->count; i++) {
        pm_json_open(json, '{');
        pm_json_put_string(json, "currency", sum->in[i].currency);
        pm_json_put_decimal(json, "amount", sum->in[i].money, 6);
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
}

static void cost_as_json(struct pm_cli *cli, const struct pm_cost *cost)
{
    char label[PM_BOTTLE_LABEL];
    struct pm_json json;

    pm_json_init(&json, &cli->out);
    pm_json_open(&json, '{');
    pm_json_put_decimal(&json, "batch_g", cost->batch, 6);
    pm_json_put_open(&json, "lines", '[');
    for (size_t i = 0; i < cost->count; i++) {
        const struct pm_cost_line *line = &cost->lines[i];
        pm_json_open(&json, '{');
        pm_json_put_int(&json, "line", (int64_t)i + 1);
        pm_json_put_string(&json, "title", line->title);
        pm_json_put_decimal(&json, "mass_g", line->mass, 6);
        pm_json_put_string(&json, "bottle",
                           line->bottle != 0 ? pm_bottle_label(line->bottle, label) : NULL);
        pm_json_put_int(&json, "bottles", (int64_t)line->bottles);
        put_sum(&json, "cost", &line->sum);
        pm_json_put_int(&json, "unknown", (int64_t)line->unknown);
        pm_json_close(&json, '}');
    }
    pm_json_close(&json, ']');
    put_sum(&json, "cost", &cost->sum);
    put_sum(&json, "per_kilogram", &cost->per_kilogram);
    put_sum(&json, "per_bottle", &cost->per_bottle);
    pm_json_put_int(&json, "unknown", (int64_t)cost->unknown);
    pm_json_put_string(&json, "unknown_names", cost->unknown_names);
    pm_json_put_string(&json, "remark", cost->remark);
    pm_json_close(&json, '}');
}

static const struct pm_listing_column cost_columns[] = {
    {.key = "title", .title = "line", .kind = PM_LISTING_TEXT},
    {.key = "mass_g",
     .title = "g",
     .kind = PM_LISTING_NUMBER,
     .scale = 6,
     .least = 3,
     .adds_up = true},
    {.key = "bottle", .title = "bottle", .kind = PM_LISTING_TEXT},
    {.key = "cost", .title = "cost", .kind = PM_LISTING_TEXT},
    {.key = "unknown", .title = "unknown", .kind = PM_LISTING_TEXT},
};

static enum pm_status cost_as_table(struct pm_cli *cli, const struct pm_cost *cost,
                                    struct pm_error *err)
{
    const char sign = cli->form == PM_CLI_CSV ? '.' : pm_decimal_sign();
    char label[PM_BOTTLE_LABEL], number[PM_AMOUNT_TEXT];
    struct pm_text text = PM_TEXT_EMPTY;
    struct pm_listing table;

    pm_listing_init(&table, PM_LISTING_COLUMNS(cost_columns));
    for (size_t i = 0; i < cost->count; i++) {
        const struct pm_cost_line *line = &cost->lines[i];
        pm_listing_text(&table, line->title);
        pm_listing_number(&table, line->mass);
        pm_text_clear(&text);
        if (line->bottle != 0)
            pm_text_add(&text, pm_bottle_label(line->bottle, label));
        if (line->bottles > 1 && cli->form != PM_CLI_CSV)
            pm_text_addf(&text, " and %zu more", line->bottles - 1);
        if (line->bottle != 0)
            pm_listing_made(&table, &text);
        else
            pm_listing_text(&table, NULL);
        pm_text_clear(&text);
        pm_sum_format(cli->form == PM_CLI_CSV ? &line->sum : &line->printed, 2, sign, &text);
        pm_listing_made(&table, &text);
        pm_text_clear(&text);
        pm_text_addf(&text, "%zu without a price", line->unknown);
        if (line->unknown == 0)
            pm_text_clear(&text);
        if (line->resting && cli->form == PM_CLI_TEXT)
            pm_text_add(&text, pm_stance_word(PM_RESTING));
        pm_listing_made(&table, &text);
    }
    enum pm_status status = cli->form == PM_CLI_CSV ? pm_listing_as_csv(&table, &cli->out, err)
                                                    : pm_listing_show(&table, cli, err);
    pm_listing_release(&table);
    pm_text_release(&text);
    if (status != PM_OK || cli->form == PM_CLI_CSV)
        return status;
    pm_text_addf(&cli->out, "\n%s costs ", pm_mass_format(cost->batch, 2, sign, number));
    pm_sum_format(&cost->printed, 2, sign, &cli->out);
    pm_text_add(&cli->out, ", a kilogram ");
    pm_sum_format(&cost->per_kilogram, 2, sign, &cli->out);
    if (cost->per_bottle.count > 0) {
        pm_text_add(&cli->out, ", a bottle of product ");
        pm_sum_format(&cost->per_bottle, 2, sign, &cli->out);
    }
    pm_text_add(&cli->out, ".\n");
    if (cost->unknown_names != NULL) {
        pm_text_addf(&cli->out, "%zu without a price, not counted: ", cost->unknown);
        pm_cli_add_shown(&cli->out, cost->unknown_names);
        pm_text_add(&cli->out, ". It costs at least this.\n");
    }
    if (cost->remark != NULL)
        pm_text_addf(&cli->out, "%s\n", cost->remark);
    return PM_OK;
}

static enum pm_status read_cost_wish(struct pm_cli *cli, struct pm_cost_wish *wish, int64_t *picked,
                                     struct pm_error *err)
{
    const char *dosage = pm_cli_value(cli, "dosage"), *product = pm_cli_value(cli, "product");
    const char *fill = pm_cli_value(cli, "filled-with"), *bottle;
    size_t at = 0;

    wish->currency = pm_cli_value(cli, "currency");
    wish->bottles = picked;
    enum pm_status status = pm_mass_read(pm_cli_value(cli, "batch"), &wish->batch, err);
    if (status == PM_OK && dosage != NULL)
        status = pm_strength_read(dosage, &wish->dosage, err);
    if (status == PM_OK && product != NULL)
        status = pm_mass_read(product, &wish->product, err);
    if (status == PM_OK && fill != NULL)
        status = pm_shelf_find(cli->studio, fill, &wish->product_solvent, err);
    while (status == PM_OK && (bottle = pm_cli_next_value(cli, "bottle", &at)) != NULL) {
        if (wish->bottle_count == PICKED_MAX)
            return pm_cli_usage(cli, err, "At most %d bottles can be chosen.", PICKED_MAX);
        status = pm_bottle_find(cli->studio, bottle, &picked[wish->bottle_count++], err);
    }
    return status;
}

static enum pm_status run_cost(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_cost_wish wish = {.batch = 0};
    int64_t picked[PICKED_MAX];
    struct pm_sheet *sheet;
    struct pm_cost cost;

    if (pm_cli_value(cli, "batch") == NULL)
        return pm_cli_usage(cli, err, "For what batch? Say --batch MASS.");
    if ((pm_cli_value(cli, "dosage") == NULL) != (pm_cli_value(cli, "product") == NULL))
        return pm_cli_usage(cli, err, "A bottle of product needs both --dosage and --product.");
    enum pm_status status = pm_cli_sheet(cli, 0, &sheet, err);
    if (status != PM_OK)
        return status;
    status = read_cost_wish(cli, &wish, picked, err);
    if (status == PM_OK)
        status = pm_stock_cost(cli->studio, sheet, &wish, &cost, err);
    pm_sheet_free(sheet);
    if (status != PM_OK)
        return status;
    if (cli->form == PM_CLI_JSON)
        cost_as_json(cli, &cost);
    else
        status = cost_as_table(cli, &cost, err);
    pm_cost_release(&cost);
    return status;
}

/* ---- rates ---- */

static enum pm_status read_day(struct pm_cli *cli, pm_day *day, struct pm_error *err)
{
    const char *text = pm_cli_value(cli, "day");
    *day = PM_NO_DAY;
    return text != NULL ? pm_day_read(text, day, err) : PM_OK;
}

static enum pm_status run_rate(struct pm_cli *cli, struct pm_error *err)
{
    pm_day day;
    enum pm_status status = read_day(cli, &day, err);
    if (status == PM_OK)
        status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_stock_set_rate(cli->studio, cli->operands[0], cli->operands[2],
                                   cli->operands[1], day, err);
    if (status == PM_OK)
        pm_cli_say(cli, "1 %s is %s %s.", cli->operands[0], cli->operands[1], cli->operands[2]);
    return status;
}

static const struct pm_listing_column rate_columns[] = {
    {.key = "currency", .title = "one", .kind = PM_LISTING_TEXT},
    {.key = "rate", .title = "is", .kind = PM_LISTING_NUMBER, .scale = 9, .least = 4},
    {.key = "other", .title = "of", .kind = PM_LISTING_TEXT},
    {.key = "day", .title = "on", .kind = PM_LISTING_TEXT},
};

static enum pm_status run_rates(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_rates rates;
    struct pm_listing table;
    char day[PM_TIME_TEXT];

    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_stock_rates(cli->studio, &rates, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(rate_columns));
    for (size_t i = 0; i < rates.count; i++) {
        pm_listing_text(&table, rates.items[i].currency);
        pm_listing_number(&table, rates.items[i].rate);
        pm_listing_text(&table, rates.items[i].other);
        pm_listing_text(&table, pm_day_format(rates.items[i].day, day));
    }
    pm_list_release(&rates);
    return pm_listing_answer(&table, cli, "rates", "No rates.", err);
}

/* ---- planned batches ---- */

static enum pm_status run_plan_add(struct pm_cli *cli, struct pm_error *err)
{
    const char *values[PM_BATCH_ATTRIBUTES];
    struct pm_json json;
    int64_t id;

    pm_cli_entity_values(cli, values);
    values[PM_BATCH_OF_TRIAL] = cli->operands[0];
    values[PM_BATCH_OF_MASS] = cli->operands[1];
    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_batch_plan(cli->studio, values, &id, err);
    if (status != PM_OK)
        return status;
    pm_cli_say(cli, "Planned batch %lld.", (long long)id);
    if (cli->form == PM_CLI_JSON) {
        pm_json_init(&json, &cli->out);
        pm_json_open(&json, '{');
        pm_json_put_int(&json, "plan", id);
        pm_json_close(&json, '}');
    }
    return PM_OK;
}

static enum pm_status run_plan_done(struct pm_cli *cli, struct pm_error *err)
{
    int64_t id = 0;
    enum pm_status status = pm_decimal_read(cli->operands[0], 0, "The number", &id, err);
    if (status == PM_OK)
        status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_batch_done(cli->studio, id, err);
    if (status == PM_OK)
        pm_cli_say(cli, "Planned batch %lld is done with.", (long long)id);
    return status;
}

static const struct pm_listing_column plan_columns[] = {
    {.key = "plan", .title = "plan", .kind = PM_LISTING_NUMBER},
    {.of = &pm_batch_entity, .which = PM_BATCH_OF_TRIAL, .title = "trial"},
    {.of = &pm_batch_entity, .which = PM_BATCH_OF_MASS, .title = "g", .least = 2},
    {.of = &pm_batch_entity, .which = PM_BATCH_OF_DAY, .title = "for"},
    {.of = &pm_batch_entity, .which = PM_BATCH_OF_NOTE, .title = "note"},
    {.key = "done", .title = "done", .kind = PM_LISTING_BOOL},
};

static enum pm_status run_plan_list(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_batches plans;
    struct pm_listing table;

    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_batches_list(cli->studio, pm_cli_has(cli, "all"), &plans, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(plan_columns));
    for (size_t i = 0; i < plans.count; i++) {
        const struct pm_batch *plan = &plans.items[i];
        pm_listing_number(&table, plan->id);
        pm_listing_attributes(&table, plan);
        pm_listing_bool(&table, pm_batch_over(plan->state));
    }
    pm_list_release(&plans);
    return pm_listing_answer(&table, cli, "plans", "Nothing is planned.", err);
}

static const struct pm_listing_column shopping_columns[] = {
    {.key = "supplier", .title = "supplier", .kind = PM_LISTING_TEXT},
    {.key = "material", .title = "material", .kind = PM_LISTING_TEXT},
    {.key = "buy_g", .title = "buy g", .kind = PM_LISTING_NUMBER, .scale = 6, .least = 2},
    {.key = "need_g", .title = "need g", .kind = PM_LISTING_NUMBER, .scale = 6, .least = 2},
    {.key = "have_g", .title = "have g", .kind = PM_LISTING_NUMBER, .scale = 6, .least = 2},
    {.key = "to_level", .title = "to level", .kind = PM_LISTING_BOOL},
    {.key = "low_level_g", .title = "low below g", .kind = PM_LISTING_NUMBER, .scale = 6},
    {.key = "last_price", .title = "last price", .kind = PM_LISTING_TEXT},
};

static enum pm_status run_shopping(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_shopping list;
    struct pm_listing table;

    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_stock_shopping(cli->studio, pm_cli_has(cli, "low"), &list, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(shopping_columns));
    for (size_t i = 0; i < list.count; i++) {
        const struct pm_shopping_line *line = &list.lines[i];
        pm_listing_text(&table, line->supplier);
        pm_listing_text(&table, line->name);
        pm_listing_number(&table, line->buy);
        pm_listing_number(&table, line->need);
        pm_listing_number(&table, line->have);
        pm_listing_bool(&table, line->level);
        pm_listing_number_if(&table, line->level, line->low_level);
        pm_listing_text(&table, line->last_price);
    }
    pm_shopping_release(&list);
    return pm_listing_answer(&table, cli, "shopping", "Nothing needs to be bought.", err);
}

/* ---- the table ---- */

static const struct pm_cli_option stock_options[] = {
    {.name = "low", .help = "only what is below its low-stock level"},
    {.name = "old", .help = "only what is past its date"},
    {.name = NULL},
};
static const struct pm_cli_option cost_options[] = {
    {.name = "batch", .value = "MASS", .help = "of the concentrate"},
    {.name = "dosage", .value = "PERCENT", .help = "of the concentrate in the product"},
    {.name = "product", .value = "MASS", .help = "in one bottle of product"},
    {.name = "filled-with", .value = "MATERIAL", .help = "what the product is filled up with"},
    {.name = "currency", .value = "CODE", .help = "everything in this one, by the rates given"},
    {.name = "bottle",
     .value = "BOTTLE",
     .help = "priced by this one, not the oldest",
     .many = true},
    {.name = NULL},
};
static const struct pm_cli_option rate_options[] = {
    {.name = "day", .value = "DATE", .help = "today without it"},
    {.name = NULL},
};
static const struct pm_cli_option plan_list_options[] = {
    {.name = "all", .help = "also what is done with"},
    {.name = NULL},
};
static const struct pm_cli_option shopping_options[] = {
    {.name = "low", .help = "also bring low materials to their level"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND("stock", "[TEXT]", 0, 1, PM_CLI_TABLE,
                   "what the shelf holds, material by material", .options = stock_options,
                   .run = run_stock),
    PM_CLI_COMMAND("strengths", "MATERIAL", 1, 1, PM_CLI_TABLE,
                   "at what strengths a material is on the shelf", .run = run_strengths),
    PM_CLI_COMMAND("standins", "MATERIAL", 1, 1, PM_CLI_TABLE,
                   "materials of the same family that are on the shelf", .run = run_standins),
    PM_CLI_COMMAND("needs", "F[/N] MASS", 2, 2, PM_CLI_TABLE,
                   "what a batch pours, from which bottles, and what is lacking", .run = run_needs),
    PM_CLI_COMMAND("possible", "MASS", 1, 1, PM_CLI_TABLE, "which formulas can be made now",
                   .run = run_possible),
    PM_CLI_COMMAND("cost", "F[/N]", 1, 1, PM_CLI_TABLE, "what a batch costs, line by line",
                   .options = cost_options, .run = run_cost),
    PM_CLI_COMMAND("rate", "CODE RATE CODE", 3, 3, PM_CLI_TEXT,
                   "one unit of the first currency is so much of the second",
                   .options = rate_options, .run = run_rate, .changes = true),
    PM_CLI_COMMAND("rates", "", 0, 0, PM_CLI_TABLE, "the rates of exchange given so far",
                   .run = run_rates),
    PM_CLI_COMMAND("plan add", "F/N MASS", 2, 2, PM_CLI_JSON, "plan to weigh a batch",
                   .run = run_plan_add, .entity = &pm_batch_entity, .without = "trial|mass",
                   .changes = true),
    PM_CLI_COMMAND("plan list", "", 0, 0, PM_CLI_TABLE, "the planned batches",
                   .options = plan_list_options, .run = run_plan_list),
    PM_CLI_COMMAND("plan done", "N", 1, 1, PM_CLI_TEXT, "a planned batch was weighed, or given up",
                   .run = run_plan_done, .changes = true),
    PM_CLI_COMMAND("shopping", "", 0, 0, PM_CLI_TABLE,
                   "what the planned batches need beyond stock, by supplier",
                   .options = shopping_options, .run = run_shopping),
};

const struct pm_cli_topic pm_cli_topic_stock = {
    .title = "Stock, cost and shopping",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
