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
} made[COMMANDS_MOST];

static const char *value_of(const struct pm_attribute *attribute)
{
    switch (attribute->kind) {
    case PM_ATTRIBUTE_MASS:
        return "MASS";
    case PM_ATTRIBUTE_STRENGTH:
        return "STRENGTH";
    case PM_ATTRIBUTE_DAY:
        return "DATE";
    case PM_ATTRIBUTE_TIME:
    case PM_ATTRIBUTE_SPAN:
        return "TIME";
    case PM_ATTRIBUTE_MONEY:
        return "PRICE";
    case PM_ATTRIBUTE_COUNT:
    case PM_ATTRIBUTE_LEVEL:
        return "N";
    case PM_ATTRIBUTE_CHOICE:
    case PM_ATTRIBUTE_FLAG:
        return "WORD";
    case PM_ATTRIBUTE_REFERENCE:
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
        list->options[count++] = (struct pm_cli_option){
            .name = name,
            .value = value_of(attribute),
            .words = attribute->kind == PM_ATTRIBUTE_CHOICE ? attribute->choices : NULL,
            .help = attribute->help};
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

size_t pm_cli_entity_values(const struct pm_cli *cli, const char **values)
{
    const struct pm_entity *entity = cli->command->entity;
    size_t given = 0;
    char name[PM_OPTION_TEXT];
    for (size_t i = 0; i < entity->count; i++) {
        const struct pm_attribute *attribute = &entity->attributes[i];
        values[i] = is_offered(cli->command, attribute)
                        ? pm_cli_value(cli, pm_attribute_option(attribute, name))
                        : NULL;
        given += values[i] != NULL;
    }
    return given;
}
