/* SPDX-License-Identifier: MIT */
/*
 * What a balance says: lines of text with a number and a unit, whatever stands around them.
 *
 * No maker's protocol is known here. The first number of a line counts, with the sign before it and
 * the unit behind it: g, kg, mg, µg (ug). A number without a unit is a balance that has not
 * settled; a line without a number is chatter. A reading is stable when the same mass came several
 * times.
 */
#ifndef PERMILLE_CORE_READING_H
#define PERMILLE_CORE_READING_H

#include "permille/base/amount.h"
#include "permille/base/status.h"

#include <stdbool.h>
#include <stddef.h>

enum pm_reading {
    PM_READING_NONE,      /* no number */
    PM_READING_UNSETTLED, /* a number without a unit */
    PM_READING_MASS
};
/* One line, without its end. *mass (micrograms; may be negative: the display shows less than the
 * tare) is set with PM_READING_MASS. PM_INVALID: a unit that is no mass we know ("ct"), a number
 * beyond all masses; the sentence quotes it. */
enum pm_status pm_reading_line(const char *line, enum pm_reading *kind, pm_mass *mass,
                               struct pm_error *err);

#define PM_STEADY_READINGS 3   /* equal ones that make a stable reading; our own choice */
#define PM_READING_BYTES   128 /* of a line; longer ones are cut, and so not understood */

/* Begins as zeros. */
struct pm_steady {
    int equal; /* readings in a row that said `mass` */
    pm_mass mass;
    bool stable;
    char line[PM_READING_BYTES]; /* what has come of the line that is not over */
    size_t length;
    bool dropping; /* the line was longer than that */
};
/*
 * Takes what came from the device, in pieces as they come. `stable` and `mass` say what holds at
 * the end of it; anything else than the same mass begins the counting anew, and so does `stable`
 * after it was taken. PM_INVALID with the sentence of the last line that could not be understood;
 * what came after it was taken all the same.
 */
enum pm_status pm_steady_feed(struct pm_steady *steady, const char *bytes, size_t count,
                              struct pm_error *err);
/* Nothing was said yet: for the next thing that is put on the balance. */
void pm_steady_again(struct pm_steady *steady);

#endif
