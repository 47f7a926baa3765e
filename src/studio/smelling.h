/* SPDX-License-Identifier: MIT */
/*
 * What the files about smelling share.
 */
#ifndef PERMILLE_STUDIO_SMELLING_H
#define PERMILLE_STUDIO_SMELLING_H

#include "inside.h"
#include "permille/store/smells.h"
#include "permille/studio/blotter.h"

/* Whether a form's field holds more than blanks. */
bool pm_given(const char *text);
/* "Name/3" of a kept trial, a new string; a draft is PM_REFUSED. */
enum pm_status pm_smell_title(struct pm_studio *studio, int64_t trial, char **out,
                              struct pm_error *err);
/* Refuses a time to come, and a span of more than a year; the error names "when", and `field`. */
enum pm_status pm_smell_past(struct pm_studio *studio, int64_t when, struct pm_error *err);
enum pm_status pm_smell_span(const char *field, int64_t span, struct pm_error *err);
/* Hands the texts over; both are empty afterwards, whatever happens. */
enum pm_status pm_smell_finish(struct pm_text *sentence, struct pm_text *remark, int64_t id,
                               struct pm_smell_done *out, struct pm_error *err);

#endif
