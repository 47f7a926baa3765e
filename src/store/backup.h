/* SPDX-License-Identifier: MIT */
/*
 * Copying a library that is in use.
 */
#ifndef PERMILLE_STORE_BACKUP_H
#define PERMILLE_STORE_BACKUP_H

#include "permille/base/watch.h"

#include <sqlite3.h>
#include <stdbool.h>

/* Copies every page of one open database (a schema's name, "main") over an empty one. The copy is
 * of one moment; the source is only read. watch may be NULL. */
enum pm_status pm_copy_pages(sqlite3 *from, const char *from_name, sqlite3 *to, const char *to_name,
                             const struct pm_watch *watch, struct pm_error *err);
/* Copies db to path: under a temporary name beside it, checked, synced, renamed into place, the
 * folder synced. An existing file is PM_EXISTS unless `replace`; nothing is left behind on
 * failure. */
enum pm_status pm_backup_copy(sqlite3 *db, const char *path, bool replace, const char *vfs,
                              const struct pm_watch *watch, struct pm_error *err);

#endif
