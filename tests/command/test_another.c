/* SPDX-License-Identifier: MIT */
/*
 * Another library comes in by command: a second machine's that went on, one where both went on, a
 * colleague's. Two programs with a file each; what came in is read by the commands that would read
 * it, and the file is verified each time. Names are invented.
 */
#include "program.h"

#include "permille/base/mem.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

static void copy_file(const char *from, const char *to)
{
    char block[4096];
    size_t got;
    FILE *in = fopen(from, "rb"), *out = fopen(to, "wb");
    assert_non_null(in);
    assert_non_null(out);
    while ((got = fread(block, 1, sizeof block, in)) > 0)
        assert_int_equal(fwrite(block, 1, got, out), got);
    fclose(in);
    assert_int_equal(fclose(out), 0);
}

static void write_file(const char *path, const char *content)
{
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fputs(content, file);
    assert_int_equal(fclose(file), 0);
}

/* A second program, on a library of its own in the same folder. */
static struct program second(struct program *p, const char *name, bool as_a_copy)
{
    struct program other = *p;
    other.out = other.err = NULL;
    other.library = program_path(p, name);
    if (as_a_copy)
        copy_file(p->library, other.library);
    return other;
}

static void forget(struct program *other)
{
    pm_free(other->out);
    pm_free(other->err);
    free(other->library);
}

static void heart(struct program *p)
{
    program_fill_shelf(p);
    program_does(p, WORDS("new", "Heart"));
    program_does(p, WORDS("add", "Heart", "Alpha", "600"));
    program_does(p, WORDS("add", "Heart", "Beta", "400"));
    program_does(p, WORDS("keep", "Heart"));
    program_does(p, WORDS("bottle", "add", "Alpha", "10g"));
}

static bool says(const struct program *p, const char *text)
{
    return strstr(p->out, text) != NULL || strstr(p->err, text) != NULL;
}

static void must_say(const struct program *p, const char *text)
{
    if (!says(p, text))
        fail_msg("\"%s\" is not said:\n%s\n%s", text, p->out, p->err);
}

/* Both show the same trial, whatever its number. */
static void same_trial(struct program *p, const char *mine, struct program *other,
                       const char *theirs)
{
    program_asks(other, WORDS("show", theirs));
    char *lines = strdup(program_value(other, "$.lines"));
    program_asks(p, WORDS("show", mine));
    assert_string_equal(program_value(p, "$.lines"), lines);
    free(lines);
}

/* The second machine went on from where the first stands: trials, draft, history and all. */
static void what_went_on_elsewhere_goes_on_here(void **state)
{
    struct program *p = *state;
    heart(p);
    struct program other = second(p, "other.db", true);
    program_does(&other, WORDS("set", "Heart", "Alpha", "500"));
    program_does(&other, WORDS("keep", "Heart", "--note", "drier"));
    program_does(&other, WORDS("material", "add", "Delta of the attic"));
    program_does(&other, WORDS("add", "Heart", "Delta of the attic", "100"));
    program_does(&other, WORDS("set", "Heart", "Delta of the attic", "50"));
    program_does(&other, WORDS("undo", "Heart"));
    program_does(&other, WORDS("smell", "Heart/2", "--at", "5min", "--intensity", "3"));
    program_does(&other, WORDS("bottle", "count", "B001", "9g"));
    program_does(&other, WORDS("material", "edit", "Gamma", "--family", "woody"));

    program_asks(p, WORDS("import", other.library, "--plan"));
    program_says(p, "$.written", "false");
    program_says(p, "$.items[0].kind", "\"formula\"");
    program_says(p, "$.items[0].state", "\"goes on\"");
    program_says(p, "$.items[0].comes", "\"take\"");
    program_does(p, WORDS("import", other.library, "--plan"));
    must_say(p, "left: here 10.00 g, there 9.00 g");
    program_asks(p, WORDS("trials", "Heart"));
    assert_int_equal(program_count(p, "$.trials"), 1);

    program_does(p, WORDS("import", other.library));
    must_say(p, "1 formula, 1 material, 1 bottle, 1 smell note");
    program_does(p, WORDS("verify"));
    program_asks(p, WORDS("trials", "Heart"));
    assert_int_equal(program_count(p, "$.trials"), 2);
    program_says(p, "$.trials[1].note", "\"drier\"");
    same_trial(p, "Heart/2", &other, "Heart/2");
    same_trial(p, "Heart", &other, "Heart");
    program_does(p, WORDS("redo", "Heart")); /* what was undone there can be done again here */
    program_does(&other, WORDS("redo", "Heart"));
    same_trial(p, "Heart", &other, "Heart");
    for (int i = 0; i < 5; i++) { /* and the whole way back */
        program_run(p, WORDS("undo", "Heart"));
        program_run(&other, WORDS("undo", "Heart"));
        same_trial(p, "Heart", &other, "Heart");
    }
    program_asks(p, WORDS("bottle", "show", "B001"));
    program_says(p, "$.left_g", "9");
    program_asks(p, WORDS("material", "show", "Gamma")); /* one's own stays */
    program_says(p, "$.family", "null");
    program_does(p, WORDS("verify"));
    program_does(p, WORDS("shelf", "undo"));
    program_does(p, WORDS("verify"));
    program_does(p, WORDS("shelf", "redo"));
    program_does(p, WORDS("verify"));
    forget(&other);
}

/* What came in once is known again, also where numbers are others here. */
static void what_came_in_is_known_again(void **state)
{
    struct program *p = *state;
    heart(p);
    struct program other = second(p, "other.db", true);
    program_does(&other, WORDS("set", "Heart", "Alpha", "500"));
    program_does(&other, WORDS("keep", "Heart"));
    program_does(&other, WORDS("bottle", "add", "Beta", "5g"));
    program_does(p, WORDS("bottle", "add", "Gamma", "7g")); /* takes B002 here */
    program_does(p, WORDS("import", other.library));
    must_say(p, "Bottle B002, Beta, is B003 here");
    program_asks(p, WORDS("bottle", "show", "B003"));
    must_say(p, "on its glass: B002");
    program_refuses(p, "All of that library is here already.", WORDS("import", other.library));
    program_asks(p, WORDS("import", other.library, "--plan"));
    program_says(p, "$.items[0].state", "\"same\"");
    program_refuses(p, "is this library itself", WORDS("import", p->library)); /* itself */
    forget(&other);
}

/* Both went on from trial 1: theirs become the next trials here, or a formula of their own. */
static void both_went_on(void **state)
{
    struct program *p = *state;
    heart(p);
    struct program other = second(p, "other.db", true);
    program_does(p, WORDS("set", "Heart", "Alpha", "700"));
    program_does(p, WORDS("keep", "Heart"));
    program_does(p, WORDS("set", "Heart", "Alpha", "710"));
    program_does(&other, WORDS("set", "Heart", "Alpha", "500"));
    program_does(&other, WORDS("keep", "Heart"));
    program_does(&other, WORDS("set", "Heart", "Alpha", "510"));
    program_does(&other, WORDS("keep", "Heart"));
    program_does(&other, WORDS("set", "Heart", "Alpha", "520"));
    program_does(&other, WORDS("smell", "Heart/3", "--at", "5min", "--intensity", "3"));

    program_asks(p, WORDS("import", other.library, "--plan", "--skip", "smell notes"));
    program_says(p, "$.items[0].state", "\"both went on\"");
    program_says(p, "$.items[0].comes", "\"leave\"");
    /* A note about one of their trials needs them. */
    program_asks(p, WORDS("import", other.library, "--plan"));
    program_says(p, "$.items[0].comes", "\"take\"");
    assert_string_not_equal(program_value(p, "$.items[0].needed_by"), "null");

    program_asks(p, WORDS("show", "Heart"));
    char *draft = strdup(program_value(p, "$.lines"));
    program_does(p, WORDS("import", other.library, "--also", "formula:Heart"));
    must_say(p, "the draft there did not come along (1 gesture)");
    program_does(p, WORDS("verify"));
    program_asks(p, WORDS("trials", "Heart"));
    assert_int_equal(program_count(p, "$.trials"), 4);
    program_says(p, "$.trials[2].parent", "1");
    same_trial(p, "Heart/3", &other, "Heart/2");
    same_trial(p, "Heart/4", &other, "Heart/3");
    program_asks(p, WORDS("show", "Heart")); /* one's own draft stays */
    assert_string_equal(program_value(p, "$.lines"), draft);
    program_asks(p, WORDS("smells", "Heart"));
    program_says(p, "$.smells[0].trial", "4");
    program_refuses(p, "Nothing is chosen",
                    WORDS("import", other.library)); /* known, though renumbered */
    program_does(p, WORDS("undo", "Heart"));
    program_does(p, WORDS("branch", "Heart/4"));
    same_trial(p, "Heart", &other, "Heart/3");
    program_does(p, WORDS("verify"));

    /* As a second one: the whole history again, beside one's own. */
    program_does(p, WORDS("import", other.library, "--as", "formula:heart=Heart of the attic"));
    program_does(p, WORDS("verify"));
    same_trial(p, "Heart of the attic", &other, "Heart");
    program_does(p, WORDS("undo", "Heart of the attic"));
    program_does(&other, WORDS("undo", "Heart"));
    same_trial(p, "Heart of the attic", &other, "Heart");
    program_refuses(p, "taken already",
                    WORDS("import", other.library, "--as", "formula:Heart=heart of the attic"));
    free(draft);
    forget(&other);
}

/* Two machines that take from each other, again and again: nothing comes twice, and what is new
 * does although its number is another on each. */
static void back_and_forth(void **state)
{
    struct program *p = *state;
    heart(p);
    struct program other = second(p, "other.db", true);
    program_does(p, WORDS("set", "Heart", "Alpha", "700"));
    program_does(p, WORDS("keep", "Heart"));
    program_does(&other, WORDS("set", "Heart", "Alpha", "500"));
    program_does(&other, WORDS("keep", "Heart"));
    program_does(p, WORDS("import", other.library, "--also", "formula:Heart"));
    program_does(&other, WORDS("set", "Heart", "Alpha", "510"));
    program_does(&other, WORDS("keep", "Heart"));
    program_does(p, WORDS("import", other.library, "--also", "formula:Heart"));
    program_does(&other, WORDS("import", p->library)); /* all of its own is there already */
    same_trial(&other, "Heart/4", p, "Heart/2");
    program_refuses(p, "All of that library is here already.", WORDS("import", other.library));
    program_does(&other, WORDS("branch", "Heart/4"));
    program_does(&other, WORDS("set", "Heart", "Alpha", "222"));
    program_does(&other, WORDS("keep", "Heart"));
    program_does(p, WORDS("import", other.library));
    same_trial(p, "Heart/5", &other, "Heart/5");
    program_asks(p, WORDS("trials", "Heart"));
    assert_int_equal(program_count(p, "$.trials"), 5);
    program_says(p, "$.trials[4].parent", "2"); /* 4 there */
    program_does(p, WORDS("verify"));
    program_does(&other, WORDS("verify"));
    program_refuses(p, "All of that library is here already.", WORDS("import", other.library));
    program_refuses(&other, "All of that library is here already.", WORDS("import", p->library));
    forget(&other);
}

/* A library that has nothing to do with this one, but for some names. */
static void a_colleagues(void **state)
{
    struct program *p = *state;
    struct program other = second(p, "colleague.db", false);
    heart(p);
    program_does(&other, WORDS("material", "add", "Zeta of the quay"));
    program_does(&other, WORDS("material", "add", "Carrier", "--kind", "solvent"));
    program_does(&other, WORDS("material", "add", "Beta", "--note", "smells of rope"));
    program_does(&other, WORDS("material", "add", "Gone again"));
    program_does(&other, WORDS("new", "Quay base", "--accord"));
    program_does(&other, WORDS("add", "Quay base", "Zeta of the quay", "300"));
    program_does(&other,
                 WORDS("add", "Quay base", "Beta", "700", "--at", "10%", "--in", "Carrier"));
    program_does(&other, WORDS("keep", "Quay base"));
    program_does(&other, WORDS("new", "Heart")); /* another of that name */
    program_does(&other, WORDS("add", "Heart", "--accord", "Quay base/1", "250"));
    program_does(&other, WORDS("add", "Heart", "Gone again", "50"));
    program_does(&other, WORDS("add", "Heart", "Beta", "700"));
    program_does(&other, WORDS("drop", "Heart", "Gone again"));
    program_does(&other, WORDS("swap", "Heart", "Quay base", "Zeta of the quay"));
    program_does(&other, WORDS("undo", "Heart"));
    program_does(&other, WORDS("keep", "Heart"));

    program_asks(p, WORDS("import", other.library, "--plan"));
    program_says(p, "$.items[0].name", "\"Heart\"");
    program_says(p, "$.items[0].state", "\"name taken\"");
    program_says(p, "$.items[0].comes", "\"leave\"");
    program_does(
        p, WORDS("import", other.library, "--only", "formula:Heart", "--also", "formula:Heart"));
    must_say(p, "The formula Heart is called Heart (2) here");
    program_does(p, WORDS("verify"));
    same_trial(p, "Heart (2)/1", &other, "Heart/1");
    same_trial(p, "Quay base/1", &other, "Quay base/1"); /* came along */
    program_does(p, WORDS("redo", "Heart (2)"));
    program_does(&other, WORDS("redo", "Heart"));
    same_trial(p, "Heart (2)", &other, "Heart");
    for (int i = 0; i < 4; i++) { /* every gesture speaks of the materials and accords here */
        program_does(p, WORDS("undo", "Heart (2)"));
        program_does(&other, WORDS("undo", "Heart"));
        same_trial(p, "Heart (2)", &other, "Heart");
    }
    program_asks(p, WORDS("material", "show", "Beta")); /* one's own stays as it is */
    program_says(p, "$.note", "null");
    program_does(p, WORDS("import", other.library, "--as", "material:Beta=Beta of the quay"));
    program_asks(p, WORDS("material", "show", "Beta of the quay"));
    program_says(p, "$.note", "\"smells of rope\"");
    program_does(p, WORDS("verify"));
    forget(&other);
}

static void what_cannot_come_in(void **state)
{
    struct program *p = *state;
    heart(p);
    struct program other = second(p, "other.db", true);
    program_does(&other, WORDS("material", "add", "Eta of the attic"));
    program_refuses(p, "There is no \"formula:Nobody\"",
                    WORDS("import", other.library, "--only", "formula:Nobody"));
    program_refuses(p, "says the same", WORDS("import", other.library, "--also", "formula:Heart"));
    program_misused(p, "names nothing", WORDS("import", other.library, "--only", "thing:Heart"));
    program_refuses(p, "number of a bottle",
                    WORDS("import", other.library, "--as", "bottle:B001=seven"));

    /* A newer program's; one whose rows do not match their checksums; a stranger's. */
    sqlite3 *db;
    assert_int_equal(sqlite3_open(other.library, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, "PRAGMA user_version = 9000", NULL, NULL, NULL), SQLITE_OK);
    program_refuses(p, "newer version", WORDS("import", other.library));
    assert_int_equal(sqlite3_exec(db,
                                  "CREATE TABLE v AS SELECT 1; UPDATE material SET family = 'x' "
                                  "WHERE id = 1",
                                  NULL, NULL, NULL),
                     SQLITE_OK);
    sqlite3_close(db);
    assert_int_equal(sqlite3_open(p->library, &db), SQLITE_OK);
    sqlite3_stmt *step;
    assert_int_equal(sqlite3_prepare_v2(db, "PRAGMA user_version", -1, &step, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_step(step), SQLITE_ROW);
    char back[64];
    snprintf(back, sizeof back, "PRAGMA user_version = %d", sqlite3_column_int(step, 0));
    sqlite3_finalize(step);
    sqlite3_close(db);
    assert_int_equal(sqlite3_open(other.library, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, back, NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(db);
    program_refuses(p, "damaged", WORDS("import", other.library));
    assert_int_equal(truncate(other.library, 6000), 0);
    program_refuses(p, "damaged at its beginning", WORDS("import", other.library));
    forget(&other);
}

/* With two libraries about, a sentence says which of them it means. */
static void the_other_file_is_named(void **state)
{
    struct program *p = *state;
    heart(p);
    struct program other = second(p, "other.db", true);
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(other.library, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, "BEGIN EXCLUSIVE", NULL, NULL, NULL), SQLITE_OK);
    program_refuses(p, other.library, WORDS("import", other.library));
    program_refuses(p, "Another program is using", WORDS("import", other.library, "--plan"));
    sqlite3_close(db);
    assert_int_equal(sqlite3_open(other.library, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db,
                                  "PRAGMA writable_schema = ON; UPDATE sqlite_schema SET sql = "
                                  "'CREATE TABLE' WHERE name = 'smell'",
                                  NULL, NULL, NULL),
                     SQLITE_OK);
    sqlite3_close(db);
    program_refuses(p, other.library, WORDS("import", other.library));
    program_refuses(p, "is damaged", WORDS("import", other.library));
    forget(&other);
}

/* Its file is only read: it may stand where nothing can be written. */
static void the_other_file_is_only_read(void **state)
{
    struct program *p = *state;
    heart(p);
    char *folder = program_path(p, "sealed");
    assert_int_equal(mkdir(folder, 0700), 0);
    struct program other = second(p, "sealed/other.db", true);
    program_does(&other, WORDS("material", "add", "Eta of the attic"));
    assert_int_equal(chmod(other.library, 0400), 0);
    assert_int_equal(chmod(folder, 0500), 0);
    program_does(p, WORDS("import", other.library));
    must_say(p, "1 material");
    assert_int_equal(chmod(folder, 0700), 0);
    assert_int_equal(unlink(other.library), 0);
    assert_int_equal(rmdir(folder), 0); /* nothing was left beside it */
    free(folder);
    forget(&other);
}

/* Trying out needs no leave to write, and leaves nothing behind. */
static void a_plan_writes_nothing(void **state)
{
    struct program *p = *state;
    heart(p);
    struct program other = second(p, "other.db", true);
    program_does(&other, WORDS("material", "add", "Eta of the attic"));
    char *folder = program_path(p, "sealed"), *text = program_path(p, "text");
    write_file(text, "Hedge\nLinalool 500\n");
    char *table = program_path(p, "table");
    write_file(table, "name,family\nTheta,woody\n");
    assert_int_equal(mkdir(folder, 0700), 0);
    struct program sealed = second(p, "sealed/own.db", true);
    assert_int_equal(chmod(sealed.library, 0400), 0);
    assert_int_equal(chmod(folder, 0500), 0);
    sealed.permissions_hold = true;
    program_run(&sealed, WORDS("import", other.library, "--plan"));
    if (sealed.outcome == PROGRAM_STAYS_ROOT)
        skip();
    must_say(&sealed, "Would come in: 1 material");
    program_does(&sealed, WORDS("import", text, "--dry-run"));
    must_say(&sealed, "1 formula, 1 line");
    program_does(&sealed, WORDS("import", table, "--dry-run"));
    must_say(&sealed, "1 added");
    program_refuses(&sealed, "open for reading only", WORDS("import", table));
    program_refuses(&sealed, "open for reading only", WORDS("import", other.library));
    assert_int_equal(chmod(folder, 0700), 0);
    assert_int_equal(unlink(sealed.library), 0);
    assert_int_equal(rmdir(folder), 0); /* nothing was left beside it */

    struct program none = second(p, "none/own.db", false);
    program_does(&none, WORDS("import", text, "--dry-run"));
    assert_int_not_equal(access(none.library, F_OK), 0);
    program_does(p, WORDS("import", other.library, "--dry-run"));
    program_asks(p, WORDS("material", "list", "Eta of"));
    assert_int_equal(program_count(p, "$.materials"), 0);
    free(folder);
    free(text);
    free(table);
    forget(&none);
    forget(&sealed);
    forget(&other);
}

static void all_of_it_is_here(void **state)
{
    struct program *p = *state;
    heart(p);
    struct program other = second(p, "other.db", true);
    program_does(p, WORDS("material", "add", "Eta of the attic"));
    program_refuses(p, "All of that library is here already.", WORDS("import", other.library));
    program_refuses(&other, "Nothing is chosen that could come in.",
                    WORDS("import", p->library, "--skip", "materials"));
    forget(&other);
}

/* The document of "export --all" does as well as the file. */
static void a_document(void **state)
{
    struct program *p = *state;
    heart(p);
    struct program other = second(p, "other.db", true);
    program_does(&other, WORDS("material", "add", "Eta of the attic"));
    program_does(&other, WORDS("add", "Heart", "Eta of the attic", "10"));
    program_does(&other, WORDS("export", "--all"));
    char *path = program_path(p, "all.json");
    FILE *file = fopen(path, "wb");
    assert_int_equal(fwrite(other.out, 1, other.out_length, file), other.out_length);
    fclose(file);
    program_does(p, WORDS("import", path));
    must_say(p, "1 formula, 1 material");
    same_trial(p, "Heart", &other, "Heart");
    program_does(p, WORDS("verify"));
    free(path);
    forget(&other);
}

#define PROGRAM(test) cmocka_unit_test_setup_teardown(test, program_set_up, program_tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PROGRAM(what_went_on_elsewhere_goes_on_here),
        PROGRAM(what_came_in_is_known_again),
        PROGRAM(both_went_on),
        PROGRAM(back_and_forth),
        PROGRAM(a_colleagues),
        PROGRAM(what_cannot_come_in),
        PROGRAM(the_other_file_is_named),
        PROGRAM(the_other_file_is_only_read),
        PROGRAM(a_plan_writes_nothing),
        PROGRAM(all_of_it_is_here),
        PROGRAM(a_document),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
