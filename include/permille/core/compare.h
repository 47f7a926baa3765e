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

struct pm_compare_row {
    enum pm_line_kind kind;
    int64_t ref;                    /* material, or for accords the formula id given by accord_of */
    bool there[PM_COMPARE_MAX];     /* stands in that trial */
    pm_fine poured[PM_COMPARE_MAX]; /* pico-parts, rescaled to the first trial's base */
    pm_fine neat[PM_COMPARE_MAX];
    enum pm_change_word change; /* of the last trial against the first, in the measure chosen; on
                                   different bases a micro-part of either tells nothing apart */
    int64_t factor_ppm;         /* last / first x 1e6 in that measure; 0 when either is 0 */
};

struct pm_compare {
    struct pm_compare_row *rows; /* owned; in order of the first trial, then of later ones */
    size_t count;
    size_t trials;
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
