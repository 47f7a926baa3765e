/* SPDX-License-Identifier: MIT */
/*
 * Names that are taken for each other, and names that were mistyped.
 *
 * Alike are two names that differ by a letter or two (-ol and -al), or that share a stem and differ
 * only in what part of the plant, what extraction or which isomer it is (leaf and bark, oil and
 * absolute, alpha and beta). What tells them apart is set in tall letters: the practice called
 * tall-man lettering, published for names of medicines that were mistaken for each other.
 *
 * Lengths are bytes of UTF-8. Names of more than PM_LOOK_LONGEST bytes or pieces are never alike
 * nor near, and keep their letters.
 */
#ifndef PERMILLE_CORE_LOOKALIKE_H
#define PERMILLE_CORE_LOOKALIKE_H

#include "permille/base/text.h"

#include <stdbool.h>
#include <stddef.h>

#define PM_LOOK_LONGEST 255

/* A folded name (pm_fold) taken apart once, to be held against many. */
#define PM_LOOK_PIECES 12
struct pm_look {
    const char *text; /* borrowed */
    size_t length;
    size_t count; /* of pieces; 0: nothing is like it */
    struct {
        const char *at;
        size_t length;
        bool kind; /* says which kind of it: part, extraction, isomer; not of the stem */
    } pieces[PM_LOOK_PIECES];
    size_t stem;      /* letters of the stem's pieces */
    unsigned letters; /* which letters are in the stem: a bit each */
    unsigned all;     /* the same of all pieces */
};
void pm_look_read(const char *folded, size_t length, struct pm_look *out);

/* False when the name cannot be alike: asked of a hundred thousand before they are taken apart. */
bool pm_look_may_be(const struct pm_look *look, const char *folded, size_t length);

/* Whether they are easily taken for each other. The same name is not. Symmetric. */
bool pm_look_alike(const struct pm_look *a, const struct pm_look *b);

/* Appends `name` with the letters in capitals that tell it from the others: between what both begin
 * with and what both end with. A single letter of a word that would be left over at either side
 * stands tall as well. Where nothing of the name differs from any of them (they only have more),
 * the last word before the difference does. Case is not a difference. */
void pm_tall_letters(const char *name, const char *const *others, size_t count,
                     struct pm_text *out);

/* How far what was typed is from a folded name: slips (a letter too many, too few, wrong, or two
 * exchanged), summed over its words; each is held against the word of the name that is nearest, or
 * that begins most nearly so. -1: too far to be meant. */
int pm_name_slips(const char *typed, size_t typed_length, const char *name, size_t name_length);

#endif
