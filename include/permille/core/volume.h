/* SPDX-License-Identifier: MIT */
/*
 * Volumes, for whoever measures by pipette: what is kept and reckoned is mass, and a volume counts
 * as the mass it has at the density that is known of the material, at 20 degrees.
 */
#ifndef PERMILLE_CORE_VOLUME_H
#define PERMILLE_CORE_VOLUME_H

#include "permille/base/amount.h"
#include "permille/base/status.h"
#include "permille/base/text.h"

#include <stdbool.h>
#include <stdint.h>

/* Whether the text is a number and a unit of volume ("10ml", "0.5 l", "2 cl", "250 µl"). */
bool pm_is_volume(const char *text);
/*
 * A mass as pm_mass_read reads it, or a volume: then the mass of so much at `density` (1e-9 g/ml),
 * rounded to a microgram. PM_REFUSED when it is 0, unknown: the sentence says that only a mass can
 * be typed. PM_INVALID.
 */
enum pm_status pm_mass_or_volume_read(const char *text, int64_t density, pm_mass *out,
                                      struct pm_error *err);
/* Microlitres as "12.7 ml", "250 µl": three significant digits, which is more than a pipette and a
 * density have. buf: PM_AMOUNT_TEXT; "" for less than nothing (unknown). */
char *pm_volume_format(int64_t microlitres, char sign, char *buf);
/* Behind a mass: " (12.7 ml)"; nothing where it is unknown. */
void pm_volume_beside(int64_t microlitres, char sign, struct pm_text *out);

#endif
