/* SPDX-License-Identifier: MIT */
/*
 * Blind tests of kept trials: triangle (ISO 4120), paired comparison (ISO 5495), duo-trio
 * (ISO 10399), ranking (ISO 8587).
 *
 * A test plans a number of rounds, one answer each. Every vial of every round bears a three-digit
 * code of its own, drawn with the serving orders from a stored seed. Answers are given by code, so
 * that the person can be their own blind assessor: which code is which trial is the key, and it is
 * not told before the test is closed, except on the page for whoever fills the vials
 * (pm_blind_fill), which has to be asked for by name.
 */
#ifndef PERMILLE_STUDIO_BLIND_H
#define PERMILLE_STUDIO_BLIND_H

#include "permille/base/amount.h"
#include "permille/core/blind.h"
#include "permille/studio/studio.h"

#include <stddef.h>

/* ---- making one ---- */

/* Values as typed, by attribute of pm_panel_entity; NULL: not given. Usual are 5 %, the number of
 * rounds of the kind, a seed from the system. Without a trial expected a paired comparison is
 * two-sided (ISO 5495). */
struct pm_blind_form {
    const char *values[PM_PANEL_ATTRIBUTES];
    int64_t formula;       /* whose trials are meant where a value gives their numbers alone */
    const int64_t *trials; /* by their ids; NULL: as typed. 2 kept ones; ranking:
                              2..PM_PANEL_SAMPLES_MAX */
    size_t trial_count;
    int64_t expected; /* by its id; 0: as typed */
};
struct pm_blind_made {
    int64_t id;
    char *sentence; /* owned */
    char *power;    /* owned: what so many answers can and cannot show */
};
enum pm_status pm_blind_new(struct pm_studio *studio, const struct pm_blind_form *form,
                            struct pm_blind_made *out, struct pm_error *err);
void pm_blind_made_release(struct pm_blind_made *made);

/* By name, case and accents ignored, or by number. PM_MISSING suggests the nearest. */
enum pm_status pm_blind_find(struct pm_studio *studio, const char *text, int64_t *id,
                             struct pm_error *err);

/* ---- looking at one ---- */

/* Newest first. */
enum pm_status pm_blind_list(struct pm_studio *studio, struct pm_panel_rows *out,
                             struct pm_error *err);

/* One vial. */
struct pm_blind_vial {
    int code;   /* 0: the open reference of a duo-trio */
    int sample; /* -1 while the key is hidden */
};
struct pm_blind_round {
    int64_t round;
    const struct pm_blind_vial *vials; /* in the order of smelling */
    const char *answer;                /* "417"; ranking "417 236=902"; NULL: none yet */
    const char *assessor;              /* NULL: the person themself */
    int64_t at;
    bool correct;    /* closed difference tests only */
    size_t replaced; /* earlier answers that this one corrected */
};
struct pm_blind_result {
    int64_t answers;
    int64_t correct; /* difference tests: right answers; two-sided paired: of the more chosen one */
    int more_chosen; /* two-sided paired: that sample; -1 when both were chosen equally often */
    double p;        /* of a result as good by chance alone */
    enum pm_p_by by; /* how p was found */
    int64_t permutations;
    double error;     /* of p by permutations, see pm_friedman */
    int64_t least;    /* answers that had to be right at alpha; 0: no number would do */
    bool shown;       /* p <= alpha */
    bool exploratory; /* too few answers to find even a clear difference */
    bool has_share;   /* triangle and duo-trio whose answers are each of another nose */
    struct pm_panel_share
        share;        /* noses that tell them apart; each limit is a one-sided 95 % one */
    double statistic; /* ranking: Friedman's */
    int degrees;      /* ranking */
    double rank_sums[PM_PANEL_SAMPLES_MAX]; /* ranking, by sample */
    double rank_difference;                 /* ranking: least significant difference of two sums */
};
struct pm_blind_sheet {
    struct pm_panel_row row;
    size_t sample_count, servings;             /* servings: vials of a round */
    const char *samples[PM_PANEL_SAMPLES_MAX]; /* "Name/3", by sample number */
    int64_t trials[PM_PANEL_SAMPLES_MAX];
    struct pm_blind_round *rounds; /* all planned ones: row.rounds */
    struct pm_blind_vial *vials;
    const char *task; /* what the assessor is asked to do */
    bool has_result;  /* closed, with at least one answer (ranking: two) */
    struct pm_blind_result result;
    const char *words;   /* what it does and does not show; while open what it could show */
    const char *remarks; /* unequal answers, unbalanced orders; one per line; or NULL */
    struct pm_arena arena;
};
/* The samples' names are listed in the order given when it was made, which tells nothing. While it
 * is open no sample of a vial is told. */
enum pm_status pm_blind_open(struct pm_studio *studio, int64_t id, struct pm_blind_sheet *out,
                             struct pm_error *err);
void pm_blind_sheet_release(struct pm_blind_sheet *sheet);

/* The page for whoever fills the vials: codes by sample, in rising order. It holds the key. */
struct pm_blind_page {
    size_t sample_count;
    struct {
        char *title; /* "Name/3" */
        int *codes;  /* owned */
        size_t count;
        int64_t *references; /* owned; rounds whose open reference it is (duo-trio) */
        size_t reference_count;
    } samples[PM_PANEL_SAMPLES_MAX];
    char *advice; /* how to stay blind; owned */
};
enum pm_status pm_blind_fill(struct pm_studio *studio, int64_t id, struct pm_blind_page *out,
                             struct pm_error *err);
void pm_blind_page_release(struct pm_blind_page *page);

/* ---- answers, closing ---- */

struct pm_blind_said {
    int64_t round;
    char *sentence; /* owned */
};
/*
 * An answer by code: the one vial chosen; for a ranking all codes of a round, first place first,
 * ties joined by "=": "417 236=902". The code tells which round it is. `correct` replaces the
 * round's answer; without it a round that was answered is refused, and so is anything after
 * closing. assessor NULL: the person themself, in a correction whoever gave the earlier answer.
 */
enum pm_status pm_blind_answer(struct pm_studio *studio, int64_t id, const char *answer,
                               const char *assessor, bool correct, struct pm_blind_said *out,
                               struct pm_error *err);
void pm_blind_said_release(struct pm_blind_said *said);
/* Closes it for good: the key may be seen. A test without answers is closed too, and says so. */
enum pm_status pm_blind_close(struct pm_studio *studio, int64_t id, struct pm_error *err);

#endif
