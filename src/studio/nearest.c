/* SPDX-License-Identifier: MIT */
/*
 * The nearest name to one that was not found. Distances are over folded bytes: names are nearly
 * always Latin letters after folding, and a suggestion may be a little off for others.
 */
#include "inside.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define LONGEST 255 /* bytes; longer names are never suggested */

static int least(int a, int b)
{
    return a < b ? a : b;
}

int pm_edit_distance(const char *a, const char *b, int bound)
{
    int m = (int)strnlen(a, LONGEST + 1);
    int n = (int)strnlen(b, LONGEST + 1);
    if (m > LONGEST || n > LONGEST || abs(m - n) > bound)
        return bound + 1;
    int rows[3][LONGEST + 1];
    int *before = rows[0], *above = rows[1], *row = rows[2];
    for (int j = 0; j <= n; j++)
        above[j] = j;
    for (int i = 1; i <= m; i++) {
        int best = row[0] = i;
        for (int j = 1; j <= n; j++) {
            int same = a[i - 1] == b[j - 1] ? 0 : 1;
            row[j] = least(least(above[j] + 1, row[j - 1] + 1), above[j - 1] + same);
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
                row[j] = least(row[j], before[j - 2] + 1);
            best = least(best, row[j]);
        }
        if (best > bound)
            return bound + 1;
        int *spent = before;
        before = above;
        above = row;
        row = spent;
    }
    return above[n] > bound ? bound + 1 : above[n];
}

bool pm_nearest_init(struct pm_nearest *nearest, const char *wanted)
{
    nearest->wanted = pm_fold(wanted);
    nearest->best = NULL;
    size_t length = nearest->wanted ? strlen(nearest->wanted) : 0;
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
    if (!nearest->wanted || nearest->distance == 0)
        return;
    char *folded = pm_fold(name);
    if (!folded)
        return;
    int distance = pm_edit_distance(nearest->wanted, folded, nearest->distance - 1);
    pm_free(folded);
    if (distance >= nearest->distance)
        return;
    char *best = pm_strdup(shown);
    if (!best)
        return;
    pm_free(nearest->best);
    nearest->best = best;
    nearest->distance = distance;
}

const char *pm_nearest_hint(const struct pm_nearest *nearest, char *buffer, size_t size)
{
    if (nearest->best)
        snprintf(buffer, size, "; did you mean \"%s\"?", nearest->best);
    else
        snprintf(buffer, size, ".");
    return buffer;
}
