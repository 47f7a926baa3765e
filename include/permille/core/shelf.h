/* SPDX-License-Identifier: MIT */
/*
 * Rows about the shelf as a whole: its history, the odour families in use. Strings belong to the
 * list or arena they were read into.
 */
#ifndef PERMILLE_CORE_SHELF_H
#define PERMILLE_CORE_SHELF_H

#include "permille/base/arena.h"

#include <stdint.h>

struct pm_shelf_entry {
    int64_t id, parent, target, at;
    const char *gesture, *sentence;
    const char *change; /* not of a list; or NULL */
    bool undone;
};
struct pm_shelf_entries {
    struct pm_shelf_entry *items; /* newest first */
    size_t count;
    struct pm_arena arena;
};

struct pm_family {
    const char *name;
    int64_t materials; /* not set aside */
};
struct pm_families {
    struct pm_family *items; /* by name */
    size_t count;
    struct pm_arena arena;
};

#endif
