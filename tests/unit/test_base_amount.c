/* SPDX-License-Identifier: MIT */
/* Amounts: reading, exact arithmetic against GMP's rationals, showing. */
#include "permille/base/amount.h"

#include <gmp.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#define BASE (1000 * PM_PART)

/* A small generator of our own (xorshift), so that a failing case comes back on every machine. */
static uint64_t random_next(uint64_t *state)
{
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    return *state;
}

static int random_below(uint64_t *state, int limit)
{
    return (int)(random_next(state) % (uint64_t)limit);
}

static pm_parts read_parts(const char *text, pm_parts current)
{
    struct pm_error err;
    pm_parts parts = -1;

    pm_error_clear(&err);
    if (pm_parts_read(text, current, BASE, &parts, &err) != PM_OK)
        fail_msg("\"%s\": %s", text, err.text);
    return parts;
}

static void refuse_parts(const char *text, const char *words)
{
    struct pm_error err;
    pm_parts parts = 77;

    pm_error_clear(&err);
    assert_int_equal(pm_parts_read(text, 5 * PM_PART, BASE, &parts, &err), PM_INVALID);
    assert_int_equal(err.status, PM_INVALID);
    assert_int_equal(parts, 77);
    if (strstr(err.text, words) == NULL)
        fail_msg("\"%s\" gave: %s", text, err.text);
    assert_int_equal(pm_parts_read(text, 5 * PM_PART, BASE, &parts, NULL), PM_INVALID);
}

static void parts_as_typed(void **state)
{
    static const struct {
        const char *text;
        pm_parts parts;
    } cases[] = {
        {"12.5", 12500000},
        {"12,5", 12500000},
        {" 12.5 ", 12500000},
        {".5", 500000},
        {"5.", 5000000},
        {"0", 0},
        {"0.000001", 1},
        {"0.0000005", 1}, /* half up */
        {"1 000", 1000000000},
        {"1\xe2\x80\xaf"
         "000,25",
         1000250000}, /* narrow no-break space */
        {"0.000 001", 1},
        {"1000000", PM_PARTS_MAX},
        {"5%", 50000000}, /* of a base of 1000 */
        {"5 %", 50000000},
        {"3\xe2\x80\xb0", 3000000},
        {"20 ppm", 20000},
        {"20PPM", 20000},
        {"21+4", 25000000},
        {"(3+1)/2", 2000000},
        {"2*(3+4)-1", 13000000},
        {"10-2-3", 5000000},
        {"24/2/3", 4000000},
        {"1/3", 333333},
        {"2/3", 666667},
        {"1/3*3", 1000000}, /* no rounding between */
        {"(-3+5)", 2000000},
        {"((((2))))", 2000000},
        {"1,5+2,5", 4000000},
        {"5% + 2", 52000000},
        {"(2+3)%", 50000000},
        {"2*5%", 100000000},
        {"*1.5", 12000000}, /* from 8 parts */
        {"/3", 2666667},
        {"+2", 10000000},
        {"-2", 6000000},
        {"-8", 0},
        {"+2*3", 14000000},
        {"*1.5+2", 14000000},
        {"*(1+1)", 16000000},
        {"*110%", 8800000},
        {"/50%", 16000000},
        {"*(100%-10%)", 7200000},
        {"+1%", 8080000}, /* one percent more of the line, */
        {"-25%", 6000000},
        {"+(1%+2%)", 8240000},
        {"+1%*2", 8160000},
        {"+250ppm", 8002000},
        {"8+1%", 18000000}, /* of the base where the line is not gone on from */
        {"0,125", 125000},
        {"1000,125", 1000125000},
        {"1,25", 1250000},
        {"6\xc3\xb7"
         "4",
         1500000},
        {"6\xc3\x97"
         "4",
         24000000},
        {"6\xe2\x88\x92"
         "4",
         2000000},
    };

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        pm_parts parts = read_parts(cases[i].text, 8 * PM_PART);
        if (parts != cases[i].parts)
            fail_msg("\"%s\" gave %lld", cases[i].text, (long long)parts);
    }
}

/* "1,000" may be one or a thousand: where the decimal sign is a point it is refused, where it is a
 * comma it is what it says. */
static void a_comma_before_three_digits(void **state)
{
    static const char *const ambiguous[] = {"1,000", "12,500", "999,999", "2*1,000", "1,000%"};
    struct pm_error err;
    pm_parts parts = 7;
    int64_t value = 7;

    (void)state;
    for (size_t i = 0; i < sizeof ambiguous / sizeof ambiguous[0]; i++) {
        assert_int_equal(pm_parts_read(ambiguous[i], 0, BASE, &parts, &err), PM_INVALID);
        assert_non_null(strstr(err.text, "two ways"));
    }
    assert_int_equal(pm_decimal_read("1,000", 6, "The base", &value, &err), PM_INVALID);
    assert_int_equal(pm_mass_read("1,000g", &value, &err), PM_INVALID);
    assert_int_equal(parts, 7);
    assert_int_equal(value, 7);
}

/* What would round to nothing is refused, naming the smallest there is. */
static void less_than_a_millionth(void **state)
{
    static const char *const small[] = {"0.0000004", "0.0000004999", "0.0001ppm", "*0.00000004"};
    struct pm_error err;
    pm_parts parts = 7;

    (void)state;
    for (size_t i = 0; i < sizeof small / sizeof small[0]; i++) {
        assert_int_equal(pm_parts_read(small[i], 8 * PM_PART, BASE, &parts, &err), PM_INVALID);
        assert_non_null(strstr(err.text, "the smallest is 0.000001"));
    }
    assert_int_equal(parts, 7);
}

static void factors(void **state)
{
    static const struct {
        const char *text;
        int64_t over, under;
    } cases[] = {{"3:2", 3, 2},       {"2/3", 2, 3},   {"110%", 11, 10},      {"1.5", 3, 2},
                 {"1.5:1", 3, 2},     {"*2", 2, 1},    {"/4", 1, 4},          {"+10%", 11, 10},
                 {"20ppm", 1, 50000}, {"150 %", 3, 2}, {"(1+2)/(4+5)", 1, 3}, {" 4 / 6 ", 2, 3}};
    static const char *const bad[] = {"0", "", "0%", "-1", "3:2:1", "x", "2/0", "1,000", "3:0"};
    struct pm_error err;
    int64_t over = 0, under = 0;

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        if (pm_factor_read(cases[i].text, &over, &under, &err) != PM_OK)
            fail_msg("%s", err.text);
        assert_true(over == cases[i].over && under == cases[i].under);
    }
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        assert_int_equal(pm_factor_read(bad[i], &over, &under, &err), PM_INVALID);
        assert_non_null(strstr(err.text, "no factor"));
    }
}

static void parts_refused(void **state)
{
    char deep[200];

    (void)state;
    refuse_parts("", "missing");
    refuse_parts("   ", "missing");
    refuse_parts("abc", "abc");
    refuse_parts("12abc", "at \"abc\"");
    refuse_parts("1,234.5", "two ways");
    refuse_parts("1.234.567", "two ways");
    refuse_parts("1,5+2.5", "two ways");
    refuse_parts("12 5", "at \"5\"");
    refuse_parts("1234 567", "at \"567\"");
    refuse_parts("1 00", "at \"00\"");
    refuse_parts("0.12 345", "at \"345\"");
    refuse_parts("0.123 4567", "at \"4567\"");
    refuse_parts(".", "at \".\"");
    refuse_parts("5%%", "at \"%\"");
    refuse_parts("3+", "ends");
    refuse_parts("+", "ends");
    refuse_parts("(3", "not closed");
    refuse_parts("3)", "at \")\"");
    refuse_parts("()", "at \")\"");
    refuse_parts("(*3)", "at \"*3)\"");
    refuse_parts("3**2", "at \"*2\"");
    refuse_parts("21--4", "at \"-4\"");
    refuse_parts("1/0", "zero");
    refuse_parts("1/(2-2)", "zero");
    refuse_parts("-6", "less than nothing");
    refuse_parts("-5.0000000001", "less than nothing");
    refuse_parts("1000000.000001", "million");
    refuse_parts("1e3", "at \"e3\"");
    refuse_parts("0x10", "at \"x10\"");
    refuse_parts("nan", "nan");
    refuse_parts("3\x1b[31m", "cannot be read");
    refuse_parts("\xff\xfe", "cannot be read");
    refuse_parts("99999999999999999999999999999999999999999999", "digits");
    refuse_parts("0.00000000000000000000000000000000000000000000001", "digits");
    refuse_parts("99999999999999999999*99999999999999999999", "digits");
    memset(deep, '(', 100);
    memcpy(deep + 100, "1", 2);
    refuse_parts(deep, "brackets");
}

/* Ten thousand characters are answered with a sentence that quotes only the first few. */
static void long_text(void **state)
{
    char *text = malloc(10001);
    struct pm_error err;
    pm_parts parts;

    (void)state;
    assert_non_null(text);
    memset(text, 'x', 10000);
    text[10000] = '\0';
    assert_int_equal(pm_parts_read(text, 0, BASE, &parts, &err), PM_INVALID);
    assert_true(strlen(err.text) < 200);
    memset(text, '1', 10000);
    assert_int_equal(pm_parts_read(text, 0, BASE, &parts, &err), PM_INVALID);
    memset(text, '0', 10000);
    assert_int_equal(pm_parts_read(text, 0, BASE, &parts, &err), PM_OK);
    assert_int_equal(parts, 0);
    free(text);
}

/* ---- random expressions, once as text for us and once as rationals for GMP ---- */

struct expression {
    uint64_t random;
    char text[4096];
    size_t length;
    bool divides_by_zero;
    bool heavy; /* some value needs more than 58 bits: we may refuse it */
    mpq_t base;
};

static void put(struct expression *e, const char *piece)
{
    size_t length = strlen(piece);

    assert_true(e->length + length < sizeof e->text);
    memcpy(e->text + e->length, piece, length + 1);
    e->length += length;
}

static void weigh(struct expression *e, mpq_t value)
{
    if (mpz_sizeinbase(mpq_numref(value), 2) > 58 || mpz_sizeinbase(mpq_denref(value), 2) > 58)
        e->heavy = true;
}

static void make_sum(struct expression *e, int depth, mpq_t value);

static void make_number(struct expression *e, mpq_t value)
{
    int decimals = random_below(&e->random, 7);
    uint64_t digits = random_next(&e->random) % 100000;
    char piece[64];

    mpq_set_ui(value, digits, 1);
    if (decimals == 0) {
        snprintf(piece, sizeof piece, "%llu", (unsigned long long)digits);
    } else {
        unsigned long unit = 1;
        for (int i = 0; i < decimals; i++)
            unit *= 10;
        snprintf(piece, sizeof piece, "%llu.%0*llu", (unsigned long long)(digits / unit), decimals,
                 (unsigned long long)(digits % unit));
        mpz_set_ui(mpq_denref(value), unit);
        mpq_canonicalize(value);
    }
    put(e, piece);
}

static void make_share(struct expression *e, int depth, mpq_t value)
{
    static const struct {
        const char *sign;
        unsigned long of;
    } signs[] = {{"%", 100}, {"\xe2\x80\xb0", 1000}, {" ppm", 1000000}};
    mpq_t part;

    if (depth > 0 && random_below(&e->random, 3) == 0) {
        put(e, "(");
        make_sum(e, depth - 1, value);
        put(e, ")");
    } else {
        make_number(e, value);
    }
    if (random_below(&e->random, 6) != 0)
        return;
    size_t which = (size_t)random_below(&e->random, 3);
    put(e, signs[which].sign);
    mpq_init(part);
    mpq_set_ui(part, 1, signs[which].of);
    mpq_mul(value, value, part);
    mpq_mul(value, value, e->base);
    mpq_clear(part);
    weigh(e, value);
}

static void make_product(struct expression *e, int depth, mpq_t value)
{
    mpq_t factor;

    make_share(e, depth, value);
    mpq_init(factor);
    while (random_below(&e->random, 3) == 0) {
        bool divide = random_below(&e->random, 2) == 0;
        put(e, divide ? " / " : "*");
        make_share(e, depth, factor);
        if (!divide)
            mpq_mul(value, value, factor);
        else if (mpq_sgn(factor) != 0)
            mpq_div(value, value, factor);
        else
            e->divides_by_zero = true;
        weigh(e, value);
    }
    mpq_clear(factor);
}

static void make_sum(struct expression *e, int depth, mpq_t value)
{
    mpq_t term;

    make_product(e, depth, value);
    mpq_init(term);
    while (random_below(&e->random, 3) == 0) {
        bool minus = random_below(&e->random, 3) == 0;
        put(e, minus ? "-" : " + ");
        make_product(e, depth, term);
        if (minus)
            mpq_sub(value, value, term);
        else
            mpq_add(value, value, term);
        weigh(e, value);
    }
    mpq_clear(term);
}

/* GMP's answer: floor(value * 1e6 + 1/2), or false when the text must be refused. */
static bool expected_parts(mpq_t value, mpz_t out)
{
    bool negative = mpq_sgn(value) < 0;

    mpz_mul_ui(out, mpq_numref(value), 2000000);
    mpz_add(out, out, mpq_denref(value));
    mpz_t twice;
    mpz_init(twice);
    mpz_mul_ui(twice, mpq_denref(value), 2);
    mpz_fdiv_q(out, out, twice);
    mpz_clear(twice);
    return !negative && mpz_cmp_ui(out, PM_PARTS_MAX) <= 0;
}

/* Values come from GMP's mpq (exact rationals), https://gmplib.org/manual/Rational-Number-Functions
 */
static void expressions_against_gmp(void **state)
{
    struct expression e = {.random = 0x9E3779B97F4A7C15U};
    long read = 0, refused = 0;
    mpq_t value;
    mpz_t expected;

    (void)state;
    mpq_inits(value, e.base, NULL);
    mpz_init(expected);
    mpq_set_ui(e.base, 1000, 1);
    for (int i = 0; i < 20000; i++) {
        pm_parts parts = -1;
        bool fits;

        e.length = 0;
        e.text[0] = '\0';
        e.divides_by_zero = e.heavy = false;
        make_sum(&e, 3, value);
        if (e.length > 3000)
            continue;
        fits = expected_parts(value, expected) && !e.divides_by_zero;
        /* What is something does not come to nothing. */
        fits = fits && (mpz_sgn(expected) != 0 || mpq_sgn(value) == 0);
        if (pm_parts_read(e.text, 0, BASE, &parts, NULL) == PM_OK) {
            if (!fits || mpz_cmp_si(expected, parts) != 0)
                fail_msg("%s gave %lld", e.text, (long long)parts);
            read++;
        } else {
            if (fits && !e.heavy)
                fail_msg("%s was refused", e.text);
            refused++;
        }
    }
    assert_true(read > 10000);
    assert_true(refused > 100);
    mpq_clears(value, e.base, NULL);
    mpz_clear(expected);
}

static void muldiv_against_gmp(void **state)
{
    static const int64_t edges[] = {INT64_MIN, INT64_MIN + 1, -3,       -2, -1, 0, 1, 2, 3,
                                    7,         INT64_MAX - 1, INT64_MAX};
    enum { EDGES = sizeof edges / sizeof edges[0] };
    uint64_t random = 88172645463325252U;
    mpz_t product, divisor, wanted;

    (void)state;
    mpz_inits(product, divisor, wanted, NULL);
    for (int i = 0; i < 60000; i++) {
        int64_t v[3], got = 4711;
        for (int k = 0; k < 3; k++)
            if (i < EDGES * EDGES * EDGES)
                v[k] = edges[(k == 0 ? i : k == 1 ? i / EDGES : i / EDGES / EDGES) % EDGES];
            else
                v[k] = (int64_t)random_next(&random) >> random_below(&random, 60);
        bool fits = pm_muldiv(v[0], v[1], v[2], &got);
        if (v[2] == 0) {
            assert_false(fits);
            assert_int_equal(got, 4711);
            continue;
        }
        /* half away from zero: sign * floor((2|p| + |d|) / 2|d|) */
        mpz_set_si(product, v[0]);
        mpz_mul_si(product, product, v[1]);
        mpz_set_si(divisor, v[2]);
        int sign = mpz_sgn(product) * mpz_sgn(divisor);
        mpz_abs(product, product);
        mpz_abs(divisor, divisor);
        mpz_mul_ui(product, product, 2);
        mpz_add(product, product, divisor);
        mpz_mul_ui(divisor, divisor, 2);
        mpz_fdiv_q(wanted, product, divisor);
        if (sign < 0)
            mpz_neg(wanted, wanted);
        assert_int_equal(fits, mpz_fits_slong_p(wanted) != 0);
        assert_int_equal(got, fits ? mpz_get_si(wanted) : 4711);
    }
    mpz_clears(product, divisor, wanted, NULL);
}

static void gcd_against_gmp(void **state)
{
    uint64_t random = 42;
    mpz_t a, b;

    (void)state;
    mpz_inits(a, b, NULL);
    for (int i = 0; i < 5000; i++) {
        int64_t x = (int64_t)random_next(&random) >> random_below(&random, 63);
        int64_t y = (int64_t)random_next(&random) >> random_below(&random, 63);
        mpz_set_si(a, x);
        mpz_set_si(b, y);
        mpz_gcd(a, a, b);
        assert_int_equal(pm_gcd(x, y), mpz_get_si(a));
    }
    mpz_clears(a, b, NULL);
    assert_int_equal(pm_gcd(0, 0), 0);
    assert_int_equal(pm_gcd(0, -6), 6);
    assert_int_equal(pm_gcd(INT64_MIN, 0), INT64_C(1) << 62);
}

/* ---- amounts with a unit ---- */

static void strengths(void **state)
{
    static const struct {
        const char *text;
        pm_strength strength; /* -1: refused */
    } cases[] = {{"10%", 100000000},
                 {"0.1 %", 1000000},
                 {"0,1%", 1000000},
                 {"10\xe2\x80\xb0", 10000000},
                 {"500ppm", 500000},
                 {"neat", PM_NEAT},
                 {" Neat ", PM_NEAT},
                 {"10", 100000000},
                 {"100%", PM_NEAT},
                 {"0.0000001%", 1},
                 {"0.001 ppm", 1},
                 {"0.0000001000%", 1},
                 {"1000000 ppm", PM_NEAT},
                 {"100.0000001%", -1},
                 {"0.00000001%", -1},
                 {"33.33333333%", -1},
                 {"0%", -1},
                 {"-5%", -1},
                 {"101", -1},
                 {"10%%", -1},
                 {"10 g", -1},
                 {"neatly", -1},
                 {"", -1},
                 {"%", -1},
                 {"99999999999999999999999999999999999%", -1}};

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct pm_error err;
        pm_strength strength = -1;
        enum pm_status status = pm_strength_read(cases[i].text, &strength, &err);
        assert_int_equal(status, cases[i].strength < 0 ? PM_INVALID : PM_OK);
        if (strength != cases[i].strength)
            fail_msg("\"%s\" gave %lld", cases[i].text, (long long)strength);
        assert_true(status == PM_OK || strlen(err.text) > 10);
    }
}

static void masses(void **state)
{
    static const struct {
        const char *text;
        pm_mass mass; /* -1: refused */
    } cases[] = {{"12.5g", 12500000},
                 {"250mg", 250000},
                 {"1.2 kg", 1200000000},
                 {"40ug", 40},
                 {"40\xc2\xb5g", 40},
                 {"40 \xce\xbcg", 40},
                 {"3", 3000000},
                 {"0", 0},
                 {"0.3333333333 g", 333333},
                 {"0.0000015 g", 2},
                 {"9000000 kg", PM_MASS_MAX},
                 {"9000000.000000001 kg", -1},
                 {"0.0000001 g", -1},
                 {"1 Mg", -1},
                 {"1 oz", -1},
                 {"-1 g", -1},
                 {"1.2.3 g", -1},
                 {"g", -1},
                 {"", -1}};

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct pm_error err;
        pm_mass mass = -1;
        enum pm_status status = pm_mass_read(cases[i].text, &mass, &err);
        assert_int_equal(status, cases[i].mass < 0 ? PM_INVALID : PM_OK);
        if (mass != cases[i].mass)
            fail_msg("\"%s\" gave %lld", cases[i].text, (long long)mass);
    }
}

static void decimals(void **state)
{
    struct pm_error err;
    int64_t value = -1;

    (void)state;
    assert_int_equal(pm_decimal_read("12.345", 3, "The price", &value, &err), PM_OK);
    assert_int_equal(value, 12345);
    assert_int_equal(pm_decimal_read("12.50", 1, "The price", &value, &err), PM_OK);
    assert_int_equal(value, 125);
    assert_int_equal(pm_decimal_read("9223372036854775807", 0, "The count", &value, &err), PM_OK);
    assert_true(value == INT64_MAX);
    assert_int_equal(pm_decimal_read("9223372036.854775808", 9, "The count", &value, &err),
                     PM_INVALID);
    assert_non_null(strstr(err.text, "The count is too large"));
    assert_int_equal(pm_decimal_read("1.5", 0, "The base", &value, &err), PM_INVALID);
    assert_non_null(strstr(err.text, "The base must be a whole number"));
    assert_int_equal(pm_decimal_read("1.55", 1, "The base", &value, &err), PM_INVALID);
    assert_int_equal(pm_decimal_read("-1", 0, "The base", &value, &err), PM_INVALID);
    assert_int_equal(pm_decimal_read("", 0, "The base", &value, &err), PM_INVALID);
    assert_string_equal(err.text, "The base is missing.");
    assert_int_equal(pm_decimal_read("1 EUR", 2, "The price", &value, &err), PM_INVALID);
    assert_true(value == INT64_MAX);
}

static void ratios(void **state)
{
    static const struct {
        const char *text, *shows; /* NULL: refused */
    } cases[] = {{"4:3:2", "4 3 2"},
                 {"8:6:4", "4 3 2"},
                 {" 4 : 3 : 2 ", "4 3 2"},
                 {"4 3 2", "4 3 2"},
                 {"1.5:1", "3 2"},
                 {"1,5:1", "3 2"},
                 {"0.25:1:0.5", "1 4 2"},
                 {"444:333:222", "4 3 2"},
                 {"1.50:1.0", "3 2"},
                 {"4", NULL},
                 {"", NULL},
                 {":", NULL},
                 {"4::3", NULL},
                 {":4:3", NULL},
                 {"4:3:", NULL},
                 {"4:0", NULL},
                 {"4:-3", NULL},
                 {"4,3,2", NULL},
                 {"4:x", NULL},
                 {"1:2:3:4:5", NULL},
                 {"0.0000000001:99999999999", NULL}};

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        int64_t members[4] = {0};
        struct pm_error err;
        char shows[100] = "";
        size_t count = 99;
        enum pm_status status = pm_ratio_read(cases[i].text, members, 4, &count, &err);
        if (cases[i].shows == NULL) {
            assert_int_equal(status, PM_INVALID);
            assert_int_equal(count, 99);
            assert_int_equal(members[0], 0);
            continue;
        }
        assert_int_equal(status, PM_OK);
        for (size_t k = 0; k < count; k++)
            snprintf(shows + strlen(shows), sizeof shows - strlen(shows), k ? " %lld" : "%lld",
                     (long long)members[k]);
        assert_string_equal(shows, cases[i].shows);
    }
}

/* ---- showing ---- */

static void shows(const char *got, const char *wanted)
{
    assert_string_equal(got, wanted);
}

static void formats(void **state)
{
    char buf[PM_AMOUNT_TEXT];

    (void)state;
    shows(pm_decimal_format(12500000, 6, 2, '.', buf), "12.50");
    shows(pm_decimal_format(12500000, 6, 2, ',', buf), "12,50");
    shows(pm_decimal_format(12500000, 6, 0, '.', buf), "13");
    shows(pm_decimal_format(-12500000, 6, 0, '.', buf), "-13");
    shows(pm_decimal_format(12499999, 6, 0, '.', buf), "12");
    shows(pm_decimal_format(999999, 6, 5, '.', buf), "1.00000");
    shows(pm_decimal_format(-4, 6, 2, '.', buf), "0.00");
    shows(pm_decimal_format(5, 0, 3, '.', buf), "5.000");
    shows(pm_decimal_format(5, 3, 6, '.', buf), "0.005000");
    shows(pm_decimal_format(INT64_MIN, 0, 18, '.', buf), "-9223372036854775808.000000000000000000");
    shows(pm_decimal_format(INT64_MIN, 12, 0, '.', buf), "-9223372");
    shows(pm_decimal_exact(12500000, 6, '.', buf), "12.5");
    shows(pm_decimal_exact(1, 6, '.', buf), "0.000001");
    shows(pm_decimal_exact(-1, 6, ',', buf), "-0,000001");
    shows(pm_decimal_exact(1000000000, 6, '.', buf), "1000");
    shows(pm_decimal_exact(0, 12, '.', buf), "0");
    shows(pm_decimal_exact(INT64_MAX, 12, '.', buf), "9223372.036854775807");
    shows(pm_strength_format(100000000, '.', buf), "10 %");
    shows(pm_strength_format(1000000, ',', buf), "0,1 %");
    shows(pm_strength_format(1, '.', buf), "0.0000001 %");
    shows(pm_strength_format(PM_NEAT, '.', buf), "neat");
    shows(pm_strength_about(100299900, '.', buf), "10.03 %");
    shows(pm_strength_about(10047029, ',', buf), "1,005 %");
    shows(pm_strength_about(99999100, '.', buf), "10 %");
    shows(pm_strength_about(999999000, '.', buf), "99.9999 %");
    shows(pm_strength_about(PM_NEAT, '.', buf), "neat");
    shows(pm_strength_about(7, '.', buf), "0.0000007 %");
    shows(pm_factor_format(1250000, '.', buf), "1.25");
    shows(pm_factor_format(944444, ',', buf), "0,944");
    shows(pm_factor_format(94000, '.', buf), "0.094");
    shows(pm_factor_format(1, '.', buf), "0.000001");
    shows(pm_factor_format(12500000, '.', buf), "12.50");
    shows(pm_factor_format(1002000, '.', buf), "1.002"); /* not 1.00: it is another amount */
    shows(pm_factor_format(999999, '.', buf), "0.999999");
    shows(pm_factor_format(1000000, '.', buf), "1.00");
    shows(pm_mass_format(12500000, 2, '.', buf), "12.50 g");
    shows(pm_mass_format(250000, 2, '.', buf), "250 mg");
    shows(pm_mass_format(40, 2, '.', buf), "40 \xc2\xb5g");
    shows(pm_mass_format(2500, 2, ',', buf), "2,5 mg");
    shows(pm_mass_exact(7777000, '.', buf), "7.777 g");
    shows(pm_mass_exact(999999, '.', buf), "999.999 mg");
    shows(pm_mass_exact(98040000, ',', buf), "98,04 g");
    shows(pm_mass_exact(0, '.', buf), "0 g");
    shows(pm_mass_format(250400, 4, '.', buf), "250.4 mg");
    shows(pm_mass_format(999999, 2, '.', buf), "1.00 g");
    shows(pm_mass_format(1500000, 0, '.', buf), "1.5 g");
    shows(pm_mass_format(0, 2, '.', buf), "0.00 g");
    shows(pm_mass_format(-3000, 3, '.', buf), "-3.0 mg");
    shows(pm_mass_format(PM_MASS_MAX, 6, '.', buf), "9000000000.000000 g");
}

/* What is not zero never shows as zero, and shows two digits wherever the scale has them. */
static void places_never_hide(void **state)
{
    uint64_t random = 7;

    (void)state;
    assert_int_equal(pm_decimal_places(0, 6, 2), 2);
    assert_int_equal(pm_decimal_places(12500000, 6, 0), 0);
    assert_int_equal(pm_decimal_places(2500000, 6, 0), 1);
    assert_int_equal(pm_decimal_places(250000, 6, 0), 2);
    assert_int_equal(pm_decimal_places(250, 6, 0), 5);
    assert_int_equal(pm_decimal_places(2, 6, 0), 6);
    assert_int_equal(pm_decimal_places(-250000, 6, 0), 2);
    assert_int_equal(pm_decimal_places(250000, 6, 4), 4);
    assert_int_equal(pm_decimal_places(INT64_MIN, 0, 0), 0);
    for (int i = 0; i < 20000; i++) {
        int64_t value = (int64_t)(random_next(&random) >> random_below(&random, 63));
        int scale = random_below(&random, 13);
        char buf[PM_AMOUNT_TEXT];
        int digits = 0;
        if (value <= 0)
            continue;
        pm_decimal_format(value, scale, pm_decimal_places(value, scale, 0), '.', buf);
        for (const char *at = buf + strspn(buf, "0."); *at; at++)
            digits += *at != '.';
        if (digits < (value < 10 ? 1 : 2))
            fail_msg("%lld at %d shows as %s", (long long)value, scale, buf);
    }
}

/* The exact form is read back as the same parts. */
static void exact_form_round_trip(void **state)
{
    uint64_t random = 99;

    (void)state;
    for (int i = 0; i < 20000; i++) {
        pm_parts parts = (pm_parts)(random_next(&random) % (uint64_t)(PM_PARTS_MAX + 1)) >>
                         random_below(&random, 40);
        char buf[PM_AMOUNT_TEXT];
        pm_decimal_exact(parts, 6, i % 2 ? ',' : '.', buf);
        const char *comma = strchr(buf, ',');
        if (comma != NULL && strlen(comma) == 4 && comma - buf <= 3 && buf[0] != '0')
            continue; /* the one form that is ambiguous where the sign is a point */
        assert_int_equal(read_parts(buf, 0), parts);
    }
}

/* ---- the decimal sign of the surroundings ---- */

/* Makes a locale of our own in a new folder, since a bare machine has none with a comma. */
static bool make_comma_locale(char *folder)
{
    static const char source[] = "LC_NUMERIC\ndecimal_point \"<U002C>\"\nthousands_sep \"\"\n"
                                 "grouping -1\nEND LC_NUMERIC\n";
    char path[300], command[1200];
    FILE *file;

    if (mkdtemp(folder) == NULL)
        return false;
    snprintf(path, sizeof path, "%s/source", folder);
    file = fopen(path, "w");
    if (file == NULL)
        return false;
    fputs(source, file);
    fclose(file);
    snprintf(command, sizeof command, "localedef -c -i %s %s/comma >/dev/null 2>&1", path, folder);
    (void)!system(command);
    snprintf(path, sizeof path, "%s/comma/LC_NUMERIC", folder);
    file = fopen(path, "r");
    if (file != NULL)
        fclose(file);
    return file != NULL;
}

/* In a child of its own, since the C library keeps what it found under LOCPATH. Returns 0 or the
 * number of the check that failed. */
static int in_comma_locale(const char *folder)
{
    int result = 0;
    pid_t child = fork();

    if (child == 0) {
        char buf[PM_AMOUNT_TEXT];
        setenv("LOCPATH", folder, 1);
        setenv("LANG", "comma", 1);
        if (pm_decimal_sign() != ',')
            _exit(1);
        setenv("LC_NUMERIC", "C", 1);
        if (pm_decimal_sign() != '.')
            _exit(2);
        setenv("LC_ALL", "comma", 1);
        if (pm_decimal_sign() != ',')
            _exit(3);
        snprintf(buf, sizeof buf, "%.1f", 1.5); /* the process's own locale did not move */
        _exit(strcmp(buf, "1.5") == 0 ? 0 : 4);
    }
    assert_true(child > 0);
    assert_int_equal(waitpid(child, &result, 0), child);
    return WIFEXITED(result) ? WEXITSTATUS(result) : 99;
}

static void decimal_sign(void **state)
{
    char folder[] = "/tmp/permille-locale-XXXXXX";
    char command[100];
    bool made;

    (void)state;
    unsetenv("LC_ALL");
    unsetenv("LANG");
    unsetenv("LC_NUMERIC");
    assert_int_equal(pm_decimal_sign(), '.');
    setenv("LC_ALL", "no-such-locale", 1);
    assert_int_equal(pm_decimal_sign(), '.');
    unsetenv("LC_ALL");

    made = make_comma_locale(folder);
    if (made)
        assert_int_equal(in_comma_locale(folder), 0);
    snprintf(command, sizeof command, "rm -rf %s", folder);
    (void)!system(command);
    if (!made) {
        print_message("localedef cannot make a locale here: only '.' was checked\n");
        skip();
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(parts_as_typed),
        cmocka_unit_test(parts_refused),
        cmocka_unit_test(a_comma_before_three_digits),
        cmocka_unit_test(less_than_a_millionth),
        cmocka_unit_test(factors),
        cmocka_unit_test(long_text),
        cmocka_unit_test(expressions_against_gmp),
        cmocka_unit_test(muldiv_against_gmp),
        cmocka_unit_test(gcd_against_gmp),
        cmocka_unit_test(strengths),
        cmocka_unit_test(masses),
        cmocka_unit_test(decimals),
        cmocka_unit_test(ratios),
        cmocka_unit_test(formats),
        cmocka_unit_test(places_never_hide),
        cmocka_unit_test(exact_form_round_trip),
        cmocka_unit_test(decimal_sign),
    };

    return cmocka_run_group_tests_name("base: amounts", tests, NULL, NULL);
}
