/* SPDX-License-Identifier: MIT */
/*
 * Rows about materials.
 */
#ifndef PERMILLE_CORE_MATERIAL_H
#define PERMILLE_CORE_MATERIAL_H

#include "permille/base/arena.h"

#include <stdint.h>

/* A material as a search finds it. */
struct pm_material_entry {
    int64_t id;
    const char *name;
    const char *matched;      /* synonym or CAS number that matched; NULL when it was the name */
    const char *cas, *family; /* or NULL */
    const char *kind;         /* "chemical" "natural" "solvent" "blend" */
    bool is_solvent;
    int slips;     /* where names were looked for that are near what was typed; else 0 */
    bool on_shelf; /* likewise: something of it is left */
};
struct pm_material_entries {
    struct pm_material_entry *items;
    size_t count;
    struct pm_arena arena;
};

#endif
