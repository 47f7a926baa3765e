/* SPDX-License-Identifier: MIT */
/*
 * The shelf: materials, what is known of them, and the shelf's own history. Bottles stand in
 * bottles.h; stock, cost and shopping in stock.h.
 *
 * Forms hold text as it was typed or stands in a table: front ends pass a cell's text on and show
 * the sentence that comes back. Every change here and in bottles.h is one entry of the shelf's
 * history and can be undone, also after a restart.
 */
#ifndef PERMILLE_STUDIO_SHELF_H
#define PERMILLE_STUDIO_SHELF_H

#include "permille/base/amount.h"
#include "permille/base/text.h"
#include "permille/core/constituent.h"
#include "permille/core/material.h"
#include "permille/core/shelf.h"
#include "permille/studio/paper.h"
#include "permille/studio/studio.h"

#include <stddef.h>

/* Values as typed, by attribute of pm_material_entity: NULL leaves one as it is (when editing) or
 * empty; "" takes it away. */
/* Refuses what pm_shelf_add would refuse whatever the library holds: no file need be made for it.
 */
enum pm_status pm_shelf_check(const char *const *values, struct pm_error *err);
enum pm_status pm_shelf_add(struct pm_studio *studio, const char *const *values, int64_t *id,
                            struct pm_error *err);
enum pm_status pm_shelf_edit(struct pm_studio *studio, int64_t id, const char *const *values,
                             struct pm_error *err);
/* Removes a material nothing refers to; one in use is set aside instead and *set_aside says so. */
enum pm_status pm_shelf_remove(struct pm_studio *studio, int64_t id, bool *set_aside,
                               struct pm_error *err);
/* Out of sight in searches, still in the formulas that use it; back with false. */
enum pm_status pm_shelf_set_aside(struct pm_studio *studio, int64_t id, bool aside,
                                  struct pm_error *err);
/* By name, synonym or CAS number; PM_MISSING suggests the nearest name. */
enum pm_status pm_shelf_find(struct pm_studio *studio, const char *text, int64_t *id,
                             struct pm_error *err);

/* Everything that was entered about one (pm_material_release). */
enum pm_status pm_shelf_card(struct pm_studio *studio, int64_t id, struct pm_material *out,
                             struct pm_error *err);

/* Search as you type (accents, case, synonyms, CAS); at most limit entries. */
enum pm_status pm_shelf_search(struct pm_studio *studio, const char *text, size_t limit,
                               bool set_aside_too, struct pm_material_entries *out,
                               struct pm_error *err);
/* What may have been meant by a name that nothing has: the nearest in spelling first, then what is
 * on the shelf; at most `limit`. */
enum pm_status pm_shelf_near(struct pm_studio *studio, const char *text, size_t limit,
                             struct pm_material_entries *out, struct pm_error *err);

/* Appends the material's name; where another of the library is easily taken for it, with the
 * letters that tell them apart in capitals (core/lookalike.h). `alike` (may be NULL) gets those
 * names, with commas between: where there are some, family and CAS number belong beside the name.
 */
enum pm_status pm_shelf_tall_name(struct pm_studio *studio, int64_t material, struct pm_text *out,
                                  struct pm_text *alike, struct pm_error *err);

/* ---- facts: what is known of a material, each with its source ---- */

struct pm_fact_entry {
    const char *property;   /* "density", as pm_shelf_set_fact takes it; static */
    const char *label;      /* "density at 20 °C"; static */
    const char *text;       /* "0.8411 g/ml", "woody; dry" */
    bool is_number;         /* then value holds it, 1e-9 of `unit` */
    int64_t value;          /* (fractions: 1e9 is the whole) */
    const char *unit;       /* "g/ml", "%", ""; static */
    const char *source;     /* NULL when none was given */
    const char *confidence; /* "checked" "memory" "own", "predicted" by a model; static */
    bool own;               /* entered by the person, not shipped */
    bool stands;            /* counts: own ones hide shipped ones of the same property */
};
struct pm_fact_entries {
    struct pm_fact_entry *items; /* by the order of pm_fact_properties, own first */
    size_t count;
    struct pm_arena arena;
};
enum pm_status pm_shelf_facts(struct pm_studio *studio, int64_t material,
                              struct pm_fact_entries *out, struct pm_error *err);
/* One's own value of a property (pm_fact_properties in core/fact.h: also "rating", "low",
 * "maximum", "descriptors"). "" takes it away, and what was shipped counts again. source may be
 * NULL. */
enum pm_status pm_shelf_set_fact(struct pm_studio *studio, int64_t material, const char *property,
                                 const char *text, const char *source, struct pm_error *err);

/* What the material is known to hold: one's own figures, then those that were shipped. The caller's
 * (pm_list_release). */
enum pm_status pm_shelf_constituents(struct pm_studio *studio, int64_t material,
                                     struct pm_constituents *out, struct pm_error *err);
/* Sets one's own figures for one constituent; values as typed, by attribute of
 * pm_constituent_entity. The first own constituent starts one's own list with a copy of what was
 * shipped. All three figures empty: removed. */
enum pm_status pm_shelf_set_constituent(struct pm_studio *studio, int64_t material,
                                        const char *const *values, struct pm_error *err);

/* What the reference lists say to be careful about, and what they do not know. */
struct pm_caution {
    const char *topic; /* "sensitiser" "phototoxic" "prohibited" "flammable" "oxidises"; static */
    bool known;        /* false: the lists say nothing, which never means safe */
    char *sentence, *source;
};
struct pm_cautions {
    struct pm_caution *items; /* owned; never empty: the last one says who decides */
    size_t count;
};
enum pm_status pm_shelf_cautions(struct pm_studio *studio, int64_t material,
                                 struct pm_cautions *out, struct pm_error *err);
void pm_cautions_release(struct pm_cautions *cautions);

/* ---- the list of the Shelf: search with filters ---- */

struct pm_shelf_filter {
    const char *text;   /* as pm_shelf_search; NULL or "": all */
    const char *family; /* case and accents ignored; NULL: any */
    bool have;          /* something left in a bottle */
    bool low;           /* below its low-stock level */
    bool old;           /* a bottle with something left is past its date */
    bool over;          /* above its maximum (own, else usual) in a draft that is no accord */
    bool set_aside_too;
    size_t limit;
};
struct pm_shelf_row {
    int64_t id;
    const char *name, *matched, *cas, *family; /* as in pm_material_entry */
    const char *kind;
    bool is_solvent;
    int64_t bottles;      /* with something left */
    pm_mass poured, neat; /* left: as it stands in the bottles, and neat */
    pm_mass level;        /* low-stock level (neat); -1: none */
    bool low, old;
    int64_t rating; /* 1 to 5; 0: none */
};
struct pm_shelf_rows_found {
    struct pm_shelf_row *items;
    size_t count;
    struct pm_arena arena;
    bool more; /* the limit cut the list */
};
enum pm_status pm_shelf_list(struct pm_studio *studio, const struct pm_shelf_filter *filter,
                             struct pm_shelf_rows_found *out, struct pm_error *err);

/* The families in use, for the filter. */
enum pm_status pm_shelf_families(struct pm_studio *studio, struct pm_families *out,
                                 struct pm_error *err);

/* ---- two that are one ---- */

/* `from` turned out to be `into`: its bottles, names, note, own facts follow (where
 * both have an own value of a property, that of `into` stands); every formula shows `into`
 * from now on, kept trials without being touched, drafts with an entry in their history. */
enum pm_status pm_shelf_merge(struct pm_studio *studio, int64_t from, int64_t into,
                              struct pm_error *err);

/* ---- history of the shelf ---- */

/* The newest `limit` entries, newest first. The caller's (pm_list_release). */
enum pm_status pm_shelf_history(struct pm_studio *studio, size_t limit,
                                struct pm_shelf_entries *out, struct pm_error *err);
/* *sentence (may be NULL) is a new string that says what was undone. PM_REFUSED when there is
 * nothing, or when it cannot be: the sentence says why. Movements are taken back by corrections. */
enum pm_status pm_shelf_undo(struct pm_studio *studio, char **sentence, struct pm_error *err);
enum pm_status pm_shelf_redo(struct pm_studio *studio, char **sentence, struct pm_error *err);

/* ---- tables in and out ---- */

struct pm_import_result {
    int64_t added, updated, same;
};
/* Adds the materials of the starter set, or brings their shipped facts up to date; what the person
 * entered stays as it is. Not part of undo. */
enum pm_status pm_shelf_import_starter(struct pm_studio *studio, struct pm_import_result *out,
                                       struct pm_error *err);
/* Only those named. PM_MISSING for a name that is not in the set. */
enum pm_status pm_shelf_import_named(struct pm_studio *studio, const char *const *names,
                                     size_t count, struct pm_import_result *out,
                                     struct pm_error *err);
/* A CSV table of materials (a column "name"), bottles (a column "material") or movements (columns
 * "bottle" and "kind"), told by its header, or a JSON document of the shelf as pm_shelf_paper
 * writes it; all of it or nothing; PM_INVALID names line and column, or row and column. A material
 * that is there already gets what the row's cells say; empty cells leave a thing as it is. A first
 * line that begins with '#' is passed over. `text` is the file's content. One entry of the shelf's
 * history: undone, new materials and bottles are out of sight, what was changed is as before, and
 * movements are corrected. */
enum pm_status pm_shelf_import(struct pm_studio *studio, const char *text, size_t length,
                               struct pm_import_result *out, struct pm_error *err);

/* What would become of the rows. */
enum pm_import_outcome { PM_IMPORT_NEW, PM_IMPORT_CHANGED, PM_IMPORT_SAME };
const char *pm_import_word(enum pm_import_outcome outcome); /* "new" "up to date" "as it is" */
struct pm_import_row {
    const char *what; /* "materials" "bottles" "movements"; static */
    const char *name; /* of the material, or the bottle's label */
    enum pm_import_outcome outcome;
    const char *changes; /* columns that change: "cas, density"; or NULL */
    int64_t material;    /* tells rows about the same one; gone when they were only tried; or 0 */
};
struct pm_import_rows {
    struct pm_import_row *items; /* in the order they stand there */
    size_t count;
    struct pm_arena arena;
    size_t fault; /* the row that cannot come in, from 0, when the call failed for that; SIZE_MAX */
    size_t fault_column; /* of its cells the one at fault, from 1; 0: all of them */
    const char *reason;  /* why it cannot, without the place that the call's sentence begins with */
};
/* The same without writing anything. When a row cannot come in, the call fails as the import would;
 * *out is filled in any case: release it. */
enum pm_status pm_shelf_import_try(struct pm_studio *studio, const char *text, size_t length,
                                   struct pm_import_rows *out, struct pm_error *err);

/* "materials" or "bottles" (those not set aside, with what is left) in the columns that import
 * reads, or "movements": the ledger as it stands, signed and with its corrections, to be read
 * elsewhere. Appended to out. */
enum pm_status pm_shelf_export(struct pm_studio *studio, const char *what, struct pm_text *out,
                               struct pm_error *err);
/* The same in any form (paper.h), and "shelf" for all three, which CSV has no room for
 * (PM_INVALID). JSON: {"materials":[{"name":"...", ...}], ...}, every value a text as the CSV has
 * it, or null. A page leaves out columns in which nothing stands. */
enum pm_status pm_shelf_paper(struct pm_studio *studio, const char *what, enum pm_paper paper,
                              char sign, struct pm_text *out, struct pm_error *err);

#endif
