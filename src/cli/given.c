/* SPDX-License-Identifier: MIT */
/* What a command was given (cli.h). */
#include "cli.h"

#include <string.h>

const bool pm_cli_yes = true, pm_cli_no = false;

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
