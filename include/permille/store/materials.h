/* SPDX-License-Identifier: MIT */
/*
 * Rows of the materials shelf: what one can buy. Bottles and physical values follow in their own
 * headers. A material is never deleted once something refers to it; it is set aside.
 */
#ifndef PERMILLE_STORE_MATERIALS_H
#define PERMILLE_STORE_MATERIALS_H

#include "permille/base/arena.h"
#include "permille/core/material.h"
#include "permille/store/library.h"

/* Inserts; fills id and made_at. PM_EXISTS names the material that has the name or synonym already;
 * err->field tells which it was. The caller has cleaned the names (pm_name_clean) and checked the
 * CAS number. */
enum pm_status pm_material_insert(struct pm_library *library, struct pm_material *material,
                                  struct pm_error *err);
/* PM_REFUSED when it would no longer be a solvent and something is diluted with it. */
enum pm_status pm_material_update(struct pm_library *library, const struct pm_material *material,
                                  struct pm_error *err);
/* Takes it out of sight, or brings it back; nothing else of it changes. PM_MISSING. */
enum pm_status pm_material_set_aside(struct pm_library *library, int64_t id, bool aside,
                                     struct pm_error *err);
/* Removes it when nothing refers to it; otherwise PM_REFUSED naming what does. */
enum pm_status pm_material_delete(struct pm_library *library, int64_t id, struct pm_error *err);
enum pm_status pm_material_get(struct pm_library *library, int64_t id, struct pm_material *out,
                               struct pm_error *err);
/* By exact name, else synonym, else CAS number (folded). PM_MISSING; a CAS number of several
 * materials is PM_REFUSED naming them. Merged ones lead to what they became. */
enum pm_status pm_material_by_name(struct pm_library *library, const char *text, int64_t *id,
                                   struct pm_error *err);

/* What a sheet shows of a material. */
struct pm_material_name {
    int64_t id;
    const char *name, *cas, *family; /* cas and family may be NULL */
    bool is_solvent, set_aside;
};
struct pm_material_names {
    struct pm_material_name *items;
    size_t count;
    struct pm_arena arena;
};
/* Of one; its strings are the arena's. *merged_into is what it turned out to be, 0: nothing else.
 * PM_MISSING. */
enum pm_status pm_material_name_get(struct pm_library *library, int64_t id, struct pm_arena *arena,
                                    struct pm_material_name *out, int64_t *merged_into,
                                    struct pm_error *err);
/* All that stand in the lines of a trial or dilute them, in one read; without those that were
 * merged into another. */
enum pm_status pm_material_names_of_trial(struct pm_library *library, int64_t trial,
                                          struct pm_material_names *out, struct pm_error *err);

/* Ids of materials, ascending, each once. */
struct pm_material_ids {
    const int64_t *items;
    size_t count;
};
/* Search as you type: every word of `text` must occur in a name, synonym or CAS number (folded);
 * names that begin with the text first, then words that begin with it, then the rest, by name. At
 * most `limit` hits. Empty text lists all by name. Set-aside ones only when asked for; none that is
 * not `among` those given (NULL: all). Stays under a screen refresh on 100,000 materials. */
enum pm_status pm_material_search(struct pm_library *library, const char *text, size_t limit,
                                  bool set_aside_too, const struct pm_material_ids *among,
                                  struct pm_material_entries *out, struct pm_error *err);

/* Names and synonyms that are near what was typed (pm_name_slips, core/lookalike.h), the nearest
 * first, of those the ones that begin with the same letter, then by name; none that is set aside.
 * At most `limit`. */
enum pm_status pm_material_near(struct pm_library *library, const char *text, size_t limit,
                                struct pm_material_entries *out, struct pm_error *err);
/* The materials whose names are easily taken for this one (pm_look_alike); none that is set aside.
 * At most `limit`. */
enum pm_status pm_material_alike(struct pm_library *library, const char *name, size_t limit,
                                 struct pm_material_entries *out, struct pm_error *err);

#endif
