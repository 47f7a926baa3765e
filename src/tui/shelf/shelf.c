/* SPDX-License-Identifier: MIT */
/* The Shelf: materials and the bottles of them. Moving, filters, undo, dispatch. */
#include "shelf.h"

#include "permille/base/mem.h"

#include <stdio.h>
#include <string.h>

#define TYPED_LIMIT  400
#define LOOK_SECONDS 3 /* between looks whether another instance wrote */

static const char *key_of(const struct shelf *shelf, int code, char *buf)
{
    return pm_keymap_key(pm_app_keymap(shelf->app), code, PM_MODE_SHEET, buf);
}

bool shelf_needs_material(struct shelf *shelf)
{
    char key[PM_KEY_TEXT];
    if (shelf_row(shelf))
        return true;
    pm_app_say(shelf->app, "No material is selected: %s enters a new one.",
               key_of(shelf, PM_ACT_NEW_MATERIAL, key));
    return false;
}

bool shelf_needs_bottle(struct shelf *shelf)
{
    char key[PM_KEY_TEXT];
    if (!shelf_needs_material(shelf))
        return false;
    if (shelf_bottle(shelf))
        return true;
    pm_app_say(shelf->app, "There is no bottle of %s: %s adds one.", shelf_row(shelf)->name,
               key_of(shelf, PM_ACT_ADD_BOTTLE, key));
    return false;
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

static void choose_bottle(struct shelf *shelf)
{
    if (!shelf_needs_bottle(shelf))
        return;
    const struct pm_bottle_card *card = shelf_bottle(shelf);
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
    shelf->house->version++;
    pm_bench_catch_up(shelf->app);
}

/* ---- the room ---- */

static void shelf_close(void *state)
{
    struct shelf *shelf = state;
    if (!shelf)
        return;
    for (size_t i = 0; shelf->strengths && i < shelf->rows.count; i++)
        pm_free(shelf->strengths[i]);
    pm_free(shelf->strengths);
    pm_shelf_rows_release(&shelf->rows);
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
    if (!shelf)
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
    shelf_read_list(shelf);
    *state = shelf;
    return PM_OK;
}

/* Reads again what another room or instance changed. What is half typed stays. */
static bool catch_up(struct shelf *shelf)
{
    shelf->look_at = pm_app_now(shelf->app) + LOOK_SECONDS;
    pm_house_look(shelf->house);
    if (shelf->version == shelf->house->version)
        return false;
    shelf_read_list(shelf);
    return true;
}

static void shelf_enter(void *state)
{
    catch_up(state);
}

static int64_t shelf_wake(const void *state)
{
    const struct shelf *shelf = state;
    return shelf->look_at;
}

static unsigned shelf_tick(void *state, int64_t now)
{
    (void)now;
    return catch_up(state) ? PM_REDRAW : PM_HANDLED;
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

static void go_in(struct shelf *shelf)
{
    if (shelf->inside)
        shelf_edit_start(shelf);
    else if (shelf_needs_material(shelf))
        shelf->inside = true;
}

static unsigned filter(struct shelf *shelf, bool *which)
{
    *which = !*which;
    shelf->inside = false;
    shelf->list.row = 0; /* unless the selected one stays in the list */
    shelf->limit = SHELF_FIRST;
    shelf_read_list(shelf);
    return PM_REDRAW;
}

static unsigned act_filter(struct shelf *shelf, int code)
{
    switch (code) {
    case PM_ACT_FILTER_HAVE:
        return filter(shelf, &shelf->have);
    case PM_ACT_FILTER_LOW:
        return filter(shelf, &shelf->low);
    case PM_ACT_FILTER_OLD:
        return filter(shelf, &shelf->old);
    case PM_ACT_FILTER_OVER:
        return filter(shelf, &shelf->over);
    case PM_ACT_FILTER_ASIDE: {
        bool inside = shelf->inside;
        shelf->all_bottles = !shelf->aside;
        filter(shelf, &shelf->aside);
        shelf->inside = inside && shelf_row(shelf);
        return PM_REDRAW;
    }
    default:
        return PM_UNHANDLED;
    }
}

static void undo(struct shelf *shelf, bool back)
{
    struct pm_error err = {0};
    char *sentence = NULL;
    struct pm_studio *studio = shelf->house->studio;
    enum pm_status status =
        back ? pm_shelf_undo(studio, &sentence, &err) : pm_shelf_redo(studio, &sentence, &err);
    if (status != PM_OK) {
        pm_app_error(shelf->app, &err);
        return;
    }
    shelf_written(shelf, 0);
    pm_app_say(shelf->app, "%s: %s. Saved.", back ? "Undone" : "Redone", sentence);
    pm_free(sentence);
}

static unsigned act_here(struct shelf *shelf, int code)
{
    switch (code) {
    case PM_ACT_GO_IN:
        go_in(shelf);
        break;
    case PM_ACT_CANCEL:
        return step_back(shelf);
    case PM_ACT_SEARCH:
        shelf_search_start(shelf);
        break;
    case PM_ACT_EDIT_CELL:
        shelf_edit_start(shelf);
        break;
    case PM_ACT_PRICE_BY:
        choose_bottle(shelf);
        break;
    case PM_ACT_UNDO:
        undo(shelf, true);
        break;
    case PM_ACT_REDO:
        undo(shelf, false);
        break;
    default:
        return act_filter(shelf, code);
    }
    return PM_REDRAW;
}

static unsigned shelf_act(void *state, const struct pm_action *action)
{
    struct shelf *shelf = state;
    int code = action->code;
    unsigned answer = PM_UNHANDLED;
    bool caught_up = catch_up(shelf);
    if (shelf_typing(shelf) || shelf->searching)
        return shelf_edit_act(shelf, code);
    answer = shelf_table_act(shelf, code);
    if (answer == PM_UNHANDLED)
        answer = act_here(shelf, code);
    if (answer == PM_UNHANDLED)
        answer = shelf_act_form(shelf, code);
    if (answer == PM_UNHANDLED)
        answer = shelf_act_bottle(shelf, code);
    if (answer == PM_UNHANDLED)
        answer = shelf_act_dilute(shelf, code);
    if (answer == PM_UNHANDLED)
        answer = shelf_act_list(shelf, code);
    if (answer == PM_UNHANDLED)
        answer = shelf_act_plan(shelf, code);
    if (answer == PM_UNHANDLED)
        answer = shelf_act_page(shelf, code);
    return caught_up ? answer | PM_REDRAW : answer;
}

static unsigned shelf_text(void *state, const char *text, bool pasted)
{
    return shelf_edit_text(state, text, pasted);
}

static size_t shelf_hints(const void *state, int codes[PM_HINTS])
{
    static const int typing[] = {PM_ACT_ACCEPT, PM_ACT_CANCEL, PM_ACT_NEXT, PM_ACT_DOWN};
    static const int searching[] = {PM_ACT_ACCEPT, PM_ACT_CANCEL, PM_ACT_DOWN};
    static const int empty[] = {PM_ACT_STARTER, PM_ACT_NEW_MATERIAL, PM_ACT_FIND, PM_ACT_QUIT};
    static const int inside[] = {PM_ACT_EDIT_CELL, PM_ACT_COUNT, PM_ACT_TAKE,
                                 PM_ACT_DILUTE,    PM_ACT_UNDO,  PM_ACT_CANCEL};
    static const int usual[] = {PM_ACT_GO_IN,       PM_ACT_SEARCH, PM_ACT_ADD_BOTTLE,
                                PM_ACT_FILTER_HAVE, PM_ACT_FACTS,  PM_ACT_FIND};
    const struct shelf *shelf = state;
    const int *chosen = usual;
    size_t count = sizeof usual / sizeof *usual;
    if (shelf_typing(shelf)) {
        chosen = typing;
        count = sizeof typing / sizeof *typing;
    } else if (shelf->searching) {
        chosen = searching;
        count = sizeof searching / sizeof *searching;
    } else if (shelf->empty) {
        chosen = empty;
        count = sizeof empty / sizeof *empty;
    } else if (shelf->inside) {
        chosen = inside;
        count = sizeof inside / sizeof *inside;
    }
    memcpy(codes, chosen, count * sizeof *codes);
    return count;
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
    return view->typing && !view->replace && view->field.length > 0 ? "A half-typed cell" : NULL;
}

const struct pm_room pm_room_shelf = {
    .id = "shelf",
    .name = "Shelf",
    .keys = "S F4",
    .help = "Materials and bottles: stock, dilutions, cost, shopping.",
    .details = true,
    .open = shelf_open,
    .enter = shelf_enter,
    .draw = shelf_paint,
    .mode = shelf_mode,
    .act = shelf_act,
    .text = shelf_text,
    .hints = shelf_hints,
    .remark = shelf_remark,
    .unsaved = shelf_unsaved,
    .wake = shelf_wake,
    .tick = shelf_tick,
    .close = shelf_close,
};
