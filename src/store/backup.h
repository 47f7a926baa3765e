/* SPDX-License-Identifier: MIT */
/*
 * Copying a library that is in use.
 */
#ifndef PERMILLE_STORE_BACKUP_H
#define PERMILLE_STORE_BACKUP_H

#include "permille/base/status.h"

#include <sqlite3.h>
#include <stdbool.h>

/* Copies db to path: under a temporary name beside it, checked, synced, renamed into place, the
 * folder synced. An existing file is PM_EXISTS unless `replace`; nothing is left behind on
 * failure. */
enum pm_status pm_backup_copy(sqlite3 *db, const char *path, bool replace, const char *vfs,
                              struct pm_error *err);

#endif
