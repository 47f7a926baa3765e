/* SPDX-License-Identifier: MIT */
/*
 * What the commands on limits and on rules share.
 */
#ifndef PERMILLE_CLI_LIMITS_H
#define PERMILLE_CLI_LIMITS_H

#include "bench.h"

#include "permille/studio/limits.h"

#define PM_CLI_LIMIT_SCALE 7 /* of limits in 1e-9 as percent */

/* What a formula is judged for. */
#define PM_CLI_WISH_OPTIONS                                                                        \
    {.name = "dosage", .value = "P%", .help = "of the concentrate in the finished product"},       \
        {.name = "category", .value = "C", .help = "product category, 1 to 12, such as 4 or 5A"},  \
        {.name = "as",                                                                             \
         .value = "USE",                                                                           \
         .words = "fine fragrance|eau de toilette|fragrance cream",                                \
         .help = "what a product of category 4 is sold as"},                                       \
    {                                                                                              \
        .name = "ranges", .value = "END", .words = "most|typical",                                 \
        .help = "which figure of a constituent's range counts"                                     \
    }
enum pm_status pm_cli_limits_wish(struct pm_cli *cli, const struct pm_sheet *sheet,
                                  struct pm_limits_wish *out, struct pm_error *err);

#endif
