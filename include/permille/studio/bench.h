/* SPDX-License-Identifier: MIT */
/*
 * The bench: formulas, their sheets, and gestures on drafts.
 */
#ifndef PERMILLE_STUDIO_BENCH_H
#define PERMILLE_STUDIO_BENCH_H

#include "permille/core/flatten.h"
#include "permille/core/formula.h"
#include "permille/core/gesture.h"
#include "permille/core/trial.h"
#include "permille/studio/studio.h"

/* ---- formulas ---- */

/* Newest change first. text filters by folded name ("" or NULL for all). */
enum pm_status pm_formulas_list(struct pm_studio *studio, const char *text, bool set_aside_too,
                                struct pm_formulas *out, struct pm_error *err);

/* Refuses what pm_formula_new would refuse whatever the library holds: no file need be made for
 * it. */
enum pm_status pm_formula_check(const char *name, pm_parts base, struct pm_error *err);
/* A name may not hold '/' nor begin with '#'. *id receives the new formula. */
enum pm_status pm_formula_new(struct pm_studio *studio, const char *name, bool accord,
                              pm_parts base, enum pm_mode mode, int64_t *id, struct pm_error *err);
/* A new formula whose draft starts as a copy of a trial (trial id) of another. */
enum pm_status pm_formula_copy(struct pm_studio *studio, int64_t trial, const char *name,
                               int64_t *id, struct pm_error *err);
enum pm_status pm_formula_rename(struct pm_studio *studio, int64_t id, const char *name,
                                 struct pm_error *err);
enum pm_status pm_formula_mark_accord(struct pm_studio *studio, int64_t id, bool accord,
                                      struct pm_error *err);
/* Out of sight in lists, never deleted; bring back with false. */
enum pm_status pm_formula_set_aside(struct pm_studio *studio, int64_t id, bool aside,
                                    struct pm_error *err);

/* "Name" (its draft) or "Name/3" (kept trial 3). *trial is the trial id, *number 0 for the draft.
 * PM_MISSING suggests the nearest name when one is close. Out pointers may be NULL. */
enum pm_status pm_formula_find(struct pm_studio *studio, const char *text, int64_t *formula,
                               int64_t *trial, int64_t *number, struct pm_error *err);

/* ---- sheets: a trial with everything resolved for showing ---- */

struct pm_sheet_line {
    const struct pm_line *line; /* in sheet->trial */
    const char *name;           /* material's or accord's name; an accord as "Name/3" in `title` */
    const char *title;          /* what to show: the name, an accord with its trial number */
    const char *solvent;        /* name, or NULL when neat */
    const char *cas;            /* or NULL */
    const char *family;         /* or NULL */
    pm_parts neat;              /* parts x strength */
    int64_t share;              /* of the total, 1e-12; rows add up to exactly 1e12 unless empty */
    bool is_solvent;            /* the material itself is a solvent */
    int64_t accord_formula;     /* formula id when it is an accord, else 0 */
    int64_t accord_number;      /* kept trial used */
    int64_t accord_newest;      /* newest kept trial of that accord: point it out when larger */
};

struct pm_sheet {
    int64_t formula;
    const char *name;
    bool accord;
    int64_t trial_id, number; /* number 0: the draft */
    int64_t parent_number;    /* kept trial it was started from; 0 none */
    int64_t revision;         /* head the content belongs to; what gestures are checked against */
    int64_t kept;             /* number of kept trials of the formula */
    int64_t kept_at;          /* 0 for the draft */
    const char *note, *label; /* of a kept trial; NULL */
    bool can_undo, can_redo;  /* drafts only */
    bool read_only;           /* no draft: a kept trial or a look back; gestures are refused */
    struct pm_trial trial;
    struct pm_sheet_line *lines; /* trial.count entries */
    pm_parts total, held;
    pm_parts off;                 /* total - base: below 0 = still missing, above = over */
    int64_t solvent_share;        /* of the total, 1e-12, accords and dilutions resolved */
    int64_t strength;             /* 1e12 - solvent_share; 0 when the sheet is empty */
    struct pm_sheet_names *names; /* owns the strings above; private */
};

/* A kept trial or a draft by trial id. Release and free with pm_sheet_free. */
enum pm_status pm_sheet_open(struct pm_studio *studio, int64_t trial, struct pm_sheet **out,
                             struct pm_error *err);
/* The draft of a formula. */
enum pm_status pm_sheet_open_draft(struct pm_studio *studio, int64_t formula, struct pm_sheet **out,
                                   struct pm_error *err);
void pm_sheet_free(struct pm_sheet *sheet);

/* A line by material or accord name (exact or the only one that begins with it, folded), or "#N" by
 * its place from 1. PM_MISSING; PM_REFUSED when the name stands twice, naming the places. */
enum pm_status pm_sheet_find_line(const struct pm_sheet *sheet, const char *text, int64_t *line,
                                  struct pm_error *err);

struct pm_flat_line {
    int64_t material;
    const char *name, *cas;
    bool is_solvent;
    pm_fine neat, as_solvent;
    int64_t share; /* 1e-12; rows add up to exactly 1e12 */
    bool resting;  /* nothing of it counts now: its lines, or the accord that brings it, rest */
};
struct pm_flat_sheet {
    struct pm_flat_line *lines; /* owned; the largest share first, then by name; solvents last */
    size_t count;
    pm_fine total;
    struct pm_sheet_names *names;
};
enum pm_status pm_sheet_flatten(struct pm_studio *studio, const struct pm_sheet *sheet,
                                struct pm_flat_sheet *out, struct pm_error *err);
void pm_flat_sheet_release(struct pm_flat_sheet *flat);

/* ---- gestures ---- */

/*
 * A plan is a gesture worked out but not yet written: the screen paints pm_plan_sheet(), then
 * commits, then says saved. Plans are made on the draft as the given sheet shows it; committing
 * when it has changed since is PM_STALE and writes nothing. A plan outlives the sheet it was made
 * from.
 */
struct pm_plan;

/* Adds the checks that need the library to pm_gesture_apply: materials exist and are not set aside,
 * an accord line names a kept, settled trial, a formula never comes to contain itself (at any
 * depth), solvents are materials of kind solvent, and PM_UNFOLD / PM_BRANCH contents are looked up
 * here: for PM_UNFOLD leave content NULL; for PM_BRANCH set parent to the kept trial's id. A
 * dilution with solvent 0 (add, swap, restrength) is made with the line's solvent so far, else with
 * the carrier where that is a solvent. Comments are cleaned as pm_note_clean does. Kept trials
 * cannot be edited: PM_REFUSED. */
enum pm_status pm_plan_gesture(struct pm_studio *studio, const struct pm_sheet *sheet,
                               const struct pm_gesture *gesture, struct pm_plan **out,
                               struct pm_error *err);
/* What a gesture would do, while it is still being typed. */
struct pm_preview {
    pm_parts now;   /* of the line meant, or of the one that comes in */
    pm_parts total; /* of all lines */
    size_t gave_way;
    size_t place; /* where the line that comes in would stand (PM_ADD); else of no meaning */
};
/* The same gesture by the same rules, without names, history or a sheet: only what each line of the
 * sheet would have, into parts[sheet->trial.count] (0 for one that goes). Fast enough for every key
 * of a thousand lines. Refusals are those of pm_plan_gesture, but do not name the line: the hand is
 * on it. */
enum pm_status pm_plan_preview(struct pm_studio *studio, const struct pm_sheet *sheet,
                               const struct pm_gesture *gesture, pm_parts *parts,
                               struct pm_preview *out, struct pm_error *err);
/* Whether these lines can be folded at all: said before a name is asked for. */
enum pm_status pm_plan_may_fold(const struct pm_sheet *sheet, const int64_t *lines, size_t count,
                                struct pm_error *err);
/* Lines become a new accord `name` with one kept trial, and a line of the draft. Undo brings the
 * lines back; the accord stays. */
enum pm_status pm_plan_fold(struct pm_studio *studio, const struct pm_sheet *sheet,
                            const char *name, const int64_t *lines, size_t count,
                            struct pm_plan **out, struct pm_error *err);
enum pm_status pm_plan_undo(struct pm_studio *studio, const struct pm_sheet *sheet,
                            struct pm_plan **out, struct pm_error *err);
enum pm_status pm_plan_redo(struct pm_studio *studio, const struct pm_sheet *sheet,
                            struct pm_plan **out, struct pm_error *err);

const struct pm_sheet *pm_plan_sheet(const struct pm_plan *plan); /* borrowed: as it will be */
const char *pm_plan_sentence(const struct pm_plan *plan);         /* "Set X from 12 to 14.5; ..." */
const char *
pm_plan_remark(const struct pm_plan *plan); /* worth telling (new overall strength), or NULL */
const struct pm_effect *pm_plan_effect(const struct pm_plan *plan);

/* Writes it durably in one transaction. On success *sheet (may be NULL) receives the new sheet, now
 * the caller's; the plan is then spent: it has no sheet any more and can only be freed. A plan that
 * changes nothing (a line set to what it is) writes no revision. On failure nothing was written and
 * the plan can be committed again (disk full, busy) or freed. */
enum pm_status pm_plan_commit(struct pm_studio *studio, struct pm_plan *plan,
                              struct pm_sheet **sheet, struct pm_error *err);
void pm_plan_free(struct pm_plan *plan);

#endif
