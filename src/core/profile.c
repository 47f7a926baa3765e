/* SPDX-License-Identifier: MIT */
#include "permille/core/profile.h"

#include "permille/base/utf8.h"

#include <string.h>

static const char *const kinds[] = {"family", "volatility"};

const char *pm_profile_kind_word(enum pm_profile_kind kind)
{
    return kinds[kind];
}

bool pm_profile_kind_from_word(const char *word, enum pm_profile_kind *out)
{
    for (int k = 0; k < PM_PROFILE_KINDS; k++)
        if (strcmp(word, kinds[k]) == 0) {
            *out = (enum pm_profile_kind)k;
            return true;
        }
    return false;
}

const char *pm_ceiling_word(enum pm_ceiling_verdict verdict)
{
    static const char *const words[] = {"", "within", "unknown", "over"};
    return words[verdict];
}

/* The ceiling that counts for a name in a formula: its own before the one for every formula; case
 * and accents are ignored. NULL when there is none. */
static const struct pm_ceiling *ceiling_for(const struct pm_ceilings *ceilings, int64_t formula,
                                            enum pm_profile_kind kind, const char *name)
{
    const struct pm_ceiling *general = NULL;
    for (size_t i = 0; i < ceilings->count; i++) {
        const struct pm_ceiling *ceiling = &ceilings->items[i];
        if (ceiling->kind != kind || !pm_fold_equal(ceiling->name, name))
            continue;
        if (ceiling->formula == formula)
            return ceiling;
        if (ceiling->formula == 0)
            general = ceiling;
    }
    return general;
}

/* amount / whole in 1e-12, rounded down, and what is left over; in two steps, since a factor of
 * 1e12 would not fit beside amounts of 2^96. */
static int64_t share_below(pm_int128 amount, pm_int128 whole, pm_int128 *rest)
{
    enum { STEP = 1000000 };
    const pm_int128 first = amount * STEP, second = first % whole * STEP;
    *rest = second % whole;
    return (int64_t)(first / whole * STEP + second / whole);
}

static bool is_above(pm_int128 amount, pm_int128 whole, int64_t most)
{
    pm_int128 rest;
    const int64_t share = share_below(amount, whole, &rest);
    return share > most || (share == most && rest > 0);
}

static int64_t share_of(pm_int128 amount, pm_int128 whole)
{
    pm_int128 rest;
    const int64_t share = share_below(amount, whole, &rest);
    return share + (rest * 2 >= whole);
}

static enum pm_ceiling_verdict verdict_of(const struct pm_profile_group *group, pm_int128 unknown,
                                          pm_int128 whole)
{
    if (group->ceiling == NULL)
        return PM_CEILING_NONE;
    if (is_above(group->amount, whole, group->ceiling->most))
        return PM_CEILING_OVER;
    return is_above(group->amount + unknown, whole, group->ceiling->most) ? PM_CEILING_UNKNOWN
                                                                          : PM_CEILING_WITHIN;
}

size_t pm_profile_judge(struct pm_profile_group *groups, size_t count, int64_t formula,
                        const struct pm_ceilings *ceilings)
{
    pm_int128 whole = 0, unknown = 0;
    size_t over = 0;
    for (size_t i = 0; i < count; i++) {
        whole += groups[i].amount;
        unknown += groups[i].name == NULL ? groups[i].amount : 0;
    }
    for (size_t i = 0; i < count; i++) {
        struct pm_profile_group *group = &groups[i];
        group->share = whole > 0 ? share_of(group->amount, whole) : 0;
        group->ceiling =
            group->name != NULL ? ceiling_for(ceilings, formula, group->kind, group->name) : NULL;
        group->verdict = whole > 0 ? verdict_of(group, unknown, whole) : PM_CEILING_NONE;
        over += group->verdict == PM_CEILING_OVER;
    }
    return over;
}
