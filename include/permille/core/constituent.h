/* SPDX-License-Identifier: MIT */
/*
 * What a natural holds: a substance and how much of it, by mass. Strings belong to the list or
 * arena they were read into.
 */
#ifndef PERMILLE_CORE_CONSTITUENT_H
#define PERMILLE_CORE_CONSTITUENT_H

#include "permille/base/amount.h"
#include "permille/base/arena.h"
#include "permille/core/entity.h"
#include "permille/core/fact.h"

struct pm_constituent {
    enum pm_origin origin;
    int64_t substance; /* read only: found by name and number when it is put */
    const char *name;
    const char *cas;              /* the first of the substance's; or NULL */
    int64_t least, typical, most; /* mass fractions in 1e-9; -1: unknown */
    const char *source;           /* or NULL */
    enum pm_confidence confidence;
};
struct pm_constituents {
    struct pm_constituent
        *items; /* own ones first: then they alone count; each origin in its order */
    size_t count;
    struct pm_arena arena;
};

/* What is typed of one; arrays of values are indexed by it. */
enum pm_constituent_attribute {
    PM_CONSTITUENT_NAME,
    PM_CONSTITUENT_CAS,
    PM_CONSTITUENT_LEAST,
    PM_CONSTITUENT_TYPICAL,
    PM_CONSTITUENT_MOST,
    PM_CONSTITUENT_SOURCE,
    PM_CONSTITUENT_ATTRIBUTES
};
extern const struct pm_entity pm_constituent_entity;

#endif
