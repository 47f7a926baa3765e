/* SPDX-License-Identifier: MIT */
/*
 * Taking formulas out: as JSON and CSV that import reads again, as Markdown, and as a page of HTML
 * that prints on one sheet (no script, nothing fetched). Sheets to weigh from and batch records
 * (scale.h), limits and labels (limits.h) and tables of the shelf (shelf.h) leave in the same
 * forms.
 */
#ifndef PERMILLE_STUDIO_PAPER_H
#define PERMILLE_STUDIO_PAPER_H

#include "permille/base/text.h"
#include "permille/studio/bench.h"
#include "permille/studio/trials.h"

enum pm_paper { PM_PAPER_JSON, PM_PAPER_CSV, PM_PAPER_MARKDOWN, PM_PAPER_HTML, PM_PAPER_TEXT };
/* "json" "csv" "markdown" "html" "text" */
bool pm_paper_from_word(const char *word, enum pm_paper *out);

/* One sheet after the other: several formulas in one JSON document or table, one below the other in
 * Markdown and HTML (a page each). `sign` is the decimal sign of what is read by people; JSON and
 * CSV have a point. Appended to out. */
enum pm_status pm_paper_sheets(const struct pm_sheet *const *sheets, size_t count,
                               enum pm_paper paper, char sign, struct pm_text *out,
                               struct pm_error *err);
/* Trials side by side as text, Markdown or HTML; PM_INVALID for the others: the command compare has
 * them. */
enum pm_status pm_paper_comparison(const struct pm_side_by_side *side, enum pm_paper paper,
                                   char sign, struct pm_text *out, struct pm_error *err);

#endif
