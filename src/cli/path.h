/* SPDX-License-Identifier: MIT */
/*
 * Where the library is.
 */
#ifndef PERMILLE_CLI_PATH_H
#define PERMILLE_CLI_PATH_H

#include "permille/base/status.h"

/*
 * The first of: `given` (--db), PERMILLE_DB, $XDG_DATA_HOME/permille/library.db,
 * ~/.local/share/permille/library.db. After the XDG Base Directory Specification 0.8 an unset,
 * empty or relative XDG_DATA_HOME does not count. *out is a new string (pm_free). PM_INVALID when
 * `given` is empty, PM_MISSING when there is no home directory, PM_NOMEM.
 */
enum pm_status pm_cli_library_path(const char *given, char **out, struct pm_error *err);

#endif
