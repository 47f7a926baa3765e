/* SPDX-License-Identifier: MIT */
/*
 * SQLite connections below the library: opening, switches, short commands. Used where there is no
 * open library yet (opening, migrating) or none at all (backup, salvage).
 */
#ifndef PERMILLE_STORE_CONNECTION_H
#define PERMILLE_STORE_CONNECTION_H

#include "permille/base/watch.h"

#include <sqlite3.h>
#include <stdbool.h>
#include <stdint.h>

struct pm_patience;
/* Waits for locks as the patience says, which outlives the connection. */
int pm_connection_wait(sqlite3 *db, struct pm_patience *patience);
/* Has the watch asked in the middle of statements, which it may stop; NULL: nobody. It outlives the
 * connection. (A library's is pm_library_watch.) */
void pm_connection_watch(sqlite3 *db, const struct pm_watch *watch);
#define PM_STATEMENT_STEPS 20000 /* of SQLite's machine between two questions: milliseconds */
/* Opens path and sets what needs no look into the file: limits of trust, extended codes, the wait
 * for locks, pm_checksum. vfs may be NULL. *out is NULL on failure. */
enum pm_status pm_connect(const char *path, int sqlite_flags, const char *vfs, int wait_ms,
                          sqlite3 **out, struct pm_error *err);
/* Sets journal, flushing and checks for a connection that will write, and reads them back. */
enum pm_status pm_connection_prepare(sqlite3 *db, bool read_only, struct pm_error *err);
/* Runs SQL without result; `doing` completes "while ...". */
enum pm_status pm_execute(sqlite3 *db, const char *sql, const char *doing, struct pm_error *err);
/* First column of the first row (0 when there is none). */
enum pm_status pm_ask(sqlite3 *db, const char *sql, const char *doing, int64_t *out,
                      struct pm_error *err);
/* A line of SQLite's integrity check may tell of lost memory or a failing disk as if it were
 * damage: then the code it names, otherwise SQLITE_OK. */
int pm_integrity_code(const char *line);
/* SQLite's quick check (or, when thorough, the full one) and the foreign keys: PM_DAMAGED with
 * SQLite's first complaint. */
enum pm_status pm_connection_check(sqlite3 *db, bool thorough, struct pm_error *err);

#endif
