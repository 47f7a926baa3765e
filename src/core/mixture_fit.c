/* SPDX-License-Identifier: MIT */
/* Mixture designs: what ratings of their points say about the mixtures between. */
#include "permille/core/mixture.h"

#include "permille/base/mem.h"

#include <math.h>
#include <string.h>

enum pm_status pm_mix_fit(enum pm_mix_model model, size_t components,
                          const struct pm_mix_point *points, const double *ratings, size_t count,
                          struct pm_fit *out, struct pm_error *err)
{
    size_t terms = pm_mix_terms(model, components), term = PM_FIT_TERMS_MAX;
    char name[8];
    if (terms == 0)
        return pm_fail(err, PM_REFUSED, "A %s model asks for at least %d components.",
                       pm_mix_model_word(model), model == PM_MIX_SPECIAL_CUBIC ? 3 : 2);
    double *x = pm_alloc_array(count + 1, terms * sizeof *x);
    if (x == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < count; i++) {
        double shares[PM_MIX_MOST];
        pm_mix_shares(&points[i], components, shares);
        pm_mix_expand(model, components, shares, x + i * terms);
    }
    enum pm_status status = pm_fit(x, ratings, count, terms, out, &term, err);
    pm_free(x);
    if (status == PM_REFUSED && term < terms)
        return pm_fail(err, PM_REFUSED,
                       "These trials cannot tell the term %s of a %s model; rate other ratios or "
                       "fit a simpler one.",
                       pm_mix_term_name(model, components, term, name), pm_mix_model_word(model));
    return status;
}

/* ---- where it is highest --------------------------------------------------------------------- */

#define STARTS 8 /* mixtures climbed from */

struct climb {
    enum pm_mix_model model;
    size_t components;
    const struct pm_mix_bounds *bounds;
    const struct pm_fit *fit;
    struct pm_mix_best starts[STARTS]; /* the best met so far, best first */
    size_t count;
};

static double value_at(const struct climb *climb, const double *shares, double *error)
{
    double terms[PM_FIT_TERMS_MAX];
    pm_mix_expand(climb->model, climb->components, shares, terms);
    return pm_fit_at(climb->fit, terms, error);
}

static double least(const struct climb *climb, size_t component)
{
    return (double)climb->bounds->least[component] / 1e9;
}

static double most(const struct climb *climb, size_t component)
{
    return (double)climb->bounds->most[component] / 1e9;
}

static void offer(struct climb *climb, const double *shares)
{
    double value = value_at(climb, shares, NULL);
    size_t at = climb->count;
    while (at > 0 && climb->starts[at - 1].value < value)
        at--;
    if (at == STARTS)
        return;
    size_t behind = (climb->count < STARTS ? climb->count : STARTS - 1) - at;
    memmove(&climb->starts[at + 1], &climb->starts[at], behind * sizeof *climb->starts);
    memcpy(climb->starts[at].shares, shares, climb->components * sizeof *shares);
    climb->starts[at].value = value;
    climb->count += climb->count < STARTS;
}

/* Every mixture on a lattice above the lower bounds that the upper ones allow. */
static void look_through(struct climb *climb, double *shares, size_t at, int left, int unit,
                         double free_share)
{
    size_t last = climb->components - 1;
    for (int here = at == last ? left : 0; here <= left; here++) {
        shares[at] = least(climb, at) + free_share * here / unit;
        if (shares[at] > most(climb, at) + 1e-12)
            return;
        if (at == last)
            offer(climb, shares);
        else
            look_through(climb, shares, at + 1, left - here, unit, free_share);
    }
}

/* Moves what helps most from one component to another, at most `step`. */
static bool move(const struct climb *climb, struct pm_mix_best *best, double step)
{
    double value = best->value, found[PM_MIX_MOST];
    for (size_t to = 0; to < climb->components; to++)
        for (size_t from = 0; from < climb->components; from++) {
            double shares[PM_MIX_MOST] = {0};
            double room =
                fmin(most(climb, to) - best->shares[to], best->shares[from] - least(climb, from));
            double amount = fmin(step, room);
            if (to == from || !(amount > 0))
                continue;
            memcpy(shares, best->shares, sizeof shares);
            shares[to] += amount;
            shares[from] -= amount;
            double there = value_at(climb, shares, NULL);
            if (there > value) {
                value = there;
                memcpy(found, shares, sizeof found);
            }
        }
    if (!(value > best->value))
        return false;
    memcpy(best->shares, found, sizeof found);
    best->value = value;
    return true;
}

static void climb_from(const struct climb *climb, struct pm_mix_best *best)
{
    double step = 0.25;
    for (int moves = 0; step > 1e-9 && moves < 100000; moves++)
        if (!move(climb, best, step))
            step /= 2;
}

static bool on_edge(const struct climb *climb, const double *shares)
{
    for (size_t i = 0; i < climb->components; i++)
        if (shares[i] < least(climb, i) + 1e-6 || shares[i] > most(climb, i) - 1e-6)
            return true;
    return false;
}

void pm_mix_highest(enum pm_mix_model model, size_t components, const struct pm_mix_bounds *bounds,
                    const struct pm_fit *fit, struct pm_mix_best *out)
{
    static const int units[] = {0, 0, 200, 60, 24, 14};
    struct climb climb = {.model = model, .components = components, .bounds = bounds, .fit = fit};
    double shares[PM_MIX_MOST] = {0}, free_share = 1;
    struct pm_mix_design corners = {.count = 0};
    for (size_t i = 0; i < components; i++)
        free_share -= least(&climb, i);
    look_through(&climb, shares, 0, units[components], units[components], free_share);
    if (pm_mix_vertices(components, bounds, &corners, NULL) == PM_OK)
        for (size_t i = 0; i < corners.count; i++) {
            pm_mix_shares(&corners.points[i], components, shares);
            offer(&climb, shares);
        }
    struct pm_mix_best best = {.value = -INFINITY};
    for (size_t i = 0; i < climb.count; i++) {
        climb_from(&climb, &climb.starts[i]);
        if (climb.starts[i].value > best.value)
            best = climb.starts[i];
    }
    best.value = value_at(&climb, best.shares, &best.error);
    best.edge = on_edge(&climb, best.shares);
    *out = best;
}
