/* SPDX-License-Identifier: MIT */
/*
 * Side by side on the screen: figures of a comparison as they are printed, and the table of them.
 * No keys and no library here: the Trials room brings those (trials_side.c).
 *
 *   side_figures.c  figures
 *   side_draw.c     the table, painting
 */
#ifndef PERMILLE_TUI_SIDE_H
#define PERMILLE_TUI_SIDE_H

#include "kit/table.h"

#include "permille/base/status.h"
#include "permille/core/column.h"
#include "permille/studio/trials.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* The names, then per trial its amount, change, factor and what the change is called. */
enum side_part { SIDE_AMOUNT, SIDE_CHANGE, SIDE_FACTOR, SIDE_WORD, SIDE_PARTS };
#define SIDE_COLUMNS (1 + SIDE_PARTS * PM_COMPARE_MAX)

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

    int least; /* decimals that parts show at least; set before side_take */
    char sign; /* decimal sign that figures are printed with */

    size_t trial; /* selected trial */
    struct pm_table_view list;
    struct pm_column columns[SIDE_COLUMNS]; /* as side_table made them */
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
                     char *buf);
/* The one currency that all costs are known in, or NULL: then there is no row for them. */
const char *side_currency(const struct side *side);
/* "412.30" in that currency, ">412.30" where things without a price are not counted. */
char *side_cost_text(const struct side *side, size_t trial, char *buf);
/* "x1.25"; "" where there is none, or nothing moved. buf holds SIDE_CHANGE_TEXT bytes. */
char *side_factor_text(const struct side *side, const struct pm_side_line *line, size_t trial,
                       char *buf);
/* It is the same, or differs from the first by less than is shown. */
bool side_is_same(const struct side *side, const struct pm_side_line *line, size_t trial);
/* A title in at most `cells` cells: of the name only so much that the number stays. */
char *side_title(const char *title, int cells, char *buf, size_t size);

/* The place of a trial's column in the table. */
size_t side_column(size_t trial, enum side_part part);
/* The table as it is now; its columns are kept in `side`. */
struct pm_table side_table(struct side *side);
/* Paints it all and places the cursor on the selected line. */
void side_draw(struct side *side, const struct pm_pane *pane);
/* More about the selected line: how the trials pour it, and the change in parts. */
void side_describe(const struct side *side, struct pm_text *out);

#endif
