/* SPDX-License-Identifier: MIT */
/* A command and an option as help writes them (help.h). */
#include "help.h"

void pm_help_option(struct pm_text *out, const struct pm_cli_option *option)
{
    pm_text_addf(out, "--%s", option->name);
    if (option->value != NULL)
        pm_text_addf(out, " %s", option->words != NULL ? option->words : option->value);
}

void pm_help_synopsis(struct pm_text *out, const struct pm_cli_command *command)
{
    pm_text_add(out, command->name);
    if (command->operands[0] != '\0')
        pm_text_addf(out, " %s", command->operands);
    const struct pm_cli_option *option = pm_cli_options(command);
    for (; option != NULL && option->name != NULL; option++) {
        pm_text_add(out, " [");
        pm_help_option(out, option);
        pm_text_add(out, option->many ? "]..." : "]");
    }
    if (command->forms == (PM_CLI_JSON | PM_CLI_CSV))
        pm_text_add(out, " [--json | --csv]");
    else if (command->forms != 0)
        pm_text_add(out, command->forms == PM_CLI_JSON ? " [--json]" : " [--csv]");
}
