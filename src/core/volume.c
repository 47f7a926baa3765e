/* SPDX-License-Identifier: MIT */
/* Volumes (core/volume.h). */
#include "permille/core/volume.h"

#include "permille/base/text.h"

#include <string.h>

#define ML INT64_C(1000) /* microlitres */

/* By how many decimals of it a nanolitre is reached. */
static const struct {
    const char *name;
    int places;
} units[] = {
    {"l", 9},  {"L", 9},         {"cl", 7},        {"ml", 6},
    {"mL", 6}, {"\xC2\xB5l", 3}, {"\xCE\xBCl", 3}, {"ul", 3},
};
#define UNITS (sizeof units / sizeof units[0])

/* The unit that the text ends in, and the bytes of the number before it; UNITS for none. */
static size_t unit_of(const char *text, size_t *number)
{
    size_t length = strlen(text);
    while (length > 0 && text[length - 1] == ' ')
        length--;
    for (size_t i = 0; i < UNITS; i++) {
        const size_t unit = strlen(units[i].name);
        if (length <= unit || memcmp(text + length - unit, units[i].name, unit) != 0)
            continue;
        size_t before = length - unit;
        while (before > 0 && text[before - 1] == ' ')
            before--;
        if (before == 0 || text[before - 1] < '0' || text[before - 1] > '9')
            continue;
        *number = before;
        return i;
    }
    return UNITS;
}

bool pm_is_volume(const char *text)
{
    size_t number;
    return unit_of(text, &number) < UNITS;
}

enum pm_status pm_mass_or_volume_read(const char *text, int64_t density, pm_mass *out,
                                      struct pm_error *err)
{
    char number[64];
    size_t length = 0;
    int64_t nanolitres = 0, mass = 0;
    const size_t unit = unit_of(text, &length);
    if (unit == UNITS || length >= sizeof number)
        return pm_mass_read(text, out, err);
    memcpy(number, text, length);
    number[length] = '\0';
    enum pm_status status =
        pm_decimal_read(number, units[unit].places, "The volume", &nanolitres, err);
    if (status != PM_OK)
        return status;
    if (density <= 0)
        return pm_fail(err, PM_REFUSED,
                       "%.40s is a volume, and no density is known to weigh it by: type a mass.",
                       text);
    /* 1 nl at 1 g/ml is 1 ug. */
    if (!pm_muldiv(nanolitres, density, 1000000000, &mass) || mass > PM_MASS_MAX)
        return pm_fail(err, PM_INVALID, "%.40s is too much.", text);
    *out = mass;
    return PM_OK;
}

char *pm_volume_format(int64_t microlitres, char sign, char *buf)
{
    char number[PM_AMOUNT_TEXT - 8];
    buf[0] = '\0';
    if (microlitres < 0)
        return buf;
    if (microlitres < ML)
        return pm_print(buf, PM_AMOUNT_TEXT, "%lld \xC2\xB5l", (long long)microlitres);
    /* 9.995 ml is 10.0 ml already. */
    const int places = microlitres < 9995 ? 2 : microlitres < 99950 ? 1 : 0;
    pm_decimal_format(microlitres, 3, places, sign, number);
    return pm_print(buf, PM_AMOUNT_TEXT, "%s ml", number);
}

void pm_volume_beside(int64_t microlitres, char sign, struct pm_text *out)
{
    char volume[PM_AMOUNT_TEXT];
    if (microlitres >= 0)
        pm_text_addf(out, " (%s)", pm_volume_format(microlitres, sign, volume));
}
