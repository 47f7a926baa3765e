/* SPDX-License-Identifier: MIT */
/*
 * A map from numbers to pointers, places or numbers: the one hash table there is. Open addressing,
 * linear probing, at most half full; a zeroed struct is empty. What pointers lead to is not owned.
 * One map holds one kind of value.
 */
#ifndef PERMILLE_BASE_MAP_H
#define PERMILLE_BASE_MAP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct pm_map_slot {
    int64_t key; /* 0: free */
    union {
        void *pointer;
        size_t place;
        double number;
    } value;
};

struct pm_map {
    struct pm_map_slot *slots; /* owned; to be walked, passing over the free ones */
    size_t capacity;           /* 0 or a power of two */
    size_t count;
};

#define PM_MAP_NONE SIZE_MAX

void pm_map_release(struct pm_map *map);
void pm_map_clear(struct pm_map *map); /* keeps the memory */

/* The slot of a key (not 0), made with a zeroed value where there is none; NULL when memory ran
 * out, never for a key that is there. Valid until the next call that adds or removes. */
struct pm_map_slot *pm_map_slot(struct pm_map *map, int64_t key);
/* NULL when the key is not there, or 0. */
const struct pm_map_slot *pm_map_find(const struct pm_map *map, int64_t key);

/* For maps of pointers. False when memory ran out; a key that is there gets the new value. */
bool pm_map_put(struct pm_map *map, int64_t key, void *value);
void *pm_map_get(const struct pm_map *map, int64_t key); /* NULL when it is not there */
void *pm_map_take(struct pm_map *map, int64_t key);      /* removes; what was there, or NULL */

/* The same for places in an array. */
bool pm_map_put_place(struct pm_map *map, int64_t key, size_t place);
size_t pm_map_place(const struct pm_map *map, int64_t key); /* PM_MAP_NONE when it is not there */

#endif
