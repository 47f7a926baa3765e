/* SPDX-License-Identifier: MIT */
/*
 * What the files of the studio share: the open studio with its caches, and the helpers that cross
 * files. Nothing here is for front ends.
 *
 * Caches hold what was asked for and no more, so a library of 100,000 materials costs only the few
 * hundred that stand in the formulas looked at. They are dropped when another instance has
 * committed: every public call reads between pm_studio_look_begin() and pm_look_over(), or changes
 * something between pm_change_begin() and pm_change_end(), which see to that. Pointers into the
 * caches live no longer than one public call, except cards, which are counted.
 */
#ifndef PERMILLE_STUDIO_INSIDE_H
#define PERMILLE_STUDIO_INSIDE_H

#include "permille/base/arena.h"
#include "permille/base/map.h"
#include "permille/base/text.h"
#include "permille/base/text_set.h"
#include "permille/core/compare.h"
#include "permille/core/flatten.h"
#include "permille/core/gesture.h"
#include "permille/core/trial.h"
#include "permille/store/formulas.h"
#include "permille/store/library.h"
#include "permille/store/materials.h"
#include "permille/store/shelf.h"
#include "permille/studio/bench.h"
#include "permille/studio/studio.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* The day it is here, by the library's clock. */
pm_day pm_studio_today(const struct pm_studio *studio);

/* ---- a step on the shelf: one transaction, one entry of its history ---- */

struct pm_shelf_step {
    struct pm_studio *studio;
    struct pm_shelf_log log;
    struct pm_text sentence;
};
/* Refreshes the caches and begins. Every begun step must be ended. */
enum pm_status pm_step_begin(struct pm_shelf_step *step, struct pm_studio *studio,
                             struct pm_error *err);
/* Adds to the sentence of the history. */
void pm_step_say(struct pm_shelf_step *step, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* Writes the entry and commits when status is PM_OK, else undoes all and passes status on. */
enum pm_status pm_step_end(struct pm_shelf_step *step, enum pm_status status, const char *gesture,
                           struct pm_error *err);
/* The same without a way back: the entry only tells that it happened. */
enum pm_status pm_step_end_for_good(struct pm_shelf_step *step, enum pm_status status,
                                    const char *gesture, struct pm_error *err);

/* A cleaned copy of text for `field`; "" or NULL gives NULL. most 0: one line. */
enum pm_status pm_clean_text(const char *text, const char *what, size_t most, char **field,
                             struct pm_error *err);

/* What was typed of a material into its row (its arena); values by attribute. What is not mentioned
 * stays. */
enum pm_status pm_material_fill(struct pm_material *row, const char *const *values,
                                struct pm_error *err);

/* `find` of struct pm_naming for references to trials; its context is the studio. */
enum pm_status pm_trial_reference(void *studio, const struct pm_attribute *attribute,
                                  const char *text, int64_t *id, struct pm_error *err);

/* ---- the studio ---- */

/* What a sheet must know of a material or formula; shared by the cache and the sheets by count. */
struct pm_card {
    int uses;
    int64_t id;
    struct pm_arena strings;
    const char *name;
    const char *cas, *family; /* materials; NULL when unknown */
    bool is_solvent;          /* materials */
    bool set_aside;           /* out of sight */
    int64_t stands_for;       /* materials: id of what it was merged into, whose name it shows; 0 */
    bool accord;              /* formulas */
    int64_t kept;             /* formulas: number of kept trials, so also the newest one's number */
};

/* A kept trial: it never changes, so it is loaded once. */
struct pm_kept {
    int64_t id, formula, number;
    int64_t head;
    bool loaded; /* trial holds the content */
    struct pm_trial trial;
    char *changed;         /* against its parent, "" without one; NULL: not worked out yet */
    int64_t changed_names; /* pm_studio.names then */
};

enum pm_reference_list { PM_LIST_LIMITS, PM_LIST_LAW, PM_LIST_ALLERGENS, PM_LIST_COUNT };

/* A row about one substance; texts are "" where the list says nothing. */
struct pm_reference_row {
    enum pm_reference_list list;
    const char *name; /* of the substance, as the list calls it */
    const char *cas;  /* its numbers, with blanks between */
    const char *note;
    const char *kind; /* kind of standard, annex of the law, group of allergens */
    const char *source;
};
struct pm_reference {
    struct pm_reference_row *items;
    size_t count;
    struct pm_arena arena;
};

struct pm_limits_world;

struct pm_studio {
    struct pm_library *library;
    int64_t version;                /* pm_library_version the caches belong to */
    int looks;                      /* nested pm_studio_look_begin */
    bool changed_outside;           /* noticed, not yet told */
    struct pm_map materials;        /* struct pm_card */
    struct pm_map formulas;         /* struct pm_card */
    struct pm_map kept;             /* struct pm_kept */
    struct pm_map bottles;          /* struct pm_bottles, by material: bottles_of.c */
    struct pm_reference reference;  /* empty until it is asked for: reference.h */
    struct pm_limits_world *limits; /* the rules in use; NULL until asked for: rulebook.h */
    int64_t names;                  /* grows when a name may have changed */
};

/* Asks who looks on whether to go on (base/watch.h). */
enum pm_status pm_studio_go_on(struct pm_studio *studio, const char *doing, size_t done, size_t all,
                               struct pm_error *err);
/* pm_studio_look_end; passes status on. */
enum pm_status pm_look_over(struct pm_studio *studio, enum pm_status status);
/* A change: one transaction, nested ones join it. Ends with a commit when status is PM_OK, else
 * everything is undone and status passed on. */
enum pm_status pm_change_begin(struct pm_studio *studio, struct pm_error *err);
/* The same by pm_library_begin_whole. */
enum pm_status pm_change_begin_whole(struct pm_studio *studio, struct pm_error *err);
enum pm_status pm_change_end(struct pm_studio *studio, enum pm_status status, struct pm_error *err);
void pm_studio_drop_caches(struct pm_studio *studio);
/* Of them the cards and kept trials. */
void pm_cards_forget(struct pm_studio *studio);
/* Of them what is in bottles. */
void pm_bottles_forget(struct pm_studio *studio);

/* Borrowed from the cache; pm_card_keep() makes a card outlive it. */
enum pm_status pm_studio_material(struct pm_studio *studio, int64_t id, struct pm_card **out,
                                  struct pm_error *err);
enum pm_status pm_studio_formula(struct pm_studio *studio, int64_t id, struct pm_card **out,
                                 struct pm_error *err);
/* Caches what stands in the content of a trial, in one read; what was merged is left to the calls
 * above. */
enum pm_status pm_studio_names_of(struct pm_studio *studio, int64_t trial,
                                  const struct pm_trial *content, struct pm_error *err);
/* *material becomes the id of what it was merged into; others, and 0, stay. */
enum pm_status pm_studio_follow(struct pm_studio *studio, int64_t *material, struct pm_error *err);
/* The same for every line of a trial that was read: the file keeps what it holds. */
enum pm_status pm_studio_follow_lines(struct pm_studio *studio, struct pm_trial *trial,
                                      struct pm_error *err);
void pm_studio_forget_formula(struct pm_studio *studio, int64_t id);
struct pm_card *pm_card_keep(struct pm_card *card);
void pm_card_drop(struct pm_card *card);
/* PM_REFUSED when the trial is a draft. With content, ->trial is filled. */
enum pm_status pm_studio_kept(struct pm_studio *studio, int64_t trial, bool content,
                              struct pm_kept **out, struct pm_error *err);
/* "Name/3" of a kept trial, a new string. */
enum pm_status pm_kept_title(struct pm_studio *studio, const struct pm_kept *kept, char **out,
                             struct pm_error *err);

/* ---- an accord that is being made: its trial has no id yet ---- */

#define PM_PENDING_REF INT64_MAX /* stands in an accord line until the fold is written */

struct pm_pending {
    char *name;
    struct pm_trial content;
};

/* Accord contents for pm_flatten and pm_compare_trials. */
struct pm_accords {
    struct pm_studio *studio;
    const struct pm_pending *pending; /* or NULL */
};
struct pm_trial_source pm_accords_source(struct pm_accords *accords);

/* ---- names in sentences ---- */

struct pm_sayer {
    struct pm_studio *studio;
    const struct pm_pending *pending; /* or NULL */
    struct pm_text text;
    enum pm_status status; /* not PM_OK: a name could not be had, the sentence must not be used */
};
void pm_sayer_init(struct pm_sayer *sayer, struct pm_studio *studio,
                   const struct pm_pending *pending);
void pm_sayer_release(struct pm_sayer *sayer);
struct pm_namer pm_sayer_namer(struct pm_sayer *sayer);

/* ---- sheets ---- */

struct pm_sheet_names {
    struct pm_card **items; /* each counted once */
    size_t count;
    struct pm_arena arena; /* also of strings that belong to no card */
};
/* A material's card, kept by `names`; *out borrows it. */
enum pm_status pm_sheet_names_material(struct pm_studio *studio, struct pm_sheet_names *names,
                                       int64_t id, struct pm_card **out, struct pm_error *err);
void pm_sheet_names_free(struct pm_sheet_names *names); /* NULL allowed */
/* A new sheet, which `fill` fills from the row `id` within one view of the file. */
typedef enum pm_status pm_sheet_fill_fn(struct pm_studio *studio, int64_t id,
                                        struct pm_sheet *sheet, struct pm_error *err);
enum pm_status pm_sheet_filled(struct pm_studio *studio, pm_sheet_fill_fn *fill, int64_t id,
                               struct pm_sheet **out, struct pm_error *err);
/* Resolves names, shares and strength of shell->trial; the other facts are already there. */
enum pm_status pm_sheet_resolve(struct pm_studio *studio, struct pm_sheet *shell,
                                const struct pm_pending *pending, struct pm_error *err);
/* A sheet of the same draft with other content, which is taken over (left empty) on success. */
enum pm_status pm_sheet_with(struct pm_studio *studio, const struct pm_sheet *sheet,
                             struct pm_trial *content, const struct pm_pending *pending,
                             struct pm_sheet **out, struct pm_error *err);
/* What may be planned on: PM_REFUSED on kept trials and looks back. */
enum pm_status pm_sheet_editable(const struct pm_sheet *sheet, struct pm_error *err);
/* "Name" or "Name/3" into out (a new string). */
enum pm_status pm_sheet_title(const struct pm_sheet *sheet, char **out, struct pm_error *err);

/* ---- rules that need the library ---- */

/* Checks `gesture` on sheet and completes it: contents looked up, solvents filled in. What it
 * borrows stays valid until the end of the public call. */
enum pm_status pm_rules_complete(struct pm_studio *studio, const struct pm_sheet *sheet,
                                 struct pm_gesture *gesture, struct pm_error *err);
/* Checks and cleans the comment a gesture brings; the clean one is *owned (pm_free; may be NULL).
 */
enum pm_status pm_rules_comment(struct pm_gesture *gesture, char **owned, struct pm_error *err);
/* Puts the name of the line meant before the core's sentence. */
void pm_rules_name_refusal(struct pm_studio *studio, const struct pm_sheet *sheet,
                           const struct pm_gesture *gesture, struct pm_error *err);
/* A formula's name: as pm_name_clean, without '/', not beginning with '#'. */
enum pm_status pm_rules_formula_name(const char *text, char **out, struct pm_error *err);

/* ---- history ---- */

/* A plan that makes `content` the draft, with its own sentence, going on from kept trial `parent`
 * (0: from the one it goes on from already). */
enum pm_status pm_plan_content(struct pm_studio *studio, const struct pm_sheet *sheet,
                               const struct pm_trial *content, int64_t parent, const char *word,
                               const char *sentence, struct pm_plan **out, struct pm_error *err);

/* Whether a draft says the same as the kept trial it goes on from. */
enum pm_status pm_sheet_unchanged(struct pm_studio *studio, const struct pm_sheet *sheet,
                                  bool *unchanged, struct pm_error *err);

/* ---- side by side ---- */

/* pm_compare_trials with the library's accords. */
enum pm_status pm_side_rows(struct pm_studio *studio, const struct pm_trial *const *trials,
                            size_t count, enum pm_compare_by by, struct pm_compare *out,
                            struct pm_error *err);
/* Of a material or accord; borrowed from the cache. */
enum pm_status pm_side_name(struct pm_studio *studio, const struct pm_compare_row *row,
                            const char **out, struct pm_error *err);

/* ---- what changed, in words ---- */

/* Appends "Vetiver 12 -> 14.5, +Cedrol, -Linalool; 3 others" for the last trial against the first;
 * at most `most` lines are named. */
enum pm_status pm_say_difference(struct pm_studio *studio, const struct pm_trial *first,
                                 const struct pm_trial *last, size_t most, struct pm_text *out,
                                 struct pm_error *err);
/* An amount for reading: two significant digits at least, two decimals or so, no empty zeros. */
void pm_say_amount(struct pm_text *out, int64_t value, int scale, int least);

/* ---- limits ---- */

/* Rules, or what materials are, may have changed: they are read again (rulebook.h). */
void pm_limits_forget(struct pm_studio *studio);

/* ---- the nearest name ---- */

struct pm_nearest {
    char *wanted; /* folded */
    int distance; /* of the best so far */
    char *best;   /* its name; NULL when none is near */
};
bool pm_nearest_init(struct pm_nearest *nearest, const char *wanted);
void pm_nearest_release(struct pm_nearest *nearest);
/* `shown` is suggested when `name` is the nearest. Lost memory only loses a suggestion. */
void pm_nearest_offer(struct pm_nearest *nearest, const char *name, const char *shown);
/* The end of a PM_MISSING sentence: "; did you mean X?", or its full stop. */
const char *pm_nearest_hint(const struct pm_nearest *nearest, char *buffer, size_t size);

/* The end of a sentence about a material that is not there: "; did you mean \"X\"?", several where
 * they are equally near, or its full stop. Lost memory only loses a suggestion. */
void pm_say_near(struct pm_studio *studio, const char *text, struct pm_text *out);

/* Brings the shipped facts of materials that came with an earlier starter set up to date
 * (starter.c). The person's own values, names and notes are not looked at. */
enum pm_status pm_starter_follow(struct pm_studio *studio, struct pm_error *err);
/* What the starter set calls things by the names others have for them: "DPG". Begins as zeros. */
struct pm_starter_names {
    struct pm_text_set words; /* names and synonyms, folded */
    const char **names;       /* of the material each means; owned */
    size_t capacity;
};
enum pm_status pm_starter_names_read(struct pm_starter_names *out, struct pm_error *err);
void pm_starter_names_release(struct pm_starter_names *names);
/* The material's name; NULL when nothing is called so. False when memory ran out. */
bool pm_starter_name(const struct pm_starter_names *names, const char *word, const char **name);

#endif
