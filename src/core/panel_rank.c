/* SPDX-License-Identifier: MIT */
/*
 * Ranking: Friedman's test, exact where that is affordable, and chi-square.
 *
 * The exact distribution is built answer by answer: after each one, every set of rank sums that can
 * have come out so far, with its probability. Which sample holds which sum does not matter to the
 * statistic, so sums are kept sorted and packed into one 64-bit key. Ranks are doubled throughout:
 * mean ranks are then whole numbers.
 */
#include "permille/base/mem.h"
#include "permille/core/panel.h"

#include <math.h>
#include <string.h>

#define SAMPLES_EXACT 6       /* beyond, n! orders per answer outgrow every budget */
#define ORDERS_EXACT  720     /* 6! */
#define STEPS_EXACT   4000000 /* well under a tenth of a second */

/* ---- chi-square ------------------------------------------------------------------------------ */

/* Closed forms (Abramowitz & Stegun 26.4.4 and 26.4.5): every term is positive, so the relative
 * error stays small. exp is applied in two halves: for large x the sum is huge where exp(-x/2)
 * alone is already 0. */
double pm_chi_square_upper(double x, int degrees)
{
    if (degrees < 1 || degrees > PM_CHI_SQUARE_DEGREES_MAX || isnan(x))
        return (double)NAN;
    if (x <= 0)
        return 1;
    double half = x / 2;
    if (half > 1400)
        return 0;
    bool odd = degrees % 2 == 1;
    double term = odd ? 2 * sqrt(half / acos(-1.0)) : 1;
    double at = odd ? 1.5 : 1;
    double sum = 0;
    for (int i = odd ? 3 : 2; i <= degrees; i += 2) {
        sum += term;
        term *= half / at;
        at += 1;
    }
    double shrink = exp(-half / 2);
    return (odd ? erfc(sqrt(half)) : 0) + sum * shrink * shrink;
}

double pm_panel_rank_difference(size_t answers, size_t samples)
{
    double n = (double)answers;
    double k = (double)samples;

    return 1.96 * sqrt(n * k * (k + 1) / 6);
}

/* ---- a table from packed rank sums to probabilities ------------------------------------------ */

struct slot {
    uint64_t key;
    double probability; /* 0: free */
};

struct table {
    struct slot *slots;
    size_t size; /* a power of two, or 0 */
    size_t used;
};

static struct slot *table_find(const struct table *table, uint64_t key)
{
    uint64_t hash = key * UINT64_C(0x9e3779b97f4a7c15);
    size_t at = (size_t)(hash >> 32) & (table->size - 1);

    while (table->slots[at].probability > 0 && table->slots[at].key != key)
        at = (at + 1) & (table->size - 1);
    return &table->slots[at];
}

static bool table_grow(struct table *table)
{
    struct table larger = {NULL, table->size > 0 ? table->size * 2 : 256, table->used};

    larger.slots = pm_alloc_array(larger.size, sizeof *larger.slots);
    if (larger.slots == NULL)
        return false;
    for (size_t i = 0; i < table->size; i++)
        if (table->slots[i].probability > 0)
            *table_find(&larger, table->slots[i].key) = table->slots[i];
    pm_free(table->slots);
    *table = larger;
    return true;
}

static bool table_add(struct table *table, uint64_t key, double probability)
{
    if (table->used * 2 >= table->size && !table_grow(table))
        return false;
    struct slot *slot = table_find(table, key);
    if (slot->probability <= 0) {
        slot->key = key;
        table->used++;
    }
    slot->probability += probability;
    return true;
}

static void table_clear(struct table *table)
{
    if (table->slots != NULL)
        memset(table->slots, 0, table->size * sizeof *table->slots);
    table->used = 0;
}

/* ---- exact distribution ---------------------------------------------------------------------- */

struct ranking {
    const double *ranks; /* answers x samples, borrowed */
    size_t answers, samples;
};

struct exact {
    const struct ranking *ranking;
    uint8_t orders[ORDERS_EXACT][SAMPLES_EXACT]; /* all permutations of 0..samples-1 */
    size_t order_count;
    unsigned bits;        /* of a packed sum */
    struct table now;     /* after the answers so far */
    struct table next;    /* being filled */
    int64_t observed;     /* spread of the sums that did come out */
    double as_large;      /* probability of a spread at least that large */
    double probabilities; /* of everything enumerated: 1 but for rounding */
};

static int64_t doubled(double rank)
{
    return (int64_t)lround(2 * rank);
}

/* Sum of squared distances of the doubled rank sums from their mean: F is proportional to it. */
static int64_t spread(const struct ranking *ranking, const int64_t *sums)
{
    int64_t mean = (int64_t)(ranking->answers * (ranking->samples + 1));
    int64_t total = 0;

    for (size_t i = 0; i < ranking->samples; i++)
        total += (sums[i] - mean) * (sums[i] - mean);
    return total;
}

static void list_orders(struct exact *exact, uint8_t *order, size_t at)
{
    size_t samples = exact->ranking->samples;

    if (at == samples) {
        memcpy(exact->orders[exact->order_count++], order, samples);
        return;
    }
    for (size_t i = at; i < samples; i++) {
        uint8_t other = order[i];
        order[i] = order[at];
        order[at] = other;
        list_orders(exact, order, at + 1);
        order[at] = order[i];
        order[i] = other;
    }
}

static uint64_t pack(const struct exact *exact, int64_t *sums)
{
    size_t samples = exact->ranking->samples;
    uint64_t key = 0;

    for (size_t i = 1; i < samples; i++) {
        int64_t sum = sums[i];
        size_t at = i;
        for (; at > 0 && sums[at - 1] > sum; at--)
            sums[at] = sums[at - 1];
        sums[at] = sum;
    }
    for (size_t i = 0; i < samples; i++)
        key = key << exact->bits | (uint64_t)sums[i];
    return key;
}

static void unpack(const struct exact *exact, uint64_t key, int64_t *sums)
{
    for (size_t i = exact->ranking->samples; i-- > 0;) {
        sums[i] = (int64_t)(key & ((UINT64_C(1) << exact->bits) - 1));
        key >>= exact->bits;
    }
}

/* Every order of one answer's ranks on top of one set of sums. The last answer's sums are compared
 * with what was observed instead of being kept. */
static bool extend(struct exact *exact, const struct slot *from, size_t answer)
{
    const struct ranking *ranking = exact->ranking;
    size_t samples = ranking->samples;
    const double *row = ranking->ranks + answer * samples;
    double probability = from->probability / (double)exact->order_count;
    int64_t base[SAMPLES_EXACT] = {0};
    int64_t ranks[SAMPLES_EXACT] = {0};

    unpack(exact, from->key, base);
    for (size_t i = 0; i < samples; i++)
        ranks[i] = doubled(row[i]);
    for (size_t order = 0; order < exact->order_count; order++) {
        int64_t sums[SAMPLES_EXACT] = {0};
        for (size_t i = 0; i < samples; i++)
            sums[i] = base[i] + ranks[exact->orders[order][i]];
        if (answer + 1 < ranking->answers) {
            if (!table_add(&exact->next, pack(exact, sums), probability))
                return false;
        } else {
            exact->probabilities += probability;
            exact->as_large += spread(ranking, sums) >= exact->observed ? probability : 0;
        }
    }
    return true;
}

/* Runs the enumeration; *done tells whether it stayed within the budget. False without memory. */
static bool enumerate(struct exact *exact, bool *done)
{
    size_t answers = exact->ranking->answers;
    uint64_t steps = 0;

    *done = false;
    if (!table_add(&exact->now, 0, 1))
        return false;
    for (size_t answer = 0; answer < answers; answer++) {
        /* The answers left take at least as many steps each as this one. */
        uint64_t step = (uint64_t)exact->now.used * exact->order_count;
        if (steps + step * (answers - answer) > STEPS_EXACT)
            return true;
        steps += step;
        table_clear(&exact->next);
        for (size_t i = 0; i < exact->now.size; i++) {
            const struct slot *slot = &exact->now.slots[i];
            if (slot->probability > 0 && !extend(exact, slot, answer))
                return false;
        }
        struct table old = exact->now;
        exact->now = exact->next;
        exact->next = old;
    }
    *done = true;
    return true;
}

/* Sets *p when enumeration was affordable (*done). False without memory. */
static bool exact_p(const struct ranking *ranking, double *p, bool *done)
{
    struct exact exact = {.ranking = ranking};
    uint8_t order[SAMPLES_EXACT] = {0, 1, 2, 3, 4, 5};
    int64_t sums[SAMPLES_EXACT] = {0};

    *done = false;
    if (ranking->samples > SAMPLES_EXACT)
        return true;
    exact.bits = (unsigned)(64 / ranking->samples);
    exact.bits = exact.bits > 31 ? 31 : exact.bits;
    if (2 * ranking->answers * ranking->samples >> exact.bits != 0)
        return true;
    list_orders(&exact, order, 0);
    for (size_t i = 0; i < ranking->answers * ranking->samples; i++)
        sums[i % ranking->samples] += doubled(ranking->ranks[i]);
    exact.observed = spread(ranking, sums);

    bool ok = enumerate(&exact, done);
    if (ok && *done)
        *p = exact.as_large / exact.probabilities;
    pm_free(exact.now.slots);
    pm_free(exact.next.slots);
    return ok;
}

/* ---- Friedman -------------------------------------------------------------------------------- */

/* In a ranking with mean ranks, a rank is the number of samples before plus the middle of those
 * that share the place. */
static bool row_is_ranking(const double *row, size_t samples)
{
    for (size_t i = 0; i < samples; i++) {
        double before = 0;
        double same = 0;
        for (size_t j = 0; j < samples; j++) {
            before += row[j] < row[i] ? 1 : 0;
            same += row[j] <= row[i] && row[j] >= row[i] ? 1 : 0;
        }
        if (!(fabs(row[i] - (before + (same + 1) / 2)) < 1e-9))
            return false;
    }
    return true;
}

static enum pm_status check_ranking(const struct ranking *ranking, struct pm_error *err)
{
    if (ranking->answers < 2 || ranking->samples < 2) {
        return pm_fail(err, PM_REFUSED,
                       "A ranking needs at least two answers about at least two samples.");
    }
    if (ranking->answers > PM_PANEL_ANSWERS_MAX || ranking->samples > PM_PANEL_SAMPLES_MAX) {
        return pm_fail(err, PM_REFUSED, "A ranking takes up to %d answers about up to %d samples.",
                       PM_PANEL_ANSWERS_MAX, PM_PANEL_SAMPLES_MAX);
    }
    for (size_t i = 0; i < ranking->answers; i++) {
        if (!row_is_ranking(ranking->ranks + i * ranking->samples, ranking->samples)) {
            return pm_fail(err, PM_INVALID,
                           "Answer %zu does not rank %zu samples: every place from 1 to %zu once, "
                           "and samples that share places all get their mean.",
                           i + 1, ranking->samples, ranking->samples);
        }
    }
    return PM_OK;
}

/* F = (k-1) sum (R_j - n(k+1)/2)^2 / (sum r_ij^2 - n k (k+1)^2 / 4): the form of the statistic
 * that corrects for ties without counting them. */
static double statistic(const struct ranking *ranking)
{
    double n = (double)ranking->answers;
    double k = (double)ranking->samples;
    double squares = 0;
    double between = 0;

    for (size_t sample = 0; sample < ranking->samples; sample++) {
        double sum = 0;
        for (size_t i = 0; i < ranking->answers; i++) {
            double rank = ranking->ranks[i * ranking->samples + sample];
            sum += rank;
            squares += rank * rank;
        }
        between += (sum - n * (k + 1) / 2) * (sum - n * (k + 1) / 2);
    }
    double within = squares - n * k * (k + 1) * (k + 1) / 4;
    return within > 0 ? (k - 1) * between / within : 0;
}

enum pm_status pm_panel_friedman(const double *ranks, size_t answers, size_t samples,
                                 struct pm_friedman *out, struct pm_error *err)
{
    struct ranking ranking = {ranks, answers, samples};
    struct pm_friedman result = {0};

    enum pm_status status = check_ranking(&ranking, err);
    if (status != PM_OK)
        return status;
    result.statistic = statistic(&ranking);
    result.degrees = (int)samples - 1;
    if (!exact_p(&ranking, &result.p, &result.exact))
        return pm_fail_memory(err);
    if (!result.exact)
        result.p = pm_chi_square_upper(result.statistic, result.degrees);
    *out = result;
    return PM_OK;
}
