/* SPDX-License-Identifier: MIT */
/*
 * What the commands on the shelf share.
 */
#ifndef PERMILLE_CLI_SHELF_H
#define PERMILLE_CLI_SHELF_H

#include "cli.h"

#include <stdint.h>

/* How a command whose answer is a table can answer. */
#define PM_CLI_TABLE (PM_CLI_JSON | PM_CLI_CSV)

/* A row of the table of commands, for the many that need no more words: the last is run(), after
 * which more members may be set. */
#define SHELF_COMMAND(name_, operands_, least_, most_, forms_, help_, options_, ...)               \
    {                                                                                              \
        .name = name_, .operands = operands_, .least = least_, .most = most_, .forms = forms_,     \
        .help = help_, .options = options_, .run = __VA_ARGS__,                                    \
    }

/* What a word names, in the library, which is opened. */
enum pm_status pm_cli_find_material(struct pm_cli *cli, const char *text, int64_t *id,
                                    struct pm_error *err);
enum pm_status pm_cli_find_bottle(struct pm_cli *cli, const char *text, int64_t *id,
                                  struct pm_error *err);

/* The whole of a file, "-" for standard input, up to 256 MB. */
enum pm_status pm_cli_read_file(const char *path, struct pm_text *out, struct pm_error *err);

/* A line "name   value" of a card; nothing when the value is NULL or empty. */
void pm_cli_add_field(struct pm_cli *cli, const char *name, const char *value);
/* The same of a text that was put together; one that lost memory marks `out`. */
void pm_cli_add_made_field(struct pm_cli *cli, const char *name, const struct pm_text *value);

#endif
