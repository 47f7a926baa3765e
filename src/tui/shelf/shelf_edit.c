/* SPDX-License-Identifier: MIT */
/* The Shelf: typing into the search and into cells. */
#include "shelf.h"

#include "permille/base/clock.h"

#include <string.h>

/* ---- the search ---- */

void shelf_search_start(struct shelf *shelf)
{
    shelf->inside = false;
    shelf->searching = true;
    shelf->whole = shelf->search.length > 0;
    pm_field_act(&shelf->search, PM_ACT_LAST);
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
    bool whole = shelf->whole;
    shelf->whole = false;
    switch (code) {
    case PM_ACT_ACCEPT:
        shelf->searching = false;
        if (shelf->rows.count == 0 && !shelf_is_blank(shelf->search.text))
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
    if (whole && (code == PM_ACT_ERASE || code == PM_ACT_DELETE)) {
        pm_field_set(&shelf->search, "");
        search_changed(shelf);
        return PM_REDRAW;
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

void shelf_edit_stop(struct shelf *shelf)
{
    shelf->typing = false;
    shelf->whole = false;
}

/* Opens the cell under the cursor, empty for a first character. */
static bool open_cell(struct shelf *shelf, bool empty)
{
    struct pm_text text = PM_TEXT_EMPTY;
    struct pm_error err = {0};
    bool ok = shelf_cell_edited(shelf, &text, &err);
    if (ok) {
        pm_field_set(&shelf->field, empty ? "" : pm_text_get(&text));
        shelf->typing = true;
        shelf->whole = !empty && text.length > 0;
    } else {
        pm_app_say(shelf->app, "%s", err.text);
    }
    pm_text_release(&text);
    return ok;
}

void shelf_edit_start(struct shelf *shelf)
{
    open_cell(shelf, false);
}

/* Enter: one change. False when it was refused; then the cell stays open with its text. */
static bool commit(struct shelf *shelf)
{
    struct pm_error err = {0};
    if (shelf->whole) { /* nothing was typed */
        shelf_edit_stop(shelf);
        return true;
    }
    if (shelf_cell_write(shelf, shelf->field.text, &err) != PM_OK) {
        pm_app_error(shelf->app, &err);
        return false;
    }
    shelf_edit_stop(shelf);
    shelf_written(shelf, 0);
    pm_app_say(shelf->app, "Saved.");
    return true;
}

/* To the next cell that can be typed into, in the same row. */
static void next_cell(struct shelf *shelf, int step)
{
    struct shelf_table *table = shelf_front(shelf);
    size_t was = table->column;
    while (shelf_table_sideways(table, step))
        if (table->columns[table->column].edited)
            return;
    table->column = was;
}

static void next_row(struct shelf *shelf, int step)
{
    size_t row = shelf_front(shelf)->row;
    row = step > 0 ? row + 1 : row > 0 ? row - 1 : 0;
    if (shelf->inside)
        shelf_select_bottle(shelf, row);
    else
        shelf_select(shelf, row);
}

static unsigned cell_act(struct shelf *shelf, int code)
{
    switch (code) {
    case PM_ACT_ACCEPT:
        commit(shelf);
        return PM_REDRAW;
    case PM_ACT_CANCEL:
        shelf_edit_stop(shelf);
        return PM_REDRAW;
    case PM_ACT_UP:
    case PM_ACT_DOWN:
        if (commit(shelf))
            next_row(shelf, code == PM_ACT_DOWN ? 1 : -1);
        return PM_REDRAW;
    case PM_ACT_NEXT:
    case PM_ACT_PREV:
        if (commit(shelf))
            next_cell(shelf, code == PM_ACT_NEXT ? 1 : -1);
        return PM_REDRAW;
    default:
        break;
    }
    if (shelf->whole && (code == PM_ACT_ERASE || code == PM_ACT_DELETE))
        pm_field_set(&shelf->field, "");
    else if (pm_field_act(&shelf->field, code) == PM_FIELD_IGNORED)
        return PM_UNHANDLED;
    shelf->whole = false;
    return PM_REDRAW;
}

unsigned shelf_edit_act(struct shelf *shelf, int code)
{
    if (shelf->searching)
        return search_act(shelf, code);
    return shelf->typing ? cell_act(shelf, code) : PM_UNHANDLED;
}

unsigned shelf_edit_text(struct shelf *shelf, const char *text, bool pasted)
{
    if (shelf->searching) {
        if (shelf->whole)
            pm_field_set(&shelf->search, "");
        shelf->whole = false;
        if (pm_field_insert(&shelf->search, text) == PM_FIELD_CHANGED)
            search_changed(shelf);
        return PM_REDRAW;
    }
    if (!shelf->typing) {
        /* Letters are actions here; a digit begins a number or a date. */
        if (!pasted && (!*text || !strchr("0123456789.,", *text)))
            return PM_UNHANDLED;
        if (!open_cell(shelf, true))
            return PM_REDRAW;
    }
    if (shelf->whole)
        pm_field_set(&shelf->field, "");
    shelf->whole = false;
    pm_field_insert(&shelf->field, text);
    return PM_REDRAW;
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
    const struct pm_bottle_card *card = shelf_bottle(shelf);
    if (!card || shelf_is_blank(shelf->field.text))
        return say(out, PM_ROLE_FAINT, "What is really in the bottle, without the glass.");
    if (pm_mass_read(shelf->field.text, &found, &err) != PM_OK)
        return say(out, PM_ROLE_ERROR, err.text);
    pm_mass by = found - card->left;
    pm_text_addf(out, "The ledger says %s: %s %s.", shelf_mass(shelf, card->left, was),
                 by == 0 ? "nothing" : shelf_mass(shelf, by < 0 ? -by : by, change),
                 by < 0 ? "less" : "more");
    return PM_ROLE_PREVIEW;
}

static enum pm_role judge_bottle(const struct shelf *shelf, struct pm_text *out)
{
    const char *text = shelf->field.text;
    struct pm_error err = {0};
    int64_t ignored;
    switch (shelf->bottles.column) {
    case BOTTLE_LEFT:
        return judge_left(shelf, out);
    case BOTTLE_STRENGTH:
        if (!shelf_is_blank(text) && pm_strength_read(text, &ignored, &err) != PM_OK)
            return say(out, PM_ROLE_ERROR, err.text);
        return say(out, PM_ROLE_FAINT, "10 %, 0.1 %, neat.");
    case BOTTLE_OPENED:
    case BOTTLE_BEST_BEFORE:
    case BOTTLE_BOUGHT:
        return say(out, PM_ROLE_FAINT, "A day: 2026-03-02. Empty: unknown.");
    case BOTTLE_TARE:
    case BOTTLE_PRICED:
        if (!shelf_is_blank(text) && pm_mass_read(text, &ignored, &err) != PM_OK)
            return say(out, PM_ROLE_ERROR, err.text);
        return say(out, PM_ROLE_FAINT, "A mass: 31.4 g. Empty: unknown.");
    case BOTTLE_PRICE:
        return say(out, PM_ROLE_FAINT, "A price with its currency: 19.20 EUR. Empty: unknown.");
    default:
        return PM_ROLE_FAINT;
    }
}

enum pm_role shelf_edit_judge(const struct shelf *shelf, struct pm_text *out)
{
    if (shelf->searching && shelf->rows.count == 0)
        return say(out, PM_ROLE_FAINT,
                   "Nothing on the shelf is called so. Enter puts it there as a new material.");
    if (!shelf->typing || shelf->inside)
        return shelf->typing ? judge_bottle(shelf, out) : PM_ROLE_FAINT;
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
