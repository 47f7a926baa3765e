/* SPDX-License-Identifier: MIT */
/* One weigh plan for several trials. */
#include "permille/core/premix.h"

#include "permille/core/apportion.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define STOCKS_MOST 4 /* ten-thousandfold */

static pm_parts at(const struct pm_premix_spec *spec, size_t trial, size_t i)
{
    return spec->parts[trial * spec->ingredients + i];
}

/* In the same ratio in every trial, as far as parts rounded to a millionth can tell. */
static bool go_together(const struct pm_premix_spec *spec, size_t i, size_t j)
{
    size_t most = 0;
    for (size_t k = 1; k < spec->trials; k++)
        most = at(spec, k, i) > at(spec, most, i) ? k : most;
    const double a = (double)at(spec, most, i), b = (double)at(spec, most, j);
    if (!(a > 0) || !(b > 0))
        return false;
    for (size_t k = 0; k < spec->trials; k++) {
        const double x = (double)at(spec, k, i), y = (double)at(spec, k, j);
        if ((x > 0) != (y > 0) || fabs(y - x * b / a) > 2 * (1 + b / a))
            return false;
    }
    return true;
}

struct group {
    int number;
    double weight; /* parts in all trials, to put the largest first */
    size_t members;
};

static int larger_first(const void *left, const void *right)
{
    const struct group *a = left, *b = right;
    if (a->members < 2 || b->members < 2)
        return (b->members >= 2) - (a->members >= 2);
    return a->weight < b->weight ? 1 : a->weight > b->weight ? -1 : a->number - b->number;
}

/* First a number per set, then numbers by size for those of two or more. */
static void find_groups(const struct pm_premix_spec *spec, struct pm_premix *out,
                        struct group *groups, int *renamed)
{
    int count = 0;
    for (size_t i = 0; i < spec->ingredients; i++) {
        out->group[i] = -1;
        for (size_t j = 0; j < i && out->group[i] < 0; j++)
            if (go_together(spec, j, i))
                out->group[i] = out->group[j];
        if (out->group[i] < 0) {
            groups[count] = (struct group){.number = count};
            out->group[i] = count++;
        }
        groups[out->group[i]].members++;
        for (size_t k = 0; k < spec->trials; k++)
            groups[out->group[i]].weight += (double)at(spec, k, i);
    }
    qsort(groups, (size_t)count, sizeof *groups, larger_first);
    for (int g = 0; g < count; g++) {
        renamed[groups[g].number] = groups[g].members >= 2 ? g : -1;
        out->groups += groups[g].members >= 2;
    }
    for (size_t i = 0; i < spec->ingredients; i++)
        out->group[i] = renamed[out->group[i]];
}

static pm_mass with_spare(const struct pm_premix_spec *spec, pm_mass mass)
{
    int64_t out = mass;
    (void)pm_muldiv(mass, PM_NEAT + spec->spare, PM_NEAT, &out);
    return out;
}

/* Each trial's masses, divided between premixes and single weights. */
static enum pm_status divide(const struct pm_premix_spec *spec, struct pm_premix *out,
                             pm_mass *masses, struct pm_error *err)
{
    const size_t n = spec->ingredients;
    for (size_t k = 0; k < spec->trials; k++) {
        const enum pm_status status =
            pm_apportion(spec->parts + k * n, n, spec->batch, masses, err);
        if (status == PM_NOMEM)
            return status;
        if (status != PM_OK)
            return pm_fail(err, PM_INVALID, "A trial of the series is empty.");
        for (size_t i = 0; i < n; i++) {
            out->without += masses[i] > 0;
            if (out->group[i] < 0) {
                out->single[k * n + i] = masses[i];
                continue;
            }
            out->take[k * out->groups + (size_t)out->group[i]] += masses[i];
            out->make[i] += masses[i];
        }
    }
    for (size_t i = 0; i < n; i++)
        if (out->group[i] >= 0) {
            out->make[i] = with_spare(spec, out->make[i]);
            out->amount[out->group[i]] += out->make[i];
        }
    return PM_OK;
}

static pm_mass smallest(const struct pm_premix_spec *spec, const struct pm_premix *out, size_t i)
{
    pm_mass least = 0;
    for (size_t k = 0; k < spec->trials; k++) {
        const pm_mass mass = out->single[k * spec->ingredients + i];
        if (mass > 0 && (least == 0 || mass < least))
            least = mass;
    }
    return least;
}

static bool needs_stock(const struct pm_premix_spec *spec, pm_mass mass)
{
    return mass > 0 && mass < spec->least;
}

/* Whether each trial that needs it takes so much premix as comes with a stock of that factor. */
static bool has_room(const struct pm_premix_spec *spec, const struct pm_premix *out, size_t i,
                     pm_mass factor)
{
    for (size_t k = 0; k < spec->trials; k++) {
        const pm_mass mass = out->single[k * spec->ingredients + i];
        if (needs_stock(spec, mass) && mass * (factor - 1) > out->take[k * out->groups])
            return false;
    }
    return true;
}

static void take_stock(const struct pm_premix_spec *spec, struct pm_premix *out, size_t i,
                       int power, pm_mass factor)
{
    pm_mass sum = 0;
    for (size_t k = 0; k < spec->trials; k++) {
        const size_t at = k * spec->ingredients + i;
        if (!needs_stock(spec, out->single[at]))
            continue;
        sum += out->single[at];
        out->take[k * out->groups] -= out->single[at] * (factor - 1);
        out->single[at] *= factor;
        out->from_stock[at] = true;
    }
    out->tenfold[i] = power;
    out->stock[i] = (with_spare(spec, sum) + 1) * factor;
}

static void propose_stocks(const struct pm_premix_spec *spec, struct pm_premix *out)
{
    for (size_t i = 0; i < spec->ingredients; i++) {
        const pm_mass least = smallest(spec, out, i);
        pm_mass factor = 10;
        if (out->group[i] >= 0 || !needs_stock(spec, least))
            continue;
        out->too_small[i] = true;
        for (int power = 1; out->groups > 0 && power <= STOCKS_MOST; power++, factor *= 10)
            if (least * factor >= spec->least && has_room(spec, out, i, factor)) {
                take_stock(spec, out, i, power, factor);
                out->too_small[i] = false;
                break;
            }
    }
}

static void count_weighings(const struct pm_premix_spec *spec, struct pm_premix *out)
{
    for (size_t i = 0; i < spec->ingredients; i++)
        out->weighings += (out->group[i] >= 0) + 2 * (size_t)(out->tenfold[i] > 0);
    for (size_t k = 0; k < spec->trials; k++) {
        for (size_t g = 0; g < out->groups; g++)
            out->weighings += out->take[k * out->groups + g] > 0;
        for (size_t i = 0; i < spec->ingredients; i++)
            out->weighings += out->single[k * spec->ingredients + i] > 0;
    }
}

static enum pm_status plan(const struct pm_premix_spec *spec, struct pm_premix *out,
                           struct pm_error *err)
{
    const size_t n = spec->ingredients, all = n * spec->trials;
    struct pm_arena *arena = &out->arena;
    out->trials = spec->trials;
    out->ingredients = n;
    out->group = pm_arena_array(arena, n, sizeof *out->group);
    out->make = pm_arena_array(arena, n, sizeof *out->make);
    out->amount = pm_arena_array(arena, n, sizeof *out->amount);
    out->take = pm_arena_array(arena, all, sizeof *out->take);
    out->single = pm_arena_array(arena, all, sizeof *out->single);
    out->tenfold = pm_arena_array(arena, n, sizeof *out->tenfold);
    out->stock = pm_arena_array(arena, n, sizeof *out->stock);
    out->from_stock = pm_arena_array(arena, all, sizeof *out->from_stock);
    out->too_small = pm_arena_array(arena, n, sizeof *out->too_small);
    struct group *groups = pm_arena_array(arena, n, sizeof *groups);
    int *renamed = pm_arena_array(arena, n, sizeof *renamed);
    pm_mass *masses = pm_arena_array(arena, n, sizeof *masses);
    if (pm_arena_status(arena, err) != PM_OK)
        return PM_NOMEM;
    find_groups(spec, out, groups, renamed);
    const enum pm_status status = divide(spec, out, masses, err);
    if (status != PM_OK)
        return status;
    propose_stocks(spec, out);
    count_weighings(spec, out);
    return PM_OK;
}

enum pm_status pm_premix_plan(const struct pm_premix_spec *spec, struct pm_premix *out,
                              struct pm_error *err)
{
    struct pm_premix made = {.trials = 0};
    if (spec->trials == 0 || spec->ingredients == 0 || spec->batch < 1)
        return pm_fail(err, PM_INVALID, "A weigh plan needs trials, materials and a mass.");
    const enum pm_status status = plan(spec, &made, err);
    if (status == PM_OK)
        *out = made;
    else
        pm_premix_release(&made);
    return status;
}

void pm_premix_release(struct pm_premix *premix)
{
    pm_arena_release(&premix->arena);
    *premix = (struct pm_premix){.trials = 0};
}
