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
/* Leaves *out where nothing is given. */
enum pm_status pm_smell_medium(const char *text, enum pm_medium *out, struct pm_error *err);
/* A time not in the future; nothing given: now. */
enum pm_status pm_smell_when(struct pm_studio *studio, const char *text, int64_t *out,
                             struct pm_error *err);
/* Hands the texts over; both are empty afterwards, whatever happens. */
enum pm_status pm_smell_finish(struct pm_text *sentence, struct pm_text *remark, int64_t id,
                               struct pm_smell_done *out, struct pm_error *err);

#endif
