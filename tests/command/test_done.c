/* SPDX-License-Identifier: MIT */
/* What an exit status promises whether the person gives up, the answer is lost or the file is
 * hostile. */
#include "promise.h"

#include "permille/base/utf8.h"

#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

/* Whenever it is asked: refused, with its sentence, and nothing changed. */
static void the_person_gives_up(void **state)
{
    (void)state;
    promise_put_back();
    const uint64_t before = promise_content();
    for (size_t i = 0; i < promise_command_count; i++) {
        promise_put_back();
        promise_arm(STOPPED, 1000000000);
        promise_does(promise_commands[i]);
        const long times = promise_disarm(STOPPED);
        assert_true(times > 0);
        for (long k = 1; k <= times; k = promise_next(k, times)) {
            promise_put_back();
            promise_arm(STOPPED, k);
            struct ran ran = promise_run(promise_commands[i], promise_nowhere());
            promise_disarm(STOPPED);
            promise_judge(promise_commands[i], "giving up", k, &ran, before);
            if (ran.status != 1 || strstr(ran.err, "Given up; nothing was changed") == NULL)
                fail_msg("%s %s, giving up %ld: ended with %d: %s", promise_commands[i][0],
                         promise_commands[i][1], k, ran.status, ran.err);
            free(ran.err);
        }
    }
}

/* A copy that is given up is not there, nor anything of it. */
static void no_half_a_copy(void **state)
{
    static const char *const ways[][PROMISE_WORDS] = {{"backup", "OUT"}, {"salvage", "OUT"}};
    char path[128], list[256];
    (void)state;
    world_path(&promise.world, "out.db", path);
    snprintf(list, sizeof list, "ls -A '%s' | grep -q out", promise.world.folder);
    promise_put_back();
    for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
        promise_arm(STOPPED, 1000000000);
        struct ran ran = promise_run(ways[i], promise_nowhere());
        const long times = promise_disarm(STOPPED);
        assert_int_equal(ran.status, 0);
        assert_int_equal(unlink(path), 0);
        free(ran.err);
        assert_true(times > 1);
        /* The last question comes when all is done but the name. */
        for (long k = 1; k <= times; k = promise_next(k, times)) {
            promise_arm(STOPPED, k);
            ran = promise_run(ways[i], promise_nowhere());
            promise_disarm(STOPPED);
            if (ran.status != 1 || strstr(ran.err, "Given up; nothing was changed") == NULL ||
                system(list) == 0)
                fail_msg("%s, giving up %ld of %ld: ended with %d: %s", ways[i][0], k, times,
                         ran.status, ran.err);
            free(ran.err);
        }
    }
}

/* How far it is stands on the terminal, and is gone when the command has ended. */
static void how_far_it_is(void **state)
{
    static const char *const words[] = {"verify", NULL};
    (void)state;
    promise_put_back();
    promise_terminal.there = true;
    struct ran ran = promise_run(words, promise_nowhere());
    assert_int_equal(ran.status, 0);
    assert_non_null(strstr(ran.err, "\rchecking the file (Ctrl-C gives it up)"));
    assert_non_null(strstr(ran.err, "\rchecking trials: 1 of "));
    const char *last = strrchr(ran.err, '\r');
    assert_string_equal(last, "\rThe library is sound.\n");
    free(ran.err);
    promise_terminal.there = false;
    ran = promise_run(words, promise_nowhere()); /* a file that collects errors gets none of it */
    assert_string_equal(ran.err, "The library is sound.\n");
    free(ran.err);
}

/* What stood on the line, and the "^C" that the terminal wrote behind it, is blanked before the
 * sentence. */
static void takes_the_line_away(const char *said, const char *sentence)
{
    if (sentence == said)
        return; /* nothing was shown by then */
    assert_int_equal(sentence[-1], '\r');
    const char *blanks = sentence - 1, *shown;
    while (blanks > said && blanks[-1] == ' ')
        blanks--;
    assert_int_equal(blanks[-1], '\r');
    for (shown = blanks - 1; shown > said && shown[-1] != '\r';)
        shown--;
    assert_int_equal((sentence - 1) - blanks, (blanks - 1) - shown + 2);
}

/* The signal itself: refused, nothing changed, and afterwards it is nobody's. */
static void ctrl_c(void **state)
{
    static const char *const words[] = {"import", "OTHER", NULL};
    struct sigaction after;
    (void)state;
    promise_put_back();
    const uint64_t before = promise_content();
    signal(SIGINT, SIG_DFL);
    promise_terminal.there = true;
    for (long k = 2; k < 40; k += 9) {
        promise_terminal.asked = 0;
        promise_terminal.interrupt_at = k;
        struct ran ran = promise_run(words, promise_nowhere());
        promise_judge(words, "Ctrl-C", k, &ran, before);
        assert_int_equal(ran.status, 1);
        const char *sentence = strstr(ran.err, "permille: Given up; nothing was changed.");
        assert_non_null(sentence);
        takes_the_line_away(ran.err, sentence);
        free(ran.err);
        assert_int_equal(sigaction(SIGINT, NULL, &after), 0);
        assert_true(after.sa_handler == SIG_DFL);
    }
    promise_terminal.there = false;
    promise_terminal.interrupt_at = 0;
}

/* Whoever was to read the answer has gone. */
static FILE *broken_pipe(void)
{
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    close(ends[0]);
    return fdopen(ends[1], "w");
}

static void answer_fails(const char *const *words, FILE *out, uint64_t before)
{
    promise_put_back();
    struct ran ran = promise_run(words, out);
    promise_judge(words, "answer", 0, &ran, before);
    const bool answers = (promise_command(words)->forms & PM_CLI_JSON) != 0;
    if (ran.status != (answers ? PM_CLI_UNANSWERED : PM_CLI_DONE))
        fail_msg("%s %s: ended with %d: %s", words[0], words[1], ran.status, ran.err);
    free(ran.err);
}

static void answers_fail(void **state)
{
    (void)state;
    promise_put_back();
    const uint64_t before = promise_content();
    for (size_t i = 0; i < promise_command_count; i++) {
        answer_fails(promise_commands[i], fopen("/dev/full", "w"), before);
        answer_fails(promise_commands[i], broken_pipe(), before);
    }
}

/* ---- a hostile file ---- */

/* Everything a file can hold of text: colours, a title, a bell, half a character, a C1 control. */
#define HOSTILE "x'411B5B324A1B5D303B7A07C3C29B41'"

static void make_hostile(void)
{
    static const char *const changes[] = {
        "UPDATE formula SET name = CAST(" HOSTILE " AS TEXT) || id",
        "UPDATE bottle SET lot = CAST(" HOSTILE " AS TEXT), supplier = CAST(" HOSTILE " AS TEXT)",
        "UPDATE material_name SET name = CAST(" HOSTILE " AS TEXT) || material || place",
        "UPDATE panel SET name = CAST(" HOSTILE " AS TEXT)",
        "UPDATE movement SET note = CAST(" HOSTILE " AS TEXT)",
        "UPDATE revision SET sentence = CAST(" HOSTILE " AS TEXT)",
        "UPDATE shelf_entry SET sentence = CAST(" HOSTILE " AS TEXT)",
        "UPDATE planned_batch SET note = CAST(" HOSTILE " AS TEXT)",
    };
    sqlite3 *db = NULL;
    assert_int_equal(SQLITE_OK, sqlite3_open(promise.world.path, &db));
    sqlite3_db_config(db, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, NULL);
    for (size_t i = 0; i < sizeof changes / sizeof changes[0]; i++)
        sqlite3_exec(db, changes[i], NULL, NULL, NULL); /* of a step without the table: nothing */
    assert_true(sqlite3_total_changes(db) > 20);
    sqlite3_close(db);
}

static void is_clean(const char *const *words, const char *what, const char *text)
{
    for (const unsigned char *at = (const unsigned char *)text; *at != '\0';) {
        uint32_t code;
        const size_t length = pm_utf8_decode((const char *)at, strlen((const char *)at), &code);
        const bool invalid = code == 0xFFFD && length == 1;
        const bool control =
            (code < 0x20 && code != '\n' && code != '\t' && !(code == '\r' && at[1] == '\n')) ||
            (code >= 0x7F && code < 0xA0);
        if (invalid || control)
            fail_msg("%s %s, %s: byte %02x in: %s", words[0], words[1], what, *at, text);
        at += length;
    }
}

/* Formulas and bottles are asked for by what cannot be hostile. */
static void nothing_in_the_file_steers_the_terminal(void **state)
{
    static const char *const asked[][PROMISE_WORDS] = {
        {"formulas"},
        {"session", "list"},
        {"panel", "list"},
        {"material", "list"},
        {"bottle", "list"},
        {"stock"},
        {"possible", "10g"},
        {"plan", "list"},
        {"shopping"},
        {"shelf", "history"},
        {"verify"},
        {"smells", "--due"},
        {"bottle", "show", "B001"},
        {"bottle", "pour", "B001", "1g"},
        {"shelf", "undo"},
        {"compare", "Heart/1", "Short/1"},
        {"show", "Heart"},
        {"trials", "Heart"},
        {"history", "Heart"},
        {"panel", "show", "Pair"},
        {"set", "Heart", "#1", "500"},
        {"keep", "Heart"},
        {"rename", "Heart", "Beat"},
    };
    (void)state;
    promise_put_back();
    make_hostile();
    for (size_t i = 0; i < sizeof asked / sizeof asked[0]; i++)
        for (int form = 0; form < 2; form++) {
            char *out;
            promise.as_text = form == 0;
            struct ran ran = promise_answer(asked[i], &out);
            promise.as_text = false;
            is_clean(asked[i], "answer", out);
            is_clean(asked[i], "standard error", ran.err);
            free(out);
            free(ran.err);
        }
}

/* A currency is three capital letters, or the file is damaged. */
static void a_currency_is_three_letters(void **state)
{
    static const char *const show[] = {"bottle", "show", "B001", NULL};
    sqlite3 *db = NULL;
    char *out;

    (void)state;
    promise_put_back();
    assert_int_equal(SQLITE_OK, sqlite3_open(promise.world.path, &db));
    sqlite3_exec(db,
                 "PRAGMA ignore_check_constraints = ON; "
                 "UPDATE bottle SET currency = char(27) || '[m' WHERE currency = 'EUR'",
                 NULL, NULL, NULL);
    assert_true(sqlite3_total_changes(db) > 0);
    sqlite3_close(db);
    struct ran ran = promise_answer(show, &out);
    assert_int_equal(ran.status, 1);
    assert_non_null(strstr(ran.err, "damaged"));
    free(out);
    free(ran.err);
}

static void every_command_that_changes_is_tried(void **state)
{
    (void)state;
    const struct pm_cli_command *command;
    for (size_t n = 0; (command = pm_cli_command_at(&pm_cli_all_topics, n)) != NULL; n++) {
        bool tried = false;
        for (size_t i = 0; i < promise_command_count; i++)
            tried = tried || promise_command(promise_commands[i]) == command;
        if (tried != command->changes)
            fail_msg("%s: %s", command->name,
                     tried ? "changes, but its row does not say so" : "has no row in promise.c");
    }
}

int main(void)
{
    cmocka_set_test_filter(getenv("PERMILLE_TEST")); /* NULL: all */
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_command_that_changes_is_tried),
        cmocka_unit_test(answers_fail),
        cmocka_unit_test(the_person_gives_up),
        cmocka_unit_test(no_half_a_copy),
        cmocka_unit_test(how_far_it_is),
        cmocka_unit_test(ctrl_c),
        cmocka_unit_test(nothing_in_the_file_steers_the_terminal),
        cmocka_unit_test(a_currency_is_three_letters),
    };
    return cmocka_run_group_tests(tests, promise_set_up, promise_tear_down);
}
