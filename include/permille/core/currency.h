/* SPDX-License-Identifier: MIT */
/*
 * Currency codes of ISO 4217 and prices as people write them.
 *
 * The list holds codes of ISO 4217 list one in use in 2026, from memory, less funds codes, precious
 * metals and testing codes; newer codes may be missing. It only catches slips: a code that is not
 * in it is refused.
 */
#ifndef PERMILLE_CORE_CURRENCY_H
#define PERMILLE_CORE_CURRENCY_H

#include "permille/base/amount.h"
#include "permille/base/arena.h"
#include "permille/base/clock.h"
#include "permille/base/status.h"

#include <stdbool.h>

/* Three capital letters that stand in the list. */
bool pm_currency_known(const char *code);
/* Letters of either case into out[4] as capitals. PM_INVALID when it is not in the list. */
enum pm_status pm_currency_read(const char *text, char *out, struct pm_error *err);
/* "19.20 EUR", "EUR 19.20", "0 EUR". Without a currency PM_INVALID says so: a price in no currency
 * cannot be added to anything. */
enum pm_status pm_price_read(const char *text, pm_money *money, char *currency,
                             struct pm_error *err);
/* The same, in the currency `usual` where the text names none; "": there is no usual one. */
enum pm_status pm_price_read_usual(const char *text, const char *usual, pm_money *money,
                                   char *currency, struct pm_error *err);

struct pm_rate {
    char currency[4], other[4];
    int64_t rate; /* one unit of currency is rate x 1e-9 units of other */
    pm_day day;
};
struct pm_rates {
    struct pm_rate *items; /* newest day first */
    size_t count;
    struct pm_arena arena;
};

#endif
