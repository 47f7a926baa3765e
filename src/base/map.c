/* SPDX-License-Identifier: MIT */
/* The hash table. */
#include "permille/base/map.h"

#include "permille/base/mem.h"

#include <string.h>

/* Ids are mostly consecutive; the odd multiplier (2^64 over the golden ratio) scatters them. */
static size_t home_of(int64_t key, size_t capacity)
{
    uint64_t mixed = (uint64_t)key * UINT64_C(0x9E3779B97F4A7C15);
    return (size_t)(mixed >> 32) & (capacity - 1);
}

/* The key's slot, or the free one where it belongs. */
static struct pm_map_slot *seek(struct pm_map_slot *slots, size_t capacity, int64_t key)
{
    size_t at = home_of(key, capacity);
    while (slots[at].key != 0 && slots[at].key != key)
        at = (at + 1) & (capacity - 1);
    return &slots[at];
}

static bool enlarge(struct pm_map *map)
{
    size_t capacity = map->capacity == 0 ? 16 : map->capacity * 2;
    struct pm_map_slot *slots = pm_alloc_array(capacity, sizeof *slots);
    if (slots == NULL)
        return false;
    for (size_t i = 0; i < map->capacity; i++)
        if (map->slots[i].key != 0)
            *seek(slots, capacity, map->slots[i].key) = map->slots[i];
    pm_free(map->slots);
    map->slots = slots;
    map->capacity = capacity;
    return true;
}

void pm_map_release(struct pm_map *map)
{
    pm_free(map->slots);
    *map = (struct pm_map){0};
}

void pm_map_clear(struct pm_map *map)
{
    if (map->slots != NULL)
        memset(map->slots, 0, map->capacity * sizeof *map->slots);
    map->count = 0;
}

const struct pm_map_slot *pm_map_find(const struct pm_map *map, int64_t key)
{
    if (map->count == 0 || key == 0)
        return NULL;
    const struct pm_map_slot *slot = seek(map->slots, map->capacity, key);
    return slot->key == key ? slot : NULL;
}

struct pm_map_slot *pm_map_slot(struct pm_map *map, int64_t key)
{
    struct pm_map_slot *slot = map->capacity > 0 ? seek(map->slots, map->capacity, key) : NULL;
    if (slot != NULL && slot->key == key)
        return slot;
    if ((map->count + 1) * 2 > map->capacity) {
        if (!enlarge(map))
            return NULL;
        slot = seek(map->slots, map->capacity, key);
    }
    slot->key = key;
    map->count++;
    return slot;
}

bool pm_map_put(struct pm_map *map, int64_t key, void *value)
{
    struct pm_map_slot *slot = pm_map_slot(map, key);
    if (slot != NULL)
        slot->value.pointer = value;
    return slot != NULL;
}

void *pm_map_get(const struct pm_map *map, int64_t key)
{
    const struct pm_map_slot *slot = pm_map_find(map, key);
    return slot != NULL ? slot->value.pointer : NULL;
}

void *pm_map_take(struct pm_map *map, int64_t key)
{
    const struct pm_map_slot *found = pm_map_find(map, key);
    if (found == NULL)
        return NULL;
    void *value = found->value.pointer;
    size_t mask = map->capacity - 1, hole = (size_t)(found - map->slots);
    /* Entries after the hole move up unless that would put them before their own slot. */
    for (size_t i = (hole + 1) & mask; map->slots[i].key != 0; i = (i + 1) & mask) {
        size_t home = home_of(map->slots[i].key, map->capacity);
        if (((i - home) & mask) >= ((i - hole) & mask)) {
            map->slots[hole] = map->slots[i];
            hole = i;
        }
    }
    map->slots[hole] = (struct pm_map_slot){0};
    map->count--;
    return value;
}

bool pm_map_put_place(struct pm_map *map, int64_t key, size_t place)
{
    struct pm_map_slot *slot = pm_map_slot(map, key);
    if (slot != NULL)
        slot->value.place = place;
    return slot != NULL;
}

size_t pm_map_place(const struct pm_map *map, int64_t key)
{
    const struct pm_map_slot *slot = pm_map_find(map, key);
    return slot != NULL ? slot->value.place : PM_MAP_NONE;
}
