/* SPDX-License-Identifier: MIT */
/*
 * Verbs: what a person does in more than one room, told once. A verb gives id, name, keys, help and
 * group; rows of the rooms' tables (action.h) name it and say only what differs there. So a key
 * that means "undo" or "mark" means it in every room, and changing it takes one line.
 */
#ifndef PERMILLE_TUI_VERBS_H
#define PERMILLE_TUI_VERBS_H

enum pm_verb {
    PM_VERB_NONE,
    PM_VERB_OPEN,
    PM_VERB_ADD,
    PM_VERB_DROP,
    PM_VERB_ASIDE,
    PM_VERB_MARK,
    PM_VERB_SEARCH,
    PM_VERB_COMPARE,
    PM_VERB_ABOUT,
    PM_VERB_HISTORY,
    PM_VERB_UNDO,
    PM_VERB_REDO,
    PM_VERB_RETRY,
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
    const char *help, *group; /* NULL where every row says its own */
};

/* By enum pm_verb. */
extern const struct pm_verb_row pm_verbs[PM_VERBS];

#endif
