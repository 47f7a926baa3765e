/* SPDX-License-Identifier: MIT */
/* Small things that the files about blind tests share (blinding.h). */
#include "blinding.h"

#include <string.h>

size_t pm_servings_find(const struct pm_servings *servings, int code)
{
    for (size_t i = 0; code != 0 && i < servings->count; i++)
        if (servings->items[i].code == code)
            return i;
    return SIZE_MAX;
}

size_t pm_blind_block(enum pm_panel_kind kind, size_t samples)
{
    switch (kind) {
    case PM_TRIANGLE:
        return 6;
    case PM_DUO_TRIO:
        return 4;
    case PM_PAIRED:
    case PM_PAIRED_TWO_SIDED:
        return 2;
    case PM_RANKING:
        break;
    }
    return samples % 2 == 0 ? samples : 2 * samples;
}

bool pm_blind_few(enum pm_panel_kind kind, int64_t answers, double alpha)
{
    if (kind == PM_RANKING)
        return answers < PM_RANKING_FEW;
    return pm_panel_power(kind, (int)answers, alpha, 0.5) < 0.8;
}

int pm_codes_next(const char **text, bool *tied)
{
    const char *at = *text;
    *tied = false;
    for (; *at == ' ' || *at == '\t' || *at == ',' || *at == '='; at++)
        *tied = *tied || *at == '=';
    if (*at == '\0') {
        *text = at;
        return 0;
    }
    const size_t digits = strspn(at, "0123456789");
    if (digits != 3 || strchr(" \t,=", at[3]) == NULL || at[0] == '0')
        return -1;
    *text = at + 3;
    return (at[0] - '0') * 100 + (at[1] - '0') * 10 + (at[2] - '0');
}
