/* SPDX-License-Identifier: MIT */
/* Filling a concentrate into ethanol. */
#include "permille/core/filling.h"

#include "permille/core/ethanol.h"

#include <math.h>

#define NOTE_BYTES 65536

#define AT(member) .offset = offsetof(struct pm_filling_wish, member)

static const struct pm_attribute attributes[PM_FILLING_ATTRIBUTES] = {
    [PM_FILLING_CONCENTRATE] = {.key = "concentrate",
                                .title = "Concentrate",
                                .hint = "How much of it there is: 12 g.",
                                .kind = PM_ATTRIBUTE_MASS,
                                .required = true,
                                AT(concentrate)},
    [PM_FILLING_DOSAGE] = {.key = "dosage",
                           .title = "Dosage",
                           .hint = "Of the concentrate in the product, by mass.",
                           .kind = PM_ATTRIBUTE_STRENGTH,
                           .required = true,
                           AT(dosage)},
    [PM_FILLING_ETHANOL] = {.key = "ethanol",
                            .title = "Ethanol at hand",
                            .called = "ethanol's strength",
                            .hint = "Its strength by volume; empty: 96 %.",
                            .help = "by volume, as it is at hand; 96% without it",
                            .kind = PM_ATTRIBUTE_STRENGTH,
                            .unknown = PM_FILLING_GRADE,
                            AT(at_hand)},
    [PM_FILLING_WANTED] = {.key = "wanted",
                           .option = "to",
                           .title = "Wanted, % vol",
                           .called = "strength that is wanted",
                           .hint = "Of ethanol and water, by volume; empty: no water.",
                           .help = "by volume, wanted of ethanol and water; no water without it",
                           .kind = PM_ATTRIBUTE_STRENGTH,
                           .may_be_0 = true,
                           AT(wanted)},
    [PM_FILLING_OTHER] = {.key = "other",
                          .title = "Anything else",
                          .called = "share of anything else",
                          .hint = "In the product, by mass.",
                          .help = "of anything else in the product, by mass",
                          .kind = PM_ATTRIBUTE_STRENGTH,
                          .may_be_0 = true,
                          AT(other)},
    [PM_FILLING_DENSITY] = {.key = "density",
                            .title = "Its density, g/ml",
                            .called = "concentrate's density",
                            .hint = "Of the concentrate; without it the volume is unknown.",
                            .help = "of the concentrate, g/ml: for volumes",
                            .kind = PM_ATTRIBUTE_DECIMAL,
                            .scale = 9,
                            AT(density)},
    [PM_FILLING_BOTTLE] = {.key = "bottle_ml",
                           .title = "Bottles of, ml",
                           .called = "bottle's volume",
                           .hint = "Tells how many are filled, where the density is known.",
                           .help = "millilitres in one bottle",
                           .kind = PM_ATTRIBUTE_DECIMAL,
                           .scale = 3,
                           AT(bottle_ul)},
    [PM_FILLING_LOSS] = {.key = "loss",
                         .title = "Loss",
                         .hint = "What stays in filters and vessels.",
                         .help = "that stays in filters and vessels",
                         .kind = PM_ATTRIBUTE_STRENGTH,
                         .may_be_0 = true,
                         AT(loss)},
    [PM_FILLING_FILTER] = {.key = "filter_on",
                           .title = "Filter on",
                           .called = "day of filtering",
                           .hint = "A day, of which every room then reminds.",
                           .help = "when it is to be filtered",
                           .kind = PM_ATTRIBUTE_DAY,
                           .unknown = PM_NO_DAY,
                           AT(filter_on)},
    [PM_FILLING_READY] = {.key = "ready_on",
                          .title = "Matures until",
                          .called = "day when it has matured",
                          .hint = "A day, of which every room then reminds.",
                          .help = "until when it matures",
                          .kind = PM_ATTRIBUTE_DAY,
                          .unknown = PM_NO_DAY,
                          AT(ready_on)},
    [PM_FILLING_NOTE] = {.key = "note",
                         .title = "Note",
                         .hint = "Anything worth knowing.",
                         .help = "anything worth knowing",
                         .kind = PM_ATTRIBUTE_NOTE,
                         .limit = NOTE_BYTES,
                         AT(note)},
};
const struct pm_entity pm_filling_entity = {"filling", attributes, PM_FILLING_ATTRIBUTES};

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
    if (wish->loss < 0 || wish->loss >= PM_NEAT)
        return pm_fail_at(err, "loss", PM_INVALID, "A share is from 0 to less than 100 %%.");
    if (wish->other < 0 || wish->other >= PM_NEAT)
        return pm_fail_at(err, "other", PM_INVALID, "A share is from 0 to less than 100 %%.");
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

enum pm_status pm_filling_read(const char *const *values, struct pm_arena *arena,
                               struct pm_filling_wish *wish, struct pm_filling *out,
                               struct pm_error *err)
{
    pm_entity_clear(&pm_filling_entity, wish);
    enum pm_status status = pm_entity_read(&pm_filling_entity, values, wish, arena, NULL, err);
    return status == PM_OK ? pm_filling_work_out(wish, out, err) : status;
}
