/* SPDX-License-Identifier: MIT */
/*
 * What always holds for a trial, verified. Written against the header's list, without help from
 * the code that keeps it, so that one can find the other's mistakes.
 */
#include "permille/base/map.h"
#include "permille/core/trial.h"

#include <string.h>

struct core_tally {
    size_t lines;
    size_t first; /* place of its first line */
    int64_t parts;
    struct pm_weight weight; /* sum of what its lines weigh poured */
    enum pm_stance stance;
};

static enum pm_status check_head(const struct pm_trial *trial, struct pm_error *err)
{
    if (trial->base < 1 || trial->base > PM_PARTS_MAX)
        return pm_fail(err, PM_DAMAGED, "The trial's base is out of range.");
    if (trial->mode != PM_CORE_MODE && trial->mode != PM_SHARE && trial->mode != PM_CARRIER_MODE &&
        trial->mode != PM_OPEN)
        return pm_fail(err, PM_DAMAGED, "The trial's mode is none there is.");
    if (trial->parent < 0 || trial->next_id < 1)
        return pm_fail(err, PM_DAMAGED, "The trial's parent or line counter is out of range.");
    if (!pm_weight_sound(trial->scale) || pm_weight_none(trial->scale))
        return pm_fail(err, PM_DAMAGED, "The trial's scale is out of range.");
    return PM_OK;
}

/* What a line remembers goes with its stance. */
static const char *broken_memory(const struct pm_line *line)
{
    bool resting = line->stance == PM_RESTING;
    bool free = line->stance == PM_FREE || line->stance == PM_CARRIER;
    if (line->rested_as == PM_RESTING || (line->rested_as != PM_FREE && !resting) ||
        (line->rested_as == PM_CARRIER && line->core != 0))
        return "the stance it had before it rested does not go with its stance";
    if (line->rested < 0 || line->rested > PM_PARTS_MAX || (line->rested > 0 && !resting))
        return "what it rested with does not go with its stance";
    if (resting && line->parts != 0)
        return "it rests, yet it has parts";
    if (!pm_weight_sound(line->share))
        return "its share is out of range";
    if (pm_weight_none(line->share) ? free && line->parts > 0 : !free)
        return "its share does not go with its stance";
    return NULL;
}

static const char *broken_rule(const struct pm_trial *trial, const struct pm_line *line)
{
    if (line->id < 1 || line->id >= trial->next_id)
        return "its id is out of range";
    if (line->kind != PM_LINE_MATERIAL && line->kind != PM_LINE_ACCORD)
        return "it is neither a material nor an accord";
    if (line->ref < 1)
        return "it names nothing";
    if (line->parts < 0 || line->parts > PM_PARTS_MAX)
        return "its parts are out of range";
    if (line->strength < 1 || line->strength > PM_NEAT)
        return "its strength is out of range";
    if ((line->strength < PM_NEAT) != (line->solvent > 0) || line->solvent < 0)
        return "a solvent goes with a dilution, and only with one";
    if (line->kind == PM_LINE_ACCORD && line->strength != PM_NEAT)
        return "an accord is always neat";
    if (line->stance != PM_FREE && line->stance != PM_HELD && line->stance != PM_CARRIER &&
        line->stance != PM_RESTING)
        return "its stance is none there is";
    if (line->core < 0 || line->core > PM_CORE_MAX)
        return "its core is out of range";
    if (line->core == 0 ? line->weight != 0 : line->weight < 1 || line->weight > PM_WEIGHT_MAX)
        return "its weight does not go with its core";
    if (line->core != 0 && line->stance == PM_CARRIER)
        return "the carrier cannot stand in a core";
    return broken_memory(line);
}

static enum pm_status check_lines(const struct pm_trial *trial, struct pm_error *err)
{
    struct pm_map seen = {0};
    enum pm_status status = PM_OK;
    size_t carriers = 0;
    for (size_t i = 0; i < trial->count && status == PM_OK; i++) {
        const struct pm_line *line = &trial->lines[i];
        const char *broken = broken_rule(trial, line);
        carriers += line->stance == PM_CARRIER;
        if (broken == NULL && pm_map_place(&seen, line->id) != PM_MAP_NONE)
            broken = "its id stands twice";
        if (broken == NULL && carriers > 1)
            broken = "there is a carrier already";
        if (broken != NULL)
            status = pm_fail(err, PM_DAMAGED, "Line %zu of the trial is wrong: %s.", i + 1, broken);
        else if (!pm_map_put_place(&seen, line->id, i))
            status = pm_fail_memory(err);
    }
    pm_map_release(&seen);
    return status;
}

/* In 2^-20 of a micro-part, with room for what weights are rounded to. */
static bool off_ratio(const struct pm_line *line, const struct core_tally *core)
{
    struct pm_weight exact = pm_weight_over(
        pm_weight_times(pm_weight_of(core->parts), pm_line_poured(line)), core->weight);
    int64_t off = (line->parts << 20) - pm_weight_round(exact, 20);
    return off > (1 << 20) + 64 || -off > (1 << 20) + 64;
}

static enum pm_status check_cores(const struct pm_trial *trial, struct pm_error *err)
{
    struct core_tally cores[PM_CORE_MAX + 1];
    memset(cores, 0, sizeof cores);
    for (size_t i = 0; i < trial->count; i++) {
        const struct pm_line *line = &trial->lines[i];
        struct core_tally *core = &cores[line->core];
        if (core->lines++ == 0) {
            core->first = i;
            core->stance = line->stance;
        }
        core->parts += line->parts;
        if (line->core != 0)
            core->weight = pm_weight_plus(core->weight, pm_line_poured(line));
    }
    char letter[4];
    for (size_t i = 0; i < trial->count; i++) {
        const struct pm_line *line = &trial->lines[i];
        const struct core_tally *core = &cores[line->core];
        if (line->core == 0)
            continue;
        const char *broken = NULL;
        if (core->lines < 2)
            broken = "it is alone in its core";
        else if (line->stance != core->stance)
            broken = "its stance differs from the rest of its core";
        else if (off_ratio(line, core))
            broken = "its parts are off the ratio of its core";
        if (broken != NULL) {
            return pm_fail(err, PM_DAMAGED, "Line %zu of the trial (core %s) is wrong: %s.", i + 1,
                           pm_core_letter(line->core, letter), broken);
        }
    }
    return PM_OK;
}

static enum pm_status check_total(const struct pm_trial *trial, struct pm_error *err)
{
    pm_parts total = pm_trial_total(trial);
    char text[PM_AMOUNT_TEXT], base[PM_AMOUNT_TEXT];
    pm_decimal_exact(total, 6, '.', text);
    pm_decimal_exact(trial->base, 6, '.', base);
    if (trial->settled != (total == trial->base)) {
        return pm_fail(err, PM_DAMAGED,
                       trial->settled ? "The trial is settled, yet its total is %s, not %s."
                                      : "The trial's total is %s of %s, yet it is not settled.",
                       text, base);
    }
    if (total > trial->base && trial->mode != PM_OPEN)
        return pm_fail(err, PM_DAMAGED, "The trial's total of %s exceeds its base of %s.", text,
                       base);
    return PM_OK;
}

enum pm_status pm_trial_check(const struct pm_trial *trial, struct pm_error *err)
{
    enum pm_status status = check_head(trial, err);
    if (status == PM_OK)
        status = check_lines(trial, err);
    if (status == PM_OK)
        status = check_cores(trial, err);
    return status == PM_OK ? check_total(trial, err) : status;
}
