/* SPDX-License-Identifier: MIT */
/*
 * Folding names for a search and walking them for the screen, per name; next to strlen over the
 * same names in the same run.
 */
#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <stdio.h>
#include <string.h>
#include <time.h>

enum { ROUNDS = 20000 };

static const char *const plain[] = {"Methyl dihydrojasmonate", "alpha-Isomethyl ionone", "Linalool",
                                    "Clary sage oil", "Benzoin resinoid"};
static const char *const accented[] = {"Vétiver Haïti", "β–pinene", "Ylang-ylang IIIᵉ",
                                       "Ångström Øl", "Œillet absolu"};
static const char *const wide[] = {"香水の材料", "Ἄρωμα ῥόδου", "Ёлка сибирская", "🌹 rose accord",
                                   "한국 소나무"};

static double now(void)
{
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec * 1e9 + (double)time.tv_nsec;
}

static volatile size_t sink;

static void fold(const char *name)
{
    char *folded = pm_fold(name);
    sink += folded != NULL ? strlen(folded) : 0;
    pm_free(folded);
}

static void cells(const char *name)
{
    sink += pm_utf8_cells(name);
}

static void length(const char *name)
{
    sink += strlen(name);
}

static void measure(const char *what, void (*work)(const char *), const char *const names[5])
{
    double start = now();
    for (int round = 0; round < ROUNDS; round++)
        for (int i = 0; i < 5; i++)
            work(names[i]);
    printf("%-44s %8.0f ns\n", what, (now() - start) / (5.0 * ROUNDS));
}

int main(void)
{
    measure("strlen, plain names", length, plain);
    measure("fold, plain names", fold, plain);
    measure("fold, accented names", fold, accented);
    measure("fold, other scripts", fold, wide);
    measure("cells, plain names", cells, plain);
    measure("cells, accented names", cells, accented);
    measure("cells, other scripts", cells, wide);
    return 0;
}
