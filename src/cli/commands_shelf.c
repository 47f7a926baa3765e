/* SPDX-License-Identifier: MIT */
/* Commands on the shelf as a whole: tables in and out, and its history. */
#include "cli.h"
#include "shelf.h"
#include "table.h"

#include "permille/base/amount.h"
#include "permille/base/mem.h"
#include "permille/studio/shelf.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

#define FILE_MOST (256u << 20)

#define COLUMNS(array) array, sizeof array / sizeof array[0]

/* ---- tables in and out ---- */

enum pm_status pm_cli_read_file(const char *path, struct pm_text *out, struct pm_error *err)
{
    char block[65536];
    size_t got;
    FILE *file = strcmp(path, "-") == 0 ? stdin : fopen(path, "rb");
    if (file == NULL)
        return pm_fail(err, PM_IO, "%s cannot be read: %s.", path, strerror(errno));
    while ((got = fread(block, 1, sizeof block, file)) > 0 && out->length < FILE_MOST)
        pm_text_add_bytes(out, block, got);
    const bool broken = ferror(file) != 0, large = out->length >= FILE_MOST;
    if (file != stdin)
        fclose(file);
    if (broken || large)
        return pm_fail(err, PM_IO, "%s cannot be read%s.", path, large ? ": it is too large" : "");
    return pm_text_ok(out) ? PM_OK : pm_fail_memory(err);
}

static enum pm_status run_import(struct pm_cli *cli, struct pm_error *err)
{
    const bool starter = pm_cli_has(cli, "starter");
    struct pm_text text = PM_TEXT_EMPTY;
    struct pm_import_result result = {0, 0, 0};
    struct pm_json json;
    enum pm_status status = PM_OK;

    if (!starter && cli->operand_count != 1)
        return pm_cli_usage(cli, err, "Name one file, or say --starter.");
    if (!starter)
        status = pm_cli_read_file(cli->operands[0], &text, err);
    if (status == PM_OK)
        status = pm_cli_open(cli, true, err);
    if (status == PM_OK)
        status = starter
                     ? pm_shelf_import_named(cli->studio, cli->operands, cli->operand_count,
                                             &result, err)
                     : pm_shelf_import(cli->studio, pm_text_get(&text), text.length, &result, err);
    pm_text_release(&text);
    if (status != PM_OK)
        return status;
    pm_cli_say(cli, "%lld added, %lld brought up to date, %lld as they were.",
               (long long)result.added, (long long)result.updated, (long long)result.same);
    if (cli->form == PM_CLI_JSON) {
        pm_json_init(&json, &cli->out);
        pm_json_open(&json, '{');
        pm_json_put_int(&json, "added", result.added);
        pm_json_put_int(&json, "updated", result.updated);
        pm_json_put_int(&json, "same", result.same);
        pm_json_close(&json, '}');
    }
    return PM_OK;
}

static enum pm_status run_export(struct pm_cli *cli, struct pm_error *err)
{
    const char *what = cli->operand_count > 0 ? cli->operands[0] : "materials";
    const enum pm_status status = pm_cli_open(cli, false, err);
    return status == PM_OK ? pm_shelf_export(cli->studio, what, &cli->out, err) : status;
}

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

static const struct pm_column history_columns[] = {
    {.key = "entry", .title = "entry", .kind = PM_CELL_NUMBER},
    {.key = "at", .title = "at", .kind = PM_CELL_TIME},
    {.key = "gesture", .title = "gesture", .kind = PM_CELL_TEXT},
    {.key = "sentence", .title = "sentence", .kind = PM_CELL_TEXT},
    {.key = "undone", .title = "undone", .kind = PM_CELL_BOOL},
};

static enum pm_status run_history(struct pm_cli *cli, struct pm_error *err)
{
    const char *most = pm_cli_value(cli, "limit");
    struct pm_shelf_events events;
    struct pm_table table;
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
    pm_table_init(&table, COLUMNS(history_columns));
    for (size_t i = 0; i < events.count; i++) {
        pm_table_number(&table, events.items[i].id);
        pm_table_time(&table, events.items[i].at);
        pm_table_text(&table, events.items[i].gesture);
        pm_table_text(&table, events.items[i].sentence);
        pm_table_bool(&table, events.items[i].undone);
    }
    pm_shelf_events_release(&events);
    status = pm_table_answer(&table, cli, "history", "Nothing has happened yet.", err);
    pm_table_release(&table);
    return status;
}

/* ---- the table ---- */

static const struct pm_cli_option import_options[] = {
    {.name = "starter", .help = "the materials that came with the program, or those named"},
    {.name = NULL},
};

static const struct pm_cli_option history_options[] = {
    {.name = "limit", .value = "N", .help = "at most N, newest first"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    {
        .name = "import",
        .operands = "[FILE|NAME...]",
        .least = 0,
        .most = -1,
        .forms = PM_CLI_JSON,
        .help = "read a CSV table of materials, bottles or movements, all of it or nothing",
        .more =
            "Columns of materials: name; kind, cas, family, synonyms (a;b), note, and properties "
            "such as density, rating, low. Of bottles: material; strength, solvent, lot, "
            "supplier, bought, opened, best_before, place, tare, price (19.20 EUR), priced_mass, "
            "received, made_from, note; bottle is the number on its label, which it keeps. Of "
            "movements: bottle, kind, mass; at, into, batch, note. 'permille export' writes all "
            "three so that they come in again as they were. FILE '-' is standard input.",
        .options = import_options,
        .run = run_import,
        .changes = true,
    },
    SHELF_COMMAND("export", "[materials|bottles|movements]", 0, 1, PM_CLI_TEXT,
                  "write a table as CSV; materials without a word", NULL, run_export),
    SHELF_COMMAND("shelf undo", "", 0, 0, PM_CLI_JSON, "take back the last change on the shelf",
                  NULL, run_step, .with = &pm_cli_yes, .changes = true),
    SHELF_COMMAND("shelf redo", "", 0, 0, PM_CLI_JSON, "do again what was taken back", NULL,
                  run_step, .with = &pm_cli_no, .changes = true),
    SHELF_COMMAND("shelf history", "", 0, 0, PM_CLI_TABLE,
                  "what was done to the shelf, newest first", history_options, run_history),
};

const struct pm_cli_topic pm_cli_topic_shelf = {
    .title = "Tables and history of the shelf",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
