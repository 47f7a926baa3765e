/* SPDX-License-Identifier: MIT */
/* Commands on settings: what is chosen once. */
#include "cli.h"
#include "listing.h"

#include "permille/studio/settings.h"
#include "permille/studio/studio.h"

#include <string.h>

static const struct pm_listing_column columns[] = {
    {.key = "setting", .title = "setting", .kind = PM_LISTING_TEXT},
    {.key = "value", .title = "value", .kind = PM_LISTING_TEXT},
    {.key = "default", .title = "default", .kind = PM_LISTING_TEXT},
    {.key = "set", .kind = PM_LISTING_BOOL},
    {.key = "kept", .title = "kept in", .kind = PM_LISTING_TEXT},
    {.key = "allowed", .kind = PM_LISTING_TEXT},
    {.key = "help", .title = "what it does", .kind = PM_LISTING_TEXT},
    {.key = "fault", .kind = PM_LISTING_TEXT},
};
#define COLUMNS (sizeof columns / sizeof columns[0])

static const char *or_null(const char *text)
{
    return text[0] != '\0' ? text : NULL;
}

static void add_row(struct pm_listing *table, const struct pm_setting_row *row)
{
    pm_listing_text(table, row->is->key);
    pm_listing_text(table, or_null(row->value));
    pm_listing_text(table, or_null(row->is->usual));
    pm_listing_bool(table, row->set);
    pm_listing_text(table, pm_setting_place_word(row->is->place));
    pm_listing_text(table, row->is->allowed);
    pm_listing_text(table, row->is->help);
    pm_listing_text(table, row->fault);
}

/* The machine's settings are there before any library is. */
static enum pm_status open_if_there(struct pm_cli *cli, struct pm_error *err)
{
    const enum pm_status status = pm_cli_open(cli, false, err);
    if (status != PM_MISSING)
        return status;
    pm_error_clear(err);
    return PM_OK;
}

static enum pm_status read_rows(struct pm_cli *cli, struct pm_setting_rows *rows,
                                struct pm_error *err)
{
    const enum pm_status status = open_if_there(cli, err);
    return status == PM_OK ? pm_settings_list(cli->studio, rows, err) : status;
}

static void tell_fault(void *context, const char *sentence)
{
    pm_cli_say(context, "%s", sentence);
}

/* The lines of the machine's file have their numbers told. */
static void tell_faults(struct pm_cli *cli, const struct pm_setting_rows *rows)
{
    struct pm_settings values;
    for (size_t i = 0; i < rows->count; i++)
        if (rows->items[i].fault != NULL && rows->items[i].is->place == PM_SETTING_WORK)
            pm_cli_say(cli, "What is kept as %s does not count: %s", rows->items[i].is->key,
                       rows->items[i].fault);
    pm_machine_settings(&values, NULL, tell_fault, cli);
}

static enum pm_status run_list(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_setting_rows rows;
    struct pm_listing table;
    enum pm_status status = read_rows(cli, &rows, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, columns, COLUMNS);
    for (size_t i = 0; i < rows.count; i++)
        add_row(&table, &rows.items[i]);
    status = pm_listing_answer(&table, cli, "settings", "", err);
    if (status == PM_OK)
        tell_faults(cli, &rows);
    pm_list_release(&rows);
    return status;
}

static enum pm_status find(struct pm_cli *cli, const struct pm_setting **out, struct pm_error *err)
{
    const char *key = cli->operands[0];
    *out = pm_setting_find(key);
    if (*out != NULL)
        return PM_OK;
    const struct pm_setting *near = pm_setting_near(key);
    return near != NULL ? pm_cli_usage(cli, err, "There is no setting '%.60s'; did you mean '%s'?",
                                       key, near->key)
                        : pm_cli_usage(cli, err,
                                       "There is no setting '%.60s'; 'permille settings list' "
                                       "lists them.",
                                       key);
}

static void show_json(struct pm_text *out, const struct pm_setting_row *row)
{
    struct pm_json json;
    pm_json_init(&json, out);
    pm_json_open(&json, '{');
    pm_json_put_string(&json, "setting", row->is->key);
    pm_json_put_string(&json, "value", or_null(row->value));
    pm_json_put_string(&json, "default", or_null(row->is->usual));
    pm_json_put_bool(&json, "set", row->set);
    pm_json_put_string(&json, "kept", pm_setting_place_word(row->is->place));
    pm_json_put_string(&json, "allowed", row->is->allowed);
    pm_json_put_string(&json, "help", row->is->help);
    pm_json_put_string(&json, "fault", row->fault);
    pm_json_close(&json, '}');
}

static enum pm_status run_show(struct pm_cli *cli, struct pm_error *err)
{
    const struct pm_setting *setting;
    struct pm_setting_rows rows;
    enum pm_status status = find(cli, &setting, err);
    if (status == PM_OK)
        status = read_rows(cli, &rows, err);
    if (status != PM_OK)
        return status;
    const struct pm_setting_row *row = &rows.items[setting - pm_setting_table];
    if (cli->form == PM_CLI_JSON) {
        show_json(&cli->out, row);
    } else {
        pm_cli_add_shown(&cli->out, row->value);
        pm_text_add_char(&cli->out, '\n');
        pm_cli_say(cli, "%s Allowed: %s. Default: %s. Kept %s.", setting->help, setting->allowed,
                   setting->usual[0] != '\0' ? setting->usual : "none",
                   pm_setting_kept(setting->place));
        if (row->fault != NULL)
            pm_cli_say(cli, "What is kept does not count: %s", row->fault);
    }
    pm_list_release(&rows);
    return PM_OK;
}

static enum pm_status put(struct pm_cli *cli, const struct pm_setting *setting, const char *text,
                          bool create, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    if (setting->place == PM_SETTING_WORK)
        status = create ? pm_cli_open(cli, true, err) : open_if_there(cli, err);
    if (status == PM_OK && (cli->studio != NULL || setting->place == PM_SETTING_MACHINE))
        status = pm_settings_set(cli->studio, setting, text, err);
    cli->done = cli->done || (status == PM_OK && setting->place == PM_SETTING_MACHINE);
    return status;
}

static enum pm_status run_set(struct pm_cli *cli, struct pm_error *err)
{
    const struct pm_setting *setting;
    struct pm_text clean = PM_TEXT_EMPTY;
    enum pm_status status = find(cli, &setting, err);
    /* Before opening: a refused setting leaves no library behind. */
    if (status == PM_OK)
        status = pm_setting_clean(setting, cli->operands[1], &clean, err);
    if (status == PM_OK)
        status = put(cli, setting, cli->operands[1], true, err);
    if (status == PM_OK)
        pm_cli_say(cli, "%s: %s, kept %s.", setting->title, pm_text_get(&clean),
                   pm_setting_kept(setting->place));
    pm_text_release(&clean);
    return status;
}

static enum pm_status run_unset(struct pm_cli *cli, struct pm_error *err)
{
    const struct pm_setting *setting;
    enum pm_status status = find(cli, &setting, err);
    if (status == PM_OK)
        status = put(cli, setting, NULL, false, err);
    if (status == PM_OK)
        pm_cli_say(cli, "%s: %s, as usual.", setting->title,
                   setting->usual[0] != '\0' ? setting->usual : "none");
    return status;
}

/* ---- the table ---- */

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND("settings list", "", 0, 0, PM_CLI_TABLE, "all settings with their values",
                   .more = "Settings of the work are kept in the library, those of the machine in "
                           "permille/settings of the configuration folder.",
                   .run = run_list),
    PM_CLI_COMMAND("settings show", "SETTING", 1, 1, PM_CLI_JSON,
                   "the value of one, and what it does", .run = run_show),
    PM_CLI_COMMAND("settings set", "SETTING VALUE", 2, 2, PM_CLI_TEXT,
                   "choose a value; it counts from then on", .changes = true, .run = run_set),
    PM_CLI_COMMAND("settings unset", "SETTING", 1, 1, PM_CLI_TEXT, "go back to the default",
                   .changes = true, .run = run_unset),
};

const struct pm_cli_topic pm_cli_topic_settings = {
    .title = "Settings",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
