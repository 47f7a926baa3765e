/* SPDX-License-Identifier: MIT */
/* The whole trial to its base, to another base, to a total (balance.h). */
#include "balance_units.h"

static enum pm_status settle_by_carrier(struct pm_balancing *sheet, struct pm_error *err)
{
    char off[PM_AMOUNT_TEXT];
    if (sheet->carrier == PM_NO_PLACE) {
        return pm_fail(err, PM_REFUSED,
                       "No line is the carrier that could take up the difference; "
                       "name one first.");
    }
    struct pm_free_unit *carrier = pm_unit_at(sheet, sheet->carrier);
    carrier->now = sheet->trial->base - (sheet->total - carrier->was);
    if (carrier->now < 0) {
        return pm_fail(err, PM_REFUSED,
                       "The carrier would fall below zero: the other lines exceed the base "
                       "by %s.",
                       pm_parts_exact(-carrier->now, off));
    }
    pm_unit_reshare(carrier, pm_unit_worth(sheet, carrier->now));
    return PM_OK;
}

static enum pm_status settle_in_share(struct pm_balancing *sheet, struct pm_outcome *outcome,
                                      struct pm_error *err)
{
    char off[PM_AMOUNT_TEXT];
    struct pm_givers who = pm_givers_choose(sheet, PM_NO_PLACE);
    pm_parts standing = sheet->total - who.have;
    pm_parts left = sheet->trial->base - standing;
    const char *names = who.cores_only ? "The lines outside cores" : "Held lines";
    if (left < 0) {
        return pm_fail(err, PM_REFUSED, "%s exceed the base by %s; free or lower one first.", names,
                       pm_parts_exact(-left, off));
    }
    if (!who.able) {
        return pm_fail(err, PM_REFUSED,
                       "Nothing is free to take up %s; free a line, or give one parts, first.",
                       pm_parts_exact(left, off));
    }
    pm_parts needed = pm_givers_least(sheet, &who);
    if (left < needed && left < who.have) {
        return pm_fail(err, PM_REFUSED,
                       "%s leave only %s, too little for the others to keep a millionth each; "
                       "they need %s.",
                       names, pm_parts_exact(left, off),
                       pm_parts_exact(needed, (char[PM_AMOUNT_TEXT]){0}));
    }
    pm_givers_give(sheet, &who, left);
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
        pm_units_pour(sheet);
    return status;
}

enum pm_status pm_balance_proportion(struct pm_balancing *sheet, pm_parts total,
                                     struct pm_error *err)
{
    struct pm_givers who = pm_givers_all(sheet);
    pm_givers_give(sheet, &who, total);
    pm_units_pour(sheet);
    return pm_units_check(sheet, err);
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
    struct pm_givers who = pm_givers_all(sheet);
    pm_int128 base = trial->base;
    pm_int128 least = 1;
    if (who.able && sheet->total > 0) {
        /* total x least / base must come to what they need, rounded half up. */
        pm_int128 needed = 2 * (pm_int128)pm_givers_least(sheet, &who) - 1;
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
        if (pm_unit_is_free(unit))
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
        struct pm_free_unit *carrier = pm_unit_at(sheet, sheet->carrier);
        if (carrier->now + total - sum < (carrier->was > 0 ? 1 : 0))
            return false;
        carrier->now += total - sum;
        pm_unit_reshare(carrier, pm_unit_worth(sheet, carrier->now));
        return true;
    }
    struct pm_givers who = pm_givers_choose(sheet, PM_NO_PLACE);
    for (size_t u = 0; u < sheet->count; u++)
        if (!pm_gives(&who, sheet, u))
            total -= sheet->units[u].now;
    if (!who.able || total < pm_givers_least(sheet, &who))
        return false;
    pm_givers_give(sheet, &who, total);
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
    struct pm_givers all = pm_givers_all(sheet);
    sheet->scale = scale;
    pm_givers_give(sheet, &all, total);
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
                       pm_parts_exact(least, text));
    }
    if (sheet->total == 0)
        return PM_OK;
    rescale_units(sheet, base, total);
    pm_units_pour(sheet);
    return pm_units_check(sheet, err);
}
