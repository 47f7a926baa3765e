/* SPDX-License-Identifier: MIT */
/*
 * Ways out of an over-pour: what can still be done when more was poured than was meant, exactly.
 *
 * A line is one thing to weigh: so much of a material at a strength. It is over when more of it
 * lies in the beaker than its target and what the balance and the tolerance excuse. Nothing can be
 * taken out of the beaker, so every way is a new target for each line, none below what was poured.
 */
#ifndef PERMILLE_CORE_RESCUE_H
#define PERMILLE_CORE_RESCUE_H

#include "permille/core/weighing.h"

enum pm_rescue_way {
    PM_RESCUE_RESTORE, /* everything is topped up: every ratio is as it was, the batch is larger */
    PM_RESCUE_CORE,    /* only what stands in a core with what is over */
    PM_RESCUE_PULL,    /* later pours of the same material, and of the solvent that came along, are
                          smaller by what is too much */
    PM_RESCUE_ACCEPT,  /* nothing: the trial becomes another one */
    PM_RESCUE_WAYS
};
const char *pm_rescue_word(enum pm_rescue_way way); /* "restore" */
bool pm_rescue_from_word(const char *word, enum pm_rescue_way *out);

struct pm_rescue_line {
    pm_mass target, poured;
    bool done; /* nothing more is meant to be poured of it, though less may be there */
    int core;  /* number of the core its line stands in; 0 */
    int64_t material;
    pm_strength strength;
    int64_t solvent; /* 0 when neat */
};

/* Whether it is over: by more than half a step of the display and more than `tolerance` of it. */
bool pm_rescue_over(const struct pm_rescue_line *line, const struct pm_balance *balance,
                    pm_strength tolerance);

/*
 * The targets a way leads to, into targets[count]; several lines may be over at once. Restoring
 * goes by the line that is over by the largest ratio; the targets are in proportion to the old ones
 * by largest remainder, those that were poured in full stay at what was poured where that is the
 * same to a microgram. *left (may be NULL) receives what of all excess could not be pulled down.
 * PM_REFUSED when the way does not exist here: nothing is over, no core, no later pours.
 */
enum pm_status pm_rescue_targets(enum pm_rescue_way way, const struct pm_rescue_line *lines,
                                 size_t count, const struct pm_balance *balance,
                                 pm_strength tolerance, pm_mass *targets, pm_mass *left,
                                 struct pm_error *err);

/*
 * Whether a way is worth going; of those that hold, the last counts:
 *
 *   PM_RESCUE_SENSIBLE  it can be gone at once
 *   PM_RESCUE_LACKING   it asks for more than the shelf holds
 *   PM_RESCUE_HEAVY     the beaker then holds more than the balance carries
 *   PM_RESCUE_ABSURD    the beaker then holds more than PM_RESCUE_TIMES the batch as it was first
 *                       planned: a trace poured twentyfold must not turn 10 g into 200 g. Our own
 *                       choice; exactly so many times is not absurd yet.
 *
 * Ways are told in this order, the sensible ones first; those alike in that of enum pm_rescue_way.
 */
enum pm_rescue_sense {
    PM_RESCUE_SENSIBLE,
    PM_RESCUE_LACKING,
    PM_RESCUE_HEAVY,
    PM_RESCUE_ABSURD,
    PM_RESCUE_SENSES
};
#define PM_RESCUE_TIMES 5
const char *pm_rescue_sense_word(enum pm_rescue_sense sense); /* "not in stock" */
/* `total` in the beaker then; `planned` at first, 0: not known; `capacity` 0: not known. */
enum pm_rescue_sense pm_rescue_sense(pm_mass total, pm_mass planned, pm_mass capacity,
                                     bool in_stock);

#endif
