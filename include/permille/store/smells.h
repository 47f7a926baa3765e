/* SPDX-License-Identifier: MIT */
/*
 * Rows of the smell log and of what is running to be smelled. Smell notes are append-only: a
 * correction is a new row that names the old one, and each row is corrected at most once.
 */
#ifndef PERMILLE_STORE_SMELLS_H
#define PERMILLE_STORE_SMELLS_H

#include "permille/base/amount.h"
#include "permille/store/library.h"

enum pm_medium { PM_ON_BLOTTER, PM_ON_SKIN, PM_ON_OTHER };
#define PM_MEDIA 3
const char *pm_medium_word(enum pm_medium medium); /* "blotter" "skin" "other" */
bool pm_medium_from_word(const char *word, enum pm_medium *out);

/* ---- applications: what was put on a blotter or on skin ---- */

struct pm_application {
    int64_t id;
    int64_t trial; /* a kept one */
    enum pm_medium medium;
    pm_strength strength; /* of the trial in what was applied; 0: not noted */
    int64_t applied_at;
    char *schedule;   /* as pm_schedule_read takes it */
    char *note;       /* or NULL */
    int64_t ended_at; /* 0: running */
    int64_t made_at;
    int64_t formula, number; /* read only: of the trial */
};
void pm_application_release(struct pm_application *application);

/* Fills id and made_at. */
enum pm_status pm_application_insert(struct pm_library *library, struct pm_application *application,
                                     struct pm_error *err);
/* ended_at 0 takes it up again. PM_MISSING. */
enum pm_status pm_application_end(struct pm_library *library, int64_t id, int64_t ended_at,
                                  struct pm_error *err);
enum pm_status pm_application_get(struct pm_library *library, int64_t id,
                                  struct pm_application *out, struct pm_error *err);
/* The visitor borrows. Those running, first applied first; ended_too: all. */
typedef bool pm_application_visit(void *context, const struct pm_application *application);
enum pm_status pm_application_list(struct pm_library *library, bool ended_too,
                                   pm_application_visit *visit, void *context,
                                   struct pm_error *err);

/* ---- smell notes ---- */

struct pm_smell {
    int64_t id;
    int64_t trial;       /* a kept one */
    int64_t application; /* 0: none */
    enum pm_medium medium;
    pm_strength strength; /* 0: not noted */
    int64_t since;        /* seconds after it was applied */
    int intensity;        /* 0..PM_INTENSITY_MAX; -1: not noted */
    int liking;           /* 0..10, 5 is neither; -1: not noted */
    const char *note;     /* or NULL */
    const char *assessor; /* NULL: the person themself */
    int64_t at;           /* when it was smelled */
    int64_t entered_at;   /* filled by insert */
    int64_t corrects;     /* 0: none */
    bool withdrawn;       /* it takes the corrected entry back */
    int64_t corrected_by; /* read only; 0: it stands */
    int64_t number;       /* read only: of the trial within its formula */
};

/* PM_REFUSED when `corrects` names an entry that was corrected already, PM_MISSING when there is
 * none. */
enum pm_status pm_smell_insert(struct pm_library *library, const struct pm_smell *smell,
                               int64_t *id, struct pm_error *err);

/* The visitor borrows the entry and its strings. */
typedef bool pm_smell_visit(void *context, const struct pm_smell *smell);
/* *found tells whether there is one, and then visit was called. */
enum pm_status pm_smell_get(struct pm_library *library, int64_t id, pm_smell_visit *visit,
                            void *context, bool *found, struct pm_error *err);
/* By trial number and time since application. number 0: of all kept trials. corrected_too: also
 * entries that were corrected or taken back, and the rows that take back. */
enum pm_status pm_smell_list(struct pm_library *library, int64_t formula, int64_t number,
                             bool corrected_too, pm_smell_visit *visit, void *context,
                             struct pm_error *err);
/* Entries that stand and belong to one application, in the order entered. */
enum pm_status pm_smell_of_application(struct pm_library *library, int64_t application,
                                       pm_smell_visit *visit, void *context, struct pm_error *err);
/* How many entries stand, for each kept trial of the formula that has any. */
typedef bool pm_smell_count_visit(void *context, int64_t trial, int64_t count);
enum pm_status pm_smell_counts(struct pm_library *library, int64_t formula,
                               pm_smell_count_visit *visit, void *context, struct pm_error *err);
/* The notes of all entries that stand in the library, newest first. */
typedef bool pm_smell_note_visit(void *context, const char *note);
enum pm_status pm_smell_notes(struct pm_library *library, pm_smell_note_visit *visit, void *context,
                              struct pm_error *err);

#endif
