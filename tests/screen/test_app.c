/* SPDX-License-Identifier: MIT */
/* The application without a terminal: layout, messages, overlays, jobs, time. */
#include "harness.h"
#include "sample.h"

#include "permille/base/mem.h"

#include <signal.h>
#include <stdlib.h>
#include <string.h>

static struct sample sample;
static struct play play;

static int start(void **state)
{
    (void)state;
    sample_init(&sample);
    play_start(&play, sample_spec(&sample), 24, 80);
    return 0;
}

static int end(void **state)
{
    (void)state;
    play_end(&play);
    sample_release(&sample);
    return 0;
}

/* ---- layout ---------------------------------------------------------------------------------- */

static void golden_sheet(void **state)
{
    (void)state;
    play_golden(&play, "sheet-80x24");
    play_resize(&play, 30, 130);
    play_golden(&play, "sheet-130x30");
}

static void columns_stay_aligned_whatever_the_names(void **state)
{
    (void)state;
    for (int row = 3; row < 21; row++) {
        const struct pm_cell *cell = pm_grid_cell(&play.grid, row, 24);
        assert_memory_equal(cell->bytes, "|", 1);
        assert_memory_equal(pm_grid_cell(&play.grid, row, 39)->bytes, "|", 1);
    }
}

static void a_small_window_is_told_politely(void **state)
{
    (void)state;
    play_type(&play, "12");
    play_resize(&play, 23, 80);
    play_golden(&play, "too-small-80x23");
    play_keys(&play, "3 u Enter"); /* nothing acts unseen */
    play_resize(&play, 1, 1);
    play_resize(&play, 24, 80);
    assert_true(sample.editing);
    assert_string_equal(sample.field.text, "12");
    assert_int_equal(sample.saves, 0);
    play_resize(&play, 10, 40);
    play_sees(&play, "half-typed");
    play_keys(&play, "q");
    assert_true(play.wishes.quit);
}

/* Any size, any keys: the invariants of play_event hold, and the sheet comes back as it was. */
static void any_size_any_keys(void **state)
{
    (void)state;
    static const char *const keys[] = {
        "Down",  "Up",     "n",   "p", "f",      "t",         "k", "Esc",   "Tab",
        "Enter", "?",      ";",   "7", "Ctrl-N", "Ctrl-L",    "O", "S",     "PageDown",
        "u",     "Ctrl-W", "End", "x", "Left",   "Shift-Tab", "L", "Alt-x", "Ctrl-C"};
    srandom(11);
    for (int i = 0; i < 3000; i++) {
        if (i % 15 == 0)
            play_resize(&play, 1 + (int)(random() % 60), 1 + (int)(random() % 200));
        play_keys(&play, keys[random() % (long)(sizeof keys / sizeof *keys)]);
    }
    assert_false(play.wishes.quit);
    play_resize(&play, 24, 80);
    for (int i = 0; i < 5; i++)
        play_keys(&play, "Esc");
    play_keys(&play, "S Home");
    play_sees(&play, "plain name");
}

/* ---- keys, hints, help ----------------------------------------------------------------------- */

static void keys_of_the_tables_do_not_clash(void **state)
{
    (void)state;
    struct pm_error err = {0};
    if (pm_keymap_check(pm_app_keymap(play.app), &err) != PM_OK)
        fail_msg("%s", err.text);
}

/* Every action with a key stands in the help of the room, and every hint has a binding. */
static void help_names_everything(void **state)
{
    (void)state;
    const struct pm_keymap *map = pm_app_keymap(play.app);
    play_resize(&play, 200, 240);
    play_keys(&play, "?");
    for (size_t i = 0; i < map->count; i++) {
        if (pm_offered_binding(map, &map->offers[i])->key_count == 0)
            continue;
        play_sees(&play, pm_action_name(map->offers[i].action));
        play_sees(&play, pm_action_help(map->offers[i].action));
    }
    play_keys(&play, "q");
    play_resize(&play, 24, 80);
    play_misses(&play, "All keys");
    play_sees(&play, "n new name   p pick an entry   u undo   ; find an action");
}

static void golden_help(void **state)
{
    (void)state;
    play_keys(&play, "?");
    play_golden(&play, "help-80x24");
}

static void unknown_keys_say_so(void **state)
{
    (void)state;
    play_keys(&play, "Ctrl-T");
    play_sees(&play, "Ctrl-T does nothing here; ? shows all keys.");
    play_keys(&play, "Esc");
    play_sees(&play, "Nothing to drop here; q leaves the program.");
    play_keys(&play, "n Ctrl-T");
    play_sees(&play, "Ctrl-T does nothing here; Ctrl-/ shows all keys.");
    play_keys(&play, "Esc t n"); /* the room's key, under a page */
    play_sees(&play, "n (new name) can be done when this is closed; Esc closes it.");
    play_keys(&play, "Ctrl-T");
    play_sees(&play, "Ctrl-T does nothing here; ? shows all keys.");
}

/* Esc and a key typed right after it reach a terminal program as one Alt-key. */
static void esc_before_a_key_is_not_lost(void **state)
{
    (void)state;
    play_type(&play, "12");
    play_keys(&play, "Alt-n");
    assert_false(sample.editing);
    play_sees(&play, "A new name");
}

static void the_finder_runs_actions(void **state)
{
    (void)state;
    play_keys(&play, ";");
    play_golden(&play, "finder-80x24");
    play_type(&play, "ENTRY");
    play_keys(&play, "Enter");
    play_misses(&play, "Find an action");
    play_sees(&play, "Pick an entry");
    play_keys(&play, "Esc ;");
    play_type(&play, "suspend");
    play_keys(&play, "Enter");
    assert_true(play.wishes.suspend);
    play_keys(&play, ";");
    play_type(&play, "go to oth");
    play_keys(&play, "Enter");
    play_sees(&play, "The other room");
}

static void ctrl_s_and_ctrl_l_are_harmless(void **state)
{
    (void)state;
    play_keys(&play, "Ctrl-S");
    play_sees(&play, "All is saved");
    play_type(&play, "1");
    play_keys(&play, "Ctrl-S");
    play_sees(&play, "A half-typed number is not saved.");
    play_keys(&play, "Ctrl-L");
    assert_true(play.wishes.repaint);
    assert_true(sample.editing);
}

/* ---- messages -------------------------------------------------------------------------------- */

static void messages_stay_until_a_key(void **state)
{
    (void)state;
    play_keys(&play, "e");
    play_sees(&play, "! The disk is full; nothing was saved.");
    play_wait(&play, 3600);
    play_sees(&play, "! The disk is full; nothing was saved.");
    play_keys(&play, "Down");
    play_misses(&play, "The disk is full");
    play_keys(&play, "Ctrl-N");
    play_sees(&play, "2026-03-02 14:05  ! The disk is full; nothing was saved.");
}

/* A message that came up between two keys of one burst has not been seen yet. */
static void unseen_messages_survive_keys(void **state)
{
    (void)state;
    struct pm_event down = {.kind = PM_EVENT_KEY, .key = pm_key_make(PM_KEY_DOWN, 0)};
    struct pm_error err = {0};
    pm_fail(&err, PM_REFUSED, "Held lines leave only 20 parts.");
    pm_app_error(play.app, &err);
    pm_app_event(play.app, &down);
    play_event(&play, &down);
    play_sees(&play, "Held lines leave only 20 parts.");
    play_event(&play, &down);
    play_misses(&play, "Held lines");
}

static void long_messages_are_shown_whole(void **state)
{
    (void)state;
    struct pm_error err = {0};
    pm_fail(&err, PM_REFUSED,
            "This line cannot take 600 parts, because the held lines keep 450 of the 1000 and "
            "nothing may fall below zero; the most it can take is 550 parts.");
    pm_app_error(play.app, &err);
    play_keys(&play, "Down");
    play_golden(&play, "long-message-80x24");
}

static void the_log_keeps_two_hundred(void **state)
{
    (void)state;
    for (int i = 0; i < 450; i++)
        pm_app_say(play.app, "message %d", i);
    play_keys(&play, "Ctrl-N");
    play_sees(&play, "message 449");
    play_keys(&play, "Home");
    play_sees(&play, "message 250");
    play_misses(&play, "message 249");
}

/* ---- jobs ------------------------------------------------------------------------------------ */

static void jobs_run_after_the_paint(void **state)
{
    (void)state;
    struct pm_event enter = {.kind = PM_EVENT_KEY, .key = pm_key_make(PM_KEY_ENTER, 0)};
    play_type(&play, "77");
    pm_app_event(play.app, &enter);
    assert_int_equal(sample.saves, 0);
    pm_app_draw(play.app, &play.grid);
    play_sees(&play, "          77 |");
    play_misses(&play, "Saved.");
    assert_true(pm_app_job_pending(play.app));
    pm_app_work(play.app);
    assert_int_equal(sample.saves, 1);
    assert_true(pm_app_stale(play.app));
    pm_app_draw(play.app, &play.grid);
    play_sees(&play, "Saved.");
}

/* What a form writes is written after a paint without it; refused, it is back with its text. */
static void forms_write_after_the_paint(void **state)
{
    (void)state;
    static const struct {
        const char *keys, *title;
    } overlays[] = {{"n", "A new name"}, {"f", "A new thing"}, {"k", "A question"}};
    struct pm_event enter = {.kind = PM_EVENT_KEY, .key = pm_key_make(PM_KEY_ENTER, 0)};
    sample.writes = true;
    for (size_t i = 0; i < sizeof overlays / sizeof *overlays; i++) {
        sample.refuse = true;
        play_keys(&play, overlays[i].keys);
        if (i < 2)
            play_type(&play, "kept");
        sample.accepted[0] = '\0';
        pm_app_event(play.app, &enter);
        assert_string_equal(sample.accepted, "");
        pm_app_draw(play.app, &play.grid);
        play_misses(&play, overlays[i].title);
        pm_app_work(play.app);
        pm_app_draw(play.app, &play.grid);
        play_sees(&play, "! Refused");
        play_sees(&play, overlays[i].title);
        if (i < 2)
            play_sees(&play, "kept");
        sample.refuse = false;
        play_keys(&play, "Enter");
        play_misses(&play, overlays[i].title);
        assert_true(sample.accepted[0] != '\0');
    }
    assert_int_equal(sample.closed, 3);
}

static void a_waiting_key_comes_after_the_job(void **state)
{
    (void)state;
    struct pm_event enter = {.kind = PM_EVENT_KEY, .key = pm_key_make(PM_KEY_ENTER, 0)};
    struct pm_event down = {.kind = PM_EVENT_KEY, .key = pm_key_make(PM_KEY_DOWN, 0)};
    play_type(&play, "77");
    pm_app_event(play.app, &enter);
    pm_app_event(play.app, &down);
    assert_int_equal(sample.saves, 1);
    assert_true(sample.saved_at < sample.key_at);
}

static void no_job_is_lost_at_the_end(void **state)
{
    (void)state;
    struct pm_event enter = {.kind = PM_EVENT_KEY, .key = pm_key_make(PM_KEY_ENTER, 0)};
    struct pm_event hup = {.kind = PM_EVENT_END, .signal = SIGHUP};
    play_type(&play, "77");
    pm_app_event(play.app, &enter);
    play_event(&play, &hup);
    assert_int_equal(sample.saves, 1);
    assert_true(play.wishes.quit);
    assert_int_equal(play.wishes.signal, SIGHUP);
    /* and the other way: freed with a job pending */
    struct sample second;
    struct play last;
    sample_init(&second);
    play_start(&last, sample_spec(&second), 24, 80);
    play_type(&last, "5");
    pm_app_event(last.app, &enter);
    play_end(&last);
    assert_int_equal(second.saves, 1);
    sample_release(&second);
}

/* ---- leaving --------------------------------------------------------------------------------- */

static void leaving_asks_only_for_half_typed_text(void **state)
{
    (void)state;
    play_type(&play, "12");
    play_keys(&play, "Ctrl-Q");
    assert_false(play.wishes.quit);
    play_golden(&play, "leave-80x24");
    play_keys(&play, "Enter"); /* the harmless answer has the focus */
    assert_false(play.wishes.quit);
    assert_true(sample.editing);
    play_keys(&play, "Ctrl-Q l");
    assert_true(play.wishes.quit);
}

static void leaving_asks_nothing_otherwise(void **state)
{
    (void)state;
    play_keys(&play, "Down q Up");
    assert_true(play.wishes.quit);
    assert_int_equal(sample.row, 1); /* what is typed after the farewell does nothing */
}

/* With no memory at all: the sentence has its words, and the way out is open. */
static void without_memory_one_can_leave(void **state)
{
    (void)state;
    struct pm_event quit = {.kind = PM_EVENT_KEY}, down = {.kind = PM_EVENT_KEY};
    assert_true(pm_key_read("Ctrl-Q", 6, &quit.key));
    assert_true(pm_key_read("Down", 4, &down.key));
    play_type(&play, "12");
    pm_mem_fail_at(1, true);
    pm_app_event(play.app, &quit);
    pm_app_draw(play.app, &play.grid);
    pm_mem_fail_at(0, false);
    play_sees(&play, "* A half-typed number is not saved, and memory is too short to ask.");
    assert_false(pm_app_wishes(play.app).quit);
    /* Something else in between, and it warns again. */
    pm_mem_fail_at(1, true);
    pm_app_event(play.app, &down);
    pm_app_event(play.app, &quit);
    assert_false(pm_app_wishes(play.app).quit);
    pm_app_event(play.app, &quit);
    pm_mem_fail_at(0, false);
    assert_true(pm_app_wishes(play.app).quit);
}

/* The newest message is the one that counts: it never gives way to an older one. */
static void without_memory_messages_have_words(void **state)
{
    (void)state;
    struct pm_error err;
    pm_app_say(play.app, "Saved.");
    pm_mem_fail_at(1, true);
    pm_fail_memory(&err);
    pm_app_error(play.app, &err);
    pm_app_draw(play.app, &play.grid);
    pm_mem_fail_at(0, false);
    play_sees(&play, "! Out of memory; nothing was changed.");
}

/* ---- rooms and time -------------------------------------------------------------------------- */

static void rooms(void **state)
{
    (void)state;
    play_keys(&play, "O");
    play_sees(&play, "The other room");
    play_keys(&play, "L");
    play_sees(&play, "! This room is closed.");
    play_sees(&play, "The other room");
    play_keys(&play, "F2");
    play_sees(&play, "plain name");
    assert_int_equal(pm_app_room(play.app), 0);
}

static void due_notes_come_in_time(void **state)
{
    (void)state;
    assert_int_equal(pm_app_timeout(play.app), -1);
    sample.due_time = play.now + 900;
    play_keys(&play, "O"); /* entering a room asks again */
    assert_int_equal(pm_app_timeout(play.app), 900 * 1000);
    play_misses(&play, "1 due");
    play_wait(&play, 899);
    play_misses(&play, "1 due");
    play_wait(&play, 1);
    play_sees(&play, "1 due: a sample with a name of some length   ? all keys");
    assert_int_equal(pm_app_timeout(play.app), -1);
    /* Where the keys of the room need the place, it is told in brief. */
    play_keys(&play, "S");
    play_sees(&play, "; find an action");
    play_sees(&play, "1 due   ? all keys");
    play_resize(&play, 24, 140);
    play_sees(&play, "1 due: a sample with a name of some length   ? all keys");
}

static void rooms_are_woken_and_cannot_hog(void **state)
{
    (void)state;
    play_keys(&play, "O S");
    sample.wake = play.now + 30;
    play_wait(&play, 29);
    assert_int_equal(sample.ticks, 0);
    play_wait(&play, 91);
    assert_int_equal(sample.ticks, 2); /* after 30 and 90 seconds, also behind another room */
    /* A room that always wants the past is woken once a second, not in a busy loop. */
    sample.wake = 0;
    int before = sample.ticks;
    play_wait(&play, 10);
    assert_in_range(sample.ticks - before, 9, 11);
    assert_true(pm_app_timeout(play.app) >= 0);
}

/* ---- overlays -------------------------------------------------------------------------------- */

static void prompt(void **state)
{
    (void)state;
    play_keys(&play, "n");
    play_sees(&play, "A name is needed.");
    play_type(&play, "gre");
    play_sees(&play, "3 bytes");
    play_cursor_on(&play, "");
    play_keys(&play, "Tab");
    play_sees(&play, "Name  green");
    play_keys(&play, "Tab Tab");
    play_sees(&play, "Name  grey");
    play_keys(&play, "Tab");
    play_sees(&play, "3 bytes"); /* round again: what was typed */
    play_type(&play, "y?");
    play_golden(&play, "prompt-80x24");
    sample.refuse = true;
    play_keys(&play, "Enter");
    play_sees(&play, "! Refused: \"grey?\".");
    play_sees(&play, "A new name");
    sample.refuse = false;
    play_keys(&play, "Enter");
    play_misses(&play, "A new name");
    assert_string_equal(sample.accepted, "grey?");
    assert_int_equal(sample.closed, 1);
    play_keys(&play, "n");
    play_paste(&play, "two\nlines q");
    play_sees(&play, "Name  two lines q");
    /* Half of a paste would be something else: all of it or nothing. */
    char endless[3000];
    memset(endless, 'x', sizeof endless - 1);
    endless[sizeof endless - 1] = '\0';
    play_paste(&play, endless);
    play_sees(&play, "too long to go here");
    play_sees(&play, "11 bytes");
    play_keys(&play, "Esc");
    assert_int_equal(sample.closed, 2);
}

static void form(void **state)
{
    (void)state;
    play_keys(&play, "f");
    play_type(&play, "gre");
    play_keys(&play, "Tab"); /* completes, and goes on with the next one */
    play_sees(&play, "green");
    play_keys(&play, "Tab");
    play_sees(&play, "Its kind");
    play_golden(&play, "form-80x24");
    play_keys(&play, "Right");
    play_sees(&play, "< solvent >");
    play_keys(&play, "Right");
    play_sees(&play, "< chemical >");
    play_type(&play, "s");
    play_sees(&play, "< solvent >");
    play_keys(&play, "Down Ctrl-U");
    play_type(&play, "12 g");
    sample.refuse = true;
    play_keys(&play, "Enter");
    play_sees(&play, "! Refused: \"green/solvent/12 g\".");
    play_sees(&play, "Its kind"); /* the focus went to the field that was named */
    sample.refuse = false;
    play_keys(&play, "Enter");
    assert_string_equal(sample.accepted, "green/solvent/12 g");
    assert_int_equal(sample.closed, 1);
}

static void picker_asks_for_visible_rows_only(void **state)
{
    (void)state;
    play_keys(&play, "p");
    play_golden(&play, "picker-80x24");
    assert_int_equal(sample.filters, 1);
    assert_true(sample.rows_asked < 40);
    sample.rows_asked = 0;
    play_keys(&play, "End");
    play_sees(&play, "100000 of 100000");
    play_cursor_on(&play, "entry 99999");
    assert_true(sample.rows_asked < 40);
    play_keys(&play, "PageUp Down Down");
    play_cursor_on(&play, "entry 99990");
    play_type(&play, "ab");
    assert_int_equal(sample.filters, 3);
    play_sees(&play, "1 of 200 or more");
    play_keys(&play, "Down Enter");
    assert_string_equal(sample.accepted, "1 ab");
    assert_int_equal(sample.closed, 1);
    play_keys(&play, "p");
    play_type(&play, "zzz");
    play_sees(&play, "Nothing is called that.");
    play_keys(&play, "Enter");
    play_sees(&play, "! Nothing matches \"zzz\".");
    play_keys(&play, "Down PageDown End Up Esc");
    assert_int_equal(sample.closed, 2);
    assert_int_equal(sample.picks, 1);
}

static void choice(void **state)
{
    (void)state;
    play_keys(&play, "k");
    play_golden(&play, "choice-80x24");
    play_keys(&play, "Down Enter");
    assert_string_equal(sample.accepted, "option 1");
    play_keys(&play, "k S");
    assert_string_equal(sample.accepted, "option 2");
    play_keys(&play, "k Esc");
    assert_int_equal(sample.closed, 3);
}

static void page(void **state)
{
    (void)state;
    play_keys(&play, "t");
    play_golden(&play, "page-80x24");
    play_keys(&play, "End");
    play_sees(&play, "     of a small terminal, and is continued below its own text");
    play_keys(&play, "PageUp Home Down");
    play_misses(&play, "The first line");
    play_keys(&play, "Ctrl-D Space Up q");
    play_misses(&play, "A long text");
    assert_false(play.wishes.quit);
}

/* Keys that come faster than paints. */
static void page_keys_in_one_burst(void **state)
{
    (void)state;
    static const char *const bursts[] = {"PageDown", "Down", "PageUp"};
    play_keys(&play, "t");
    for (size_t i = 0; i < sizeof bursts / sizeof *bursts; i++) {
        struct pm_event end = {.kind = PM_EVENT_KEY};
        assert_true(pm_key_read("End", 3, &end.key));
        pm_app_event(play.app, &end);
        play_keys(&play, bursts[i]);
        play_misses(&play, "The first line");
        if (i < 2)
            play_sees(&play, "of a small terminal");
        else
            play_misses(&play, "of a small terminal"); /* a page before the end */
    }
}

static void overlays_stack(void **state)
{
    (void)state;
    play_keys(&play, "n");
    play_type(&play, "half");
    play_keys(&play, "Ctrl-/");
    play_sees(&play, "All keys");
    play_keys(&play, "PageDown");
    play_sees(&play, "Erases the word before the");
    play_keys(&play, "Esc");
    play_sees(&play, "half");
    play_keys(&play, "Enter");
    assert_string_equal(sample.accepted, "half");
}

static void pasting_where_nothing_takes_it(void **state)
{
    (void)state;
    play_paste(&play, "q\nq\n");
    assert_false(play.wishes.quit);
    play_sees(&play, "Nothing here takes pasted text.");
}

static void copying(void **state)
{
    (void)state;
    play_keys(&play, "c");
    assert_string_equal(play.wishes.copy, "two lines\nof text");
}

static void users_keys_and_complaints(void **state)
{
    (void)state;
    struct sample other;
    struct play second;
    sample_init(&other);
    struct pm_app_spec spec = sample_spec(&other);
    spec.user_keys = "name m\nnonsense x\n";
    play_start(&second, spec, 24, 80);
    play_sees(&second, "* Key file, line 2: There is no action \"nonsense\".");
    play_sees(&second, "m new name");
    play_keys(&second, "m");
    play_sees(&second, "A new name");
    play_end(&second);
    /* Of several the last is told, and where the others are; once read, they are no news. */
    spec.user_keys = "nosuch x\nname 5\nnonsense x\n";
    play_start(&second, spec, 24, 80);
    play_sees(&second, "* Key file, line 3: There is no action \"nonsense\". 2 more: Ctrl-N.");
    play_keys(&second, "Ctrl-N");
    play_sees(&second, "line 2: 5 begins a number");
    play_keys(&second, "Esc Ctrl-N Esc Q");
    play_misses(&second, "more: Ctrl-N");
    play_end(&second);
    sample_release(&other);
}

/* Every request for memory fails once: nothing crashes, leaks, or loses the sheet. */
static void memory_runs_out_anywhere(void **state)
{
    (void)state;
    static const char *const keys[] = {"n", "f", "p", "t", "k", "?", ";", "Ctrl-N", "c"};
    for (size_t k = 0; k < sizeof keys / sizeof *keys; k++) {
        struct pm_event event = {.kind = PM_EVENT_KEY};
        assert_true(pm_key_read(keys[k], strlen(keys[k]), &event.key));
        for (long n = 1;; n++) {
            pm_mem_fail_at(n, n % 2);
            pm_app_event(play.app, &event);
            pm_app_draw(play.app, &play.grid);
            long asked = pm_mem_fail_at(0, false);
            play_keys(&play, "Esc");
            play_sees(&play, "plain name");
            if (asked < n)
                break;
        }
    }
    for (long n = 1;; n++) {
        struct pm_app *app = NULL;
        struct sample other;
        sample_init(&other);
        struct pm_app_spec spec = sample_spec(&other);
        pm_mem_fail_at(n, false);
        enum pm_status status = pm_app_new(&app, &spec, NULL);
        long asked = pm_mem_fail_at(0, false);
        pm_app_free(app);
        sample_release(&other);
        if (asked < n) {
            assert_int_equal(status, PM_OK);
            break;
        }
        assert_int_equal(status, PM_NOMEM);
        assert_null(app);
    }
}

#define PLAY(name) cmocka_unit_test_setup_teardown(name, start, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PLAY(golden_sheet),
        PLAY(columns_stay_aligned_whatever_the_names),
        PLAY(a_small_window_is_told_politely),
        PLAY(any_size_any_keys),
        PLAY(keys_of_the_tables_do_not_clash),
        PLAY(help_names_everything),
        PLAY(golden_help),
        PLAY(unknown_keys_say_so),
        PLAY(esc_before_a_key_is_not_lost),
        PLAY(the_finder_runs_actions),
        PLAY(ctrl_s_and_ctrl_l_are_harmless),
        PLAY(messages_stay_until_a_key),
        PLAY(unseen_messages_survive_keys),
        PLAY(long_messages_are_shown_whole),
        PLAY(the_log_keeps_two_hundred),
        PLAY(jobs_run_after_the_paint),
        PLAY(forms_write_after_the_paint),
        PLAY(a_waiting_key_comes_after_the_job),
        PLAY(no_job_is_lost_at_the_end),
        PLAY(leaving_asks_only_for_half_typed_text),
        PLAY(leaving_asks_nothing_otherwise),
        PLAY(without_memory_one_can_leave),
        PLAY(without_memory_messages_have_words),
        PLAY(rooms),
        PLAY(due_notes_come_in_time),
        PLAY(rooms_are_woken_and_cannot_hog),
        PLAY(prompt),
        PLAY(form),
        PLAY(picker_asks_for_visible_rows_only),
        PLAY(choice),
        PLAY(page),
        PLAY(page_keys_in_one_burst),
        PLAY(overlays_stack),
        PLAY(pasting_where_nothing_takes_it),
        PLAY(copying),
        PLAY(users_keys_and_complaints),
        PLAY(memory_runs_out_anywhere),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
