/* SPDX-License-Identifier: MIT */
/* Commands on formulas as a whole. */
#include "bench.h"
#include "listing.h"

#include "permille/studio/settings.h"
#include "permille/studio/trials.h"

#include <string.h>

/* ---- making and naming ---- */

static enum pm_status run_new(struct pm_cli *cli, struct pm_error *err)
{
    const char *base_text = pm_cli_value(cli, "base"), *mode_text = pm_cli_value(cli, "mode");
    const bool accord = pm_cli_has(cli, "accord");
    struct pm_settings usual;
    int64_t id = 0;
    enum pm_status status = PM_OK;

    pm_settings_usual(&usual);
    pm_parts base = usual.base;
    if (base_text != NULL)
        status = pm_decimal_read(base_text, 6, "The base", &base, err);
    /* Before opening: a refused first formula leaves no library behind. */
    if (status == PM_OK)
        status = pm_formula_check(cli->operands[0], base, err);
    if (status == PM_OK)
        status = pm_cli_open(cli, true, err);
    if (status == PM_OK)
        status = pm_settings_now(cli->studio, &usual, err);
    if (status != PM_OK)
        return status;
    if (mode_text != NULL)
        pm_mode_from_word(mode_text, &usual.mode);
    if (base_text == NULL)
        base = usual.base;
    status = pm_formula_new(cli->studio, cli->operands[0], accord, base, usual.mode, &id, err);
    if (status == PM_OK)
        status = pm_cli_tell_formula(cli, id, accord ? "New accord " : "New formula ", "", err);
    return status;
}

static enum pm_status run_copy(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_cli_named named;
    int64_t id = 0;

    enum pm_status status = pm_cli_name(cli, 0, &named, err);
    if (status == PM_OK)
        status = pm_formula_copy(cli->studio, named.trial, cli->operands[1], &id, err);
    if (status == PM_OK)
        status = pm_cli_tell_formula(cli, id, "New copy ", "", err);
    return status;
}

/* What operand 0 names must be a formula, not one of its trials. */
static enum pm_status name_formula(struct pm_cli *cli, int64_t *formula, struct pm_error *err)
{
    struct pm_cli_named named;
    const enum pm_status status = pm_cli_name(cli, 0, &named, err);
    if (status != PM_OK)
        return status;
    if (named.number > 0)
        return pm_cli_usage(cli, err, "'%s' is for the whole formula: F, not F/%lld.",
                            cli->command->name, (long long)named.number);
    *formula = named.formula;
    return PM_OK;
}

static enum pm_status run_rename(struct pm_cli *cli, struct pm_error *err)
{
    int64_t id = 0;

    enum pm_status status = name_formula(cli, &id, err);
    if (status == PM_OK)
        status = pm_formula_rename(cli->studio, id, cli->operands[1], err);
    if (status == PM_OK)
        status = pm_cli_tell_formula(cli, id, "The new name is ", "", err);
    return status;
}

static enum pm_status run_accord(struct pm_cli *cli, struct pm_error *err)
{
    const bool on = strcmp(cli->operands[1], "on") == 0;
    int64_t id = 0;

    if (!on && strcmp(cli->operands[1], "off") != 0)
        return pm_cli_usage(cli, err, "'accord' is on or off, not '%s'.", cli->operands[1]);
    enum pm_status status = name_formula(cli, &id, err);
    if (status == PM_OK)
        status = pm_formula_mark_accord(cli->studio, id, on, err);
    if (status == PM_OK)
        status =
            pm_cli_tell_formula(cli, id, "", on ? " is an accord now" : " is no accord now", err);
    return status;
}

/* A formula, or one of its kept trials. */
static enum pm_status run_aside(struct pm_cli *cli, struct pm_error *err)
{
    const bool aside = *(const bool *)cli->command->with;
    char after[PM_AMOUNT_TEXT] = "";
    struct pm_cli_named named;

    enum pm_status status = pm_cli_name(cli, 0, &named, err);
    if (status != PM_OK)
        return status;
    if (named.number > 0)
        snprintf(after, sizeof after, "/%lld", (long long)named.number);
    status = named.number > 0 ? pm_trial_set_aside(cli->studio, named.trial, aside, err)
                              : pm_formula_set_aside(cli->studio, named.formula, aside, err);
    if (status == PM_OK)
        status = pm_cli_tell_formula(cli, named.formula, aside ? "Set aside " : "Brought back ",
                                     after, err);
    return status;
}

/* ---- the list ---- */

static const struct pm_listing_column formula_columns[] = {
    {.key = "formula", .title = "formula", .kind = PM_LISTING_TEXT},
    {.key = "accord", .title = "accord", .kind = PM_LISTING_BOOL},
    {.key = "base_parts", .title = "base", .kind = PM_LISTING_NUMBER, .scale = 6},
    {.key = "total_parts", .title = "total", .kind = PM_LISTING_NUMBER, .scale = 6},
    {.key = "lines", .title = "lines", .kind = PM_LISTING_NUMBER},
    {.key = "kept_trials", .title = "kept", .kind = PM_LISTING_NUMBER},
    {.key = "changed_at", .title = "changed", .kind = PM_LISTING_TIME},
    {.key = "set_aside", .kind = PM_LISTING_BOOL},
    {.title = "", .kind = PM_LISTING_TEXT},
};

static enum pm_status run_formulas(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_formulas list;
    struct pm_listing table;

    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_formulas_list(cli->studio, cli->operand_count > 0 ? cli->operands[0] : NULL,
                                  pm_cli_has(cli, "all"), &list, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(formula_columns));
    for (size_t i = 0; i < list.count; i++) {
        const struct pm_formula *entry = &list.items[i];
        pm_listing_text(&table, entry->name);
        pm_listing_bool(&table, entry->accord);
        pm_listing_number(&table, entry->base);
        pm_listing_number(&table, entry->total);
        pm_listing_number(&table, (int64_t)entry->lines);
        pm_listing_number(&table, entry->kept);
        pm_listing_time(&table, entry->changed_at);
        pm_listing_bool(&table, entry->set_aside);
        pm_listing_text(&table, entry->set_aside ? "set aside" : "");
    }
    pm_list_release(&list);
    return pm_listing_answer(&table, cli, "formulas", "No formulas.", err);
}

/* ---- the table ---- */

static const struct pm_cli_option new_options[] = {
    {.name = "base",
     .value = "N",
     .help = "the total it is written to; without it as the setting base says, 1000"},
    {.name = "accord", .help = "meant to be used inside other formulas"},
    {.name = "mode",
     .value = "MODE",
     .words = "core|share|carrier|open",
     .help = "what gives way; core without it"},
    {.name = NULL},
};

static const struct pm_cli_option list_options[] = {
    {.name = "all", .help = "also what was set aside"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND("new", "F", 1, 1, PM_CLI_JSON, "a new formula with an empty draft",
                   .options = new_options, .run = run_new, .changes = true),
    PM_CLI_COMMAND("formulas", "[TEXT]", 0, 1, PM_CLI_TABLE,
                   "list the formulas, the last changed first", .options = list_options,
                   .run = run_formulas),
    PM_CLI_COMMAND("copy", "F[/N] NAME", 2, 2, PM_CLI_JSON,
                   "a new formula that starts as a draft or a kept trial", .run = run_copy,
                   .changes = true),
    PM_CLI_COMMAND("rename", "F NAME", 2, 2, PM_CLI_JSON, "give a formula another name",
                   .run = run_rename, .changes = true),
    PM_CLI_COMMAND("accord", "F on|off", 2, 2, PM_CLI_JSON,
                   "say whether a formula is meant to be used inside others", .run = run_accord,
                   .changes = true),
    PM_CLI_COMMAND("aside", "F[/N]", 1, 1, PM_CLI_JSON,
                   "take a formula or a kept trial out of the lists; nothing is deleted",
                   .run = run_aside, .with = &pm_cli_yes, .changes = true),
    PM_CLI_COMMAND("back", "F[/N]", 1, 1, PM_CLI_JSON, "bring back what was set aside",
                   .run = run_aside, .with = &pm_cli_no, .changes = true),
};

const struct pm_cli_topic pm_cli_topic_formulas = {
    .title = "Formulas",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
