/* SPDX-License-Identifier: MIT */
/*
 * Rows of formulas, of their trials without the lines, and of revisions. The strings of a row
 * belong to the list it stands in, or to the arena it was read into.
 */
#ifndef PERMILLE_CORE_FORMULA_H
#define PERMILLE_CORE_FORMULA_H

#include "permille/base/amount.h"
#include "permille/base/arena.h"

struct pm_formula {
    int64_t id;
    const char *name; /* unique among formulas, case and accents ignored; holds no '/' */
    bool accord;      /* meant to be used inside others */
    bool set_aside;
    int64_t made_at;
    int64_t draft;        /* trial id of its draft */
    int64_t kept;         /* number of kept trials, so also the newest one's number */
    int64_t changed_at;   /* of its newest revision, or made_at */
    pm_parts base, total; /* of the draft */
    size_t lines;         /* of the draft */
};
struct pm_formulas {
    struct pm_formula *items;
    size_t count;
    struct pm_arena arena;
};

/* A trial's row without its lines. */
struct pm_trial_row {
    int64_t id, formula;
    int64_t number; /* 0 for the draft */
    int64_t parent; /* trial id it was started from; 0 */
    int64_t head;   /* revision whose state it shows; 0 before the first */
    int64_t made_at, kept_at;
    const char *note;  /* given when kept; NULL */
    const char *label; /* newest label; NULL */
    bool set_aside;
    pm_parts base, total;
    size_t lines;
};
struct pm_trial_rows {
    struct pm_trial_row *items;
    size_t count;
    struct pm_arena arena;
};

/* How often something was done with a trial. */
struct pm_trial_count {
    int64_t trial, count;
};
struct pm_trial_counts {
    struct pm_trial_count *items;
    size_t count;
    struct pm_arena arena;
};

/* What a revision is: a gesture, or a move of the head. */
struct pm_revision {
    int64_t id; /* unique in the library */
    int64_t formula;
    int64_t number; /* 1, 2, 3... within the formula */
    int64_t trial;  /* the draft row it belongs to (later perhaps kept) */
    int64_t parent; /* revision it was made on; 0 for the first */
    int64_t target; /* undo/redo: the gesture undone or redone; else 0 */
    int64_t at;
    const char
        *gesture; /* pm_gesture_word or "restore"; or, without a change, "undo" "redo" "keep" */
    const char *sentence;
    const char *change; /* pm_change text; NULL for undo, redo, keep, and in lists */
    bool undone;        /* a gesture that is not on the way to the draft's head */
};
struct pm_revisions {
    struct pm_revision *items;
    size_t count;
    struct pm_arena arena;
};

#endif
