/* SPDX-License-Identifier: MIT */
/* The whole numbers of a core's ratio: from parts, and between neat and poured. */
#include "gesture_parts.h"

#define POURED_MAX INT64_C(1000000000000)

static pm_int128 gcd_wide(pm_int128 a, pm_int128 b)
{
    while (b != 0) {
        pm_int128 rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

/* number / common, where the largest of all would pass `most` scaled down to it; never 0. */
static int64_t lowest(pm_int128 number, pm_int128 common, pm_int128 largest, int64_t most)
{
    struct pm_weight weight = pm_weight_make((pm_wide)(number / common), 0);
    if (largest / common > most) {
        weight = pm_weight_over(pm_weight_times(weight, pm_weight_of(most)),
                                pm_weight_make((pm_wide)(largest / common), 0));
    }
    int64_t rounded = pm_weight_round(weight, 0);
    return rounded > 0 ? rounded : 1;
}

static pm_int128 neat_number(const struct pm_line *line, bool from_parts)
{
    return (pm_int128)line->strength * (from_parts ? line->parts : line->weight);
}

/* From parts or from poured numbers. */
static void make_neat(struct pm_trial *trial, int core, bool from_parts)
{
    pm_int128 common = 0;
    pm_int128 largest = 0;
    for (size_t i = 0; i < trial->count; i++) {
        pm_int128 number = neat_number(&trial->lines[i], from_parts);
        if (trial->lines[i].core == core) {
            common = gcd_wide(number, common);
            largest = number > largest ? number : largest;
        }
    }
    for (size_t i = 0; i < trial->count && common > 0; i++) {
        struct pm_line *line = &trial->lines[i];
        if (line->core == core)
            line->weight = lowest(neat_number(line, from_parts), common, largest, PM_WEIGHT_MAX);
    }
}

void pm_core_capture(struct pm_trial *trial, int core)
{
    make_neat(trial, core, true);
}

/* Number and strength of a line, in lowest terms. */
static void fraction(const struct pm_line *line, int64_t *over, int64_t *under)
{
    int64_t common = pm_gcd(line->weight, line->strength);
    *over = line->weight / common;
    *under = line->strength / common;
}

/* The smallest number that all strengths of the core divide into; 0 when it is very large. */
static pm_int128 common_strength(const struct pm_trial *trial, int core)
{
    pm_int128 multiple = 1;
    for (size_t i = 0; i < trial->count; i++) {
        int64_t over = 0, under = 0;
        if (trial->lines[i].core != core)
            continue;
        fraction(&trial->lines[i], &over, &under);
        multiple *= under / gcd_wide(multiple, under);
        if (multiple > INT64_MAX)
            return 0;
    }
    return multiple;
}

/* Poured as whole numbers: over `multiple`, or, where that is 0, rounded to POURED_MAX. */
static void make_poured(struct pm_trial *trial, int core)
{
    pm_int128 multiple = common_strength(trial, core);
    pm_int128 common = 0;
    pm_int128 largest = 0;
    struct pm_weight most = {0, 0};
    for (size_t i = 0; i < trial->count; i++) {
        int64_t over = 0, under = 1;
        if (trial->lines[i].core != core)
            continue;
        fraction(&trial->lines[i], &over, &under);
        pm_int128 number = over * (multiple / under);
        common = gcd_wide(number, common);
        largest = number > largest ? number : largest;
        struct pm_weight poured = pm_line_poured(&trial->lines[i]);
        most = pm_weight_compare(poured, most) > 0 ? poured : most;
    }
    for (size_t i = 0; i < trial->count; i++) {
        struct pm_line *line = &trial->lines[i];
        int64_t over = 0, under = 1;
        if (line->core != core)
            continue;
        fraction(line, &over, &under);
        struct pm_weight part = pm_weight_times(pm_line_poured(line), pm_weight_of(POURED_MAX));
        line->weight = multiple > 0 ? lowest(over * (multiple / under), common, largest, POURED_MAX)
                                    : pm_weight_round(pm_weight_over(part, most), 0);
        line->weight = line->weight > 0 ? line->weight : 1;
    }
}

void pm_core_strength(struct pm_trial *trial, size_t place, pm_strength strength)
{
    int core = trial->lines[place].core;
    make_poured(trial, core);
    trial->lines[place].strength = strength;
    make_neat(trial, core, false);
}

/* Every core once: at its first line. */
static void each_core(struct pm_trial *trial, void (*change)(struct pm_trial *, int))
{
    bool done[PM_CORE_MAX + 1] = {true};
    for (size_t i = 0; i < trial->count; i++) {
        int core = trial->lines[i].core;
        if (core < 0 || core > PM_CORE_MAX || done[core])
            continue;
        done[core] = true;
        change(trial, core);
    }
}

static void from_poured(struct pm_trial *trial, int core)
{
    make_neat(trial, core, false);
}

void pm_trial_neat_ratios(struct pm_trial *trial)
{
    each_core(trial, from_poured);
}

void pm_trial_poured_ratios(struct pm_trial *trial)
{
    each_core(trial, make_poured);
}
