/* SPDX-License-Identifier: MIT */
/*
 * Rows of blind tests. The strings of a row belong to the list it stands in, or to the arena it was
 * read into.
 */
#ifndef PERMILLE_CORE_BLIND_H
#define PERMILLE_CORE_BLIND_H

#include "permille/base/amount.h"
#include "permille/base/arena.h"
#include "permille/core/entity.h"
#include "permille/core/panel.h"

struct pm_panel_row {
    int64_t id;
    const char *name; /* unique among blind tests, case and accents ignored */
    enum pm_panel_kind kind;
    const char *question; /* or NULL */
    int expected;         /* paired: sample expected to be chosen; else -1 */
    pm_strength alpha;    /* 1e-9 */
    int64_t rounds;       /* answers planned */
    uint64_t seed;        /* of codes and orders */
    int64_t compared;     /* only as typed: the first of its trials; 0 */
    int64_t foretold;     /* only as typed: the trial expected to be chosen; 0 */
    int64_t made_at;
    int64_t closed_at;   /* 0: open */
    size_t sample_count; /* read only */
    int64_t answered;    /* read only: rounds that have an answer */
};
struct pm_panel_rows {
    struct pm_panel_row *items; /* newest first */
    size_t count;
    struct pm_arena arena;
};

/* What is typed of a blind test; arrays of values are indexed by it. */
enum pm_panel_attribute {
    PM_PANEL_NAME,
    PM_PANEL_KIND,
    PM_PANEL_TRIALS,
    PM_PANEL_ROUNDS,
    PM_PANEL_ALPHA,
    PM_PANEL_QUESTION,
    PM_PANEL_EXPECTED,
    PM_PANEL_SEED,
    PM_PANEL_ATTRIBUTES
};
extern const struct pm_entity pm_panel_entity;

/* Trials by their number as samples, from 0. */
struct pm_samples {
    int64_t *items;
    size_t count;
    struct pm_arena arena;
};

struct pm_serving {
    int64_t round, place; /* from 1 */
    int sample;           /* number of the sample, from 0: the key */
    int code;             /* 0: the open reference of a duo-trio */
};
struct pm_servings {
    struct pm_serving *items; /* by round and place */
    size_t count;
    struct pm_arena arena;
};

struct pm_panel_answer {
    int64_t id;
    int64_t round;
    const char *answer;   /* codes: "417"; ranking: "417 236=902" */
    const char *assessor; /* NULL: the person themself */
    int64_t at;
    int64_t corrects; /* 0: none */
    bool corrected;   /* read only: a newer one stands in its place */
};
struct pm_panel_answers {
    struct pm_panel_answer *items; /* in the order given, corrected ones too */
    size_t count;
    struct pm_arena arena;
};

#endif
