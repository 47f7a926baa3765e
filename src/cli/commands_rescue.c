/* SPDX-License-Identifier: MIT */
/* Commands of the scale: the ways out of an over-pour, and what a batch has become. */
#include "bench.h"
#include "listing.h"
#include "scale.h"

#include "permille/base/amount.h"
#include "permille/studio/stock.h"

#include <string.h>

static void put_offer(struct pm_json *json, const struct pm_rescue_offers *offers,
                      const struct pm_rescue_offer *offer)
{
    const pm_mass capacity = offers->balance.capacity;
    pm_json_open(json, '{');
    pm_json_put_string(json, "way", pm_rescue_word(offer->way));
    pm_json_put_open(json, "add", '[');
    for (size_t i = 0; i < offer->count; i++) {
        pm_json_open(json, '{');
        pm_json_put_int(json, "line", offer->items[i].number);
        pm_json_put_int(json, "place", offer->items[i].place);
        pm_json_put_string(json, "material", offer->items[i].name);
        pm_json_put_decimal(json, "mass_g", offer->items[i].add, 6);
        pm_json_put_decimal(json, "reads_g", offer->items[i].reads, 6);
        pm_json_put_bool(json, "in_stock", offer->items[i].in_stock);
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
    pm_json_put_decimal(json, "total_g", offer->total, 6);
    pm_json_put_decimal(json, "left_over_g", offer->left_over, 6);
    pm_json_put_bool(json, "in_stock", offer->in_stock);
    pm_json_put_bool(json, "fits", capacity == 0 || offer->total <= capacity);
    pm_json_put_string(json, "sense", pm_rescue_sense_word(offer->sense));
    pm_json_put_open(json, "cost", '[');
    for (size_t i = 0; i < offer->cost.count; i++) {
        pm_json_open(json, '{');
        pm_json_put_string(json, "currency", offer->cost.in[i].currency);
        pm_json_put_decimal(json, "amount", offer->cost.in[i].money, 6);
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
    pm_json_put_int(json, "unknown", (int64_t)offer->unknown);
    pm_json_close(json, '}');
}

/* In the digits of the balance: what can be poured and read. */
static void offer_as_text(struct pm_cli *cli, const struct pm_rescue_offers *offers,
                          const struct pm_rescue_offer *offer)
{
    const char sign = pm_decimal_sign();
    char mass[PM_AMOUNT_TEXT];
    pm_text_addf(&cli->out, "%s: %s in all", pm_rescue_word(offer->way),
                 pm_balance_text(&offers->balance, offer->total, sign, mass));
    pm_rescue_sense_say(offers, offer, sign, ", ", &cli->out);
    if (offer->left_over > 0)
        pm_text_addf(&cli->out, ", %s stays too much",
                     pm_balance_text(&offers->balance, offer->left_over, sign, mass));
    if (offer->cost.count > 0 || offer->unknown > 0) {
        pm_text_add(&cli->out, ", costs ");
        pm_sum_format(&offer->cost, 2, sign, &cli->out);
        pm_text_addf(&cli->out, " more%s", offer->unknown > 0 ? " at least" : "");
    }
    pm_text_add(&cli->out, "\n");
    for (size_t i = 0; i < offer->count; i++) {
        const struct pm_rescue_step *step = &offer->items[i];
        pm_text_addf(&cli->out, "  %3lld  ", (long long)step->place);
        pm_cli_add_shown(&cli->out, step->name);
        pm_text_addf(&cli->out, "  add %s%s%s\n",
                     pm_balance_text(&offers->balance, step->add, sign, mass),
                     step->reads > 0 ? "" : " (less than it shows)",
                     step->in_stock ? "" : " (not enough there)");
    }
}

/* ---- what it becomes ---- */

static void put_become(struct pm_json *json, const struct pm_become *become)
{
    pm_json_put_decimal(json, "total_g", become->total, 6);
    pm_json_put_open(json, "materials", '[');
    for (size_t i = 0; i < become->count; i++) {
        const struct pm_become_line *line = &become->items[i];
        pm_json_open(json, '{');
        pm_json_put_string(json, "material", line->name);
        pm_json_put_decimal(json, "parts", pm_become_parts(become, line->is), 6);
        pm_json_put_decimal(json, "was_parts", pm_become_parts(become, line->was), 6);
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
    pm_json_put_decimal(json, "dosage_percent", become->wish.dosage, 7);
    pm_json_put_string(json, "category", become->wish.category);
    pm_json_put_int(json, "prohibited", (int64_t)become->prohibited);
    pm_json_put_int(json, "over", (int64_t)become->over);
    pm_json_put_int(json, "unknown", (int64_t)become->unknown);
    pm_json_put_int(json, "within", (int64_t)become->within);
    pm_json_put_int(json, "without_rule", (int64_t)become->without_rule);
    pm_json_put_open(json, "limits", '[');
    for (size_t i = 0; i < become->limit_count; i++) {
        const struct pm_become_limit *limit = &become->limits[i];
        pm_json_open(json, '{');
        pm_json_put_string(json, "substance", limit->title);
        pm_json_put_string(json, "verdict", pm_verdict_word(limit->is));
        pm_json_put_string(json, "was_verdict",
                           limit->was_percent >= 0 ? pm_verdict_word(limit->was) : NULL);
        pm_json_put_decimal(json, "percent", limit->percent, 10);
        pm_json_put_bool(json, "at_least", limit->least);
        pm_json_put_known(json, "limit_percent", limit->limit, 7);
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
    pm_json_put_string(json, "caution", pm_limits_caution());
}

static enum pm_status read_way(struct pm_cli *cli, enum pm_rescue_way *way, struct pm_error *err)
{
    return pm_rescue_from_word(cli->operands[1], way)
               ? PM_OK
               : pm_cli_usage(cli, err, "The ways are restore, core, pull, accept.");
}

static enum pm_status run_become(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_become become;
    enum pm_rescue_way way;
    struct pm_json json;
    int64_t id;
    enum pm_status status = cli->operand_count > 1 ? read_way(cli, &way, err) : PM_OK;
    if (status == PM_OK)
        status = pm_cli_open_batch(cli, &id, err);
    if (status == PM_OK)
        status =
            pm_batch_become(cli->studio, id, cli->operand_count > 1 ? &way : NULL, &become, err);
    if (status != PM_OK)
        return status;
    if (cli->form == PM_CLI_JSON) {
        pm_json_init(&json, &cli->out);
        pm_json_open(&json, '{');
        put_become(&json, &become);
        pm_json_close(&json, '}');
    } else {
        status = pm_become_text(&become, false, pm_decimal_sign(), &cli->out, err);
    }
    pm_become_release(&become);
    return status;
}

/* ---- ways out ---- */

static void offers_as_json(struct pm_cli *cli, const struct pm_rescue_offers *offers,
                           const struct pm_become *become)
{
    struct pm_json json;
    pm_json_init(&json, &cli->out);
    pm_json_open(&json, '{');
    pm_json_put_open(&json, "ways", '[');
    for (size_t i = 0; i < offers->count; i++)
        put_offer(&json, offers, &offers->items[i]);
    pm_json_close(&json, ']');
    pm_json_put_open(&json, "accepted", '{');
    put_become(&json, become);
    pm_json_close(&json, '}');
    pm_json_close(&json, '}');
}

/* The ways, and what the trial becomes where it is accepted. */
static enum pm_status show_ways(struct pm_cli *cli, int64_t id, struct pm_error *err)
{
    static const enum pm_rescue_way accept = PM_RESCUE_ACCEPT;
    struct pm_rescue_offers offers;
    struct pm_become become;
    enum pm_status status = pm_batch_ways(cli->studio, id, &offers, err);
    if (status != PM_OK)
        return status;
    status = pm_batch_become(cli->studio, id, &accept, &become, err);
    if (status == PM_OK) {
        if (cli->form == PM_CLI_JSON)
            offers_as_json(cli, &offers, &become);
        for (size_t i = 0; i < offers.count && cli->form != PM_CLI_JSON; i++)
            offer_as_text(cli, &offers, &offers.items[i]);
        if (cli->form != PM_CLI_JSON)
            pm_text_add(&cli->out, "By accept it becomes:\n");
        if (cli->form != PM_CLI_JSON)
            status = pm_become_text(&become, true, pm_decimal_sign(), &cli->out, err);
        pm_become_release(&become);
    }
    pm_rescue_offers_release(&offers);
    return status;
}

/* What the batch is meant to be now, and what is poured next. */
static enum pm_status tell_way(struct pm_cli *cli, int64_t id, struct pm_error *err)
{
    struct pm_batch_record record;
    char sentence[200], mass[PM_AMOUNT_TEXT];
    enum pm_status status = pm_batch_show(cli->studio, id, &record, err);
    if (status != PM_OK)
        return status;
    pm_print(sentence, sizeof sentence, "From now on batch %lld is to be %s in all", (long long)id,
             pm_balance_exact(&record.plan.balance, record.target, pm_decimal_sign(), mass));
    pm_cli_tell_record(cli, &record, sentence);
    pm_cli_say_next(cli, &record);
    pm_batch_record_release(&record);
    return PM_OK;
}

static enum pm_status run_rescue(struct pm_cli *cli, struct pm_error *err)
{
    enum pm_rescue_way way;
    int64_t id;
    enum pm_status status = cli->operand_count > 1 ? read_way(cli, &way, err) : PM_OK;
    if (status == PM_OK)
        status = pm_cli_open_batch(cli, &id, err);
    if (status == PM_OK && cli->operand_count < 2)
        return show_ways(cli, id, err);
    if (status == PM_OK)
        status = pm_batch_rescue(cli->studio, id, way, err);
    return status == PM_OK ? tell_way(cli, id, err) : status;
}

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND("batch rescue", "N [restore|core|pull|accept]", 1, 2, PM_CLI_JSON,
                   "the ways out of an over-pour; with a way: go it", .run = run_rescue,
                   .changes = true),
    PM_CLI_COMMAND("batch become", "N [restore|core|pull|accept]", 1, 2, PM_CLI_JSON,
                   "what the trial has become in the beaker, by material and against limits",
                   .run = run_become),
};

const struct pm_cli_topic pm_cli_topic_rescue = {
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
