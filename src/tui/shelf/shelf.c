/* SPDX-License-Identifier: MIT */
/* The Shelf: materials and the bottles of them. Moving, filters, undo, dispatch. */
#include "shelf.h"

#include "permille/base/mem.h"

#include <stdio.h>
#include <string.h>

#define TYPED_LIMIT 400

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

static size_t chosen_place(const struct shelf *shelf, int64_t bottle)
{
    size_t i = 0;
    while (i < shelf->chosen_count && shelf->chosen[i] != bottle)
        i++;
    return i;
}

bool shelf_is_chosen(const struct shelf *shelf, int64_t bottle)
{
    return chosen_place(shelf, bottle) < shelf->chosen_count;
}

void shelf_price_by(void *state)
{
    struct shelf *shelf = state;
    const struct pm_bottle *card = shelf_bottle(shelf);
    size_t place = chosen_place(shelf, card->id);
    if (place < shelf->chosen_count) {
        shelf->chosen[place] = shelf->chosen[--shelf->chosen_count];
        pm_app_say(shelf->app, "%s: cost goes by the oldest bottle again.", card->label);
    } else if (shelf->chosen_count < SHELF_CHOSEN) {
        shelf->chosen[shelf->chosen_count++] = card->id;
        pm_app_say(shelf->app, "%s: cost goes by this bottle's price until you leave.",
                   card->label);
    } else {
        pm_app_warn(shelf->app, "No more than %d bottles can be chosen.", SHELF_CHOSEN);
    }
}

void shelf_keep_batch(struct shelf *shelf, const char *text, pm_mass mass)
{
    snprintf(shelf->batch, sizeof shelf->batch, "%s", text);
    if (mass == pm_house_batch(shelf->house))
        return;
    shelf->house->batch = mass;
    pm_app_changed(shelf->app, PM_ROOM_SHELF);
}

/* ---- the room ---- */

static void shelf_close(void *state)
{
    struct shelf *shelf = state;
    if (shelf == NULL)
        return;
    for (size_t i = 0; shelf->strengths != NULL && i < shelf->rows.count; i++)
        pm_free(shelf->strengths[i]);
    pm_free(shelf->strengths);
    pm_list_release(&shelf->rows);
    shelf_about_release(&shelf->about);
    pm_field_release(&shelf->search);
    pm_table_view_release(&shelf->list);
    pm_table_view_release(&shelf->bottles);
    pm_free(shelf->family);
    pm_free(shelf);
}

static enum pm_status shelf_open(struct pm_app *app, void **state, struct pm_error *err)
{
    struct shelf *shelf = pm_alloc_array(1, sizeof *shelf);
    if (shelf == NULL)
        return pm_fail_memory(err);
    if (!pm_field_init(&shelf->search, TYPED_LIMIT) ||
        !pm_table_view_init(&shelf->list, TYPED_LIMIT) ||
        !pm_table_view_init(&shelf->bottles, TYPED_LIMIT)) {
        shelf_close(shelf);
        return pm_fail_memory(err);
    }
    shelf->app = app;
    shelf->house = pm_app_host(app);
    shelf->limit = SHELF_FIRST;
    shelf->bottles.column = BOTTLE_LEFT;
    strcpy(shelf->batch, "10 g");
    strcpy(shelf->balance, "0.01 g");
    *state = shelf;
    return PM_OK;
}

/* Of the bottle that has the focus; -1: none has. */
static pm_mass left_now(const struct shelf *shelf)
{
    const struct pm_bottle *card = shelf->inside ? shelf_bottle(shelf) : NULL;
    return card != NULL ? card->left : -1;
}

/* What is half typed stays. */
static enum pm_status shelf_read(void *state, const char **what, struct pm_error *err)
{
    struct shelf *shelf = state;
    const int64_t material = shelf->material, bottle = shelf->inside ? shelf->bottle : 0;
    const pm_mass left = left_now(shelf);
    const enum pm_status status = shelf_list_again(shelf, err);
    if (shelf->material != material || (bottle != 0 && shelf->bottle != bottle))
        *what = "the shelf";
    else if (left != left_now(shelf))
        *what = "this bottle";
    return status;
}

static void shelf_paint(void *state, const struct pm_canvas *canvas)
{
    shelf_draw(state, canvas);
}

static unsigned shelf_mode(const void *state)
{
    const struct shelf *shelf = state;
    return shelf_typing(shelf) || shelf->searching ? PM_MODE_EDIT : PM_MODE_SHEET;
}

/* ---- keys ---- */

/* Esc goes one step back: out of the bottles, then to the whole list. */
static unsigned step_back(struct shelf *shelf)
{
    if (shelf->inside) {
        shelf->inside = false;
        return PM_REDRAW;
    }
    if (!shelf_filtered(shelf))
        return PM_UNHANDLED;
    pm_field_set(&shelf->search, "");
    pm_free(shelf->family);
    shelf->family = NULL;
    shelf->have = shelf->low = shelf->old = shelf->over = false;
    shelf_read_list(shelf);
    return PM_REDRAW;
}

void shelf_go_in(void *state)
{
    struct shelf *shelf = state;
    if (shelf->inside)
        shelf_edit_start(shelf);
    else if (shelf_needs_material(shelf))
        shelf->inside = true;
}

static void filter(struct shelf *shelf, bool *which)
{
    *which = !*which;
    shelf->inside = false;
    shelf->list.row = 0; /* unless the selected one stays in the list */
    shelf->limit = SHELF_FIRST;
    shelf_read_list(shelf);
}

void shelf_show_have(void *state)
{
    struct shelf *shelf = state;
    filter(shelf, &shelf->have);
}

void shelf_show_low(void *state)
{
    struct shelf *shelf = state;
    filter(shelf, &shelf->low);
}

void shelf_show_old(void *state)
{
    struct shelf *shelf = state;
    filter(shelf, &shelf->old);
}

void shelf_show_over(void *state)
{
    struct shelf *shelf = state;
    filter(shelf, &shelf->over);
}

void shelf_show_aside(void *state)
{
    struct shelf *shelf = state;
    bool inside = shelf->inside;
    shelf->all_bottles = !shelf->aside;
    filter(shelf, &shelf->aside);
    shelf->inside = inside && shelf_row(shelf) != NULL;
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

enum pm_status shelf_undo(void *state, struct pm_error *err)
{
    return undo(state, true, err);
}

enum pm_status shelf_redo(void *state, struct pm_error *err)
{
    return undo(state, false, err);
}

static unsigned shelf_act(void *state, int code)
{
    struct shelf *shelf = state;
    if (shelf_typing(shelf) || shelf->searching)
        return shelf_edit_act(shelf, code);
    return code == PM_ACT_CANCEL ? step_back(shelf) : shelf_table_act(shelf, code);
}

static unsigned shelf_text(void *state, const char *text, bool pasted)
{
    return shelf_edit_text(state, text, pasted);
}

enum { HINT_USUAL, HINT_TYPING, HINT_SEARCHING, HINT_EMPTY, HINT_INSIDE };

static const char *const hints[] = {
    [HINT_USUAL] = "go-in search-shelf add-bottle show-have facts find-action",
    [HINT_TYPING] = "accept back next down",
    [HINT_SEARCHING] = "accept back down",
    [HINT_EMPTY] = "starter new-material find-action quit",
    [HINT_INSIDE] = "edit-cell count take-out dilute undo back",
    NULL,
};

static size_t shelf_hint(const void *state)
{
    const struct shelf *shelf = state;
    return shelf_typing(shelf) ? HINT_TYPING
           : shelf->searching  ? HINT_SEARCHING
           : shelf->empty      ? HINT_EMPTY
           : shelf->inside     ? HINT_INSIDE
                               : HINT_USUAL;
}

static enum pm_role shelf_remark(const void *state, struct pm_text *out)
{
    const struct shelf *shelf = state;
    enum pm_role role = shelf_edit_judge(shelf, out);
    if (out->length == 0 && !shelf->details)
        shelf_describe(shelf, out);
    return role;
}

static const char *shelf_unsaved(const void *state)
{
    const struct shelf *shelf = state;
    const struct pm_table_view *view = shelf->inside ? &shelf->bottles : &shelf->list;
    return view->typing && !view->field.whole && view->field.length > 0 ? "A half-typed cell"
                                                                        : NULL;
}

const struct pm_room pm_room_shelf = {
    .id = "shelf",
    .name = "Shelf",
    .keys = "S F4",
    .help = "Materials and bottles: stock, dilutions, cost, shopping.",
    .details = true,
    .open = shelf_open,
    .read = shelf_read,
    .prepare = shelf_prepare,
    .draw = shelf_paint,
    .mode = shelf_mode,
    .actions = &shelf_actions,
    .act = shelf_act,
    .text = shelf_text,
    .hints = hints,
    .hint = shelf_hint,
    .remark = shelf_remark,
    .unsaved = shelf_unsaved,
    .close = shelf_close,
};
