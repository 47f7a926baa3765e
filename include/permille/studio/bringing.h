/* SPDX-License-Identifier: MIT */
/*
 * Bringing in formulas: a text as people write them, a table, or a JSON document becomes lines as
 * they were understood, each with what it was matched to and what is doubtful. Nothing is written
 * before it is committed, and then all of it or nothing.
 *
 * What is read:
 *   text   as core/jotting.h reads it; several formulas come as several
 *   table  CSV (RFC 4180) whose header names a column of names ("material", "name", "ingredient")
 *          and one of amounts ("parts", "amount", "percent", "grams"...), in any order; beside them
 *          strength, solvent, formula, base, comment. The separator (, ; or a tab) and the decimal
 *          sign are found out and told
 *   JSON   {"formulas":[...]} or one formula: the objects of `permille show --json` and of
 *          schema/json/formulas-document.schema.json
 *
 * Amounts become parts of the base: plain numbers are taken as they are, and the base is what they
 * add up to (a total that is off by no more than its rounding is brought to the round one);
 * percentages and masses are shares of a base of 1000. A base asked for rescales.
 */
#ifndef PERMILLE_STUDIO_BRINGING_H
#define PERMILLE_STUDIO_BRINGING_H

#include "permille/base/amount.h"
#include "permille/base/arena.h"
#include "permille/core/jotting.h"
#include "permille/core/trial.h"
#include "permille/studio/studio.h"

enum pm_match {
    PM_MATCH_EXACT, /* a name, synonym or CAS number of the library */
    PM_MATCH_NEAR,  /* the nearest one; the line says so */
    PM_MATCH_NEW    /* nothing like it is there: a new material */
};
const char *pm_match_word(enum pm_match match); /* "exact" "near" "new" */

struct pm_brought_line {
    size_t at;           /* line of the source, from 1 */
    const char *text;    /* as it stood there */
    const char *name;    /* as it was written */
    const char *matched; /* name of the material or "Name/3" of the accord it becomes */
    enum pm_match match;
    int64_t material; /* 0: a new one, or an accord */
    int64_t accord;   /* id of the kept trial; 0 for materials */
    pm_parts parts;
    pm_strength strength;        /* PM_NEAT when none was written */
    const char *solvent;         /* as written, or as taken; NULL when neat */
    const char *solvent_matched; /* NULL when neat */
    enum pm_match solvent_match; /* of the solvent */
    int64_t solvent_id;          /* 0: new, or neat */
    enum pm_stance stance;       /* of JSON; free otherwise */
    enum pm_stance rested_as;    /* of JSON; what a resting one comes back as */
    int core;                    /* of JSON; 0 otherwise */
    int64_t weight;
    const char *comment; /* or NULL */
    const char *doubt;   /* what to look at, or NULL */
    bool wants_accord;   /* written as an accord: nothing else can stand for it */
    bool left_out;       /* by the person */
    /* What was written, before it became parts. */
    const char *written_doubt; /* of the amount or the strength */
    const char *below;         /* words alone on lines below, or NULL */
    int64_t amount;            /* 1e-6 of its unit */
    enum pm_jotted_unit unit;
    bool has_amount;
};
struct pm_brought_formula {
    const char *name; /* free to be used */
    size_t at;
    size_t first, count; /* of its lines */
    pm_parts base, total;
    enum pm_mode mode;
    bool accord;
    bool left_out;
    const char *remark; /* about the total or the name, or NULL */
    bool has_total;     /* a total was written */
    int64_t written_total;
    pm_parts written_base; /* of JSON or a column; 0: none */
};
struct pm_bringing {
    struct pm_brought_formula *formulas;
    size_t formula_count;
    struct pm_brought_line *lines;
    size_t line_count;
    const char *source; /* how it was read: "text", "table: separator ;, decimal sign ,", "JSON" */
    size_t doubts;      /* lines with one, and formulas with a remark, not left out */
    size_t fresh;       /* materials that would be new */
    struct pm_arena arena;
    struct pm_bringing_options {
        pm_parts base; /* rescale every formula to it; 0: as it comes */
        const char
            *solvent;      /* for strengths without one; NULL: the text's only one, else unnamed */
        bool exact_only;   /* what is only near is new */
        const char *title; /* for a formula without one; NULL: "Brought in" */
    } options;
};

/* Reads and matches; options may be NULL. PM_INVALID names line and column; PM_REFUSED when there
 * is no formula in it. Release with pm_bringing_release. */
enum pm_status pm_bringing_read(struct pm_studio *studio, const char *text, size_t length,
                                const struct pm_bringing_options *options, struct pm_bringing *out,
                                struct pm_error *err);
void pm_bringing_release(struct pm_bringing *bringing);
/* The library may have other materials and formulas than before. */
enum pm_status pm_bringing_match_again(struct pm_studio *studio, struct pm_bringing *bringing,
                                       struct pm_error *err);

/* Corrections before committing; text as typed. Everything is matched and reckoned anew. A refused
 * one leaves all as it was. */
enum pm_brought_field {
    PM_BROUGHT_NAME,     /* of the material; one that is there matches, another is new */
    PM_BROUGHT_PARTS,    /* in the formula's base */
    PM_BROUGHT_STRENGTH, /* "10%", "neat" */
    PM_BROUGHT_SOLVENT
};
enum pm_status pm_bringing_set(struct pm_studio *studio, struct pm_bringing *bringing, size_t line,
                               enum pm_brought_field field, const char *text, struct pm_error *err);
enum pm_status pm_bringing_title(struct pm_studio *studio, struct pm_bringing *bringing,
                                 size_t formula, const char *text, struct pm_error *err);
/* In again, or left out. */
enum pm_status pm_bringing_leave_line(struct pm_studio *studio, struct pm_bringing *bringing,
                                      size_t line, struct pm_error *err);
enum pm_status pm_bringing_leave_formula(struct pm_studio *studio, struct pm_bringing *bringing,
                                         size_t formula, struct pm_error *err);

/* Writes all that is not left out, in one transaction that is one entry of the shelf's history:
 * undoing it empties the drafts and puts formulas and new materials out of sight. *first (may be
 * NULL) receives the id of the first formula. PM_EXISTS when a formula of that name was made since.
 */
enum pm_status pm_bringing_commit(struct pm_studio *studio, struct pm_bringing *bringing,
                                  int64_t *first, struct pm_error *err);

/* Whether a text is meant for pm_bringing_read rather than for pm_shelf_import (a table of
 * materials, bottles or movements). */
bool pm_bringing_is_formulas(const char *text, size_t length);

#endif
