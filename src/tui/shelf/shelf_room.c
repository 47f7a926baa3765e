/* SPDX-License-Identifier: MIT */
/* The Shelf as a room: what the application calls. */
#include "shelf.h"

#include "permille/base/mem.h"

#include <stdio.h>
#include <string.h>

#define TYPED_LIMIT 400

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

/* Esc goes one step back: out of the bottles, then to the whole list. */
static unsigned step_back(struct shelf *shelf)
{
    if (shelf->inside) {
        shelf->inside = false;
        return PM_REDRAW;
    }
    if (!shelf_filtered(shelf))
        return PM_UNHANDLED;
    shelf_show_all(shelf);
    return PM_REDRAW;
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

enum { HINT_USUAL, HINT_TYPING, HINT_SEARCHING, HINT_EMPTY, HINT_INSIDE, HINT_BARE };

static const char *const hints[] = {
    [HINT_USUAL] = "go-in search-shelf add-bottle show-only facts find-action",
    [HINT_TYPING] = "accept back next down",
    [HINT_SEARCHING] = "accept back down",
    [HINT_EMPTY] = "starter new-material find-action quit",
    [HINT_INSIDE] = "go-in count take-out dilute undo back",
    [HINT_BARE] = "add-bottle back undo",
    NULL,
};

static size_t shelf_hint(const void *state)
{
    const struct shelf *shelf = state;
    return shelf_typing(shelf)                            ? HINT_TYPING
           : shelf->searching                             ? HINT_SEARCHING
           : shelf->empty                                 ? HINT_EMPTY
           : shelf->inside && shelf_bottle(shelf) == NULL ? HINT_BARE
           : shelf->inside                                ? HINT_INSIDE
                                                          : HINT_USUAL;
}

static enum pm_role shelf_remark(const void *state, bool details, struct pm_text *out)
{
    const struct shelf *shelf = state;
    enum pm_role role = shelf_edit_judge(shelf, out);
    if (out->length == 0 && !details)
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
