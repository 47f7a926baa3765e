/* SPDX-License-Identifier: MIT */
/* The command `show`. */
#include "bench.h"
#include "sheet.h"

#include "permille/studio/trials.h"

/* ---- the command ---- */

/* The sheet that is asked for: a draft, a kept trial, or a look back. */
static enum pm_status open_asked(struct pm_cli *cli, struct pm_sheet **out, struct pm_error *err)
{
    const char *revision = pm_cli_value(cli, "revision");
    struct pm_cli_named named;
    int64_t id;

    if (revision == NULL)
        return pm_cli_sheet(cli, 0, out, err);
    enum pm_status status = pm_cli_name(cli, 0, &named, err);
    if (status == PM_OK && named.number > 0)
        return pm_cli_usage(cli, err, "Revisions are counted through the formula: F, not F/%lld.",
                            (long long)named.number);
    if (status == PM_OK)
        status = pm_cli_find_revision(cli, named.formula, revision, &id, err);
    if (status == PM_OK)
        status = pm_history_sheet(cli->studio, id, out, err);
    return status;
}

static enum pm_status run_show(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_sheet *sheet;

    enum pm_status status = open_asked(cli, &sheet, err);
    if (status != PM_OK)
        return status;
    status = pm_cli_has(cli, "flat") ? pm_cli_show_flat(cli, sheet, err)
                                     : pm_cli_show_sheet(cli, sheet, err);
    pm_sheet_free(sheet);
    return status;
}

static const struct pm_cli_option show_options[] = {
    {.name = "flat", .help = "every accord and dilution resolved, each material once"},
    {.name = "revision",
     .value = "N",
     .help = "the formula as it was right after revision N of its history"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND("show", "F[/N]", 1, 1, PM_CLI_TABLE, "the lines of a draft or a kept trial",
                   .options = show_options, .run = run_show),
};

const struct pm_cli_topic pm_cli_topic_show = {
    .title = "Reading",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
