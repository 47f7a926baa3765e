/* SPDX-License-Identifier: MIT */
/*
 * The book of rules in use, and what materials bring to it. Made once and kept with the studio's
 * caches; results count themselves in, so that what they point at outlives a change of the library.
 *
 * Substances get keys: the number of a substance the library knows, or one made from a material's
 * number for what is no substance of any list. Names decide; a CAS number does where the material
 * is a chemical. For naturals and blends a number alone leaves it in doubt, because several
 * products share one.
 */
#ifndef PERMILLE_STUDIO_RULEBOOK_H
#define PERMILLE_STUDIO_RULEBOOK_H

#include "inside.h"

#include "permille/base/csv.h"
#include "permille/core/limits.h"
#include "permille/store/rules.h"
#include "permille/studio/limits.h"

/* What sets are called. The shipped ones come first in this order. */
#define PM_SET_STANDARDS "IFRA Standards"
#define PM_SET_LAW       "EU law"
#define PM_SET_ALLERGENS "EU label allergens"
#define PM_SET_OWN       "Own limits"

/* A rule is found by one of its names, or by one of its numbers. */
struct pm_rule_key {
    const char *text; /* a folded name, or a CAS number */
    size_t rule;      /* place in the book */
};
struct pm_rule_keys {
    struct pm_rule_key *items; /* sorted by text once the book is closed */
    size_t count;
    struct pm_arena arena;
};

/* A substance that is the sum of others: "citral" of geranial and neral. */
struct pm_whole {
    const char *name;   /* folded */
    const char **parts; /* folded */
    size_t count;
};
struct pm_wholes {
    struct pm_whole *items;
    size_t count;
    struct pm_arena arena;
};

struct pm_known { /* a material */
    int64_t key;  /* of itself */
    const char *name;
    bool natural;             /* or a blend */
    bool bare;                /* natural, and no constituent is listed */
    struct pm_content *items; /* what it holds, itself first */
    size_t count;
    struct pm_arena arena;
};

struct pm_limits_world {
    int uses;
    struct pm_book book;
    struct pm_rule_keys names, numbers;
    struct pm_wholes wholes;
    struct pm_map known;  /* material: struct pm_known */
    struct pm_map titles; /* key: const char *, what the substance is called */
    struct pm_map units;  /* accord trial: struct pm_flat of PM_UNIT of it */
    struct pm_arena arena;
};

/* Lines are looked at in portions of 1000 parts. */
#define PM_UNIT (INT64_C(1000) * PM_PART)

/* Borrowed from the studio. */
enum pm_status pm_limits_world(struct pm_studio *studio, struct pm_limits_world **out,
                               struct pm_error *err);
struct pm_limits_world *pm_limits_world_keep(struct pm_limits_world *world);
void pm_limits_world_drop(struct pm_limits_world *world); /* NULL allowed */

enum pm_status pm_limits_known(struct pm_studio *studio, struct pm_limits_world *world,
                               int64_t material, struct pm_known **out, struct pm_error *err);
const char *pm_limits_title(const struct pm_limits_world *world, int64_t key);
/* What PM_UNIT of an accord's kept trial holds. */
enum pm_status pm_limits_unit(struct pm_studio *studio, struct pm_limits_world *world,
                              int64_t trial, const struct pm_flat **out, struct pm_error *err);

/* ---- reading rules (rulebook_read.c) ---- */

/* Fills the book with the sets in use; `closed` sorts and ties them. */
enum pm_status pm_rulebook_read(struct pm_studio *studio, struct pm_limits_world *world,
                                struct pm_error *err);
/* Whether a set is used; names are compared folded. */
enum pm_status pm_rule_set_in_use(struct pm_studio *studio, const char *name, bool *in_use,
                                  struct pm_error *err);
/* "0.043", "NR", "" to a figure of the product. */
enum pm_status pm_read_figure(const char *text, pm_strength *out, struct pm_error *err);

/* ---- tables that came with the program ---- */

struct pm_shipped {
    struct pm_csv *csv; /* the row */
    struct pm_csv *header;
};
/* The field of the row; "" when there is no such column. */
const char *pm_shipped_field(const struct pm_shipped *table, const char *column);
typedef enum pm_status pm_shipped_row(void *context, const struct pm_shipped *table,
                                      struct pm_error *err);
enum pm_status pm_shipped_each(const char *name, pm_shipped_row *visit, void *context,
                               struct pm_error *err);

#endif
