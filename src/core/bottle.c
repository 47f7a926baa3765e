/* SPDX-License-Identifier: MIT */
/* Bottles and movements: labels, words, their descriptions. */
#include "permille/core/bottle.h"

#include "permille/base/text.h"
#include "permille/base/word.h"

#define NEARLY_EMPTY 10

char *pm_bottle_label(int64_t id, char *buf)
{
    pm_print(buf, PM_BOTTLE_LABEL, "B%03lld", (long long)id);
    return buf;
}

bool pm_bottle_nearly_empty(pm_mass left, pm_mass first)
{
    return left > 0 && left < first / NEARLY_EMPTY;
}

#define AT(member) .offset = offsetof(struct pm_bottle, member)

static const struct pm_attribute attributes[PM_BOTTLE_ATTRIBUTES] = {
    [PM_BOTTLE_STRENGTH] = {.key = "strength",
                            .help = "of the material in it; neat without it",
                            .option = "at",
                            .title = "Strength",
                            .hint = "neat, 10 %, 0.1 %.",
                            .kind = PM_ATTRIBUTE_STRENGTH,
                            .required = true,
                            AT(strength)},
    [PM_BOTTLE_SOLVENT] = {.key = "solvent",
                           .help = "what it is diluted with",
                           .option = "in",
                           .title = "In",
                           .hint = "The solvent, unless neat: part of its name, then Tab.",
                           .kind = PM_ATTRIBUTE_REFERENCE,
                           .choices = "material",
                           AT(solvent),
                           .beside = offsetof(struct pm_bottle, solvent_name)},
    [PM_BOTTLE_LOT] = {.key = "lot",
                       .help = "the supplier's lot",
                       .title = "Lot",
                       .kind = PM_ATTRIBUTE_TEXT,
                       AT(lot)},
    [PM_BOTTLE_SUPPLIER] = {.key = "supplier",
                            .help = "who it was bought from",
                            .title = "Supplier",
                            .hint = "Where to buy it again: part of a name, then Tab.",
                            .kind = PM_ATTRIBUTE_TEXT,
                            AT(supplier)},
    [PM_BOTTLE_BOUGHT] = {.key = "bought",
                          .help = "2026-03-02",
                          .title = "Bought",
                          .hint = "A day: 2026-03-02.",
                          .kind = PM_ATTRIBUTE_DAY,
                          .unknown = PM_NO_DAY,
                          AT(bought)},
    [PM_BOTTLE_OPENED] = {.key = "opened",
                          .help = "when it was first opened",
                          .title = "Opened",
                          .hint = "Empty: not opened yet.",
                          .kind = PM_ATTRIBUTE_DAY,
                          .unknown = PM_NO_DAY,
                          AT(opened)},
    [PM_BOTTLE_BEST_BEFORE] = {.key = "best_before",
                               .help = "as on the label",
                               .title = "Best before",
                               .hint = "A day: 2028-03-02. Empty: unknown.",
                               .kind = PM_ATTRIBUTE_DAY,
                               .unknown = PM_NO_DAY,
                               AT(best_before)},
    [PM_BOTTLE_PLACE] = {.key = "place",
                         .help = "where it stands",
                         .title = "Place",
                         .hint = "Where it stands: part of a word, then Tab.",
                         .kind = PM_ATTRIBUTE_TEXT,
                         AT(place)},
    [PM_BOTTLE_TARE] = {.key = "tare",
                        .help = "of the empty bottle",
                        .title = "Tare",
                        .hint = "The empty bottle with its cap: then it can be counted full.",
                        .kind = PM_ATTRIBUTE_MASS,
                        AT(tare)},
    [PM_BOTTLE_PRICE] = {.key = "price",
                         .help = "what was paid, with its currency: 19.20 EUR",
                         .title = "Price",
                         .hint = "19.20 EUR; empty: unknown.",
                         .kind = PM_ATTRIBUTE_MONEY,
                         AT(price),
                         .beside = offsetof(struct pm_bottle, currency)},
    [PM_BOTTLE_PRICED_MASS] = {.key = "priced_mass",
                               .help = "what it was paid for",
                               .title = "For",
                               .hint = "What that was paid for; empty: what came with it.",
                               .kind = PM_ATTRIBUTE_MASS,
                               AT(priced_mass)},
    [PM_BOTTLE_MADE_FROM] = {.key = "made_from",
                             .help = "the stock bottle it was diluted from",
                             .title = "Made from",
                             .hint = "The stock bottle it was diluted from: B040.",
                             .kind = PM_ATTRIBUTE_REFERENCE,
                             .choices = "bottle",
                             AT(made_from),
                             .beside = offsetof(struct pm_bottle, stock)},
    [PM_BOTTLE_NOTE] = {.key = "note",
                        .help = "anything worth knowing",
                        .title = "Note",
                        .kind = PM_ATTRIBUTE_NOTE,
                        .limit = 65536,
                        AT(note)},
};
const struct pm_entity pm_bottle_entity = {"bottle", attributes, PM_BOTTLE_ATTRIBUTES};

/* ---- the ledger ---- */

static const char *const kinds[] = {
    [PM_RECEIVED] = "received",   [PM_POURED] = "poured",   [PM_COUNTED] = "counted",
    [PM_MOVED] = "moved",         [PM_SPILLED] = "spilled", [PM_DISCARDED] = "discarded",
    [PM_CORRECTED] = "corrected",
};

const char *pm_move_word(enum pm_move_kind kind)
{
    return kinds[kind];
}

bool pm_move_from_word(const char *word, enum pm_move_kind *out)
{
    const int place = pm_word_place(kinds, sizeof kinds / sizeof kinds[0], word);
    if (place >= 0)
        *out = (enum pm_move_kind)place;
    return place >= 0;
}

#undef AT
#define AT(member) .offset = offsetof(struct pm_movement, member)

static const struct pm_attribute movement_attributes[PM_MOVEMENT_ATTRIBUTES] = {
    [PM_MOVEMENT_AT] = {.key = "at", .title = "At", .kind = PM_ATTRIBUTE_TIME, AT(at)},
    [PM_MOVEMENT_KIND] = {.key = "kind",
                          .title = "It was",
                          .hint = "Left and Right: poured, spilled, discarded; received puts in.",
                          .kind = PM_ATTRIBUTE_CHOICE,
                          .choices = "received|poured|counted|moved|spilled|discarded|corrected",
                          .required = true,
                          AT(kind)},
    [PM_MOVEMENT_MASS] = {.key = "mass",
                          .title = "Amount",
                          .kind = PM_ATTRIBUTE_MASS,
                          .least = -PM_MASS_MAX,
                          .required = true,
                          AT(mass)},
    [PM_MOVEMENT_OTHER] = {.key = "other",
                           .title = "Other bottle",
                           .kind = PM_ATTRIBUTE_REFERENCE,
                           .choices = "bottle",
                           AT(other),
                           .beside = offsetof(struct pm_movement, other_label)},
    [PM_MOVEMENT_FOR] = {.key = "batch",
                         .option = "for",
                         .title = "For",
                         .called = "batch",
                         .hint = "A trial, as Name/3, or a batch; may stay empty.",
                         .help = "the trial it went into, as F/3, or a batch",
                         .kind = PM_ATTRIBUTE_TEXT,
                         AT(purpose)},
    [PM_MOVEMENT_NOTE] = {.key = "note",
                          .title = "Note",
                          .help = "anything worth knowing",
                          .kind = PM_ATTRIBUTE_NOTE,
                          .limit = 65536,
                          AT(note)},
    [PM_MOVEMENT_FOUND] =
        {.key = "found", .title = "Found", .kind = PM_ATTRIBUTE_MASS, .unknown = -1, AT(found)},
    [PM_MOVEMENT_CORRECTS] = {.key = "corrects",
                              .title = "Corrects",
                              .kind = PM_ATTRIBUTE_REFERENCE,
                              .choices = "movement",
                              AT(corrects)},
};
const struct pm_entity pm_movement_entity = {"movement", movement_attributes,
                                             PM_MOVEMENT_ATTRIBUTES};
