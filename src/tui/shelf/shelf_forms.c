/* SPDX-License-Identifier: MIT */
/* The Shelf: entering materials and bottles, setting them aside, the starter materials. */
#include "shelf.h"

#include "kit/overlay.h"

#include "permille/base/clock.h"
#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/volume.h"
#include "permille/studio/volumes.h"

#include <stdio.h>
#include <string.h>

/* Forms of the studio take an empty field of a new thing as NULL. */
const char *shelf_given(const char *text)
{
    return pm_is_blank(text) ? NULL : text;
}

/* ---- completions ---- */

bool shelf_complete_solvent(void *context, const char *before, size_t round, struct pm_text *out)
{
    const struct shelf *shelf = context;
    return pm_complete_solvent(shelf->house, before, round, out);
}

static const char *supplier_of(const struct pm_bottle *card)
{
    return card->supplier;
}

static const char *place_of(const struct pm_bottle *card)
{
    return card->place;
}

/* What other bottles say in the same place: suppliers, places. */
static bool complete_from_bottles(const struct shelf *shelf,
                                  const char *(*which)(const struct pm_bottle *card),
                                  const char *before, size_t round, struct pm_text *out)
{
    struct pm_bottles cards;
    const struct pm_bottle_filter filter = {.text = before, .have = true};
    const char *seen[64];
    size_t count = 0;
    bool any = false;
    if (pm_bottles_list(shelf->house->studio, &filter, &cards, NULL) != PM_OK)
        return false;
    char *wanted = pm_fold(before);
    for (size_t i = 0; wanted != NULL && i < cards.count && !any; i++) {
        const char *text = which(&cards.items[i]);
        char *folded = text != NULL ? pm_fold(text) : NULL;
        bool known = folded == NULL || strncmp(folded, wanted, strlen(wanted)) != 0;
        for (size_t k = 0; k < count && !known; k++)
            known = strcmp(seen[k], text) == 0;
        pm_free(folded);
        if (known || count == sizeof seen / sizeof *seen)
            continue;
        any = count == round;
        seen[count++] = text;
        if (any)
            pm_text_add(out, text);
    }
    pm_free(wanted);
    pm_list_release(&cards);
    return any;
}

static bool complete_supplier(void *context, const char *before, size_t round, struct pm_text *out)
{
    return complete_from_bottles(context, supplier_of, before, round, out);
}

bool shelf_complete_place(void *context, const char *before, size_t round, struct pm_text *out)
{
    return complete_from_bottles(context, place_of, before, round, out);
}

/* ---- a new material ---- */

/* The material that is edited, or a new one where none is asked about. */
static enum pm_status material_write(struct shelf *shelf, const char *const *values,
                                     struct pm_error *err)
{
    struct pm_studio *studio = shelf->house->studio;
    if (shelf->asked_material != 0)
        return pm_shelf_edit(studio, shelf->asked_material, values, err);
    return pm_shelf_add(studio, values, &shelf->asked_material, err);
}

static enum pm_status material_accept(void *context, const char *const values[],
                                      struct pm_error *err)
{
    struct shelf *shelf = context;
    const bool fresh = shelf->asked_material == 0;
    enum pm_status status = material_write(shelf, values, err);
    if (status != PM_OK)
        return status;
    shelf_written(shelf, 0);
    shelf_show_material(shelf, shelf->asked_material);
    pm_app_say(shelf->app, fresh ? "%s is on the shelf. Saved." : "%s is written. Saved.",
               values[PM_MATERIAL_NAME]);
    return PM_OK;
}

static void material_form(struct shelf *shelf, const char *title, const struct pm_material *row)
{
    struct pm_form_spec spec = {
        .title = title, .accept = material_accept, .writes = true, .context = shelf};
    pm_form_describe(&spec, &pm_material_entity, row, shelf->house->sign, "name|kind|cas|synonyms",
                     NULL);
    pm_form_open(shelf->app, &spec);
}

void shelf_new_material(struct shelf *shelf, const char *name)
{
    const struct pm_material likely = {.name = name, .family = shelf->family};
    shelf->asked_material = 0;
    material_form(shelf, "A new material", &likely);
}

void shelf_enter_material(void *state)
{
    shelf_new_material(state, NULL);
}

void shelf_edit_material(void *state)
{
    struct shelf *shelf = state;
    struct pm_text title = PM_TEXT_EMPTY;
    if (!shelf->about.card_read)
        return;
    shelf->asked_material = shelf->material;
    pm_text_addf(&title, "Edit %s", shelf->about.card.name);
    material_form(shelf, pm_text_get(&title), &shelf->about.card);
    pm_text_release(&title);
}

/* ---- a constituent of a natural ---- */

static enum pm_status constituent_accept(void *context, const char *const values[],
                                         struct pm_error *err)
{
    struct shelf *shelf = context;
    enum pm_status status =
        pm_shelf_set_constituent(shelf->house->studio, shelf->asked_material, values, err);
    if (status != PM_OK)
        return status;
    shelf_written(shelf, 0);
    pm_app_say(shelf->app, "%s: your own figures count now. Saved.", values[PM_CONSTITUENT_NAME]);
    return PM_OK;
}

void shelf_own_constituent(void *state)
{
    struct shelf *shelf = state;
    struct pm_text title = PM_TEXT_EMPTY;
    shelf->asked_material = shelf->material;
    pm_text_addf(&title, "What %s holds", shelf_row(shelf)->name);
    struct pm_form_spec spec = {.title = pm_text_get(&title),
                                .accept = constituent_accept,
                                .writes = true,
                                .context = shelf};
    pm_form_describe(&spec, &pm_constituent_entity, NULL, shelf->house->sign, NULL, NULL);
    pm_form_open(shelf->app, &spec);
    pm_text_release(&title);
}

/* ---- a new bottle ---- */

/* A mass, or a volume of what the form says is in the bottle. */
static enum pm_status received_amount(const struct shelf *shelf, const char *const values[],
                                      const char *text, pm_mass *out, struct pm_error *err)
{
    const char *at = values[PM_BOTTLE_STRENGTH];
    pm_strength strength = PM_NEAT;
    if (at != NULL && !pm_is_blank(at))
        (void)pm_strength_read(at, &strength, NULL); /* its own field says what is wrong with it */
    return pm_material_amount(shelf->house->studio, shelf->asked_material, strength, text, out,
                              err);
}

static enum pm_status bottle_accept(void *context, const char *const values[], struct pm_error *err)
{
    struct shelf *shelf = context;
    const char *said[PM_BOTTLE_ATTRIBUTES], *amount = values[PM_BOTTLE_ATTRIBUTES];
    pm_mass received = 0;
    int64_t id;
    char label[PM_BOTTLE_LABEL];
    enum pm_status status =
        !pm_is_blank(amount) ? received_amount(shelf, values, amount, &received, err) : PM_OK;
    if (status != PM_OK)
        return pm_error_at(err, "amount", status);
    for (size_t i = 0; i < PM_BOTTLE_ATTRIBUTES; i++)
        said[i] = values[i] != NULL ? shelf_given(values[i]) : NULL;
    status =
        pm_bottle_add(shelf->house->studio, shelf->asked_material, received, said, 0, &id, err);
    if (status != PM_OK)
        return status;
    shelf->inside = true;
    shelf_written(shelf, id);
    pm_app_say(shelf->app, "%s stands on the shelf: write that on its label. Saved.",
               pm_bottle_label(id, label));
    return PM_OK;
}

/* The newest bottle bought of the material: the next one most likely comes from there. */
static const struct pm_bottle *newest_bought(const struct shelf *shelf)
{
    const struct pm_bottle *newest = NULL;
    for (size_t i = 0; shelf->about.bottles_read && i < shelf->about.bottles.count; i++) {
        const struct pm_bottle *card = &shelf->about.bottles.items[i];
        if (card->made_from == 0 && (newest == NULL || card->bought >= newest->bought))
            newest = card;
    }
    return newest;
}

static enum pm_role amount_check(void *context, const char *const values[], struct pm_text *out)
{
    const char *text = values[PM_BOTTLE_ATTRIBUTES];
    const struct shelf *shelf = context;
    struct pm_error err = {0};
    char weighs[PM_AMOUNT_TEXT];
    pm_mass mass;
    if (pm_is_blank(text)) {
        pm_text_add(out,
                    "25 g, 500 mg, or 10 ml where a density is known. Nothing: an empty bottle.");
        return PM_ROLE_FAINT;
    }
    if (received_amount(shelf, values, text, &mass, &err) == PM_OK) {
        if (pm_is_volume(text))
            pm_text_addf(out, "That is %s.", shelf_mass(shelf, mass, weighs));
        return PM_ROLE_FAINT;
    }
    pm_text_add(out, err.text);
    return PM_ROLE_ERROR;
}

/* Most likely it is like the last one, bought today. */
static struct pm_bottle likely_bottle(const struct shelf *shelf)
{
    const struct pm_bottle *last = newest_bought(shelf);
    struct pm_bottle bottle = {.id = 0};
    pm_entity_clear(&pm_bottle_entity, &bottle);
    bottle.strength = PM_NEAT;
    bottle.bought = pm_day_of(pm_app_now(shelf->app));
    if (last == NULL)
        return bottle;
    bottle.strength = last->strength;
    bottle.solvent = last->solvent;
    bottle.solvent_name = last->solvent_name;
    bottle.supplier = last->supplier;
    bottle.place = last->place;
    return bottle;
}

void shelf_add_bottle(void *state)
{
    struct shelf *shelf = state;
    struct pm_text title = PM_TEXT_EMPTY;
    const struct pm_bottle likely = likely_bottle(shelf);
    struct pm_form_spec spec = {
        .fields = {{.key = "amount", .label = "Amount", .limit = 40, .check = amount_check}},
        .field_count = 1,
        .accept = bottle_accept,
        .writes = true,
        .context = shelf,
    };
    /* In the order in which papers and glass are read. */
    pm_form_describe(&spec, &pm_bottle_entity, &likely, shelf->house->sign,
                     "strength|solvent|price|supplier|lot", "priced_mass|made_from");
    for (size_t i = 1; i < spec.field_count; i++)
        spec.fields[i].replace = pm_attribute_known(spec.fields[i].attribute, &likely);
    pm_form_field_of(&spec, PM_BOTTLE_SOLVENT)->complete = shelf_complete_solvent;
    pm_form_field_of(&spec, PM_BOTTLE_SUPPLIER)->complete = complete_supplier;
    pm_form_field_of(&spec, PM_BOTTLE_PLACE)->complete = shelf_complete_place;
    shelf->asked_material = shelf->material;
    pm_text_addf(&title, "A bottle of %s", shelf_row(shelf)->name);
    spec.title = pm_text_get(&title);
    pm_form_open(shelf->app, &spec);
    pm_text_release(&title);
}

/* ---- set aside, the starter materials ---- */

static enum pm_status aside_bottle(struct shelf *shelf, struct pm_error *err)
{
    char label[PM_BOTTLE_LABEL];
    int64_t bottle = shelf->bottle;
    bool aside = !shelf_bottle(shelf)->set_aside;
    enum pm_status status = pm_bottle_set_aside(shelf->house->studio, bottle, aside, err);
    if (status != PM_OK)
        return status;
    shelf_written(shelf, 0);
    pm_app_say(shelf->app, "%s is %s. Saved.", pm_bottle_label(bottle, label),
               aside ? "set aside, with its ledger" : "back on the shelf");
    return PM_OK;
}

/* A material that nothing refers to is removed; one in use is set aside; both can be undone. */
static enum pm_status aside_material(struct shelf *shelf, struct pm_error *err)
{
    bool set_aside = false;
    struct pm_studio *studio = shelf->house->studio;
    bool back = shelf->about.card_read && shelf->about.card.set_aside;
    char *name = pm_strdup(shelf_row(shelf)->name);
    enum pm_status status = back ? pm_shelf_set_aside(studio, shelf->material, false, err)
                                 : pm_shelf_remove(studio, shelf->material, &set_aside, err);
    if (status == PM_OK) {
        shelf_written(shelf, 0);
        pm_app_say(shelf->app, "%s is %s. Saved.", name != NULL ? name : "It",
                   back        ? "back"
                   : set_aside ? "set aside: in use, so it stays where it stands"
                               : "removed; undo brings it back");
    }
    pm_free(name);
    return status;
}

enum pm_status shelf_set_aside(void *state, struct pm_error *err)
{
    struct shelf *shelf = state;
    return (shelf->inside ? aside_bottle : aside_material)(shelf, err);
}

enum pm_status shelf_starter(void *state, struct pm_error *err)
{
    struct shelf *shelf = state;
    struct pm_import_result result;
    enum pm_status status = pm_shelf_import_starter(shelf->house->studio, &result, err);
    if (status != PM_OK)
        return status;
    shelf_written(shelf, 0);
    pm_app_say(shelf->app,
               "Starter materials: %lld new, %lld brought up to date, %lld as they were. Your own "
               "values stay.",
               (long long)result.added, (long long)result.updated, (long long)result.same);
    return PM_OK;
}
