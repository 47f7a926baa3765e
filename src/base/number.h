/* SPDX-License-Identifier: MIT */
/* Private to src/base: how a plain decimal number is read from text, in one place for all units. */
#ifndef PERMILLE_BASE_NUMBER_H
#define PERMILLE_BASE_NUMBER_H

#include "permille/base/amount.h"

/* A decimal as typed: digits / 10^decimals, with trailing zeros of the fraction dropped.
 * 0 <= digits < 2^123, 0 <= decimals <= PM_NUMBER_DECIMALS. */
struct pm_number {
    pm_int128 digits;
    int decimals;
};

#define PM_NUMBER_DECIMALS 36

enum pm_scan {
    PM_SCAN_OK,
    PM_SCAN_NONE,      /* no digit here */
    PM_SCAN_AMBIGUOUS, /* two decimal signs */
    PM_SCAN_LONG       /* more digits than fit */
};

/* Reads the number at *cursor and moves the cursor behind it. `grouped` allows white space between
 * groups of three digits. *sign is the decimal sign the text has used so far (0: none yet); a
 * number with the other one is ambiguous. */
enum pm_scan pm_number_scan(const char **cursor, bool grouped, char *sign, struct pm_number *out);
/* The sentence for a scan that failed in `text`. Returns PM_INVALID. */
enum pm_status pm_number_fail(enum pm_scan scan, const char *text, struct pm_error *err);

/* number * unit, exact: false when it is not whole or does not fit int64. unit < 2^62. */
bool pm_number_whole(const struct pm_number *number, int64_t unit, int64_t *out);
/* number * unit rounded half up; false when it does not fit int64. unit < 2^62, and a power of
 * ten below 10^18 where the last bit matters. */
bool pm_number_round(const struct pm_number *number, int64_t unit, int64_t *out);

const char *pm_skip_space(const char *text);

#define PM_QUOTE_TEXT 180
/* A copy of text fit for quoting in a sentence: the first 40 characters. buf holds PM_QUOTE_TEXT
 * bytes and is returned. */
const char *pm_quote(const char *text, char *buf);

#endif
