/* SPDX-License-Identifier: MIT */
/* A line set to parts, a core that follows its ratio, a unit that goes (balance.h). */
#include "balance_units.h"

/* What the unit of the line exactly comes to when the line has `parts`. */
static struct pm_weight unit_amount(const struct pm_balancing *sheet, size_t place, pm_parts parts)
{
    struct pm_core_ratio ratio = pm_unit_ratio(sheet, pm_unit_at(sheet, place));
    return pm_weight_over(pm_weight_times(pm_weight_of(parts), ratio.sum),
                          pm_unit_poured_at(sheet, place));
}

static pm_parts unit_target(const struct pm_balancing *sheet, size_t place, pm_parts parts)
{
    const struct pm_free_unit *unit = pm_unit_at(sheet, place);
    if (parts == sheet->trial->lines[place].parts)
        return unit->was; /* as it is, however the rounding within its core fell */
    return unit->lines == 1 ? parts : pm_weight_round(unit_amount(sheet, place, parts), 0);
}

/* The most parts the line can have for its unit to sum to no more than `limit` (>= 0). */
static pm_parts most_within(const struct pm_balancing *sheet, size_t place, pm_parts limit)
{
    const struct pm_free_unit *unit = pm_unit_at(sheet, place);
    if (unit->lines == 1)
        return limit;
    struct pm_core_ratio ratio = pm_unit_ratio(sheet, unit);
    struct pm_weight part = pm_weight_times(pm_weight_of(limit), pm_unit_poured_at(sheet, place));
    pm_parts most = pm_weight_round(pm_weight_over(part, ratio.sum), 0);
    while (most > 0 && unit_target(sheet, place, most) > limit)
        most--;
    while (unit_target(sheet, place, most + 1) <= limit)
        most++;
    return most;
}

/* Why the line cannot have so much: of `limit` the others need `needed`. */
static enum pm_status refuse_over(const struct pm_balancing *sheet, size_t place,
                                  const struct pm_givers *who, pm_parts limit, pm_parts needed,
                                  struct pm_error *err)
{
    char most[PM_AMOUNT_TEXT], left[PM_AMOUNT_TEXT];
    bool core = pm_unit_at(sheet, place)->lines > 1;
    if (limit < 0) {
        return pm_fail(err, PM_REFUSED,
                       "Held lines alone exceed the base by %s parts; free or lower one first.",
                       pm_parts_exact(-limit, left));
    }
    pm_parts_exact(limit > needed ? most_within(sheet, place, limit - needed) : 0, most);
    pm_parts_exact(limit, left);
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
                   pm_parts_exact(differs < PM_PARTS_MAX ? differs : PM_PARTS_MAX, off),
                   pm_parts_exact(sheet->trial->lines[place].parts, stay));
}

static enum pm_status set_in_share(struct pm_balancing *sheet, size_t place, pm_parts target,
                                   struct pm_outcome *outcome, struct pm_error *err)
{
    size_t subject = sheet->unit_of[place];
    struct pm_givers who = pm_givers_choose(sheet, subject);
    pm_parts limit = sheet->trial->base - (sheet->total - sheet->units[subject].was - who.have);
    if (!who.able && sheet->trial->settled && target != limit)
        return refuse_alone(sheet, place, limit, target, err);
    pm_parts needed = who.able ? pm_givers_least(sheet, &who) : 0;
    pm_parts left = limit - target;
    if (left < 0 || (left < needed && left < who.have))
        return refuse_over(sheet, place, &who, limit, needed, err);
    if (who.able) {
        pm_givers_give(sheet, &who, left);
        outcome->by_cores = who.cores_only;
    }
    return PM_OK;
}

static enum pm_status set_by_carrier(struct pm_balancing *sheet, size_t place, pm_parts target,
                                     struct pm_error *err)
{
    const struct pm_trial *trial = sheet->trial;
    char most[PM_AMOUNT_TEXT];
    pm_parts others = sheet->total - pm_unit_at(sheet, place)->was;
    if (place == sheet->carrier || sheet->carrier == PM_NO_PLACE) {
        bool none = place != sheet->carrier;
        pm_parts limit = trial->base - others;
        if (limit < 0)
            return pm_fail(err, PM_REFUSED, "The other lines already exceed the base.");
        pm_parts_exact(
            trial->settled ? trial->lines[place].parts : most_within(sheet, place, limit), most);
        return pm_fail(err, PM_REFUSED,
                       none ? "No line is the carrier that could give way: without one, "
                              "this line can be %s%s."
                            : "The carrier takes what the others leave: here that is %s%s.",
                       trial->settled ? "" : "at most ", most);
    }
    struct pm_free_unit *carrier = pm_unit_at(sheet, sheet->carrier);
    pm_parts limit = trial->base - (others - carrier->was);
    if (limit < 0)
        return pm_fail(err, PM_REFUSED, "The other lines already exceed the base.");
    if (target > limit) {
        return pm_fail(err, PM_REFUSED,
                       "The carrier would fall below zero; the most this line can take is %s.",
                       pm_parts_exact(most_within(sheet, place, limit), most));
    }
    carrier->now = limit - target;
    pm_unit_reshare(carrier, pm_unit_worth(sheet, carrier->now));
    return PM_OK;
}

/* In open mode nothing else bounds what the rest of a core would come to. */
static enum pm_status refuse_core(const struct pm_balancing *sheet, size_t place,
                                  struct pm_error *err)
{
    char most[PM_AMOUNT_TEXT];
    pm_parts limit = pm_unit_limit(sheet, pm_unit_at(sheet, place));
    return pm_fail(err, PM_REFUSED,
                   "The rest of the core would exceed a million parts; the most this line can "
                   "take is %s.",
                   pm_parts_exact(most_within(sheet, place, limit), most));
}

/* A core that has something has it in each of its lines. */
static enum pm_status check_core(const struct pm_balancing *sheet, size_t place, pm_parts parts,
                                 pm_parts target, struct pm_error *err)
{
    const struct pm_free_unit *unit = pm_unit_at(sheet, place);
    if (unit->lines == 1 || parts == 0 || parts == sheet->trial->lines[place].parts)
        return PM_OK;
    if (target > pm_unit_limit(sheet, unit))
        return refuse_core(sheet, place, err);
    struct pm_core_ratio ratio = pm_unit_ratio(sheet, unit);
    pm_parts least = pm_weight_ceil(pm_weight_over(pm_unit_poured_at(sheet, place), ratio.least));
    if (parts >= least)
        return PM_OK;
    char text[PM_AMOUNT_TEXT];
    return pm_fail(err, PM_REFUSED,
                   "A line of the core would have less than a millionth; the least this line can "
                   "be is %s.",
                   pm_parts_exact(least, text));
}

enum pm_status pm_balance_set(struct pm_balancing *sheet, size_t place, pm_parts parts,
                              struct pm_outcome *outcome, struct pm_error *err)
{
    const struct pm_trial *trial = sheet->trial;
    *outcome = (struct pm_outcome){.lacking = 0};
    if (parts < 0 || parts > PM_PARTS_MAX)
        return pm_fail(err, PM_INVALID, "Parts must be between 0 and 1000000.");
    struct pm_free_unit *unit = pm_unit_at(sheet, place);
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
        pm_unit_reshare(unit, pm_weight_times(amount, sheet->scale));
    }
    unit->now = target;
    if (unit->lines > 1) {
        sheet->fixed = place;
        sheet->fixed_parts = parts;
    }
    pm_units_pour(sheet);
    return PM_OK;
}

enum pm_status pm_balance_reweigh(struct pm_balancing *sheet, size_t place,
                                  struct pm_outcome *outcome, struct pm_error *err)
{
    struct pm_free_unit *unit = pm_unit_at(sheet, place);
    *outcome = (struct pm_outcome){.lacking = 0};
    if (unit->was > pm_unit_limit(sheet, unit))
        return pm_fail(err, PM_INVALID, "In that ratio a line would exceed a million parts.");
    unit->reweighted = true;
    pm_units_pour(sheet);
    return PM_OK;
}

enum pm_status pm_balance_form(struct pm_balancing *sheet, size_t place, struct pm_outcome *outcome,
                               struct pm_error *err)
{
    const struct pm_free_unit *unit = pm_unit_at(sheet, place);
    struct pm_core_ratio ratio = pm_unit_ratio(sheet, unit);
    if (pm_unit_all_there(sheet, unit) && unit->was < pm_weight_ceil(pm_unit_least(&ratio))) {
        return pm_fail(err, PM_REFUSED,
                       "In that ratio a line of the core would have less than a millionth.");
    }
    return pm_balance_reweigh(sheet, place, outcome, err);
}

enum pm_status pm_balance_drop(struct pm_balancing *sheet, size_t place, size_t rest,
                               struct pm_outcome *outcome, struct pm_error *err)
{
    const struct pm_trial *trial = sheet->trial;
    struct pm_free_unit *unit = pm_unit_at(sheet, place);
    *outcome = (struct pm_outcome){.lacking = 0};
    if (rest != PM_NO_PLACE)
        pm_unit_at(sheet, rest)->reweighted = true;
    if (unit->was > 0 && trial->settled && trial->mode != PM_OPEN) {
        char off[PM_AMOUNT_TEXT];
        struct pm_givers who = pm_givers_choose(sheet, sheet->unit_of[place]);
        pm_parts_exact(unit->was, off);
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
    pm_units_pour(sheet);
    return PM_OK;
}
