/* SPDX-License-Identifier: MIT */
/* Commands of the scale: balances. */
#include "listing.h"
#include "scale.h"

#include "permille/base/amount.h"

static const struct pm_listing_column balance_columns[] = {
    {.of = &pm_balance_entity, .which = PM_BALANCE_NAME, .title = "balance"},
    {.of = &pm_balance_entity, .which = PM_BALANCE_READABILITY, .title = "reads g"},
    {.of = &pm_balance_entity, .which = PM_BALANCE_REPEATABILITY, .title = "repeats g"},
    {.of = &pm_balance_entity, .which = PM_BALANCE_LEAST, .title = "least g"},
    {.of = &pm_balance_entity, .which = PM_BALANCE_CAPACITY, .title = "capacity g"},
    {.key = "minimum_g",
     .title = "within 0.1 % g",
     .kind = PM_LISTING_NUMBER,
     .scale = 6,
     .least = 2},
    {.key = "in_use", .title = "in use", .kind = PM_LISTING_BOOL},
};

static enum pm_status run_balance_list(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_balance_rows rows;
    struct pm_listing table;
    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_balances(cli->studio, &rows, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(balance_columns));
    for (size_t i = 0; i < rows.count; i++) {
        const struct pm_balance_row *row = &rows.items[i];
        pm_listing_attributes(&table, row);
        pm_listing_number(&table, pm_balance_minimum(&row->is, PM_NEAT / 1000));
        pm_listing_bool(&table, row->in_use);
    }
    pm_list_release(&rows);
    return pm_listing_answer(&table, cli, "balances",
                             "No balance is kept; a display of 0.01 g is reckoned with.", err);
}

static enum pm_status run_balance_add(struct pm_cli *cli, struct pm_error *err)
{
    const char *values[PM_BALANCE_ATTRIBUTES];
    int64_t id;
    pm_cli_entity_values(cli, values);
    values[PM_BALANCE_NAME] = cli->operands[0];
    values[PM_BALANCE_READABILITY] = cli->operands[1];
    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_balance_add(cli->studio, values, &id, err);
    if (status == PM_OK)
        pm_cli_say(cli, "Balance \"%s\" is kept.", cli->operands[0]);
    return status;
}

static enum pm_status find_balance(struct pm_cli *cli, int64_t *id, struct pm_error *err)
{
    enum pm_status status = pm_cli_open(cli, false, err);
    return status == PM_OK ? pm_balance_find(cli->studio, cli->operands[0], id, err) : status;
}

static enum pm_status run_balance_edit(struct pm_cli *cli, struct pm_error *err)
{
    const char *values[PM_BALANCE_ATTRIBUTES];
    int64_t id;
    pm_cli_entity_values(cli, values);
    enum pm_status status = find_balance(cli, &id, err);
    if (status == PM_OK)
        status = pm_balance_edit(cli->studio, id, values, err);
    if (status == PM_OK)
        pm_cli_say(cli, "Balance \"%s\" is changed.", cli->operands[0]);
    return status;
}

static enum pm_status run_balance_use(struct pm_cli *cli, struct pm_error *err)
{
    int64_t id;
    enum pm_status status = find_balance(cli, &id, err);
    if (status == PM_OK)
        status = pm_balance_use(cli->studio, id, err);
    if (status == PM_OK)
        pm_cli_say(cli, "Balance \"%s\" is in use.", cli->operands[0]);
    return status;
}

static enum pm_status run_balance_remove(struct pm_cli *cli, struct pm_error *err)
{
    int64_t id;
    enum pm_status status = find_balance(cli, &id, err);
    if (status == PM_OK)
        status = pm_balance_remove(cli->studio, id, err);
    if (status == PM_OK)
        pm_cli_say(cli, "Balance \"%s\" is removed; batches weighed with it keep what it was.",
                   cli->operands[0]);
    return status;
}

/* ---- the table ---- */

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND("balance add", "NAME READABILITY", 2, 2, PM_CLI_TEXT, "keep a balance",
                   .run = run_balance_add, .entity = &pm_balance_entity,
                   .without = "name|readability", .changes = true),
    PM_CLI_COMMAND("balance edit", "NAME", 1, 1, PM_CLI_TEXT, "change what is known of a balance",
                   .run = run_balance_edit, .entity = &pm_balance_entity, .changes = true),
    PM_CLI_COMMAND("balance use", "NAME", 1, 1, PM_CLI_TEXT, "weigh with this one from now on",
                   .run = run_balance_use, .changes = true),
    PM_CLI_COMMAND("balance remove", "NAME", 1, 1, PM_CLI_TEXT, "forget a balance",
                   .run = run_balance_remove, .changes = true),
    PM_CLI_COMMAND("balance list", "", 0, 0, PM_CLI_TABLE, "the balances", .run = run_balance_list),
};

const struct pm_cli_topic pm_cli_topic_balance = {
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
