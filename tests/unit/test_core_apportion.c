/* SPDX-License-Identifier: MIT */
/*
 * Largest remainder against published apportionments, exact rationals, and what a perfumer reads.
 */
#include "permille/base/mem.h"
#include "permille/core/apportion.h"
#include "src/core/apportion_wide.h"
#include "trials.h"
#include "vectors.h"

#include <gmp.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define ENTRIES 64

/* Reads "a,b,c" up to the end or a ';' as decimals scaled by 10^places. */
static size_t read_list(const char *text, int places, int64_t *out)
{
    size_t count = 0;
    while (*text != '\0' && *text != ';') {
        char number[32];
        size_t length = strcspn(text, ",;");
        assert_true(length < sizeof number && count < ENTRIES);
        memcpy(number, text, length);
        number[length] = '\0';
        assert_int_equal(pm_decimal_read(number, places, "number", &out[count++], NULL), PM_OK);
        text += length + (text[length] == ',');
    }
    return count;
}

/* Every published or computed row, the 1792 bill and the Alabama paradox among them; their sources
 * stand beside them in the table. */
static void published(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    vectors_open(&vectors, "largest_remainder");
    while ((row = vectors_next(&vectors)) != NULL) {
        int64_t weights[ENTRIES], expected[ENTRIES], got[ENTRIES];
        size_t count = read_list(vector_text(row[INPUT], "weights"), 6, weights);
        int64_t total = (int64_t)vector_number(row[INPUT], "total");
        assert_int_equal(read_list(row[EXPECTED], 0, expected), count);
        assert_int_equal(pm_apportion(weights, count, total, got, NULL), PM_OK);
        for (size_t i = 0; i < count; i++) {
            if (got[i] != expected[i]) {
                fail_msg("%s, entry %zu: %lld, not %lld", row[ID], i + 1, (long long)got[i],
                         (long long)expected[i]);
            }
        }
    }
    vectors_close(&vectors, 14);
}

/* The same, done slowly and exactly: quotas as rationals, entries sorted by their remainders. */
struct entry {
    mpq_t rest;
    size_t place;
};

static int by_rest(const void *left, const void *right)
{
    const struct entry *a = left;
    const struct entry *b = right;
    int order = mpq_cmp(b->rest, a->rest);
    return order != 0 ? order : (a->place > b->place) - (a->place < b->place);
}

static void exactly(const int64_t *weights, size_t count, int64_t total, int64_t *out)
{
    struct entry entries[ENTRIES];
    mpz_t sum, floor;
    mpz_inits(sum, floor, NULL);
    for (size_t i = 0; i < count; i++)
        mpz_add_ui(sum, sum, (unsigned long)weights[i]);
    int64_t given = 0;
    for (size_t i = 0; i < count; i++) {
        mpq_init(entries[i].rest);
        entries[i].place = i;
        mpz_set_si(mpq_numref(entries[i].rest), weights[i]);
        mpz_mul_si(mpq_numref(entries[i].rest), mpq_numref(entries[i].rest), total);
        mpz_set(mpq_denref(entries[i].rest), sum);
        mpq_canonicalize(entries[i].rest);
        mpz_fdiv_q(floor, mpq_numref(entries[i].rest), mpq_denref(entries[i].rest));
        out[i] = mpz_get_si(floor);
        given += out[i];
        mpz_submul(mpq_numref(entries[i].rest), floor, mpq_denref(entries[i].rest));
    }
    qsort(entries, count, sizeof *entries, by_rest);
    for (size_t i = 0; i < count; i++) {
        out[entries[i].place] += (int64_t)i < total - given;
        mpq_clear(entries[i].rest);
    }
    mpz_clears(sum, floor, NULL);
}

static void against_rationals(void **state)
{
    (void)state;
    struct tr_random random = {7};
    for (int turn = 0; turn < 20000; turn++) {
        int64_t weights[ENTRIES], expected[ENTRIES], got[ENTRIES];
        size_t count = (size_t)tr_random_below(&random, ENTRIES) + 1;
        static const int64_t limits[] = {3, 1000, 1000000000, PM_PARTS_MAX, INT64_MAX};
        int64_t limit = limits[tr_random_below(&random, 5)];
        for (size_t i = 0; i < count; i++)
            weights[i] = tr_random_chance(&random, 9) ? 0 : tr_random_below(&random, limit);
        weights[tr_random_below(&random, (int64_t)count)] = 1 + tr_random_below(&random, limit - 1);
        int64_t total = tr_random_below(&random, limits[tr_random_below(&random, 5)]);
        exactly(weights, count, total, expected);
        assert_int_equal(pm_apportion(weights, count, total, got, NULL), PM_OK);
        assert_memory_equal(got, expected, count * sizeof *got);
        assert_int_equal(pm_apportion(weights, count, total, weights, NULL), PM_OK);
        assert_memory_equal(weights, expected, count * sizeof *got);
    }
}

/* One entry given either of its two whole neighbours: all stay within one of their quotas. */
static void one_fixed(void **state)
{
    (void)state;
    struct tr_random random = {8};
    for (int turn = 0; turn < 5000; turn++) {
        int64_t weights[ENTRIES], got[ENTRIES];
        pm_wide wide[ENTRIES], rest[ENTRIES];
        size_t count = (size_t)tr_random_below(&random, 12) + 1;
        pm_int128 sum = 0;
        for (size_t i = 0; i < count; i++) {
            weights[i] = tr_random_below(&random, 50) + (i == 0);
            wide[i] = (pm_wide)weights[i];
            sum += weights[i];
        }
        int64_t total = tr_random_below(&random, 10000);
        size_t fixed = (size_t)tr_random_below(&random, (int64_t)count);
        pm_int128 quota = (pm_int128)weights[fixed] * total;
        int64_t value = (int64_t)(quota / sum) + (quota % sum != 0 && tr_random_chance(&random, 2));
        pm_apportion_wide_fixed(wide, count, (pm_wide)sum, total, fixed, value, got, rest);
        assert_int_equal(got[fixed], value);
        int64_t all = 0;
        for (size_t i = 0; i < count; i++) {
            pm_int128 off = got[i] * sum - (pm_int128)weights[i] * total;
            assert_true(off < sum && -off < sum);
            all += got[i];
        }
        assert_int_equal(all, total);
    }
}

static void refusals(void **state)
{
    (void)state;
    const int64_t nothing[] = {0, 0};
    const int64_t negative[] = {3, -1};
    const int64_t weights[] = {1, 2};
    int64_t out[] = {77, 77};
    assert_int_equal(pm_apportion(nothing, 2, 5, out, NULL), PM_REFUSED);
    assert_int_equal(pm_apportion(negative, 2, 5, out, NULL), PM_INVALID);
    assert_int_equal(pm_apportion(weights, 2, -5, out, NULL), PM_INVALID);
    (void)pm_mem_fail_at(1, false);
    assert_int_equal(pm_apportion(weights, 2, 5, out, NULL), PM_NOMEM);
    (void)pm_mem_fail_at(0, false);
    assert_int_equal(out[0], 77);
    assert_int_equal(out[1], 77);
    assert_int_equal(pm_apportion(nothing, 2, 0, out, NULL), PM_OK);
    assert_int_equal(out[0], 0);
    assert_int_equal(pm_apportion(nothing, 0, 0, out, NULL), PM_OK);
}

/* Common practice, no source: a core of 4:3:2 in a base of 1000 reads 444, 333, 222 in whole parts,
 * and the formula still totals 1000. */
static void four_three_two(void **state)
{
    (void)state;
    const int64_t ratio[] = {4, 3, 2};
    static const char *const read[] = {"444", "333", "222"};
    int64_t parts[3];
    char buf[PM_AMOUNT_TEXT];
    assert_int_equal(pm_apportion(ratio, 3, P(1000), parts, NULL), PM_OK);
    for (size_t i = 0; i < 3; i++)
        assert_string_equal(pm_decimal_format(parts[i], 6, 0, '.', buf), read[i]);
    assert_int_equal(parts[0] + parts[1] + parts[2], P(1000));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(published),      cmocka_unit_test(against_rationals),
        cmocka_unit_test(one_fixed),      cmocka_unit_test(refusals),
        cmocka_unit_test(four_three_two),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
