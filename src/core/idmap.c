/* SPDX-License-Identifier: MIT */
/* From ids to places. */
#include "idmap.h"

#include "permille/base/mem.h"

void pm_idmap_init(struct pm_idmap *map)
{
    *map = (struct pm_idmap){NULL, 0, 0};
}

void pm_idmap_release(struct pm_idmap *map)
{
    pm_free(map->slots);
    pm_idmap_init(map);
}

static size_t spread(int64_t id, size_t capacity)
{
    /* Ids are mostly consecutive; the odd multiplier (2^64 over the golden ratio) scatters them. */
    uint64_t mixed = (uint64_t)id * UINT64_C(0x9E3779B97F4A7C15);
    return (size_t)(mixed >> 32) & (capacity - 1);
}

static struct pm_idmap_slot *slot_of(struct pm_idmap_slot *slots, size_t capacity, int64_t id)
{
    size_t at = spread(id, capacity);
    while (slots[at].id != 0 && slots[at].id != id)
        at = (at + 1) & (capacity - 1);
    return &slots[at];
}

static bool enlarge(struct pm_idmap *map)
{
    size_t capacity = map->capacity == 0 ? 16 : map->capacity * 2;
    struct pm_idmap_slot *slots = pm_alloc_array(capacity, sizeof *slots);
    if (slots == NULL)
        return false;
    for (size_t i = 0; i < map->capacity; i++)
        if (map->slots[i].id != 0)
            *slot_of(slots, capacity, map->slots[i].id) = map->slots[i];
    pm_free(map->slots);
    map->slots = slots;
    map->capacity = capacity;
    return true;
}

bool pm_idmap_put(struct pm_idmap *map, int64_t id, size_t place)
{
    if (map->capacity > 0) {
        struct pm_idmap_slot *there = slot_of(map->slots, map->capacity, id);
        if (there->id == id) {
            there->place = place;
            return true;
        }
    }
    if (map->count >= map->capacity / 2 && !enlarge(map))
        return false;
    *slot_of(map->slots, map->capacity, id) = (struct pm_idmap_slot){id, place};
    map->count++;
    return true;
}

size_t pm_idmap_get(const struct pm_idmap *map, int64_t id)
{
    if (map->capacity == 0 || id == 0)
        return PM_IDMAP_NONE;
    const struct pm_idmap_slot *slot = slot_of(map->slots, map->capacity, id);
    return slot->id == id ? slot->place : PM_IDMAP_NONE;
}
