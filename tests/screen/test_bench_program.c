/* SPDX-License-Identifier: MIT */
/*
 * The program for real: build/permille on a pseudo-terminal, read back through libvterm, an
 * independent implementation of the terminal's side. Each test has a library of its own.
 */
#include "bench_world.h"

#include "permille/studio/bottles.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static void close_library(struct hand *hand)
{
    pm_studio_close(hand->studio);
    hand->studio = NULL;
}

/* Three lines in a thousand; nobody has the file open afterwards. */
static void write_library(struct hand *hand)
{
    int64_t id = hand_formula(hand, "Harbour", 1000);
    hand_add(hand, id, "Alderwood ketone", 500);
    hand_add(hand, id, "Breeze salicylate", 300);
    hand_add(hand, id, "Calm musk", 200);
    close_library(hand);
}

static struct stage *open_program_with(const char *path, int rows, int columns,
                                       const char *const *settings)
{
    static char program[256], db[] = "--db", file[256];
    const char *build = getenv("BUILD");
    snprintf(program, sizeof program, "%s/permille", build != NULL ? build : "build");
    snprintf(file, sizeof file, "%s", path);
    static char *argv[] = {program, db, file, NULL};
    struct stage_spec spec = {
        .rows = rows, .columns = columns, .program = argv, .settings = settings};
    return stage_start(&spec);
}

static struct stage *open_program(const char *path, int rows, int columns)
{
    return open_program_with(path, rows, columns, NULL);
}

static void expect_exit(struct stage *stage, int code)
{
    int status = stage_status(stage);
    if (!WIFEXITED(status) || WEXITSTATUS(status) != code)
        fail_msg("status %x, expected exit %d", (unsigned)status, code);
}

static double parts(struct hand *hand, const char *line)
{
    int64_t id;
    hand_ok(hand, pm_formula_find(hand->studio, "Harbour", &id, NULL, NULL, &hand->err));
    return (double)hand_parts(hand, id, line) / (double)PM_PART;
}

static void start_edit_resize_quit(void **state)
{
    struct hand *hand = *state;
    write_library(hand);
    struct stage *stage = open_program(hand->path, 24, 80);
    stage_sees(stage, "Harbour");
    stage_sees(stage, "500.00");
    stage_type(stage, "600");
    stage_sees(stage, "240.00");
    stage_cursor_at(stage, 4, 35); /* behind what is typed */
    stage_resize(stage, 50, 200);
    stage_sees(stage, "in 10 g");
    stage_sees(stage, "becomes");
    stage_keys(stage, "Enter");
    stage_sees(stage, "Set Alderwood ketone from 500 to 600; 2 lines gave way. Saved.");
    stage_resize(stage, 10, 40);
    stage_sees(stage, "permille needs 80 x 24 cells");
    stage_resize(stage, 24, 80);
    stage_sees(stage, "240.00");
    stage_keys(stage, "q");
    expect_exit(stage, 0);
    stage_end(stage);
    hand->studio = NULL;
    hand_reopen(hand);
    assert_true(parts(hand, "Alderwood ketone") == 600.0);
}

/* What the screen called saved is there after kill -9; only the number being typed is lost. */
static void killed_and_opened_again(void **state)
{
    struct hand *hand = *state;
    write_library(hand);
    struct stage *stage = open_program(hand->path, 24, 80);
    stage_sees(stage, "500.00");
    stage_type(stage, "600");
    stage_keys(stage, "Enter");
    stage_sees(stage, "Saved.");
    stage_keys(stage, "Down");
    stage_type(stage, "1.5");
    stage_sees(stage, "becomes");
    stage_signal(stage, SIGKILL);
    int status = stage_status(stage);
    assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL);
    stage_end(stage);
    stage = open_program(hand->path, 24, 80);
    stage_sees(stage, "600.00");
    stage_sees(stage, "240.00");
    stage_keys(stage, "u");
    stage_sees(stage, "Undid: Set Alderwood ketone from 500 to 600");
    stage_sees(stage, "300.00");
    stage_keys(stage, "q");
    expect_exit(stage, 0);
    stage_end(stage);
    hand_reopen(hand);
    assert_true(parts(hand, "Alderwood ketone") == 500.0);
}

/* "t58" and Enter, typed ahead as a comment while another instance changed the formula: the key
 * that met the change is dropped, and what follows it in the same breath must not become parts. */
static void what_was_typed_ahead_is_dropped(void **state)
{
    struct hand *hand = *state;
    int64_t id;
    write_library(hand);
    struct stage *stage = open_program(hand->path, 24, 80);
    stage_sees(stage, "500.00");
    hand_reopen(hand);
    hand_ok(hand, pm_formula_find(hand->studio, "Harbour", &id, NULL, NULL, &hand->err));
    hand_set(hand, id, "Calm musk", 100);
    stage_bytes(stage, "t58\r", 4);
    stage_sees(stage, "Another window changed this formula");
    stage_sees(stage, "100.00");
    stage_signal(stage, SIGTERM);
    stage_status(stage);
    stage_end(stage);
    hand_reopen(hand);
    assert_true(parts(hand, "Alderwood ketone") > 500.0);
}

static void two_instances_on_one_file(void **state)
{
    struct hand *hand = *state;
    write_library(hand);
    struct stage *one = open_program(hand->path, 24, 80);
    struct stage *two = open_program(hand->path, 24, 80);
    stage_sees(one, "500.00");
    stage_sees(two, "500.00");
    stage_type(one, "600");
    stage_keys(one, "Enter");
    stage_sees(one, "Saved.");
    stage_sees(two, "Another window changed this formula");
    stage_sees(two, "600.00");
    stage_keys(two, "Down Down");
    stage_type(two, "100");
    stage_keys(two, "Enter");
    stage_sees(two, "Saved.");
    stage_sees(one, "100.00");
    stage_keys(one, "q");
    stage_keys(two, "q");
    expect_exit(one, 0);
    expect_exit(two, 0);
    stage_end(one);
    stage_end(two);
    hand_reopen(hand);
    assert_true(parts(hand, "Calm musk") == 100.0);
}

/* As somebody who may read the file but not write it; root may write everything, so it becomes
 * nobody first. */
static int run_as_nobody(void *context)
{
    const char *build = getenv("BUILD");
    char program[256];
    snprintf(program, sizeof program, "%s/permille", build != NULL ? build : "build");
    if (getuid() == 0 && (setgid(65534) || setuid(65534)))
        return 99;
    execl(program, "permille", "--db", (const char *)context, (char *)NULL);
    return 98;
}

static void a_file_that_cannot_be_written(void **state)
{
    struct hand *hand = *state;
    write_library(hand);
    assert_int_equal(chmod(hand->path, 0444), 0);
    assert_int_equal(chmod(hand->folder, 0555), 0);
    struct stage_spec spec = {
        .rows = 24, .columns = 80, .run = run_as_nobody, .context = hand->path};
    struct stage *stage = stage_start(&spec);
    stage_sees(stage, "the file is read only");
    stage_sees(stage, "500.00");
    stage_type(stage, "6");
    stage_sees(stage, "The library's file is read only: nothing can be changed in it.");
    stage_keys(stage, "d");
    stage_taken(stage);
    stage_sees(stage, "500.00");
    stage_signal(stage, SIGTERM);
    int status = stage_status(stage);
    assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGTERM);
    stage_end(stage);
    assert_int_equal(chmod(hand->folder, 0700), 0);
    assert_int_equal(chmod(hand->path, 0600), 0);
    hand_reopen(hand);
    assert_true(parts(hand, "Alderwood ketone") == 500.0);
}

/* A sentence and the exit status, before any screen starts. */
static void a_file_of_something_else(void **state)
{
    struct hand *hand = *state;
    close_library(hand);
    FILE *file = fopen(hand->path, "w");
    assert_non_null(file);
    assert_true(
        fputs("This is a letter, not a library. It is long enough to be told apart.\n", file) >= 0);
    assert_int_equal(fclose(file), 0);
    struct stage *stage = open_program(hand->path, 24, 80);
    stage_sees(stage, "is not a library");
    expect_exit(stage, 1);
    stage_end(stage);
    assert_int_equal(unlink(hand->path), 0);
}

/* Where "\u2030" cannot be shown, nothing reads as ten times as much. */
static void per_mille_is_never_percent(void **state)
{
    static const char *const ascii[] = {"LC_ALL=C", NULL};
    struct hand *hand = *state;
    write_library(hand);
    struct stage *stage = open_program_with(hand->path, 24, 80, ascii);
    /* 4 in 1000, where the sign for per mille cannot be shown. */
    stage_sees(stage, "Alderwood ketone");
    stage_type(stage, "4");
    stage_keys(stage, "Enter");
    stage_sees(stage, "4000 ppm");
    stage_keys(stage, "q");
    expect_exit(stage, 0);
    stage_end(stage);
}

static void a_new_library_is_made(void **state)
{
    struct hand *hand = *state;
    close_library(hand);
    assert_int_equal(unlink(hand->path), 0);
    struct stage *stage = open_program(hand->path, 24, 80);
    stage_sees(stage, "The bench is clear");
    stage_keys(stage, "q");
    expect_exit(stage, 0);
    stage_end(stage);
    hand_reopen(hand);
}

#define PROGRAM(name) cmocka_unit_test_setup_teardown(name, hand_setup, hand_teardown)

/* From nothing to a counted bottle, with a terminal in between. */
static void a_first_bottle_on_an_empty_shelf(void **state)
{
    struct hand *hand = *state;
    struct pm_bottle card;
    close_library(hand);
    struct stage *stage = open_program(hand->path, 24, 80);
    stage_sees(stage, "The bench is clear");
    stage_type(stage, "S");
    stage_sees(stage, "The shelf is bare");
    stage_type(stage, "&");
    stage_sees(stage, "Starter materials:");
    stage_type(stage, "/78-70-6");
    stage_sees(stage, "1 of 1");
    stage_keys(stage, "Enter");
    stage_type(stage, "a25");
    stage_keys(stage, "Enter");
    stage_sees(stage, "B001 stands on the shelf");
    stage_type(stage, "24.2");
    stage_sees(stage, "The ledger says 25.00 g: 800 mg less.");
    stage_keys(stage, "Enter");
    stage_sees(stage, "Saved.");
    stage_resize(stage, 50, 200);
    stage_sees(stage, "in and out, newest first");
    stage_keys(stage, "q");
    expect_exit(stage, 0);
    stage_end(stage);
    hand->studio = NULL;
    hand_reopen(hand);
    hand_ok(hand, pm_bottle_show(hand->studio, 1, &hand->arena, &card, &hand->err));
    assert_int_equal(card.left, 24200000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        PROGRAM(start_edit_resize_quit),          PROGRAM(killed_and_opened_again),
        PROGRAM(what_was_typed_ahead_is_dropped), PROGRAM(a_file_that_cannot_be_written),
        PROGRAM(two_instances_on_one_file),       PROGRAM(a_file_that_cannot_be_written),
        PROGRAM(a_file_of_something_else),        PROGRAM(a_new_library_is_made),
        PROGRAM(per_mille_is_never_percent),      PROGRAM(a_first_bottle_on_an_empty_shelf),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
