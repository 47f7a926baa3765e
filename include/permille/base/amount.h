/* SPDX-License-Identifier: MIT */
/*
 * Amounts: integers wherever something is stored or summed, never floating point.
 *
 *   parts     int64  micro-part (1e-6 part)        0 .. 1e12 (a million parts)
 *   mass      int64  microgram                     +-9e15
 *   strength  int64  1e-9 (neat = 1e9), also used for dosage   0 .. 1e9
 *   money     int64  1e-6 of the currency unit
 *   fine      int64  pico-part (1e-12 part)        0 .. 1e18; flat views, where traces of traces
 * count
 *
 * Products go through pm_int128; a result that does not fit is an error, not a wrap.
 *
 * Reading is lenient about the decimal sign: '.' and ',' are both one, wherever only one of them
 * stands and it stands once; "1,234.5" and "1.234.567" are refused as ambiguous, and so is "1,000"
 * (a comma between one to three digits and three more) where the person's decimal sign is a point.
 * White space between groups of three digits, thin spaces included, is ignored ("12 5" is refused).
 * No call here looks at the process locale; for that one question pm_decimal_sign() is asked.
 */
#ifndef PERMILLE_BASE_AMOUNT_H
#define PERMILLE_BASE_AMOUNT_H

#include "permille/base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

__extension__ typedef __int128 pm_int128;

typedef int64_t pm_parts;
typedef int64_t pm_strength;
typedef int64_t pm_mass;
typedef int64_t pm_money;
typedef int64_t pm_fine;

#define PM_PART           INT64_C(1000000)       /* one part in micro-parts */
#define PM_PARTS_MAX      INT64_C(1000000000000) /* a million parts */
#define PM_NEAT           INT64_C(1000000000)    /* strength of the undiluted material */
#define PM_GRAM           INT64_C(1000000)       /* one gram in micrograms */
#define PM_MASS_MAX       INT64_C(9000000000000000)
#define PM_FINE_PER_MICRO INT64_C(1000000) /* pico-parts in a micro-part */

/* value * numerator / denominator, rounded half away from zero. False when denominator is 0 or the
 * result does not fit int64; *out is then untouched. */
bool pm_muldiv(int64_t value, int64_t numerator, int64_t denominator, int64_t *out);
/* The greatest common divisor of the magnitudes that fits int64, never negative; 0 for two zeros.
 */
int64_t pm_gcd(int64_t a, int64_t b);

/*
 * Parts as typed in the formula's base. Accepts a number ("12.5"), a share of the base with a sign
 * ("5%", "3‰", "20 ppm"), and plain arithmetic with + - * / and brackets ("21+4", "(3+1)/2").
 * An expression that begins with * or /, or with + or -, goes on from `current` ("*1.5", "/3",
 * "+2"): so a leading minus means "less", and a percentage there is one of `current`: "*110%" and
 * "+10%" are both one tenth more. Evaluated exactly (rationals), rounded once to a micro-part, half
 * up. A result below 0, above PM_PARTS_MAX, above 0 that would round to it, a division by zero,
 * more digits than
 * 128 bits hold, brackets deeper than 32, or anything unreadable is PM_INVALID with a sentence that
 * quotes what could not be read.
 */
enum pm_status pm_parts_read(const char *text, pm_parts current, pm_parts base, pm_parts *out,
                             struct pm_error *err);
/* A factor: a ratio of two ("3:2") or what pm_parts_read calculates with, as a plain number ("1.5",
 * "2/3", "110%", "20ppm", "+10%"), into over / under in lowest terms, both above 0. PM_INVALID. */
enum pm_status pm_factor_read(const char *text, int64_t *over, int64_t *under,
                              struct pm_error *err);
/* "10%", "0.1 %", "10‰", "500ppm", "neat", and a bare "10" meaning percent. 0 < result <= PM_NEAT;
 * more than nine decimals of a whole, zero, and over 100 % are PM_INVALID. Also for dosages. */
enum pm_status pm_strength_read(const char *text, pm_strength *out, struct pm_error *err);
/* "12.5g", "250mg", "1.2 kg", "40ug" / "40µg"; a bare number is grams. Result >= 0, rounded to a
 * microgram, half up; what is not zero but would round to it is PM_INVALID. */
enum pm_status pm_mass_read(const char *text, pm_mass *out, struct pm_error *err);
/* A plain non-negative decimal with at most `places` decimals (zeros after them do not count), as
 * an integer scaled by 10^places (places 0..9). For money, whole numbers, physical values. */
enum pm_status pm_decimal_read(const char *text, int places, const char *what, int64_t *out,
                               struct pm_error *err);
/* A ratio "4:3:2" (also "4 3 2", or with decimals "1.5:1"): 2 to `max` positive integers in lowest
 * terms into out, their number into *count. */
enum pm_status pm_ratio_read(const char *text, int64_t *out, size_t max, size_t *count,
                             struct pm_error *err);

#define PM_AMOUNT_TEXT 40 /* room for any formatted amount */

/* An integer scaled by 10^scale (0..12) as a decimal with exactly `places` decimals (0..18),
 * rounded half away from zero; decimal sign as given ('.' or ','). buf holds PM_AMOUNT_TEXT bytes
 * and is returned. */
char *pm_decimal_format(int64_t value, int scale, int places, char sign, char *buf);
/* The shortest exact form ("12.5", "0.000001"), for files, JSON and editing. */
char *pm_decimal_exact(int64_t value, int scale, char sign, char *buf);
/* How many decimals `value` needs so that at least two significant digits show, at least `least`,
 * at most `scale`; 0 needs `least`. A column is printed with the maximum over its rows: then
 * decimal points align and nothing that is not zero shows as zero. */
int pm_decimal_places(int64_t value, int scale, int least);
/* A factor scaled by 1e6 as "1.25", "0.944", "0.0012": more decimals where it would otherwise look
 * like nothing, or like 1 when it is not. */
char *pm_factor_format(int64_t ppm, char sign, char *buf);
/* "10 %", "0.1 %", "neat"; exact. */
char *pm_strength_format(pm_strength strength, char sign, char *buf);
/* The same to four digits, for what was weighed: "10.03 %", "1.005 %". What is not neat never looks
 * so. */
char *pm_strength_about(pm_strength strength, char sign, char *buf);
/* "12.50 g", "250 mg", "40 µg": `places` decimals of a gram (0..6), more where two significant
 * digits need them; below a gram in mg, below a milligram in µg. */
char *pm_mass_format(pm_mass mass, int places, char sign, char *buf);

/* The same, exact: for a number that is to be typed again, and work. */
char *pm_mass_exact(pm_mass mass, char sign, char *buf);

/* The decimal sign a person's LC_NUMERIC asks for, found without changing the process locale for
 * numbers ('.' when unknown). Front ends pass it to the calls above. */
char pm_decimal_sign(void);

#endif
