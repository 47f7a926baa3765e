/* SPDX-License-Identifier: MIT */
/*
 * Verbs: what a person does in more than one room, told once. A verb gives id, name, keys, help and
 * group; rows of the rooms' tables (action.h) name it and say only what differs there. So a key
 * that means "undo" or "mark" means it in every room, and changing it takes one line.
 *
 * A key means one verb, or one action, in all rooms; tests/screen/test_verbs.c proves it. Whoever
 * needs a key for something new looks here first: what it does, in words as wide as these, is most
 * likely a verb already. Digits and . , = * ( are nobody's: they begin a number.
 */
#ifndef PERMILLE_TUI_VERBS_H
#define PERMILLE_TUI_VERBS_H

enum pm_verb {
    PM_VERB_NONE,
    /* on what is selected */
    PM_VERB_OPEN,     /* goes into it, shows it, opens its cell */
    PM_VERB_ADD,      /* adds to what is in front: a line, a bottle, a note, an answer */
    PM_VERB_NEW,      /* makes another that stands by itself: a material, a blotter, a batch */
    PM_VERB_DROP,     /* takes it away: out of the formula, out of sight, back */
    PM_VERB_EMPTY,    /* takes all of it away */
    PM_VERB_EDIT,     /* puts right what is written down about it */
    PM_VERB_WORDS,    /* writes words beside it: a comment, a label */
    PM_VERB_MARK,     /* marks it for what several are needed for */
    PM_VERB_RAISE,    /* moves it towards the front */
    PM_VERB_LESS,     /* takes some of it out */
    PM_VERB_SWAP,     /* another in its place */
    PM_VERB_HOLD,     /* lets it stand still, or go on */
    PM_VERB_STRENGTH, /* has it at another strength */
    PM_VERB_OWN,      /* enters a figure of one's own */
    PM_VERB_JOIN,     /* makes one of several */
    PM_VERB_LEVEL,    /* brings what is off to what it has to be */
    PM_VERB_FILL,     /* puts it into vials and bottles */
    PM_VERB_ABOUT,    /* tells everything about it */
    /* on the list, or the room */
    PM_VERB_SEARCH,  /* goes to a row by part of what stands in it */
    PM_VERB_FILTER,  /* shows only some, or all again */
    PM_VERB_HIDDEN,  /* shows also what is out of sight, or not */
    PM_VERB_SORT,    /* in another order */
    PM_VERB_VIEW,    /* shows the same in the next way */
    PM_VERB_BESIDE,  /* shows the other list of the room */
    PM_VERB_COMPARE, /* shows it beside another */
    PM_VERB_PAPER,   /* a page to take to the bench, or to print */
    PM_VERB_PRINT,   /* writes it into a file */
    PM_VERB_SETUP,   /* chooses what the room goes by: a mode, a schedule, a balance */
    PM_VERB_HISTORY,
    /* back and forth */
    PM_VERB_UNDO,
    PM_VERB_REDO,
    PM_VERB_RETRY,
    /* formulas */
    PM_VERB_FORMULAS,
    PM_VERB_NEW_FORMULA,
    PM_VERB_THIS_FORMULA,
    PM_VERB_KEEP, /* for good: the draft as a trial, what was read, a finished batch */
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
