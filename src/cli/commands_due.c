/* SPDX-License-Identifier: MIT */
/* What is to be done now: smells, and fillings to be filtered or that have matured. */
#include "cli.h"
#include "listing.h"
#include "shelf.h"

#include "permille/studio/blotter.h"
#include "permille/studio/scale.h"

static const struct pm_listing_column columns[] = {
    {.key = "kind", .title = "what", .kind = PM_LISTING_TEXT},
    {.key = "of", .title = "of", .kind = PM_LISTING_TEXT},
    {.key = "number", .title = "#", .kind = PM_LISTING_NUMBER},
    {.key = "due_at", .title = "since", .kind = PM_LISTING_TIME},
    {.key = "day", .kind = PM_LISTING_TEXT},
    {.key = "command", .title = "done with", .kind = PM_LISTING_TEXT},
};

static enum pm_status add_smells(struct pm_cli *cli, struct pm_listing *table, size_t *count,
                                 struct pm_error *err)
{
    struct pm_session_entries list;
    char command[60];
    enum pm_status status = pm_session_list(cli->studio, false, &list, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < list.count; i++) {
        const struct pm_session_entry *entry = &list.items[i];
        if (!entry->due.now)
            continue;
        pm_listing_text(table, "smell");
        pm_listing_text(table, entry->title);
        pm_listing_number(table, entry->row.id);
        pm_listing_time(table, entry->row.applied_at + entry->due_since);
        pm_listing_text(table, NULL);
        pm_print(command, sizeof command, "smell --of %lld", (long long)entry->row.id);
        pm_listing_text(table, command);
    }
    *count += list.due;
    pm_list_release(&list);
    return PM_OK;
}

static enum pm_status add_fillings(struct pm_cli *cli, struct pm_listing *table, size_t *count,
                                   struct pm_error *err)
{
    struct pm_reminders list;
    char command[60], day[PM_TIME_TEXT];
    enum pm_status status = pm_reminders(cli->studio, true, &list, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < list.count; i++) {
        const struct pm_reminder *item = &list.items[i];
        pm_listing_text(table, item->filter ? "filter" : "matured");
        pm_listing_text(table, item->title);
        pm_listing_number(table, item->filling);
        pm_listing_time(table, pm_day_begin(item->day));
        pm_listing_text(table, pm_day_format(item->day, day));
        pm_print(command, sizeof command, "filling done %lld %s", (long long)item->filling,
                 item->filter ? "filtered" : "matured");
        pm_listing_text(table, command);
    }
    *count += list.due;
    pm_list_release(&list);
    return PM_OK;
}

static enum pm_status run_due(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_listing table;
    size_t count = 0;
    enum pm_status status = pm_cli_open(cli, false, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(columns));
    status = add_smells(cli, &table, &count, err);
    if (status == PM_OK)
        status = add_fillings(cli, &table, &count, err);
    if (status == PM_OK)
        status = pm_listing_answer(&table, cli, "due", "Nothing is due.", err);
    if (status == PM_OK && count == 0)
        cli->outcome = PM_CLI_REFUSED;
    return status;
}

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND("due", "", 0, 0, PM_CLI_TABLE,
                   "what is to be smelled, filtered or has matured; exit status 1 when nothing",
                   .run = run_due),
};

const struct pm_cli_topic pm_cli_topic_due = {
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
