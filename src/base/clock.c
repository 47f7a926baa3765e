/* SPDX-License-Identifier: MIT */
/* Time as people write it. The zone is the process's (TZ); whoever changes it calls tzset(). */
#include "permille/base/clock.h"

#include "number.h"

#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#define YEAR_LEAST 1970
#define YEAR_MOST  9999
#define MINUTE     INT64_C(60)
#define HOUR       (60 * MINUTE)
#define DAY        (24 * HOUR)
#define SPAN_MAX   (36500 * DAY)

int64_t pm_clock_now(const struct pm_clock *clock)
{
    if (clock != NULL && clock->now != NULL)
        return clock->now(clock->context);
    return (int64_t)time(NULL);
}

/* Splits a moment into fields; false outside the years that are shown. */
static bool fields_of(int64_t time, bool utc, struct tm *tm)
{
    time_t moment = (time_t)time;

    return (utc ? gmtime_r(&moment, tm) : localtime_r(&moment, tm)) != NULL &&
           tm->tm_year >= YEAR_LEAST - 1900 && tm->tm_year <= YEAR_MOST - 1900;
}

char *pm_time_format(int64_t time, char *buf)
{
    struct tm tm;

    if (!fields_of(time, false, &tm) || strftime(buf, PM_TIME_TEXT, "%Y-%m-%d %H:%M", &tm) == 0)
        memcpy(buf, "?", 2);
    return buf;
}

char *pm_time_date(int64_t time, char *buf)
{
    struct tm tm;

    if (!fields_of(time, false, &tm) || strftime(buf, PM_TIME_TEXT, "%Y-%m-%d", &tm) == 0)
        memcpy(buf, "?", 2);
    return buf;
}

char *pm_time_iso(int64_t time, char *buf)
{
    struct tm tm;

    if (!fields_of(time, true, &tm) || strftime(buf, PM_TIME_TEXT, "%Y-%m-%dT%H:%M:%SZ", &tm) == 0)
        memcpy(buf, "?", 2);
    return buf;
}

char *pm_time_ago(int64_t time, int64_t now, char *buf)
{
    int64_t ago;

    if (time > now || __builtin_sub_overflow(now, time, &ago) || ago >= 7 * DAY)
        return pm_time_date(time, buf);
    if (ago < MINUTE)
        snprintf(buf, PM_TIME_TEXT, "just now");
    else if (ago < HOUR)
        snprintf(buf, PM_TIME_TEXT, "%d min", (int)(ago / MINUTE));
    else if (ago < DAY)
        snprintf(buf, PM_TIME_TEXT, "%d h", (int)(ago / HOUR));
    else
        snprintf(buf, PM_TIME_TEXT, "%d day%s", (int)(ago / DAY), ago < 2 * DAY ? "" : "s");
    return buf;
}

/* Takes exactly `digits` digits from *at; false when there are others or more. */
static bool take_digits(const char **at, int digits, int *out)
{
    int value = 0;

    for (int i = 0; i < digits; i++) {
        char byte = *(*at)++;
        if (byte < '0' || byte > '9')
            return false;
        value = value * 10 + (byte - '0');
    }
    *out = value;
    return **at < '0' || **at > '9';
}

static bool take(const char **at, char byte)
{
    if (**at != byte)
        return false;
    ++*at;
    return true;
}

/* Splits the text into its fields; *timed when a time of day was given, *utc when Z was. */
static bool split(const char *at, struct tm *tm, bool *timed, bool *utc)
{
    *timed = *utc = false;
    at = pm_skip_space(at);
    if (!take_digits(&at, 4, &tm->tm_year) || !take(&at, '-') ||
        !take_digits(&at, 2, &tm->tm_mon) || !take(&at, '-') || !take_digits(&at, 2, &tm->tm_mday))
        return false;
    if (*at == 'T' || (*at == ' ' && *pm_skip_space(at) != '\0')) {
        at = *at == 'T' ? at + 1 : pm_skip_space(at);
        *timed = true;
        if (!take_digits(&at, 2, &tm->tm_hour) || !take(&at, ':') ||
            !take_digits(&at, 2, &tm->tm_min) ||
            (take(&at, ':') && !take_digits(&at, 2, &tm->tm_sec)))
            return false;
        *utc = take(&at, 'Z');
    }
    return *pm_skip_space(at) == '\0';
}

/* Only of text that was split. */
static bool is_in_range(const struct tm *tm)
{
    return tm->tm_year >= YEAR_LEAST && tm->tm_year <= YEAR_MOST;
}

static bool is_possible(const struct tm *tm)
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    int year = tm->tm_year, most;
    bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;

    if (!is_in_range(tm) || tm->tm_mon < 1 || tm->tm_mon > 12)
        return false;
    most = days[tm->tm_mon - 1] + (leap && tm->tm_mon == 2);
    return tm->tm_mday >= 1 && tm->tm_mday <= most && tm->tm_hour <= 23 && tm->tm_min <= 59 &&
           tm->tm_sec <= 59;
}

/* Local fields to seconds; false when the clocks were put forward over that moment. A bare date
 * whose midnight was skipped begins when its first hour does. */
static bool local_time(const struct tm *fields, bool timed, int64_t *out)
{
    for (int hour = fields->tm_hour; hour <= fields->tm_hour + (timed ? 0 : 2); hour++) {
        struct tm tm = *fields;
        time_t moment;

        tm.tm_hour = hour;
        tm.tm_isdst = -1;
        moment = mktime(&tm);
        if (tm.tm_mday == fields->tm_mday && tm.tm_hour == hour && tm.tm_min == fields->tm_min) {
            *out = (int64_t)moment;
            return true;
        }
    }
    return false;
}

enum pm_status pm_time_read(const char *text, int64_t *out, struct pm_error *err)
{
    char quote[PM_QUOTE_TEXT];
    struct tm tm = {0};
    bool timed, utc;

    if (!split(text, &tm, &timed, &utc))
        return pm_fail(err, PM_INVALID,
                       "\"%s\" is not a time: write 2026-03-02 or 2026-03-02 14:05.",
                       pm_quote(text, quote));
    if (!is_in_range(&tm))
        return pm_fail(err, PM_INVALID, "\"%s\" is not within the years %d to %d.",
                       pm_quote(text, quote), YEAR_LEAST, YEAR_MOST);
    if (!is_possible(&tm))
        return pm_fail(err, PM_INVALID, "There is no such time as \"%s\".", pm_quote(text, quote));
    tm.tm_year -= 1900;
    tm.tm_mon -= 1;
    if (utc) {
        *out = (int64_t)timegm(&tm);
        return PM_OK;
    }
    if (!local_time(&tm, timed, out))
        return pm_fail(err, PM_INVALID,
                       "There is no such time as \"%s\" here: the clocks were put forward.",
                       pm_quote(text, quote));
    return PM_OK;
}

/* ---- days ---- */

static int64_t floor_day(int64_t seconds)
{
    return seconds / DAY - (seconds % DAY < 0);
}

pm_day pm_day_of(int64_t time)
{
    time_t moment = (time_t)time;
    struct tm tm;

    return localtime_r(&moment, &tm) != NULL ? floor_day((int64_t)timegm(&tm)) : floor_day(time);
}

int64_t pm_day_begin(pm_day day)
{
    struct tm tm;
    int64_t begin;

    if (day == PM_NO_DAY || !fields_of(day * DAY, true, &tm))
        return 0;
    return local_time(&tm, false, &begin) ? begin : day * DAY;
}

char *pm_day_format(pm_day day, char *buf)
{
    struct tm tm;
    int64_t moment;

    if (day == PM_NO_DAY)
        buf[0] = '\0';
    else if (__builtin_mul_overflow(day, DAY, &moment) || !fields_of(moment, true, &tm) ||
             strftime(buf, PM_TIME_TEXT, "%Y-%m-%d", &tm) == 0)
        memcpy(buf, "?", 2);
    return buf;
}

enum pm_status pm_day_read(const char *text, pm_day *out, struct pm_error *err)
{
    char quote[PM_QUOTE_TEXT];
    struct tm tm = {0};
    bool timed, utc;

    if (!split(text, &tm, &timed, &utc) || timed)
        return pm_fail(err, PM_INVALID, "\"%s\" is not a day: write it as 2026-03-02.",
                       pm_quote(text, quote));
    if (!is_in_range(&tm))
        return pm_fail(err, PM_INVALID, "\"%s\" is not within the years %d to %d.",
                       pm_quote(text, quote), YEAR_LEAST, YEAR_MOST);
    if (!is_possible(&tm))
        return pm_fail(err, PM_INVALID, "There is no such day as \"%s\".", pm_quote(text, quote));
    tm.tm_year -= 1900;
    tm.tm_mon -= 1;
    *out = floor_day((int64_t)timegm(&tm));
    return PM_OK;
}

/* ---- spans ---- */

static const struct {
    const char *name;
    int64_t seconds;
} units[] = {{"d", DAY}, {"h", HOUR}, {"min", MINUTE}, {"s", 1}};

enum { UNITS = sizeof units / sizeof units[0] };

/* The unit at *at, from `from` on since units go from large to small; UNITS when there is none. */
static size_t take_unit(const char **at, size_t from)
{
    for (size_t i = from; i < UNITS; i++) {
        size_t length = strlen(units[i].name);
        char after;

        if (strncmp(*at, units[i].name, length) != 0)
            continue;
        after = (*at)[length];
        if ((after >= 'a' && after <= 'z') || (after >= 'A' && after <= 'Z'))
            continue;
        *at += length;
        return i;
    }
    return UNITS;
}

enum pm_status pm_span_read(const char *text, int64_t *out, struct pm_error *err)
{
    const char *at = pm_skip_space(text);
    char quote[PM_QUOTE_TEXT];
    int64_t total = 0, part;
    size_t next = 0;
    char sign = '\0';

    pm_quote(text, quote);
    if (*at == '\0')
        return pm_fail(err, PM_INVALID, "A span of time is missing.");
    for (bool first = true; *at != '\0'; first = false) {
        struct pm_number number;
        enum pm_scan scan = pm_number_scan(&at, false, &sign, &number);
        size_t unit;

        if (scan == PM_SCAN_NONE)
            return pm_fail(err, PM_INVALID, "\"%s\" is not a span of time: write 15min, 2 h or 3d.",
                           quote);
        if (scan != PM_SCAN_OK)
            return pm_number_fail(scan, text, err);
        at = pm_skip_space(at);
        unit = *at == '\0' && first ? 2 : take_unit(&at, next); /* a bare number is minutes */
        if (unit == UNITS)
            return pm_fail(err, PM_INVALID,
                           "\"%s\" is not a span of time: use d, h, min and s, "
                           "in this order.",
                           quote);
        if (!pm_number_round(&number, units[unit].seconds, &part) || part > SPAN_MAX - total)
            return pm_fail(err, PM_INVALID, "\"%s\" is longer than a hundred years.", quote);
        total += part;
        next = unit + 1;
        at = pm_skip_space(at);
    }
    *out = total;
    return PM_OK;
}

char *pm_span_format(int64_t seconds, char *buf)
{
    size_t length = 0;
    /* The magnitude of INT64_MIN is no int64; a second less in 292 billion years is not missed. */
    int64_t rest = seconds == INT64_MIN ? INT64_MAX : seconds < 0 ? -seconds : seconds;

    if (rest > SPAN_MAX) /* nobody reads minutes here, and they would not fit */
        rest -= rest % DAY;
    buf[0] = '\0';
    for (size_t i = 0; i < UNITS; i++) {
        int64_t count = rest / units[i].seconds;

        rest %= units[i].seconds;
        if (count == 0 && (length > 0 || seconds != 0 || i != 2))
            continue;
        length += (size_t)snprintf(buf + length, PM_TIME_TEXT - length, "%s%lld %s",
                                   length > 0    ? " "
                                   : seconds < 0 ? "-"
                                                 : "",
                                   (long long)count, units[i].name);
    }
    return buf;
}

char *pm_span_about(int64_t seconds, char *buf)
{
    const int64_t size = seconds < 0 ? -(seconds + 1) : seconds;
    const int64_t unit = size >= 7 * DAY ? DAY : size >= DAY ? 3600 : size >= 60 ? 60 : 1;

    return pm_span_format(seconds - seconds % unit, buf);
}
