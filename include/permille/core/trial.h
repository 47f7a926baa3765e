/* SPDX-License-Identifier: MIT */
/*
 * A trial: the numbered version of a formula that the arithmetic works on. Pure data, no names, no
 * file: materials, solvents and accords are ids which the studio resolves.
 *
 * What always holds (pm_trial_check verifies it):
 *   - line ids are positive, unique, below next_id, and stay with their line through every gesture;
 *   - parts are 0 .. PM_PARTS_MAX; strength is 1 .. PM_NEAT; a line has a solvent exactly when its
 *     strength is below neat; accord lines are neat;
 *   - at most one line is the carrier, and it stands in no core;
 *   - a core has two lines or more, weights of 1 .. PM_WEIGHT_MAX, one stance for all its lines
 *     (a held line of a core holds the whole core), and parts within one micro-part of the exact
 *     ratio of their sum;
 *   - a settled trial in share or carrier mode sums to exactly its base.
 */
#ifndef PERMILLE_CORE_TRIAL_H
#define PERMILLE_CORE_TRIAL_H

#include "permille/base/amount.h"
#include "permille/base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum pm_stance {
    PM_FREE,   /* gives way in proportion */
    PM_HELD,   /* stands still when others change */
    PM_CARRIER /* in carrier mode takes what the others leave; in share mode it is free */
};

enum pm_mode {
    PM_SHARE,        /* free units give way in proportion */
    PM_CARRIER_MODE, /* only the carrier gives way */
    PM_OPEN          /* nothing gives way */
};

enum pm_line_kind {
    PM_LINE_MATERIAL, /* ref is a material's id */
    PM_LINE_ACCORD    /* ref is the id of an accord's kept trial */
};

#define PM_CORE_MAX   702 /* cores are numbered 1.., shown as A..Z, AA..ZZ; 0 = in no core */
#define PM_WEIGHT_MAX INT64_C(1000000000000)

struct pm_line {
    int64_t id; /* see above; 0 in a line not yet added */
    enum pm_line_kind kind;
    int64_t ref;          /* what it is: material id or kept trial id */
    pm_strength strength; /* of the material as poured */
    int64_t solvent;      /* material id of the solvent; 0 when neat */
    pm_parts parts;       /* as poured, in the trial's base */
    enum pm_stance stance;
    int core;       /* 0 or the number of its core */
    int64_t weight; /* its integer in the core's ratio; 0 outside cores */
    char *comment;  /* owned; NULL when there is none */
};

struct pm_trial {
    pm_parts base; /* the total it is written to; 1 .. PM_PARTS_MAX */
    enum pm_mode mode;
    bool settled;          /* its total has reached the base once (see design: filling) */
    int64_t parent;        /* id of the kept trial it was started from; 0 for none */
    int64_t next_id;       /* for the next line added; starts at 1 */
    struct pm_line *lines; /* owned; in the order shown */
    size_t count, capacity;
};

/* An empty, unsettled trial. */
void pm_trial_init(struct pm_trial *trial, pm_parts base, enum pm_mode mode);
void pm_trial_release(struct pm_trial *trial);
/* Deep copy into an uninitialised `copy`. PM_NOMEM leaves copy initialised and empty. */
enum pm_status pm_trial_copy(const struct pm_trial *trial, struct pm_trial *copy,
                             struct pm_error *err);
/* Appends a copy of *line (comment duplicated) at `place` (0..count; larger means the end), giving
 * it the next id when its id is 0. Only data: nothing is re-balanced. */
enum pm_status pm_trial_insert(struct pm_trial *trial, size_t place, const struct pm_line *line,
                               struct pm_error *err);
void pm_trial_remove(struct pm_trial *trial, size_t place);
/* Place of the line with this id, or -1. */
long pm_trial_find(const struct pm_trial *trial, int64_t id);
bool pm_trial_equal(const struct pm_trial *a,
                    const struct pm_trial *b); /* every field, comments too */

pm_parts pm_trial_total(const struct pm_trial *trial);
pm_parts pm_trial_held(const struct pm_trial *trial); /* sum of held lines */
/* Neat parts of one line: parts x strength, rounded half up to a micro-part. */
pm_parts pm_line_neat(const struct pm_line *line);
/* The same in pico-parts, for showing: a trace at 0.1 % does not vanish. */
pm_fine pm_line_neat_fine(const struct pm_line *line);
/* "A".."ZZ" for core 1..PM_CORE_MAX into buf[4]; "" for 0. Returns buf. */
char *pm_core_letter(int core, char *buf);

/* Verifies everything listed above. PM_DAMAGED with a sentence naming the line (by place, from 1)
 * and the rule. Tests call it after every step; the store calls it on what it loads. */
enum pm_status pm_trial_check(const struct pm_trial *trial, struct pm_error *err);

const char *pm_stance_word(enum pm_stance stance); /* "free" "held" "carrier" */
const char *pm_mode_word(enum pm_mode mode);       /* "share" "carrier" "open" */
bool pm_stance_from_word(const char *word, enum pm_stance *out);
bool pm_mode_from_word(const char *word, enum pm_mode *out);

#endif
