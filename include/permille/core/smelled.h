/* SPDX-License-Identifier: MIT */
/*
 * Rows of the smell log: what was put on to be smelled, and what was smelled of it. The strings of
 * a row belong to the list it stands in, or to the arena it was read into.
 */
#ifndef PERMILLE_CORE_SMELLED_H
#define PERMILLE_CORE_SMELLED_H

#include "permille/base/amount.h"
#include "permille/base/arena.h"
#include "permille/core/entity.h"

enum pm_medium { PM_ON_BLOTTER, PM_ON_SKIN, PM_ON_OTHER };
#define PM_MEDIA 3
const char *pm_medium_word(enum pm_medium medium); /* "blotter" "skin" "other" */
bool pm_medium_from_word(const char *word, enum pm_medium *out);

/* Something put on a blotter or on skin. */
struct pm_application {
    int64_t id;
    int64_t trial; /* a kept one */
    enum pm_medium medium;
    pm_strength strength; /* of the trial in what was applied; 0: not noted */
    int64_t applied_at;
    int64_t ago;          /* only as typed of a new one: put on so many seconds ago; -1 */
    const char *schedule; /* as pm_schedule_read takes it */
    const char *note;     /* or NULL */
    int64_t ended_at;     /* 0: running */
    int64_t made_at;
    int64_t formula, number; /* read only: of the trial */
};
struct pm_applications {
    struct pm_application *items; /* first applied first */
    size_t count;
    struct pm_arena arena;
};

/* What is typed when it is put on; arrays of values are indexed by it. */
enum pm_session_attribute {
    PM_SESSION_TRIAL,
    PM_SESSION_MEDIUM,
    PM_SESSION_STRENGTH,
    PM_SESSION_AGO,
    PM_SESSION_WHEN,
    PM_SESSION_SCHEDULE,
    PM_SESSION_NOTE,
    PM_SESSION_ATTRIBUTES
};
extern const struct pm_entity pm_session_entity;

/* A smell note. Notes are never changed; a correction is a new one that names the old one. */
struct pm_smell {
    int64_t id;
    int64_t trial;       /* a kept one */
    int64_t application; /* 0: none */
    enum pm_medium medium;
    pm_strength strength; /* 0: not noted */
    int64_t since;        /* seconds after it was applied */
    int intensity;        /* 0..PM_INTENSITY_MAX; -1: not noted */
    int liking;           /* 0..PM_LIKING_MAX; -1: not noted */
    const char *note;     /* or NULL */
    const char *assessor; /* NULL: the person themself */
    int64_t at;           /* when it was smelled */
    int64_t entered_at;   /* filled by insert */
    int64_t corrects;     /* 0: none */
    bool withdrawn;       /* it takes the corrected entry back */
    int64_t corrected_by; /* read only; 0: it stands */
    int64_t number;       /* read only: of the trial within its formula */
};
struct pm_smells {
    struct pm_smell *items;
    size_t count;
    struct pm_arena arena;
};

/* What is typed of a note. */
enum pm_smell_attribute {
    PM_SMELL_INTENSITY,
    PM_SMELL_NOTE,
    PM_SMELL_LIKING,
    PM_SMELL_SINCE,
    PM_SMELL_TRIAL,
    PM_SMELL_MEDIUM,
    PM_SMELL_STRENGTH,
    PM_SMELL_ASSESSOR,
    PM_SMELL_WHEN,
    PM_SMELL_SESSION,
    PM_SMELL_CORRECTS,
    PM_SMELL_ATTRIBUTES
};
extern const struct pm_entity pm_smell_entity;

#define PM_SMELL_NOTE_MAX 65536 /* bytes */
#define PM_LIKING_MAX     10    /* 0 cannot bear it, 5 neither, 10 loves it */

#endif
