/* SPDX-License-Identifier: MIT */
/*
 * The walk in README.md is walked: in its ```console blocks a line that begins with "$ " is a
 * command as a reader types it, and what follows is what they see. All of them are run in their
 * order in one folder, on a fresh demo library, and what is shown is compared. A line "..." stands
 * for any lines: what depends on the day, or is too long to show. With PERMILLE_README=write (make
 * readme) what is shown is written anew, but for answers that hold such a line.
 *
 * The demo's bottles have days until which they are best, and what is weighed from them depends on
 * the day. So the program that is run is this one, which with PERMILLE_WALKS does what the real one
 * does, on a day of its own.
 */
#include "program.h"

#include "src/cli/parse.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

static char *read_all(const char *name)
{
    struct pm_text text = PM_TEXT_EMPTY;
    char piece[4096];
    FILE *file = fopen(name, "r");
    assert_non_null(file);
    for (size_t bytes; (bytes = fread(piece, 1, sizeof piece, file)) > 0;)
        pm_text_add_bytes(&text, piece, bytes);
    fclose(file);
    return pm_text_take(&text);
}

/* A fresh demo library in the folder. */
static void make_demo(const char *folder)
{
    const char *program = getenv("PERMILLE_PROGRAM");
    char command[2048];
    assert_non_null(program);
    snprintf(command, sizeof command,
             "\"$(dirname '%s')/make-demo\" demo-db '%s/demo.db' > /dev/null 2>&1", program,
             folder);
    assert_int_equal(system(command), 0);
}

/* 28 November 2026, 12:00 UTC: after all that the demo's story tells. */
static int64_t day_of_the_walk(void *context)
{
    (void)context;
    return INT64_C(1795867200);
}

static int be_the_program(int argc, char **argv)
{
    const struct pm_clock clock = {day_of_the_walk, NULL};
    const struct pm_cli_front front = {
        .topics = &pm_cli_all_topics, .out = stdout, .err = stderr, .clock = &clock};
    return pm_cli_run(&front, argc, (const char *const *)argv);
}

/* What the shell and the program show for one command; the caller's. */
static char *run(const char *folder, const char *line)
{
    struct pm_text script = PM_TEXT_EMPTY;
    char answer[1024], program[1024] = "";
    assert_true(readlink("/proc/self/exe", program, sizeof program - 1) > 0);
    pm_text_addf(&script,
                 "cd '%s' && export PERMILLE_DB=demo.db PERMILLE_WALKS=1 && permille() { '%s' "
                 "\"$@\"; } && { %s; } > answer 2>&1",
                 folder, program, line);
    const int outcome = system(pm_text_get(&script));
    snprintf(answer, sizeof answer, "%s/answer", folder);
    char *shown = read_all(answer);
    if (!WIFEXITED(outcome) || WEXITSTATUS(outcome) != 0)
        fail_msg("README.md: this line ends with %d: %s\n%s", WEXITSTATUS(outcome), line, shown);
    pm_text_release(&script);
    return shown;
}

/* ---- lines ---- */

static size_t line_length(const char *text)
{
    return strcspn(text, "\n");
}

static const char *after_line(const char *text)
{
    text += line_length(text);
    return *text == '\n' ? text + 1 : text;
}

static bool line_is(const char *text, const char *wanted)
{
    const size_t length = strlen(wanted);
    return line_length(text) == length && strncmp(text, wanted, length) == 0;
}

static bool begins(const char *text, const char *with)
{
    return strncmp(text, with, strlen(with)) == 0;
}

#define ANY "\xE2\x80\xA6"

/* Whether the told line is the shown one; each up to its end. */
static bool same(const char *told, size_t told_length, const char *shown, size_t shown_length)
{
    const char *any = memmem(told, told_length, ANY, strlen(ANY));
    if (any == NULL)
        return told_length == shown_length && memcmp(told, shown, told_length) == 0;
    const size_t before = (size_t)(any - told), skip = before + strlen(ANY);
    if (before > shown_length || memcmp(told, shown, before) != 0)
        return false;
    for (size_t at = before; at <= shown_length; at++)
        if (same(told + skip, told_length - skip, shown + at, shown_length - at))
            return true;
    return false;
}

static bool same_line(const char *told, const char *shown)
{
    return same(told, line_length(told), shown, line_length(shown));
}

/* Whether what is shown is what the README says, up to `end`. */
static bool matches(const char *told, const char *end, const char *shown)
{
    for (; told < end; told = after_line(told)) {
        if (line_is(told, "...")) {
            const char *rest = after_line(told);
            for (const char *from = shown;; from = after_line(from)) {
                if (matches(rest, end, from))
                    return true;
                if (*from == '\0')
                    return false;
            }
        }
        if (*shown == '\0' || !same_line(told, shown))
            return false;
        shown = after_line(shown);
    }
    return *shown == '\0';
}

static bool has_gap(const char *told, const char *end)
{
    for (; told < end; told = after_line(told))
        if (line_is(told, "...") || memmem(told, line_length(told), ANY, strlen(ANY)) != NULL)
            return true;
    return false;
}

/* ---- the walk ---- */

static void add(struct pm_text *out, const char *from, const char *to)
{
    pm_text_add_bytes(out, from, (size_t)(to - from));
}

/* One command at `at`, and what is told of it; returns what comes behind. */
static const char *one_command(const char *folder, const char *at, struct pm_text *out)
{
    char line[2048];
    const char *told = after_line(at), *end = told;
    snprintf(line, sizeof line, "%.*s", (int)line_length(at + 2), at + 2);
    while (*end != '\0' && !begins(end, "$ ") && !begins(end, "```"))
        end = after_line(end);
    char *shown = run(folder, line);
    add(out, at, told);
    if (has_gap(told, end)) {
        if (!matches(told, end, shown))
            fail_msg("README.md: after \"%s\" comes\n%s", line, shown);
        add(out, told, end);
    } else {
        pm_text_add(out, shown);
    }
    pm_free(shown);
    return end;
}

static void the_walk_is_as_told(void **state)
{
    struct program *p = *state;
    struct pm_text renewed = PM_TEXT_EMPTY;
    char *readme = read_all("README.md");
    const char *wish = getenv("PERMILLE_README");
    bool inside = false;
    size_t commands = 0;
    make_demo(p->folder);
    for (const char *at = readme; *at != '\0';) {
        if (begins(at, "```"))
            inside = line_is(at, "```console");
        if (inside && begins(at, "$ ")) {
            at = one_command(p->folder, at, &renewed);
            commands++;
            continue;
        }
        add(&renewed, at, after_line(at));
        at = after_line(at);
    }
    if (wish != NULL && strcmp(wish, "write") == 0) {
        FILE *file = fopen("README.md", "w");
        assert_non_null(file);
        assert_int_equal(fwrite(renewed.data, 1, renewed.length, file), renewed.length);
        assert_int_equal(fclose(file), 0);
    } else if (strcmp(readme, pm_text_get(&renewed)) != 0) {
        fail_msg("README.md shows other answers than the program; \"make readme\" writes them:\n%s",
                 pm_text_get(&renewed));
    }
    assert_true(commands > 30);
    pm_free(readme);
    pm_text_release(&renewed);
}

int main(int argc, char **argv)
{
    if (getenv("PERMILLE_WALKS") != NULL)
        return be_the_program(argc, argv);
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(the_walk_is_as_told, program_set_up, program_tear_down),
    };
    return cmocka_run_group_tests_name("the README's walk", tests, NULL, NULL);
}
