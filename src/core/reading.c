/* SPDX-License-Identifier: MIT */
/* Lines of text from a balance. */
#include "permille/core/reading.h"

#include <string.h>

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (unsigned char)c >= 0x80;
}

/* Where the first number begins, its sign included; NULL: none. */
static const char *find_number(const char *line, bool *negative)
{
    const char *at = line;
    while (*at && !is_digit(*at) && !((*at == '.' || *at == ',') && is_digit(at[1])))
        at++;
    if (*at == '\0')
        return NULL;
    const char *before = at;
    while (before > line && before[-1] == ' ')
        before--;
    *negative = before > line && before[-1] == '-';
    return at;
}

/* The unit's size in micrograms; 0: no unit of mass. */
static int64_t unit_size(const char *unit, size_t length)
{
    static const struct {
        const char *word;
        int64_t size;
    } units[] = {
        {"g", PM_GRAM}, {"kg", 1000 * PM_GRAM}, {"mg", 1000},
        {"ug", 1},      {"\xc2\xb5g", 1},       {"\xce\xbcg", 1},
    };
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++)
        if (strlen(units[i].word) == length && memcmp(units[i].word, unit, length) == 0)
            return units[i].size;
    return 0;
}

/* Digits with at most one decimal sign, in 1e-9 of the unit. */
static bool read_digits(const char **at, pm_int128 *out)
{
    pm_int128 value = 0;
    int places = -1;
    for (;; (*at)++) {
        const char c = **at;
        if (is_digit(c)) {
            if (places >= 9)
                return false;
            value = value * 10 + (c - '0');
            places += places >= 0;
            if (value > (pm_int128)PM_MASS_MAX * 1000000000)
                return false;
        } else if ((c == '.' || c == ',') && places < 0 && is_digit((*at)[1])) {
            places = 0;
        } else {
            break;
        }
    }
    for (int i = places < 0 ? 0 : places; i < 9; i++)
        value *= 10;
    *out = value;
    return true;
}

enum pm_status pm_reading_line(const char *line, enum pm_reading *kind, pm_mass *mass,
                               struct pm_error *err)
{
    bool negative = false;
    pm_int128 value;
    const char *at = find_number(line, &negative);
    *kind = PM_READING_NONE;
    if (at == NULL)
        return PM_OK;
    if (!read_digits(&at, &value))
        return pm_fail(err, PM_INVALID, "The balance said a number that is no mass: \"%.40s\".",
                       line);
    while (*at == ' ')
        at++;
    size_t length = 0;
    while (is_letter(at[length]))
        length++;
    if (length == 0) {
        *kind = PM_READING_UNSETTLED;
        return PM_OK;
    }
    const int64_t size = unit_size(at, length);
    if (size == 0)
        return pm_fail(err, PM_INVALID, "The balance reads in \"%.*s\"; set it to grams.",
                       (int)(length < 16 ? length : 16), at);
    value = (value * size + 500000000) / 1000000000;
    if (value > PM_MASS_MAX)
        return pm_fail(err, PM_INVALID, "The balance said a number that is no mass: \"%.40s\".",
                       line);
    *kind = PM_READING_MASS;
    *mass = negative ? -(pm_mass)value : (pm_mass)value;
    return PM_OK;
}

static enum pm_status take_line(struct pm_steady *steady, struct pm_error *err)
{
    enum pm_reading kind;
    pm_mass mass = 0;
    steady->line[steady->length] = '\0';
    const bool dropped = steady->dropping;
    steady->length = 0;
    steady->dropping = false;
    enum pm_status status =
        dropped ? pm_fail(err, PM_INVALID, "The balance sent a line that is too long.")
                : pm_reading_line(steady->line, &kind, &mass, err);
    if (status == PM_OK && kind == PM_READING_NONE)
        return PM_OK;
    if (status != PM_OK || kind != PM_READING_MASS || steady->equal == 0 || mass != steady->mass)
        steady->equal = 0;
    if (status == PM_OK && kind == PM_READING_MASS) {
        steady->mass = mass;
        steady->equal += steady->equal < PM_STEADY_READINGS;
    }
    steady->stable = steady->equal >= PM_STEADY_READINGS;
    return status;
}

enum pm_status pm_steady_feed(struct pm_steady *steady, const char *bytes, size_t count,
                              struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < count; i++) {
        if (bytes[i] == '\n' || bytes[i] == '\r') {
            const enum pm_status said =
                steady->length > 0 || steady->dropping ? take_line(steady, err) : PM_OK;
            status = said != PM_OK ? said : status;
        } else if (steady->length + 1 < PM_READING_BYTES && bytes[i] != '\0') {
            steady->line[steady->length++] = bytes[i];
        } else {
            steady->dropping = true;
        }
    }
    return status;
}

void pm_steady_again(struct pm_steady *steady)
{
    *steady = (struct pm_steady){0};
}
