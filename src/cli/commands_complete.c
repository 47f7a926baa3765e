/* SPDX-License-Identifier: MIT */
/* What may follow on a command line: commands, options, their values, names of the library. */
#include "cli.h"
#include "names.h"

#include "permille/base/mem.h"
#include "permille/studio/settings.h"

#include <stdlib.h>
#include <string.h>

/* A command line, read up to the word that is being typed. */
struct typed {
    const char *first, *second; /* of the command; NULL */
    const struct pm_cli_command *command;
    size_t operands;     /* whole ones */
    const char *formula; /* the first of them; NULL */
    const char *option;  /* waits for its value; NULL: none. With its dashes */
    const char *db;      /* NULL: not given */
    bool ended;          /* by --: no more options */
    const char *word;    /* being typed */
};

/* ---- the table ---- */

static const struct pm_cli_command *command_named(const struct pm_cli *cli, const char *first,
                                                  const char *second)
{
    const struct pm_cli_command *command;
    const size_t length = strlen(first);
    for (size_t n = 0; (command = pm_cli_command_at(cli->front->topics, n)) != NULL; n++) {
        const char *name = command->name;
        if (strncmp(name, first, length) != 0)
            continue;
        if (second == NULL ? name[length] == '\0'
                           : name[length] == ' ' && strcmp(name + length + 1, second) == 0)
            return command;
    }
    return NULL;
}

static const struct pm_cli_option *option_in(const struct pm_cli_option *options, const char *name,
                                             size_t length)
{
    for (; options != NULL && options->name != NULL; options++)
        if (strlen(options->name) == length && memcmp(options->name, name, length) == 0)
            return options;
    return NULL;
}

/* An option takes a value in every command that has it, or in none. "--base" or "--base=1000". */
static const struct pm_cli_option *option_named(const struct pm_cli *cli, const char *word,
                                                const struct pm_cli_command *command)
{
    const size_t length = strcspn(word + 2, "=");
    const struct pm_cli_option *found = option_in(pm_cli_global_options, word + 2, length);
    if (found == NULL && command != NULL)
        found = option_in(pm_cli_options(command), word + 2, length);
    const struct pm_cli_command *any;
    for (size_t n = 0; found == NULL && (any = pm_cli_command_at(cli->front->topics, n)) != NULL;
         n++)
        found = option_in(pm_cli_options(any), word + 2, length);
    return found;
}

/* ---- reading what was typed ---- */

static void read_operand(const struct pm_cli *cli, struct typed *typed, const char *word)
{
    if (typed->first == NULL) {
        typed->first = word;
        typed->command = command_named(cli, word, NULL);
    } else if (typed->second == NULL && typed->operands == 0 &&
               command_named(cli, typed->first, word) != NULL) {
        typed->second = word;
        typed->command = command_named(cli, typed->first, word);
    } else if (typed->operands++ == 0) {
        typed->formula = word;
    }
}

static void read_word(const struct pm_cli *cli, struct typed *typed, const char *word)
{
    if (typed->option != NULL) {
        if (strcmp(typed->option, "--db") == 0)
            typed->db = word;
        typed->option = NULL;
    } else if (!typed->ended && strcmp(word, "--") == 0) {
        typed->ended = true;
    } else if (!typed->ended && strncmp(word, "--", 2) == 0) {
        const struct pm_cli_option *option = option_named(cli, word, typed->command);
        const char *value = strchr(word, '=');
        if (option != NULL && option->value != NULL && value == NULL)
            typed->option = word;
        if (value != NULL && strncmp(word, "--db=", 5) == 0)
            typed->db = value + 1;
    } else {
        read_operand(cli, typed, word);
    }
}

/* ---- answering ---- */

static void offer(struct pm_cli *cli, const struct typed *typed, const char *prefix,
                  const char *word, size_t length, const char *help)
{
    struct pm_text whole = PM_TEXT_EMPTY;
    pm_text_add(&whole, prefix);
    pm_text_add_bytes(&whole, word, length);
    if (strncmp(pm_text_get(&whole), typed->word, strlen(typed->word)) == 0)
        pm_text_addf(&cli->out, help != NULL ? "%s\t%s\n" : "%s\n", pm_text_get(&whole), help);
    pm_text_release(&whole);
}

/* "a|b|c" */
static void offer_words(struct pm_cli *cli, const struct typed *typed, const char *words)
{
    for (; *words != '\0'; words += *words == '|') {
        const size_t length = strcspn(words, "|");
        offer(cli, typed, "", words, length, NULL);
        words += length;
    }
}

static void offer_options(struct pm_cli *cli, const struct typed *typed,
                          const struct pm_cli_option *options)
{
    for (; options != NULL && options->name != NULL; options++)
        offer(cli, typed, "--", options->name, strlen(options->name), options->help);
}

/* The first words of all commands, each once. */
static void offer_commands(struct pm_cli *cli, const struct typed *typed)
{
    const struct pm_cli_command *command, *before;
    for (size_t n = 0; (command = pm_cli_command_at(cli->front->topics, n)) != NULL; n++) {
        const size_t length = strcspn(command->name, " ");
        bool said = false;
        for (size_t i = 0; i < n && !said; i++) {
            before = pm_cli_command_at(cli->front->topics, i);
            said = strcspn(before->name, " ") == length &&
                   memcmp(before->name, command->name, length) == 0;
        }
        if (!said)
            offer(cli, typed, "", command->name, length,
                  command->name[length] == '\0' ? command->help : NULL);
    }
}

static void offer_second_words(struct pm_cli *cli, const struct typed *typed)
{
    const struct pm_cli_command *command;
    const size_t length = strlen(typed->first);
    for (size_t n = 0; (command = pm_cli_command_at(cli->front->topics, n)) != NULL; n++)
        if (strncmp(command->name, typed->first, length) == 0 && command->name[length] == ' ')
            offer(cli, typed, "", command->name + length + 1, strlen(command->name + length + 1),
                  command->help);
}

/* ---- names ---- */

static const struct {
    const char *word, *kind; /* as the command's help writes it; of pm_names_add, or words */
} kinds[] = {{"F", "formulas"},
             {"F/N", "trials"},
             {"F/1", "trials"},
             {"F/2", "trials"},
             {"ID|F/N", "trials"},
             {"TRIAL", "trials"},
             {"LINE", "lines"},
             {"MATERIAL", "materials"},
             {"INTO", "materials"},
             {"SOLVENT", "materials"},
             {"BOTTLE", "bottles"},
             {"STANCE", "free|held|carrier|resting"},
             {"MODE", "core|share|carrier|open"}};

/* A library that is not there, or cannot be read, has no names. */
static enum pm_status offer_names(struct pm_cli *cli, const struct typed *typed, const char *kind,
                                  struct pm_error *err)
{
    struct pm_error unread = {0};
    char *path = typed->db != NULL ? pm_machine_at_home(typed->db) : NULL;
    if (typed->db != NULL && path == NULL)
        return pm_fail_memory(err);
    if (pm_cli_open_at(cli, path, false, &unread) == PM_OK)
        pm_names_add(cli, kind, typed->formula, typed->word, &unread);
    pm_free(path);
    return PM_OK;
}

/* What is written for an operand or value in the command's help. */
static enum pm_status offer_kind(struct pm_cli *cli, const struct typed *typed, const char *written,
                                 struct pm_error *err)
{
    if (strncmp(written, "FILE", 4) == 0)
        pm_text_add(&cli->out, "\tfiles\n");
    else if (strcmp(written, "COMMAND") == 0)
        offer_commands(cli, typed);
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        if (strcmp(kinds[i].word, written) != 0)
            continue;
        if (strchr(kinds[i].kind, '|') == NULL)
            return offer_names(cli, typed, kinds[i].kind, err);
        offer_words(cli, typed, kinds[i].kind);
        return PM_OK;
    }
    /* Words to choose from are small letters. */
    if (strchr(written, '|') != NULL && written[0] >= 'a' && written[0] <= 'z')
        offer_words(cli, typed, written);
    return PM_OK;
}

/* The n-th operand as help writes it, without brackets and dots; behind the last one the last. */
static void operand_written(const char *operands, size_t n, char *out, size_t size)
{
    size_t used = 0;
    for (;;) {
        const size_t length = strcspn(operands, " ");
        const char *next = operands + length + strspn(operands + length, " ");
        if (n-- == 0 || *next == '\0') {
            for (size_t i = 0; i < length && used + 1 < size; i++)
                if (strchr("[].", operands[i]) == NULL)
                    out[used++] = operands[i];
            out[used] = '\0';
            return;
        }
        operands = next;
    }
}

static enum pm_status offer_operand(struct pm_cli *cli, const struct typed *typed,
                                    struct pm_error *err)
{
    char written[100];
    operand_written(typed->command->operands, typed->operands, written, sizeof written);
    /* Only of materials is a NAME one that is there already. */
    if (strcmp(written, "NAME") == 0 && strcmp(typed->first, "material") == 0 &&
        strcmp(typed->command->name, "material add") != 0)
        return offer_names(cli, typed, "materials", err);
    return offer_kind(cli, typed, written, err);
}

static enum pm_status run_complete(struct pm_cli *cli, struct pm_error *err)
{
    struct typed typed = {.word = ""};
    for (size_t i = 0; i + 1 < cli->operand_count; i++)
        read_word(cli, &typed, cli->operands[i]);
    if (cli->operand_count > 0)
        typed.word = cli->operands[cli->operand_count - 1];
    if (typed.option != NULL) {
        const struct pm_cli_option *option = option_named(cli, typed.option, typed.command);
        if (option->words == NULL)
            return offer_kind(cli, &typed, option->value, err);
        offer_words(cli, &typed, option->words);
        return PM_OK;
    }
    if (!typed.ended && typed.word[0] == '-') {
        if (typed.command != NULL)
            offer_options(cli, &typed, pm_cli_options(typed.command));
        offer_options(cli, &typed, pm_cli_global_options);
        return PM_OK;
    }
    if (typed.first == NULL) {
        offer_commands(cli, &typed);
        return PM_OK;
    }
    if (typed.second == NULL && typed.operands == 0)
        offer_second_words(cli, &typed);
    return typed.command != NULL && typed.command->operands[0] != '\0'
               ? offer_operand(cli, &typed, err)
               : PM_OK;
}

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND("complete", "[WORD]...", 0, -1, PM_CLI_TEXT,
                   "what may follow on a command line, as the shells' completion asks for it",
                   .more = "After '--' the words behind 'permille', the last one being typed. One "
                           "answer a line, what it does behind a tab; a line that begins with a "
                           "tab asks for files.",
                   .run = run_complete),
};

const struct pm_cli_topic pm_cli_topic_complete = {
    .title = NULL,
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
