/* SPDX-License-Identifier: MIT */
/*
 * Re-balancing in units. Parts are exact integers, shared out by weights; a unit that is not
 * concerned keeps its parts and its share to the last digit.
 */
#include "balance.h"

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

static struct pm_weight worth(const struct pm_balancing *sheet, pm_parts parts)
{
    return pm_weight_times(pm_weight_of(parts), sheet->scale);
}

static struct pm_free_unit *unit_at(const struct pm_balancing *sheet, size_t place)
{
    return &sheet->units[sheet->unit_of[place]];
}

static bool is_free(const struct pm_free_unit *unit)
{
    return !unit->held && !unit->resting;
}

/* What the unit is to have is what it was set to, so it weighs that. */
static void reshare(struct pm_free_unit *unit, struct pm_weight share)
{
    if (is_free(unit)) {
        unit->share = share;
        unit->reshared = true;
    }
}

/* ---- the ratio of a core ---- */

/* What a core's lines weigh poured; of a single line all are one. */
struct ratio {
    struct pm_weight sum, least, most;
};

static struct ratio ratio_of(const struct pm_balancing *sheet, const struct pm_free_unit *unit)
{
    struct ratio ratio = {pm_weight_of(1), pm_weight_of(1), pm_weight_of(1)};
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

static struct pm_weight poured_at(const struct pm_balancing *sheet, size_t place)
{
    bool single = unit_at(sheet, place)->lines == 1;
    return single ? pm_weight_of(1) : pm_line_poured(&sheet->trial->lines[place]);
}

/* The least a unit can have with a micro-part for each of its lines. */
static struct pm_weight least_amount(const struct ratio *ratio)
{
    return pm_weight_over(ratio->sum, ratio->least);
}

/* Whether each of its lines has something. */
static bool all_there(const struct pm_balancing *sheet, const struct pm_free_unit *unit)
{
    for (uint32_t place = unit->first; place != PM_NO_NEXT; place = sheet->next[place])
        if (sheet->trial->lines[place].parts == 0)
            return false;
    return true;
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

static void pour(struct pm_balancing *sheet)
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
    struct ratio ratio = ratio_of(sheet, unit);
    for (uint32_t place = unit->first; place != PM_NO_NEXT; place = sheet->next[place]) {
        struct pm_weight part = pm_weight_times(unit->share, poured_at(sheet, place));
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
        if (is_free(unit) && (unit->reshared || unit->reweighted))
            write_share(sheet, unit, trial);
    }
    trial->scale = sheet->scale;
    center_powers(trial);
}

/* ---- sharing ---- */

/* Whom an apportioning is about. */
struct givers {
    size_t except;   /* a unit that stands apart, or PM_NO_PLACE */
    bool cores_only; /* only cores give way */
    bool held_too;   /* held units move as well */
    bool able;       /* some of them weigh something */
    pm_parts have;   /* what they have together */
};

static bool gives(const struct givers *who, const struct pm_balancing *sheet, size_t u)
{
    const struct pm_free_unit *unit = &sheet->units[u];
    if (u == who->except || unit->resting || (unit->held && !who->held_too))
        return false;
    return !who->cores_only || unit->lines > 1;
}

static void count_givers(struct givers *who, const struct pm_balancing *sheet)
{
    who->able = false;
    who->have = 0;
    for (size_t u = 0; u < sheet->count; u++) {
        if (gives(who, sheet, u)) {
            const struct pm_free_unit *unit = &sheet->units[u];
            who->able = who->able || !pm_weight_none(unit->share) || unit->was > 0;
            who->have += unit->was;
        }
    }
}

/* Who gives way by the trial's mode, which is not carrier, to the unit `except`. */
static struct givers choose_givers(const struct pm_balancing *sheet, size_t except)
{
    struct givers who = {.except = except, .cores_only = sheet->trial->mode == PM_CORE_MODE};
    count_givers(&who, sheet);
    if (who.cores_only && !who.able) {
        who.cores_only = false;
        count_givers(&who, sheet);
    }
    return who;
}

static struct pm_weight weight_of(const struct pm_balancing *sheet, const struct pm_free_unit *unit)
{
    return unit->held && pm_weight_none(unit->share) ? worth(sheet, unit->was) : unit->share;
}

/* Apportions `total` over the givers by their shares; returns what they weigh together. */
static struct pm_weight share_out(struct pm_balancing *sheet, const struct givers *who,
                                  pm_parts total)
{
    size_t count = 0;
    int64_t unit = 0;
    for (size_t u = 0; u < sheet->count; u++)
        if (gives(who, sheet, u))
            sheet->weights[count++] = weight_of(sheet, &sheet->units[u]);
    pm_wide sum = pm_weight_align(sheet->weights, count, total, sheet->aligned, &unit);
    pm_apportion_wide(sheet->aligned, count, sum, total, sheet->shares, sheet->rest);
    count = 0;
    for (size_t u = 0; u < sheet->count; u++)
        if (gives(who, sheet, u))
            sheet->units[u].now = sheet->shares[count++];
    return pm_weight_make(sum, unit);
}

/* The givers take `total` among them, and the shares or the scale say so. */
static void give(struct pm_balancing *sheet, const struct givers *who, pm_parts total)
{
    struct pm_weight sum = share_out(sheet, who, total);
    if (!who->cores_only) {
        if (total > 0)
            sheet->scale = pm_weight_over(sum, pm_weight_of(total));
        return;
    }
    struct pm_weight wanted = worth(sheet, total);
    for (size_t u = 0; u < sheet->count; u++) {
        struct pm_free_unit *unit = &sheet->units[u];
        if (gives(who, sheet, u))
            reshare(unit, pm_weight_over(pm_weight_times(unit->share, wanted), sum));
    }
}

/* The least the givers need together so that each line that has something keeps a micro-part. */
static pm_parts least_together(const struct pm_balancing *sheet, const struct givers *who)
{
    struct pm_weight sum = {0, 0};
    struct pm_weight lightest = {0, 0}; /* of the single lines */
    struct pm_weight dearest = {0, 0};  /* of the cores: the most a least amount is per weight */
    for (size_t u = 0; u < sheet->count; u++) {
        const struct pm_free_unit *unit = &sheet->units[u];
        if (!gives(who, sheet, u))
            continue;
        struct pm_weight weight = weight_of(sheet, unit);
        sum = pm_weight_plus(sum, weight);
        if (pm_weight_none(weight) || !all_there(sheet, unit))
            continue;
        if (unit->lines == 1) {
            bool lighter = pm_weight_none(lightest) || pm_weight_compare(weight, lightest) < 0;
            lightest = lighter ? weight : lightest;
        } else {
            struct ratio ratio = ratio_of(sheet, unit);
            struct pm_weight each = pm_weight_over(least_amount(&ratio), weight);
            dearest = pm_weight_compare(each, dearest) > 0 ? each : dearest;
        }
    }
    pm_parts cores = pm_weight_ceil(pm_weight_times(sum, dearest));
    pm_parts singles = pm_weight_none(lightest) ? 0 : pm_weight_ceil(pm_weight_over(sum, lightest));
    return cores > singles ? cores : singles;
}

/* ---- setting a line ---- */

/* What the unit of the line exactly comes to when the line has `parts`. */
static struct pm_weight unit_amount(const struct pm_balancing *sheet, size_t place, pm_parts parts)
{
    struct ratio ratio = ratio_of(sheet, unit_at(sheet, place));
    return pm_weight_over(pm_weight_times(pm_weight_of(parts), ratio.sum), poured_at(sheet, place));
}

static pm_parts unit_target(const struct pm_balancing *sheet, size_t place, pm_parts parts)
{
    const struct pm_free_unit *unit = unit_at(sheet, place);
    if (parts == sheet->trial->lines[place].parts)
        return unit->was; /* as it is, however the rounding within its core fell */
    return unit->lines == 1 ? parts : pm_weight_round(unit_amount(sheet, place, parts), 0);
}

/* The most parts the line can have for its unit to sum to no more than `limit` (>= 0). */
static pm_parts most_within(const struct pm_balancing *sheet, size_t place, pm_parts limit)
{
    const struct pm_free_unit *unit = unit_at(sheet, place);
    if (unit->lines == 1)
        return limit;
    struct ratio ratio = ratio_of(sheet, unit);
    struct pm_weight part = pm_weight_times(pm_weight_of(limit), poured_at(sheet, place));
    pm_parts most = pm_weight_round(pm_weight_over(part, ratio.sum), 0);
    while (most > 0 && unit_target(sheet, place, most) > limit)
        most--;
    while (unit_target(sheet, place, most + 1) <= limit)
        most++;
    return most;
}

static const char *exact(pm_parts parts, char *buf)
{
    return pm_decimal_exact(parts, 6, '.', buf);
}

/* Why the line cannot have so much: of `limit` the others need `needed`. */
static enum pm_status refuse_over(const struct pm_balancing *sheet, size_t place,
                                  const struct givers *who, pm_parts limit, pm_parts needed,
                                  struct pm_error *err)
{
    char most[PM_AMOUNT_TEXT], left[PM_AMOUNT_TEXT];
    bool core = unit_at(sheet, place)->lines > 1;
    if (limit < 0) {
        return pm_fail(err, PM_REFUSED,
                       "Held lines alone exceed the base by %s parts; free or lower one first.",
                       exact(-limit, left));
    }
    exact(limit > needed ? most_within(sheet, place, limit - needed) : 0, most);
    exact(limit, left);
    const char *whole = core ? " for the whole core" : "";
    const char *each = needed > 0 ? ", of which each other line needs a millionth" : "";
    if (who->cores_only) {
        return pm_fail(err, PM_REFUSED,
                       "The lines outside the cores leave only %s%s%s; the most this line can take "
                       "is %s.",
                       left, whole, each, most);
    }
    if (limit == sheet->trial->base) {
        return pm_fail(err, PM_REFUSED, "The base is %s%s%s; the most this line can take is %s.",
                       left, core ? " and the whole core moves" : "", each, most);
    }
    return pm_fail(err, PM_REFUSED,
                   "Held lines leave only %s%s%s; the most this line can take is %s.", left, whole,
                   each, most);
}

static enum pm_status refuse_alone(const struct pm_balancing *sheet, size_t place, pm_parts limit,
                                   pm_parts target, struct pm_error *err)
{
    char off[PM_AMOUNT_TEXT], stay[PM_AMOUNT_TEXT];
    bool more = target > limit;
    pm_parts differs = more ? target - limit : limit - target;
    return pm_fail(err, PM_REFUSED,
                   "Nothing is free to %s %s; this line has to stay at %s, or another be freed.",
                   more ? "give" : "take up",
                   exact(differs < PM_PARTS_MAX ? differs : PM_PARTS_MAX, off),
                   exact(sheet->trial->lines[place].parts, stay));
}

static enum pm_status set_in_share(struct pm_balancing *sheet, size_t place, pm_parts target,
                                   struct pm_outcome *outcome, struct pm_error *err)
{
    size_t subject = sheet->unit_of[place];
    struct givers who = choose_givers(sheet, subject);
    pm_parts limit = sheet->trial->base - (sheet->total - sheet->units[subject].was - who.have);
    if (!who.able && sheet->trial->settled && target != limit)
        return refuse_alone(sheet, place, limit, target, err);
    pm_parts needed = who.able ? least_together(sheet, &who) : 0;
    pm_parts left = limit - target;
    if (left < 0 || (left < needed && left < who.have))
        return refuse_over(sheet, place, &who, limit, needed, err);
    if (who.able) {
        give(sheet, &who, left);
        outcome->by_cores = who.cores_only;
    }
    return PM_OK;
}

static enum pm_status set_by_carrier(struct pm_balancing *sheet, size_t place, pm_parts target,
                                     struct pm_error *err)
{
    const struct pm_trial *trial = sheet->trial;
    char most[PM_AMOUNT_TEXT];
    pm_parts others = sheet->total - unit_at(sheet, place)->was;
    if (place == sheet->carrier || sheet->carrier == PM_NO_PLACE) {
        bool none = place != sheet->carrier;
        pm_parts limit = trial->base - others;
        if (limit < 0)
            return pm_fail(err, PM_REFUSED, "The other lines already exceed the base.");
        exact(trial->settled ? trial->lines[place].parts : most_within(sheet, place, limit), most);
        return pm_fail(err, PM_REFUSED,
                       none ? "No line is the carrier that could give way: without one, "
                              "this line can be %s%s."
                            : "The carrier takes what the others leave: here that is %s%s.",
                       trial->settled ? "" : "at most ", most);
    }
    struct pm_free_unit *carrier = unit_at(sheet, sheet->carrier);
    pm_parts limit = trial->base - (others - carrier->was);
    if (limit < 0)
        return pm_fail(err, PM_REFUSED, "The other lines already exceed the base.");
    if (target > limit) {
        return pm_fail(err, PM_REFUSED,
                       "The carrier would fall below zero; the most this line can take is %s.",
                       exact(most_within(sheet, place, limit), most));
    }
    carrier->now = limit - target;
    reshare(carrier, worth(sheet, carrier->now));
    return PM_OK;
}

/* The most a core can sum to with none of its lines beyond a million parts. */
static pm_parts core_limit(const struct pm_balancing *sheet, const struct pm_free_unit *unit)
{
    struct ratio ratio = ratio_of(sheet, unit);
    struct pm_weight limit = pm_weight_times(pm_weight_of(PM_PARTS_MAX), ratio.sum);
    return pm_weight_round(pm_weight_over(limit, ratio.most), 0);
}

/* In open mode nothing else bounds what the rest of a core would come to. */
static enum pm_status refuse_core(const struct pm_balancing *sheet, size_t place,
                                  struct pm_error *err)
{
    char most[PM_AMOUNT_TEXT];
    pm_parts limit = core_limit(sheet, unit_at(sheet, place));
    return pm_fail(err, PM_REFUSED,
                   "The rest of the core would exceed a million parts; the most this line can "
                   "take is %s.",
                   exact(most_within(sheet, place, limit), most));
}

/* A core that has something has it in each of its lines. */
static enum pm_status check_core(const struct pm_balancing *sheet, size_t place, pm_parts parts,
                                 pm_parts target, struct pm_error *err)
{
    const struct pm_free_unit *unit = unit_at(sheet, place);
    if (unit->lines == 1 || parts == 0 || parts == sheet->trial->lines[place].parts)
        return PM_OK;
    if (target > core_limit(sheet, unit))
        return refuse_core(sheet, place, err);
    struct ratio ratio = ratio_of(sheet, unit);
    pm_parts least = pm_weight_ceil(pm_weight_over(poured_at(sheet, place), ratio.least));
    if (parts >= least)
        return PM_OK;
    char text[PM_AMOUNT_TEXT];
    return pm_fail(err, PM_REFUSED,
                   "A line of the core would have less than a millionth; the least this line can "
                   "be is %s.",
                   exact(least, text));
}

enum pm_status pm_balance_set(struct pm_balancing *sheet, size_t place, pm_parts parts,
                              struct pm_outcome *outcome, struct pm_error *err)
{
    const struct pm_trial *trial = sheet->trial;
    *outcome = (struct pm_outcome){.lacking = 0};
    if (parts < 0 || parts > PM_PARTS_MAX)
        return pm_fail(err, PM_INVALID, "Parts must be between 0 and 1000000.");
    struct pm_free_unit *unit = unit_at(sheet, place);
    pm_parts target = unit_target(sheet, place, parts);
    pm_parts total = 0;
    if (__builtin_add_overflow(sheet->total - unit->was, target, &total))
        return refuse_core(sheet, place, err);
    bool filling = !trial->settled && total <= trial->base;
    if (trial->mode != PM_OPEN && !filling && total != trial->base) {
        outcome->by_carrier = trial->mode == PM_CARRIER_MODE;
        enum pm_status status = outcome->by_carrier
                                    ? set_by_carrier(sheet, place, target, err)
                                    : set_in_share(sheet, place, target, outcome, err);
        if (status != PM_OK)
            return status;
    }
    enum pm_status status = check_core(sheet, place, parts, target, err);
    if (status != PM_OK)
        return status;
    if (parts != trial->lines[place].parts) {
        struct pm_weight amount = unit_amount(sheet, place, parts);
        reshare(unit, pm_weight_times(amount, sheet->scale));
    }
    unit->now = target;
    if (unit->lines > 1) {
        sheet->fixed = place;
        sheet->fixed_parts = parts;
    }
    pour(sheet);
    return PM_OK;
}

enum pm_status pm_balance_reweigh(struct pm_balancing *sheet, size_t place,
                                  struct pm_outcome *outcome, struct pm_error *err)
{
    struct pm_free_unit *unit = unit_at(sheet, place);
    *outcome = (struct pm_outcome){.lacking = 0};
    if (unit->was > core_limit(sheet, unit))
        return pm_fail(err, PM_INVALID, "In that ratio a line would exceed a million parts.");
    unit->reweighted = true;
    pour(sheet);
    return PM_OK;
}

enum pm_status pm_balance_form(struct pm_balancing *sheet, size_t place, struct pm_outcome *outcome,
                               struct pm_error *err)
{
    const struct pm_free_unit *unit = unit_at(sheet, place);
    struct ratio ratio = ratio_of(sheet, unit);
    if (all_there(sheet, unit) && unit->was < pm_weight_ceil(least_amount(&ratio))) {
        return pm_fail(err, PM_REFUSED,
                       "In that ratio a line of the core would have less than a millionth.");
    }
    return pm_balance_reweigh(sheet, place, outcome, err);
}

enum pm_status pm_balance_drop(struct pm_balancing *sheet, size_t place, size_t rest,
                               struct pm_outcome *outcome, struct pm_error *err)
{
    const struct pm_trial *trial = sheet->trial;
    struct pm_free_unit *unit = unit_at(sheet, place);
    *outcome = (struct pm_outcome){.lacking = 0};
    if (rest != PM_NO_PLACE)
        unit_at(sheet, rest)->reweighted = true;
    if (unit->was > 0 && trial->settled && trial->mode != PM_OPEN) {
        char off[PM_AMOUNT_TEXT];
        struct givers who = choose_givers(sheet, sheet->unit_of[place]);
        exact(unit->was, off);
        if (trial->mode != PM_CARRIER_MODE && !who.able) {
            return pm_fail(err, PM_REFUSED,
                           "Nothing is free to take up the %s this line leaves; "
                           "free another line first.",
                           off);
        }
        if (trial->mode == PM_CARRIER_MODE && sheet->carrier == PM_NO_PLACE) {
            return pm_fail(err, PM_REFUSED,
                           "No line is the carrier that could take up the %s this line leaves; "
                           "name one first.",
                           off);
        }
    }
    if (trial->lines[place].parts > 0)
        return pm_balance_set(sheet, place, 0, outcome, err);
    pour(sheet);
    return PM_OK;
}

/* ---- the whole trial ---- */

static enum pm_status settle_by_carrier(struct pm_balancing *sheet, struct pm_error *err)
{
    char off[PM_AMOUNT_TEXT];
    if (sheet->carrier == PM_NO_PLACE) {
        return pm_fail(err, PM_REFUSED,
                       "No line is the carrier that could take up the difference; "
                       "name one first.");
    }
    struct pm_free_unit *carrier = unit_at(sheet, sheet->carrier);
    carrier->now = sheet->trial->base - (sheet->total - carrier->was);
    if (carrier->now < 0) {
        return pm_fail(err, PM_REFUSED,
                       "The carrier would fall below zero: the other lines exceed the base "
                       "by %s.",
                       exact(-carrier->now, off));
    }
    reshare(carrier, worth(sheet, carrier->now));
    return PM_OK;
}

static enum pm_status settle_in_share(struct pm_balancing *sheet, struct pm_outcome *outcome,
                                      struct pm_error *err)
{
    char off[PM_AMOUNT_TEXT];
    struct givers who = choose_givers(sheet, PM_NO_PLACE);
    pm_parts standing = sheet->total - who.have;
    pm_parts left = sheet->trial->base - standing;
    const char *names = who.cores_only ? "The lines outside cores" : "Held lines";
    if (left < 0) {
        return pm_fail(err, PM_REFUSED, "%s exceed the base by %s; free or lower one first.", names,
                       exact(-left, off));
    }
    if (!who.able) {
        return pm_fail(err, PM_REFUSED,
                       "Nothing is free to take up %s; free a line, or give one parts, first.",
                       exact(left, off));
    }
    pm_parts needed = least_together(sheet, &who);
    if (left < needed && left < who.have) {
        return pm_fail(err, PM_REFUSED,
                       "%s leave only %s, too little for the others to keep a millionth each; "
                       "they need %s.",
                       names, exact(left, off), exact(needed, (char[PM_AMOUNT_TEXT]){0}));
    }
    give(sheet, &who, left);
    outcome->by_cores = who.cores_only;
    return PM_OK;
}

enum pm_status pm_balance_settle(struct pm_balancing *sheet, struct pm_outcome *outcome,
                                 struct pm_error *err)
{
    *outcome = (struct pm_outcome){.lacking = 0};
    if (sheet->total == sheet->trial->base)
        return PM_OK;
    outcome->by_carrier = sheet->trial->mode == PM_CARRIER_MODE;
    enum pm_status status =
        outcome->by_carrier ? settle_by_carrier(sheet, err) : settle_in_share(sheet, outcome, err);
    if (status == PM_OK)
        pour(sheet);
    return status;
}

static struct givers everyone(const struct pm_balancing *sheet)
{
    struct givers who = {.except = PM_NO_PLACE, .held_too = true};
    count_givers(&who, sheet);
    return who;
}

static enum pm_status check_largest(const struct pm_balancing *sheet, struct pm_error *err)
{
    for (size_t i = 0; i < sheet->trial->count; i++)
        if (sheet->parts[i] > PM_PARTS_MAX)
            return pm_fail(err, PM_INVALID, "A line would exceed a million parts.");
    return PM_OK;
}

enum pm_status pm_balance_proportion(struct pm_balancing *sheet, pm_parts total,
                                     struct pm_error *err)
{
    struct givers who = everyone(sheet);
    give(sheet, &who, total);
    pour(sheet);
    return check_largest(sheet, err);
}

/* The smallest amount a resting line remembers; PM_PARTS_MAX when none does. */
static pm_parts least_rested(const struct pm_trial *trial)
{
    pm_parts least = PM_PARTS_MAX;
    for (size_t i = 0; i < trial->count; i++) {
        pm_parts rested = trial->lines[i].rested;
        least = rested > 0 && rested < least ? rested : least;
    }
    return least;
}

/* The smallest base on which each line that is something keeps a micro-part. */
static pm_parts least_base(const struct pm_balancing *sheet)
{
    const struct pm_trial *trial = sheet->trial;
    struct givers who = everyone(sheet);
    pm_int128 base = trial->base;
    pm_int128 least = 1;
    if (who.able && sheet->total > 0) {
        /* total x least / base must come to what they need, rounded half up. */
        pm_int128 needed = 2 * (pm_int128)least_together(sheet, &who) - 1;
        pm_int128 double_total = 2 * (pm_int128)sheet->total;
        least = (needed * base + double_total - 1) / double_total;
    }
    pm_int128 rested = (base + least_rested(trial) - 1) / least_rested(trial);
    return (pm_parts)(rested > least ? rested : least);
}

/* Every unit to what it exactly comes to on the other base, each by itself; returns their sum. */
static pm_parts rescale_each(struct pm_balancing *sheet, pm_parts base)
{
    pm_parts was = sheet->trial->base, sum = 0;
    sheet->scale =
        pm_weight_over(pm_weight_times(sheet->scale, pm_weight_of(was)), pm_weight_of(base));
    for (size_t u = 0; u < sheet->count; u++) {
        struct pm_free_unit *unit = &sheet->units[u];
        if (is_free(unit))
            unit->now = pm_weight_round(pm_weight_over(unit->share, sheet->scale), 0);
        else if (!pm_muldiv(unit->was, base, was, &unit->now))
            unit->now = PM_PARTS_MAX; /* not reached: the total has been multiplied so */
        sum += unit->now;
    }
    return sum;
}

/* The carrier, the cores or the free units take up what roundings left of `total`. False, and
 * nothing has changed, when they cannot with a millionth for each. */
static bool take_up(struct pm_balancing *sheet, pm_parts total, pm_parts sum)
{
    if (sheet->trial->mode == PM_CARRIER_MODE && sheet->carrier != PM_NO_PLACE) {
        struct pm_free_unit *carrier = unit_at(sheet, sheet->carrier);
        if (carrier->now + total - sum < (carrier->was > 0 ? 1 : 0))
            return false;
        carrier->now += total - sum;
        reshare(carrier, worth(sheet, carrier->now));
        return true;
    }
    struct givers who = choose_givers(sheet, PM_NO_PLACE);
    for (size_t u = 0; u < sheet->count; u++)
        if (!gives(&who, sheet, u))
            total -= sheet->units[u].now;
    if (!who.able || total < least_together(sheet, &who))
        return false;
    give(sheet, &who, total);
    return true;
}

/* `total` is what it comes to on the other base. A settled trial stays so to the last micro-part;
 * others need not sum to anything, but do not pass their base. */
static void rescale_units(struct pm_balancing *sheet, pm_parts base, pm_parts total)
{
    const struct pm_trial *trial = sheet->trial;
    struct pm_weight scale = sheet->scale;
    pm_parts sum = rescale_each(sheet, base);
    bool bound = trial->settled || (trial->mode != PM_OPEN && sum > base);
    if (!bound || take_up(sheet, trial->settled ? total : base, sum))
        return;
    struct givers all = everyone(sheet);
    sheet->scale = scale;
    give(sheet, &all, total);
}

enum pm_status pm_balance_rescale(struct pm_balancing *sheet, pm_parts base,
                                  struct pm_outcome *outcome, struct pm_error *err)
{
    pm_parts total = 0;
    char text[PM_AMOUNT_TEXT];
    *outcome = (struct pm_outcome){.lacking = 0};
    if (!pm_muldiv(sheet->total, base, sheet->trial->base, &total))
        return pm_fail(err, PM_INVALID, "On that base a line would exceed a million parts.");
    pm_parts least = least_base(sheet);
    if (base < least && base < sheet->trial->base) {
        return pm_fail(err, PM_REFUSED,
                       "On that base a line would have less than a millionth of a part; the "
                       "smallest base that works is %s.",
                       exact(least, text));
    }
    if (sheet->total == 0)
        return PM_OK;
    rescale_units(sheet, base, total);
    pour(sheet);
    return check_largest(sheet, err);
}

/* ---- restrength ---- */

/* A unit while one of its lines changes its strength. */
struct strengthening {
    const struct pm_restrength *change;
    int64_t number;          /* of the line in its core's ratio; 1 outside cores */
    struct pm_weight others; /* what the core's other lines weigh poured */
    struct pm_weight least;  /* the smallest of those; nothing outside cores */
    struct pm_weight was;    /* what all weighed before */
    struct pm_weight amount; /* micro-parts of the unit before */
};

static struct pm_weight poured_of(int64_t number, pm_strength strength)
{
    struct pm_line line = {.weight = number, .strength = strength};
    return pm_line_poured(&line);
}

static struct strengthening strengthening(const struct pm_balancing *sheet,
                                          const struct pm_restrength *change)
{
    const struct pm_free_unit *unit = unit_at(sheet, change->place);
    bool core = unit->lines > 1;
    struct strengthening s = {change, core ? sheet->trial->lines[change->place].weight : 1,
                              {0, 0}, {0, 0},
                              {0, 0}, pm_weight_of(unit->was)};
    for (uint32_t place = unit->first; core && place != PM_NO_NEXT; place = sheet->next[place]) {
        if (place == change->place)
            continue;
        struct pm_weight poured = pm_line_poured(&sheet->trial->lines[place]);
        s.others = pm_weight_plus(s.others, poured);
        if (pm_weight_none(s.least) || pm_weight_compare(poured, s.least) < 0)
            s.least = poured;
    }
    s.was = pm_weight_plus(s.others, poured_of(s.number, change->was));
    if (!unit->held)
        s.amount = pm_weight_over(unit->share, sheet->scale);
    return s;
}

/* What the unit comes to when the line has this strength, the neat parts of all its lines kept. */
static struct pm_weight amount_at(const struct strengthening *s, pm_strength strength)
{
    struct pm_weight now = pm_weight_plus(s->others, poured_of(s->number, strength));
    return pm_weight_over(pm_weight_times(s->amount, now), s->was);
}

/* What the line itself comes to. */
static struct pm_weight line_amount_at(const struct strengthening *s, pm_strength strength)
{
    struct pm_weight now = poured_of(s->number, strength);
    return pm_weight_over(pm_weight_times(s->amount, now), s->was);
}

/* The weakest strength at which the unit is within `most`; it is so at `change->was`. */
static pm_strength weakest_within(const struct strengthening *s, pm_parts most)
{
    pm_strength low = 0, high = s->change->was;
    while (high - low > 1) {
        pm_strength middle = low + (high - low) / 2;
        if (pm_weight_round(amount_at(s, middle), 0) <= most)
            high = middle;
        else
            low = middle;
    }
    return high;
}

/* The strongest at which the line still has a micro-part; it has at `change->was`. */
static pm_strength strongest_there(const struct strengthening *s)
{
    pm_strength low = s->change->was, high = s->change->now;
    while (high - low > 1) {
        pm_strength middle = low + (high - low) / 2;
        if (pm_weight_compare(line_amount_at(s, middle), pm_weight_of(1)) >= 0)
            low = middle;
        else
            high = middle;
    }
    return low;
}

static enum pm_status refuse_strength(const char *why, pm_strength strength, struct pm_error *err)
{
    char text[PM_AMOUNT_TEXT];
    return pm_fail(err, PM_REFUSED, "%s %s.", why, pm_strength_format(strength, '.', text));
}

/* Whether the unit's lines can have what it comes to. */
static enum pm_status check_strength(const struct pm_balancing *sheet,
                                     const struct strengthening *s, pm_parts sum,
                                     struct pm_error *err)
{
    const struct pm_free_unit *unit = unit_at(sheet, s->change->place);
    if (sum > (unit->lines == 1 ? PM_PARTS_MAX : core_limit(sheet, unit)))
        return pm_fail(err, PM_REFUSED, "So weak, the line would exceed a million parts.");
    struct pm_weight one = pm_weight_of(1);
    if (unit->was > 0 && s->change->now > s->change->was &&
        pm_weight_compare(line_amount_at(s, s->change->was), one) >= 0 &&
        pm_weight_compare(line_amount_at(s, s->change->now), one) < 0) {
        return refuse_strength("The line would have less than a millionth; the strongest it can "
                               "be is",
                               strongest_there(s), err);
    }
    return PM_OK;
}

/* Every unit by one factor, so that all ratios of neat parts stay. */
static enum pm_status scale_all(struct pm_balancing *sheet, const struct pm_restrength *change,
                                struct pm_error *err)
{
    size_t subject = sheet->unit_of[change->place];
    for (size_t u = 0; u < sheet->count; u++) {
        if (u != subject && sheet->units[u].held && !change->move_held) {
            return pm_fail(err, PM_REFUSED,
                           "Held lines would have to move so that every ratio of neat parts "
                           "stays; free them, or let them move.");
        }
    }
    struct givers who = everyone(sheet);
    pm_parts needed = least_together(sheet, &who);
    if (sheet->trial->base < needed) {
        char text[PM_AMOUNT_TEXT];
        return pm_fail(err, PM_REFUSED,
                       "So weak, it would leave another line less than a millionth; that takes a "
                       "base of %s.",
                       exact(needed, text));
    }
    give(sheet, &who, sheet->trial->base);
    return PM_OK;
}

enum pm_status pm_balance_restrength(struct pm_balancing *sheet, const struct pm_restrength *change,
                                     struct pm_outcome *outcome, struct pm_error *err)
{
    const struct pm_trial *trial = sheet->trial;
    struct pm_free_unit *unit = unit_at(sheet, change->place);
    struct pm_free_unit *carrier = change->carrier_matches ? unit_at(sheet, sheet->carrier) : NULL;
    bool kept = trial->settled && trial->mode != PM_OPEN; /* the total has to be kept */
    struct strengthening s = strengthening(sheet, change);
    struct pm_weight amount = amount_at(&s, change->now);
    pm_parts sum = pm_weight_round(amount, 0);
    *outcome = (struct pm_outcome){.lacking = 0};
    if (carrier != NULL && kept && sum > unit->was + carrier->was) {
        return refuse_strength("The carrier would fall below zero; the weakest this line can be is",
                               weakest_within(&s, unit->was + carrier->was), err);
    }
    enum pm_status status = check_strength(sheet, &s, sum, err);
    if (status != PM_OK)
        return status;
    pm_parts more = sum - unit->was;
    unit->now = sum;
    unit->reweighted = unit->lines > 1;
    reshare(unit, pm_weight_times(amount, sheet->scale));
    sheet->parts[change->place] += more; /* a guess that saves the core's other lines a rounding */
    if (carrier != NULL && more <= carrier->was) {
        carrier->now = carrier->was - more;
        reshare(carrier, worth(sheet, carrier->now));
        outcome->by_carrier = true;
        pour(sheet);
        return PM_OK;
    }
    if (trial->mode != PM_OPEN && more != 0 && (kept || sheet->total + more > trial->base)) {
        outcome->all_scaled = true;
        unit->share = pm_weight_times(amount, sheet->scale); /* a held one too, for this once */
        status = scale_all(sheet, change, err);
        if (status != PM_OK)
            return status;
    } else if (carrier != NULL) {
        outcome->lacking = more - carrier->was;
    }
    pour(sheet);
    return PM_OK;
}
