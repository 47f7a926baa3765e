/* SPDX-License-Identifier: MIT */
/* Series: words, doses, ratios. */
#include "permille/core/series.h"

#include "permille/base/word.h"
#include "permille/core/gesture.h"

#include <math.h>
#include <stdlib.h>

static const char *const words[] = {"ladder", "leave-out", "ratios"};

const char *pm_series_word(enum pm_series_kind kind)
{
    return words[kind];
}

bool pm_series_from_word(const char *word, enum pm_series_kind *out)
{
    const int place = pm_word_place(words, sizeof words / sizeof *words, word);
    if (place >= 0)
        *out = (enum pm_series_kind)place;
    return place >= 0;
}

/* ---- doses ---- */

static pm_parts three_digits(double value)
{
    const double unit = pow(10, floor(log10(value)) - 2);
    const double rounded = unit > 1 ? round(value / unit) * unit : round(value);
    return (pm_parts)llround(rounded);
}

enum pm_status pm_ladder_doses(pm_parts from, pm_parts to, size_t count, bool equal_steps,
                               pm_parts *out, struct pm_error *err)
{
    if (count < 2 || count > PM_SERIES_TRIALS_MOST)
        return pm_fail(err, PM_INVALID, "A ladder has 2 to %d doses, not %zu.",
                       PM_SERIES_TRIALS_MOST, count);
    if (from < 1 || to <= from)
        return pm_fail(err, PM_INVALID, "A ladder rises from a dose above 0 to a larger one.");
    for (size_t i = 0; i < count; i++) {
        const double part = (double)i / (double)(count - 1);
        out[i] = three_digits(equal_steps ? (double)from + part * (double)(to - from)
                                          : (double)from * pow((double)to / (double)from, part));
    }
    out[0] = from;
    out[count - 1] = to;
    for (size_t i = 1; i < count; i++)
        if (out[i] <= out[i - 1])
            return pm_fail(err, PM_REFUSED,
                           "So many doses lie too close together to be told apart: take fewer.");
    return PM_OK;
}

/* ---- ratios ---- */

/* Applies a gesture in place. */
static enum pm_status apply(struct pm_trial *trial, const struct pm_gesture *gesture,
                            struct pm_error *err)
{
    struct pm_trial after;
    const enum pm_status status = pm_gesture_apply(gesture, trial, &after, NULL, err);
    if (status != PM_OK)
        return status;
    pm_trial_release(trial);
    *trial = after;
    return PM_OK;
}

static bool chosen(const int64_t *lines, size_t count, int64_t id)
{
    for (size_t i = 0; i < count; i++)
        if (lines[i] == id)
            return true;
    return false;
}

/* The sum of the chosen lines; that they can be laid out anew. */
static enum pm_status check_lines(const struct pm_trial *trial, const int64_t *lines, size_t count,
                                  pm_parts *sum, struct pm_error *err)
{
    *sum = 0;
    for (size_t i = 0; i < count; i++) {
        const long place = pm_trial_find(trial, lines[i]);
        if (place < 0)
            return pm_fail(err, PM_MISSING, "A line of the design is not there any more.");
        const struct pm_line *line = &trial->lines[place];
        if (line->stance == PM_RESTING)
            return pm_fail(err, PM_REFUSED, "A line of the design rests: free it first.");
        if (line->stance == PM_CARRIER && trial->mode == PM_CARRIER_MODE)
            return pm_fail(err, PM_REFUSED, "The carrier cannot be part of a design of ratios.");
        for (size_t j = 0; line->core != 0 && j < trial->count; j++)
            if (trial->lines[j].core == line->core && !chosen(lines, count, trial->lines[j].id))
                return pm_fail(err, PM_REFUSED, "A core goes into a design whole, or not at all.");
        *sum += line->parts;
    }
    return *sum >= (pm_parts)count
               ? PM_OK
               : pm_fail(err, PM_REFUSED, "The lines of the design have no parts to share.");
}

static enum pm_status break_cores(struct pm_trial *trial, const int64_t *lines, size_t count,
                                  struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < count; i++)
        if (trial->lines[pm_trial_find(trial, lines[i])].core != 0)
            status =
                apply(trial, &(struct pm_gesture){.kind = PM_BREAK_CORE, .line = lines[i]}, err);
    return status;
}

/* In open mode, where nothing else gives way: the sum goes to the lines that get a part. */
static enum pm_status share_out(struct pm_trial *trial, const int64_t *lines, size_t count,
                                const int64_t *ratio, pm_parts sum, struct pm_error *err)
{
    int64_t core[PM_MIX_MOST], weights[PM_MIX_MOST];
    size_t some = 0, given = 0;
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < count; i++)
        if (ratio[i] > 0) {
            core[some] = lines[i];
            weights[some++] = ratio[i];
        }
    for (size_t i = 0; status == PM_OK && i < count; i++) {
        struct pm_gesture gesture = {.kind = ratio[i] > 0 ? PM_SET : PM_DROP, .line = lines[i]};
        if (ratio[i] > 0) {
            gesture.parts = sum / (pm_parts)some + (given == 0 ? sum % (pm_parts)some : 0);
            given++;
        }
        status = apply(trial, &gesture, err);
    }
    if (status == PM_OK && some > 1)
        status =
            apply(trial,
                  &(struct pm_gesture){
                      .kind = PM_FORM_CORE, .lines = core, .weights = weights, .line_count = some},
                  err);
    return status;
}

enum pm_status pm_ratio_content(const struct pm_trial *before, const int64_t *lines, size_t count,
                                const int64_t *ratio, struct pm_trial *after, struct pm_error *err)
{
    pm_parts sum;
    if (count < 2 || count > PM_MIX_MOST)
        return pm_fail(err, PM_REFUSED, "A design of ratios takes 2 to %d lines, not %zu.",
                       PM_MIX_MOST, count);
    enum pm_status status = check_lines(before, lines, count, &sum, err);
    if (status == PM_OK)
        status = pm_trial_copy(before, after, err);
    if (status != PM_OK)
        return status;
    status = apply(after, &(struct pm_gesture){.kind = PM_SET_MODE, .mode = PM_OPEN}, err);
    if (status == PM_OK)
        status = break_cores(after, lines, count, err);
    if (status == PM_OK)
        status = share_out(after, lines, count, ratio, sum, err);
    if (status == PM_OK)
        status = apply(after, &(struct pm_gesture){.kind = PM_SET_MODE, .mode = before->mode}, err);
    if (status != PM_OK)
        pm_trial_release(after);
    return status;
}

void pm_mix_point_format(const struct pm_mix_point *point, size_t count, struct pm_text *out)
{
    for (size_t i = 0; i < count; i++)
        pm_text_addf(out, "%s%lld", i > 0 ? ":" : "", (long long)point->part[i]);
}

enum pm_status pm_mix_point_read(const char *text, size_t count, struct pm_mix_point *out,
                                 struct pm_error *err)
{
    const char *at = text;
    *out = (struct pm_mix_point){{0}};
    for (size_t i = 0; i < count && count <= PM_MIX_MOST; i++) {
        char *end;
        out->part[i] = strtoll(at, &end, 10);
        if (end == at || out->part[i] < 0 || *end != (i + 1 < count ? ':' : '\0'))
            return pm_fail(err, PM_INVALID, "\"%s\" is no ratio of %zu parts.", text, count);
        at = end + 1;
    }
    return PM_OK;
}
