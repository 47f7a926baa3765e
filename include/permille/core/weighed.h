/* SPDX-License-Identifier: MIT */
/*
 * Rows of the scale: balances, the plans of a batch and their lines, what was poured, fillings.
 * Plain rows: the store fills them, the studio adds what it works out.
 */
#ifndef PERMILLE_CORE_WEIGHED_H
#define PERMILLE_CORE_WEIGHED_H

#include "permille/base/amount.h"
#include "permille/base/arena.h"
#include "permille/base/clock.h"
#include "permille/core/entity.h"
#include "permille/core/weighing.h"

/* Strings belong to the list or arena they were read into. */
struct pm_balance_row {
    int64_t id;
    const char *name;
    struct pm_balance is;
    int64_t made_at;
    bool in_use; /* filled by the studio */
};
struct pm_balance_rows {
    struct pm_balance_row *items; /* by name */
    size_t count;
    struct pm_arena arena;
};
/* What is typed of a balance; arrays of values are indexed by it. */
enum pm_balance_attribute {
    PM_BALANCE_NAME,
    PM_BALANCE_READABILITY,
    PM_BALANCE_REPEATABILITY,
    PM_BALANCE_LEAST,
    PM_BALANCE_CAPACITY,
    PM_BALANCE_ATTRIBUTES
};
extern const struct pm_entity pm_balance_entity;

/* What a batch is weighed from, the newest one counts. */
struct pm_batch_plan {
    int64_t id, batch;
    const char *balance_name; /* or NULL */
    struct pm_balance balance;
    pm_strength tolerance;
    bool cumulative;
    const char *way; /* "planned", or the way out of an over-pour (core/rescue.h) */
    int64_t at;
    pm_mass target; /* of a list: all its lines */
};
struct pm_batch_line {
    int64_t place, line, material;
    int64_t bottle; /* 0: none was on the shelf */
    pm_strength strength;
    int64_t solvent; /* 0 when neat */
    pm_mass target;
};
struct pm_batch_plans {
    struct pm_batch_plan *items; /* in the order made; the last one counts */
    size_t count;
    struct pm_arena arena;
};
struct pm_batch_lines {
    struct pm_batch_line *items; /* by place */
    size_t count;
    struct pm_arena arena;
};
struct pm_batch_pour {
    int64_t id, batch, place;
    int64_t bottle; /* 0: from none on the shelf */
    pm_mass mass;
    int64_t movement; /* 0: from no bottle, or nothing */
    int64_t corrects; /* the pour it takes the place of; 0 */
    const char *note; /* or NULL */
    int64_t at;
    bool in_force;              /* of a list: not corrected by another */
    const char *lot, *supplier; /* of the bottle; filled by the studio, or NULL */
};
struct pm_batch_pours {
    struct pm_batch_pour *items; /* in the order entered */
    size_t count;
    struct pm_arena arena;
};
struct pm_batch_events {
    struct pm_batch_event *items; /* in the order entered */
    size_t count;
    struct pm_arena arena;
};

struct pm_filling_row {
    int64_t id, batch; /* batch 0: of something else */
    pm_mass concentrate, ethanol, water, other;
    pm_strength at_hand;
    int64_t bottles; /* -1: not counted */
    pm_day filter_on, ready_on;
    const char *note; /* or NULL */
    int64_t at;
    int64_t filtered_at, matured_at; /* 0: not yet, as far as events say (pm_filling_apply) */
    const char *title;               /* of the batch's trial; filled by the studio, or NULL */
};
struct pm_filling_rows {
    struct pm_filling_row *items; /* newest first */
    size_t count;
    struct pm_arena arena;
};

/* What happened to a filling since. */
enum pm_filling_event_kind {
    PM_FILLING_FILTERED,
    PM_FILLING_MATURED,
    PM_FILLING_FILTER_ON, /* another day for it, also after it was done once */
    PM_FILLING_READY_ON,
    PM_FILLING_EVENT_KINDS
};
const char *pm_filling_event_word(enum pm_filling_event_kind kind); /* "filter on" */
bool pm_filling_event_from_word(const char *word, enum pm_filling_event_kind *out);
struct pm_filling_event {
    int64_t id, filling;
    enum pm_filling_event_kind kind;
    pm_day day;       /* of the last two; PM_NO_DAY: none any more */
    const char *note; /* or NULL */
    int64_t at;
};
struct pm_filling_events {
    struct pm_filling_event *items; /* in the order entered */
    size_t count;
    struct pm_arena arena;
};
/* The days of a filling, and whether they are done with, as they are after an event. */
void pm_filling_apply(struct pm_filling_row *row, const struct pm_filling_event *event);

#endif
