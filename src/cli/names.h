/* SPDX-License-Identifier: MIT */
/* The names that a library has. */
#ifndef PERMILLE_CLI_NAMES_H
#define PERMILLE_CLI_NAMES_H

#include "cli.h"

/* Adds to the answer, one a line, the names of a kind ("formulas", "trials", "materials",
 * "bottles", "lines") that begin so, case and accents ignored. `formula`: whose lines; else
 * unused. The library is open. PM_INVALID for another kind. */
enum pm_status pm_names_add(struct pm_cli *cli, const char *kind, const char *formula,
                            const char *begins, struct pm_error *err);

#endif
