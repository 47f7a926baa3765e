/* SPDX-License-Identifier: MIT */
/* The description of what a natural holds. */
#include "permille/core/constituent.h"

#define AT(member) .offset = offsetof(struct pm_constituent, member)

#define FIGURE_HINT "Percent; empty: unknown."
#define FIGURE_HELP "of the natural, by mass"

static const struct pm_attribute attributes[PM_CONSTITUENT_ATTRIBUTES] = {
    [PM_CONSTITUENT_NAME] = {.key = "name",
                             .json = "constituent",
                             .title = "Substance",
                             .called = "constituent's name",
                             .hint = "All three figures empty: it is taken out.",
                             .kind = PM_ATTRIBUTE_TEXT,
                             .required = true,
                             AT(name)},
    [PM_CONSTITUENT_CAS] = {.key = "cas",
                            .title = "CAS number",
                            .hint = "May stay empty.",
                            .help = "its CAS number",
                            .kind = PM_ATTRIBUTE_CAS,
                            AT(cas)},
    [PM_CONSTITUENT_LEAST] = {.key = "least",
                              .option = "at-least",
                              .title = "Least",
                              .brief = "at least",
                              .hint = FIGURE_HINT,
                              .help = FIGURE_HELP,
                              .kind = PM_ATTRIBUTE_STRENGTH,
                              .unknown = -1,
                              .may_be_0 = true,
                              AT(least)},
    [PM_CONSTITUENT_TYPICAL] = {.key = "typical",
                                .option = "typically",
                                .title = "Typical",
                                .brief = "typically",
                                .hint = FIGURE_HINT,
                                .help = FIGURE_HELP,
                                .kind = PM_ATTRIBUTE_STRENGTH,
                                .unknown = -1,
                                .may_be_0 = true,
                                AT(typical)},
    [PM_CONSTITUENT_MOST] = {.key = "most",
                             .option = "at-most",
                             .title = "Most",
                             .brief = "at most",
                             .hint = FIGURE_HINT,
                             .help = FIGURE_HELP,
                             .kind = PM_ATTRIBUTE_STRENGTH,
                             .unknown = -1,
                             .may_be_0 = true,
                             AT(most)},
    [PM_CONSTITUENT_SOURCE] = {.key = "source",
                               .title = "Source",
                               .hint = "An analysis, a data sheet; may stay empty.",
                               .help = "where the figures are from",
                               .kind = PM_ATTRIBUTE_TEXT,
                               AT(source)},
};
const struct pm_entity pm_constituent_entity = {"constituent", attributes,
                                                PM_CONSTITUENT_ATTRIBUTES};
