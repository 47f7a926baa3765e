/* SPDX-License-Identifier: MIT */
/* The hash table, held against a plain array that is searched from end to end, and sets of texts.
 */
#include "permille/base/map.h"
#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/base/text_set.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>

#include <cmocka.h>

static void empty(void **state)
{
    struct pm_map map = {0};
    (void)state;
    assert_null(pm_map_get(&map, 1));
    assert_null(pm_map_take(&map, 1));
    assert_int_equal(pm_map_place(&map, 1), PM_MAP_NONE);
    pm_map_clear(&map);
    pm_map_release(&map);
}

/* Put, taken and asked at random, with keys that crowd the same places; negative ones too. */
static void any_order(void **state)
{
    enum { KEYS = 97 };
    static char things[KEYS];
    void *there[KEYS] = {0};
    struct pm_map map = {0};
    size_t count = 0;
    (void)state;
    srandom(7);
    for (int step = 0; step < 100000; step++) {
        size_t i = (size_t)random() % KEYS;
        int64_t key = ((int64_t)i - 20) * 16 + 1;
        if (random() % 3 != 0) {
            void *thing = &things[(size_t)random() % KEYS];
            count += there[i] == NULL;
            assert_true(pm_map_put(&map, key, thing));
            there[i] = thing;
        } else {
            assert_ptr_equal(pm_map_take(&map, key), there[i]);
            count -= there[i] != NULL;
            there[i] = NULL;
        }
        assert_int_equal(map.count, count);
        i = (size_t)random() % KEYS;
        assert_ptr_equal(pm_map_get(&map, ((int64_t)i - 20) * 16 + 1), there[i]);
    }
    pm_map_clear(&map);
    for (size_t i = 0; i < KEYS; i++)
        assert_null(pm_map_get(&map, ((int64_t)i - 20) * 16 + 1));
    pm_map_release(&map);
}

static void places_and_numbers(void **state)
{
    struct pm_map map = {0}, numbers = {0};
    (void)state;
    for (size_t i = 0; i < 1000; i++)
        assert_true(pm_map_put_place(&map, (int64_t)i + 1, i));
    for (size_t i = 0; i < 1000; i++)
        assert_int_equal(pm_map_place(&map, (int64_t)i + 1), i);
    assert_int_equal(pm_map_place(&map, 1001), PM_MAP_NONE);
    for (int i = 0; i < 10; i++)
        pm_map_slot(&numbers, INT64_MIN)->value.number += 0.5;
    assert_true(pm_map_find(&numbers, INT64_MIN)->value.number == 5.0);
    assert_int_equal(numbers.count, 1);
    pm_map_release(&map);
    pm_map_release(&numbers);
}

/* A failed call leaves everything as it was; a key that is there needs no memory. */
static void memory_runs_out(void **state)
{
    static char thing;
    struct pm_map map = {0};
    int64_t key = 1;
    (void)state;
    assert_true(pm_map_put(&map, key, &thing));
    pm_mem_fail_at(1, true);
    while (pm_map_put(&map, key + 1, &thing))
        key++;
    assert_true(key < 1000);
    assert_int_equal(map.count, key);
    assert_null(pm_map_get(&map, key + 1));
    for (int64_t i = 1; i <= key; i++) {
        assert_ptr_equal(pm_map_get(&map, i), &thing);
        assert_true(pm_map_put(&map, i, &thing));
    }
    pm_mem_fail_at(0, false);
    assert_true(pm_map_put(&map, key + 1, &thing));
    pm_map_release(&map);
}

static void texts_have_their_places(void **state)
{
    struct pm_text_set set = {.texts = NULL};
    char text[16];
    size_t place;
    (void)state;
    assert_int_equal(pm_text_set_place(&set, ""), PM_MAP_NONE);
    for (int round = 0; round < 2; round++) {
        for (size_t i = 0; i < 2000; i++) {
            assert_true(pm_text_set_add(&set, pm_print(text, sizeof text, "Note %zu", i), &place));
            assert_int_equal(place, i);
        }
    }
    assert_int_equal(set.count, 2000);
    assert_string_equal(set.texts[1234], "Note 1234");
    assert_int_equal(pm_text_set_place(&set, "Note 1234"), 1234);
    assert_int_equal(pm_text_set_place(&set, "note 1234"), PM_MAP_NONE);
    assert_true(pm_text_set_add(&set, "", &place));
    assert_int_equal(place, 2000);
    pm_text_set_release(&set);
    assert_int_equal(pm_text_set_place(&set, "Note 1"), PM_MAP_NONE);
}

/* Two texts of one hash, and a third that is neither: they are put under the same key by hand. */
static void texts_of_one_hash(void **state)
{
    struct pm_text_set set = {.texts = NULL};
    size_t place;
    (void)state;
    assert_true(pm_text_set_add(&set, "one", &place));
    set.texts[0] = "other"; /* as if "other" had the hash of "one" */
    assert_int_equal(pm_text_set_place(&set, "one"), PM_MAP_NONE);
    assert_true(pm_text_set_add(&set, "one", &place));
    assert_int_equal(place, 1);
    assert_int_equal(pm_text_set_place(&set, "one"), 1);
    pm_text_set_release(&set);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(empty),
        cmocka_unit_test(any_order),
        cmocka_unit_test(places_and_numbers),
        cmocka_unit_test(texts_have_their_places),
        cmocka_unit_test(texts_of_one_hash),
        cmocka_unit_test(memory_runs_out),
    };
    return cmocka_run_group_tests_name("base: map", tests, NULL, NULL);
}
