/* SPDX-License-Identifier: MIT */
/*
 * The list of the Shelf: search with filters. Each filter asks the library for the few materials it
 * is about, so 100,000 materials are never gone through one by one; the text search then runs over
 * the names as always and passes on what all filters hold.
 */
#include "inside.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/stock.h"
#include "permille/store/facts.h"
#include "permille/studio/shelf.h"

#include <stdlib.h>
#include <string.h>

#define SMALL_SET 4000

/* ---- sets of ids, sorted ---- */

struct id_set {
    int64_t *ids; /* owned */
    size_t count, capacity;
    bool failed;
};

static bool add_id(void *context, int64_t id)
{
    struct id_set *set = context;
    void *ids = set->ids;
    if (!pm_grow(&ids, &set->capacity, set->count + 1, sizeof *set->ids)) {
        set->failed = true;
        return false;
    }
    set->ids = ids;
    set->ids[set->count++] = id;
    return true;
}

static int compare_ids(const void *left, const void *right)
{
    int64_t a = *(const int64_t *)left, b = *(const int64_t *)right;
    return (a > b) - (a < b);
}

static bool has_id(const struct id_set *set, int64_t id)
{
    return set->count > 0 && bsearch(&id, set->ids, set->count, sizeof *set->ids, compare_ids);
}

/* ---- over the maximum ---- */

/* Ids of materials that stand in the flat draft above their maximum. */
static enum pm_status draft_over(struct pm_studio *studio, int64_t formula, struct id_set *out,
                                 struct pm_error *err)
{
    struct pm_sheet *sheet;
    struct pm_flat_sheet flat;
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
            !add_id(out, flat.lines[i].material))
            status = pm_fail_memory(err);
    }
    pm_flat_sheet_release(&flat);
    return status;
}

static enum pm_status all_over(struct pm_studio *studio, struct id_set *out, struct pm_error *err)
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

/* ---- the list ---- */

struct list {
    struct pm_studio *studio;
    const struct pm_shelf_filter *filter;
    struct id_set sets[5];
    size_t set_count;
    struct pm_shelf_rows_found found;
    size_t capacity;
    enum pm_status status;
};

static struct id_set *next_set(struct list *list)
{
    return &list->sets[list->set_count++];
}

/* Who types "Peel" means "peel", and both when both are there. */
static bool add_family(void *context, const char *family, int64_t materials)
{
    struct list *list = context;
    (void)materials;
    if (pm_fold_equal(family, list->filter->family) && strcmp(family, list->filter->family) != 0)
        list->status = pm_family_list(list->studio->library, family, add_id,
                                      &list->sets[list->set_count - 1], NULL);
    return list->status == PM_OK;
}

static enum pm_status gather_family(struct list *list, struct pm_error *err)
{
    struct pm_library *library = list->studio->library;
    enum pm_status status =
        pm_family_list(library, list->filter->family, add_id, next_set(list), err);
    if (status == PM_OK)
        status = pm_family_names(library, add_family, list, err);
    if (status == PM_OK && list->status != PM_OK)
        status = pm_fail(err, list->status, "The families could not be read.");
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
            status = pm_holding_list(library, kinds[i], today, add_id, next_set(list), err);
    if (status == PM_OK && filter->family)
        status = gather_family(list, err);
    if (status == PM_OK && filter->over)
        status = all_over(list->studio, next_set(list), err);
    for (size_t i = 0; i < list->set_count && status == PM_OK; i++) {
        struct id_set *set = &list->sets[i];
        if (set->failed)
            status = pm_fail_memory(err);
        else if (set->count > 1)
            qsort(set->ids, set->count, sizeof *set->ids, compare_ids);
    }
    return status;
}

static bool passes(const struct list *list, int64_t id)
{
    for (size_t i = 0; i < list->set_count; i++)
        if (!has_id(&list->sets[i], id))
            return false;
    return true;
}

static bool copy_text(char **out, const char *text)
{
    *out = pm_strdup(text);
    return *out || !text;
}

static bool add_row(struct list *list, const struct pm_material_hit *hit)
{
    void *items = list->found.items;
    if (list->found.count == list->filter->limit) {
        list->found.more = true;
        return false;
    }
    if (!pm_grow(&items, &list->capacity, list->found.count + 1, sizeof *list->found.items)) {
        list->status = PM_NOMEM;
        return false;
    }
    list->found.items = items;
    struct pm_shelf_row *row = &list->found.items[list->found.count++];
    *row = (struct pm_shelf_row){.id = hit->id,
                                 .kind = pm_material_kind_word(hit->kind),
                                 .is_solvent = hit->kind == PM_SOLVENT};
    if (!copy_text(&row->name, hit->name) || !copy_text(&row->matched, hit->matched) ||
        !copy_text(&row->cas, hit->cas) || !copy_text(&row->family, hit->family))
        list->status = PM_NOMEM;
    return list->status == PM_OK;
}

static bool on_hit(void *context, const struct pm_material_hit *hit)
{
    struct list *list = context;
    return !passes(list, hit->id) || add_row(list, hit);
}

struct named {
    char *folded; /* owned */
    struct pm_material row;
};

static int compare_named(const void *left, const void *right)
{
    const struct named *a = left, *b = right;
    return strcmp(a->folded, b->folded);
}

static void free_named(struct named *named, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        pm_free(named[i].folded);
        pm_material_release(&named[i].row);
    }
    pm_free(named);
}

static enum pm_status read_named(struct list *list, const struct id_set *set, struct named *named,
                                 size_t *count, struct pm_error *err)
{
    for (size_t i = 0; i < set->count; i++) {
        struct named *one = &named[*count];
        if ((i > 0 && set->ids[i] == set->ids[i - 1]) || !passes(list, set->ids[i]))
            continue;
        enum pm_status status = pm_material_get(list->studio->library, set->ids[i], &one->row, err);
        if (status != PM_OK)
            return status;
        if (one->row.merged_into != 0 || (one->row.set_aside && !list->filter->set_aside_too)) {
            pm_material_release(&one->row);
            continue;
        }
        (*count)++;
        one->folded = pm_fold(one->row.name);
        if (!one->folded)
            return pm_fail_memory(err);
    }
    return PM_OK;
}

static const struct id_set *smallest_set(const struct list *list)
{
    const struct id_set *smallest = &list->sets[0];
    for (size_t i = 1; i < list->set_count; i++)
        if (list->sets[i].count < smallest->count)
            smallest = &list->sets[i];
    return smallest;
}

/* Without a text a small set is gone through, by name. */
static enum pm_status list_set(struct list *list, struct pm_error *err)
{
    const struct id_set *smallest = smallest_set(list);
    size_t count = 0;
    struct named *named = pm_alloc_array(smallest->count + 1, sizeof *named);
    if (!named)
        return pm_fail_memory(err);
    enum pm_status status = read_named(list, smallest, named, &count, err);
    if (status == PM_OK && count > 1)
        qsort(named, count, sizeof *named, compare_named);
    for (size_t i = 0; status == PM_OK && i < count; i++) {
        const struct pm_material *row = &named[i].row;
        const struct pm_material_hit hit = {.id = row->id,
                                            .name = row->name,
                                            .cas = row->cas,
                                            .family = row->family,
                                            .kind = row->kind};
        if (!add_row(list, &hit))
            break;
    }
    free_named(named, count);
    return status;
}

/* What the shelf holds of each row shown. */
static enum pm_status fill_holdings(struct list *list, struct pm_error *err)
{
    struct pm_library *library = list->studio->library;
    const pm_day today = pm_studio_today(list->studio);
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < list->found.count && status == PM_OK; i++) {
        struct pm_shelf_row *row = &list->found.items[i];
        struct pm_holding holding;
        status = pm_holding_get(library, row->id, today, &holding, err);
        if (status != PM_OK)
            return status;
        row->bottles = holding.bottles;
        row->poured = holding.poured;
        row->neat = holding.neat;
        row->level = holding.level;
        row->low = holding.level >= 0 && pm_stock_low(holding.level, holding.neat);
        row->old = holding.old > 0;
        row->rating = holding.rating;
    }
    return status;
}

static enum pm_status make_list(struct list *list, struct pm_error *err)
{
    const struct pm_shelf_filter *filter = list->filter;
    const char *text = filter->text ? filter->text : "";
    enum pm_status status = gather_sets(list, err);
    if (status != PM_OK)
        return status;
    /* One hit more than shown tells that there are more; filtered hits may come late. */
    size_t most = list->set_count > 0 ? SIZE_MAX : filter->limit + 1;
    /* Of a large set enough are met soon in the order of names; of a small one perhaps never. */
    if (list->set_count > 0 && text[strspn(text, " ")] == '\0' &&
        smallest_set(list)->count <= SMALL_SET)
        status = list_set(list, err);
    else
        status = pm_material_search(list->studio->library, text, most, filter->set_aside_too,
                                    on_hit, list, err);
    if (status == PM_OK && list->status != PM_OK)
        status = pm_fail_memory(err);
    return status == PM_OK ? fill_holdings(list, err) : status;
}

enum pm_status pm_shelf_list(struct pm_studio *studio, const struct pm_shelf_filter *filter,
                             struct pm_shelf_rows_found *out, struct pm_error *err)
{
    struct list list = {.studio = studio, .filter = filter};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status == PM_OK)
        status = pm_look_over(studio, make_list(&list, err));
    for (size_t i = 0; i < list.set_count; i++)
        pm_free(list.sets[i].ids);
    if (status != PM_OK) {
        pm_shelf_rows_release(&list.found);
        return status;
    }
    *out = list.found;
    return PM_OK;
}

void pm_shelf_rows_release(struct pm_shelf_rows_found *rows)
{
    for (size_t i = 0; i < rows->count; i++) {
        pm_free(rows->items[i].name);
        pm_free(rows->items[i].matched);
        pm_free(rows->items[i].cas);
        pm_free(rows->items[i].family);
    }
    pm_free(rows->items);
    memset(rows, 0, sizeof *rows);
}
