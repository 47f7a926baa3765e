/* SPDX-License-Identifier: MIT */
/*
 * Amounts as they are printed, in columns and alone: the one place where that is decided.
 *
 * An amount that is not 0 shows `least` decimals, or as many more as its first two significant
 * digits need, rounded to nearest: a trace never shows as nothing, and the same amount prints the
 * same wherever it stands. Rows of a column may show different numbers of decimals; their decimal
 * points stand below each other.
 *
 * Where rows are printed above their total, rounding leaves a few units of the total's last place
 * over. They go to the rows where they are the smallest relative change, in proportion to the
 * amounts (largest remainder, core/apportion.h): to amounts of a hundred units or more as long as
 * there are any, and to one that its decimals show exactly only if no other is there. Added up and
 * rounded to the decimals of the total, the rows are the total as printed; further decimals of a
 * trace lie below them. Screens, answers, paper and the sentences about a trial take their amounts
 * from its column. Two columns side by side each add up: in the last place of a large amount what a
 * line is and what it becomes can differ by such a unit where nothing else moved.
 */
#ifndef PERMILLE_CORE_COLUMN_H
#define PERMILLE_CORE_COLUMN_H

#include "permille/base/status.h"

#include <stddef.h>
#include <stdint.h>

/* Decimals that parts, grams and percents show at least, on every screen and in every print. */
#define PM_LEAST_PLACES 2

/* What is known of a column once its rows are. */
struct pm_column_total {
    int scale, least; /* of the rows */
    int64_t value;    /* the total as printed, scaled like the rows */
    int places;       /* its decimals: all there are where every row shows all of its own */
    int aligned;      /* the most decimals that a row or the total shows */
};

/* The amount (scaled by 10^scale, scale 0..18) rounded as it prints. It shows
 * pm_decimal_places(result, scale, least) decimals. */
int64_t pm_amount_rounded(int64_t value, int scale, int least);

/*
 * Rounds count amounts >= 0, scaled by 10^scale, as they print above their total. `out` may be the
 * same array. PM_INVALID for a negative amount or a total beyond int64, PM_NOMEM; on failure
 * nothing is written.
 */
enum pm_status pm_round_column(const int64_t *values, size_t count, int scale, int least,
                               int64_t *out, struct pm_column_total *total, struct pm_error *err);
/* The same above a total that is there already, rounded, since it adds up with others;
 * total->aligned grows to what the rows need. */
enum pm_status pm_round_column_to(const int64_t *values, size_t count, int64_t *out,
                                  struct pm_column_total *total, struct pm_error *err);

/* Rows that stand above no total, or whose total cannot be read from them: only what the foot says,
 * the sum rounded to nearest (at most INT64_MAX). */
struct pm_column_total pm_column_measure(const int64_t *values, size_t count, int scale, int least);

/* A row, rounded or not, and the total as they print, with blanks behind them so that, set right,
 * their decimal points stand below each other. buf: PM_AMOUNT_TEXT. */
char *pm_column_row_text(const struct pm_column_total *total, int64_t value, char sign, char *buf);
char *pm_column_total_text(const struct pm_column_total *total, char sign, char *buf);
/* How many cells the widest of them takes. */
int pm_column_cells(const struct pm_column_total *total);

/* A share of a whole (1e-12) as percent, "16.8 %", with as many decimals as the smaller of it and
 * of what is missing to the whole needs: the two always add up to 100 % as printed, and neither
 * shows as nothing or as everything when it is not. buf: PM_AMOUNT_TEXT. */
#define PM_WHOLE INT64_C(1000000000000)
char *pm_share_format(int64_t share, char sign, char *buf);

#endif
