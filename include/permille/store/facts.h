/* SPDX-License-Identifier: MIT */
/*
 * What is known of materials: facts and constituents, each with its source, and the starter set
 * that came with the program. Rows of origin own stand over those of origin starter.
 */
#ifndef PERMILLE_STORE_FACTS_H
#define PERMILLE_STORE_FACTS_H

#include "permille/base/arena.h"
#include "permille/core/constituent.h"
#include "permille/store/library.h"

struct pm_fact {
    const char *property; /* word of pm_fact_find() */
    enum pm_origin origin;
    bool is_number;
    int64_t value;      /* 1e-9 of the property's unit */
    const char *words;  /* or NULL */
    const char *source; /* or NULL */
    enum pm_confidence confidence;
};
/* Puts the fact in place of the one of that property and origin. */
enum pm_status pm_fact_put(struct pm_library *library, int64_t material, const struct pm_fact *fact,
                           struct pm_error *err);
enum pm_status pm_fact_remove(struct pm_library *library, int64_t material, const char *property,
                              enum pm_origin origin, struct pm_error *err);
struct pm_facts {
    struct pm_fact *items;
    size_t count;
    struct pm_arena arena;
};
/* By property, own before starter. */
enum pm_status pm_fact_list(struct pm_library *library, int64_t material, struct pm_facts *out,
                            struct pm_error *err);
/* The value that stands (own over starter); *found tells whether there is one. */
enum pm_status pm_fact_value(struct pm_library *library, int64_t material, const char *property,
                             int64_t *value, bool *found, struct pm_error *err);

/* Replaces all constituents of one origin; count 0 removes them. */
enum pm_status pm_constituents_put(struct pm_library *library, int64_t material,
                                   enum pm_origin origin, const struct pm_constituent *items,
                                   size_t count, struct pm_error *err);
/* Own ones first, each origin in its order. */
enum pm_status pm_constituents_list(struct pm_library *library, int64_t material,
                                    struct pm_constituents *out, struct pm_error *err);

/* ---- the starter set ---- */

/* A reference table that came with the program ("materials.csv"), as text; NULL when there is none.
 * It belongs to the program. */
const char *pm_reference_table(const char *name, size_t *length);
/* Removes every starter fact and constituent of the material; own ones stay. */
enum pm_status pm_starter_clear(struct pm_library *library, int64_t material, struct pm_error *err);
/* Which material a starter name stands for; *material is 0 when it is not linked. */
enum pm_status pm_starter_find(struct pm_library *library, const char *name, int64_t *material,
                               struct pm_error *err);
/* Whether any material is linked at all. */
enum pm_status pm_starter_any(struct pm_library *library, bool *any, struct pm_error *err);
enum pm_status pm_starter_link(struct pm_library *library, const char *name, int64_t material,
                               struct pm_error *err);

#endif
