/* SPDX-License-Identifier: MIT */
#include "permille/base/rounded.h"

#include "permille/base/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static struct pm_rounded signed_with(struct pm_rounded rounded, char sign)
{
    char *point = strchr(rounded.text, '.');
    if (point != NULL && sign != '\0')
        *point = sign;
    return rounded;
}

/* A negative zero is none. */
static double without_minus(double value)
{
    return value == 0 ? 0 : value;
}

struct pm_rounded pm_rounded(double value, int digits, char sign)
{
    struct pm_rounded rounded;
    pm_print(rounded.text, sizeof rounded.text, "%.*g", digits, without_minus(value));
    const double read = strtod(rounded.text, NULL);
    if (strchr(rounded.text, 'e') != NULL && fabs(read) >= 1 && fabs(read) < PM_ROUNDED_PLAIN)
        pm_print(rounded.text, sizeof rounded.text, "%.0f", read);
    return signed_with(rounded, sign);
}

struct pm_rounded pm_rounded_places(double value, int places, char sign)
{
    struct pm_rounded rounded;
    pm_print(rounded.text, sizeof rounded.text, "%.*f", places, without_minus(value));
    return signed_with(rounded, sign);
}
