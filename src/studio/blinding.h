/* SPDX-License-Identifier: MIT */
/*
 * What the files about blind tests share.
 */
#ifndef PERMILLE_STUDIO_BLINDING_H
#define PERMILLE_STUDIO_BLINDING_H

#include "inside.h"
#include "permille/store/panels.h"
#include "permille/studio/blind.h"

/* Below so many answers a ranking is called exploratory: common practice, no source. */
#define PM_RANKING_FEW 8

/* Place of the code in items; SIZE_MAX when no vial bears it. */
size_t pm_servings_find(const struct pm_servings *servings, int code);

/* Steps through "417 236=902": *text moves on, *tied tells that the code shares the place of the
 * one before it. Returns the code; 0 at the end, -1 for what is no code. */
int pm_codes_next(const char **text, bool *tied);

/* Rounds in which every serving order stands equally often. */
size_t pm_blind_block(enum pm_panel_kind kind, size_t samples);
/* Too few to find, in four tests of five, a difference that is smelled every other time and guessed
 * otherwise. */
bool pm_blind_few(enum pm_panel_kind kind, int64_t answers, double alpha);

/* What so many answers can and cannot show. */
void pm_say_power(struct pm_text *out, enum pm_panel_kind kind, size_t samples, int64_t answers,
                  double alpha);
/* The result in words. */
void pm_say_result(struct pm_text *out, const struct pm_blind_sheet *sheet, size_t assessors);

#endif
