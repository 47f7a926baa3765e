/* SPDX-License-Identifier: MIT */
/* Filling a concentrate into ethanol. */
#include "permille/core/filling.h"

#include "permille/core/ethanol.h"

#include <math.h>

/* Volume in microlitres of a mass in micrograms: kg/m3 is g/l, and 1 ug / (1 g/l) is 1 ul. */
static double volume(pm_mass mass, double density)
{
    return (double)mass / density;
}

static enum pm_status check(const struct pm_filling_wish *wish, struct pm_error *err)
{
    if (wish->concentrate <= 0)
        return pm_fail_at(err, "concentrate", PM_INVALID, "There is no concentrate to fill.");
    if (wish->dosage <= 0 || wish->dosage > PM_NEAT)
        return pm_fail_at(err, "dosage", PM_INVALID, "The dosage is above 0 and at most 100 %%.");
    if (wish->at_hand <= 0 || wish->at_hand > PM_NEAT)
        return pm_fail_at(err, "ethanol", PM_INVALID,
                          "The ethanol's strength is above 0 and at most 100 %% vol.");
    if (wish->loss < 0 || wish->loss >= PM_NEAT || wish->other < 0 || wish->other >= PM_NEAT)
        return pm_fail_at(err, "loss", PM_INVALID, "A share is from 0 to less than 100 %%.");
    if (wish->dosage + wish->other > PM_NEAT)
        return pm_fail_at(err, "dosage", PM_REFUSED,
                          "The concentrate and the rest are more than the whole.");
    if (wish->wanted > wish->at_hand)
        return pm_fail_at(err, "wanted", PM_REFUSED,
                          "The ethanol at hand is weaker than what is wanted.");
    return PM_OK;
}

/* Ethanol at hand and water for `mixture` of both. */
static void divide(const struct pm_filling_wish *wish, pm_mass mixture, struct pm_filling *out)
{
    const double at_hand = pm_ethanol_by_mass((double)wish->at_hand / PM_NEAT);
    const double wanted =
        wish->wanted > 0 ? pm_ethanol_by_mass((double)wish->wanted / PM_NEAT) : at_hand;
    out->ethanol = (pm_mass)llround((double)mixture * (wanted / at_hand));
    out->ethanol = out->ethanol > mixture ? mixture : out->ethanol;
    out->water = mixture - out->ethanol;
    const double pure = (double)out->ethanol * at_hand, share = pure / (double)mixture;
    out->by_mass = (pm_strength)llround(pure / (double)out->total * PM_NEAT);
    out->mixed = (pm_strength)llround(pm_ethanol_by_volume(share) * PM_NEAT);
    const double mix = volume(mixture, pm_ethanol_density(share));
    const double apart = volume(out->ethanol, pm_ethanol_density(at_hand)) +
                         volume(out->water, pm_ethanol_density(0));
    out->mix_ul = llround(mix);
    out->contraction_ul = llround(apart - mix);
    out->total_ul = out->rest_ul = out->bottles = out->by_volume = -1;
    if (wish->density > 0 && out->other == 0) {
        const double total = mix + (double)out->concentrate / ((double)wish->density / 1e6);
        out->total_ul = llround(total);
        out->by_volume = (pm_strength)llround(
            volume((pm_mass)llround(pure), pm_ethanol_density(1)) / total * PM_NEAT);
    }
}

static void count_bottles(const struct pm_filling_wish *wish, struct pm_filling *out)
{
    int64_t lost = 0;
    if (wish->bottle_ul <= 0 || out->total_ul < 0)
        return;
    pm_muldiv(out->total_ul, wish->loss, PM_NEAT, &lost);
    out->bottles = (out->total_ul - lost) / wish->bottle_ul;
    out->rest_ul = (out->total_ul - lost) % wish->bottle_ul;
}

enum pm_status pm_filling_work_out(const struct pm_filling_wish *wish, struct pm_filling *out,
                                   struct pm_error *err)
{
    struct pm_filling made = {.concentrate = wish->concentrate};
    enum pm_status status = check(wish, err);
    if (status != PM_OK)
        return status;
    if (!pm_muldiv(wish->concentrate, PM_NEAT, wish->dosage, &made.total) ||
        made.total > PM_MASS_MAX)
        return pm_fail(err, PM_REFUSED, "That would be more than can be weighed.");
    pm_muldiv(made.total, wish->other, PM_NEAT, &made.other);
    const pm_mass mixture = made.total - made.concentrate - made.other;
    if (mixture <= 0)
        return pm_fail_at(err, "dosage", PM_REFUSED, "Nothing is left for the ethanol.");
    divide(wish, mixture, &made);
    count_bottles(wish, &made);
    *out = made;
    return PM_OK;
}
