/* SPDX-License-Identifier: MIT */
/*
 * CAS Registry Numbers: two to seven digits, two digits and a check digit, joined by hyphens. The
 * check digit is the sum of the other digits, each times its place counted from the right, modulo
 * 10. Source of the rule: Chemical Abstracts Service, "Check Digit Verification of CAS Registry
 * Numbers" (with 107-07-3 as its worked example). A right check digit does not prove that the
 * number belongs to the substance.
 */
#ifndef PERMILLE_CORE_CAS_H
#define PERMILLE_CORE_CAS_H

#include "permille/base/status.h"

#include <stdbool.h>

#define PM_CAS_TEXT 13 /* room for the longest number and its NUL */

/* Reads one number; white space around it is passed over, typographic hyphens are not accepted.
 * out[PM_CAS_TEXT] receives it plain. PM_INVALID says what is wrong: the shape, or which check
 * digit was expected. */
enum pm_status pm_cas_read(const char *text, char *out, struct pm_error *err);
/* Whether text has the shape of such a number, right or wrong: for telling it from a name. */
bool pm_cas_shaped(const char *text);

#endif
