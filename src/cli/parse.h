/* SPDX-License-Identifier: MIT */
/*
 * Reading the words of a command line into struct pm_cli.
 *
 * Options may stand anywhere, also before the command; "--" ends them. "--name value" and
 * "--name=value" mean the same; "-h" is "--help". A word like "-5" or "-.5" is an operand: amounts
 * may say "less".
 */
#ifndef PERMILLE_CLI_PARSE_H
#define PERMILLE_CLI_PARSE_H

#include "cli.h"

/* Fills command, operands, given and form. argv's strings are borrowed. PM_INVALID with a sentence
 * (and a suggestion, where one is near) for wrong usage; command is then set when it was
 * recognised. PM_NOMEM. */
enum pm_status pm_cli_parse(struct pm_cli *cli, int argc, const char *const *argv,
                            struct pm_error *err);
/* Number of operands and the form asked for against what the command takes. PM_INVALID. */
enum pm_status pm_cli_check(struct pm_cli *cli, struct pm_error *err);

/* The command of that name ("material add"), or NULL; that of two words. */
const struct pm_cli_command *pm_cli_find(const struct pm_cli_topics *topics, const char *name);
const struct pm_cli_command *pm_cli_find_pair(const struct pm_cli_topics *topics, const char *first,
                                              const char *second);
/* Whether commands of two words begin with this one. */
bool pm_cli_is_group(const struct pm_cli_topics *topics, const char *word);

/* The nearest of several words to one that was mistyped. */
struct pm_cli_nearest {
    const char *word;
    const char *best; /* borrowed, best_length bytes; NULL while nothing is near enough */
    size_t best_length;
    int distance;
};
void pm_cli_nearest_init(struct pm_cli_nearest *nearest, const char *word);
void pm_cli_nearest_offer(struct pm_cli_nearest *nearest, const char *candidate, size_t length);

#endif
