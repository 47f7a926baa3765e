/* SPDX-License-Identifier: MIT */
/*
 * While a command takes long: how far it is on the terminal's standard error, and Ctrl-C, which
 * gives it up (base/watch.h). The line is written over itself and taken away before anything else
 * is said. A second Ctrl-C ends the process at once.
 */
#include "cli.h"

#include <signal.h>
#include <stdarg.h>
#include <string.h>
#include <time.h>

#define SHOWN_AFTER 500 /* milliseconds; what is quicker says nothing */
#define SHOWN_EVERY 100

static volatile sig_atomic_t interrupted;

static void interrupt(int number)
{
    (void)number;
    interrupted = 1;
}

static int64_t milliseconds(const struct pm_cli *cli)
{
    struct timespec now;
    if (cli->front->milliseconds != NULL)
        return cli->front->milliseconds(cli->front->context);
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

bool pm_cli_stopped(struct pm_cli *cli)
{
    struct pm_cli_waiting *waiting = &cli->waiting;
    if (!waiting->stopped)
        waiting->stopped = cli->front->stopped != NULL ? cli->front->stopped(cli->front->context)
                                                       : interrupted != 0;
    return waiting->stopped;
}

static void show(struct pm_cli *cli)
{
    struct pm_cli_waiting *waiting = &cli->waiting;
    char text[160], line[200];
    const char *doing = waiting->doing != NULL ? waiting->doing : "working";
    int width = waiting->all > 0
                    ? snprintf(text, sizeof text, "%s: %lld of %lld (Ctrl-C gives it up)", doing,
                               (long long)waiting->done, (long long)waiting->all)
                    : snprintf(text, sizeof text, "%s (Ctrl-C gives it up)", doing);
    if ((size_t)width >= cli->front->err_columns)
        width = (int)cli->front->err_columns - 1;
    snprintf(line, sizeof line, "\r%.*s%*s", width, text,
             waiting->width > width ? waiting->width - width : 0, "");
    fputs(line, cli->front->err);
    fflush(cli->front->err);
    waiting->width = width;
}

static bool go_on(void *context, const char *doing, int64_t done, int64_t all)
{
    struct pm_cli *cli = context;
    struct pm_cli_waiting *waiting = &cli->waiting;
    if (doing != NULL) {
        waiting->doing = doing;
        waiting->done = done;
        waiting->all = all;
    }
    if (pm_cli_stopped(cli))
        return false;
    if (cli->front->err_columns == 0)
        return true;
    const int64_t now = milliseconds(cli);
    if (now - waiting->began >= SHOWN_AFTER && now - waiting->shown >= SHOWN_EVERY) {
        waiting->shown = now;
        show(cli);
    }
    return true;
}

void pm_cli_wait_begin(struct pm_cli *cli)
{
    struct sigaction action = {.sa_handler = interrupt, .sa_flags = (int)SA_RESETHAND};
    cli->waiting = (struct pm_cli_waiting){.watch = {go_on, NULL, cli}, .began = milliseconds(cli)};
    /* Where it is ignored, in the background say, it stays so; a library that was open already is
     * somebody else's, and so is the signal. */
    if (cli->front->studio != NULL || cli->front->stopped != NULL ||
        sigaction(SIGINT, NULL, &cli->waiting.before) != 0 ||
        cli->waiting.before.sa_handler != SIG_DFL)
        return;
    interrupted = 0;
    cli->waiting.caught = sigaction(SIGINT, &action, NULL) == 0;
}

void pm_cli_wait_clear(struct pm_cli *cli)
{
    if (cli->waiting.width == 0)
        return;
    /* The terminal itself wrote "^C" behind it. */
    fprintf(cli->front->err, "\r%*s\r", cli->waiting.width + (cli->waiting.stopped ? 2 : 0), "");
    cli->waiting.width = 0;
}

void pm_cli_wait_end(struct pm_cli *cli)
{
    pm_cli_wait_clear(cli);
    if (cli->waiting.caught)
        sigaction(SIGINT, &cli->waiting.before, NULL);
}
