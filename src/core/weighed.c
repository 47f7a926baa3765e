/* SPDX-License-Identifier: MIT */
/* The description of a balance. */
#include "permille/core/weighed.h"

#define AT(member) .offset = offsetof(struct pm_balance_row, member)

static const struct pm_attribute attributes[PM_BALANCE_ATTRIBUTES] = {
    [PM_BALANCE_NAME] = {.key = "name",
                         .title = "Name",
                         .hint = "What you call it.",
                         .help = "what it is called from now on",
                         .kind = PM_ATTRIBUTE_TEXT,
                         .required = true,
                         AT(name)},
    [PM_BALANCE_READABILITY] = {.key = "readability",
                                .title = "Readability",
                                .hint = "One step of its display: 0.01 g.",
                                .help = "one step of its display",
                                .kind = PM_ATTRIBUTE_MASS,
                                .required = true,
                                AT(is.readability)},
    [PM_BALANCE_REPEATABILITY] =
        {.key = "repeatability",
         .title = "Repeatability",
         .hint = "Standard deviation of ten weighings of the same thing; empty: not measured.",
         .help = "standard deviation of repeated weighings",
         .kind = PM_ATTRIBUTE_MASS,
         AT(is.repeatability)},
    [PM_BALANCE_LEAST] = {.key = "least",
                          .title = "Smallest",
                          .hint = "The smallest amount you trust it with; empty: by the rule.",
                          .help = "the smallest amount it is trusted with",
                          .kind = PM_ATTRIBUTE_MASS,
                          AT(is.least)},
    [PM_BALANCE_CAPACITY] = {.key = "capacity",
                             .title = "Capacity",
                             .hint = "With the beaker on it; empty: unknown.",
                             .help = "the most it can weigh",
                             .kind = PM_ATTRIBUTE_MASS,
                             AT(is.capacity)},
};
const struct pm_entity pm_balance_entity = {"balance", attributes, PM_BALANCE_ATTRIBUTES};
