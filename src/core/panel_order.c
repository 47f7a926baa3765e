/* SPDX-License-Identifier: MIT */
/*
 * Blind serving: the random generator, three-digit codes, Williams designs and serving orders.
 * Everything follows from the seed alone: drawing more or fewer numbers in a call here would change
 * the codes and orders that stored seeds stand for.
 */
#include "permille/core/panel.h"

#include <string.h>

#define CODE_FIRST 100
#define CODE_END   (CODE_FIRST + PM_PANEL_CODES_MAX)

/* ---- random numbers -------------------------------------------------------------------------- */

void pm_random_seed(struct pm_random *random, uint64_t seed)
{
    random->state = seed;
}

uint64_t pm_random_next(struct pm_random *random)
{
    random->state += UINT64_C(0x9e3779b97f4a7c15);
    uint64_t z = random->state;
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

/* Numbers below 2^64 mod bound are drawn again: what is left divides evenly. */
uint32_t pm_random_below(struct pm_random *random, uint32_t bound)
{
    uint64_t surplus = (UINT64_MAX - bound + 1) % bound;
    uint64_t number;

    do {
        number = pm_random_next(random);
    } while (number < surplus);
    return (uint32_t)(number % bound);
}

void pm_random_shuffle(struct pm_random *random, uint8_t *items, size_t count)
{
    for (size_t i = count; i > 1; i--) {
        size_t other = pm_random_below(random, (uint32_t)i);
        uint8_t item = items[i - 1];
        items[i - 1] = items[other];
        items[other] = item;
    }
}

/* ---- codes ----------------------------------------------------------------------------------- */

/* 222, 345, 876: a nose that meets such a code remembers it, and takes it for first or best. */
static bool easily_remembered(int code)
{
    int first = code / 100;
    int second = code / 10 % 10;
    int third = code % 10;
    int step = second - first;

    return third - second == step && step >= -1 && step <= 1;
}

enum pm_status pm_panel_codes(struct pm_random *random, size_t count, uint16_t *codes,
                              struct pm_error *err)
{
    uint16_t choice[PM_PANEL_CODES_MAX];
    size_t plain = 0;

    if (count > PM_PANEL_CODES_MAX) {
        return pm_fail(err, PM_REFUSED, "There are only %d three-digit codes; %zu were asked for.",
                       PM_PANEL_CODES_MAX, count);
    }
    for (int code = CODE_FIRST; code < CODE_END; code++)
        if (!easily_remembered(code))
            choice[plain++] = (uint16_t)code;
    size_t choices = plain;
    for (int code = CODE_FIRST; count > plain && code < CODE_END; code++)
        if (easily_remembered(code))
            choice[choices++] = (uint16_t)code;
    for (size_t i = 0; i < count; i++) {
        size_t other = i + pm_random_below(random, (uint32_t)(choices - i));
        codes[i] = choice[other];
        choice[other] = choice[i];
    }
    return PM_OK;
}

/* ---- serving orders -------------------------------------------------------------------------- */

/* The zigzag 0, 1, n-1, 2, n-2, ... meets every difference between neighbours once when n is even,
 * so its n shifts are balanced. When n is odd differences come out uneven, and the mirrored rows
 * make up for it (Williams 1949). */
enum pm_status pm_williams(size_t n, uint8_t *orders, size_t *rows, struct pm_error *err)
{
    if (n < 2 || n > PM_PANEL_SAMPLES_MAX) {
        return pm_fail(err, PM_REFUSED, "A ranking takes 2 to %d samples, not %zu.",
                       PM_PANEL_SAMPLES_MAX, n);
    }
    for (size_t row = 0; row < n; row++) {
        for (size_t at = 0; at < n; at++) {
            size_t zigzag = at % 2 == 1 ? (at + 1) / 2 : (n - at / 2) % n;
            orders[row * n + at] = (uint8_t)((zigzag + row) % n);
        }
    }
    *rows = n;
    if (n % 2 == 1) {
        for (size_t row = 0; row < n; row++)
            for (size_t at = 0; at < n; at++)
                orders[(n + row) * n + at] = orders[row * n + (n - 1 - at)];
        *rows = 2 * n;
    }
    return PM_OK;
}

static const uint8_t triangle_orders[6][3] = {
    {0, 0, 1}, {0, 1, 0}, {1, 0, 0}, {1, 1, 0}, {1, 0, 1}, {0, 1, 1},
};
static const uint8_t duo_trio_orders[4][3] = {
    {0, 0, 1}, {0, 1, 0}, {1, 0, 1}, {1, 1, 0}, /* the reference, then the pair */
};
static const uint8_t paired_orders[2][2] = {{0, 1}, {1, 0}};

struct block {
    uint8_t orders[2 * PM_PANEL_SAMPLES_MAX * PM_PANEL_SAMPLES_MAX];
    size_t rows;
    size_t width; /* servings of one order */
};

size_t pm_panel_servings(enum pm_panel_kind kind, size_t samples)
{
    switch (kind) {
    case PM_TRIANGLE:
    case PM_DUO_TRIO:
        return 3;
    case PM_PAIRED:
    case PM_PAIRED_TWO_SIDED:
        return 2;
    case PM_RANKING:
        break;
    }
    return samples;
}

static enum pm_status block_make(struct block *block, enum pm_panel_kind kind, size_t samples,
                                 struct pm_error *err)
{
    block->width = pm_panel_servings(kind, samples);
    switch (kind) {
    case PM_TRIANGLE:
        memcpy(block->orders, triangle_orders, sizeof triangle_orders);
        block->rows = 6;
        return PM_OK;
    case PM_DUO_TRIO:
        memcpy(block->orders, duo_trio_orders, sizeof duo_trio_orders);
        block->rows = 4;
        return PM_OK;
    case PM_PAIRED:
    case PM_PAIRED_TWO_SIDED:
        memcpy(block->orders, paired_orders, sizeof paired_orders);
        block->rows = 2;
        return PM_OK;
    case PM_RANKING:
        break;
    }
    return pm_williams(samples, block->orders, &block->rows, err);
}

enum pm_status pm_panel_orders(enum pm_panel_kind kind, size_t samples, size_t answers,
                               struct pm_random *random, uint8_t *out, struct pm_error *err)
{
    struct block block;
    uint8_t turns[2 * PM_PANEL_SAMPLES_MAX];

    if (kind != PM_RANKING && samples != 2) {
        return pm_fail(err, PM_REFUSED,
                       "This blind test compares two samples, not %zu; several are ranked.",
                       samples);
    }
    if (answers < 1 || answers > PM_PANEL_ANSWERS_MAX) {
        return pm_fail(err, PM_REFUSED, "A blind test takes 1 to %d answers, not %zu.",
                       PM_PANEL_ANSWERS_MAX, answers);
    }
    enum pm_status status = block_make(&block, kind, samples, err);
    if (status != PM_OK)
        return status;
    for (size_t answer = 0; answer < answers; answer++) {
        size_t turn = answer % block.rows;
        if (turn == 0) {
            for (size_t i = 0; i < block.rows; i++)
                turns[i] = (uint8_t)i;
            pm_random_shuffle(random, turns, block.rows);
        }
        memcpy(out + answer * block.width, block.orders + turns[turn] * block.width, block.width);
    }
    return PM_OK;
}
