/* SPDX-License-Identifier: MIT */
/* Settings by command: where they are kept, that they count, and that nothing else is touched. */
#include "program.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

/* The machine's settings of each test lie in its own folder. */
static int set_up(void **state)
{
    if (program_set_up(state) != 0)
        return -1;
    struct program *p = *state;
    return setenv("XDG_CONFIG_HOME", p->folder, 1);
}

static char *machine_file(struct program *p)
{
    return program_path(p, "permille/settings");
}

static void write_machine(struct program *p, const char *text)
{
    char *folder = program_path(p, "permille"), *path = machine_file(p);
    mkdir(folder, 0700);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fputs(text, file);
    assert_int_equal(fclose(file), 0);
    free(folder);
    free(path);
}

static void machine_holds(struct program *p, const char *expected)
{
    char *path = machine_file(p), text[400] = "";
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    text[fread(text, 1, sizeof text - 1, file)] = '\0';
    fclose(file);
    free(path);
    assert_string_equal(text, expected);
}

static void new_formulas_follow(void **state)
{
    struct program *p = *state;
    program_does(p, WORDS("new", "Before"));
    program_does(p, WORDS("settings", "set", "base", "100"));
    program_does(p, WORDS("settings", "set", "mode", "Share"));
    program_does(p, WORDS("new", "After"));
    program_does(p, WORDS("new", "Otherwise", "--base", "10", "--mode", "open"));
    program_asks(p, WORDS("show", "Before"));
    program_says(p, "$.base_parts", "1000");
    program_says(p, "$.mode", "\"core\"");
    program_asks(p, WORDS("show", "After"));
    program_says(p, "$.base_parts", "100");
    program_says(p, "$.mode", "\"share\"");
    program_asks(p, WORDS("show", "Otherwise"));
    program_says(p, "$.base_parts", "10");
    program_says(p, "$.mode", "\"open\"");
    program_does(p, WORDS("settings", "unset", "base"));
    program_does(p, WORDS("new", "Again"));
    program_asks(p, WORDS("show", "Again"));
    program_says(p, "$.base_parts", "1000");
}

static void work_goes_with_the_library(void **state)
{
    struct program *p = *state;
    program_does(p, WORDS("settings", "set", "currency", "chf"));
    program_does(p, WORDS("settings", "set", "theme", "light"));
    program_asks(p, WORDS("settings", "show", "currency"));
    program_says(p, "$.value", "\"CHF\"");
    program_says(p, "$.set", "true");
    program_says(p, "$.kept", "\"library\"");
    machine_holds(p, "theme light\n");
    /* Another library: the work's setting is not there, the machine's is. */
    free(p->library);
    p->library = program_path(p, "other.db");
    program_asks(p, WORDS("settings", "show", "currency"));
    program_says(p, "$.value", "null");
    program_asks(p, WORDS("settings", "show", "theme"));
    program_says(p, "$.value", "\"light\"");
    assert_int_not_equal(access(p->library, F_OK), 0); /* asking makes no library */
}

static void the_file_keeps_what_is_not_ours(void **state)
{
    struct program *p = *state;
    write_machine(p, "# mine\nlinear no\n  theme   dark\nunknown thing\ntheme light");
    program_does(p, WORDS("settings", "set", "theme", "monochrome"));
    machine_holds(p, "# mine\nlinear no\ntheme monochrome\nunknown thing\n");
    program_does(p, WORDS("settings", "list"));
    assert_non_null(strstr(p->err, "Line 4 of the settings is not understood"));
    program_does(p, WORDS("settings", "unset", "theme"));
    machine_holds(p, "# mine\nlinear no\nunknown thing\n");
    write_machine(p, "theme purple\n");
    program_asks(p, WORDS("settings", "show", "theme"));
    program_says(p, "$.value", "\"both\"");
    assert_non_null(strstr(p->out, "purple"));
}

/* Also who may read it: people keep such files with others of theirs. */
static void the_file_keeps_its_mode(void **state)
{
    struct program *p = *state;
    struct stat seen;
    char *path = machine_file(p);
    write_machine(p, "theme dark\n");
    assert_int_equal(chmod(path, 0640), 0);
    program_does(p, WORDS("settings", "set", "theme", "light"));
    machine_holds(p, "theme light\n");
    assert_int_equal(stat(path, &seen), 0);
    assert_int_equal(seen.st_mode & 07777, 0640);
    free(path);
}

static void a_balance_by_its_name(void **state)
{
    struct program *p = *state;
    program_does(p, WORDS("new", "F"));
    program_does(p, WORDS("balance", "add", "Coarse", "0.1g"));
    program_does(p, WORDS("balance", "add", "Fine", "0.001g"));
    program_refuses(p, "no balance", WORDS("settings", "set", "balance", "Finer"));
    program_does(p, WORDS("settings", "set", "balance", "fine"));
    program_asks(p, WORDS("balance", "list"));
    program_says(p, "$.balances[1].in_use", "true");
    program_does(p, WORDS("settings", "unset", "balance"));
    program_asks(p, WORDS("balance", "list"));
    program_says(p, "$.balances[0].in_use", "false");
    program_says(p, "$.balances[1].in_use", "false");
}

static void times_are_the_schedule(void **state)
{
    struct program *p = *state;
    program_does(p, WORDS("new", "F"));
    program_does(p, WORDS("schedule", "0, 10min, 2h"));
    program_asks(p, WORDS("settings", "show", "smell-times"));
    program_says(p, "$.value", "\"0, 10 min, 2 h\"");
    program_does(p, WORDS("schedule", ""));
    program_asks(p, WORDS("settings", "show", "smell_times"));
    program_says(p, "$.set", "false");
}

static void parts_show_as_many_decimals(void **state)
{
    struct program *p = *state;
    program_fill_shelf(p);
    program_does(p, WORDS("new", "F"));
    program_does(p, WORDS("add", "F", "Alpha", "600"));
    program_does(p, WORDS("show", "F"));
    assert_non_null(strstr(p->out, "600.00"));
    assert_null(strstr(p->out, "600.000"));
    program_does(p, WORDS("settings", "set", "decimals", "4"));
    program_does(p, WORDS("show", "F"));
    assert_non_null(strstr(p->out, "600.0000"));
    program_does(p, WORDS("show", "F", "--flat"));
    assert_non_null(strstr(p->out, "600.0000"));
}

static void what_cannot_be_is_said(void **state)
{
    struct program *p = *state;
    program_does(p, WORDS("new", "F"));
    program_misused(p, "did you mean 'currency'", WORDS("settings", "set", "curency", "EUR"));
    program_misused(p, "settings list", WORDS("settings", "show", "colour of hair"));
    program_refuses(p, "core, share, carrier or open", WORDS("settings", "set", "mode", "all"));
    program_refuses(p, "ISO 4217", WORDS("settings", "set", "currency", "XYZ"));
    program_refuses(p, "above 0", WORDS("settings", "set", "base", "0"));
    program_refuses(p, "1 to 6", WORDS("settings", "set", "decimals", "7"));
    program_refuses(p, "1 to 6", WORDS("settings", "set", "decimals", "0"));
    program_refuses(p, "weighs something", WORDS("settings", "set", "batch", "0g"));
    /* The folder cannot be made: nothing is done, and that is said. */
    setenv("XDG_CONFIG_HOME", "/dev/null", 1);
    program_refuses(p, "cannot be", WORDS("settings", "set", "theme", "dark"));
}

/* What the editor does with K, by command: refused where it clashes, kept in the key file. */
static void keys_of_ones_own(void **state)
{
    struct program *p = *state;
    char *path = program_path(p, "permille/keys"), text[200] = "";
    program_does(p, WORDS("keys", "list", "settle"));
    assert_non_null(strstr(p->out, "settle total"));
    assert_non_null(strstr(p->out, " l "));
    program_refuses(p, "a already means \"tuck in\" (Lines).", WORDS("keys", "set", "search", "a"));
    program_refuses(p, "There is no action \"nosuch\".", WORDS("keys", "set", "nosuch", "x"));
    program_refuses(p, "\"hyper-f\" is no key", WORDS("keys", "set", "search", "hyper-f"));
    assert_int_not_equal(access(path, F_OK), 0);
    program_does(p, WORDS("keys", "set", "search", "Alt-s", "Alt-q"));
    program_does(p, WORDS("keys", "set", "settle", "none"));
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    text[fread(text, 1, sizeof text - 1, file)] = '\0';
    fclose(file);
    assert_string_equal(text, "search Alt-s Alt-q\nsettle none\n");
    program_does(p, WORDS("keys", "list", "search"));
    assert_non_null(strstr(p->out, "Alt-s, Alt-q"));
    assert_null(strstr(p->out, " /"));
    program_does(p, WORDS("keys", "unset", "search"));
    program_does(p, WORDS("keys", "list", "search"));
    assert_null(strstr(p->out, "Alt-s"));
    /* A file written by hand is told what is wrong with it. */
    file = fopen(path, "w");
    assert_non_null(file);
    fputs("search hyper\n", file);
    fclose(file);
    program_does(p, WORDS("keys", "list", "search"));
    assert_non_null(strstr(p->err, "Key file, line 1: \"hyper\" is no key"));
    free(path);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(new_formulas_follow, set_up, program_tear_down),
        cmocka_unit_test_setup_teardown(keys_of_ones_own, set_up, program_tear_down),
        cmocka_unit_test_setup_teardown(work_goes_with_the_library, set_up, program_tear_down),
        cmocka_unit_test_setup_teardown(the_file_keeps_what_is_not_ours, set_up, program_tear_down),
        cmocka_unit_test_setup_teardown(the_file_keeps_its_mode, set_up, program_tear_down),
        cmocka_unit_test_setup_teardown(a_balance_by_its_name, set_up, program_tear_down),
        cmocka_unit_test_setup_teardown(times_are_the_schedule, set_up, program_tear_down),
        cmocka_unit_test_setup_teardown(parts_show_as_many_decimals, set_up, program_tear_down),
        cmocka_unit_test_setup_teardown(what_cannot_be_is_said, set_up, program_tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
