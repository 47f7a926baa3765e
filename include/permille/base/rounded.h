/* SPDX-License-Identifier: MIT */
/*
 * Doubles as people read them, with their decimal sign: statistics, physics, scales of pictures.
 * Amounts are integers and have their own calls (amount.h); JSON and CSV have the point (json.h).
 */
#ifndef PERMILLE_BASE_ROUNDED_H
#define PERMILLE_BASE_ROUNDED_H

#define PM_ROUNDED_TEXT 32

/* Handed out by value, so that several can stand in one sentence. */
struct pm_rounded {
    char text[PM_ROUNDED_TEXT];
};

/* A sign of 0 is a point. */

/* To so many significant digits, no zeros at the end: "0.0417", "12"; 100 to two digits is "100":
 * an exponent stands only from PM_ROUNDED_PLAIN on, and with what is smaller than 0.0001. */
#define PM_ROUNDED_PLAIN 1e6
struct pm_rounded pm_rounded(double value, int digits, char sign);
/* With so many decimals: "0.050". */
struct pm_rounded pm_rounded_places(double value, int places, char sign);

#endif
