/* SPDX-License-Identifier: MIT */
/*
 * The Bench when other instances write, nothing can be saved, memory runs out, or any key is hit.
 */
#include "bench_world.h"

#include "src/store/store.h"
#include "src/studio/inside.h"
#include "tests/store/fault_vfs.h"

#include "permille/base/mem.h"

#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>

#define PLAY (&world->play)

static int64_t harbour(struct bench_world *world)
{
    int64_t id;
    hand_ok(world->hand,
            pm_formula_find(world->hand->studio, "Harbour", &id, NULL, NULL, &world->hand->err));
    return id;
}

/* What another instance does meanwhile to the formula that is shown. */
static void other_sets(struct bench_world *world, struct pm_studio *other, const char *line,
                       double parts)
{
    struct pm_studio *mine = world->hand->studio;
    world->hand->studio = other;
    hand_set(world->hand, harbour(world), line, parts);
    world->hand->studio = mine;
}

static void other_drops(struct bench_world *world, struct pm_studio *other, const char *line)
{
    struct pm_studio *mine = world->hand->studio;
    world->hand->studio = other;
    struct pm_sheet *sheet = hand_draft(world->hand, harbour(world));
    const int64_t id = hand_line(world->hand, sheet, line);
    hand_do(world->hand, sheet->formula, &(struct pm_gesture){.kind = PM_DROP, .line = id});
    pm_sheet_free(sheet);
    world->hand->studio = mine;
}

static void another_instance_is_noticed(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    struct pm_studio *other = hand_second(world->hand);
    play_type(PLAY, "60");
    other_sets(world, other, "Calm musk", 100);
    play_wait(PLAY, 5);
    play_sees(PLAY, "Another window changed this formula");
    play_sees(PLAY, "60 ");
    play_sees(PLAY, "becomes");
    play_type(PLAY, "0");
    play_keys(PLAY, "Enter");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 600.0);
    assert_true(bench_total(world, "Harbour") == 1000.0);
    pm_studio_close(other);
}

/* Another instance wrote since the screen was painted: a key means what was seen, so it shows the
 * change and does nothing else. Undo must not take back what the person never saw. */
static void no_key_acts_on_what_was_not_seen(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    struct pm_studio *other = hand_second(world->hand);
    play_type(PLAY, "600");
    other_sets(world, other, "Calm musk", 100);
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Another window changed this formula");
    play_sees(PLAY, "600 ");
    assert_true(bench_parts(world, "Harbour", "Calm musk") == 100.0);
    play_keys(PLAY, "Esc");
    other_sets(world, other, "Calm musk", 110);
    play_keys(PLAY, "u");
    play_sees(PLAY, "110.00");
    assert_true(bench_parts(world, "Harbour", "Calm musk") == 110.0);
    play_keys(PLAY, "u");
    assert_true(bench_parts(world, "Harbour", "Calm musk") == 100.0);
    pm_studio_close(other);
}

/* The line a number is being typed for is dropped by another instance: the number goes with it. */
static void a_number_stays_with_its_line(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    struct pm_studio *other = hand_second(world->hand);
    play_type(PLAY, "600");
    other_drops(world, other, "Alderwood ketone");
    other_sets(world, other, "Calm musk", 350);
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Another window changed this formula");
    play_misses(PLAY, "600");
    play_keys(PLAY, "Enter Enter");
    assert_true(bench_parts(world, "Harbour", "Breeze salicylate") == 650.0);
    pm_studio_close(other);
}

/* A change between the last look and the commit: nothing is overwritten, the text is offered
 * again. */
static void a_stale_plan_is_not_written(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    struct pm_studio *other = hand_second(world->hand);
    play_type(PLAY, "600");
    struct pm_event enter = {.kind = PM_EVENT_KEY, .key = pm_key_make(PM_KEY_ENTER, 0)};
    pm_app_event(world->play.app, &enter);
    pm_app_draw(world->play.app, &world->play.grid);
    play_sees(PLAY, "240.00"); /* painted, not yet written */
    other_sets(world, other, "Calm musk", 100);
    pm_app_work(world->play.app);
    pm_app_draw(world->play.app, &world->play.grid);
    play_sees(PLAY, "nothing of");
    play_sees(PLAY, "337.50"); /* what the other made of the line */
    play_sees(PLAY, "600 ");
    assert_true(bench_parts(world, "Harbour", "Calm musk") == 100.0);
    play_keys(PLAY, "Enter");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 600.0);
    pm_studio_close(other);
}

/* Every write fails, as on a full disk. */
static void disk(bool full)
{
    struct rlimit limit;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &limit), 0);
    limit.rlim_cur = full ? 0 : limit.rlim_max;
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &limit), 0);
}

static void what_cannot_be_saved_is_not_lost(void **state)
{
    struct bench_world *world = *state;
    signal(SIGXFSZ, SIG_IGN);
    bench_harbour(world, 24, 80);
    play_type(PLAY, "600");
    disk(true);
    play_keys(PLAY, "Enter");
    disk(false);
    play_sees(PLAY, "Not saved:");
    play_sees(PLAY, "600 ");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 500.0);
    play_sees(PLAY, "a limit on their size");
    play_keys(PLAY, "q"); /* text now: typing goes on */
    play_keys(PLAY, "Backspace Ctrl-Q");
    assert_false(world->play.wishes.quit);
    play_keys(PLAY, "Esc Enter");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 600.0);
    disk(true);
    play_keys(PLAY, "d");
    disk(false);
    play_sees(PLAY, "Not saved:");
    play_sees(PLAY, "Alderwood ketone");
    play_keys(PLAY, "q");
    assert_false(world->play.wishes.quit);
    play_keys(PLAY, "Esc !");
    play_sees(PLAY, "Saved.");
    play_misses(PLAY, "Alderwood ketone  ");
    play_keys(PLAY, "q");
    assert_true(world->play.wishes.quit);
}

static double seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

/* Another program holds the file for itself: that is said after about two seconds in all, what was
 * typed stays, and the editor can be used. */
static void a_file_that_another_holds_is_waited_for_once(void **state)
{
    struct bench_world *world = *state;
    sqlite3 *holder = NULL;
    bench_harbour(world, 24, 80);
    assert_int_equal(sqlite3_open(world->hand->path, &holder), SQLITE_OK);
    assert_int_equal(sqlite3_exec(holder, "BEGIN EXCLUSIVE", NULL, NULL, NULL), SQLITE_OK);
    const double begin = seconds();
    play_type(PLAY, "600");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Another program is using the library");
    play_sees(PLAY, "try again when");
    play_sees(PLAY, "600 ");
    play_keys(PLAY, "Ctrl-/ Esc Enter");
    play_wait(PLAY, 5);
    play_sees(PLAY, "600 ");
    assert_true(seconds() - begin < 2.0 + 1.5); /* time to draw as well */
    play_keys(PLAY, "Esc F4");                  /* a room that cannot be read does not look empty */
    play_sees(PLAY, "Nothing could be read yet");
    play_misses(PLAY, "new material");
    sqlite3_close(holder);
    play_keys(PLAY, "Down");
    play_sees(PLAY, "Alderwood ketone");
    play_keys(PLAY, "B");
    play_type(PLAY, "600");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Saved.");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 600.0);
}

static bool folder_fails;

static enum pm_status sync_folder(const char *path, struct pm_error *err)
{
    (void)path;
    return folder_fails ? pm_fail(err, PM_IO, "The folder failed.") : PM_OK;
}

/* The change is in the file, but the disk does not confirm the folder: it is shown as written, not
 * as saved, and the disk is asked again by the key that saves again. */
static void what_is_not_certain_is_asked_about_again(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    world->hand->studio->library->options.sync_folder = sync_folder;
    folder_fails = true;
    for (long k = 1; play_find(PLAY, "not certain") < 0; k++) {
        assert_true(k < 200);
        play_keys(PLAY, k == 1 ? "Esc" : play_find(PLAY, "Saved.") >= 0 ? "u" : "Esc ! u");
        play_type(PLAY, "600");
        fault_arm(FAULT_LATE, k);
        play_keys(PLAY, "Enter");
        fault_disarm();
    }
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 600.0);
    play_sees(PLAY, "600.00"); /* nothing is being typed */
    play_keys(PLAY, "!");
    play_sees(PLAY, "still not certain");
    folder_fails = false;
    play_keys(PLAY, "!");
    play_sees(PLAY, "All is saved");
}

/* A second change does not take the place of one that could not be written: the person decides. */
static void an_unwritten_change_is_not_replaced(void **state)
{
    struct bench_world *world = *state;
    signal(SIGXFSZ, SIG_IGN);
    bench_harbour(world, 24, 80);
    hand_formula(world->hand, "Headland", 1000);
    disk(true);
    play_keys(PLAY, "d");
    disk(false);
    play_sees(PLAY, "Not saved:");
    play_keys(PLAY, "Down h");
    play_sees(PLAY, "The change before could not be written: Dropped Alderwood ketone");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 500.0);
    play_keys(PLAY, "Esc o Down Enter"); /* nor is it left behind for another formula */
    play_sees(PLAY, "A change to Harbour is not written yet");
    play_keys(PLAY, "Esc 7"); /* typing asks as well */
    play_sees(PLAY, "The change before");
    play_keys(PLAY, "w");
    play_sees(PLAY, "Saved.");
    play_keys(PLAY, "u");
    play_sees(PLAY, "Undid:");
    disk(true);
    play_keys(PLAY, "d");
    disk(false);
    play_keys(PLAY, "d d");
    play_sees(PLAY, "Given up: Dropped Alderwood ketone");
    play_keys(PLAY, "!");
    play_sees(PLAY, "All is saved");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 500.0);
}

/* Without memory for the commit, what was typed stays where it can be written again. */
static void what_memory_was_too_short_for_is_not_lost(void **state)
{
    struct bench_world *world = *state;
    struct pm_event enter = {.kind = PM_EVENT_KEY};
    assert_true(pm_key_read("Enter", 5, &enter.key));
    bench_harbour(world, 24, 80);
    play_type(PLAY, "600");
    pm_app_event(PLAY->app, &enter);
    pm_mem_fail_at(1, false);
    pm_app_work(PLAY->app);
    pm_mem_fail_at(0, false);
    pm_app_draw(PLAY->app, &PLAY->grid);
    play_sees(PLAY, "Not saved:");
    play_sees(PLAY, "600 ");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 500.0);
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Saved.");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 600.0);
}

static void memory_runs_out_anywhere(void **state)
{
    static const char *const keys[] = {"7", "Enter", "d", "u", "a", "x", "%", "i", "y", "o",
                                       "O", "A",     "T", "k", "h", "Z", "t", "N", "w"};
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "w Enter");
    for (size_t k = 0; k < sizeof keys / sizeof *keys; k++) {
        bench_starve(world, NULL, keys[k], "Esc Esc Esc B", "Bench");
        assert_false(world->play.wishes.quit);
    }
    /* Whatever happened, the file is sound and the editor goes on. */
    bench_world_restart(world);
    bench_tuck_in(world, "fern", "1");
}

/* ---- any keys at all ------------------------------------------------------------------------- */

/* A thousand keys at random, then everything undone: the formula is as empty as it began. */
static void any_keys_can_be_undone(void **state)
{
    static const char *const keys[] = {"a Enter 3 0 Enter",
                                       "a Down Enter 5 0 0 Enter",
                                       "a Down Down Enter 0 . 0 1 Enter",
                                       "1 2 Enter",
                                       "9 9 9 9 Enter",
                                       "* 2 Enter",
                                       "= 1 / 3 Enter",
                                       "5 Esc",
                                       "Down",
                                       "Up",
                                       "End",
                                       "Home",
                                       "PageDown",
                                       "d",
                                       "h",
                                       "c",
                                       "m",
                                       "l",
                                       "+",
                                       "-",
                                       "<",
                                       ">",
                                       "Space",
                                       "V",
                                       "k Enter",
                                       "k 3 : 2 Enter",
                                       "k Z",
                                       "u",
                                       "u",
                                       "r",
                                       "% 1 0 % Enter",
                                       "x Down Enter Enter",
                                       "t x Enter",
                                       "z 1 . 5 Enter",
                                       "Z 1 0 0 Enter",
                                       "Z 1 0 0 0 Enter",
                                       "J",
                                       "i Esc",
                                       "?",
                                       "Esc",
                                       "Esc",
                                       "Tab",
                                       "Ctrl-L",
                                       "F5",
                                       "T",
                                       "B",
                                       "y Esc",
                                       "o Esc"};
    struct bench_world *world = *state;
    bench_stock(world);
    bench_world_open(world, 24, 80);
    play_keys(PLAY, "N X Enter");
    srandom(5);
    for (int i = 0; i < 700; i++) {
        if (i % 50 == 49)
            play_resize(PLAY, 20 + (int)(random() % 40), 70 + (int)(random() % 140));
        play_keys(PLAY, keys[random() % (long)(sizeof keys / sizeof *keys)]);
        if (i % 10 == 9) {
            int64_t id;
            hand_ok(world->hand,
                    pm_formula_find(world->hand->studio, "X", &id, NULL, NULL, &world->hand->err));
            pm_sheet_free(hand_draft(world->hand, id)); /* whose numbers agree */
        }
    }
    assert_false(world->play.wishes.quit);
    play_resize(PLAY, 24, 80);
    play_keys(PLAY, "Esc Esc Esc Esc B");
    for (int i = 0; i < 2000 && play_find(PLAY, "Nothing to undo") < 0; i++)
        play_keys(PLAY, "u");
    play_sees(PLAY, "Nothing in it yet.");
    play_sees(PLAY, "base 1000");
}

int main(void)
{
    fault_register_for_all();
    const struct CMUnitTest tests[] = {
        BENCH(another_instance_is_noticed),
        BENCH(no_key_acts_on_what_was_not_seen),
        BENCH(a_number_stays_with_its_line),
        BENCH(a_stale_plan_is_not_written),
        BENCH(an_unwritten_change_is_not_replaced),
        BENCH(what_cannot_be_saved_is_not_lost),
        BENCH(a_file_that_another_holds_is_waited_for_once),
        BENCH(what_is_not_certain_is_asked_about_again),
        BENCH(what_memory_was_too_short_for_is_not_lost),
        BENCH(memory_runs_out_anywhere),
        BENCH(any_keys_can_be_undone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
