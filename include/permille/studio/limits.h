/* SPDX-License-Identifier: MIT */
/*
 * Skin limits and labels: a formula's substances from every source, against the sets of rules in
 * use, at a dosage and in a kind of product.
 *
 * What comes out is arithmetic on dated tables that have gaps. It is never said to be safe: what no
 * rule speaks of, what a rule leaves blank, and what is in there in unknown amount is unknown.
 */
#ifndef PERMILLE_STUDIO_LIMITS_H
#define PERMILLE_STUDIO_LIMITS_H

#include "permille/base/arena.h"
#include "permille/core/limits.h"
#include "permille/studio/bench.h"
#include "permille/studio/paper.h"

/* The sentence that stands on every result (schema/reference/cautions.md, 1). */
const char *pm_limits_caution(void);
/* What stands on label drafts beside it (7, 15, 18). */
const char *pm_label_caution(void);

/* ---- what is asked ---- */

#define PM_CATEGORY_TEXT 8

struct pm_limits_wish {
    pm_strength dosage;              /* of the concentrate in the product: 1..PM_NEAT */
    char category[PM_CATEGORY_TEXT]; /* "4" */
    enum pm_use use;
    enum pm_content_basis basis;
};
struct pm_category_row {
    const char *id, *description, *note, *source; /* borrowed as long as the studio */
    enum pm_contact contact;
};
struct pm_categories {
    struct pm_category_row *items; /* in the order of the table */
    size_t count;
    struct pm_arena arena;
};
enum pm_status pm_limits_categories(struct pm_studio *studio, struct pm_categories *out,
                                    struct pm_error *err);
/* 15 % (an ordinary strength, common practice, no source), category 4, fine fragrance, upper end of
 * ranges; or what was asked for this formula last. */
enum pm_status pm_limits_wish(struct pm_studio *studio, int64_t formula, struct pm_limits_wish *out,
                              struct pm_error *err);
/* Remembers it for the formula. PM_INVALID for a category that is not in the table, and for a
 * dosage out of range. */
enum pm_status pm_limits_set_wish(struct pm_studio *studio, int64_t formula,
                                  const struct pm_limits_wish *wish, struct pm_error *err);
/* Reads what was typed into a wish; NULL leaves it. The error names "dosage", "category", "use" or
 * "basis". */
enum pm_status pm_limits_read_wish(struct pm_studio *studio, const char *dosage,
                                   const char *category, const char *use, const char *basis,
                                   struct pm_limits_wish *wish, struct pm_error *err);

/* ---- limits ---- */

struct pm_limits_row {
    const char *title; /* the substance, or what the sum is called */
    enum pm_verdict verdict;
    int64_t percent;   /* of the product, 1e-12; a least where `least` */
    bool least;        /* something brings an unknown amount besides */
    bool shares;       /* percent is of a shared allowance, not of the product */
    pm_strength limit; /* PM_UNKNOWN, PM_NO_LIMIT */
    const struct pm_finding_rule *finding; /* that decides; NULL: no rule speaks of it */
    const struct pm_finding_rule *others;  /* about the same substances, that do not decide */
    size_t other_count;
    const char *why; /* it is unknown, or over, or prohibited: in words; "" */
    const char *source;
    int64_t key; /* without a finding: the substance */
};
struct pm_limits_world; /* the book of rules, and what is known of materials; shared, counted */
struct pm_limits {
    struct pm_limits_row *items; /* the worst first; those without a rule last */
    size_t count;
    size_t prohibited, over, unknown, within, without_rule; /* how many of them */
    const struct pm_finding_rule *checks; /* specifications to check, that no sum can tell */
    size_t check_count;
    pm_strength
        highest; /* dosage within all known limits; PM_UNKNOWN: no known limit concerns it */
    const char *decides;                  /* title of what decides that; NULL */
    const struct pm_limits_row *tightest; /* with the largest share of its limit used; NULL */
    struct pm_limits_wish wish;
    struct pm_arena arena;
    struct pm_limits_found found;
    struct pm_exposure exposure;
    struct pm_limits_world *world;
};
/* PM_REFUSED for an empty formula. */
enum pm_status pm_limits_of(struct pm_studio *studio, const struct pm_sheet *sheet,
                            const struct pm_limits_wish *wish, struct pm_limits *out,
                            struct pm_error *err);
/* The same for what is still being typed: the file is not looked at for what was read before. */
enum pm_status pm_limits_preview(struct pm_studio *studio, const struct pm_sheet *sheet,
                                 const struct pm_limits_wish *wish, struct pm_limits *out,
                                 struct pm_error *err);
void pm_limits_release(struct pm_limits *limits);
/* Of the row's limit used, 1e-12; INT64_MAX where that cannot be told. */
int64_t pm_limits_used(const struct pm_limits_row *row);

/* The same for reading, without the sign of percent: whole percents from 10 % on, never 100 for
 * what is over or under it; below, two digits. buf holds PM_AMOUNT_TEXT bytes; returns it. */
char *pm_limits_used_format(int64_t used, char sign, char *buf);

/* How much each line of the sheet brings to a row, of the product in 1e-12 (rounded: for showing);
 * -1: an unknown amount. `out` holds sheet->trial.count places. */
enum pm_status pm_limits_lines(struct pm_studio *studio, const struct pm_sheet *sheet,
                               const struct pm_limits *limits, const struct pm_limits_row *row,
                               int64_t *out, struct pm_error *err);
/* Which lines bring something to what is over or prohibited: `out` holds sheet->trial.count. */
enum pm_status pm_limits_signs(struct pm_studio *studio, const struct pm_sheet *sheet,
                               const struct pm_limits *limits, bool *out, struct pm_error *err);

/* ---- label ---- */

struct pm_label {
    struct pm_label_row *items; /* alphabetical; by verdict: to declare, unknown, below */
    size_t count;
    size_t declare, unknown, below; /* how many */
    struct pm_texts bare;           /* naturals and blends of which nothing is known */
    bool applies;                   /* the thresholds hold for cosmetics alone */
    struct pm_limits_wish wish;
    struct pm_label_rows rows;
    struct pm_limits_world *world;
};
enum pm_status pm_label_of(struct pm_studio *studio, const struct pm_sheet *sheet,
                           const struct pm_limits_wish *wish, bool by_amount, struct pm_label *out,
                           struct pm_error *err);
void pm_label_release(struct pm_label *label);

/* ---- sets of rules ---- */

struct pm_rule_set {
    const char *name, *what; /* what: editions and dates, in words */
    size_t rules;
    bool shipped, own, in_use;
};
struct pm_rule_sets {
    struct pm_rule_set *items;
    size_t count;
    struct pm_arena arena;
};
enum pm_status pm_limits_sets(struct pm_studio *studio, struct pm_rule_sets *out,
                              struct pm_error *err);
/* PM_MISSING; PM_REFUSED when none would be left in use. */
enum pm_status pm_limits_use_set(struct pm_studio *studio, const char *name, bool use,
                                 struct pm_error *err);

/* A figure of one's own, as typed. scope: "category 4" (or "4"), "leave-on", ... ; percent a
 * number, "NR" for none. source is required. replaces: NULL for the trade's Standards. */
struct pm_own_limit {
    const char *name, *scope, *percent, *source, *dated, *note, *cas, *members, *replaces;
};
enum pm_status pm_limits_add_own(struct pm_studio *studio, const struct pm_own_limit *limit,
                                 int64_t *id, struct pm_error *err);
enum pm_status pm_limits_remove_own(struct pm_studio *studio, int64_t id, struct pm_error *err);
struct pm_own_row {
    int64_t id, percent; /* 1e-9; -1 unknown, -2 no limit */
    const char *set, *name, *scope, *source, *dated, *replaces;
};
struct pm_own_rows {
    struct pm_own_row *items;
    size_t count;
    struct pm_arena arena;
};
enum pm_status pm_limits_own(struct pm_studio *studio, struct pm_own_rows *out,
                             struct pm_error *err);
/*
 * Reads a table (CSV with the headings name, scope, percent, source; besides dated, note, cas,
 * members, kind, replaces) as the person's own figures, or, with the name of a set, as a whole set
 * of that name, which takes the place of one loaded under it before. All of it or nothing: an error
 * names the line.
 */
enum pm_status pm_limits_import(struct pm_studio *studio, const char *table, size_t length,
                                const char *set, size_t *count, struct pm_error *err);

/* ---- the nearest formula within ---- */

struct pm_fit_wish {
    struct pm_limits_wish limits;
    const pm_parts *least, *most; /* by place of the line; -1: no bound; NULL: none at all */
    pm_mass batch;                /* stock must do for it; 0: not looked at */
    int64_t cost_most; /* of a kilogram of concentrate, in 1e-6 of its currency; 0: any */
};
struct pm_fit_line {
    int64_t line;
    size_t place;
    const char *title;
    pm_parts was, parts;
};
struct pm_limits_fit {
    bool fits;
    struct pm_fit_line *items; /* every line, as the sheet has them */
    size_t count;
    pm_parts moved;          /* sum of absolute changes */
    struct pm_texts binding; /* what holds it: limits, and lines that are held */
    pm_strength highest;     /* dosage that some formula of these lines reaches; PM_UNKNOWN */
    struct pm_plan *plan; /* one gesture that takes it over; NULL when nothing is to be changed */
    struct pm_arena arena;
};
/* PM_REFUSED when it cannot be asked: nothing in it, or something prohibited stands in it. A
 * formula that fits as it is comes back with nothing moved. */
enum pm_status pm_limits_fit(struct pm_studio *studio, const struct pm_sheet *sheet,
                             const struct pm_fit_wish *wish, struct pm_limits_fit *out,
                             struct pm_error *err);
/* The plan, if it was not taken out of it (set NULL), is freed as well. */
void pm_limits_fit_release(struct pm_limits_fit *fit);

/* ---- to print ---- */

/* What a label says beside the allergens, in words of the person's own: "Made by", "Batch". Kept in
 * the order they were first given; text "" takes one away. */
enum pm_status pm_label_set_field(struct pm_studio *studio, const char *name, const char *text,
                                  struct pm_error *err);

/* What to be careful about with this formula in this product, a line each. */
enum pm_status pm_limits_cautions(const struct pm_limits *limits, struct pm_text *out,
                                  struct pm_error *err);
/* As text: what pm_limits_print() puts together. `lines`: every cell of a row on a line of its
 * own, "heading: cell", for a screen reader. */
enum pm_status pm_limits_text(const struct pm_limits *limits, char sign, bool lines,
                              struct pm_text *out, struct pm_error *err);
enum pm_status pm_label_text(struct pm_studio *studio, const struct pm_sheet *sheet,
                             const struct pm_label *label, char sign, bool lines,
                             struct pm_text *out, struct pm_error *err);
/* The label of a formula on a sheet of its own, then its limits: plain text, Markdown, or HTML that
 * stands alone; PM_INVALID for the others. */
enum pm_status pm_limits_print(struct pm_studio *studio, const struct pm_sheet *sheet,
                               const struct pm_limits_wish *wish, enum pm_paper paper, char sign,
                               struct pm_text *out, struct pm_error *err);

#endif
