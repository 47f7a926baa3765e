/* SPDX-License-Identifier: MIT */
/* The program: without a command the editor, otherwise the command. */
#include "cli/cli.h"
#include "tui/run.h"

#include <fcntl.h>
#include <locale.h>
#include <signal.h>
#include <sys/ioctl.h>
#include <unistd.h>

#define COLUMNS_LEAST 40 /* what is narrower is left to the terminal */

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

/* Cells of a line of the terminal; 0: it is none, or does not say. */
static size_t columns_of(int file)
{
    struct winsize size;
    if (ioctl(file, TIOCGWINSZ, &size) != 0 || size.ws_col < COLUMNS_LEAST)
        return 0;
    return size.ws_col;
}

int main(int argc, char **argv)
{
    fill_standard_files();
    /* Where files may not grow beyond a limit, writing fails as on a full disk, with a sentence. */
    signal(SIGXFSZ, SIG_IGN);
    /* Characters as the person's terminal has them; numbers are read and written by base, never by
     * a C library that might take "1.5" for 1. */
    setlocale(LC_CTYPE, "");

    const struct pm_cli_front front = {.topics = &pm_cli_all_topics,
                                       .out = stdout,
                                       .err = stderr,
                                       .columns = columns_of(STDOUT_FILENO),
                                       .err_columns = columns_of(STDERR_FILENO),
                                       .terminal = pm_tui_can_run,
                                       .editor = pm_tui_run,
                                       .actions = pm_tui_actions,
                                       .may_give = pm_tui_may_give};
    return pm_cli_run(&front, argc, (const char *const *)argv);
}
