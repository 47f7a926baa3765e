/* SPDX-License-Identifier: MIT */
/* Times and spans. The zone is set by rule (POSIX TZ), so no zone data is needed. */
#include "permille/base/clock.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

static void zone(const char *name)
{
    setenv("TZ", name, 1);
    tzset();
}

static const char central_europe[] = "CET-1CEST,M3.5.0,M10.5.0/3";

static int64_t read_time(const char *text)
{
    struct pm_error err;
    int64_t time = -1;

    if (pm_time_read(text, &time, &err) != PM_OK)
        fail_msg("%s", err.text);
    return time;
}

static void time_refused(const char *text)
{
    struct pm_error err;
    int64_t time = 4711;

    if (pm_time_read(text, &time, &err) != PM_INVALID)
        fail_msg("\"%s\" was read as %lld", text, (long long)time);
    assert_int_equal(time, 4711);
    assert_non_null(strstr(err.text, text));
}

static int64_t fixed_now(void *context)
{
    return *(int64_t *)context;
}

static void clocks(void **state)
{
    int64_t moment = 1234567890;
    struct pm_clock fixed = {fixed_now, &moment};
    struct pm_clock system = {NULL, NULL};

    (void)state;
    assert_int_equal(pm_clock_now(&fixed), 1234567890);
    assert_true(llabs((long long)(pm_clock_now(NULL) - (int64_t)time(NULL))) < 5);
    assert_true(llabs((long long)(pm_clock_now(&system) - (int64_t)time(NULL))) < 5);
}

/* 1234567890 is 2009-02-13T23:31:30Z, and 951782400 the leap day of 2000: as `date -u -d @N` says.
 */
static void in_utc(void **state)
{
    char buf[PM_TIME_TEXT];

    (void)state;
    zone("UTC0");
    assert_string_equal(pm_time_iso(1234567890, buf), "2009-02-13T23:31:30Z");
    assert_string_equal(pm_time_format(1234567890, buf), "2009-02-13 23:31");
    assert_string_equal(pm_time_date(951782400, buf), "2000-02-29");
    assert_int_equal(read_time("2009-02-13T23:31:30Z"), 1234567890);
    assert_int_equal(read_time("2009-02-13 23:31"), 1234567890 - 30);
    assert_int_equal(read_time(" 2009-02-13 "), 1234567890 - 30 - 23 * 3600 - 31 * 60);
    assert_int_equal(read_time("2000-02-29"), 951782400);
    assert_int_equal(read_time("1970-01-01"), 0);
    assert_string_equal(pm_time_iso(read_time("9999-12-31T23:59:59Z"), buf),
                        "9999-12-31T23:59:59Z");
    assert_string_equal(pm_time_iso(read_time("9999-12-31T23:59:59Z") + 1, buf), "?");
    assert_string_equal(pm_time_iso(-1, buf), "?");
    assert_string_equal(pm_time_date(INT64_MAX, buf), "?");
    assert_string_equal(pm_time_format(INT64_MIN, buf), "?");
}

static void impossible_times(void **state)
{
    static const char *const texts[] = {
        "2026-02-30",           "2026-02-29",        "1900-02-29",       "2100-02-29",
        "2026-13-01",           "2026-00-10",        "2026-01-00",       "2026-01-32",
        "2026-04-31",           "2026-01-01 24:00",  "2026-01-01 12:60", "2026-01-01 12:00:60",
        "1969-12-31",           "2026-1-1",          "26-01-01",         "2026/01/01",
        "2026-01-01x",          "2026-01-01 12",     "2026-01-01T",      "2026-01-01 1:00",
        "2026-01-01 12:00+",    "2026-01-01Z",       "12026-01-01",      "yesterday",
        "2100-02-29T00:00:00Z", "2026-02-30T12:00Z", "-2026-01-01",      "2026-01-01 12:00:",
        "2026-01-01T12:00ZZ"};

    (void)state;
    zone("UTC0");
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
        time_refused(texts[i]);
    struct pm_error err;
    int64_t time;
    assert_int_equal(pm_time_read("", &time, &err), PM_INVALID);
}

/* By this zone's rule the clocks go from 02:00 to 03:00 on 29 March 2026 and back on 25 October. */
static void summer_time(void **state)
{
    char buf[PM_TIME_TEXT];

    (void)state;
    zone(central_europe);
    assert_int_equal(read_time("2026-03-29 01:59"), read_time("2026-03-29T00:59:00Z"));
    assert_int_equal(read_time("2026-03-29 03:00"), read_time("2026-03-29T01:00:00Z"));
    time_refused("2026-03-29 02:30");
    assert_int_equal(read_time("2026-07-01 12:00"), read_time("2026-07-01T10:00:00Z"));
    assert_int_equal(read_time("2026-01-01 12:00"), read_time("2026-01-01T11:00:00Z"));
    assert_int_equal(read_time("2026-03-30") - read_time("2026-03-29"), 23 * 3600);
    assert_int_equal(read_time("2026-10-26") - read_time("2026-10-25"), 25 * 3600);
    assert_string_equal(pm_time_format(read_time("2026-10-25 02:30"), buf), "2026-10-25 02:30");
    assert_string_equal(pm_time_format(read_time("2026-07-01T22:30:00Z"), buf), "2026-07-02 00:30");
    assert_string_equal(pm_time_iso(read_time("2026-07-02 00:30"), buf), "2026-07-01T22:30:00Z");

    /* where midnight itself is skipped, the day still begins */
    zone("XST3XDT,M10.3.0/0,M2.3.0/0");
    assert_string_equal(pm_time_format(read_time("2026-10-18"), buf), "2026-10-18 01:00");
    zone("UTC0");
}

/* Every hour of two years comes back, summer time or not (one hour a year is there twice). */
static void local_round_trip(void **state)
{
    int64_t begin, end;
    int twice = 0;

    (void)state;
    zone(central_europe);
    begin = read_time("2025-01-01");
    end = read_time("2027-01-01");
    for (int64_t time = begin; time < end; time += 3600) {
        char buf[PM_TIME_TEXT];
        int64_t back = read_time(pm_time_format(time, buf));
        twice += back != time;
        assert_true(back == time || llabs((long long)(back - time)) == 3600);
    }
    assert_in_range(twice, 0, 2);
    zone("UTC0");
}

static void ago(void **state)
{
    int64_t now;
    char buf[PM_TIME_TEXT];

    (void)state;
    zone("UTC0");
    now = read_time("2026-03-02 14:05");
    assert_string_equal(pm_time_ago(now, now, buf), "just now");
    assert_string_equal(pm_time_ago(now - 59, now, buf), "just now");
    assert_string_equal(pm_time_ago(now - 60, now, buf), "1 min");
    assert_string_equal(pm_time_ago(now - 3599, now, buf), "59 min");
    assert_string_equal(pm_time_ago(now - 3 * 3600, now, buf), "3 h");
    assert_string_equal(pm_time_ago(now - 86400, now, buf), "1 day");
    assert_string_equal(pm_time_ago(now - 2 * 86400, now, buf), "2 days");
    assert_string_equal(pm_time_ago(now - 7 * 86400, now, buf), "2026-02-23");
    assert_string_equal(pm_time_ago(now + 60, now, buf), "2026-03-02");
    assert_string_equal(pm_time_ago(INT64_MIN, now, buf), "?");
}

static void spans(void **state)
{
    static const struct {
        const char *text;
        int64_t seconds; /* -1: refused */
        const char *shows;
    } cases[] = {{"15min", 900, "15 min"},
                 {"15", 900, "15 min"},
                 {" 2 h ", 7200, "2 h"},
                 {"3d", 259200, "3 d"},
                 {"90s", 90, "1 min 30 s"},
                 {"1h30min", 5400, "1 h 30 min"},
                 {"1 h 30 min", 5400, "1 h 30 min"},
                 {"3 d 4 h", 273600, "3 d 4 h"},
                 {"1.5h", 5400, "1 h 30 min"},
                 {"0,5 h", 1800, "30 min"},
                 {"0", 0, "0 min"},
                 {"36500 d", 3153600000, "36500 d"},
                 {"36500 d 1 s", -1, NULL},
                 {"99999999999999999999 d", -1, NULL},
                 {"", -1, NULL},
                 {"min", -1, NULL},
                 {"-5min", -1, NULL},
                 {"5 minutes", -1, NULL},
                 {"1h30", -1, NULL},
                 {"30min 1h", -1, NULL},
                 {"1h 1h", -1, NULL},
                 {"5m", -1, NULL},
                 {"5 x", -1, NULL}};
    char buf[PM_TIME_TEXT];

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct pm_error err;
        int64_t seconds = -1;
        enum pm_status status = pm_span_read(cases[i].text, &seconds, &err);
        if (seconds != cases[i].seconds)
            fail_msg("\"%s\" gave %lld", cases[i].text, (long long)seconds);
        assert_int_equal(status, seconds < 0 ? PM_INVALID : PM_OK);
        if (seconds >= 0)
            assert_string_equal(pm_span_format(seconds, buf), cases[i].shows);
    }
    for (int64_t seconds = 0; seconds < 3153600000; seconds = seconds * 2 + 7) {
        int64_t back = -1;
        assert_int_equal(pm_span_read(pm_span_format(seconds, buf), &back, NULL), PM_OK);
        assert_int_equal(back, seconds);
    }
    assert_string_equal(pm_span_format(-90, buf), "-1 min 30 s");
    assert_string_equal(pm_span_about(59, buf), "59 s");
    assert_string_equal(pm_span_about(119, buf), "1 min");
    assert_string_equal(pm_span_about(-119, buf), "-1 min");
    assert_string_equal(pm_span_about(2 * 3600 + 61, buf), "2 h 1 min");
    assert_string_equal(pm_span_about(86400 + 7261, buf), "1 d 2 h");
    assert_string_equal(pm_span_about(16 * 86400 + 7261, buf), "16 d");
    assert_true(strlen(pm_span_about(INT64_MIN, buf)) < PM_TIME_TEXT - 1);
    assert_true(strlen(pm_span_format(INT64_MAX, buf)) < PM_TIME_TEXT - 1);
    assert_true(strlen(pm_span_format(INT64_MIN, buf)) < PM_TIME_TEXT - 1);
}

/* A day is the same day wherever it is looked at; 1970-01-01 is one like any other. Day numbers
 * checked against date(1) of GNU coreutils: date -u -d 2026-03-02 +%s, by 86400. */
static void days(void **state)
{
    static const char *const zones[] = {"UTC", "Asia/Tokyo", "America/Los_Angeles"};
    static const struct {
        const char *text;
        pm_day day;
    } cases[] = {{"1970-01-01", 0},
                 {"1970-01-02", 1},
                 {"2000-02-29", 11016},
                 {"2026-03-02", 20514},
                 {"9999-12-31", 2932896}};
    static const char *const bad[] = {"2026-02-30", "1969-12-31", "2026-03-02 14:05", "2 March",
                                      "",           "2026-3-2",   "10000-01-01"};
    char buf[PM_TIME_TEXT];
    pm_day day;

    (void)state;
    for (size_t z = 0; z < sizeof zones / sizeof *zones; z++) {
        setenv("TZ", zones[z], 1);
        tzset();
        for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
            assert_int_equal(pm_day_read(cases[i].text, &day, NULL), PM_OK);
            assert_int_equal(day, cases[i].day);
            assert_string_equal(pm_day_format(day, buf), cases[i].text);
            assert_int_equal(pm_day_of(pm_day_begin(day)), day);
            assert_int_equal(pm_day_of(pm_day_begin(day) - 1), day - 1);
        }
        for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
            assert_int_equal(pm_day_read(bad[i], &day, NULL), PM_INVALID);
    }
    setenv("TZ", "UTC", 1);
    tzset();
    struct pm_error err;
    assert_int_equal(pm_day_read("1969-12-31", &day, &err), PM_INVALID);
    assert_non_null(strstr(err.text, "1970")); /* there was such a day */
    assert_string_equal(pm_day_format(PM_NO_DAY, buf), "");
    assert_string_equal(pm_day_format(-1, buf), "?");
    assert_string_equal(pm_day_format(INT64_MAX, buf), "?");
    assert_int_equal(pm_day_of(-1), -1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(clocks),
        cmocka_unit_test(in_utc),
        cmocka_unit_test(impossible_times),
        cmocka_unit_test(summer_time),
        cmocka_unit_test(local_round_trip),
        cmocka_unit_test(ago),
        cmocka_unit_test(spans),
        cmocka_unit_test(days),
    };

    return cmocka_run_group_tests_name("base: time", tests, NULL, NULL);
}
