/* SPDX-License-Identifier: MIT */
/*
 * Re-balancing in units. Parts are exact integers, shared out by weights; a unit that is not
 * concerned keeps its parts and its share to the last digit.
 */
#include "balance_units.h"

#include "permille/base/mem.h"

#include <string.h>

#define COUNT_MAX ((size_t)1 << 24) /* lines for which weights align well enough */

/* One pass: what every keystroke pays for. */
static void group_units(struct pm_balancing *sheet)
{
    const struct pm_trial *trial = sheet->trial;
    struct pm_free_unit *units = sheet->units;
    uint32_t last_of_core[PM_CORE_MAX + 1];
    memset(last_of_core, 0xff, sizeof last_of_core); /* PM_NO_NEXT */
    uint32_t count = 0;
    for (uint32_t i = 0; i < (uint32_t)trial->count; i++) {
        const struct pm_line *line = &trial->lines[i];
        uint32_t last = line->core == 0 ? PM_NO_NEXT : last_of_core[line->core];
        if (last == PM_NO_NEXT) {
            units[count] = (struct pm_free_unit){.was = line->parts,
                                                 .now = line->parts,
                                                 .share = line->share,
                                                 .first = i,
                                                 .lines = 1,
                                                 .held = line->stance == PM_HELD,
                                                 .resting = line->stance == PM_RESTING};
            sheet->unit_of[i] = count++;
        } else {
            struct pm_free_unit *unit = &units[sheet->unit_of[last]];
            unit->was += line->parts;
            unit->now += line->parts;
            unit->share = pm_weight_plus(unit->share, line->share);
            unit->lines++;
            sheet->next[last] = i;
            sheet->unit_of[i] = sheet->unit_of[last];
        }
        last_of_core[line->core] = i;
        sheet->next[i] = PM_NO_NEXT;
        sheet->parts[i] = line->parts;
        sheet->total += line->parts;
        if (line->stance == PM_CARRIER)
            sheet->carrier = i;
    }
    sheet->count = count;
}

enum pm_status pm_balance_open(struct pm_balancing *sheet, const struct pm_trial *trial,
                               struct pm_error *err)
{
    *sheet = (struct pm_balancing){
        .trial = trial, .scale = trial->scale, .carrier = PM_NO_PLACE, .fixed = PM_NO_PLACE};
    size_t count = trial->count;
    size_t each = 2 * sizeof(pm_wide) + sizeof(struct pm_weight) + sizeof(struct pm_free_unit) +
                  2 * sizeof(pm_parts) + 2 * sizeof(uint32_t);
    if (count >= COUNT_MAX)
        return pm_fail_memory(err);
    /* Widest first, so that every array is aligned. */
    char *block = pm_alloc(count * each);
    if (block == NULL)
        return pm_fail_memory(err);
    sheet->block = block;
    sheet->aligned = (void *)block;
    sheet->rest = sheet->aligned + count;
    sheet->weights = (void *)(sheet->rest + count);
    sheet->units = (void *)(sheet->weights + count);
    sheet->parts = (void *)(sheet->units + count);
    sheet->shares = sheet->parts + count;
    sheet->next = (void *)(sheet->shares + count);
    sheet->unit_of = sheet->next + count;
    group_units(sheet);
    return PM_OK;
}

void pm_balance_close(struct pm_balancing *sheet)
{
    pm_free(sheet->block);
    sheet->block = NULL;
}

struct pm_weight pm_unit_worth(const struct pm_balancing *sheet, pm_parts parts)
{
    return pm_weight_times(pm_weight_of(parts), sheet->scale);
}

struct pm_free_unit *pm_unit_at(const struct pm_balancing *sheet, size_t place)
{
    return &sheet->units[sheet->unit_of[place]];
}

bool pm_unit_is_free(const struct pm_free_unit *unit)
{
    return !unit->held && !unit->resting;
}

void pm_unit_reshare(struct pm_free_unit *unit, struct pm_weight share)
{
    if (pm_unit_is_free(unit)) {
        unit->share = share;
        unit->reshared = true;
    }
}

/* ---- the ratio of a core ---- */

struct pm_core_ratio pm_unit_ratio(const struct pm_balancing *sheet,
                                   const struct pm_free_unit *unit)
{
    struct pm_core_ratio ratio = {pm_weight_of(1), pm_weight_of(1), pm_weight_of(1)};
    if (unit->lines == 1)
        return ratio;
    for (uint32_t place = unit->first; place != PM_NO_NEXT; place = sheet->next[place]) {
        struct pm_weight poured = pm_line_poured(&sheet->trial->lines[place]);
        bool first = place == unit->first;
        ratio.sum = first ? poured : pm_weight_plus(ratio.sum, poured);
        ratio.least = first || pm_weight_compare(poured, ratio.least) < 0 ? poured : ratio.least;
        ratio.most = first || pm_weight_compare(poured, ratio.most) > 0 ? poured : ratio.most;
    }
    return ratio;
}

struct pm_weight pm_unit_poured_at(const struct pm_balancing *sheet, size_t place)
{
    bool single = pm_unit_at(sheet, place)->lines == 1;
    return single ? pm_weight_of(1) : pm_line_poured(&sheet->trial->lines[place]);
}

struct pm_weight pm_unit_least(const struct pm_core_ratio *ratio)
{
    return pm_weight_over(ratio->sum, ratio->least);
}

bool pm_unit_all_there(const struct pm_balancing *sheet, const struct pm_free_unit *unit)
{
    for (uint32_t place = unit->first; place != PM_NO_NEXT; place = sheet->next[place])
        if (sheet->trial->lines[place].parts == 0)
            return false;
    return true;
}

pm_parts pm_unit_limit(const struct pm_balancing *sheet, const struct pm_free_unit *unit)
{
    struct pm_core_ratio ratio = pm_unit_ratio(sheet, unit);
    struct pm_weight limit = pm_weight_times(pm_weight_of(PM_PARTS_MAX), ratio.sum);
    return pm_weight_round(pm_weight_over(limit, ratio.most), 0);
}

/* ---- from units to lines ---- */

/* Whether the unit's lines, as they stand in sheet->parts, are what the unit is to have already. */
static bool in_place(const struct pm_balancing *sheet, const struct pm_free_unit *unit,
                     pm_wide weight)
{
    pm_parts sum = 0;
    size_t nth = 0;
    for (uint32_t place = unit->first; place != PM_NO_NEXT; place = sheet->next[place]) {
        sum += sheet->parts[place];
        pm_int128 off = (pm_int128)sheet->parts[place] * (pm_int128)weight -
                        (pm_int128)unit->now * (pm_int128)sheet->aligned[nth++];
        if (off >= (pm_int128)weight || -off >= (pm_int128)weight)
            return false;
    }
    return sum == unit->now;
}

static void pour_core(struct pm_balancing *sheet, const struct pm_free_unit *unit)
{
    size_t fixed = PM_NO_PLACE;
    size_t count = 0;
    for (uint32_t place = unit->first; place != PM_NO_NEXT; place = sheet->next[place]) {
        fixed = place == sheet->fixed ? count : fixed;
        sheet->weights[count++] = pm_line_poured(&sheet->trial->lines[place]);
    }
    pm_parts largest = unit->now > unit->was ? unit->now : unit->was;
    pm_wide sum = pm_weight_align(sheet->weights, count, largest, sheet->aligned, NULL);
    if (unit->reweighted && in_place(sheet, unit, sum))
        return; /* the other lines of the core need not move by a rounding */
    if (fixed != PM_NO_PLACE) {
        pm_apportion_wide_fixed(sheet->aligned, count, sum, unit->now, fixed, sheet->fixed_parts,
                                sheet->shares, sheet->rest);
    } else {
        pm_apportion_wide(sheet->aligned, count, sum, unit->now, sheet->shares, sheet->rest);
    }
    count = 0;
    for (uint32_t place = unit->first; place != PM_NO_NEXT; place = sheet->next[place])
        sheet->parts[place] = sheet->shares[count++];
}

void pm_units_pour(struct pm_balancing *sheet)
{
    for (size_t u = 0; u < sheet->count; u++) {
        const struct pm_free_unit *unit = &sheet->units[u];
        if (unit->lines == 1)
            sheet->parts[unit->first] = unit->now;
        else if (unit->now != unit->was || unit->reweighted)
            pour_core(sheet, unit);
    }
}

/* The lines' shares follow the unit's, in the poured ratio. */
static void write_share(const struct pm_balancing *sheet, const struct pm_free_unit *unit,
                        struct pm_trial *trial)
{
    struct pm_core_ratio ratio = pm_unit_ratio(sheet, unit);
    for (uint32_t place = unit->first; place != PM_NO_NEXT; place = sheet->next[place]) {
        struct pm_weight part = pm_weight_times(unit->share, pm_unit_poured_at(sheet, place));
        trial->lines[place].share = pm_weight_over(part, ratio.sum);
    }
}

/* Powers of two from all of them, which changes no ratio: they stay in range for ever. */
static void center_powers(struct pm_trial *trial)
{
    int64_t away = trial->scale.power - PM_POWER_ZERO;
    if (away < PM_POWER_ZERO / 2 && -away < PM_POWER_ZERO / 2)
        return;
    trial->scale.power -= away;
    for (size_t i = 0; i < trial->count; i++)
        if (!pm_weight_none(trial->lines[i].share))
            trial->lines[i].share.power -= away;
}

void pm_balance_write(const struct pm_balancing *sheet, struct pm_trial *trial)
{
    for (size_t i = 0; i < trial->count; i++)
        trial->lines[i].parts = sheet->parts[i];
    for (size_t u = 0; u < sheet->count; u++) {
        const struct pm_free_unit *unit = &sheet->units[u];
        if (pm_unit_is_free(unit) && (unit->reshared || unit->reweighted))
            write_share(sheet, unit, trial);
    }
    trial->scale = sheet->scale;
    center_powers(trial);
}
