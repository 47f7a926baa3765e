/* SPDX-License-Identifier: MIT */
/* Which bottles to weigh from, uphill. */
#include "weigh_climb.h"

struct climb {
    struct pm_weigh_item *items;
    size_t count;
    pm_mass left[PM_WEIGH_SOLVENTS]; /* of the budgets */
};

static const struct pm_weigh_choice *now(const struct pm_weigh_item *item)
{
    return &item->choices[item->chosen];
}

static void change(struct climb *climb, struct pm_weigh_item *item, size_t choice)
{
    if (now(item)->solvent >= 0)
        climb->left[now(item)->solvent] += now(item)->carried;
    item->chosen = choice;
    if (now(item)->solvent >= 0)
        climb->left[now(item)->solvent] -= now(item)->carried;
}

/* What changing to a choice takes of its solvent, as a share of what is left of it; above 1: more
 * than there is. */
static double price(const struct climb *climb, const struct pm_weigh_item *item, size_t choice)
{
    const struct pm_weigh_choice *there = &item->choices[choice];
    if (there->solvent < 0 || there->carried == 0)
        return 0;
    pm_mass left = climb->left[there->solvent];
    if (now(item)->solvent == there->solvent)
        left += now(item)->carried;
    return there->carried > left ? 2 : (double)there->carried / ((double)left + 1);
}

/* Which of two choices a step is after: fewer small weights; as few and fewer dilutions; as few of
 * both and a larger smallest weight. */
enum aim { FEWER_SMALL, FEWER_MADE, LARGER };

static bool serves(enum aim aim, const struct pm_weigh_choice *was,
                   const struct pm_weigh_choice *there)
{
    switch (aim) {
    case FEWER_SMALL:
        return there->unweighable < was->unweighable;
    case FEWER_MADE:
        return there->unweighable <= was->unweighable && there->made < was->made;
    case LARGER:
        break;
    }
    return there->unweighable <= was->unweighable && there->made <= was->made &&
           there->mass > was->mass;
}

/* The cheapest change of an item that serves the aim; item->count when there is none. */
static size_t cheapest(const struct climb *climb, const struct pm_weigh_item *item, enum aim aim,
                       double *cost)
{
    size_t best = item->count;
    *cost = 1;
    for (size_t k = 0; k < item->count; k++) {
        double here = price(climb, item, k);
        if (serves(aim, now(item), &item->choices[k]) &&
            (here < *cost || (best == item->count && here <= 1))) {
            *cost = here;
            best = k;
        }
    }
    return best;
}

/* Makes the cheapest change of all that serves the aim, again and again. */
static void step_all(struct climb *climb, enum aim aim)
{
    for (;;) {
        struct pm_weigh_item *item = NULL;
        size_t choice = 0;
        double least = 2;
        for (size_t i = 0; i < climb->count; i++) {
            double cost;
            size_t here = cheapest(climb, &climb->items[i], aim, &cost);
            if (here < climb->items[i].count && cost < least) {
                item = &climb->items[i];
                choice = here;
                least = cost;
            }
        }
        if (item == NULL)
            return;
        change(climb, item, choice);
    }
}

/* Raises the smallest weight until the smallest cannot be raised. */
static void raise_smallest(struct climb *climb)
{
    for (;;) {
        struct pm_weigh_item *smallest = NULL;
        double cost;
        for (size_t i = 0; i < climb->count; i++)
            if (smallest == NULL || now(&climb->items[i])->mass < now(smallest)->mass)
                smallest = &climb->items[i];
        size_t choice = smallest != NULL ? cheapest(climb, smallest, LARGER, &cost) : 0;
        if (smallest == NULL || choice == smallest->count)
            return;
        change(climb, smallest, choice);
    }
}

/* Takes older bottles that ask for nothing more. */
static void use_up(struct climb *climb)
{
    for (size_t i = 0; i < climb->count; i++) {
        struct pm_weigh_item *item = &climb->items[i];
        for (size_t k = 0; k < item->count; k++) {
            const struct pm_weigh_choice *there = &item->choices[k];
            if (there->age < now(item)->age && there->unweighable <= now(item)->unweighable &&
                there->made <= now(item)->made && there->mass >= now(item)->mass &&
                price(climb, item, k) <= 1)
                change(climb, item, k);
        }
    }
}

int pm_weigh_specks(const struct pm_weigh_item *items, size_t count,
                    const struct pm_weigh_budget *budgets, size_t solvents)
{
    pm_mass carried[PM_WEIGH_SOLVENTS] = {0};
    int specks = 0;
    for (size_t i = 0; i < count; i++)
        if (now(&items[i])->solvent >= 0)
            carried[now(&items[i])->solvent] += now(&items[i])->carried;
    for (size_t x = 0; x < solvents; x++)
        specks +=
            carried[x] < budgets[x].whole && budgets[x].amount - carried[x] < budgets[x].minimum;
    return specks;
}

bool pm_weigh_climb(struct pm_weigh_item *items, size_t count,
                    const struct pm_weigh_budget *budgets, size_t solvents,
                    struct pm_weigh_outcome *out)
{
    struct climb climb = {.items = items, .count = count};
    for (size_t x = 0; x < solvents; x++)
        climb.left[x] = budgets[x].most;
    for (size_t i = 0; i < count; i++) {
        items[i].chosen = 0;
        for (size_t k = 1; k < items[i].count; k++)
            if (items[i].choices[k].carried < now(&items[i])->carried)
                items[i].chosen = k;
        if (now(&items[i])->solvent >= 0)
            climb.left[now(&items[i])->solvent] -= now(&items[i])->carried;
    }
    for (size_t x = 0; x < solvents; x++)
        if (climb.left[x] < 0)
            return false;
    step_all(&climb, FEWER_SMALL);
    step_all(&climb, FEWER_MADE);
    raise_smallest(&climb);
    use_up(&climb);
    *out = (struct pm_weigh_outcome){.smallest = count > 0 ? PM_MASS_MAX : 0};
    for (size_t i = 0; i < count; i++) {
        out->unweighable += now(&items[i])->unweighable;
        out->made += now(&items[i])->made;
        if (now(&items[i])->mass < out->smallest)
            out->smallest = now(&items[i])->mass;
    }
    out->unweighable += pm_weigh_specks(items, count, budgets, solvents);
    return true;
}
