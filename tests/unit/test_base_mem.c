/* SPDX-License-Identifier: MIT */
/* Statuses, memory with faults to order, growing text. */
#include "permille/base/mem.h"
#include "permille/base/status.h"
#include "permille/base/text.h"
#include "permille/base/utf8.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void faults_to_order(void **state)
{
    void *one, *two, *three;

    (void)state;
    pm_mem_fail_at(2, false);
    one = pm_alloc(10);
    two = pm_alloc(10);
    three = pm_alloc(10);
    assert_non_null(one);
    assert_null(two);
    assert_non_null(three);
    pm_free(one);
    pm_free(three);
    assert_int_equal(pm_mem_fail_at(2, true), 3);
    one = pm_alloc(10);
    two = pm_alloc_array(10, 10);
    three = pm_strdup("x");
    assert_non_null(one);
    assert_null(two);
    assert_null(three);
    pm_free(one);
    assert_int_equal(pm_mem_fail_at(0, false), 3);
    one = pm_alloc(10);
    assert_non_null(one);
    pm_free(one);
    pm_free(NULL);
}

static void sizes(void **state)
{
    volatile size_t much = SIZE_MAX / 2 + 2; /* keeps the compiler from knowing the answer */
    unsigned char *zeroed;
    void *empty;

    (void)state;
    assert_null(pm_alloc_array(much, 3));
    assert_null(pm_alloc_array(much, 1));
    assert_null(pm_alloc(much));
    assert_null(pm_resize_array(NULL, 3, much));
    empty = pm_alloc(0);
    assert_non_null(empty);
    pm_free(empty);
    empty = pm_alloc_array(0, 8);
    assert_non_null(empty);
    pm_free(empty);
    zeroed = pm_alloc_array(100, 3);
    assert_non_null(zeroed);
    for (int i = 0; i < 300; i++)
        assert_int_equal(zeroed[i], 0);
    pm_free(zeroed);
    assert_null(pm_strdup(NULL));
    assert_null(pm_strndup(NULL, 3));
    char *part = pm_strndup("abcdef", 3);
    assert_string_equal(part, "abc");
    pm_free(part);
    part = pm_strndup("ab", 30);
    assert_string_equal(part, "ab");
    pm_free(part);
}

static void growing(void **state)
{
    void *array = NULL;
    size_t capacity = 0, before;
    long steps = 0;

    (void)state;
    for (size_t need = 1; need <= 10000; need++) {
        before = capacity;
        assert_true(pm_grow(&array, &capacity, need, sizeof(int)));
        assert_true(capacity >= need);
        ((int *)array)[need - 1] = (int)need;
        steps += capacity != before;
    }
    assert_true(steps < 30);
    for (int i = 0; i < 10000; i++)
        assert_int_equal(((int *)array)[i], i + 1);
    before = capacity;
    pm_mem_fail_at(1, false);
    assert_false(pm_grow(&array, &capacity, capacity + 1, sizeof(int)));
    pm_mem_fail_at(0, false);
    assert_int_equal(capacity, before);
    assert_int_equal(((int *)array)[9999], 10000);
    assert_false(pm_grow(&array, &capacity, SIZE_MAX / 2 + 2, sizeof(int)));
    assert_int_equal(capacity, before);
    pm_free(array);
}

static void text_grows(void **state)
{
    struct pm_text text = PM_TEXT_EMPTY;
    char long_piece[500];
    char *taken;

    (void)state;
    assert_string_equal(pm_text_get(&text), "");
    pm_text_add(&text, "rose");
    pm_text_add_char(&text, ' ');
    pm_text_add_bytes(&text, "oxide!!", 5);
    pm_text_addf(&text, ", %d parts of %s", 12, "1000");
    assert_string_equal(pm_text_get(&text), "rose oxide, 12 parts of 1000");
    assert_int_equal(text.length, strlen(text.data));
    memset(long_piece, 'x', sizeof long_piece - 1);
    long_piece[sizeof long_piece - 1] = '\0';
    pm_text_clear(&text);
    pm_text_addf(&text, "<%s>", long_piece);
    assert_int_equal(text.length, 501);
    assert_int_equal(text.data[500], '>');
    taken = pm_text_take(&text);
    assert_int_equal(strlen(taken), 501);
    assert_null(text.data);
    pm_free(taken);
    taken = pm_text_take(&text);
    assert_string_equal(taken, "");
    pm_free(taken);
    pm_text_release(&text);
}

/* A text that lost memory stays marked, holds a whole prefix, and can be used again once cleared.
 */
static void printing_fits_its_buffer(void **state)
{
    char buf[8] = "before";

    (void)state;
    assert_ptr_equal(pm_print(buf, sizeof buf, "B%03d", 7), buf);
    assert_string_equal(buf, "B007");
    assert_string_equal(pm_print(buf, sizeof buf, "%s", "much too long"), "much to");
    assert_string_equal(pm_print(buf, 1, "%d", 5), "");
}

static void text_faults(void **state)
{
    char piece[100];

    (void)state;
    memset(piece, 'y', sizeof piece - 1);
    piece[sizeof piece - 1] = '\0';
    for (long n = 1; n < 100; n++) {
        struct pm_text text = PM_TEXT_EMPTY;
        pm_mem_fail_at(n, false);
        for (int i = 0; i < 20; i++) {
            pm_text_add(&text, piece);
            pm_text_addf(&text, "[%s%s]", piece, piece);
        }
        bool met = pm_mem_fail_at(0, false) >= n;
        assert_int_equal(pm_text_ok(&text), !met);
        assert_int_equal(strlen(pm_text_get(&text)), text.length);
        if (!met) {
            assert_int_equal(text.length, 20 * (99 + 200));
            pm_text_release(&text);
            assert_true(n > 5);
            return;
        }
        pm_text_clear(&text);
        pm_text_add(&text, "again");
        assert_true(pm_text_ok(&text));
        assert_string_equal(pm_text_get(&text), "again");
        text.failed = true;
        assert_null(pm_text_take(&text));
        assert_null(text.data);
    }
    fail();
}

static void sentences(void **state)
{
    struct pm_error err;
    char much[2000];

    (void)state;
    assert_int_equal(pm_fail(&err, PM_REFUSED, "Only %d parts are free.", 12), PM_REFUSED);
    assert_int_equal(err.status, PM_REFUSED);
    assert_string_equal(err.text, "Only 12 parts are free.");
    assert_int_equal(pm_fail(&err, PM_IO, "Reading: %s", err.text), PM_IO); /* wraps itself */
    assert_string_equal(err.text, "Reading: Only 12 parts are free.");
    assert_int_equal(pm_fail(NULL, PM_BUSY, "unread"), PM_BUSY);
    assert_int_equal(pm_fail_memory(&err), PM_NOMEM);
    assert_int_equal(err.status, PM_NOMEM);
    assert_true(err.text[0] != '\0');
    pm_error_clear(&err);
    assert_int_equal(err.status, PM_OK);
    assert_string_equal(err.text, "");
    pm_error_clear(NULL);

    /* nothing that steers a terminal gets through */
    pm_fail(&err, PM_INVALID,
            "a\x1b[2Jb\nc\xc2\x9b"
            "d\xe2\x80\xae"
            "e\xff"
            "f\xc3\xa9\x7f");
    assert_string_equal(err.text, "a?[2Jb c?d?e?f\xc3\xa9?");
    /* a sentence that was cut says so, and never ends inside a word or a number */
    memset(much, 0, sizeof much);
    for (size_t i = 0; i < 200; i++)
        memcpy(much + 5 * i, "1234 ", 5);
    pm_fail(&err, PM_INVALID, "%s", much);
    assert_int_equal(strlen(err.text), 5 * 95 - 1 + strlen("\u2026"));
    assert_string_equal(err.text + 5 * 94, "1234\u2026");
    /* one that just fits is whole */
    much[PM_ERROR_TEXT - 1] = '\0';
    pm_fail(&err, PM_INVALID, "%s", much);
    assert_string_equal(err.text, much);
    /* a cut never splits a character, whatever the offset */
    for (size_t lead = 0; lead < 4; lead++) {
        memset(much, 'x', lead);
        for (size_t i = 0; i < 490; i++)
            memcpy(much + lead + 4 * i, "\xf0\x9f\x8c\xb9", 4);
        much[lead + 4 * 490] = '\0';
        pm_fail(&err, PM_INVALID, "%s", much);
        const size_t whole = lead + (PM_ERROR_TEXT - 4 - lead) / 4 * 4;
        assert_int_equal(strlen(err.text), whole + strlen("\u2026"));
        assert_string_equal(err.text + whole, "\u2026");
        assert_true(pm_utf8_valid(err.text, strlen(err.text)));
    }
    for (int i = PM_OK; i <= PM_NOMEM; i++) {
        for (int k = PM_OK; k < i; k++)
            assert_string_not_equal(pm_status_word((enum pm_status)i),
                                    pm_status_word((enum pm_status)k));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(faults_to_order),
        cmocka_unit_test(sizes),
        cmocka_unit_test(growing),
        cmocka_unit_test(text_grows),
        cmocka_unit_test(printing_fits_its_buffer),
        cmocka_unit_test(text_faults),
        cmocka_unit_test(sentences),
    };

    return cmocka_run_group_tests_name("base: statuses, memory, text", tests, NULL, NULL);
}
