/* SPDX-License-Identifier: MIT */
/*
 * What is in the bottles of a material: what a batch needs, what it costs and how it is weighed all
 * ask for every material of a formula, after each gesture. It is read once and kept until something
 * is changed; within a change it is read from the file, since it may be changing.
 */
#include "bottle.h"

#include "permille/base/mem.h"

void pm_bottles_forget(struct pm_studio *studio)
{
    for (size_t i = 0; i < studio->bottles.capacity; i++)
        if (studio->bottles.slots[i].value.pointer != NULL) {
            struct pm_bottles *list = studio->bottles.slots[i].value.pointer;
            pm_list_release(list);
            pm_free(list);
        }
    pm_map_release(&studio->bottles);
}

static enum pm_status keep(struct pm_studio *studio, int64_t material,
                           const struct pm_bottles **out, struct pm_error *err)
{
    struct pm_bottles *list = pm_map_get(&studio->bottles, material);
    *out = list;
    if (list != NULL)
        return PM_OK;
    list = pm_alloc_array(1, sizeof *list);
    if (list == NULL)
        return pm_fail_memory(err);
    enum pm_status status = pm_bottle_list(studio->library, material, true, list, err);
    if (status == PM_OK && !pm_map_put(&studio->bottles, material, list)) {
        pm_list_release(list);
        status = pm_fail_memory(err);
    }
    if (status == PM_OK)
        *out = list;
    else
        pm_free(list);
    return status;
}

static void copy(const struct pm_bottle *bottle, struct pm_bottles *out)
{
    struct pm_bottle *row = pm_list_add(out);
    if (row == NULL)
        return;
    *row = *bottle;
    row->lot = pm_arena_text(&out->arena, bottle->lot);
    row->supplier = pm_arena_text(&out->arena, bottle->supplier);
    row->place = pm_arena_text(&out->arena, bottle->place);
    row->note = pm_arena_text(&out->arena, bottle->note);
    row->stock = pm_arena_text(&out->arena, bottle->stock);
}

/* Leaves what is in sight and has something left. */
static void leave(struct pm_bottles *list)
{
    size_t kept = 0;
    for (size_t i = 0; i < list->count; i++)
        if (!list->items[i].set_aside && list->items[i].left > 0)
            list->items[kept++] = list->items[i];
    list->count = kept;
}

enum pm_status pm_bottles_of(struct pm_studio *studio, int64_t material, bool empty_too,
                             struct pm_bottles *out, struct pm_error *err)
{
    struct pm_bottles list = {0};
    const struct pm_bottles *kept;
    enum pm_status status;
    if (material == 0) {
        *out = list;
        return PM_OK;
    }
    if (pm_library_is_changing(studio->library)) {
        status = pm_bottle_list(studio->library, material, empty_too, &list, err);
        if (status == PM_OK && !empty_too)
            leave(&list);
        pm_list_give(&list, status, out);
        return status;
    }
    status = keep(studio, material, &kept, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < kept->count; i++)
        if (empty_too || (!kept->items[i].set_aside && kept->items[i].left > 0))
            copy(&kept->items[i], &list);
    status = pm_arena_status(&list.arena, err);
    pm_list_give(&list, status, out);
    return status;
}
