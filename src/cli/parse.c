/* SPDX-License-Identifier: MIT */
/* Reading the words of a command line (parse.h). */
#include "parse.h"

#include "permille/base/mem.h"
#include "permille/base/word.h"

#include <string.h>

/* ---- looking things up in the table ---- */

static const struct pm_cli_option *option_in(const struct pm_cli_option *options, const char *name,
                                             size_t length)
{
    for (; options != NULL && options->name != NULL; options++)
        if (strlen(options->name) == length && memcmp(options->name, name, length) == 0)
            return options;
    return NULL;
}

/* In the command's options and the global ones; without a command in those of all commands. */
static const struct pm_cli_option *find_option(const struct pm_cli *cli, const char *name,
                                               size_t length)
{
    const struct pm_cli_option *found = option_in(pm_cli_global_options, name, length);
    if (found != NULL)
        return found;
    const struct pm_cli_command *command = cli->command;
    if (command != NULL)
        return option_in(pm_cli_options(command), name, length);
    for (size_t n = 0; (command = pm_cli_command_at(cli->front->topics, n)) != NULL; n++) {
        found = option_in(pm_cli_options(command), name, length);
        if (found != NULL)
            return found;
    }
    return NULL;
}

/* ---- one word ---- */

static bool is_amount(const char *word)
{
    const char *rest = word + 1;
    rest += *rest == '.' || *rest == ',';
    return *rest >= '0' && *rest <= '9';
}

static bool is_option(const char *word)
{
    return word[0] == '-' && word[1] != '\0' && !is_amount(word);
}

/* An option's name without its dashes and without "=value". "-h" is read as "help". */
static const char *option_name(const char *word, size_t *length)
{
    if (strcmp(word, "-h") == 0)
        word = "--help";
    const char *name = word + (word[1] == '-' ? 2 : 0);
    *length = strcspn(name, "=");
    return name;
}

/* ---- which command ---- */

/* The first two operands. */
static void first_words(const struct pm_cli *cli, int argc, const char *const *argv,
                        const char *words[2])
{
    int found = 0;
    bool only_operands = false;

    words[0] = words[1] = NULL;
    for (int i = 1; i < argc && found < 2; i++) {
        if (only_operands || !is_option(argv[i])) {
            words[found++] = argv[i];
        } else if (strcmp(argv[i], "--") == 0) {
            only_operands = true;
        } else {
            size_t length;
            const char *name = option_name(argv[i], &length);
            const struct pm_cli_option *option = find_option(cli, name, length);
            if (option != NULL && option->value != NULL && name[length] != '=')
                i++;
        }
    }
}

static enum pm_status unknown_second(const struct pm_cli_topics *topics, const char *group,
                                     const char *word, struct pm_error *err)
{
    const struct pm_cli_command *command;
    struct pm_cli_nearest nearest;
    const size_t length = strlen(group);

    pm_cli_nearest_init(&nearest, word);
    for (size_t n = 0; (command = pm_cli_command_at(topics, n)) != NULL; n++)
        if (strncmp(command->name, group, length) == 0 && command->name[length] == ' ')
            pm_cli_nearest_offer(&nearest, command->name + length + 1,
                                 strlen(command->name + length + 1));
    if (nearest.best != NULL)
        return pm_fail(err, PM_INVALID, "There is no command '%s %s'; did you mean '%s %s'?", group,
                       word, group, nearest.best);
    return pm_fail(err, PM_INVALID, "There is no command '%s %s'; 'permille help %s' lists them.",
                   group, word, group);
}

static enum pm_status unknown_command(const struct pm_cli_topics *topics, const char *word,
                                      struct pm_error *err)
{
    const struct pm_cli_command *command;
    struct pm_cli_nearest nearest;

    pm_cli_nearest_init(&nearest, word);
    for (size_t n = 0; (command = pm_cli_command_at(topics, n)) != NULL; n++)
        pm_cli_nearest_offer(&nearest, command->name, strcspn(command->name, " "));
    if (nearest.best != NULL)
        return pm_fail(err, PM_INVALID, "There is no command '%s'; did you mean '%.*s'?", word,
                       (int)nearest.best_length, nearest.best);
    return pm_fail(err, PM_INVALID, "There is no command '%s'.", word);
}

/* *words receives how many of the operands name the command. */
static enum pm_status find_command(struct pm_cli *cli, int argc, const char *const *argv,
                                   size_t *words_used, struct pm_error *err)
{
    const struct pm_cli_topics *topics = cli->front->topics;
    const char *words[2];

    *words_used = 0;
    first_words(cli, argc, argv, words);
    if (words[0] == NULL)
        return PM_OK;
    if (words[1] != NULL) {
        cli->command = pm_cli_find_pair(topics, words[0], words[1]);
        *words_used = 2;
        if (cli->command != NULL)
            return PM_OK;
    }
    cli->command = pm_cli_find(topics, words[0]);
    *words_used = 1;
    if (cli->command != NULL)
        return PM_OK;
    if (!pm_cli_is_group(topics, words[0]))
        return unknown_command(topics, words[0], err);
    if (words[1] != NULL)
        return unknown_second(topics, words[0], words[1], err);
    return pm_fail(err, PM_INVALID, "'%s' needs a second word; 'permille help %s' lists them.",
                   words[0], words[0]);
}

/* ---- options and operands ---- */

static enum pm_status unknown_option(const struct pm_cli *cli, const char *word,
                                     struct pm_error *err)
{
    struct pm_cli_nearest nearest;
    char name[40];
    size_t length;
    const char *start = option_name(word, &length);

    if (length < sizeof name) {
        memcpy(name, start, length);
        name[length] = '\0';
        pm_cli_nearest_init(&nearest, name);
        for (const struct pm_cli_option *o = pm_cli_global_options; o->name != NULL; o++)
            pm_cli_nearest_offer(&nearest, o->name, strlen(o->name));
        const struct pm_cli_option *own =
            cli->command != NULL ? pm_cli_options(cli->command) : NULL;
        for (; own != NULL && own->name != NULL; own++)
            pm_cli_nearest_offer(&nearest, own->name, strlen(own->name));
        if (nearest.best != NULL)
            return pm_fail(err, PM_INVALID, "There is no option '%s'; did you mean '--%s'?", word,
                           nearest.best);
    }
    if (cli->command == NULL)
        return pm_fail(err, PM_INVALID, "There is no option '%s'.", word);
    return pm_fail(err, PM_INVALID, "'%s' has no option '%s'.", cli->command->name, word);
}

static enum pm_status check_given(const struct pm_cli *cli, const struct pm_cli_option *option,
                                  const char *value, struct pm_error *err)
{
    if (!option->many && pm_cli_has(cli, option->name))
        return pm_fail(err, PM_INVALID, "'--%s' stands twice.", option->name);
    if (option->words != NULL && !pm_word_among(option->words, value))
        return pm_fail(err, PM_INVALID, "'--%s' is one of %s, not '%s'.", option->name,
                       option->words, value);
    return PM_OK;
}

/* Reads the option at argv[*at]; *at moves on to its value when that is a word of its own. */
static enum pm_status take_option(struct pm_cli *cli, int argc, const char *const *argv, int *at,
                                  struct pm_error *err)
{
    size_t length;
    const char *name = option_name(argv[*at], &length);
    const struct pm_cli_option *option = find_option(cli, name, length);
    const char *value = name[length] == '=' ? name + length + 1 : NULL;

    /* Without a command only the global options mean something. */
    if (option == NULL ||
        (cli->command == NULL && option_in(pm_cli_global_options, name, length) == NULL))
        return unknown_option(cli, argv[*at], err);
    if (option->value == NULL && value != NULL)
        return pm_fail(err, PM_INVALID, "'--%s' takes no value.", option->name);
    if (option->value != NULL && value == NULL) {
        if (*at + 1 >= argc)
            return pm_fail(err, PM_INVALID, "'--%s' needs a value: --%s %s.", option->name,
                           option->name, option->value);
        value = argv[++*at];
    }
    enum pm_status status = check_given(cli, option, value, err);
    if (status == PM_OK)
        cli->given[cli->given_count++] = (struct pm_cli_given){option, value};
    return status;
}

enum pm_status pm_cli_parse(struct pm_cli *cli, int argc, const char *const *argv,
                            struct pm_error *err)
{
    size_t words_used;
    bool only_operands = false;
    const size_t room = argc > 0 ? (size_t)argc : 1;

    cli->operands = pm_alloc_array(room, sizeof *cli->operands);
    cli->given = pm_alloc_array(room, sizeof *cli->given);
    if (cli->operands == NULL || cli->given == NULL)
        return pm_fail_memory(err);
    enum pm_status status = find_command(cli, argc, argv, &words_used, err);
    if (status != PM_OK)
        return status;

    for (int i = 1; i < argc; i++) {
        if (only_operands || !is_option(argv[i])) {
            cli->operands[cli->operand_count++] = argv[i];
        } else if (strcmp(argv[i], "--") == 0) {
            only_operands = true;
        } else {
            status = take_option(cli, argc, argv, &i, err);
            if (status != PM_OK)
                return status;
        }
    }
    if (cli->operand_count > 0) {
        cli->operand_count -= words_used;
        memmove(cli->operands, cli->operands + words_used,
                cli->operand_count * sizeof *cli->operands);
    }
    return PM_OK;
}

enum pm_status pm_cli_check(struct pm_cli *cli, struct pm_error *err)
{
    const struct pm_cli_command *command = cli->command;
    const bool json = pm_cli_has(cli, "json"), csv = pm_cli_has(cli, "csv");

    if (json && csv)
        return pm_fail(err, PM_INVALID, "Either '--json' or '--csv', not both.");
    cli->form = json ? PM_CLI_JSON : csv ? PM_CLI_CSV : PM_CLI_TEXT;
    if ((command->forms & cli->form) != cli->form)
        return pm_fail(err, PM_INVALID, "'%s' has no %s form.", command->name,
                       json ? "JSON" : "CSV");
    if (cli->operand_count < (size_t)command->least)
        return pm_fail(err, PM_INVALID, "Something is missing: permille %s %s.", command->name,
                       command->operands);
    if (command->most >= 0 && cli->operand_count > (size_t)command->most)
        return pm_fail(err, PM_INVALID, "'%s' is too much: permille %s%s%s.",
                       cli->operands[command->most], command->name,
                       command->operands[0] != '\0' ? " " : "", command->operands);
    return PM_OK;
}
