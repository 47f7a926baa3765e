/* SPDX-License-Identifier: MIT */
/* Words of the smell log. */
#include "permille/core/smelled.h"

#include "permille/base/word.h"

static const char *const medium_words[PM_MEDIA] = {"blotter", "skin", "other"};

const char *pm_medium_word(enum pm_medium medium)
{
    return medium_words[medium];
}

bool pm_medium_from_word(const char *word, enum pm_medium *out)
{
    const int place = pm_word_place(medium_words, PM_MEDIA, word);
    if (place >= 0)
        *out = (enum pm_medium)place;
    return place >= 0;
}
