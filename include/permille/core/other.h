/* SPDX-License-Identifier: MIT */
/*
 * What another library holds, item by item, and how each stands to what is here. What makes two of
 * them the same is told in store/other.h.
 */
#ifndef PERMILLE_CORE_OTHER_H
#define PERMILLE_CORE_OTHER_H

#include "permille/base/amount.h"
#include "permille/base/arena.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum pm_other_kind {
    PM_OTHER_FORMULA,
    PM_OTHER_MATERIAL,
    PM_OTHER_BOTTLE,
    PM_OTHER_BATCH,
    PM_OTHER_FILLING,
    PM_OTHER_SESSION, /* what was applied: smelled on a blotter or skin over time */
    PM_OTHER_SMELL,   /* a smell note with its corrections */
    PM_OTHER_PANEL,   /* a blind test */
    PM_OTHER_SERIES,
    PM_OTHER_RULES, /* a set of limit rules, or one's own figures under a set's name */
    PM_OTHER_BALANCE,
    PM_OTHER_CEILING, /* a ceiling for all formulas; one for a formula comes with it */
    PM_OTHER_RATE,    /* what a currency was worth */
    PM_OTHER_KINDS
};

/* How it stands to what is here. */
enum pm_other_state {
    PM_OTHER_NEW,    /* nothing here is it */
    PM_OTHER_SAME,   /* it is here, and says the same */
    PM_OTHER_ASIDE,  /* it is here and says the same, but was put out of sight here */
    PM_OTHER_MORE,   /* it is here, and theirs went on from where ours ends */
    PM_OTHER_LESS,   /* it is here, and ours went on from where theirs ends */
    PM_OTHER_FORKED, /* it is here, and both went on, each its own way */
    PM_OTHER_DIFFERS,
    PM_OTHER_TAKEN /* another one here has its name */
};

struct pm_other_item {
    enum pm_other_kind kind;
    int64_t id;   /* its number there */
    int64_t mine; /* the number here of what it is, or of what has its name; 0: none */
    enum pm_other_state state;
    const char *name;   /* its own, or that of what it is about: of a formula, a material, a set */
    const char *detail; /* a word or note that tells it from others, or NULL */
    int64_t number;     /* of the trial it is about; 0: none */
    pm_mass mass;       /* of a batch, a filling; 0 */
    int64_t at;         /* when; 0: it has no time */
    bool accord;        /* a formula meant for use in others */
    bool number_taken;  /* a new bottle, but another one here has its number */
    int64_t theirs_more, mine_more; /* revisions, movements, events, answers that only one has */
    int64_t trials_more;            /* of a formula: kept trials that only theirs has */
    int64_t gestures_left;          /* on the draft there: they stay when it forked or is apart */
    bool apart; /* a formula whose gestures stand here in another order, since both took
                   from each other: trials are added, the draft here stays */
};
struct pm_other_items {
    struct pm_other_item *items; /* by kind, then by name */
    size_t count;
    struct pm_arena arena;
};

/* What has no counterpart here and has to come along: `on` is needed by the item. */
struct pm_other_need {
    enum pm_other_kind kind, on_kind;
    int64_t id, on;
};
struct pm_other_needs {
    struct pm_other_need *items; /* by kind and id */
    size_t count;
    struct pm_arena arena;
};
/* One field in which an item differs from what is here. */
enum pm_other_form { /* how its numbers are to be read */
                     PM_OTHER_TEXT,
                     PM_OTHER_NUMBER,
                     PM_OTHER_FRACTION, /* 1e-9 */
                     PM_OTHER_SHARE,    /* 1e-12 */
                     PM_OTHER_MASS,
                     PM_OTHER_MONEY,
                     PM_OTHER_DAY,
                     PM_OTHER_TIME,
                     PM_OTHER_YES_NO
};
struct pm_other_field {
    const char *field;         /* in words: "best before" */
    const char *fact;          /* of a property of a material: its word (core/fact.h); else NULL */
    enum pm_other_form form;   /* of numbers; a value that is no number is text */
    const char *mine, *theirs; /* NULL: not said */
};
struct pm_other_fields {
    struct pm_other_field *items;
    size_t count;
    struct pm_arena arena;
};
/* An item that comes in. */
struct pm_other_choice {
    enum pm_other_kind kind;
    int64_t id;
    /* As one of its own, although it or its name is here; else what is here goes on (FORKED: its
     * kept trials become the next ones here, MORE: everything), or comes back into sight. */
    bool second;
    const char *name; /* to call it by; NULL: its own. Of formulas, materials, tests, series,
                         balances, sets of rules */
    int64_t number; /* of a bottle: the number it gets; 0: its own where it is free, or the next */
};
/* "formula", "smell note"; plural: "formulas". */
const char *pm_other_kind_word(enum pm_other_kind kind, bool plural);
/* The word of schema/json/import-library.schema.json, which stays: "limit rules". */
const char *pm_other_kind_code(enum pm_other_kind kind);
/* By the word, in either number; false: none. */
bool pm_other_kind_from_word(const char *word, size_t length, enum pm_other_kind *out);
/* "new", "same", "put away here", "goes on", "goes on here", "both went on", "differs",
 * "name taken". */
const char *pm_other_state_word(enum pm_other_state state);

/* What is to become of an item. */
enum pm_other_how {
    PM_OTHER_LEAVE,
    PM_OTHER_TAKE,  /* a new one comes in; one that is here goes on, or comes back into sight */
    PM_OTHER_SECOND /* comes in beside the one here */
};
const char *pm_other_how_word(enum pm_other_how how); /* "leave", "take", "second" */
/* Before anything was said: what is new or goes on is taken, nothing else. */
enum pm_other_how pm_other_usual(const struct pm_other_item *item);
/* Whether it can be done; *why (may be NULL) receives a sentence where it cannot. */
bool pm_other_can(const struct pm_other_item *item, enum pm_other_how how, const char **why);

/* What is wished of each item, and what follows from that. */
struct pm_other_wish {
    enum pm_other_how how;   /* as wished */
    enum pm_other_how comes; /* as it will be: at least what others need */
    size_t needed_by;        /* place of an item that needs it though it was not wished; SIZE_MAX */
};
/* Works out `comes` and `needed_by` of all. PM_NOMEM. */
enum pm_status pm_other_follow(const struct pm_other_items *items,
                               const struct pm_other_needs *needs, struct pm_other_wish *wishes,
                               struct pm_error *err);

#endif
