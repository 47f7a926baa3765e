/* SPDX-License-Identifier: MIT */
/*
 * The command export (commands_inout.c).
 */
#ifndef PERMILLE_CLI_EXPORT_H
#define PERMILLE_CLI_EXPORT_H

#include "cli.h"

extern const struct pm_cli_option pm_cli_export_options[];
enum pm_status pm_cli_run_export(struct pm_cli *cli, struct pm_error *err);

#endif
