/* SPDX-License-Identifier: MIT */
/* The verbs. Their ids are stable where rows leave their own out: people's key files name them. */
#include "verbs.h"

#include <stddef.h>

#define BACK    "Back and forth"
#define FORMULA "Formulas and trials"

const struct pm_verb_row pm_verbs[PM_VERBS] = {
    [PM_VERB_OPEN] = {"open", "open", "Enter", NULL, NULL},
    [PM_VERB_ADD] = {"add", "add", "a Insert", NULL, NULL},
    [PM_VERB_DROP] = {"drop", "take out", "d Delete", NULL, NULL},
    [PM_VERB_ASIDE] = {"set-aside", "set aside", "x Delete", NULL, NULL},
    [PM_VERB_MARK] = {"mark", "mark", "Space", NULL, NULL},
    [PM_VERB_SEARCH] = {"search", "search", "/", NULL, NULL},
    [PM_VERB_COMPARE] = {"compare", "compare", "C", NULL, NULL},
    [PM_VERB_ABOUT] = {"about", "about it", "i", NULL, NULL},
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
