/* SPDX-License-Identifier: MIT */
/*
 * Inside the store: the open library, its statements, and how SQLite's failures become ours.
 */
#ifndef PERMILLE_STORE_STORE_H
#define PERMILLE_STORE_STORE_H

#include "permille/base/arena.h"
#include "permille/base/clock.h"
#include "permille/store/library.h"
#include "statements.h"

#include <sqlite3.h>

#define PM_APPLICATION_ID 0x7065726D /* "perm" */
#define PM_BUSY_WAIT_MS   2000

struct pm_embedded;

/* What tests may choose; the product uses the defaults. */
struct pm_store_options {
    const char *vfs;              /* NULL: SQLite's own */
    int wait_ms;                  /* for another process's lock */
    const struct pm_watch *watch; /* while it is opened */
    /* Waits until the folder of path is on the disk: pm_folder_sync. */
    enum pm_status (*sync_folder)(const char *path, struct pm_error *err);
    const struct pm_embedded *files; /* the migrations */
    size_t file_count;
};

/* How long this library still waits for other processes: PM_BUSY_WAIT_MS in all, however many calls
 * one gesture makes, until a lock was given again. */
struct pm_patience {
    int wait_ms, waited_ms;
};

/* Blocks of the search table whose materials this change touched; one may stand twice. They are
 * remembered to its end: a step that is given up takes back what was written of them. */
struct pm_stale {
    int64_t *blocks; /* owned */
    size_t count, capacity;
    bool written; /* the table agrees with the materials */
};

struct pm_library {
    sqlite3 *db;
    char *path;   /* absolute; owned */
    char *remark; /* owned or NULL */
    const struct pm_clock *clock;
    struct pm_store_options options;
    bool read_only;
    bool made;    /* opening made the file */
    int depth;    /* nested begins */
    int whole;    /* the depth from which on nothing is given up alone; 0: none */
    bool broken;  /* there, a part was given up: all of it must be */
    bool spoiled; /* an inner step could not be undone: the outermost commit must fail */
    int readers;  /* nested begin_reads */
    const struct pm_watch *watch; /* who looks on; NULL: nobody */
    bool ending;                  /* a transaction is being ended, which nobody can stop */
    sqlite3_stmt *rollback;       /* ready, since undoing must need no memory; NULL: never begun */
    struct pm_patience patience;
    int changes;      /* SQLite's count of changed rows when the transaction began */
    bool unconfirmed; /* a change is written, and the disk did not confirm the folder */
    struct pm_stale stale;
    int64_t next_material; /* the number of the next one, within a whole change; 0: to be asked */
    int64_t version;       /* last answer of pm_library_version */
    sqlite3_stmt *statements[PM_SQL_COUNT]; /* prepared when first used */
};

void pm_store_defaults(struct pm_store_options *options);
enum pm_status pm_library_open_with(const char *path, int flags, const struct pm_clock *clock,
                                    const struct pm_store_options *options, struct pm_library **out,
                                    struct pm_error *err);

/* A private copy in memory of the library at path, brought up to the newest step; the file is only
 * read. It takes what opening takes from `beside`, also who looks on. Statuses as pm_library_open;
 * one from an earlier step is no error. */
enum pm_status pm_library_open_copy(const char *path, const struct pm_library *beside,
                                    struct pm_library **out, struct pm_error *err);

/* ---- failures ---- */

/* Records what SQLite's result code rc (extended) means for the person. `doing` completes "while
 * ...": "saving the change". db may be NULL; it tells more about broken rules. */
enum pm_status pm_store_fail(sqlite3 *db, int rc, const char *doing, struct pm_error *err);

/* ---- statements ----
 *
 * One use of a statement: opened, parameters bound in order, rows stepped, closed. Failures stick
 * until pm_query_close reports them, so a caller checks once. A statement already in use (a visitor
 * calling back into the store) is prepared a second time for the while.
 */
struct pm_query {
    struct pm_library *library;
    sqlite3_stmt *statement; /* NULL when it could not be had */
    enum pm_sql which;
    int bound;        /* parameters bound so far */
    int rc;           /* SQLITE_OK, SQLITE_ROW, SQLITE_DONE, or what went wrong */
    char damaged[64]; /* what a row was found to be no sound one of; "": nothing */
};

void pm_query_open(struct pm_query *query, struct pm_library *library, enum pm_sql which);
void pm_query_int(struct pm_query *query, int64_t value);
void pm_query_key(struct pm_query *query, int64_t id);          /* 0 is stored as NULL */
void pm_query_day(struct pm_query *query, pm_day day);          /* PM_NO_DAY is stored as NULL */
void pm_query_known(struct pm_query *query, int64_t value);     /* less than 0 is stored as NULL */
void pm_query_text(struct pm_query *query, const char *text);   /* borrowed until close; or NULL */
void pm_query_folded(struct pm_query *query, const char *text); /* pm_store_fold(text) */
void pm_query_blob(struct pm_query *query, const void *data, size_t length);
/* Goes to the next row; false at the end and on failure. */
bool pm_query_row(struct pm_query *query);
int64_t pm_query_get_int(const struct pm_query *query, int column);   /* NULL reads as 0 */
pm_day pm_query_get_day(const struct pm_query *query, int column);    /* NULL reads as PM_NO_DAY */
int64_t pm_query_get_known(const struct pm_query *query, int column); /* NULL reads as -1 */
/* Borrowed until the next step; NULL for NULL (and when memory ran out, which sticks). */
const char *pm_query_get_text(struct pm_query *query, int column);
char *pm_query_get_copy(struct pm_query *query, int column); /* the caller's */
/* The code of a currency, "" for NULL. What is not three capital letters is damage, which sticks.
 */
void pm_query_get_currency(struct pm_query *query, int column, char out[4]);
/* The same, kept by the arena (NULL: not wanted, gives NULL); and an item added to a list
 * (pm_list_add). Lost memory sticks. */
const char *pm_query_get_kept(struct pm_query *query, int column, struct pm_arena *arena);
#define pm_query_add(query, list) pm_query_added(query, pm_list_add(list))
void *pm_query_added(struct pm_query *query, void *item); /* item, or NULL, which sticks */
/* What was read is no row of ours: closing gives PM_DAMAGED, "<format> is damaged in the file."
 * Sticks. */
void pm_query_damaged(struct pm_query *query, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
enum pm_status pm_query_close(struct pm_query *query, struct pm_error *err);
/* Steps a statement that gives no row, and closes. */
enum pm_status pm_query_run(struct pm_query *query, struct pm_error *err);
/* First column of the first row, 0 when there is none. Closes. *found may be NULL. */
enum pm_status pm_query_one(struct pm_query *query, int64_t *out, bool *found,
                            struct pm_error *err);
/* Fills a list with what `read` makes of every row, and closes. `out` is the address of a list
 * (base/arena.h), which stays as it is where that fails. */
typedef void pm_query_reader(struct pm_query *query, struct pm_arena *arena, void *item);
#define pm_query_list(query, read, out, err)                                                       \
    pm_query_fill(query, read,                                                                     \
                  &(struct pm_query_items){&(out)->items, &(out)->count, &(out)->arena,            \
                                           sizeof *(out)->items},                                  \
                  err)
struct pm_query_items {
    void *items; /* address of the pointer to the items */
    size_t *count;
    struct pm_arena *arena;
    size_t size; /* of one */
};
enum pm_status pm_query_fill(struct pm_query *query, pm_query_reader *read,
                             const struct pm_query_items *out, struct pm_error *err);

/* ---- transactions ---- */

/* Undoes what was begun, unless SQLite has done so by itself. */
void pm_library_roll_back(struct pm_library *library);
/* Makes sure that nothing is left of a change that was given up but could not be undone then. */
enum pm_status pm_library_free_of_change(struct pm_library *library, struct pm_error *err);
/* Ends what pm_library_begin began: commits when status is PM_OK, else aborts and passes it on. */
enum pm_status pm_library_finish(struct pm_library *library, enum pm_status status,
                                 struct pm_error *err);

/* pm_library_verify of what was just brought in: PM_DAMAGED with the first finding behind `what`.
 */
enum pm_status pm_library_sound(struct pm_library *library, const char *what, struct pm_error *err);

/* ---- shared pieces ---- */

/* pm_fold, but never empty: a name of marks alone stands for itself. NULL: out of memory. */
char *pm_store_fold(const char *text);
/* Makes pm_fold(text) known to SQL; an SQLite result code. */
int pm_fold_register(sqlite3 *db);
struct pm_text;
/* Ids as a JSON array, for json_each. */
void pm_store_ids(const int64_t *ids, size_t count, struct pm_text *out);
/* Whether every word of the folded text occurs in the folded name. */
bool pm_store_words_in(const char *words, const char *name);

/* ---- rows (rows.c) ---- */

/* The number that follows the largest id in use. */
enum pm_status pm_store_next_id(struct pm_library *library, enum pm_sql which, int64_t *out,
                                struct pm_error *err);
/* A row is added under the next number: `next` asks for the largest in use, `insert` takes the
 * number and then what `bind` binds of the row. pm_store_add is a change of its own, where id may
 * be NULL. */
typedef void pm_query_binder(struct pm_query *query, const void *row);
struct pm_addition {
    enum pm_sql next, insert;
    pm_query_binder *bind;
};
enum pm_status pm_store_insert(struct pm_library *library, const struct pm_addition *addition,
                               const void *row, int64_t *id, struct pm_error *err);
enum pm_status pm_store_add(struct pm_library *library, const struct pm_addition *addition,
                            const void *row, int64_t *id, struct pm_error *err);
/* Runs a statement whose one parameter is the number of a row, as a change of its own. */
enum pm_status pm_store_change(struct pm_library *library, enum pm_sql which, int64_t id,
                               struct pm_error *err);
/* The number of the row with this name, asked for with the name folded; 0: there is none. */
enum pm_status pm_store_named(struct pm_library *library, enum pm_sql which, const char *name,
                              int64_t *id, struct pm_error *err);

/* ---- the search table ---- */

/* The search table (search_blocks.c): the block that holds the material is written anew from its
 * names, once, however many of its materials change: before it is searched or checked and before
 * the change is committed (pm_search_settle); at once outside of a change. */
enum pm_status pm_search_refresh(struct pm_library *library, int64_t material,
                                 struct pm_error *err);
enum pm_status pm_search_settle(struct pm_library *library, struct pm_error *err);
void pm_search_forget(struct pm_library *library); /* the change is over */
/* Whether the search table is what the materials' names make it. */
enum pm_status pm_search_check(struct pm_library *library, bool *sound, struct pm_error *err);

#endif
