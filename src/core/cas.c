/* SPDX-License-Identifier: MIT */
/*
 * CAS Registry Numbers: shape and check digit.
 */
#include "permille/core/cas.h"

#include <stddef.h>
#include <string.h>

static bool is_digit(char byte)
{
    return byte >= '0' && byte <= '9';
}

static bool is_space(char byte)
{
    return byte == ' ' || byte == '\t' || byte == '\n' || byte == '\r';
}

/* Cuts white space off both ends; the length that is left. */
static size_t trim(const char **text)
{
    while (is_space(**text))
        (*text)++;
    size_t length = strlen(*text);
    while (length > 0 && is_space((*text)[length - 1]))
        length--;
    return length;
}

static bool shaped(const char *text, size_t length)
{
    size_t lead = 0;
    while (lead < length && is_digit(text[lead]))
        lead++;
    if (lead < 2 || lead > 7 || length != lead + 5)
        return false;
    const char *rest = text + lead;
    return rest[0] == '-' && is_digit(rest[1]) && is_digit(rest[2]) && rest[3] == '-' &&
           is_digit(rest[4]);
}

bool pm_cas_shaped(const char *text)
{
    size_t length = trim(&text);
    return shaped(text, length);
}

enum pm_status pm_cas_read(const char *text, char *out, struct pm_error *err)
{
    size_t length = trim(&text);
    if (!shaped(text, length))
        return pm_fail(err, PM_INVALID,
                       "\"%s\" is no CAS number: it is two to seven digits, two digits and a check "
                       "digit, joined by hyphens.",
                       text);
    int sum = 0, place = 0;
    for (size_t i = length - 1; i-- > 0;)
        if (is_digit(text[i]))
            sum += ++place * (text[i] - '0');
    int expected = sum % 10;
    if (text[length - 1] - '0' != expected)
        return pm_fail(err, PM_INVALID,
                       "CAS number %.*s: the check digit should be %d, so a digit is wrong.",
                       (int)length, text, expected);
    memcpy(out, text, length);
    out[length] = '\0';
    return PM_OK;
}
