/* SPDX-License-Identifier: MIT */
/*
 * Private: from a positive id to a place in some array. Open addressing; grows by doubling.
 */
#ifndef PERMILLE_SRC_CORE_IDMAP_H
#define PERMILLE_SRC_CORE_IDMAP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct pm_idmap_slot {
    int64_t id; /* 0 marks an empty slot */
    size_t place;
};

struct pm_idmap {
    struct pm_idmap_slot *slots; /* owned */
    size_t count;
    size_t capacity; /* a power of two, or 0 */
};

#define PM_IDMAP_NONE SIZE_MAX

void pm_idmap_init(struct pm_idmap *map);
void pm_idmap_release(struct pm_idmap *map);
/* False when memory ran out. id is not 0; one already there gets the new place and cannot fail. */
bool pm_idmap_put(struct pm_idmap *map, int64_t id, size_t place);
/* PM_IDMAP_NONE when the id is not there. */
size_t pm_idmap_get(const struct pm_idmap *map, int64_t id);

#endif
