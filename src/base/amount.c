/* SPDX-License-Identifier: MIT */
/* Scaled integers: products that cannot wrap, and their decimal forms. */
#include "permille/base/amount.h"

#include <langinfo.h>
#include <locale.h>
#include <stdio.h>
#include <string.h>

bool pm_muldiv(int64_t value, int64_t numerator, int64_t denominator, int64_t *out)
{
    pm_int128 product = (pm_int128)value * numerator; /* at most 2^126 */
    pm_int128 quotient, rest, divisor = denominator;

    if (denominator == 0)
        return false;
    quotient = product / divisor;
    rest = product % divisor;
    if ((rest < 0 ? -rest : rest) * 2 >= (divisor < 0 ? -divisor : divisor))
        quotient += (product < 0) == (divisor < 0) ? 1 : -1;
    if (quotient > INT64_MAX || quotient < INT64_MIN)
        return false;
    *out = (int64_t)quotient;
    return true;
}

static uint64_t magnitude(int64_t value)
{
    return value < 0 ? 0 - (uint64_t)value : (uint64_t)value;
}

int64_t pm_gcd(int64_t a, int64_t b)
{
    uint64_t x = magnitude(a), y = magnitude(b);

    while (y != 0) {
        uint64_t rest = x % y;
        x = y;
        y = rest;
    }
    return x > INT64_MAX ? (int64_t)(x / 2) : (int64_t)x; /* 2^63 when both were INT64_MIN or 0 */
}

static uint64_t power_of_ten(int exponent)
{
    uint64_t power = 1;

    while (exponent-- > 0)
        power *= 10;
    return power;
}

/* value scaled by 10^scale, rounded half away from zero to `places` decimals; only the magnitude.
 * scale <= 18. The result is scaled by 10^min(scale, places). */
static uint64_t round_to(int64_t value, int scale, int places)
{
    uint64_t amount = magnitude(value);
    uint64_t step;

    if (places >= scale)
        return amount;
    step = power_of_ten(scale - places);
    return amount / step + (amount % step >= step - step / 2);
}

char *pm_decimal_format(int64_t value, int scale, int places, char sign, char *buf)
{
    uint64_t amount, unit;
    int kept;

    places = places < 0 ? 0 : places > 18 ? 18 : places;
    kept = places < scale ? places : scale;
    amount = round_to(value, scale, places);
    unit = power_of_ten(kept);
    char *at = buf + sprintf(buf, "%s%llu", value < 0 && amount > 0 ? "-" : "",
                             (unsigned long long)(amount / unit));
    if (places == 0)
        return buf;
    *at++ = sign;
    if (kept > 0)
        at += sprintf(at, "%0*llu", kept, (unsigned long long)(amount % unit));
    memset(at, '0', (size_t)(places - kept));
    at[places - kept] = '\0';
    return buf;
}

char *pm_decimal_exact(int64_t value, int scale, char sign, char *buf)
{
    while (scale > 0 && value % 10 == 0) {
        value /= 10;
        scale--;
    }
    return pm_decimal_format(value, scale, scale, sign, buf);
}

int pm_decimal_places(int64_t value, int scale, int least)
{
    int need = 0;

    if (value != 0) {
        need = scale + 1; /* what a single digit in the last place would need */
        for (uint64_t rest = magnitude(value); rest >= 10; rest /= 10)
            need--;
    }
    if (need < least)
        need = least;
    return need < scale ? need : scale;
}

char *pm_factor_format(int64_t ppm, char sign, char *buf)
{
    const int scale = 6;
    int places = pm_decimal_places(ppm, scale, ppm < 1000000 ? 3 : 2);
    int64_t unit = 1;
    for (int i = places; i < scale; i++)
        unit *= 10;
    /* Rounded to one although it is not one: look closer. */
    while (places < scale && ppm != 1000000 && ppm > 1000000 - unit && ppm < 1000000 + unit) {
        places++;
        unit /= 10;
    }
    return pm_decimal_format(ppm, scale, places, sign, buf);
}

char *pm_strength_format(pm_strength strength, char sign, char *buf)
{
    if (strength == PM_NEAT)
        return memcpy(buf, "neat", sizeof "neat");
    pm_decimal_exact(strength, 7, sign, buf);
    memcpy(buf + strlen(buf), " %", sizeof " %");
    return buf;
}

char *pm_strength_about(pm_strength strength, char sign, char *buf)
{
    int64_t step = 1;
    while (strength / step >= 10000)
        step *= 10;
    int64_t rounded = (strength + step / 2) / step * step;
    return pm_strength_format(strength < PM_NEAT && rounded >= PM_NEAT ? strength : rounded, sign,
                              buf);
}

static const struct {
    const char *name;
    int scale;
} mass_units[] = {{" \xc2\xb5g", 0}, {" mg", 3}, {" g", 6}};

char *pm_mass_format(pm_mass mass, int places, char sign, char *buf)
{
    size_t unit = mass == 0 ? 2 : 0;
    int shown;

    /* The unit in which the rounded number stays below a thousand; grams take the rest. */
    for (;; unit++) {
        int scale = mass_units[unit].scale;
        int wanted = places - (6 - scale);
        shown = pm_decimal_places(mass, scale, wanted > 0 ? wanted : 0);
        if (unit == 2 || round_to(mass, scale, shown) < 1000 * power_of_ten(shown))
            break;
    }
    pm_decimal_format(mass, mass_units[unit].scale, shown, sign, buf);
    memcpy(buf + strlen(buf), mass_units[unit].name, strlen(mass_units[unit].name) + 1);
    return buf;
}

char *pm_mass_exact(pm_mass mass, char sign, char *buf)
{
    uint64_t amount = magnitude(mass);
    size_t unit = amount >= 1000000 || mass == 0 ? 2 : amount >= 1000 ? 1 : 0;

    pm_decimal_exact(mass, mass_units[unit].scale, sign, buf);
    return strcat(buf, mass_units[unit].name);
}

char pm_decimal_sign(void)
{
    /* "" asks for what LC_ALL, LC_NUMERIC or LANG name, in that order, as setlocale would. */
    locale_t wish = newlocale(LC_NUMERIC_MASK, "", (locale_t)0);
    char sign = '.';

    if (wish == (locale_t)0)
        return sign;
    if (strcmp(nl_langinfo_l(RADIXCHAR, wish), ",") == 0)
        sign = ',';
    freelocale(wish);
    return sign;
}
