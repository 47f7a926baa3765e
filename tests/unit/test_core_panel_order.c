/* SPDX-License-Identifier: MIT */
/*
 * Blind serving: Williams designs, random numbers, codes and serving orders, against the check
 * vectors and by the properties that make them fair.
 */
#include "permille/core/panel.h"
#include "tests/unit/vectors.h"

#include <gsl/gsl_cdf.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void test_williams_vectors(void **state)
{
    struct vectors vectors;
    char **row;

    (void)state;
    vectors_open(&vectors, "williams_design");
    while ((row = vectors_next(&vectors)) != NULL) {
        size_t n = (size_t)vector_number(row[INPUT], "n");
        uint8_t orders[2 * PM_PANEL_SAMPLES_MAX * PM_PANEL_SAMPLES_MAX];
        char text[400] = "";
        size_t rows;
        size_t length = 0;
        assert_int_equal(pm_williams(n, orders, &rows, NULL), PM_OK);
        for (size_t i = 0; i < rows * n; i++) {
            if (i > 0 && i % n == 0)
                text[length++] = '|';
            text[length++] = (char)('A' + orders[i]);
        }
        text[length] = '\0';
        assert_string_equal(text, vector_text(row[EXPECTED], "sequences"));
    }
    vectors_close(&vectors, 4);
}

struct balance {
    size_t rows, per_position, per_pair;
};

/* Counts; fails unless all positions, and all ordered pairs of neighbours, are met equally often.
 */
static struct balance balance_of(const uint8_t *orders, size_t rows, size_t n)
{
    size_t position[PM_PANEL_SAMPLES_MAX][PM_PANEL_SAMPLES_MAX] = {{0}};
    size_t pair[PM_PANEL_SAMPLES_MAX][PM_PANEL_SAMPLES_MAX] = {{0}};

    for (size_t row = 0; row < rows; row++) {
        for (size_t at = 0; at < n; at++) {
            uint8_t sample = orders[row * n + at];
            assert_true(sample < n);
            position[sample][at]++;
            if (at > 0)
                pair[orders[row * n + at - 1]][sample]++;
        }
    }
    for (size_t a = 0; a < n; a++) {
        for (size_t b = 0; b < n; b++) {
            assert_int_equal(position[a][b], position[0][0]);
            assert_int_equal(pair[a][b], a == b ? 0 : pair[0][1]);
        }
    }
    return (struct balance){rows, position[0][0], pair[0][1]};
}

static void test_williams_properties(void **state)
{
    struct vectors vectors;
    char **row;
    uint8_t orders[2 * PM_PANEL_SAMPLES_MAX * PM_PANEL_SAMPLES_MAX];
    size_t rows = 99;

    (void)state;
    vectors_open(&vectors, "williams_properties");
    while ((row = vectors_next(&vectors)) != NULL) {
        size_t n = (size_t)vector_number(row[INPUT], "n");
        assert_int_equal(pm_williams(n, orders, &rows, NULL), PM_OK);
        struct balance balance = balance_of(orders, rows, n);
        assert_int_equal(balance.rows, (int)vector_number(row[EXPECTED], "rows"));
        assert_int_equal(balance.per_position,
                         (int)vector_number(row[EXPECTED], "each_sample_per_position"));
        assert_int_equal(balance.per_pair, (int)vector_number(row[EXPECTED], "each_ordered_pair"));
    }
    vectors_close(&vectors, 4);
    for (size_t n = 2; n <= PM_PANEL_SAMPLES_MAX; n++) {
        assert_int_equal(pm_williams(n, orders, &rows, NULL), PM_OK);
        struct balance balance = balance_of(orders, rows, n);
        assert_int_equal(balance.rows, n % 2 == 0 ? n : 2 * n);
        assert_int_equal(balance.per_pair, n % 2 == 0 ? 1 : 2);
    }
    rows = 99;
    assert_int_equal(pm_williams(1, orders, &rows, NULL), PM_REFUSED);
    assert_int_equal(pm_williams(PM_PANEL_SAMPLES_MAX + 1, orders, &rows, NULL), PM_REFUSED);
    assert_int_equal(rows, 99);
}

/* First outputs of splitmix64 for the seeds 1234567 and 0, as published with its reference code and
 * quoted wherever it is ported; from memory. */
static void test_random_reference(void **state)
{
    static const uint64_t first[] = {
        UINT64_C(6457827717110365317),  UINT64_C(3203168211198807973),
        UINT64_C(9817491932198370423),  UINT64_C(4593380528125082431),
        UINT64_C(16408922859458223821),
    };
    struct pm_random random;

    (void)state;
    pm_random_seed(&random, 1234567);
    for (size_t i = 0; i < sizeof first / sizeof *first; i++)
        assert_true(pm_random_next(&random) == first[i]);
    pm_random_seed(&random, 0);
    assert_true(pm_random_next(&random) == UINT64_C(0xe220a8397b1dcdaf));
}

static void test_random_is_even(void **state)
{
    struct pm_random random;
    size_t count[6] = {0};
    size_t place[4][4] = {{0}};
    double chi = 0;

    (void)state;
    pm_random_seed(&random, 2026);
    for (int i = 0; i < 60000; i++)
        count[pm_random_below(&random, 6)]++;
    for (size_t i = 0; i < 6; i++)
        chi += ((double)count[i] - 10000) * ((double)count[i] - 10000) / 10000;
    assert_true(gsl_cdf_chisq_Q(chi, 5) > 0.001);
    for (int i = 0; i < 24000; i++) {
        uint8_t items[4] = {0, 1, 2, 3};
        pm_random_shuffle(&random, items, 4);
        for (size_t at = 0; at < 4; at++)
            place[items[at]][at]++;
    }
    for (size_t i = 0; i < 16; i++)
        assert_in_range(place[i / 4][i % 4], 5700, 6300);
    for (int i = 0; i < 100; i++)
        assert_int_equal(pm_random_below(&random, 1), 0);
}

static bool is_memorable(unsigned code)
{
    static const char *const runs = "0123456789 9876543210";
    char text[8];

    snprintf(text, sizeof text, "%03u", code);
    return strstr(runs, text) != NULL || (text[0] == text[1] && text[1] == text[2]);
}

/* CODE-1: three-digit random numbers, each once in a sitting (ISO 4120:2021, 5.5). CODE-2: there
 * are 900 without a leading zero. */
static void test_codes(void **state)
{
    struct vectors vectors;
    char **row;
    uint16_t codes[PM_PANEL_CODES_MAX];
    bool used[1000];
    struct pm_random random;

    (void)state;
    vectors_open(&vectors, "blind_codes");
    while ((row = vectors_next(&vectors)) != NULL)
        if (strcmp(row[ID], "CODE-2") == 0)
            assert_int_equal(atoi(row[EXPECTED]), PM_PANEL_CODES_MAX);
    vectors_close(&vectors, 2);

    size_t plain = 0;
    for (unsigned code = 100; code <= 999; code++)
        plain += !is_memorable(code);
    for (size_t count = 0; count <= PM_PANEL_CODES_MAX; count += count < 30 ? 1 : 29) {
        memset(used, 0, sizeof used);
        pm_random_seed(&random, count);
        assert_int_equal(pm_panel_codes(&random, count, codes, NULL), PM_OK);
        for (size_t i = 0; i < count; i++) {
            assert_in_range(codes[i], 100, 999);
            assert_false(used[codes[i]]);
            used[codes[i]] = true;
            assert_true(count > plain || !is_memorable(codes[i]));
        }
    }
    assert_int_equal(plain, 876);
    pm_random_seed(&random, 6);
    assert_int_equal(pm_panel_codes(&random, plain, codes, NULL), PM_OK);
    for (size_t i = 0; i < plain; i++)
        assert_false(is_memorable(codes[i]));
    pm_random_seed(&random, 5);
    assert_int_equal(pm_panel_codes(&random, PM_PANEL_CODES_MAX, codes, NULL), PM_OK);
    codes[0] = 7;
    pm_random_seed(&random, 5);
    assert_int_equal(pm_panel_codes(&random, PM_PANEL_CODES_MAX + 1, codes, NULL), PM_REFUSED);
    assert_int_equal(codes[0], 7);
    assert_true(random.state == 5);
}

/* Every list entry in the vector occurs, each equally often, and nothing else. */
static void check_orders(const char *topic, enum pm_panel_kind kind, size_t block)
{
    struct vectors vectors;
    struct pm_random random;
    uint8_t out[3 * 120];
    size_t seen = 0;

    vectors_open(&vectors, topic);
    char **row = vectors_next(&vectors);
    assert_non_null(row);
    pm_random_seed(&random, 42);
    assert_int_equal(pm_panel_orders(kind, 2, 120, &random, out, NULL), PM_OK);
    for (char *name = strtok(row[EXPECTED], "|"); name != NULL; name = strtok(NULL, "|")) {
        for (size_t first = 0; first < 120; first += block) {
            size_t count = 0;
            for (size_t i = first; i < first + block; i++) {
                const uint8_t *order = out + 3 * i;
                char text[10];
                snprintf(text, sizeof text, kind == PM_TRIANGLE ? "%c%c%c" : "ref%c:%c%c",
                         'A' + order[0], 'A' + order[1], 'A' + order[2]);
                count += strcmp(text, name) == 0;
            }
            assert_int_equal(count, 1);
        }
        seen++;
    }
    assert_int_equal(seen, block);
    size_t alike = 0;
    for (size_t first = block; first < 120; first += block)
        alike += memcmp(out, out + 3 * first, 3 * block) == 0;
    assert_true(alike < 120 / block / 2); /* nobody can learn the order of a block */
    vectors_close(&vectors, 1);
}

static void test_serving_orders(void **state)
{
    struct pm_random random;
    uint8_t out[3 * 120];
    uint8_t again[3 * 120];

    (void)state;
    check_orders("triangle_serving_orders", PM_TRIANGLE, 6);
    check_orders("duo_trio_serving_orders", PM_DUO_TRIO, 4);

    pm_random_seed(&random, 7);
    assert_int_equal(pm_panel_orders(PM_PAIRED, 2, 100, &random, out, NULL), PM_OK);
    size_t first = 0;
    for (size_t i = 0; i < 100; i++) {
        assert_int_equal(out[2 * i] + out[2 * i + 1], 1);
        first += out[2 * i] == 0;
    }
    assert_int_equal(first, 50);

    /* Whole blocks of a ranking keep the balance; the same seed serves the same again. */
    pm_random_seed(&random, 8);
    assert_int_equal(pm_panel_orders(PM_RANKING, 5, 20, &random, out, NULL), PM_OK);
    struct balance balance = balance_of(out, 20, 5);
    assert_int_equal(balance.per_pair, 4);
    pm_random_seed(&random, 8);
    assert_int_equal(pm_panel_orders(PM_RANKING, 5, 20, &random, again, NULL), PM_OK);
    assert_memory_equal(out, again, 100);
    pm_random_seed(&random, 9);
    assert_int_equal(pm_panel_orders(PM_RANKING, 5, 20, &random, again, NULL), PM_OK);
    assert_memory_not_equal(out, again, 100);

    /* An incomplete block repeats nothing. */
    pm_random_seed(&random, 10);
    assert_int_equal(pm_panel_orders(PM_TRIANGLE, 2, 5, &random, out, NULL), PM_OK);
    for (size_t i = 0; i < 5; i++)
        for (size_t j = 0; j < i; j++)
            assert_memory_not_equal(out + 3 * i, out + 3 * j, 3);
}

static void test_serving_refusals(void **state)
{
    struct pm_random random = {1};
    struct pm_error error;
    uint8_t out[40] = {77};

    (void)state;
    assert_int_equal(pm_panel_orders(PM_TRIANGLE, 3, 6, &random, out, &error), PM_REFUSED);
    assert_int_equal(pm_panel_orders(PM_TRIANGLE, 2, 0, &random, out, &error), PM_REFUSED);
    assert_int_equal(pm_panel_orders(PM_RANKING, 13, 2, &random, out, &error), PM_REFUSED);
    assert_int_equal(pm_panel_orders(PM_PAIRED, 2, PM_PANEL_ANSWERS_MAX + 1, &random, out, &error),
                     PM_REFUSED);
    assert_int_equal(out[0], 77);
    assert_true(random.state == 1);
    assert_int_equal(pm_panel_servings(PM_TRIANGLE, 2), 3);
    assert_int_equal(pm_panel_servings(PM_DUO_TRIO, 2), 3);
    assert_int_equal(pm_panel_servings(PM_PAIRED_TWO_SIDED, 2), 2);
    assert_int_equal(pm_panel_servings(PM_RANKING, 5), 5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_williams_vectors),
        cmocka_unit_test(test_williams_properties),
        cmocka_unit_test(test_random_reference),
        cmocka_unit_test(test_random_is_even),
        cmocka_unit_test(test_codes),
        cmocka_unit_test(test_serving_orders),
        cmocka_unit_test(test_serving_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
