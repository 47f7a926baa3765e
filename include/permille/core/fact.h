/* SPDX-License-Identifier: MIT */
/*
 * What may be said about a material: properties with their units and ranges. One table; reading,
 * showing, the starter set's columns and the help all follow it.
 *
 * Numbers are integers in 1e-9 of the property's unit, which never changes, so values compare.
 */
#ifndef PERMILLE_CORE_FACT_H
#define PERMILLE_CORE_FACT_H

#include "permille/base/amount.h"
#include "permille/base/status.h"
#include "permille/base/text.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Where a value is from; one's own stands over one that came with the program. */
enum pm_origin { PM_OWN, PM_STARTER };
enum pm_confidence { PM_CHECKED, PM_FROM_MEMORY, PM_OWN_WORD };
const char *pm_confidence_word(enum pm_confidence confidence); /* "checked" "memory" "own" */

#define PM_FACT_SCALE 9 /* values are integers scaled by 10^9 */

enum pm_fact_kind {
    PM_FACT_NUMBER,
    PM_FACT_WORDS,  /* free text of one line */
    PM_FACT_CHOICE, /* one of `choices` */
    PM_FACT_PERCENT /* a mass fraction: value 1e9 is the whole; typed and shown in percent */
};

struct pm_fact_property {
    const char *word;  /* "density": stored, in JSON and on the command line */
    const char *label; /* "density at 20 °C" */
    const char *unit;  /* "g/ml"; "" when there is none */
    enum pm_fact_kind kind;
    int64_t least, most; /* of numbers, scaled */
    const char *choices; /* "top|heart|base"; else NULL */
    const char *column;  /* of the starter set's table; NULL: only one's own */
};

extern const struct pm_fact_property pm_fact_properties[];
extern const size_t pm_fact_property_count;

/* By word; NULL when there is no such property. */
const struct pm_fact_property *pm_fact_find(const char *word);

/* Reads what was typed. A number goes into *value, words stay as they are (*value 0). PM_INVALID
 * with the range or the choices. A leading minus is allowed where the range is. */
enum pm_status pm_fact_read(const struct pm_fact_property *property, const char *text,
                            int64_t *value, struct pm_error *err);
/* Appends the number with its unit: "0.8411 g/ml", "20 %". */
void pm_fact_format(const struct pm_fact_property *property, int64_t value, char sign,
                    struct pm_text *out);

#endif
