/* SPDX-License-Identifier: MIT */
/* What weigh sheets and batch records say alike; inside the studio. */
#ifndef PERMILLE_STUDIO_SCALE_PAGE_H
#define PERMILLE_STUDIO_SCALE_PAGE_H

#include "page.h"
#include "permille/studio/scale.h"

const char *pm_scale_page_percent(const struct pm_page *page, double share, char *buf);
/* A mass beside the largest one as a bar has it: 0 to 100, with a point. */
const char *pm_scale_page_bar(pm_mass mass, pm_mass most, char *buf);
void pm_scale_page_balance(struct pm_page *page, const char *name, const struct pm_balance *balance,
                           pm_strength tolerance);
void pm_scale_page_bottle(const char *label, const char *lot, const char *store, char *buf,
                          size_t size);

#endif
