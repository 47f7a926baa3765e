/* SPDX-License-Identifier: MIT */
/* Commands on what is judged by: sets of rules, limits of one's own, what a formula is for. */
#include "bench.h"
#include "limits.h"
#include "listing.h"
#include "shelf.h"

#include "permille/base/mem.h"
#include "permille/studio/limits.h"

#include <string.h>

static const struct pm_listing_column set_columns[] = {
    {.key = "set", .title = "set", .kind = PM_LISTING_TEXT},
    {.key = "in_use", .title = "in use", .kind = PM_LISTING_BOOL},
    {.key = "figures", .title = "rows", .kind = PM_LISTING_NUMBER},
    {.key = "shipped", .title = "shipped", .kind = PM_LISTING_BOOL},
    {.key = "what", .title = "what it is", .kind = PM_LISTING_TEXT},
};

static enum pm_status run_sets(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_rule_sets sets;
    struct pm_listing table;
    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_limits_sets(cli->studio, &sets, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(set_columns));
    for (size_t i = 0; i < sets.count; i++) {
        pm_listing_text(&table, sets.items[i].name);
        pm_listing_bool(&table, sets.items[i].in_use);
        pm_listing_number(&table, (int64_t)sets.items[i].rules);
        pm_listing_bool(&table, sets.items[i].shipped);
        pm_listing_text(&table, sets.items[i].what);
    }
    pm_list_release(&sets);
    return pm_listing_answer(&table, cli, "sets", "There is none.", err);
}

static enum pm_status run_use(struct pm_cli *cli, struct pm_error *err)
{
    const bool use = *(const bool *)cli->command->with;
    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_limits_use_set(cli->studio, cli->operands[0], use, err);
    if (status == PM_OK)
        pm_cli_say(cli, "%s is %s.", cli->operands[0], use ? "in use" : "left out");
    return status;
}

static enum pm_status run_add(struct pm_cli *cli, struct pm_error *err)
{
    const struct pm_own_limit limit = {
        .name = cli->operands[0],
        .percent = cli->operands[1],
        .scope = pm_cli_value(cli, "category") != NULL ? pm_cli_value(cli, "category") : "4",
        .source = pm_cli_value(cli, "source"),
        .dated = pm_cli_value(cli, "dated"),
        .note = pm_cli_value(cli, "note"),
        .cas = pm_cli_value(cli, "cas"),
        .replaces = pm_cli_value(cli, "instead-of"),
    };
    int64_t id = 0;
    if (limit.source == NULL)
        return pm_cli_usage(cli, err, "A limit needs its source: say --source TEXT.");
    enum pm_status status = pm_cli_open(cli, true, err);
    if (status == PM_OK)
        status = pm_limits_add_own(cli->studio, &limit, &id, err);
    if (status == PM_OK)
        pm_cli_say(cli, "Noted as your limit number %lld.", (long long)id);
    return status;
}

static enum pm_status run_remove(struct pm_cli *cli, struct pm_error *err)
{
    int64_t id;
    enum pm_status status = pm_decimal_read(cli->operands[0], 0, "The limit's number", &id, err);
    if (status == PM_OK)
        status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_limits_remove_own(cli->studio, id, err);
    if (status == PM_OK)
        pm_cli_say(cli, "Your limit number %lld is gone.", (long long)id);
    return status;
}

static enum pm_status run_load(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    size_t count = 0;
    enum pm_status status = pm_cli_read_file(cli->operands[0], &text, err);
    if (status == PM_OK)
        status = pm_cli_open(cli, true, err);
    if (status == PM_OK)
        status = pm_limits_import(cli->studio, pm_text_get(&text), text.length,
                                  pm_cli_value(cli, "set"), &count, err);
    pm_text_release(&text);
    if (status == PM_OK)
        pm_cli_say(cli, "%zu figures read.", count);
    return status;
}

static const struct pm_listing_column own_columns[] = {
    {.key = "number", .title = "no.", .kind = PM_LISTING_NUMBER},
    {.key = "set", .title = "set", .kind = PM_LISTING_TEXT},
    {.key = "name", .title = "substance", .kind = PM_LISTING_TEXT},
    {.key = "scope", .title = "for", .kind = PM_LISTING_TEXT},
    {.key = "percent", .title = "limit %", .kind = PM_LISTING_NUMBER, .scale = PM_CLI_LIMIT_SCALE},
    {.key = "no_limit", .title = "no limit", .kind = PM_LISTING_BOOL},
    {.key = "source", .title = "source", .kind = PM_LISTING_TEXT},
    {.key = "dated", .title = "dated", .kind = PM_LISTING_TEXT},
};

static enum pm_status run_list(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_own_rows rows;
    struct pm_listing table;
    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_limits_own(cli->studio, &rows, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(own_columns));
    for (size_t i = 0; i < rows.count; i++) {
        const struct pm_own_row *row = &rows.items[i];
        pm_listing_number(&table, row->id);
        pm_listing_text(&table, row->set);
        pm_listing_text(&table, row->name);
        pm_listing_text(&table, row->scope);
        pm_listing_number_if(&table, row->percent >= 0, row->percent);
        pm_listing_bool(&table, row->percent == PM_NO_LIMIT);
        pm_listing_text(&table, row->source);
        pm_listing_text(&table, row->dated);
    }
    pm_list_release(&rows);
    return pm_listing_answer(&table, cli, "limits", "There is none of your own.", err);
}

/* ---- what it is judged for, what a label says ---- */

static enum pm_status run_for(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_cli_named named;
    struct pm_sheet *sheet;
    struct pm_limits_wish wish;
    enum pm_status status = pm_cli_draft(cli, 0, &named, &sheet, err);
    if (status != PM_OK)
        return status;
    status = pm_cli_limits_wish(cli, sheet, &wish, err);
    if (status == PM_OK)
        status = pm_limits_set_wish(cli->studio, sheet->formula, &wish, err);
    if (status == PM_OK)
        pm_cli_say(cli, "%s is judged for category %s, %s.", sheet->name, wish.category,
                   pm_use_word(wish.use));
    pm_sheet_free(sheet);
    return status;
}

static enum pm_status run_field(struct pm_cli *cli, struct pm_error *err)
{
    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_label_set_field(cli->studio, cli->operands[0],
                                    cli->operand_count > 1 ? cli->operands[1] : "", err);
    if (status == PM_OK)
        pm_cli_say(cli, "%s on labels: %s.", cli->operands[0],
                   cli->operand_count > 1 ? cli->operands[1] : "nothing");
    return status;
}

/* ---- the table ---- */

static const struct pm_cli_option wish_options[] = {PM_CLI_WISH_OPTIONS, {.name = NULL}};
static const struct pm_cli_option add_options[] = {
    {.name = "category", .value = "C", .help = "product category, or leave-on, rinse-off, all"},
    {.name = "source", .value = "TEXT", .help = "whose paper it is from"},
    {.name = "dated", .value = "TEXT", .help = "its date or edition"},
    {.name = "note", .value = "TEXT", .help = "a remark"},
    {.name = "cas", .value = "N", .help = "its CAS number"},
    {.name = "instead-of", .value = "SET", .help = "the set in which it counts instead"},
    {.name = NULL},
};
static const struct pm_cli_option load_options[] = {
    {.name = "set", .value = "NAME", .help = "a whole set of that name, not limits of your own"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND("limit label", "NAME [TEXT]", 1, 2, PM_CLI_TEXT,
                   "a line of your own on every label; without TEXT take it away", .run = run_field,
                   .changes = true),
    PM_CLI_COMMAND("limit for", "F", 1, 1, PM_CLI_TEXT,
                   "remember what the formula is judged for, on the bench too",
                   .options = wish_options, .run = run_for, .changes = true),
    PM_CLI_COMMAND("limit add", "SUBSTANCE PERCENT", 2, 2, PM_CLI_TEXT,
                   "a limit of your own; it counts in place of the Standards' figure",
                   .options = add_options, .run = run_add, .changes = true),
    PM_CLI_COMMAND("limit remove", "N", 1, 1, PM_CLI_TEXT, "take away a limit of your own",
                   .run = run_remove, .changes = true),
    PM_CLI_COMMAND("limit list", "", 0, 0, PM_CLI_TABLE,
                   "limits of your own and those of loaded sets", .run = run_list),
    PM_CLI_COMMAND("limit load", "FILE", 1, 1, PM_CLI_TEXT,
                   "limits from a table (CSV: name, scope, percent, source)",
                   .options = load_options, .run = run_load, .changes = true),
    PM_CLI_COMMAND("limit sets", "", 0, 0, PM_CLI_TABLE, "the sets of rules, and which are in use",
                   .run = run_sets),
    PM_CLI_COMMAND("limit use", "SET", 1, 1, PM_CLI_TEXT, "judge by this set, too", .run = run_use,
                   .with = &pm_cli_yes, .changes = true),
    PM_CLI_COMMAND("limit leave", "SET", 1, 1, PM_CLI_TEXT, "judge without this set",
                   .run = run_use, .with = &pm_cli_no, .changes = true),
};

const struct pm_cli_topic pm_cli_topic_rules = {
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
