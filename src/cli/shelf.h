/* SPDX-License-Identifier: MIT */
/*
 * What the commands on the shelf share.
 */
#ifndef PERMILLE_CLI_SHELF_H
#define PERMILLE_CLI_SHELF_H

#include "cli.h"

/* A line "name   value" of a card; nothing when the value is NULL or empty. */
void pm_cli_add_field(struct pm_text *out, const char *name, const char *value);

#endif
