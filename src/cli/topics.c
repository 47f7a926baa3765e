/* SPDX-License-Identifier: MIT */
/* All commands, in the order of help (cli.h). */
#include "cli.h"

static const struct pm_cli_topic *const topics[] = {
    &pm_cli_topic_formulas, &pm_cli_topic_lines,    &pm_cli_topic_total,   &pm_cli_topic_show,
    &pm_cli_topic_trials,   &pm_cli_topic_compare,  &pm_cli_topic_smell,   &pm_cli_topic_panel,
    &pm_cli_topic_limits,   &pm_cli_topic_rules,    &pm_cli_topic_profile, &pm_cli_topic_drydown,
    &pm_cli_topic_series,   &pm_cli_topic_material, &pm_cli_topic_bottle,  &pm_cli_topic_stock,
    &pm_cli_topic_shelf,    &pm_cli_topic_weigh,    &pm_cli_topic_batch,   &pm_cli_topic_rescue,
    &pm_cli_topic_filling,  &pm_cli_topic_due,      &pm_cli_topic_balance, &pm_cli_topic_inout,
    &pm_cli_topic_library,  &pm_cli_topic_settings, &pm_cli_topic_keys,    &pm_cli_topic_names,
    &pm_cli_topic_complete, &pm_cli_topic_help,
};
const struct pm_cli_topics pm_cli_all_topics = {topics, sizeof topics / sizeof topics[0]};
