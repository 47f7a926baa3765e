/* SPDX-License-Identifier: MIT */
/* What is known of a material's volatility. */
#include "volatility.h"

#include "permille/core/fact.h"
#include "permille/store/facts.h"

#include <stdio.h>
#include <string.h>

#define SCALE 1e9 /* of a fact's number: divided by, so that 7900 is 7900 */

struct reading {
    struct pm_volatility *out;
    bool own_pressure, has_low, has_high;
    const char *last; /* the property told last: own stands before shipped */
};

static void take_number(struct reading *reading, const char *property, double value, bool own)
{
    struct pm_volatility *out = reading->out;
    if (strcmp(property, "vapour_pressure") == 0) {
        out->known = true;
        out->pressure = value;
        reading->own_pressure = own;
    } else if (strcmp(property, "vapour_pressure_least") == 0) {
        out->low = value;
        reading->has_low = true;
    } else if (strcmp(property, "vapour_pressure_most") == 0) {
        out->high = value;
        reading->has_high = true;
    } else if (strcmp(property, "molar_mass") == 0) {
        out->molar_mass = value;
    } else if (strcmp(property, "activity") == 0) {
        out->activity = value;
    } else if (strcmp(property, "transfer") == 0) {
        out->transfer = value;
    } else if (strcmp(property, "threshold") == 0) {
        out->threshold = value;
    }
}

static void take_words(struct reading *reading, const char *property, const char *words)
{
    if (strcmp(property, "vapour_pressure_basis") == 0)
        (void)snprintf(reading->out->basis, sizeof reading->out->basis, "%s", words);
    for (int s = 0; strcmp(property, "volatility") == 0 && s < PM_STAGES; s++)
        if (strcmp(words, pm_stage_word((enum pm_stage)s)) == 0)
            reading->out->label = s;
}

/* Facts come by property, one's own before the shipped one. What goes with a shipped pressure says
 * nothing about one's own. */
static void take_fact(struct reading *reading, const struct pm_fact *fact)
{
    const struct pm_fact_property *property = pm_fact_find(fact->property);
    const bool own = fact->origin == PM_OWN;
    if (property == NULL || (reading->last != NULL && strcmp(reading->last, property->word) == 0))
        return;
    if (reading->own_pressure && !own && strncmp(property->word, "vapour_pressure_", 16) == 0)
        return;
    reading->last = property->word;
    if (fact->is_number)
        take_number(reading, property->word, (double)fact->value / SCALE, own);
    else if (fact->words != NULL)
        take_words(reading, property->word, fact->words);
}

enum pm_status pm_volatility_of(struct pm_studio *studio, int64_t material,
                                struct pm_volatility *out, struct pm_error *err)
{
    struct reading reading = {.out = out};
    *out = (struct pm_volatility){.activity = 1, .transfer = 1, .label = -1};
    struct pm_facts facts;
    const enum pm_status status = pm_fact_list(studio->library, material, &facts, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < facts.count; i++)
        take_fact(&reading, &facts.items[i]);
    /* `last` lies in the program's table of properties. */
    pm_list_release(&facts);
    out->predicted = strncmp(out->basis, "predicted", 9) == 0;
    if (out->basis[0] == '\0')
        (void)snprintf(out->basis, sizeof out->basis, "%s",
                       reading.own_pressure ? "own" : "not said");
    if (!reading.has_low || out->low > out->pressure)
        out->low = out->pressure;
    if (!reading.has_high || out->high < out->pressure)
        out->high = out->pressure;
    return PM_OK;
}

/* ---- constituents ---- */

struct found {
    char name[256], cas[32];
    double fraction;
};
struct gathering {
    struct found *items;
    size_t count;
    struct pm_arena arena;
    bool own;
};

static void take_constituent(struct gathering *gathering, const struct pm_constituent *item)
{
    double fraction = -1;
    if (item->origin == PM_OWN)
        gathering->own = true;
    else if (gathering->own)
        return;
    if (item->typical >= 0)
        fraction = (double)item->typical / SCALE;
    else if (item->least >= 0 && item->most >= 0)
        fraction = (double)(item->least + item->most) / 2 / SCALE;
    if (!(fraction > 0))
        return;
    struct found *found = pm_list_add(gathering);
    if (found == NULL)
        return;
    (void)snprintf(found->name, sizeof found->name, "%s", item->name);
    (void)snprintf(found->cas, sizeof found->cas, "%s", item->cas != NULL ? item->cas : "");
    found->fraction = fraction;
}

/* The material that a constituent is, by number, then by name; 0 where there is none, or several.
 */
static enum pm_status find_material(struct pm_studio *studio, const struct found *found,
                                    int64_t *out, struct pm_error *err)
{
    enum pm_status status = PM_MISSING;
    *out = 0;
    if (found->cas[0] != '\0')
        status = pm_material_by_name(studio->library, found->cas, out, err);
    if (status == PM_MISSING || status == PM_REFUSED)
        status = pm_material_by_name(studio->library, found->name, out, err);
    if (status == PM_MISSING || status == PM_REFUSED) {
        *out = 0;
        status = PM_OK;
    }
    return status;
}

static enum pm_status add_part(struct pm_studio *studio, const struct found *found, double scale,
                               struct pm_volatile_parts *out, struct pm_error *err)
{
    struct pm_volatility facts;
    int64_t material;
    enum pm_status status = find_material(studio, found, &material, err);
    if (status != PM_OK || material == 0)
        return status;
    status = pm_volatility_of(studio, material, &facts, err);
    if (status != PM_OK || !facts.known)
        return status;
    struct pm_volatile_part *part = pm_list_add(out);
    if (part == NULL)
        return pm_fail_memory(err);
    *part = (struct pm_volatile_part){material, found->fraction * scale, facts};
    out->known += part->fraction;
    return PM_OK;
}

enum pm_status pm_volatile_parts_of(struct pm_studio *studio, int64_t material,
                                    struct pm_volatile_parts *out, struct pm_error *err)
{
    struct gathering gathering = {.count = 0};
    struct pm_volatile_parts parts = {.count = 0};
    double sum = 0;
    struct pm_constituents all = {0};
    enum pm_status status = pm_constituents_list(studio->library, material, &all, err);
    for (size_t i = 0; i < all.count; i++)
        take_constituent(&gathering, &all.items[i]);
    pm_list_release(&all);
    if (status == PM_OK)
        status = pm_arena_status(&gathering.arena, err);
    for (size_t i = 0; i < gathering.count; i++)
        sum += gathering.items[i].fraction;
    for (size_t i = 0; status == PM_OK && i < gathering.count; i++)
        status = add_part(studio, &gathering.items[i], sum > 1 ? 1 / sum : 1, &parts, err);
    pm_list_release(&gathering);
    pm_list_give(&parts, status, out);
    return status;
}

enum pm_status pm_stage_split_of(struct pm_studio *studio, int64_t material,
                                 struct pm_stage_split *out, struct pm_error *err)
{
    struct pm_volatility facts;
    struct pm_volatile_parts parts = {.count = 0};
    *out = (struct pm_stage_split){.predicted = 0};
    enum pm_status status = pm_volatility_of(studio, material, &facts, err);
    if (status != PM_OK)
        return status;
    if (facts.known) {
        out->of[pm_stage_by_pressure(facts.pressure)] = 1;
        out->predicted = facts.predicted;
        return PM_OK;
    }
    status = pm_volatile_parts_of(studio, material, &parts, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < parts.count; i++) {
        const struct pm_volatile_part *part = &parts.items[i];
        out->of[pm_stage_by_pressure(part->facts.pressure)] += part->fraction;
        out->predicted += part->facts.predicted ? part->fraction : 0;
    }
    out->of[PM_STAGES] = parts.known < 1 ? 1 - parts.known : 0;
    pm_list_release(&parts);
    return PM_OK;
}
