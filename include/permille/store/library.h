/* SPDX-License-Identifier: MIT */
/*
 * The library: one SQLite file that belongs to one person, and the door through which every
 * transaction goes. The store knows rows and their rules (ranges, references, what is append-only);
 * the trade's rules live in core, the use cases in studio.
 *
 * The file carries application_id 0x7065726D ("perm") and user_version = number of the last
 * migration in schema/. Tables are STRICT; foreign keys, recursive triggers, cell size check and
 * DEFENSIVE are on, trusted_schema and double-quoted strings off; journal_mode=DELETE with
 * synchronous=EXTRA, read back after setting. Kept trials and their lines, revisions, labels,
 * movements, smell notes and batches are append-only, enforced by triggers.
 */
#ifndef PERMILLE_STORE_LIBRARY_H
#define PERMILLE_STORE_LIBRARY_H

#include "permille/base/clock.h"
#include "permille/base/status.h"
#include "permille/base/watch.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct pm_library; /* an open file; not shared between threads */

enum {
    PM_LIBRARY_CREATE = 1, /* make the file when there is none (mode 0600, folders 0700) */
    /* Never write; also chosen by itself when the file cannot be written. */
    PM_LIBRARY_READ_ONLY = 2,
    /* To try something out: a copy in memory, brought up to date there, takes all changes. The file
     * is read once, and is neither written nor made. */
    PM_LIBRARY_SCRATCH = 4
};

/*
 * Opens path. Looks at application_id and user_version before anything is written: a foreign file
 * is PM_FOREIGN, a newer one PM_NEWER; an older one is backed up beside itself ("NAME.before-N.db")
 * and migrated in one transaction. PM_MISSING when there is no file and CREATE is not given;
 * PM_REFUSED for a file with several names (hard links); PM_DAMAGED also for one that holds views
 * or triggers of others. PM_BUSY, PM_IO, PM_FULL, PM_NOMEM as they say. clock may be NULL. watch,
 * which may be NULL, looks on while it is opened, and may stop that (PM_STOPPED; the file is as it
 * was); later pm_library_watch says who does.
 */
enum pm_status pm_library_open(const char *path, int flags, const struct pm_clock *clock,
                               const struct pm_watch *watch, struct pm_library **out,
                               struct pm_error *err);
void pm_library_close(struct pm_library *library); /* NULL allowed; an open transaction is undone */
/* Before closing: takes the file away again when opening made it and nobody has committed anything
 * to it. Otherwise, and where that cannot be known, it stays. */
void pm_library_unmake(struct pm_library *library);

/* Opened so, or because the file cannot be written. */
bool pm_library_read_only(const struct pm_library *library);
/*
 * Who looks on while something long is done with the library, and may stop it (base/watch.h): every
 * call then ends with PM_STOPPED, also in the middle of a statement, as if it had failed otherwise.
 * Ending a transaction is never stopped. watch is borrowed until another one, or NULL, is set.
 */
void pm_library_watch(struct pm_library *library, const struct pm_watch *watch);
/* Asks it (pm_watch_go_on). */
enum pm_status pm_library_go_on(const struct pm_library *library, const char *doing, int64_t done,
                                int64_t all, struct pm_error *err);

/* A remark for the person about where the file lives (a network drive), or NULL. Borrowed. */
const char *pm_library_remark(const struct pm_library *library);
int64_t pm_library_now(const struct pm_library *library);
/* Changes whenever another connection has committed; compare for inequality. */
int64_t pm_library_version(struct pm_library *library);

/*
 * One person's gesture is one transaction. begin takes the write lock at once (BEGIN IMMEDIATE;
 * waits up to 2 s, then PM_BUSY). Nested begins are steps of the outer one: an abort undoes its own
 * step, and only the outermost commit writes. After a failed commit the transaction has been rolled
 * back and the file re-read: PM_OK is returned when the change is there all the same and the disk
 * has confirmed it, PM_UNSURE when that cannot be known.
 */
enum pm_status pm_library_begin(struct pm_library *library, struct pm_error *err);
enum pm_status pm_library_commit(struct pm_library *library, struct pm_error *err);
/* Like begin, for a change of very many rows that is taken back as a whole or not at all: within it
 * nested begins cost nothing, and where one is aborted, the whole can only be aborted (commit:
 * PM_REFUSED). */
enum pm_status pm_library_begin_whole(struct pm_library *library, struct pm_error *err);
/* Asks the disk once more to confirm what a commit that said PM_UNSURE has written. PM_OK: all that
 * was written is confirmed. The next commit and closing ask as well. */
enum pm_status pm_library_confirm(struct pm_library *library, struct pm_error *err);
void pm_library_abort(struct pm_library *library);
/* Whether a change has begun and not ended. */
bool pm_library_is_changing(const struct pm_library *library);
/* A consistent view for several reads (deferred transaction); ends with pm_library_end_read. It
 * keeps others from committing, so it is for moments; no change can begin within it (PM_REFUSED).
 */
enum pm_status pm_library_begin_read(struct pm_library *library, struct pm_error *err);
void pm_library_end_read(struct pm_library *library);

/* A copy made with SQLite's backup API under a temporary name, checked, synced and renamed into
 * place; an existing file is refused (PM_EXISTS) unless `replace`. */
enum pm_status pm_library_backup(struct pm_library *library, const char *path, bool replace,
                                 struct pm_error *err);

/* One finding of pm_library_verify. */
typedef void pm_finding(void *context, const char *sentence);
/* SQLite's integrity and foreign key checks, the checksums over content, and pm_trial_check on
 * every trial. Returns PM_OK with no finding, PM_DAMAGED when there was one or more. */
enum pm_status pm_library_verify(struct pm_library *library, pm_finding *finding, void *context,
                                 struct pm_error *err);
/*
 * Takes what is left of a damaged file into a new library (PM_EXISTS when `into` is there). Rows
 * are taken from the file's pages one by one, whatever its header and schema say, and known by
 * their checksums. Findings say what was lost or changed, by kind and count: lost materials,
 * formulas and trials get a place under a name that says so, kept trials that are not as they were
 * are labelled, checksums are made anew. The damaged file is not written, and `into` is there only
 * when the call was done. PM_FOREIGN when no row of this program's tables is found.
 */
enum pm_status pm_library_salvage(const char *damaged, const char *into,
                                  const struct pm_watch *watch, pm_finding *finding, void *context,
                                  struct pm_error *err);

/* Of what kinds it holds something. */
struct pm_round_held {
    bool materials, formulas, kept, smelled;
};
enum pm_status pm_library_held(struct pm_library *library, struct pm_round_held *out,
                               struct pm_error *err);

/* Small settings kept in the library ("decimal", "view.bench.bar"). get gives NULL in *out when
 * unset; the string is the caller's (pm_free). */
enum pm_status pm_setting_get(struct pm_library *library, const char *key, char **out,
                              struct pm_error *err);
enum pm_status pm_setting_put(struct pm_library *library, const char *key, const char *value,
                              struct pm_error *err);
/* Unsets it; one that is not set stays so. */
enum pm_status pm_setting_drop(struct pm_library *library, const char *key, struct pm_error *err);

#endif
