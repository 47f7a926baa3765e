/* SPDX-License-Identifier: MIT */
/*
 * Stages, and when to smell next.
 */
#include "permille/core/smell.h"

#include "permille/base/amount.h"
#include "permille/base/clock.h"
#include "permille/base/mem.h"
#include "permille/base/text.h"

#include <string.h>

/* ---- stages ---------------------------------------------------------------------------------- */

enum pm_stage pm_stage_at(int64_t since, const struct pm_stage_bounds *bounds)
{
    if (since >= (bounds != NULL ? bounds->base : PM_STAGE_BASE_USUAL))
        return PM_STAGE_BASE;
    return since >= (bounds != NULL ? bounds->heart : PM_STAGE_HEART_USUAL) ? PM_STAGE_HEART
                                                                            : PM_STAGE_TOP;
}

const char *pm_stage_word(enum pm_stage stage)
{
    static const char *const words[PM_STAGES] = {"top", "heart", "base"};

    return (size_t)stage < PM_STAGES ? words[stage] : "?";
}

/* ---- schedule -------------------------------------------------------------------------------- */

/* Puts time where it belongs, once. False when the schedule is full. */
static bool schedule_add(struct pm_schedule *schedule, int64_t time)
{
    size_t at = schedule->count;

    while (at > 0 && schedule->times[at - 1] > time)
        at--;
    if (at > 0 && schedule->times[at - 1] == time)
        return true;
    if (schedule->count == PM_SCHEDULE_MAX)
        return false;
    memmove(schedule->times + at + 1, schedule->times + at,
            (schedule->count - at) * sizeof *schedule->times);
    schedule->times[at] = time;
    schedule->count++;
    return true;
}

static bool is_digit(char byte)
{
    return byte >= '0' && byte <= '9';
}

/* One piece between separators, as a string of its own for pm_span_read. */
static enum pm_status schedule_read_one(const char *piece, size_t length,
                                        struct pm_schedule *schedule, struct pm_error *err)
{
    int64_t time = 0;

    if (strspn(piece, " \t\r") >= length) {
        return pm_fail(err, PM_INVALID,
                       "The schedule has an empty place; write it like 0, 5min, 15min, 1h, 1d.");
    }
    char *text = pm_strndup(piece, length);
    if (text == NULL)
        return pm_fail_memory(err);
    enum pm_status status = pm_span_read(text, &time, err);
    if (status == PM_OK && time > PM_SCHEDULE_LONGEST)
        status = pm_fail(err, PM_INVALID, "\"%s\" is too late to smell: a year is the most.", text);
    if (status == PM_OK && !schedule_add(schedule, time))
        status = pm_fail(err, PM_INVALID, "A schedule holds up to %d times.", PM_SCHEDULE_MAX);
    pm_free(text);
    return status;
}

enum pm_status pm_schedule_read(const char *text, struct pm_schedule *out, struct pm_error *err)
{
    struct pm_schedule schedule = {.count = 0};

    for (const char *comma = strchr(text, ','); comma != NULL; comma = strchr(comma + 1, ',')) {
        if (comma > text && is_digit(comma[-1]) && is_digit(comma[1])) {
            return pm_fail(err, PM_INVALID,
                           "A comma between digits can be read in two ways: write 1, 5h for two "
                           "times and 1h30min for one.");
        }
    }
    for (const char *piece = text;;) {
        size_t length = strcspn(piece, ",;\n");
        enum pm_status status = schedule_read_one(piece, length, &schedule, err);
        if (status != PM_OK)
            return status;
        if (piece[length] == '\0')
            break;
        piece += length + 1;
    }
    *out = schedule;
    return PM_OK;
}

char *pm_schedule_text(const struct pm_schedule *schedule)
{
    struct pm_text text = PM_TEXT_EMPTY;
    char span[PM_TIME_TEXT];

    for (size_t i = 0; i < schedule->count; i++) {
        int64_t time = schedule->times[i];
        pm_text_add(&text, i > 0 ? ", " : "");
        pm_text_add(&text, time == 0 ? "0" : pm_span_format(time, span));
    }
    return pm_text_take(&text);
}

/* start and now come from files and clocks: their distance may not fit. */
static int64_t saturate(pm_int128 value)
{
    return value > INT64_MAX ? INT64_MAX : value < INT64_MIN ? INT64_MIN : (int64_t)value;
}

void pm_schedule_due(const struct pm_schedule *schedule, int64_t start, int64_t now,
                     const int64_t *smelled, size_t count, struct pm_due *out)
{
    int64_t since = saturate((pm_int128)now - start);
    int64_t last = -1; /* the latest smelling settles everything before it; -1 settles nothing */
    struct pm_due due = {.clock_back = since < 0};

    for (size_t i = 0; i < count; i++)
        last = smelled[i] > last ? smelled[i] : last;
    due.ahead = last >= 0 && last > since;
    while (due.place < schedule->count) {
        int64_t time = schedule->times[due.place];
        if (last < time - time / 10)
            break;
        due.place++;
    }
    if (due.place == schedule->count) {
        due.over = true;
        due.place = 0;
        *out = due;
        return;
    }
    due.at = saturate((pm_int128)start + schedule->times[due.place]);
    for (size_t i = due.place; i < schedule->count && schedule->times[i] <= since; i++)
        due.waiting++;
    due.now = due.waiting > 0;
    due.late = due.now ? saturate((pm_int128)now - due.at) : 0;
    *out = due;
}

/* ---- the clock, and what is said ---- */

bool pm_smell_is_doubtful(int64_t measured, int64_t said)
{
    const int64_t off = measured > said ? measured - said : said - measured;
    return off > said / 10 + 120;
}

void pm_smell_doubt(int64_t measured, int64_t said, struct pm_text *out)
{
    char clock[PM_TIME_TEXT], typed[PM_TIME_TEXT];
    if (!pm_smell_is_doubtful(measured, said))
        return;
    if (measured < 0)
        pm_text_addf(out, "It is not on yet by the clock; %s is said: is that so?",
                     pm_span_format(said, typed));
    else
        pm_text_addf(out, "It was put on %s ago, not %s: is that so?",
                     pm_span_about(measured, clock), pm_span_format(said, typed));
}
