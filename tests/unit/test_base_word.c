/* SPDX-License-Identifier: MIT */
/* Words with a fixed meaning: found or not, and how far a mistyped one is. */
#include "permille/base/word.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static void a_word_is_found_whole(void **state)
{
    static const char *const words[] = {"free", "held", "carrier"};
    (void)state;
    assert_int_equal(pm_word_place(words, 3, "free"), 0);
    assert_int_equal(pm_word_place(words, 3, "carrier"), 2);
    assert_int_equal(pm_word_place(words, 2, "carrier"), -1);
    assert_int_equal(pm_word_place(words, 3, "hel"), -1);
    assert_int_equal(pm_word_place(words, 3, "Held"), -1);
    assert_int_equal(pm_word_place(words, 3, ""), -1);
    assert_int_equal(pm_word_place(words, 3, NULL), -1);

    assert_true(pm_word_among("share|carrier|open", "share"));
    assert_true(pm_word_among("share|carrier|open", "open"));
    assert_true(pm_word_among("one", "one"));
    assert_false(pm_word_among("share|carrier|open", "carrie"));
    assert_false(pm_word_among("share|carrier|open", "carriers"));
    assert_false(pm_word_among("share|carrier|open", "share|carrier"));
    assert_false(pm_word_among("", "open"));
}

static int distance(const char *a, const char *b, int bound)
{
    const int there = pm_word_distance(a, strlen(a), b, strlen(b), bound);
    assert_int_equal(pm_word_distance(b, strlen(b), a, strlen(a), bound), there);
    return there;
}

/* kitten/sitting is the example every textbook of string distances gives (3); the swapped
 * neighbours are what the optimal string alignment distance adds. Both from memory. */
static void slips_are_counted(void **state)
{
    (void)state;
    assert_int_equal(distance("kitten", "sitting", 5), 3);
    assert_int_equal(distance("", "abc", 5), 3);
    assert_int_equal(distance("cedar", "cedar", 0), 0);
    assert_int_equal(distance("cedar", "cedra", 3), 1);
    assert_int_equal(distance("ca", "abc", 3), 3);         /* alignment, not full Damerau */
    assert_int_equal(distance("kitten", "sitting", 2), 3); /* more than asked for */
    assert_int_equal(distance("Keep", "keep", 3), 0);
    assert_int_equal(pm_word_distance("material add", 8, "materail", 8, 3), 1);

    char longer[400];
    memset(longer, 'a', sizeof longer - 1);
    longer[sizeof longer - 1] = '\0';
    assert_int_equal(distance(longer, longer, 3), 4); /* too long to be measured */
}

static void same_texts(void **state)
{
    (void)state;
    char other[] = "musk";
    assert_true(pm_same_text("musk", other));
    assert_false(pm_same_text("musk", "Musk"));
    assert_false(pm_same_text("", NULL));
    assert_false(pm_same_text(NULL, ""));
    assert_true(pm_same_text(NULL, NULL));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(same_texts),
        cmocka_unit_test(a_word_is_found_whole),
        cmocka_unit_test(slips_are_counted),
    };
    return cmocka_run_group_tests_name("base: words", tests, NULL, NULL);
}
