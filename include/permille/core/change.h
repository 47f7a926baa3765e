/* SPDX-License-Identifier: MIT */
/*
 * The difference between two states of a trial as readable text: what a revision stores, enough to
 * go forth and back exactly. Lines are matched by id. The text is versioned ("change 1" first
 * line), one edit per line, every field escaped; only what differs is written, old value and new.
 */
#ifndef PERMILLE_CORE_CHANGE_H
#define PERMILLE_CORE_CHANGE_H

#include "permille/base/status.h"
#include "permille/base/text.h"
#include "permille/core/trial.h"

#include <stdbool.h>
#include <stdint.h>

enum pm_direction { PM_FORTH, PM_BACK };

/* Appends the change that leads from before to after. PM_NOMEM. */
enum pm_status pm_change_between(const struct pm_trial *before, const struct pm_trial *after,
                                 struct pm_text *out, struct pm_error *err);

/* Applies change to *trial in place: FORTH turns before into after, BACK the reverse, field by
 * field. Old values are verified: a change that does not fit is PM_DAMAGED and leaves *trial
 * untouched. The text may come from a damaged file: every number is checked. next_id never goes
 * down. The old value of `parent` alone is not verified: keeping a trial moves the draft's parent
 * without a change, so undo across a keep meets another one; the change's value is simply taken. */
enum pm_status pm_change_apply(const char *change, enum pm_direction direction,
                               struct pm_trial *trial, struct pm_error *err);

/* Tells a change of one library for another one, where materials and trials have other numbers. */
struct pm_change_teller {
    /* The number there of a material, or of a trial (a line's accord, the draft's parent). */
    int64_t (*refer)(void *context, bool trial, int64_t id);
    /* The change says what the line is from here on: an accord's trial, or a material. */
    void (*known)(void *context, int64_t line, bool accord, int64_t id);
    /* What the line was before the change, where that does not say it: whether an accord, and its
     * number. */
    int64_t (*standing)(void *context, int64_t line, bool *accord);
    void *context;
};
/* Appends the change with the other numbers. A line that became a material of the same number as
 * the accord it was says so: the numbers there may differ. What cannot be read stays as it is, so
 * that applying it is refused as before. PM_NOMEM. */
enum pm_status pm_change_tell(const char *change, const struct pm_change_teller *teller,
                              struct pm_text *out, struct pm_error *err);

#endif
