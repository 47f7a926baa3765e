/* SPDX-License-Identifier: MIT */
/*
 * Rows of the smell log and of what is running to be smelled. Smell notes are append-only: a
 * correction is a new row that names the old one, and each row is corrected at most once.
 */
#ifndef PERMILLE_STORE_SMELLS_H
#define PERMILLE_STORE_SMELLS_H

#include "permille/core/formula.h"
#include "permille/core/smelled.h"
#include "permille/store/library.h"

/* Calls that read one row put its strings into `arena`; with NULL they are left out. */

/* ---- applications ---- */

/* *id receives its number; the row's own id and made_at are not looked at. */
enum pm_status pm_application_insert(struct pm_library *library,
                                     const struct pm_application *application, int64_t *id,
                                     struct pm_error *err);
/* ended_at 0 takes it up again. PM_MISSING. */
enum pm_status pm_application_end(struct pm_library *library, int64_t id, int64_t ended_at,
                                  struct pm_error *err);
enum pm_status pm_application_get(struct pm_library *library, int64_t id, struct pm_arena *arena,
                                  struct pm_application *out, struct pm_error *err);
/* Those running; ended_too: all. */
enum pm_status pm_application_list(struct pm_library *library, bool ended_too,
                                   struct pm_applications *out, struct pm_error *err);

/* ---- smell notes ---- */

/* PM_REFUSED when `corrects` names an entry that was corrected already, PM_MISSING when there is
 * none. */
enum pm_status pm_smell_insert(struct pm_library *library, const struct pm_smell *smell,
                               int64_t *id, struct pm_error *err);

/* PM_MISSING. */
enum pm_status pm_smell_get(struct pm_library *library, int64_t id, struct pm_arena *arena,
                            struct pm_smell *out, struct pm_error *err);
/* By trial number and time since application. number 0: of all kept trials. corrected_too: also
 * entries that were corrected or taken back, and the rows that take back. */
enum pm_status pm_smell_list(struct pm_library *library, int64_t formula, int64_t number,
                             bool corrected_too, struct pm_smells *out, struct pm_error *err);
/* Entries that stand and belong to one application, in the order entered. */
enum pm_status pm_smell_of_application(struct pm_library *library, int64_t application,
                                       struct pm_smells *out, struct pm_error *err);
/* How many entries stand, for each kept trial of the formula that has any. */
enum pm_status pm_smell_counts(struct pm_library *library, int64_t formula,
                               struct pm_trial_counts *out, struct pm_error *err);
/* The notes of all entries that stand in the library, newest first. */
enum pm_status pm_smell_notes(struct pm_library *library, struct pm_texts *out,
                              struct pm_error *err);

#endif
