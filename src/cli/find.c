/* SPDX-License-Identifier: MIT */
/* Looking commands up (parse.h). */
#include "parse.h"

#include <string.h>

const struct pm_cli_command *pm_cli_command_at(const struct pm_cli_topics *topics, size_t n)
{
    for (size_t t = 0; t < topics->count; n -= topics->items[t]->count, t++)
        if (n < topics->items[t]->count)
            return &topics->items[t]->commands[n];
    return NULL;
}

const struct pm_cli_command *pm_cli_find(const struct pm_cli_topics *topics, const char *name)
{
    const struct pm_cli_command *command;
    for (size_t n = 0; (command = pm_cli_command_at(topics, n)) != NULL; n++)
        if (strcmp(command->name, name) == 0)
            return command;
    return NULL;
}

const struct pm_cli_command *pm_cli_find_pair(const struct pm_cli_topics *topics, const char *first,
                                              const char *second)
{
    const struct pm_cli_command *command;
    const size_t length = strlen(first);
    for (size_t n = 0; (command = pm_cli_command_at(topics, n)) != NULL; n++)
        if (strncmp(command->name, first, length) == 0 && command->name[length] == ' ' &&
            strcmp(command->name + length + 1, second) == 0)
            return command;
    return NULL;
}

bool pm_cli_is_group(const struct pm_cli_topics *topics, const char *word)
{
    const struct pm_cli_command *command;
    const size_t length = strlen(word);
    for (size_t n = 0; (command = pm_cli_command_at(topics, n)) != NULL; n++)
        if (strncmp(command->name, word, length) == 0 && command->name[length] == ' ')
            return true;
    return false;
}
