/* SPDX-License-Identifier: MIT */
/*
 * The shelf: searching materials, names that are near what was typed, names that are alike.
 */
#include "inside.h"

#include "permille/base/utf8.h"
#include "permille/core/lookalike.h"
#include "permille/studio/shelf.h"
#include "permille/studio/stock.h"

#include <string.h>

#define NEAR_MOST  40 /* looked at to find what is on the shelf */
#define ALIKE_MOST 12 /* neighbours of one name */
#define SAID_MOST  3  /* names in one sentence */

/* ---- search ---- */

enum pm_status pm_shelf_search(struct pm_studio *studio, const char *text, size_t limit,
                               bool set_aside_too, struct pm_material_entries *out,
                               struct pm_error *err)
{
    return pm_material_search(studio->library, text != NULL ? text : "", limit, set_aside_too, NULL,
                              out, err);
}

/* ---- near what was typed ---- */

static bool nearer(const struct pm_material_entry *a, const struct pm_material_entry *b)
{
    return a->slips != b->slips ? a->slips < b->slips : a->on_shelf && !b->on_shelf;
}

/* They are few, and what is equally near stays in the store's order. */
static void sort_near(struct pm_material_entries *near)
{
    for (size_t i = 1; i < near->count; i++) {
        const struct pm_material_entry moved = near->items[i];
        size_t at = i;
        for (; at > 0 && nearer(&moved, &near->items[at - 1]); at--)
            near->items[at] = near->items[at - 1];
        near->items[at] = moved;
    }
}

static enum pm_status look_at_shelf(struct pm_studio *studio, struct pm_material_entries *entries,
                                    struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < entries->count; i++) {
        struct pm_shelf_strengths strengths;
        status = pm_stock_strengths(studio, entries->items[i].id, &strengths, err);
        if (status != PM_OK)
            break;
        entries->items[i].on_shelf = strengths.count > 0;
        pm_shelf_strengths_release(&strengths);
    }
    return status;
}

enum pm_status pm_shelf_near(struct pm_studio *studio, const char *text, size_t limit,
                             struct pm_material_entries *out, struct pm_error *err)
{
    struct pm_material_entries near = {0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_material_near(studio->library, text, NEAR_MOST, &near, err);
    if (status == PM_OK)
        status = look_at_shelf(studio, &near, err);
    if (status == PM_OK)
        sort_near(&near);
    if (near.count > limit)
        near.count = limit;
    pm_list_give(&near, status, out);
    return pm_look_over(studio, status);
}

void pm_say_near(struct pm_studio *studio, const char *text, struct pm_text *out)
{
    struct pm_material_entries near = {0};
    const char *between = "; did you mean ";
    enum pm_status status = pm_shelf_near(studio, text, SAID_MOST, &near, NULL);
    /* Nothing near: perhaps the name goes on after what was given. */
    if (status != PM_OK || near.count == 0) {
        pm_list_release(&near);
        status = pm_material_search(studio->library, text, 1, false, NULL, &near, NULL);
    }
    for (size_t i = 0; i < near.count && near.items[i].slips == near.items[0].slips; i++) {
        pm_text_addf(out, "%s\"%s\"", between, near.items[i].name);
        between = " or ";
    }
    pm_text_add(out, near.count > 0 ? "?" : ".");
    pm_list_release(&near);
}

/* ---- taken for each other ---- */

static enum pm_status find_alike(struct pm_studio *studio, int64_t material,
                                 struct pm_material *row, struct pm_material_entries *alike,
                                 struct pm_error *err)
{
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_material_get(studio->library, material, row, err);
    if (status == PM_OK) {
        status = pm_material_alike(studio->library, row->name, ALIKE_MOST, alike, err);
        if (status != PM_OK)
            pm_material_release(row);
    }
    return pm_look_over(studio, status);
}

enum pm_status pm_shelf_tall_name(struct pm_studio *studio, int64_t material, struct pm_text *out,
                                  struct pm_text *alike, struct pm_error *err)
{
    struct pm_material row;
    struct pm_material_entries others;
    const char *names[ALIKE_MOST];
    const enum pm_status status = find_alike(studio, material, &row, &others, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < others.count; i++)
        names[i] = others.items[i].name;
    pm_tall_letters(row.name, names, others.count, out);
    for (size_t i = 0; alike != NULL && i < others.count; i++)
        pm_text_addf(alike, "%s%s", i > 0 ? ", " : "", others.items[i].name);
    pm_list_release(&others);
    pm_material_release(&row);
    return PM_OK;
}
