/* SPDX-License-Identifier: MIT */
/* What weigh sheets and batch records are written with; inside the studio. */
#ifndef PERMILLE_STUDIO_SCALE_PAGE_H
#define PERMILLE_STUDIO_SCALE_PAGE_H

#include "permille/studio/scale.h"

struct scale_page {
    struct pm_text *out;
    bool html;
    char sign;
};

void pm_scale_page_text(struct scale_page *print, const char *text);
void pm_scale_page_begin(struct scale_page *print, const char *kind, const char *title);
/* A heading within it. */
void pm_scale_page_head(struct scale_page *print, const char *text);
/* A sentence, or a line, of its own. */
void pm_scale_page_say(struct scale_page *print, const char *sentence);
/* A table: it begins, its rows, its end. Numbers are those cells whose heading begins with a blank;
 * the headings themselves are a row with `cells` the same as `headings`. */
void pm_scale_page_table(struct scale_page *print, bool begins);
void pm_scale_page_row(struct scale_page *print, const char *const *headings, const int *widths,
                       const char *const *cells, size_t count);
const char *pm_scale_page_percent(struct scale_page *print, double share, char *buf);
void pm_scale_page_balance(struct scale_page *print, const char *name,
                           const struct pm_balance *balance, pm_strength tolerance);
void pm_scale_page_bottle(const char *label, const char *lot, const char *store, char *buf,
                          size_t size);
int pm_scale_page_width(const char *name, int width);
enum pm_status pm_scale_page_end(struct scale_page *print, const char *caution,
                                 struct pm_error *err);

#endif
