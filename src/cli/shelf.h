/* SPDX-License-Identifier: MIT */
/*
 * What the commands on the shelf share.
 */
#ifndef PERMILLE_CLI_SHELF_H
#define PERMILLE_CLI_SHELF_H

#include "cli.h"

#include <stdint.h>

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
