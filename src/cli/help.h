/* SPDX-License-Identifier: MIT */
/*
 * What can be said about the commands, all made from the table: help, the manual page, and the
 * shells' completions.
 */
#ifndef PERMILLE_CLI_HELP_H
#define PERMILLE_CLI_HELP_H

#include "cli.h"

/* "add F MATERIAL PARTS [--at STRENGTH] [--in SOLVENT] [--json]" */
void pm_help_synopsis(struct pm_text *out, const struct pm_cli_command *command);
/* "--at STRENGTH" */
void pm_help_option(struct pm_text *out, const struct pm_cli_option *option);

/* permille.1 in the man macros. editor: the front's actions, or "". */
void pm_help_manual(struct pm_text *out, const struct pm_cli_topics *topics, const char *editor);

/* Completion for "bash", "zsh" or "fish". */
void pm_help_completion(struct pm_text *out, const char *shell);

#endif
