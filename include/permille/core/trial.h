/* SPDX-License-Identifier: MIT */
/*
 * A trial: the numbered version of a formula that the arithmetic works on. Pure data, no names, no
 * file: materials, solvents and accords are ids which the studio resolves.
 *
 * Units. What gives way is counted in units: a line outside any core, or a core as a whole. A unit
 * is free, held or resting as its lines are; the carrier is free.
 *
 * Weights. Every line of a free unit carries its share: a weight, kept to 62 binary digits. Units
 * share a total in the ratio of their shares (a core's is the sum of its lines'), never in that of
 * rounded parts, so nothing drifts. The trial's scale says what a micro-part weighs: a free unit's
 * exact amount is share / scale, and its parts are that rounded. Setting a line changes its share
 * alone; what has no share (held, resting) takes the share its parts are worth when it is freed.
 *
 * Cores. The ratio of a core is neat: whole numbers, as typed, that no change of strength touches.
 * Poured, a line has its number / its strength of what the core has.
 *
 * Resting. A line that rests is left out without being lost: it has no parts and no share, and
 * remembers in `rested` what it had and will have again, in `rested_as` whether it was held or the
 * carrier.
 *
 * What always holds (pm_trial_check verifies it):
 *   - line ids are positive, unique, below next_id, and stay with their line through every gesture;
 *   - parts and rested are 0 .. PM_PARTS_MAX; strength is 1 .. PM_NEAT; a line has a solvent
 *     exactly when its strength is below neat; accord lines are neat;
 *   - at most one line is the carrier, and it stands in no core;
 *   - a core has two lines or more, ratio numbers of 1 .. PM_WEIGHT_MAX, one stance for all its
 *     lines (a held line holds, a resting one rests the whole core), and parts within one
 *     micro-part of the exact poured ratio of their sum;
 *   - a line that rests has no parts, others have nothing in `rested` and
 *     are PM_FREE in `rested_as`; held and resting lines have
 *     no share, free ones with parts have one;
 *   - `settled` is true exactly when the total is the base; the total of a trial in core, share or
 *     carrier mode is never above its base.
 */
#ifndef PERMILLE_CORE_TRIAL_H
#define PERMILLE_CORE_TRIAL_H

#include "permille/base/amount.h"
#include "permille/base/status.h"
#include "permille/core/weight.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum pm_stance {
    PM_FREE,    /* gives way in proportion */
    PM_HELD,    /* stands still when others change */
    PM_CARRIER, /* in carrier mode takes what the others leave; in the other modes it is free */
    PM_RESTING  /* left out for now */
};

enum pm_mode {
    PM_CORE_MODE,    /* free cores give way in proportion; without one it is share mode */
    PM_SHARE,        /* free units give way in proportion */
    PM_CARRIER_MODE, /* only the carrier gives way */
    PM_OPEN          /* nothing gives way */
};

enum pm_line_kind {
    PM_LINE_MATERIAL, /* ref is a material's id */
    PM_LINE_ACCORD    /* ref is the id of an accord's kept trial */
};

#define PM_CORE_MAX   702 /* cores are numbered 1.., shown as A..Z, AA..ZZ; 0 = in no core */
#define PM_WEIGHT_MAX INT64_C(1000000000000000000)

struct pm_line {
    int64_t id; /* see above; 0 in a line not yet added */
    enum pm_line_kind kind;
    int64_t ref;          /* what it is: material id or kept trial id */
    pm_strength strength; /* of the material as poured */
    int64_t solvent;      /* material id of the solvent; 0 when neat */
    pm_parts parts;       /* as poured, in the trial's base */
    enum pm_stance stance;
    int core;                 /* 0 or the number of its core */
    int64_t weight;           /* its whole number in the core's neat ratio; 0 outside cores */
    pm_parts rested;          /* what a resting line had; 0 for others */
    enum pm_stance rested_as; /* the stance it had and comes back with; PM_FREE for others */
    struct pm_weight share;   /* what a free line weighs; nothing for held and resting ones */
    char *comment;            /* owned; NULL when there is none */
};

struct pm_trial {
    pm_parts base; /* the total it is written to; 1 .. PM_PARTS_MAX */
    enum pm_mode mode;
    bool settled;           /* its total is its base; until then it is being filled */
    struct pm_weight scale; /* what a micro-part weighs */
    int64_t parent;         /* id of the kept trial it was started from; 0 for none */
    int64_t next_id;        /* for the next line added; starts at 1 */
    struct pm_line *lines;  /* owned; in the order shown */
    size_t count, capacity;
};

/* An empty, unsettled trial. */
void pm_trial_init(struct pm_trial *trial, pm_parts base, enum pm_mode mode);
void pm_trial_release(struct pm_trial *trial);
/* Deep copy into an uninitialised `copy`. PM_NOMEM leaves copy initialised and empty. */
enum pm_status pm_trial_copy(const struct pm_trial *trial, struct pm_trial *copy,
                             struct pm_error *err);
/* Appends a copy of *line (comment duplicated) at `place` (0..count; larger means the end), giving
 * it the next id when its id is 0. A free line that comes with parts and no share is given the one
 * its parts are worth. Only data: nothing is re-balanced. */
enum pm_status pm_trial_insert(struct pm_trial *trial, size_t place, const struct pm_line *line,
                               struct pm_error *err);
void pm_trial_remove(struct pm_trial *trial, size_t place);
/* Place of the line with this id, or -1. */
long pm_trial_find(const struct pm_trial *trial, int64_t id);
/* Whether two lines say the same: all but their ids and shares. */
bool pm_line_same(const struct pm_line *a, const struct pm_line *b);
bool pm_trial_equal(const struct pm_trial *a,
                    const struct pm_trial *b); /* every field, comments too */

/* Forgets what shares are remembered: every free line weighs its parts, the scale is one. `settled`
 * follows the total. For trials that come without shares. */
void pm_trial_weigh(struct pm_trial *trial);
/* Cores were once written in poured numbers (format 1 of changes, libraries before weights were
 * kept). The two turn the numbers of all cores from poured into neat, in lowest terms, and back.
 * Numbers that would pass PM_WEIGHT_MAX, or in poured terms 1e12, are rounded to it. */
void pm_trial_neat_ratios(struct pm_trial *trial);
void pm_trial_poured_ratios(struct pm_trial *trial);
/* The share of a line that never had another: its parts at a scale of one; nothing for one that is
 * held or rests. */
struct pm_weight pm_line_plain_share(const struct pm_line *line);
/* The share `parts` are worth in this trial. */
struct pm_weight pm_trial_worth(const struct pm_trial *trial, pm_parts parts);

pm_parts pm_trial_total(const struct pm_trial *trial);
pm_parts pm_trial_held(const struct pm_trial *trial); /* sum of held lines */
/* Neat parts of one line: parts x strength, rounded half up to a micro-part. */
pm_parts pm_line_neat(const struct pm_line *line);
/* The same in pico-parts, for showing: a trace at 0.1 % does not vanish. */
pm_fine pm_line_neat_fine(const struct pm_line *line);
/* Its number in the core's ratio over its strength: what it weighs poured. In a core only. */
struct pm_weight pm_line_poured(const struct pm_line *line);
/* "A".."ZZ" for core 1..PM_CORE_MAX into buf[4]; "" for 0. Returns buf. */
char *pm_core_letter(int core, char *buf);

/* Verifies everything listed above. PM_DAMAGED with a sentence naming the line (by place, from 1)
 * and the rule. Tests call it after every step; the store calls it on what it loads. */
enum pm_status pm_trial_check(const struct pm_trial *trial, struct pm_error *err);

const char *pm_stance_word(enum pm_stance stance); /* "free" "held" "carrier"
                                                       "resting" */
const char *pm_mode_word(enum pm_mode mode);       /* "core" "share" "carrier" "open" */
bool pm_stance_from_word(const char *word, enum pm_stance *out);
bool pm_mode_from_word(const char *word, enum pm_mode *out);

#endif
