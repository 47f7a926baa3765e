/* SPDX-License-Identifier: MIT */
/*
 * Side by side: two to four trials, lines matched by material even when order, strength or nesting
 * differ.
 */
#ifndef PERMILLE_CORE_COMPARE_H
#define PERMILLE_CORE_COMPARE_H

#include "permille/base/status.h"
#include "permille/core/flatten.h"
#include "permille/core/trial.h"

#define PM_COMPARE_MAX 4

enum pm_compare_by {
    PM_BY_POURED, /* parts as poured: lines of one material at different strengths are added up */
    PM_BY_NEAT,   /* neat parts of the lines as written, accords as one row */
    PM_BY_FLAT    /* accords and dilutions resolved */
};

enum pm_change_word { PM_SAME, PM_MORE, PM_LESS, PM_ADDED, PM_GONE };

/* Every trial is judged against the first one; entry 0 says "same", factor 1. A row that stands in
 * neither of the two is PM_SAME as well. */
struct pm_compare_row {
    enum pm_line_kind kind;
    int64_t ref;                    /* material, or for accords the formula id given by accord_of */
    bool there[PM_COMPARE_MAX];     /* stands in that trial */
    bool resting[PM_COMPARE_MAX];   /* does so, and rests, whatever amount it had */
    pm_fine poured[PM_COMPARE_MAX]; /* pico-parts, rescaled to the first trial's base */
    pm_fine neat[PM_COMPARE_MAX];
    /* How it is poured: 0 where it does not stand (or, of solvents, where it is neat), PM_SEVERAL
     * where its lines differ. All 0 in the flat view. */
    int64_t strength[PM_COMPARE_MAX]; /* 1e-9 */
    int64_t solvent[PM_COMPARE_MAX];  /* material */
    int64_t version[PM_COMPARE_MAX];  /* of accords: the kept trial used; else 0 */
    enum pm_change_word change[PM_COMPARE_MAX];
    int64_t factor_ppm[PM_COMPARE_MAX]; /* x 1e6 in the measure chosen; 0 when either is 0 */
    bool in_step[PM_COMPARE_MAX];       /* moved, but only by the factor most rows moved by */
    bool other[PM_COMPARE_MAX];         /* same amount, another strength, solvent or accord trial */
    bool differs;                       /* not the same, or other, in some trial */
};

#define PM_SEVERAL (-1)

struct pm_compare {
    struct pm_compare_row *rows; /* owned; in order of the first trial, then of later ones */
    size_t count;
    size_t trials;
    /* In a settled trial one change makes the other lines give way, all by one factor. Where that
     * holds for half of what moved (or a quarter, if these are four rows or more), this is the
     * factor (x 1e6) against the first trial, and those rows are in step; else 0. */
    int64_t step_ppm[PM_COMPARE_MAX];
};

/* accord_of maps a kept trial's id to its formula's id, so that A/1 and A/2 meet in one row. */
struct pm_compare_names {
    int64_t (*accord_of)(void *context, int64_t trial_id);
    void *context;
};

/* PM_INVALID unless 2 <= count <= PM_COMPARE_MAX. Solvents brought by dilutions are rows only in
 * the flat view (where `poured` is neat and solvent together). */
enum pm_status pm_compare_trials(const struct pm_trial *const *trials, size_t count,
                                 enum pm_compare_by by, const struct pm_trial_source *source,
                                 const struct pm_compare_names *names, struct pm_compare *out,
                                 struct pm_error *err);
void pm_compare_release(struct pm_compare *compare);
const char *
pm_change_word_text(enum pm_change_word change); /* "same" "more" "less" "added" "gone" */

#endif
