/* SPDX-License-Identifier: MIT */
/*
 * Weigh-out plans: for each material the ways to pour it, then the choice among them.
 */
#include "permille/core/weigh_plan.h"

#include "permille/base/mem.h"
#include "permille/base/word.h"
#include "permille/core/apportion.h"
#include "permille/core/dilute.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Strengths that are made when none of them is there, each from the one before it: a tenth, so that
 * what is weighed of the stock is never too small. Our own choice. */
static const pm_strength made_at[] = {PM_NEAT / 10, PM_NEAT / 100, PM_NEAT / 1000};
#define MADE_STRENGTHS (sizeof made_at / sizeof made_at[0])
#define MIXED_AGE      1000000 /* behind all bottles there can be of a material */

static const char *const orders[] = {[PM_WEIGH_TRACES] = "traces",
                                     [PM_WEIGH_LARGEST] = "largest",
                                     [PM_WEIGH_VOLATILE] = "volatile",
                                     [PM_WEIGH_WRITTEN] = "written"};

const char *pm_weigh_order_word(enum pm_weigh_order order)
{
    return orders[order];
}

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
    for (size_t i = 0; i < MADE_STRENGTHS; i++)
        if ((pm_int128)neat * PM_NEAT >= (pm_int128)minimum * made_at[i])
            return made_at[i];
    return 0;
}

/* ---- ways to pour one material ---- */

/* One way: a group of bottles of one strength, a dilution to make, or nothing that is there. */
struct way {
    size_t need;
    size_t first, last; /* its bottles among the sorted ones; equal: none */
    bool mixed;         /* they are of several true strengths that one line is written at */
    pm_strength strength;
    int64_t solvent;
    size_t stock; /* bottle the dilution is made from, or PM_WEIGH_NONE */
    int steps;    /* dilutions one after the other */
};

struct planner {
    const struct pm_weigh_need *needs;
    size_t count;
    const struct pm_weigh_wish *wish;
    struct pm_weigh_bottle *bottles; /* owned; by material, strength, solvent, order of pouring */
    size_t bottle_count;
    pm_mass minimum;
    pm_int128 whole;  /* all needs, pico-parts */
    pm_mass *amounts; /* owned; per need: neat and as solvent, adding up to the mass */
    size_t budget_of[PM_WEIGH_SOLVENTS]; /* needs */
    struct pm_weigh_budget budgets[PM_WEIGH_SOLVENTS];
    size_t budget_count;
    struct way *ways; /* owned; beside choices */
    struct pm_weigh_choice *choices;
    size_t way_count, way_capacity;
    struct pm_weigh_item *items; /* owned; those that are not poured as the rest of a solvent */
    size_t *item_need, *item_first;
    size_t item_count;
};

static int compare_bottles(const void *left, const void *right)
{
    const struct pm_weigh_bottle *a = left, *b = right;
    if (a->material != b->material)
        return a->material < b->material ? -1 : 1;
    const pm_strength left_written = pm_strength_written(a->strength);
    const pm_strength right_written = pm_strength_written(b->strength);
    if (left_written != right_written)
        return left_written > right_written ? -1 : 1;
    if (a->solvent != b->solvent)
        return a->solvent < b->solvent ? -1 : 1;
    return (a->strength < b->strength) - (a->strength > b->strength);
}

/* A line is written the same whichever of the two it is poured from. */
static bool written_alike(const struct pm_weigh_bottle *a, const struct pm_weigh_bottle *b)
{
    return a->material == b->material && a->solvent == b->solvent &&
           pm_strength_written(a->strength) == pm_strength_written(b->strength);
}

static bool same_group(const struct pm_weigh_bottle *a, const struct pm_weigh_bottle *b)
{
    return a->material == b->material && a->strength == b->strength && a->solvent == b->solvent;
}

/* Bottles of one group in the order of pouring. */
static enum pm_status order_group(struct pm_weigh_bottle *group, size_t count, pm_day today,
                                  struct pm_error *err)
{
    struct pm_stock_bottle *order = pm_alloc_array(count, sizeof *order);
    if (order == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < count; i++)
        order[i] = group[i].stock;
    pm_stock_order(order, count, today);
    for (size_t i = 0; i < count; i++)
        group[i].stock = order[i];
    pm_free(order);
    return PM_OK;
}

static enum pm_status sort_bottles(struct planner *planner, const struct pm_weigh_bottle *bottles,
                                   size_t count, struct pm_error *err)
{
    planner->bottles = pm_alloc_array(count + 1, sizeof *planner->bottles);
    if (planner->bottles == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < count; i++)
        if (bottles[i].stock.left > 0)
            planner->bottles[planner->bottle_count++] = bottles[i];
    qsort(planner->bottles, planner->bottle_count, sizeof *planner->bottles, compare_bottles);
    enum pm_status status = PM_OK;
    for (size_t from = 0, to; from < planner->bottle_count && status == PM_OK; from = to) {
        for (to = from + 1; to < planner->bottle_count &&
                            same_group(&planner->bottles[from], &planner->bottles[to]);)
            to++;
        status = order_group(&planner->bottles[from], to - from, planner->wish->today, err);
    }
    return status;
}

/* The neat amount of a need in 1e-9 of a microgram; its weight at a strength, rounded to a
 * microgram; -1 when it is beyond all masses. Worked out from the pico-parts, so that a trace of
 * micrograms keeps its digits in a dilution. */
static pm_int128 neat_fine(const struct planner *planner, size_t need)
{
    const pm_int128 product = (pm_int128)planner->needs[need].neat * planner->wish->mass;
    return product / planner->whole * PM_NEAT + product % planner->whole * PM_NEAT / planner->whole;
}

static pm_mass weight_at(const struct planner *planner, size_t need, pm_strength strength)
{
    const pm_int128 mass = (neat_fine(planner, need) + strength / 2) / strength;
    return mass > PM_MASS_MAX ? -1 : (pm_mass)mass;
}

static bool is_rest(const struct planner *planner, size_t need)
{
    return planner->needs[need].is_solvent || planner->needs[need].as_solvent > 0;
}

/* Budgets: the solvents there is most of. */
static void find_budgets(struct planner *planner)
{
    for (size_t i = 0; i < planner->count; i++) {
        if (!is_rest(planner, i))
            continue;
        size_t at =
            planner->budget_count < PM_WEIGH_SOLVENTS ? planner->budget_count++ : PM_WEIGH_SOLVENTS;
        if (at == PM_WEIGH_SOLVENTS) {
            for (size_t k = 0; k < PM_WEIGH_SOLVENTS; k++)
                if (at == PM_WEIGH_SOLVENTS || planner->amounts[planner->budget_of[k]] <
                                                   planner->amounts[planner->budget_of[at]])
                    at = k;
            if (planner->amounts[planner->budget_of[at]] >= planner->amounts[i])
                continue;
        }
        planner->budget_of[at] = i;
    }
    for (size_t k = 0; k < planner->budget_count; k++) {
        pm_mass slack = 0;
        const pm_mass amount = planner->amounts[planner->budget_of[k]];
        pm_muldiv(amount, planner->wish->tolerance, PM_NEAT, &slack);
        slack = slack < amount || amount == 0 ? slack : amount - 1;
        planner->budgets[k] = (struct pm_weigh_budget){.most = amount + slack,
                                                       .whole = amount - slack,
                                                       .amount = amount,
                                                       .minimum = planner->minimum};
    }
}

static int budget_for(const struct planner *planner, int64_t solvent)
{
    for (size_t k = 0; k < planner->budget_count; k++)
        if (planner->needs[planner->budget_of[k]].material == solvent)
            return (int)k;
    return -1;
}

static enum pm_status add_way(struct planner *planner, const struct way *way, pm_mass mass,
                              int small, pm_mass whole, struct pm_error *err)
{
    const pm_mass neat = planner->amounts[way->need];
    struct pm_weigh_choice choice = {
        .solvent = way->solvent == 0 ? -1 : budget_for(planner, way->solvent),
        .mass = mass,
        .unweighable = small,
        .made = way->steps,
        .age = (int)(planner->way_count - planner->item_first[planner->item_count]),
    };
    choice.carried = way->solvent == 0 || whole < neat ? 0 : whole - neat;
    if (choice.solvent < 0 && choice.carried > 0)
        return PM_OK; /* the formula holds none of that solvent */
    size_t ways = planner->way_capacity, choices = planner->way_capacity;
    void *grown = planner->ways;
    if (!pm_grow(&grown, &ways, planner->way_count + 1, sizeof *planner->ways))
        return pm_fail_memory(err);
    planner->ways = grown;
    grown = planner->choices;
    if (!pm_grow(&grown, &choices, planner->way_count + 1, sizeof *planner->choices))
        return pm_fail_memory(err);
    planner->choices = grown;
    planner->way_capacity = ways < choices ? ways : choices;
    planner->ways[planner->way_count] = *way;
    planner->choices[planner->way_count++] = choice;
    return PM_OK;
}

/* What a group of bottles would be poured in: the smallest weight, how many are too small. False
 * when it does not hold enough. */
static bool draw(const struct planner *planner, const struct way *way, pm_mass mass,
                 pm_mass *smallest, int *small)
{
    *smallest = mass;
    *small = 0;
    for (size_t i = way->first; i < way->last && mass > 0; i++) {
        const pm_mass left = planner->bottles[i].stock.left, take = left < mass ? left : mass;
        *smallest = take < *smallest ? take : *smallest;
        *small += take < planner->minimum;
        mass -= take;
    }
    return mass == 0;
}

/* The next bottle of a mixed group: what is poured of it for the neat amount still lacking, which
 * shrinks by that. */
static pm_mass draw_mixed(const struct pm_weigh_bottle *bottle, pm_int128 *lacking)
{
    const pm_int128 wanted = (*lacking + bottle->strength / 2) / bottle->strength;
    if (wanted <= bottle->stock.left) {
        *lacking = 0;
        return (pm_mass)wanted;
    }
    *lacking -= (pm_int128)bottle->stock.left * bottle->strength;
    return bottle->stock.left;
}

/* Bottles of 10 % and of 10.03 % together, each with what is in it; where one kind of them holds
 * enough, that is a way of its own as well. */
static enum pm_status add_mixed(struct planner *planner, const struct way *way,
                                struct pm_error *err)
{
    pm_int128 lacking = neat_fine(planner, way->need);
    pm_mass whole = 0, smallest = PM_MASS_MAX;
    int small = 0;
    for (size_t i = way->first; i < way->last && lacking > 0; i++) {
        const pm_mass take = draw_mixed(&planner->bottles[i], &lacking);
        whole += take;
        smallest = take < smallest ? take : smallest;
        small += take < planner->minimum;
    }
    return lacking == 0 && whole > 0 ? add_way(planner, way, smallest, small, whole, err) : PM_OK;
}

static enum pm_status add_mixtures(struct planner *planner, size_t need, size_t from, size_t to,
                                   struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t first = from, last; first < to && status == PM_OK; first = last) {
        for (last = first + 1;
             last < to && written_alike(&planner->bottles[first], &planner->bottles[last]);)
            last++;
        const struct way way = {.need = need,
                                .first = first,
                                .last = last,
                                .mixed = true,
                                .strength = planner->bottles[first].strength,
                                .solvent = planner->bottles[first].solvent,
                                .stock = PM_WEIGH_NONE};
        if (!same_group(&planner->bottles[first], &planner->bottles[last - 1]))
            status = add_mixed(planner, &way, err);
    }
    return status;
}

static enum pm_status add_groups(struct planner *planner, size_t need, size_t from, size_t to,
                                 struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t first = from, last; first < to && status == PM_OK; first = last) {
        for (last = first + 1;
             last < to && same_group(&planner->bottles[first], &planner->bottles[last]);)
            last++;
        const struct way way = {.need = need,
                                .first = first,
                                .last = last,
                                .strength = planner->bottles[first].strength,
                                .solvent = planner->bottles[first].solvent,
                                .stock = PM_WEIGH_NONE};
        const pm_mass mass = weight_at(planner, need, way.strength);
        pm_mass smallest;
        int small;
        if (mass >= 0 && draw(planner, &way, mass, &smallest, &small))
            status = add_way(planner, &way, smallest, small, mass, err);
    }
    return status;
}

/* How many dilutions lead from one strength to another, none beyond a tenth. */
static int steps_between(pm_strength from, pm_strength to)
{
    int steps = 1;
    for (size_t i = 0; i < MADE_STRENGTHS; i++)
        steps += made_at[i] < from && made_at[i] > to &&
                 (pm_int128)made_at[i] * 50 < (pm_int128)from * 49;
    return steps;
}

static enum pm_status add_dilutions(struct planner *planner, size_t need, size_t from, size_t to,
                                    struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t s = 0; s < MADE_STRENGTHS && status == PM_OK; s++)
        for (size_t k = 0; k < planner->budget_count && status == PM_OK; k++) {
            struct way way = {.need = need,
                              .strength = made_at[s],
                              .solvent = planner->needs[planner->budget_of[k]].material,
                              .stock = PM_WEIGH_NONE};
            const pm_mass mass = weight_at(planner, need, way.strength);
            if (mass < planner->minimum || way.solvent == planner->needs[need].material)
                continue;
            bool there = false; /* a bottle of that strength does it */
            for (size_t i = from; i < to && !there; i++) {
                const struct pm_weigh_bottle *bottle = &planner->bottles[i];
                there = bottle->solvent == way.solvent && bottle->stock.left >= mass &&
                        pm_stock_serves(bottle->strength, way.strength);
                if (bottle->strength <= way.strength ||
                    (bottle->solvent != 0 && bottle->solvent != way.solvent) ||
                    (pm_int128)bottle->stock.left * bottle->strength <
                        (pm_int128)mass * way.strength)
                    continue;
                const int steps = steps_between(bottle->strength, way.strength);
                if (way.stock == PM_WEIGH_NONE || steps < way.steps) {
                    way.stock = i;
                    way.steps = steps;
                }
            }
            if (!there && way.stock != PM_WEIGH_NONE)
                status = add_way(planner, &way, mass, 0, mass, err);
        }
    return status;
}

/* Nothing on the shelf serves: as the formula has it, and it is lacking. */
static enum pm_status add_missing(struct planner *planner, size_t need, struct pm_error *err)
{
    const struct pm_weigh_need *row = &planner->needs[need];
    const bool fits = row->written < PM_NEAT && budget_for(planner, row->written_in) >= 0;
    const struct way way = {.need = need,
                            .strength = fits ? row->written : PM_NEAT,
                            .solvent = fits ? row->written_in : 0,
                            .stock = PM_WEIGH_NONE};
    const pm_mass mass = weight_at(planner, need, way.strength);
    return add_way(planner, &way, mass, mass < planner->minimum ? 1 : 0, mass, err);
}

/* The ways of the item so far, by the bottle of each that is poured first. */
static enum pm_status rank_by_age(struct planner *planner, struct pm_error *err)
{
    const size_t first = planner->item_first[planner->item_count];
    const size_t count = planner->way_count - first;
    struct pm_stock_bottle *order = pm_alloc_array(count + 1, sizeof *order);
    if (order == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < count; i++)
        order[i] = planner->bottles[planner->ways[first + i].first].stock;
    pm_stock_order(order, count, planner->wish->today);
    for (size_t i = 0; i < count; i++)
        for (size_t k = 0; k < count; k++)
            if (order[k].id == planner->bottles[planner->ways[first + i].first].stock.id)
                /* From one kind of bottle rather than from several. */
                planner->choices[first + i].age =
                    (int)k + (planner->ways[first + i].mixed ? MIXED_AGE : 0);
    pm_free(order);
    return PM_OK;
}

static enum pm_status add_item(struct planner *planner, size_t need, bool missing_too,
                               struct pm_error *err)
{
    size_t from = 0, to;
    const int64_t material = planner->needs[need].material;
    while (from < planner->bottle_count && planner->bottles[from].material != material)
        from++;
    for (to = from; to < planner->bottle_count && planner->bottles[to].material == material;)
        to++;
    planner->item_first[planner->item_count] = planner->way_count;
    planner->item_need[planner->item_count] = need;
    enum pm_status status = add_groups(planner, need, from, to, err);
    if (status == PM_OK)
        status = add_mixtures(planner, need, from, to, err);
    if (status == PM_OK)
        status = rank_by_age(planner, err);
    if (status == PM_OK &&
        (missing_too || planner->way_count == planner->item_first[planner->item_count]))
        status = add_missing(planner, need, err);
    if (status == PM_OK)
        status = add_dilutions(planner, need, from, to, err);
    planner->item_count++;
    return status;
}

static enum pm_status make_items(struct planner *planner, bool missing_too, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    planner->item_count = planner->way_count = 0;
    for (size_t i = 0; i < planner->count && status == PM_OK; i++)
        if (!is_rest(planner, i) && planner->needs[i].neat > 0)
            status = add_item(planner, i, missing_too, err);
    for (size_t i = 0; i < planner->item_count && status == PM_OK; i++) {
        const size_t end =
            i + 1 < planner->item_count ? planner->item_first[i + 1] : planner->way_count;
        planner->items[i] = (struct pm_weigh_item){planner->choices + planner->item_first[i],
                                                   end - planner->item_first[i], 0};
    }
    return status;
}

/* Without dilutions where they may not be made: those ways are asked for to tell the least batch
 * that they allow, and then taken out. */
static void drop_made(struct planner *planner, struct pm_weigh_item *items)
{
    for (size_t i = 0; i < planner->item_count; i++) {
        items[i] = planner->items[i];
        while (items[i].count > 1 && items[i].choices[items[i].count - 1].made > 0)
            items[i].count--;
    }
}

static enum pm_status least_batch(struct planner *planner, bool made_too, pm_mass *out,
                                  struct pm_error *err)
{
    pm_mass smallest = 0;
    struct pm_error why = {0};
    *out = 0;
    enum pm_status status = pm_weigh_smallest(planner->items, planner->item_count, planner->budgets,
                                              planner->budget_count, made_too, &smallest, &why);
    if (status == PM_REFUSED)
        return PM_OK;
    if (status != PM_OK)
        return pm_fail(err, status, "%s", why.text);
    for (size_t i = 0; i < planner->item_count; i++) { /* what is not there cannot be weighed */
        bool any = false;
        for (size_t k = planner->item_first[i];
             k < planner->item_first[i] + planner->items[i].count; k++)
            any = any || planner->ways[k].last > planner->ways[k].first ||
                  (made_too && planner->ways[k].steps > 0);
        if (!any)
            return PM_OK;
    }
    for (size_t i = 0; i < planner->count; i++) /* solvents that nothing brings */
        if (is_rest(planner, i) && budget_for(planner, planner->needs[i].material) < 0 &&
            planner->amounts[i] < smallest)
            smallest = planner->amounts[i];
    if (smallest > 0)
        pm_muldiv(planner->wish->mass, planner->minimum, smallest, out);
    return PM_OK;
}

/* ---- the plan from what was chosen ---- */

struct writing {
    struct planner *planner;
    struct pm_weigh_plan plan;
    size_t capacity, making_capacity;
    size_t left_out; /* a solvent less of which is poured than is meant; or PM_WEIGH_NONE */
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

/* So much of a strength from the bottles first..last, then from none. */
static enum pm_status pour_from(struct writing *writing, size_t need, size_t first, size_t last,
                                pm_strength strength, int64_t solvent, pm_mass mass,
                                struct pm_error *err)
{
    enum pm_status status = PM_OK;
    struct pm_weigh_pour pour = {
        .need = need, .making = PM_WEIGH_NONE, .strength = strength, .solvent = solvent};
    for (size_t i = first; i < last && mass > 0 && status == PM_OK; i++) {
        const struct pm_stock_bottle *stock = &writing->planner->bottles[i].stock;
        pour.bottle = stock->id;
        pour.target = stock->left < mass ? stock->left : mass;
        mass -= pour.target;
        status = add_pour(writing, &pour, err);
    }
    pour.bottle = 0;
    pour.target = mass;
    return mass > 0 && status == PM_OK ? add_pour(writing, &pour, err) : status;
}

static enum pm_status pour_mixed(struct writing *writing, const struct way *way,
                                 struct pm_error *err)
{
    const struct planner *planner = writing->planner;
    pm_int128 lacking = neat_fine(planner, way->need);
    enum pm_status status = PM_OK;
    for (size_t i = way->first; i < way->last && lacking > 0 && status == PM_OK; i++) {
        const struct pm_weigh_bottle *bottle = &planner->bottles[i];
        const struct pm_weigh_pour pour = {.need = way->need,
                                           .bottle = bottle->stock.id,
                                           .making = PM_WEIGH_NONE,
                                           .strength = bottle->strength,
                                           .solvent = bottle->solvent,
                                           .target = draw_mixed(bottle, &lacking)};
        status = add_pour(writing, &pour, err);
    }
    return status;
}

/* The chain of dilutions that a way asks for, the strongest first: amounts from its end. */
static enum pm_status add_makings(struct writing *writing, const struct way *way, pm_mass mass,
                                  struct pm_error *err)
{
    const struct planner *planner = writing->planner;
    const struct pm_weigh_bottle *stock = &planner->bottles[way->stock];
    const size_t first = writing->plan.making_count, steps = (size_t)way->steps;
    void *grown = writing->plan.makings;
    if (!pm_grow(&grown, &writing->making_capacity, first + steps, sizeof *writing->plan.makings))
        return pm_fail_memory(err);
    writing->plan.makings = grown;
    struct pm_weigh_making *makings = writing->plan.makings + first;
    size_t at = 0;
    for (size_t i = 0; i < MADE_STRENGTHS && at + 1 < steps; i++)
        if (made_at[i] < stock->strength && made_at[i] > way->strength &&
            (pm_int128)made_at[i] * 50 < (pm_int128)stock->strength * 49)
            makings[at++].strength = made_at[i];
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
    struct planner *planner = writing->planner;
    const size_t at = planner->item_first[item] + planner->items[item].chosen;
    const struct way *way = &planner->ways[at];
    const struct pm_weigh_choice *choice = &planner->choices[at];
    const pm_mass mass = planner->amounts[way->need] + choice->carried;
    if (choice->solvent >= 0)
        carried[choice->solvent] += choice->carried;
    if (way->mixed)
        return pour_mixed(writing, way, err);
    if (way->steps == 0)
        return pour_from(writing, way->need, way->first, way->last, way->strength, way->solvent,
                         mass, err);
    enum pm_status status = add_makings(writing, way, mass, err);
    const struct pm_weigh_pour pour = {.need = way->need,
                                       .making = writing->plan.making_count - 1,
                                       .strength = way->strength,
                                       .solvent = way->solvent,
                                       .target = mass};
    return status == PM_OK ? add_pour(writing, &pour, err) : status;
}

/* So much of a solvent, neat. */
static enum pm_status pour_solvent(struct writing *writing, size_t need, pm_mass mass,
                                   struct pm_error *err)
{
    const struct planner *planner = writing->planner;
    size_t first = 0, last;
    while (first < planner->bottle_count &&
           (planner->bottles[first].material != planner->needs[need].material ||
            planner->bottles[first].strength != PM_NEAT))
        first++;
    for (last = first; last < planner->bottle_count &&
                       same_group(&planner->bottles[first], &planner->bottles[last]);)
        last++;
    return mass > 0 ? pour_from(writing, need, first, last, PM_NEAT, 0, mass, err) : PM_OK;
}

/* What dilutions do not bring of a solvent; less than the tolerance of it is left out. */
static enum pm_status pour_rest(struct writing *writing, size_t need, const pm_mass *carried,
                                struct pm_error *err)
{
    const struct planner *planner = writing->planner;
    const int budget = budget_for(planner, planner->needs[need].material);
    const pm_mass brought = budget >= 0 ? carried[budget] : 0;
    if (budget < 0 || brought < planner->budgets[budget].whole)
        return pour_solvent(writing, need, planner->amounts[need] - brought, err);
    if (brought < planner->amounts[need])
        writing->left_out = need;
    return PM_OK;
}

static pm_mass most_of(const struct planner *planner, const struct pm_weigh_pour *pour)
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
    const struct planner *planner = writing->planner;
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
        one->late =
            is_rest(planner, need) && order != PM_WEIGH_LARGEST && order != PM_WEIGH_WRITTEN;
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
    const struct planner *planner = writing->planner;
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
    struct planner *planner = writing->planner;
    pm_mass carried[PM_WEIGH_SOLVENTS] = {0};
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < planner->item_count && status == PM_OK; i++)
        status = pour_item(writing, i, carried, err);
    for (size_t i = 0; i < planner->count && status == PM_OK; i++) {
        if (!is_rest(planner, i))
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

static enum pm_status choose(struct planner *planner, struct pm_weigh_outcome *outcome,
                             struct pm_error *err)
{
    struct pm_weigh_item *items = planner->items, *fewer = NULL;
    *outcome = (struct pm_weigh_outcome){.proven = true};
    if (!planner->wish->dilute) {
        fewer = pm_alloc_array(planner->item_count + 1, sizeof *fewer);
        if (!fewer)
            return pm_fail_memory(err);
        drop_made(planner, fewer);
        items = fewer;
    }
    enum pm_status status = pm_weigh_choose(items, planner->item_count, planner->budgets,
                                            planner->budget_count, outcome, err);
    for (size_t i = 0; fewer != NULL && status == PM_OK && i < planner->item_count; i++)
        planner->items[i].chosen = fewer[i].chosen;
    pm_free(fewer);
    return status;
}

static enum pm_status weigh_amounts(struct planner *planner, struct pm_error *err)
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

static enum pm_status prepare(struct planner *planner, const struct pm_weigh_bottle *bottles,
                              size_t bottle_count, struct pm_error *err)
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
        status = sort_bottles(planner, bottles, bottle_count, err);
    if (status != PM_OK)
        return status;
    find_budgets(planner);
    return make_items(planner, false, err);
}

static enum pm_status work_out(struct planner *planner, struct writing *writing,
                               struct pm_error *err)
{
    struct pm_weigh_outcome outcome;
    enum pm_status status = choose(planner, &outcome, err);
    if (status == PM_REFUSED) { /* the dilutions there are bring more solvent than fits */
        status = make_items(planner, true, err);
        if (status == PM_OK)
            status = choose(planner, &outcome, err);
    }
    if (status == PM_OK)
        status = write_plan(writing, err);
    writing->plan.proven = outcome.proven;
    if (status == PM_OK)
        status = least_batch(planner, false, &writing->plan.least, err);
    if (status == PM_OK)
        status = least_batch(planner, true, &writing->plan.least_made, err);
    return status;
}

enum pm_status pm_weigh_plan(const struct pm_weigh_need *needs, size_t count,
                             const struct pm_weigh_bottle *bottles, size_t bottle_count,
                             const struct pm_weigh_wish *wish, struct pm_weigh_plan *out,
                             struct pm_error *err)
{
    struct planner planner = {.needs = needs, .count = count, .wish = wish};
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
