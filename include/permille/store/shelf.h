/* SPDX-License-Identifier: MIT */
/*
 * The shelf as a whole: its history, which gives undo and redo also after a restart; materials by
 * what the shelf holds of them; rates of exchange.
 */
#ifndef PERMILLE_STORE_SHELF_H
#define PERMILLE_STORE_SHELF_H

#include "permille/base/amount.h"
#include "permille/base/arena.h"
#include "permille/base/clock.h"
#include "permille/base/map.h"
#include "permille/core/currency.h"
#include "permille/core/shelf.h"
#include "permille/store/library.h"

/* ---- history ---- */

/* Rows that change together, named by one number: what an entry can bring back. */
enum pm_shelf_rows {
    PM_ROWS_MATERIAL,      /* the material's row */
    PM_ROWS_NAMES,         /* its names */
    PM_ROWS_FACTS,         /* its own facts */
    PM_ROWS_SHIPPED_FACTS, /* those of the starter set: only when the material goes */
    PM_ROWS_CONSTITUENTS,  /* its own constituents */
    PM_ROWS_SHIPPED_CONSTITUENTS,
    PM_ROWS_STARTER, /* its link to the starter set */
    PM_ROWS_BOTTLE,  /* the bottle's row (never its ledger) */
    PM_ROWS_BATCH,   /* the batch's row (never what happened to it) */
    PM_ROWS_FORMULA, /* whether the formula is out of sight, no more */
    PM_ROWS_COUNT
};

/*
 * An entry being made, inside a transaction: say which rows are about to change before they do
 * (each once is enough), name the movements that were added and the revisions that drafts got, then
 * write. Rows that turn out unchanged are left out. Always release.
 */
struct pm_shelf_log {
    struct pm_library *library;
    struct pm_shelf_touched *touched; /* owned */
    size_t touched_count, touched_capacity;
    struct pm_map seen; /* of them, by rows and id */
    int64_t *movements; /* owned */
    size_t movement_count, movement_capacity;
    int64_t *revisions; /* owned */
    size_t revision_count, revision_capacity;
    int64_t *events; /* owned */
    size_t event_count, event_capacity;
    int64_t *shown; /* first and last of each run of ids, owned */
    size_t shown_count, shown_capacity;
};
void pm_shelf_log_init(struct pm_shelf_log *log, struct pm_library *library);
void pm_shelf_log_release(struct pm_shelf_log *log);
enum pm_status pm_shelf_log_touch(struct pm_shelf_log *log, enum pm_shelf_rows rows, int64_t id,
                                  struct pm_error *err);
/* The same for rows that have just been inserted: before them there were none. */
enum pm_status pm_shelf_log_born(struct pm_shelf_log *log, enum pm_shelf_rows rows, int64_t id,
                                 struct pm_error *err);
enum pm_status pm_shelf_log_moved(struct pm_shelf_log *log, int64_t movement, struct pm_error *err);
/* A draft was rewritten in the same step; the step is undone and redone together with it. */
enum pm_status pm_shelf_log_drafted(struct pm_shelf_log *log, int64_t revision,
                                    struct pm_error *err);
/* Something happened to a batch; undo lets it stand as it stood before. */
enum pm_status pm_shelf_log_happened(struct pm_shelf_log *log, int64_t event, struct pm_error *err);
/* A material was added that undo puts out of sight, and redo brings back: for very many, which have
 * no images then. What is put out of sight keeps its name. */
enum pm_status pm_shelf_log_shown(struct pm_shelf_log *log, int64_t material, struct pm_error *err);
/* Appends the entry. Where nothing changed none is written and *written (may be NULL) is false.
 * Without `undoable` the entry stands beside the line of history and carries no change. */
enum pm_status pm_shelf_log_write(struct pm_shelf_log *log, const char *gesture,
                                  const char *sentence, bool undoable, bool *written,
                                  struct pm_error *err);

/* At most `limit`. */
enum pm_status pm_shelf_log_list(struct pm_library *library, size_t limit,
                                 struct pm_shelf_entries *out, struct pm_error *err);
/* The entry the shelf shows; 0 before the first. */
enum pm_status pm_shelf_log_head(struct pm_library *library, int64_t *entry, struct pm_error *err);
/* What redo would put in force again: the newest undoable child of the head; 0: nothing. */
enum pm_status pm_shelf_log_next(struct pm_library *library, int64_t *entry, struct pm_error *err);
/* Its parent, sentence and change. */
enum pm_status pm_shelf_log_get(struct pm_library *library, int64_t id, struct pm_arena *arena,
                                struct pm_shelf_entry *out, struct pm_error *err);

/* One thing an entry changed. */
enum pm_shelf_changed {
    PM_SHELF_IMAGES,   /* rows, which have images */
    PM_SHELF_MOVED,    /* a movement was added */
    PM_SHELF_DRAFTED,  /* a draft got a revision */
    PM_SHELF_HAPPENED, /* something happened to a batch */
    PM_SHELF_SHOWN     /* materials `id` to `last` came into sight */
};
struct pm_shelf_change {
    enum pm_shelf_changed what;
    enum pm_shelf_rows rows; /* of images */
    int64_t id, last;
    const char *from, *to; /* images: what must be there now, what is to be there; NULL: no row */
};
struct pm_shelf_changes {
    struct pm_shelf_change *items;
    size_t count;
    struct pm_arena arena;
};
/* Reads an entry's change, as it is to be undone or done again. */
enum pm_status pm_shelf_log_changes(struct pm_library *library, const char *text, bool undo,
                                    struct pm_shelf_changes *out, struct pm_error *err);
/* Whether the rows are as `from` says. */
enum pm_status pm_shelf_image_current(struct pm_library *library,
                                      const struct pm_shelf_change *change, bool *current,
                                      struct pm_error *err);
/* Makes all rows that have images as `to` says; a bottle that is to be gone is set aside. */
enum pm_status pm_shelf_images_put(struct pm_library *library,
                                   const struct pm_shelf_changes *changes, struct pm_error *err);
/* Puts materials in that run of ids out of sight, or brings them back. */
enum pm_status pm_shelf_show(struct pm_library *library, int64_t first, int64_t last, bool shown,
                             struct pm_error *err);
/* Appends that `target` was undone or done again, and makes `head` the head. */
enum pm_status pm_shelf_log_step(struct pm_library *library, int64_t target, int64_t head,
                                 bool undo, const char *sentence, struct pm_error *err);

/* ---- what the shelf holds ---- */

struct pm_holding {
    int64_t material;
    int64_t bottles;      /* not set aside, something left */
    pm_mass poured, neat; /* left in them: as it stands, and neat */
    pm_mass level;        /* low-stock level in neat mass; -1: none */
    int64_t old;          /* how many of the bottles are past their date */
    int64_t rating;       /* 1 to 5; 0: none */
};
struct pm_holdings {
    struct pm_holding *items;
    size_t count;
    struct pm_arena arena;
};
/* One for each of the materials, in their order, by one query. A bottle is past its date from the
 * day after it on. */
enum pm_status pm_holdings_list(struct pm_library *library, const int64_t *materials, size_t count,
                                pm_day today, struct pm_holdings *out, struct pm_error *err);

enum pm_holding_filter {
    PM_HOLDING_HAVE, /* something left */
    PM_HOLDING_LOW,  /* a low-stock level that what is left does not reach */
    PM_HOLDING_OLD   /* a bottle with something left past its date */
};
/* Both add the materials to the list, in no order. */
enum pm_status pm_holding_list(struct pm_library *library, enum pm_holding_filter filter,
                               pm_day today, struct pm_ids *list, struct pm_error *err);
enum pm_status pm_family_list(struct pm_library *library, const char *family, struct pm_ids *list,
                              struct pm_error *err);

/* The families in use. */
enum pm_status pm_family_names(struct pm_library *library, struct pm_families *out,
                               struct pm_error *err);

/* ---- rates ---- */

enum pm_status pm_rate_insert(struct pm_library *library, const struct pm_rate *rate,
                              struct pm_error *err);
/* The rate of the newest day not after `day`; rate 0 in *out when there is none. */
enum pm_status pm_rate_get(struct pm_library *library, const char *currency, const char *other,
                           pm_day day, struct pm_rate *out, struct pm_error *err);
enum pm_status pm_rate_list(struct pm_library *library, struct pm_rates *out, struct pm_error *err);

#endif
