/* SPDX-License-Identifier: MIT */
/* The command line: running one command (cli.h). */
#include "cli.h"
#include "parse.h"
#include "path.h"

#include "permille/base/mem.h"
#include "permille/base/version.h"
#include "permille/studio/settings.h"

#include <errno.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>

/* The sentence of a failure. It is in err already, so that nothing is left to fail here. */
static void say_failure(struct pm_cli *cli, const char *before, const struct pm_error *err)
{
    struct pm_text line = PM_TEXT_EMPTY;

    pm_cli_wait_clear(cli);
    pm_text_addf(&line, "permille: %s%s", before, err->text);
    if (pm_text_ok(&line))
        pm_cli_say(cli, "%s", pm_text_get(&line));
    else
        fprintf(cli->front->err, "permille: %s%s\n", before, err->text);
    pm_text_release(&line);
}

/* Once something was written nothing is refused any more. */
static int unanswered(struct pm_cli *cli, const struct pm_error *err)
{
    say_failure(cli,
                err->status == PM_UNSURE ? "" : "Done, but the answer could not be given: ", err);
    return PM_CLI_UNANSWERED;
}

static int refuse(struct pm_cli *cli, const struct pm_error *err, bool wrong_usage)
{
    if (cli->done || err->status == PM_UNSURE)
        return unanswered(cli, err);
    say_failure(cli, "", err);
    if (wrong_usage && cli->command != NULL)
        pm_cli_say(cli, "'permille help %s' says more.", cli->command->name);
    else if (wrong_usage)
        pm_cli_say(cli, "'permille help' says more.");
    else if (cli->hint != NULL)
        pm_cli_say(cli, "%s", cli->hint);
    return wrong_usage ? PM_CLI_USAGE : PM_CLI_REFUSED;
}

/* Makes the answer and what is said as they will be written. */
static enum pm_status make_ready(struct pm_cli *cli, struct pm_error *err)
{
    if (cli->out.length > 0 && cli->out.data[cli->out.length - 1] != '\n')
        pm_text_add_char(&cli->out, '\n');
    if (cli->form != PM_CLI_JSON)
        pm_cli_clean(&cli->out);
    if (cli->form == PM_CLI_TEXT && cli->front->columns > 0 && !cli->linear) {
        struct pm_text wide = cli->out;
        cli->out = (struct pm_text)PM_TEXT_EMPTY;
        pm_cli_add_broken(&cli->out, pm_text_get(&wide), cli->front->columns);
        cli->out.failed = cli->out.failed || !pm_text_ok(&wide);
        pm_text_release(&wide);
    }
    return pm_text_ok(&cli->out) && pm_text_ok(&cli->said) && !cli->joined.failed
               ? PM_OK
               : pm_fail_memory(err);
}

/* What could not be written is told: "disk full" must not look like an empty answer. */
static int write_out(struct pm_cli *cli)
{
    struct pm_error err;
    FILE *out = cli->front->out;

    /* A reader that went away ends a command that only asks, silently; not one that has written. */
    if (cli->done)
        signal(SIGPIPE, SIG_IGN);
    pm_cli_wait_clear(cli);
    fputs(pm_text_get(&cli->said), cli->front->err);
    errno = 0;
    if (fwrite(pm_text_get(&cli->out), 1, cli->out.length, out) == cli->out.length &&
        fflush(out) == 0)
        return cli->outcome;
    if (cli->done)
        pm_fail(&err, PM_IO, "%s.", strerror(errno));
    else
        pm_fail(&err, PM_IO, "The answer could not be written: %s.", strerror(errno));
    return refuse(cli, &err, false);
}

/* Ends a command: its change, if it made one, and its answer. Whoever gave it up may have met a
 * call that goes on without what it could not have. */
static int end_command(struct pm_cli *cli, enum pm_status status, struct pm_error *err)
{
    if (status == PM_OK)
        status = make_ready(cli, err);
    if (!cli->done && pm_cli_stopped(cli))
        status = pm_fail_stopped(err);
    status = pm_cli_settle(cli, status, err);
    return status == PM_OK ? write_out(cli) : refuse(cli, err, cli->wrong_usage);
}

/* A library of an earlier step is first brought up to date. */
static enum pm_status open_for_editor(struct pm_cli *cli, const char *path,
                                      struct pm_studio **studio, struct pm_error *err)
{
    const struct pm_studio_options options = {
        .create = true, .clock = cli->front->clock, .watch = &cli->waiting.watch};
    pm_cli_wait_begin(cli);
    const enum pm_status status = pm_studio_open(path, &options, studio, err);
    pm_cli_wait_end(cli);
    return status;
}

static int run_editor(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_studio *studio = NULL;
    char *path = NULL;

    if (pm_cli_has(cli, "json") || pm_cli_has(cli, "csv")) {
        pm_fail(err, PM_INVALID, "'--json' and '--csv' need a command.");
        return refuse(cli, err, true);
    }
    if (cli->front->editor == NULL) {
        pm_fail(err, PM_INVALID, "No command was given.");
        return refuse(cli, err, true);
    }
    if (cli->front->terminal != NULL && cli->front->terminal(cli->front->context, err) != PM_OK) {
        (void)refuse(cli, err, false);
        return PM_CLI_USAGE;
    }
    if (pm_cli_library_path(pm_cli_value(cli, "db"), &path, err) != PM_OK)
        return refuse(cli, err, false);
    const enum pm_status status = open_for_editor(cli, path, &studio, err);
    pm_free(path);
    return status == PM_OK ? cli->front->editor(cli->front->context, studio, cli->linear)
                           : refuse(cli, err, false);
}

static int run_command(struct pm_cli *cli, struct pm_error *err)
{
    if (pm_cli_check(cli, err) != PM_OK)
        return refuse(cli, err, true);
    pm_cli_wait_begin(cli);
    const int outcome = end_command(cli, cli->command->run(cli, err), err);
    pm_cli_wait_end(cli);
    return outcome;
}

/* "permille add --help" is "permille help add". */
static int run_help(struct pm_cli *cli, struct pm_error *err)
{
    const struct pm_cli_command *asked = cli->command;

    if (asked != NULL)
        cli->operands[0] = asked->name;
    cli->operand_count = asked != NULL ? 1 : 0;
    cli->command = pm_cli_find(cli->front->topics, "help");
    return end_command(cli, cli->command->run(cli, err), err);
}

/* The option, else the environment, else this machine's settings. */
static bool wants_lines(const struct pm_cli *cli)
{
    const char *wish = getenv("PERMILLE_LINEAR");
    struct pm_settings settings;
    if (pm_cli_has(cli, "linear"))
        return true;
    if (wish != NULL && wish[0] != '\0')
        return strcmp(wish, "0") != 0;
    pm_settings_usual(&settings);
    pm_machine_settings(&settings, NULL, NULL, NULL);
    return settings.linear;
}

static int run(struct pm_cli *cli, int argc, const char *const *argv, struct pm_error *err)
{
    const enum pm_status status = pm_cli_parse(cli, argc, argv, err);
    if (status != PM_OK)
        return refuse(cli, err, status == PM_INVALID);
    cli->linear = wants_lines(cli);
    if (pm_cli_has(cli, "help"))
        return run_help(cli, err);
    if (pm_cli_has(cli, "version")) {
        pm_text_addf(&cli->out, "permille %s\n", PM_VERSION);
        return end_command(cli, PM_OK, err);
    }
    return cli->command != NULL ? run_command(cli, err) : run_editor(cli, err);
}

int pm_cli_run(const struct pm_cli_front *front, int argc, const char *const *argv)
{
    struct pm_cli cli = {.front = front, .studio = front->studio};
    struct pm_error err;

    pm_error_clear(&err);
    const int outcome = run(&cli, argc, argv, &err);
    if (cli.close != NULL)
        cli.close(&cli);
    pm_free(cli.operands);
    pm_free(cli.given);
    pm_arena_release(&cli.joined);
    pm_text_release(&cli.out);
    pm_text_release(&cli.said);
    return outcome;
}
