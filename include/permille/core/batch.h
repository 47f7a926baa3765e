/* SPDX-License-Identifier: MIT */
/*
 * A batch: a mass of a kept trial that is planned, weighed, finished or given up. What happened to
 * it is never changed; the newest event that is no note tells how it stands.
 */
#ifndef PERMILLE_CORE_BATCH_H
#define PERMILLE_CORE_BATCH_H

#include "permille/base/amount.h"
#include "permille/base/arena.h"
#include "permille/base/clock.h"
#include "permille/core/entity.h"

enum pm_batch_state {
    PM_BATCH_PLANNED,
    PM_BATCH_STARTED,
    PM_BATCH_PAUSED,
    PM_BATCH_FINISHED,
    PM_BATCH_GIVEN_UP,
    PM_BATCH_NOTE /* of an event only: something said about it */
};
const char *pm_batch_word(enum pm_batch_state state); /* "given up" */
bool pm_batch_from_word(const char *word, enum pm_batch_state *out);
/* Finished or given up: it asks for nothing any more. */
bool pm_batch_over(enum pm_batch_state state);

/* Strings belong to the list or arena they were read into. */
struct pm_batch {
    int64_t id, trial; /* trial: a kept one */
    pm_mass mass;
    pm_day day;          /* meant for; PM_NO_DAY: some time */
    const char *note;    /* or NULL */
    const char *made_by; /* who weighs it; NULL: the person themself */
    int64_t made_at;     /* when it was entered */
    enum pm_batch_state state;
    /* Filled by the studio. */
    const char *title; /* "Name/3" */
    int64_t formula, number;
};
struct pm_batches {
    struct pm_batch *items;
    size_t count;
    struct pm_arena arena;
};

struct pm_batch_event {
    int64_t id, batch;
    enum pm_batch_state kind;
    int64_t at;
    const char *text; /* or NULL */
};

/* What is typed when a batch is planned. */
enum pm_batch_attribute {
    PM_BATCH_OF_TRIAL,
    PM_BATCH_OF_MASS,
    PM_BATCH_OF_DAY,
    PM_BATCH_OF_NOTE,
    PM_BATCH_ATTRIBUTES
};
extern const struct pm_entity pm_batch_entity;

#endif
