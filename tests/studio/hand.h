/* SPDX-License-Identifier: MIT */
/*
 * The perfumer's hand in the studio tests: for each a library in a private folder, a clock that
 * stands still until told, and short ways to say what a person does. Every helper fails the test
 * with the program's own sentence when something that should work does not.
 */
#ifndef PERMILLE_TESTS_STUDIO_HAND_H
#define PERMILLE_TESTS_STUDIO_HAND_H

#include "permille/base/arena.h"
#include "permille/core/gesture.h"
#include "permille/studio/bench.h"
#include "permille/studio/shelf.h"
#include "permille/studio/studio.h"
#include "permille/studio/trials.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct hand {
    char folder[64];
    char path[96];
    int64_t time;
    struct pm_clock clock;
    struct pm_studio *studio;
    struct pm_error err;   /* of the last call */
    struct pm_arena arena; /* strings of single rows that were read */
};

int hand_setup(void **state); /* cmocka fixtures; *state is the struct hand */
int hand_teardown(void **state);
void hand_reopen(struct hand *hand);
struct pm_studio *hand_second(struct hand *hand); /* another instance on the file */

/* PM_OK or the test fails with the sentence. */
void hand_ok(const struct hand *hand, enum pm_status status);
/* Status and a piece of the sentence. */
void hand_refused(const struct hand *hand, enum pm_status got, enum pm_status wanted,
                  const char *piece);

/* Plans a batch of a kept trial; note and id may be NULL. */
void hand_plan(struct hand *hand, const char *trial, const char *mass, const char *note,
               int64_t *id);
int64_t hand_material(struct hand *hand, const char *name); /* made when it is not there */
bool hand_on_shelf(struct hand *hand, const char *name);    /* and in sight */
int64_t hand_solvent(struct hand *hand, const char *name);
int64_t hand_formula(struct hand *hand, const char *name, double base);
struct pm_sheet *hand_draft(struct hand *hand, int64_t formula);
int64_t hand_line(struct hand *hand, const struct pm_sheet *sheet, const char *name);
pm_parts hand_parts(struct hand *hand, int64_t formula, const char *line);

/* Plans and commits on the draft, and checks that the file then holds what the plan showed. */
void hand_do(struct hand *hand, int64_t formula, const struct pm_gesture *gesture);
enum pm_status hand_try(struct hand *hand, int64_t formula, const struct pm_gesture *gesture);
void hand_add(struct hand *hand, int64_t formula, const char *material, double parts);
void hand_add_held(struct hand *hand, int64_t formula, const char *material, double parts);
void hand_add_at(struct hand *hand, int64_t formula, const char *material, double parts,
                 const char *strength, const char *solvent);
enum pm_status hand_add_accord(struct hand *hand, int64_t formula, const char *title, double parts);
void hand_set(struct hand *hand, int64_t formula, const char *line, double parts);
void hand_undo(struct hand *hand, int64_t formula);
void hand_redo(struct hand *hand, int64_t formula);
int64_t hand_keep(struct hand *hand, int64_t formula, const char *note);
int64_t hand_trial(struct hand *hand, const char *title); /* "Name/3" -> trial id */

/* Everything of the content but next_id, which never goes back. */
bool hand_same(const struct pm_trial *a, const struct pm_trial *b);
void hand_check(const struct pm_sheet *sheet); /* trial and derived numbers agree */

pm_parts parts_of(double parts);
uint64_t hand_random(uint64_t *state);

#endif
