/* SPDX-License-Identifier: MIT */
/*
 * Files and folders around the library: what SQLite does not do.
 */
#ifndef PERMILLE_STORE_FILES_H
#define PERMILLE_STORE_FILES_H

#include "permille/base/status.h"

#include <stdbool.h>

/* The path from the root, without resolving links: SQLite would read "file:x" as an address. New
 * string (pm_free). PM_INVALID for an empty path, PM_NOMEM, PM_IO. */
enum pm_status pm_path_absolute(const char *path, char **out, struct pm_error *err);
/* The folder a path lies in; new string, NULL when memory ran out. */
char *pm_path_folder(const char *path);
/* Makes the folders above path that are missing, mode 0700. */
enum pm_status pm_folders_make(const char *path, struct pm_error *err);
/* Makes an empty file, mode 0600. *made is false when there was one already. */
enum pm_status pm_file_make(const char *path, bool *made, struct pm_error *err);
/* Waits until the folder of path is on the disk. */
enum pm_status pm_folder_sync(const char *path, struct pm_error *err);
/* Whether both are there and one file, by whatever names. NULL: no file. */
bool pm_same_file(const char *one, const char *other);
/* Name of the kind of network file system that path lies on, or NULL. */
const char *pm_network_drive(const char *path);
/* What the system's error number means, mapped to a status: "The folder X cannot be made: ...". */
enum pm_status pm_file_fail(int number, const char *what, const char *path, struct pm_error *err);

#endif
