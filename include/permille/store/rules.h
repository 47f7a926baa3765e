/* SPDX-License-Identifier: MIT */
/*
 * Rows of limits and label thresholds that did not come with the program: the person's own, and
 * whole sets that were loaded.
 */
#ifndef PERMILLE_STORE_RULES_H
#define PERMILLE_STORE_RULES_H

#include "permille/base/arena.h"
#include "permille/store/library.h"
#include "permille/store/materials.h"

/* What rules must know of a material, read at once. */
struct pm_matter {
    const char *name, *cas; /* cas: NULL when unknown */
    enum pm_material_kind kind;
    const char *synonyms; /* a line each; NULL when there is none */
    int64_t named;        /* the substance that has one of its names; 0 */
    int64_t numbered;     /* the only substance that has its CAS number; 0 */
    bool has_constituents;
};
/* Texts are the arena's. PM_MISSING, PM_DAMAGED. */
enum pm_status pm_matter_get(struct pm_library *library, int64_t material, struct pm_arena *arena,
                             struct pm_matter *out, struct pm_error *err);

struct pm_rule_line {
    int64_t id;
    const char *set, *name;
    bool own;             /* a figure of the person's */
    const char *replaces; /* set in which it counts in the place of the rule of its name; NULL */
    const char *kind;     /* "limit" "prohibit" "declare" "check" */
    const char *members;  /* other names, ';' between; NULL */
    const char *cas;      /* blanks between; NULL */
    const char *scope;
    int64_t percent; /* mass fraction of the product, 1e-9; -1: unknown; -2: no limit */
    const char *note, *source, *dated; /* note, dated: NULL when there is none */
    int64_t made_at;
};
struct pm_rule_lines {
    struct pm_rule_line *items; /* by set, in the order entered */
    size_t count;
    struct pm_arena arena;
};

/* Fills id and made_at. */
enum pm_status pm_rule_line_insert(struct pm_library *library, struct pm_rule_line *line,
                                   struct pm_error *err);
enum pm_status pm_rule_line_list(struct pm_library *library, struct pm_rule_lines *out,
                                 struct pm_error *err);
/* PM_MISSING when there is no such row. */
enum pm_status pm_rule_line_remove(struct pm_library *library, int64_t id, struct pm_error *err);
/* Removes every row of a set. */
enum pm_status pm_rule_set_remove(struct pm_library *library, const char *set,
                                  struct pm_error *err);

#endif
