/* SPDX-License-Identifier: MIT */
/* Commands of the scale: weigh-out plans. */
#include "bench.h"
#include "listing.h"
#include "scale.h"

#include "permille/base/amount.h"
#include "permille/studio/settings.h"

#include <math.h>
#include <string.h>

static void put_makings(struct pm_json *json, const struct pm_weighing *weighing)
{
    pm_json_key(json, "dilutions_to_make");
    pm_json_open(json, '[');
    for (size_t i = 0; i < weighing->making_count; i++) {
        const struct pm_weigh_making_line *line = &weighing->makings[i];
        char label[PM_BOTTLE_LABEL];
        pm_json_open(json, '{');
        pm_json_put_string(json, "material", line->name);
        pm_json_put_string(json, "from",
                           line->from_bottle != 0 ? pm_bottle_label(line->from_bottle, label)
                                                  : NULL);
        pm_json_put_decimal(json, "from_strength_percent", line->from_strength, 7);
        pm_json_put_decimal(json, "strength_percent", line->strength, 7);
        pm_json_put_string(json, "solvent", line->solvent_name);
        pm_json_put_decimal(json, "target_g", line->target, 6);
        pm_json_put_decimal(json, "of_stock_g", line->of_stock, 6);
        pm_json_put_known(json, "of_stock_ml", line->stock_ul, 3);
        pm_json_put_known(json, "of_solvent_ml", line->solvent_ul, 3);
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
}

static void put_least(struct pm_json *json, const char *key, pm_mass mass)
{
    if (mass > 0)
        pm_json_put_decimal(json, key, mass, 6);
    else
        pm_json_put_null(json, key);
}

static void weighing_as_json(struct pm_cli *cli, const struct pm_weighing *weighing)
{
    struct pm_json json;
    pm_json_init(&json, &cli->out);
    pm_json_open(&json, '{');
    pm_json_put_decimal(&json, "batch_g", weighing->mass, 6);
    pm_json_put_decimal(&json, "readability_g", weighing->balance.readability, 6);
    pm_json_put_bool(&json, "cumulative", weighing->cumulative);
    pm_json_key(&json, "lines");
    pm_json_open(&json, '[');
    for (size_t i = 0; i < weighing->count; i++) {
        const struct pm_weigh_line *line = &weighing->items[i];
        pm_json_open(&json, '{');
        pm_json_put_int(&json, "line", line->number);
        pm_json_put_int(&json, "place", line->place);
        pm_json_put_string(&json, "material", line->name);
        pm_json_put_string(&json, "bottle", line->label);
        pm_json_put_string(&json, "lot", line->lot);
        pm_cli_put_whence(&json, &line->whence);
        pm_json_put_decimal(&json, "strength_percent", line->strength, 7);
        pm_json_put_string(&json, "solvent", line->solvent_name);
        pm_json_put_decimal(&json, "target_g", line->target, 6);
        pm_json_put_known(&json, "target_ml", line->target_ul, 3);
        pm_json_put_decimal(&json, "reads_g", line->reads, 6);
        pm_json_put_decimal(&json, "error_percent", pm_cli_percent(line->error), 7);
        pm_json_put_decimal(&json, "uncertainty_share_percent", pm_cli_share(line->share),
                            PM_CLI_SHARE_SCALE);
        pm_json_put_bool(&json, "weighable", line->weighable);
        pm_json_put_bool(&json, "to_make", line->to_make);
        pm_json_close(&json, '}');
    }
    pm_json_close(&json, ']');
    put_makings(&json, weighing);
    put_least(&json, "least_batch_g", weighing->least);
    put_least(&json, "least_batch_with_dilutions_g", weighing->least_made);
    pm_json_put_decimal(&json, "minimum_weight_g", weighing->minimum, 6);
    pm_json_put_decimal(&json, "tolerance_percent", weighing->tolerance, 7);
    pm_json_put_decimal(&json, "uncertainty_g", llround(weighing->combined), 6);
    pm_json_put_int(&json, "unweighable", (int64_t)weighing->unweighable);
    pm_json_put_int(&json, "missing", (int64_t)weighing->missing);
    pm_json_put_string(&json, "caution", pm_weigh_caution);
    pm_json_close(&json, '}');
}

static const struct pm_listing_column weigh_columns[] = {
    {.key = "place", .title = "#", .kind = PM_LISTING_NUMBER},
    {.key = "material", .kind = PM_LISTING_TEXT},
    {.title = "material", .kind = PM_LISTING_TEXT},
    {.key = "strength_percent", .title = "%", .kind = PM_LISTING_NUMBER, .scale = 7},
    {.key = "solvent", .title = "in", .kind = PM_LISTING_TEXT},
    {.key = "bottle", .title = "bottle", .kind = PM_LISTING_TEXT},
    {.key = "target_g",
     .title = "target g",
     .kind = PM_LISTING_NUMBER,
     .scale = 6,
     .least = 6, /* exactly what is asked for */
     .adds_up = true},
    {.key = "target_ml", .title = "ml", .kind = PM_LISTING_NUMBER, .scale = 3, .least = 2},
    {.key = "reads_g", .title = "display g", .kind = PM_LISTING_NUMBER},
    {.key = "error_percent", .title = "error %", .kind = PM_LISTING_NUMBER, .scale = 7, .least = 1},
    {.key = "uncertainty_share_percent",
     .title = "share %",
     .kind = PM_LISTING_NUMBER,
     .scale = PM_CLI_SHARE_SCALE,
     .least = 1},
    {.key = "sign", .title = "", .kind = PM_LISTING_TEXT},
    PM_CLI_WHENCE_COLUMNS,
};

static const char *sign_of(const struct pm_weigh_line *line)
{
    return line->to_make       ? "make it first"
           : line->bottle == 0 ? "not on the shelf"
           : !line->weighable  ? PM_TOO_LITTLE " " PM_TOO_LITTLE_WORDS
                               : NULL;
}

static void say_weighing(struct pm_cli *cli, const struct pm_weighing *weighing)
{
    const char sign = pm_decimal_sign();
    char least[PM_AMOUNT_TEXT], tolerance[PM_AMOUNT_TEXT];
    for (size_t i = 0; i < weighing->making_count; i++) {
        struct pm_text text = PM_TEXT_EMPTY;
        pm_weigh_making_say(weighing, i, sign, &text);
        pm_cli_say(cli, "First make %s.", pm_text_get(&text));
        cli->out.failed = cli->out.failed || !pm_text_ok(&text);
        pm_text_release(&text);
    }
    if (weighing->unweighable > 0)
        pm_cli_say(cli, "%zu cannot be weighed within %s: this balance weighs from %s on.",
                   weighing->unweighable, pm_strength_format(weighing->tolerance, sign, tolerance),
                   pm_balance_exact(&weighing->balance, weighing->minimum, sign, least));
    if (weighing->least > 0 && weighing->least > weighing->mass)
        pm_cli_say(cli, "Without making dilutions, %s is the least batch that can be weighed.",
                   pm_mass_format(weighing->least, 2, sign, least));
    if (weighing->over_capacity)
        pm_cli_say(cli, "The balance carries less than that.");
    pm_cli_say(cli, "%s", pm_weigh_caution);
}

static enum pm_status weighing_as_table(struct pm_cli *cli, const struct pm_weighing *weighing,
                                        struct pm_error *err)
{
    struct pm_listing table;
    const int places = pm_balance_places(&weighing->balance);
    pm_listing_init(&table, PM_LISTING_COLUMNS(weigh_columns));
    pm_listing_digits(&table, "reads_g", places);
    table.sums = "all";
    for (size_t i = 0; i < weighing->count; i++) {
        const struct pm_weigh_line *line = &weighing->items[i];
        pm_listing_number(&table, line->place);
        pm_listing_text(&table, line->name);
        pm_listing_text(&table, line->tall);
        pm_listing_number(&table, line->strength);
        pm_listing_text(&table, line->solvent_name);
        pm_listing_text(&table, line->label);
        pm_listing_number(&table, line->target);
        if (line->target_ul >= 0)
            pm_listing_number(&table, line->target_ul);
        else
            pm_listing_null(&table);
        pm_listing_number(&table, line->reads / pm_cli_grams_unit(places));
        pm_listing_number(&table, pm_cli_percent(line->error));
        pm_listing_number(&table, pm_cli_share(line->share));
        pm_listing_text(&table, sign_of(line));
        pm_cli_add_whence(&table, &line->whence);
    }
    if (cli->form == PM_CLI_TEXT)
        say_weighing(cli, weighing);
    return pm_listing_answer(&table, cli, "lines", "Nothing is weighed.", err);
}

static enum pm_status usual_batch(struct pm_cli *cli, pm_mass *out, struct pm_error *err)
{
    struct pm_settings settings;
    enum pm_status status = pm_settings_now(cli->studio, &settings, err);
    if (status == PM_OK)
        *out = settings.batch;
    return status;
}

static enum pm_status run_weigh(struct pm_cli *cli, struct pm_error *err)
{
    const struct pm_weigh_how how = pm_cli_weigh_how(cli);
    const char *print = pm_cli_value(cli, "print");
    enum pm_paper paper = PM_PAPER_TEXT;
    struct pm_sheet *sheet;
    struct pm_weighing weighing;
    const bool budget = pm_cli_has(cli, "budget");
    pm_mass mass = 0;
    if (cli->operand_count < 2 && !budget)
        return pm_cli_usage(cli, err, "weigh needs a mass: weigh F[/N] MASS.");
    enum pm_status status =
        cli->operand_count > 1 ? pm_mass_read(cli->operands[1], &mass, err) : PM_OK;
    if (status == PM_OK)
        status = pm_cli_sheet(cli, 0, &sheet, err);
    if (status != PM_OK)
        return status;
    if (budget) {
        status = cli->operand_count > 1 ? PM_OK : usual_batch(cli, &mass, err);
        if (status == PM_OK)
            status = pm_cli_weigh_budget(cli, sheet, mass, &how, err);
        pm_sheet_free(sheet);
        return status;
    }
    status = pm_weigh(cli->studio, sheet, mass, &how, &weighing, err);
    pm_sheet_free(sheet);
    if (status != PM_OK)
        return status;
    if (print != NULL && pm_paper_from_word(print, &paper))
        status = pm_weighing_print(&weighing, paper, pm_decimal_sign(), &cli->out, err);
    else if (cli->form == PM_CLI_JSON)
        weighing_as_json(cli, &weighing);
    else
        status = weighing_as_table(cli, &weighing, err);
    pm_weighing_release(&weighing);
    return status;
}

/* ---- the table ---- */

static const struct pm_cli_option weigh_options[] = {
    PM_CLI_HOW_OPTIONS,
    {.name = "budget",
     .help = "what the balance does to the formula as it is written: errors, shares of the "
             "uncertainty; of the usual batch without a mass"},
    {.name = "print",
     .value = "FORM",
     .words = "text|markdown|html",
     .help = "a sheet to weigh from"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND("weigh", "F[/N] MASS", 1, 2, PM_CLI_TABLE,
                   "what to weigh from which bottle, and what to dilute first",
                   .options = weigh_options, .run = run_weigh),
};

const struct pm_cli_topic pm_cli_topic_weigh = {
    .title = "The scale",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
