/* SPDX-License-Identifier: MIT */
/* The Shelf: what is read for the screen, and when. */
#include "shelf.h"

#include "permille/base/mem.h"

#include <string.h>

#define READ_MORE 2    /* times as many materials when the end of a cut list is reached */
#define READ_MOST 2000 /* nobody goes further by hand: searching is quicker */

/* ---- the list ---- */

static void forget_list(struct shelf *shelf)
{
    for (size_t i = 0; shelf->strengths != NULL && i < shelf->rows.count; i++)
        pm_free(shelf->strengths[i]);
    pm_free(shelf->strengths);
    shelf->strengths = NULL;
    pm_list_release(&shelf->rows);
    shelf->rows = (struct pm_shelf_rows_found){0};
}

bool shelf_filtered(const struct shelf *shelf)
{
    return shelf->search.length > 0 || shelf->family != NULL || shelf->have || shelf->low ||
           shelf->old || shelf->over;
}

/* Where the material stands now; the row before when it is not in the list any more. */
static size_t place_of(const struct shelf *shelf, int64_t material)
{
    size_t count = shelf->rows.count;
    for (size_t i = 0; i < count; i++)
        if (shelf->rows.items[i].id == material)
            return i;
    return count == 0 ? 0 : shelf->list.row < count ? shelf->list.row : count - 1;
}

enum pm_status shelf_list_again(struct shelf *shelf, struct pm_error *err)
{
    struct pm_shelf_rows_found rows = {0};
    const struct pm_shelf_filter filter = {
        .text = shelf->search.text,
        .family = shelf->family,
        .have = shelf->have,
        .low = shelf->low,
        .old = shelf->old,
        .over = shelf->over,
        .set_aside_too = shelf->aside,
        .limit = shelf->limit,
    };
    enum pm_status status = pm_shelf_list(shelf->house->studio, &filter, &rows, err);
    if (status != PM_OK)
        return status;
    forget_list(shelf);
    shelf->rows = rows;
    pm_table_changed(&shelf->list);
    shelf->strengths = pm_alloc_array(rows.count + 1, sizeof *shelf->strengths);
    shelf->empty = rows.count == 0 && !shelf_filtered(shelf);
    /* What no filter shows any more must not be edited by mistake for what stands in its place. */
    int64_t material = shelf->material, bottle = shelf->bottle;
    shelf_select(shelf, place_of(shelf, material));
    if (shelf_typing(shelf) &&
        (shelf->material != material || (shelf->inside && shelf->bottle != bottle))) {
        shelf_edit_stop(shelf);
        pm_app_warn(shelf->app, "What you were typing into is not there any more.");
    }
    if (shelf->material != material)
        shelf->inside = false;
    return PM_OK;
}

void shelf_read_list(struct shelf *shelf)
{
    struct pm_error err = {0};
    if (shelf_list_again(shelf, &err) != PM_OK)
        pm_app_error(shelf->app, &err);
}

void shelf_read_most(struct shelf *shelf)
{
    if (!shelf->rows.more || shelf->limit >= READ_MOST)
        return;
    shelf->limit = READ_MOST;
    shelf_read_list(shelf);
}

void shelf_read_more(struct shelf *shelf)
{
    if (!shelf->rows.more || shelf->list.row + 1 < shelf->rows.count)
        return;
    if (shelf->limit >= READ_MOST) {
        pm_app_say(shelf->app, "There are more: searching or a filter brings them in.");
        return;
    }
    shelf->limit *= READ_MORE;
    shelf_read_list(shelf);
}

/* "neat, 10 %"; what cannot be read is not shown: the list must stay usable. */
static void read_strengths(struct shelf *shelf, size_t row)
{
    struct pm_shelf_strengths found;
    struct pm_text text = PM_TEXT_EMPTY;
    char strength[PM_AMOUNT_TEXT];
    if (shelf->strengths[row] != NULL || shelf->rows.items[row].bottles == 0 ||
        pm_stock_strengths(shelf->house->studio, shelf->rows.items[row].id, &found, NULL) != PM_OK)
        return;
    for (size_t i = 0; i < found.count; i++) {
        if (i > 0 && found.items[i].strength == found.items[i - 1].strength)
            continue; /* in another solvent */
        pm_text_addf(&text, "%s%s", i > 0 ? ", " : "",
                     shelf_strength(shelf, found.items[i].strength, strength));
    }
    pm_shelf_strengths_release(&found);
    shelf->strengths[row] = pm_strdup(pm_text_get(&text));
    pm_text_release(&text);
}

void shelf_prepare(void *state, const struct pm_canvas *canvas)
{
    struct shelf *shelf = state;
    size_t row, end;
    pm_table_in_sight(&shelf->list, shelf->rows.count, canvas->sheet.rows, &row, &end);
    for (; shelf->strengths != NULL && row < end; row++)
        read_strengths(shelf, row);
}

/* ---- about the selected material ---- */

static void ledger_forget(struct shelf_about *about)
{
    if (about->bottle)
        pm_list_release(&about->ledger);
    about->bottle = 0;
    about->ledger = (struct pm_movements){0};
}

void shelf_about_release(struct shelf_about *about)
{
    if (about->card_read)
        pm_material_release(&about->card);
    if (about->facts_read)
        pm_list_release(&about->facts);
    if (about->cautions_read)
        pm_cautions_release(&about->cautions);
    if (about->bottles_read)
        pm_list_release(&about->bottles);
    ledger_forget(about);
    *about = (struct shelf_about){0};
}

static void read_ledger(struct shelf *shelf)
{
    struct shelf_about *about = &shelf->about;
    if (about->bottle == shelf->bottle)
        return;
    ledger_forget(about);
    if (shelf->bottle != 0 &&
        pm_bottle_ledger(shelf->house->studio, shelf->bottle, &about->ledger, NULL) == PM_OK)
        about->bottle = shelf->bottle;
}

static void read_about(struct shelf *shelf)
{
    struct pm_error err = {0};
    struct shelf_about *about = &shelf->about;
    struct pm_studio *studio = shelf->house->studio;
    const struct pm_bottle_filter filter = {.material = shelf->material,
                                            .set_aside_too = shelf->all_bottles};
    shelf_about_release(about);
    if (shelf->material == 0)
        return;
    about->material = shelf->material;
    pm_table_changed(&shelf->bottles);
    about->bottles_read = pm_bottles_list(studio, &filter, &about->bottles, &err) == PM_OK;
    if (!about->bottles_read)
        pm_app_error(shelf->app, &err);
    /* The rest is only shown beside: what cannot be read of it is left out. */
    about->card_read = pm_shelf_card(studio, shelf->material, &about->card, NULL) == PM_OK;
    about->facts_read = pm_shelf_facts(studio, shelf->material, &about->facts, NULL) == PM_OK;
    about->cautions_read =
        pm_shelf_cautions(studio, shelf->material, &about->cautions, NULL) == PM_OK;
}

/* ---- selecting ---- */

const struct pm_shelf_row *shelf_row(const struct shelf *shelf)
{
    return shelf->list.row < shelf->rows.count ? &shelf->rows.items[shelf->list.row] : NULL;
}

const struct pm_bottle *shelf_bottle(const struct shelf *shelf)
{
    const struct shelf_about *about = &shelf->about;
    return about->bottles_read && shelf->bottles.row < about->bottles.count
               ? &about->bottles.items[shelf->bottles.row]
               : NULL;
}

void shelf_select_bottle(struct shelf *shelf, size_t row)
{
    size_t count = shelf->about.bottles_read ? shelf->about.bottles.count : 0;
    shelf->bottles.row = row < count ? row : count > 0 ? count - 1 : 0;
    const struct pm_bottle *bottle = shelf_bottle(shelf);
    shelf->bottle = bottle != NULL ? bottle->id : 0;
    read_ledger(shelf);
}

static void select_bottle_id(struct shelf *shelf, int64_t id)
{
    size_t count = shelf->about.bottles_read ? shelf->about.bottles.count : 0;
    size_t row = shelf->bottles.row;
    for (size_t i = 0; i < count; i++)
        if (shelf->about.bottles.items[i].id == id)
            row = i;
    shelf_select_bottle(shelf, row);
}

void shelf_select(struct shelf *shelf, size_t row)
{
    size_t count = shelf->rows.count;
    shelf->list.row = row < count ? row : count > 0 ? count - 1 : 0;
    const struct pm_shelf_row *selected = shelf_row(shelf);
    int64_t material = selected != NULL ? selected->id : 0, bottle = shelf->bottle;
    bool same = material == shelf->material;
    shelf->material = material;
    read_about(shelf);
    if (!same)
        shelf->bottles.row = shelf->bottles.first = 0;
    select_bottle_id(shelf, same ? bottle : 0);
    if (selected == NULL)
        shelf->inside = false;
}

void shelf_written(struct shelf *shelf, int64_t bottle)
{
    /* Names, strengths and stock stand in other rooms as well. */
    pm_app_changed(shelf->app, PM_ROOM_SHELF);
    if (bottle)
        shelf->bottle = bottle;
    shelf_read_list(shelf);
}

void shelf_show_material(struct shelf *shelf, int64_t material)
{
    shelf->material = material;
    shelf->bottle = 0;
    shelf_read_list(shelf);
    if (shelf->material == material)
        return;
    struct pm_material card;
    pm_field_set(&shelf->search, "");
    shelf->limit = READ_MOST;
    pm_free(shelf->family);
    shelf->family = NULL;
    shelf->have = shelf->low = shelf->old = shelf->over = false;
    shelf->material = material;
    shelf_read_list(shelf);
    if (shelf->material == material ||
        pm_shelf_card(shelf->house->studio, material, &card, NULL) != PM_OK)
        return;
    /* Beyond the materials that can be read: its name brings it in. */
    pm_field_set(&shelf->search, card.name);
    pm_material_release(&card);
    shelf->material = material;
    shelf_read_list(shelf);
}
