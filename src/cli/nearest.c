/* SPDX-License-Identifier: MIT */
/* The nearest of several words (parse.h), for suggestions. */
#include "parse.h"

#include <ctype.h>
#include <string.h>

#define LONGEST 32 /* longer words than any of ours are not compared */

static size_t least(size_t a, size_t b)
{
    return a < b ? a : b;
}

/* Optimal string alignment distance (Damerau 1964, restricted): insert, delete, replace, and
 * exchange of neighbours count one each. Case does not count. */
static size_t distance_between(const char *a, size_t m, const char *b, size_t n)
{
    size_t rows[3][LONGEST + 1]; /* before the last, last, present */

    for (size_t j = 0; j <= n; j++)
        rows[1][j] = j;
    for (size_t i = 1; i <= m; i++) {
        const int x = tolower((unsigned char)a[i - 1]);
        rows[2][0] = i;
        for (size_t j = 1; j <= n; j++) {
            const int y = tolower((unsigned char)b[j - 1]);
            size_t d = least(rows[1][j], rows[2][j - 1]) + 1;
            d = least(d, rows[1][j - 1] + (x == y ? 0 : 1));
            if (i > 1 && j > 1 && x == tolower((unsigned char)b[j - 2]) &&
                y == tolower((unsigned char)a[i - 2]))
                d = least(d, rows[0][j - 2] + 1);
            rows[2][j] = d;
        }
        memcpy(rows[0], rows[1], sizeof rows[0]);
        memcpy(rows[1], rows[2], sizeof rows[1]);
    }
    return rows[1][n];
}

void pm_cli_nearest_init(struct pm_cli_nearest *nearest, const char *word)
{
    /* One slip in three letters is taken for a slip; more, and it was another word. */
    *nearest = (struct pm_cli_nearest){.word = word, .distance = strlen(word) / 3 + 2};
}

void pm_cli_nearest_offer(struct pm_cli_nearest *nearest, const char *candidate, size_t length)
{
    const size_t own = strlen(nearest->word);
    if (own > LONGEST || length > LONGEST)
        return;
    const size_t distance = distance_between(nearest->word, own, candidate, length);
    if (distance < nearest->distance) {
        nearest->distance = distance;
        nearest->best = candidate;
        nearest->best_length = length;
    }
}
