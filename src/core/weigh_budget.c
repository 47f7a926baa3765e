/* SPDX-License-Identifier: MIT */
/* What a balance does to a formula as it is written. */
#include "permille/core/weigh_budget.h"

#include "permille/core/column.h"
#include "permille/core/stock.h"
#include "permille/core/weigh_plan.h"

#include <math.h>

/* ---- an accord ---- */

enum pm_status pm_budget_accord_read(int64_t trial, const struct pm_trial_source *source,
                                     struct pm_budget_accord *out, struct pm_error *err)
{
    /* As much as there can be, so that a trace of a trace keeps its digits. */
    const pm_mass whole = PM_MASS_MAX;
    struct pm_line line = {
        .id = 1, .kind = PM_LINE_ACCORD, .ref = trial, .parts = PM_PART, .strength = PM_NEAT};
    const struct pm_trial alone = {.base = PM_PART, .lines = &line, .count = 1};
    struct pm_budget_accord read = {.trial = trial, .smallest = PM_WHOLE};
    struct pm_pours pours;
    enum pm_status status = pm_pours_of(&alone, source, whole, &pours, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < pours.count; i++) {
        const pm_mass mass = pours.items[i].mass;
        const int64_t share = (int64_t)((pm_int128)mass * PM_WHOLE / whole);
        if (share == 0)
            continue;
        const double times = (double)whole / (double)mass;
        read.weights++;
        read.squares += times * times;
        read.smallest = share < read.smallest ? share : read.smallest;
    }
    pm_pours_release(&pours);
    *out = read;
    return PM_OK;
}

/* ---- lines ---- */

/* One working out. */
struct budgeting {
    const struct pm_budget_terms *terms;
    pm_int128 total; /* of all items, pico-parts */
    double unit;     /* standard uncertainty of one weight, micrograms */
    pm_mass minimum;
    double sum;      /* of relative variances */
    pm_int128 least; /* the least batch so far */
};

static const struct pm_budget_accord *accord_of(const struct pm_budget_terms *terms, int64_t trial)
{
    for (size_t i = 0; i < terms->accord_count; i++)
        if (terms->accords[i].trial == trial)
            return &terms->accords[i];
    return NULL;
}

static pm_mass of_batch(const struct budgeting *at, pm_int128 fine)
{
    return (pm_mass)((fine * at->terms->batch + at->total / 2) / at->total);
}

/* What makes a small line weighable. */
static void say_help(const struct budgeting *at, const struct pm_line *line,
                     struct pm_budget_line *out)
{
    pm_mass neat = 0;
    if (line->kind == PM_LINE_ACCORD) {
        out->make_up = out->weights > 1 && out->mass >= at->minimum;
        return;
    }
    pm_muldiv(out->mass, line->strength, PM_NEAT, &neat);
    const pm_strength would = pm_weigh_strength_for(neat, at->minimum);
    out->dilute = would < line->strength ? would : 0;
}

static void read_line(struct budgeting *at, const struct pm_budget_item *item,
                      struct pm_budget_line *out)
{
    const struct pm_budget_accord *accord =
        item->line->kind == PM_LINE_ACCORD ? accord_of(at->terms, item->line->ref) : NULL;
    const pm_int128 fine = (pm_int128)item->parts * PM_FINE_PER_MICRO;
    pm_int128 smallest = fine;
    double squares = 1;
    *out = (struct pm_budget_line){0};
    if (item->parts <= 0)
        return;
    out->mass = of_batch(at, fine);
    out->weights = 1;
    if (accord != NULL && accord->made_up < out->mass) {
        smallest = fine / PM_FINE_PER_MICRO * accord->smallest / (PM_WHOLE / PM_FINE_PER_MICRO);
        squares = accord->squares;
        out->weights = accord->weights;
    } else if (item->line->kind == PM_LINE_ACCORD && accord == NULL) {
        out->weights = 0;
        return;
    }
    out->smallest = of_batch(at, smallest);
    out->error = pm_balance_error(&at->terms->balance, out->smallest);
    /* Against the exact amount: what the least batch promises must hold. */
    out->small = smallest * at->terms->batch < (pm_int128)at->minimum * at->total;
    const double mass = (double)fine / (double)at->total * (double)at->terms->batch;
    out->share = squares * (at->unit / mass) * (at->unit / mass);
    at->sum += out->share;
    const pm_int128 most = PM_MASS_MAX;
    const pm_int128 least =
        smallest > 0 ? ((pm_int128)at->minimum * at->total + smallest - 1) / smallest : most + 1;
    at->least = least > at->least ? least : at->least;
    if (out->small)
        say_help(at, item->line, out);
}

void pm_budget_read(const struct pm_budget_terms *terms, const struct pm_budget_item *items,
                    size_t count, struct pm_budget_line *lines, struct pm_budget *out)
{
    struct budgeting at = {.terms = terms,
                           .unit = pm_balance_uncertainty(&terms->balance),
                           .minimum = pm_balance_minimum(&terms->balance, terms->tolerance)};
    *out = (struct pm_budget){.minimum = at.minimum};
    for (size_t i = 0; i < count; i++)
        at.total += items[i].parts > 0 ? (pm_int128)items[i].parts * PM_FINE_PER_MICRO : 0;
    for (size_t i = 0; i < count; i++) {
        if (at.total == 0 || terms->batch <= 0)
            lines[i] = (struct pm_budget_line){0};
        else
            read_line(&at, &items[i], &lines[i]);
        out->small += lines[i].small;
        out->weights += lines[i].weights;
    }
    for (size_t i = 0; i < count && at.sum > 0; i++)
        lines[i].share /= at.sum;
    out->least = at.least <= PM_MASS_MAX ? (pm_mass)at.least : 0;
    out->combined = at.unit * sqrt((double)out->weights);
}
