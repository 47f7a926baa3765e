/* SPDX-License-Identifier: MIT */
/* The verbs. Their ids are stable: people's key files name them. */
#include "verbs.h"

#include <stddef.h>

#define BACK    "Back and forth"
#define FORMULA "Formulas and trials"

const struct pm_verb_row pm_verbs[PM_VERBS] = {
    [PM_VERB_OPEN] = {"open", "open", "Enter", NULL, NULL},
    [PM_VERB_ADD] = {"add", "add", "a Insert", NULL, NULL},
    [PM_VERB_NEW] = {"new", "new", "n", NULL, NULL},
    [PM_VERB_DROP] = {"take-away", "take away", "d Delete", NULL, NULL},
    [PM_VERB_EMPTY] = {"empty", "empty", "D", NULL, NULL},
    [PM_VERB_EDIT] = {"put-right", "put right", "e", NULL, NULL},
    [PM_VERB_WORDS] = {"words", "words", "t", NULL, NULL},
    [PM_VERB_MARK] = {"marking", "mark", "Space", NULL, NULL},
    [PM_VERB_RAISE] = {"to-the-front", "to the front", "<", NULL, NULL},
    [PM_VERB_LESS] = {"take-some", "take some", "-", NULL, NULL},
    [PM_VERB_SWAP] = {"another", "another", "x", NULL, NULL},
    [PM_VERB_HOLD] = {"stand-still", "stand still", "h", NULL, NULL},
    [PM_VERB_STRENGTH] = {"strength", "strength", "%", NULL, NULL},
    [PM_VERB_OWN] = {"own", "own figure", "K", NULL, NULL},
    [PM_VERB_JOIN] = {"make-one", "make one", "j", NULL, NULL},
    [PM_VERB_LEVEL] = {"level", "level", "l", NULL, NULL},
    [PM_VERB_FILL] = {"fill", "fill", "F", NULL, NULL},
    [PM_VERB_ABOUT] = {"about", "about it", "i", NULL, NULL},
    [PM_VERB_SEARCH] = {"search", "search", "/", NULL, NULL},
    [PM_VERB_FILTER] = {"filter", "show only", "f", NULL, NULL},
    [PM_VERB_HIDDEN] = {"hidden", "show hidden", "H", NULL, NULL},
    [PM_VERB_SORT] = {"sort", "sort", "s", NULL, NULL},
    [PM_VERB_VIEW] = {"view", "next view", "v", NULL, NULL},
    [PM_VERB_BESIDE] = {"other-list", "other list", "b", NULL, NULL},
    [PM_VERB_COMPARE] = {"compare", "compare", "C", NULL, NULL},
    [PM_VERB_PAPER] = {"page", "page", "p", NULL, NULL},
    [PM_VERB_PRINT] = {"print", "print", "X", NULL, NULL},
    [PM_VERB_SETUP] = {"goes-by", "what it goes by", "m", NULL, NULL},
    [PM_VERB_HISTORY] = {"revisions", "revisions", "y",
                         "Lists every change ever made; Enter shows the formula as it was then.",
                         FORMULA},
    [PM_VERB_UNDO] = {"undo", "undo", "u Ctrl-Z",
                      "Takes the last change back; also after a restart.", BACK},
    [PM_VERB_REDO] = {"redo", "redo", "r Ctrl-Y", "Brings back what was undone.", BACK},
    [PM_VERB_RETRY] = {"save-again", "save again", "!",
                       "Writes the change again that could not be saved.", BACK},
    [PM_VERB_FORMULAS] = {"formulas", "formulas", "o",
                          "Lists the formulas; opens one or makes a new one.", FORMULA},
    [PM_VERB_NEW_FORMULA] = {"new-formula", "new formula", "N", "Makes a new, empty formula.",
                             FORMULA},
    [PM_VERB_THIS_FORMULA] = {"this-formula", "this formula", "O",
                              "Copies, renames or sets aside the open formula; says whether it is "
                              "an accord.",
                              FORMULA},
    [PM_VERB_KEEP] = {"keep", "keep trial", "w", "Seals the draft as the next trial, with a note.",
                      FORMULA},
    [PM_VERB_BRANCH] = {"branch", "branch from here", "g",
                        "Makes the kept trial or revision that is shown the draft.", FORMULA},
    [PM_VERB_COST] = {"cost", "what it costs", "$",
                      "Adds up the open formula: by line, batch, kilogram, and bottle of product.",
                      "Stock and cost"},
};
