/* SPDX-License-Identifier: MIT */
/*
 * Inside another library that lies beside the open one (permille/store/other.h).
 *
 *   other.c          opening: the private copy, attached to the library's connection as "other"
 *   other_match.c    which row of theirs is which of ours: temp.other_map
 *   other_history.c  the same of formulas, by their trees of revisions
 *   other_items.c    the items and what they need: temp.other_item, temp.other_need
 *   other_fields.c   in what two differ, field by field
 *   other_bring.c    the rows of what was chosen, with the numbers they have here
 *
 * SQL does the work on both at once. Its tables of the moment are temporary ones:
 *
 *   other_map (tbl, theirs, mine, fresh)   rows that correspond; fresh: one that comes in
 *   other_item, other_need                 as struct pm_other_item, struct pm_other_need
 *   other_ref (formula, trial, id)         what changes of a formula's history speak of
 *   other_smell (id, root)                 smell notes, and the first of their corrections
 *   other_chosen (kind, id, second, name, number, forked)
 */
#ifndef PERMILLE_STORE_OTHER_INSIDE_H
#define PERMILLE_STORE_OTHER_INSIDE_H

#include "permille/store/other.h"
#include "shapes.h"
#include "store.h"

struct pm_other {
    struct pm_library *library; /* borrowed */
    struct pm_shapes shapes;    /* the tables, the same in both */
    /* What had happened to the library when the items were made. */
    int64_t version, changes;
    bool some; /* there are items */
    int done;  /* statements run, for whoever looks on */
};

#define OTHER_DOING "comparing the libraries"

/* Number here of a row of theirs, as SQL: NULL where it has none. */
#define MINE(table, theirs)                                                                        \
    "(SELECT mine FROM temp.other_map WHERE tbl = '" table "' AND theirs = " theirs ")"
#define MAPPED(table, theirs)                                                                      \
    "EXISTS (SELECT 1 FROM temp.other_map WHERE tbl = '" table "' AND theirs = " theirs ")"

/* Largest number that a bottle keeps: room for those to come. */
#define OTHER_GLASS_MOST "999999"
/* Note of a bottle that cannot keep the number on its glass. */
#define OTHER_BOTTLE_NOTE                                                                          \
    "(ifnull(o.note || '; ', '') || printf('on its glass: B%03d, in the library it came from', "   \
    "o.id))"

/* Runs SQL, asking the watch first. */
enum pm_status pm_other_run(struct pm_other *other, const char *sql, struct pm_error *err);
/* The same of SQL that was put together, which is released. */
enum pm_status pm_other_run_text(struct pm_other *other, struct pm_text *sql, struct pm_error *err);
/* First column of the first row, 0 when there is none. */
enum pm_status pm_other_ask(struct pm_other *other, const char *sql, int64_t *out,
                            struct pm_error *err);
/* Prepares a statement for many uses; sqlite3_finalize. */
enum pm_status pm_other_prepare(struct pm_other *other, const char *sql, sqlite3_stmt **out,
                                struct pm_error *err);
const struct pm_shape *pm_other_shape(const struct pm_other *other, const char *table);

/* Fills temp.other_map. */
enum pm_status pm_other_match(struct pm_other *other, struct pm_error *err);
/* ... for formulas, trials and revisions. */
enum pm_status pm_other_match_formulas(struct pm_other *other, struct pm_error *err);
/* Fills temp.other_ref from the histories of formulas that have something to bring. */
enum pm_status pm_other_collect_refs(struct pm_other *other, struct pm_error *err);

/* Whether a column of a table is part of what an item says (not its number, a time of entry...). */
bool pm_other_is_content(const char *table, const char *column);
/* What a column refers to, or NULL: the table, from its foreign keys. Kept by the arena. */
enum pm_status pm_other_target(struct pm_other *other, const char *table, const char *column,
                               struct pm_arena *arena, const char **out, struct pm_error *err);
/* The table of which an item is a row; NULL: of several (rules). */
const char *pm_other_table(enum pm_other_kind kind);

/* Whether rows of the table come in with what they belong to. */
bool pm_other_brings(const char *table);

/* Rewrites the changes of one formula's revisions that are fresh: `theirs` is the formula there. */
enum pm_status pm_other_tell_changes(struct pm_other *other, int64_t theirs, struct pm_error *err);

#endif
