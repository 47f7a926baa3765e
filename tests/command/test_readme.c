/* SPDX-License-Identifier: MIT */
/*
 * Documentation is run: every command of the README's shell example, in its order, on a library of
 * its own. A command that has gone stale fails here with its line.
 */
#include "program.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#define LINE_BYTES 1024

/* The words go through the shell, as a reader's would; "permille" is this build's program. */
static void run_as_written(const char *folder, const char *line)
{
    const char *program = getenv("PERMILLE_PROGRAM");
    char script[2 * LINE_BYTES];

    assert_non_null(program);
    assert_true(strlen(program) + strlen(folder) + strlen(line) < sizeof script - 64);
    snprintf(script, sizeof script, "cd '%s' && permille() { '%s' \"$@\"; } && %s > answer 2>&1",
             folder, program, line);
    int outcome = system(script);
    if (!WIFEXITED(outcome) || WEXITSTATUS(outcome) != 0)
        fail_msg("README.md: this line ends with %d: %s", WEXITSTATUS(outcome), line);
}

static void the_readme_runs_as_written(void **state)
{
    struct program *p = *state;
    char line[LINE_BYTES];
    bool inside = false;
    size_t commands = 0;
    FILE *readme = fopen("README.md", "r");

    assert_non_null(readme);
    assert_int_equal(setenv("PERMILLE_DB", p->library, 1), 0);
    while (fgets(line, sizeof line, readme) != NULL) {
        line[strcspn(line, "\n")] = '\0';
        if (strncmp(line, "```", 3) == 0) {
            inside = strcmp(line, "```sh") == 0;
        } else if (inside && line[0] != '\0') {
            run_as_written(p->folder, line);
            commands++;
        }
    }
    fclose(readme);
    assert_true(commands > 20);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(the_readme_runs_as_written, program_set_up,
                                        program_tear_down),
    };
    return cmocka_run_group_tests_name("the README", tests, NULL, NULL);
}
