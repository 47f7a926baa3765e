/* SPDX-License-Identifier: MIT */
/*
 * Taking out by keyboard: the formula on the Bench, a trial, trials side by side, the shelf; in
 * every form, found by "export", never over another file. JSON is read back with SQLite's own JSON
 * functions.
 */
#include "shelf_world.h"

#include "permille/base/mem.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define PLAY (&world->play)

static char start[4096], folder[64];

static int set_up(void **state)
{
    snprintf(folder, sizeof folder, "/tmp/permille-printing-XXXXXX");
    return bench_world_setup(state) != 0 || getcwd(start, sizeof start) == NULL ||
                   mkdtemp(folder) == NULL || chdir(folder) != 0
               ? -1
               : 0;
}

static int tear_down(void **state)
{
    char command[128];
    snprintf(command, sizeof command, "rm -rf '%s'", folder);
    return chdir(start) != 0 || system(command) != 0 || bench_world_teardown(state) != 0 ? -1 : 0;
}

static const char *content(const char *path)
{
    static char block[65536];
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    block[fread(block, 1, sizeof block - 1, file)] = '\0';
    fclose(file);
    return block;
}

static void holds(const char *path, const char *text)
{
    if (strstr(content(path), text) == NULL)
        fail_msg("no \"%s\" in %s:\n%s", text, path, content(path));
}

/* Types another file than the one offered, and says yes. */
static void into(struct bench_world *world, const char *path)
{
    play_type(PLAY, path);
    play_keys(PLAY, "Enter");
}

static void the_formula_in_every_form(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, ";");
    play_type(PLAY, "export");
    play_sees(PLAY, "Writes the formula");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Harbour.html");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Written: Harbour.html.");
    holds("Harbour.html", "<!DOCTYPE html>");
    holds("Harbour.html", "<svg");
    play_keys(PLAY, "X");
    play_sees(PLAY, "Harbour_2.html"); /* the first one is there */
    into(world, "Harbour.html");
    play_sees(PLAY, "is there already");
    play_keys(PLAY, "Esc X");
    into(world, "h.md");
    holds("h.md", "# Harbour");
    play_keys(PLAY, "X");
    into(world, "h.txt");
    holds("h.txt", "Harbour, draft");
    assert_null(strstr(content("h.txt"), "Kept")); /* a draft never was */
    play_keys(PLAY, "X");
    into(world, "h.csv");
    holds("h.csv", "formula,base_parts,material,parts");
    play_keys(PLAY, "X");
    into(world, "h.json");
    sqlite3 *memory;
    sqlite3_stmt *query;
    assert_int_equal(sqlite3_open(":memory:", &memory), SQLITE_OK);
    assert_int_equal(sqlite3_prepare_v2(memory, "SELECT json_extract(?1,'$.formulas[0].formula')",
                                        -1, &query, NULL),
                     SQLITE_OK);
    sqlite3_bind_text(query, 1, content("h.json"), -1, SQLITE_TRANSIENT);
    assert_int_equal(sqlite3_step(query), SQLITE_ROW);
    assert_string_equal((const char *)sqlite3_column_text(query, 0), "Harbour");
    sqlite3_finalize(query);
    sqlite3_close(memory);
    /* A folder that is not there: told, and what was typed stays to be put right. */
    play_keys(PLAY, "X");
    into(world, "nowhere/h.txt");
    play_sees(PLAY, "cannot be written");
    play_sees(PLAY, "nowhere/h.txt");
}

static void a_trial_and_a_comparison(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "w Enter + w Enter T Up");
    play_keys(PLAY, "X");
    play_sees(PLAY, "Harbour-1.html");
    into(world, "t.txt");
    play_sees(PLAY, "Written");
    holds("t.txt", "Harbour/1");
    play_keys(PLAY, "Down C X");
    play_sees(PLAY, "Harbour-1-Harbour-2.html");
    into(world, "side.csv");
    play_sees(PLAY, "A sheet is a page");
    play_keys(PLAY, "Esc X");
    into(world, "side.html");
    holds("side.html", "Harbour/1");
    holds("side.html", "<svg");
    assert_int_not_equal(access("side.csv", F_OK), 0);
}

static void the_shelf(void **state)
{
    struct bench_world *world = *state;
    shelf_world_open(world, 24, 80);
    play_keys(PLAY, "X");
    play_sees(PLAY, "shelf.html");
    play_keys(PLAY, "Enter");
    holds("shelf.html", "<h1>movements</h1>");
    play_keys(PLAY, "X Tab");
    into(world, "s.csv");
    play_sees(PLAY, "CSV holds one table");
    play_keys(PLAY, "Shift-Tab Right Right Tab Enter");
    holds("s.csv", "bottle,material,strength");
}

/* No name makes a hidden file, an option, or a word that a shell takes apart. */
static void a_name_that_a_shell_would_stumble_over(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "N");
    play_type(PLAY, "..=Sea & \"Salt\"");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Bench  ..=Sea");
    play_keys(PLAY, "X");
    play_sees(PLAY, "_.=Sea---");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Written: _.=Sea---");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(the_formula_in_every_form, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_trial_and_a_comparison, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_shelf, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_name_that_a_shell_would_stumble_over, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
