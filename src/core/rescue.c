/* SPDX-License-Identifier: MIT */
/* Ways out of an over-pour. */
#include "permille/core/rescue.h"

#include "permille/base/mem.h"
#include "permille/base/word.h"
#include "permille/core/apportion.h"

static const char *const words[] = {[PM_RESCUE_RESTORE] = "restore",
                                    [PM_RESCUE_CORE] = "core",
                                    [PM_RESCUE_PULL] = "pull",
                                    [PM_RESCUE_ACCEPT] = "accept"};

const char *pm_rescue_word(enum pm_rescue_way way)
{
    return words[way];
}

bool pm_rescue_from_word(const char *word, enum pm_rescue_way *out)
{
    const int place = pm_word_place(words, PM_RESCUE_WAYS, word);
    if (place >= 0)
        *out = (enum pm_rescue_way)place;
    return place >= 0;
}

static const char *const senses[] = {[PM_RESCUE_SENSIBLE] = "sensible",
                                     [PM_RESCUE_LACKING] = "not in stock",
                                     [PM_RESCUE_HEAVY] = "too heavy",
                                     [PM_RESCUE_ABSURD] = "absurd"};

const char *pm_rescue_sense_word(enum pm_rescue_sense sense)
{
    return senses[sense];
}

enum pm_rescue_sense pm_rescue_sense(pm_mass total, pm_mass planned, pm_mass capacity,
                                     bool in_stock)
{
    if (planned > 0 && total > (pm_int128)planned * PM_RESCUE_TIMES)
        return PM_RESCUE_ABSURD;
    if (capacity > 0 && total > capacity)
        return PM_RESCUE_HEAVY;
    return in_stock ? PM_RESCUE_SENSIBLE : PM_RESCUE_LACKING;
}

bool pm_rescue_over(const struct pm_rescue_line *line, const struct pm_balance *balance,
                    pm_strength tolerance)
{
    const pm_mass excess = line->poured - line->target;
    return excess > 0 && (pm_int128)excess * 2 > balance->readability &&
           (pm_int128)excess * PM_NEAT > (pm_int128)line->target * tolerance;
}

struct rescue {
    const struct pm_rescue_line *lines;
    size_t count;
    const struct pm_balance *balance;
    pm_strength tolerance;
    pm_mass *targets;
};

static bool is_over(const struct rescue *rescue, size_t at)
{
    return pm_rescue_over(&rescue->lines[at], rescue->balance, rescue->tolerance);
}

static bool takes_part(const struct rescue *rescue, size_t at, int core)
{
    return core < 0 || rescue->lines[at].core == core;
}

/* The line of a core (-1: of all) that is over by the largest ratio; count: none. */
static size_t worst(const struct rescue *rescue, int core)
{
    size_t found = rescue->count;
    for (size_t i = 0; i < rescue->count; i++) {
        const struct pm_rescue_line *line = &rescue->lines[i];
        if (!takes_part(rescue, i, core) || !is_over(rescue, i) || line->target == 0)
            continue;
        const struct pm_rescue_line *best = &rescue->lines[found < rescue->count ? found : i];
        if (found == rescue->count ||
            (pm_int128)line->poured * best->target > (pm_int128)best->poured * line->target)
            found = i;
    }
    return found;
}

/* All targets of a core (-1: of all) times poured / target of the worst. */
static enum pm_status scale(struct rescue *rescue, int core, size_t by, struct pm_error *err)
{
    const struct pm_rescue_line *measure = &rescue->lines[by];
    int64_t *weights = pm_alloc_array(rescue->count + 1, sizeof *weights);
    pm_int128 sum = 0;
    if (weights == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < rescue->count; i++) {
        weights[i] = takes_part(rescue, i, core) && i != by ? rescue->lines[i].target : 0;
        sum += weights[i];
    }
    const pm_int128 rest = (sum * measure->poured + measure->target / 2) / measure->target;
    enum pm_status status =
        rest + measure->poured > PM_MASS_MAX
            ? pm_fail(err, PM_REFUSED, "That would be more than can be weighed.")
            : PM_OK;
    if (status == PM_OK && sum > 0)
        status = pm_apportion(weights, rescue->count, (int64_t)rest, weights, err);
    for (size_t i = 0; i < rescue->count && status == PM_OK; i++)
        if (takes_part(rescue, i, core)) {
            const pm_mass wanted = i == by ? measure->poured : weights[i];
            const pm_mass poured = rescue->lines[i].poured;
            rescue->targets[i] = wanted > poured ? wanted : poured;
        }
    pm_free(weights);
    return status;
}

static enum pm_status scale_cores(struct rescue *rescue, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    bool any = false;
    for (size_t i = 0; i < rescue->count && status == PM_OK; i++) {
        const int core = rescue->lines[i].core;
        bool before = false;
        for (size_t k = 0; k < i; k++)
            before = before || (rescue->lines[k].core == core && is_over(rescue, k));
        if (core == 0 || before || !is_over(rescue, i))
            continue;
        any = true;
        status = scale(rescue, core, worst(rescue, core), err);
    }
    return status == PM_OK && !any ? pm_fail(err, PM_REFUSED, "What is over stands in no core.")
                                   : status;
}

/* Takes `excess` off what is still to be poured of a material, counted in it. Returns what is left.
 */
static pm_mass pull(struct rescue *rescue, int64_t material, pm_mass excess, bool neat_only)
{
    for (size_t i = 0; i < rescue->count && excess > 0; i++) {
        const struct pm_rescue_line *line = &rescue->lines[i];
        const pm_mass room = rescue->targets[i] - line->poured;
        if (line->material != material || line->done || room <= 0 ||
            (neat_only && line->strength != PM_NEAT))
            continue;
        pm_mass off = 0, gone = excess;
        if (!pm_muldiv(excess, PM_NEAT, line->strength, &off) || off > room) {
            off = room;
            pm_muldiv(off, line->strength, PM_NEAT, &gone);
        }
        rescue->targets[i] -= off;
        excess -= gone < excess ? gone : excess;
    }
    return excess;
}

static enum pm_status pull_down(struct rescue *rescue, pm_mass *left, struct pm_error *err)
{
    pm_mass rest = 0, all = 0;
    for (size_t i = 0; i < rescue->count; i++) {
        const struct pm_rescue_line *line = &rescue->lines[i];
        if (!is_over(rescue, i))
            continue;
        const pm_mass excess = line->poured - line->target;
        pm_mass neat = 0;
        pm_muldiv(excess, line->strength, PM_NEAT, &neat);
        rescue->targets[i] = line->poured;
        all += excess;
        rest += pull(rescue, line->material, neat, false);
        rest +=
            line->solvent != 0 ? pull(rescue, line->solvent, excess - neat, true) : excess - neat;
    }
    *left = rest;
    return rest == all ? pm_fail(err, PM_REFUSED, "Nothing of it is still to be poured.") : PM_OK;
}

static void accept(struct rescue *rescue)
{
    for (size_t i = 0; i < rescue->count; i++)
        if (is_over(rescue, i))
            rescue->targets[i] = rescue->lines[i].poured;
}

enum pm_status pm_rescue_targets(enum pm_rescue_way way, const struct pm_rescue_line *lines,
                                 size_t count, const struct pm_balance *balance,
                                 pm_strength tolerance, pm_mass *targets, pm_mass *left,
                                 struct pm_error *err)
{
    struct rescue rescue = {lines, count, balance, tolerance, targets};
    pm_mass rest = 0;
    bool any = false;
    for (size_t i = 0; i < count; i++) {
        targets[i] = lines[i].target;
        any = any || is_over(&rescue, i);
    }
    if (left != NULL)
        *left = 0;
    if (!any)
        return pm_fail(err, PM_REFUSED, "Nothing is over.");
    enum pm_status status = PM_OK;
    const size_t by = worst(&rescue, -1);
    if (way == PM_RESCUE_RESTORE)
        status = by == count ? pm_fail(err, PM_REFUSED, "What is over was not meant to be there.")
                             : scale(&rescue, -1, by, err);
    else if (way == PM_RESCUE_CORE)
        status = scale_cores(&rescue, err);
    else if (way == PM_RESCUE_PULL)
        status = pull_down(&rescue, &rest, err);
    else
        accept(&rescue);
    if (left != NULL)
        *left = rest;
    return status;
}
