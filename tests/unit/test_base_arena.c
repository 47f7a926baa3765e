/* SPDX-License-Identifier: MIT */
/* Memory that is freed at once, and lists that live in it. */
#include "permille/base/arena.h"
#include "permille/base/mem.h"

#include <setjmp.h>
#include <stdalign.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

struct row {
    int64_t number;
    const char *name;
};
struct rows {
    struct row *items;
    size_t count;
    struct pm_arena arena;
};

static void add(struct rows *rows, int64_t number)
{
    char name[40];
    snprintf(name, sizeof name, "row %lld", (long long)number);
    struct row *row = pm_list_add(rows);
    if (row != NULL) {
        assert_int_equal(row->number, 0);
        assert_null(row->name);
        row->number = number;
        row->name = pm_arena_text(&rows->arena, name);
    }
}

static void a_list_keeps_rows_and_strings(void **state)
{
    struct rows rows = {0};
    char name[40];
    (void)state;
    for (int64_t i = 0; i < 5000; i++)
        add(&rows, i);
    assert_int_equal(rows.count, 5000);
    assert_int_equal(pm_arena_status(&rows.arena, NULL), PM_OK);
    for (int64_t i = 0; i < 5000; i++) {
        snprintf(name, sizeof name, "row %lld", (long long)i);
        assert_int_equal(rows.items[i].number, i);
        assert_string_equal(rows.items[i].name, name);
    }
    pm_list_release(&rows);
    assert_null(rows.items);
    assert_int_equal(rows.count, 0);
    add(&rows, 7); /* and can be filled again */
    assert_int_equal(rows.items[0].number, 7);
    pm_list_release(&rows);
}

static void a_list_may_move(void **state)
{
    struct rows rows = {0}, moved;
    (void)state;
    for (int64_t i = 0; i < 3; i++)
        add(&rows, i);
    moved = rows;
    for (int64_t i = 3; i < 100; i++)
        add(&moved, i);
    assert_string_equal(moved.items[2].name, "row 2");
    assert_string_equal(moved.items[99].name, "row 99");
    pm_list_release(&moved);
}

static void two_lists_share_an_arena(void **state)
{
    struct rows rows = {0};
    int64_t *numbers = NULL;
    size_t count = 0;
    (void)state;
    for (int64_t i = 0; i < 300; i++) {
        int64_t *number = pm_arena_push(&rows.arena, &numbers, &count, sizeof *numbers);
        assert_non_null(number);
        *number = i;
        add(&rows, -i);
    }
    for (int64_t i = 0; i < 300; i++) {
        assert_int_equal(numbers[i], i);
        assert_int_equal(rows.items[i].number, -i);
    }
    pm_list_release(&rows);
}

static void pieces_are_apart_aligned_and_zeroed(void **state)
{
    struct pm_arena arena = {0};
    unsigned char *pieces[400];
    (void)state;
    for (size_t i = 0; i < 400; i++) {
        size_t size = i * 7 % 900;
        pieces[i] = pm_arena_alloc(&arena, size);
        assert_non_null(pieces[i]);
        assert_int_equal((uintptr_t)pieces[i] % alignof(max_align_t), 0);
        for (size_t k = 0; k < size; k++)
            assert_int_equal(pieces[i][k], 0);
        memset(pieces[i], (int)(i & 0xff), size);
        assert_string_equal(pm_arena_text(&arena, "odd"), "odd");
    }
    for (size_t i = 0; i < 400; i++)
        for (size_t k = 0; k < i * 7 % 900; k++)
            assert_int_equal(pieces[i][k], i & 0xff);
    assert_null(pm_arena_text(&arena, NULL));
    assert_string_equal(pm_arena_text(&arena, ""), "");
    assert_string_equal(pm_arena_text_bytes(&arena, "abcdef", 3), "abc");
    assert_false(arena.failed);
    pm_arena_release(&arena);
    pm_arena_release(&arena);
}

static void few_requests_for_many_rows(void **state)
{
    struct rows rows = {0};
    (void)state;
    pm_mem_fail_at(0, false);
    for (int64_t i = 0; i < 100000; i++)
        add(&rows, i);
    assert_true(pm_mem_fail_at(0, false) < 100);
    pm_list_release(&rows);
}

/* Whichever request fails, the list holds what came before it and says so. */
static void lost_memory_sticks(void **state)
{
    (void)state;
    for (long at = 1; at < 8; at++) {
        struct rows rows = {0};
        struct pm_error err;
        pm_mem_fail_at(at, false);
        for (int64_t i = 0; i < 2000; i++)
            add(&rows, i);
        pm_mem_fail_at(0, false);
        assert_true(rows.arena.failed);
        assert_true(rows.count < 2000);
        assert_int_equal(pm_arena_status(&rows.arena, &err), PM_NOMEM);
        assert_true(err.text[0] != '\0');
        assert_null(pm_list_add(&rows));
        assert_null(pm_arena_text(&rows.arena, "x"));
        assert_null(pm_arena_alloc(&rows.arena, 1));
        for (size_t i = 0; i + 1 < rows.count; i++)
            assert_int_equal(rows.items[i].number, i);
        pm_list_release(&rows);
        assert_false(rows.arena.failed);
    }
}

static void sizes_that_overflow(void **state)
{
    struct pm_arena arena = {0};
    volatile size_t much = SIZE_MAX / 2 + 2; /* keeps the compiler from knowing the answer */
    (void)state;
    assert_null(pm_arena_array(&arena, much, 3));
    assert_true(arena.failed);
    pm_arena_release(&arena);
    assert_null(pm_arena_alloc(&arena, much));
    pm_arena_release(&arena);
    assert_non_null(pm_arena_array(&arena, 0, 8));
    pm_arena_release(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_list_keeps_rows_and_strings),
        cmocka_unit_test(a_list_may_move),
        cmocka_unit_test(two_lists_share_an_arena),
        cmocka_unit_test(pieces_are_apart_aligned_and_zeroed),
        cmocka_unit_test(few_requests_for_many_rows),
        cmocka_unit_test(lost_memory_sticks),
        cmocka_unit_test(sizes_that_overflow),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
