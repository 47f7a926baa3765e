/* SPDX-License-Identifier: MIT */
/* What can be done in the Shelf. The ids are stable: people's key files name them. */
#include "shelf.h"

#define FINDING "Finding on the shelf"
#define KNOWING "Materials"
#define BOTTLES "Bottles"
#define STOCK   "Stock and cost"

#define SHEET PM_MODE_SHEET

static const struct pm_action rows[] = {
    {.verb = PM_VERB_FORMULAS, .modes = SHEET, .run = pm_formulas_list_here},
    {.verb = PM_VERB_UNDO, .modes = SHEET, .write = shelf_undo},
    {.verb = PM_VERB_REDO, .modes = SHEET, .write = shelf_redo},
    {"go-in", NULL,
     "Goes to the bottles of the material; among them it opens the cell under the cursor.", FINDING,
     NULL, SHEET, .verb = PM_VERB_OPEN, .run = shelf_go_in},
    {"search-shelf", "search", "Narrows the list while you type: name, synonym, CAS number.",
     FINDING, NULL, SHEET, .verb = PM_VERB_SEARCH, .run = shelf_search_start},
    {"show-only", "show only",
     "Shows only what you have, low stock, past its date, over its maximum, or one family.",
     FINDING, NULL, SHEET, .verb = PM_VERB_FILTER, .run = shelf_show_only},
    {"show-shelf-aside", "with set aside",
     "Shows what is set aside as well, materials and bottles, or not.", FINDING, NULL, SHEET,
     .verb = PM_VERB_HIDDEN, .run = shelf_show_aside},
    {"new-material", "new material", "Enters a new material.", KNOWING, NULL, SHEET,
     .verb = PM_VERB_NEW, .run = shelf_enter_material},
    {"edit-material", "edit material",
     "Edits the material's name, kind, CAS number, other names, family and note.", KNOWING, NULL,
     SHEET, .verb = PM_VERB_EDIT, .ready = shelf_needs_material, .run = shelf_edit_material},
    {"facts", "what is known",
     "Shows everything known of the material, each value with its source, and what to be careful "
     "about.",
     KNOWING, NULL, SHEET, .verb = PM_VERB_ABOUT, .ready = shelf_needs_material,
     .run = shelf_facts},
    {"own-value", "own value", "Enters a value of your own; it stands over the shipped one.",
     KNOWING, NULL, SHEET, .verb = PM_VERB_OWN, .ready = shelf_needs_material,
     .run = shelf_own_value},
    {"own-constituent", "own constituent",
     "Enters how much of a substance a natural holds; your figures stand over the shipped ones.",
     KNOWING, ":", SHEET, .ready = shelf_needs_material, .run = shelf_own_constituent},
    {"join", "join two", "Makes one of two materials that turned out to be the same.", KNOWING,
     NULL, SHEET, .verb = PM_VERB_JOIN, .ready = shelf_needs_material, .run = shelf_join},
    {"set-aside", "set aside",
     "Takes the material or bottle out of sight, or brings it back; nothing in use is lost.",
     KNOWING, NULL, SHEET, .verb = PM_VERB_DROP, .ready = shelf_needs_selected,
     .write = shelf_set_aside},
    {"starter", "starter set",
     "Brings in the starter materials, or brings them up to date; your own values stay.", KNOWING,
     "&", SHEET, .write = shelf_starter},
    {"add-bottle", "add a bottle", "Enters a bottle of the material.", BOTTLES, NULL, SHEET,
     .verb = PM_VERB_ADD, .ready = shelf_needs_material, .run = shelf_add_bottle},
    {"count", "count", "Stock-take: type what the scale shows.", BOTTLES, "#", SHEET,
     .ready = shelf_needs_inside, .run = shelf_count},
    {"take-out", "take out", "Records what was poured, spilled, discarded, or received.", BOTTLES,
     NULL, SHEET, .verb = PM_VERB_LESS, .ready = shelf_needs_inside, .run = shelf_take},
    {"dilute", "make a dilution",
     "Says what to weigh, then records what was really weighed as a new bottle.", BOTTLES, NULL,
     SHEET, .verb = PM_VERB_STRENGTH, .ready = shelf_needs_bottle, .run = shelf_dilute},
    {"move-bottle", "move", "Says where the bottle stands now.", BOTTLES, "@", SHEET,
     .ready = shelf_needs_inside, .run = shelf_move_bottle},
    {"opened", "opened today", "Says that the bottle was opened today.", BOTTLES, "U", SHEET,
     .ready = shelf_needs_inside, .write = shelf_opened},
    {"empty-bottle", "it is empty", "Counts the bottle as empty and sets it aside.", BOTTLES, NULL,
     SHEET, .verb = PM_VERB_EMPTY, .ready = shelf_needs_inside, .write = shelf_empty_bottle},
    {"ledger", "ledger", "Shows everything that went into and out of the bottle.", BOTTLES, "_",
     SHEET, .ready = shelf_needs_bottle, .run = shelf_ledger},
    {"price-by", "price by this", "Lets cost go by this bottle, not the oldest.", BOTTLES, NULL,
     SHEET, .verb = PM_VERB_MARK, .ready = shelf_needs_bottle, .run = shelf_price_by},
    {"can-make", "what can I make", "Lists the formulas with what they lack; Enter opens one.",
     STOCK, "'", SHEET, .run = shelf_possible},
    {"shopping", "what to buy",
     "Lists by supplier what planned batches and low levels need beyond stock.", STOCK, NULL, SHEET,
     .verb = PM_VERB_BESIDE, .run = shelf_shopping},
    {.verb = PM_VERB_COST, .modes = SHEET, .run = pm_shelf_cost_here},
    {"rate", "rate of exchange", "Enters what a currency is worth in another.", STOCK, NULL, SHEET,
     .verb = PM_VERB_SETUP, .run = shelf_rate},
    {"print-shelf", "export",
     "Writes the shelf, or one table of it, into a file: a page to print, Markdown, text, JSON, "
     "CSV.",
     STOCK, NULL, SHEET, .verb = PM_VERB_PRINT, .run = shelf_print},
    {"shelf-history", "shelf history", "Shows everything that was done to the shelf.", STOCK, NULL,
     SHEET, .verb = PM_VERB_HISTORY, .run = shelf_history},
};

const struct pm_action_table shelf_actions = {rows, sizeof rows / sizeof *rows};
