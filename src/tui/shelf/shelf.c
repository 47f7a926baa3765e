/* SPDX-License-Identifier: MIT */
/* The Shelf: materials and the bottles of them. Moving, filters, undo, dispatch. */
#include "shelf.h"

#include "kit/overlay.h"

#include "permille/base/mem.h"

#include <stdio.h>
#include <string.h>

#define TYPED_LIMIT 400

static void filter(struct shelf *shelf, bool *which)
{
    *which = !*which;
    shelf->inside = false;
    shelf->list.row = 0; /* unless the selected one stays in the list */
    shelf->limit = SHELF_FIRST;
    shelf_read_list(shelf);
}

static enum pm_status undo(struct shelf *shelf, bool back, struct pm_error *err)
{
    char *sentence = NULL;
    struct pm_studio *studio = shelf->house->studio;
    enum pm_status status =
        back ? pm_shelf_undo(studio, &sentence, err) : pm_shelf_redo(studio, &sentence, err);
    if (status != PM_OK)
        return status;
    shelf_written(shelf, 0);
    pm_app_say(shelf->app, "%s: %s. Saved.", back ? "Undid" : "Redid", sentence);
    pm_free(sentence);
    return PM_OK;
}

bool shelf_needs_material(void *state)
{
    struct shelf *shelf = state;
    char key[PM_KEY_TEXT];
    if (shelf_row(shelf) != NULL)
        return true;
    pm_app_say(shelf->app, "No material is selected: %s enters a new one.",
               pm_app_key(shelf->app, "new-material", key));
    return false;
}

bool shelf_needs_bottle(void *state)
{
    struct shelf *shelf = state;
    char key[PM_KEY_TEXT];
    if (!shelf_needs_material(shelf))
        return false;
    if (shelf_bottle(shelf) != NULL)
        return true;
    pm_app_say(shelf->app, "There is no bottle of %s: %s adds one.", shelf_row(shelf)->name,
               pm_app_key(shelf->app, "add-bottle", key));
    return false;
}

bool shelf_needs_inside(void *state)
{
    struct shelf *shelf = state;
    if (!shelf_needs_bottle(shelf))
        return false;
    shelf->inside = true;
    return true;
}

bool shelf_needs_selected(void *state)
{
    const struct shelf *shelf = state;
    return shelf->inside ? shelf_needs_bottle(state) : shelf_needs_material(state);
}

/* ---- bottles chosen to be priced by ---- */

void shelf_price_by(void *state)
{
    struct shelf *shelf = state;
    const struct pm_bottle *card = shelf_bottle(shelf);
    size_t place = shelf_chosen_place(shelf, card->id);
    if (place < shelf->chosen_count) {
        shelf->chosen[place] = shelf->chosen[--shelf->chosen_count];
        pm_app_say(shelf->app, "%s: cost goes by the oldest bottle again.", card->label);
    } else if (shelf->chosen_count < SHELF_CHOSEN) {
        shelf->chosen[shelf->chosen_count++] = card->id;
        pm_app_say(shelf->app, "%s: cost goes by this bottle's price until you leave.",
                   card->label);
    } else {
        pm_app_warn(shelf->app, "No more than %d bottles can be chosen.", SHELF_CHOSEN);
        return;
    }
    shelf_select_bottle(shelf, shelf->bottles.row + 1);
}

void shelf_keep_batch(struct shelf *shelf, const char *text, pm_mass mass)
{
    snprintf(shelf->batch, sizeof shelf->batch, "%s", text);
    if (mass == pm_house_batch(shelf->house))
        return;
    shelf->house->batch = mass;
    pm_app_changed(shelf->app, PM_ROOM_SHELF);
}

/* ---- keys ---- */

void shelf_go_in(void *state)
{
    struct shelf *shelf = state;
    if (shelf->inside) {
        if (shelf_needs_bottle(shelf))
            shelf_edit_start(shelf);
    } else if (shelf_needs_material(shelf))
        shelf->inside = true;
}

void shelf_show_all(struct shelf *shelf)
{
    pm_field_set(&shelf->search, "");
    pm_free(shelf->family);
    shelf->family = NULL;
    shelf->have = shelf->low = shelf->old = shelf->over = false;
    shelf_read_list(shelf);
}

enum { ONLY_ALL, ONLY_HAVE, ONLY_LOW, ONLY_OLD, ONLY_OVER, ONLY_FAMILY };

static enum pm_status show_only(void *context, size_t option, struct pm_error *err)
{
    struct shelf *shelf = context;
    bool *const which[] = {[ONLY_HAVE] = &shelf->have,
                           [ONLY_LOW] = &shelf->low,
                           [ONLY_OLD] = &shelf->old,
                           [ONLY_OVER] = &shelf->over};
    (void)err;
    if (option == ONLY_ALL)
        shelf_show_all(shelf);
    else if (option == ONLY_FAMILY)
        shelf_pick_family(shelf);
    else
        filter(shelf, which[option]);
    return PM_OK;
}

void shelf_show_only(void *state)
{
    struct shelf *shelf = state;
    const struct pm_choice_spec spec = {
        .title = "Show only",
        .question = "Which materials? What is shown only already is shown with the others again.",
        .options = {[ONLY_ALL] = {'a', "all of them"},
                    [ONLY_HAVE] = {'h', "what you have"},
                    [ONLY_LOW] = {'l', "what is below its low-stock level"},
                    [ONLY_OLD] = {'p', "what has a bottle past its date"},
                    [ONLY_OVER] = {'o', "what stands in a draft over its maximum"},
                    [ONLY_FAMILY] = {'f', "one family"}},
        .option_count = 6,
        .accept = show_only,
        .context = shelf};
    pm_choice_open(shelf->app, &spec);
}

void shelf_show_aside(void *state)
{
    struct shelf *shelf = state;
    bool inside = shelf->inside;
    shelf->all_bottles = !shelf->aside;
    filter(shelf, &shelf->aside);
    shelf->inside = inside && shelf_row(shelf) != NULL;
}

enum pm_status shelf_undo(void *state, struct pm_error *err)
{
    return undo(state, true, err);
}

enum pm_status shelf_redo(void *state, struct pm_error *err)
{
    return undo(state, false, err);
}
