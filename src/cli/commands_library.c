/* SPDX-License-Identifier: MIT */
/* Commands on the library's file: copies, checks, and saving what can be saved. */
#include "cli.h"
#include "path.h"

#include "permille/base/json.h"
#include "permille/base/mem.h"
#include "permille/studio/studio.h"

static enum pm_status run_backup(struct pm_cli *cli, struct pm_error *err)
{
    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_studio_backup(cli->studio, cli->operands[0], pm_cli_has(cli, "replace"), err);
    cli->done = status == PM_OK;
    if (status == PM_OK)
        pm_cli_say(cli, "Copied to %s.", cli->operands[0]);
    return status;
}

/* ---- findings ---- */

struct findings {
    struct pm_cli *cli;
    struct pm_json json;
    size_t count;
};

static void add_finding(void *context, const char *sentence)
{
    struct findings *findings = context;

    findings->count++;
    if (findings->cli->form == PM_CLI_JSON) {
        pm_json_string(&findings->json, sentence);
    } else {
        pm_cli_add_shown(&findings->cli->out, sentence);
        pm_text_add_char(&findings->cli->out, '\n');
    }
}

static void begin(struct findings *findings, struct pm_cli *cli)
{
    *findings = (struct findings){.cli = cli};
    if (cli->form != PM_CLI_JSON)
        return;
    pm_json_init(&findings->json, &cli->out);
    pm_json_open(&findings->json, '{');
    pm_json_put_open(&findings->json, "findings", '[');
}

/* `fine` is the key that says whether there were none. */
static void end(struct findings *findings, const char *fine)
{
    if (findings->cli->form != PM_CLI_JSON)
        return;
    pm_json_close(&findings->json, ']');
    pm_json_put_bool(&findings->json, fine, findings->count == 0);
    pm_json_close(&findings->json, '}');
}

/* The findings are the answer, also when they are bad news. */
static enum pm_status run_verify(struct pm_cli *cli, struct pm_error *err)
{
    struct findings findings;

    enum pm_status status = pm_cli_open(cli, false, err);
    if (status != PM_OK)
        return status;
    begin(&findings, cli);
    status = pm_studio_verify(cli->studio, add_finding, &findings, err);
    end(&findings, "sound");
    if (status != PM_OK && (status != PM_DAMAGED || findings.count == 0))
        return status;
    if (findings.count > 0) {
        cli->outcome = PM_CLI_REFUSED;
        pm_cli_say(cli, "The library is damaged; 'permille salvage' saves what can be read.");
    } else {
        pm_cli_say(cli, "The library is sound.");
    }
    return PM_OK;
}

/* The damaged file is not opened as a library: it may not be one any more. */
static enum pm_status run_salvage(struct pm_cli *cli, struct pm_error *err)
{
    struct findings findings;
    char *damaged;

    enum pm_status status = pm_cli_library_path(pm_cli_value(cli, "db"), &damaged, err);
    if (status != PM_OK)
        return status;
    begin(&findings, cli);
    status = pm_studio_salvage(damaged, cli->operands[0], &cli->waiting.watch, add_finding,
                               &findings, err);
    end(&findings, "complete");
    pm_free(damaged);
    cli->done = status == PM_OK;
    if (status == PM_OK)
        pm_cli_say(cli, "What could be read is in %s.", cli->operands[0]);
    return status;
}

/* ---- the table ---- */

static const struct pm_cli_option backup_options[] = {
    {.name = "replace", .help = "overwrite FILE when it is there already"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND("backup", "FILE", 1, 1, PM_CLI_TEXT, "copy the library to FILE, checked",
                   .alone = true, .options = backup_options, .run = run_backup),
    PM_CLI_COMMAND("verify", "", 0, 0, PM_CLI_JSON,
                   "check the whole library; exit status 1 when something is wrong", .alone = true,
                   .run = run_verify),
    PM_CLI_COMMAND("salvage", "FILE", 1, 1, PM_CLI_JSON,
                   "save what can be read of a damaged library into a new one, FILE", .alone = true,
                   .run = run_salvage),
};

const struct pm_cli_topic pm_cli_topic_library = {
    .title = "The library's file",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
