/* SPDX-License-Identifier: MIT */
/*
 * Which bottles to weigh from: dynamic programming from the last item to the first.
 *
 * A stage holds, for every number of extra weights too small and of extra dilutions (extra to what
 * cannot be helped), the ways in which the items from there on carry solvent, as far as none is
 * beaten in every solvent by another. What a solvent's budget can never run out of is forgotten, so
 * that with ample solvent there is one way. The allowances grow until there is a way through, then
 * the smallest weight is raised as far as there is one.
 */
#include "weigh_climb.h"

#include "permille/base/mem.h"

#include <stdlib.h>
#include <string.h>

/* Candidates looked at in one pass through the stages; what a cell keeps follows from it. */
#define LOOKS_MOST 4000000.0
#define WAYS_MOST  4096
#define WAYS_LEAST 8
/* More cells than this are not filled: pm_weigh_climb takes over. */
#define CELLS_MOST 200000

struct way {
    pm_mass carried[PM_WEIGH_SOLVENTS];
};
struct cell {
    struct way *ways; /* owned; none beats another */
    size_t count;
};

struct search {
    const struct pm_weigh_item *items;
    size_t count, solvents;
    const pm_mass *budgets;
    bool made_too;               /* choices with dilutions to be made count */
    bool any_small, any_made;    /* any number of them is allowed */
    int extra_small, extra_made; /* else so many beyond the least of every item */
    pm_mass smallest;            /* weights below it are not chosen */
    /* (count + 1) stages of (extra_small + 1) x (extra_made + 1) cells: stage i is about the items
     * from i on. */
    struct cell *cells; /* owned */
    size_t cell_count;
    /* most[i * solvents + x]: what the items before i can carry of x at the most. */
    pm_mass *most;          /* owned */
    struct way *candidates; /* owned; for the cell being filled */
    size_t candidate_count, candidate_room;
    size_t ways_most; /* kept in one cell, at least 2 */
    bool cut;         /* a cell held more ways than are kept */
    bool too_large;   /* more cells than are filled */
    bool failed;      /* memory ran out */
};

/* ---- items ----------------------------------------------------------------------------------- */

static int least_small(const struct pm_weigh_item *item)
{
    int least = item->choices[0].unweighable;
    for (size_t i = 1; i < item->count; i++)
        if (item->choices[i].unweighable < least)
            least = item->choices[i].unweighable;
    return least;
}

/* What a choice takes of the allowances. */
static int takes_small(const struct search *search, const struct pm_weigh_item *item,
                       const struct pm_weigh_choice *choice)
{
    return search->any_small ? 0 : choice->unweighable - least_small(item);
}

static int takes_made(const struct search *search, const struct pm_weigh_choice *choice)
{
    return search->any_made ? 0 : choice->made;
}

static bool usable(const struct search *search, const struct pm_weigh_choice *choice)
{
    return choice->mass >= search->smallest && (search->made_too || choice->made == 0);
}

/* Whether no other choice of the item takes as little of everything and carries less. */
static bool worthwhile(const struct search *search, const struct pm_weigh_item *item, size_t place)
{
    const struct pm_weigh_choice *choice = &item->choices[place];
    if (!usable(search, choice))
        return false;
    for (size_t k = 0; k < item->count; k++) {
        const struct pm_weigh_choice *other = &item->choices[k];
        if (k == place || !usable(search, other) || other->carried > choice->carried ||
            (other->carried > 0 && other->solvent != choice->solvent) ||
            takes_small(search, item, other) > takes_small(search, item, choice) ||
            takes_made(search, other) > takes_made(search, choice))
            continue;
        bool equal = other->carried == choice->carried &&
                     takes_small(search, item, other) == takes_small(search, item, choice) &&
                     takes_made(search, other) == takes_made(search, choice);
        if (!equal || k < place)
            return false;
    }
    return true;
}

static enum pm_status check(const struct pm_weigh_item *items, size_t count, size_t solvents,
                            struct pm_error *err)
{
    if (solvents > PM_WEIGH_SOLVENTS)
        return pm_fail(err, PM_REFUSED, "More than %d solvents in one formula cannot be planned.",
                       PM_WEIGH_SOLVENTS);
    for (size_t i = 0; i < count; i++) {
        bool sound = items[i].count > 0;
        for (size_t k = 0; k < items[i].count && sound; k++) {
            const struct pm_weigh_choice *choice = &items[i].choices[k];
            sound = choice->solvent < (int)solvents && choice->carried >= 0 && choice->mass >= 0 &&
                    choice->unweighable >= 0 && choice->made >= 0;
        }
        if (!sound)
            return pm_fail(err, PM_INVALID, "Line %zu cannot be weighed from anything.", i + 1);
    }
    return PM_OK;
}

/* ---- cells ----------------------------------------------------------------------------------- */

static struct cell *cell_at(const struct search *search, size_t stage, int small, int made)
{
    size_t wide = (size_t)search->extra_made + 1, high = (size_t)search->extra_small + 1;
    return &search->cells[(stage * high + (size_t)small) * wide + (size_t)made];
}

static int by_carried(const void *a, const void *b)
{
    const struct way *one = a, *other = b;
    for (size_t x = 0; x < PM_WEIGH_SOLVENTS; x++)
        if (one->carried[x] != other->carried[x])
            return one->carried[x] < other->carried[x] ? -1 : 1;
    return 0;
}

static bool beats(const struct search *search, const struct way *one, const struct way *other)
{
    for (size_t x = 0; x < search->solvents; x++)
        if (one->carried[x] > other->carried[x])
            return false;
    return true;
}

/* Sorts the candidates and leaves those that no other beats; returns how many. A candidate can only
 * be beaten by one sorted before it; with two solvents by the last one kept. */
static size_t unbeaten(const struct search *search, struct way *ways, size_t count)
{
    size_t kept = 0;
    if (count == 0)
        return 0;
    qsort(ways, count, sizeof *ways, by_carried);
    for (size_t i = 0; i < count; i++) {
        size_t from = search->solvents <= 2 && kept > 0 ? kept - 1 : 0;
        bool beaten = false;
        for (size_t k = from; k < kept && !beaten; k++)
            beaten = beats(search, &ways[k], &ways[i]);
        if (!beaten)
            ways[kept++] = ways[i];
    }
    return kept;
}

/* Of too many ways some are kept, from one end to the other. */
static size_t thinned(struct search *search, struct way *ways, size_t count)
{
    if (count <= search->ways_most)
        return count;
    for (size_t i = 0; i < search->ways_most; i++)
        ways[i] = ways[i * (count - 1) / (search->ways_most - 1)];
    search->cut = true;
    return search->ways_most;
}

static void candidate(struct search *search, const struct way *way)
{
    if (!pm_grow((void **)&search->candidates, &search->candidate_room, search->candidate_count + 1,
                 sizeof *search->candidates))
        search->failed = true;
    else
        search->candidates[search->candidate_count++] = *way;
}

/* The cell takes the best of the candidates. */
static void keep(struct search *search, struct cell *cell)
{
    size_t count = unbeaten(search, search->candidates, search->candidate_count);
    count = thinned(search, search->candidates, count);
    search->candidate_count = 0;
    if (count == 0 || search->failed)
        return;
    cell->ways = pm_alloc_array(count, sizeof *cell->ways);
    if (cell->ways == NULL) {
        search->failed = true;
        return;
    }
    memcpy(cell->ways, search->candidates, count * sizeof *cell->ways);
    cell->count = count;
}

/* The way with this choice before it; false when a budget does not allow that. */
static bool extended(const struct search *search, size_t item, const struct pm_weigh_choice *choice,
                     const struct way *way, struct way *out)
{
    *out = *way;
    if (choice->solvent >= 0)
        out->carried[choice->solvent] += choice->carried;
    for (size_t x = 0; x < search->solvents; x++) {
        if (out->carried[x] > search->budgets[x])
            return false;
        if (out->carried[x] + search->most[item * search->solvents + x] <= search->budgets[x])
            out->carried[x] = 0;
    }
    return true;
}

/* ---- stages ---------------------------------------------------------------------------------- */

static void fill_cell(struct search *search, size_t stage, int small, int made)
{
    const struct pm_weigh_item *item = &search->items[stage];
    struct cell *cell = cell_at(search, stage, small, made);
    for (size_t k = 0; k < item->count && !search->failed; k++) {
        const struct pm_weigh_choice *choice = &item->choices[k];
        int small_left = small - takes_small(search, item, choice);
        int made_left = made - takes_made(search, choice);
        if (small_left < 0 || made_left < 0 || !worthwhile(search, item, k))
            continue;
        const struct cell *behind = cell_at(search, stage + 1, small_left, made_left);
        for (size_t i = 0; i < behind->count; i++) {
            struct way way;
            if (extended(search, stage, choice, &behind->ways[i], &way))
                candidate(search, &way);
        }
    }
    keep(search, cell);
}

static void cells_release(struct search *search)
{
    for (size_t i = 0; i < search->cell_count; i++)
        pm_free(search->cells[i].ways);
    pm_free(search->cells);
    search->cells = NULL;
    search->cell_count = 0;
}

/* Whether there is a way through with the present allowances. The stages stay for reading it. */
static bool way_through(struct search *search)
{
    cells_release(search);
    size_t cells =
        (search->count + 1) * ((size_t)search->extra_small + 1) * ((size_t)search->extra_made + 1);
    search->too_large = search->too_large || cells > CELLS_MOST;
    if (search->too_large)
        return false;
    search->cells = pm_alloc_array(cells, sizeof *search->cells);
    search->failed = search->failed || search->cells == NULL;
    if (search->failed)
        return false;
    search->cell_count = cells;
    double ways = LOOKS_MOST / ((double)cells * 4);
    search->ways_most = ways > WAYS_MOST    ? WAYS_MOST
                        : ways < WAYS_LEAST ? WAYS_LEAST
                                            : (size_t)ways;
    /* At the end anything not used up is allowed. */
    for (int small = 0; small <= search->extra_small && !search->failed; small++)
        for (int made = 0; made <= search->extra_made && !search->failed; made++) {
            candidate(search, &(struct way){{0}});
            keep(search, cell_at(search, search->count, small, made));
        }
    for (size_t stage = search->count; stage-- > 0 && !search->failed;)
        for (int small = 0; small <= search->extra_small; small++)
            for (int made = 0; made <= search->extra_made; made++)
                fill_cell(search, stage, small, made);
    return !search->failed &&
           cell_at(search, 0, search->extra_small, search->extra_made)->count > 0;
}

/* ---- the search ------------------------------------------------------------------------------ */

/* The most that any choices could add beyond the least. */
static int room_small(const struct search *search)
{
    int room = 0;
    for (size_t i = 0; i < search->count; i++) {
        int most = 0;
        for (size_t k = 0; k < search->items[i].count; k++)
            if (search->items[i].choices[k].unweighable > most)
                most = search->items[i].choices[k].unweighable;
        room += most - least_small(&search->items[i]);
    }
    return room;
}

static int room_made(const struct search *search)
{
    int room = 0;
    for (size_t i = 0; i < search->count; i++) {
        int most = 0;
        for (size_t k = 0; k < search->items[i].count; k++)
            if (search->items[i].choices[k].made > most)
                most = search->items[i].choices[k].made;
        room += most;
    }
    return room;
}

static enum pm_status search_begin(struct search *search, struct pm_error *err)
{
    search->most = pm_alloc_array((search->count + 1) * (search->solvents + 1), sizeof(pm_mass));
    if (search->most == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < search->count; i++)
        for (size_t x = 0; x < search->solvents; x++) {
            pm_mass most = 0;
            for (size_t k = 0; k < search->items[i].count; k++) {
                const struct pm_weigh_choice *choice = &search->items[i].choices[k];
                if (choice->solvent == (int)x && choice->carried > most)
                    most = choice->carried;
            }
            pm_mass before = search->most[i * search->solvents + x];
            search->most[(i + 1) * search->solvents + x] =
                before > PM_MASS_MAX - most ? PM_MASS_MAX : before + most;
        }
    return PM_OK;
}

static void search_end(struct search *search)
{
    cells_release(search);
    pm_free(search->candidates);
    pm_free(search->most);
}

/* Sets an allowance to the least with which there is a way through: it is doubled until there is
 * one, then halved down. False: there is none up to `room`. */
static bool least_allowance(struct search *search, int *allowance, int room)
{
    int low = -1, high = 0;
    for (;;) {
        *allowance = high;
        if (way_through(search))
            break;
        if (search->failed || search->too_large || high >= room)
            return false;
        low = high;
        high = high == 0 ? 1 : 2 * high;
        high = high < room ? high : room;
    }
    while (high - low > 1 && !search->failed) {
        *allowance = low + (high - low) / 2;
        if (way_through(search))
            high = *allowance;
        else
            low = *allowance;
    }
    *allowance = high;
    return !search->failed;
}

static int by_mass(const void *a, const void *b)
{
    pm_mass one = *(const pm_mass *)a, other = *(const pm_mass *)b;
    return (one > other) - (one < other);
}

/* Raises the smallest weight as far as there is a way through. */
static void raise_smallest(struct search *search)
{
    size_t count = 0, all = 0;
    for (size_t i = 0; i < search->count; i++)
        all += search->items[i].count;
    pm_mass *masses = pm_alloc_array(all + 1, sizeof *masses);
    search->failed = search->failed || masses == NULL;
    if (search->failed)
        return;
    for (size_t i = 0; i < search->count; i++)
        for (size_t k = 0; k < search->items[i].count; k++)
            masses[count++] = search->items[i].choices[k].mass;
    qsort(masses, count, sizeof *masses, by_mass);
    /* masses[low] has a way through: the smallest of all forbids nothing. */
    size_t low = 0, high = count;
    while (high > low + 1 && !search->failed) {
        size_t middle = low + (high - low) / 2;
        search->smallest = masses[middle];
        if (way_through(search))
            low = middle;
        else
            high = middle;
    }
    search->smallest = count > 0 ? masses[low] : 0;
    pm_free(masses);
}

/* Whether a stage has a way for what was carried before it. */
static bool goes_on(const struct search *search, size_t stage, int small, int made,
                    const pm_mass *carried)
{
    const struct cell *cell = cell_at(search, stage, small, made);
    for (size_t i = 0; i < cell->count; i++) {
        bool fits = true;
        for (size_t x = 0; x < search->solvents; x++)
            fits = fits && cell->ways[i].carried[x] + carried[x] <= search->budgets[x];
        if (fits)
            return true;
    }
    return false;
}

/* Goes through the stages, taking the oldest bottle that still leads to the end. */
static void read_choices(const struct search *search, struct pm_weigh_item *items,
                         struct pm_weigh_outcome *out)
{
    pm_mass carried[PM_WEIGH_SOLVENTS] = {0};
    int small = search->extra_small, made = search->extra_made;
    out->smallest = search->count > 0 ? PM_MASS_MAX : 0;
    for (size_t i = 0; i < search->count; i++) {
        const struct pm_weigh_choice *taken = NULL;
        for (size_t k = 0; k < items[i].count; k++) {
            const struct pm_weigh_choice *choice = &items[i].choices[k];
            pm_mass after[PM_WEIGH_SOLVENTS];
            int small_left = small - takes_small(search, &items[i], choice);
            int made_left = made - takes_made(search, choice);
            if (!usable(search, choice) || small_left < 0 || made_left < 0 ||
                (taken != NULL && choice->age >= taken->age))
                continue;
            memcpy(after, carried, sizeof after);
            if (choice->solvent >= 0)
                after[choice->solvent] += choice->carried;
            if (!goes_on(search, i + 1, small_left, made_left, after))
                continue;
            taken = choice;
            items[i].chosen = k;
        }
        if (taken == NULL) /* cannot happen: there is a way through */
            return;
        small -= takes_small(search, &items[i], taken);
        made -= takes_made(search, taken);
        if (taken->solvent >= 0)
            carried[taken->solvent] += taken->carried;
        out->unweighable += taken->unweighable;
        out->made += taken->made;
        out->smallest = taken->mass < out->smallest ? taken->mass : out->smallest;
    }
}

/* The stages, where they are not too many; *found tells whether there is a way. */
static enum pm_status choose_exactly(struct search *search, struct pm_weigh_item *items,
                                     struct pm_weigh_outcome *out, bool *found,
                                     struct pm_error *err)
{
    search->any_made = true;
    *found = least_allowance(search, &search->extra_small, room_small(search));
    search->any_made = false;
    *found = *found && least_allowance(search, &search->extra_made, room_made(search));
    if (*found)
        raise_smallest(search);
    *found = *found && !search->failed && way_through(search);
    if (search->failed)
        return pm_fail_memory(err);
    if (*found) {
        *out = (struct pm_weigh_outcome){.proven = !search->cut};
        read_choices(search, items, out);
    }
    return PM_OK;
}

static bool better(const struct pm_weigh_outcome *one, const struct pm_weigh_outcome *other)
{
    if (one->unweighable != other->unweighable)
        return one->unweighable < other->unweighable;
    if (one->made != other->made)
        return one->made < other->made;
    return one->smallest > other->smallest;
}

/* Where the stages had to leave something out, climbing may have found better. */
static enum pm_status choose_somehow(struct search *search, struct pm_weigh_item *items,
                                     struct pm_weigh_outcome *out, bool *found,
                                     struct pm_error *err)
{
    struct pm_weigh_outcome climbed;
    size_t *chosen = pm_alloc_array(search->count + 1, sizeof *chosen);
    if (chosen == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < search->count; i++)
        chosen[i] = items[i].chosen;
    if (pm_weigh_climb(items, search->count, search->budgets, search->solvents, &climbed) &&
        (!*found || better(&climbed, out))) {
        *found = true;
        *out = climbed;
    } else {
        for (size_t i = 0; i < search->count; i++)
            items[i].chosen = chosen[i];
    }
    pm_free(chosen);
    return PM_OK;
}

enum pm_status pm_weigh_choose(struct pm_weigh_item *items, size_t count, const pm_mass *budgets,
                               size_t solvents, struct pm_weigh_outcome *out, struct pm_error *err)
{
    struct search search = {
        .items = items, .count = count, .solvents = solvents, .budgets = budgets, .made_too = true};
    bool found = false;
    enum pm_status status = check(items, count, solvents, err);
    if (status == PM_OK)
        status = search_begin(&search, err);
    if (status != PM_OK)
        return status;
    status = choose_exactly(&search, items, out, &found, err);
    if (status == PM_OK && (search.cut || search.too_large))
        status = choose_somehow(&search, items, out, &found, err);
    if (status == PM_OK && !found)
        status = pm_fail(err, PM_REFUSED,
                         "The formula holds too little solvent for any of its dilutions.");
    search_end(&search);
    return status;
}

enum pm_status pm_weigh_smallest(const struct pm_weigh_item *items, size_t count,
                                 const pm_mass *budgets, size_t solvents, bool made_too,
                                 pm_mass *out, struct pm_error *err)
{
    struct search search = {.items = items,
                            .count = count,
                            .solvents = solvents,
                            .budgets = budgets,
                            .made_too = made_too,
                            .any_small = true,
                            .any_made = true};
    enum pm_status status = check(items, count, solvents, err);
    if (status == PM_OK)
        status = search_begin(&search, err);
    if (status != PM_OK)
        return status;
    bool found = way_through(&search);
    if (found)
        raise_smallest(&search);
    if (search.failed)
        status = pm_fail_memory(err);
    else if (!found)
        status = pm_fail(err, PM_REFUSED,
                         "The formula holds too little solvent for any of its dilutions.");
    else
        *out = search.smallest;
    search_end(&search);
    return status;
}
