/* SPDX-License-Identifier: MIT */
/* Opening the library for a command (cli.h). */
#include "cli.h"
#include "path.h"

#include "permille/base/mem.h"
#include "permille/studio/studio.h"

static bool will_change(const struct pm_cli *cli)
{
    const char *with = cli->command->only_with;
    return cli->command->changes && !pm_cli_has(cli, "try") &&
           (with == NULL || pm_cli_has(cli, with));
}

static bool is_dry(const struct pm_cli *cli)
{
    for (size_t i = 0; i < cli->given_count; i++)
        if (cli->given[i].option->dry)
            return true;
    return false;
}

/* Where the library can only be read, the studio says so when something is to be written. */
static enum pm_status begin(struct pm_cli *cli, struct pm_error *err)
{
    if (cli->changing || cli->looking || cli->command->alone)
        return PM_OK;
    if (will_change(cli) && pm_studio_read_only(cli->studio))
        return PM_OK;
    const bool change = will_change(cli);
    const enum pm_status status =
        change ? pm_studio_change_begin(cli->studio, err) : pm_studio_look_begin(cli->studio, err);
    cli->changing = change && status == PM_OK;
    cli->looking = !change && status == PM_OK;
    return status;
}

enum pm_status pm_cli_settle(struct pm_cli *cli, enum pm_status status, struct pm_error *err)
{
    if (cli->looking)
        pm_studio_look_end(cli->studio);
    cli->looking = false;
    if (!cli->changing)
        return status;
    cli->changing = false;
    status = pm_studio_change_end(cli->studio, status, err);
    cli->done = cli->done || status == PM_OK || status == PM_UNSURE;
    return status;
}

static void close_library(struct pm_cli *cli)
{
    if (!cli->done)
        pm_studio_unmake(cli->studio);
    pm_studio_close(cli->studio);
}

enum pm_status pm_cli_open(struct pm_cli *cli, bool create, struct pm_error *err)
{
    return pm_cli_open_at(cli, NULL, create, err);
}

enum pm_status pm_cli_open_at(struct pm_cli *cli, const char *given, bool create,
                              struct pm_error *err)
{
    const struct pm_studio_options options = {.create = create,
                                              .scratch = is_dry(cli),
                                              .clock = cli->front->clock,
                                              .watch = &cli->waiting.watch};
    char *path = NULL;

    if (cli->studio != NULL)
        return begin(cli, err);
    enum pm_status status =
        pm_cli_library_path(given != NULL ? given : pm_cli_value(cli, "db"), &path, err);
    if (status == PM_OK)
        status = pm_studio_open(path, &options, &cli->studio, err);
    pm_free(path);
    if (status != PM_OK)
        return status;
    cli->close = close_library;
    pm_studio_watch(cli->studio, &cli->waiting.watch);
    const char *remark = pm_studio_remark(cli->studio);
    if (remark != NULL)
        pm_cli_say(cli, "%s", remark);
    return begin(cli, err);
}
