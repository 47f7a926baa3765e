/* SPDX-License-Identifier: MIT */
/*
 * The shelf: searching materials, names that are near what was typed, names that are alike.
 */
#include "inside.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/lookalike.h"
#include "permille/studio/shelf.h"
#include "permille/studio/stock.h"

#include <stdlib.h>
#include <string.h>

#define NEAR_MOST  40 /* looked at to find what is on the shelf */
#define ALIKE_MOST 12 /* neighbours of one name */
#define SAID_MOST  3  /* names in one sentence */

/* ---- search ---- */

struct gather {
    struct pm_material_entries entries;
    size_t capacity;
    bool failed;
};

static bool copy_to(char **out, const char *text, bool *failed)
{
    *out = pm_strdup(text);
    if (text && !*out)
        *failed = true;
    return !*failed;
}

static bool gather_hit(void *context, const struct pm_material_hit *hit)
{
    struct gather *gather = context;
    struct pm_material_entries *entries = &gather->entries;
    if (!pm_grow(&entries->items, &gather->capacity, entries->count + 1, sizeof *entries->items)) {
        gather->failed = true;
        return false;
    }
    struct pm_material_entry *entry = &entries->items[entries->count++];
    *entry = (struct pm_material_entry){.id = hit->id,
                                        .kind = pm_material_kind_word(hit->kind),
                                        .is_solvent = hit->kind == PM_SOLVENT,
                                        .slips = hit->slips};
    return copy_to(&entry->name, hit->name, &gather->failed) &&
           copy_to(&entry->matched, hit->matched, &gather->failed) &&
           copy_to(&entry->cas, hit->cas, &gather->failed) &&
           copy_to(&entry->family, hit->family, &gather->failed);
}

/* Hands out what was gathered, or frees it. */
static enum pm_status give(struct gather *gather, enum pm_status status,
                           struct pm_material_entries *out, struct pm_error *err)
{
    if (status == PM_OK && gather->failed)
        status = pm_fail_memory(err);
    if (status != PM_OK)
        pm_material_entries_release(&gather->entries);
    else
        *out = gather->entries;
    return status;
}

enum pm_status pm_shelf_search(struct pm_studio *studio, const char *text, size_t limit,
                               bool set_aside_too, struct pm_material_entries *out,
                               struct pm_error *err)
{
    pm_studio_refresh(studio);
    struct gather gather = {.failed = false};
    const enum pm_status status = pm_material_search(studio->library, text ? text : "", limit,
                                                     set_aside_too, gather_hit, &gather, err);
    return give(&gather, status, out, err);
}

static void release_entry(struct pm_material_entry *entry)
{
    pm_free(entry->name);
    pm_free(entry->matched);
    pm_free(entry->cas);
    pm_free(entry->family);
}

void pm_material_entries_release(struct pm_material_entries *entries)
{
    for (size_t i = 0; i < entries->count; i++)
        release_entry(&entries->items[i]);
    pm_free(entries->items);
    *entries = (struct pm_material_entries){NULL, 0};
}

/* ---- near what was typed ---- */

static int nearer(const void *a, const void *b)
{
    const struct pm_material_entry *left = a, *right = b;
    if (left->slips != right->slips)
        return left->slips < right->slips ? -1 : 1;
    if (left->on_shelf != right->on_shelf)
        return left->on_shelf ? -1 : 1;
    return strcmp(left->name, right->name);
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
    struct gather gather = {.failed = false};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_material_near(studio->library, text, NEAR_MOST, gather_hit, &gather, err);
    if (status == PM_OK && !gather.failed)
        status = look_at_shelf(studio, &gather.entries, err);
    if (status == PM_OK && gather.entries.count > 0)
        qsort(gather.entries.items, gather.entries.count, sizeof *gather.entries.items, nearer);
    while (gather.entries.count > limit)
        release_entry(&gather.entries.items[--gather.entries.count]);
    status = give(&gather, status, out, err);
    return pm_look_over(studio, status);
}

void pm_say_near(struct pm_studio *studio, const char *text, struct pm_text *out)
{
    struct pm_material_entries near = {NULL, 0};
    struct gather gather = {.failed = false};
    const char *between = "; did you mean ";
    if (pm_shelf_near(studio, text, SAID_MOST, &near, NULL) != PM_OK)
        near = (struct pm_material_entries){NULL, 0};
    /* Nothing near: perhaps the name goes on after what was given. */
    if (near.count == 0 &&
        pm_material_search(studio->library, text, 1, false, gather_hit, &gather, NULL) == PM_OK)
        near = gather.entries;
    for (size_t i = 0; i < near.count && near.items[i].slips == near.items[0].slips; i++) {
        pm_text_addf(out, "%s\"%s\"", between, near.items[i].name);
        between = " or ";
    }
    pm_text_add(out, near.count > 0 ? "?" : ".");
    pm_material_entries_release(&near);
}

/* ---- taken for each other ---- */

static enum pm_status find_alike(struct pm_studio *studio, int64_t material,
                                 struct pm_material *row, struct pm_material_entries *alike,
                                 struct pm_error *err)
{
    struct gather gather = {.failed = false};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_material_get(studio->library, material, row, err);
    if (status == PM_OK) {
        status =
            pm_material_alike(studio->library, row->name, ALIKE_MOST, gather_hit, &gather, err);
        status = give(&gather, status, alike, err);
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
    for (size_t i = 0; alike && i < others.count; i++)
        pm_text_addf(alike, "%s%s", i > 0 ? ", " : "", others.items[i].name);
    pm_material_entries_release(&others);
    pm_material_release(&row);
    return PM_OK;
}
