/* SPDX-License-Identifier: MIT */
/*
 * A sheet as the answer, in the form asked for.
 */
#ifndef PERMILLE_CLI_SHEET_H
#define PERMILLE_CLI_SHEET_H

#include "cli.h"

#include "permille/studio/bench.h"

/* Its lines. */
enum pm_status pm_cli_show_sheet(struct pm_cli *cli, const struct pm_sheet *sheet,
                                 struct pm_error *err);
/* Every accord and dilution resolved, each material once. */
enum pm_status pm_cli_show_flat(struct pm_cli *cli, const struct pm_sheet *sheet,
                                struct pm_error *err);

#endif
