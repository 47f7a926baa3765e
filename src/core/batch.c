/* SPDX-License-Identifier: MIT */
/* Batches: their words and their description. */
#include "permille/core/batch.h"

#include "permille/base/word.h"

static const char *const states[] = {
    [PM_BATCH_PLANNED] = "planned",   [PM_BATCH_STARTED] = "started",
    [PM_BATCH_PAUSED] = "paused",     [PM_BATCH_FINISHED] = "finished",
    [PM_BATCH_GIVEN_UP] = "given up", [PM_BATCH_NOTE] = "note",
};

const char *pm_batch_word(enum pm_batch_state state)
{
    return states[state];
}

bool pm_batch_from_word(const char *word, enum pm_batch_state *out)
{
    const int place = pm_word_place(states, sizeof states / sizeof states[0], word);
    if (place >= 0)
        *out = (enum pm_batch_state)place;
    return place >= 0;
}

bool pm_batch_over(enum pm_batch_state state)
{
    return state == PM_BATCH_FINISHED || state == PM_BATCH_GIVEN_UP;
}

#define AT(member) .offset = offsetof(struct pm_batch, member)

static const struct pm_attribute attributes[PM_BATCH_ATTRIBUTES] = {
    [PM_BATCH_OF_TRIAL] = {.key = "trial",
                           .title = "Of",
                           .hint = "A kept trial, Name/3: part of the name, then Tab.",
                           .kind = PM_ATTRIBUTE_REFERENCE,
                           .choices = "trial",
                           .required = true,
                           AT(trial),
                           .beside = offsetof(struct pm_batch, title)},
    [PM_BATCH_OF_MASS] =
        {.key = "mass", .title = "How much", .kind = PM_ATTRIBUTE_MASS, .required = true, AT(mass)},
    [PM_BATCH_OF_DAY] = {.key = "day",
                         .title = "When",
                         .help = "when it is meant to be weighed",
                         .hint = "A day; empty: some time.",
                         .kind = PM_ATTRIBUTE_DAY,
                         .unknown = PM_NO_DAY,
                         AT(day)},
    [PM_BATCH_OF_NOTE] = {.key = "note",
                          .title = "Note",
                          .help = "anything worth knowing",
                          .kind = PM_ATTRIBUTE_NOTE,
                          .limit = 65536,
                          AT(note)},
};
const struct pm_entity pm_batch_entity = {"batch", attributes, PM_BATCH_ATTRIBUTES};
