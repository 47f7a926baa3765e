/* SPDX-License-Identifier: MIT */
/*
 * Side by side on the screen: figures of a comparison as they are printed, columns from a pane's
 * width, painting. No keys and no library here: the Trials room brings those (trials_side.c).
 *
 *   side_layout.c  figures and columns
 *   side_draw.c    painting
 */
#ifndef PERMILLE_TUI_SIDE_H
#define PERMILLE_TUI_SIDE_H

#include "kit/grid.h"

#include "permille/base/status.h"
#include "permille/core/column.h"
#include "permille/studio/trials.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct side {
    struct pm_side_by_side read; /* owned; sorted as wished */
    enum pm_side_only only;
    enum pm_side_order order;

    size_t *shown; /* owned; places in read.lines of the lines that are shown */
    size_t shown_count;
    int64_t *values; /* owned; trial after trial, one per line, as printed, 1e-12 */
    struct pm_column_total totals[PM_COMPARE_MAX];
    int name_cells;                                              /* of the widest name */
    int amount_cells, change_whole, change_places, factor_cells; /* of the widest */

    size_t at, first; /* selected and first visible place in shown */
    int page;         /* lines visible at the last paint */
    size_t column;    /* selected trial */
    size_t left;      /* trial that follows the first one on the screen: columns scroll */
};

void side_init(struct side *side);
void side_release(struct side *side);
/* Takes the comparison over and works out figures and what is shown. On failure it is released and
 * the side is as before. */
enum pm_status side_take(struct side *side, struct pm_side_by_side *read, char sign,
                         struct pm_error *err);
/* After only, order or the selected trial changed. Lines are sorted by the change of the selected
 * trial, or of the last one while the first is selected. The selection stays on its line. */
void side_arrange(struct side *side);
/* The selected line, or NULL. */
const struct pm_side_line *side_line(const struct side *side);
/* The trial that is told about: the selected one, or the last one while the first is selected. */
size_t side_told(const struct side *side);

/* "+2.5" against the first trial as printed; a difference too small for the printed decimals with
 * as many as it takes; "" for none. Returns its decimals. */
#define SIDE_CHANGE_TEXT (PM_AMOUNT_TEXT + 1)
int side_change_text(const struct side *side, const struct pm_side_line *line, size_t trial,
                     char sign, char *buf);
/* "87.14 %" of a share in 1e-12. buf holds SIDE_CHANGE_TEXT bytes. */
char *side_share_text(int64_t share, char sign, char *buf);
/* The one currency that all costs are known in, or NULL: then there is no row for them. */
const char *side_currency(const struct side *side);
/* "412.30" in that currency, ">412.30" where things without a price are not counted. */
char *side_cost_text(const struct side *side, size_t trial, char sign, char *buf);
/* "x1.25"; "" where there is none, or nothing moved. buf holds SIDE_CHANGE_TEXT bytes. */
char *side_factor_text(const struct pm_side_line *line, size_t trial, char sign, char *buf);
/* A title in at most `cells` cells: of the name only so much that the number stays. */
char *side_title(const char *title, int cells, char *buf, size_t size);

struct side_span {
    int at, cells; /* a column with 0 cells is not shown */
};
struct side_group { /* one trial's columns; the first trial has only its amounts */
    struct side_span amount, change, factor, word;
};
struct side_layout {
    struct side_span name;
    struct side_group groups[PM_COMPARE_MAX];
    bool before, after; /* trials are out of sight to the left, to the right */
};
/* Columns for a pane `cells` wide, with the selected trial in sight: moves `left` for it. */
void side_lay_out(struct side *side, int cells, struct side_layout *out);

/* Paints it all and places the cursor on the selected line. */
void side_draw(struct side *side, const struct pm_pane *pane, char sign);
/* More about the selected line: how the trials pour it, and the change in parts. */
void side_describe(const struct side *side, char sign, struct pm_text *out);

#endif
