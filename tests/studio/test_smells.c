/* SPDX-License-Identifier: MIT */
/*
 * The smell log and the running session as a person uses them over days: with corrections,
 * restarts, clocks that are set back, and sessions left running.
 */
#include "tests/studio/hand.h"

#include "permille/base/mem.h"
#include "permille/studio/blotter.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

enum { MINUTE = 60, HOUR = 3600, DAY = 86400 };

/* A formula with two kept trials. */
static int64_t formula(struct hand *hand)
{
    const int64_t id = hand_formula(hand, "Harbour", 100);
    hand_add(hand, id, "Tar note", 60);
    hand_add(hand, id, "Sea moss", 40);
    hand_keep(hand, id, NULL);
    hand_set(hand, id, "Tar note", 50);
    hand_keep(hand, id, NULL);
    return id;
}

static int setup(void **state)
{
    setenv("TZ", "UTC", 1);
    tzset();
    const int made = hand_setup(state);
    if (made == 0)
        formula(*state);
    return made;
}

static enum pm_status try_log(struct hand *hand, const struct pm_smell_form *form, int64_t *id,
                              char *remark)
{
    struct pm_smell_done done;
    const enum pm_status status = pm_smells_log(hand->studio, form, &done, &hand->err);
    if (status != PM_OK)
        return status;
    if (id != NULL)
        *id = done.id;
    if (remark != NULL)
        snprintf(remark, 400, "%s", done.remark != NULL ? done.remark : "");
    pm_smell_done_release(&done);
    return PM_OK;
}

static int64_t note(struct hand *hand, const char *title, const char *since, const char *intensity,
                    const char *words)
{
    const struct pm_smell_form form = {.trial = hand_trial(hand, title),
                                       .values[PM_SMELL_SINCE] = since,
                                       .values[PM_SMELL_INTENSITY] = intensity,
                                       .values[PM_SMELL_NOTE] = words};
    int64_t id = 0;
    hand_ok(hand, try_log(hand, &form, &id, NULL));
    return id;
}

static int64_t start(struct hand *hand, const char *title, const char *medium, const char *ago)
{
    const char *const values[PM_SESSION_ATTRIBUTES] = {
        [PM_SESSION_TRIAL] = title, [PM_SESSION_MEDIUM] = medium, [PM_SESSION_AGO] = ago};
    struct pm_smell_done done;
    hand_ok(hand, pm_session_start(hand->studio, values, &done, &hand->err));
    const int64_t id = done.id;
    pm_smell_done_release(&done);
    return id;
}

static struct pm_smells list(struct hand *hand, int64_t number, bool corrected_too)
{
    struct pm_smells entries;
    hand_ok(hand,
            pm_smells_list(hand->studio, 1, number, corrected_too, &entries, NULL, &hand->err));
    return entries;
}

static void assert_state(struct hand *hand, size_t at, const char *state)
{
    struct pm_session_entries session;
    hand_ok(hand, pm_session_list(hand->studio, false, &session, &hand->err));
    assert_true(at < session.count);
    assert_string_equal(session.items[at].state, state);
    pm_list_release(&session);
}

static void a_note_keeps_what_was_said(void **state)
{
    struct hand *hand = *state;
    const struct pm_smell_form form = {.trial = hand_trial(hand, "Harbour/2"),
                                       .values[PM_SMELL_SINCE] = "1h30min",
                                       .values[PM_SMELL_INTENSITY] = "6",
                                       .values[PM_SMELL_LIKING] = " 7 ",
                                       .values[PM_SMELL_MEDIUM] = "skin",
                                       .values[PM_SMELL_STRENGTH] = "15%",
                                       .values[PM_SMELL_NOTE] = "  wet rope\r\nsalt ",
                                       .values[PM_SMELL_ASSESSOR] = "Ana"};
    char remark[400];
    hand_ok(hand, try_log(hand, &form, NULL, remark));
    assert_non_null(strstr(remark, "patch test proves little"));
    hand_reopen(hand);
    struct pm_smells notes = list(hand, 0, false);
    assert_int_equal(1, notes.count);
    assert_int_equal(2, notes.items[0].number);
    assert_int_equal(90 * MINUTE, notes.items[0].since);
    assert_int_equal(6, notes.items[0].intensity);
    assert_int_equal(7, notes.items[0].liking);
    assert_int_equal(PM_ON_SKIN, notes.items[0].medium);
    assert_int_equal(PM_NEAT / 100 * 15, notes.items[0].strength);
    assert_string_equal("wet rope\nsalt", notes.items[0].note);
    assert_string_equal("Ana", notes.items[0].assessor);
    pm_list_release(&notes);
    struct pm_trial_entries trials;
    hand_ok(hand, pm_trials_list(hand->studio, 1, 0, &trials, &hand->err));
    assert_int_equal(0, trials.items[0].smells);
    assert_int_equal(1, trials.items[1].smells);
    pm_list_release(&trials);
}

static void bad_notes_are_refused(void **state)
{
    struct hand *hand = *state;
    const int64_t kept = hand_trial(hand, "Harbour/1");
    const struct {
        struct pm_smell_form form;
        enum pm_status status;
        const char *says;
    } cases[] = {
        {{.trial = hand_trial(hand, "Harbour"),
          .values[PM_SMELL_SINCE] = "1",
          .values[PM_SMELL_INTENSITY] = "3"},
         PM_REFUSED,
         "keep the draft first"},
        {{.trial = kept, .values[PM_SMELL_INTENSITY] = "3"}, PM_INVALID, "How long after"},
        {{.trial = kept, .values[PM_SMELL_SINCE] = "1"}, PM_INVALID, "says something"},
        {{.trial = kept, .values[PM_SMELL_SINCE] = "1", .values[PM_SMELL_NOTE] = " \n"},
         PM_INVALID,
         "says something"},
        {{.trial = kept, .values[PM_SMELL_SINCE] = "1", .values[PM_SMELL_INTENSITY] = "11"},
         PM_INVALID,
         "0 to 10"},
        {{.trial = kept, .values[PM_SMELL_SINCE] = "1", .values[PM_SMELL_INTENSITY] = "-1"},
         PM_INVALID,
         "-1"},
        {{.trial = kept, .values[PM_SMELL_SINCE] = "1", .values[PM_SMELL_LIKING] = "2.5"},
         PM_INVALID,
         "2.5"},
        {{.trial = kept, .values[PM_SMELL_SINCE] = "400d", .values[PM_SMELL_INTENSITY] = "1"},
         PM_INVALID,
         "a year"},
        {{.trial = kept, .values[PM_SMELL_SINCE] = "soon", .values[PM_SMELL_INTENSITY] = "1"},
         PM_INVALID,
         "soon"},
        {{.trial = kept,
          .values[PM_SMELL_SINCE] = "1",
          .values[PM_SMELL_INTENSITY] = "1",
          .values[PM_SMELL_MEDIUM] = "wool"},
         PM_INVALID,
         "wool"},
        {{.trial = kept,
          .values[PM_SMELL_SINCE] = "1",
          .values[PM_SMELL_INTENSITY] = "1",
          .values[PM_SMELL_WHEN] = "2026-03-02 14:01"},
         PM_REFUSED,
         "still to come"},
        {{.trial = kept, .values[PM_SMELL_SINCE] = "1", .values[PM_SMELL_NOTE] = "\x1b[2J"},
         PM_INVALID,
         "note"},
        {{.trial = kept,
          .values[PM_SMELL_SINCE] = "1",
          .values[PM_SMELL_INTENSITY] = "1",
          .application = 9},
         PM_MISSING,
         "9"},
        {{.corrects = 9, .values[PM_SMELL_INTENSITY] = "1"}, PM_MISSING, "no smell note 9"},
        {{.trial = kept, .withdraw = true}, PM_INVALID, "Which note"},
    };
    hand->time = INT64_C(1772460000);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        hand_refused(hand, try_log(hand, &cases[i].form, NULL, NULL), cases[i].status,
                     cases[i].says);
    struct pm_smells notes = list(hand, 0, true);
    assert_int_equal(0, notes.count);
    pm_list_release(&notes);
}

static void a_correction_keeps_the_rest_and_names_the_old_one(void **state)
{
    struct hand *hand = *state;
    const int64_t old = note(hand, "Harbour/1", "15min", "6", "salt");
    const struct pm_smell_form better = {
        .corrects = old, .values[PM_SMELL_INTENSITY] = "7", .values[PM_SMELL_NOTE] = ""};
    int64_t new = 0;
    hand->time += HOUR;
    hand_ok(hand, try_log(hand, &better, &new, NULL));
    struct pm_smells notes = list(hand, 1, false);
    assert_int_equal(1, notes.count);
    assert_int_equal(new, notes.items[0].id);
    assert_int_equal(old, notes.items[0].corrects);
    assert_int_equal(7, notes.items[0].intensity);
    assert_int_equal(15 * MINUTE, notes.items[0].since);
    assert_int_equal(hand->time - HOUR, notes.items[0].at);
    assert_null(notes.items[0].note);
    pm_list_release(&notes);
    hand_refused(hand, try_log(hand, &better, NULL, NULL), PM_REFUSED, "2 stands in its place");
    /* Onto the trial that was meant, then taken back altogether. */
    const struct pm_smell_form moved = {.corrects = new, .trial = hand_trial(hand, "Harbour/2")};
    hand_ok(hand, try_log(hand, &moved, &new, NULL));
    notes = list(hand, 2, false);
    assert_int_equal(1, notes.count);
    pm_list_release(&notes);
    const struct pm_smell_form gone = {.corrects = new, .withdraw = true};
    hand_ok(hand, try_log(hand, &gone, &new, NULL));
    notes = list(hand, 0, false);
    assert_int_equal(0, notes.count);
    pm_list_release(&notes);
    notes = list(hand, 0, true);
    assert_int_equal(4, notes.count);
    pm_list_release(&notes);
    const struct pm_smell_form back = {.corrects = new, .values[PM_SMELL_INTENSITY] = "1"};
    hand_refused(hand, try_log(hand, &back, NULL, NULL), PM_REFUSED, "took another back");
}

static void many_blotters_over_two_days_with_restarts(void **state)
{
    struct hand *hand = *state;
    const int64_t one = start(hand, "Harbour/1", NULL, NULL);
    hand->time += 10 * MINUTE;
    const int64_t two = start(hand, "Harbour/2", "skin", NULL);
    const struct pm_smell_form first = {.trial = hand_trial(hand, "Harbour/1"),
                                        .values[PM_SMELL_INTENSITY] = "8"};
    hand_ok(hand, try_log(hand, &first, NULL, NULL));
    assert_state(hand, 0, "next 15 min, in 5 min");
    assert_state(hand, 1, "at once due");
    hand_reopen(hand);
    hand->time += 20 * MINUTE;
    assert_state(hand, 0, "30 min due, 1 missed");
    assert_state(hand, 1, "15 min due, 5 min late, 2 missed");
    struct pm_due_note due;
    hand_ok(hand, pm_session_due(hand->studio, &due, &hand->err));
    assert_int_equal(2, due.now);
    assert_string_equal("smell now: Harbour/2 15 min (+1)", due.text);
    assert_string_equal("smell now (+1)", due.brief);
    const struct pm_smell_form second = {.application = two, .values[PM_SMELL_INTENSITY] = "5"};
    hand_ok(hand, try_log(hand, &second, NULL, NULL));
    hand_ok(hand, try_log(hand, &first, NULL, NULL));
    hand_ok(hand, pm_session_due(hand->studio, &due, &hand->err));
    assert_int_equal(0, due.now);
    assert_string_equal("", due.text);
    assert_int_equal(hand->time - 20 * MINUTE + 30 * MINUTE, due.next_at);
    hand_reopen(hand);
    hand->time += 2 * DAY;
    hand_ok(hand, try_log(hand, &first, NULL, NULL));
    assert_state(hand, 0, "all smelled");
    struct pm_smells notes = list(hand, 1, false);
    assert_int_equal(3, notes.count);
    assert_int_equal(one, notes.items[2].application);
    assert_int_equal(10 * MINUTE, notes.items[0].since);
    assert_int_equal(2 * DAY + 30 * MINUTE, notes.items[2].since);
    pm_list_release(&notes);
    struct pm_smell_done done;
    hand_ok(hand, pm_session_stop(hand->studio, one, &done, &hand->err));
    pm_smell_done_release(&done);
    hand_refused(hand, pm_session_stop(hand->studio, one, &done, &hand->err), PM_REFUSED,
                 "stopped already");
    assert_state(hand, 0, "2 d due, 20 min late, 6 missed");
    hand_ok(hand, pm_session_resume(hand->studio, one, &done, &hand->err));
    pm_smell_done_release(&done);
    hand_refused(hand, pm_session_resume(hand->studio, one, &done, &hand->err), PM_REFUSED,
                 "running already");
}

static void two_of_one_trial_must_be_told_apart(void **state)
{
    struct hand *hand = *state;
    const int64_t blotter = start(hand, "Harbour/1", NULL, NULL);
    start(hand, "Harbour/1", "skin", "5min");
    const struct pm_smell_form which = {.trial = hand_trial(hand, "Harbour/1"),
                                        .values[PM_SMELL_INTENSITY] = "3"};
    hand_refused(hand, try_log(hand, &which, NULL, NULL), PM_REFUSED, "say which: 2 on skin since");
    const struct pm_smell_form skin = {.trial = hand_trial(hand, "Harbour/1"),
                                       .values[PM_SMELL_INTENSITY] = "3",
                                       .values[PM_SMELL_MEDIUM] = "skin"};
    hand_ok(hand, try_log(hand, &skin, NULL, NULL));
    int64_t id = 0;
    hand_refused(hand, pm_session_find(hand->studio, "Harbour/1", &id, &hand->err), PM_REFUSED,
                 "more than once");
    hand_ok(hand, pm_session_find(hand->studio, "1", &id, &hand->err));
    assert_int_equal(blotter, id);
    hand_refused(hand, pm_session_find(hand->studio, "Harbour/2", &id, &hand->err), PM_MISSING,
                 "not in the running session");
    /* A note of an older blotter does not settle the running one's schedule. */
    note(hand, "Harbour/1", "2d", "1", NULL);
    assert_state(hand, 1, "at once due");
    /* One with about the right time does. */
    note(hand, "Harbour/1", "1min", "8", NULL);
    assert_state(hand, 1, "next 5 min, in 5 min");
}

/* A note is taken for what runs when the time it tells is off by a tenth and two minutes at most.
 */
static void about_the_right_time(void **state)
{
    struct hand *hand = *state;
    const int64_t running = start(hand, "Harbour/1", NULL, NULL);
    hand->time += 10 * MINUTE + MINUTE + 2 * MINUTE;
    note(hand, "Harbour/1", "10min", "5", NULL);
    hand->time += 1;
    note(hand, "Harbour/1", "10min", "4", NULL);
    struct pm_smells notes = list(hand, 1, false);
    assert_int_equal(2, notes.count);
    for (size_t i = 0; i < notes.count; i++)
        assert_int_equal(notes.items[i].intensity == 5 ? running : 0, notes.items[i].application);
    pm_list_release(&notes);
}

static void a_clock_set_back_loses_nothing(void **state)
{
    struct hand *hand = *state;
    char remark[400];
    start(hand, "Harbour/1", NULL, NULL);
    hand->time += HOUR;
    const struct pm_smell_form measured = {.trial = hand_trial(hand, "Harbour/1"),
                                           .values[PM_SMELL_INTENSITY] = "5"};
    hand_ok(hand, try_log(hand, &measured, NULL, NULL));
    hand->time -= 3 * HOUR;
    hand_refused(hand, try_log(hand, &measured, NULL, NULL), PM_REFUSED, "was not on yet");
    struct pm_session_entries session;
    hand_ok(hand, pm_session_list(hand->studio, false, &session, &hand->err));
    assert_int_equal(0, session.due);
    assert_int_equal(0, session.items[0].since);
    assert_non_null(strstr(session.items[0].remark, "was it set back?"));
    pm_list_release(&session);
    const struct pm_smell_form told = {.trial = hand_trial(hand, "Harbour/1"),
                                       .values[PM_SMELL_SINCE] = "2h",
                                       .values[PM_SMELL_INTENSITY] = "4"};
    hand_ok(hand, try_log(hand, &told, NULL, remark));
    assert_non_null(strstr(remark, "was it set back?"));
    struct pm_smells notes;
    const char *odd;
    hand_ok(hand, pm_smells_list(hand->studio, 1, 0, false, &notes, &odd, &hand->err));
    assert_int_equal(2, notes.count);
    assert_non_null(strstr(odd, "1 of these was smelled later"));
    pm_list_release(&notes);
    /* Put right again, all is as it was. */
    hand->time += 3 * HOUR;
    assert_state(hand, 0, "next 2 h, in 1 h");
    hand_ok(hand, pm_smells_list(hand->studio, 1, 0, false, &notes, &odd, &hand->err));
    assert_null(odd);
    pm_list_release(&notes);
}

static void a_session_left_running_for_a_month_is_due_once(void **state)
{
    struct hand *hand = *state;
    start(hand, "Harbour/1", NULL, NULL);
    hand->time += 32 * (int64_t)DAY;
    struct pm_session_entries session;
    hand_ok(hand, pm_session_list(hand->studio, false, &session, &hand->err));
    assert_int_equal(1, session.due);
    assert_string_equal(session.items[0].state, "2 d due, 30 d late, 9 missed");
    assert_non_null(strstr(session.items[0].remark, "Running for 32 days"));
    pm_list_release(&session);
    const struct pm_smell_form late = {.trial = hand_trial(hand, "Harbour/1"),
                                       .values[PM_SMELL_INTENSITY] = "0"};
    hand_ok(hand, try_log(hand, &late, NULL, NULL));
    assert_state(hand, 0, "all smelled");
}

static void the_schedule_is_the_persons_own(void **state)
{
    struct hand *hand = *state;
    char *text;
    hand_ok(hand, pm_session_schedule(hand->studio, &text, &hand->err));
    assert_string_equal(text, "0, 5 min, 15 min, 30 min, 1 h, 2 h, 4 h, 8 h, 1 d, 2 d");
    pm_free(text);
    start(hand, "Harbour/1", NULL, NULL);
    hand_ok(hand, pm_session_set_schedule(hand->studio, "3d; 20min,0", &hand->err));
    hand_refused(hand, pm_session_set_schedule(hand->studio, "1,5h", &hand->err), PM_INVALID,
                 "two ways");
    hand_reopen(hand);
    hand_ok(hand, pm_session_schedule(hand->studio, &text, &hand->err));
    assert_string_equal(text, "0, 20 min, 3 d");
    pm_free(text);
    start(hand, "Harbour/2", NULL, NULL);
    hand->time += 10 * MINUTE;
    assert_state(hand, 0, "5 min due, 5 min late, 1 missed");
    assert_state(hand, 1, "at once due, 10 min late");
    hand_ok(hand, pm_session_set_schedule(hand->studio, "", &hand->err));
    hand_ok(hand, pm_session_schedule(hand->studio, &text, &hand->err));
    assert_string_equal(text, "0, 5 min, 15 min, 30 min, 1 h, 2 h, 4 h, 8 h, 1 d, 2 d");
    pm_free(text);
}

static void curves_and_words_of_several_trials(void **state)
{
    struct hand *hand = *state;
    struct pm_smell_picture picture;
    struct pm_words words[PM_STAGES];
    note(hand, "Harbour/1", "0", "8", "Salt, wet rope");
    note(hand, "Harbour/1", "4h", "3", "wet stone");
    const struct pm_smell_form skin = {.trial = hand_trial(hand, "Harbour/1"),
                                       .values[PM_SMELL_SINCE] = "5min",
                                       .values[PM_SMELL_INTENSITY] = "7",
                                       .values[PM_SMELL_MEDIUM] = "skin",
                                       .values[PM_SMELL_NOTE] = "salt"};
    hand_ok(hand, try_log(hand, &skin, NULL, NULL));
    const int64_t trials[] = {hand_trial(hand, "Harbour/1"), hand_trial(hand, "Harbour/2")};
    hand_ok(hand, pm_smells_plot(hand->studio, trials, 2, 60, 12, &picture, &hand->err));
    assert_int_equal(3, picture.count);
    assert_int_equal(12, picture.plot.count);
    assert_string_equal(picture.sentences[0], "o Harbour/1: top 8 at once; base 3 after 4 h.");
    assert_string_equal(picture.sentences[1], "x Harbour/1 on skin: top 7 after 5 min.");
    assert_string_equal(picture.sentences[2], "+ Harbour/2: no intensity noted.");
    pm_smell_picture_release(&picture);
    hand_ok(hand, pm_smells_words(hand->studio, 1, 0, words, &hand->err));
    assert_int_equal(3, words[PM_STAGE_TOP].count);
    assert_string_equal("salt", words[PM_STAGE_TOP].items[0].text);
    assert_int_equal(2, words[PM_STAGE_TOP].items[0].count);
    assert_int_equal(2, words[PM_STAGE_BASE].count);
    pm_words_release(words);
    struct pm_word_list known;
    hand_ok(hand, pm_smells_known_words(hand->studio, &known, &hand->err));
    assert_int_equal(4, known.count);
    assert_string_equal("salt", known.items[0].text);
    assert_string_equal("wet", known.items[1].text);
    pm_word_list_release(&known);
}

/* Every allocation of a call fails once; the call says so and the log is as before. */
static void lost_memory_loses_no_note(void **state)
{
    struct hand *hand = *state;
    start(hand, "Harbour/1", NULL, NULL);
    const struct pm_smell_form form = {.trial = hand_trial(hand, "Harbour/1"),
                                       .values[PM_SMELL_INTENSITY] = "5",
                                       .values[PM_SMELL_NOTE] = "salt",
                                       .values[PM_SMELL_ASSESSOR] = "A"};
    size_t failures = 0;
    for (long n = 1;; n++) {
        pm_mem_fail_at(n, false);
        const enum pm_status status = try_log(hand, &form, NULL, NULL);
        struct pm_smells notes;
        pm_mem_fail_at(0, false);
        notes = list(hand, 0, false);
        assert_int_equal(status == PM_OK, notes.count);
        pm_list_release(&notes);
        if (status == PM_OK)
            break;
        assert_int_equal(PM_NOMEM, status);
        failures++;
    }
    assert_true(failures > 3);
    for (long n = 1; n < 60; n++) {
        struct pm_session_entries session;
        struct pm_smell_picture picture;
        struct pm_word_list known;
        const int64_t trial = hand_trial(hand, "Harbour/1");
        pm_mem_fail_at(n, false);
        if (pm_session_list(hand->studio, true, &session, &hand->err) == PM_OK)
            pm_list_release(&session);
        pm_mem_fail_at(n, false);
        if (pm_smells_plot(hand->studio, &trial, 1, 40, 10, &picture, &hand->err) == PM_OK)
            pm_smell_picture_release(&picture);
        pm_mem_fail_at(n, false);
        if (pm_smells_known_words(hand->studio, &known, &hand->err) == PM_OK)
            pm_word_list_release(&known);
        pm_mem_fail_at(0, false);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_note_keeps_what_was_said, setup, hand_teardown),
        cmocka_unit_test_setup_teardown(bad_notes_are_refused, setup, hand_teardown),
        cmocka_unit_test_setup_teardown(a_correction_keeps_the_rest_and_names_the_old_one, setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(many_blotters_over_two_days_with_restarts, setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(two_of_one_trial_must_be_told_apart, setup, hand_teardown),
        cmocka_unit_test_setup_teardown(about_the_right_time, setup, hand_teardown),
        cmocka_unit_test_setup_teardown(a_clock_set_back_loses_nothing, setup, hand_teardown),
        cmocka_unit_test_setup_teardown(a_session_left_running_for_a_month_is_due_once, setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(the_schedule_is_the_persons_own, setup, hand_teardown),
        cmocka_unit_test_setup_teardown(curves_and_words_of_several_trials, setup, hand_teardown),
        cmocka_unit_test_setup_teardown(lost_memory_loses_no_note, setup, hand_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
