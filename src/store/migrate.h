/* SPDX-License-Identifier: MIT */
/*
 * Bringing a library's tables to the newest step.
 */
#ifndef PERMILLE_STORE_MIGRATE_H
#define PERMILLE_STORE_MIGRATE_H

#include "store.h"

/* Number of the last migration among the embedded files; 0 when there is none. */
int pm_migrate_newest(const struct pm_store_options *options);

/*
 * Runs, in one transaction, the steps that the file has not seen; user_version and application_id
 * are set with them. A library that holds something is first copied to "NAME.before-N.db" beside
 * it, N being the first step run. On failure the file is as it was. path must be absolute.
 */
enum pm_status pm_migrate(sqlite3 *db, const char *path, const struct pm_store_options *options,
                          struct pm_error *err);
/* Runs the steps from `from` to `to` and sets the two numbers; nothing is checked, and the caller
 * has the transaction. */
enum pm_status pm_migrate_steps(sqlite3 *db, const struct pm_store_options *options, int from,
                                int to, struct pm_error *err);
/* Brings a private copy of the library at path, which is at `step`, up to date, in one transaction
 * and without a backup. */
enum pm_status pm_migrate_copy(sqlite3 *db, const char *path,
                               const struct pm_store_options *options, int step,
                               struct pm_error *err);
/* PM_DAMAGED when db, which says that it is at `step`, holds a view, a trigger or a virtual table
 * that no step makes: reading such a thing runs what a stranger wrote, perhaps without an end. */
enum pm_status pm_migrate_refuse_strangers(sqlite3 *db, const char *path,
                                           const struct pm_store_options *options, int step,
                                           struct pm_error *err);
/* An empty library in memory as the migrations make it: what a file's tables should look like. */
enum pm_status pm_migrate_model(const struct pm_store_options *options, sqlite3 **out,
                                struct pm_error *err);

#endif
