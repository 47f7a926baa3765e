/* SPDX-License-Identifier: MIT */
/*
 * Private: the gestures, one function each, grouped over the gesture_*.c files. Each works on
 * `after`, which is a copy of the trial before; when it fails the copy is thrown away.
 */
#ifndef PERMILLE_SRC_CORE_GESTURE_PARTS_H
#define PERMILLE_SRC_CORE_GESTURE_PARTS_H

#include "balance.h"
#include "permille/core/gesture.h"

/* What a gesture is worked out on. */
struct pm_work {
    const struct pm_gesture *gesture;
    struct pm_trial *after;
    struct pm_effect *effect; /* never NULL */
    struct pm_error *err;
};

/* The place of gesture->line, or PM_MISSING. */
enum pm_status pm_work_line(const struct pm_work *work, int64_t id, size_t *place);
/* Marks the chosen lines in `chosen` (after->count entries, cleared): PM_MISSING for an id that is
 * none, PM_INVALID when one is named twice or none at all. */
enum pm_status pm_choose_lines(const struct pm_trial *trial, const int64_t *ids, size_t count,
                               bool *chosen, struct pm_error *err);
/* Opens a sheet on after, runs the operation the closure names, and writes parts and settled back.
 */
typedef enum pm_status pm_operation(struct pm_balancing *sheet, void *context,
                                    struct pm_outcome *outcome, struct pm_error *err);
enum pm_status pm_work_balance(const struct pm_work *work, size_t subject, pm_operation *operation,
                               void *context);
/* Operations that several gestures use. */
struct pm_set_to {
    size_t place;
    pm_parts parts;
};
struct pm_dropped {
    size_t place;
    size_t rest; /* some line of the core it was in, or PM_NO_PLACE */
};
pm_operation pm_run_set, pm_run_drop;
/* What a set, nudge or scale gesture comes to on a line that has `was`. PM_INVALID when that leaves
 * the range, PM_REFUSED when it would round to nothing. */
enum pm_status pm_amount_target(const struct pm_gesture *gesture, pm_parts was, pm_parts *out,
                                struct pm_error *err);
/* Takes one line out of its core; a core left with one line is let go. Returns the place of a line
 * that is still in the core, whose parts have to be brought back into ratio, or PM_NO_PLACE. */
size_t pm_core_leave(struct pm_trial *trial, size_t place);
/* The core's ratio becomes that of its lines' neat parts as they are, in lowest terms. */
void pm_core_capture(struct pm_trial *trial, int core);
/* A line of a core gets another strength while what is poured stays: its number follows. */
void pm_core_strength(struct pm_trial *trial, size_t place, pm_strength strength);
/* The smallest number no core of the trial has, above `least`; 0 when all are taken. */
int pm_core_unused(const struct pm_trial *trial, int least);
/* PM_INVALID unless kind, ref, strength and solvent can stand in a line. */
enum pm_status pm_fresh_check(const struct pm_line *fresh, struct pm_error *err);

typedef enum pm_status pm_gesture_part(const struct pm_work *work);

/* gesture_amount.c */
pm_gesture_part pm_do_set, pm_do_add, pm_do_drop, pm_do_mode, pm_do_base, pm_do_settle;
/* gesture_core.c */
pm_gesture_part pm_do_stance, pm_do_form_core, pm_do_break_core, pm_do_leave_core;
/* gesture_line.c */
pm_gesture_part pm_do_swap, pm_do_restrength, pm_do_move, pm_do_comment;
/* gesture_fold.c */
pm_gesture_part pm_do_fold, pm_do_unfold, pm_do_branch;

#endif
