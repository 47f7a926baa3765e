/* SPDX-License-Identifier: MIT */
/* Amounts with a unit, as typed: strengths, masses, decimals, ratios. */
#include "number.h"

#include "permille/base/utf8.h"

#include <string.h>
#include <strings.h>

#define RATIO_MAX 64 /* no core has more members than this */

/* Reads one number at the start of text and leaves *rest behind it and the white space after it. */
static enum pm_status lone_number(const char *text, const char *what, struct pm_number *number,
                                  const char **rest, struct pm_error *err)
{
    const char *at = pm_skip_space(text);
    char quote[PM_QUOTE_TEXT];
    char sign = '\0';
    enum pm_scan scan;

    if (*at == '\0')
        return pm_fail(err, PM_INVALID, "%s is missing.", what);
    if (*at == '-')
        return pm_fail(err, PM_INVALID, "%s cannot be below zero: \"%s\".", what,
                       pm_quote(text, quote));
    scan = pm_number_scan(&at, true, &sign, number);
    if (scan == PM_SCAN_NONE)
        return pm_fail(err, PM_INVALID, "%s cannot be read from \"%s\".", what,
                       pm_quote(text, quote));
    if (scan != PM_SCAN_OK)
        return pm_number_fail(scan, text, err);
    *rest = pm_skip_space(at);
    return PM_OK;
}

/* True when rest is `unit` and white space. */
static bool is_unit(const char *rest, const char *unit)
{
    size_t length = strlen(unit);

    return strncasecmp(rest, unit, length) == 0 && *pm_skip_space(rest + length) == '\0';
}

static enum pm_status unit_fail(const char *text, const char *rest, const char *allowed,
                                struct pm_error *err)
{
    char whole[PM_QUOTE_TEXT], part[PM_QUOTE_TEXT];

    return pm_fail(err, PM_INVALID, "\"%s\" cannot be read at \"%s\": %s.", pm_quote(text, whole),
                   pm_quote(rest, part), allowed);
}

enum pm_status pm_strength_read(const char *text, pm_strength *out, struct pm_error *err)
{
    static const struct {
        const char *name;
        int64_t unit; /* in 1e-9 of a whole */
    } units[] = {{"", PM_NEAT / 100},
                 {"%", PM_NEAT / 100},
                 {"\xe2\x80\xb0", PM_NEAT / 1000},
                 {"ppm", PM_NEAT / 1000000}};
    char quote[PM_QUOTE_TEXT];
    struct pm_number number;
    const char *rest;
    enum pm_status status;

    if (is_unit(pm_skip_space(text), "neat")) {
        *out = PM_NEAT;
        return PM_OK;
    }
    status = lone_number(text, "A strength", &number, &rest, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        int64_t strength = 0;

        if (!is_unit(rest, units[i].name))
            continue;
        if (!pm_number_round(&number, units[i].unit, &strength) || strength > PM_NEAT)
            return pm_fail(err, PM_INVALID, "\"%s\" is more than 100 %%.", pm_quote(text, quote));
        if (!pm_number_whole(&number, units[i].unit, &strength))
            return pm_fail(
                err, PM_INVALID,
                "\"%s\" is finer than a strength can be: nine decimals of a whole, seven "
                "of a percent.",
                pm_quote(text, quote));
        if (strength == 0)
            return pm_fail(err, PM_INVALID, "A strength must be above 0 %%.");
        *out = strength;
        return PM_OK;
    }
    return unit_fail(text, rest, "use %, \xe2\x80\xb0, ppm or neat", err);
}

enum pm_status pm_mass_read(const char *text, pm_mass *out, struct pm_error *err)
{
    /* Units are case-sensitive: with a capital M it would be another mass. */
    static const struct {
        const char *name;
        int64_t unit; /* in micrograms */
    } units[] = {{"", PM_GRAM},          {"g", PM_GRAM}, {"mg", PM_GRAM / 1000},
                 {"kg", PM_GRAM * 1000}, {"ug", 1},      {"\xc2\xb5g", 1}, /* micro sign */
                 {"\xce\xbcg", 1}};                                        /* Greek mu */
    char quote[PM_QUOTE_TEXT];
    struct pm_number number;
    const char *rest;
    enum pm_status status = lone_number(text, "A mass", &number, &rest, err);

    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        size_t length = strlen(units[i].name);
        int64_t mass = 0;

        if (strncmp(rest, units[i].name, length) != 0 || *pm_skip_space(rest + length) != '\0')
            continue;
        if (!pm_number_round(&number, units[i].unit, &mass) || mass > PM_MASS_MAX)
            return pm_fail(err, PM_INVALID, "\"%s\" is more than 9000 tonnes.",
                           pm_quote(text, quote));
        if (mass == 0 && number.digits != 0)
            return pm_fail(err, PM_INVALID, "\"%s\" is less than a microgram.",
                           pm_quote(text, quote));
        *out = mass;
        return PM_OK;
    }
    return unit_fail(text, rest, "use kg, g, mg or \xc2\xb5g", err);
}

enum pm_status pm_decimal_read(const char *text, int places, const char *what, int64_t *out,
                               struct pm_error *err)
{
    char quote[PM_QUOTE_TEXT];
    struct pm_number number;
    const char *rest;
    int64_t unit = 1;
    enum pm_status status = lone_number(text, what, &number, &rest, err);

    if (status != PM_OK)
        return status;
    if (*rest != '\0')
        return pm_fail(err, PM_INVALID, "%s cannot be read from \"%s\".", what,
                       pm_quote(text, quote));
    if (number.decimals > places && places == 0)
        return pm_fail(err, PM_INVALID, "%s must be a whole number: \"%s\".", what,
                       pm_quote(text, quote));
    if (number.decimals > places)
        return pm_fail(err, PM_INVALID, "%s has too many decimals: \"%s\" (at most %d).", what,
                       pm_quote(text, quote), places);
    for (int i = 0; i < places; i++)
        unit *= 10;
    if (!pm_number_whole(&number, unit, out))
        return pm_fail(err, PM_INVALID, "%s is too large: \"%s\".", what, pm_quote(text, quote));
    return PM_OK;
}

/* Reads the members into numbers; *count is how many there are. */
static enum pm_status ratio_members(const char *text, struct pm_number *numbers, size_t max,
                                    size_t *count, struct pm_error *err)
{
    const char *at = pm_skip_space(text);
    char quote[PM_QUOTE_TEXT];
    char sign = '\0';
    size_t n = 0;

    while (*at != '\0') {
        enum pm_scan scan;

        if (n == max)
            return pm_fail(err, PM_INVALID, "The ratio \"%s\" has more than %zu numbers.",
                           pm_quote(text, quote), max);
        scan = pm_number_scan(&at, false, &sign, &numbers[n]);
        if (scan == PM_SCAN_NONE)
            return pm_fail(err, PM_INVALID,
                           "\"%s\" is not a ratio: write numbers above zero with : between them, "
                           "as in 4:3:2.",
                           pm_quote(text, quote));
        if (scan != PM_SCAN_OK)
            return pm_number_fail(scan, text, err);
        if (numbers[n++].digits == 0)
            return pm_fail(err, PM_INVALID, "The ratio \"%s\" has a zero in it.",
                           pm_quote(text, quote));
        at = pm_skip_space(at);
        if (*at != ':')
            continue;
        at = pm_skip_space(at + 1);
        if (*at == '\0')
            return pm_fail(err, PM_INVALID, "The ratio \"%s\" ends with a colon.",
                           pm_quote(text, quote));
    }
    if (n < 2)
        return pm_fail(err, PM_INVALID, "A ratio needs two numbers or more, as in 4:3:2.");
    *count = n;
    return PM_OK;
}

enum pm_status pm_ratio_read(const char *text, int64_t *out, size_t max, size_t *count,
                             struct pm_error *err)
{
    struct pm_number numbers[RATIO_MAX];
    int64_t members[RATIO_MAX];
    char quote[PM_QUOTE_TEXT];
    int64_t unit = 1, divisor = 0;
    int decimals = 0;
    size_t n = 0;
    enum pm_status status =
        ratio_members(text, numbers, max < RATIO_MAX ? max : RATIO_MAX, &n, err);

    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < n; i++)
        if (numbers[i].decimals > decimals)
            decimals = numbers[i].decimals;
    for (int i = 0; i < decimals && decimals <= 18; i++)
        unit *= 10;
    for (size_t i = 0; i < n; i++) {
        if (decimals > 18 || !pm_number_whole(&numbers[i], unit, &members[i]))
            return pm_fail(err, PM_INVALID, "The ratio \"%s\" has more digits than fit.",
                           pm_quote(text, quote));
        divisor = pm_gcd(divisor, members[i]);
    }
    for (size_t i = 0; i < n; i++)
        out[i] = members[i] / divisor;
    *count = n;
    return PM_OK;
}
