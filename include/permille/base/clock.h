/* SPDX-License-Identifier: MIT */
/*
 * Time: Unix seconds UTC, shown in local time; and days, which have no zone: a bottle bought on
 * 2 March was bought on 2 March wherever it is looked at. The clock is a value that is passed down,
 * so tests and the demo maker can set it.
 */
#ifndef PERMILLE_BASE_CLOCK_H
#define PERMILLE_BASE_CLOCK_H

#include "permille/base/status.h"

#include <stdint.h>

struct pm_clock {
    int64_t (*now)(void *context); /* NULL: the system's clock */
    void *context;
};

int64_t pm_clock_now(const struct pm_clock *clock); /* clock may be NULL: the system's */

#define PM_TIME_TEXT 32
/* Local time "2026-03-02 14:05" (pm_time_date: "2026-03-02"; pm_time_iso: UTC
 * "2026-03-02T14:05:00Z"). Years outside 1970..9999 show as "?". buf holds PM_TIME_TEXT bytes and
 * is returned. */
char *pm_time_format(int64_t time, char *buf);
char *pm_time_date(int64_t time, char *buf);
char *pm_time_iso(int64_t time, char *buf);
/* How long ago in a few words ("just now", "5 min", "3 h", "2 days", then the date); times in the
 * future show as a date. */
char *pm_time_ago(int64_t time, int64_t now, char *buf);
/* "2026-03-02", "2026-03-02 14:05", "2026-03-02T14:05:00Z"; without Z it is local time. Impossible
 * dates (30 February) are PM_INVALID. */
enum pm_status pm_time_read(const char *text, int64_t *out, struct pm_error *err);
/* A civil day of the Gregorian calendar: days since 1970-01-01, which is day 0. */
typedef int64_t pm_day;
#define PM_NO_DAY INT64_MIN /* unknown; comes before every day */
/* The day that it is here at that moment; and the moment at which a day begins here. */
pm_day pm_day_of(int64_t time);
int64_t pm_day_begin(pm_day day);
/* "2026-03-02"; "" for PM_NO_DAY, "?" outside the years 1970..9999. buf holds PM_TIME_TEXT bytes
 * and is returned. */
char *pm_day_format(pm_day day, char *buf);
/* "2026-03-02"; a time of day is none of its. PM_INVALID as for times. */
enum pm_status pm_day_read(const char *text, pm_day *out, struct pm_error *err);

/* Time spans "15min", "2 h", "3d", "90s", "1h30min"; a bare number is minutes. Seconds, >= 0. */
enum pm_status pm_span_read(const char *text, int64_t *out, struct pm_error *err);
char *pm_span_format(int64_t seconds, char *buf); /* "15 min", "2 h", "3 d 4 h" */
/* The same without what nobody wants to know: from a minute on no seconds, from a day on no
 * minutes, from a week on no hours. */
char *pm_span_about(int64_t seconds, char *buf);

#endif
