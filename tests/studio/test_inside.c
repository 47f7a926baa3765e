/* SPDX-License-Identifier: MIT */
/*
 * Parts inside the studio that nobody sees: the map of cached rows, the distance of names.
 */
#include "src/studio/inside.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

/* Against a plain array: puts, gets and takes in any order, with ids that share slots. */
static void test_row_map(void **state)
{
    (void)state;
    enum { IDS = 300 };
    static int values[IDS];
    bool there[IDS] = {false};
    struct pm_map map = {NULL, 0, 0};
    uint64_t seed = UINT64_C(0x7A11EE);
    size_t count = 0;
    for (int step = 0; step < 40000; step++) {
        seed ^= seed << 13;
        seed ^= seed >> 7;
        seed ^= seed << 17;
        size_t i = seed % IDS;
        int64_t id = (int64_t)(i * 64 + 1);
        if (seed >> 40 & 1) {
            assert_true(pm_map_put(&map, id, &values[i]));
            count += !there[i];
            there[i] = true;
        } else {
            void *taken = pm_map_take(&map, id);
            assert_ptr_equal(taken, there[i] ? &values[i] : NULL);
            count -= there[i];
            there[i] = false;
        }
        assert_int_equal(map.count, count);
        size_t k = seed >> 20 & 255;
        void *got = pm_map_get(&map, (int64_t)(k * 64 + 1));
        assert_ptr_equal(got, there[k] ? &values[k] : NULL);
    }
    pm_map_release(&map);
    assert_null(pm_map_get(&map, 1));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_row_map),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
