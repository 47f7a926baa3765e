/* SPDX-License-Identifier: MIT */
/* The Shelf: what happens to a bottle: poured from, counted, moved, opened, emptied. */
#include "shelf.h"

#include "kit/overlay.h"

#include "permille/base/utf8.h"

#include "permille/base/arena.h"
#include "permille/base/clock.h"
#include "permille/studio/volumes.h"

#include <string.h>

/* ---- below zero: asked first ---- */

struct taking {
    struct shelf *shelf;
    int64_t bottle;
    struct pm_movement taken;
    bool even_below;
    struct pm_arena texts; /* of a question: what it points to when the form has gone */
};

static enum pm_status taking_do(const struct taking *taking, pm_mass *missing, struct pm_error *err)
{
    struct shelf *shelf = taking->shelf;
    char mass[PM_AMOUNT_TEXT], label[PM_BOTTLE_LABEL];
    enum pm_status status = pm_bottle_take(shelf->house->studio, taking->bottle, &taking->taken,
                                           taking->even_below, missing, err);
    if (status != PM_OK)
        return status;
    shelf_written(shelf, 0);
    pm_app_say(shelf->app, "%s: %s %s. Saved.", pm_bottle_label(taking->bottle, label),
               shelf_mass(shelf, taking->taken.mass, mass), pm_move_word(taking->taken.kind));
    return PM_OK;
}

static enum pm_status even_below(void *context, struct pm_error *err)
{
    struct taking *taking = context;
    taking->even_below = true;
    return taking_do(taking, NULL, err);
}

bool shelf_ask_below(struct shelf *shelf, const char *reason,
                     enum pm_status (*agreed)(void *context, struct pm_error *err),
                     void (*closed)(void *context), void *context, size_t context_size)
{
    const struct pm_choice_spec spec = {
        .title = "More than the ledger has",
        .question = reason,
        .options = {{'l', "leave everything as it was"},
                    {'w', "write it all the same; the next count puts it right"}},
        .option_count = 2,
        .agreed = agreed,
        .writes = true,
        .closed = closed,
        .context = context,
        .context_size = context_size,
    };
    return pm_choice_open(shelf->app, &spec);
}

/* ---- taking out, putting in ---- */

static const char *const taking_choices[] = {"poured", "spilled", "discarded", "received", NULL};

static void texts_free(void *context)
{
    struct taking *taking = context;
    pm_arena_release(&taking->texts);
}

static enum pm_status take_accept(void *context, const char *const values[], struct pm_error *err)
{
    struct shelf *shelf = context;
    struct taking taking = {.shelf = shelf, .bottle = shelf->asked_bottle};
    struct pm_error why = {0};
    pm_mass missing = 0;
    enum pm_status status = pm_movement_typed(shelf->house->studio, taking.bottle, values,
                                              &taking.texts, &taking.taken, &why);
    if (status == PM_OK)
        status = taking_do(&taking, &missing, &why);
    if (status == PM_REFUSED && missing > 0) {
        shelf_ask_below(shelf, why.text, even_below, texts_free, &taking, sizeof taking);
        return PM_OK;
    }
    texts_free(&taking);
    if (status != PM_OK && err != NULL)
        *err = why;
    return status;
}

static enum pm_role take_check(void *context, const char *const values[], struct pm_text *out)
{
    const struct shelf *shelf = context;
    const struct pm_bottle *card = shelf_bottle(shelf);
    struct pm_error err = {0};
    char left[PM_AMOUNT_TEXT];
    pm_mass mass;
    if (!pm_is_blank(values[PM_MOVEMENT_MASS]) &&
        pm_bottle_amount(shelf->house->studio, shelf->asked_bottle, values[PM_MOVEMENT_MASS], &mass,
                         &err) != PM_OK) {
        pm_text_add(out, err.text);
        return PM_ROLE_ERROR;
    }
    if (card != NULL)
        pm_text_addf(out, "%s are left.", shelf_mass(shelf, card->left, left));
    return PM_ROLE_FAINT;
}

void shelf_take(void *state)
{
    struct shelf *shelf = state;
    struct pm_text title = PM_TEXT_EMPTY;
    shelf->asked_bottle = shelf->bottle;
    pm_text_add(&title, "Out of or into ");
    shelf_bottle_title(shelf, shelf_bottle(shelf), &title);
    struct pm_form_spec spec = {
        .title = pm_text_get(&title), .accept = take_accept, .writes = true, .context = shelf};
    pm_form_describe(&spec, &pm_movement_entity, NULL, shelf->house->sign, "mass|kind",
                     "at|other|found|corrects");
    pm_form_field_of(&spec, PM_MOVEMENT_MASS)->check = take_check;
    struct pm_form_field *kind = pm_form_field_of(&spec, PM_MOVEMENT_KIND);
    kind->choices = taking_choices;
    kind->text = taking_choices[0];
    pm_form_open(shelf->app, &spec);
    pm_text_release(&title);
}

/* ---- counting ---- */

static const char *const with_choices[] = {"with the bottle", "without the bottle", NULL};

struct counting {
    struct shelf *shelf;
    int64_t bottle;
    pm_mass tare; /* 0: unknown */
    pm_mass left; /* as the ledger has it */
};

/* What the scale shows, less the tare when the bottle stands on it as well. */
static enum pm_status read_found(const struct counting *counting, const char *const values[],
                                 pm_mass *found, struct pm_error *err)
{
    const struct shelf *shelf = counting->shelf;
    char shown[PM_AMOUNT_TEXT], tare[PM_AMOUNT_TEXT];
    enum pm_status status = pm_mass_read(values[PM_MOVEMENT_ATTRIBUTES], found, err);
    if (status != PM_OK || counting->tare == 0 ||
        strcmp(values[PM_MOVEMENT_ATTRIBUTES + 1], with_choices[0]) != 0)
        return status;
    if (*found < counting->tare)
        return pm_fail(err, PM_INVALID, "%s is less than the empty bottle, which weighs %s.",
                       shelf_mass(shelf, *found, shown), shelf_mass(shelf, counting->tare, tare));
    *found -= counting->tare;
    return PM_OK;
}

static enum pm_role count_check(void *context, const char *const values[], struct pm_text *out)
{
    const struct counting *counting = context;
    const struct shelf *shelf = counting->shelf;
    struct pm_error err = {0};
    char left[PM_AMOUNT_TEXT], now[PM_AMOUNT_TEXT], by[PM_AMOUNT_TEXT];
    pm_mass found;
    if (pm_is_blank(values[PM_MOVEMENT_ATTRIBUTES])) {
        pm_text_addf(out, "The ledger says %s.", shelf_mass(shelf, counting->left, left));
        return PM_ROLE_FAINT;
    }
    if (read_found(counting, values, &found, &err) != PM_OK) {
        pm_text_add(out, err.text);
        return PM_ROLE_ERROR;
    }
    pm_mass change = found - counting->left;
    pm_text_addf(out, "%s in it; the ledger says %s", shelf_mass(shelf, found, now),
                 shelf_mass(shelf, counting->left, left));
    if (change == 0)
        pm_text_add(out, ": it agrees.");
    else
        pm_text_addf(out, ": %s %s.", shelf_mass(shelf, change < 0 ? -change : change, by),
                     change < 0 ? "less" : "more");
    return PM_ROLE_PREVIEW;
}

static enum pm_status count_accept(void *context, const char *const values[], struct pm_error *err)
{
    const struct counting *counting = context;
    struct shelf *shelf = counting->shelf;
    const char *note = values[PM_MOVEMENT_NOTE];
    char mass[PM_AMOUNT_TEXT], label[PM_BOTTLE_LABEL];
    pm_mass found;
    enum pm_status status = read_found(counting, values, &found, err);
    if (status == PM_OK)
        status = pm_bottle_count(shelf->house->studio, counting->bottle, found, shelf_given(note),
                                 0, err);
    if (status != PM_OK)
        return pm_error_at(err, "shows", status);
    shelf_written(shelf, 0);
    pm_app_say(shelf->app, "%s: counted, %s left. Saved.", pm_bottle_label(counting->bottle, label),
               shelf_mass(shelf, found, mass));
    return PM_OK;
}

void shelf_count(void *state)
{
    struct shelf *shelf = state;
    struct pm_text title = PM_TEXT_EMPTY;
    const struct pm_bottle *card = shelf_bottle(shelf);
    struct counting counting = {
        .shelf = shelf, .bottle = card->id, .tare = card->tare, .left = card->left};
    pm_text_add(&title, "Count ");
    shelf_bottle_title(shelf, card, &title);
    struct pm_form_spec spec = {
        .title = pm_text_get(&title),
        .fields = {{.key = "shows", .label = "The scale shows", .limit = 40, .check = count_check}},
        .field_count = 1,
        .accept = count_accept,
        .writes = true,
        .context = &counting,
        .context_size = sizeof counting,
    };
    if (counting.tare > 0)
        spec.fields[spec.field_count++] = (struct pm_form_field){.label = "Weighed",
                                                                 .choices = with_choices,
                                                                 .text = with_choices[0],
                                                                 .check = count_check};
    pm_form_describe(&spec, &pm_movement_entity, NULL, shelf->house->sign, NULL,
                     "at|kind|mass|other|batch|found|corrects");
    pm_form_open(shelf->app, &spec);
    pm_text_release(&title);
}

/* ---- where it stands, when it was opened ---- */

static enum pm_status move_accept(void *context, const char *text, struct pm_error *err)
{
    struct shelf *shelf = context;
    const char *const values[PM_BOTTLE_ATTRIBUTES] = {[PM_BOTTLE_PLACE] = text};
    enum pm_status status = pm_bottle_edit(shelf->house->studio, shelf->asked_bottle, values, err);
    if (status != PM_OK)
        return status;
    shelf_written(shelf, 0);
    pm_app_say(shelf->app, "Moved. Saved.");
    return PM_OK;
}

void shelf_move_bottle(void *state)
{
    struct shelf *shelf = state;
    struct pm_text title = PM_TEXT_EMPTY;
    shelf->asked_bottle = shelf->bottle;
    pm_text_add(&title, "Where to put ");
    shelf_bottle_title(shelf, shelf_bottle(shelf), &title);
    const struct pm_prompt_spec spec = {.title = pm_text_get(&title),
                                        .label = "Place",
                                        .text = shelf_bottle(shelf)->place,
                                        .replace = true,
                                        .complete = shelf_complete_place,
                                        .accept = move_accept,
                                        .writes = true,
                                        .context = shelf};
    pm_prompt_open(shelf->app, &spec);
    pm_text_release(&title);
}

enum pm_status shelf_opened(void *state, struct pm_error *err)
{
    struct shelf *shelf = state;
    char today[PM_TIME_TEXT];
    const char *const values[PM_BOTTLE_ATTRIBUTES] = {
        [PM_BOTTLE_OPENED] = pm_day_format(pm_day_of(pm_app_now(shelf->app)), today)};
    enum pm_status status = pm_bottle_edit(shelf->house->studio, shelf->bottle, values, err);
    if (status != PM_OK)
        return status;
    shelf_written(shelf, 0);
    pm_app_say(shelf->app, "Opened today, %s. Saved.", today);
    return PM_OK;
}

/* ---- emptied ---- */

enum pm_status shelf_empty_bottle(void *state, struct pm_error *err)
{
    struct shelf *shelf = state;
    char label[PM_BOTTLE_LABEL], key[PM_KEY_TEXT];
    int64_t bottle = shelf->bottle;
    enum pm_status status = pm_bottle_empty(shelf->house->studio, bottle, NULL, err);
    if (status != PM_OK)
        return status;
    shelf_written(shelf, 0);
    pm_app_say(shelf->app, "%s is empty and set aside; %s brings it back. Saved.",
               pm_bottle_label(bottle, label), pm_app_key(shelf->app, "undo", key));
    return PM_OK;
}
