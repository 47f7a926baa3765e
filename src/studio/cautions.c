/* SPDX-License-Identifier: MIT */
/*
 * What the reference lists say to be careful about with one material, by its name and CAS number,
 * and for flammability by its flash point. The lists have gaps: what they do not hold is told as
 * unknown. Texts follow schema/reference/cautions.md (5 sensitisers, 8 oxidation, 9 phototoxic
 * oils, 12 prohibited, 20 flammable, 31 to 33 unknown).
 */
#include "reference.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/base/utf8.h"
#include "permille/store/facts.h"
#include "permille/studio/shelf.h"

#include <string.h>

/* 60 °C in 1e-9: liquids of category 1 to 3 (CLP Regulation (EC) 1272/2008, Annex I). */
#define FLAMMABLE_BELOW INT64_C(60000000000)

static enum pm_status add(struct pm_cautions *out, const char *topic, bool known,
                          const char *sentence, const char *source, struct pm_error *err)
{
    size_t capacity = out->count;
    if (!pm_grow(&out->items, &capacity, out->count + 1, sizeof *out->items))
        return pm_fail_memory(err);
    struct pm_caution *caution = &out->items[out->count++];
    *caution = (struct pm_caution){topic, known, pm_strdup(sentence), pm_strdup(source)};
    return caution->sentence != NULL && (caution->source != NULL || source == NULL)
               ? PM_OK
               : pm_fail_memory(err);
}

void pm_cautions_release(struct pm_cautions *cautions)
{
    for (size_t i = 0; i < cautions->count; i++) {
        pm_free(cautions->items[i].sentence);
        pm_free(cautions->items[i].source);
    }
    pm_free(cautions->items);
    *cautions = (struct pm_cautions){NULL, 0};
}

static bool has_topic(const struct pm_cautions *out, const char *topic)
{
    for (size_t i = 0; i < out->count; i++)
        if (strcmp(out->items[i].topic, topic) == 0)
            return true;
    return false;
}

static bool mentions(const char *text, const char *word)
{
    char *folded = pm_fold(text);
    bool does = folded != NULL && strstr(folded, word) != NULL;
    pm_free(folded);
    return does;
}

static enum pm_status on_limit(struct pm_cautions *out, const struct pm_reference_row *row,
                               struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    const char *topic = "sensitiser";
    if (mentions(row->kind, "prohibi")) {
        topic = "prohibited";
        pm_text_addf(&text, "Prohibited (%s).", row->name);
    } else if (mentions(row->note, "phototox") || mentions(row->note, "furocoumarin") ||
               mentions(row->note, "bergapten")) {
        topic = "phototoxic";
        pm_text_add(&text, "Can burn or stain skin in sunlight; limited in what stays on skin.");
    } else if (mentions(row->note, "peroxid") || mentions(row->kind, "specification")) {
        topic = "oxidises";
        pm_text_add(&text,
                    "Sensitises once it has oxidised: note when it was opened, keep it full, "
                    "cold and dark, discard it when old.");
    } else {
        pm_text_addf(&text,
                     "Restricted (%s): the usual reason is contact allergy, which stays for "
                     "life.",
                     row->name);
    }
    enum pm_status status = pm_text_ok(&text) ? PM_OK : pm_fail_memory(err);
    if (status == PM_OK && !has_topic(out, topic))
        status = add(out, topic, true, pm_text_get(&text), row->source, err);
    pm_text_release(&text);
    return status;
}

static enum pm_status on_allergen(struct pm_cautions *out, const struct pm_reference_row *row,
                                  struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    pm_text_addf(&text,
                 "Known contact allergen: named on the label as \"%s\" where the EU's rules "
                 "hold.",
                 row->name);
    enum pm_status status = pm_text_ok(&text) ? PM_OK : pm_fail_memory(err);
    if (status == PM_OK && !has_topic(out, "allergen"))
        status = add(out, "allergen", true, pm_text_get(&text), row->source, err);
    pm_text_release(&text);
    return status;
}

static enum pm_status on_law(struct pm_cautions *out, const struct pm_reference_row *row,
                             struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    bool prohibited = strcmp(row->kind, "II") == 0;
    const char *topic = prohibited ? "prohibited" : "restricted by law";
    pm_text_addf(&text, "%s (%s), EU cosmetics law, Annex %s.",
                 prohibited ? "Prohibited" : "Limited", row->name, row->kind);
    enum pm_status status = pm_text_ok(&text) ? PM_OK : pm_fail_memory(err);
    if (status == PM_OK && !has_topic(out, topic))
        status = add(out, topic, true, pm_text_get(&text), row->source, err);
    pm_text_release(&text);
    return status;
}

static enum pm_status look_up(struct pm_studio *studio, const struct pm_card *card,
                              struct pm_cautions *out, struct pm_error *err)
{
    static enum pm_status (*const tell[PM_LIST_COUNT])(
        struct pm_cautions * out, const struct pm_reference_row *row, struct pm_error *err) = {
        [PM_LIST_LIMITS] = on_limit, [PM_LIST_LAW] = on_law, [PM_LIST_ALLERGENS] = on_allergen};
    const struct pm_reference *reference;
    enum pm_status status = pm_studio_reference(studio, &reference, err);
    for (size_t i = 0; status == PM_OK && i < reference->count; i++)
        if (pm_reference_about(&reference->items[i], card->name, card->cas))
            status = tell[reference->items[i].list](out, &reference->items[i], err);
    if (status != PM_OK || out->count > 0)
        return status;
    return add(out, "sensitiser", false,
               card->cas != NULL
                   ? "Not in the lists of restricted materials and allergens that came with "
                     "this program: unknown, not safe."
                   : "Without a CAS number it cannot be looked up: unknown, not safe.",
               NULL, err);
}

static enum pm_status flammable(struct pm_studio *studio, int64_t material, struct pm_cautions *out,
                                struct pm_error *err)
{
    int64_t point = 0;
    bool found = false;
    enum pm_status status =
        pm_fact_value(studio->library, material, "flash_point", &point, &found, err);
    if (status != PM_OK)
        return status;
    if (!found)
        return add(out, "flammable", false,
                   "Flash point unknown: treat it as flammable; no flames, no sparks.", NULL, err);
    if (point > FLAMMABLE_BELOW)
        return PM_OK;
    return add(
        out, "flammable", true,
        "Flammable: its vapour can be lit at or near room temperature; no flames, no sparks.",
        "flash point as noted above, against the 60 °C of Regulation (EC) 1272/2008 (from "
        "memory)",
        err);
}

static enum pm_status gather(struct pm_studio *studio, int64_t material, struct pm_cautions *out,
                             struct pm_error *err)
{
    struct pm_card *card;
    enum pm_status status = pm_studio_material(studio, material, &card, err);
    if (status == PM_OK)
        status = look_up(studio, card, out, err);
    if (status == PM_OK)
        status = flammable(studio, material, out, err);
    if (status == PM_OK)
        status = add(out, "who decides", true,
                     "The supplier's papers for the lot, current Standards, local law and a "
                     "licensed assessor decide; concentrated materials never go neat on skin.",
                     NULL, err);
    return status;
}

enum pm_status pm_shelf_cautions(struct pm_studio *studio, int64_t material,
                                 struct pm_cautions *out, struct pm_error *err)
{
    struct pm_cautions made = {NULL, 0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status == PM_OK)
        status = pm_look_over(studio, gather(studio, material, &made, err));
    if (status != PM_OK) {
        pm_cautions_release(&made);
        return status;
    }
    *out = made;
    return PM_OK;
}
