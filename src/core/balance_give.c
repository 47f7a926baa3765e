/* SPDX-License-Identifier: MIT */
/* Who gives way, and how much: a total apportioned by weights (balance_units.h). */
#include "balance_units.h"

bool pm_gives(const struct pm_givers *who, const struct pm_balancing *sheet, size_t u)
{
    const struct pm_free_unit *unit = &sheet->units[u];
    if (u == who->except || unit->resting || (unit->held && !who->held_too))
        return false;
    return !who->cores_only || unit->lines > 1;
}

static void count_givers(struct pm_givers *who, const struct pm_balancing *sheet)
{
    who->able = false;
    who->have = 0;
    for (size_t u = 0; u < sheet->count; u++) {
        if (pm_gives(who, sheet, u)) {
            const struct pm_free_unit *unit = &sheet->units[u];
            who->able = who->able || !pm_weight_none(unit->share) || unit->was > 0;
            who->have += unit->was;
        }
    }
}

struct pm_givers pm_givers_choose(const struct pm_balancing *sheet, size_t except)
{
    struct pm_givers who = {.except = except, .cores_only = sheet->trial->mode == PM_CORE_MODE};
    count_givers(&who, sheet);
    if (who.cores_only && !who.able) {
        who.cores_only = false;
        count_givers(&who, sheet);
    }
    return who;
}

static struct pm_weight weight_of(const struct pm_balancing *sheet, const struct pm_free_unit *unit)
{
    return unit->held && pm_weight_none(unit->share) ? pm_unit_worth(sheet, unit->was)
                                                     : unit->share;
}

/* Apportions `total` over the givers by their shares; returns what they weigh together. */
static struct pm_weight share_out(struct pm_balancing *sheet, const struct pm_givers *who,
                                  pm_parts total)
{
    size_t count = 0;
    int64_t unit = 0;
    for (size_t u = 0; u < sheet->count; u++)
        if (pm_gives(who, sheet, u))
            sheet->weights[count++] = weight_of(sheet, &sheet->units[u]);
    pm_wide sum = pm_weight_align(sheet->weights, count, total, sheet->aligned, &unit);
    pm_apportion_wide(sheet->aligned, count, sum, total, sheet->shares, sheet->rest);
    count = 0;
    for (size_t u = 0; u < sheet->count; u++)
        if (pm_gives(who, sheet, u))
            sheet->units[u].now = sheet->shares[count++];
    return pm_weight_make(sum, unit);
}

void pm_givers_give(struct pm_balancing *sheet, const struct pm_givers *who, pm_parts total)
{
    struct pm_weight sum = share_out(sheet, who, total);
    if (!who->cores_only) {
        if (total > 0)
            sheet->scale = pm_weight_over(sum, pm_weight_of(total));
        return;
    }
    struct pm_weight wanted = pm_unit_worth(sheet, total);
    for (size_t u = 0; u < sheet->count; u++) {
        struct pm_free_unit *unit = &sheet->units[u];
        if (pm_gives(who, sheet, u))
            pm_unit_reshare(unit, pm_weight_over(pm_weight_times(unit->share, wanted), sum));
    }
}

pm_parts pm_givers_least(const struct pm_balancing *sheet, const struct pm_givers *who)
{
    size_t count = 0;
    struct pm_weight lightest = {0, 0}; /* of the single lines */
    struct pm_weight dearest = {0, 0};  /* of the cores: the most a least amount is per weight */
    for (size_t u = 0; u < sheet->count; u++) {
        const struct pm_free_unit *unit = &sheet->units[u];
        if (!pm_gives(who, sheet, u))
            continue;
        struct pm_weight weight = weight_of(sheet, unit);
        sheet->weights[count++] = weight;
        if (pm_weight_none(weight) || !pm_unit_all_there(sheet, unit))
            continue;
        if (unit->lines == 1) {
            bool lighter = pm_weight_none(lightest) || pm_weight_compare(weight, lightest) < 0;
            lightest = lighter ? weight : lightest;
        } else {
            struct pm_core_ratio ratio = pm_unit_ratio(sheet, unit);
            struct pm_weight each = pm_weight_over(pm_unit_least(&ratio), weight);
            dearest = pm_weight_compare(each, dearest) > 0 ? each : dearest;
        }
    }
    struct pm_weight sum = pm_weight_sum(sheet->weights, count);
    pm_parts cores = pm_weight_ceil(pm_weight_times(sum, dearest));
    pm_parts singles = pm_weight_none(lightest) ? 0 : pm_weight_ceil(pm_weight_over(sum, lightest));
    return cores > singles ? cores : singles;
}

struct pm_givers pm_givers_all(const struct pm_balancing *sheet)
{
    struct pm_givers who = {.except = PM_NO_PLACE, .held_too = true};
    count_givers(&who, sheet);
    return who;
}

const char *pm_parts_exact(pm_parts parts, char *buf)
{
    return pm_decimal_exact(parts, 6, '.', buf);
}

enum pm_status pm_units_check(const struct pm_balancing *sheet, struct pm_error *err)
{
    for (size_t i = 0; i < sheet->trial->count; i++)
        if (sheet->parts[i] > PM_PARTS_MAX)
            return pm_fail(err, PM_INVALID, "A line would exceed a million parts.");
    return PM_OK;
}
