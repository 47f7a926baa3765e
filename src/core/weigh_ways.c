/* SPDX-License-Identifier: MIT */
/* For each material the ways to pour it (weigh_ways.h). */
#include "weigh_ways.h"

#include "permille/base/mem.h"
#include "permille/core/apportion.h"
#include "permille/core/dilute.h"

#include <stdlib.h>
#include <string.h>

#define MIXED_AGE 1000000 /* behind all bottles there can be of a material */

const pm_strength pm_weigh_made_at[PM_WEIGH_MADE] = {PM_NEAT / 10, PM_NEAT / 100, PM_NEAT / 1000};

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

bool pm_ways_same_group(const struct pm_weigh_bottle *a, const struct pm_weigh_bottle *b)
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

enum pm_status pm_ways_sort(struct pm_weigh_planner *planner, const struct pm_weigh_bottle *bottles,
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
                            pm_ways_same_group(&planner->bottles[from], &planner->bottles[to]);)
            to++;
        status = order_group(&planner->bottles[from], to - from, planner->wish->today, err);
    }
    return status;
}

pm_int128 pm_ways_neat_fine(const struct pm_weigh_planner *planner, size_t need)
{
    const pm_int128 product = (pm_int128)planner->needs[need].neat * planner->wish->mass;
    return product / planner->whole * PM_NEAT + product % planner->whole * PM_NEAT / planner->whole;
}

static pm_mass weight_at(const struct pm_weigh_planner *planner, size_t need, pm_strength strength)
{
    const pm_int128 mass = (pm_ways_neat_fine(planner, need) + strength / 2) / strength;
    return mass > PM_MASS_MAX ? -1 : (pm_mass)mass;
}

bool pm_ways_is_rest(const struct pm_weigh_planner *planner, size_t need)
{
    return planner->needs[need].is_solvent || planner->needs[need].as_solvent > 0;
}

void pm_ways_find_budgets(struct pm_weigh_planner *planner)
{
    for (size_t i = 0; i < planner->count; i++) {
        if (!pm_ways_is_rest(planner, i))
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

int pm_ways_budget(const struct pm_weigh_planner *planner, int64_t solvent)
{
    for (size_t k = 0; k < planner->budget_count; k++)
        if (planner->needs[planner->budget_of[k]].material == solvent)
            return (int)k;
    return -1;
}

static enum pm_status add_way(struct pm_weigh_planner *planner, const struct pm_weigh_way *way,
                              pm_mass mass, int small, pm_mass whole, struct pm_error *err)
{
    const pm_mass neat = planner->amounts[way->need];
    struct pm_weigh_choice choice = {
        .solvent = way->solvent == 0 ? -1 : pm_ways_budget(planner, way->solvent),
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

/* ---- several bottles of one kind ---- */

static bool in_set(size_t first, size_t last, unsigned set, size_t bottle)
{
    const size_t count = last - first,
                 chosen = count < PM_WEIGH_SET_BOTTLES ? count : PM_WEIGH_SET_BOTTLES;
    const size_t at = bottle - first;
    return at >= chosen || (set >> (chosen - 1 - at) & 1) != 0;
}

/* Whether a set holds the mass, and the last of it is needed for that. */
static bool is_of_use(const struct pm_weigh_planner *planner, size_t first, size_t last,
                      unsigned set, pm_mass mass)
{
    pm_mass lacking = mass;
    bool more = false;
    for (size_t i = first; i < last; i++) {
        if (!in_set(first, last, set, i))
            continue;
        if (lacking <= 0 && i < first + PM_WEIGH_SET_BOTTLES)
            return false;
        more = true;
        lacking -=
            planner->bottles[i].stock.left < lacking ? planner->bottles[i].stock.left : lacking;
    }
    return more && lacking <= 0;
}

bool pm_ways_next_set(const struct pm_weigh_planner *planner, size_t first, size_t last,
                      pm_mass mass, unsigned *set)
{
    const size_t count = last - first;
    const unsigned sets = count < PM_WEIGH_SET_BOTTLES ? 1U << count : PM_WEIGH_SETS;
    if (*set > sets)
        *set = sets;
    while (*set > 0) {
        --*set;
        if (is_of_use(planner, first, last, *set, mass))
            return true;
    }
    return false;
}

/* What is kept for the bottles of a set behind one: `level` of each that holds so much. */
static pm_mass kept_for_others(const struct pm_weigh_planner *planner, size_t from, size_t first,
                               size_t last, unsigned set, pm_mass level)
{
    pm_mass kept = 0;
    for (size_t i = from; i < last; i++) {
        const pm_mass left = planner->bottles[i].stock.left;
        if (left >= level && in_set(first, last, set, i))
            kept += level;
        if (kept > PM_MASS_MAX)
            return PM_MASS_MAX;
    }
    return kept;
}

pm_mass pm_ways_take(struct pm_weigh_planner *planner, size_t first, size_t last, unsigned set,
                     pm_mass mass, pm_mass level)
{
    if (kept_for_others(planner, first, first, last, set, level) > mass)
        level = 0;
    for (size_t i = first; i < last; i++) {
        struct pm_stock_bottle *stock = &planner->bottles[i].stock;
        stock->take = 0;
        if (!in_set(first, last, set, i))
            continue;
        const pm_mass here = mass - kept_for_others(planner, i + 1, first, last, set, level);
        stock->take = stock->left < here ? stock->left : here;
        mass -= stock->take;
    }
    return mass;
}

/* What a set of bottles is poured in: how many weights are too small, and the smallest there has to
 * be, for which the mass is divided as evenly as the bottles allow. */
static void draw(struct pm_weigh_planner *planner, struct pm_weigh_way *way, pm_mass mass,
                 pm_mass *smallest, int *small)
{
    pm_mass least = mass;
    size_t count = 0;
    *smallest = mass;
    *small = 0;
    pm_ways_take(planner, way->first, way->last, way->set, mass, planner->minimum);
    for (size_t i = way->first; i < way->last; i++) {
        const struct pm_stock_bottle *stock = &planner->bottles[i].stock;
        if (i - way->first < PM_WEIGH_SET_BOTTLES)
            way->takes[i - way->first] = stock->take;
        if (stock->take == 0)
            continue;
        count++;
        *smallest = stock->take < *smallest ? stock->take : *smallest;
        least = stock->left < least ? stock->left : least;
        *small += stock->take < planner->minimum;
    }
    if (*small == 0 && count > 0)
        *smallest = least < mass / (pm_mass)count ? least : mass / (pm_mass)count;
}

/* ---- several kinds that are written alike ---- */

pm_mass pm_ways_draw_mixed(const struct pm_weigh_bottle *bottle, pm_int128 *lacking)
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
static enum pm_status add_mixed(struct pm_weigh_planner *planner, const struct pm_weigh_way *way,
                                struct pm_error *err)
{
    pm_int128 lacking = pm_ways_neat_fine(planner, way->need);
    pm_mass whole = 0, smallest = PM_MASS_MAX;
    int small = 0;
    for (size_t i = way->first; i < way->last && lacking > 0; i++) {
        const pm_mass take = pm_ways_draw_mixed(&planner->bottles[i], &lacking);
        whole += take;
        smallest = take < smallest ? take : smallest;
        small += take < planner->minimum;
    }
    return lacking == 0 && whole > 0 ? add_way(planner, way, smallest, small, whole, err) : PM_OK;
}

static enum pm_status add_mixtures(struct pm_weigh_planner *planner, size_t need, size_t from,
                                   size_t to, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t first = from, last; first < to && status == PM_OK; first = last) {
        for (last = first + 1;
             last < to && written_alike(&planner->bottles[first], &planner->bottles[last]);)
            last++;
        const struct pm_weigh_way way = {.need = need,
                                         .first = first,
                                         .last = last,
                                         .mixed = true,
                                         .strength = planner->bottles[first].strength,
                                         .solvent = planner->bottles[first].solvent,
                                         .stock = PM_WEIGH_NONE};
        if (!pm_ways_same_group(&planner->bottles[first], &planner->bottles[last - 1]))
            status = add_mixed(planner, &way, err);
    }
    return status;
}

/* Below 0: the first of two ways with bottles of one kind uses up more of what is older. */
static int compare_takes(const struct pm_weigh_way *one, const struct pm_weigh_way *other)
{
    for (size_t i = 0; i < PM_WEIGH_SET_BOTTLES; i++)
        if (one->takes[i] != other->takes[i])
            return one->takes[i] > other->takes[i] ? -1 : 1;
    return 0;
}

/* Whether one of the ways since `from` is as good in every respect. */
static bool is_outdone(const struct pm_weigh_planner *planner, size_t from,
                       const struct pm_weigh_way *way, pm_mass smallest, int small)
{
    for (size_t i = from; i < planner->way_count; i++)
        if (planner->choices[i].unweighable <= small && planner->choices[i].mass >= smallest &&
            compare_takes(&planner->ways[i], way) <= 0)
            return true;
    return false;
}

/* The ways to pour from bottles of one kind. */
static enum pm_status add_sets(struct pm_weigh_planner *planner, struct pm_weigh_way *way,
                               struct pm_error *err)
{
    const pm_mass mass = weight_at(planner, way->need, way->strength);
    const size_t from = planner->way_count;
    enum pm_status status = PM_OK;
    way->set = PM_WEIGH_SETS;
    while (status == PM_OK && mass > 0 &&
           pm_ways_next_set(planner, way->first, way->last, mass, &way->set)) {
        pm_mass smallest;
        int small;
        draw(planner, way, mass, &smallest, &small);
        if (!is_outdone(planner, from, way, smallest, small))
            status = add_way(planner, way, smallest, small, mass, err);
    }
    return status;
}

static enum pm_status add_groups(struct pm_weigh_planner *planner, size_t need, size_t from,
                                 size_t to, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t first = from, last; first < to && status == PM_OK; first = last) {
        for (last = first + 1;
             last < to && pm_ways_same_group(&planner->bottles[first], &planner->bottles[last]);)
            last++;
        struct pm_weigh_way way = {.need = need,
                                   .first = first,
                                   .last = last,
                                   .strength = planner->bottles[first].strength,
                                   .solvent = planner->bottles[first].solvent,
                                   .stock = PM_WEIGH_NONE};
        status = add_sets(planner, &way, err);
    }
    return status;
}

/* How many dilutions lead from one strength to another, none beyond a tenth. */
static int steps_between(pm_strength from, pm_strength to)
{
    int steps = 1;
    for (size_t i = 0; i < PM_WEIGH_MADE; i++)
        steps += pm_weigh_made_at[i] < from && pm_weigh_made_at[i] > to &&
                 (pm_int128)pm_weigh_made_at[i] * 50 < (pm_int128)from * 49;
    return steps;
}

static enum pm_status add_dilutions(struct pm_weigh_planner *planner, size_t need, size_t from,
                                    size_t to, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t s = 0; s < PM_WEIGH_MADE && status == PM_OK; s++)
        for (size_t k = 0; k < planner->budget_count && status == PM_OK; k++) {
            struct pm_weigh_way way = {.need = need,
                                       .strength = pm_weigh_made_at[s],
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
static enum pm_status add_missing(struct pm_weigh_planner *planner, size_t need,
                                  struct pm_error *err)
{
    const struct pm_weigh_need *row = &planner->needs[need];
    const bool fits = row->written < PM_NEAT && pm_ways_budget(planner, row->written_in) >= 0;
    const struct pm_weigh_way way = {.need = need,
                                     .strength = fits ? row->written : PM_NEAT,
                                     .solvent = fits ? row->written_in : 0,
                                     .stock = PM_WEIGH_NONE};
    const pm_mass mass = weight_at(planner, need, way.strength);
    return add_way(planner, &way, mass, mass < planner->minimum ? 1 : 0, mass, err);
}

/* The bottle of a way that is poured first. */
static const struct pm_weigh_bottle *first_of(const struct pm_weigh_planner *planner,
                                              const struct pm_weigh_way *way)
{
    size_t at = way->first;
    while (!way->mixed && !in_set(way->first, way->last, way->set, at))
        at++;
    return &planner->bottles[at];
}

struct aged {
    size_t begins; /* place among the bottles poured first, what is used up first before others */
    const struct pm_weigh_way *way;
};

static void find_beginnings(const struct pm_weigh_planner *planner, size_t first, size_t count,
                            const struct pm_stock_bottle *order, struct aged *out)
{
    for (size_t i = 0; i < count; i++) {
        const struct pm_weigh_way *way = &planner->ways[first + i];
        const int64_t bottle = first_of(planner, way)->stock.id;
        size_t at = 0;
        while (order[at].id != bottle)
            at++;
        out[i] = (struct aged){at, way};
    }
}

/* Whether one uses up what is older sooner, or more of it. */
static bool is_older(const struct aged *one, const struct aged *other)
{
    if (one->begins != other->begins)
        return one->begins < other->begins;
    const int compared = compare_takes(one->way, other->way);
    return compared < 0 || (compared == 0 && one->way < other->way);
}

/* The ways of the item so far, by the bottle of each that is poured first, and how much is taken of
 * what is older. */
static enum pm_status rank_by_age(struct pm_weigh_planner *planner, struct pm_error *err)
{
    const size_t first = planner->item_first[planner->item_count];
    const size_t count = planner->way_count - first;
    struct pm_stock_bottle *order = pm_alloc_array(count + 1, sizeof *order);
    struct aged *ways = pm_alloc_array(count + 1, sizeof *ways);
    const bool room = order != NULL && ways != NULL;
    if (room) {
        for (size_t i = 0; i < count; i++)
            order[i] = first_of(planner, &planner->ways[first + i])->stock;
        pm_stock_order(order, count, planner->wish->today);
        find_beginnings(planner, first, count, order, ways);
    }
    for (size_t i = 0; i < count && room; i++) {
        int older = 0;
        for (size_t k = 0; k < count; k++)
            older += is_older(&ways[k], &ways[i]);
        /* From one kind of bottle rather than from several. */
        planner->choices[first + i].age = older + (ways[i].way->mixed ? MIXED_AGE : 0);
    }
    pm_free(order);
    pm_free(ways);
    return room ? PM_OK : pm_fail_memory(err);
}

static enum pm_status add_item(struct pm_weigh_planner *planner, size_t need, bool missing_too,
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

enum pm_status pm_ways_make_items(struct pm_weigh_planner *planner, bool missing_too,
                                  struct pm_error *err)
{
    enum pm_status status = PM_OK;
    planner->item_count = planner->way_count = 0;
    for (size_t i = 0; i < planner->count && status == PM_OK; i++)
        if (!pm_ways_is_rest(planner, i) && planner->needs[i].neat > 0)
            status = add_item(planner, i, missing_too, err);
    for (size_t i = 0; i < planner->item_count && status == PM_OK; i++) {
        const size_t end =
            i + 1 < planner->item_count ? planner->item_first[i + 1] : planner->way_count;
        planner->items[i] = (struct pm_weigh_item){planner->choices + planner->item_first[i],
                                                   end - planner->item_first[i], 0};
    }
    return status;
}

void pm_ways_drop_made(struct pm_weigh_planner *planner, struct pm_weigh_item *items)
{
    for (size_t i = 0; i < planner->item_count; i++) {
        items[i] = planner->items[i];
        while (items[i].count > 1 && items[i].choices[items[i].count - 1].made > 0)
            items[i].count--;
    }
}

enum pm_status pm_ways_least_batch(struct pm_weigh_planner *planner, bool made_too, pm_mass *out,
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
        if (pm_ways_is_rest(planner, i) &&
            pm_ways_budget(planner, planner->needs[i].material) < 0 &&
            planner->amounts[i] < smallest)
            smallest = planner->amounts[i];
    if (smallest > 0)
        pm_muldiv(planner->wish->mass, planner->minimum, smallest, out);
    return PM_OK;
}
