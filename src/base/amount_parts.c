/* SPDX-License-Identifier: MIT */
/*
 * Parts as typed: a small exact calculator.
 *
 *   sum     = product { ("+" | "-") product }
 *   product = share { ("*" | "/") share }
 *   share   = primary [ "%" | "permille sign" | "ppm" ]
 *   primary = number | "(" [ "+" | "-" ] sum ")"
 *
 * A text that begins with an operator has the line's current parts as its first share. It runs at
 * every key, so it works on the stack only, in one pass.
 */
#include "number.h"

#include "permille/base/utf8.h"

#include <string.h>
#include <strings.h>

#define DEPTH_MAX 32

__extension__ typedef unsigned __int128 uint128;

/* A fraction in lowest terms. Both magnitudes stay below `limit`, den above 0; the room up to 2^128
 * is what sums and the rounding at the end need. */
struct ratio {
    pm_int128 num, den;
};

static const pm_int128 limit = (pm_int128)1 << 124;

struct reader {
    const char *text; /* the whole, for the sentences */
    const char *at;
    struct ratio current; /* the line's parts before */
    struct ratio base;    /* the formula's base, in parts */
    int depth;            /* open brackets */
    char sign;            /* the decimal sign used so far */
    bool percent;         /* a share was read since this was last put out */
    struct pm_error *err;
};

static pm_int128 absolute(pm_int128 value)
{
    return value < 0 ? -value : value;
}

static pm_int128 common_divisor(pm_int128 a, pm_int128 b)
{
    uint128 x = (uint128)absolute(a), y = (uint128)absolute(b);

    while (y > UINT64_MAX) {
        uint128 rest = x % y;
        x = y;
        y = rest;
    }
    if (y != 0) { /* the rest in 64 bits, several times as fast */
        uint64_t low = (uint64_t)y, next = (uint64_t)(x % y);
        while (next != 0) {
            uint64_t rest = low % next;
            low = next;
            next = rest;
        }
        x = low;
    }
    return x == 0 ? 1 : (pm_int128)x;
}

/* a * b with both below the limit; false when the product is not. */
static bool multiply(pm_int128 a, pm_int128 b, pm_int128 *out)
{
    pm_int128 x = absolute(a), y = absolute(b);

    if ((x > INT64_MAX || y > INT64_MAX / 8) && x != 0 && y > (limit - 1) / x)
        return false;
    *out = (pm_int128)((uint128)x * (uint128)y);
    if (*out >= limit)
        return false;
    if ((a < 0) != (b < 0))
        *out = -*out;
    return true;
}

static bool ratio_multiply(struct ratio *a, const struct ratio *b)
{
    /* Cancelling crosswise first: the product is in lowest terms and overflows only if it must. */
    pm_int128 g = common_divisor(a->num, b->den);
    pm_int128 h = common_divisor(b->num, a->den);
    struct ratio result;

    if (!multiply(a->num / g, b->num / h, &result.num) ||
        !multiply(a->den / h, b->den / g, &result.den))
        return false;
    *a = result;
    return true;
}

static bool ratio_add(struct ratio *a, const struct ratio *b, bool minus)
{
    pm_int128 g = common_divisor(a->den, b->den);
    pm_int128 left, right, h;
    struct ratio result;

    if (!multiply(a->num, b->den / g, &left) || !multiply(b->num, a->den / g, &right))
        return false;
    result.num = minus ? left - right : left + right;
    h = common_divisor(result.num, g);
    result.num /= h;
    if (absolute(result.num) >= limit || !multiply(a->den / g, b->den / h, &result.den))
        return false;
    *a = result;
    return true;
}

/* Turns a number scaled by 10^decimals into a fraction. */
static struct ratio ratio_of(pm_int128 digits, int decimals)
{
    struct ratio result = {digits, 1};
    pm_int128 g;

    for (int i = 0; i < decimals; i++)
        result.den *= 10;
    g = common_divisor(result.num, result.den);
    result.num /= g;
    result.den /= g;
    return result;
}

static bool refuse(const struct reader *reader, const char *why)
{
    char quote[PM_QUOTE_TEXT];

    pm_fail(reader->err, PM_INVALID, "\"%s\" %s.", pm_quote(reader->text, quote), why);
    return false;
}

static bool refuse_here(const struct reader *reader)
{
    char whole[PM_QUOTE_TEXT], part[PM_QUOTE_TEXT];

    if (*reader->at == '\0')
        return refuse(reader, "ends where a number should follow");
    pm_fail(reader->err, PM_INVALID, "\"%s\" cannot be read at \"%s\".",
            pm_quote(reader->text, whole), pm_quote(reader->at, part));
    return false;
}

/* The operator at the reader as one ASCII character, its bytes into *length; 0 when none. */
static char operator_at(const struct reader *reader, size_t *length)
{
    static const struct {
        const char *form;
        char is;
    } forms[] = {{"+", '+'},
                 {"-", '-'},
                 {"*", '*'},
                 {"/", '/'},
                 {"\xe2\x88\x92", '-'}, /* minus sign */
                 {"\xc3\x97", '*'},     /* multiplication sign */
                 {"\xc3\xb7", '/'}};    /* division sign */

    for (size_t i = 0; i < sizeof forms / sizeof forms[0]; i++) {
        *length = strlen(forms[i].form);
        if (strncmp(reader->at, forms[i].form, *length) == 0)
            return forms[i].is;
    }
    return '\0';
}

/* Takes the operator at the reader when it is one of the two. */
static char take_operator(struct reader *reader, char one, char other)
{
    size_t length;
    char found;

    reader->at = pm_skip_space(reader->at);
    found = operator_at(reader, &length);
    if (found == '\0' || (found != one && found != other))
        return '\0';
    reader->at = pm_skip_space(reader->at + length);
    return found;
}

static bool read_sum(struct reader *reader, const struct ratio *first, bool plain,
                     struct ratio *out);

static bool read_primary(struct reader *reader, bool plain, struct ratio *out)
{
    static const struct ratio zero = {0, 1};
    struct pm_number number;
    enum pm_scan scan;
    size_t length;
    char sign;

    if (*reader->at != '(') {
        scan = pm_number_scan(&reader->at, true, &reader->sign, &number);
        if (scan == PM_SCAN_NONE)
            return refuse_here(reader);
        if (scan != PM_SCAN_OK) {
            pm_number_fail(scan, reader->text, reader->err);
            return false;
        }
        *out = ratio_of(number.digits, number.decimals);
        return true;
    }
    if (++reader->depth > DEPTH_MAX)
        return refuse(reader, "has too many brackets in each other");
    reader->at = pm_skip_space(reader->at + 1);
    sign = operator_at(reader, &length);
    if (!read_sum(reader, sign == '+' || sign == '-' ? &zero : NULL, plain, out))
        return false;
    if (*reader->at == '\0')
        return refuse(reader, "has a bracket that is not closed");
    if (*reader->at != ')')
        return refuse_here(reader);
    reader->at++;
    reader->depth--;
    return true;
}

/* A primary and the sign that makes it a share: of the base, or, when `plain`, of one. */
static bool read_share(struct reader *reader, bool plain, struct ratio *out)
{
    static const struct {
        const char *sign;
        pm_int128 of;
    } signs[] = {{"%", 100}, {"\xe2\x80\xb0", 1000}, {"ppm", 1000000}};

    if (!read_primary(reader, plain, out))
        return false;
    reader->at = pm_skip_space(reader->at);
    for (size_t i = 0; i < sizeof signs / sizeof signs[0]; i++) {
        struct ratio part = {1, signs[i].of};
        size_t length = strlen(signs[i].sign);

        if (strncasecmp(reader->at, signs[i].sign, length) != 0)
            continue;
        reader->percent = true;
        if (!ratio_multiply(out, &part) || (!plain && !ratio_multiply(out, &reader->base)))
            return refuse(reader, "needs more digits than can be counted with");
        reader->at = pm_skip_space(reader->at + length);
        break;
    }
    return true;
}

static bool read_product(struct reader *reader, const struct ratio *first, bool plain,
                         struct ratio *out)
{
    char op;

    if (first != NULL)
        *out = *first;
    else if (!read_share(reader, plain, out))
        return false;
    while ((op = take_operator(reader, '*', '/')) != '\0') {
        struct ratio factor;

        if (!read_share(reader, plain || first != NULL, &factor))
            return false;
        if (op == '/') {
            struct ratio turned = {factor.num < 0 ? -factor.den : factor.den, absolute(factor.num)};
            if (factor.num == 0)
                return refuse(reader, "divides by zero");
            factor = turned;
        }
        if (!ratio_multiply(out, &factor))
            return refuse(reader, "needs more digits than can be counted with");
    }
    return true;
}

/* `first`: a value that stands before the text and was not typed; NULL when there is none. */
static bool read_sum(struct reader *reader, const struct ratio *first, bool plain,
                     struct ratio *out)
{
    char op;

    if (!read_product(reader, first, plain, out))
        return false;
    while ((op = take_operator(reader, '+', '-')) != '\0') {
        struct ratio term;
        bool more = first == &reader->current; /* "+5%" is five percent more of what it was */

        reader->percent = false;
        if (!read_product(reader, NULL, plain || more, &term))
            return false;
        if (more && reader->percent && !ratio_multiply(&term, &reader->current))
            return refuse(reader, "needs more digits than can be counted with");
        if (!ratio_add(out, &term, op == '-'))
            return refuse(reader, "needs more digits than can be counted with");
    }
    return true;
}

/* Rounds to micro-parts, half up, one decimal after the other: exact without wider integers. */
static bool round_parts(const struct ratio *value, pm_parts *out)
{
    uint128 den = (uint128)value->den;
    uint128 whole = (uint128)value->num / den;
    uint128 rest = (uint128)value->num % den;
    pm_parts result;

    if (whole > PM_PARTS_MAX / PM_PART)
        return false;
    result = (pm_parts)whole;
    for (pm_parts unit = PM_PART; unit > 1; unit /= 10) {
        rest *= 10;
        result = result * 10 + (pm_parts)(rest / den);
        rest %= den;
    }
    result += rest * 2 >= den;
    if (result > PM_PARTS_MAX)
        return false;
    *out = result;
    return true;
}

enum pm_status pm_parts_read(const char *text, pm_parts current, pm_parts base, pm_parts *out,
                             struct pm_error *err)
{
    struct reader reader = {.text = text,
                            .at = pm_skip_space(text),
                            .current = ratio_of(current, 6),
                            .base = ratio_of(base, 6),
                            .err = err};
    struct ratio value;
    pm_parts parts;
    size_t length;

    if (*reader.at == '\0')
        return pm_fail(err, PM_INVALID, "A number of parts is missing.");
    if (!read_sum(&reader, operator_at(&reader, &length) ? &reader.current : NULL, false, &value))
        return PM_INVALID;
    if (*reader.at != '\0') {
        refuse_here(&reader);
        return PM_INVALID;
    }
    if (value.num < 0)
        refuse(&reader, "comes to less than nothing");
    else if (!round_parts(&value, &parts))
        refuse(&reader, "comes to more than a million parts");
    else if (parts == 0 && value.num > 0)
        refuse(&reader, "comes to less than a millionth of a part; the smallest is 0.000001");
    else {
        *out = parts;
        return PM_OK;
    }
    return PM_INVALID;
}

/* "3:2" by the reader of ratios. */
static enum pm_status read_two(const char *text, int64_t *over, int64_t *under)
{
    int64_t terms[2];
    size_t count = 0;
    enum pm_status status = pm_ratio_read(text, terms, 2, &count, NULL);
    if (status != PM_OK)
        return status;
    *over = terms[0];
    *under = terms[1];
    return PM_OK;
}

enum pm_status pm_factor_read(const char *text, int64_t *over, int64_t *under, struct pm_error *err)
{
    char quote[PM_QUOTE_TEXT];
    struct ratio value = {0, 1};
    struct reader reader = {
        .text = text, .at = pm_skip_space(text), .current = {1, 1}, .base = {1, 1}, .err = NULL};
    size_t length;
    enum pm_status status = PM_INVALID;

    if (strchr(text, ':') != NULL) {
        status = read_two(text, over, under);
    } else if (read_sum(&reader, operator_at(&reader, &length) ? &reader.current : NULL, true,
                        &value) &&
               *reader.at == '\0' && value.num > 0 && value.num <= INT64_MAX &&
               value.den <= INT64_MAX) {
        *over = (int64_t)value.num;
        *under = (int64_t)value.den;
        status = PM_OK;
    }
    if (status == PM_INVALID) {
        return pm_fail(err, PM_INVALID,
                       "\"%s\" is no factor above nothing: 1.5, 3:2, 2/3, 110%%, 20ppm.",
                       pm_quote(text, quote));
    }
    return status == PM_NOMEM ? pm_fail_memory(err) : status;
}
