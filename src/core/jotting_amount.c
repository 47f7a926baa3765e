/* SPDX-License-Identifier: MIT */
/* Numbers and their units as people write them in a line. */
#include "jotting_line.h"

#include "permille/base/utf8.h"

#include <string.h>
#include <strings.h>

#define MICRO       1000000
#define AMOUNT_MOST INT64_C(1000000000000000) /* a thousand million of anything */

/* ---- characters ------------------------------------------------------------------------------ */

bool pm_jot_is_digit(char c)
{
    return c >= '0' && c <= '9';
}

bool pm_jot_is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

size_t pm_jot_space_at(const char *text, const char *end)
{
    return text < end ? pm_utf8_space(text) : 0;
}

bool pm_jot_starts(const char *text, const char *end, const char *with)
{
    size_t length = strlen(with);
    return (size_t)(end - text) >= length && strncasecmp(text, with, length) == 0;
}

size_t pm_jot_mark_at(const char *text, const char *end)
{
    static const char *const marks[] = {
        "\xE2\x80\xA6", "\xC2\xB7", "\xE2\x80\xA2", "\xE2\x86\x92", "\xE2\x87\x92", ".", "|", "_"};
    for (size_t i = 0; i < sizeof marks / sizeof *marks; i++)
        if (pm_jot_starts(text, end, marks[i]))
            return strlen(marks[i]);
    return 0;
}

size_t pm_jot_arrow_at(const char *text, const char *end)
{
    const char *at = text;
    while (at < end && *at == *text && (*at == '-' || *at == '='))
        at++;
    return at > text && at < end && *at == '>' ? (size_t)(at + 1 - text) : 0;
}

size_t pm_jot_leader_at(const char *text, const char *end)
{
    const size_t mark = pm_jot_mark_at(text, end), arrow = pm_jot_arrow_at(text, end);
    if (arrow > 0)
        return arrow;
    bool alone = mark == 3 || (mark == 1 && *text != '.');
    return alone || (mark > 0 && pm_jot_mark_at(text + mark, end) > 0) ? mark : 0;
}

/* ---- numbers --------------------------------------------------------------------------------- */

struct number {
    int64_t value; /* 1e-6 */
    char decimal;  /* the decimal sign, or '\0' */
    bool three;    /* three digits stand behind it: or is it a mark between thousands? */
};

static bool push_digit(int64_t *value, char digit)
{
    if (*value > AMOUNT_MOST)
        return false;
    *value = *value * 10 + (digit - '0');
    return true;
}

bool pm_jot_digit_at(const char *text, const char *end)
{
    return text < end && pm_jot_is_digit(*text);
}

/* A mark that can only stand between thousands: an apostrophe, a blank that keeps together. */
static size_t thousands_mark_at(const char *text, const char *end)
{
    static const char *const marks[] = {"'", "\xE2\x80\x99", "\xC2\xA0", "\xE2\x80\xAF",
                                        "\xE2\x80\x89"};
    for (size_t i = 0; i < sizeof marks / sizeof *marks; i++)
        if (pm_jot_starts(text, end, marks[i]))
            return strlen(marks[i]);
    return 0;
}

/* The mark, with just three digits behind it. */
static bool group_at(const char *text, const char *end, size_t mark)
{
    return mark > 0 && end - text >= (ptrdiff_t)mark + 3 && pm_jot_digit_at(text + mark, end) &&
           pm_jot_digit_at(text + mark + 1, end) && pm_jot_digit_at(text + mark + 2, end) &&
           !pm_jot_digit_at(text + mark + 3, end);
}

/* Bytes of the mark between thousands that stands behind the first digits; 0: none does. A point or
 * comma is one when it comes again, or when the other stands behind it. */
static size_t grouping_at(const char *text, const char *end)
{
    const size_t mark = thousands_mark_at(text, end);
    if (mark > 0)
        return group_at(text, end, mark) ? mark : 0;
    if (text >= end || (*text != '.' && *text != ',') || !group_at(text, end, 1) || text + 4 == end)
        return 0;
    const char *behind = text + 4;
    const bool again = *behind == *text && group_at(behind, end, 1);
    const bool other = *behind != *text && (*behind == '.' || *behind == ',');
    return again || (other && pm_jot_digit_at(behind + 1, end)) ? 1 : 0;
}

/* The digits before the decimal sign. Returns where they end; NULL when they are too many. */
static const char *whole_at(const char *text, const char *end, int64_t *whole)
{
    const char *at = text;
    for (; pm_jot_digit_at(at, end); at++)
        if (!push_digit(whole, *at))
            return NULL;
    const size_t mark = at > text && at - text <= 3 ? grouping_at(at, end) : 0;
    const char sign = *at;
    while (mark > 0 && at < end && *at == sign && group_at(at, end, mark))
        for (size_t i = 0; i < mark + 3; i++, at++)
            if (i >= mark && !push_digit(whole, *at))
                return NULL;
    return at;
}

size_t pm_jot_vulgar_at(const char *text, const char *end, int64_t *part)
{
    static const struct vulgar {
        const char *sign;
        int64_t part;
    } vulgars[] = {{"\xC2\xBC", 250000},     {"\xC2\xBD", 500000},     {"\xC2\xBE", 750000},
                   {"\xE2\x85\x93", 333333}, {"\xE2\x85\x94", 666667}, {"\xE2\x85\x9B", 125000}};
    for (size_t i = 0; i < sizeof vulgars / sizeof *vulgars; i++)
        if (pm_jot_starts(text, end, vulgars[i].sign)) {
            *part = vulgars[i].part;
            return strlen(vulgars[i].sign);
        }
    return 0;
}

/* "/2" behind a one. What is no less than one, or has a zero before it, may be a date. */
static const char *over_at(const char *at, const char *end, int64_t whole, struct number *out)
{
    int64_t below = 0;
    if (*++at == '0')
        return NULL;
    for (; pm_jot_digit_at(at, end); at++)
        if (!push_digit(&below, *at))
            return NULL;
    if (below <= whole)
        return NULL;
    out->value = (whole * MICRO + below / 2) / below;
    return at;
}

/* "12", "12.5", ",5", "1.250,5", "1/2", "2½"; at most six decimals count. Returns its bytes, 0 when
 * there is none. */
static size_t number_at(const char *text, const char *end, struct number *out)
{
    int64_t whole = 0, part = 0, unit = MICRO;
    const char *at = whole_at(text, end, &whole);
    if (at == NULL || whole > AMOUNT_MOST / MICRO)
        return 0;
    const bool first = at > text;
    *out = (struct number){.decimal = '\0'};
    if (at < end && (*at == '.' || *at == ',') && pm_jot_digit_at(at + 1, end)) {
        out->decimal = *at;
        const char *from = ++at;
        for (; pm_jot_digit_at(at, end); at++)
            if (unit > 1)
                part += (*at - '0') * (unit /= 10);
        out->three = first && at - from == 3;
        if (at < end && (*at == '.' || *at == ',') && pm_jot_digit_at(at + 1, end))
            return 0;
    } else {
        at += pm_jot_vulgar_at(at, end, &part);
    }
    out->value = whole * MICRO + part;
    if (part == 0 && first && out->decimal == '\0' && at < end && *at == '/' &&
        pm_jot_digit_at(at + 1, end))
        at = over_at(at, end, whole, out);
    return at != NULL ? (size_t)(at - text) : 0;
}

static const struct unit {
    const char *word;
    enum pm_jotted_unit unit;
    int64_t micrograms; /* of a mass */
} units[] = {
    {"%ige", PM_JOTTED_PERCENT, 0},
    {"%ig", PM_JOTTED_PERCENT, 0},
    {"% w/w", PM_JOTTED_PERCENT, 0},
    {"%w/w", PM_JOTTED_PERCENT, 0},
    {"wt%", PM_JOTTED_PERCENT, 0},
    {"%", PM_JOTTED_PERCENT, 0},
    {"\xE2\x80\xB0", PM_JOTTED_PERMILLE, 0},
    {"ppm", PM_JOTTED_PPM, 0},
    {"percent", PM_JOTTED_PERCENT, 0},
    {"parts", PM_JOTTED_PARTS, 0},
    {"part", PM_JOTTED_PARTS, 0},
    {"pts", PM_JOTTED_PARTS, 0},
    {"teile", PM_JOTTED_PARTS, 0},
    {"teil", PM_JOTTED_PARTS, 0},
    {"parties", PM_JOTTED_PARTS, 0},
    {"partie", PM_JOTTED_PARTS, 0},
    {"kg", PM_JOTTED_MASS, 1000000000},
    {"grams", PM_JOTTED_MASS, 1000000},
    {"gram", PM_JOTTED_MASS, 1000000},
    {"grammes", PM_JOTTED_MASS, 1000000},
    {"gramme", PM_JOTTED_MASS, 1000000},
    {"gramm", PM_JOTTED_MASS, 1000000},
    {"grs", PM_JOTTED_MASS, 1000000},
    {"gr", PM_JOTTED_MASS, 1000000},
    {"gm", PM_JOTTED_MASS, 1000000},
    {"g", PM_JOTTED_MASS, 1000000},
    {"mg", PM_JOTTED_MASS, 1000},
    {"\xC2\xB5g", PM_JOTTED_MASS, 1},
    {"\xCE\xBCg", PM_JOTTED_MASS, 1},
    {"drops", PM_JOTTED_DROPS, 0},
    {"drop", PM_JOTTED_DROPS, 0},
    {"gtts", PM_JOTTED_DROPS, 0},
    {"gtt", PM_JOTTED_DROPS, 0},
    {"tropfen", PM_JOTTED_DROPS, 0},
    {"gouttes", PM_JOTTED_DROPS, 0},
    {"goutte", PM_JOTTED_DROPS, 0},
    {"ml", PM_JOTTED_DROPS, 0},
    {"cl", PM_JOTTED_DROPS, 0},
    {"\xC2\xB5l", PM_JOTTED_DROPS, 0},
    {"\xCE\xBCl", PM_JOTTED_DROPS, 0},
    {"tsp", PM_JOTTED_DROPS, 0},
    {"oz", PM_JOTTED_DROPS, 0},
    {"\xE2\x82\xAC", PM_JOTTED_PRICE, 0},
    {"\xC2\xA3", PM_JOTTED_PRICE, 0},
    {"$", PM_JOTTED_PRICE, 0},
    {"euros", PM_JOTTED_PRICE, 0},
    {"euro", PM_JOTTED_PRICE, 0},
    {"eur", PM_JOTTED_PRICE, 0},
    {"usd", PM_JOTTED_PRICE, 0},
    {"gbp", PM_JOTTED_PRICE, 0},
    {"chf", PM_JOTTED_PRICE, 0},
};

bool pm_jotted_counts(enum pm_jotted_unit unit)
{
    return unit != PM_JOTTED_DROPS && unit != PM_JOTTED_PRICE;
}

/* The unit right at `text`, ending where a word ends; a sign ends by itself. Returns its bytes. */
static size_t unit_at(const char *text, const char *end, const struct unit **out)
{
    if (text >= end)
        return 0;
    for (size_t i = 0; i < sizeof units / sizeof *units; i++) {
        const size_t length = strlen(units[i].word);
        const char *behind = text + length;
        const bool sign = units[i].unit == PM_JOTTED_PERMILLE || strcmp(units[i].word, "%") == 0;
        const bool ends =
            behind >= end || pm_jot_space_at(behind, end) || strchr(".,;:)]|/", *behind) != NULL;
        if (pm_jot_starts(text, end, units[i].word) && (ends || sign)) {
            *out = &units[i];
            return length;
        }
    }
    return 0;
}

/* Whether a number may end here. */
static bool ends_number(const char *at, const char *end)
{
    const bool so_often = pm_jot_starts(at, end, "x") && pm_jot_space_at(at + 1, end);
    const bool times = pm_jot_starts(at, end, "\xC3\x97");
    if (at >= end || so_often || times || pm_jot_space_at(at, end) || pm_jot_leader_at(at, end))
        return true;
    if (strchr(".!", *at) != NULL) /* that end a sentence */
        return at + 1 == end || pm_jot_space_at(at + 1, end) || at[1] == '!';
    return strchr(",;:)]=?", *at) != NULL && !pm_jot_digit_at(at + 1, end);
}

/* The value of a number of the unit's, micrograms of a mass. False when that is too much. */
static bool take_unit(int64_t value, const struct unit *unit, int64_t *amount)
{
    *amount = value;
    if (unit == NULL || unit->unit != PM_JOTTED_MASS)
        return true;
    if (unit->micrograms < MICRO) {
        *amount = value / (MICRO / unit->micrograms);
        return true;
    }
    if (value > AMOUNT_MOST / (unit->micrograms / MICRO))
        return false;
    *amount = value * (unit->micrograms / MICRO);
    return true;
}

size_t pm_jot_amount_at(const char *text, const char *end, struct pm_piece *out)
{
    struct number number;
    const struct unit *unit = NULL;
    size_t length = number_at(text, end, &number);
    if (length == 0)
        return 0;
    const char *at = text + length;
    size_t blank = pm_jot_space_at(at, end), unit_length = unit_at(at, end, &unit);
    if (unit_length == 0 && blank > 0)
        unit_length = unit_at(at + blank, end, &unit);
    else
        blank = 0;
    if (unit_length > 0) {
        at += blank + unit_length;
        if (pm_jot_is_letter(at[-1]) && pm_jot_starts(at, end, ".") && pm_jot_space_at(at + 1, end))
            at++; /* "60 gr. Coumarin" */
    }
    if (unit_length == 0 && !ends_number(at, end))
        return 0;
    while (at < end && strchr(".!", *at) != NULL && pm_jot_leader_at(at, end) == 0)
        at++;
    *out = (struct pm_piece){.text = text,
                             .length = (size_t)(at - text),
                             .number = true,
                             .unit = unit != NULL ? unit->unit : PM_JOTTED_PARTS,
                             .decimal = number.decimal,
                             .three = number.three};
    return take_unit(number.value, unit, &out->amount) ? out->length : 0;
}

bool pm_jotted_amount(const char *text, int64_t *amount, enum pm_jotted_unit *unit)
{
    const char *end = text + strlen(text);
    struct pm_piece piece;
    while (pm_jot_space_at(text, end) > 0)
        text += pm_jot_space_at(text, end);
    const size_t length = pm_jot_amount_at(text, end, &piece);
    if (length == 0 || !pm_is_blank(text + length))
        return false;
    *amount = piece.amount;
    *unit = piece.unit;
    return true;
}
