/* SPDX-License-Identifier: MIT */
/*
 * Re-balancing in units. Parts are exact integers throughout; a unit that is not concerned keeps
 * its parts to the last micro-part, so that repeating a gesture repeats its result.
 */
#include "balance.h"

#include "permille/base/mem.h"

#include <string.h>

/* One pass: what every keystroke pays for. */
static void group_units(struct pm_balance *sheet)
{
    const struct pm_trial *trial = sheet->trial;
    struct pm_unit *units = sheet->units;
    uint32_t last_of_core[PM_CORE_MAX + 1];
    memset(last_of_core, 0xff, sizeof last_of_core); /* PM_NO_NEXT */
    uint32_t count = 0;
    for (uint32_t i = 0; i < (uint32_t)trial->count; i++) {
        const struct pm_line *line = &trial->lines[i];
        bool held = line->stance == PM_HELD;
        uint32_t last = line->core == 0 ? PM_NO_NEXT : last_of_core[line->core];
        if (last == PM_NO_NEXT) {
            units[count] = (struct pm_unit){line->parts, line->parts, i, 1, held, false};
            sheet->unit_of[i] = count++;
        } else {
            struct pm_unit *unit = &units[sheet->unit_of[last]];
            unit->was += line->parts;
            unit->now += line->parts;
            unit->lines++;
            sheet->next[last] = i;
            sheet->unit_of[i] = sheet->unit_of[last];
        }
        last_of_core[line->core] = i;
        sheet->next[i] = PM_NO_NEXT;
        sheet->parts[i] = line->parts;
        sheet->total += line->parts;
        sheet->held += held ? line->parts : 0;
        if (line->stance == PM_CARRIER)
            sheet->carrier = i;
    }
    sheet->count = count;
}

enum pm_status pm_balance_open(struct pm_balance *sheet, const struct pm_trial *trial,
                               struct pm_error *err)
{
    *sheet = (struct pm_balance){.trial = trial, .carrier = PM_NO_PLACE, .fixed = PM_NO_PLACE};
    size_t count = trial->count;
    size_t each =
        2 * sizeof(pm_wide) + sizeof(struct pm_unit) + 2 * sizeof(pm_parts) + 2 * sizeof(uint32_t);
    if (count >= UINT32_MAX || count >= SIZE_MAX / each)
        return pm_fail_memory(err);
    /* Widest first, so that every array is aligned. */
    char *block = pm_alloc(count * each);
    if (block == NULL)
        return pm_fail_memory(err);
    sheet->block = block;
    sheet->weights = (void *)block;
    sheet->rest = sheet->weights + count;
    sheet->units = (void *)(sheet->rest + count);
    sheet->parts = (void *)(sheet->units + count);
    sheet->shares = sheet->parts + count;
    sheet->next = (void *)(sheet->shares + count);
    sheet->unit_of = sheet->next + count;
    group_units(sheet);
    return PM_OK;
}

void pm_balance_close(struct pm_balance *sheet)
{
    pm_free(sheet->block);
    sheet->block = NULL;
}

/* ---- from units to lines ---- */

/* Whether the unit's lines, as they stand in sheet->parts, are what the unit is to have already. */
static bool in_place(const struct pm_balance *sheet, const struct pm_unit *unit, pm_wide weight)
{
    pm_parts sum = 0;
    for (uint32_t place = unit->first; place != PM_NO_NEXT; place = sheet->next[place]) {
        sum += sheet->parts[place];
        pm_int128 off = (pm_int128)sheet->parts[place] * (pm_int128)weight -
                        (pm_int128)unit->now * sheet->trial->lines[place].weight;
        if (off >= (pm_int128)weight || -off >= (pm_int128)weight)
            return false;
    }
    return sum == unit->now;
}

static void pour_core(struct pm_balance *sheet, const struct pm_unit *unit)
{
    pm_wide sum = 0;
    size_t fixed = PM_NO_PLACE;
    size_t count = 0;
    for (uint32_t place = unit->first; place != PM_NO_NEXT; place = sheet->next[place]) {
        fixed = place == sheet->fixed ? count : fixed;
        sheet->weights[count] = (pm_wide)(uint64_t)sheet->trial->lines[place].weight;
        sum += sheet->weights[count++];
    }
    if (unit->reweighted && in_place(sheet, unit, sum))
        return; /* the other lines of the core need not move by a rounding */
    if (fixed != PM_NO_PLACE) {
        pm_apportion_wide_fixed(sheet->weights, unit->lines, sum, unit->now, fixed,
                                sheet->fixed_parts, sheet->shares, sheet->rest);
    } else {
        pm_apportion_wide(sheet->weights, unit->lines, sum, unit->now, sheet->shares, sheet->rest);
    }
    count = 0;
    for (uint32_t place = unit->first; place != PM_NO_NEXT; place = sheet->next[place])
        sheet->parts[place] = sheet->shares[count++];
}

static void pour(struct pm_balance *sheet)
{
    for (size_t u = 0; u < sheet->count; u++) {
        const struct pm_unit *unit = &sheet->units[u];
        if (unit->lines == 1)
            sheet->parts[unit->first] = unit->now;
        else if (unit->now != unit->was || unit->reweighted)
            pour_core(sheet, unit);
    }
}

/* ---- sharing ---- */

/* Whom an apportioning is about. */
struct sharing {
    size_t except;  /* a unit that stands apart, or PM_NO_PLACE */
    bool held_too;  /* held units move as well */
    pm_parts held;  /* what the others keep that do not move */
    pm_parts moved; /* what those that move have together */
};

static struct sharing sharing(const struct pm_balance *sheet, size_t except, bool held_too)
{
    struct sharing who = {except, held_too, held_too ? 0 : sheet->held, sheet->total};
    if (except != PM_NO_PLACE) {
        const struct pm_unit *unit = &sheet->units[except];
        who.held -= unit->held && !held_too ? unit->was : 0;
        who.moved -= unit->was;
    }
    who.moved -= who.held;
    return who;
}

/* Apportions `total` over the units that move, weighted by what they were: not nothing together. */
static void share_out(struct pm_balance *sheet, const struct sharing *who, pm_parts total)
{
    size_t count = 0;
    for (size_t u = 0; u < sheet->count; u++) {
        const struct pm_unit *unit = &sheet->units[u];
        if (u != who->except && (!unit->held || who->held_too))
            sheet->weights[count++] = (pm_wide)(uint64_t)unit->was;
    }
    pm_apportion_wide(sheet->weights, count, (pm_wide)(uint64_t)who->moved, total, sheet->shares,
                      sheet->rest);
    count = 0;
    for (size_t u = 0; u < sheet->count; u++) {
        struct pm_unit *unit = &sheet->units[u];
        if (u != who->except && (!unit->held || who->held_too))
            unit->now = sheet->shares[count++];
    }
}

static pm_wide core_weight(const struct pm_balance *sheet, const struct pm_unit *unit)
{
    pm_wide sum = 0;
    for (uint32_t place = unit->first; place != PM_NO_NEXT; place = sheet->next[place])
        sum += (pm_wide)(uint64_t)sheet->trial->lines[place].weight;
    return sum;
}

/* ---- setting a line ---- */

/* What the unit of the line sums to when the line has `parts`. */
static pm_int128 unit_target(const struct pm_balance *sheet, size_t place, pm_parts parts)
{
    const struct pm_unit *unit = &sheet->units[sheet->unit_of[place]];
    const struct pm_line *line = &sheet->trial->lines[place];
    if (parts == line->parts)
        return unit->was; /* as it is, however the rounding within its core fell */
    if (unit->lines == 1)
        return parts;
    pm_int128 weight = (pm_int128)core_weight(sheet, unit);
    return (2 * (pm_int128)parts * weight + line->weight) / (2 * (pm_int128)line->weight);
}

/* The most parts the line can have for its unit to sum to no more than `limit` (>= 0). */
static pm_parts most_within(const struct pm_balance *sheet, size_t place, pm_parts limit)
{
    const struct pm_unit *unit = &sheet->units[sheet->unit_of[place]];
    const struct pm_line *line = &sheet->trial->lines[place];
    if (unit->lines == 1)
        return limit;
    /* The largest p with p x sum / weight < limit + 1/2, which is what rounds to the limit. */
    pm_int128 weight = (pm_int128)core_weight(sheet, unit);
    pm_parts most =
        (pm_parts)(((2 * (pm_int128)limit + 1) * line->weight - 1) / (2 * (pm_int128)weight));
    /* Where it stands is possible however its core was rounded. */
    return unit->was <= limit && most < line->parts ? line->parts : most;
}

static const char *exact(pm_parts parts, char *buf)
{
    return pm_decimal_exact(parts, 6, '.', buf);
}

static enum pm_status refuse_over(const struct pm_balance *sheet, size_t place, pm_parts limit,
                                  bool held, struct pm_error *err)
{
    char most[PM_AMOUNT_TEXT], left[PM_AMOUNT_TEXT];
    if (limit < 0) {
        return pm_fail(err, PM_REFUSED,
                       "Held lines alone exceed the base by %s parts; free or lower one first.",
                       exact(-limit, left));
    }
    bool core = sheet->trial->lines[place].core != 0;
    exact(most_within(sheet, place, limit), most);
    exact(limit, left);
    if (!held) {
        return pm_fail(err, PM_REFUSED, "The base is %s%s; the most this line can take is %s.",
                       left, core ? " and the whole core moves" : "", most);
    }
    if (core) {
        return pm_fail(err, PM_REFUSED,
                       "Held lines leave only %s for the whole core; "
                       "the most this line can take is %s.",
                       left, most);
    }
    return pm_fail(err, PM_REFUSED, "Held lines leave only %s.", left);
}

static enum pm_status set_in_share(struct pm_balance *sheet, size_t place, pm_int128 target,
                                   struct pm_error *err)
{
    struct sharing who = sharing(sheet, sheet->unit_of[place], false);
    pm_parts limit = sheet->trial->base - who.held;
    if (who.moved == 0 && sheet->trial->settled && target != limit) {
        char off[PM_AMOUNT_TEXT], stay[PM_AMOUNT_TEXT];
        pm_int128 differs = target > limit ? target - limit : limit - target;
        if (differs > PM_PARTS_MAX)
            differs = PM_PARTS_MAX;
        return pm_fail(err, PM_REFUSED,
                       "Nothing is free to %s %s; this line has to stay at %s, "
                       "or another be freed.",
                       target > limit ? "give" : "take up", exact((pm_parts)differs, off),
                       exact(sheet->trial->lines[place].parts, stay));
    }
    if (target > limit)
        return refuse_over(sheet, place, limit, who.held > 0, err);
    if (who.moved > 0)
        share_out(sheet, &who, limit - (pm_parts)target);
    return PM_OK;
}

static enum pm_status set_by_carrier(struct pm_balance *sheet, size_t place, pm_int128 target,
                                     struct pm_error *err)
{
    const struct pm_trial *trial = sheet->trial;
    char most[PM_AMOUNT_TEXT];
    size_t subject = sheet->unit_of[place];
    pm_parts others = sheet->total - sheet->units[subject].was;
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
    struct pm_unit *carrier = &sheet->units[sheet->unit_of[sheet->carrier]];
    pm_parts limit = trial->base - (others - carrier->was);
    if (limit < 0)
        return pm_fail(err, PM_REFUSED, "The other lines already exceed the base.");
    if (target > limit) {
        return pm_fail(err, PM_REFUSED,
                       "The carrier would fall below zero; the most this line can take is %s.",
                       exact(most_within(sheet, place, limit), most));
    }
    carrier->now = limit - (pm_parts)target;
    return PM_OK;
}

/* The most a core can sum to with none of its lines beyond a million parts. */
static pm_int128 core_limit(const struct pm_balance *sheet, const struct pm_unit *unit)
{
    int64_t largest = 1;
    for (uint32_t place = unit->first; place != PM_NO_NEXT; place = sheet->next[place]) {
        int64_t part = sheet->trial->lines[place].weight;
        largest = part > largest ? part : largest;
    }
    return PM_PARTS_MAX * (pm_int128)core_weight(sheet, unit) / largest;
}

/* In open mode nothing else bounds what the rest of a core would come to. */
static enum pm_status refuse_core(const struct pm_balance *sheet, size_t place,
                                  struct pm_error *err)
{
    const struct pm_unit *unit = &sheet->units[sheet->unit_of[place]];
    char most[PM_AMOUNT_TEXT];
    pm_parts limit = (pm_parts)core_limit(sheet, unit);
    return pm_fail(err, PM_REFUSED,
                   "The rest of the core would exceed a million parts; the most this line can "
                   "take is %s.",
                   exact(most_within(sheet, place, limit), most));
}

enum pm_status pm_balance_set(struct pm_balance *sheet, size_t place, pm_parts parts,
                              struct pm_outcome *outcome, struct pm_error *err)
{
    const struct pm_trial *trial = sheet->trial;
    if (parts < 0 || parts > PM_PARTS_MAX)
        return pm_fail(err, PM_INVALID, "Parts must be between 0 and 1000000.");
    struct pm_unit *unit = &sheet->units[sheet->unit_of[place]];
    pm_int128 target = unit_target(sheet, place, parts);
    pm_int128 total = target + (sheet->total - unit->was);
    *outcome = (struct pm_outcome){.settled = trial->settled || total >= trial->base};
    bool filling = !trial->settled && total <= trial->base;
    if (trial->mode != PM_OPEN && !filling && total != trial->base) {
        outcome->by_carrier = trial->mode == PM_CARRIER_MODE;
        enum pm_status status = outcome->by_carrier ? set_by_carrier(sheet, place, target, err)
                                                    : set_in_share(sheet, place, target, err);
        if (status != PM_OK)
            return status;
    }
    if (unit->lines > 1 && target > core_limit(sheet, unit))
        return refuse_core(sheet, place, err);
    unit->now = (pm_parts)target;
    if (unit->lines > 1) {
        sheet->fixed = place;
        sheet->fixed_parts = parts;
    }
    pour(sheet);
    return PM_OK;
}

enum pm_status pm_balance_reweigh(struct pm_balance *sheet, size_t place,
                                  struct pm_outcome *outcome, struct pm_error *err)
{
    struct pm_unit *unit = &sheet->units[sheet->unit_of[place]];
    if (unit->was > core_limit(sheet, unit))
        return pm_fail(err, PM_INVALID, "In that ratio a line would exceed a million parts.");
    *outcome = (struct pm_outcome){.settled = sheet->trial->settled};
    unit->reweighted = true;
    pour(sheet);
    return PM_OK;
}

enum pm_status pm_balance_drop(struct pm_balance *sheet, size_t place, size_t rest,
                               struct pm_outcome *outcome, struct pm_error *err)
{
    const struct pm_trial *trial = sheet->trial;
    pm_parts gone = trial->lines[place].parts;
    if (gone > 0 && trial->settled && trial->mode != PM_OPEN) {
        char off[PM_AMOUNT_TEXT];
        struct sharing who = sharing(sheet, sheet->unit_of[place], false);
        if (trial->mode == PM_SHARE && who.moved == 0) {
            return pm_fail(err, PM_REFUSED,
                           "Nothing is free to take up the %s this line leaves; "
                           "free another line first.",
                           exact(gone, off));
        }
        if (trial->mode == PM_CARRIER_MODE && sheet->carrier == PM_NO_PLACE) {
            return pm_fail(err, PM_REFUSED,
                           "No line is the carrier that could take up the %s this line leaves; "
                           "name one first.",
                           exact(gone, off));
        }
    }
    if (rest != PM_NO_PLACE)
        sheet->units[sheet->unit_of[rest]].reweighted = true;
    return pm_balance_set(sheet, place, 0, outcome, err);
}

/* ---- the whole trial ---- */

enum pm_status pm_balance_settle(struct pm_balance *sheet, bool by_carrier,
                                 struct pm_outcome *outcome, struct pm_error *err)
{
    pm_parts base = sheet->trial->base;
    char off[PM_AMOUNT_TEXT];
    *outcome = (struct pm_outcome){.settled = true};
    if (sheet->total == base)
        return PM_OK;
    if (by_carrier) {
        if (sheet->carrier == PM_NO_PLACE) {
            return pm_fail(err, PM_REFUSED,
                           "No line is the carrier that could take up the difference; "
                           "name one first.");
        }
        struct pm_unit *carrier = &sheet->units[sheet->unit_of[sheet->carrier]];
        carrier->now = base - (sheet->total - carrier->was);
        if (carrier->now < 0) {
            return pm_fail(err, PM_REFUSED,
                           "The carrier would fall below zero: the other lines exceed the base "
                           "by %s.",
                           exact(-carrier->now, off));
        }
        outcome->by_carrier = true;
        pour(sheet);
        return PM_OK;
    }
    struct sharing who = sharing(sheet, PM_NO_PLACE, false);
    if (who.held > base) {
        return pm_fail(err, PM_REFUSED,
                       "Held lines exceed the base by %s; free or lower one first.",
                       exact(who.held - base, off));
    }
    if (who.moved == 0) {
        return pm_fail(err, PM_REFUSED,
                       "Nothing is free to take up %s; free a line, or give one parts, first.",
                       exact(base - who.held, off));
    }
    share_out(sheet, &who, base - who.held);
    pour(sheet);
    return PM_OK;
}

enum pm_status pm_balance_proportion(struct pm_balance *sheet, pm_parts total, struct pm_error *err)
{
    struct sharing who = sharing(sheet, PM_NO_PLACE, true);
    share_out(sheet, &who, total);
    pour(sheet);
    for (size_t i = 0; i < sheet->trial->count; i++)
        if (sheet->parts[i] > PM_PARTS_MAX)
            return pm_fail(err, PM_INVALID, "A line would exceed a million parts.");
    return PM_OK;
}

enum pm_status pm_balance_rescale(struct pm_balance *sheet, pm_parts base,
                                  struct pm_outcome *outcome, struct pm_error *err)
{
    pm_parts total = 0;
    if (!pm_muldiv(sheet->total, base, sheet->trial->base, &total))
        return pm_fail(err, PM_INVALID, "On that base a line would exceed a million parts.");
    *outcome = (struct pm_outcome){.settled = sheet->trial->settled || total >= base};
    return sheet->total > 0 ? pm_balance_proportion(sheet, total, err) : PM_OK;
}

/* ---- restrength ---- */

/*
 * What the line's unit comes to, in micro-parts x new strength. In a core this is worked out from
 * the ratio, not from the rounded parts, which a weak strength would magnify: with weight w of W
 * the sum T becomes T x ((W - w) + w x was / now) / W.
 */
static bool restrengthened(const struct pm_unit *unit, const struct pm_restrength *change,
                           pm_wide *out)
{
    pm_wide others = (pm_wide)(uint64_t)(change->core_weight - change->weight);
    pm_wide factor = others * (pm_wide)(uint64_t)change->now +
                     (pm_wide)(uint64_t)change->weight * (pm_wide)(uint64_t)change->was;
    pm_wide sum = (pm_wide)(uint64_t)unit->was;
    if (sum != 0 && factor > (~(pm_wide)0 >> 1) / sum)
        return false;
    *out = sum * factor / (pm_wide)(uint64_t)change->core_weight;
    return true;
}

/* Every unit by one factor, so that all ratios of neat parts stay. */
static enum pm_status scale_all(struct pm_balance *sheet, const struct pm_restrength *change,
                                pm_wide subject_weight, struct pm_error *err)
{
    size_t subject = sheet->unit_of[change->place];
    pm_wide sum = 0;
    for (size_t u = 0; u < sheet->count; u++) {
        const struct pm_unit *unit = &sheet->units[u];
        if (u != subject && unit->held && !change->move_held) {
            return pm_fail(err, PM_REFUSED,
                           "Held lines would have to move so that every ratio of neat parts "
                           "stays; free them, or let them move.");
        }
        sheet->weights[u] = u == subject
                                ? subject_weight
                                : (pm_wide)(uint64_t)unit->was * (pm_wide)(uint64_t)change->now;
        sum += sheet->weights[u];
    }
    pm_apportion_wide(sheet->weights, sheet->count, sum, sheet->trial->base, sheet->shares,
                      sheet->rest);
    for (size_t u = 0; u < sheet->count; u++)
        sheet->units[u].now = sheet->shares[u];
    return PM_OK;
}

static enum pm_status refuse_weak(const struct pm_restrength *change, pm_parts sum,
                                  pm_parts carrier, struct pm_error *err)
{
    /* The weakest t whose sum still rounds to no more than sum + carrier:
     * t > 2 T w was / ((2 carrier + 1) W + 2 T w). */
    pm_int128 part = 2 * (pm_int128)sum * change->weight;
    pm_int128 room = (2 * (pm_int128)carrier + 1) * change->core_weight;
    pm_strength weakest = (pm_strength)(part * change->was / (room + part)) + 1;
    char text[PM_AMOUNT_TEXT];
    return pm_fail(err, PM_REFUSED,
                   "The carrier would fall below zero; the weakest this line can be is %s.",
                   pm_strength_format(weakest, '.', text));
}

/* Whether the unit's lines can have what it comes to. */
static bool unit_in_range(const struct pm_balance *sheet, const struct pm_unit *unit, pm_wide sum)
{
    return sum <= (unit->lines == 1 ? (pm_wide)PM_PARTS_MAX : (pm_wide)core_limit(sheet, unit));
}

enum pm_status pm_balance_restrength(struct pm_balance *sheet, const struct pm_restrength *change,
                                     struct pm_outcome *outcome, struct pm_error *err)
{
    const struct pm_trial *trial = sheet->trial;
    struct pm_unit *unit = &sheet->units[sheet->unit_of[change->place]];
    struct pm_unit *carrier =
        change->carrier_matches ? &sheet->units[sheet->unit_of[sheet->carrier]] : NULL;
    bool kept = trial->settled && trial->mode != PM_OPEN; /* the total has to be kept */
    pm_wide strength = (pm_wide)(uint64_t)change->now;
    pm_wide weight = 0;
    bool fits = restrengthened(unit, change, &weight);
    pm_wide sum = (weight + strength / 2) / strength;
    if (carrier != NULL && kept &&
        (!fits || sum > (pm_wide)(uint64_t)unit->was + (pm_wide)(uint64_t)carrier->was))
        return refuse_weak(change, unit->was, carrier->was, err);
    if (!fits || !unit_in_range(sheet, unit, sum))
        return pm_fail(err, PM_REFUSED, "So weak, the line would exceed a million parts.");
    *outcome = (struct pm_outcome){.settled = trial->settled};
    unit->now = (pm_parts)sum;
    unit->reweighted = unit->lines > 1;
    pm_parts more = unit->now - unit->was;
    sheet->parts[change->place] += more;
    if (carrier != NULL && more <= carrier->was) {
        carrier->now = carrier->was - more;
        outcome->by_carrier = true;
        pour(sheet);
        return PM_OK;
    }
    pm_parts total = sheet->total + more;
    outcome->settled = trial->settled || total >= trial->base;
    if (trial->mode != PM_OPEN && more != 0 && (kept || total > trial->base)) {
        outcome->all_scaled = true;
        enum pm_status status = scale_all(sheet, change, weight, err);
        if (status != PM_OK)
            return status;
    }
    pour(sheet);
    return PM_OK;
}
