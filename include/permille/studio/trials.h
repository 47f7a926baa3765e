/* SPDX-License-Identifier: MIT */
/*
 * Trials: keeping, listing, branching, looking back, side by side.
 */
#ifndef PERMILLE_STUDIO_TRIALS_H
#define PERMILLE_STUDIO_TRIALS_H

#include "permille/base/text.h"
#include "permille/core/compare.h"
#include "permille/studio/bench.h"
#include "permille/studio/stock.h"

/* Whether pm_trial_keep would refuse now: said before a note is asked for. */
enum pm_status pm_trial_may_keep(struct pm_studio *studio, const struct pm_sheet *sheet,
                                 struct pm_error *err);
/* Reads trials as people write them, with commas or semicolons between: "1,3" and "/3" (kept trials
 * of `formula`), "draft", "Name/2", "Name". PM_REFUSED for more than `most`, PM_INVALID for none.
 */
enum pm_status pm_trials_named(struct pm_studio *studio, int64_t formula, const char *text,
                               int64_t *trials, size_t most, size_t *count, struct pm_error *err);
/* Seals the draft the sheet shows as the next trial. An empty draft, and one that is not settled in
 * share or carrier mode, is refused (PM_REFUSED says what is missing); so is one equal to the
 * newest kept trial it was started from. The draft goes on with the same content. note may be NULL.
 */
enum pm_status pm_trial_keep(struct pm_studio *studio, const struct pm_sheet *sheet,
                             const char *note, int64_t *number, struct pm_error *err);

#define PM_OFF_TEXT (2 * PM_AMOUNT_TEXT + 40)
/* ", 5 parts over its base of 1000" into buf[PM_OFF_TEXT], "" where the total is the base: what is
 * told, always, of a trial kept off its total in open mode. Returns buf. */
char *pm_trial_off_text(const struct pm_sheet *sheet, char *buf);

struct pm_trial_entry {
    struct pm_trial_row row;
    int64_t parent_number;   /* of row.parent; 0: started from nothing, or from another formula */
    const char *changed;     /* with PM_TRIALS_CHANGED; see pm_trial_changed */
    int64_t smells, batches; /* how often smelled, and weighed (days with pours for "Name/3") */
    /* The tree, as pm_trial_tree draws it: the child that leads to the draft, else the youngest,
     * goes on in its parent's lane, straight down; the others branch off into a lane to the right,
     * above it. */
    int lane;
    bool starts, ends; /* first and last in its stretch of the lane */
};
struct pm_trial_entries {
    struct pm_trial_entry *items;
    size_t count;
    size_t out_of_sight;  /* entries that PM_TRIALS_IN_SIGHT left out */
    int64_t draft_parent; /* number of the kept trial the draft goes on from; 0 */
    struct pm_arena arena;
};
enum pm_trials_want {
    PM_TRIALS_BY_NUMBER = 0,
    PM_TRIALS_TREE = 1,     /* children below their parents, instead of by number */
    PM_TRIALS_DRAFT = 2,    /* with the draft, the youngest child of its parent; by number last */
    PM_TRIALS_CHANGED = 4,  /* fills in `changed`: loads every trial's content */
    PM_TRIALS_IN_SIGHT = 8, /* without set-aside ones that nothing in sight was started from */
};
enum pm_status pm_trials_list(struct pm_studio *studio, int64_t formula, unsigned want,
                              struct pm_trial_entries *out, struct pm_error *err);
/* A trial among those of every formula. */
struct pm_any_trial {
    int64_t id, kept_at; /* 0: the draft */
    const char *title;   /* "Harbour/3"; the draft "Harbour" */
    const char *said;    /* label and note, "" where there are none */
};
struct pm_any_trials {
    struct pm_any_trial *items;
    size_t count;
    struct pm_arena arena;
};
/* Formula by formula, as they are listed, the newest trial of each first. Those in sight and the
 * drafts; or, where `accords`, kept trials that are not set aside of accords other than `but`. */
enum pm_status pm_trials_of_all(struct pm_studio *studio, bool accords, int64_t but,
                                struct pm_any_trials *out, struct pm_error *err);
/* One line: what changed against the trial it was started from, put into the arena; NULL when there
 * is none. Kept trials never change, so theirs is worked out once. */
enum pm_status pm_trial_changed(struct pm_studio *studio, int64_t trial, struct pm_arena *arena,
                                const char **out, struct pm_error *err);
/* Appends the lines before an entry's number in the tree; utf8 false: in ASCII. */
void pm_trial_tree(const struct pm_trial_entry *entry, bool utf8, struct pm_text *out);

/* What is put beside a trial when nobody says otherwise: the one it was started from. Of a draft
 * that is still as it was kept the kept trial stands beside the one before it, since nobody wants
 * to see a thing beside itself. */
struct pm_beside {
    int64_t before; /* trial id; 0: started from nothing */
    int64_t after;  /* trial id */
};
enum pm_status pm_trial_beside(struct pm_studio *studio, int64_t trial, struct pm_beside *out,
                               struct pm_error *err);

/* label NULL leaves it, "" takes it away. Kept trials only; content never changes. */
enum pm_status pm_trial_set_label(struct pm_studio *studio, int64_t trial, const char *label,
                                  struct pm_error *err);
enum pm_status pm_trial_set_aside(struct pm_studio *studio, int64_t trial, bool aside,
                                  struct pm_error *err);

struct pm_revision_entry {
    struct pm_revision row;
    int64_t trial_number; /* kept trial it led to; 0: the draft */
    bool is_head;         /* the draft shows this revision's state */
};
struct pm_revision_entries {
    struct pm_revision_entry *items; /* oldest first */
    size_t count;
    struct pm_arena arena;
};
/* number: that kept trial's revisions, 0 the draft's, -1 all of the formula. text filters sentences
 * (folded), NULL or "" for all. */
enum pm_status pm_history_list(struct pm_studio *studio, int64_t formula, int64_t number,
                               const char *text, struct pm_revision_entries *out,
                               struct pm_error *err);
/* The formula as it was right after a revision (after an undo: as it was then); read-only. */
enum pm_status pm_history_sheet(struct pm_studio *studio, int64_t revision, struct pm_sheet **out,
                                struct pm_error *err);
/* Brings that state back as the draft (a gesture: undoable). */
enum pm_status pm_plan_restore(struct pm_studio *studio, const struct pm_sheet *draft,
                               int64_t revision, struct pm_plan **out, struct pm_error *err);

struct pm_side_line {
    char *name;                 /* of the material or accord */
    size_t place;               /* among the lines as written */
    int64_t weight;             /* what pm_side_sort sorted by */
    struct pm_compare_row row;  /* amounts, and each trial against the first */
    char *form[PM_COMPARE_MAX]; /* how it is poured: "10 % in Triethyl citrate", "neat", "Brine/2";
                                   NULL where it does not stand, and in the flat view */
};
struct pm_side_by_side {
    char *titles[PM_COMPARE_MAX];   /* "Name/3", the draft as "Name" */
    int64_t number[PM_COMPARE_MAX]; /* of the kept trial; 0: the draft */
    size_t trials;
    pm_parts base[PM_COMPARE_MAX], total[PM_COMPARE_MAX]; /* as written, not rescaled */
    int64_t solvent_share[PM_COMPARE_MAX]; /* 1e-12, accords and dilutions resolved */
    int64_t strength[PM_COMPARE_MAX];      /* 1e12 - solvent_share; 0 when empty */
    size_t written[PM_COMPARE_MAX];        /* lines as written */
    int64_t step_ppm[PM_COMPARE_MAX];      /* see struct pm_compare */
    struct pm_side_line *lines;            /* owned; order of the first trial */
    size_t count;
    enum pm_compare_by by;
    struct pm_sum cost[PM_COMPARE_MAX]; /* of a kilogram of concentrate; count 0: nothing known */
    size_t unpriced[PM_COMPARE_MAX];    /* things without a price: the cost is then a least */
    /* What changed from the first trial to this one, to copy into a note; NULL for the first. */
    char *sentences[PM_COMPARE_MAX];
};
enum pm_status pm_compare_open(struct pm_studio *studio, const int64_t *trials, size_t count,
                               enum pm_compare_by by, struct pm_side_by_side *out,
                               struct pm_error *err);
void pm_side_by_side_release(struct pm_side_by_side *side);

/* Which lines to show. */
enum pm_side_only {
    PM_SIDE_ALL,
    PM_SIDE_DIFFERING, /* not the same, or poured otherwise, in some trial */
    PM_SIDE_OWN        /* of those, the ones that did more than move in step with the rest */
};
bool pm_side_shown(const struct pm_side_by_side *side, const struct pm_side_line *line,
                   enum pm_side_only only);

enum pm_side_order {
    PM_SIDE_AS_WRITTEN, /* as in the first trial, then what later ones add */
    PM_SIDE_BY_PARTS,   /* by the difference in parts of one trial to the first, largest first */
    PM_SIDE_BY_FACTOR   /* by how many times more or less it is; what came or went first */
};
void pm_side_sort(struct pm_side_by_side *side, enum pm_side_order order, size_t trial);
/* The amount of a line in the measure the comparison was made by. */
pm_fine pm_side_amount(const struct pm_side_by_side *side, const struct pm_side_line *line,
                       size_t trial);
/* Of a trial against the first: "same" "more" "less" "added" "gone"; "in step" for what only gave
 * way, "other" for the same amount poured otherwise, "resting" for what rests, "back" for what did;
 * "" where it stands in neither. Static. */
const char *pm_side_word(const struct pm_side_line *line, size_t trial);

#endif
