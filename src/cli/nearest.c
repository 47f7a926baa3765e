/* SPDX-License-Identifier: MIT */
/* The nearest of several words (parse.h), for suggestions. */
#include "parse.h"

#include "permille/base/word.h"

#include <string.h>

void pm_cli_nearest_init(struct pm_cli_nearest *nearest, const char *word)
{
    /* One slip in three letters is taken for a slip; more, and it was another word. */
    *nearest = (struct pm_cli_nearest){.word = word, .distance = (int)(strlen(word) / 3) + 2};
}

void pm_cli_nearest_offer(struct pm_cli_nearest *nearest, const char *candidate, size_t length)
{
    const int distance = pm_word_distance(nearest->word, strlen(nearest->word), candidate, length,
                                          nearest->distance - 1);
    if (distance < nearest->distance) {
        nearest->distance = distance;
        nearest->best = candidate;
        nearest->best_length = length;
    }
}
