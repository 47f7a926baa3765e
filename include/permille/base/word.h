/* SPDX-License-Identifier: MIT */
/*
 * Words with a fixed meaning, as they stand in the file and on the command line: looking one up,
 * and how near a mistyped one is.
 */
#ifndef PERMILLE_BASE_WORD_H
#define PERMILLE_BASE_WORD_H

#include <stdbool.h>
#include <stddef.h>

/* Place of a word among `count` words; -1 when it is none of them, or NULL. */
int pm_word_place(const char *const *words, size_t count, const char *word);
/* Whether a word is one of those in "a|b|c". */
bool pm_word_among(const char *words, const char *word);

/* The place of a word among those in "a|b|c"; -1 when it is none of them. */
int pm_word_place_among(const char *words, const char *word);
/* The word at that place, its length in *length; NULL when there are not so many. */
const char *pm_word_at(const char *words, int place, size_t *length);

/* Optimal string alignment distance (Damerau 1964, restricted) of two strings given with their
 * lengths: to insert, delete or replace a byte or to exchange two neighbours counts one each; the
 * case of ASCII letters does not count. bound + 1 when it is larger than that, or a string longer
 * than 255 bytes. */
int pm_word_distance(const char *a, size_t a_length, const char *b, size_t b_length, int bound);

/* Whether two texts are the same, byte for byte, or both NULL. */
bool pm_same_text(const char *a, const char *b);

#endif
