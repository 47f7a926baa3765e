/* SPDX-License-Identifier: MIT */
/* What weigh sheets and batch records say alike; inside the studio. */
#ifndef PERMILLE_STUDIO_SCALE_PAGE_H
#define PERMILLE_STUDIO_SCALE_PAGE_H

#include "page.h"
#include "permille/studio/scale.h"

const char *pm_scale_page_percent(const struct pm_page *page, double share, char *buf);
/* Grams, without the unit: what is asked for to the microgram, what is read in the digits of the
 * balance, what was poured in those or in all that it has. */
const char *pm_scale_page_exactly(const struct pm_page *page, pm_mass mass, char *buf);
const char *pm_scale_page_display(const struct pm_page *page, const struct pm_balance *balance,
                                  pm_mass mass, char *buf);
const char *pm_scale_page_poured(const struct pm_page *page, const struct pm_balance *balance,
                                 pm_mass mass, char *buf);
/* Which of the lines come from which accords: whence(lines, i) of each, by their places, from 1. */
typedef const struct pm_weigh_whence *pm_scale_whence_of(const void *lines, size_t i);
void pm_scale_page_accords(struct pm_page *page, pm_scale_whence_of *whence, const void *lines,
                           size_t count);
void pm_scale_page_balance(struct pm_page *page, const char *name, const struct pm_balance *balance,
                           pm_strength tolerance);
void pm_scale_page_bottle(const char *label, const char *lot, const char *store, char *buf,
                          size_t size);

#endif
