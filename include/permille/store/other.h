/* SPDX-License-Identifier: MIT */
/*
 * Another library beside this one: a second machine's, a colleague's. It is read from a private
 * copy in memory; its file is never written, and need not be at this program's step.
 *
 * What it holds is told as items: a formula with its history, a material with what is known of it,
 * a bottle with its ledger, and so on. Each is held against this library:
 *
 * - A material is the one here that has its name, or one of its names; a substance of an analysis
 *   likewise. A balance goes by its name. A currency's rate is the same when every figure is.
 * - A formula is the one here whose history begins with the same gesture: made at the same second,
 *   first revision with the same time and words. From there on the two trees of revisions are laid
 *   over each other: a revision of theirs is the one here that was made on the same revision, at
 * the same second, with the same words and the same change (numbers of materials and trials left
 *   aside). So two machines that went on from the same trial 5 are recognised, however either
 *   renamed the formula since, and what was brought in once is known again. Kept trials correspond
 *   when the gestures that kept them do. A formula of the same name with another history is another
 *   formula.
 * - Rows of trials (batches, sessions, smell notes, blind tests, series) are the ones here about
 * the corresponding trial that were entered at the same second and say the same of what never
 * changes.
 * - A bottle is the one here of the same material and strength that was entered at the same second,
 *   whatever its number. Ledgers, events, answers, ratings and corrections are compared row by row
 *   from the beginning: one side may go on where the other ends.
 *
 * A formula of which ours is the beginning goes on as it did there, draft and all. Where both went
 * on, or have taken from each other, their kept trials become the next ones behind ours, made on
 * the trial they were made on, and our draft stays; the sentences of their gestures stay as they
 * were said there
 * ("Kept as Harbour/6"), also where the trial is another number here. Or it comes as a second
 * formula, with its whole history.
 *
 * What comes in gets numbers of its own; only a bottle keeps the number on its glass where that is
 * free here. Facts of the starter set come along as they are. Settings and the shelf's history of
 * the other library stay there.
 */
#ifndef PERMILLE_STORE_OTHER_H
#define PERMILLE_STORE_OTHER_H

#include "permille/base/json_read.h"
#include "permille/core/other.h"
#include "permille/store/library.h"
#include "permille/store/shelf.h"

struct pm_other;

/* Opens the library at path, or the document of a whole one, for `library`, which can have one at a
 * time. Before anything of it is believed it is verified: PM_DAMAGED with the first finding.
 * PM_NEWER for a newer program's; statuses as pm_library_open and pm_library_read_document. Asks
 * the library's watch. */
enum pm_status pm_other_open(struct pm_library *library, const char *path, struct pm_other **out,
                             struct pm_error *err);
enum pm_status pm_other_open_document(struct pm_library *library,
                                      const struct pm_json_value *document, struct pm_other **out,
                                      struct pm_error *err);
void pm_other_close(struct pm_other *other); /* NULL allowed */

/* Everything it holds, held against the library as it is now. */
enum pm_status pm_other_items(struct pm_other *other, struct pm_other_items *out,
                              struct pm_error *err);

/* As of the last pm_other_items. */
enum pm_status pm_other_needs(struct pm_other *other, struct pm_other_needs *out,
                              struct pm_error *err);

/* Against the one here that it is, or that has its name. As of the last pm_other_items. */
enum pm_status pm_other_fields(struct pm_other *other, enum pm_other_kind kind, int64_t id,
                               struct pm_other_fields *out, struct pm_error *err);

/*
 * Brings them in, inside the caller's transaction, and notes in `log` what can be undone: materials
 * and formulas go out of sight again, bottles are set aside. What an item needs must be among the
 * choices. PM_STALE when something was changed here since pm_other_items so that a choice means
 * something else now. Afterwards only pm_other_items and pm_other_close make sense.
 */
enum pm_status pm_other_bring(struct pm_other *other, const struct pm_other_choice *choices,
                              size_t count, struct pm_shelf_log *log, struct pm_error *err);
/* The name by which an item can come in as a second one: its own, or with a number behind it where
 * that is taken. NULL for kinds that have no name. Kept by the arena. */
enum pm_status pm_other_free_name(struct pm_other *other, const struct pm_other_item *item,
                                  struct pm_arena *arena, const char **out, struct pm_error *err);
/* Whether something of the kind here has the name (of bottles: the number). */
enum pm_status pm_other_name_taken(struct pm_other *other, enum pm_other_kind kind,
                                   const char *name, int64_t number, bool *taken,
                                   struct pm_error *err);
/* After it: the number here of what a chosen item became; 0: none. */
enum pm_status pm_other_brought(struct pm_other *other, enum pm_other_kind kind, int64_t id,
                                int64_t *here, struct pm_error *err);

#endif
