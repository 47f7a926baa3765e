/* SPDX-License-Identifier: MIT */
/*
 * What must not work: refusals leave the library as it was, byte for byte, and say one sentence;
 * wrong usage; hostile names; answers that cannot be written; files that are no library, or one
 * that is held by somebody else.
 */
#include "program.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

/* "Heart": 600 Alpha, 400 Beta held. */
static void make_small(struct program *p)
{
    program_fill_shelf(p);
    program_does(p, WORDS("new", "Heart"));
    program_does(p, WORDS("add", "Heart", "Alpha", "600"));
    program_does(p, WORDS("add", "Heart", "Beta", "400", "--held"));
}

static void refusals_say_what_would_work(void **state)
{
    struct program *p = *state;

    make_small(p);
    program_refuses(p, "1000", WORDS("set", "Heart", "Beta", "1001"));
    program_refuses(p, "600", WORDS("add", "Heart", "Gamma", "700"));
    program_refuses(p, "did you mean \"Alpha\"?", WORDS("add", "Heart", "Alpa", "5"));
    program_refuses(p, "did you mean \"Alpha\"?", WORDS("set", "Heart", "Alpa", "5"));
    program_refuses(p, "did you mean \"Heart\"?", WORDS("show", "Haart"));
    program_refuses(p, "has no line", WORDS("drop", "Heart", "Gamma"));
    program_refuses(p, "by its number it is #1.", WORDS("drop", "Heart", "1"));
    program_refuses(p, "#3", WORDS("drop", "Heart", "#3"));
    program_refuses(p, "has no trial 3", WORDS("show", "Heart/3"));
    program_refuses(p, "names no trial", WORDS("show", "Heart/x"));
    program_refuses(p, "Nothing to redo", WORDS("redo", "Heart"));
    program_refuses(p, "solvent", WORDS("add", "Heart", "Gamma", "5", "--at", "10%"));
    program_refuses(p, "not a solvent",
                    WORDS("add", "Heart", "Gamma", "5", "--at", "10%", "--in", "Alpha"));
    program_refuses(p, "already", WORDS("new", "heart"));
    program_refuses(p, "Alpha", WORDS("material", "add", "ALPHA"));
    program_does(p, WORDS("keep", "Heart"));
    program_refuses(p, "1", WORDS("keep", "Heart")); /* nothing has changed since */
    program_refuses(p, "no trial 2", WORDS("compare", "Heart/1", "Heart/2"));
    program_does(p, WORDS("add", "Heart", "Alpha", "5", "--at", "10%", "--in", "Carrier"));
    program_refuses(p, "#1 Alpha, #3 Alpha at 10 %", WORDS("set", "Heart", "Alpha", "5"));
    program_does(p, WORDS("set", "Heart", "#3", "6"));
}

static void amounts_are_checked(void **state)
{
    static const struct {
        const char *amount, *why;
    } wrong[] = {
        {"-1", "less than nothing"},
        {"abc", "at \"abc\""},
        {"", "missing"},
        {"1e3", "at \"e3\""},
        {"1,234.5", "two ways"},
        {"12 5", "at \"5\""},
        {"nan", "at \"nan\""},
        {"0x10", "at \"x10\""},
        {"1/0", "zero"},
        {"10000000", "more than a million"},
        {"1000000.001", "more than a million"},
        {"((((1)", "not closed"},
        {"5%%", "at \"%\""},
        {"1..2", "one decimal sign"},
        {"--1", "at \"-1\""},
        {"inf", "at \"inf\""},
        {"*", "a number should follow"},
        {"99999999999999999999999999999999999999999999999999", "more digits"},
    };
    static const struct {
        const char *strength, *why;
    } strengths[] = {
        {"0", "above 0"}, {"101%", "more than 100"}, {"-5%", "below zero"},
        {"x", "\"x\""},   {"10%%", "at \"%%\""},     {"0.00000001%", "seven of a percent"},
    };
    static const struct {
        const char *base, *why, *why_new;
    } bases[] = {
        {"0", "at most 1000000", "0.000001 and 1000000"},
        {"-1", "below zero", "below zero"},
        {"x", "\"x\"", "\"x\""},
        {"1000001", "at most 1000000", "0.000001 and 1000000"},
        {"0.0000001", "at most 6", "at most 6"},
    };
    struct program *p = *state;

    make_small(p);
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++)
        program_refuses(p, wrong[i].why, WORDS("add", "Heart", "--", "Gamma", wrong[i].amount));
    for (size_t i = 0; i < sizeof strengths / sizeof *strengths; i++)
        program_refuses(
            p, strengths[i].why,
            WORDS("add", "Heart", "Gamma", "5", "--at", strengths[i].strength, "--in", "Carrier"));
    for (size_t i = 0; i < sizeof bases / sizeof *bases; i++) {
        program_refuses(p, bases[i].why, WORDS("base", "Heart", bases[i].base));
        program_refuses(p, bases[i].why_new, WORDS("new", "Other", "--base", bases[i].base));
    }
    program_refuses(p, "ratio", WORDS("core", "Heart", "Alpha", "Beta", "--ratio", "4:0"));
    program_refuses(p, "CAS", WORDS("material", "add", "Zeta", "--cas", "50-00-1"));
}

static void wrong_usage(void **state)
{
    struct program *p = *state;

    make_small(p);
    program_misused(p, "Something is missing", WORDS("add", "Heart", "Gamma"));
    program_misused(p, "too much", WORDS("settle", "Heart", "now"));
    program_misused(p, "did you mean 'undo'?", WORDS("udno", "Heart"));
    program_misused(p, "share, carrier, open", WORDS("mode", "Heart", "shared"));
    program_misused(p, "free, held, carrier", WORDS("stance", "Heart", "Alpha", "fixed"));
    program_misused(p, "--mode", WORDS("new", "Other", "--mode", "x"));
    program_misused(p, "--at", WORDS("add", "Heart", "Gamma", "5", "--in", "Carrier"));
    program_misused(p, "two lines", WORDS("core", "Heart", "Alpha"));
    program_misused(p, "3 numbers for 2 lines",
                    WORDS("core", "Heart", "Alpha", "Beta", "--ratio", "3:2:1"));
    program_misused(p, "one line", WORDS("core", "Heart", "Alpha", "Beta", "--break"));
    program_misused(p, "kept trial", WORDS("branch", "Heart"));
    program_misused(p, "steps", WORDS("nudge", "Heart", "Alpha", "some"));
    program_misused(p, "on or off", WORDS("accord", "Heart", "maybe"));
    program_misused(p, "no CSV form", WORDS("add", "Heart", "Gamma", "5", "--csv"));
    program_misused(p, "What is to be changed?", WORDS("material", "edit", "Alpha"));
}

/* ---- names ---- */

/* Text must not steer the terminal: nothing below a blank but line ends, no escape. */
static void shown_safely(const char *text)
{
    for (; *text != '\0'; text++)
        assert_true((unsigned char)*text >= ' ' || *text == '\n');
}

static void odd_names_are_kept_as_they_are(void **state)
{
    static const char *const names[] = {
        "\"; DROP TABLE formula; --",
        "$(rm -rf ~) `x` %s %n \\",
        "--json",
        "'",
        "\u9999\u6728 100%",
        "Re\u0301sine d\u2019or",
        "a\\\"b",

        "*",
    };
    struct program *p = *state;

    make_small(p);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        program_does(p, WORDS("new", "--", names[i]));
        program_does(p, WORDS("material", "add", "--note", names[i], "--", names[i]));
        program_does(p, WORDS("add", "--", "Heart", names[i], "0.5"));
        shown_safely(p->err);
    }
    program_does(p, WORDS("show", "--", "\"; DROP TABLE formula; --"));
    program_asks(p, WORDS("show", "Heart"));
    program_says(p, "$.lines[2].material", "\"\\\"; DROP TABLE formula; --\"");
    program_does(p, WORDS("show", "Heart"));
    shown_safely(p->out);
    assert_non_null(strstr(p->out, "\u9999\u6728 100%"));
    program_does(p, WORDS("verify"));
}

static void hostile_names_are_refused(void **state)
{
    static const struct {
        const char *name, *why;
    } names[] = {
        {"a\x1b[2Jb", "U+001B"},  {"a\nb", "U+000A"},     {"\u202Eevil", "turns the direction"},
        {"bad\xff", "not UTF-8"}, {"\xc3(", "not UTF-8"}, {"\u200B\u200B", "cannot be shown"},
        {"a\tb", "U+0009"},
    };
    static const char *const empty[] = {"", "   "};
    struct program *p = *state;
    char *endless = pm_alloc(10001);

    assert_non_null(endless);
    memset(endless, 'x', 10000);
    endless[10000] = '\0';
    make_small(p);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        const char *name = names[i].name, *why = names[i].why;
        program_refuses(p, why, WORDS("new", name));
        shown_safely(p->err);
        program_refuses(p, why, WORDS("material", "add", name));
        program_refuses(p, why, WORDS("rename", "Heart", name));
        program_refuses(p, why, WORDS("fold", "Heart", name, "Alpha", "Beta"));
        shown_safely(p->err);
    }
    for (size_t i = 0; i < sizeof empty / sizeof *empty; i++) {
        program_refuses(p, "name is empty", WORDS("new", empty[i]));
        program_refuses(p, "name is needed", WORDS("material", "add", empty[i]));
        program_refuses(p, "name is empty", WORDS("rename", "Heart", empty[i]));
        program_refuses(p, "name is empty", WORDS("fold", "Heart", empty[i], "Alpha", "Beta"));
    }
    program_refuses(p, "200", WORDS("new", endless));
    program_run(p, WORDS("show", endless));
    assert_int_equal(p->outcome, 1);
    assert_true(strlen(p->err) < 600);
    program_run(p, WORDS("set", "Heart", "Alpha", endless));
    assert_int_equal(p->outcome, 1);
    assert_true(strlen(p->err) < 600);
    program_refuses(p, "control", WORDS("comment", "Heart", "Alpha", "a\x1b[2Jb"));
    program_refuses(p, "\"/\"", WORDS("new", "a/b"));
    program_refuses(p, "\"#\"", WORDS("new", "#1"));
    pm_free(endless);
}

/* A name may be long and wide; the reason and the number that works still stand in the sentence. */
static void long_names_leave_room_for_the_reason(void **state)
{
    struct program *p = *state;
    char name[3 * 200 + 1];

    for (size_t i = 0; i < 200; i++)
        memcpy(name + 3 * i, "\u9999", 3);
    name[sizeof name - 1] = '\0';
    program_does(p, WORDS("material", "add", name));
    program_does(p, WORDS("new", "Long"));
    program_does(p, WORDS("add", "Long", name, "10"));
    program_refuses(p, "\u2026: the base is 1000; the most this line can take is 1000.",
                    WORDS("set", "Long", "#1", "1001"));
}

static void write_file(const char *path, const char *content)
{
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_true(fputs(content, file) >= 0);
    assert_int_equal(fclose(file), 0);
}

/* What is refused, or only tried, leaves no new library. */
static void refused_first_steps_leave_no_library(void **state)
{
    struct program *p = *state;
    char *formula = program_path(p, "heart.txt"), *cut = program_path(p, "cut.json");
    char *table = program_path(p, "table.csv");

    write_file(formula, "Heart\nAlpha 600\nBeta 400\n");
    write_file(cut, "{\"permille\": 1, \"formulas\": [");
    write_file(table, "name,kind\r\nZeta,chemical\r\nEta,stone\r\n");

    program_refuses(p, "empty", WORDS("new", " "));
    program_refuses(p, "base", WORDS("new", "Heart", "--base", "0"));
    program_refuses(p, "base", WORDS("new", "Heart", "--base", "1000001"));
    program_refuses(p, "needed", WORDS("material", "add", ""));
    program_refuses(p, "check digit", WORDS("material", "add", "Alpha", "--cas", "106-22-8"));
    program_refuses(p, "control",
                    WORDS("material", "add", "Alpha", "--synonym",
                          "a\x1b"
                          "b"));
    program_refuses(p, "column 29: this is not JSON", WORDS("import", cut));
    program_refuses(p, "kind", WORDS("import", table));
    assert_int_equal(access(p->library, F_OK), -1);
    program_does(p, WORDS("import", formula, "--dry-run"));
    assert_int_equal(access(p->library, F_OK), -1);
    program_does(p, WORDS("import", formula));
    program_refuses(p, "column 29: this is not JSON", WORDS("import", cut));
    assert_int_equal(access(p->library, F_OK), 0);
    free(formula);
    free(cut);
    free(table);
}

/* ---- answers that cannot be written ---- */

static void answers_that_are_lost_are_told(void **state)
{
    struct program *p = *state;

    make_small(p);
    program_run_into(p, PROGRAM_OUTPUT_FULL, WORDS("show", "Heart"));
    assert_int_equal(p->outcome, 1);
    assert_non_null(strstr(p->err, "could not be written"));
    program_run_into(p, PROGRAM_OUTPUT_CLOSED, WORDS("show", "Heart", "--json"));
    assert_int_equal(p->outcome, 1);
    assert_non_null(strstr(p->err, "could not be written"));
    /* What was changed is not refused: who reads 1 may try again, and would book twice. */
    program_does(p, WORDS("bottle", "add", "Alpha", "50g"));
    program_run_into(p, PROGRAM_OUTPUT_FULL, WORDS("bottle", "pour", "B001", "1g", "--json"));
    assert_int_equal(p->outcome, 3);
    assert_non_null(strstr(p->err, "Done, but the answer could not be given"));
    program_run_into(p, PROGRAM_OUTPUT_CLOSED, WORDS("bottle", "pour", "B001", "1g", "--json"));
    assert_int_equal(p->outcome, 3);
    program_asks(p, WORDS("bottle", "show", "B001"));
    program_says(p, "$.left_g", "48");
    program_run_into(p, PROGRAM_OUTPUT_FULL,
                     WORDS("stance", "Heart", "Beta", "free", "--try", "--json"));
    assert_int_equal(p->outcome, 1);
    /* What answers nothing needs no standard output; and nothing is written into the library. */
    program_run_into(p, PROGRAM_OUTPUT_CLOSED, WORDS("set", "Heart", "Alpha", "590"));
    assert_int_equal(p->outcome, 1); /* held Beta leaves Alpha no other value */
    program_run_into(p, PROGRAM_OUTPUT_CLOSED, WORDS("stance", "Heart", "Beta", "free"));
    assert_int_equal(p->outcome, 0);
    program_does(p, WORDS("verify"));
}

/* ---- files ---- */

static sqlite3 *open_raw(const char *path)
{
    sqlite3 *db;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    return db;
}

static void run_sql(sqlite3 *db, const char *sql)
{
    assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
}

static void nothing_there(void **state)
{
    struct program *p = *state;

    program_refuses(p, "There is no library", WORDS("formulas"));
    assert_int_not_equal(access(p->library, F_OK), 0);
    program_refuses(p, "There is no library", WORDS("add", "Heart", "Alpha", "5"));
    assert_int_not_equal(access(p->library, F_OK), 0);
}

static void a_folder_is_no_library(void **state)
{
    struct program *p = *state;

    assert_int_equal(mkdir(p->library, 0700), 0);
    program_refuses(p, "folder", WORDS("new", "Heart"));
    program_refuses(p, "folder", WORDS("formulas"));
}

static void other_peoples_files_stay(void **state)
{
    struct program *p = *state;

    write_file(p->library, "Dear diary, this is no database, and it is longer than its header "
                           "would have to be, by far.\n");
    program_refuses(p, "not a library", WORDS("new", "Heart"));
    unlink(p->library);
    sqlite3 *db = open_raw(p->library);
    run_sql(db, "PRAGMA application_id = 1; CREATE TABLE letter (text);");
    sqlite3_close(db);
    program_refuses(p, "not a library", WORDS("new", "Heart"));
    program_refuses(p, "not a library", WORDS("verify"));
}

static void newer_libraries_stay(void **state)
{
    struct program *p = *state;

    make_small(p);
    sqlite3 *db = open_raw(p->library);
    run_sql(db, "PRAGMA user_version = 4711;");
    sqlite3_close(db);
    program_refuses(p, "newer", WORDS("new", "Other"));
    program_refuses(p, "newer", WORDS("show", "Heart"));
}

/* A process that holds the library's write lock until it is told to go: the test itself would lose
 * it (POSIX locks end with any close of the file by their process). */
struct holder {
    pid_t child;
    int tell; /* closing it ends the child */
};

static void hold(struct holder *holder, const char *path)
{
    int ready[2], go[2];
    char byte;

    assert_int_equal(pipe(ready), 0);
    assert_int_equal(pipe(go), 0);
    holder->child = fork();
    assert_true(holder->child >= 0);
    if (holder->child == 0) {
        sqlite3 *db;
        close(go[1]);
        if (sqlite3_open(path, &db) == SQLITE_OK &&
            sqlite3_exec(db, "BEGIN IMMEDIATE", NULL, NULL, NULL) == SQLITE_OK &&
            write(ready[1], "x", 1) == 1)
            (void)!read(go[0], &byte, 1);
        _exit(0);
    }
    close(ready[1]);
    close(go[0]);
    assert_int_equal(read(ready[0], &byte, 1), 1);
    close(ready[0]);
    holder->tell = go[1];
}

static void let_go(struct holder *holder)
{
    close(holder->tell);
    assert_int_equal(waitpid(holder->child, NULL, 0), holder->child);
}

static void a_library_in_use_is_not_written(void **state)
{
    struct program *p = *state;
    struct holder holder;

    make_small(p);
    hold(&holder, p->library);
    program_does(p, WORDS("show", "Heart"));
    program_refuses(p, "Another program is using the library",
                    WORDS("set", "Heart", "Beta", "300"));
    let_go(&holder);
    program_does(p, WORDS("set", "Heart", "Beta", "300"));
}

static void read_only_libraries_are_read(void **state)
{
    struct program *p = *state;

    make_small(p);
    assert_int_equal(chmod(p->library, 0400), 0);
    p->permissions_hold = true;
    program_run(p, WORDS("show", "Heart"));
    if (p->outcome == PROGRAM_STAYS_ROOT)
        skip();
    assert_int_equal(p->outcome, 0);
    program_refuses(p, "open for reading only", WORDS("set", "Heart", "Beta", "300"));
    program_does(p, WORDS("verify"));
}

static void copies_and_checks(void **state)
{
    struct program *p = *state;

    make_small(p);
    char *copy = program_path(p, "copy.db"), *saved = program_path(p, "saved.db");
    program_does(p, WORDS("backup", copy));
    program_refuses(p, "exists already", WORDS("backup", copy));
    program_does(p, WORDS("backup", copy, "--replace"));
    program_asks(p, WORDS("verify"));
    program_says(p, "$.sound", "true");
    program_asks(p, WORDS("salvage", saved));
    program_says(p, "$.complete", "true");
    program_refuses(p, "exists already", WORDS("salvage", saved));
    pm_free(p->library);
    p->library = saved;
    program_asks(p, WORDS("show", "Heart"));
    program_says(p, "$.lines[1].stance", "\"held\"");
    pm_free(copy);
}

/* Content changed behind the program's back is found, and the exit status says so. */
static void damage_is_found(void **state)
{
    struct program *p = *state;

    make_small(p);
    program_does(p, WORDS("keep", "Heart"));
    sqlite3 *db = open_raw(p->library);
    sqlite3_stmt *triggers;
    struct pm_text drops = PM_TEXT_EMPTY;
    assert_int_equal(sqlite3_prepare_v2(db, "SELECT name FROM sqlite_schema WHERE type = 'trigger'",
                                        -1, &triggers, NULL),
                     SQLITE_OK);
    while (sqlite3_step(triggers) == SQLITE_ROW)
        pm_text_addf(&drops, "DROP TRIGGER \"%s\";",
                     (const char *)sqlite3_column_text(triggers, 0));
    sqlite3_finalize(triggers);
    run_sql(db, pm_text_get(&drops));
    run_sql(db, "UPDATE line SET parts = parts + 1000000;");
    pm_text_release(&drops);
    sqlite3_close(db);
    program_run(p, WORDS("verify"));
    assert_int_equal(p->outcome, 1);
    assert_true(strlen(p->out) > 0);
    program_run(p, WORDS("verify", "--json"));
    assert_int_equal(p->outcome, 1);
    program_says(p, "$.sound", "false");
    assert_true(program_count(p, "$.findings") > 0);
}

/* A library of a small formula after a stranger's SQL. */
static void make_ruined(struct program *p, const char *sql)
{
    sqlite3 *db = open_raw(p->library);
    run_sql(db, sql);
    sqlite3_close(db);
}

/* How often a piece of text is in what was answered. */
static size_t times_in(const char *text, const char *piece)
{
    size_t times = 0;
    for (const char *at = text; (at = strstr(at, piece)) != NULL; at += strlen(piece))
        times++;
    return times;
}

/* The missing table is named first and once, though every trial misses it, and no row is told to
 * refer to what is known to be missing; what helps is said. */
static void a_missing_table_is_named(void **state)
{
    struct program *p = *state;
    make_small(p);
    program_does(p, WORDS("keep", "Heart"));
    make_ruined(p, "PRAGMA foreign_keys = OFF; DROP TABLE line");
    program_run(p, WORDS("verify"));
    assert_int_equal(p->outcome, 1);
    assert_int_equal(strncmp(p->out, "The table line is missing.\n", 27), 0);
    assert_int_equal(times_in(p->out, "while reading the lines of a trial"), 1);
    assert_non_null(strstr(p->err, "permille salvage"));
    make_ruined(p, "PRAGMA foreign_keys = OFF; DROP TABLE trial");
    program_run(p, WORDS("verify"));
    assert_non_null(strstr(p->out, "The table trial is missing."));
    assert_int_equal(times_in(p->out, "that does not exist"), 0);
}

/* Where no table can be read any more, verify does not send to verify. */
static void a_ruined_list_of_tables_is_told(void **state)
{
    struct program *p = *state;
    make_small(p);
    make_ruined(p,
                "PRAGMA writable_schema = ON; UPDATE sqlite_schema SET sql = 'CREATE TABLE line(' "
                "WHERE name = 'line'");
    program_refuses(p, "list of tables is damaged", WORDS("verify"));
    assert_non_null(strstr(p->err, "(line)"));
    assert_non_null(strstr(p->err, "\"salvage\" helps"));
    assert_null(strstr(p->err, "\"verify\""));
    char *saved = program_path(p, "saved.db");
    program_does(p, WORDS("salvage", saved));
    pm_free(p->library);
    p->library = saved;
    program_asks(p, WORDS("show", "Heart"));
    program_says(p, "$.lines[1].stance", "\"held\"");
}

/* A row that refers to nothing is named by its number and by the table it misses. */
static void a_row_that_refers_to_nothing_is_named(void **state)
{
    struct program *p = *state;
    make_small(p);
    make_ruined(p, "PRAGMA foreign_keys = OFF; INSERT INTO made_up VALUES (5, 77, 0, 0)");
    program_run(p, WORDS("verify"));
    assert_int_equal(p->outcome, 1);
    assert_non_null(strstr(
        p->out, "Row 5 of table made_up refers to a row of table material that does not exist."));
}

/* Where files may not grow (ulimit -f), writing is refused in words; the process is not killed. The
 * journal meets the limit, or the file itself while the change is saved. */
static void a_limit_on_files_is_told(void **state)
{
    struct program *p = *state;
    struct rlimit limit, old;
    make_small(p);
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &old), 0);
    limit = old;
    for (rlim_t size = 2048; size <= 200 * 1024; size *= 80) {
        limit.rlim_cur = size; /* less than one page of the library, enough for a sentence; or less
                                  than the library */
        assert_int_equal(setrlimit(RLIMIT_FSIZE, &limit), 0);
        program_run(p, WORDS("new", "Sole"));
        assert_int_equal(setrlimit(RLIMIT_FSIZE, &old), 0);
        assert_int_equal(p->outcome, 1);
        if (strstr(p->err, "a limit on their size is set") == NULL)
            fail_msg("with %llu bytes it said: %s", (unsigned long long)size, p->err);
    }
    program_does(p, WORDS("new", "Sole"));
}

int main(void)
{
#define job(test) cmocka_unit_test_setup_teardown(test, program_set_up, program_tear_down)
    const struct CMUnitTest tests[] = {
        job(refusals_say_what_would_work),
        job(amounts_are_checked),
        job(wrong_usage),
        job(odd_names_are_kept_as_they_are),
        job(hostile_names_are_refused),
        job(long_names_leave_room_for_the_reason),
        job(refused_first_steps_leave_no_library),
        job(answers_that_are_lost_are_told),
        job(nothing_there),
        job(a_folder_is_no_library),
        job(other_peoples_files_stay),
        job(newer_libraries_stay),
        job(a_library_in_use_is_not_written),
        job(read_only_libraries_are_read),
        job(a_limit_on_files_is_told),
        job(copies_and_checks),
        job(damage_is_found),
        job(a_missing_table_is_named),
        job(a_ruined_list_of_tables_is_told),
        job(a_row_that_refers_to_nothing_is_named),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
