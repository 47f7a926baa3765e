/* SPDX-License-Identifier: MIT */
/*
 * Weigh-out plans: written from the ways that were chosen (weigh_ways.h).
 */
#include "weigh_ways.h"

#include "permille/base/mem.h"
#include "permille/base/word.h"
#include "permille/core/apportion.h"
#include "permille/core/dilute.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *const orders[] = {[PM_WEIGH_TRACES] = "traces",
                                     [PM_WEIGH_LARGEST] = "largest",
                                     [PM_WEIGH_VOLATILE] = "volatile",
                                     [PM_WEIGH_WRITTEN] = "written"};

bool pm_weigh_order_from_word(const char *word, enum pm_weigh_order *out)
{
    const int place = pm_word_place(orders, sizeof orders / sizeof orders[0], word);
    if (place >= 0)
        *out = (enum pm_weigh_order)place;
    return place >= 0;
}

pm_strength pm_weigh_strength_for(pm_mass neat, pm_mass minimum)
{
    if (neat >= minimum)
        return PM_NEAT;
    for (size_t i = 0; i < PM_WEIGH_MADE; i++)
        if ((pm_int128)neat * PM_NEAT >= (pm_int128)minimum * pm_weigh_made_at[i])
            return pm_weigh_made_at[i];
    return 0;
}

struct writing {
    struct pm_weigh_planner *planner;
    struct pm_weigh_plan plan;
    size_t capacity, making_capacity;
    size_t left_out;  /* a solvent less of which is poured than is meant; or PM_WEIGH_NONE */
    pm_mass smallest; /* the smallest weight there has to be (struct pm_weigh_outcome) */
};

static enum pm_status add_pour(struct writing *writing, const struct pm_weigh_pour *pour,
                               struct pm_error *err)
{
    void *grown = writing->plan.pours;
    if (!pm_grow(&grown, &writing->capacity, writing->plan.count + 1, sizeof *pour))
        return pm_fail_memory(err);
    writing->plan.pours = grown;
    writing->plan.pours[writing->plan.count++] = *pour;
    return PM_OK;
}

/* What is taken from the bottles first..last, as pm_ways_take said; what is lacking from none. */
static enum pm_status pour_taken(struct writing *writing, size_t need, size_t first, size_t last,
                                 pm_strength strength, int64_t solvent, pm_mass lacking,
                                 struct pm_error *err)
{
    enum pm_status status = PM_OK;
    struct pm_weigh_pour pour = {
        .need = need, .making = PM_WEIGH_NONE, .strength = strength, .solvent = solvent};
    for (size_t i = first; i < last && status == PM_OK; i++) {
        const struct pm_stock_bottle *stock = &writing->planner->bottles[i].stock;
        pour.bottle = stock->id;
        pour.target = stock->take;
        status = pour.target > 0 ? add_pour(writing, &pour, err) : PM_OK;
    }
    pour.bottle = 0;
    pour.target = lacking;
    return lacking > 0 && status == PM_OK ? add_pour(writing, &pour, err) : status;
}

/* Whether no weight is below the level but one that empties a bottle. */
static bool is_reached(const struct pm_weigh_planner *planner, size_t first, size_t last,
                       pm_mass level)
{
    for (size_t i = first; i < last; i++) {
        const struct pm_stock_bottle *stock = &planner->bottles[i].stock;
        if (stock->take > 0 && stock->take < level && stock->take < stock->left)
            return false;
    }
    return true;
}

/* Bottle after bottle, but so that none is poured from in a weight that is too small, nor in one
 * with a larger error than there is anyway (`smallest`, or 0): that goes before what is older. A
 * little more than the smallest weight, where it can be: what is settled comes off. */
static pm_mass take_set(struct pm_weigh_planner *planner, size_t first, size_t last, unsigned set,
                        pm_mass mass, pm_mass smallest)
{
    pm_mass more = 0;
    pm_muldiv(planner->minimum, PM_NEAT + planner->wish->tolerance, PM_NEAT, &more);
    const pm_mass levels[] = {smallest > more ? smallest : more,
                              smallest > planner->minimum ? smallest : planner->minimum,
                              planner->minimum};
    pm_mass lacking = 0;
    for (size_t k = 0; k < sizeof levels / sizeof levels[0]; k++) {
        lacking = pm_ways_take(planner, first, last, set, mass, levels[k]);
        if (is_reached(planner, first, last, levels[k]))
            break;
    }
    return lacking;
}

static enum pm_status pour_mixed(struct writing *writing, const struct pm_weigh_way *way,
                                 struct pm_error *err)
{
    const struct pm_weigh_planner *planner = writing->planner;
    pm_int128 lacking = pm_ways_neat_fine(planner, way->need);
    enum pm_status status = PM_OK;
    for (size_t i = way->first; i < way->last && lacking > 0 && status == PM_OK; i++) {
        const struct pm_weigh_bottle *bottle = &planner->bottles[i];
        const struct pm_weigh_pour pour = {.need = way->need,
                                           .bottle = bottle->stock.id,
                                           .making = PM_WEIGH_NONE,
                                           .strength = bottle->strength,
                                           .solvent = bottle->solvent,
                                           .target = pm_ways_draw_mixed(bottle, &lacking)};
        status = add_pour(writing, &pour, err);
    }
    return status;
}

/* The chain of dilutions that a way asks for, the strongest first: amounts from its end. */
static enum pm_status add_makings(struct writing *writing, const struct pm_weigh_way *way,
                                  pm_mass mass, struct pm_error *err)
{
    const struct pm_weigh_planner *planner = writing->planner;
    const struct pm_weigh_bottle *stock = &planner->bottles[way->stock];
    const size_t first = writing->plan.making_count, steps = (size_t)way->steps;
    void *grown = writing->plan.makings;
    if (!pm_grow(&grown, &writing->making_capacity, first + steps, sizeof *writing->plan.makings))
        return pm_fail_memory(err);
    writing->plan.makings = grown;
    struct pm_weigh_making *makings = writing->plan.makings + first;
    size_t at = 0;
    for (size_t i = 0; i < PM_WEIGH_MADE && at + 1 < steps; i++)
        if (pm_weigh_made_at[i] < stock->strength && pm_weigh_made_at[i] > way->strength &&
            (pm_int128)pm_weigh_made_at[i] * 50 < (pm_int128)stock->strength * 49)
            makings[at++].strength = pm_weigh_made_at[i];
    makings[steps - 1].strength = way->strength;
    for (size_t i = steps; i-- > 0;) {
        struct pm_weigh_making *making = &makings[i];
        making->need = way->need;
        making->solvent = way->solvent;
        making->from = i == 0 ? stock->stock.id : 0;
        making->from_strength = i == 0 ? stock->strength : makings[i - 1].strength;
        const pm_mass step = planner->wish->balance.readability;
        /* A twentieth more than is poured of it: some stays in the vessel. Our own choice. */
        pm_mass target = mass + mass / 20;
        pm_mass least = 0;
        pm_muldiv(planner->minimum, making->from_strength, making->strength, &least);
        target = target > least ? target : least;
        target += step - 1 - (target + step - 1) % step;
        making->target = target;
        pm_muldiv(target, making->strength, making->from_strength, &making->of_stock);
        mass = making->of_stock;
    }
    writing->plan.making_count += steps;
    return PM_OK;
}

static enum pm_status pour_item(struct writing *writing, size_t item, pm_mass *carried,
                                struct pm_error *err)
{
    struct pm_weigh_planner *planner = writing->planner;
    const size_t at = planner->item_first[item] + planner->items[item].chosen;
    const struct pm_weigh_way *way = &planner->ways[at];
    const struct pm_weigh_choice *choice = &planner->choices[at];
    const pm_mass mass = planner->amounts[way->need] + choice->carried;
    if (choice->solvent >= 0)
        carried[choice->solvent] += choice->carried;
    if (way->mixed)
        return pour_mixed(writing, way, err);
    if (way->steps == 0)
        return pour_taken(writing, way->need, way->first, way->last, way->strength, way->solvent,
                          way->last > way->first ? take_set(writing->planner, way->first, way->last,
                                                            way->set, mass, writing->smallest)
                                                 : mass,
                          err);
    enum pm_status status = add_makings(writing, way, mass, err);
    const struct pm_weigh_pour pour = {.need = way->need,
                                       .making = writing->plan.making_count - 1,
                                       .strength = way->strength,
                                       .solvent = way->solvent,
                                       .target = mass};
    return status == PM_OK ? add_pour(writing, &pour, err) : status;
}

/* The set of a solvent's bottles with the fewest weights that are too small; PM_WEIGH_SETS: they do
 * not hold the mass. */
static unsigned solvent_set(struct pm_weigh_planner *planner, size_t first, size_t last,
                            pm_mass mass)
{
    unsigned best = PM_WEIGH_SETS, set = PM_WEIGH_SETS;
    size_t fewest = SIZE_MAX;
    while (first < last && fewest > 0 && pm_ways_next_set(planner, first, last, mass, &set)) {
        size_t small = 0;
        pm_ways_take(planner, first, last, set, mass, planner->minimum);
        for (size_t i = first; i < last; i++)
            small += planner->bottles[i].stock.take > 0 &&
                     planner->bottles[i].stock.take < planner->minimum;
        if (small < fewest) {
            fewest = small;
            best = set;
        }
    }
    return best;
}

/* Everything that bottles hold; returns what they lack. */
static pm_mass take_all(struct pm_weigh_planner *planner, size_t first, size_t last, pm_mass mass)
{
    for (size_t i = first; i < last; i++) {
        planner->bottles[i].stock.take = planner->bottles[i].stock.left;
        mass -= planner->bottles[i].stock.left;
    }
    return mass;
}

/* So much of a solvent, neat. */
static enum pm_status pour_solvent(struct writing *writing, size_t need, pm_mass mass,
                                   struct pm_error *err)
{
    const struct pm_weigh_planner *planner = writing->planner;
    size_t first = 0, last;
    while (first < planner->bottle_count &&
           (planner->bottles[first].material != planner->needs[need].material ||
            planner->bottles[first].strength != PM_NEAT))
        first++;
    for (last = first; last < planner->bottle_count &&
                       pm_ways_same_group(&planner->bottles[first], &planner->bottles[last]);)
        last++;
    if (mass <= 0)
        return PM_OK;
    const unsigned set = solvent_set(writing->planner, first, last, mass);
    const pm_mass lacking = set == PM_WEIGH_SETS
                                ? take_all(writing->planner, first, last, mass)
                                : take_set(writing->planner, first, last, set, mass, 0);
    return pour_taken(writing, need, first, last, PM_NEAT, 0, lacking, err);
}

/* What dilutions do not bring of a solvent; less than the tolerance of it is left out. */
static enum pm_status pour_rest(struct writing *writing, size_t need, const pm_mass *carried,
                                struct pm_error *err)
{
    const struct pm_weigh_planner *planner = writing->planner;
    const int budget = pm_ways_budget(planner, planner->needs[need].material);
    const pm_mass brought = budget >= 0 ? carried[budget] : 0;
    if (budget < 0 || brought < planner->budgets[budget].whole)
        return pour_solvent(writing, need, planner->amounts[need] - brought, err);
    if (brought < planner->amounts[need])
        writing->left_out = need;
    return PM_OK;
}

static pm_mass most_of(const struct pm_weigh_planner *planner, const struct pm_weigh_pour *pour)
{
    for (size_t i = 0; pour->bottle != 0 && i < planner->bottle_count; i++)
        if (planner->bottles[i].stock.id == pour->bottle)
            return planner->bottles[i].stock.left;
    return PM_MASS_MAX;
}

/* Takes out of `weights` those that would ask for more than their bottle holds, and off `mass` what
 * those hold. False: there is none. */
static bool hold_at_end(struct writing *writing, const int64_t *targets, int64_t *weights,
                        pm_mass *mass)
{
    bool any = false;
    for (size_t i = 0; i < writing->plan.count; i++) {
        struct pm_weigh_pour *pour = &writing->plan.pours[i];
        const pm_mass most = most_of(writing->planner, pour);
        if (weights[i] == 0 || targets[i] <= most)
            continue;
        any = true;
        weights[i] = 0;
        pour->target = most;
        *mass -= most;
    }
    return any;
}

/* All targets add up to the mass: what dilutions brought too much of a solvent comes off all of
 * them, what they brought too little is added to all, as far as the bottles hold it; what they do
 * not is poured of the solvent after all. */
static enum pm_status settle(struct writing *writing, struct pm_error *err)
{
    struct pm_weigh_plan *plan = &writing->plan;
    pm_mass mass = writing->planner->wish->mass, sum = 0;
    for (size_t i = 0; i < plan->count; i++)
        sum += plan->pours[i].target;
    if (sum == mass)
        return PM_OK;
    int64_t *weights = pm_alloc_array(plan->count * 2 + 1, sizeof *weights);
    if (weights == NULL)
        return pm_fail_memory(err);
    int64_t *targets = weights + plan->count;
    for (size_t i = 0; i < plan->count; i++)
        weights[i] = plan->pours[i].target;
    enum pm_status status = pm_apportion(weights, plan->count, mass, targets, err);
    while (status == PM_OK && hold_at_end(writing, targets, weights, &mass)) {
        struct pm_error none;
        status = pm_apportion(weights, plan->count, mass, targets, &none);
    }
    const bool lacking = status == PM_REFUSED; /* every bottle is at its end */
    status = status == PM_NOMEM ? pm_fail_memory(err) : PM_OK;
    for (size_t i = 0; i < plan->count && status == PM_OK; i++)
        if (weights[i] > 0)
            plan->pours[i].target = targets[i];
    pm_free(weights);
    return lacking ? pour_solvent(writing, writing->left_out, mass, err) : status;
}

struct keyed {
    struct pm_weigh_pour pour;
    size_t place;
    int late;
    double key;
};

static int compare_keyed(const void *left, const void *right)
{
    const struct keyed *a = left, *b = right;
    if (a->late != b->late)
        return a->late - b->late;
    if (a->key != b->key)
        return a->key < b->key ? -1 : 1;
    return (a->place > b->place) - (a->place < b->place);
}

static enum pm_status put_in_order(struct writing *writing, struct pm_error *err)
{
    struct pm_weigh_plan *plan = &writing->plan;
    const struct pm_weigh_planner *planner = writing->planner;
    const enum pm_weigh_order order = planner->wish->order;
    struct keyed *keyed = pm_alloc_array(plan->count + 1, sizeof *keyed);
    if (keyed == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < plan->count; i++) {
        struct keyed *one = &keyed[i];
        one->pour = plan->pours[i];
        one->place = i;
        const size_t need = one->pour.need;
        const double volatility = planner->needs[need].volatility;
        one->late = pm_ways_is_rest(planner, need) && order != PM_WEIGH_LARGEST &&
                    order != PM_WEIGH_WRITTEN;
        one->key = order == PM_WEIGH_TRACES     ? (double)one->pour.target
                   : order == PM_WEIGH_LARGEST  ? -(double)one->pour.target
                   : order == PM_WEIGH_VOLATILE ? (isnan(volatility) ? 0 : volatility)
                                                : (double)need;
    }
    qsort(keyed, plan->count, sizeof *keyed, compare_keyed);
    for (size_t i = 0; i < plan->count; i++)
        plan->pours[i] = keyed[i].pour;
    pm_free(keyed);
    return PM_OK;
}

static void judge(struct writing *writing)
{
    struct pm_weigh_plan *plan = &writing->plan;
    const struct pm_weigh_planner *planner = writing->planner;
    for (size_t i = 0; i < plan->count; i++) {
        struct pm_weigh_pour *pour = &plan->pours[i];
        pour->error = pm_balance_error(&planner->wish->balance, pour->target);
        pour->weighable = pour->target >= planner->minimum;
        plan->unweighable += !pour->weighable;
        plan->missing += pour->bottle == 0 && pour->making == PM_WEIGH_NONE;
    }
    plan->combined = pm_balance_uncertainty(&planner->wish->balance) * sqrt((double)plan->count);
    plan->minimum = planner->minimum;
}

static enum pm_status write_plan(struct writing *writing, struct pm_error *err)
{
    struct pm_weigh_planner *planner = writing->planner;
    pm_mass carried[PM_WEIGH_SOLVENTS] = {0};
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < planner->item_count && status == PM_OK; i++)
        status = pour_item(writing, i, carried, err);
    for (size_t i = 0; i < planner->count && status == PM_OK; i++) {
        if (!pm_ways_is_rest(planner, i))
            continue;
        status = pour_rest(writing, i, carried, err);
    }
    if (status == PM_OK)
        status = settle(writing, err);
    if (status == PM_OK)
        status = put_in_order(writing, err);
    if (status == PM_OK)
        judge(writing);
    return status;
}

static enum pm_status choose(struct pm_weigh_planner *planner, struct pm_weigh_outcome *outcome,
                             struct pm_error *err)
{
    struct pm_weigh_item *items = planner->items, *fewer = NULL;
    *outcome = (struct pm_weigh_outcome){.proven = true};
    if (!planner->wish->dilute) {
        fewer = pm_alloc_array(planner->item_count + 1, sizeof *fewer);
        if (!fewer)
            return pm_fail_memory(err);
        pm_ways_drop_made(planner, fewer);
        items = fewer;
    }
    enum pm_status status = pm_weigh_choose(items, planner->item_count, planner->budgets,
                                            planner->budget_count, outcome, err);
    for (size_t i = 0; fewer != NULL && status == PM_OK && i < planner->item_count; i++)
        planner->items[i].chosen = fewer[i].chosen;
    pm_free(fewer);
    return status;
}

static enum pm_status weigh_amounts(struct pm_weigh_planner *planner, struct pm_error *err)
{
    int64_t *weights = planner->amounts;
    for (size_t i = 0; i < planner->count; i++) {
        weights[i] = planner->needs[i].neat + planner->needs[i].as_solvent;
        planner->whole += weights[i];
    }
    if (planner->wish->mass <= 0 || planner->whole <= 0)
        return pm_fail(err, PM_REFUSED, "There is nothing to weigh.");
    return pm_apportion(weights, planner->count, planner->wish->mass, weights, err);
}

static enum pm_status prepare(struct pm_weigh_planner *planner,
                              const struct pm_weigh_bottle *bottles, size_t bottle_count,
                              struct pm_error *err)
{
    const size_t room = planner->count + 1;
    planner->amounts = pm_alloc_array(room, sizeof *planner->amounts);
    planner->items = pm_alloc_array(room, sizeof *planner->items);
    planner->item_need = pm_alloc_array(room, sizeof *planner->item_need);
    planner->item_first = pm_alloc_array(room, sizeof *planner->item_first);
    if (planner->amounts == NULL || planner->items == NULL || planner->item_need == NULL ||
        planner->item_first == NULL)
        return pm_fail_memory(err);
    enum pm_status status = weigh_amounts(planner, err);
    if (status == PM_OK)
        status = pm_ways_sort(planner, bottles, bottle_count, err);
    if (status != PM_OK)
        return status;
    pm_ways_find_budgets(planner);
    return pm_ways_make_items(planner, false, err);
}

static enum pm_status work_out(struct pm_weigh_planner *planner, struct writing *writing,
                               struct pm_error *err)
{
    struct pm_weigh_outcome outcome;
    enum pm_status status = choose(planner, &outcome, err);
    if (status == PM_REFUSED) { /* the dilutions there are bring more solvent than fits */
        status = pm_ways_make_items(planner, true, err);
        if (status == PM_OK)
            status = choose(planner, &outcome, err);
    }
    writing->smallest = outcome.smallest;
    if (status == PM_OK)
        status = write_plan(writing, err);
    writing->plan.proven = outcome.proven;
    if (status == PM_OK)
        status = pm_ways_least_batch(planner, false, &writing->plan.least, err);
    if (status == PM_OK)
        status = pm_ways_least_batch(planner, true, &writing->plan.least_made, err);
    return status;
}

enum pm_status pm_weigh_plan(const struct pm_weigh_need *needs, size_t count,
                             const struct pm_weigh_bottle *bottles, size_t bottle_count,
                             const struct pm_weigh_wish *wish, struct pm_weigh_plan *out,
                             struct pm_error *err)
{
    struct pm_weigh_planner planner = {.needs = needs, .count = count, .wish = wish};
    struct writing writing = {.planner = &planner, .left_out = PM_WEIGH_NONE};
    if (wish->balance.readability <= 0 || wish->tolerance <= 0)
        return pm_fail(err, PM_INVALID,
                       "A balance reads some step, and a tolerance is above 0 %%.");
    planner.minimum = pm_balance_minimum(&wish->balance, wish->tolerance);
    enum pm_status status = prepare(&planner, bottles, bottle_count, err);
    if (status == PM_OK)
        status = work_out(&planner, &writing, err);
    pm_free(planner.bottles);
    pm_free(planner.amounts);
    pm_free(planner.items);
    pm_free(planner.item_need);
    pm_free(planner.item_first);
    pm_free(planner.ways);
    pm_free(planner.choices);
    if (status != PM_OK)
        pm_weigh_plan_release(&writing.plan);
    else
        *out = writing.plan;
    return status;
}

void pm_weigh_plan_release(struct pm_weigh_plan *plan)
{
    pm_free(plan->pours);
    pm_free(plan->makings);
    *plan = (struct pm_weigh_plan){0};
}
