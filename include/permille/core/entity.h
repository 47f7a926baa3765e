/* SPDX-License-Identifier: MIT */
/*
 * What an entity (a bottle, a smell note, a session) can be told about itself, described once: its
 * attributes with their names, kinds, where they lie in the row, and what is allowed. Reading what
 * was typed, showing it, JSON, tables in and out, a command's options and a form's fields all
 * follow from the description: a new attribute is one row of it, and a member of the row's struct.
 *
 * A description never holds what is worked out (the amount left of a bottle): only what is entered.
 */
#ifndef PERMILLE_CORE_ENTITY_H
#define PERMILLE_CORE_ENTITY_H

#include "permille/base/arena.h"
#include "permille/base/json.h"
#include "permille/base/status.h"
#include "permille/base/text.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* The kind decides how it is typed, shown and stored; beside it the type of the member. */
enum pm_attribute_kind {
    PM_ATTRIBUTE_TEXT,     /* const char *, NULL: none. One line, at most 200 characters */
    PM_ATTRIBUTE_NOTE,     /* const char *, NULL: none. Several lines, at most `limit` bytes */
    PM_ATTRIBUTE_CAS,      /* const char *, NULL: none. A CAS number, its check digit verified */
    PM_ATTRIBUTE_NAMES,    /* const char *const *, and how many (size_t) at `beside`: "one; two" */
    PM_ATTRIBUTE_MASS,     /* pm_mass: "31.4 g" */
    PM_ATTRIBUTE_STRENGTH, /* pm_strength: "10 %"; "0" where there may be nothing */
    PM_ATTRIBUTE_SHARE,    /* pm_strength: "5%" or "0.05"; in JSON a number from 0 to 1 */
    PM_ATTRIBUTE_DAY,      /* pm_day: "2026-03-02" */
    PM_ATTRIBUTE_TIME,     /* int64_t, Unix seconds: "2026-03-02 14:05" */
    PM_ATTRIBUTE_SPAN,     /* int64_t, seconds: "15 min" */
    PM_ATTRIBUTE_MONEY,    /* pm_money, with the currency (char[4], "" when unknown) at `beside` */
    PM_ATTRIBUTE_COUNT,    /* int64_t, a whole number from `least` to `most` */
    PM_ATTRIBUTE_DECIMAL,  /* int64_t, a number of 0 or more scaled by 10^`scale`: "0.98" */
    PM_ATTRIBUTE_LEVEL,    /* int, the same for small ones */
    PM_ATTRIBUTE_CHOICE,   /* int or enum: the place among the words of `choices`, "a|b|c"; where
                              `most` is set, words after that place are shown but not offered */
    PM_ATTRIBUTE_FLAG,     /* bool */
    PM_ATTRIBUTE_REFERENCE /* int64_t, 0: none. The row of another entity, named by the studio;
                              `choices` says of which: "material"; its name (const char *) may
                              lie at `beside`, else its number is shown */
};

struct pm_attribute {
    const char *key;    /* "best_before": column of a table, and what pm_error.field says */
    const char *json;   /* key in JSON; NULL: the key with the unit ("tare_g") */
    const char *option; /* of commands; NULL: the key, with - for _ */
    const char *title;  /* "Best before" */
    const char *called; /* what it is called within a sentence; NULL: the title in lower case */
    const char *brief;  /* what stands beside it on a card; NULL: the title in lower case */
    const char *hint;   /* one sentence for whoever types it into a field, or NULL */
    const char *help;   /* of the option: one line, lower case, no full stop */
    enum pm_attribute_kind kind;
    bool required;       /* cannot be taken away, and a new row needs it */
    bool may_be_0;       /* a strength of nothing may be said */
    bool typed_only;     /* a way to say what another attribute holds: not in JSON or tables */
    size_t offset;       /* of the member in the row */
    size_t beside;       /* of the member that belongs to it; see the kinds */
    int64_t least, most; /* of counts and levels; of a mass `least` below 0: may have a minus */
    int64_t unknown;     /* what the member holds while it is unknown (numbers of every kind) */
    const char *choices;
    size_t limit; /* bytes of a note */
    int scale;    /* of a decimal */
};

struct pm_entity {
    const char *name; /* "bottle" */
    const struct pm_attribute *attributes;
    size_t count;
};

#define PM_ENTITY_MOST 32 /* attributes of one entity */

/* NULL when there is none of that key. */
const struct pm_attribute *pm_entity_find(const struct pm_entity *entity, const char *key);
/* "best-before"; buf holds PM_OPTION_TEXT bytes and is returned. */
#define PM_OPTION_TEXT 48
char *pm_attribute_option(const struct pm_attribute *attribute, char *buf);
/* The words of a choice that are offered, "a|b"; NULL of other kinds. */
const char *pm_attribute_words(const struct pm_attribute *attribute, char *buf);
#define PM_WORDS_TEXT 200

/* What it is called within a sentence, "best before", into buf, which is returned. */
char *pm_attribute_label(const struct pm_attribute *attribute, char *buf, size_t size);
/* What stands beside it on a card. */
char *pm_attribute_brief(const struct pm_attribute *attribute, char *buf, size_t size);

/* ---- reading ---- */

/* How the rows that references name are found; the studio's. */
struct pm_naming {
    enum pm_status (*find)(void *context, const struct pm_attribute *attribute, const char *text,
                           int64_t *id, struct pm_error *err);
    void *context;
    char currency[4]; /* of money that is typed without one; "": it is refused */
};

/*
 * Reads what was typed into the row, attribute by attribute. values[i] belongs to attribute i:
 * NULL leaves it as it is, blank takes it away. Strings go into `arena`. naming may be NULL where
 * no reference is given. An error names its field; the row may then be half filled: read into a
 * copy.
 */
enum pm_status pm_entity_read(const struct pm_entity *entity, const char *const *values, void *row,
                              struct pm_arena *arena, const struct pm_naming *naming,
                              struct pm_error *err);
/* Whether it could be read, for a verdict while it is typed. */
enum pm_status pm_attribute_check(const struct pm_attribute *attribute, const char *text,
                                  struct pm_error *err);
/* Sets every attribute to unknown: the beginning of a new row. */
void pm_entity_clear(const struct pm_entity *entity, void *row);

/* ---- showing ---- */

bool pm_attribute_known(const struct pm_attribute *attribute, const void *row);
/* What the member holds, of kinds that lie in a number; 0 of others. */
int64_t pm_attribute_number(const struct pm_attribute *attribute, const void *row);
/* For people: rounded where amounts are long. Nothing when it is unknown. */
void pm_attribute_show(const struct pm_attribute *attribute, const void *row, char sign,
                       struct pm_text *out);
/* Exactly, as it would be typed: for editing (with the person's decimal sign) and for tables. */
void pm_attribute_exact(const struct pm_attribute *attribute, const void *row, char sign,
                        struct pm_text *out);
/* Whether it is a whole number in JSON and in listings. */
bool pm_attribute_is_whole(const struct pm_attribute *attribute);
/* The key: "tare_g"; buf holds PM_OPTION_TEXT bytes and is returned. */
char *pm_attribute_key(const struct pm_attribute *attribute, char *buf);
/* The value as in JSON, for a table whose heading is that key: masses in grams, times in UTC, what
 * is no number as it would be typed. */
void pm_attribute_plain(const struct pm_attribute *attribute, const void *row, struct pm_text *out);
/* All of them in their order. */
void pm_entity_json(const struct pm_entity *entity, const void *row, struct pm_json *json);

#endif
