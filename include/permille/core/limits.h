/* SPDX-License-Identifier: MIT */
/*
 * Books of rules about what a finished product may hold, and a formula judged by all of them.
 *
 * A rule speaks of one substance or of the sum of several, and has a figure for each scope it
 * names: a product category, or a phrase of a law ("all but oral products"). Rules about the same
 * substances stand side by side, and the stricter one decides. What a rule leaves open, and what no
 * rule speaks of, is unknown; nothing here turns unknown into within.
 *
 * Categories are those of the trade's Standards ("4": fine fragrance), the scopes of laws those of
 * Annex III of Regulation (EC) 1223/2009.
 */
#ifndef PERMILLE_CORE_LIMITS_H
#define PERMILLE_CORE_LIMITS_H

#include "permille/base/arena.h"
#include "permille/core/exposure.h"

/* ---- what is made of it ---------------------------------------------------------------------- */

enum pm_contact { PM_LEAVE_ON, PM_RINSE_OFF, PM_NO_COSMETIC };
bool pm_contact_from_word(const char *word, enum pm_contact *out);

/* As what a product of category 4 is sold: laws tell them apart. */
enum pm_use { PM_FINE_FRAGRANCE, PM_EAU_DE_TOILETTE, PM_FRAGRANCE_CREAM };
const char *pm_use_word(enum pm_use use); /* "fine fragrance" "eau de toilette" "fragrance cream" */
bool pm_use_from_word(const char *word, enum pm_use *out);

struct pm_product {
    const char *category; /* "4", "5A"; borrowed */
    enum pm_contact contact;
    enum pm_use use; /* counts in category 4 */
};

/* Whether a scope takes in a product. UNCLEAR: a phrase that is not known, or one that says less
 * than it must ("listed products for children"). */
enum pm_covers { PM_COVERS_NOT, PM_COVERS, PM_COVERS_UNCLEAR };
enum pm_covers pm_scope_covers(const char *scope, const struct pm_product *product);

/* ---- rules ----------------------------------------------------------------------------------- */

struct pm_figure {
    const char *scope;
    pm_strength limit;                 /* of the product; PM_UNKNOWN; PM_NO_LIMIT */
    const char *note, *source, *dated; /* "" when there is none */
    bool memory;                       /* written from memory */
};
/* All texts are borrowed by whoever made the book, never NULL. */
struct pm_book_rule {
    const char *set;   /* what the set of rules is called */
    const char *name;  /* as the set calls it */
    const char *title; /* what it is about, for people */
    enum pm_rule_kind kind;
    bool own; /* the person's: where it has a figure, it counts in place of the rule of the
                 set `replaces` that has its name */
    const char *replaces;
    bool blank_unknown; /* a category it does not name is unknown; else it does not speak of it */
    const char *note, *source;
    struct pm_figure *figures;
    size_t figure_count;
    size_t *of; /* PM_RULE_SHARES: places of the rules whose limits are shared */
    size_t of_count;
    int64_t *members; /* substances, as keys of the exposure */
    size_t member_count, member_room;
    int64_t *doubtful; /* may be meant by it: only a number says so */
    size_t doubtful_count, doubtful_room;
};
struct pm_book {
    struct pm_book_rule *items;
    size_t count;
    struct pm_arena arena; /* of texts and figures; members are the caller's own memory */
};

/* The figure of a rule that counts for a product, the lowest of those that cover it. NULL: it does
 * not speak of that product. *limit is PM_UNKNOWN where it does and says no figure, and where a
 * scope is unclear. */
const struct pm_figure *pm_rule_figure(const struct pm_book_rule *rule,
                                       const struct pm_product *product, pm_strength *limit,
                                       bool *speaks);

/* ---- judging --------------------------------------------------------------------------------- */

/* One rule, judged. */
struct pm_finding_rule {
    const struct pm_book_rule *rule; /* borrowed from the book */
    const struct pm_figure *figure;  /* that counts; NULL */
    pm_strength limit;               /* PM_UNKNOWN, PM_NO_LIMIT */
    struct pm_judgement judgement;
    bool replaced; /* the person's own figure counts in its place */
    bool doubt;    /* only a CAS number says that it is meant */
    size_t group;  /* rules about the same substances of the formula have the same */
    bool leads;    /* of its group: the one that decides */
    int64_t key;   /* the only substance of its group in the formula; 0: several */
};
struct pm_limits_found {
    struct pm_finding_rule *items; /* those that something in the formula concerns; the deciding one
                                      of each group first, groups by verdict: prohibited, over,
                                      unknown, within; then by the share of the limit used */
    size_t count;
    struct pm_arena arena;
};
/* Rules of the kinds LIMIT, PROHIBIT, SHARES; and CHECK, whose verdict is unknown and which lead
 * nothing. `added` as pm_rule_judge. PM_NOMEM. */
enum pm_status pm_book_judge(const struct pm_book *book, const struct pm_exposure *exposure,
                             const struct pm_product *product, pm_strength dosage,
                             bool (*added)(void *context, size_t source, int64_t substance),
                             void *context, struct pm_limits_found *out, struct pm_error *err);
/* Of the limit used up, 1e-12; INT64_MAX where that cannot be told. */
int64_t pm_finding_used(const struct pm_finding_rule *finding);

/* The DECLARE rules: what a label must name. Alphabetical. */
enum pm_label_verdict { PM_LABEL_DECLARE, PM_LABEL_UNKNOWN, PM_LABEL_BELOW };
struct pm_label_row {
    const struct pm_book_rule *rule;
    const struct pm_figure *figure;
    pm_strength threshold;
    int64_t percent; /* of the product, 1e-12; a least where something is unknown */
    enum pm_label_verdict verdict;
    bool doubt; /* only a CAS number says that it is meant */
};
struct pm_label_rows {
    struct pm_label_row *items;
    size_t count;
    struct pm_arena arena;
};
enum pm_status pm_book_label(const struct pm_book *book, const struct pm_exposure *exposure,
                             const struct pm_product *product, pm_strength dosage,
                             struct pm_label_rows *out, struct pm_error *err);

#endif
