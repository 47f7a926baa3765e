/* SPDX-License-Identifier: MIT */
/*
 * Private: how a total is kept. A sheet holds one trial's lines grouped into units (a line outside
 * any core, or a whole core); an operation decides what each unit is to have and to weigh, then
 * pours that into the lines. The trial itself is only read: results are in the sheet until
 * pm_balance_write puts them there.
 */
#ifndef PERMILLE_SRC_CORE_BALANCE_H
#define PERMILLE_SRC_CORE_BALANCE_H

#include "apportion_wide.h"
#include "permille/base/status.h"
#include "permille/core/trial.h"

/* A line outside cores, or a core: what re-balancing gives parts to. */
struct pm_free_unit {
    pm_parts was, now;      /* what its lines sum to in the trial, and are to sum to */
    struct pm_weight share; /* what it is to weigh; nothing when it is held or rests */
    uint32_t first;         /* place of its first line; the others follow by sheet->next */
    uint32_t lines;         /* how many they are */
    bool held, resting;     /* as its lines are */
    bool reweighted;        /* its ratio changed: parts must follow even where the sum stays */
    bool reshared;          /* its share changed: its lines' must follow */
};

struct pm_balancing {
    const struct pm_trial *trial; /* borrowed; must not change while the sheet is open */
    void *block;                  /* all arrays below are in this one block */
    struct pm_free_unit *units;   /* in order of their first lines */
    size_t count;                 /* of units */
    uint32_t *next;               /* by place: the next line of the same unit, or PM_NO_NEXT */
    uint32_t *unit_of;            /* by place */
    pm_parts *parts;              /* by place: the result */
    pm_parts *shares;             /* scratch */
    struct pm_weight *weights;    /* scratch */
    pm_wide *aligned;             /* scratch */
    pm_wide *rest;                /* scratch */
    struct pm_weight scale;       /* the result */
    pm_parts total;               /* of the trial as it is */
    size_t carrier;               /* place of the carrier line, or PM_NO_PLACE */
    size_t fixed;                 /* place of a core's line whose parts are given, or PM_NO_PLACE */
    pm_parts fixed_parts;
};

#define PM_NO_NEXT  UINT32_MAX
#define PM_NO_PLACE SIZE_MAX

/* What an operation did beside the parts. */
struct pm_outcome {
    bool by_carrier;  /* the carrier took the difference */
    bool by_cores;    /* cores took it, and other lines stood */
    bool all_scaled;  /* every unit was scaled by one factor */
    pm_parts lacking; /* what a matching carrier could not give */
};

/* One block of memory, whatever the size. PM_NOMEM. */
enum pm_status pm_balance_open(struct pm_balancing *sheet, const struct pm_trial *trial,
                               struct pm_error *err);
void pm_balance_close(struct pm_balancing *sheet);
/* Parts, shares and scale into `trial`, which is the sheet's own. */
void pm_balance_write(const struct pm_balancing *sheet, struct pm_trial *trial);

/* Each of these leaves its result in the sheet, or refuses and leaves the sheet unusable but to
 * close. */

/* Line at `place` (which does not rest) to `parts`; its whole core with it. */
enum pm_status pm_balance_set(struct pm_balancing *sheet, size_t place, pm_parts parts,
                              struct pm_outcome *outcome, struct pm_error *err);
/* The core of the line at `place` follows its (new) ratio; its sum and share stay. */
enum pm_status pm_balance_reweigh(struct pm_balancing *sheet, size_t place,
                                  struct pm_outcome *outcome, struct pm_error *err);
/* The same for a core just formed: each line that has something keeps something. */
enum pm_status pm_balance_form(struct pm_balancing *sheet, size_t place, struct pm_outcome *outcome,
                               struct pm_error *err);
/* The unit of the line at `place` is about to go or to rest: to nothing. `rest` is the place of
 * some line of the core it just left, or PM_NO_PLACE. */
enum pm_status pm_balance_drop(struct pm_balancing *sheet, size_t place, size_t rest,
                               struct pm_outcome *outcome, struct pm_error *err);
/* The total to the base: the carrier, the cores, or the free units take the difference. */
enum pm_status pm_balance_settle(struct pm_balancing *sheet, struct pm_outcome *outcome,
                                 struct pm_error *err);
/* Everything, held lines too, from the trial's base to another. */
enum pm_status pm_balance_rescale(struct pm_balancing *sheet, pm_parts base,
                                  struct pm_outcome *outcome, struct pm_error *err);
/* Everything in proportion to sum to `total`; the trial's own total is > 0. Cores by their ratio.
 */
enum pm_status pm_balance_proportion(struct pm_balancing *sheet, pm_parts total,
                                     struct pm_error *err);
/* Same neat parts at another strength: the line at `place`, which has its new strength already. */
struct pm_restrength {
    size_t place;
    pm_strength was, now;
    bool carrier_matches; /* the carrier is neat and of the line's old or new solvent */
    bool move_held;
};
enum pm_status pm_balance_restrength(struct pm_balancing *sheet, const struct pm_restrength *change,
                                     struct pm_outcome *outcome, struct pm_error *err);

#endif
