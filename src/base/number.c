/* SPDX-License-Identifier: MIT */
/* The decimal number as people type it; everything with a unit builds on this. */
#include "number.h"

#include "permille/base/utf8.h"

#include <stddef.h>
#include <string.h>

static const pm_int128 digits_limit = (pm_int128)1 << 123;

static bool is_digit(char byte)
{
    return byte >= '0' && byte <= '9';
}

const char *pm_skip_space(const char *text)
{
    size_t space;

    while ((space = pm_utf8_space(text)) > 0)
        text += space;
    return text;
}

const char *pm_quote(const char *text, char *buf)
{
    size_t length = 0;

    for (int i = 0; i < 40 && text[length]; i++) {
        uint32_t code;
        length += pm_utf8_decode(text + length, strnlen(text + length, 4), &code);
    }
    memcpy(buf, text, length);
    memcpy(buf + length, text[length] ? "..." : "", text[length] ? 4 : 1);
    return buf;
}

/* Bytes of the white space at `at` when it stands between two groups of one number, else 0.
 * Only groups of three count: in "12 5" a sign was forgotten, and guessing would be wrong. */
static size_t group_gap(const char *at, int run, bool first_group, bool fraction)
{
    size_t space = pm_utf8_space(at);
    int next = 0;

    if (space == 0 || run == 0)
        return 0;
    while (next < 4 && is_digit(at[space + (size_t)next]))
        next++;
    if (fraction)
        return run == 3 && next >= 1 && next <= 3 ? space : 0;
    return (first_group ? run <= 3 : run == 3) && next == 3 ? space : 0;
}

/* Appends a digit; zeros of the fraction wait in *zeros until something follows them. */
static bool push_digit(struct pm_number *number, int digit, bool fraction, int *zeros)
{
    if (fraction && digit == 0) {
        if (*zeros <= PM_NUMBER_DECIMALS)
            ++*zeros;
        return true;
    }
    for (; *zeros > 0; --*zeros, number->decimals++) {
        if (number->digits >= digits_limit / 10 || number->decimals >= PM_NUMBER_DECIMALS)
            return false;
        number->digits *= 10;
    }
    if (number->digits >= digits_limit / 10 - 1 ||
        (fraction && number->decimals >= PM_NUMBER_DECIMALS))
        return false;
    number->digits = number->digits * 10 + digit;
    number->decimals += fraction;
    return true;
}

/* "1,000": one to three digits, none of them a leading zero, a comma and three digits. Where the
 * decimal sign is a comma it is what it says; where it is a point it may be meant as a thousand. */
static bool looks_grouped(const char *from, const char *to)
{
    size_t before = 0;
    while (from + before < to && is_digit(from[before]))
        before++;
    return before >= 1 && before <= 3 && from[0] != '0' && to - from == (ptrdiff_t)before + 4 &&
           from[before] == ',' && pm_decimal_sign() == '.';
}

enum pm_scan pm_number_scan(const char **cursor, bool grouped, char *sign, struct pm_number *out)
{
    struct pm_number number = {0, 0};
    const char *at = *cursor;
    char used = *sign;
    bool fraction = false, any = false, first_group = true, fits = true;
    int run = 0, zeros = 0;

    for (;;) {
        size_t gap;

        if (is_digit(*at)) {
            fits = fits && push_digit(&number, *at - '0', fraction, &zeros);
            any = true;
            run++;
            at++;
        } else if (*at == '.' || *at == ',') {
            if (fraction || (used != '\0' && used != *at))
                return PM_SCAN_AMBIGUOUS;
            used = *at++;
            fraction = true;
            run = 0;
        } else if (grouped && (gap = group_gap(at, run, first_group, fraction)) > 0) {
            at += gap;
            first_group = false;
            run = 0;
        } else {
            break;
        }
    }
    if (!any)
        return PM_SCAN_NONE;
    if (!fits)
        return PM_SCAN_LONG;
    if (looks_grouped(*cursor, at))
        return PM_SCAN_AMBIGUOUS;
    *cursor = at;
    *sign = used;
    *out = number;
    return PM_SCAN_OK;
}

enum pm_status pm_number_fail(enum pm_scan scan, const char *text, struct pm_error *err)
{
    char quote[PM_QUOTE_TEXT];

    pm_quote(text, quote);
    switch (scan) {
    case PM_SCAN_AMBIGUOUS:
        return pm_fail(err, PM_INVALID,
                       "\"%s\" can be read in two ways: use one decimal sign, a point before three "
                       "decimals, and spaces or nothing between thousands.",
                       quote);
    case PM_SCAN_LONG:
        return pm_fail(err, PM_INVALID, "\"%s\" has more digits than can be counted with.", quote);
    case PM_SCAN_OK:
    case PM_SCAN_NONE:
        break;
    }
    return pm_fail(err, PM_INVALID, "\"%s\" is not a number.", quote);
}

bool pm_number_whole(const struct pm_number *number, int64_t unit, int64_t *out)
{
    pm_int128 digits = number->digits;

    /* Dropping the decimals first, one at a time and each from whichever factor has it, keeps the
     * product small. The digits end in a zero only when there are no decimals left. */
    for (int i = 0; i < number->decimals; i++) {
        if (unit % 10 == 0)
            unit /= 10;
        else if (unit % 5 == 0 && digits % 2 == 0) {
            unit /= 5;
            digits /= 2;
        } else if (unit % 2 == 0 && digits % 5 == 0) {
            unit /= 2;
            digits /= 5;
        } else {
            return false;
        }
    }
    if (digits > INT64_MAX || digits * unit > INT64_MAX)
        return false;
    *out = (int64_t)(digits * unit);
    return true;
}

bool pm_number_round(const struct pm_number *number, int64_t unit, int64_t *out)
{
    pm_int128 power = 1;
    pm_int128 whole, rest, result;

    for (int i = 0; i < number->decimals; i++)
        power *= 10;
    whole = number->digits / power;
    rest = number->digits % power;
    if (whole > INT64_MAX)
        return false;
    /* Keeps the product inside 128 bits. Where the unit is a power of ten, a half falls on one of
     * the first 18 decimals, so the digits dropped here cannot turn the rounding. */
    for (; power > INT64_C(1000000000000000000); power /= 10)
        rest /= 10;
    result = whole * unit + (rest * unit * 2 + power) / (power * 2);
    if (result > INT64_MAX)
        return false;
    *out = (int64_t)result;
    return true;
}
