/* SPDX-License-Identifier: MIT */
/*
 * Which bottles to weigh from: dynamic programming from the last item to the first.
 *
 * A stage holds, for every number of extra weights too small and of extra dilutions (extra to what
 * cannot be helped), the ways in which the items from there on carry solvent, as far as none is
 * beaten in every solvent by another. What a solvent's budget can never run out of is forgotten, so
 * that with ample solvent there is one way. The allowances grow until there is a way through, then
 * the smallest weight is raised as far as there is one.
 *
 * What is not carried of a solvent is one more weight at the end. Where the best ways leave a speck
 * of it, the search is made again with so much room left that the rest can be weighed, and with so
 * much carried that there is none; the best of all that counts. With the latter a way that carries
 * less beats no other, so that many more are kept.
 */
#include "weigh_climb.h"

#include "permille/base/mem.h"

#include <stdlib.h>
#include <string.h>

/* Candidates looked at in one pass through the stages; what a cell keeps follows from it. */
#define LOOKS_MOST 4000000.0
/* The same, and for so many choices at the most, where carrying less is no better. */
#define EXACT_LOOKS_MOST 400000.0
#define EXACT_CHOICES    400
#define WAYS_MOST        4096
#define WAYS_LEAST       8
/* More cells than this are not filled: pm_weigh_climb takes over. */
#define CELLS_MOST 200000

struct way {
    pm_mass carried[PM_WEIGH_SOLVENTS];
};
struct cell {
    struct way *ways; /* owned; none beats another */
    size_t count;
};

/* What becomes of the rest of a solvent. */
enum rest {
    ANY_REST,
    LARGE_REST, /* it is large enough to be weighed */
    NO_REST
};
#define RESTS 3
/* So many solvents are looked at in every way; of more only the first ones. */
#define SPECKS_MOST 3

struct search {
    const struct pm_weigh_item *items;
    size_t count, solvents, choices; /* choices: of all items */
    const struct pm_weigh_budget *budgets;
    enum rest rests[PM_WEIGH_SOLVENTS];
    bool rests_count;                       /* LARGE_REST goes by `smallest`, not the minimum */
    struct way least_carried, most_carried; /* between these; follows from `rests` */
    bool exact[PM_WEIGH_SOLVENTS];          /* least_carried is above 0 */
    bool any_exact;
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

static bool is_exact(const struct search *search, const struct pm_weigh_choice *choice)
{
    return choice->carried > 0 && search->exact[choice->solvent];
}

/* Whether a choice leaves all solvents at least as well off. */
static bool carries_less(const struct search *search, const struct pm_weigh_choice *one,
                         const struct pm_weigh_choice *other)
{
    if (one->carried > 0 && one->solvent != other->solvent)
        return false;
    if (is_exact(search, one) || is_exact(search, other))
        return one->carried == other->carried;
    return one->carried <= other->carried;
}

/* Whether no other choice of the item takes as little of everything and carries less. */
static bool worthwhile(const struct search *search, const struct pm_weigh_item *item, size_t place)
{
    const struct pm_weigh_choice *choice = &item->choices[place];
    if (!usable(search, choice))
        return false;
    for (size_t k = 0; k < item->count; k++) {
        const struct pm_weigh_choice *other = &item->choices[k];
        if (k == place || !usable(search, other) || !carries_less(search, other, choice) ||
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

static enum pm_status check(const struct pm_weigh_item *items, size_t count,
                            const struct pm_weigh_budget *budgets, size_t solvents,
                            struct pm_error *err)
{
    if (solvents > PM_WEIGH_SOLVENTS)
        return pm_fail(err, PM_REFUSED, "More than %d solvents in one formula cannot be planned.",
                       PM_WEIGH_SOLVENTS);
    for (size_t x = 0; x < solvents; x++)
        if (budgets[x].whole < 0 || budgets[x].amount < budgets[x].whole ||
            budgets[x].most < budgets[x].amount || budgets[x].minimum < 0)
            return pm_fail(err, PM_INVALID, "Solvent %zu has no sound budget.", x + 1);
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
        if (one->carried[x] > other->carried[x] ||
            (search->exact[x] && one->carried[x] != other->carried[x]))
            return false;
    return true;
}

/* Sorts the candidates and leaves those that no other beats; returns how many. A candidate can only
 * be beaten by one sorted before it; with two solvents by the last one kept. Where carrying less is
 * no better, only what follows upon its like goes. */
static size_t unbeaten(const struct search *search, struct way *ways, size_t count)
{
    size_t kept = 0;
    if (count == 0)
        return 0;
    qsort(ways, count, sizeof *ways, by_carried);
    for (size_t i = 0; i < count; i++) {
        size_t from = (search->solvents <= 2 || search->any_exact) && kept > 0 ? kept - 1 : 0;
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
        const pm_mass most = search->most_carried.carried[x];
        if (out->carried[x] > most)
            return false;
        if (!search->exact[x] &&
            out->carried[x] + search->most[item * search->solvents + x] <= most)
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

/* How much may be carried of each solvent; false when that cannot be. */
static bool set_bounds(struct search *search)
{
    search->any_exact = false;
    for (size_t x = 0; x < search->solvents; x++) {
        const struct pm_weigh_budget *budget = &search->budgets[x];
        const pm_mass rest = search->rests_count ? search->smallest : budget->minimum;
        search->least_carried.carried[x] = search->rests[x] == NO_REST ? budget->whole : 0;
        search->most_carried.carried[x] =
            search->rests[x] == LARGE_REST ? budget->amount - rest : budget->most;
        search->exact[x] = search->least_carried.carried[x] > 0;
        search->any_exact = search->any_exact || search->exact[x];
        if ((search->exact[x] && search->choices > EXACT_CHOICES) ||
            search->most_carried.carried[x] < 0 ||
            search->most[search->count * search->solvents + x] < search->least_carried.carried[x])
            return false;
    }
    return true;
}

/* Whether one of the ways from a stage on fits to what was carried before it. */
static bool fits(const struct search *search, const struct cell *cell, const pm_mass *carried)
{
    for (size_t i = 0; i < cell->count; i++) {
        bool does = true;
        for (size_t x = 0; x < search->solvents && does; x++) {
            const pm_mass sum = cell->ways[i].carried[x] + carried[x];
            does =
                sum >= search->least_carried.carried[x] && sum <= search->most_carried.carried[x];
        }
        if (does)
            return true;
    }
    return false;
}

/* Whether there is a way through with the present allowances. The stages stay for reading it. */
static bool way_through(struct search *search)
{
    static const pm_mass nothing[PM_WEIGH_SOLVENTS];
    cells_release(search);
    if (!set_bounds(search))
        return false;
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
    double ways = (search->any_exact ? EXACT_LOOKS_MOST * (double)(search->count + 1) /
                                           ((double)search->choices + 1)
                                     : LOOKS_MOST / 4) /
                  (double)cells;
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
           fits(search, cell_at(search, 0, search->extra_small, search->extra_made), nothing);
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
        search->choices += search->items[i].count;
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

/* Raises the smallest weight as far as there is a way through: between low, for which there is one,
 * and high. */
static void raise_between(struct search *search, pm_mass low, pm_mass high)
{
    while (high > low + 1 && !search->failed) {
        search->smallest = low + (high - low) / 2;
        if (way_through(search))
            low = search->smallest;
        else
            high = search->smallest;
    }
    search->smallest = low;
}

/* The same among the weights that there are, the smallest of which forbids nothing. Where rests
 * count as well, they may lie between two of those. */
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
    if (search->rests_count && !search->failed) {
        const pm_mass next = high < count ? masses[high] : PM_MASS_MAX + 1;
        if (way_through(search))
            raise_between(search, search->smallest, next);
        else
            raise_between(search, 0, search->smallest);
    }
    pm_free(masses);
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
            if (!fits(search, cell_at(search, i + 1, small_left, made_left), after))
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
    search->extra_small = search->extra_made = 0;
    search->smallest = 0;
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
        out->unweighable +=
            pm_weigh_specks(items, search->count, search->budgets, search->solvents);
    }
    return PM_OK;
}

/* A choice for every item, and what comes of it. */
struct chosen {
    size_t *places; /* owned */
    bool found;
    struct pm_weigh_outcome outcome;
};

static void put_back(const struct chosen *best, struct pm_weigh_item *items, size_t count)
{
    for (size_t i = 0; i < count; i++)
        items[i].chosen = best->places[i];
}

/* Whether what the items say now is better than the best so far. */
static bool better(const struct chosen *best, const struct pm_weigh_item *items, size_t count,
                   const struct pm_weigh_outcome *now)
{
    if (!best->found)
        return true;
    if (now->unweighable != best->outcome.unweighable)
        return now->unweighable < best->outcome.unweighable;
    if (now->made != best->outcome.made)
        return now->made < best->outcome.made;
    if (now->smallest != best->outcome.smallest)
        return now->smallest > best->outcome.smallest;
    for (size_t i = 0; i < count; i++) {
        const int age = items[i].choices[items[i].chosen].age;
        const int was = items[i].choices[best->places[i]].age;
        if (age != was)
            return age < was;
    }
    return false;
}

static void take_if_better(struct chosen *best, const struct pm_weigh_item *items, size_t count,
                           const struct pm_weigh_outcome *now)
{
    if (!better(best, items, count, now))
        return;
    best->found = true;
    best->outcome = *now;
    for (size_t i = 0; i < count; i++)
        best->places[i] = items[i].chosen;
}

/* The solvents of which a speck may be left. */
static size_t may_leave_specks(struct search *search, size_t *which)
{
    size_t count = 0;
    for (size_t x = 0; x < search->solvents; x++) {
        const struct pm_weigh_budget *budget = &search->budgets[x];
        const pm_mass most = search->most[search->count * search->solvents + x];
        if (budget->whole == 0 || budget->amount - most >= budget->minimum)
            continue;
        if (count < SPECKS_MOST)
            which[count++] = x;
        else
            search->cut = true;
    }
    return count;
}

/* The rests of the round-th attempt, none of them alike; false: there is none any more. */
static bool next_rests(struct search *search, const size_t *which, size_t count, size_t round)
{
    for (size_t i = 0; i < count; i++) {
        search->rests[which[i]] = (enum rest)(round % RESTS);
        round /= RESTS;
    }
    return round == 0;
}

/* First whatever the rests are; where that leaves specks, in every way that may avoid them. */
static enum pm_status choose_all(struct search *search, struct pm_weigh_item *items,
                                 struct chosen *best, struct pm_error *err)
{
    size_t which[SPECKS_MOST];
    const size_t count = may_leave_specks(search, which);
    bool specks = true;
    enum pm_status status = PM_OK;
    for (size_t round = 0; specks && status == PM_OK && next_rests(search, which, count, round);
         round++) {
        struct pm_weigh_outcome now;
        bool found = false;
        status = choose_exactly(search, items, &now, &found, err);
        if (status == PM_OK && found)
            take_if_better(best, items, search->count, &now);
        if (round == 0)
            specks = found &&
                     pm_weigh_specks(items, search->count, search->budgets, search->solvents) > 0;
        search->cut = search->cut || (specks && search->choices > EXACT_CHOICES);
    }
    return status;
}

/* Where the stages had to leave something out, climbing may have found better. */
static void choose_somehow(struct search *search, struct pm_weigh_item *items, struct chosen *best)
{
    struct pm_weigh_outcome climbed;
    if (pm_weigh_climb(items, search->count, search->budgets, search->solvents, &climbed))
        take_if_better(best, items, search->count, &climbed);
    best->outcome.proven = false;
}

static enum pm_status too_little(struct pm_error *err)
{
    return pm_fail(err, PM_REFUSED,
                   "The formula holds too little solvent for any of its dilutions.");
}

enum pm_status pm_weigh_choose(struct pm_weigh_item *items, size_t count,
                               const struct pm_weigh_budget *budgets, size_t solvents,
                               struct pm_weigh_outcome *out, struct pm_error *err)
{
    struct search search = {
        .items = items, .count = count, .solvents = solvents, .budgets = budgets, .made_too = true};
    struct chosen best = {0};
    enum pm_status status = check(items, count, budgets, solvents, err);
    if (status == PM_OK)
        status = search_begin(&search, err);
    if (status == PM_OK) {
        best.places = pm_alloc_array(count + 1, sizeof *best.places);
        status = best.places != NULL ? PM_OK : pm_fail_memory(err);
    }
    if (status == PM_OK)
        status = choose_all(&search, items, &best, err);
    if (status == PM_OK && (search.cut || search.too_large))
        choose_somehow(&search, items, &best);
    if (status == PM_OK && !best.found)
        status = too_little(err);
    if (status == PM_OK) {
        put_back(&best, items, count);
        *out = best.outcome;
    }
    pm_free(best.places);
    search_end(&search);
    return status;
}

enum pm_status pm_weigh_smallest(const struct pm_weigh_item *items, size_t count,
                                 const struct pm_weigh_budget *budgets, size_t solvents,
                                 bool made_too, pm_mass *out, struct pm_error *err)
{
    struct search search = {.items = items,
                            .count = count,
                            .solvents = solvents,
                            .budgets = budgets,
                            .rests_count = true,
                            .made_too = made_too,
                            .any_small = true,
                            .any_made = true};
    pm_mass best = -1;
    enum pm_status status = check(items, count, budgets, solvents, err);
    if (status == PM_OK)
        status = search_begin(&search, err);
    for (size_t round = 0; status == PM_OK && round < (size_t)1 << solvents; round++) {
        bool again = false;
        for (size_t x = 0; x < solvents; x++) {
            again = again || ((round >> x & 1) != 0 && budgets[x].whole == 0);
            search.rests[x] = (round >> x & 1) != 0 || budgets[x].whole == 0 ? NO_REST : LARGE_REST;
        }
        search.smallest = 0;
        if (again || !way_through(&search))
            continue;
        raise_smallest(&search);
        best = search.smallest > best ? search.smallest : best;
        status = search.failed ? pm_fail_memory(err) : PM_OK;
    }
    if (status == PM_OK && search.failed)
        status = pm_fail_memory(err);
    if (status == PM_OK && best < 0)
        status = too_little(err);
    if (status == PM_OK)
        *out = best;
    search_end(&search);
    return status;
}
