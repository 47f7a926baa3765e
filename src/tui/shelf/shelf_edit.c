/* SPDX-License-Identifier: MIT */
/* The Shelf: typing into the search and into cells. */
#include "shelf.h"

#include "permille/base/utf8.h"

#include "permille/base/clock.h"
#include "permille/studio/volumes.h"

/* ---- the search ---- */

void shelf_search_start(void *state)
{
    struct shelf *shelf = state;
    shelf->inside = false;
    shelf->searching = true;
    shelf->search.cursor = shelf->search.length;
    shelf->search.whole = shelf->search.length > 0;
}

/* Other letters, other materials: the best one stands first. */
static void search_changed(struct shelf *shelf)
{
    shelf->material = 0;
    shelf->list.row = shelf->list.first = 0;
    shelf->limit = SHELF_FIRST;
    shelf_read_list(shelf);
}

static unsigned search_act(struct shelf *shelf, int code)
{
    switch (code) {
    case PM_ACT_ACCEPT:
        shelf->searching = false;
        if (shelf->rows.count == 0 && !pm_is_blank(shelf->search.text))
            shelf_new_material(shelf, shelf->search.text);
        return PM_REDRAW;
    case PM_ACT_DOWN:
    case PM_ACT_UP:
    case PM_ACT_NEXT:
        shelf->searching = false;
        return PM_REDRAW;
    case PM_ACT_CANCEL:
        shelf->searching = false;
        pm_field_set(&shelf->search, "");
        shelf_read_list(shelf);
        return PM_REDRAW;
    default:
        break;
    }
    switch (pm_field_act(&shelf->search, code)) {
    case PM_FIELD_CHANGED:
        search_changed(shelf);
        return PM_REDRAW;
    case PM_FIELD_SAME:
        return PM_REDRAW;
    default:
        return PM_UNHANDLED;
    }
}

/* ---- cells ---- */

/* Selects the row that the cursor went to; going on at the end of a list that was cut reads more of
 * it. */
static void follow(struct shelf *shelf)
{
    if (shelf->inside) {
        shelf_select_bottle(shelf, shelf->bottles.row);
        return;
    }
    const size_t row = shelf->list.row;
    shelf_select(shelf, row);
    if (row > shelf->list.row)
        shelf_read_more(shelf);
}

/* What a table did with a key. */
static unsigned answer(struct shelf *shelf, unsigned did, const struct pm_error *err)
{
    if (did & PM_TABLE_MOVED)
        follow(shelf);
    if (did & PM_TABLE_FULL)
        pm_app_warn(shelf->app, PM_FIELD_FULL_SENTENCE);
    if (did & PM_TABLE_REFUSED)
        pm_app_say(shelf->app, "%s", err->text);
    return did ? PM_REDRAW : PM_UNHANDLED;
}

void shelf_edit_start(void *state)
{
    struct shelf *shelf = state;
    struct pm_table_view *view;
    struct pm_error err = {0};
    const struct pm_table table = shelf_front_table(shelf, &view);
    answer(shelf, pm_table_open(&table, view, &err), &err);
}

/* The key that takes what was typed, after the screen has been painted. Refused, the cell is open
 * again with its text. */
static enum pm_status write_cell(void *context, struct pm_error *err)
{
    struct shelf *shelf = context;
    struct pm_table_view *view;
    const struct pm_table table = shelf_front_table(shelf, &view);
    const unsigned did = pm_table_act(&table, view, shelf->taking, err);
    if (did & PM_TABLE_MOVED)
        follow(shelf);
    return did & PM_TABLE_REFUSED ? err->status : PM_OK;
}

unsigned shelf_table_act(struct shelf *shelf, int code)
{
    struct pm_table_view *view;
    struct pm_error err = {0};
    const struct pm_job job = {.run = write_cell, .context = shelf};
    if (code == PM_ACT_LAST && !shelf->inside && !shelf_typing(shelf))
        shelf_read_most(shelf);
    const struct pm_table table = shelf_front_table(shelf, &view);
    if (pm_table_takes(view, code)) {
        shelf->taking = code;
        view->writing = true;
        pm_app_later(shelf->app, &job);
        return PM_REDRAW;
    }
    return answer(shelf, pm_table_act(&table, view, code, &err), &err);
}

unsigned shelf_edit_act(struct shelf *shelf, int code)
{
    return shelf->searching ? search_act(shelf, code) : shelf_table_act(shelf, code);
}

unsigned shelf_edit_text(struct shelf *shelf, const char *text, bool pasted)
{
    struct pm_table_view *view;
    struct pm_error err = {0};
    if (shelf->searching) {
        if (pm_field_insert(&shelf->search, text) == PM_FIELD_CHANGED)
            search_changed(shelf);
        return PM_REDRAW;
    }
    const struct pm_table table = shelf_front_table(shelf, &view);
    return answer(shelf, pm_table_type(&table, view, text, pasted, &err), &err);
}

/* ---- the verdict on what is being typed ---- */

static enum pm_role say(struct pm_text *out, enum pm_role role, const char *sentence)
{
    pm_text_add(out, sentence);
    return role;
}

static enum pm_role judge_left(const struct shelf *shelf, struct pm_text *out)
{
    char was[PM_AMOUNT_TEXT], change[PM_AMOUNT_TEXT];
    struct pm_error err = {0};
    pm_mass found;
    const struct pm_bottle *card = shelf_bottle(shelf);
    if (card == NULL || pm_is_blank(shelf->bottles.field.text))
        return say(out, PM_ROLE_FAINT, "What is really in the bottle, without the glass.");
    if (pm_bottle_amount(shelf->house->studio, shelf->bottle, shelf->bottles.field.text, &found,
                         &err) != PM_OK)
        return say(out, PM_ROLE_ERROR, err.text);
    pm_mass by = found - card->left;
    pm_text_addf(out, "The ledger says %s: %s %s.", shelf_mass(shelf, card->left, was),
                 by == 0 ? "nothing" : shelf_mass(shelf, by < 0 ? -by : by, change),
                 by < 0 ? "less" : "more");
    return PM_ROLE_PREVIEW;
}

static enum pm_role judge_bottle(const struct shelf *shelf, struct pm_text *out)
{
    const char *text = shelf->bottles.field.text;
    struct pm_error err = {0};
    int64_t ignored;
    switch (shelf->bottles.column) {
    case BOTTLE_LEFT:
        return judge_left(shelf, out);
    case BOTTLE_STRENGTH:
        if (!pm_is_blank(text) && pm_strength_read(text, &ignored, &err) != PM_OK)
            return say(out, PM_ROLE_ERROR, err.text);
        return say(out, PM_ROLE_FAINT, "10 %, 0.1 %, neat.");
    case BOTTLE_OPENED:
    case BOTTLE_BEST_BEFORE:
    case BOTTLE_BOUGHT:
        return say(out, PM_ROLE_FAINT, "A day: 2026-03-02. Empty: unknown.");
    case BOTTLE_TARE:
    case BOTTLE_PRICED:
        if (!pm_is_blank(text) && pm_mass_read(text, &ignored, &err) != PM_OK)
            return say(out, PM_ROLE_ERROR, err.text);
        return say(out, PM_ROLE_FAINT, "A mass: 31.4 g. Empty: unknown.");
    case BOTTLE_PRICE:
        return say(out, PM_ROLE_FAINT,
                   "A price with its currency, 19.20 EUR, or in the usual one. Empty: unknown.");
    default:
        return PM_ROLE_FAINT;
    }
}

enum pm_role shelf_edit_judge(const struct shelf *shelf, struct pm_text *out)
{
    if (shelf->searching && shelf->rows.count == 0)
        return say(out, PM_ROLE_FAINT,
                   "Nothing on the shelf is called so. Enter puts it there as a new material.");
    if (!shelf_typing(shelf) || shelf->inside)
        return shelf_typing(shelf) ? judge_bottle(shelf, out) : PM_ROLE_FAINT;
    switch (shelf->list.column) {
    case LIST_LEVEL:
        return say(out, PM_ROLE_FAINT, "Neat: below this it is low. 5 g. Empty: never low.");
    case LIST_RATING:
        return say(out, PM_ROLE_FAINT, "How much you like it, 1 to 5.");
    case LIST_KIND:
        return say(out, PM_ROLE_FAINT, "chemical, natural, solvent, or blend.");
    case LIST_CAS:
        return say(out, PM_ROLE_FAINT, "The check digit is verified.");
    default:
        return PM_ROLE_FAINT;
    }
}
