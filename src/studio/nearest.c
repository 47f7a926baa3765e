/* SPDX-License-Identifier: MIT */
/*
 * The nearest name to one that was not found. Distances are over folded bytes: names are nearly
 * always Latin letters after folding, and a suggestion may be a little off for others.
 */
#include "inside.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/base/word.h"

#include <stdio.h>
#include <string.h>

bool pm_nearest_init(struct pm_nearest *nearest, const char *wanted)
{
    nearest->wanted = pm_fold(wanted);
    nearest->best = NULL;
    size_t length = nearest->wanted != NULL ? strlen(nearest->wanted) : 0;
    int bound = length <= 3 ? 1 : length <= 7 ? 2 : 3;
    nearest->distance = bound + 1;
    return nearest->wanted != NULL;
}

void pm_nearest_release(struct pm_nearest *nearest)
{
    pm_free(nearest->wanted);
    pm_free(nearest->best);
    nearest->wanted = nearest->best = NULL;
}

void pm_nearest_offer(struct pm_nearest *nearest, const char *name, const char *shown)
{
    if (nearest->wanted == NULL || nearest->distance == 0)
        return;
    char *folded = pm_fold(name);
    if (folded == NULL)
        return;
    int distance = pm_word_distance(nearest->wanted, strlen(nearest->wanted), folded,
                                    strlen(folded), nearest->distance - 1);
    pm_free(folded);
    if (distance >= nearest->distance)
        return;
    char *best = pm_strdup(shown);
    if (best == NULL)
        return;
    pm_free(nearest->best);
    nearest->best = best;
    nearest->distance = distance;
}

const char *pm_nearest_hint(const struct pm_nearest *nearest, char *buffer, size_t size)
{
    if (nearest->best != NULL)
        snprintf(buffer, size, "; did you mean \"%s\"?", nearest->best);
    else
        snprintf(buffer, size, ".");
    return buffer;
}
