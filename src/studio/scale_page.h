/* SPDX-License-Identifier: MIT */
/* What weigh sheets and batch records say alike; inside the studio. */
#ifndef PERMILLE_STUDIO_SCALE_PAGE_H
#define PERMILLE_STUDIO_SCALE_PAGE_H

#include "page.h"
#include "permille/studio/scale.h"

const char *pm_scale_page_percent(const struct pm_page *page, double share, char *buf);
void pm_scale_page_balance(struct pm_page *page, const char *name, const struct pm_balance *balance,
                           pm_strength tolerance);
void pm_scale_page_bottle(const char *label, const char *lot, const char *store, char *buf,
                          size_t size);

#endif
