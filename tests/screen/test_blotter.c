/* SPDX-License-Identifier: MIT */
/*
 * The Blotter, played by keyboard alone and compared with what the file then holds. Formulas and
 * notes are invented.
 */
#include "bench_world.h"

#include "src/tui/blotter/blotter.h"

#include "permille/base/mem.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#define PLAY (&world->play)

enum { MINUTE = 60, HOUR = 3600, DAY = 86400 };

static int setup(void **state)
{
    setenv("TZ", "UTC", 1);
    tzset();
    return bench_world_setup(state);
}

/* Three kept trials. */
static void keep_three(struct bench_world *world)
{
    struct hand *hand = world->hand;
    const int64_t id = hand_formula(hand, "Harbour", 100);
    hand_add(hand, id, "Tar note", 60);
    hand_add(hand, id, "Sea moss", 40);
    hand_keep(hand, id, NULL);
    hand_set(hand, id, "Tar note", 50);
    hand_keep(hand, id, NULL);
    hand_set(hand, id, "Tar note", 45);
    hand_keep(hand, id, NULL);
}

static void note(struct bench_world *world, const char *title, const char *since,
                 const char *intensity, const char *medium, const char *words)
{
    struct hand *hand = world->hand;
    struct pm_smell_done done;
    const struct pm_smell_form form = {.trial = hand_trial(hand, title),
                                       .values[PM_SMELL_SINCE] = since,
                                       .values[PM_SMELL_INTENSITY] = intensity,
                                       .values[PM_SMELL_LIKING] = "7",
                                       .values[PM_SMELL_MEDIUM] = medium,
                                       .values[PM_SMELL_NOTE] = words};
    hand_ok(hand, pm_smells_log(hand->studio, &form, &done, &hand->err));
    pm_smell_done_release(&done);
}

static void start(struct bench_world *world, const char *title, const char *medium)
{
    struct hand *hand = world->hand;
    struct pm_smell_done done;
    const char *const values[PM_SESSION_ATTRIBUTES] = {
        [PM_SESSION_TRIAL] = title, [PM_SESSION_MEDIUM] = medium, [PM_SESSION_NOTE] = "hall shelf"};
    hand_ok(hand, pm_session_start(hand->studio, values, &done, &hand->err));
    pm_smell_done_release(&done);
}

/* Opens the editor in the Blotter; both clocks show the same. */
static void open_blotter(struct bench_world *world, int rows, int columns)
{
    bench_world_open(world, rows, columns);
    world->play.now = world->hand->time;
    play_keys(PLAY, "P");
}

static void wait(struct bench_world *world, int64_t seconds)
{
    world->hand->time += seconds;
    play_wait(PLAY, seconds);
}

static struct pm_smells notes(struct bench_world *world, bool corrected_too)
{
    struct pm_smells entries;
    hand_ok(world->hand, pm_smells_list(world->hand->studio, 1, 0, corrected_too, &entries, NULL,
                                        &world->hand->err));
    return entries;
}

static void some_notes(struct bench_world *world)
{
    keep_three(world);
    note(world, "Harbour/1", "1min", "8", NULL, "Tar, wet rope");
    note(world, "Harbour/1", "1h", "6", NULL, "Salt on stone, a long note that goes on and on");
    note(world, "Harbour/1", "1d", "2", NULL, "salt");
    note(world, "Harbour/2", "5min", "9", NULL, "Rope and moss");
    note(world, "Harbour/2", "20min", "5", "skin", "moss\nwarm");
    note(world, "Harbour/2", "4h", "3", NULL, "\xE6\xBD\xAE wide");
}

/* ---- what is shown --------------------------------------------------------------------------- */

static void nothing_yet_says_what_to_press(void **state)
{
    struct bench_world *world = *state;
    open_blotter(world, 24, 80);
    play_sees(PLAY, "Nothing is running: n puts a kept trial on a blotter or on skin.");
    play_sees(PLAY, "No formula is open.");
    play_sees(PLAY, "o    opens one that is in the library");
    static const char *const keys[] = {"a", "Enter", "e", "d", "t", "u", "v", "f", "H", "5"};
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
        play_keys(PLAY, keys[i]);
    play_sees(PLAY, "Blotter");
    play_keys(PLAY, "b");
    play_sees(PLAY, "0 blind tests");
    static const char *const others[] = {"Enter", "a", "p", "F", "w", "5"};
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        play_keys(PLAY, others[i]);
    play_keys(PLAY, "Esc");
    play_sees(PLAY, "Nothing is running");
}

static void golden_sheets(void **state)
{
    struct bench_world *world = *state;
    some_notes(world);
    start(world, "Harbour/3", "skin");
    world->hand->time += 20 * MINUTE;
    start(world, "Harbour/2", NULL);
    open_blotter(world, 24, 80);
    play_golden(PLAY, "blotter-80x24");
    play_resize(PLAY, 50, 200);
    play_keys(PLAY, "End");
    play_golden(PLAY, "blotter-200x50");
    play_resize(PLAY, 24, 80);
    play_keys(PLAY, "v");
    play_golden(PLAY, "blotter-curves-80x24");
    play_keys(PLAY, "v");
    play_golden(PLAY, "blotter-words-80x24");
    play_keys(PLAY, "v Home 7");
    play_golden(PLAY, "blotter-note-80x24");
}

/* More words than rows: how many there are besides is told; once is one time. */
static void words_that_find_no_room_are_counted(void **state)
{
    struct bench_world *world = *state;
    keep_three(world);
    note(world, "Harbour/1", "20min", "5", "blotter",
         "amber bark cedar dust earth fern grass hay iris jam kelp leaf moss nut oak pine quince "
         "rose salt tar umber vine wax");
    start(world, "Harbour/3", NULL);
    world->hand->time += 20 * MINUTE;
    open_blotter(world, 40, 120);
    play_keys(PLAY, "5 Enter");
    play_sees(PLAY, "smelled    1 time");
    play_misses(PLAY, "1 times");
    play_keys(PLAY, "v v");
    play_misses(PLAY, " more");
    play_resize(PLAY, 24, 80);
    play_sees(PLAY, "amber");
    play_sees(PLAY, "1  nut");
    play_sees(PLAY, "and 9 more"); /* of 23 */
}

/* "10 h 20 min" is not cut in the log. */
static void times_stand_whole_in_the_log(void **state)
{
    struct bench_world *world = *state;
    keep_three(world);
    note(world, "Harbour/1", "10h20min", "5", "blotter", "dry");
    open_blotter(world, 24, 80);
    play_sees(PLAY, "10 h 20 min ");
}

/* The drawing gives way so that its text equivalent is told to the end. */
static void curves_are_told_in_full(void **state)
{
    static const char *const times[] = {"1min", "5min", "15min", "30min", "1h",
                                        "2h",   "4h",   "8h",    "1d",    "2d"};
    struct bench_world *world = *state;
    some_notes(world);
    for (size_t i = 0; i < sizeof times / sizeof *times; i++)
        note(world, "Harbour/3", times[i], "4", NULL, NULL);
    open_blotter(world, 24, 80);
    play_keys(PLAY, "v");
    play_sees(PLAY, "# Harbour/3: top 4 after 1 min");
    play_sees(PLAY, "after 2 d.");
    play_sees(PLAY, "10\u2524");
    play_keys(PLAY, "Down"); /* drawn once more from what is kept */
    play_sees(PLAY, "after 2 d.");
}

/* ---- noting ---------------------------------------------------------------------------------- */

static void a_digit_words_and_enter_are_a_note(void **state)
{
    struct bench_world *world = *state;
    some_notes(world);
    start(world, "Harbour/3", NULL);
    world->hand->time += 16 * MINUTE;
    open_blotter(world, 24, 80);
    play_sees(PLAY, "d stop, take back             a smell now   ? all keys");
    play_resize(PLAY, 24, 160);
    play_sees(PLAY, "a smell now: Harbour/3 15 min   ? all keys");
    play_resize(PLAY, 24, 80);
    play_keys(PLAY, "7 Tab");
    play_type(PLAY, "more mos");
    play_keys(PLAY, "Tab");
    play_sees(PLAY, "more moss");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Harbour/3 on blotter after 16 min, intensity 7. Saved.");
    play_sees(PLAY, "next 30 min, in 14 min");
    play_misses(PLAY, "smell now"); /* at once */
    struct pm_smells found = notes(world, false);
    const struct pm_smell *last = &found.items[found.count - 1];
    assert_int_equal(3, last->number);
    assert_int_equal(16 * MINUTE, last->since);
    assert_int_equal(7, last->intensity);
    assert_string_equal("more moss", last->note);
    assert_int_equal(1, last->application);
    pm_list_release(&found);
    /* Due again by and by, told in every room. */
    play_keys(PLAY, "B");
    wait(world, 15 * MINUTE);
    play_sees(PLAY, "P smell now   ?");
    play_keys(PLAY, "T");
    play_sees(PLAY, "P smell now   ?");
    play_resize(PLAY, 24, 140);
    play_sees(PLAY, "P smell now: Harbour/3 30 min   ?");
}

static void a_note_without_a_session_asks_how_long_after(void **state)
{
    struct bench_world *world = *state;
    some_notes(world);
    open_blotter(world, 24, 80);
    play_keys(PLAY, "1 0 Enter");
    play_sees(PLAY, "How long after it was put on?");
    /* The cursor stands where the fault is, each time. */
    play_type(PLAY, "2 fathoms");
    play_keys(PLAY, "Enter Home");
    play_cursor_on(PLAY, "2 fathoms");
    play_keys(PLAY, "End Ctrl-U");
    play_type(PLAY, "2h");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Harbour/1 on blotter after 2 h, intensity 10. Saved.");
    play_keys(PLAY, "a");
    play_type(PLAY, "11");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Intensity goes from 0 to 10");
}

static void skin_is_chosen_with_its_caution(void **state)
{
    struct bench_world *world = *state;
    keep_three(world);
    open_blotter(world, 24, 80);
    play_keys(PLAY, "n Tab Right");
    play_sees(PLAY, "A patch test proves little");
    play_keys(PLAY, "Tab");
    play_type(PLAY, "15%");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "1: Harbour/3 put on skin at 2026-03-02");
    play_sees(PLAY, "sensitise");
    play_keys(PLAY, "Down");
    play_sees(PLAY, "at once due");
    play_resize(PLAY, 30, 130);
    play_sees(PLAY, "15 %");
    play_sees(PLAY, "asthma");
}

static void a_note_is_corrected_and_taken_back(void **state)
{
    struct bench_world *world = *state;
    some_notes(world);
    open_blotter(world, 24, 80);
    play_keys(PLAY, "e");
    play_sees(PLAY, "Correct note 1; the old one is kept");
    play_sees(PLAY, "Tar, wet rope");
    play_keys(PLAY, "Backspace");
    play_type(PLAY, "4");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Smell note 1 corrected: Harbour/1 on blotter after 1 min, intensity 4");
    struct pm_smells found = notes(world, false);
    assert_int_equal(4, found.items[0].intensity);
    assert_string_equal("Tar, wet rope", found.items[0].note);
    assert_int_equal(1, found.items[0].corrects);
    assert_int_equal(6, found.count);
    pm_list_release(&found);
    play_keys(PLAY, "H");
    play_sees(PLAY, "(now 7)");
    play_keys(PLAY, "H Home d");
    play_sees(PLAY, "Take note 7 back?");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "6 notes");
    play_keys(PLAY, "d y");
    play_sees(PLAY, "Smell note 7 taken back");
    play_sees(PLAY, "5 notes");
    found = notes(world, true);
    assert_int_equal(8, found.count);
    pm_list_release(&found);
}

static void what_was_stopped_is_taken_up_again(void **state)
{
    struct bench_world *world = *state;
    keep_three(world);
    start(world, "Harbour/1", NULL);
    open_blotter(world, 24, 80);
    play_keys(PLAY, "u");
    play_sees(PLAY, "Nothing was stopped here");
    play_keys(PLAY, "d");
    play_sees(PLAY, "1: Harbour/1 stopped. Saved.");
    play_sees(PLAY, "0 running");
    wait(world, 1);
    play_misses(PLAY, "smell now");
    play_keys(PLAY, "u");
    play_sees(PLAY, "1: Harbour/1 is running again. Saved.");
    play_sees(PLAY, "1 running");
    bench_world_restart(world);
    play_keys(PLAY, "P");
    play_sees(PLAY, "1 running");
}

/* "2 h" seconds after it was put on is asked about before typing goes on. */
static void a_time_the_clock_does_not_know_is_asked_about(void **state)
{
    struct bench_world *world = *state;
    keep_three(world);
    start(world, "Harbour/1", NULL);
    world->hand->time += 20;
    open_blotter(world, 24, 80);
    play_keys(PLAY, "7 Tab Tab Tab");
    play_type(PLAY, "2h");
    play_sees(PLAY, "It was put on 20 s ago, not 2 h: is that so?");
    play_keys(PLAY, "Tab");
    play_sees(PLAY, "The same key again goes on.");
    play_type(PLAY, "x"); /* the cursor is where it was */
    play_sees(PLAY, "2hx");
    play_keys(PLAY, "Ctrl-U 3 0 s Enter"); /* near enough */
    play_sees(PLAY, "Harbour/1 on blotter after 30 s, intensity 7. Saved.");
    play_keys(PLAY, "6 Tab Tab Tab 2 h Enter Enter");
    play_sees(PLAY, "after 2 h, intensity 6. Saved. It was put on 20 s ago");
}

/* From any room: the key of the reminder, a digit. */
static void what_is_due_is_under_the_hand(void **state)
{
    struct bench_world *world = *state;
    keep_three(world);
    start(world, "Harbour/1", NULL);
    world->hand->time += 3 * MINUTE;
    start(world, "Harbour/2", "skin");
    open_blotter(world, 24, 80);
    play_keys(PLAY, "Home 8 Enter Down 6 Enter End B"); /* the first smell of both */
    wait(world, 13 * MINUTE);
    play_sees(PLAY, "P smell now (+1)   ?");
    play_keys(PLAY, "P 7");
    play_sees(PLAY, "Smell note: Harbour/1 on blotter");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Harbour/1 on blotter after 16 min, intensity 7. Saved.");
}

static void long_words_are_written_in_the_persons_editor(void **state)
{
    struct bench_world *world = *state;
    char script[160];
    keep_three(world);
    start(world, "Harbour/1", NULL);
    snprintf(script, sizeof script, "%s/editor", world->hand->folder);
    FILE *file = fopen(script, "w");
    assert_non_null(file);
    fputs("#!/bin/sh\nprintf 'first line\\nsecond line\\n' > \"$1\"\n", file);
    fclose(file);
    chmod(script, 0700);
    setenv("VISUAL", script, 1);
    open_blotter(world, 24, 80);
    play_keys(PLAY, "t");
    play_sees(PLAY, "its words are written");
    play_type(PLAY, "8");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "intensity 8. Saved.");
    struct pm_smells found = notes(world, false);
    assert_int_equal(1, found.count);
    assert_string_equal("first line\nsecond line", found.items[0].note);
    pm_list_release(&found);
    /* On a note of the log: nothing changed, then other words. */
    play_keys(PLAY, "Down t");
    play_sees(PLAY, "Nothing was changed.");
    file = fopen(script, "w");
    assert_non_null(file);
    fputs("#!/bin/sh\nprintf 'other words' > \"$1\"\n", file);
    fclose(file);
    play_keys(PLAY, "t");
    play_sees(PLAY, "Smell note 1 corrected");
    play_sees(PLAY, "other words");
    unsetenv("VISUAL");
    unlink(script);
}

static void one_trial_alone_and_twenty_running(void **state)
{
    struct bench_world *world = *state;
    some_notes(world);
    for (int i = 0; i < 20; i++)
        start(world, "Harbour/2", i % 2 == 0 ? "blotter" : "skin");
    open_blotter(world, 24, 80);
    play_sees(PLAY, "20 running");
    play_keys(PLAY, "End f");
    play_sees(PLAY, "log of Harbour/2");
    play_misses(PLAY, "Tar, wet rope");
    play_keys(PLAY, "Esc");
    play_sees(PLAY, "log of Harbour \xE2\x94\x80");
    for (int i = 0; i < 26; i++) {
        play_keys(PLAY, i < 13 ? "Up" : "PageUp");
        play_sees(PLAY, "\xE2\x80\xBA");
    }
    /* More than one of a trial: the number is known from the row. */
    play_keys(PLAY, "Home Down 4 Enter");
    play_sees(PLAY, "Harbour/2 on skin at once, intensity 4. Saved.");
}

static void another_instances_note_is_shown(void **state)
{
    struct bench_world *world = *state;
    struct hand *hand = world->hand;
    keep_three(world);
    open_blotter(world, 24, 80);
    struct pm_studio *second = hand_second(hand);
    const struct pm_smell_form form = {.trial = hand_trial(hand, "Harbour/1"),
                                       .values[PM_SMELL_SINCE] = "1h",
                                       .values[PM_SMELL_INTENSITY] = "5",
                                       .values[PM_SMELL_NOTE] = "elsewhere"};
    struct pm_smell_done done;
    hand_ok(hand, pm_smells_log(second, &form, &done, &hand->err));
    pm_smell_done_release(&done);
    pm_studio_close(second);
    play_keys(PLAY, "Down");
    play_sees(PLAY, "elsewhere");
}

static void the_clock_set_back_is_told(void **state)
{
    struct bench_world *world = *state;
    keep_three(world);
    start(world, "Harbour/1", NULL);
    world->hand->time -= HOUR;
    open_blotter(world, 24, 80);
    play_sees(PLAY, "waits for the clock");
    play_sees(PLAY, "it set back?");
    play_misses(PLAY, "smell now");
    play_keys(PLAY, "5 Enter");
    play_sees(PLAY, "was not on yet");
}

/* ---- blind tests ----------------------------------------------------------------------------- */

static void type_code(struct bench_world *world, int code)
{
    char text[8];
    snprintf(text, sizeof text, "%d", code);
    play_type(PLAY, text);
    play_keys(PLAY, "Enter");
}

/* Chosen in the list of trials, not typed. */
static void a_blind_test_begins_with_what_is_marked(void **state)
{
    struct bench_world *world = *state;
    keep_three(world);
    open_blotter(world, 24, 80);
    play_keys(PLAY, "b n");
    play_misses(PLAY, "Harbour/1, Harbour/3");
    play_keys(PLAY, "Esc T Home Space Down Space P n");
    play_sees(PLAY, "A new blind test");
    play_sees(PLAY, "Harbour/1, Harbour/3");
}

static void a_blind_test_by_keyboard_alone(void **state)
{
    struct bench_world *world = *state;
    keep_three(world);
    open_blotter(world, 24, 80);
    play_keys(PLAY, "b n");
    play_type(PLAY, "Two or three");
    play_keys(PLAY, "Tab");
    play_sees(PLAY, "Which of three is the odd one?");
    play_keys(PLAY, "Right");
    play_sees(PLAY, "Which of two is the same as the open reference?");
    play_keys(PLAY, "Left Tab");
    play_type(PLAY, "Harbour/2, h");
    play_keys(PLAY, "Tab");
    play_sees(PLAY, "Harbour/2, Harbour/3");
    play_keys(PLAY, "Tab");
    /* The cursor goes back to what is wrong, from wherever it was. */
    play_type(PLAY, "many");
    play_keys(PLAY, "Tab Enter");
    play_sees(PLAY, "The number of rounds");
    play_keys(PLAY, "Home");
    play_cursor_on(PLAY, "many");
    play_keys(PLAY, "End Ctrl-U");
    play_type(PLAY, "6");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "6 rounds of 3 vials. Saved.");
    play_sees(PLAY, "key hidden until it is closed");
    struct pm_blind_page page;
    struct pm_blind_sheet sheet;
    struct hand *hand = world->hand;
    hand_ok(hand, pm_blind_fill(hand->studio, 1, &page, &hand->err));
    hand_ok(hand, pm_blind_open(hand->studio, 1, &sheet, &hand->err));
    for (size_t i = 0; i < 6; i++) {
        /* The odd one: the only one of its sample in the round. */
        int of[3], count[2] = {0, 0};
        for (size_t v = 0; v < 3; v++) {
            of[v] = 1;
            for (size_t c = 0; c < page.samples[0].count; c++)
                if (page.samples[0].codes[c] == sheet.rounds[i].vials[v].code)
                    of[v] = 0;
            count[of[v]]++;
        }
        for (size_t v = 0; v < 3; v++)
            if (count[of[v]] == 1)
                type_code(world, sheet.rounds[i].vials[v].code);
        play_sees(PLAY, "Saved.");
        play_misses(PLAY, "  right");
        play_misses(PLAY, "  wrong");
    }
    play_sees(PLAY, "6 of 6 answered");
    /* The last round once more: the earlier answer is named, the new one takes its place. */
    play_keys(PLAY, "a");
    play_sees(PLAY, "Another answer for round 6");
    char code[8];
    snprintf(code, sizeof code, "%d", sheet.rounds[5].vials[0].code);
    play_type(PLAY, code);
    play_keys(PLAY, "Tab");
    play_sees(PLAY, "Whose nose it was.");
    play_type(PLAY, "Ana");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "in place of the earlier answer");
    play_sees(PLAY, "  Ana");
    play_keys(PLAY, "p");
    play_sees(PLAY, "permille panel codes");
    play_keys(PLAY, "Esc F");
    play_sees(PLAY, "not blind any more");
    play_misses(PLAY, "9 vials");
    play_keys(PLAY, "y");
    play_sees(PLAY, "Harbour/2: 9 vials");
    play_keys(PLAY, "Esc w Enter");
    play_sees(PLAY, "key hidden");
    play_keys(PLAY, "w y");
    play_sees(PLAY, "closed 2026-03-02");
    play_sees(PLAY, "answers were right");
    play_sees(PLAY, "1 answer was corrected before closing.");
    play_keys(PLAY, "5");
    play_sees(PLAY, "This test is closed.");
    play_keys(PLAY, "Esc");
    play_sees(PLAY, "1 blind test");
    /* However wide the screen, what belongs to a name stays near it. */
    play_resize(PLAY, 50, 200);
    char row[400];
    snprintf(row, sizeof row, "  %-60s  triangle", "Two or three");
    play_sees(PLAY, row + 2); /* the cursor stands before it */
    play_resize(PLAY, 24, 80);
    play_keys(PLAY, "Esc");
    play_sees(PLAY, "log of Harbour");
    pm_blind_sheet_release(&sheet);
    pm_blind_page_release(&page);
}

static void golden_tests(void **state)
{
    struct bench_world *world = *state;
    struct hand *hand = world->hand;
    keep_three(world);
    const int64_t trials[] = {hand_trial(hand, "Harbour/1"), hand_trial(hand, "Harbour/2"),
                              hand_trial(hand, "Harbour/3")};
    const struct pm_blind_form form = {.values[PM_PANEL_NAME] = "Which is driest",
                                       .values[PM_PANEL_KIND] = pm_panel_word(PM_RANKING),
                                       .trials = trials,
                                       .trial_count = 3,
                                       .values[PM_PANEL_QUESTION] = "Driest first.",
                                       .values[PM_PANEL_SEED] = "99"};
    struct pm_blind_made made;
    hand_ok(hand, pm_blind_new(hand->studio, &form, &made, &hand->err));
    pm_blind_made_release(&made);
    open_blotter(world, 24, 80);
    play_keys(PLAY, "b");
    play_golden(PLAY, "blotter-tests-80x24");
    play_keys(PLAY, "Enter");
    play_golden(PLAY, "blotter-test-80x24");
    play_resize(PLAY, 50, 200);
    play_golden(PLAY, "blotter-test-200x50");
}

/* ---- anything at all --------------------------------------------------------------------------
 */

/* Whatever is pressed, the room can be painted and the file stays sound. */
static void random_keys_leave_the_file_sound(void **state)
{
    static const char *const keys[] = {
        "Up",        "Down", "Home",  "End", "PageUp", "PageDown", "Tab",  "Enter", "Esc",
        "Backspace", "a",    "m",     "d",   "e",      "H",        "p",    "n",     "t",
        "u",         "v",    "F",     "y",   "s",      "b",        "f",    "w",     "0",
        "5",         "1",    "Space", "Esc", "P",      "Left",     "Right"};
    struct bench_world *world = *state;
    uint64_t seed = 20260302;
    some_notes(world);
    start(world, "Harbour/3", "skin");
    setenv("VISUAL", "true", 1);
    open_blotter(world, 24, 80);
    for (int i = 0; i < 3000; i++) {
        const uint64_t pick = hand_random(&seed);
        if (pick % 200 == 0)
            play_resize(PLAY, pick % 400 == 0 ? 24 : 50, pick % 400 == 0 ? 80 : 200);
        else if (pick % 97 == 0)
            wait(world, (int64_t)(pick % 100000));
        else
            play_keys(PLAY, keys[(pick >> 20) % (sizeof keys / sizeof *keys)]);
        assert_false(PLAY->wishes.quit);
    }
    unsetenv("VISUAL");
    hand_ok(world->hand, pm_studio_verify(world->hand->studio, NULL, NULL, &world->hand->err));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(nothing_yet_says_what_to_press, setup,
                                        bench_world_teardown),
        cmocka_unit_test_setup_teardown(golden_sheets, setup, bench_world_teardown),
        cmocka_unit_test_setup_teardown(times_stand_whole_in_the_log, setup, bench_world_teardown),
        cmocka_unit_test_setup_teardown(words_that_find_no_room_are_counted, setup,
                                        bench_world_teardown),
        cmocka_unit_test_setup_teardown(curves_are_told_in_full, setup, bench_world_teardown),
        cmocka_unit_test_setup_teardown(a_digit_words_and_enter_are_a_note, setup,
                                        bench_world_teardown),
        cmocka_unit_test_setup_teardown(a_note_without_a_session_asks_how_long_after, setup,
                                        bench_world_teardown),
        cmocka_unit_test_setup_teardown(skin_is_chosen_with_its_caution, setup,
                                        bench_world_teardown),
        cmocka_unit_test_setup_teardown(a_note_is_corrected_and_taken_back, setup,
                                        bench_world_teardown),
        cmocka_unit_test_setup_teardown(what_was_stopped_is_taken_up_again, setup,
                                        bench_world_teardown),
        cmocka_unit_test_setup_teardown(a_time_the_clock_does_not_know_is_asked_about, setup,
                                        bench_world_teardown),
        cmocka_unit_test_setup_teardown(what_is_due_is_under_the_hand, setup, bench_world_teardown),
        cmocka_unit_test_setup_teardown(long_words_are_written_in_the_persons_editor, setup,
                                        bench_world_teardown),
        cmocka_unit_test_setup_teardown(one_trial_alone_and_twenty_running, setup,
                                        bench_world_teardown),
        cmocka_unit_test_setup_teardown(another_instances_note_is_shown, setup,
                                        bench_world_teardown),
        cmocka_unit_test_setup_teardown(the_clock_set_back_is_told, setup, bench_world_teardown),
        cmocka_unit_test_setup_teardown(a_blind_test_begins_with_what_is_marked, setup,
                                        bench_world_teardown),
        cmocka_unit_test_setup_teardown(a_blind_test_by_keyboard_alone, setup,
                                        bench_world_teardown),
        cmocka_unit_test_setup_teardown(golden_tests, setup, bench_world_teardown),
        cmocka_unit_test_setup_teardown(random_keys_leave_the_file_sound, setup,
                                        bench_world_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
