/* SPDX-License-Identifier: MIT */
/* The command `help`. */
#include "help.h"
#include "parse.h"

#include "permille/base/utf8.h"

#include <string.h>

/* ---- text ---- */

#define INDENT      2
#define HELP_COLUMN 30 /* where explanations begin */
#define HELP_WIDTH  80

static void add_spaces(struct pm_text *out, size_t count)
{
    while (count-- > 0)
        pm_text_add_char(out, ' ');
}

/* Words broken into lines between `from` and HELP_WIDTH; the first line starts at `at`. */
static void add_wrapped(struct pm_text *out, const char *text, size_t from, size_t at)
{
    bool first = true;
    while (*text != '\0') {
        const size_t length = strcspn(text, " ");
        char word[80];
        const size_t kept = length < sizeof word ? length : sizeof word - 1;
        memcpy(word, text, kept);
        word[kept] = '\0';
        const size_t cells = pm_utf8_cells(word);
        if (!first && at + 1 + cells > HELP_WIDTH) {
            pm_text_add_char(out, '\n');
            add_spaces(out, from);
            at = from;
        } else if (!first) {
            pm_text_add_char(out, ' ');
            at++;
        }
        pm_text_add_bytes(out, text, length);
        at += cells;
        first = false;
        text += length;
        text += strspn(text, " ");
    }
    pm_text_add_char(out, '\n');
}

/* "  term          explanation", the explanation below a term that is too long. */
static void add_entry(struct pm_text *out, const char *term, const char *help)
{
    const size_t end = INDENT + pm_utf8_cells(term);

    add_spaces(out, INDENT);
    pm_text_add(out, term);
    if (end + 2 > HELP_COLUMN) {
        pm_text_add_char(out, '\n');
        add_spaces(out, HELP_COLUMN);
    } else {
        add_spaces(out, HELP_COLUMN - end);
    }
    add_wrapped(out, help, HELP_COLUMN, HELP_COLUMN);
}

static void add_options(struct pm_text *out, const struct pm_cli_option *option)
{
    for (; option != NULL && option->name != NULL; option++) {
        struct pm_text term = PM_TEXT_EMPTY;
        pm_help_option(&term, option);
        add_entry(out, pm_text_get(&term), option->help);
        pm_text_release(&term);
    }
}

static void add_command(struct pm_text *out, const struct pm_cli_command *command)
{
    struct pm_text term = PM_TEXT_EMPTY;

    pm_text_add(&term, command->name);
    if (command->operands[0] != '\0')
        pm_text_addf(&term, " %s", command->operands);
    add_entry(out, pm_text_get(&term), command->help);
    pm_text_release(&term);
}

static void help_on_everything(struct pm_text *out, const struct pm_cli_topics *topics)
{
    pm_text_add(out, "permille: a formula editor for perfumers\n\n"
                     "usage: permille [--db FILE]                 open the editor\n"
                     "       permille [--db FILE] COMMAND ...     do one thing and end\n");
    for (size_t t = 0; t < topics->count; t++) {
        const struct pm_cli_topic *topic = topics->items[t];
        if (topic->title != NULL)
            pm_text_addf(out, "\n%s\n", topic->title);
        for (size_t c = 0; c < topic->count; c++)
            add_command(out, &topic->commands[c]);
    }
    pm_text_add(out, "\nWith every command\n");
    add_options(out, pm_cli_global_options);
    pm_text_add(out,
                "\n"
                "F is a formula's name, its draft; F/3 its kept trial 3. A line is named by\n"
                "its material or accord, or #N by its place. Strengths: 10%, 0.1%, neat.\n"
                "Masses: 12.5g, 250mg. Parts: numbers in the formula's base.\n"
                "Exit status: 0 done; 1 refused with a reason, nothing changed; 2 wrong usage;\n"
                "3 done, but not answered or not certain: look before doing it again.\n");
}

static void help_on_command(struct pm_text *out, const struct pm_cli_command *command)
{
    struct pm_text synopsis = PM_TEXT_EMPTY;

    pm_help_synopsis(&synopsis, command);
    pm_text_add(out, "usage: permille ");
    add_wrapped(out, pm_text_get(&synopsis), strlen("usage: permille "),
                strlen("usage: permille "));
    pm_text_release(&synopsis);
    pm_text_add_char(out, '\n');
    add_wrapped(out, command->help, 0, 0);
    if (command->more != NULL) {
        pm_text_add_char(out, '\n');
        add_wrapped(out, command->more, 0, 0);
    }
    if (pm_cli_options(command) != NULL) {
        pm_text_add_char(out, '\n');
        add_options(out, pm_cli_options(command));
    }
}

static void help_on_group(struct pm_text *out, const struct pm_cli_topics *topics, const char *word)
{
    const struct pm_cli_command *command;
    const size_t length = strlen(word);
    for (size_t n = 0; (command = pm_cli_command_at(topics, n)) != NULL; n++)
        if (strncmp(command->name, word, length) == 0 &&
            (command->name[length] == ' ' || command->name[length] == '\0'))
            add_command(out, command);
}

/* ---- the command ---- */

static enum pm_status help_on(struct pm_cli *cli, struct pm_error *err)
{
    const struct pm_cli_topics *topics = cli->front->topics;
    struct pm_text name = PM_TEXT_EMPTY;
    struct pm_cli_nearest nearest;
    enum pm_status status = PM_OK;

    for (size_t i = 0; i < cli->operand_count; i++) {
        pm_text_add(&name, i > 0 ? " " : "");
        pm_text_add(&name, cli->operands[i]);
    }
    const char *asked = pm_text_get(&name);
    const struct pm_cli_command *command = pm_cli_find(topics, asked);
    if (!pm_text_ok(&name)) {
        status = pm_fail_memory(err);
    } else if (cli->operand_count == 1 && pm_cli_is_group(topics, asked)) {
        help_on_group(&cli->out, topics, asked);
    } else if (command != NULL) {
        help_on_command(&cli->out, command);
    } else {
        pm_cli_nearest_init(&nearest, asked);
        for (size_t n = 0; (command = pm_cli_command_at(topics, n)) != NULL; n++) {
            pm_cli_nearest_offer(&nearest, command->name, strlen(command->name));
            pm_cli_nearest_offer(&nearest, command->name, strcspn(command->name, " "));
        }
        status = pm_cli_usage(cli, err, "There is no command '%s'%s%.*s%s", asked,
                              nearest.best != NULL ? "; did you mean '" : "",
                              (int)nearest.best_length, nearest.best != NULL ? nearest.best : "",
                              nearest.best != NULL ? "'?" : ".");
    }
    pm_text_release(&name);
    return status;
}

static enum pm_status run_help(struct pm_cli *cli, struct pm_error *err)
{
    const char *shell = pm_cli_value(cli, "completion");
    const bool manual = pm_cli_has(cli, "man");

    if (manual + (shell != NULL) + (cli->operand_count > 0) > 1)
        return pm_cli_usage(cli, err,
                            "One thing at a time: a command, '--man', or '--completion'.");
    if (shell != NULL) {
        pm_help_completion(&cli->out, shell);
    } else if (manual) {
        struct pm_text editor = PM_TEXT_EMPTY;
        enum pm_status status = PM_OK;
        if (cli->front->actions != NULL)
            status = cli->front->actions(cli->front->context, NULL, NULL, NULL, &editor, err);
        if (status == PM_OK)
            pm_help_manual(&cli->out, cli->front->topics, pm_text_get(&editor));
        pm_text_release(&editor);
        return status;
    } else if (cli->operand_count > 0) {
        return help_on(cli, err);
    } else {
        help_on_everything(&cli->out, cli->front->topics);
    }
    return PM_OK;
}

static const struct pm_cli_option help_options[] = {
    {.name = "man", .help = "the manual page, for man(1)"},
    {.name = "completion",
     .value = "SHELL",
     .words = "bash|zsh|fish",
     .help = "completion of commands and options for a shell"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND("help", "[COMMAND]", 0, 2, PM_CLI_TEXT,
                   "say what the commands do, or one of them", .options = help_options,
                   .run = run_help),
};

const struct pm_cli_topic pm_cli_topic_help = {
    .title = "Help",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
