/* SPDX-License-Identifier: MIT */
/* A line at another strength, its neat parts kept (balance.h). */
#include "balance_units.h"

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
    const struct pm_free_unit *unit = pm_unit_at(sheet, change->place);
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
    const struct pm_free_unit *unit = pm_unit_at(sheet, s->change->place);
    if (sum > (unit->lines == 1 ? PM_PARTS_MAX : pm_unit_limit(sheet, unit)))
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
    struct pm_givers who = pm_givers_all(sheet);
    pm_parts needed = pm_givers_least(sheet, &who);
    if (sheet->trial->base < needed) {
        char text[PM_AMOUNT_TEXT];
        return pm_fail(err, PM_REFUSED,
                       "So weak, it would leave another line less than a millionth; that takes a "
                       "base of %s.",
                       pm_parts_exact(needed, text));
    }
    pm_givers_give(sheet, &who, sheet->trial->base);
    return PM_OK;
}

enum pm_status pm_balance_restrength(struct pm_balancing *sheet, const struct pm_restrength *change,
                                     struct pm_outcome *outcome, struct pm_error *err)
{
    const struct pm_trial *trial = sheet->trial;
    struct pm_free_unit *unit = pm_unit_at(sheet, change->place);
    struct pm_free_unit *carrier =
        change->carrier_matches ? pm_unit_at(sheet, sheet->carrier) : NULL;
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
    pm_unit_reshare(unit, pm_weight_times(amount, sheet->scale));
    sheet->parts[change->place] += more; /* a guess that saves the core's other lines a rounding */
    if (carrier != NULL && more <= carrier->was) {
        carrier->now = carrier->was - more;
        pm_unit_reshare(carrier, pm_unit_worth(sheet, carrier->now));
        outcome->by_carrier = true;
        pm_units_pour(sheet);
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
    pm_units_pour(sheet);
    return PM_OK;
}
