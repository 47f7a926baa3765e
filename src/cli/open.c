/* SPDX-License-Identifier: MIT */
/* Opening the library for a command (cli.h). */
#include "cli.h"
#include "path.h"

#include "permille/base/mem.h"
#include "permille/studio/studio.h"

enum pm_status pm_cli_open(struct pm_cli *cli, bool create, struct pm_error *err)
{
    const struct pm_studio_options options = {.create = create, .clock = cli->front->clock};
    char *path = NULL;

    if (cli->studio != NULL)
        return PM_OK;
    enum pm_status status = pm_cli_library_path(pm_cli_value(cli, "db"), &path, err);
    if (status == PM_OK)
        status = pm_studio_open(path, &options, &cli->studio, err);
    pm_free(path);
    if (status != PM_OK)
        return status;
    cli->close = pm_studio_close;
    const char *remark = pm_studio_remark(cli->studio);
    if (remark != NULL)
        pm_cli_say(cli, "%s", remark);
    return PM_OK;
}
