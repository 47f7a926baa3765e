/* SPDX-License-Identifier: MIT */
/* Answers while memory runs out and the disk fails: whole, or a sentence. */
#include "promise.h"

#include "tests/store/fault_vfs.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static const char *const readings[][PROMISE_WORDS] = {
    {"formulas"},
    {"show", "Heart"},
    {"show", "Holder", "--flat"},
    {"set", "Heart", "Alpha", "500", "--try"},
    {"trials", "Heart"},
    {"history", "Heart"},
    {"compare", "Heart/1", "Short/1"},
    {"smells", "Heart"},
    {"session", "list"},
    {"panel", "list"},
    {"panel", "show", "Pair"},
    {"series", "list"},
    {"series", "show", "1"},
    {"series", "weigh", "1", "10g"},
    {"material", "list"},
    {"material", "show", "Alpha"},
    {"bottle", "list"},
    {"bottle", "show", "B001"},
    {"dilute", "Alpha", "10%", "5g", "--in", "Carrier", "--try"},
    {"stock"},
    {"strengths", "Alpha"},
    {"standins", "Alpha"},
    {"needs", "Heart", "10g"},
    {"possible", "10g"},
    {"cost", "Heart", "--batch", "10g"},
    {"cost", "Heart", "--batch", "10g", "--currency", "USD"},
    {"rates"},
    {"plan", "list"},
    {"shopping"},
    {"shelf", "history"},
    {"weigh", "Heart/1", "10g"},
    {"batch", "list"},
    {"batch", "show", "2"},
    {"batch", "become", "2"},
    {"balance", "list"},
    {"filling", "list"},
    {"verify"},
    {"export", "--all"},
    {"export", "materials"},
    {"export", "--formulas"},
    {"import", "--plan", "OTHER"},
};

static int wrong_answers;

static void try_reading(const char *const *words, enum fault fault)
{
    char *wanted, *got;

    promise_arm(fault, 1000000000);
    struct ran whole = promise_answer(words, &wanted);
    const long times = promise_disarm(fault);
    if (whole.status != 0)
        fail_msg("%s %s: ended with %d: %s", words[0], words[1], whole.status, whole.err);
    const long step = times > 12 && !fault_all() ? times / 12 : 1;
    for (long k = 1; k <= times; k += step) {
        promise_arm(fault, k);
        struct ran ran = promise_answer(words, &got);
        promise_disarm(fault);
        const bool told = strstr(ran.err, "Out of memory") != NULL ||
                          strstr(ran.err, "The disk failed") != NULL ||
                          strstr(ran.err, "cannot be opened") != NULL ||
                          strstr(ran.err, "Given up") != NULL;
        if (ran.status == 0 ? strcmp(got, wanted) != 0 : !told || *got != '\0') {
            print_error("%s %s, %s %ld of %ld: ended with %d: %s\n%s", words[0], words[1],
                        promise_fault_names[fault], k, times, ran.status, ran.err, got);
            wrong_answers++;
        }
        free(ran.err);
        free(got);
    }
    free(whole.err);
    free(wanted);
}

/* What is answered is the whole of it; and what is not says that memory or the disk failed, not
 * that a name is unknown or a file damaged. */
static void answers_are_whole(void **state)
{
    (void)state;
    promise_put_back();
    for (size_t i = 0; i < sizeof readings / sizeof readings[0]; i++) {
        promise.as_text = true;
        try_reading(readings[i], OWN_MEMORY);
        promise.as_text = false;
        try_reading(readings[i], OWN_MEMORY);
        try_reading(readings[i], SQLITE_MEMORY);
        try_reading(readings[i], READ_FAILS);
    }
    assert_int_equal(0, wrong_answers);
}

int main(void)
{
    cmocka_set_test_filter(getenv("PERMILLE_TEST")); /* NULL: all */
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(answers_are_whole),
    };
    return cmocka_run_group_tests(tests, promise_set_up, promise_tear_down);
}
