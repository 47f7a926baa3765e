/* SPDX-License-Identifier: MIT */
/*
 * Another library comes in, chosen item by item: first a preview, then one transaction. What makes
 * two things the same, and what becomes of formulas that went on on two machines, is told in
 * store/other.h; what can be wished of an item in core/other.h.
 *
 * Nothing of one's own is overwritten. What an item needs comes along: the materials of a formula,
 * the formula of a smell note. All of it is one step of the shelf's history: undone, materials and
 * formulas go out of sight and bottles are set aside; what was added to things that were here
 * already (further trials, movements, notes) stays.
 */
#ifndef PERMILLE_STUDIO_ANOTHER_H
#define PERMILLE_STUDIO_ANOTHER_H

#include "permille/base/text.h"
#include "permille/core/other.h"
#include "permille/studio/studio.h"

struct pm_another {
    struct pm_other_items items;
    struct pm_other_wish *wishes; /* one for each item */
    const char **names; /* what it comes in as, or NULL: as it is called; owned by arena */
    int64_t *numbers;   /* of bottles: the number given; 0: none */
    /* Private. */
    struct pm_other_needs needs;
    struct pm_other *other;
    struct pm_arena arena;
};

/* Reads the library at path, or the text of a whole one's document, beside the open one, which can
 * have one such guest at a time. The usual wishes are set. Statuses as pm_other_open; PM_REFUSED
 * when it is the library itself. */
enum pm_status pm_another_open(struct pm_studio *studio, const char *path, struct pm_another **out,
                               struct pm_error *err);
enum pm_status pm_another_open_text(struct pm_studio *studio, const char *text, size_t length,
                                    struct pm_another **out, struct pm_error *err);
void pm_another_close(struct pm_another *another); /* NULL allowed */

/* Holds it against the library anew, after something was written here. Wishes stay where they still
 * can be. */
enum pm_status pm_another_look_again(struct pm_another *another, struct pm_error *err);

/* Wishes something of the item at a place. PM_REFUSED with the reason where it cannot be. */
enum pm_status pm_another_wish(struct pm_another *another, size_t at, enum pm_other_how how,
                               struct pm_error *err);
/* The same of several at once, of which some cannot: those stay. *wished (may be NULL) counts. */
enum pm_status pm_another_wish_all(struct pm_another *another, const bool *which,
                                   enum pm_other_how how, size_t *wished, struct pm_error *err);
/* Gives it another name (of a bottle: "B090") and takes it, as a second one where it is here. "" or
 * NULL: its own again. PM_EXISTS when the name is taken, PM_INVALID when it is none. */
enum pm_status pm_another_call(struct pm_another *another, size_t at, const char *name,
                               struct pm_error *err);

/* "formula Harbour", "bottle B012 Vetiver", "smell note on Harbour/3". */
void pm_another_say_item(const struct pm_another *another, size_t at, char sign,
                         struct pm_text *out);
/* How it stands and what will become of it, in a sentence without its full stop: "yours is trial 5,
 * theirs has 3 kept trials more, which become the next ones here". */
void pm_another_say_state(const struct pm_another *another, size_t at, struct pm_text *out);
/* How it comes in, in a word or two: "take", "as Harbour (2)", "comes along", "-". */
void pm_another_say_how(const struct pm_another *another, size_t at, struct pm_text *out);
/* In what it differs, values as people read them. */
struct pm_another_field {
    const char *field, *mine, *theirs; /* NULL: not said */
};
struct pm_another_fields {
    struct pm_another_field *items;
    size_t count;
    struct pm_arena arena;
};
enum pm_status pm_another_differences(struct pm_another *another, size_t at, char sign,
                                      struct pm_another_fields *out, struct pm_error *err);

/* How many come in of each kind. */
void pm_another_count(const struct pm_another *another, size_t counts[PM_OTHER_KINDS]);
/* "3 formulas, 12 materials, 1 bottle"; nothing: "nothing". */
void pm_another_say_counts(const size_t counts[PM_OTHER_KINDS], struct pm_text *out);

/*
 * Brings it in, in one transaction, and looks again. *told (may be NULL) receives what the person
 * should know, a new string with a line for each: bottles that got other numbers, what came along.
 * PM_REFUSED when nothing was chosen; PM_STALE when the library was changed so that what was
 * chosen means something else; nothing was written then.
 */
enum pm_status pm_another_bring(struct pm_studio *studio, struct pm_another *another, char **told,
                                struct pm_error *err);

#endif
