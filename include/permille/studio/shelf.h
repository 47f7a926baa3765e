/* SPDX-License-Identifier: MIT */
/*
 * The shelf: materials, as the front ends see them.
 */
#ifndef PERMILLE_STUDIO_SHELF_H
#define PERMILLE_STUDIO_SHELF_H

#include "permille/studio/studio.h"

#include <stddef.h>

/* Everything that may be said about a material when it is added or edited. NULL leaves a field as
 * it is (when editing) or empty; "" takes it away. */
struct pm_material_form {
    const char *name;
    const char *kind; /* "chemical" "natural" "solvent" "blend"; NULL: chemical */
    const char *cas;  /* check digit verified: PM_INVALID says which digit was expected */
    const char *family;
    const char *note;
    const char *const *synonyms; /* replaces all when synonym_count > 0 */
    size_t synonym_count;
};
enum pm_status pm_shelf_add(struct pm_studio *studio, const struct pm_material_form *form,
                            int64_t *id, struct pm_error *err);
enum pm_status pm_shelf_edit(struct pm_studio *studio, int64_t id,
                             const struct pm_material_form *form, struct pm_error *err);
/* Removes a material nothing refers to; one in use is set aside instead and *set_aside says so. */
enum pm_status pm_shelf_remove(struct pm_studio *studio, int64_t id, bool *set_aside,
                               struct pm_error *err);
/* Out of sight in searches, still in the formulas that use it; back with false. */
enum pm_status pm_shelf_set_aside(struct pm_studio *studio, int64_t id, bool aside,
                                  struct pm_error *err);
/* By name, synonym or CAS number; PM_MISSING suggests the nearest name. */
enum pm_status pm_shelf_find(struct pm_studio *studio, const char *text, int64_t *id,
                             struct pm_error *err);

struct pm_material_card {
    int64_t id;
    char *name, *kind, *cas, *family, *note; /* cas, family, note may be NULL */
    char **synonyms;
    size_t synonym_count;
    bool set_aside;
};
enum pm_status pm_shelf_card(struct pm_studio *studio, int64_t id, struct pm_material_card *out,
                             struct pm_error *err);
void pm_material_card_release(struct pm_material_card *card);

struct pm_material_entry {
    int64_t id;
    char *name;
    char *matched;      /* synonym or CAS number that matched; NULL when it was the name */
    char *cas, *family; /* or NULL */
    const char *kind;
    bool is_solvent;
};
struct pm_material_entries {
    struct pm_material_entry *items; /* owned */
    size_t count;
};
/* Search as you type (accents, case, synonyms, CAS); at most limit entries. */
enum pm_status pm_shelf_search(struct pm_studio *studio, const char *text, size_t limit,
                               bool set_aside_too, struct pm_material_entries *out,
                               struct pm_error *err);
void pm_material_entries_release(struct pm_material_entries *entries);

#endif
