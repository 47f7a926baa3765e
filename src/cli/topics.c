/* SPDX-License-Identifier: MIT */
/* All commands, in the order of help (cli.h). */
#include "cli.h"

const struct pm_cli_topic *const pm_cli_topics[] = {
    &pm_cli_topic_help,
};
const size_t pm_cli_topic_count = sizeof pm_cli_topics / sizeof pm_cli_topics[0];
