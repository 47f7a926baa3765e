/* SPDX-License-Identifier: MIT */
/* What a balance does to a formula as it is written, as the answer of a command. */
#include "scale.h"

#include "listing.h"

#include "permille/base/amount.h"
#include "permille/studio/weigh_budget.h"

#include <math.h>

struct answering {
    struct pm_cli *cli;
    const struct pm_sheet *sheet;
    const struct pm_sheet_budget *budget;
    const struct pm_budget_line *lines;
    struct pm_budget all;
};

static void put_strength(struct pm_json *json, const char *key, pm_strength strength)
{
    if (strength > 0)
        pm_json_put_decimal(json, key, strength, 7);
    else
        pm_json_put_null(json, key);
}

static void put_line(const struct answering *at, struct pm_json *json, size_t place)
{
    const struct pm_sheet_line *of = &at->sheet->lines[place];
    const struct pm_budget_line *line = &at->lines[place];
    const bool accord = of->accord_formula != 0;
    pm_json_open(json, '{');
    pm_json_put_int(json, "line", (int64_t)place + 1);
    pm_json_put_string(json, "material", accord ? NULL : of->title);
    pm_json_put_string(json, "accord", accord ? of->title : NULL);
    pm_json_put_decimal(json, "parts", of->line->parts, 6);
    pm_json_put_decimal(json, "strength_percent", of->line->strength, 7);
    pm_json_put_string(json, "solvent", of->solvent);
    pm_json_put_decimal(json, "mass_g", line->mass, 6);
    pm_json_put_int(json, "weights", (int64_t)line->weights);
    pm_json_put_decimal(json, "smallest_weight_g", line->smallest, 6);
    pm_json_put_decimal(json, "error_percent", pm_cli_percent(line->error), 7);
    pm_json_put_decimal(json, "uncertainty_share_percent", pm_cli_share(line->share),
                        PM_CLI_SHARE_SCALE);
    pm_json_put_bool(json, "weighable", !line->small);
    put_strength(json, "weighable_at_percent", line->dilute);
    pm_json_put_bool(json, "make_up_first", line->make_up);
    pm_json_close(json, '}');
}

static void budget_as_json(const struct answering *at)
{
    struct pm_json json;
    pm_json_init(&json, &at->cli->out);
    pm_json_open(&json, '{');
    pm_json_put_string(&json, "formula", at->sheet->name);
    if (at->sheet->number > 0)
        pm_json_put_int(&json, "trial", at->sheet->number);
    else
        pm_json_put_null(&json, "trial");
    pm_json_put_decimal(&json, "batch_g", at->budget->terms.batch, 6);
    pm_json_put_string(&json, "balance", at->budget->balance_name);
    pm_json_put_decimal(&json, "readability_g", at->budget->terms.balance.readability, 6);
    pm_json_put_decimal(&json, "tolerance_percent", at->budget->terms.tolerance, 7);
    pm_json_put_decimal(&json, "minimum_weight_g", at->all.minimum, 6);
    pm_json_key(&json, "lines");
    pm_json_open(&json, '[');
    for (size_t i = 0; i < at->sheet->trial.count; i++)
        put_line(at, &json, i);
    pm_json_close(&json, ']');
    pm_json_put_int(&json, "unweighable", (int64_t)at->all.small);
    if (at->all.least > 0)
        pm_json_put_decimal(&json, "least_batch_g", at->all.least, 6);
    else
        pm_json_put_null(&json, "least_batch_g");
    pm_json_put_int(&json, "weights", (int64_t)at->all.weights);
    pm_json_put_decimal(&json, "uncertainty_g", llround(at->all.combined), 6);
    pm_json_close(&json, '}');
}

static const struct pm_listing_column columns[] = {
    {.key = "line", .title = "#", .kind = PM_LISTING_NUMBER},
    {.key = "material", .title = "line", .kind = PM_LISTING_TEXT},
    {.key = "parts", .kind = PM_LISTING_NUMBER, .scale = 6},
    {.key = "strength_percent", .title = "%", .kind = PM_LISTING_NUMBER, .scale = 7},
    {.key = "weights", .title = "weights", .kind = PM_LISTING_NUMBER},
    {.key = "mass_g",
     .title = "weighs g",
     .kind = PM_LISTING_NUMBER,
     .scale = 6,
     .least = 3,
     .adds_up = true},
    {.key = "smallest_weight_g", .kind = PM_LISTING_NUMBER, .scale = 6},
    {.key = "error_percent", .title = "error %", .kind = PM_LISTING_NUMBER, .scale = 7, .least = 1},
    {.key = "uncertainty_share_percent",
     .title = "share %",
     .kind = PM_LISTING_NUMBER,
     .scale = PM_CLI_SHARE_SCALE,
     .least = 1},
    {.key = "weighable", .kind = PM_LISTING_BOOL},
    {.key = "sign", .title = "", .kind = PM_LISTING_TEXT},
};

static void add_sign(struct pm_listing *table, const struct pm_budget_line *line, bool resting)
{
    struct pm_text text = PM_TEXT_EMPTY;
    char strength[PM_AMOUNT_TEXT];
    if (!line->small) {
        pm_listing_text(table, resting ? pm_stance_word(PM_RESTING) : NULL);
        return;
    }
    pm_text_add(&text, PM_TOO_LITTLE " " PM_TOO_LITTLE_WORDS);
    if (line->make_up)
        pm_text_add(&text, ", made up first it can be");
    else if (line->dilute > 0)
        pm_text_addf(&text, ", at %s it can be",
                     pm_strength_format(line->dilute, pm_decimal_sign(), strength));
    pm_listing_made(table, &text);
    pm_text_release(&text);
}

static void say_budget(const struct answering *at)
{
    const char sign = pm_decimal_sign();
    char batch[PM_AMOUNT_TEXT], error[PM_AMOUNT_TEXT], minimum[PM_AMOUNT_TEXT];
    char tolerance[PM_AMOUNT_TEXT], least[PM_AMOUNT_TEXT];
    pm_cli_say(at->cli, "%s in %zu weights, within %s (k = 2).",
               pm_mass_exact(at->budget->terms.batch, sign, batch), at->all.weights,
               pm_mass_format((pm_mass)ceil(2 * at->all.combined), 2, sign, error));
    if (at->all.small > 0)
        pm_cli_say(at->cli, "%zu of %zu lines cannot be weighed within %s: from %s on it can.",
                   at->all.small, at->sheet->trial.count,
                   pm_strength_format(at->budget->terms.tolerance, sign, tolerance),
                   pm_mass_format(at->all.minimum, 2, sign, minimum));
    if (at->all.least > at->budget->terms.batch)
        pm_cli_say(at->cli, "As it is written, %s is the least batch that can be weighed.",
                   pm_mass_exact(at->all.least, sign, least));
    if (at->budget->balance_name == NULL)
        pm_cli_say(at->cli, "No balance is kept, so a display of 0.01 g was reckoned with: "
                            "balance add NAME READABILITY keeps one.");
}

static enum pm_status budget_as_table(const struct answering *at, struct pm_error *err)
{
    struct pm_listing table;
    pm_listing_init(&table, PM_LISTING_COLUMNS(columns));
    table.sums = "all";
    for (size_t i = 0; i < at->sheet->trial.count; i++) {
        const struct pm_budget_line *line = &at->lines[i];
        const struct pm_sheet_line *of = &at->sheet->lines[i];
        pm_listing_number(&table, (int64_t)i + 1);
        pm_listing_text(&table, of->title);
        pm_listing_number(&table, of->line->parts);
        pm_listing_number(&table, of->line->strength);
        pm_listing_number(&table, (int64_t)line->weights);
        pm_listing_number(&table, line->mass);
        pm_listing_number(&table, line->smallest);
        pm_listing_number(&table, pm_cli_percent(line->error));
        pm_listing_number(&table, pm_cli_share(line->share));
        pm_listing_bool(&table, !line->small);
        add_sign(&table, line, of->line->stance == PM_RESTING);
    }
    if (at->cli->form == PM_CLI_TEXT)
        say_budget(at);
    return pm_listing_answer(&table, at->cli, "lines", "Nothing is weighed.", err);
}

enum pm_status pm_cli_weigh_budget(struct pm_cli *cli, const struct pm_sheet *sheet, pm_mass mass,
                                   const struct pm_weigh_how *how, struct pm_error *err)
{
    struct pm_sheet_budget budget;
    struct answering at = {.cli = cli, .sheet = sheet, .budget = &budget};
    if (mass <= 0)
        return pm_fail(err, PM_REFUSED, "A batch has more than no mass.");
    if (sheet->total == 0)
        return pm_fail(err, PM_REFUSED, "There is nothing to weigh: no line has parts.");
    enum pm_status status = pm_sheet_budget(cli->studio, sheet, mass, how, &budget, err);
    if (status != PM_OK)
        return status;
    status = pm_sheet_budget_lines(&budget, sheet, &at.lines, &at.all, err);
    if (status == PM_OK && cli->form == PM_CLI_JSON)
        budget_as_json(&at);
    else if (status == PM_OK)
        status = budget_as_table(&at, err);
    pm_sheet_budget_release(&budget);
    return status;
}
