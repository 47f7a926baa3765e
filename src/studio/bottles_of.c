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

static enum pm_status read(struct pm_studio *studio, int64_t material, struct pm_bottles *fresh,
                           const struct pm_bottles **out, struct pm_error *err)
{
    if (!pm_library_is_changing(studio->library))
        return keep(studio, material, out, err);
    *out = fresh;
    return pm_bottle_list(studio->library, material, true, fresh, err);
}

enum pm_status pm_bottles_of(struct pm_studio *studio, int64_t material, bool empty_too,
                             struct pm_bottles *out, struct pm_error *err)
{
    struct pm_bottles list = {0}, fresh = {0};
    const struct pm_bottles *rows;
    enum pm_status status = PM_OK;
    if (material != 0)
        status = read(studio, material, &fresh, &rows, err);
    if (material != 0 && status == PM_OK) {
        for (size_t i = 0; i < rows->count; i++)
            if (empty_too || (!rows->items[i].set_aside && rows->items[i].left > 0))
                copy(&rows->items[i], &list);
        status = pm_arena_status(&list.arena, err);
    }
    pm_list_release(&fresh);
    pm_list_give(&list, status, out);
    return status;
}
