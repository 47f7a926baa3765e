/* SPDX-License-Identifier: MIT */
/*
 * Money: what a mass costs at a price paid for another mass, and sums in several currencies that
 * are never mixed without a rate.
 */
#ifndef PERMILLE_CORE_COST_H
#define PERMILLE_CORE_COST_H

#include "permille/base/amount.h"
#include "permille/base/status.h"
#include "permille/base/text.h"

#define PM_CURRENCIES_MAX 8

struct pm_sum {
    size_t count;
    struct {
        char currency[4];
        pm_money money;
    } in[PM_CURRENCIES_MAX]; /* in the order met */
};

/* mass x price / priced_mass, rounded half up to 1e-6 of the unit. PM_INVALID when it does not fit
 * or priced_mass is not above 0. */
enum pm_status pm_cost_of(pm_mass mass, pm_money price, pm_mass priced_mass, pm_money *out,
                          struct pm_error *err);
/* PM_REFUSED for a ninth currency; PM_INVALID when the sum does not fit. */
enum pm_status pm_sum_add(struct pm_sum *sum, const char *currency, pm_money money,
                          struct pm_error *err);
enum pm_status pm_sum_add_all(struct pm_sum *sum, const struct pm_sum *other, struct pm_error *err);
/* Every amount times numerator / denominator. */
enum pm_status pm_sum_scale(const struct pm_sum *sum, int64_t numerator, int64_t denominator,
                            struct pm_sum *out, struct pm_error *err);
/* Turns the amount in `currency` into `other` at rate x 1e-9 and adds it there. */
enum pm_status pm_sum_exchange(struct pm_sum *sum, const char *currency, const char *other,
                               int64_t rate, struct pm_error *err);
/* The amount in a currency; 0 when it is not there. */
pm_money pm_sum_in(const struct pm_sum *sum, const char *currency);
/* Rounds the rows of a cost as they print above their total (core/column.h, two decimals), currency
 * by currency, and the total, which comes in as their sum. PM_INVALID, PM_NOMEM. */
enum pm_status pm_sums_round(struct pm_sum *rows, size_t count, struct pm_sum *total,
                             struct pm_error *err);
/* "12.40 EUR + 3.00 CHF": at least `places` decimals, more where two significant digits need them;
 * "-" when empty. */
void pm_sum_format(const struct pm_sum *sum, int places, char sign, struct pm_text *out);

#endif
