/* SPDX-License-Identifier: MIT */
/*
 * Smelling over time: the stages of a perfume, when to smell, intensity drawn and told, words used.
 *
 * Times "since" are seconds since application on blotter or skin. Clocks get set back and times get
 * mistyped: a negative one counts as 0, and every call below says what it does about the rest.
 */
#ifndef PERMILLE_CORE_SMELL_H
#define PERMILLE_CORE_SMELL_H

#include "permille/base/status.h"
#include "permille/base/text.h"
#include "permille/core/plot.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* ---- stages ---------------------------------------------------------------------------------- */

enum pm_stage { PM_STAGE_TOP, PM_STAGE_HEART, PM_STAGE_BASE };
#define PM_STAGES 3

/* Where the stages begin. The usual ones, a quarter of an hour and three hours, are common
 * practice, no source; perfumes keep their own time. */
struct pm_stage_bounds {
    int64_t heart; /* the first second of the heart */
    int64_t base;  /* the first second of the base; at or before `heart`: there is no heart */
};
#define PM_STAGE_HEART_USUAL INT64_C(900)
#define PM_STAGE_BASE_USUAL  INT64_C(10800)

/* bounds NULL, here and below: the usual ones. */
enum pm_stage pm_stage_at(int64_t since, const struct pm_stage_bounds *bounds);
const char *pm_stage_word(enum pm_stage stage); /* "top" "heart" "base" */

/* ---- schedule -------------------------------------------------------------------------------- */

#define PM_SCHEDULE_MAX     32                     /* times in a schedule */
#define PM_SCHEDULE_LONGEST (INT64_C(366) * 86400) /* the last of them may be this far off */

struct pm_schedule {
    int64_t times[PM_SCHEDULE_MAX]; /* seconds since application, rising */
    size_t count;
};

/*
 * A person's own, "0, 5min, 15min, 1h30min, 2 d": spans as pm_span_read takes them (a bare number
 * is minutes) with a comma, semicolon or line end between; in any order, repeated ones once. A
 * comma right between two digits is PM_INVALID, since "1,5h" may mean an hour and a half; so are an
 * empty schedule, an empty place, too many times and too late ones.
 */
enum pm_status pm_schedule_read(const char *text, struct pm_schedule *out, struct pm_error *err);
/* "0, 5 min, 15 min, 1 h 30 min, 2 d": reads back as the same. New string (pm_free), NULL when
 * memory ran out. */
char *pm_schedule_text(const struct pm_schedule *schedule);

struct pm_due {
    bool over;       /* every time has been smelled; the rest is 0 */
    size_t place;    /* in the schedule: the first time not smelled yet */
    int64_t at;      /* when it is or was due, Unix seconds */
    bool now;        /* it is due */
    size_t waiting;  /* times that have come and were not smelled; smelling now settles them all */
    int64_t late;    /* seconds since `at`; 0 unless due */
    bool clock_back; /* now is before the start: nothing is due, the schedule waits for the start */
    bool ahead;      /* something was smelled later than now; it counts all the same */
};
/*
 * When to smell next, in a session begun at `start` (Unix seconds), having smelled `count` times
 * (seconds since application, any order; negative ones are passed over).
 *
 * A smelling settles every scheduled time before it, and one that it came early for by no more than
 * a tenth of it: 14 min will do for 15 min. What was missed is due now, once, however many times
 * have gone by, and stays due until it is smelled or the session is closed, be it a month later.
 * With the clock set back behind the start nothing is due; set back behind a smelling, that
 * smelling counts and `ahead` says so.
 */
void pm_schedule_due(const struct pm_schedule *schedule, int64_t start, int64_t now,
                     const int64_t *smelled, size_t count, struct pm_due *out);

/* ---- intensity over time --------------------------------------------------------------------- */

#define PM_INTENSITY_MAX 10 /* 0: nothing left to smell */

struct pm_smell_point {
    int64_t since;
    int intensity; /* 0..PM_INTENSITY_MAX; a smelling without one is no point */
};
struct pm_smell_series {
    const char *name;                    /* borrowed */
    const struct pm_smell_point *points; /* borrowed; any order */
    size_t count;
};

/*
 * A drawing of `height` rows, each at most `width` cells: the stages' names on top, intensity
 * upwards, time to the right as log(1 + minutes), so that "at once" has its place. Each series has
 * a mark of its own that needs no colour; a digit says how many series meet in a cell; dots lead
 * from point to point. The axis goes to the last point, at least to an hour.
 * PM_REFUSED for more series or another size than the limits allow, PM_INVALID for an intensity out
 * of range, PM_NOMEM.
 */
enum pm_status pm_smell_plot(const struct pm_smell_series *series, size_t count, size_t width,
                             size_t height, const struct pm_stage_bounds *bounds,
                             struct pm_plot *out, struct pm_error *err);
/*
 * The same told in words, for the place-th series, with its mark: "o Name: top 8 at once, 7 after
 * 5 min; heart 5 after 15 min; base 2 after 4 h." or "x Name: no intensity noted." What was smelled
 * more than once after the same time is told together: "5 to 7 after 15 min (3 times)". *out is a
 * new string (pm_free). PM_INVALID as above, PM_NOMEM.
 */
enum pm_status pm_smell_sentence(const struct pm_smell_series *series, size_t place,
                                 const struct pm_stage_bounds *bounds, char **out,
                                 struct pm_error *err);

/* ---- the clock, and what is said ---- */

/* Whether a time since application that is said is far from what the clock measured: by more than a
 * tenth and two minutes for typing, the same patience as the schedule's. Seconds. */
bool pm_smell_is_doubtful(int64_t measured, int64_t said);
/* Asks about a doubtful one: "It was put on 20 s ago, not 2 h: is that so?" Nothing otherwise. */
void pm_smell_doubt(int64_t measured, int64_t said, struct pm_text *out);

/* ---- words ----------------------------------------------------------------------------------- */

struct pm_smell_note {
    int64_t since;
    const char *text; /* borrowed; NULL: none */
};
struct pm_word {
    char *text; /* in small letters, accents and all (pm_small); owned */
    size_t count;
};
struct pm_words {
    struct pm_word *items; /* the most frequent first, equally frequent ones by code; owned */
    size_t count;
};
/*
 * The words of the notes, by stage. A word is a run of at least three letters; everything else
 * separates. Little words of English ("the", "with") are left out;
 * capitals make no other word, accents do. out[] is indexed by enum pm_stage.
 * PM_NOMEM leaves it untouched.
 */
enum pm_status pm_words_tally(const struct pm_smell_note *notes, size_t count,
                              const struct pm_stage_bounds *bounds, struct pm_words out[PM_STAGES],
                              struct pm_error *err);
void pm_words_release(struct pm_words words[PM_STAGES]);

#endif
