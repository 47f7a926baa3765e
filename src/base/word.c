/* SPDX-License-Identifier: MIT */
/* Words with a fixed meaning: looking one up, and how near a mistyped one is. */
#include "permille/base/word.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#define LONGEST 255 /* bytes whose distance is worked out */

int pm_word_place(const char *const *words, size_t count, const char *word)
{
    for (size_t i = 0; word != NULL && i < count; i++)
        if (strcmp(words[i], word) == 0)
            return (int)i;
    return -1;
}

const char *pm_word_at(const char *words, int place, size_t *length)
{
    for (; *words != '\0'; place--) {
        const size_t here = strcspn(words, "|");
        if (place == 0) {
            *length = here;
            return words;
        }
        words += here;
        words += *words == '|';
    }
    return NULL;
}

int pm_word_place_among(const char *words, const char *word)
{
    const size_t length = strlen(word);
    size_t here;
    const char *at;
    for (int place = 0; (at = pm_word_at(words, place, &here)) != NULL; place++)
        if (here == length && memcmp(at, word, length) == 0)
            return place;
    return -1;
}

bool pm_word_among(const char *words, const char *word)
{
    return pm_word_place_among(words, word) >= 0;
}

static int least(int a, int b)
{
    return a < b ? a : b;
}

static bool same(char a, char b)
{
    return tolower((unsigned char)a) == tolower((unsigned char)b);
}

int pm_word_distance(const char *a, size_t a_length, const char *b, size_t b_length, int bound)
{
    if (a_length > LONGEST || b_length > LONGEST || abs((int)a_length - (int)b_length) > bound)
        return bound + 1;
    const int m = (int)a_length, n = (int)b_length;
    int rows[3][LONGEST + 1];
    int *before = rows[0], *above = rows[1], *row = rows[2];
    for (int j = 0; j <= n; j++)
        above[j] = j;
    for (int i = 1; i <= m; i++) {
        int best = row[0] = i;
        for (int j = 1; j <= n; j++) {
            const int replaced = same(a[i - 1], b[j - 1]) ? 0 : 1;
            row[j] = least(least(above[j] + 1, row[j - 1] + 1), above[j - 1] + replaced);
            if (i > 1 && j > 1 && same(a[i - 1], b[j - 2]) && same(a[i - 2], b[j - 1]))
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
    return least(above[n], bound + 1);
}

bool pm_same_text(const char *a, const char *b)
{
    if (a == NULL || b == NULL)
        return a == b;
    return strcmp(a, b) == 0;
}
