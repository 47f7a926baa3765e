/* SPDX-License-Identifier: MIT */
/*
 * What the store's tests share: a private folder, a clock that is set by hand, a small library with
 * known content. Names are invented.
 */
#ifndef PERMILLE_TESTS_STORE_WORLD_H
#define PERMILLE_TESTS_STORE_WORLD_H

#include "src/store/store.h"

#include "permille/store/formulas.h"
#include "permille/store/library.h"
#include "permille/store/materials.h"

#include <sqlite3.h>

struct world {
    char folder[64];
    char path[128]; /* of the library in it */
    int64_t time;   /* what the clock says */
    struct pm_clock clock;
    struct pm_library *library; /* NULL while closed */
    struct pm_error err;
    struct pm_store_options options; /* files: as the program's; see world_at_once */
};

void world_make(struct world *world);  /* folder, no library yet */
void world_open(struct world *world);  /* opens or makes the library */
void world_close(struct world *world); /* the library only */
/* From here on the library's tables count as made in one step, by the statements that the file at
 * world->path holds now: verify makes a model of them, and all steps one after the other are most
 * of the time that takes. For tests that verify a thousand times; a fresh library or an old one
 * needs the real steps (world_all_steps). */
void world_at_once(struct world *world);
void world_all_steps(struct world *world);
void world_remove(struct world *world); /* closes, deletes the folder */
/* cmocka fixtures; *state is the struct world: without a library yet, with an empty one, with what
 * world_fill makes. */
int world_setup(void **state);
int world_setup_open(void **state);
int world_setup_filled(void **state);
int world_teardown(void **state);
/* Path of another file in the folder; buf holds 128 bytes and is returned. */
char *world_path(const struct world *world, const char *name, char *buf);

/* Wants a variable `world`; prints the sentence when the status is another. */
#define assert_status(wanted, call)                                                                \
    world_assert_status((wanted), (call), &world->err, #call, __FILE__, __LINE__)
void world_assert_status(enum pm_status wanted, enum pm_status got, const struct pm_error *err,
                         const char *call, const char *file, int line);

/* Adds a material; synonyms end with NULL. */
int64_t world_material(struct world *world, const char *name, enum pm_material_kind kind,
                       const char *cas, ...) __attribute__((sentinel));
int64_t world_formula(struct world *world, const char *name);
int64_t world_draft(struct world *world, int64_t formula);
int64_t world_head(struct world *world, int64_t trial);
/* Appends a line to a trial in memory; returns its id. */
int64_t world_line(struct pm_trial *trial, int64_t material, pm_parts parts);
/* Writes the trial to the draft as a gesture on its present head; returns the revision. */
int64_t world_write(struct world *world, int64_t draft, const struct pm_trial *after,
                    const char *sentence);
/* Three materials, a solvent, an accord with a kept trial, and a formula with two kept trials that
 * uses it, one labelled. Returns the formula's id. */
int64_t world_fill(struct world *world);
/* pm_library_verify must find nothing. */
void world_verify(struct world *world);
/* Makes the file at world->path from the sample kept of a step; false when there is none. */
bool world_sample(struct world *world, int step);
/* A second connection without the program's guards, as another program would open the file. */
sqlite3 *world_raw(struct world *world);
int world_sql(sqlite3 *db, const char *sql); /* SQLite's extended code */
int64_t world_ask(sqlite3 *db, const char *sql);

/* A number for all that the file gives to read, times and texts included; *whole is false when
 * something could not be read. */
uint64_t world_content(const char *path, bool *whole);
uint64_t world_content_in(sqlite3 *db, bool *whole); /* the same of a file that is open */
/* A whole file into memory (free) and back. */
size_t world_load(const char *path, unsigned char **data);
void world_save(const char *path, const void *data, size_t length);

#endif
