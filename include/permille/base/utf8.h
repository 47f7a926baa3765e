/* SPDX-License-Identifier: MIT */
/*
 * UTF-8 as people type it and terminals show it: decoding, cells, cleaning, folding. Properties of
 * characters come from utf8proc.
 * A cell is one column of the terminal. Nothing here depends on the process locale.
 */
#ifndef PERMILLE_BASE_UTF8_H
#define PERMILLE_BASE_UTF8_H

#include "permille/base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Decodes the character at text (length bytes available, > 0) into *out; bad bytes give U+FFFD and
 * consume one byte. Returns the bytes consumed (1..4). */
size_t pm_utf8_decode(const char *text, size_t length, uint32_t *out);
/* Writes code (1..4 bytes) to out; returns the bytes written. Surrogates and out-of-range codes
 * are written as U+FFFD. */
size_t pm_utf8_encode(uint32_t code, char out[4]);
/* The small letter, the capital of one code point; itself where it has none of its own. */
uint32_t pm_utf8_lower(uint32_t code);
uint32_t pm_utf8_upper(uint32_t code);
/* Bytes of the white-space character at text (tab, line ends, all spaces of Unicode), 0 when there
 * is none. */
size_t pm_utf8_space(const char *text);
/* Whether there is nothing but white space. */
bool pm_is_blank(const char *text);
bool pm_utf8_valid(const char *text, size_t length);

/* Cells one code point takes: 0 for combining marks and joiners, 2 for wide East Asian and emoji,
 * 1 otherwise. Control, bidirectional-control, private and unassigned-format code points are
 * reported as -1: they must be replaced before they are shown. */
int pm_utf8_width(uint32_t code);
/* Cells of a NUL-terminated string, every unshowable code point counted as one (its mark). */
size_t pm_utf8_cells(const char *text);

/* One user-perceived character: an extended grapheme cluster (UAX #29), save that characters which
 * cannot be shown stand alone, and ASCII always begins a new one. */
struct pm_glyph {
    const char *bytes; /* borrowed from the string */
    size_t length;     /* bytes; 0 at the end of the string */
    int cells;         /* 1 or 2 (0 only for a mark without base at the start of a string) */
    bool shown;        /* false: replace it by a mark (U+FFFD) when painting */
};
/* The glyph at `text` and, through ->length, where the next one starts. */
struct pm_glyph pm_utf8_next(const char *text);
/* Byte offset of the glyph before `offset` (0 stays 0). */
size_t pm_utf8_before(const char *text, size_t offset);
/* How many bytes of text fit into `cells` cells, never splitting a glyph. */
size_t pm_utf8_fit(const char *text, size_t cells);
/* Where a row of wrapped text ends: returns the bytes of `text` to show in `cells` cells (cells >
 * 0) and, through *next, where the following row begins (the end of the string when there is none).
 * Breaks at blanks and newlines, within a word only when it is longer than a row. */
size_t pm_wrap_next(const char *text, int cells, size_t *next);

/* Checks and trims something that is to become a name: valid UTF-8, no control or bidirectional
 * control characters or others that cannot be shown, 1..200 characters after trimming and
 * squeezing of white space, not all of them invisible. White space at the ends may hold tabs and
 * line ends, inside they are control characters. `what` names it in the sentence ("The formula's
 * name"). On success *out is a new string (pm_free). PM_INVALID, PM_NOMEM. */
enum pm_status pm_name_clean(const char *text, const char *what, char **out, struct pm_error *err);
/* Same for free text of 0 to max_bytes bytes: inside, white space, newlines and tabs stay (CRLF
 * becomes a newline), other control and bidirectional control characters are refused. */
enum pm_status pm_note_clean(const char *text, const char *what, size_t max_bytes, char **out,
                             struct pm_error *err);

/* A copy fit for comparing and searching: case folded, compatibility forms decomposed (ligatures
 * spelled out, wide forms made narrow), accents and what is never seen dropped, letters with a
 * stroke and typographic dashes, quotes and spaces made plain, runs of white space squeezed and
 * those at the ends dropped; bad bytes become U+FFFD. Folding twice changes nothing more. New
 * string (pm_free), NULL when memory ran out. */
char *pm_fold(const char *text);
/* In small letters, accents and all: characters composed (Unicode's form C), each in its small
 * letter. A text that is no UTF-8 comes back as it is. New string (pm_free), NULL when memory ran
 * out. */
char *pm_small(const char *text);
/* Whether two texts fold to the same; needs no memory. */
bool pm_fold_equal(const char *a, const char *b);

#endif
