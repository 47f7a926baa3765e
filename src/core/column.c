/* SPDX-License-Identifier: MIT */
/* Printed amounts: rounded to nearest, what is left over to where it is least noticed. */
#include "permille/core/column.h"

#include "permille/base/amount.h"
#include "permille/base/mem.h"
#include "permille/core/apportion.h"

#include <stdbool.h>
#include <string.h>

static int64_t unit_of(int scale, int places)
{
    int64_t unit = 1;
    for (int i = places; i < scale; i++)
        unit *= 10;
    return unit;
}

static pm_int128 to_nearest(pm_int128 value, int64_t unit)
{
    pm_int128 half = unit / 2;
    return (value < 0 ? value - half : value + half) / unit * unit;
}

int64_t pm_amount_rounded(int64_t value, int scale, int least)
{
    int64_t unit = unit_of(scale, pm_decimal_places(value, scale, least));
    pm_int128 rounded = to_nearest(value, unit);
    return rounded > INT64_MAX || rounded < INT64_MIN ? value : (int64_t)rounded;
}

/* Decimals that show all of a value, at least `places`. */
static int exact_places(int64_t value, int scale, int places)
{
    int64_t unit = unit_of(scale, places);
    while (places < scale && value % unit != 0) {
        places++;
        unit /= 10;
    }
    return places;
}

/* ---- the foot ---- */

static int places_of(const struct pm_column_total *total, int64_t value)
{
    return pm_decimal_places(pm_amount_rounded(value, total->scale, total->least), total->scale,
                             total->least);
}

static void align(struct pm_column_total *total, int places)
{
    if (places > total->aligned)
        total->aligned = places;
}

static struct pm_column_total foot(int scale, int least, pm_int128 sum, bool exact)
{
    int64_t value = sum > INT64_MAX ? INT64_MAX : (int64_t)sum;
    struct pm_column_total total = {
        .scale = scale, .least = least < scale ? least : scale, .value = value};
    if (exact) {
        total.places = exact_places(value, scale, total.least);
    } else {
        total.value = pm_amount_rounded(value, scale, least);
        total.places = places_of(&total, value);
    }
    total.aligned = total.places;
    return total;
}

struct pm_column_total pm_column_measure(const int64_t *values, size_t count, int scale, int least)
{
    pm_int128 sum = 0;
    for (size_t i = 0; i < count; i++)
        sum += values[i];
    struct pm_column_total total = foot(scale, least, sum, false);
    for (size_t i = 0; i < count; i++)
        align(&total, places_of(&total, values[i]));
    return total;
}

/* ---- what rounding leaves over ---- */

/* Who may take it, from the best: at least so many units, and whether only what is rounded anyway.
 */
static const struct takers {
    int64_t units;
    bool rounded;
} takers[] = {{100, true}, {100, false}, {20, true}, {20, false}};

static pm_int128 choose(const int64_t *values, size_t count, struct takers who, int64_t unit,
                        int64_t *weights)
{
    pm_int128 sum = 0;
    for (size_t i = 0; i < count; i++) {
        bool takes = values[i] / unit >= who.units && (!who.rounded || values[i] % unit != 0);
        weights[i] = takes ? values[i] : 0;
        sum += weights[i];
    }
    return sum;
}

/* Adds `left` units to rounded rows; weights: scratch, one per row. */
static enum pm_status spread(const int64_t *values, size_t count, int64_t unit, int64_t left,
                             int64_t *weights, struct pm_error *err)
{
    int64_t units = left < 0 ? -left : left;
    for (size_t i = 0; i < sizeof takers / sizeof *takers; i++) {
        /* Whoever takes some keeps most of what it is. */
        if (choose(values, count, takers[i], unit, weights) / unit > 2 * (pm_int128)units)
            return pm_apportion(weights, count, units, weights, err);
    }
    memset(weights, 0, count * sizeof *weights);
    return PM_OK;
}

enum pm_status pm_round_column_to(const int64_t *values, size_t count, int64_t *out,
                                  struct pm_column_total *total, struct pm_error *err)
{
    int64_t unit = unit_of(total->scale, total->places);
    pm_int128 printed = 0;
    for (size_t i = 0; i < count; i++)
        printed += pm_amount_rounded(values[i], total->scale, total->least);
    int64_t left = (int64_t)((total->value - to_nearest(printed, unit)) / unit);
    int64_t *taken = pm_alloc_array(count, sizeof *taken); /* comes as zeros */
    if (taken == NULL)
        return pm_fail_memory(err);
    enum pm_status status = PM_OK;
    if (left != 0)
        status = spread(values, count, unit, left, taken, err);
    for (size_t i = 0; status == PM_OK && i < count; i++) {
        int64_t given = left < 0 ? -taken[i] : taken[i];
        out[i] = pm_amount_rounded(values[i], total->scale, total->least) + given * unit;
        align(total, places_of(total, out[i]));
    }
    pm_free(taken);
    return status;
}

enum pm_status pm_round_column(const int64_t *values, size_t count, int scale, int least,
                               int64_t *out, struct pm_column_total *total, struct pm_error *err)
{
    pm_int128 sum = 0, printed = 0;
    if (scale < 0 || scale > 18 || least < 0)
        return pm_fail(err, PM_INVALID, "A column cannot be rounded to %d decimals.", least);
    for (size_t i = 0; i < count; i++) {
        if (values[i] < 0)
            return pm_fail(err, PM_INVALID, "Row %zu of the column is negative.", i + 1);
        sum += values[i];
        printed += pm_amount_rounded(values[i], scale, least);
    }
    if (sum > INT64_MAX - unit_of(scale, least))
        return pm_fail(err, PM_INVALID, "The sum of the column is too large.");
    struct pm_column_total own = foot(scale, least, sum, sum == printed);
    enum pm_status status = pm_round_column_to(values, count, out, &own, err);
    if (status == PM_OK)
        *total = own;
    return status;
}

/* ---- text ---- */

static char *aligned_text(const struct pm_column_total *total, int64_t value, int places, char sign,
                          char *buf)
{
    pm_decimal_format(value, total->scale, places, sign, buf);
    size_t length = strlen(buf), blanks = 0;
    if (total->aligned > places)
        blanks = (size_t)(total->aligned - places) + (places == 0); /* the decimal sign itself */
    blanks = length + blanks < PM_AMOUNT_TEXT ? blanks : PM_AMOUNT_TEXT - 1 - length;
    memset(buf + length, ' ', blanks);
    buf[length + blanks] = '\0';
    return buf;
}

char *pm_column_row_text(const struct pm_column_total *total, int64_t value, char sign, char *buf)
{
    int64_t shown = pm_amount_rounded(value, total->scale, total->least);
    return aligned_text(total, shown, places_of(total, shown), sign, buf);
}

char *pm_column_total_text(const struct pm_column_total *total, char sign, char *buf)
{
    return aligned_text(total, total->value, total->places, sign, buf);
}

int pm_column_cells(const struct pm_column_total *total)
{
    char text[PM_AMOUNT_TEXT];
    return (int)strlen(pm_column_total_text(total, '.', text));
}

char *pm_share_format(int64_t share, char sign, char *buf)
{
    int64_t rest = PM_WHOLE - share, smaller = share < rest ? share : rest;
    int places = pm_decimal_places(smaller, 10, 1);
    int64_t rounded = (int64_t)to_nearest(smaller, unit_of(10, places));
    /* The larger follows from the smaller, so that both halves of a unit are not rounded up. */
    pm_decimal_format(share <= rest ? rounded : PM_WHOLE - rounded, 10, places, sign, buf);
    return strcat(buf, " %");
}
