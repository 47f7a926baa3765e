/* SPDX-License-Identifier: MIT */
/*
 * Exposure: which substances a formula brings into a finished product, from every source, and how
 * that stands to rules made of them.
 *
 * A rule is about one substance or the sum of several. Sums and comparisons are exact (128-bit
 * integers); only what is shown is rounded. What is not known never turns into "within": a source
 * of unknown content makes a sum a least, which can be over a limit but never within it.
 *
 * This is arithmetic on tables with gaps, not approval.
 */
#ifndef PERMILLE_CORE_EXPOSURE_H
#define PERMILLE_CORE_EXPOSURE_H

#include "permille/base/amount.h"
#include "permille/base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* ---- what is in it --------------------------------------------------------------------------- */

#define PM_UNKNOWN INT64_C(-1)

/* A substance in a material, as mass fractions of it; PM_UNKNOWN where nobody said. What a material
 * is itself is a content of all three PM_NEAT. */
struct pm_content {
    int64_t substance;
    pm_strength least, typical, most;
};
/* Which figure of a content counts. A missing figure gives way to a higher one that is known:
 * typical to most. Least alone says nothing about how much there may be: then it is unknown. */
enum pm_content_basis { PM_BY_MOST, PM_BY_TYPICAL };
const char *pm_content_basis_word(enum pm_content_basis basis); /* "most" "typical" */
bool pm_content_basis_from_word(const char *word, enum pm_content_basis *out);
/* The figure that counts, or PM_UNKNOWN. */
pm_strength pm_content_counts(const struct pm_content *content, enum pm_content_basis basis);

/* One material of a flattened formula with all that is known to be in it. */
struct pm_brought {
    pm_fine amount;                    /* of the material, neat and as a solvent together */
    const struct pm_content *contents; /* borrowed */
    size_t count;
};
/* How much of one substance one material brings. */
struct pm_exposure_part {
    int64_t substance;
    size_t source;    /* place of the material */
    pm_int128 amount; /* in 1e-9 of a pico-part */
    bool unknown;     /* it is in there, and nobody said how much; amount is 0 */
};
struct pm_exposure {
    struct pm_exposure_part *parts; /* owned; by substance, then by source */
    size_t count;
    pm_fine total; /* of the formula, all materials */
};
/* The materials together are the formula; total: what its parts add up to, at least their sum.
 * PM_INVALID for contents outside 0..1, for a material whose contents of which one stands twice,
 * for an empty formula or amounts beyond 1e18; PM_NOMEM. */
enum pm_status pm_exposure_of(const struct pm_brought *materials, size_t count, pm_fine total,
                              enum pm_content_basis basis, struct pm_exposure *out,
                              struct pm_error *err);
void pm_exposure_release(struct pm_exposure *exposure);
/* The parts that bring a substance: the first one's place, their number (0: it is not in there). */
size_t pm_exposure_find(const struct pm_exposure *exposure, int64_t substance, size_t *count);

/* ---- rules ----------------------------------------------------------------------------------- */

enum pm_rule_kind {
    PM_RULE_LIMIT,    /* the sum of its members may reach `limit`, not exceed it */
    PM_RULE_PROHIBIT, /* none of its members may be added; what naturals bring counts up to `limit`
                         where there is one */
    PM_RULE_SHARES,   /* each member has a limit of its own, and the fractions of them used up may
                         add up to 1, not more (phototoxic materials) */
    PM_RULE_DECLARE,  /* to be named on the label when the sum of its members exceeds `limit` */
    PM_RULE_CHECK     /* something to check that no sum can tell (a specification) */
};

#define PM_NO_LIMIT INT64_C(-2) /* the rule itself says that there is none */

struct pm_rule_member {
    int64_t substance;
    pm_strength limit; /* PM_RULE_SHARES: its own, of the product; PM_UNKNOWN */
};
struct pm_rule {
    enum pm_rule_kind kind;
    const struct pm_rule_member *members; /* borrowed */
    size_t count;
    pm_strength limit; /* of the finished product, 1e-9; PM_UNKNOWN, PM_NO_LIMIT */
};

enum pm_verdict { PM_WITHIN, PM_OVER, PM_VERDICT_UNKNOWN, PM_PROHIBITED };
const char *pm_verdict_word(enum pm_verdict verdict); /* "within" "over" "unknown" "prohibited" */

struct pm_judgement {
    bool present;        /* some member is in the formula, be it in unknown amount */
    bool unknown_amount; /* some source brings an amount that nobody knows: `percent` is a least */
    int64_t percent; /* of the product, 1e-12 of a whole, rounded to nearest; never 0 for what is
                        there in a known amount. PM_RULE_SHARES: the sum of the fractions used */
    enum pm_verdict verdict;
    bool declare; /* PM_RULE_DECLARE: exceeds it. (With an unknown amount and below: verdict
                     unknown, declare false.) */
    /* The highest dosage at which it is within, 1e-9, rounded down; PM_NEAT when any is;
     * PM_UNKNOWN when that is not known. A prohibited one: 0. */
    pm_strength highest_dosage;
    /* The same by the known amounts alone: a most where others are unknown. */
    pm_strength known_dosage;
    int64_t headroom; /* limit - percent, 1e-12; below 0: over. 0 where there is no known limit */
};
/*
 * Judges one rule at a dosage (1..PM_NEAT). Members that are not in the formula count as nothing.
 * `added`: whether the source is something added as such (for PM_RULE_PROHIBIT): called with the
 * place of a material that brings a member, may be NULL (every source counts as added).
 */
void pm_rule_judge(const struct pm_rule *rule, const struct pm_exposure *exposure,
                   pm_strength dosage,
                   bool (*added)(void *context, size_t source, int64_t substance), void *context,
                   struct pm_judgement *out);

#endif
