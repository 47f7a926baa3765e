/* SPDX-License-Identifier: MIT */
/*
 * Friedman's test by counting.
 *
 * The distribution is built answer by answer: after each one, every set of rank sums that can have
 * come out so far, with its probability. Which sample holds which sum does not matter to the
 * statistic, so sums are kept sorted and packed into one 64-bit key. Two answers are counted by
 * dynamic programming over sets of samples instead, for any number of them.
 */
#include "panel_rank.h"

#include "permille/base/map.h"
#include "permille/base/mem.h"

#include <string.h>

#define SAMPLES_EXACT 8        /* beyond, n! orders per answer outgrow every budget */
#define STEPS_EXACT   12000000 /* some tenths of a second */

int64_t pm_sums_spread(const struct pm_ranking *ranking, const int64_t *sums)
{
    int64_t mean = (int64_t)(ranking->answers * (ranking->samples + 1));
    int64_t total = 0;

    for (size_t i = 0; i < ranking->samples; i++)
        total += (sums[i] - mean) * (sums[i] - mean);
    return total;
}

int64_t pm_ranking_spread(const struct pm_ranking *ranking)
{
    int64_t sums[PM_PANEL_SAMPLES_MAX] = {0};

    for (size_t i = 0; i < ranking->answers * ranking->samples; i++)
        sums[i % ranking->samples] += ranking->doubled[i];
    return pm_sums_spread(ranking, sums);
}

/* ---- exact distribution ---------------------------------------------------------------------- */

struct exact {
    const struct pm_ranking *ranking;
    uint8_t (*orders)[SAMPLES_EXACT]; /* all permutations of 0..samples-1; owned */
    size_t order_count;
    unsigned bits;        /* of a packed sum */
    struct pm_map now;    /* packed rank sums to probabilities, after the answers so far */
    struct pm_map next;   /* being filled */
    int64_t observed;     /* spread of the sums that did come out */
    double as_large;      /* probability of a spread at least that large */
    double probabilities; /* of everything enumerated: 1 but for rounding */
};

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

/* The key of packed sums: one more than they are, for none is 0. No sums are all ones. */
static bool add(struct pm_map *table, uint64_t sums, double probability)
{
    struct pm_map_slot *slot = pm_map_slot(table, (int64_t)(sums + 1));
    if (slot != NULL)
        slot->value.number += probability;
    return slot != NULL;
}

/* Every order of one answer's ranks on top of one set of sums. The last answer's sums are compared
 * with what was observed instead of being kept. */
static bool extend(struct exact *exact, const struct pm_map_slot *from, size_t answer)
{
    const struct pm_ranking *ranking = exact->ranking;
    size_t samples = ranking->samples;
    const int64_t *row = ranking->doubled + answer * samples;
    double probability = from->value.number / (double)exact->order_count;
    int64_t base[SAMPLES_EXACT] = {0};

    unpack(exact, (uint64_t)from->key - 1, base);
    for (size_t order = 0; order < exact->order_count; order++) {
        int64_t sums[SAMPLES_EXACT] = {0};
        for (size_t i = 0; i < samples; i++)
            sums[i] = base[i] + row[exact->orders[order][i]];
        if (answer + 1 < ranking->answers) {
            if (!add(&exact->next, pack(exact, sums), probability))
                return false;
        } else {
            exact->probabilities += probability;
            exact->as_large += pm_sums_spread(ranking, sums) >= exact->observed ? probability : 0;
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
    if (!add(&exact->now, 0, 1))
        return false;
    for (size_t answer = 0; answer < answers; answer++) {
        /* The answers left take at least as many steps each as this one. */
        uint64_t step = (uint64_t)exact->now.count * exact->order_count;
        if (steps + step * (answers - answer) > STEPS_EXACT)
            return true;
        steps += step;
        pm_map_clear(&exact->next);
        for (size_t i = 0; i < exact->now.capacity; i++) {
            const struct pm_map_slot *slot = &exact->now.slots[i];
            if (slot->key != 0 && !extend(exact, slot, answer))
                return false;
        }
        struct pm_map old = exact->now;
        exact->now = exact->next;
        exact->next = old;
    }
    *done = true;
    return true;
}

/* Answers about up to SAMPLES_EXACT samples. */
static enum pm_status count_sums(const struct pm_ranking *ranking, double *p, bool *done,
                                 struct pm_error *err)
{
    struct exact exact = {.ranking = ranking, .observed = pm_ranking_spread(ranking)};
    uint8_t order[SAMPLES_EXACT] = {0, 1, 2, 3, 4, 5, 6, 7};
    size_t orders = 1;

    exact.bits = (unsigned)(64 / ranking->samples);
    exact.bits = exact.bits > 31 ? 31 : exact.bits;
    if (2 * ranking->answers * ranking->samples >> exact.bits != 0)
        return PM_OK;
    for (size_t i = 2; i <= ranking->samples; i++)
        orders *= i;
    exact.orders = pm_alloc_array(orders, sizeof *exact.orders);
    if (exact.orders == NULL)
        return pm_fail_memory(err);
    list_orders(&exact, order, 0);
    bool ok = enumerate(&exact, done);
    if (ok && *done)
        *p = exact.as_large / exact.probabilities;
    pm_free(exact.orders);
    pm_map_release(&exact.now);
    pm_map_release(&exact.next);
    return ok ? PM_OK : pm_fail_memory(err);
}

/* ---- two answers ----------------------------------------------------------------------------- */

/* Of two answers the sums spread the further, the larger the sum of products of a sample's ranks.
 * ways[set][sum] counts how the first answer's first samples can meet the second answer's samples
 * in the set so that the products make the sum; 12! ways fit 32 bits. */
struct meeting {
    int64_t first[PM_PANEL_SAMPLES_MAX], second[PM_PANEL_SAMPLES_MAX];
    size_t samples;
    size_t sums;    /* 0 .. the largest sum of products */
    uint32_t *ways; /* owned */
};

static void begin_meeting(const struct pm_ranking *ranking, struct meeting *meeting)
{
    int64_t unit = 2, squares = 0;

    *meeting = (struct meeting){.samples = ranking->samples};
    for (size_t i = 0; i < 2 * ranking->samples; i++)
        unit = ranking->doubled[i] % 2 != 0 ? 1 : unit;
    for (size_t i = 0; i < ranking->samples; i++) {
        const int64_t a = ranking->doubled[i] / unit;
        const int64_t b = ranking->doubled[ranking->samples + i] / unit;
        meeting->first[i] = a;
        meeting->second[i] = b;
        squares += a * a + b * b;
    }
    /* Both alike: no sum of products is larger than the mean of the two sums of squares. */
    meeting->sums = (size_t)(squares / 2) + 1;
}

static int64_t products(const struct meeting *meeting)
{
    int64_t sum = 0;
    for (size_t i = 0; i < meeting->samples; i++)
        sum += meeting->first[i] * meeting->second[i];
    return sum;
}

/* One more sample of the first answer meets each sample that is not yet in the set. */
static void meet(const struct meeting *meeting, size_t set)
{
    const uint32_t *from = meeting->ways + set * meeting->sums;
    const size_t met = (size_t)__builtin_popcountll(set);
    for (size_t i = 0; i < meeting->samples; i++) {
        if (set >> i & 1)
            continue;
        const size_t product = (size_t)(meeting->first[met] * meeting->second[i]);
        uint32_t *to = meeting->ways + (set | (size_t)1 << i) * meeting->sums + product;
        for (size_t sum = 0; sum + product < meeting->sums; sum++)
            to[sum] += from[sum];
    }
}

static enum pm_status count_meetings(const struct pm_ranking *ranking, double *p,
                                     struct pm_error *err)
{
    struct meeting meeting;
    const size_t sets = (size_t)1 << ranking->samples;
    double as_large = 0, all = 0;

    begin_meeting(ranking, &meeting);
    const size_t observed = (size_t)products(&meeting);
    meeting.ways = pm_alloc_array(sets * meeting.sums, sizeof *meeting.ways);
    if (meeting.ways == NULL)
        return pm_fail_memory(err);
    meeting.ways[0] = 1;
    for (size_t set = 0; set + 1 < sets; set++)
        meet(&meeting, set);
    for (size_t sum = 0; sum < meeting.sums; sum++) {
        const double ways = meeting.ways[(sets - 1) * meeting.sums + sum];
        all += ways;
        as_large += sum >= observed ? ways : 0;
    }
    *p = as_large / all;
    pm_free(meeting.ways);
    return PM_OK;
}

enum pm_status pm_ranking_exact(const struct pm_ranking *ranking, double *p, bool *done,
                                struct pm_error *err)
{
    *done = ranking->answers == 2;
    if (*done)
        return count_meetings(ranking, p, err);
    return ranking->samples > SAMPLES_EXACT ? PM_OK : count_sums(ranking, p, done, err);
}
