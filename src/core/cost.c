/* SPDX-License-Identifier: MIT */
/* Sums of money in several currencies. */
#include "permille/core/cost.h"

#include "permille/base/mem.h"
#include "permille/core/column.h"

#include <string.h>

#define RATE_ONE INT64_C(1000000000)

static enum pm_status too_large(struct pm_error *err)
{
    return pm_fail(err, PM_INVALID, "The cost is too large to be counted.");
}

enum pm_status pm_cost_of(pm_mass mass, pm_money price, pm_mass priced_mass, pm_money *out,
                          struct pm_error *err)
{
    return priced_mass > 0 && pm_muldiv(mass, price, priced_mass, out) ? PM_OK : too_large(err);
}

static size_t find(const struct pm_sum *sum, const char *currency)
{
    size_t at = 0;
    while (at < sum->count && strcmp(sum->in[at].currency, currency) != 0)
        at++;
    return at;
}

enum pm_status pm_sum_add(struct pm_sum *sum, const char *currency, pm_money money,
                          struct pm_error *err)
{
    size_t at = find(sum, currency);
    if (at == PM_CURRENCIES_MAX) {
        return pm_fail(err, PM_REFUSED, "More than %d currencies cannot be added up.",
                       PM_CURRENCIES_MAX);
    }
    if (at == sum->count) {
        strncpy(sum->in[at].currency, currency, 3);
        sum->in[at].currency[3] = '\0';
        sum->in[at].money = 0;
    }
    if (__builtin_add_overflow(sum->in[at].money, money, &money))
        return too_large(err);
    sum->in[at].money = money;
    sum->count += at == sum->count;
    return PM_OK;
}

enum pm_status pm_sum_add_all(struct pm_sum *sum, const struct pm_sum *other, struct pm_error *err)
{
    struct pm_sum total = *sum;
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < other->count; i++)
        status = pm_sum_add(&total, other->in[i].currency, other->in[i].money, err);
    if (status == PM_OK)
        *sum = total;
    return status;
}

enum pm_status pm_sum_scale(const struct pm_sum *sum, int64_t numerator, int64_t denominator,
                            struct pm_sum *out, struct pm_error *err)
{
    struct pm_sum scaled = *sum;
    for (size_t i = 0; i < sum->count; i++)
        if (!pm_muldiv(sum->in[i].money, numerator, denominator, &scaled.in[i].money))
            return too_large(err);
    *out = scaled;
    return PM_OK;
}

enum pm_status pm_sum_exchange(struct pm_sum *sum, const char *currency, const char *other,
                               int64_t rate, struct pm_error *err)
{
    struct pm_sum changed = *sum;
    size_t at = find(sum, currency);
    pm_money money = 0;
    if (at == sum->count)
        return PM_OK;
    if (!pm_muldiv(sum->in[at].money, rate, RATE_ONE, &money))
        return too_large(err);
    changed.count--;
    memmove(&changed.in[at], &changed.in[at + 1], (changed.count - at) * sizeof changed.in[0]);
    enum pm_status status = pm_sum_add(&changed, other, money, err);
    if (status == PM_OK)
        *sum = changed;
    return status;
}

pm_money pm_sum_in(const struct pm_sum *sum, const char *currency)
{
    size_t at = find(sum, currency);
    return at < sum->count ? sum->in[at].money : 0;
}

static enum pm_status round_currency(struct pm_sum *rows, size_t count, struct pm_sum *total,
                                     size_t in, int64_t *column, struct pm_error *err)
{
    struct pm_column_total foot;
    for (size_t i = 0; i < count; i++)
        column[i] = pm_sum_in(&rows[i], total->in[in].currency);
    enum pm_status status = pm_round_column(column, count, 6, PM_LEAST_PLACES, column, &foot, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < count; i++) {
        size_t at = find(&rows[i], total->in[in].currency);
        if (at < rows[i].count)
            rows[i].in[at].money = column[i];
    }
    total->in[in].money = foot.value;
    return PM_OK;
}

enum pm_status pm_sums_round(struct pm_sum *rows, size_t count, struct pm_sum *total,
                             struct pm_error *err)
{
    enum pm_status status = PM_OK;
    struct pm_sum rounded = *total;
    int64_t *column = pm_alloc_array(count + 1, sizeof *column);
    if (column == NULL)
        return pm_fail_memory(err);
    for (size_t in = 0; in < rounded.count && status == PM_OK; in++)
        status = round_currency(rows, count, &rounded, in, column, err);
    pm_free(column);
    if (status == PM_OK)
        *total = rounded;
    return status;
}

void pm_sum_format(const struct pm_sum *sum, int places, char sign, struct pm_text *out)
{
    char number[PM_AMOUNT_TEXT];
    for (size_t i = 0; i < sum->count; i++) {
        pm_money money = sum->in[i].money;
        pm_decimal_format(money, 6, pm_decimal_places(money, 6, places), sign, number);
        pm_text_addf(out, "%s%s %s", i == 0 ? "" : " + ", number, sum->in[i].currency);
    }
    if (sum->count == 0)
        pm_text_add(out, "-");
}
