/* SPDX-License-Identifier: MIT */
/* The description of a balance; what happened to a filling. */
#include "permille/core/weighed.h"

#include "permille/base/word.h"

static const char *const events[] = {[PM_FILLING_FILTERED] = "filtered",
                                     [PM_FILLING_MATURED] = "matured",
                                     [PM_FILLING_FILTER_ON] = "filter on",
                                     [PM_FILLING_READY_ON] = "ready on"};

const char *pm_filling_event_word(enum pm_filling_event_kind kind)
{
    return events[kind];
}

bool pm_filling_event_from_word(const char *word, enum pm_filling_event_kind *out)
{
    const int place = pm_word_place(events, PM_FILLING_EVENT_KINDS, word);
    if (place >= 0)
        *out = (enum pm_filling_event_kind)place;
    return place >= 0;
}

void pm_filling_apply(struct pm_filling_row *row, const struct pm_filling_event *event)
{
    switch (event->kind) {
    case PM_FILLING_FILTERED:
        row->filtered_at = event->at;
        return;
    case PM_FILLING_MATURED:
        row->matured_at = event->at;
        return;
    case PM_FILLING_FILTER_ON:
        row->filter_on = event->day;
        row->filtered_at = 0;
        return;
    default:
        row->ready_on = event->day;
        row->matured_at = 0;
    }
}

#define AT(member) .offset = offsetof(struct pm_balance_row, member)

static const struct pm_attribute attributes[PM_BALANCE_ATTRIBUTES] = {
    [PM_BALANCE_NAME] = {.key = "name",
                         .json = "balance",
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
