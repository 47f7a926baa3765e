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

void pm_cli_add_field(struct pm_text *out, const char *name, const char *value)
{
    if (value == NULL || value[0] == '\0')
        return;
    pm_text_addf(out, "%-12s", name);
    pm_cli_add_shown(out, value);
    pm_text_add_char(out, '\n');
}

void pm_cli_add_made_field(struct pm_text *out, const char *name, const struct pm_text *value)
{
    pm_cli_add_field(out, name, pm_text_get(value));
    out->failed = out->failed || !pm_text_ok(value);
}
