/* SPDX-License-Identifier: MIT */
/*
 * Rows of blind tests. A test, its samples and its codes never change once made; it is closed once.
 * Answers are append-only: a round takes one, and corrections of it until the test is closed.
 */
#ifndef PERMILLE_STORE_PANELS_H
#define PERMILLE_STORE_PANELS_H

#include "permille/base/amount.h"
#include "permille/core/panel.h"
#include "permille/store/library.h"

struct pm_panel_row {
    int64_t id;
    char *name; /* unique among blind tests, case and accents ignored */
    enum pm_panel_kind kind;
    char *question;      /* or NULL */
    int expected;        /* paired: sample expected to be chosen; else -1 */
    pm_strength alpha;   /* 1e-9 */
    int64_t rounds;      /* answers planned */
    uint64_t seed;       /* of codes and orders */
    int64_t made_at;     /* filled by insert */
    int64_t closed_at;   /* 0: open */
    size_t sample_count; /* read only from here */
    int64_t answered;    /* rounds that have an answer */
};
void pm_panel_row_release(struct pm_panel_row *row);

struct pm_serving {
    int64_t round, place; /* from 1 */
    int sample;           /* number of the sample, from 0: the key */
    int code;             /* 0: the open reference of a duo-trio */
};

/* Writes the test with its samples (trial ids) and servings; fills id and made_at. PM_EXISTS when
 * the name is taken. */
enum pm_status pm_panel_insert(struct pm_library *library, struct pm_panel_row *row,
                               const int64_t *samples, size_t sample_count,
                               const struct pm_serving *servings, size_t serving_count,
                               struct pm_error *err);
enum pm_status pm_panel_get(struct pm_library *library, int64_t id, struct pm_panel_row *out,
                            struct pm_error *err);
/* *id is 0 when there is none of that name. */
enum pm_status pm_panel_by_name(struct pm_library *library, const char *name, int64_t *id,
                                struct pm_error *err);
/* PM_REFUSED when it is closed already. */
enum pm_status pm_panel_end(struct pm_library *library, int64_t id, int64_t closed_at,
                            struct pm_error *err);
/* Newest first; the visitor borrows. */
typedef bool pm_panel_visit(void *context, const struct pm_panel_row *row);
enum pm_status pm_panel_list(struct pm_library *library, pm_panel_visit *visit, void *context,
                             struct pm_error *err);

/* Samples by their number; which trial each is. */
typedef bool pm_sample_visit(void *context, int sample, int64_t trial);
enum pm_status pm_panel_samples(struct pm_library *library, int64_t panel, pm_sample_visit *visit,
                                void *context, struct pm_error *err);
/* By round and place. */
typedef bool pm_serving_visit(void *context, const struct pm_serving *serving);
enum pm_status pm_panel_servings_list(struct pm_library *library, int64_t panel,
                                      pm_serving_visit *visit, void *context, struct pm_error *err);

struct pm_panel_answer {
    int64_t id;
    int64_t round;
    const char *answer;   /* codes: "417"; ranking: "417 236=902" */
    const char *assessor; /* NULL: the person themself */
    int64_t at;
    int64_t corrects; /* 0: none */
    bool corrected;   /* read only: a newer one stands in its place */
};
/* PM_REFUSED when the test is closed, or the round has an answer that this one does not correct. */
enum pm_status pm_panel_answer_insert(struct pm_library *library, int64_t panel,
                                      const struct pm_panel_answer *answer, int64_t *id,
                                      struct pm_error *err);
/* In the order given, corrected ones too; the visitor borrows. */
typedef bool pm_panel_answer_visit(void *context, const struct pm_panel_answer *answer);
enum pm_status pm_panel_answers(struct pm_library *library, int64_t panel,
                                pm_panel_answer_visit *visit, void *context, struct pm_error *err);

#endif
