/* SPDX-License-Identifier: MIT */
/*
 * The list of the Shelf: search with filters. Each filter asks the library for the few materials it
 * is about, so 100,000 materials are never gone through one by one; the search then gives what all
 * filters hold.
 */
#include "inside.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/stock.h"
#include "permille/store/facts.h"
#include "permille/studio/shelf.h"

#include <stdlib.h>
#include <string.h>

/* ---- sets of ids, sorted ---- */

static int compare_ids(const void *left, const void *right)
{
    int64_t a = *(const int64_t *)left, b = *(const int64_t *)right;
    return (a > b) - (a < b);
}

static bool has_id(const struct pm_ids *set, int64_t id)
{
    return set->count > 0 &&
           bsearch(&id, set->items, set->count, sizeof *set->items, compare_ids) != NULL;
}

/* ---- over the maximum ---- */

/* Ids of materials that stand in the flat draft above their maximum. */
static enum pm_status draft_over(struct pm_studio *studio, int64_t formula, struct pm_ids *out,
                                 struct pm_error *err)
{
    struct pm_sheet *sheet;
    struct pm_flat_sheet flat;
    int64_t *id;
    enum pm_status status = pm_sheet_open_draft(studio, formula, &sheet, err);
    if (status != PM_OK)
        return status;
    if (sheet->total == 0) {
        pm_sheet_free(sheet);
        return PM_OK;
    }
    status = pm_sheet_flatten(studio, sheet, &flat, err);
    pm_sheet_free(sheet);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < flat.count && status == PM_OK; i++) {
        int64_t most = 0, neat = 0;
        bool found = false;
        status =
            pm_fact_value(studio->library, flat.lines[i].material, "maximum", &most, &found, err);
        if (status == PM_OK && found && flat.total > 0 &&
            pm_muldiv(flat.lines[i].neat, PM_NEAT, flat.total, &neat) && neat > most &&
            (id = pm_list_add(out)) != NULL)
            *id = flat.lines[i].material;
    }
    if (status == PM_OK)
        status = pm_arena_status(&out->arena, err);
    pm_flat_sheet_release(&flat);
    return status;
}

static enum pm_status all_over(struct pm_studio *studio, struct pm_ids *out, struct pm_error *err)
{
    struct pm_formulas formulas;
    enum pm_status status = pm_formulas_list(studio, NULL, false, &formulas, err);
    if (status != PM_OK)
        return status;
    /* An accord's draft is no concentrate: what it holds counts where the accord is used. */
    for (size_t i = 0; i < formulas.count && status == PM_OK; i++)
        if (!formulas.items[i].accord)
            status = draft_over(studio, formulas.items[i].id, out, err);
    pm_list_release(&formulas);
    return status;
}

/* ---- the families ---- */

enum pm_status pm_shelf_families(struct pm_studio *studio, struct pm_families *out,
                                 struct pm_error *err)
{
    return pm_family_names(studio->library, out, err);
}

/* ---- the list ---- */

struct list {
    struct pm_studio *studio;
    const struct pm_shelf_filter *filter;
    struct pm_ids sets[5];
    size_t set_count;
};

static struct pm_ids *next_set(struct list *list)
{
    return &list->sets[list->set_count++];
}

/* Who types "Peel" means "peel", and both when both are there. */
static enum pm_status gather_family(struct list *list, struct pm_error *err)
{
    struct pm_library *library = list->studio->library;
    struct pm_ids *set = next_set(list);
    struct pm_families families;
    const char *wanted = list->filter->family;
    enum pm_status status = pm_family_list(library, wanted, set, err);
    if (status == PM_OK)
        status = pm_family_names(library, &families, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; status == PM_OK && i < families.count; i++) {
        const char *family = families.items[i].name;
        if (pm_fold_equal(family, wanted) && strcmp(family, wanted) != 0)
            status = pm_family_list(library, family, set, err);
    }
    pm_list_release(&families);
    return status;
}

static enum pm_status gather_sets(struct list *list, struct pm_error *err)
{
    static const enum pm_holding_filter kinds[] = {PM_HOLDING_HAVE, PM_HOLDING_LOW, PM_HOLDING_OLD};
    const struct pm_shelf_filter *filter = list->filter;
    const bool wanted[] = {filter->have, filter->low, filter->old};
    struct pm_library *library = list->studio->library;
    const pm_day today = pm_studio_today(list->studio);
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < 3 && status == PM_OK; i++)
        if (wanted[i])
            status = pm_holding_list(library, kinds[i], today, next_set(list), err);
    if (status == PM_OK && filter->family != NULL)
        status = gather_family(list, err);
    if (status == PM_OK && filter->over)
        status = all_over(list->studio, next_set(list), err);
    for (size_t i = 0; i < list->set_count && status == PM_OK; i++) {
        struct pm_ids *set = &list->sets[i];
        if (set->count > 1)
            qsort(set->items, set->count, sizeof *set->items, compare_ids);
    }
    return status;
}

/* What all sets hold, each once: made of the smallest of them, in place. */
static struct pm_material_ids what_all_hold(struct list *list)
{
    struct pm_ids *smallest = &list->sets[0];
    size_t kept = 0;
    for (size_t i = 1; i < list->set_count; i++)
        if (list->sets[i].count < smallest->count)
            smallest = &list->sets[i];
    const size_t count = smallest->count;
    for (size_t i = 0; i < count; i++) {
        const int64_t id = smallest->items[i];
        const bool again = kept > 0 && smallest->items[kept - 1] == id;
        bool in_all = !again;
        for (size_t s = 0; in_all && s < list->set_count; s++)
            in_all = &list->sets[s] == smallest || has_id(&list->sets[s], id);
        if (in_all)
            smallest->items[kept++] = id;
    }
    return (struct pm_material_ids){smallest->items, kept};
}

/* What the shelf holds of each. */
static enum pm_status add_rows(struct list *list, struct pm_material_entries *entries,
                               struct pm_shelf_rows_found *out, struct pm_error *err)
{
    struct pm_holdings holdings = {0};
    int64_t *ids = pm_alloc_array(entries->count + 1, sizeof *ids);
    if (ids == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < entries->count; i++)
        ids[i] = entries->items[i].id;
    enum pm_status status = pm_holdings_list(list->studio->library, ids, entries->count,
                                             pm_studio_today(list->studio), &holdings, err);
    pm_free(ids);
    for (size_t i = 0; status == PM_OK && i < entries->count; i++) {
        const struct pm_material_entry *entry = &entries->items[i];
        const struct pm_holding *holding = &holdings.items[i];
        struct pm_shelf_row *row = pm_list_add(out);
        if (row != NULL)
            *row = (struct pm_shelf_row){.id = entry->id,
                                         .name = entry->name,
                                         .matched = entry->matched,
                                         .cas = entry->cas,
                                         .family = entry->family,
                                         .kind = entry->kind,
                                         .is_solvent = entry->is_solvent,
                                         .bottles = holding->bottles,
                                         .poured = holding->poured,
                                         .neat = holding->neat,
                                         .level = holding->level,
                                         .low = holding->level >= 0 &&
                                                pm_stock_low(holding->level, holding->neat),
                                         .old = holding->old > 0,
                                         .rating = holding->rating};
    }
    pm_list_release(&holdings);
    return status == PM_OK ? pm_arena_status(&out->arena, err) : status;
}

static enum pm_status make_list(struct list *list, struct pm_shelf_rows_found *out,
                                struct pm_error *err)
{
    const struct pm_shelf_filter *filter = list->filter;
    struct pm_material_entries entries = {0};
    struct pm_material_ids among = {NULL, 0};
    enum pm_status status = gather_sets(list, err);
    if (status != PM_OK)
        return status;
    if (list->set_count > 0)
        among = what_all_hold(list);
    /* One more than shown tells that there are more. */
    status = pm_material_search(list->studio->library, filter->text != NULL ? filter->text : "",
                                filter->limit + 1, filter->set_aside_too,
                                list->set_count > 0 ? &among : NULL, &entries, err);
    if (status != PM_OK)
        return status;
    out->more = entries.count > filter->limit;
    if (out->more)
        entries.count = filter->limit;
    out->arena = entries.arena; /* the rows point at its strings */
    return add_rows(list, &entries, out, err);
}

enum pm_status pm_shelf_list(struct pm_studio *studio, const struct pm_shelf_filter *filter,
                             struct pm_shelf_rows_found *out, struct pm_error *err)
{
    struct list list = {.studio = studio, .filter = filter};
    struct pm_shelf_rows_found found = {0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status == PM_OK)
        status = pm_look_over(studio, make_list(&list, &found, err));
    for (size_t i = 0; i < list.set_count; i++)
        pm_list_release(&list.sets[i]);
    pm_list_give(&found, status, out);
    return status;
}
