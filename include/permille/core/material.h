/* SPDX-License-Identifier: MIT */
/*
 * Materials: what one can buy, and rows about them.
 */
#ifndef PERMILLE_CORE_MATERIAL_H
#define PERMILLE_CORE_MATERIAL_H

#include "permille/base/arena.h"
#include "permille/core/entity.h"

#include <stdbool.h>
#include <stdint.h>

enum pm_material_kind { PM_CHEMICAL, PM_NATURAL, PM_SOLVENT, PM_BLEND };
const char *pm_material_kind_word(enum pm_material_kind kind); /* "chemical" */
bool pm_material_kind_from_word(const char *word, enum pm_material_kind *out);

struct pm_material {
    int64_t id;
    const char *name; /* unique among all names and synonyms, case and accents ignored */
    enum pm_material_kind kind;
    const char *cas; /* checked digits, NULL when unknown */
    const char *const *synonyms;
    size_t synonym_count;
    const char *family; /* odour family, own word or NULL */
    const char *note;   /* NULL when none */
    bool set_aside;
    int64_t merged_into; /* id of the material this one turned out to be; 0 */
    int64_t made_at;
    struct pm_arena arena; /* of the strings, where it was read */
};
void pm_material_release(struct pm_material *material); /* frees its strings, clears it */

/* Whether it is its name or one of its synonyms, case and accents ignored. */
bool pm_material_has_name(const struct pm_material *material, const char *name);

/* What is typed of a material; arrays of values are indexed by it. */
enum pm_material_attribute {
    PM_MATERIAL_NAME,
    PM_MATERIAL_KIND,
    PM_MATERIAL_CAS,
    PM_MATERIAL_FAMILY,
    PM_MATERIAL_SYNONYMS,
    PM_MATERIAL_NOTE,
    PM_MATERIAL_ATTRIBUTES
};
extern const struct pm_entity pm_material_entity;

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
