/* SPDX-License-Identifier: MIT */
/*
 * Formulas as people jot them down, in messages, notebooks and columns copied from elsewhere, read
 * into lines of name, amount and strength:
 *
 *     Hedge, first try
 *     Linalool ......... 12,5
 *     4   Hexyl acetate 10% in DPG
 *     - cis-3-hexenol (1 % in ethanol)   2.5
 *     Total 1000
 *
 * What is taken apart: bullets and numbering; dotted leaders, tabs, runs of blanks and bars between
 * columns; the number before or after the name (what most lines of a formula do decides); units;
 * "10%", "10 % in X", "(10% X)", "@ 10 %" as a strength where another number is the amount; "neat";
 * a total; "q.s. to 100" as a doubt; a title (a line "Trial 5", or one without a number before
 * lines with one); comments (after #, // or ;, and lines without a number between the others).
 * Several formulas are told apart by a blank line and a title, by a total, or by a line of dashes.
 *
 * Names are not looked up here: whoever knows the materials does that. What is not certain is said
 * in `doubt`, in words for the person; nothing is guessed in silence. No I/O.
 */
#ifndef PERMILLE_CORE_JOTTING_H
#define PERMILLE_CORE_JOTTING_H

#include "permille/base/amount.h"
#include "permille/base/arena.h"
#include "permille/base/status.h"

#include <stdbool.h>
#include <stddef.h>

enum pm_jotted_unit {
    PM_JOTTED_PARTS, /* a plain number, or "parts" */
    PM_JOTTED_PERCENT,
    PM_JOTTED_PERMILLE,
    PM_JOTTED_PPM,
    PM_JOTTED_MASS,  /* the amount is micrograms */
    PM_JOTTED_DROPS, /* drops, volumes, ounces (of mass or of volume): not to be reckoned with */
    PM_JOTTED_PRICE  /* an amount of money: neither */
};
/* Whether amounts in that unit can become parts. */
bool pm_jotted_counts(enum pm_jotted_unit unit);

struct pm_jotted_line {
    size_t at;        /* line of the text, from 1 */
    const char *text; /* that line, trimmed */
    const char *name;
    bool has_amount;
    int64_t amount; /* 1e-6 of its unit; micrograms */
    enum pm_jotted_unit unit;
    pm_strength strength; /* 0: none was written; PM_NEAT: "neat" was */
    const char *solvent;  /* as written, or NULL */
    const char *comment;  /* or NULL */
    const char *below;    /* words alone on lines below, each on one of its own: a comment, unless
                             they are the name of something; or NULL */
    const char *doubt;    /* what the person should look at; NULL: nothing */
};
struct pm_jotted_formula {
    const char *title; /* NULL: none */
    size_t at;         /* line of the text it begins at */
    size_t first;      /* place of its first line */
    size_t count;
    bool has_total; /* a total was written */
    int64_t total;  /* as an amount */
    enum pm_jotted_unit total_unit;
};
struct pm_jotting {
    struct pm_jotted_formula *formulas; /* in the arena */
    size_t formula_count;
    struct pm_jotted_line *lines; /* of all formulas, one after the other; in the arena */
    size_t line_count;
    struct pm_arena arena;
};

#define PM_JOTTED_COMMENT 2000               /* bytes up to which lines of words are joined */
#define PM_JOTTING_BYTES  (16 * 1024 * 1024) /* longest text */

/* Decimal points and commas are both read, each line by itself; so are marks between thousands that
 * can be nothing else ("1.234,5", "1,234.5", "1'250"). "1,250" is a doubt, and "1.250" where commas
 * are decimal signs. PM_INVALID for text that is not UTF-8 or too long, naming line and column;
 * PM_REFUSED when no line holds a number. Release with pm_jotting_release. */
enum pm_status pm_jotting_read(const char *text, size_t length, struct pm_jotting *out,
                               struct pm_error *err);
void pm_jotting_release(struct pm_jotting *jotting);

/* A cell that holds one amount and nothing else ("12.5", "250 mg", "3 %"), in the units above.
 * False for anything else. */
bool pm_jotted_amount(const char *text, int64_t *amount, enum pm_jotted_unit *unit);

#endif
