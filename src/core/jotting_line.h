/* SPDX-License-Identifier: MIT */
/*
 * One line of a jotted formula, taken apart as far as it can be without its neighbours.
 */
#ifndef PERMILLE_CORE_JOTTING_LINE_H
#define PERMILLE_CORE_JOTTING_LINE_H

#include "permille/core/jotting.h"

#define PM_JOTTED_PIECES 48 /* more of one line are joined to the last */

/* A piece of a line: a word, or a number with its unit. */
struct pm_piece {
    const char *text; /* borrowed from the line, not ended */
    size_t length;
    bool number;
    int64_t amount;
    enum pm_jotted_unit unit;
    char decimal; /* its decimal sign, or '\0' */
    bool three;   /* "1,000": three digits stand behind it, one or a thousand */
    bool about;   /* "~5": about so much */
    bool apart;   /* leaders, a tab or several blanks stand before it */
};

enum pm_jot_kind {
    PM_JOT_BLANK,
    PM_JOT_RULE,  /* dashes or the like */
    PM_JOT_WORDS, /* no number in it */
    PM_JOT_NUMBER /* at least one that may be an amount, or a strength */
};

struct pm_jot {
    enum pm_jot_kind kind;
    size_t at;
    const char *text;        /* trimmed; in the arena, as all below */
    struct pm_piece *pieces; /* what is left without bullet, strength and comment */
    size_t count;
    pm_strength strength;
    const char *solvent, *comment;
    bool strength_alone; /* the only number of the line is its strength */
    bool garbled;        /* a piece was meant for a number and none can be read */
    size_t garbled_at;   /* that piece */
    bool odd;            /* a piece looks like a number and cannot be read as one */
    bool about;          /* a number is only about so much: "ca. 5" */
    bool asked;          /* a question mark stands behind the name or the amount */
    bool under_rule;     /* a number alone below a rule: the total */
    bool unread;         /* a strength that is none, above 100 % */
};

/* ---- characters and amounts (jotting_amount.c) ---- */

/* Of ASCII. */
bool pm_jot_is_digit(char c);
bool pm_jot_is_letter(char c);
bool pm_jot_digit_at(const char *text, const char *end);
bool pm_jot_starts(const char *text, const char *end, const char *with); /* whatever their case */

/* Each returns the bytes of what stands at `text`, 0 when it does not. */
size_t pm_jot_space_at(const char *text, const char *end);
/* One mark of what people draw between name and number. */
size_t pm_jot_mark_at(const char *text, const char *end);
/* "->", "=>", "--->". */
size_t pm_jot_arrow_at(const char *text, const char *end);
/* Where such a drawing begins: "....", "____", "…", "·····", "|", "->"; a single point is none. */
size_t pm_jot_leader_at(const char *text, const char *end);
/* "½" and its like, in 1e-6. */
size_t pm_jot_vulgar_at(const char *text, const char *end, int64_t *part);
/* A number standing by itself, with its unit, which may follow after blanks. */
size_t pm_jot_amount_at(const char *text, const char *end, struct pm_piece *out);

/* ---- a line ---- */

/* The arena tells whether memory ran out. */
void pm_jot_read(const char *text, size_t length, size_t at, struct pm_arena *arena,
                 struct pm_jot *out);
/* Whether a piece is this word, whatever its case. */
bool pm_piece_is(const struct pm_piece *piece, const char *word);
/* The pieces from..to (not included) with a blank between each two, without the characters of
 * `without` at the end; NULL when nothing is left. */
const char *pm_jot_words(const struct pm_jot *jot, size_t from, size_t to, const char *without,
                         struct pm_arena *arena);

#endif
