/* SPDX-License-Identifier: MIT */
/*
 * Series: trials made to be compared. Rows, and the arithmetic of laying one out. The strings of a
 * row belong to the list it stands in, or to the arena it was read into.
 */
#ifndef PERMILLE_CORE_SERIES_H
#define PERMILLE_CORE_SERIES_H

#include "permille/base/amount.h"
#include "permille/base/arena.h"
#include "permille/base/status.h"
#include "permille/base/text.h"
#include "permille/core/mixture.h"
#include "permille/core/trial.h"

#include <stdbool.h>
#include <stddef.h>

enum pm_series_kind { PM_SERIES_LADDER, PM_SERIES_LEAVE_OUT, PM_SERIES_RATIOS };
const char *pm_series_word(enum pm_series_kind kind); /* "ladder" "leave-out" "ratios" */
bool pm_series_from_word(const char *word, enum pm_series_kind *out);

struct pm_series_row {
    int64_t id;
    const char *name; /* unique among series, case and accents ignored */
    enum pm_series_kind kind;
    int64_t formula;
    const char *what;   /* names of the lines it is about, one per row of text */
    const char *bounds; /* ratios: as the store keeps them; else NULL */
    int64_t panel;      /* blind test of all its trials; 0 */
    int64_t made_at;
    int64_t trials, ratings; /* read only: how many there are */
};
struct pm_series_rows {
    struct pm_series_row *items; /* newest first */
    size_t count;
    struct pm_arena arena;
};

struct pm_series_trial {
    int64_t trial;
    int64_t amount;      /* ladder: parts of the line; -1 */
    const char *ratio;   /* ratios: "4:0:1", or NULL */
    const char *omitted; /* leave-out: what it lacks; NULL: it has all */
    int64_t panel;       /* its own blind test; 0 */
    int64_t number;      /* read only: of the trial within its formula */
};
struct pm_series_trials {
    struct pm_series_trial *items; /* in the order made */
    size_t count;
    struct pm_arena arena;
};

#define PM_RATING_MOST INT64_C(1000000000) /* 1000, in 1e-6 */
struct pm_rating {
    int64_t id, series, trial;
    int64_t value; /* 1e-6; -1: takes the corrected one back */
    int64_t at;
    int64_t corrects; /* 0: none */
};
struct pm_ratings {
    struct pm_rating *items; /* those that stand, in the order given */
    size_t count;
    struct pm_arena arena;
};

/* A smell note that says when a material was gone. */
struct pm_calibration {
    int64_t id, smell, material;
    int64_t remaining; /* 1e-9 of its start that counts as gone */
    int64_t at;
    int64_t trial; /* read only: of the note */
};

/* ---- laying one out -------------------------------------------------------------------------- */

#define PM_SERIES_TRIALS_MOST 50

/* Doses from `from` to `to` (0 < from < to), both met exactly, those between rounded to three
 * digits: in equal ratios, or in equal steps. PM_INVALID; 2..PM_SERIES_TRIALS_MOST doses. */
enum pm_status pm_ladder_doses(pm_parts from, pm_parts to, size_t count, bool equal_steps,
                               pm_parts *out, struct pm_error *err);

/*
 * `before` with the chosen lines in another neat ratio, their poured sum and all other lines as
 * they were. Lines of a core leave it; those that get a part (two or more) then form one, those
 * that get none are dropped. The new trial goes into the uninitialised `after`. PM_REFUSED when a
 * line rests, is the carrier of carrier mode, the lines have no parts, or one of a core is not
 * chosen.
 */
enum pm_status pm_ratio_content(const struct pm_trial *before, const int64_t *lines, size_t count,
                                const int64_t *ratio, struct pm_trial *after, struct pm_error *err);

/* "4:0:1" and back; PM_INVALID for another number of parts than `count`. */
void pm_mix_point_format(const struct pm_mix_point *point, size_t count, struct pm_text *out);
enum pm_status pm_mix_point_read(const char *text, size_t count, struct pm_mix_point *out,
                                 struct pm_error *err);

#endif
