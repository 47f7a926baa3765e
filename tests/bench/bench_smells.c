/* SPDX-License-Identifier: MIT */
/*
 * What reading a smell log of 20,000 notes costs: all of a formula's, one trial's, the curves, the
 * words by stage and those offered while typing, what is due; against one plain read of the same
 * rows by the store in the same run.
 */
#include "permille/core/smell.h"
#include "permille/store/smells.h"
#include "permille/studio/blotter.h"
#include "src/studio/inside.h"
#include "tests/studio/hand.h"

#include "permille/base/mem.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <time.h>

#include <cmocka.h>

#define NOTES  20000
#define TRIALS 10

static double now_ms(void)
{
    struct timespec time;
    (void)clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec * 1e3 + (double)time.tv_nsec / 1e6;
}

/* Day after day, each trial at the usual times, in one transaction: writing is not measured. */
static void write_notes(struct hand *hand, const int64_t *trials)
{
    static const int64_t times[] = {60, 300, 900, 1800, 3600, 7200, 14400, 28800, 86400, 172800};
    static const char *const words[] = {"rind", "wet stone", "salt", "dry plank", "herbs", "musk"};
    struct pm_library *library = hand->studio->library;
    char text[80];
    int64_t id;
    hand_ok(hand, pm_library_begin(library, &hand->err));
    for (int i = 0; i < NOTES; i++) {
        snprintf(text, sizeof text, "%s over %s, blotter%d", words[i % 6], words[i / 7 % 6],
                 i / 100);
        const struct pm_smell smell = {.trial = trials[i / 10 % TRIALS],
                                       .since = times[i % 10],
                                       .intensity = 10 - i % 10,
                                       .liking = 5,
                                       .note = text,
                                       .at = hand->time - 86400 * (int64_t)(NOTES - i) / 100};
        hand_ok(hand, pm_smell_insert(library, &smell, &id, &hand->err));
    }
    hand_ok(hand, pm_library_commit(library, &hand->err));
}

static void report(const char *what, double ms, double reference)
{
    printf("%-52s %8.2f ms   %5.2f of the plain read\n", what, ms, ms / reference);
}

static double plain_read(struct hand *hand, int64_t formula)
{
    struct pm_smells smells;
    const double start = now_ms();
    hand_ok(hand, pm_smell_list(hand->studio->library, formula, 0, false, &smells, &hand->err));
    const double took = now_ms() - start;
    assert_int_equal(smells.count, NOTES);
    pm_list_release(&smells);
    return took;
}

static double list(struct hand *hand, int64_t formula, int64_t number)
{
    struct pm_smells entries;
    const double start = now_ms();
    hand_ok(hand, pm_smells_list(hand->studio, formula, number, false, &entries, NULL, &hand->err));
    const double took = now_ms() - start;
    pm_list_release(&entries);
    return took;
}

static double plot(struct hand *hand, const int64_t *trials)
{
    struct pm_smell_picture picture;
    const double start = now_ms();
    hand_ok(hand, pm_smells_plot(hand->studio, trials, 4, 78, 14, &picture, &hand->err));
    const double took = now_ms() - start;
    pm_smell_picture_release(&picture);
    return took;
}

static double count_words(struct hand *hand, int64_t formula)
{
    struct pm_words words[PM_STAGES];
    const double start = now_ms();
    hand_ok(hand, pm_smells_words(hand->studio, formula, 0, words, &hand->err));
    const double took = now_ms() - start;
    pm_words_release(words);
    return took;
}

static double known_words(struct hand *hand)
{
    struct pm_word_list words;
    const double start = now_ms();
    hand_ok(hand, pm_smells_known_words(hand->studio, &words, &hand->err));
    const double took = now_ms() - start;
    pm_word_list_release(&words);
    return took;
}

static double due(struct hand *hand)
{
    struct pm_due_note note;
    const double start = now_ms();
    hand_ok(hand, pm_session_due(hand->studio, &note, &hand->err));
    return now_ms() - start;
}

static void read_log(void **state)
{
    struct hand *hand = *state;
    int64_t trials[TRIALS];
    char name[32];
    const int64_t formula = hand_formula(hand, "Long nose", 100);
    hand_add(hand, formula, "Tar note", 60);
    hand_add(hand, formula, "Sea moss", 40);
    for (int i = 0; i < TRIALS; i++) {
        hand_set(hand, formula, "Tar note", 59 - i);
        hand_keep(hand, formula, NULL);
        snprintf(name, sizeof name, "Long nose/%d", i + 1);
        trials[i] = hand_trial(hand, name);
    }
    write_notes(hand, trials);
    hand_reopen(hand);
    const double reference = plain_read(hand, formula);
    printf("%d smell notes, read plainly %32.2f ms\n", NOTES, reference);
    report("the log of the formula", list(hand, formula, 0), reference);
    report("the log of one trial", list(hand, formula, 3), reference);
    report("curves of four trials", plot(hand, trials), reference);
    report("words by stage", count_words(hand, formula), reference);
    report("words to complete with", known_words(hand), reference);
    report("what is due", due(hand), reference);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(read_log, hand_setup, hand_teardown),
    };
    cmocka_set_message_output(CM_OUTPUT_TAP);
    return cmocka_run_group_tests(tests, NULL, NULL);
}
