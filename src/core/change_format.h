/* SPDX-License-Identifier: MIT */
/*
 * Private: the text of a change, shared by its writer and its reader.
 *
 *   change 3                                      always the first line
 *   base OLD NEW                                  micro-parts
 *   mode OLD NEW                                  words
 *   settled OLD NEW                               0 or 1
 *   parent OLD NEW                                trial ids
 *   scale DIGITS POWER DIGITS POWER               what a micro-part weighs, old and new
 *   next OLD NEW                                  the trial's line counter
 *   gone PLACE LINE                               in ascending order of places before
 *   line ID FIELD OLD NEW                         one field of a line that stands in both
 *   order PLACE OLD,OLD,... NEW,NEW,...           ids, among the lines that stand in both
 *   new PLACE LINE                                in ascending order of places after
 *
 * LINE is id and the fields in the order of enum pm_line_field. A comment is - or "text" with \\ \"
 * \n \r \t and \xHH. Fields are set apart by one space; every line ends with a newline.
 *
 * Format 2, which is read but no longer written, knows no rest.
 *
 * Format 1, which is read but no longer written, knows no scale, rested, share, power and rest. Its
 * weights are poured numbers, and "settled" says that the total had reached the base once: the
 * state that it is applied to is turned into such a one and the result back, every line weighing
 * its parts.
 */
#ifndef PERMILLE_SRC_CORE_CHANGE_FORMAT_H
#define PERMILLE_SRC_CORE_CHANGE_FORMAT_H

#include "permille/core/trial.h"

#define PM_CHANGE_HEAD   "change 3\n"
#define PM_CHANGE_HEAD_2 "change 2\n"
#define PM_CHANGE_HEAD_1 "change 1\n"

enum pm_line_field {
    PM_FIELD_KIND,
    PM_FIELD_REF,
    PM_FIELD_STRENGTH,
    PM_FIELD_SOLVENT,
    PM_FIELD_PARTS,
    PM_FIELD_STANCE,
    PM_FIELD_CORE,
    PM_FIELD_WEIGHT,
    PM_FIELD_RESTED,  /* from here on not in format 1, but for the comment */
    PM_FIELD_SHARE,   /* its digits */
    PM_FIELD_POWER,   /* of its share */
    PM_FIELD_REST,    /* the stance it had; not in format 2 either */
    PM_FIELD_COMMENT, /* the only one that is text; the others are numbers */
    PM_FIELD_COUNT
};

const char *pm_line_field_name(enum pm_line_field field);
/* PM_FIELD_COUNT when it is none. */
enum pm_line_field pm_line_field_from_name(const char *name);
int64_t pm_line_field_get(const struct pm_line *line, enum pm_line_field field);
void pm_line_field_set(struct pm_line *line, enum pm_line_field field, int64_t value);
/* The word a value of the field is written as, or NULL where it is written as a number. */
const char *pm_line_field_word(enum pm_line_field field, int64_t value);
/* From how it is written; false when it is no value of the field. */
bool pm_line_field_read(enum pm_line_field field, const char *word, int64_t *out);
/* A whole decimal number of 0 .. INT64_MAX, without sign or leading zeros. */
bool pm_change_number(const char *word, int64_t *out);

#endif
