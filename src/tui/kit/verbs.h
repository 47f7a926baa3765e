/* SPDX-License-Identifier: MIT */
/*
 * Verbs: what a person does in more than one room, told once. A verb gives id, name, keys, help and
 * group; rows of the rooms' tables (action.h) name it and say only what differs there. So a key
 * that means "undo" or "mark" means it in every room, and changing it takes one line.
 *
 * A key means one verb, or one action, in all rooms; tests/screen/test_verbs.c proves it. Whoever
 * needs a key for something new looks into verbs.c first: what it does, in words as wide as there,
 * is most likely a verb already. Digits and . , = * ( are nobody's: they begin a number.
 */
#ifndef PERMILLE_TUI_VERBS_H
#define PERMILLE_TUI_VERBS_H

enum pm_verb {
    PM_VERB_NONE,
    /* on what is selected */
    PM_VERB_OPEN,
    PM_VERB_ADD,
    PM_VERB_NEW,
    PM_VERB_DROP,
    PM_VERB_EMPTY,
    PM_VERB_EDIT,
    PM_VERB_WORDS,
    PM_VERB_MARK,
    PM_VERB_RAISE,
    PM_VERB_LESS,
    PM_VERB_SWAP,
    PM_VERB_HOLD,
    PM_VERB_STRENGTH,
    PM_VERB_OWN,
    PM_VERB_JOIN,
    PM_VERB_LEVEL,
    PM_VERB_FILL,
    PM_VERB_ABOUT,
    /* on the list, or the room */
    PM_VERB_SEARCH,
    PM_VERB_FILTER,
    PM_VERB_HIDDEN,
    PM_VERB_SORT,
    PM_VERB_VIEW,
    PM_VERB_BESIDE,
    PM_VERB_COMPARE,
    PM_VERB_PAPER,
    PM_VERB_PRINT,
    PM_VERB_SETUP,
    PM_VERB_HISTORY,
    /* back and forth */
    PM_VERB_UNDO,
    PM_VERB_REDO,
    PM_VERB_RETRY,
    /* formulas */
    PM_VERB_FORMULAS,
    PM_VERB_NEW_FORMULA,
    PM_VERB_THIS_FORMULA,
    PM_VERB_KEEP,
    PM_VERB_BRANCH,
    PM_VERB_COST,
    PM_VERBS
};

struct pm_verb_row {
    const char *id, *name, *keys;
    const char *help;  /* what it does; where rows say their own, as wide as all of them together */
    const char *group; /* NULL where every row says its own, and its help */
    const char *also;  /* other words that people look for it by; "": none */
};

/* By enum pm_verb. */
extern const struct pm_verb_row pm_verbs[PM_VERBS];

#endif
