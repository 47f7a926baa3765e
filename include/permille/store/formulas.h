/* SPDX-License-Identifier: MIT */
/*
 * Rows of formulas, their trials, lines and revisions: the version history.
 *
 * A formula has exactly one draft and any number of kept trials, numbered 1, 2, 3... in the order
 * kept. Keeping seals the draft row (number, kept_at) and starts a new draft row with the same
 * content. Revisions form a tree per formula: each names the revision it was made on (parent). The
 * draft's head is the revision whose state it shows. Undo moves the head to the parent and is
 * itself a row; redo goes to the newest gesture made on the head. Rows are never changed or
 * removed.
 */
#ifndef PERMILLE_STORE_FORMULAS_H
#define PERMILLE_STORE_FORMULAS_H

#include "permille/core/formula.h"
#include "permille/core/trial.h"
#include "permille/store/library.h"

/* Calls that read one row put its strings into `arena`; with NULL they are left out. What is not
 * there is PM_MISSING in all of them. A list belongs to the caller (pm_list_release). What a call
 * fills is set only with PM_OK. */

/* Makes the formula and its empty draft. PM_EXISTS when the name is taken. */
enum pm_status pm_formula_insert(struct pm_library *library, const char *name, bool accord,
                                 pm_parts base, enum pm_mode mode, int64_t *id,
                                 struct pm_error *err);
/* Renames, marks as accord, sets aside; the id says which. PM_EXISTS when another has the name. */
enum pm_status pm_formula_update(struct pm_library *library, int64_t id, const char *name,
                                 bool accord, bool set_aside, struct pm_error *err);
enum pm_status pm_formula_get(struct pm_library *library, int64_t id, struct pm_arena *arena,
                              struct pm_formula *out, struct pm_error *err);
enum pm_status pm_formula_by_name(struct pm_library *library, const char *name, int64_t *id,
                                  struct pm_error *err);
/* By time of last change, newest first; text filters by folded name (NULL or "" for all). */
enum pm_status pm_formula_list(struct pm_library *library, const char *text, bool set_aside_too,
                               struct pm_formulas *out, struct pm_error *err);

/* What is known of a trial but its lines. */
enum pm_status pm_trial_row_get(struct pm_library *library, int64_t trial, struct pm_arena *arena,
                                struct pm_trial_row *out, struct pm_error *err);
/* Kept trial `number` of a formula, or its draft for 0. */
enum pm_status pm_trial_by_number(struct pm_library *library, int64_t formula, int64_t number,
                                  int64_t *trial, struct pm_error *err);
/* Kept ones, by number. */
enum pm_status pm_trial_list(struct pm_library *library, int64_t formula, struct pm_trial_rows *out,
                             struct pm_error *err);
/* Loads the content and verifies it (pm_trial_check, checksum): PM_DAMAGED. */
enum pm_status pm_trial_load(struct pm_library *library, int64_t trial, struct pm_trial *out,
                             struct pm_error *err);

/*
 * Replaces the draft's content by `after` and appends the revision (gesture, sentence, change),
 * making it the head; one transaction. `expected_head` is the head the caller worked on: PM_STALE
 * when it has moved. Only rows that differ are written. *revision receives its id.
 */
enum pm_status pm_draft_write(struct pm_library *library, int64_t draft, int64_t expected_head,
                              const struct pm_trial *after, const char *gesture,
                              const char *sentence, const char *change, int64_t *revision,
                              struct pm_error *err);
/* Undo/redo: the draft shows `after` again, the head becomes new_head (0 allowed), and a row "undo"
 * or "redo" about `target` is appended. */
enum pm_status pm_draft_move_head(struct pm_library *library, int64_t draft, int64_t expected_head,
                                  const struct pm_trial *after, int64_t new_head,
                                  const char *gesture, int64_t target, const char *sentence,
                                  struct pm_error *err);
/* Seals the draft as the next number and starts the next draft with the same content, parent = the
 * sealed trial; appends a row "keep". PM_STALE as above. */
enum pm_status pm_draft_keep(struct pm_library *library, int64_t draft, int64_t expected_head,
                             const char *note, const char *sentence, int64_t *number,
                             struct pm_error *err);

/* Newest label and set-aside mark of a kept trial (a new row; the trial itself never changes).
 * label NULL takes the label away. */
enum pm_status pm_trial_mark(struct pm_library *library, int64_t trial, const char *label,
                             bool set_aside, struct pm_error *err);

/* One revision with its change. */
enum pm_status pm_revision_get(struct pm_library *library, int64_t id, struct pm_arena *arena,
                               struct pm_revision *out, struct pm_error *err);
/* The gesture made last on `parent` (0 = from the empty start) in this formula: what redo would do.
 * *id is 0 when there is none. */
enum pm_status pm_revision_newest_child(struct pm_library *library, int64_t formula, int64_t parent,
                                        int64_t *id, struct pm_error *err);
/* Oldest first; trial 0 means all of the formula. `change` is left NULL. */
enum pm_status pm_revision_list(struct pm_library *library, int64_t formula, int64_t trial,
                                struct pm_revisions *out, struct pm_error *err);

#endif
