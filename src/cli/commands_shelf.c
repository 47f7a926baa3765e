/* SPDX-License-Identifier: MIT */
/* Commands on the history of the shelf. */
#include "cli.h"
#include "listing.h"
#include "shelf.h"

#include "permille/base/amount.h"
#include "permille/base/mem.h"
#include "permille/studio/shelf.h"

/* ---- history ---- */

static enum pm_status run_step(struct pm_cli *cli, struct pm_error *err)
{
    const bool undo = *(const bool *)cli->command->with;
    char *sentence = NULL;
    struct pm_json json;

    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = undo ? pm_shelf_undo(cli->studio, &sentence, err)
                      : pm_shelf_redo(cli->studio, &sentence, err);
    if (status != PM_OK)
        return status;
    pm_cli_say(cli, "%s: %s.", undo ? "Undid" : "Redid", sentence);
    if (cli->form == PM_CLI_JSON) {
        pm_json_init(&json, &cli->out);
        pm_json_open(&json, '{');
        pm_json_put_string(&json, "sentence", sentence);
        pm_json_close(&json, '}');
    }
    pm_free(sentence);
    return PM_OK;
}

static const struct pm_listing_column history_columns[] = {
    {.key = "entry", .title = "entry", .kind = PM_LISTING_NUMBER},
    {.key = "at", .title = "at", .kind = PM_LISTING_TIME},
    {.key = "gesture", .title = "gesture", .kind = PM_LISTING_TEXT},
    {.key = "sentence", .title = "sentence", .kind = PM_LISTING_TEXT},
    {.key = "undone", .title = "undone", .kind = PM_LISTING_BOOL},
};

static enum pm_status run_history(struct pm_cli *cli, struct pm_error *err)
{
    const char *most = pm_cli_value(cli, "limit");
    struct pm_shelf_entries events;
    struct pm_listing table;
    int64_t limit = 1000;
    enum pm_status status = PM_OK;

    if (most != NULL)
        status = pm_decimal_read(most, 0, "The limit", &limit, err);
    if (status == PM_OK)
        status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_shelf_history(cli->studio, (size_t)limit, &events, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(history_columns));
    for (size_t i = 0; i < events.count; i++) {
        pm_listing_number(&table, events.items[i].id);
        pm_listing_time(&table, events.items[i].at);
        pm_listing_text(&table, events.items[i].gesture);
        pm_listing_text(&table, events.items[i].sentence);
        pm_listing_bool(&table, events.items[i].undone);
    }
    pm_list_release(&events);
    return pm_listing_answer(&table, cli, "history", "Nothing has happened yet.", err);
}

/* ---- the table ---- */

static const struct pm_cli_option history_options[] = {
    {.name = "limit", .value = "N", .help = "at most N, newest first"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND("shelf undo", "", 0, 0, PM_CLI_JSON, "take back the last change on the shelf",
                   .run = run_step, .with = &pm_cli_yes, .changes = true),
    PM_CLI_COMMAND("shelf redo", "", 0, 0, PM_CLI_JSON, "do again what was taken back",
                   .run = run_step, .with = &pm_cli_no, .changes = true),
    PM_CLI_COMMAND("shelf history", "", 0, 0, PM_CLI_TABLE,
                   "what was done to the shelf, newest first", .options = history_options,
                   .run = run_history),
};

const struct pm_cli_topic pm_cli_topic_shelf = {
    .title = "History of the shelf",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
