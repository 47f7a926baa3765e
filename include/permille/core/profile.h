/* SPDX-License-Identifier: MIT */
/*
 * Profile of a formula: how it divides into odour families and into classes of volatility, and
 * whether that stays below the person's own ceilings. An accord that is full of musk or wood paints
 * the perfume it goes into in a corner (common practice, no source): a ceiling says so in time.
 *
 * Shares are of all that is no solvent, by neat mass, accords and dilutions resolved. What has no
 * family, or no figure of volatility, is a group of its own: it counts against no ceiling, but
 * while it could break one the verdict is "unknown", never "within".
 */
#ifndef PERMILLE_CORE_PROFILE_H
#define PERMILLE_CORE_PROFILE_H

#include "permille/base/amount.h"
#include "permille/base/arena.h"
#include "permille/base/status.h"
#include "permille/core/column.h"

enum pm_profile_kind { PM_BY_FAMILY, PM_BY_VOLATILITY };
#define PM_PROFILE_KINDS 2

/* How much of something a formula, or every formula, may hold. */
struct pm_ceiling {
    int64_t id;
    int64_t formula; /* 0: every formula that has none of its own for this name */
    enum pm_profile_kind kind;
    const char *name; /* a family, or "top" "heart" "base" */
    int64_t most;     /* share, 1e-12; above 0, at most PM_WHOLE */
};
struct pm_ceilings {
    struct pm_ceiling *items; /* those for every formula first, then by formula and name */
    size_t count;
    struct pm_arena arena;
};

enum pm_ceiling_verdict {
    PM_CEILING_NONE, /* none was set */
    PM_CEILING_WITHIN,
    PM_CEILING_UNKNOWN, /* within so far as is known, over if the unknown were all of this */
    PM_CEILING_OVER
};

struct pm_profile_group {
    enum pm_profile_kind kind;
    const char *name;                 /* NULL: no family, or no figure */
    pm_int128 amount;                 /* any unit, the same in all groups of a kind */
    int64_t share;                    /* 1e-12, to the nearest */
    const struct pm_ceiling *ceiling; /* or NULL */
    enum pm_ceiling_verdict verdict;
};

/* Fills share, ceiling and verdict of the groups of one kind from their amounts; judged exactly,
 * not from the rounded share. Amounts are at least 0 and together at most 2^96. Returns how many
 * are over. */
size_t pm_profile_judge(struct pm_profile_group *groups, size_t count, int64_t formula,
                        const struct pm_ceilings *ceilings);

/* "" "within" "unknown" "over"; static. */
const char *pm_ceiling_word(enum pm_ceiling_verdict verdict);
/* "family" "volatility"; static. */
const char *pm_profile_kind_word(enum pm_profile_kind kind);
bool pm_profile_kind_from_word(const char *word, enum pm_profile_kind *out);

#endif
