/* SPDX-License-Identifier: MIT */
/*
 * What the commands of the scale share: how it is weighed, and numbers of it.
 */
#ifndef PERMILLE_CLI_SCALE_H
#define PERMILLE_CLI_SCALE_H

#include "shelf.h"

#include "permille/studio/scale.h"

struct pm_listing;

/* The options of whatever makes a plan to weigh from. */
#define PM_CLI_HOW_OPTIONS                                                                         \
    {.name = "balance", .value = "NAME", .help = "this one, not the one in use"},                  \
        {.name = "readability", .value = "MASS", .help = "one step of the display"},               \
        {.name = "least",                                                                          \
         .value = "MASS",                                                                          \
         .help = "the smallest amount the balance is trusted with"},                               \
        {.name = "tolerance",                                                                      \
         .value = "PERCENT",                                                                       \
         .help = "of every weight, two standard uncertainties; as the settings say"},              \
        {.name = "order",                                                                          \
         .value = "WORD",                                                                          \
         .words = PM_WEIGH_ORDER_WORDS,                                                            \
         .help = "of pouring, solvents last; as the settings say"},                                \
        {.name = "as-it-is", .help = "without dilutions that would have to be made first"},        \
    {                                                                                              \
        .name = "cumulative", .help = "the display is not tared between pours"                     \
    }

/* What those options say. */
struct pm_weigh_how pm_cli_weigh_how(const struct pm_cli *cli);
/* What the balance does to `mass` of a sheet as it is written, as the answer. */
enum pm_status pm_cli_weigh_budget(struct pm_cli *cli, const struct pm_sheet *sheet, pm_mass mass,
                                   const struct pm_weigh_how *how, struct pm_error *err);

/* A relative number as percent scaled by 1e7, as strengths are. */
int64_t pm_cli_percent(double share);
/* A share of an uncertainty budget, 0..1, as percent scaled by 1e12: beside traces those of what is
 * heavy are minute, and must not look like nothing. */
#define PM_CLI_SHARE_SCALE 12
int64_t pm_cli_share(double share);
/* The unit of numbers of so many decimals of a gram, 0..6, in micrograms. */
pm_mass pm_cli_grams_unit(int places);
/* The accords that a weight comes from: keys of its JSON, and the cells of PM_CLI_WHENCE_COLUMNS.
 */
void pm_cli_put_whence(struct pm_json *json, const struct pm_weigh_whence *whence);
void pm_cli_add_whence(struct pm_listing *table, const struct pm_weigh_whence *whence);
#define PM_CLI_WHENCE_COLUMNS                                                                      \
    {.key = "made_up_of", .kind = PM_LISTING_TEXT}, {.key = "accords", .kind = PM_LISTING_TEXT},   \
    {                                                                                              \
        .title = "accord", .kind = PM_LISTING_TEXT                                                 \
    }

/* The batch whose number is the first operand, in the library, which is opened. */
enum pm_status pm_cli_open_batch(struct pm_cli *cli, int64_t *id, struct pm_error *err);
/* The sentence, and with --json the batch of a record that is read. */
void pm_cli_tell_record(struct pm_cli *cli, const struct pm_batch_record *record,
                        const char *sentence);
/* Which weight is next, if one is. */
void pm_cli_say_next(struct pm_cli *cli, const struct pm_batch_record *record);

#endif
