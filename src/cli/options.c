/* SPDX-License-Identifier: MIT */
/* The options of a command: those of all, its own, and those that its entity's description gives
 * it. */
#include "cli.h"

#include "permille/base/word.h"
#include "permille/core/entity.h"

#include <string.h>

const struct pm_cli_option pm_cli_global_options[] = {
    {.name = "db",
     .value = "FILE",
     .help = "the library (otherwise PERMILLE_DB, otherwise the usual place)"},
    {.name = "json", .help = "answer with one JSON document"},
    {.name = "csv", .help = "answer with a table of comma-separated values"},
    {.name = "linear", .help = "answer in plain lines, label and value, for a screen reader"},
    {.name = "help", .help = "say what the command does"},
    {.name = "version", .help = "say which version this is"},
    {.name = NULL},
};

#define OWN_MOST      24
#define COMMANDS_MOST 16 /* that have an entity */

/* Made when first asked for, from constants only; the same ever after. */
static struct made {
    const struct pm_cli_command *command;
    struct pm_cli_option options[OWN_MOST + PM_ENTITY_MOST + 1];
    char names[PM_ENTITY_MOST][PM_OPTION_TEXT];
    char words[PM_ENTITY_MOST][PM_WORDS_TEXT];
} made[COMMANDS_MOST];

static const char *value_of(const struct pm_attribute *attribute)
{
    switch (attribute->kind) {
    case PM_ATTRIBUTE_MASS:
        return "MASS";
    case PM_ATTRIBUTE_STRENGTH:
        return "STRENGTH";
    case PM_ATTRIBUTE_DECIMAL:
        return "NUMBER";
    case PM_ATTRIBUTE_DAY:
        return "DATE";
    case PM_ATTRIBUTE_TIME:
        return "TIME";
    case PM_ATTRIBUTE_SPAN:
        return "SPAN";
    case PM_ATTRIBUTE_SHARE:
        return "SHARE";
    case PM_ATTRIBUTE_MONEY:
        return "PRICE";
    case PM_ATTRIBUTE_COUNT:
    case PM_ATTRIBUTE_LEVEL:
    case PM_ATTRIBUTE_CAS:
        return "N";
    case PM_ATTRIBUTE_CHOICE:
    case PM_ATTRIBUTE_FLAG:
        return "WORD";
    case PM_ATTRIBUTE_REFERENCE:
    case PM_ATTRIBUTE_NAMES:
        return "NAME";
    default:
        return "TEXT";
    }
}

static bool is_own(const struct made *list, size_t count, const char *name)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(list->options[i].name, name) == 0)
            return true;
    return false;
}

static bool is_offered(const struct pm_cli_command *command, const struct pm_attribute *attribute)
{
    return command->without == NULL || !pm_word_among(command->without, attribute->key);
}

static void make(struct made *list, const struct pm_cli_command *command)
{
    size_t count = 0;
    for (const struct pm_cli_option *o = command->options;
         o != NULL && o->name != NULL && count < OWN_MOST; o++)
        list->options[count++] = *o;
    const size_t own = count;
    for (size_t i = 0; i < command->entity->count && i < PM_ENTITY_MOST; i++) {
        const struct pm_attribute *attribute = &command->entity->attributes[i];
        const char *name = pm_attribute_option(attribute, list->names[i]);
        if (!is_offered(command, attribute) || is_own(list, own, name))
            continue;
        list->options[count++] =
            (struct pm_cli_option){.name = name,
                                   .value = value_of(attribute),
                                   .words = pm_attribute_words(attribute, list->words[i]),
                                   .help = attribute->help,
                                   .many = attribute->kind == PM_ATTRIBUTE_NAMES};
    }
    list->command = command;
}

const struct pm_cli_option *pm_cli_options(const struct pm_cli_command *command)
{
    if (command->entity == NULL)
        return command->options;
    for (size_t i = 0; i < COMMANDS_MOST; i++) {
        if (made[i].command == NULL)
            make(&made[i], command);
        if (made[i].command == command)
            return made[i].options;
    }
    return command->options;
}

/* Every value of the option, as the attribute reads several; NULL: not given. */
static const char *value_of_all(struct pm_cli *cli, const char *option)
{
    struct pm_text text = PM_TEXT_EMPTY;
    const char *value;
    size_t at = 0, count = 0;
    while ((value = pm_cli_next_value(cli, option, &at)) != NULL)
        pm_text_addf(&text, "%s%s", count++ > 0 ? "; " : "", value);
    value = count > 0 && pm_text_ok(&text) ? pm_arena_text(&cli->joined, pm_text_get(&text)) : NULL;
    cli->joined.failed = cli->joined.failed || !pm_text_ok(&text);
    pm_text_release(&text);
    return value;
}

size_t pm_cli_entity_values(struct pm_cli *cli, const char **values)
{
    const struct pm_entity *entity = cli->command->entity;
    size_t given = 0;
    char name[PM_OPTION_TEXT];
    for (size_t i = 0; i < entity->count; i++) {
        const struct pm_attribute *attribute = &entity->attributes[i];
        pm_attribute_option(attribute, name);
        values[i] = !is_offered(cli->command, attribute)    ? NULL
                    : attribute->kind == PM_ATTRIBUTE_NAMES ? value_of_all(cli, name)
                                                            : pm_cli_value(cli, name);
        given += values[i] != NULL;
    }
    return given;
}
