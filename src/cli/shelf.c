/* SPDX-License-Identifier: MIT */
/* What the commands on the shelf share (shelf.h). */
#include "shelf.h"

#include "permille/studio/bottles.h"
#include "permille/studio/shelf.h"

enum pm_status pm_cli_find_material(struct pm_cli *cli, const char *text, int64_t *id,
                                    struct pm_error *err)
{
    const enum pm_status status = pm_cli_open(cli, false, err);
    return status == PM_OK ? pm_shelf_find(cli->studio, text, id, err) : status;
}

enum pm_status pm_cli_find_bottle(struct pm_cli *cli, const char *text, int64_t *id,
                                  struct pm_error *err)
{
    const enum pm_status status = pm_cli_open(cli, false, err);
    return status == PM_OK ? pm_bottle_find(cli->studio, text, id, err) : status;
}

void pm_cli_add_field(struct pm_cli *cli, const char *name, const char *value)
{
    if (value == NULL || value[0] == '\0')
        return;
    if (cli->linear)
        pm_text_addf(&cli->out, "%s%s", name, name[0] != '\0' ? ": " : "");
    else
        pm_text_addf(&cli->out, "%-12s", name);
    pm_cli_add_shown(&cli->out, value);
    pm_text_add_char(&cli->out, '\n');
}

void pm_cli_add_made_field(struct pm_cli *cli, const char *name, const struct pm_text *value)
{
    pm_cli_add_field(cli, name, pm_text_get(value));
    cli->out.failed = cli->out.failed || !pm_text_ok(value);
}
