/* SPDX-License-Identifier: MIT */
/* Exposure: substances from every source, and what rules say about their sums. */
#include "permille/core/exposure.h"

#include "permille/base/mem.h"
#include "permille/base/word.h"

#include <stdlib.h>
#include <string.h>

#define FINE_MOST INT64_C(1000000000000000000)
#define WHOLE     INT64_C(1000000000000) /* what percentages are told in */

/* ---- contents -------------------------------------------------------------------------------- */

static const char *const basis_words[] = {[PM_BY_MOST] = "most", [PM_BY_TYPICAL] = "typical"};

const char *pm_content_basis_word(enum pm_content_basis basis)
{
    return basis_words[basis];
}

bool pm_content_basis_from_word(const char *word, enum pm_content_basis *out)
{
    const int place = pm_word_place(basis_words, sizeof basis_words / sizeof *basis_words, word);
    if (place >= 0)
        *out = (enum pm_content_basis)place;
    return place >= 0;
}

pm_strength pm_content_counts(const struct pm_content *content, enum pm_content_basis basis)
{
    if (basis == PM_BY_TYPICAL && content->typical != PM_UNKNOWN)
        return content->typical;
    /* A typical figure without a highest one is the best there is. */
    return content->most != PM_UNKNOWN ? content->most : content->typical;
}

/* ---- what is in it --------------------------------------------------------------------------- */

static bool is_fraction(pm_strength value)
{
    return value == PM_UNKNOWN || (value >= 0 && value <= PM_NEAT);
}

static enum pm_status check(const struct pm_brought *materials, size_t count, pm_fine total,
                            size_t *parts, struct pm_error *err)
{
    pm_int128 sum = 0;
    *parts = 0;
    for (size_t i = 0; i < count; i++) {
        const struct pm_brought *material = &materials[i];
        if (material->amount < 0)
            return pm_fail(err, PM_INVALID, "Material %zu has an amount below nothing.", i + 1);
        sum += material->amount;
        *parts += material->count;
        for (size_t k = 0; k < material->count; k++) {
            const struct pm_content *content = &material->contents[k];
            if (!is_fraction(content->least) || !is_fraction(content->typical) ||
                !is_fraction(content->most))
                return pm_fail(err, PM_INVALID,
                               "A constituent of material %zu is not between 0 and 100 %%.", i + 1);
        }
    }
    if (total <= 0 || total > FINE_MOST || sum > total)
        return pm_fail(err, PM_INVALID, "The formula holds nothing, or more than can be reckoned.");
    return PM_OK;
}

static int by_substance(const void *a, const void *b)
{
    const struct pm_exposure_part *one = a, *other = b;
    if (one->substance != other->substance)
        return one->substance < other->substance ? -1 : 1;
    return (one->source > other->source) - (one->source < other->source);
}

enum pm_status pm_exposure_of(const struct pm_brought *materials, size_t count, pm_fine total,
                              enum pm_content_basis basis, struct pm_exposure *out,
                              struct pm_error *err)
{
    size_t most;
    enum pm_status status = check(materials, count, total, &most, err);
    if (status != PM_OK)
        return status;
    struct pm_exposure exposure = {.total = total};
    exposure.parts = pm_alloc_array(most + 1, sizeof *exposure.parts);
    if (exposure.parts == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < count; i++) {
        for (size_t k = 0; k < materials[i].count && materials[i].amount > 0; k++) {
            const struct pm_content *content = &materials[i].contents[k];
            pm_strength counts = pm_content_counts(content, basis);
            if (counts == 0)
                continue;
            bool known = counts != PM_UNKNOWN;
            exposure.parts[exposure.count++] = (struct pm_exposure_part){
                .substance = content->substance,
                .source = i,
                .amount = known ? (pm_int128)materials[i].amount * counts : 0,
                .unknown = !known,
            };
        }
    }
    qsort(exposure.parts, exposure.count, sizeof *exposure.parts, by_substance);
    for (size_t i = 1; i < exposure.count; i++)
        if (by_substance(&exposure.parts[i - 1], &exposure.parts[i]) == 0) {
            size_t source = exposure.parts[i].source;
            pm_exposure_release(&exposure);
            return pm_fail(err, PM_INVALID, "A constituent of material %zu stands twice.",
                           source + 1);
        }
    *out = exposure;
    return PM_OK;
}

void pm_exposure_release(struct pm_exposure *exposure)
{
    pm_free(exposure->parts);
    memset(exposure, 0, sizeof *exposure);
}

size_t pm_exposure_find(const struct pm_exposure *exposure, int64_t substance, size_t *count)
{
    size_t low = 0, high = exposure->count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (exposure->parts[middle].substance < substance)
            low = middle + 1;
        else
            high = middle;
    }
    *count = 0;
    while (low + *count < exposure->count && exposure->parts[low + *count].substance == substance)
        ++*count;
    return low;
}

/* ---- rules ----------------------------------------------------------------------------------- */

static const char *const verdict_words[] = {
    [PM_WITHIN] = "within",
    [PM_OVER] = "over",
    [PM_VERDICT_UNKNOWN] = "unknown",
    [PM_PROHIBITED] = "prohibited",
};

const char *pm_verdict_word(enum pm_verdict verdict)
{
    return verdict_words[verdict];
}

struct sum {
    pm_int128 amount; /* 1e-9 pico-parts */
    bool present, unknown, added;
};

typedef bool added_fn(void *context, size_t source, int64_t substance);

static void add_member(const struct pm_exposure *exposure, int64_t substance, added_fn *added,
                       void *context, struct sum *sum)
{
    size_t count, first = pm_exposure_find(exposure, substance, &count);
    for (size_t i = first; i < first + count; i++) {
        const struct pm_exposure_part *part = &exposure->parts[i];
        sum->present = true;
        sum->unknown = sum->unknown || part->unknown;
        sum->amount += part->amount;
        sum->added = sum->added || added == NULL || added(context, part->source, substance);
    }
}

/* Of the product, in 1e-12. amount is at most 1e27 and dosage 1e9: nothing here passes 128 bits. */
static int64_t percent_of(pm_int128 amount, const struct pm_exposure *exposure, pm_strength dosage)
{
    pm_int128 unit = (pm_int128)exposure->total * 1000000;
    int64_t percent = (int64_t)((amount * dosage + unit / 2) / unit);
    return percent > 0 || amount == 0 ? percent : 1;
}

/* amount x dosage against limit x total: exact. */
static bool exceeds(pm_int128 amount, pm_strength dosage, pm_strength limit, pm_fine total)
{
    return amount * dosage > (pm_int128)limit * total * PM_NEAT;
}

static pm_strength dosage_for(pm_int128 amount, pm_strength limit, pm_fine total)
{
    if (amount == 0)
        return PM_NEAT;
    pm_int128 dosage = (pm_int128)limit * total * PM_NEAT / amount;
    return dosage > PM_NEAT ? PM_NEAT : (pm_strength)dosage;
}

/* What all kinds but the sum of fractions say about a sum. */
static void judge_sum(const struct pm_rule *rule, const struct sum *sum,
                      const struct pm_exposure *exposure, pm_strength dosage,
                      struct pm_judgement *out)
{
    out->present = sum->present;
    out->unknown_amount = sum->unknown;
    out->percent = percent_of(sum->amount, exposure, dosage);
    out->verdict = PM_WITHIN;
    if (!sum->present || rule->limit == PM_NO_LIMIT)
        return;
    if (rule->limit == PM_UNKNOWN) {
        out->verdict = PM_VERDICT_UNKNOWN;
        out->highest_dosage = out->known_dosage = PM_UNKNOWN;
        return;
    }
    bool over = exceeds(sum->amount, dosage, rule->limit, exposure->total);
    out->headroom = (int64_t)rule->limit * 1000 - out->percent;
    out->verdict = over ? PM_OVER : sum->unknown ? PM_VERDICT_UNKNOWN : PM_WITHIN;
    out->known_dosage = dosage_for(sum->amount, rule->limit, exposure->total);
    out->highest_dosage = sum->unknown ? PM_UNKNOWN : out->known_dosage;
}

static void judge_prohibited(const struct pm_rule *rule, const struct sum *sum,
                             const struct pm_exposure *exposure, pm_strength dosage,
                             struct pm_judgement *out)
{
    judge_sum(rule, sum, exposure, dosage, out);
    if (!sum->present || (!sum->added && rule->limit != PM_UNKNOWN))
        return;
    out->verdict = PM_PROHIBITED;
    out->highest_dosage = out->known_dosage = 0;
    out->headroom = 0;
}

/* A fraction of a limit that is used up, in 1e-18 and rounded up: so that a sum is never called
 * within that is not. */
#define FRACTION INT64_C(1000000000000000000)

static pm_int128 fraction_used(pm_int128 amount, pm_strength dosage, pm_strength limit,
                               pm_fine total)
{
    pm_int128 product = amount * dosage, full = (pm_int128)limit * total;
    pm_int128 rest = product % full * PM_NEAT;
    return product / full * PM_NEAT + (rest + full - 1) / full;
}

static void judge_shares(const struct pm_rule *rule, const struct pm_exposure *exposure,
                         pm_strength dosage, struct pm_judgement *out)
{
    pm_int128 used = 0, at_whole = 0;
    bool unlimited = false;
    for (size_t i = 0; i < rule->count; i++) {
        struct sum sum = {0};
        add_member(exposure, rule->members[i].substance, NULL, NULL, &sum);
        out->present = out->present || sum.present;
        out->unknown_amount = out->unknown_amount || sum.unknown;
        if (!sum.present || rule->members[i].limit == PM_NO_LIMIT)
            continue;
        if (rule->members[i].limit <= 0) {
            unlimited = unlimited || rule->members[i].limit == PM_UNKNOWN || sum.amount > 0;
            continue;
        }
        used += fraction_used(sum.amount, dosage, rule->members[i].limit, exposure->total);
        at_whole += fraction_used(sum.amount, PM_NEAT, rule->members[i].limit, exposure->total);
    }
    out->percent = (int64_t)(used / (FRACTION / WHOLE));
    out->headroom = WHOLE - out->percent;
    bool over = used > FRACTION;
    out->verdict = over                               ? PM_OVER
                   : unlimited || out->unknown_amount ? PM_VERDICT_UNKNOWN
                                                      : PM_WITHIN;
    if (at_whole > FRACTION)
        out->known_dosage = (pm_strength)((pm_int128)FRACTION * PM_NEAT / at_whole);
    out->highest_dosage = unlimited || out->unknown_amount ? PM_UNKNOWN : out->known_dosage;
}

void pm_rule_judge(const struct pm_rule *rule, const struct pm_exposure *exposure,
                   pm_strength dosage, added_fn *added, void *context, struct pm_judgement *out)
{
    struct sum sum = {0};
    *out = (struct pm_judgement){
        .verdict = PM_WITHIN, .highest_dosage = PM_NEAT, .known_dosage = PM_NEAT};
    if (rule->kind == PM_RULE_SHARES) {
        judge_shares(rule, exposure, dosage, out);
        return;
    }
    for (size_t i = 0; i < rule->count; i++)
        add_member(exposure, rule->members[i].substance, added, context, &sum);
    if (rule->kind == PM_RULE_PROHIBIT)
        judge_prohibited(rule, &sum, exposure, dosage, out);
    else
        judge_sum(rule, &sum, exposure, dosage, out);
    if (rule->kind == PM_RULE_DECLARE) {
        out->declare = out->verdict == PM_OVER;
        out->headroom = 0;
    }
}
