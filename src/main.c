/* SPDX-License-Identifier: MIT */
/* The program: without a command the editor, otherwise the command. */
#include "cli/cli.h"
#include "tui/run.h"

#include <fcntl.h>
#include <locale.h>
#include <unistd.h>

/* A library opened where standard output should be would be written into by the first message.
 * Read-only, so that an answer nobody can get is an error and not silence. */
static void fill_standard_files(void)
{
    int file;
    do
        file = open("/dev/null", O_RDONLY);
    while (file >= 0 && file <= STDERR_FILENO);
    if (file >= 0)
        close(file);
}

int main(int argc, char **argv)
{
    fill_standard_files();
    /* Characters as the person's terminal has them; numbers are read and written by base, never by
     * a C library that might take "1.5" for 1. */
    setlocale(LC_CTYPE, "");

    const struct pm_cli_front front = {
        .out = stdout, .err = stderr, .editor = pm_tui_run, .actions = pm_tui_actions};
    return pm_cli_run(&front, argc, (const char *const *)argv);
}
