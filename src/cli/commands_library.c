/* SPDX-License-Identifier: MIT */
/* Commands on the library's file: copies, checks, and saving what can be saved. */
#include "cli.h"

#include "permille/base/json.h"
#include "permille/studio/studio.h"

static enum pm_status run_backup(struct pm_cli *cli, struct pm_error *err)
{
    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_studio_backup(cli->studio, cli->operands[0], pm_cli_has(cli, "replace"), err);
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
    pm_json_key(&findings->json, "findings");
    pm_json_open(&findings->json, '[');
}

static void end(struct findings *findings)
{
    if (findings->cli->form != PM_CLI_JSON)
        return;
    pm_json_close(&findings->json, ']');
    pm_json_put_bool(&findings->json, "sound", findings->count == 0);
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
    end(&findings);
    if (status != PM_OK && (status != PM_DAMAGED || findings.count == 0))
        return status;
    if (findings.count > 0) {
        cli->outcome = PM_CLI_REFUSED;
        pm_cli_say(cli, "The library is damaged.");
    } else {
        pm_cli_say(cli, "The library is sound.");
    }
    return PM_OK;
}

/* ---- the table ---- */

static const struct pm_cli_option backup_options[] = {
    {.name = "replace", .help = "overwrite FILE when it is there already"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    {
        .name = "backup",
        .operands = "FILE",
        .least = 1,
        .most = 1,
        .help = "copy the library to FILE, checked",
        .options = backup_options,
        .run = run_backup,
    },
    {
        .name = "verify",
        .operands = "",
        .least = 0,
        .most = 0,
        .forms = PM_CLI_JSON,
        .help = "check the whole library; exit status 1 when something is wrong",
        .run = run_verify,
    },
};

const struct pm_cli_topic pm_cli_topic_library = {
    .title = "The library's file",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
