/* SPDX-License-Identifier: MIT */
/* The command line: running one command (cli.h). */
#include "cli.h"
#include "parse.h"
#include "path.h"

#include "permille/base/json.h"
#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/base/version.h"

#include <errno.h>
#include <stdarg.h>
#include <string.h>

const struct pm_cli_option pm_cli_global_options[] = {
    {.name = "db",
     .value = "FILE",
     .help = "the library (otherwise PERMILLE_DB, otherwise the usual place)"},
    {.name = "json", .help = "answer with one JSON document"},
    {.name = "csv", .help = "answer with a table of comma-separated values"},
    {.name = "help", .help = "say what the command does"},
    {.name = "version", .help = "say which version this is"},
    {.name = NULL},
};

/* ---- for commands ---- */

const char *pm_cli_next_value(const struct pm_cli *cli, const char *option, size_t *at)
{
    while (*at < cli->given_count) {
        const struct pm_cli_given *given = &cli->given[(*at)++];
        if (strcmp(given->option->name, option) == 0)
            return given->value;
    }
    return NULL;
}

const char *pm_cli_value(const struct pm_cli *cli, const char *option)
{
    size_t at = 0;
    return pm_cli_next_value(cli, option, &at);
}

bool pm_cli_has(const struct pm_cli *cli, const char *option)
{
    for (size_t i = 0; i < cli->given_count; i++)
        if (strcmp(cli->given[i].option->name, option) == 0)
            return true;
    return false;
}

enum pm_status pm_cli_usage(struct pm_cli *cli, struct pm_error *err, const char *format, ...)
{
    va_list args;

    va_start(args, format);
    pm_failv(err, PM_INVALID, format, args);
    va_end(args);
    cli->wrong_usage = true;
    return PM_INVALID;
}

void pm_cli_say(struct pm_cli *cli, const char *format, ...)
{
    struct pm_text line = PM_TEXT_EMPTY, shown = PM_TEXT_EMPTY;
    va_list args;

    va_start(args, format);
    pm_text_addv(&line, format, args);
    va_end(args);
    pm_cli_add_shown(&shown, pm_text_get(&line));
    shown.failed = shown.failed || !pm_text_ok(&line);
    pm_text_release(&line);
    pm_cli_add_broken(&line, pm_text_get(&shown), cli->front->err_columns);
    pm_text_add_char(&line, '\n');
    if (cli->changing) {
        pm_text_add(&cli->said, pm_text_get(&line));
        cli->said.failed = cli->said.failed || !pm_text_ok(&line) || !pm_text_ok(&shown);
    } else {
        fputs(pm_text_get(&line), cli->front->err);
    }
    pm_text_release(&line);
    pm_text_release(&shown);
}

bool pm_cli_tell_begin(struct pm_cli *cli, const char *sentence, struct pm_json *json)
{
    pm_cli_say(cli, "%s.", sentence);
    if (cli->form != PM_CLI_JSON)
        return false;
    pm_json_init(json, &cli->out);
    pm_json_open(json, '{');
    pm_json_put_string(json, "sentence", sentence);
    return true;
}

void pm_cli_add_shown(struct pm_text *out, const char *text)
{
    for (struct pm_glyph glyph = pm_utf8_next(text); glyph.length > 0;
         text += glyph.length, glyph = pm_utf8_next(text))
        if (glyph.shown)
            pm_text_add_bytes(out, glyph.bytes, glyph.length);
        else
            pm_text_add(out, *text == '\n' || *text == '\t' ? " " : "\xEF\xBF\xBD");
}

/* ---- lines a terminal has room for ---- */

/* Bytes of the part of a line that is written first: up to a blank if there is one past `indent`.
 */
static size_t break_at(const char *line, size_t length, size_t indent, size_t room)
{
    const size_t fits = pm_utf8_fit(line, room);
    if (fits >= length)
        return length;
    for (size_t at = fits; at > indent; at--)
        if (line[at] == ' ')
            return at;
    return fits > 0 ? fits : length;
}

static void add_line_broken(struct pm_text *out, const char *line, size_t length, size_t columns)
{
    const size_t indent = strspn(line, " ") < columns / 2 ? strspn(line, " ") : 0;
    size_t part = break_at(line, length, indent, columns);

    while (part < length) {
        size_t written = part;
        while (written > 0 && line[written - 1] == ' ')
            written--;
        pm_text_add_bytes(out, line, written);
        pm_text_add_char(out, '\n');
        while (part < length && line[part] == ' ')
            part++;
        line += part;
        length -= part;
        for (size_t i = 0; i < indent && length > 0; i++)
            pm_text_add_char(out, ' ');
        part = break_at(line, length, 0, columns - indent);
    }
    pm_text_add_bytes(out, line, length);
}

void pm_cli_add_broken(struct pm_text *out, const char *text, size_t columns)
{
    if (columns == 0) {
        pm_text_add(out, text);
        return;
    }
    for (;;) {
        const size_t length = strcspn(text, "\n");
        add_line_broken(out, text, length, columns);
        if (text[length] == '\0')
            return;
        pm_text_add_char(out, '\n');
        text += length + 1;
    }
}

/* ---- running ---- */

/* The sentence of a failure. It is in err already, so that nothing is left to fail here. */
static void say_failure(struct pm_cli *cli, const char *before, const struct pm_error *err)
{
    struct pm_text line = PM_TEXT_EMPTY;

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
    if (cli->form == PM_CLI_TEXT && cli->front->columns > 0) {
        struct pm_text wide = cli->out;
        cli->out = (struct pm_text)PM_TEXT_EMPTY;
        pm_cli_add_broken(&cli->out, pm_text_get(&wide), cli->front->columns);
        cli->out.failed = cli->out.failed || !pm_text_ok(&wide);
        pm_text_release(&wide);
    }
    return pm_text_ok(&cli->out) && pm_text_ok(&cli->said) ? PM_OK : pm_fail_memory(err);
}

/* What could not be written is told: "disk full" must not look like an empty answer. */
static int write_out(struct pm_cli *cli)
{
    struct pm_error err;
    FILE *out = cli->front->out;

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

/* Ends a command: its change, if it made one, and its answer. */
static int end_command(struct pm_cli *cli, enum pm_status status, struct pm_error *err)
{
    if (status == PM_OK)
        status = make_ready(cli, err);
    status = pm_cli_settle(cli, status, err);
    return status == PM_OK ? write_out(cli) : refuse(cli, err, cli->wrong_usage);
}

static int run_editor(struct pm_cli *cli, struct pm_error *err)
{
    char *path = NULL;

    if (pm_cli_has(cli, "json") || pm_cli_has(cli, "csv")) {
        pm_fail(err, PM_INVALID, "'--json' and '--csv' need a command.");
        return refuse(cli, err, true);
    }
    if (cli->front->editor == NULL) {
        pm_fail(err, PM_INVALID, "No command was given.");
        return refuse(cli, err, true);
    }
    if (pm_cli_library_path(pm_cli_value(cli, "db"), &path, err) != PM_OK)
        return refuse(cli, err, false);
    const int outcome = cli->front->editor(cli->front->context, path);
    pm_free(path);
    return outcome;
}

static int run_command(struct pm_cli *cli, struct pm_error *err)
{
    if (pm_cli_check(cli, err) != PM_OK)
        return refuse(cli, err, true);
    return end_command(cli, cli->command->run(cli, err), err);
}

/* "permille add --help" is "permille help add". */
static int run_help(struct pm_cli *cli, struct pm_error *err)
{
    const struct pm_cli_command *asked = cli->command;

    if (asked != NULL)
        cli->operands[0] = asked->name;
    cli->operand_count = asked != NULL ? 1 : 0;
    cli->command = pm_cli_find("help");
    return end_command(cli, cli->command->run(cli, err), err);
}

static int run(struct pm_cli *cli, int argc, const char *const *argv, struct pm_error *err)
{
    const enum pm_status status = pm_cli_parse(cli, argc, argv, err);
    if (status != PM_OK)
        return refuse(cli, err, status == PM_INVALID);
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
        cli.close(cli.studio);
    pm_free(cli.operands);
    pm_free(cli.given);
    pm_text_release(&cli.out);
    pm_text_release(&cli.said);
    return outcome;
}
